//! The skin of a component as triangles.

use parry3d_f64::math::Vector;
use parry3d_f64::query::details::local_ray_intersection_with_triangle;
use parry3d_f64::query::{PointQuery, Ray};
use parry3d_f64::shape::{TriMesh, TriMeshFlags, Triangle};
use rustc_hash::FxHashMap;
use thiserror::Error;

use super::Rotation;
use crate::geometry::{Point3, Vector3};

/// A surface of triangles, each counter-clockwise seen from outside, with a tree of boxes for questions about places.
#[derive(Debug, Clone)]
pub struct TriangleMesh {
    skin: TriMesh,
    open_edges: usize,
    was_inside_out: bool,
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

impl TriangleMesh {
    /// The surface of triangles, each by the positions of its corners (mm) in `corners`. Corners at one place become
    /// one, triangles with two such corners go, and a closed surface that encloses a negative volume is turned
    /// outside out.
    ///
    /// # Errors
    /// [`MeshFault`], triangles counted from 1.
    pub fn new(corners: &[Point3], triangles: &[[u32; 3]]) -> Result<Self, MeshFault> {
        let mut places = FxHashMap::default();
        let mut kept = Vec::new();
        let mut faces = Vec::with_capacity(triangles.len());
        for (number, triangle) in (1..).zip(triangles) {
            let mut face = [0; 3];
            for (corner, index) in face.iter_mut().zip(triangle) {
                let at = corners.get(*index as usize).ok_or(MeshFault::NoSuchCorner(number))?;
                // The sum with 0 makes one number of both zeros.
                let at = [at.x + 0.0, at.y + 0.0, at.z + 0.0];
                if !at.iter().all(|number| number.is_finite()) {
                    return Err(MeshFault::NotFinite(number));
                }
                *corner = *places.entry(at.map(f64::to_bits)).or_insert_with(|| {
                    kept.push(Vector::from(at));
                    // As many corners as fit the indices of the triangles.
                    kept.len() as u32 - 1
                });
            }
            if face[0] != face[1] && face[1] != face[2] && face[2] != face[0] {
                faces.push(face);
            }
        }
        let open_edges = open_edges(&faces);
        let mut skin = TriMesh::new(kept, faces).map_err(|_| MeshFault::Empty)?;
        let volume = volume(skin.vertices(), skin.indices());
        if skin.triangles().all(|triangle| triangle.area() == 0.0) {
            return Err(MeshFault::Empty);
        }
        let was_inside_out = open_edges == 0 && volume < 0.0;
        if was_inside_out {
            skin.reverse();
        }
        if open_edges == 0 {
            // Inside and outside are told by the normals at the nearest place. The flag changes no triangle, so it
            // cannot fail; without it nothing would be inside.
            let _ = skin.set_flags(TriMeshFlags::ORIENTED);
        }
        Ok(TriangleMesh { skin, open_edges, was_inside_out })
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
        volume(self.skin.vertices(), self.skin.indices())
    }

    /// Every corner, mm.
    pub fn corners(&self) -> impl ExactSizeIterator<Item = Point3> {
        self.skin.vertices().iter().map(|at| Point3::new(at.x, at.y, at.z))
    }

    /// Every triangle by the positions of its corners.
    pub fn triangles(&self) -> &[[u32; 3]] {
        self.skin.indices()
    }

    /// The triangles of each body: those that hang together by edges. `None` where an edge does not have exactly two
    /// triangles, a triangle has no area or a body encloses no volume, as the skin of a hollow space does.
    pub fn bodies(&self) -> Option<Vec<Vec<[u32; 3]>>> {
        let faces = self.skin.indices();
        let mut sides: Vec<((u32, u32), usize)> = (0..)
            .zip(faces)
            .flat_map(|(face, &[a, b, c])| {
                [(a, b), (b, c), (c, a)].map(|(from, to)| ((from.min(to), from.max(to)), face))
            })
            .collect();
        sides.sort_unstable();
        let mut beside = vec![Vec::new(); faces.len()];
        for edge in sides.chunk_by(|a, b| a.0 == b.0) {
            let [(_, one), (_, other)] = edge else { return None };
            beside[*one].push(*other);
            beside[*other].push(*one);
        }
        let has_area = |triangle: Triangle| triangle.area() > 0.0;
        if self.open_edges > 0 || !self.skin.triangles().all(has_area) {
            return None;
        }
        let mut is_known = vec![false; faces.len()];
        let mut bodies = Vec::new();
        for first in 0..faces.len() {
            let (mut body, mut next) = (Vec::new(), vec![first]);
            // Ends: a face brings its neighbours once.
            while let Some(face) = next.pop() {
                if !std::mem::replace(&mut is_known[face], true) {
                    body.push(faces[face]);
                    next.extend(&beside[face]);
                }
            }
            if !body.is_empty() {
                if volume(self.skin.vertices(), &body) <= 0.0 {
                    return None;
                }
                bodies.push(body);
            }
        }
        Some(bodies)
    }

    /// The surface as the distance library takes it.
    pub(crate) fn skin(&self) -> &TriMesh {
        &self.skin
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
        // A line through an edge meets both its triangles.
        crossings.dedup_by(|next, last| next.1 == last.1 && next.0 - last.0 < SAME_CROSSING_MM);
        spans(&crossings)
    }
}

/// Crossings of one sense nearer together than this are one, mm.
const SAME_CROSSING_MM: f64 = 1e-6;

impl PartialEq for TriangleMesh {
    fn eq(&self, other: &Self) -> bool {
        self.skin.vertices() == other.skin.vertices() && self.skin.indices() == other.skin.indices()
    }
}

/// From each crossing inwards to the next outwards.
fn spans(crossings: &[(f64, i32)]) -> Vec<(f64, f64)> {
    let (mut spans, mut entered) = (Vec::new(), None);
    for (at, sense) in crossings {
        match (entered, sense) {
            (None, 1) => entered = Some(*at),
            (Some(from), -1) => {
                spans.push((from, *at));
                entered = None;
            }
            _ => {}
        }
    }
    spans
}

/// Edges that are not walked as often one way as the other.
fn open_edges(faces: &[[u32; 3]]) -> usize {
    let ways = |&[a, b, c]: &[u32; 3]| [(a, b), (b, c), (c, a)];
    let mut walked: Vec<(u32, u32, bool)> =
        faces.iter().flat_map(ways).map(|(from, to)| (from.min(to), from.max(to), from < to)).collect();
    walked.sort_unstable();
    let is_open = |edge: &&[(u32, u32, bool)]| 2 * edge.iter().filter(|walk| walk.2).count() != edge.len();
    walked.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1)).filter(is_open).count()
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

    #[test]
    fn a_closed_skin_has_a_volume_an_inside_and_bodies() {
        let (corners, faces) = box_mesh(Point3::new(0.0, 0.0, 0.0), Vector3::new(30.0, 20.0, 10.0));
        let mesh = TriangleMesh::new(&corners, &faces).unwrap();
        assert_eq!((mesh.open_edges(), mesh.was_inside_out(), mesh.corners().len()), (0, false, 8));
        assert!((mesh.volume() - 6000.0).abs() < 1e-9);
        assert!((mesh.distance_to_point(Point3::new(15.0, 10.0, 6.0)) + 4.0).abs() < 1e-12);
        assert!((mesh.distance_to_point(Point3::new(33.0, 24.0, 5.0)) - 5.0).abs() < 1e-12);
        let x = Vector3::unit_x();
        assert_eq!(mesh.inside(Point3::new(-5.0, 10.0, 5.0), x), [(5.0, 35.0)]);
        assert_eq!(mesh.inside(Point3::new(-5.0, 21.0, 5.0), x), []);
        // Through the diagonals of two faces.
        assert_eq!(mesh.inside(Point3::new(15.0, 10.0, -1.0), Vector3::unit_z()), [(1.0, 11.0)]);
        assert_eq!(mesh.bodies().unwrap().iter().map(Vec::len).collect::<Vec<_>>(), [12]);
    }

    #[test]
    fn a_line_crosses_both_legs_of_a_u_and_the_gap_between_is_outside() {
        let (corners, faces) = u_mesh();
        let mesh = TriangleMesh::new(&corners, &faces).unwrap();
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
        let turned = TriangleMesh::new(&corners, &inward).unwrap();
        assert!(turned.was_inside_out() && (turned.volume() - 6000.0).abs() < 1e-9);
        assert!(turned.distance_to_point(Point3::new(15.0, 10.0, 5.0)) < 0.0);

        let both: Vec<[u32; 3]> = faces.iter().chain(&inward).copied().collect();
        assert_eq!(TriangleMesh::new(&corners, &both).unwrap().bodies(), None);
        let one = faces.pop().unwrap();
        let open = TriangleMesh::new(&corners, &faces).unwrap();
        assert_eq!((open.open_edges(), open.bodies()), (3, None));
        assert!(open.distance_to_point(Point3::new(15.0, 10.0, 5.0)) > 0.0);
        faces.push([one[0], one[2], one[1]]);
        assert_eq!(TriangleMesh::new(&corners, &faces).unwrap().open_edges(), 3);

        assert_eq!(TriangleMesh::new(&corners, &[]), Err(MeshFault::Empty));
        assert_eq!(TriangleMesh::new(&corners, &[[0, 0, 1]]), Err(MeshFault::Empty));
        assert_eq!(TriangleMesh::new(&corners, &[[0, 1, 8]]), Err(MeshFault::NoSuchCorner(1)));
        let nan = [Point3::new(f64::NAN, 0.0, 0.0); 3];
        assert_eq!(TriangleMesh::new(&nan, &[[0, 1, 2]]), Err(MeshFault::NotFinite(1)));
        // Three corners on a line.
        let line = [0.0, 1.0, 2.0].map(|x| Point3::new(x, 0.0, 0.0));
        assert_eq!(TriangleMesh::new(&line, &[[0, 1, 2]]), Err(MeshFault::Empty));
    }
}
