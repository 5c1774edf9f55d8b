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
pub const MOST_FACES: usize = 20_000;

/// The solids of a component's shape: none of a mesh that is no plain solid (not closed, hollow, edges with more than
/// two triangles) or has more than [`MOST_FACES`]; several where a mesh has several bodies.
///
/// # Errors
/// [`SolidFault::Flat`] for a shape without extent in some direction, [`SolidFault::TooFar`].
pub fn of_shape(shape: &Shape) -> Result<Vec<Solid>, SolidFault> {
    match shape {
        Shape::Box { place, size } => {
            Shape::box_corners(place, *size).into_iter().try_for_each(point_in_reach)?;
            if size.x < COINCIDENT_MM || size.y < COINCIDENT_MM || size.z < COINCIDENT_MM {
                return Err(SolidFault::Flat);
            }
            let solid = prism(&rectangle(place, *size), &[], *place, size.z)?;
            verify::volume_agrees(&solid, size.x * size.y * size.z)?;
            Ok(vec![solid])
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
            Ok(vec![solid])
        }
        Shape::Mesh(mesh) => {
            mesh.corners().try_for_each(point_in_reach)?;
            let bodies = if mesh.triangles().len() > MOST_FACES { None } else { mesh.bodies() };
            let solids = bodies.unwrap_or_default().iter().map(|body| faceted(mesh, body)).collect();
            // Bodies that touch themselves in a point or an edge are surfaces, but no solids.
            Ok(Result::unwrap_or_default(solids))
        }
    }
}

/// The solids of all shapes of a component.
///
/// # Errors
/// See [`of_shape`].
pub fn component(component: &Component) -> Result<Vec<Solid>, SolidFault> {
    let each: Vec<Vec<Solid>> = component.shapes.iter().map(of_shape).collect::<Result<_, _>>()?;
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
fn faceted(mesh: &TriangleMesh, body: &[[u32; 3]]) -> Result<Solid, SolidFault> {
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
    let mut volume = 0.0;
    let about = body.first().map_or(Point3::new(0.0, 0.0, 0.0), |face| corners[face[0] as usize]);
    for &[a, b, c] in body {
        let boundary: Wire = [edge(a, b), edge(b, c), edge(c, a)].into_iter().collect();
        let [from, along, beside] = [a, b, c].map(|corner| corners[corner as usize]);
        let normal = (along - from).cross(beside - from);
        volume += (from - about).dot(normal) / 6.0;
        let plane = Placement { origin: from, axis: normal.normalize(), x: (along - from).normalize() };
        shell.push(Face::try_new(vec![boundary], Surface::Plane(plane))?);
    }
    let solid = Solid::try_new(vec![shell])?;
    verify::volume_agrees(&solid, volume)?;
    Ok(solid)
}
