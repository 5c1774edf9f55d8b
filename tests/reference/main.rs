//! Published and computed reference values, with their sources. A value printed in a text is compared
//! with what the text prints *and*, separately, with elementary geometry, for texts round.

#![allow(clippy::expect_used, reason = "a test that cannot go on must stop")]
#![allow(clippy::approx_constant, reason = "the tables are kept as they are printed")]

mod layouts;
mod program;
mod runs;
mod tables;

use tubewright::centreline::{Centreline, CornerPoint, from_corners};
use tubewright::geometry::Point3;

/// Geometry agrees to a thousandth of a millimetre or degree.
const EXACT: f64 = 1e-3;

fn near(found: f64, wanted: f64, tolerance: f64, what: &str) {
    assert!((found - wanted).abs() <= tolerance, "{what}: found {found}, wanted {wanted} ± {tolerance}");
}

fn deg(angle: f64) -> f64 {
    angle.to_radians()
}

fn through(radius: f64, points: &[[f64; 3]]) -> Centreline {
    let corners: Vec<CornerPoint> =
        points[1..points.len() - 1].iter().map(|p| CornerPoint { at: Point3::from(*p), radius }).collect();
    let end = points[points.len() - 1];
    from_corners(Point3::from(points[0]), &corners, Point3::from(end)).expect("corners leave room")
}
