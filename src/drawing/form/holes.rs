//! Where the holes go: two dowels as far apart as the plate allows, to line up the layers of a form
//! or a backing board, and a bolt between them.

use super::plate::Plate;
use crate::drawing::item::Point;

/// What a hole is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Use {
    /// A dowel pin, a push fit.
    Dowel,
    /// A bolt, with clearance.
    Bolt,
}

/// A round hole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Hole {
    /// Centre.
    pub(super) at: Point,
    /// Diameter, mm.
    pub(super) diameter: f64,
    /// What it is for.
    pub(super) purpose: Use,
}

/// Diameters of dowel and bolt hole, mm, the first that fit are taken: dowels of 6, 4 and 3 mm;
/// M6, M4 and M3 with the medium clearance of ISO 273 (6.6, 4.5, 3.4).
const SIZES: [(f64, f64); 3] = [(6.0, 6.6), (4.0, 4.5), (3.0, 3.4)];

/// Distance from a hole's centre to the plate's edge, in hole diameters (common practice, no source):
/// the web is as wide as the hole.
pub(super) const EDGE_DIAMETERS: f64 = 1.5;

/// Distance between the centres of two holes, in diameters of the larger.
pub(super) const PITCH_DIAMETERS: f64 = 3.0;

/// Candidates are tried on a raster over the plate, this many steps each way.
const STEPS: i32 = 96;

/// The holes of a plate; none where it is too narrow for the smallest. `marks` mm behind the rim's
/// arc are kept free for engraving.
pub(super) fn holes(plate: &Plate, marks: f64) -> Vec<Hole> {
    SIZES.iter().find_map(|&(dowel, bolt)| of_size(plate, marks, dowel, bolt)).unwrap_or_default()
}

fn of_size(plate: &Plate, marks: f64, dowel: f64, bolt: f64) -> Option<Vec<Hole>> {
    let raster = Raster::over(plate);
    let free = |at: Point, diameter: f64| {
        plate.clearance(at) >= EDGE_DIAMETERS * diameter
            && plate.rim_clearance(at).is_none_or(|d| d >= marks + diameter / 2.0)
    };
    let apart = PITCH_DIAMETERS * bolt.max(dowel);

    // Far apart across the plate, or, where it is narrow, along its axis.
    let half = (0..=STEPS)
        .flat_map(|across| (-STEPS..=STEPS).map(move |along| (along, across)))
        .filter(|&(along, across)| free(raster.at(along, across), dowel))
        .max_by_key(|&(along, across)| (across, -along))
        .filter(|&(_, across)| raster.step * f64::from(across) >= apart);
    let pair = match half {
        Some((along, across)) => (raster.at(along, across), raster.at(along, -across)),
        None => {
            let mut axis = (-STEPS..=STEPS).map(|along| raster.at(along, 0)).filter(|&at| free(at, dowel));
            let back = axis.next()?;
            (axis.next_back()?, back)
        }
    };
    if pair.0.distance(pair.1) < apart {
        return None;
    }
    let hole = |at, diameter, purpose| Hole { at, diameter, purpose };
    let mut holes = vec![hole(pair.0, dowel, Use::Dowel), hole(pair.1, dowel, Use::Dowel)];
    let middle = (-STEPS..=STEPS)
        .map(|along| raster.at(along, 0))
        .filter(|&at| free(at, bolt) && at.distance(pair.0) >= apart && at.distance(pair.1) >= apart)
        .min_by(|a, b| {
            let unlike =
                |at: Point| (at.distance(pair.0) - at.distance(pair.1)).abs() + at.x.hypot(at.y) * 1e-3;
            unlike(*a).total_cmp(&unlike(*b))
        });
    holes.extend(middle.map(|at| hole(at, bolt, Use::Bolt)));
    Some(holes)
}

/// A raster in the plate's own axes, its origin on the axis, so that mirrored holes are mirrored exactly.
struct Raster {
    origin: Point,
    axis: Point,
    step: f64,
}

impl Raster {
    fn over(plate: &Plate) -> Self {
        let (min, max) = plate.bounds();
        let axis = plate.axis();
        let middle = Point::new((min.x + max.x) / 2.0, (min.y + max.y) / 2.0);
        let along = middle.x * axis.x + middle.y * axis.y;
        let step = min.distance(max) / 2.0 / f64::from(STEPS);
        Raster { origin: Point::new(axis.x * along, axis.y * along), axis, step }
    }

    fn at(&self, along: i32, across: i32) -> Point {
        let (p, q) = (f64::from(along) * self.step, f64::from(across) * self.step);
        self.origin.shifted(self.axis.x * p - self.axis.y * q, self.axis.y * p + self.axis.x * q)
    }
}
