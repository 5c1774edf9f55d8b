//! Solids of components: boxes, round bars and bodies of flat triangles.

use std::f64::consts::PI;

use rustc_hash::FxHashMap;

use super::sweep::{closed, prism, ring};
use super::{
    Curve, Edge, Face, Line3, Placement, Shell, Solid, SolidFault, Surface, Vertex, Wire, in_reach, verify,
};
use crate::geometry::{InnerSpace, Point3, Vector3, reference_normal};
use crate::spec::model::{Component, Shape, TriangleMesh};
use crate::tolerance::COINCIDENT_MM;

/// Most triangles of a mesh that a solid is made of: each becomes a face.
const MOST_FACES: usize = 20_000;

/// The solid of a component's shape; `None` of a mesh that is [`left_out`].
///
/// # Errors
/// [`SolidFault::Flat`] for a shape without extent in some direction, [`SolidFault::TooFar`].
pub fn of_shape(shape: &Shape) -> Result<Option<Solid>, SolidFault> {
    match shape {
        Shape::Box { place, size } => {
            Shape::box_corners(place, *size).into_iter().try_for_each(point_in_reach)?;
            if size.x < COINCIDENT_MM || size.y < COINCIDENT_MM || size.z < COINCIDENT_MM {
                return Err(SolidFault::Flat);
            }
            let solid = prism(&rectangle(place, *size), &[], *place, size.z)?;
            verify::volume_agrees(&solid, size.x * size.y * size.z)?;
            Ok(Some(solid))
        }
        Shape::Cylinder { from, to, diameter } => {
            [*from, *to].into_iter().try_for_each(point_in_reach)?;
            in_reach(*diameter)?;
            let height = (to - from).magnitude();
            if height < COINCIDENT_MM || *diameter < COINCIDENT_MM {
                return Err(SolidFault::Flat);
            }
            let axis = (to - from) / height;
            let base = Placement { origin: *from, axis, x: reference_normal(axis) };
            let solid = prism(&ring(base, diameter / 2.0), &[], base, height)?;
            verify::volume_agrees(&solid, PI / 4.0 * diameter * diameter * height)?;
            Ok(Some(solid))
        }
        Shape::Mesh(mesh) => {
            mesh.corners().try_for_each(point_in_reach)?;
            if left_out(mesh).is_some() { Ok(None) } else { faceted(mesh).map(Some) }
        }
    }
}

/// Why a mesh makes no solid, in words.
pub fn left_out(mesh: &TriangleMesh) -> Option<String> {
    let triangles = mesh.triangles().len();
    if triangles > MOST_FACES {
        return Some(format!("it has {triangles} triangles, and at most {MOST_FACES} become faces"));
    }
    mesh.no_solid().map(|why| why.to_string())
}

/// Whether a shape makes a solid; the solid itself is not made of a mesh.
///
/// # Errors
/// As for [`of_shape`].
pub fn check_shape(shape: &Shape) -> Result<(), SolidFault> {
    match shape {
        Shape::Mesh(mesh) => mesh.corners().try_for_each(point_in_reach),
        _ => of_shape(shape).map(|_| ()),
    }
}

/// The solids of all shapes of a component.
///
/// # Errors
/// See [`of_shape`].
pub fn component(component: &Component) -> Result<Vec<Solid>, SolidFault> {
    let each: Vec<Option<Solid>> = component.shapes.iter().map(of_shape).collect::<Result<_, _>>()?;
    Ok(each.into_iter().flatten().collect())
}

fn point_in_reach(at: Point3) -> Result<(), SolidFault> {
    [at.x, at.y, at.z].into_iter().try_for_each(in_reach)
}

/// The loop of a box's face along its edges `x` and `y()`, counter-clockwise seen against its axis.
fn rectangle(place: &Placement, size: Vector3) -> Wire {
    let corners = [(0.0, 0.0), (size.x, 0.0), (size.x, size.y), (0.0, size.y)]
        .map(|(x, y)| place.point(Point3::new(x, y, 0.0)));
    let next = |index: usize| corners[(index + 1) % corners.len()];
    let sides = [0, 1, 2, 3].map(|i| Curve::Line(Line3 { from: corners[i], to: next(i) }));
    closed(&sides)
}

/// The solid of a body of triangles: one flat face each.
fn faceted(mesh: &TriangleMesh) -> Result<Solid, SolidFault> {
    let corners: Vec<Point3> = mesh.corners().collect();
    let vertices: Vec<Vertex> = corners.iter().map(|at| Vertex::new(*at)).collect();
    let mut edges: FxHashMap<(u32, u32), Edge> = FxHashMap::default();
    let mut edge = |from: u32, to: u32| {
        let (low, high) = (from.min(to), from.max(to));
        let known = edges.entry((low, high)).or_insert_with(|| {
            let [from, to] = [low, high].map(|corner| &vertices[corner as usize]);
            Edge::debug_new(from, to, Curve::Line(Line3 { from: from.point(), to: to.point() }))
        });
        if from < to { known.clone() } else { known.inverse() }
    };
    let mut shell = Shell::new();
    for &[a, b, c] in mesh.triangles() {
        let boundary: Wire = [edge(a, b), edge(b, c), edge(c, a)].into_iter().collect();
        let [from, along, beside] = [a, b, c].map(|corner| corners[corner as usize]);
        let normal = (along - from).cross(beside - from);
        let plane = Placement { origin: from, axis: normal.normalize(), x: (along - from).normalize() };
        shell.push(Face::try_new(vec![boundary], Surface::Plane(plane))?);
    }
    let solid = Solid::try_new(vec![shell])?;
    verify::volume_agrees(&solid, mesh.volume())?;
    Ok(solid)
}
