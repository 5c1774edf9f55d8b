//! The run that benchmarks measure: four bends in space, 15.875 x 1.2446, R 38.

#[path = "../library/support.rs"]
mod support;

use tubewright::centreline::{CornerPoint, LaidRun, from_corners};
use tubewright::export::Meta;
use tubewright::geometry::Point3;

const RADIUS: f64 = 38.0;

/// The run laid out through its corners.
pub(crate) fn run() -> LaidRun {
    let corners = [[120.0, 0.0, 0.0], [120.0, 90.0, 0.0], [120.0, 90.0, 110.0], [220.0, 90.0, 110.0]]
        .map(|at| CornerPoint { at: Point3::from(at), radius: RADIUS });
    let centreline = from_corners(Point3::new(0.0, 0.0, 0.0), &corners, Point3::new(220.0, 200.0, 110.0))
        .expect("the corners leave room for the bends");
    support::laid(0, "reference", centreline, support::copper(15.875, 1.2446))
}

/// What the files say beside the geometry.
pub(crate) fn meta() -> Meta {
    Meta { title: "Benchmark".into(), mark: "BCDFGH".into(), timestamp: 0 }
}
