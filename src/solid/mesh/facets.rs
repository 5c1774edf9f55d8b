//! Triangle meshes of any solid, watertight by construction.
//!
//! Every edge is divided once, and both its faces take over the same points. Curved faces are bounded by four
//! parameter lines, so they become grids; opposite edges of a grid must be divided alike, and so must the
//! edges that face them across the next grid. Flat faces are triangulated between their loops as they are
//! (constrained Delaunay, with exact predicates, so that loops are never crossed or left open).

use std::f64::consts::PI;

use rustc_hash::FxHashMap;
use spade::{ConstrainedDelaunayTriangulation, HasPosition, Point2, Triangulation};
use truck_topology::{EdgeID, VertexID};

use super::{LARGEST_TURN, MOST_TRIANGLES, Mesh, half_step};
use crate::geometry::Point3;
use crate::solid::verify::walk;
use crate::solid::{Curve, Edge, Face, Solid, SolidFault, Surface, Wire};

/// Coordinates smaller than this are 0, mm: rounding that the triangulation would refuse.
const NOUGHT: f64 = 1e-30;

/// The mesh of any solid, nowhere more than `chord` mm from its true surface; watertight.
///
/// # Errors
/// [`SolidFault::Chord`] and [`SolidFault::TooManyTriangles`]; [`SolidFault::Facets`] for curved faces not
/// bounded by four parameter lines and flat ones whose loops cross.
pub fn of_solid(solid: &Solid, chord: f64) -> Result<Mesh, SolidFault> {
    if !(chord > 0.0 && chord.is_finite()) {
        return Err(SolidFault::Chord(chord));
    }
    let faces: Vec<Face> = solid.boundaries().iter().flat_map(|shell| shell.iter().cloned()).collect();
    // On a torus the heights across and along add.
    let twofold = faces.iter().any(|face| matches!(face.surface(), Surface::Torus { .. }));
    let counts = Counts::of(&faces, if twofold { chord / 2.0 } else { chord })?;
    let triangles: f64 = faces.iter().map(|face| counts.triangles(face)).sum();
    if triangles.is_nan() || triangles > MOST_TRIANGLES as f64 {
        return Err(SolidFault::TooManyTriangles { chord, triangles, limit: MOST_TRIANGLES });
    }
    let mut builder = Builder {
        counts,
        vertices: FxHashMap::default(),
        edges: FxHashMap::default(),
        mesh: Mesh { slack: chord / 4.0, ..Mesh::default() },
    };
    for face in &faces {
        let first = builder.mesh.triangles.len();
        match face.surface() {
            Surface::Plane(_) => builder.flat(face)?,
            _ => builder.grid(face)?,
        }
        // Both are made to look along the surface's natural normal.
        if !face.orientation() {
            builder.mesh.triangles.iter_mut().skip(first).for_each(|triangle| triangle.swap(1, 2));
        }
    }
    Ok(builder.mesh)
}

/// Into how many pieces each edge is divided.
struct Counts {
    /// Class of each edge: edges that must be divided alike share one.
    classes: FxHashMap<EdgeID<Curve>, usize>,
    /// Parent class; a class that is its own parent counts.
    parents: Vec<usize>,
    /// Pieces, by class. Kept as a number of any size until it has been held against the limit.
    pieces: Vec<f64>,
}

impl Counts {
    fn of(faces: &[Face], height: f64) -> Result<Counts, SolidFault> {
        let mut counts = Counts { classes: FxHashMap::default(), parents: Vec::new(), pieces: Vec::new() };
        for edge in faces.iter().flat_map(Face::absolute_boundaries).flat_map(|wire| wire.iter()) {
            let wanted = match edge.curve() {
                Curve::Line(_) => 1.0,
                Curve::Arc(arc) => pieces(arc.sweep, arc.radius, height),
            };
            counts.want(edge, wanted);
        }
        for face in faces.iter().filter(|face| !matches!(face.surface(), Surface::Plane(_))) {
            let edges = four(face)?;
            let [a, b, c, d] = edges.each_ref().map(|edge| counts.class(edge));
            counts.unite(a, c);
            counts.unite(b, d);
            if let Surface::Torus { major, minor, .. } = face.surface() {
                counts.along_torus(face, &edges, major, minor, height);
            }
        }
        Ok(counts)
    }

    /// Along a torus the largest circle counts, which may lie between the edges.
    fn along_torus(&mut self, face: &Face, edges: &[Edge; 4], major: f64, minor: f64, height: f64) {
        let spans = walk(face);
        let (low, high) = spans
            .iter()
            .flatten()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), p| (low.min(p.1), high.max(p.1)));
        // Whether the range holds a whole turn, where the torus is furthest from its axis.
        let outermost = (low / (2.0 * PI)).ceil() * 2.0 * PI <= high;
        let reach = if outermost { 1.0 } else { low.cos().max(high.cos()) };
        for (edge, [from, _, to]) in edges.iter().zip(&spans) {
            let turn = (to.0 - from.0).abs();
            if turn > (to.1 - from.1).abs() {
                self.want(edge, pieces(turn, major + minor * reach, height));
            }
        }
    }

    fn class(&mut self, edge: &Edge) -> usize {
        let next = self.parents.len();
        let class = *self.classes.entry(edge.id()).or_insert(next);
        if class == next {
            self.parents.push(next);
            self.pieces.push(1.0);
        }
        self.root(class)
    }

    fn root(&self, mut class: usize) -> usize {
        // `unite` hangs roots below other roots only, so the way up ends.
        while let Some(&parent) = self.parents.get(class)
            && parent != class
        {
            class = parent;
        }
        class
    }

    fn want(&mut self, edge: &Edge, pieces: f64) {
        let class = self.class(edge);
        if let Some(have) = self.pieces.get_mut(class) {
            *have = have.max(pieces);
        }
    }

    fn unite(&mut self, a: usize, b: usize) {
        let (a, b) = (self.root(a), self.root(b));
        let most = self.pieces.get(a).copied().unwrap_or(1.0).max(self.pieces.get(b).copied().unwrap_or(1.0));
        if let (Some(pieces), Some(parent)) = (self.pieces.get_mut(a), self.parents.get_mut(b)) {
            *pieces = most;
            *parent = a;
        }
    }

    fn pieces(&self, edge: &Edge) -> f64 {
        let class = self.classes.get(&edge.id()).map(|&class| self.root(class));
        class.and_then(|class| self.pieces.get(class)).copied().unwrap_or(1.0)
    }

    /// Triangles a face becomes.
    fn triangles(&self, face: &Face) -> f64 {
        let loops = face.absolute_boundaries();
        if let (Surface::Cylinder { .. } | Surface::Torus { .. }, Ok([a, b, ..])) =
            (face.surface(), four(face))
        {
            return 2.0 * self.pieces(&a) * self.pieces(&b);
        }
        // n corners and h holes: n + 2 h − 2.
        let corners: f64 = loops.iter().flat_map(|wire| wire.iter()).map(|edge| self.pieces(edge)).sum();
        corners + 2.0 * loops.len() as f64 - 4.0
    }
}

/// Pieces an arc of this angle and radius needs.
fn pieces(sweep: f64, radius: f64, height: f64) -> f64 {
    (sweep / (2.0 * half_step(height, radius)).min(LARGEST_TURN)).ceil().max(1.0)
}

/// The four edges of a curved face.
fn four(face: &Face) -> Result<[Edge; 4], SolidFault> {
    let [wire] = face.absolute_boundaries().as_slice() else {
        return Err(SolidFault::Facets("a curved face has holes"));
    };
    let edges: Vec<Edge> = wire.iter().cloned().collect();
    edges.try_into().map_err(|_| SolidFault::Facets("a curved face has not four sides"))
}

/// A mesh in the making.
struct Builder {
    counts: Counts,
    vertices: FxHashMap<VertexID<Point3>, u32>,
    /// Points of edges that have been met, ends included, in the edge's own direction.
    edges: FxHashMap<EdgeID<Curve>, Vec<u32>>,
    mesh: Mesh,
}

impl Builder {
    fn add(&mut self, point: Point3) -> u32 {
        self.mesh.vertices.push(point);
        // A mesh has fewer vertices than its limit of triangles, far within 32 bits.
        (self.mesh.vertices.len() - 1) as u32
    }

    /// The points along an edge, directed as it is used, ends included.
    fn points(&mut self, edge: &Edge) -> Vec<u32> {
        let known = self.edges.get(&edge.id()).cloned();
        let mut points = known.unwrap_or_else(|| self.divided(edge));
        if !edge.orientation() {
            points.reverse();
        }
        points
    }

    fn divided(&mut self, edge: &Edge) -> Vec<u32> {
        let count = self.counts.pieces(edge) as usize;
        let [from, to] = [edge.absolute_front(), edge.absolute_back()].map(|vertex| {
            let known = self.vertices.get(&vertex.id()).copied();
            known.unwrap_or_else(|| {
                let index = self.add(vertex.point());
                self.vertices.insert(vertex.id(), index);
                index
            })
        });
        let curve = edge.curve();
        let mut points = vec![from];
        points.extend((1..count).map(|index| self.add(curve.at(index as f64 / count as f64))));
        points.push(to);
        self.edges.insert(edge.id(), points.clone());
        points
    }

    /// A curved face as a grid over its parameters.
    fn grid(&mut self, face: &Face) -> Result<(), SolidFault> {
        let surface = face.surface();
        let corners = walk(face);
        let sides = four(face)?.map(|edge| self.points(&edge));
        let ([a, b, mut c, mut d], [[start, _, side], [_, _, far], ..]) = (sides, corners.as_slice()) else {
            return Err(SolidFault::Facets("a curved face has not four sides"));
        };
        c.reverse();
        d.reverse();
        // Rows run as the first side does, from it to the third.
        let (across, along) = (a.len() - 1, b.len() - 1);
        let mut rows = vec![a];
        for (row, (&left, &right)) in d.iter().zip(&b).enumerate().take(along).skip(1) {
            let t = row as f64 / along as f64;
            let inner = (1..across).map(|column| {
                let s = column as f64 / across as f64;
                let u = start.0 + s * (side.0 - start.0) + t * (far.0 - side.0);
                let v = start.1 + s * (side.1 - start.1) + t * (far.1 - side.1);
                self.add(surface.at(u, v))
            });
            rows.push([left].into_iter().chain(inner).chain([right]).collect());
        }
        rows.push(c);
        for (low, high) in rows.iter().zip(rows.iter().skip(1)) {
            let cells = low.iter().zip(low.iter().skip(1)).zip(high.iter().zip(high.iter().skip(1)));
            for ((&a, &b), (&d, &c)) in cells {
                self.mesh.triangles.extend([[a, b, c], [a, c, d]]);
            }
        }
        Ok(())
    }

    /// A flat face between its loops.
    fn flat(&mut self, face: &Face) -> Result<(), SolidFault> {
        let surface = face.surface();
        let (mut corners, mut sides) = (Vec::new(), Vec::new());
        for wire in face.absolute_boundaries() {
            let ring = self.ring(wire);
            let first = corners.len();
            corners.extend(ring.iter().filter_map(|&index| {
                let (x, y) = surface.parameters(*self.mesh.vertices.get(index as usize)?);
                let [x, y] = [x, y].map(|c| if c.abs() < NOUGHT { 0.0 } else { c });
                Some(Corner { index, at: Point2::new(x, y) })
            }));
            let last = corners.len();
            sides.extend((first..last).map(|i| [i, if i + 1 < last { i + 1 } else { first }]));
        }
        self.mesh.triangles.extend(between(corners, sides)?);
        Ok(())
    }

    /// The points round a loop, each once.
    fn ring(&mut self, wire: &Wire) -> Vec<u32> {
        wire.iter()
            .flat_map(|edge| {
                let mut points = self.points(edge);
                points.pop();
                points
            })
            .collect()
    }
}

/// A corner of a flat face: its vertex in the mesh and its place in the plane.
struct Corner {
    index: u32,
    at: Point2<f64>,
}

impl HasPosition for Corner {
    type Scalar = f64;

    fn position(&self) -> Point2<f64> {
        self.at
    }
}

/// The triangles between closed loops, counter-clockwise.
fn between(corners: Vec<Corner>, sides: Vec<[usize; 2]>) -> Result<Vec<[u32; 3]>, SolidFault> {
    let (wanted, mut crossed) = (corners.len(), false);
    let net =
        ConstrainedDelaunayTriangulation::<Corner>::try_bulk_load_cdt(corners, sides, |_| crossed = true)
            .map_err(|_| SolidFault::Facets("a corner is out of reach"))?;
    if crossed || net.num_vertices() != wanted {
        return Err(SolidFault::Facets("the loops of a flat face meet"));
    }
    // A triangle is inside if an odd number of sides lies between it and the outside.
    let mut inside: Vec<Option<bool>> = vec![None; net.num_inner_faces() + 1];
    let mut open: Vec<_> = net
        .inner_faces()
        .flat_map(|face| face.adjacent_edges())
        .filter(|edge| edge.rev().face().is_outer())
        .map(|edge| (edge, edge.is_constraint_edge()))
        .collect();
    // Edges are added once a face, when it becomes known.
    while let Some((edge, within)) = open.pop() {
        let Some(face) = edge.face().as_inner() else { continue };
        match inside.get_mut(face.index()) {
            Some(known @ None) => *known = Some(within),
            _ => continue,
        }
        let next = face.adjacent_edges().map(|edge| (edge.rev(), within != edge.is_constraint_edge()));
        open.extend(next);
    }
    let kept = net.inner_faces().filter(|face| inside.get(face.index()) == Some(&Some(true)));
    Ok(kept.map(|face| face.vertices().map(|vertex| vertex.data().index)).collect())
}
