//! Points, lines, arcs and paths in a plane: what drawings, sheet parts and their solids share.
//!
//! Millimetres, y up; angles in rad, counter-clockwise from +x.

mod outline;
mod rect;

pub(crate) use outline::{path_of, polyline};
pub use rect::{Rect, arc_extents, path_extents};

/// A point of a plane, mm, y up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// To the right, mm.
    pub x: f64,
    /// Upwards, mm.
    pub y: f64,
}

impl Point {
    /// A point at (x, y) mm.
    pub fn new(x: f64, y: f64) -> Self {
        Point { x, y }
    }

    /// The point at `distance` mm from this one, at `angle` rad counter-clockwise from +x.
    #[must_use]
    pub fn polar(self, distance: f64, angle: f64) -> Self {
        Point { x: self.x + distance * angle.cos(), y: self.y + distance * angle.sin() }
    }

    /// The point shifted by (dx, dy) mm.
    #[must_use]
    pub fn shifted(self, dx: f64, dy: f64) -> Self {
        Point { x: self.x + dx, y: self.y + dy }
    }

    /// Distance to another point, mm.
    pub fn distance(self, other: Point) -> f64 {
        (self.x - other.x).hypot(self.y - other.y)
    }
}

/// A straight line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// From.
    pub from: Point,
    /// To.
    pub to: Point,
}

/// A circular arc of less than a full turn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arc {
    /// Centre.
    pub centre: Point,
    /// Radius, mm.
    pub radius: f64,
    /// Angle of its start, rad counter-clockwise from +x.
    pub start: f64,
    /// Signed angle swept, rad; counter-clockwise positive.
    pub sweep: f64,
}

impl Arc {
    /// Where it starts.
    pub fn from(&self) -> Point {
        self.centre.polar(self.radius, self.start)
    }

    /// Where it ends.
    pub fn to(&self) -> Point {
        self.centre.polar(self.radius, self.start + self.sweep)
    }
}

/// A piece of a path.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Edge {
    /// Straight.
    Line(Line),
    /// Curved.
    Arc(Arc),
}

impl Edge {
    /// Where it starts.
    pub fn from(&self) -> Point {
        match self {
            Edge::Line(line) => line.from,
            Edge::Arc(arc) => arc.from(),
        }
    }

    /// Where it ends.
    pub fn to(&self) -> Point {
        match self {
            Edge::Line(line) => line.to,
            Edge::Arc(arc) => arc.to(),
        }
    }

    /// The edge as it is, or an arc of more than half a turn in equal pieces of no more.
    pub fn in_half_turns(&self) -> Vec<Edge> {
        let Edge::Arc(arc) = *self else { return vec![*self] };
        let pieces = (arc.sweep.abs() / std::f64::consts::PI).ceil().clamp(1.0, 2.0);
        let sweep = arc.sweep / pieces;
        let piece = |index: f64| Edge::Arc(Arc { start: arc.start + index * sweep, sweep, ..arc });
        if pieces > 1.0 { vec![piece(0.0), piece(1.0)] } else { vec![piece(0.0)] }
    }
}

/// Edges that follow each other; closed if the last ends where the first starts and `closed` says so.
#[derive(Debug, Clone, PartialEq)]
pub struct Path {
    /// The edges, each starting where the one before ends.
    pub edges: Vec<Edge>,
    /// Whether it bounds an area.
    pub closed: bool,
}

impl Path {
    /// The closed path through some corners.
    pub fn polygon(corners: impl IntoIterator<Item = Point>) -> Path {
        let corners: Vec<Point> = corners.into_iter().collect();
        let next = corners.iter().cycle().skip(1);
        let edges = corners.iter().zip(next).map(|(&from, &to)| Edge::Line(Line { from, to })).collect();
        Path { edges, closed: true }
    }

    /// Area within a closed path, mm²: positive if it runs counter-clockwise.
    pub fn area(&self) -> f64 {
        // ½ ∮ x dy − y dx, taken about the first point to keep rounding small.
        let Some(about) = self.edges.first().map(Edge::from) else { return 0.0 };
        let cross = |a: Point, bx: f64, by: f64| (a.x - about.x) * by - (a.y - about.y) * bx;
        let twice = |edge: &Edge| {
            let (from, to) = (edge.from(), edge.to());
            match edge {
                Edge::Line(_) => cross(from, to.x - from.x, to.y - from.y),
                Edge::Arc(arc) => {
                    arc.radius * arc.radius * arc.sweep + cross(arc.centre, to.x - from.x, to.y - from.y)
                }
            }
        };
        self.edges.iter().map(twice).sum::<f64>() / 2.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    #[test]
    fn areas_count_lines_and_arcs_with_their_sign() {
        // A slot of two straights and two half circles, r 2, straights 10: 40 + 4 π.
        let (left, right) = (Point::new(-5.0, 30.0), Point::new(5.0, 30.0));
        let arc = |centre, start| Edge::Arc(Arc { centre, radius: 2.0, start, sweep: PI });
        let line = |from, to| Edge::Line(Line { from, to });
        let edges = vec![
            line(Point::new(-5.0, 28.0), Point::new(5.0, 28.0)),
            arc(right, -PI / 2.0),
            line(Point::new(5.0, 32.0), Point::new(-5.0, 32.0)),
            arc(left, PI / 2.0),
        ];
        let area = Path { edges, closed: true }.area();
        assert!((area - (40.0 + 4.0 * PI)).abs() < 1e-12, "{area}");
        let clockwise = Arc { centre: left, radius: 3.0, start: 0.4, sweep: -2.0 * PI };
        assert!((Path { edges: vec![Edge::Arc(clockwise)], closed: true }.area() + 9.0 * PI).abs() < 1e-12);
    }

    #[test]
    fn arcs_beyond_half_a_turn_fall_into_two() {
        let arc = |sweep| Arc { centre: Point::new(1.0, 2.0), radius: 3.0, start: 0.5, sweep };
        assert_eq!(Edge::Arc(arc(PI)).in_half_turns(), [Edge::Arc(arc(PI))]);
        let halves = Edge::Arc(arc(-5.0)).in_half_turns();
        assert_eq!(halves[0], Edge::Arc(arc(-2.5)));
        assert!(halves[1].from().distance(halves[0].to()) < 1e-15);
        assert!(halves[1].to().distance(arc(-5.0).to()) < 1e-14);
    }
}
