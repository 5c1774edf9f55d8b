//! Forms and followers: blocks with a groove along their rim.

mod check;
mod section;

use std::f64::consts::PI;

use super::contour::{circle, reversed, wire};
use super::curve::Motion;
use super::sweep::{Swept, bore, ring, swept};
use super::{Curve, Edge, Face, Line3, Placement, Shell, Solid, SolidFault, Surface, Vertex, Wire, verify};
use crate::flat::{self, Path, Point};
use crate::geometry::{InnerSpace, Point3, Vector3};
use crate::tooling::{Block, SideHole};
use section::Section;

/// The solid of a block.
///
/// The groove is a cylinder along straights and a torus along arcs, with flat walls where its centre lies
/// within the block; the strips beside it are planes and cylinders.
///
/// # Errors
/// What the block's numbers do not allow; [`SolidFault::Volume`] would be a fault of this program.
pub fn block(block: &Block) -> Result<Solid, SolidFault> {
    check::check(block)?;
    let mut shell = Shell::new();
    let rim = rim(block, &mut shell)?;
    let (mut top, mut bottom) = (rim.top, rim.bottom);
    let sides = sides(block, &rim.end, &rim.start)?;
    for (index, side) in sides.into_iter().enumerate() {
        let holes = block.side_holes.iter().filter(|hole| hole.side == index);
        let face = side_face(side.outline, &side.plane, holes, &mut shell)?;
        shell.push(face);
        top.push_back(side.top);
        bottom.push_back(side.bottom);
    }
    let level =
        |z: f64, axis: Vector3| Placement { origin: Point3::new(0.0, 0.0, z), axis, x: Vector3::unit_x() };
    let up = Vector3::unit_z();
    let (floor, roof) = (level(-block.height / 2.0, up), level(block.height / 2.0, up));
    let mut above = vec![top.inverse()];
    let mut below = vec![bottom];
    for path in openings(block) {
        let near = wire(&path, &floor);
        let (walls, far) = bore(&near, &Motion::Shift(up * block.height))?;
        shell.extend(walls);
        below.push(near);
        above.push(far.inverse());
    }
    for path in &block.sunk {
        let near = wire(&reversed(path), &roof);
        let (walls, far) = bore(&near, &Motion::Shift(-up * block.sunk_depth))?;
        shell.extend(walls);
        let bottom = level(block.height / 2.0 - block.sunk_depth, up);
        shell.push(Face::try_new(vec![far.inverse()], Surface::Plane(bottom))?);
        above.push(near);
    }
    shell.push(Face::try_new(above, Surface::Plane(roof))?);
    shell.push(Face::try_new(below, Surface::Plane(floor.flipped()))?);
    let solid = Solid::try_new(vec![shell])?;
    verify::volume_agrees(&solid, volume(block)?)?;
    Ok(solid)
}

/// Holes through the block.
fn openings(block: &Block) -> impl Iterator<Item = Path> {
    let round = block.holes.iter().map(|(at, diameter, _)| circle(*at, *diameter));
    round.chain(block.slots.iter().cloned())
}

/// The loops round a block's rim.
struct Rim {
    /// Its sections at start and end, from bottom to top.
    start: Wire,
    end: Wire,
    /// Its edges along the bottom and the top.
    bottom: Wire,
    top: Wire,
}

/// Sweeps the section along the rim.
fn rim(block: &Block, shell: &mut Shell) -> Result<Rim, SolidFault> {
    let Some(first) = block.rim.first() else { return Err(SolidFault::Contours("a block has no rim")) };
    let (sin, cos) = check::start(first).sin_cos();
    let start = section::chain(block, upright(first.from(), 0.0), Vector3::new(cos, sin, 0.0));
    let (mut end, mut bottom, mut top) = (start.clone(), Wire::new(), Wire::new());
    for motion in section::motions(block) {
        let Swept { faces, far, first, last } = swept(&end, &motion)?;
        shell.extend(faces);
        end = far;
        bottom.push_back(first);
        top.push_back(last);
    }
    Ok(Rim { start, end, bottom, top })
}

fn upright(at: Point, z: f64) -> Point3 {
    Point3::new(at.x, at.y, z)
}

/// A flat side of a block's back.
struct Side {
    /// Its loop, counter-clockwise seen from outside.
    outline: Wire,
    /// Its plane: the axis looks outwards, x along the side, the origin at its start and half height.
    plane: Placement,
    /// Its edges along top and bottom, directed as the back is.
    top: Edge,
    bottom: Edge,
}

/// The sides of the back, from the rim's end to its start.
fn sides(block: &Block, end: &Wire, start: &Wire) -> Result<Vec<Side>, SolidFault> {
    let half = block.height / 2.0;
    let pillar = |at: &Point| -> Wire {
        let (low, high) = (upright(*at, -half), upright(*at, half));
        let line = Curve::Line(Line3 { from: low, to: high });
        [Edge::debug_new(&Vertex::new(low), &Vertex::new(high), line)].into_iter().collect()
    };
    let between = block.back.len().saturating_sub(2);
    let posts = block.back.iter().skip(1).take(between).map(pillar);
    let posts: Vec<Wire> = [end.clone()].into_iter().chain(posts).chain([start.clone()]).collect();
    let empty = || SolidFault::Boundary(truck_topology::errors::Error::EmptyWire);
    let side = |(left, right): (&Wire, &Wire)| {
        let join = |a: Option<&Vertex>, b: Option<&Vertex>| {
            let (a, b) = (a.ok_or_else(empty)?, b.ok_or_else(empty)?);
            let line = Curve::Line(Line3 { from: a.point(), to: b.point() });
            Ok::<Edge, SolidFault>(Edge::try_new(a, b, line)?)
        };
        let top = join(left.back_vertex(), right.back_vertex())?;
        let bottom = join(left.front_vertex(), right.front_vertex())?;
        let (from, to) = (bottom.front().point(), bottom.back().point());
        let x = (to - from).normalize();
        let up = Vector3::unit_z();
        let plane = Placement { origin: from + up * half, axis: up.cross(x), x };
        let outline = left
            .iter()
            .cloned()
            .chain([top.clone()])
            .chain(right.inverse().iter().cloned())
            .chain([bottom.inverse()])
            .collect();
        Ok(Side { outline, plane, top, bottom })
    };
    posts.iter().zip(posts.iter().skip(1)).map(side).collect()
}

/// A side's face with its holes; their walls and ends go to the shell.
fn side_face<'a>(
    outline: Wire,
    plane: &Placement,
    holes: impl Iterator<Item = &'a SideHole>,
    shell: &mut Shell,
) -> Result<Face, SolidFault> {
    let mut loops = vec![outline];
    for hole in holes {
        let mouth = Placement { origin: plane.origin + plane.x * hole.along, ..plane.flipped() };
        let near = ring(mouth, hole.diameter / 2.0);
        let motion = Motion::Shift(mouth.axis * hole.depth);
        let (walls, far) = bore(&near, &motion)?;
        shell.extend(walls);
        let end = motion.placement(&mouth).flipped();
        shell.push(Face::try_new(vec![far.inverse()], Surface::Plane(end))?);
        loops.push(near);
    }
    Ok(Face::try_new(loops, Surface::Plane(*plane))?)
}

/// Volume by the closed form, mm³: the groove by Pappus, its section's area times its centroid's way.
fn volume(block: &Block) -> Result<f64, SolidFault> {
    let (area, moment) = Section::of(&block.groove).area_and_moment();
    let groove = |edge: &flat::Edge| match edge {
        flat::Edge::Line(line) => area * line.from.distance(line.to),
        flat::Edge::Arc(arc) => arc.sweep.abs() * (area * arc.radius - moment),
    };
    let round = |diameter: f64| PI / 4.0 * diameter * diameter;
    let through = openings(block).map(|path| path.area()).sum::<f64>();
    let sunk = block.sunk.iter().map(Path::area).sum::<f64>();
    let sideways = block.side_holes.iter().map(|hole| round(hole.diameter) * hole.depth).sum::<f64>();
    let whole = -check::contour(block)?.area() * block.height;
    let grooves = block.rim.iter().map(groove).sum::<f64>();
    Ok(whole - grooves - through * block.height - sunk * block.sunk_depth - sideways)
}
