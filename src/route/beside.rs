//! A way beside another run, with the same bends, at one distance from its centreline.

use super::directions::is_same;
use super::shape::{Shape, straights};
use crate::centreline::Centreline;
use crate::geometry::{InnerSpace, Point3, Vector3};

/// Parts of an offset smaller than this are nothing, mm.
const NOTHING_MM: f64 = 1e-6;

/// Where the straights of a way should lie.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Beside {
    /// Directions of its legs: those of the other run.
    pub(super) legs: Vec<Vector3>,
    /// A place for every leg but the first and the last, which lie where the ports say.
    pub(super) wanted: Vec<Wanted>,
    /// Corners of the other run.
    corners: Vec<Point3>,
    /// From centreline to centreline, mm.
    spacing: f64,
}

/// A wish for the leg behind so many others.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Wanted {
    /// Legs before it.
    pub(super) legs: usize,
    /// Square to the leg, in the plane of the bend before it.
    pub(super) across: Vector3,
    /// The leg's place along that, mm from the origin.
    pub(super) at: f64,
}

/// The offset of a parallel line at a bend: before and after it in the bend's plane, square to the legs, and across it,
/// mm.
struct Turn {
    normal: Vector3,
    /// Square to the leg behind the bend, in its plane.
    across: Vector3,
    before: f64,
    after: f64,
    beside: f64,
}

/// Whether an end faces so; one that faces nowhere does.
fn faces(way: Option<Vector3>, there: Vector3) -> bool {
    way.is_none_or(|way| is_same(way, there))
}

/// The part of a vector that is square to a direction.
fn aside(apart: Vector3, way: Vector3) -> Vector3 {
    apart - way * apart.dot(way)
}

/// The offsets of a line beside these legs, so many mm from their inner ones, that begins at an offset. They turn with the
/// tube: the part across a bend's plane stays, the rest is as long as the spacing leaves.
fn turns(legs: &[Vector3], mut offset: Vector3, spacing: f64) -> Vec<Turn> {
    let mut all = Vec::new();
    for pair in legs.windows(2) {
        let normal = pair[0].cross(pair[1]).normalize();
        let across = normal.cross(pair[1]);
        let (before, beside) = (offset.dot(normal.cross(pair[0])), offset.dot(normal));
        let left = (spacing * spacing - beside * beside).max(0.0).sqrt();
        let after = if before.abs() < NOTHING_MM { 0.0 } else { left.copysign(before) };
        offset = normal * beside + across * after;
        all.push(Turn { normal, across, before, after, beside });
    }
    all
}

/// A run that is to lead beside one that is still looked for.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Follower {
    /// Where its ends are, and how it leaves there.
    pub(super) ends: [(Point3, Option<Vector3>); 2],
    /// Least straights at its ends, mm.
    pub(super) straights: [f64; 2],
    /// Least straight between its bends, mm.
    pub(super) between: f64,
    /// Radius of its bends, mm.
    pub(super) radius: f64,
    /// From centreline to centreline, mm.
    pub(super) spacing: Option<f64>,
}

impl Follower {
    /// How long the legs of a shape that ends at `end` must be for this run to have room beside them, mm each; nothing
    /// where its ends do not face so that it can follow.
    pub(super) fn needs(&self, shape: &Shape, end: Point3) -> Option<Vec<f64>> {
        let legs = &shape.sequence.legs;
        let (first, last) = (*legs.first()?, *legs.last()?);
        let ([one, two], [at_one, at_two]) = (self.ends, self.straights);
        let both = [([one, two], [at_one, at_two]), ([two, one], [at_two, at_one])];
        let ([start, far], ends) =
            both.into_iter().find(|([start, far], _)| faces(start.1, first) && faces(far.1, -last))?;
        let offset = aside(start.0 - shape.start, first);
        let mut turns = turns(legs, offset, self.spacing.unwrap_or(offset.magnitude()));
        if let Some(turn) = turns.last_mut() {
            // Its last leg lies where its port says.
            turn.after = (far.0 - end).dot(turn.across);
        }
        // Start, corners and end are so far from those of the other run.
        let mut moved = vec![start.0 - shape.start];
        for (turn, pair) in turns.iter().zip(legs.windows(2)) {
            let sine = pair[0].cross(pair[1]).magnitude();
            let in_plane = pair[1] * (turn.before / sine) - pair[0] * (turn.after / sine);
            moved.push(turn.normal * turn.beside + in_plane);
        }
        moved.push(far.0 - end);
        let own = Shape::new(shape.sequence.clone(), start.0, self.radius);
        let shorter = legs.iter().zip(moved.windows(2)).map(|(leg, pair)| (pair[1] - pair[0]).dot(*leg));
        let straights = straights(ends, self.between, legs.len());
        let bent = (0..).map(|index| own.setback_at(index) + own.setback_at(index + 1));
        Some(straights.into_iter().zip(bent).zip(shorter).map(|((a, b), c)| a + b - c).collect())
    }
}

impl Beside {
    /// A way from a start, between ends that face so, beside a line, so many mm away from it; as far as the start is
    /// where nothing is said. `None` where the ends do not face as the line's do.
    pub(super) fn of(
        (start, ways): (Point3, [Option<Vector3>; 2]),
        line: &Centreline,
        spacing: Option<f64>,
    ) -> Option<Self> {
        let fits = |line: &Centreline| {
            faces(ways[0], line.start_direction()) && faces(ways[1], -line.end_direction())
        };
        let reversed = line.reversed();
        let line = [line, &reversed].into_iter().find(|line| fits(line))?;
        let corners: Vec<Point3> = line.bends().iter().map(|bend| bend.corner).collect::<Option<_>>()?;
        let legs: Vec<Vector3> = line.directions().collect();
        let offset = aside(start - line.start(), *legs.first()?);
        let spacing = spacing.unwrap_or(offset.magnitude());
        let turns = turns(&legs, offset, spacing);
        let wanted = (1..).zip(turns.iter().zip(&corners)).take(legs.len().saturating_sub(2));
        let wanted = wanted
            .map(|(legs, (turn, corner))| {
                let on_line = turn.across.dot(Vector3::new(corner.x, corner.y, corner.z));
                Wanted { legs, across: turn.across, at: on_line + turn.after }
            })
            .collect();
        Some(Beside { legs, wanted, corners, spacing })
    }

    /// The most that an inner leg of a way is off the spacing, mm; `None` where it has other legs.
    pub(super) fn off(&self, corners: &[Point3], start: Point3) -> Option<f64> {
        let alike = corners.len() + 1 == self.legs.len()
            && std::iter::once(&start)
                .chain(corners)
                .zip(corners)
                .zip(&self.legs)
                .all(|((from, to), leg)| is_same((*to - *from).normalize(), *leg));
        let pairs = corners.iter().zip(&self.corners).zip(self.legs.iter().skip(1));
        let inner = self.legs.len().saturating_sub(2);
        let off = pairs
            .take(inner)
            .map(|((own, other), leg)| aside(*own - *other, *leg).magnitude() - self.spacing);
        alike.then(|| off.fold(0.0, |most: f64, off| most.max(off.abs())))
    }
}
