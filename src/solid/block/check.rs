//! Rules for a block. The modeller itself takes holes that break through and grooves that cross themselves.

use std::f64::consts::PI;

use super::super::contour::{Bounds, circle, clear, sound};
use super::super::{LEAST_MM, SolidFault, in_reach};
use super::section::Section;
use crate::flat::{Arc, Edge, Line, Path, Point};
use crate::tolerance::COINCIDENT_MM;
use crate::tooling::{Block, SideHole};

/// Largest kink (rad) that counts as none: what rounding leaves. Over the metres a block may measure it
/// stays below the 1e-7 mm at which CAD programs merge points.
const NO_KINK: f64 = 1e-10;

/// # Errors
/// [`SolidFault::TooFar`], [`SolidFault::TooSmall`] or [`SolidFault::Contours`].
pub(super) fn check(block: &Block) -> Result<(), SolidFault> {
    let groove = &block.groove;
    [block.height, groove.radius, groove.offset, block.sunk_depth].into_iter().try_for_each(in_reach)?;
    let section = Section::of(groove);
    at_least("a groove's depth", section.depth().min(groove.radius))?;
    at_least("a lip beside the groove", block.height / 2.0 - section.half_width())?;
    let contour = contour(block)?;
    let outside = Bounds::of(&contour)?;
    let core = core(block, section.depth())?;
    let inside = Bounds::of(&core)?;
    if contour.area() >= 0.0 || core.area() >= 0.0 {
        return Err(SolidFault::Contours("a block's rim and back run counter-clockwise"));
    }
    // Holes through the block, or into its side at half height, must keep clear of the groove.
    let round = block.holes.iter().map(|(at, diameter, _)| circle(*at, *diameter));
    let through: Vec<Bounds> =
        round.chain(block.slots.iter().cloned()).map(|path| opening(&path)).collect::<Result<_, _>>()?;
    let sideways =
        block.side_holes.iter().map(|hole| side(block, hole)).collect::<Result<Vec<_>, SolidFault>>()?;
    let sunk = block.sunk.iter().map(opening).collect::<Result<Vec<_>, SolidFault>>()?;
    if !sunk.is_empty() {
        at_least("a mark's depth", block.sunk_depth)?;
        let widest = block.side_holes.iter().map(|hole| hole.diameter / 2.0);
        let below = widest.fold(section.half_width(), f64::max);
        at_least("what is left under a mark", block.height / 2.0 - block.sunk_depth - below)?;
    }
    let apart = |one: &[Bounds], other: &[Bounds]| one.iter().all(|a| other.iter().all(|b| a.apart(b)));
    clear(&inside, &through)?;
    clear(&inside, &sideways)?;
    clear(&outside, &sunk)?;
    if !apart(&through, &sideways) || !apart(&through, &sunk) {
        return Err(SolidFault::Contours("two openings meet"));
    }
    Ok(())
}

fn at_least(what: &'static str, mm: f64) -> Result<(), SolidFault> {
    // A value that is not a number is refused too.
    if mm >= LEAST_MM { Ok(()) } else { Err(SolidFault::TooSmall { what, mm }) }
}

fn opening(path: &Path) -> Result<Bounds, SolidFault> {
    if path.edges.iter().any(|edge| matches!(edge, Edge::Arc(arc) if arc.sweep < 0.0)) || path.area() < 0.0 {
        return Err(SolidFault::Contours("an opening runs clockwise"));
    }
    Bounds::of(path)
}

/// The whole contour, clockwise; its rim without kinks, its back square to the rim at both ends.
pub(super) fn contour(block: &Block) -> Result<Path, SolidFault> {
    block.rim.iter().try_for_each(sound)?;
    let (Some(first), Some(last)) = (block.rim.first(), block.rim.last()) else {
        return Err(SolidFault::Contours("a block has no rim"));
    };
    for (edge, next) in block.rim.iter().zip(block.rim.iter().skip(1)) {
        if edge.to().distance(next.from()) > COINCIDENT_MM || turn(end(edge), start(next)) > NO_KINK {
            return Err(SolidFault::Contours("a block's rim has a kink"));
        }
    }
    if block.rim.iter().any(|edge| matches!(edge, Edge::Arc(arc) if arc.sweep >= 0.0)) {
        return Err(SolidFault::Contours("a block's rim turns to the left"));
    }
    let corners = block.back.as_slice();
    let ([from, next, ..], [.., before, to]) = (corners, corners) else {
        return Err(SolidFault::Contours("a block has no back"));
    };
    if corners.len() < 3 || from.distance(last.to()).max(to.distance(first.from())) > COINCIDENT_MM {
        return Err(SolidFault::Contours("a block's back does not meet its rim"));
    }
    let right = |angle: f64| angle - PI / 2.0;
    let sides =
        [(heading(*from, *next), right(end(last))), (heading(*before, *to), right(start(first)) + PI)];
    if sides.into_iter().any(|(side, square)| turn(side, square) > NO_KINK) {
        return Err(SolidFault::Contours("a block's ends are not square to its rim"));
    }
    Ok(Path { edges: block.rim.iter().copied().chain(lines(corners)).collect(), closed: true })
}

/// The contour with the rim moved in to the bottom of the groove.
fn core(block: &Block, depth: f64) -> Result<Path, SolidFault> {
    let corners = block.back.as_slice();
    let moved = |edge: &Edge| -> Result<Edge, SolidFault> {
        match *edge {
            Edge::Line(Line { from, to }) => {
                let right = heading(from, to) - PI / 2.0;
                Ok(Edge::Line(Line { from: from.polar(depth, right), to: to.polar(depth, right) }))
            }
            Edge::Arc(arc) => {
                at_least("the inside of a groove's arc", arc.radius - depth)?;
                Ok(Edge::Arc(Arc { radius: arc.radius - depth, ..arc }))
            }
        }
    };
    let mut edges: Vec<Edge> = block.rim.iter().map(moved).collect::<Result<_, _>>()?;
    if let ([from, next, ..], [.., before, to]) = (corners, corners) {
        at_least(
            "what is left beside the groove's ends",
            from.distance(*next).min(before.distance(*to)) - depth,
        )?;
    }
    let ends = (edges.last().map(Edge::to), edges.first().map(Edge::from));
    if let ((Some(end), Some(start)), [_, between @ .., _]) = (ends, corners) {
        let back: Vec<Point> = [end].into_iter().chain(between.iter().copied()).chain([start]).collect();
        edges.extend(lines(&back));
    }
    Ok(Path { edges, closed: true })
}

/// The outline of a side hole in the block's plane, a hair's breadth away from the side it goes into.
fn side(block: &Block, hole: &SideHole) -> Result<Bounds, SolidFault> {
    let SideHole { side, along, diameter, depth } = *hole;
    [along, diameter, depth].into_iter().try_for_each(in_reach)?;
    at_least("what is left beside a side hole", (block.height - diameter) / 2.0)?;
    at_least("a side hole's depth", depth.min(diameter))?;
    let (Some(from), Some(to)) = (block.back.get(side), block.back.get(side + 1)) else {
        return Err(SolidFault::Contours("a side hole is in no side"));
    };
    let on = heading(*from, *to);
    let corner = |s: f64, t: f64| from.polar(along + s, on).polar(t, on - PI / 2.0);
    let half = diameter / 2.0;
    Bounds::of(&Path::polygon([
        corner(-half, depth),
        corner(half, depth),
        corner(half, LEAST_MM),
        corner(-half, LEAST_MM),
    ]))
}

fn lines(corners: &[Point]) -> impl Iterator<Item = Edge> {
    corners.iter().zip(corners.iter().skip(1)).map(|(&from, &to)| Edge::Line(Line { from, to }))
}

/// Direction from a point to another, rad.
pub(super) fn heading(from: Point, to: Point) -> f64 {
    (to.y - from.y).atan2(to.x - from.x)
}

/// Direction at an edge's start, rad.
pub(super) fn start(edge: &Edge) -> f64 {
    match edge {
        Edge::Line(line) => heading(line.from, line.to),
        Edge::Arc(arc) => arc.start + PI / 2.0 * arc.sweep.signum(),
    }
}

fn end(edge: &Edge) -> f64 {
    match edge {
        Edge::Line(line) => heading(line.from, line.to),
        Edge::Arc(arc) => arc.start + arc.sweep + PI / 2.0 * arc.sweep.signum(),
    }
}

/// Size of the angle between two directions, rad.
fn turn(from: f64, to: f64) -> f64 {
    let angle = (to - from).rem_euclid(2.0 * PI);
    angle.min(2.0 * PI - angle)
}
