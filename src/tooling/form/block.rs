//! The printed or milled form and its follower.

use super::body::{Body, web};
use super::job::FormJob;
use super::room::{Hole, TurnedRect};
use super::{holes, split, sunk};
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::flat::{Edge, Line, Point};
use crate::quantity::Unit;
use crate::spec::model::Workshop;
use crate::tooling::{Block, Groove, Purpose, about_the_shop};

/// Depth of the marks, mm: three printed layers of 0.2 mm.
const SUNK_DEPTH_MM: f64 = 0.6;

/// Everything keeps so far off the plane in which a form may be cut in two, mm.
pub(super) const OFF_CUT_MM: f64 = 1.5;

/// Length of a follower: so many tube diameters, …
const FOLLOWER_DIAMETERS: f64 = 4.0;
/// … but not less than this, mm.
const FOLLOWER_MM: f64 = 40.0;
/// Gap between form and follower when the tube fills both grooves, mm: the follower presses on the tube.
pub(super) const FOLLOWER_GAP_MM: f64 = 0.5;
/// Least depth of a follower's groove as a part of the tube's diameter.
const FOLLOWER_DEPTH: f64 = 0.2;
/// Material behind a follower's groove, mm, or one tube diameter if that is more (common practice, no source).
const FOLLOWER_BACK_MM: f64 = 20.0;

/// Height of a block, mm: the groove and a lip on either side.
fn height(job: &FormJob) -> f64 {
    2.0 * (job.groove_radius() + web(job.od))
}

/// The form in one piece, or in two where one is too large for the printer.
pub(super) fn pieces(
    job: &FormJob,
    body: &Body,
    (workshop, unit): (&Workshop, Unit),
    findings: &mut Diagnostics,
) -> Vec<Block> {
    let bed = workshop.printer.bed;
    let in_one = whole(job, body, workshop, false);
    if split::on_bed(&in_one, bed).1 {
        return vec![in_one];
    }
    let halves = split::halves(&whole(job, body, workshop, true), body, workshop);
    for half in &halves {
        let (size, fits) = split::on_bed(half, bed);
        if !fits {
            findings.extend(about_the_shop(
                too_large(&format!("{} of form {}", half.name, job.name), size, bed, unit),
                workshop,
            ));
        }
        if half.side_holes.is_empty() && half.name == "form-a" {
            let message = format!("the cut of form {} has no room for dowels", job.name);
            let hint = "clamp its halves to a flat board when gluing them";
            findings.push(job.warning("form-hole", message, hint));
        }
    }
    halves.to_vec()
}

fn too_large(what: &str, size: [f64; 3], bed: [f64; 3], unit: Unit) -> Diagnostic {
    let by = |size: [f64; 3]| format!("{} {}", size.map(|mm| unit.number_to(mm, 1)).join(" x "), unit.name());
    let message = format!("{what} takes {}, the printer's bed is {}", by(size), by(bed));
    Diagnostic::warning("printer-bed", message)
        .hint("mill it, have it printed on a larger printer, or make the form from sheets")
}

/// The form in one piece; its marks keep off the axis of symmetry where it is to be `split` there.
fn whole(job: &FormJob, body: &Body, workshop: &Workshop, split: bool) -> Block {
    let slot = holes::strap_slot(body, job.od, workshop.form.strap, OFF_CUT_MM);
    let bolts = holes::bolts(body, slot, sunk::band(body), OFF_CUT_MM, workshop);
    let marks = sunk::marks(job, body, &bolts, slot, split);
    Block {
        name: "form".to_owned(),
        height: height(job),
        rim: body.rim_edges(body.rim),
        groove: Groove { radius: job.groove_radius(), offset: job.offset() },
        back: body.back(body.rim),
        holes: bolts,
        slots: slot.iter().map(TurnedRect::path).collect(),
        sunk: marks,
        sunk_depth: SUNK_DEPTH_MM,
        side_holes: Vec::new(),
    }
}

/// The block that presses the tube into the groove.
pub(super) fn follower(
    job: &FormJob,
    (workshop, unit): (&Workshop, Unit),
    findings: &mut Diagnostics,
) -> Block {
    let od = job.od;
    let bed = workshop.printer.bed;
    let least = od.max(FOLLOWER_MM);
    // Shorter for a small printer, but never so short that it would tip.
    let length = (FOLLOWER_DIAMETERS * od).min(bed[0].max(bed[1])).max(least);
    let depth = (od * (1.0 - job.depth) - FOLLOWER_GAP_MM).max(FOLLOWER_DEPTH * od);
    let low = -(depth + od.max(FOLLOWER_BACK_MM));
    let half = length / 2.0;
    let at = Point::new;
    let block = Block {
        name: "follower".to_owned(),
        height: height(job),
        rim: vec![Edge::Line(Line { from: at(-half, 0.0), to: at(half, 0.0) })],
        groove: Groove { radius: job.groove_radius(), offset: job.groove_radius() - depth },
        back: vec![at(half, 0.0), at(half, low), at(-half, low), at(-half, 0.0)],
        holes: follower_bolt(half, -depth, low, workshop).into_iter().collect(),
        slots: Vec::new(),
        sunk: Vec::new(),
        sunk_depth: SUNK_DEPTH_MM,
        side_holes: Vec::new(),
    };
    let (size, fits) = split::on_bed(&block, bed);
    if !fits {
        findings.extend(about_the_shop(
            too_large(&format!("the follower of form {}", job.name), size, bed, unit),
            workshop,
        ));
    }
    block
}

/// A bolt hole in the middle of the material between `high` and `low`.
fn follower_bolt(half: f64, high: f64, low: f64, workshop: &Workshop) -> Option<Hole> {
    let room = (half * 2.0).min(high - low);
    let diameter = holes::bolt_for(room, workshop)?;
    Some((Point::new(0.0, (high + low) / 2.0), diameter, Purpose::Bolt))
}
