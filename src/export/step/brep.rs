//! A solid's boundary as STEP entities.

use rustc_hash::FxHashMap;
use truck_topology::{EdgeID, VertexID};

use super::part21::{Entity, Id, Part21};
use crate::geometry::{InnerSpace, MetricSpace, Point3, Vector3};
use crate::solid::{Curve, Edge, Face, Placement, Solid, Surface, Vertex, Wire};

/// Writes the solid; returns its `MANIFOLD_SOLID_BREP` (`BREP_WITH_VOIDS` is never needed: a tube's
/// bore is part of its one boundary).
pub(super) fn solid(file: &mut Part21<'_>, name: &str, solid: &Solid) -> Id {
    let mut written = Written::with_room(solid.boundaries().iter().map(|shell| shell.len()).sum());
    let faces: Vec<Id> = solid
        .boundaries()
        .iter()
        .flat_map(|shell| shell.iter())
        .map(|face| written.face(file, face))
        .collect();
    let shell = file.entity("CLOSED_SHELL").unnamed().ids(&faces).write();
    file.entity("MANIFOLD_SOLID_BREP").string(name).id(shell).write()
}

/// Entities that have their number already. Placements are known by their bits: most are met several times, and
/// writing their nine numbers out only to find them again takes longest of all.
struct Written {
    edges: FxHashMap<EdgeID<Curve>, Id>,
    vertices: FxHashMap<VertexID<Point3>, Id>,
    placements: FxHashMap<[u64; 9], Id>,
}

impl Written {
    /// With room for what so many four-sided faces meet in.
    fn with_room(faces: usize) -> Self {
        Written {
            edges: FxHashMap::with_capacity_and_hasher(2 * faces, Default::default()),
            vertices: FxHashMap::with_capacity_and_hasher(faces, Default::default()),
            placements: FxHashMap::with_capacity_and_hasher(2 * faces, Default::default()),
        }
    }

    fn face(&mut self, file: &mut Part21<'_>, face: &Face) -> Id {
        let surface = self.surface(file, &face.surface());
        // Loops as seen from outside, so that every bound keeps its sense.
        let bounds: Vec<Id> = face
            .boundaries()
            .iter()
            .enumerate()
            .map(|(index, wire)| {
                let edges = self.edge_loop(file, wire);
                let kind = if index == 0 { "FACE_OUTER_BOUND" } else { "FACE_BOUND" };
                file.entity(kind).unnamed().id(edges).flag(true).write()
            })
            .collect();
        file.entity("ADVANCED_FACE").unnamed().ids(&bounds).id(surface).flag(face.orientation()).write()
    }

    fn edge_loop(&mut self, file: &mut Part21<'_>, wire: &Wire) -> Id {
        let edges: Vec<Id> = wire
            .iter()
            .map(|edge| {
                let curve = self.edge(file, edge);
                file.entity("ORIENTED_EDGE")
                    .unnamed()
                    .token("*")
                    .token("*")
                    .id(curve)
                    .flag(edge.orientation())
                    .write()
            })
            .collect();
        file.entity("EDGE_LOOP").unnamed().ids(&edges).write()
    }

    fn edge(&mut self, file: &mut Part21<'_>, edge: &Edge) -> Id {
        if let Some(&id) = self.edges.get(&edge.id()) {
            return id;
        }
        let from = self.vertex(file, edge.absolute_front());
        let to = self.vertex(file, edge.absolute_back());
        let curve = self.curve(file, &edge.curve());
        let id = file.entity("EDGE_CURVE").unnamed().id(from).id(to).id(curve).flag(true).write();
        self.edges.insert(edge.id(), id);
        id
    }

    fn vertex(&mut self, file: &mut Part21<'_>, vertex: &Vertex) -> Id {
        if let Some(&id) = self.vertices.get(&vertex.id()) {
            return id;
        }
        let point = point(file, vertex.point());
        let id = file.entity("VERTEX_POINT").unnamed().id(point).write();
        self.vertices.insert(vertex.id(), id);
        id
    }

    fn curve(&mut self, file: &mut Part21<'_>, curve: &Curve) -> Id {
        match curve {
            Curve::Line(line) => {
                let origin = point(file, line.from);
                let along = (line.to - line.from) / line.from.distance(line.to);
                let direction = direction(file, along);
                let vector = file.entity("VECTOR").unnamed().id(direction).length(1.0).shared();
                file.entity("LINE").unnamed().id(origin).id(vector).shared()
            }
            Curve::Arc(arc) => {
                let at = self.placement(file, &arc.circle);
                file.entity("CIRCLE").unnamed().id(at).length(arc.radius).shared()
            }
        }
    }

    fn surface(&mut self, file: &mut Part21<'_>, surface: &Surface) -> Id {
        match surface {
            Surface::Plane(at) => {
                let at = self.placement(file, at);
                file.entity("PLANE").unnamed().id(at).shared()
            }
            Surface::Cylinder { placement: at, radius } => {
                let at = self.placement(file, at);
                file.entity("CYLINDRICAL_SURFACE").unnamed().id(at).length(*radius).shared()
            }
            Surface::Torus { placement: at, major, minor } => {
                let at = self.placement(file, at);
                file.entity("TOROIDAL_SURFACE").unnamed().id(at).length(*major).length(*minor).shared()
            }
        }
    }

    fn placement(&mut self, file: &mut Part21<'_>, at: &Placement) -> Id {
        let Placement { origin: o, axis: a, x } = at;
        let bits = [o.x, o.y, o.z, a.x, a.y, a.z, x.x, x.y, x.z].map(f64::to_bits);
        *self.placements.entry(bits).or_insert_with(|| placement(file, at))
    }
}

/// A placement, shared with equal ones.
pub(super) fn placement(file: &mut Part21<'_>, at: &Placement) -> Id {
    axes(file, at).shared()
}

/// A placement that no other entity shares unless told to.
pub(super) fn own_placement(file: &mut Part21<'_>, at: &Placement) -> Id {
    axes(file, at).write()
}

fn axes<'f, 'a>(file: &'f mut Part21<'a>, at: &Placement) -> Entity<'f, 'a> {
    let origin = point(file, at.origin);
    let axis = direction(file, at.axis);
    let x = direction(file, at.x);
    file.entity("AXIS2_PLACEMENT_3D").unnamed().id(origin).id(axis).id(x)
}

fn point(file: &mut Part21<'_>, at: Point3) -> Id {
    file.entity("CARTESIAN_POINT").unnamed().lengths(at.into()).shared()
}

fn direction(file: &mut Part21<'_>, towards: Vector3) -> Id {
    debug_assert!((towards.magnitude() - 1.0).abs() < 1e-9, "{towards:?}");
    file.entity("DIRECTION").unnamed().ratios(towards.into()).shared()
}
