//! Solids of components: boxes and round bars.

use std::f64::consts::PI;

use super::sweep::{closed, prism, ring};
use super::{Curve, Line3, Placement, Solid, SolidFault, Wire, in_reach, verify};
use crate::geometry::{InnerSpace, Point3, Vector3, reference_normal};
use crate::spec::model::{Component, Shape};
use crate::tolerance::COINCIDENT_MM;

/// The solid of a component's shape; `None` for a component that is ports only.
///
/// # Errors
/// [`SolidFault::Flat`] for a shape without extent in some direction, [`SolidFault::TooFar`].
pub fn component(component: &Component) -> Result<Option<Solid>, SolidFault> {
    match component.shape {
        None => Ok(None),
        Some(Shape::Box { min, max }) => {
            corners_in_reach(min, max)?;
            let size = max - min;
            if size.x < COINCIDENT_MM || size.y < COINCIDENT_MM || size.z < COINCIDENT_MM {
                return Err(SolidFault::Flat);
            }
            let base = Placement { origin: min, axis: Vector3::unit_z(), x: Vector3::unit_x() };
            let solid = prism(&rectangle(min, size), &[], base, size.z)?;
            verify::volume_agrees(&solid, size.x * size.y * size.z)?;
            Ok(Some(solid))
        }
        Some(Shape::Cylinder { from, to, diameter }) => {
            corners_in_reach(from, to)?;
            in_reach(diameter)?;
            let height = (to - from).magnitude();
            if height < COINCIDENT_MM || diameter < COINCIDENT_MM {
                return Err(SolidFault::Flat);
            }
            let axis = (to - from) / height;
            let base = Placement { origin: from, axis, x: reference_normal(axis) };
            let solid = prism(&ring(base, diameter / 2.0), &[], base, height)?;
            verify::volume_agrees(&solid, PI / 4.0 * diameter * diameter * height)?;
            Ok(Some(solid))
        }
    }
}

fn corners_in_reach(a: Point3, b: Point3) -> Result<(), SolidFault> {
    [a.x, a.y, a.z, b.x, b.y, b.z].into_iter().try_for_each(in_reach)
}

/// The loop of a rectangle parallel to x and y, counter-clockwise seen from +z.
fn rectangle(min: Point3, size: Vector3) -> Wire {
    let corners = [(0.0, 0.0), (size.x, 0.0), (size.x, size.y), (0.0, size.y)]
        .map(|(x, y)| min + Vector3::new(x, y, 0.0));
    let next = |index: usize| corners[(index + 1) % corners.len()];
    let sides = [0, 1, 2, 3].map(|i| Curve::Line(Line3 { from: corners[i], to: next(i) }));
    closed(&sides)
}
