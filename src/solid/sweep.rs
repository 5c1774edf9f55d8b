//! Loops and chains of edges moved through space: the walls they leave behind.

use truck_modeling::topo_traits::Sweep;

use super::curve::Motion;
use super::{Curve, Edge, Face, Placement, Shell, Solid, SolidFault, Surface, Vertex, Wire};

/// The face that a chain of edges sweeps in a motion.
pub(super) struct Swept {
    /// A face for each edge. They look to the right of the edges, seen along the motion with the inside of a
    /// right-handed loop on the left: out of the body the loop sweeps.
    pub(super) faces: Shell,
    /// The chain at the far end.
    pub(super) far: Wire,
    /// The path of the chain's first corner.
    pub(super) first: Edge,
    /// The path of the chain's last corner; the first's for a loop.
    pub(super) last: Edge,
}

/// Moves a chain of edges, all directed as the chain is. See [`Surface::swept`] for what may be moved how.
///
/// # Errors
/// [`SolidFault::Boundary`] for a chain without edges.
pub(super) fn swept(wire: &Wire, motion: &Motion) -> Result<Swept, SolidFault> {
    let shell: Shell = wire.sweep(
        &|point| motion.point(*point),
        &|curve| curve.moved(motion),
        &|surface| *surface,
        &|from, to| Curve::path(*from, *to, motion),
        &|curve, _| Surface::swept(curve, motion),
    );
    // Each face runs along its near edge, out along a path, back along its far edge, and home.
    let loops: Vec<[Edge; 4]> = shell
        .iter()
        .filter_map(|face| {
            face.absolute_boundaries().first()?.iter().cloned().collect::<Vec<_>>().try_into().ok()
        })
        .collect();
    let empty = SolidFault::Boundary(truck_topology::errors::Error::EmptyWire);
    let (Some([.., home]), Some([_, out, ..])) = (loops.first(), loops.last()) else { return Err(empty) };
    let (first, last) = (home.inverse(), out.clone());
    let far = loops.iter().map(|[.., far, _]| far.inverse()).collect();
    let faces = shell.into_iter().map(|face| facing_right(face, motion)).collect::<Result<_, _>>()?;
    Ok(Swept { faces, far, first, last })
}

/// The face with its loop kept and its surface's sense set so that the loop runs counter-clockwise seen from
/// where the face looks.
fn facing_right(face: Face, motion: &Motion) -> Result<Face, SolidFault> {
    let boundaries = face.absolute_boundaries();
    let near = boundaries.first().and_then(|wire| wire.front_edge());
    if near.is_none_or(|edge| Surface::looks_right(&edge.curve(), motion)) {
        return Ok(face);
    }
    let turned = boundaries.iter().map(Wire::inverse).collect();
    let mut face = Face::try_new(turned, face.surface())?;
    face.invert();
    Ok(face)
}

/// A full circle as a loop of two half circles, right-handed about the placement's axis.
pub(super) fn ring(at: Placement, radius: f64) -> Wire {
    let [first, second] = Curve::half_circles(at, radius);
    let (a, b) = (Vertex::new(first.at(0.0)), Vertex::new(second.at(0.0)));
    Wire::from(vec![Edge::debug_new(&a, &b, first), Edge::debug_new(&b, &a, second)])
}

/// A loop of curves, each starting where the one before ends.
pub(super) fn closed(curves: &[Curve]) -> Wire {
    let vertices: Vec<Vertex> = curves.iter().map(|curve| Vertex::new(curve.at(0.0))).collect();
    let next = vertices.iter().cycle().skip(1);
    curves
        .iter()
        .zip(vertices.iter().zip(next))
        .map(|(curve, (a, b))| Edge::debug_new(a, b, *curve))
        .collect()
}

/// The walls of a hole and the loop at its far end: `ring` runs right-handed about the way the hole is sunk.
pub(super) fn bore(ring: &Wire, motion: &Motion) -> Result<(Shell, Wire), SolidFault> {
    let Swept { mut faces, far, .. } = swept(ring, motion)?;
    faces.iter_mut().for_each(|face| {
        face.invert();
    });
    Ok((faces, far))
}

/// The body over an outline, less the holes through it; all loops run right-handed about the base's axis.
pub(super) fn prism(
    outline: &Wire,
    holes: &[Wire],
    base: Placement,
    height: f64,
) -> Result<Solid, SolidFault> {
    let motion = Motion::Shift(base.axis * height);
    let body = swept(outline, &motion)?;
    let mut shell = body.faces;
    let (mut floor, mut roof) = (vec![outline.inverse()], vec![body.far]);
    for hole in holes {
        let (walls, far) = bore(hole, &motion)?;
        shell.extend(walls);
        floor.push(hole.clone());
        roof.push(far.inverse());
    }
    shell.push(Face::try_new(floor, Surface::Plane(base.flipped()))?);
    shell.push(Face::try_new(roof, Surface::Plane(motion.placement(&base)))?);
    Ok(Solid::try_new(vec![shell])?)
}
