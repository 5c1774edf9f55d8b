//! Where a way comes too near to anything.

use super::problem::Problem;
use super::shape::{Piece, Shape};
use crate::fit::{Breach, Surroundings};
use crate::geometry::Point3;
use crate::tolerance::CLEARANCE_MM;

/// Holds ways of one run against everything near them.
pub(super) struct Probe<'a> {
    problem: &'a Problem<'a>,
    pub(super) surroundings: &'a Surroundings<'a>,
    /// The components of the run's ports, with the ends.
    pub(super) own: Vec<(usize, [bool; 2])>,
}

/// A fault of a way.
pub(super) enum Fault {
    /// It comes too near to something.
    Breach(Breach),
    /// Two of its own pieces come too near to each other.
    Itself([Piece; 2]),
    /// Its legs leave no room for its bends.
    NoRoom,
}

impl<'a> Probe<'a> {
    pub(super) fn new(problem: &'a Problem<'a>, surroundings: &'a Surroundings<'a>) -> Self {
        Probe { problem, surroundings, own: surroundings.own(problem.run) }
    }

    /// From the centreline to the skin of a thing that it may just come as near to as is wanted, mm.
    pub(super) fn apart(&self) -> f64 {
        self.problem.run.tube.outer_radius() + self.problem.wishes.clearance
    }

    /// The same from its own centreline elsewhere, mm.
    pub(super) fn apart_from_itself(&self) -> f64 {
        self.problem.run.tube.od() + self.problem.wishes.clearance
    }

    /// The worst fault of a way, if it has any.
    pub(super) fn fault(&self, shape: &Shape, lengths: &[f64]) -> Option<Fault> {
        let Some(line) = shape.centreline(lengths, self.problem.ends[1].at) else {
            return Some(Fault::NoRoom);
        };
        let problem = self.problem;
        let clearance = problem.wishes.clearance;
        let breaches = self.surroundings.breaches(problem.run, &line, &self.own, clearance);
        let worst = breaches
            .into_iter()
            .min_by(|a, b| a.distance.total_cmp(&b.distance).then(a.stations[0].total_cmp(&b.stations[0])));
        if let Some(breach) = worst {
            return Some(Fault::Breach(breach));
        }
        let od = problem.run.tube.od();
        let near = Surroundings::to_itself(&line, od)?;
        (near < clearance - CLEARANCE_MM)
            .then(|| nearest_pieces(shape, lengths).map_or(Fault::NoRoom, Fault::Itself))
    }

    /// The pieces of a stretch that comes too near to something.
    pub(super) fn pieces(&self, shape: &Shape, lengths: &[f64], breach: &Breach) -> Vec<Piece> {
        let mut pieces = shape.pieces_within(lengths, breach.stations);
        if breach.own {
            pieces.iter_mut().for_each(|piece| self.leave_out_port(shape, piece));
        }
        pieces
    }

    /// The tube in a port and its fitting cannot keep clear of the port's own component.
    fn leave_out_port(&self, shape: &Shape, piece: &mut Piece) {
        let od = self.problem.run.tube.od();
        let beyond = |end: usize| {
            let end = &self.problem.ends[end];
            end.insert + end.outside + od
        };
        let last = shape.bends();
        if let (Some(leg), Some(way)) = (piece.leg, piece.ways.first().copied()) {
            if leg == 0 {
                piece.ends[0].off = way * beyond(0);
            }
            if leg == last {
                piece.ends[1].off = way * -beyond(1);
            }
        }
    }
}

/// The two pieces of a way, not next to each other, that come nearest to each other.
fn nearest_pieces(shape: &Shape, lengths: &[f64]) -> Option<[Piece; 2]> {
    let pieces = shape.pieces();
    let points: Vec<Vec<Point3>> = pieces.iter().map(|piece| shape.points(piece, lengths)).collect();
    let mut best: Option<(f64, usize, usize)> = None;
    for (first, piece) in pieces.iter().enumerate() {
        for (second, other) in pieces.iter().enumerate().skip(first) {
            // Straight, half, half, straight: what comes after the next straight.
            if other.order < piece.order + 4 {
                continue;
            }
            let (Some(a), Some(b)) = (points.get(first), points.get(second)) else { continue };
            let apart = between(a, b);
            if best.is_none_or(|(least, ..)| apart < least) {
                best = Some((apart, first, second));
            }
        }
    }
    let (_, first, second) = best?;
    Some([pieces.get(first)?.clone(), pieces.get(second)?.clone()])
}

/// The distance between two chains of points, mm.
fn between(a: &[Point3], b: &[Point3]) -> f64 {
    let mut least = f64::MAX;
    for p in a.windows(2) {
        for q in b.windows(2) {
            if let (&[p0, p1], &[q0, q1]) = (p, q) {
                least = least.min(segments_apart((p0, p1), (q0, q1)));
            }
        }
    }
    least
}

/// The distance between two straight lines with ends, mm.
fn segments_apart(first: (Point3, Point3), second: (Point3, Point3)) -> f64 {
    use parry3d_f64::math::{Pose, Vector};
    use parry3d_f64::query::details::closest_points_segment_segment;
    use parry3d_f64::shape::Segment;
    let vector = |p: Point3| Vector::new(p.x, p.y, p.z);
    let segment = |(a, b): (Point3, Point3)| Segment::new(vector(a), vector(b));
    let (a, b) = (segment(first), segment(second));
    match closest_points_segment_segment(&Pose::IDENTITY, &a, &b, f64::MAX) {
        parry3d_f64::query::ClosestPoints::WithinMargin(a, b) => a.distance(b),
        _ => f64::MAX,
    }
}
