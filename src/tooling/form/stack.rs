//! The form as a stack of sheets.

use super::body::Body;
use super::job::FormJob;
use super::room::{Hole, TurnedRect};
use super::{engrave, holes};
use crate::geometry::{Placement, Point3, Vector3};
use crate::spec::model::Workshop;
use crate::tooling::{Opening, Part, Posed, SheetWork};

/// Least height of the lips above and below the groove, mm, …
const LIP_MM: f64 = 3.0;
/// … or this part of the tube's diameter if that is more (common practice, no source).
const LIP_PART: f64 = 1.0 / 6.0;
/// A layer whose rim is lower than the form's by no more than this part of the tube's diameter still counts
/// as a lip.
const LIP_FALL: f64 = 0.1;

/// The layers of a stack, seen in section.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Layers {
    /// Radius of each layer's rim, mm, lowest first.
    pub(super) radii: Vec<f64>,
    /// Largest distance between the tube and the steps within the groove, mm.
    pub(super) hollow: f64,
}

impl Layers {
    /// As many layers as the groove and its lips need. One in the middle or a joint in the middle: whichever
    /// leaves the smaller hollow; of equal ones the fewer layers.
    pub(super) fn of(job: &FormJob, thickness: f64) -> Self {
        let (groove, fall) = (job.groove_radius(), job.offset() + LIP_FALL * job.od);
        // Layers that begin above this height stand at the rim, or nearly so.
        let edge = groove.powi(2) - fall.clamp(0.0, groove).powi(2);
        let edge = edge.max(0.0).sqrt();
        let lip = (LIP_PART * job.od).max(LIP_MM);
        // Half a stack in sheets, of which the first stands `from` sheets above the middle.
        let half = |from: f64| {
            let below = (edge / thickness - from).ceil().max(0.0) + (lip / thickness).ceil();
            below.max(((groove + lip) / thickness - from).ceil())
        };
        let (jointed, centred) = (2.0 * half(0.0), 2.0 * half(0.5) + 1.0);
        let [few, more] = [jointed.min(centred), jointed.max(centred)];
        let [few, more] = [few, more].map(|count| Self::counted(job, thickness, count as usize));
        if more.hollow < few.hollow { more } else { few }
    }

    fn counted(job: &FormJob, thickness: f64, count: usize) -> Self {
        let (groove, offset) = (job.groove_radius(), job.offset());
        // Height of the groove's edge over the middle.
        let edge = if offset > 0.0 { (groove * groove - offset * offset).max(0.0).sqrt() } else { groove };
        let mut layers = Layers { radii: Vec::with_capacity(count), hollow: 0.0 };
        for index in 0..count {
            let low = bottom(index, count, thickness);
            let (near, far) = reach(low, low + thickness);
            let radius = if near < edge {
                // The groove is met where the layer is nearest to the middle, so it never cuts into it.
                let on_groove = job.held_radius - (groove * groove - near * near).sqrt();
                layers.hollow =
                    layers.hollow.max((job.held_radius - on_groove).hypot(far.min(edge)) - job.od / 2.0);
                on_groove.min(job.rim())
            } else {
                job.rim()
            };
            layers.radii.push(radius);
        }
        layers
    }
}

/// Height of a layer's lower face over the stack's middle, mm.
fn bottom(index: usize, count: usize, thickness: f64) -> f64 {
    (index as f64 - count as f64 / 2.0) * thickness
}

/// Least and largest distance from 0 within a range.
fn reach(low: f64, high: f64) -> (f64, f64) {
    // A joint in the middle is exactly there: halves of whole numbers.
    let near = if low < 0.0 && high > 0.0 { 0.0 } else { low.abs().min(high.abs()) };
    (near, low.abs().max(high.abs()))
}

/// The stack, and its hollow.
pub(super) fn stack(job: &FormJob, body: &Body, workshop: &Workshop) -> (SheetWork, f64) {
    let thickness = workshop.sheet.thickness;
    let layers = Layers::of(job, thickness);
    let count = layers.radii.len();
    let slot = holes::strap_slot(body, job.od, workshop.form.strap, f64::NEG_INFINITY);
    let holes = holes::stack_holes(body, slot, engrave::band(body), workshop);
    let openings = openings(&holes, slot);
    let mut work = SheetWork {
        name: job.name.clone(),
        thickness,
        parts: Vec::with_capacity(count),
        posed: Vec::with_capacity(count),
    };
    for (index, &radius) in layers.radii.iter().enumerate() {
        let face = engrave::Face { body, radius, holes: &holes, slot };
        let top = index + 1 == count;
        work.parts.push(Part {
            name: format!("L{}", index + 1),
            outline: body.contour(radius),
            openings: openings.clone(),
            marks: engrave::marks(job, &face, &format!("{} L{}/{count}", job.name, index + 1), top),
        });
        let origin = Point3::new(0.0, 0.0, bottom(index, count, thickness));
        let at = Placement { origin, axis: Vector3::unit_z(), x: Vector3::unit_x() };
        work.posed.push(Posed { part: index, at });
    }
    (work, layers.hollow)
}

fn openings(holes: &[Hole], slot: Option<TurnedRect>) -> Vec<Opening> {
    let round = holes.iter().map(|&(at, diameter, purpose)| Opening::Round { at, diameter, purpose });
    round.chain(slot.map(|slot| Opening::Slot(slot.path()))).collect()
}
