//! Plates: flat contours with openings, of even thickness.

use super::contour::{Bounds, circle, clear, wire};
use super::sweep::prism;
use super::{LEAST_MM, Placement, Solid, SolidFault, in_reach, verify};
use crate::flat::Path;
use crate::geometry::{Point3, Vector3};
use crate::tooling::trial::GrooveGauge;
use crate::tooling::{Opening, Part};

/// The solid of a sheet part that stands at a place; engraving is left out.
///
/// # Errors
/// What the contours do not allow; [`SolidFault::Volume`] would be a fault of this program.
pub fn plate(part: &Part, thickness: f64, at: &Placement) -> Result<Solid, SolidFault> {
    let opening = |opening: &Opening| match opening {
        Opening::Round { at, diameter, .. } => circle(*at, *diameter),
        Opening::Slot(path) => path.clone(),
    };
    let openings: Vec<Path> = part.openings.iter().map(opening).collect();
    extruded(&part.outline, &openings, thickness, at)
}

/// The solid of a gauge as it is printed: its section upright, x and z of space, its length along y.
///
/// # Errors
/// As for [`plate`].
pub fn gauge(gauge: &GrooveGauge) -> Result<Solid, SolidFault> {
    // Section x to space x, section y to space z: the section looks along −y, so it is drawn from the far end.
    let at = Placement {
        origin: Point3::new(0.0, gauge.length, 0.0),
        axis: -Vector3::unit_y(),
        x: Vector3::unit_x(),
    };
    extruded(&gauge.section, &[], gauge.length, &at)
}

fn extruded(outline: &Path, openings: &[Path], height: f64, at: &Placement) -> Result<Solid, SolidFault> {
    [height, at.origin.x, at.origin.y, at.origin.z].into_iter().try_for_each(in_reach)?;
    if height < LEAST_MM {
        return Err(SolidFault::TooSmall { what: "a thickness", mm: height });
    }
    let body = Bounds::of(outline)?;
    let holes: Vec<Bounds> = openings.iter().map(Bounds::of).collect::<Result<_, _>>()?;
    clear(&body, &holes)?;
    if [outline].into_iter().chain(openings).any(|path| path.area() <= 0.0) {
        return Err(SolidFault::Contours("a contour runs clockwise"));
    }
    let loops: Vec<_> = openings.iter().map(|path| wire(path, at)).collect();
    let solid = prism(&wire(outline, at), &loops, *at, height)?;
    let area = outline.area() - openings.iter().map(Path::area).sum::<f64>();
    verify::volume_agrees(&solid, area * height)?;
    Ok(solid)
}
