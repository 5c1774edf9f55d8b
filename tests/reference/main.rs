//! Published and computed reference values, with their sources. A value printed in a text is compared
//! with what the text prints *and*, separately, with elementary geometry, for texts round.

#![allow(clippy::expect_used, reason = "a test that cannot go on must stop")]
#![allow(clippy::approx_constant, reason = "the tables are kept as they are printed")]

mod copper;
mod layouts;
mod program;
mod radii;
mod runs;
mod seal;
mod springback;
mod tables;
mod wall;

/// Geometry agrees to a thousandth of a millimetre or degree.
const EXACT: f64 = 1e-3;

fn near(found: f64, wanted: f64, tolerance: f64, what: &str) {
    assert!((found - wanted).abs() <= tolerance, "{what}: found {found}, wanted {wanted} ± {tolerance}");
}
