//! Plates: flat contours with openings, of even thickness.

use super::{Solid, SolidFault};
use crate::geometry::Placement;
use crate::tooling::Part;
use crate::tooling::trial::GrooveGauge;

/// The solid of a sheet part that stands at a place; engraving is left out.
///
/// # Errors
/// What the contours do not allow; [`SolidFault::Volume`] would be a fault of this program.
pub fn plate(_part: &Part, _thickness: f64, _at: &Placement) -> Result<Solid, SolidFault> {
    Err(SolidFault::Flat)
}

/// The solid of a gauge as it is printed: its section upright, x and z of space, its length along y.
///
/// # Errors
/// As for [`plate`].
pub fn gauge(_gauge: &GrooveGauge) -> Result<Solid, SolidFault> {
    Err(SolidFault::Flat)
}
