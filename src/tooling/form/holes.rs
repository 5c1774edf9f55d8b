//! Where holes go: a slot for the strap, bolts, and the dowels that line up a stack's layers.

use super::body::{Body, Inside, web};
use super::room::{Hole, TurnedRect};
use crate::flat::Point;
use crate::spec::model::{Strap, Workshop};
use crate::tooling::Purpose;

/// Diameters of dowel and bolt hole, mm, the first that fit are taken: dowels of 6, 4 and 3 mm;
/// M6, M4 and M3 with the medium clearance of ISO 273 (6.6, 4.5, 3.4).
const SIZES: [(f64, f64); 3] = [(6.0, 6.6), (4.0, 4.5), (3.0, 3.4)];

/// Distance from a hole's centre to the edge, in hole diameters (common practice, no source): the web is as
/// wide as the hole.
pub(super) const EDGE_DIAMETERS: f64 = 1.5;

/// Distance between the centres of two holes, in diameters of the larger.
pub(super) const PITCH_DIAMETERS: f64 = 3.0;

/// How much wider a slot is than its strap, mm both ways (common practice, no source).
const STRAP_FIT_MM: f64 = 0.5;

/// Candidates are tried on a raster over the body, this many steps each way.
const STEPS: i32 = 96;

/// The strap's slot behind the groove of the lead-in; none where it does not fit. All of it lies at least
/// `off_axis` mm on the lead-in's side.
pub(super) fn strap_slot(body: &Body, od: f64, strap: Option<Strap>, off_axis: f64) -> Option<TurnedRect> {
    let strap = strap?;
    let (width, height) = (strap.width + STRAP_FIT_MM, strap.thickness + STRAP_FIT_MM);
    let centre = Point::new(-body.lead / 2.0, body.root - web(od) - height / 2.0);
    let slot = TurnedRect { centre, width, height, angle: 0.0 };
    // Rounding must not lose the slot that touches the limit.
    let inside = body.inside(body.root);
    let clear = |at: &Point| inside.keeps(*at, web(od) - 1e-9) && body.across(*at) >= off_axis;
    slot.corners().iter().all(clear).then_some(slot)
}

/// Diameters to try, mm: those of the workshop where it gives them.
fn sizes(workshop: &Workshop) -> Vec<(f64, f64)> {
    let mut sizes: Vec<(f64, f64)> = SIZES
        .iter()
        .map(|&(dowel, bolt)| (workshop.dowel.unwrap_or(dowel), workshop.bolt_hole.unwrap_or(bolt)))
        .collect();
    sizes.dedup();
    sizes
}

/// Where holes may be: in the body behind the groove, off the slot, with `band` mm behind the rim's arc kept
/// free for marks.
struct Free<'a> {
    inside: Inside<'a>,
    slot: Option<TurnedRect>,
    /// The face's rim and the band of marks behind it.
    band: f64,
}

impl Free<'_> {
    fn at(&self, at: Point, diameter: f64) -> bool {
        let body = self.inside.body;
        self.inside.keeps(at, EDGE_DIAMETERS * diameter)
            && body.keeps_off_arc(at, body.rim, self.band + diameter / 2.0)
            && self.slot.is_none_or(|slot| slot.distance(at) >= EDGE_DIAMETERS * diameter)
    }
}

/// Two bolt holes for a block, mirror images, clear of the axis of symmetry by `off_axis` mm; none where it is
/// too narrow. `fit` mm is what a printed hole is made wider.
pub(super) fn bolts(
    body: &Body,
    slot: Option<TurnedRect>,
    band: f64,
    off_axis: f64,
    workshop: &Workshop,
) -> Vec<Hole> {
    // A band of marks on a block's top is worth less than its bolts.
    let bands = [band, 0.0];
    let tries = bands.iter().flat_map(|&band| sizes(workshop).into_iter().map(move |size| (band, size.1)));
    for (band, bolt) in tries {
        let diameter = bolt + workshop.printer.hole_fit;
        let free = Free { inside: body.inside(body.root), slot, band };
        let raster = Raster::over(body);
        let least = (off_axis + diameter / 2.0).max(PITCH_DIAMETERS / 2.0 * diameter);
        let pair = raster
            .places()
            .filter(|&(_, across)| raster.step * f64::from(across) >= least)
            .filter(|&(along, across)| {
                free.at(raster.at(along, across), diameter) && free.at(raster.at(along, -across), diameter)
            })
            .max_by_key(|&(along, across)| (across, -along));
        if let Some((along, across)) = pair {
            return [across, -across]
                .map(|across| (raster.at(along, across), diameter, Purpose::Bolt))
                .to_vec();
        }
    }
    Vec::new()
}

/// The holes of a stack, the same in every layer: two dowels as far apart as it allows and a bolt between
/// them; none where it is too narrow for the smallest.
pub(super) fn stack_holes(
    body: &Body,
    slot: Option<TurnedRect>,
    band: f64,
    workshop: &Workshop,
) -> Vec<Hole> {
    let bands = [band, 0.0];
    let mut tries = bands.iter().flat_map(|&band| sizes(workshop).into_iter().map(move |size| (band, size)));
    tries
        .find_map(|(band, (dowel, bolt))| {
            of_size(&Free { inside: body.inside(body.root), slot, band }, dowel, bolt)
        })
        .unwrap_or_default()
}

fn of_size(free: &Free<'_>, dowel: f64, bolt: f64) -> Option<Vec<Hole>> {
    let raster = Raster::over(free.inside.body);
    let apart = PITCH_DIAMETERS * bolt.max(dowel);
    // Far apart across the body, or, where it is narrow, along its axis.
    let half = raster
        .places()
        .filter(|&(along, across)| {
            free.at(raster.at(along, across), dowel) && free.at(raster.at(along, -across), dowel)
        })
        .max_by_key(|&(along, across)| (across, -along))
        .filter(|&(_, across)| 2.0 * raster.step * f64::from(across) >= apart);
    let axis = |diameter: f64| {
        (-STEPS..=STEPS).map(|along| raster.at(along, 0)).filter(move |&at| free.at(at, diameter))
    };
    let pair = match half {
        Some((along, across)) => (raster.at(along, across), raster.at(along, -across)),
        None => {
            let mut places = axis(dowel);
            let back = places.next()?;
            (places.next_back()?, back)
        }
    };
    if pair.0.distance(pair.1) < apart {
        return None;
    }
    let mut holes = vec![(pair.0, dowel, Purpose::Dowel), (pair.1, dowel, Purpose::Dowel)];
    let middle = axis(bolt)
        .filter(|&at| at.distance(pair.0) >= apart && at.distance(pair.1) >= apart)
        .min_by(|a, b| {
            let unlike =
                |at: Point| (at.distance(pair.0) - at.distance(pair.1)).abs() + at.x.hypot(at.y) * 1e-3;
            unlike(*a).total_cmp(&unlike(*b))
        });
    holes.extend(middle.map(|at| (at, bolt, Purpose::Bolt)));
    Some(holes)
}

/// A raster in the body's own axes, its origin on the axis, so that mirrored holes are mirrored exactly.
struct Raster<'a> {
    body: &'a Body,
    /// Distance of its origin along the axis.
    along: f64,
    step: f64,
}

impl<'a> Raster<'a> {
    fn over(body: &'a Body) -> Self {
        let (min, max) = body.bounds();
        let axis = body.axis();
        let along = (min.x + max.x) / 2.0 * axis.x + (min.y + max.y) / 2.0 * axis.y;
        Raster { body, along, step: min.distance(max) / 2.0 / f64::from(STEPS) }
    }

    /// The raster's steps along the axis and across it, on one side.
    fn places(&self) -> impl Iterator<Item = (i32, i32)> {
        (0..=STEPS).flat_map(|across| (-STEPS..=STEPS).map(move |along| (along, across)))
    }

    fn at(&self, along: i32, across: i32) -> Point {
        let (p, q) = (f64::from(along) * self.step, f64::from(across) * self.step);
        self.body.point(Point::new(self.along + p, q))
    }
}

/// Diameter of the largest bolt hole that a printed bar of this width takes in its middle, mm.
pub(super) fn bolt_for(width: f64, workshop: &Workshop) -> Option<f64> {
    let printed = sizes(workshop).into_iter().map(|(_, bolt)| bolt + workshop.printer.hole_fit);
    printed.into_iter().find(|diameter| width >= 2.0 * EDGE_DIAMETERS * diameter)
}
