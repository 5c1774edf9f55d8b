//! Points, lines, arcs and paths in a plane: what drawings, sheet parts and their solids share.
//!
//! Millimetres, y up; angles in rad, counter-clockwise from +x.

mod rect;

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
}

/// Edges that follow each other; closed if the last ends where the first starts and `closed` says so.
#[derive(Debug, Clone, PartialEq)]
pub struct Path {
    /// The edges, each starting where the one before ends.
    pub edges: Vec<Edge>,
    /// Whether it bounds an area.
    pub closed: bool,
}
