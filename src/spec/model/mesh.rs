//! The skin of a component as triangles.

use parry3d_f64::math::Vector;
use parry3d_f64::query::details::local_ray_intersection_with_triangle;
use parry3d_f64::query::{PointQuery, Ray};
use parry3d_f64::shape::{TriMesh, TriMeshFlags};
use rustc_hash::FxHashMap;
use thiserror::Error;

use super::Rotation;
use crate::geometry::{Point3, Vector3, reference_normal};

/// A surface of triangles, each counter-clockwise seen from outside, with a tree of boxes for questions about places.
#[derive(Debug, Clone)]
pub struct TriangleMesh {
    skin: TriMesh,
    open_edges: usize,
    was_inside_out: bool,
    no_solid: Option<NoSolid>,
    volume: f64,
}

/// Why triangles make no surface.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum MeshFault {
    /// There are none with an area.
    #[error("it holds no triangle that has an area")]
    Empty,
    /// A coordinate is no number, or infinite.
    #[error("a corner of triangle {0} has a coordinate that is no finite number")]
    NotFinite(usize),
    /// A triangle names a corner that is not there.
    #[error("triangle {0} has a corner that is not in the list of corners")]
    NoSuchCorner(usize),
}

/// Why triangles are no faces of one plain solid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum NoSolid {
    /// The surface is not closed.
    #[error("it is not closed")]
    Open,
    /// An edge has more than two triangles.
    #[error("some of its edges have more than two triangles")]
    SharedEdges,
    /// There is a hollow space inside.
    #[error("it has a hollow space inside")]
    Hollow,
    /// A triangle has no area.
    #[error("some of its triangles have no area")]
    NoArea,
    /// The surface touches itself in a point.
    #[error("it touches itself in a point")]
    Pinched,
}

impl TriangleMesh {
    /// The bodies that triangles bound, each triangle by the positions of its corners (mm) in `corners`: those that
    /// hang together by edges, and the skins of hollows with the body around them. Corners at one place become one,
    /// triangles with two such corners go, and a closed body that is inside out is turned.
    ///
    /// # Errors
    /// [`MeshFault`], triangles counted from 1.
    pub fn all(corners: &[Point3], triangles: &[[u32; 3]]) -> Result<Vec<Self>, MeshFault> {
        let mut weld = Weld::default();
        let mut faces = Vec::with_capacity(triangles.len());
        for (number, triangle) in (1..).zip(triangles) {
            let mut face = [0; 3];
            for (corner, index) in face.iter_mut().zip(triangle) {
                let at = corners.get(*index as usize).ok_or(MeshFault::NoSuchCorner(number))?;
                if ![at.x, at.y, at.z].into_iter().all(f64::is_finite) {
                    return Err(MeshFault::NotFinite(number));
                }
                *corner = weld.corner(Vector::new(at.x, at.y, at.z));
            }
            if face[0] != face[1] && face[1] != face[2] && face[2] != face[0] {
                faces.push(face);
            }
        }
        if faces.iter().all(|face| area_doubled(&weld.corners, face) == 0.0) {
            return Err(MeshFault::Empty);
        }
        Ok(bodies(&weld.corners, &faces))
    }

    /// The body that these triangles bound; `None` without any.
    fn of(corners: &[Vector], faces: &[[u32; 3]], was_inside_out: bool) -> Option<Self> {
        let mut own = FxHashMap::default();
        let mut kept = Vec::new();
        let mut number = |corner: u32| {
            *own.entry(corner).or_insert_with(|| {
                kept.push(corners[corner as usize]);
                // As many corners as fit the indices of the triangles.
                kept.len() as u32 - 1
            })
        };
        let faces: Vec<[u32; 3]> = faces.iter().map(|face| face.map(&mut number)).collect();
        let open_edges = open_edges(&faces);
        let no_solid = if open_edges > 0 { Some(NoSolid::Open) } else { no_solid(&kept, &faces) };
        let mut skin = TriMesh::new(kept, faces).ok()?;
        if open_edges == 0 {
            // Inside and outside are told by the normals at the nearest place. The flag changes no triangle, so it
            // cannot fail; without it nothing would be inside.
            let _ = skin.set_flags(TriMeshFlags::ORIENTED);
        }
        let volume = volume(skin.vertices(), skin.indices());
        Some(TriangleMesh { skin, open_edges, was_inside_out, no_solid, volume })
    }

    /// The surface, turned.
    pub(super) fn turned(&self, rotation: &Rotation) -> TriangleMesh {
        let mut turned = self.clone();
        turned.skin.update_vertices(|corners| {
            for corner in corners {
                let at = rotation.point(Point3::new(corner.x, corner.y, corner.z));
                *corner = Vector::new(at.x, at.y, at.z);
            }
        });
        turned
    }

    /// Edges that do not have one triangle on either side; 0 for a closed surface, which alone has an inside.
    pub fn open_edges(&self) -> usize {
        self.open_edges
    }

    /// Whether all triangles were given clockwise seen from outside.
    pub fn was_inside_out(&self) -> bool {
        self.was_inside_out
    }

    /// The enclosed volume, mm³; of no meaning for an open surface.
    pub fn volume(&self) -> f64 {
        self.volume
    }

    /// Every corner, mm.
    pub fn corners(&self) -> impl ExactSizeIterator<Item = Point3> {
        self.skin.vertices().iter().map(|at| Point3::new(at.x, at.y, at.z))
    }

    /// Every triangle by the positions of its corners.
    pub fn triangles(&self) -> &[[u32; 3]] {
        self.skin.indices()
    }

    /// Why the triangles are no faces of one plain solid; `None` where they are.
    pub fn no_solid(&self) -> Option<NoSolid> {
        self.no_solid
    }

    /// The corners with the smallest and the largest coordinates of a box around it, mm.
    pub fn bounds(&self) -> [Point3; 2] {
        let bounds = self.skin.local_aabb();
        [bounds.mins, bounds.maxs].map(|at| Point3::new(at.x, at.y, at.z))
    }

    /// The surface as the distance library takes it.
    pub(crate) fn skin(&self) -> &TriMesh {
        &self.skin
    }

    /// The nearest place of the surface to a point.
    pub(super) fn nearest(&self, at: Point3) -> Point3 {
        let near = self.skin.project_local_point(Vector::new(at.x, at.y, at.z), false).point;
        Point3::new(near.x, near.y, near.z)
    }

    /// Distance of a point from the surface, mm; negative inside.
    pub fn distance_to_point(&self, at: Point3) -> f64 {
        self.skin.distance_to_local_point(Vector::new(at.x, at.y, at.z), false)
    }

    /// Where a straight line is inside, in its order: from and to how far from `at` along the unit vector `way`, mm.
    /// None of an open surface.
    pub(super) fn inside(&self, at: Point3, way: Vector3) -> Vec<(f64, f64)> {
        if self.open_edges > 0 {
            return Vec::new();
        }
        // A hair beside, so that no line goes through an edge, where it would meet two triangles for one skin.
        let across = reference_normal(way);
        let at = at + across * BESIDE_MM.0 + way.cross(across) * BESIDE_MM.1;
        let mut crossings: Vec<(f64, i32)> = [1.0, -1.0]
            .into_iter()
            .flat_map(|sense| {
                let forward = way * sense;
                let ray =
                    Ray::new(Vector::new(at.x, at.y, at.z), Vector::new(forward.x, forward.y, forward.z));
                self.skin.triangles().filter_map(move |triangle| {
                    let (hit, _) =
                        local_ray_intersection_with_triangle(triangle.a, triangle.b, triangle.c, &ray)?;
                    let outward = (triangle.b - triangle.a).cross(triangle.c - triangle.a);
                    let leaves = outward.dot(ray.dir) * sense > 0.0;
                    Some((hit.time_of_impact * sense, if leaves { -1 } else { 1 }))
                })
            })
            .collect();
        crossings.sort_by(|a, b| a.0.total_cmp(&b.0));
        spans(&crossings)
    }
}

/// The shift of a line that is followed, mm, along two directions square to it: skew, and less than any part is made to.
const BESIDE_MM: (f64, f64) = (1.37e-6, 2.71e-6);

impl PartialEq for TriangleMesh {
    fn eq(&self, other: &Self) -> bool {
        self.skin.vertices() == other.skin.vertices() && self.skin.indices() == other.skin.indices()
    }
}

/// From each crossing inwards to the one that leads out again; a line may be in several skins at once.
fn spans(crossings: &[(f64, i32)]) -> Vec<(f64, f64)> {
    let (mut spans, mut entered, mut depth) = (Vec::new(), 0.0, 0);
    for &(at, sense) in crossings {
        if depth == 0 && sense > 0 {
            entered = at;
        }
        depth += sense;
        if depth == 0 && sense < 0 {
            spans.push((entered, at));
        }
    }
    spans
}

/// Corners, those nearer to each other than [`WELD_MM`] taken for one.
#[derive(Default)]
struct Weld {
    corners: Vec<Vector>,
    cells: FxHashMap<[i64; 3], Vec<u32>>,
}

/// Corners nearer than this are one, mm: files hold seven digits, and programs round them.
const WELD_MM: f64 = 1e-3;

impl Weld {
    fn corner(&mut self, at: Vector) -> u32 {
        let cells = at.to_array().map(|number| number / (2.0 * WELD_MM));
        let own = cells.map(|cell| cell.floor() as i64);
        // Only in the nearer neighbour of each axis can there be a corner so near.
        let beside = cells.map(|cell| if cell - cell.floor() < 0.5 { -1 } else { 1 });
        for step in 0..8 {
            let cell = [0, 1, 2]
                .map(|axis| own[axis].saturating_add(if step >> axis & 1 == 1 { beside[axis] } else { 0 }));
            let known = self.cells.get(&cell).into_iter().flatten();
            for &corner in known {
                if self.corners[corner as usize].distance(at) < WELD_MM {
                    return corner;
                }
            }
        }
        let corner = self.corners.len() as u32;
        self.corners.push(at);
        self.cells.entry(own).or_default().push(corner);
        corner
    }
}

/// The bodies of triangles: see [`TriangleMesh::all`].
fn bodies(corners: &[Vector], faces: &[[u32; 3]]) -> Vec<TriangleMesh> {
    let (mut closed, open): (Vec<_>, Vec<_>) =
        connected(faces).into_iter().partition(|part| open_edges(part) == 0);
    let all_inward = closed.iter().map(|part| volume(corners, part)).sum::<f64>() < 0.0;
    if all_inward {
        closed.iter_mut().for_each(|part| reverse(part));
    }
    let (inward, outward): (Vec<_>, Vec<_>) =
        closed.into_iter().partition(|part| volume(corners, part) < 0.0);
    let mut made: Vec<(Vec<[u32; 3]>, bool)> = outward.into_iter().map(|part| (part, all_inward)).collect();
    // Asked for only where something faces inwards.
    let around = if inward.is_empty() { &[][..] } else { &made[..] };
    let solids: Vec<Option<TriangleMesh>> =
        around.iter().map(|(part, _)| TriangleMesh::of(corners, part, false)).collect();
    for mut part in inward {
        let at = part.first().map_or(Vector::ZERO, |face| corners[face[0] as usize]);
        let holds = |solid: &Option<TriangleMesh>| {
            solid.as_ref().is_some_and(|solid| solid.skin.project_local_point(at, false).is_inside)
        };
        // The skin of a hollow, or a body inside out.
        match solids.iter().position(holds) {
            Some(around) => made[around].0.extend(part),
            None => {
                reverse(&mut part);
                made.push((part, true));
            }
        }
    }
    made.extend(open.into_iter().map(|part| (part, false)));
    made.iter().filter_map(|(part, turned)| TriangleMesh::of(corners, part, *turned)).collect()
}

fn reverse(faces: &mut [[u32; 3]]) {
    faces.iter_mut().for_each(|face| face.swap(1, 2));
}

/// A side of a triangle.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Side {
    /// Its corners, the lower first.
    edge: (u32, u32),
    /// The triangle.
    face: usize,
    /// Whether the triangle walks from the lower corner to the higher.
    rises: bool,
}

/// The sides of triangles, those of one edge beside each other.
fn sides(faces: &[[u32; 3]]) -> Vec<Side> {
    let of = |(face, &[a, b, c]): (usize, &[u32; 3])| {
        [(a, b), (b, c), (c, a)].map(|(from, to)| Side {
            edge: (from.min(to), from.max(to)),
            face,
            rises: from < to,
        })
    };
    let mut sides: Vec<Side> = faces.iter().enumerate().flat_map(of).collect();
    sides.sort_unstable();
    sides
}

/// The sides of each edge.
fn edges(sides: &[Side]) -> impl Iterator<Item = &[Side]> {
    sides.chunk_by(|a, b| a.edge == b.edge)
}

/// Edges that are not walked as often one way as the other.
fn open_edges(faces: &[[u32; 3]]) -> usize {
    let is_open = |edge: &&[Side]| 2 * edge.iter().filter(|side| side.rises).count() != edge.len();
    edges(&sides(faces)).filter(is_open).count()
}

/// The triangles that hang together by edges.
fn connected(faces: &[[u32; 3]]) -> Vec<Vec<[u32; 3]>> {
    let mut beside = vec![Vec::new(); faces.len()];
    for edge in edges(&sides(faces)) {
        for pair in edge.windows(2) {
            beside[pair[0].face].push(pair[1].face);
            beside[pair[1].face].push(pair[0].face);
        }
    }
    let mut is_known = vec![false; faces.len()];
    let mut parts = Vec::new();
    for first in 0..faces.len() {
        let (mut part, mut next) = (Vec::new(), vec![first]);
        // Ends: a face brings its neighbours once.
        while let Some(face) = next.pop() {
            if !std::mem::replace(&mut is_known[face], true) {
                part.push(faces[face]);
                next.extend(&beside[face]);
            }
        }
        if !part.is_empty() {
            parts.push(part);
        }
    }
    parts
}

/// Why the triangles of a closed surface are no faces of one plain solid.
fn no_solid(corners: &[Vector], faces: &[[u32; 3]]) -> Option<NoSolid> {
    if edges(&sides(faces)).any(|edge| edge.len() != 2) {
        return Some(NoSolid::SharedEdges);
    }
    if connected(faces).len() > 1 {
        return Some(NoSolid::Hollow);
    }
    if faces.iter().any(|face| area_doubled(corners, face) == 0.0) {
        return Some(NoSolid::NoArea);
    }
    has_pinched_corner(faces).then_some(NoSolid::Pinched)
}

/// Twice the area of a triangle, mm².
fn area_doubled(corners: &[Vector], face: &[u32; 3]) -> f64 {
    let [a, b, c] = face.map(|corner| corners[corner as usize]);
    (b - a).cross(c - a).length()
}

/// Whether there is a corner whose triangles, all with two neighbours there, are not all round it in one turn.
fn has_pinched_corner(faces: &[[u32; 3]]) -> bool {
    // For each corner and the next one of each of its triangles, the last one of that triangle.
    let mut around: Vec<(u32, u32, u32)> =
        faces.iter().flat_map(|&[a, b, c]| [(a, b, c), (b, c, a), (c, a, b)]).collect();
    around.sort_unstable();
    around.chunk_by(|a, b| a.0 == b.0).any(|fan| {
        let next = |from: u32| fan.binary_search_by_key(&from, |(_, from, _)| *from).ok().map(|at| fan[at].2);
        let first = fan[0].1;
        let (mut at, mut steps) = (next(first), 1);
        // Ends: a turn takes as many steps as there are triangles at most.
        while let Some(here) = at.filter(|here| *here != first && steps <= fan.len()) {
            (at, steps) = (next(here), steps + 1);
        }
        steps != fan.len()
    })
}

/// The volume by the divergence theorem, mm³: a sixth of the sum of a · (b × c).
fn volume(corners: &[Vector], faces: &[[u32; 3]]) -> f64 {
    // About a corner, so that rounding stays small far from the origin.
    let about = faces.first().map_or(Vector::ZERO, |face| corners[face[0] as usize]);
    let sixth = |face: &[u32; 3]| {
        let [a, b, c] = face.map(|corner| corners[corner as usize] - about);
        a.dot(b.cross(c)) / 6.0
    };
    faces.iter().map(sixth).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{box_mesh, u_mesh};

    /// The only body of triangles.
    fn one(corners: &[Point3], faces: &[[u32; 3]]) -> TriangleMesh {
        let mut all = TriangleMesh::all(corners, faces).unwrap();
        assert_eq!(all.len(), 1);
        all.remove(0)
    }

    #[test]
    fn a_closed_skin_has_a_volume_an_inside_and_bodies() {
        let (corners, faces) = box_mesh(Point3::new(0.0, 0.0, 0.0), Vector3::new(30.0, 20.0, 10.0));
        let mesh = one(&corners, &faces);
        assert_eq!((mesh.open_edges(), mesh.was_inside_out(), mesh.corners().len()), (0, false, 8));
        assert!((mesh.volume() - 6000.0).abs() < 1e-9);
        assert!((mesh.distance_to_point(Point3::new(15.0, 10.0, 6.0)) + 4.0).abs() < 1e-12);
        assert!((mesh.distance_to_point(Point3::new(33.0, 24.0, 5.0)) - 5.0).abs() < 1e-12);
        let x = Vector3::unit_x();
        assert_eq!(mesh.inside(Point3::new(-5.0, 10.0, 5.0), x), [(5.0, 35.0)]);
        assert_eq!(mesh.inside(Point3::new(-5.0, 21.0, 5.0), x), []);
        // Through the diagonals of two faces.
        assert_eq!(mesh.inside(Point3::new(15.0, 10.0, -1.0), Vector3::unit_z()), [(1.0, 11.0)]);
        assert_eq!(mesh.no_solid(), None);
    }

    #[test]
    fn a_line_crosses_both_legs_of_a_u_and_the_gap_between_is_outside() {
        let (corners, faces) = u_mesh();
        let mesh = one(&corners, &faces);
        // Legs 20 mm wide 60 mm apart, a floor of 20 mm, 50 mm deep: 100 x 80 x 50 less 60 x 60 x 50.
        assert!((mesh.volume() - 220_000.0).abs() < 1e-6, "{}", mesh.volume());
        assert_eq!(
            mesh.inside(Point3::new(-10.0, 21.0, 60.0), Vector3::unit_x()),
            [(10.0, 30.0), (90.0, 110.0)]
        );
        assert!((mesh.distance_to_point(Point3::new(50.0, 25.0, 60.0)) - 30.0).abs() < 1e-12);
        assert!((mesh.distance_to_point(Point3::new(50.0, 25.0, 10.0)) + 10.0).abs() < 1e-12);
    }

    #[test]
    fn faults_of_a_skin_are_seen() {
        let (corners, mut faces) = box_mesh(Point3::new(0.0, 0.0, 0.0), Vector3::new(30.0, 20.0, 10.0));
        let inward: Vec<[u32; 3]> = faces.iter().map(|[a, b, c]| [*a, *c, *b]).collect();
        let turned = one(&corners, &inward);
        assert!(turned.was_inside_out() && (turned.volume() - 6000.0).abs() < 1e-9);
        assert!(turned.distance_to_point(Point3::new(15.0, 10.0, 5.0)) < 0.0);

        let both: Vec<[u32; 3]> = faces.iter().chain(&inward).copied().collect();
        assert_eq!(one(&corners, &both).no_solid(), Some(NoSolid::SharedEdges));
        let last = faces.pop().unwrap();
        let open = one(&corners, &faces);
        assert_eq!((open.open_edges(), open.no_solid()), (3, Some(NoSolid::Open)));
        assert!(open.distance_to_point(Point3::new(15.0, 10.0, 5.0)) > 0.0);
        faces.push([last[0], last[2], last[1]]);
        assert_eq!(one(&corners, &faces).open_edges(), 3);

        assert_eq!(TriangleMesh::all(&corners, &[]), Err(MeshFault::Empty));
        assert_eq!(TriangleMesh::all(&corners, &[[0, 0, 1]]), Err(MeshFault::Empty));
        assert_eq!(TriangleMesh::all(&corners, &[[0, 1, 8]]), Err(MeshFault::NoSuchCorner(1)));
        let nan = [Point3::new(f64::NAN, 0.0, 0.0); 3];
        assert_eq!(TriangleMesh::all(&nan, &[[0, 1, 2]]), Err(MeshFault::NotFinite(1)));
        // Three corners on a line.
        let line = [0.0, 1.0, 2.0].map(|x| Point3::new(x, 0.0, 0.0));
        assert_eq!(TriangleMesh::all(&line, &[[0, 1, 2]]), Err(MeshFault::Empty));
    }

    /// Several boxes, some of them inside out.
    fn boxes(all: &[([f64; 3], f64, bool)]) -> (Vec<Point3>, Vec<[u32; 3]>) {
        let (mut corners, mut faces) = (Vec::new(), Vec::new());
        for (at, size, inward) in all {
            let first = corners.len() as u32;
            let (more, mut own) = box_mesh(Point3::from(*at), Vector3::new(*size, *size, *size));
            if *inward {
                reverse(&mut own);
            }
            corners.extend(more);
            faces.extend(own.into_iter().map(|face| face.map(|corner| corner + first)));
        }
        (corners, faces)
    }

    #[test]
    fn each_body_is_told_inside_from_outside_by_itself() {
        // A large box and a small one inside out, apart from it; a hollow in a box; everything inside out.
        let (corners, faces) = boxes(&[([0.0; 3], 100.0, false), ([200.0, 0.0, 0.0], 20.0, true)]);
        let all = TriangleMesh::all(&corners, &faces).unwrap();
        assert_eq!(all.iter().map(TriangleMesh::was_inside_out).collect::<Vec<_>>(), [false, true]);
        assert!(all[1].distance_to_point(Point3::new(210.0, 10.0, 10.0)) < 0.0);
        assert!((all[1].distance_to_point(Point3::new(210.0, 10.0, 100.0)) - 80.0).abs() < 1e-9);

        let hollow = [([0.0; 3], 100.0, false), ([40.0; 3], 20.0, true)];
        for turned in [false, true] {
            let (corners, mut faces) = boxes(&hollow);
            if turned {
                reverse(&mut faces);
            }
            let body = one(&corners, &faces);
            assert_eq!((body.was_inside_out(), body.no_solid()), (turned, Some(NoSolid::Hollow)));
            assert!((body.volume() - 992_000.0).abs() < 1e-6);
            let at = Point3::new(50.0, 50.0, 50.0);
            assert!((body.distance_to_point(at) - 10.0).abs() < 1e-9);
            let spans = body.inside(at, Vector3::unit_x());
            assert!(spans.len() == 2 && (spans[0].1 + 10.0).abs() < 1e-9 && (spans[1].0 - 10.0).abs() < 1e-9);
        }
    }

    #[test]
    fn corners_that_differ_by_rounding_are_one_and_a_pinched_body_is_none() {
        let (corners, faces) = box_mesh(Point3::new(0.0, 0.0, 0.0), Vector3::new(30.0, 20.0, 10.0));
        let soup: Vec<Point3> = faces
            .iter()
            .enumerate()
            .flat_map(|(n, face)| face.map(|c| corners[c as usize] + Vector3::unit_x() * (n as f64 * 3e-5)))
            .collect();
        let own: Vec<[u32; 3]> = (0..faces.len() as u32).map(|n| [3 * n, 3 * n + 1, 3 * n + 2]).collect();
        assert_eq!(one(&soup, &own).open_edges(), 0);
        // Two boxes that share a corner hang together by no edge; two that share an edge do.
        let (corners, faces) = boxes(&[([0.0; 3], 10.0, false), ([10.0; 3], 10.0, false)]);
        assert_eq!(TriangleMesh::all(&corners, &faces).unwrap().len(), 2);
        assert!(!has_pinched_corner(&box_mesh(Point3::new(0.0, 0.0, 0.0), Vector3::new(1.0, 1.0, 1.0)).1));
        // A fan of three triangles round corner 0, twice.
        let cone = |o: u32| [[0, o, o + 1], [0, o + 1, o + 2], [0, o + 2, o], [o + 2, o + 1, o]];
        assert!(has_pinched_corner(&[cone(1), cone(4)].concat()));
        assert!(!has_pinched_corner(&cone(1)));
    }
}
