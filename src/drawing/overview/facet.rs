//! The triangles of a component's skin, as they are seen.

use std::collections::BTreeMap;

use super::body::{Body, Look, Owner, lightness, plane};
use super::view::View;
use crate::geometry::{InnerSpace, Point3, Vector3};
use crate::spec::model::TriangleMesh;

/// Most triangles of a skin that are drawn; a finer one is drawn coarser.
const MOST: usize = 10_000;

/// Triangles that are seen from their edge to within this sine are left out: they have no room on the page.
const EDGE_ON: f64 = 0.01;

/// Sides at which the skin turns by less than this are no edges of the component: cosine of 30°.
const SMOOTH: f64 = 0.866;

/// A body for each triangle that faces the eye.
pub(super) fn bodies(view: &View, owner: Owner, mesh: &TriangleMesh) -> Vec<Body> {
    let corners: Vec<Point3> = mesh.corners().collect();
    let faces = coarse(&corners, mesh);
    let is_whole = faces.len() == mesh.triangles().len();
    let normals: Vec<Vector3> =
        faces.iter().map(|face| normal(face.map(|corner| corners[corner as usize]))).collect();
    let mut beside: BTreeMap<(u32, u32), Vec<usize>> = BTreeMap::new();
    for (index, &[a, b, c]) in faces.iter().enumerate() {
        for (from, to) in [(a, b), (b, c), (c, a)] {
            beside.entry((from.min(to), from.max(to))).or_default().push(index);
        }
    }
    // The skin of an open mesh may be seen from behind.
    let shows = |face: usize| {
        let toward = view.turn(normals[face]).1;
        toward > EDGE_ON || (mesh.open_edges() > 0 && toward < -EDGE_ON)
    };
    let is_edge = |face: usize, from: u32, to: u32| {
        let both = beside.get(&(from.min(to), from.max(to))).map_or(&[][..], Vec::as_slice);
        let other = both.iter().find(|other| **other != face);
        let is_edge = |&other: &usize| !shows(other) || normals[face].dot(normals[other]) < SMOOTH;
        // Where a skin was made coarser, its folds mean nothing.
        is_whole && other.is_none_or(is_edge)
    };
    (0..faces.len())
        .filter(|face| shows(*face))
        .filter_map(|face| {
            let [a, b, c] = faces[face];
            let at = |corner: u32| view.see(corners[corner as usize]);
            let edges = [(a, b), (b, c), (c, a)].into_iter().filter(|&(from, to)| is_edge(face, from, to));
            let edges = edges.map(|(from, to)| [at(from).0, at(to).0]).collect();
            let look = Look::Facet { light: lightness(normals[face]), edges };
            let depth = plane(view, at(a), normals[face]);
            Body::new(owner, &[a, b, c].map(|corner| at(corner).0), look, depth)
        })
        .collect()
}

/// The unit normal of a triangle; zero for one without an area.
fn normal([a, b, c]: [Point3; 3]) -> Vector3 {
    let normal = (b - a).cross(c - a);
    if normal.magnitude2() > 0.0 { normal.normalize() } else { normal }
}

/// The triangles, or fewer: corners in one cell of a grid become the first of them, and triangles that lose a side by
/// that go.
fn coarse(corners: &[Point3], mesh: &TriangleMesh) -> Vec<[u32; 3]> {
    let (mut coarse, mut cells) = (mesh.triangles().to_vec(), 128.0);
    let [low, high] = mesh.bounds();
    let size = (high.x - low.x).max(high.y - low.y).max(high.z - low.z);
    // The grid has fewer cells each time round.
    while coarse.len() > MOST && cells > 1.0 && size > 0.0 {
        let mut first = BTreeMap::new();
        let cell = |at: f64, low: f64| ((at - low) / size * cells) as u32;
        let kept: Vec<u32> = (0..)
            .zip(corners)
            .map(|(index, at)| {
                *first.entry((cell(at.x, low.x), cell(at.y, low.y), cell(at.z, low.z))).or_insert(index)
            })
            .collect();
        let moved = mesh.triangles().iter().map(|face| face.map(|corner| kept[corner as usize]));
        coarse = moved.filter(|[a, b, c]| a != b && b != c && c != a).collect();
        cells /= 1.5;
    }
    coarse
}
