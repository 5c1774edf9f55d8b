//! A form's contour: a convex body of straights and one arc, so that insideness and distance to the edge
//! are simple and exact, and a foot behind it.
//!
//! The bend's centre is the origin. The tube comes in from the left along the top edge, meets the rim at its
//! highest point (start of bend) and is wound clockwise. Every layer of a stack, and the rim and the bottom
//! of a block's groove, differ in the radius of the rim alone.

use std::f64::consts::{FRAC_PI_2, TAU};

use super::job::FormJob;
use crate::flat::{Arc, Edge, Line, Path, Point};

/// Straight rim before the start and after the end of the arc: so many tube diameters, …
const LEAD_DIAMETERS: f64 = 3.0;
/// … but not less than a hand clamp's jaw, mm.
const LEAD_MM: f64 = 40.0;
/// Depth of the body behind the groove at the ends of its leads: so many tube diameters, …
const DEPTH_DIAMETERS: f64 = 1.5;
/// … but not less than this, mm (common practice, no source).
const DEPTH_MM: f64 = 25.0;
/// Beyond half a turn the leads run towards each other; at their ends the body keeps at least this part of
/// its width behind the groove.
const TAIL_PART: f64 = 0.6;

/// Half the width of a foot where there is room: jaws hold 60 mm without tilting (common practice, no source).
const FOOT_HALF_MM: f64 = 30.0;
/// Half the width a foot should have, mm.
const FOOT_GOOD_MM: f64 = 15.0;
/// A foot of less than twice this is none, mm.
const FOOT_LEAST_MM: f64 = 6.0;
/// Lengths of a foot, mm, the first that leaves it a good width is taken.
const FOOT_LENGTHS: [f64; 3] = [40.0, 30.0, 20.0];
/// Shoulders of a foot shorter than this are left out, mm.
const SHOULDER_MM: f64 = 2.0;

/// Least material beside a groove, mm: the larger of this and a part of the tube's diameter (common
/// practice, no source).
pub(super) fn web(od: f64) -> f64 {
    (od / 5.0).max(3.0)
}

/// A form seen from above.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Body {
    /// Radius of the rim, mm.
    pub(super) rim: f64,
    /// Radius of the groove's bottom, mm.
    pub(super) root: f64,
    /// Angle of its arc, rad.
    pub(super) arc: f64,
    /// Length of either lead, mm.
    pub(super) lead: f64,
    /// Corners of the body behind the leads' ends, clockwise.
    hull: Vec<Point>,
    /// The same with the foot.
    back: Vec<Point>,
    /// Width and length of the foot, mm.
    pub(super) foot: Option<(f64, f64)>,
}

impl Body {
    /// The body of a form whose rim and groove leave something inside (0 < root < rim).
    pub(super) fn new(job: &FormJob) -> Self {
        let (rim, root, arc) = (job.rim(), job.root(), job.arc);
        let (sin, cos) = (arc / 2.0).sin_cos();
        let mut lead = (LEAD_DIAMETERS * job.od).max(LEAD_MM);
        if cos < 0.0 {
            lead = lead.min((1.0 - TAIL_PART) * root / -cos);
        }
        let depth = rim - root + (DEPTH_DIAMETERS * job.od).max(DEPTH_MM);
        let mut body = Body { rim, root, arc, lead, hull: Vec::new(), back: Vec::new(), foot: None };
        // From the leads' ends the sides go in square to the leads. Where they would meet before the back,
        // they do; elsewhere the back cuts them off, square to the middle spoke.
        let meet = lead * cos / sin + rim;
        let side = if cos <= 0.0 || depth / cos >= meet { meet } else { depth / cos };
        let end = body.on_side(side);
        let flat = side < meet;
        body.hull = if flat { vec![mirrored(end), end] } else { vec![Point::new(end.x, 0.0)] };
        body.hull = body.hull.iter().map(|&at| body.point(at)).collect();
        body.add_foot(if flat { end } else { Point::new(end.x, 0.0) }, web(job.od));
        body
    }

    /// The point of the lead-in's side `down` mm from the rim, along and across the axis.
    fn on_side(&self, down: f64) -> Point {
        let (sin, cos) = (self.arc / 2.0).sin_cos();
        let out = self.rim - down;
        Point::new(out * cos - self.lead * sin, out * sin + self.lead * cos)
    }

    /// Adds a foot between the tube's legs behind a back that reaches `end.y` to either side.
    fn add_foot(&mut self, end: Point, web: f64) {
        let (sin, cos) = (self.arc / 2.0).sin_cos();
        // As wide as the sides leave it beside the groove's ends.
        let widest = self.on_side(self.rim - self.root + web).y.max(end.y);
        // The legs stay a web away from it.
        let between = |along: f64| (self.root - web - along * cos) / sin;
        let root_of = |half: f64| {
            if half <= end.y {
                return end.x;
            }
            self.on_side((self.rim * sin + self.lead * cos - half) / sin).x
        };
        let half_width = |length: f64| {
            let first = FOOT_HALF_MM.min(widest).min(between(end.x - length));
            let half = first.min(between(root_of(first) - length));
            if half < end.y && end.y - half < SHOULDER_MM && end.y <= between(end.x - length) {
                end.y
            } else {
                half
            }
        };
        let feet = FOOT_LENGTHS.map(|length| (half_width(length), length));
        let wide = |least: f64| feet.iter().find(|(half, _)| *half >= least);
        let Some(&(half, length)) = wide(FOOT_GOOD_MM).or_else(|| wide(FOOT_LEAST_MM)) else {
            self.back = self.hull.clone();
            return;
        };
        let start = root_of(half);
        let tip = start - length;
        let mut corners = vec![Point::new(start, half), Point::new(tip, half)];
        if half < end.y {
            corners.insert(0, end);
        }
        let other = corners.iter().map(|&at| mirrored(at));
        self.back = other.chain(corners.iter().rev().copied()).map(|at| self.point(at)).collect();
        self.foot = Some((2.0 * half, length));
    }

    /// The point `at.x` along the axis of symmetry and `at.y` across it, to the lead-in's side.
    pub(super) fn point(&self, at: Point) -> Point {
        let axis = self.axis();
        Point::new(axis.x * at.x - axis.y * at.y, axis.y * at.x + axis.x * at.y)
    }

    /// Distance from the axis of symmetry, mm; positive on the lead-in's side.
    pub(super) fn across(&self, at: Point) -> f64 {
        let axis = self.axis();
        axis.x * at.y - axis.y * at.x
    }

    /// Unit vector from the bend's centre to the middle of the rim: the axis of symmetry.
    pub(super) fn axis(&self) -> Point {
        self.on_spoke(self.arc / 2.0, 1.0)
    }

    /// The point on the spoke of bend angle `angle` (rad) at `radius` mm from the bend's centre.
    pub(super) fn on_spoke(&self, angle: f64, radius: f64) -> Point {
        Point::new(0.0, 0.0).polar(radius, FRAC_PI_2 - angle)
    }

    /// Where the lead-in starts on a rim of this radius.
    fn lead_start(&self, radius: f64) -> Point {
        Point::new(-self.lead, radius)
    }

    /// Where the lead-out ends on a rim of this radius.
    fn lead_end(&self, radius: f64) -> Point {
        self.on_spoke(self.arc, radius).polar(self.lead, -self.arc)
    }

    /// The rim of this radius, clockwise: lead, arc, lead.
    pub(super) fn rim_edges(&self, radius: f64) -> Vec<Edge> {
        let arc = Arc { centre: Point::new(0.0, 0.0), radius, start: FRAC_PI_2, sweep: -self.arc };
        vec![
            Edge::Line(Line { from: self.lead_start(radius), to: arc.from() }),
            Edge::Arc(arc),
            Edge::Line(Line { from: arc.to(), to: self.lead_end(radius) }),
        ]
    }

    /// Corners from the end of a rim of this radius back to its start, clockwise.
    pub(super) fn back(&self, radius: f64) -> Vec<Point> {
        let ends = [self.lead_end(radius), self.lead_start(radius)];
        ends[..1].iter().chain(&self.back).chain(&ends[1..]).copied().collect()
    }

    /// The contour with a rim of this radius, counter-clockwise.
    pub(super) fn contour(&self, radius: f64) -> Path {
        let mut edges = self.rim_edges(radius);
        edges.extend(self.back(radius).windows(2).map(|c| Edge::Line(Line { from: c[0], to: c[1] })));
        let turned_round = |edge: &Edge| match *edge {
            Edge::Line(Line { from, to }) => Edge::Line(Line { from: to, to: from }),
            Edge::Arc(arc) => Edge::Arc(Arc { start: arc.start + arc.sweep, sweep: -arc.sweep, ..arc }),
        };
        Path { edges: edges.iter().rev().map(turned_round).collect(), closed: true }
    }

    /// The body without its foot with a rim of this radius.
    pub(super) fn inside(&self, radius: f64) -> Inside<'_> {
        let [start, end] = [self.lead_start(radius), self.lead_end(radius)];
        let corners: Vec<Point> = [end].iter().chain(&self.hull).chain(&[start]).copied().collect();
        let back = corners.windows(2).map(|c| (c[0], c[1]));
        let leads = [(start, self.on_spoke(0.0, radius)), (self.on_spoke(self.arc, radius), end)];
        let side = |(from, to): (Point, Point)| {
            let (dx, dy) = (to.x - from.x, to.y - from.y);
            Side { from, dx, dy, length: dx.hypot(dy) }
        };
        Inside {
            body: self,
            radius,
            sides: back.chain(leads).map(side).filter(|side| side.length > 0.0).collect(),
        }
    }

    /// Whether a point keeps `least` mm off the rim's arc of this radius, or lies outside its wedge.
    pub(super) fn keeps_off_arc(&self, at: Point, radius: f64, least: f64) -> bool {
        // The distance is worked out faster than the angle.
        radius - at.x.hypot(at.y) >= least || !self.in_wedge(at)
    }

    fn in_wedge(&self, at: Point) -> bool {
        (FRAC_PI_2 - at.y.atan2(at.x)).rem_euclid(TAU) <= self.arc
    }

    /// Lower left and upper right corner of the smallest box around the body without its foot.
    pub(super) fn bounds(&self) -> (Point, Point) {
        let mut min = Point::new(0.0, self.rim);
        let mut max = min;
        let ends = [self.lead_start(self.rim), self.lead_end(self.rim), self.on_spoke(self.arc, self.rim)];
        let spokes = (0..=3).map(|q| f64::from(q) * FRAC_PI_2).filter(|&angle| angle <= self.arc);
        let on_arc = spokes.map(|angle| self.on_spoke(angle, self.rim));
        for at in ends.into_iter().chain(self.hull.iter().copied()).chain(on_arc) {
            min = Point::new(min.x.min(at.x), min.y.min(at.y));
            max = Point::new(max.x.max(at.x), max.y.max(at.y));
        }
        (min, max)
    }
}

fn mirrored(at: Point) -> Point {
    Point::new(at.x, -at.y)
}

/// The inside of a body, of which many points ask whether they keep off its edge.
#[derive(Debug, Clone)]
pub(super) struct Inside<'a> {
    pub(super) body: &'a Body,
    radius: f64,
    sides: Vec<Side>,
}

/// A straight edge, clockwise: the inside is on the right.
#[derive(Debug, Clone)]
struct Side {
    from: Point,
    dx: f64,
    dy: f64,
    length: f64,
}

impl Side {
    /// Distance from a point to the edge's line, mm; negative outside.
    fn clearance(&self, at: Point) -> f64 {
        ((at.x - self.from.x) * self.dy - (at.y - self.from.y) * self.dx) / self.length
    }
}

impl Inside<'_> {
    /// Whether a point lies inside, at least `least` mm from every edge.
    pub(super) fn keeps(&self, at: Point, least: f64) -> bool {
        // Outside the arc's wedge a neighbouring straight is nearer.
        self.sides.iter().all(|side| side.clearance(at) >= least)
            && self.body.keeps_off_arc(at, self.radius, least)
    }
}
