//! The plate's contour: a convex shape of straights and one arc, so that insideness and distance to
//! the edge are simple and exact.
//!
//! The bend's centre is the origin. The tube comes from the left along the top edge, meets the rim
//! at its highest point (start of bend) and is wound clockwise.

use std::f64::consts::FRAC_PI_2;

use crate::drawing::item::{Arc, Edge, Line, Path, Point};

/// Straight rim before the start and after the end of the arc: so many tube diameters, …
const LEAD_DIAMETERS: f64 = 3.0;
/// … but not less than a hand clamp's jaw, mm.
const LEAD_MM: f64 = 40.0;
/// Depth of the plate behind the ends of its leads: so many tube diameters, …
const DEPTH_DIAMETERS: f64 = 1.5;
/// … but not less than this, mm (common practice, no source).
const DEPTH_MM: f64 = 25.0;
/// Beyond half a turn the leads run towards each other; at their ends the plate keeps at least this
/// part of its width.
const TAIL_PART: f64 = 0.6;

/// A plate.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Plate {
    /// Radius of the rim, mm.
    pub(super) rim: f64,
    /// Angle of the rim's arc, rad.
    pub(super) arc: f64,
    /// Length of either lead, mm.
    pub(super) lead: f64,
    /// The contour, clockwise from the start of bend.
    edges: Vec<Edge>,
}

impl Plate {
    /// A plate with a rim of radius `rim` (mm, > 0) over `arc` (rad, 0 < arc < 200°) for a tube of
    /// outside diameter `od` (mm).
    pub(super) fn new(rim: f64, arc: f64, od: f64) -> Self {
        let (sin, cos) = (arc / 2.0).sin_cos();
        let mut lead = (LEAD_DIAMETERS * od).max(LEAD_MM);
        if cos < 0.0 {
            lead = lead.min((1.0 - TAIL_PART) * rim / -cos);
        }
        let depth = (DEPTH_DIAMETERS * od).max(DEPTH_MM);

        let start = Point::new(0.0, rim);
        let end = Point::new(0.0, 0.0).polar(rim, FRAC_PI_2 - arc);
        let lead_start = start.shifted(-lead, 0.0);
        let lead_end = end.polar(lead, -arc);
        let mut corners = vec![end, lead_end];
        // From the leads' ends the sides go in square to the leads. Where they would meet before
        // the plate's back, they do; elsewhere the back cuts them off, square to the middle spoke.
        let side = depth / cos;
        let meet = lead * cos / sin + rim;
        if cos <= 0.0 || side >= meet {
            corners.push(lead_start.shifted(0.0, -meet));
        } else {
            corners.push(lead_end.polar(side, -arc - FRAC_PI_2));
            corners.push(lead_start.shifted(0.0, -side));
        }
        corners.extend([lead_start, start]);

        let mut edges =
            vec![Edge::Arc(Arc { centre: Point::new(0.0, 0.0), radius: rim, start: FRAC_PI_2, sweep: -arc })];
        edges.extend(corners.windows(2).map(|c| Edge::Line(Line { from: c[0], to: c[1] })));
        Plate { rim, arc, lead, edges }
    }

    /// The contour.
    pub(super) fn contour(&self) -> Path {
        Path { edges: self.edges.clone(), closed: true }
    }

    /// Distance from a point to the nearest edge, mm; negative outside.
    pub(super) fn clearance(&self, at: Point) -> f64 {
        self.edges.iter().map(|edge| self.edge_clearance(edge, at)).fold(f64::INFINITY, f64::min)
    }

    fn edge_clearance(&self, edge: &Edge, at: Point) -> f64 {
        match edge {
            Edge::Line(Line { from, to }) => {
                let (dx, dy) = (to.x - from.x, to.y - from.y);
                // Clockwise: the inside is on the right.
                ((at.x - from.x) * dy - (at.y - from.y) * dx) / dx.hypot(dy)
            }
            // Outside the arc's wedge a neighbouring straight is nearer.
            Edge::Arc(_) if self.faces_arc(at) => self.rim - at.x.hypot(at.y),
            Edge::Arc(_) => f64::INFINITY,
        }
    }

    /// Distance from a point to the arc of the rim, mm, where the point lies inside its wedge.
    pub(super) fn rim_clearance(&self, at: Point) -> Option<f64> {
        self.faces_arc(at).then(|| self.rim - at.x.hypot(at.y))
    }

    fn faces_arc(&self, at: Point) -> bool {
        let turned = (FRAC_PI_2 - at.y.atan2(at.x)).rem_euclid(2.0 * std::f64::consts::PI);
        turned <= self.arc
    }

    /// The point on the spoke of bend angle `angle` (rad) at `radius` mm from the bend's centre.
    pub(super) fn on_spoke(&self, angle: f64, radius: f64) -> Point {
        Point::new(0.0, 0.0).polar(radius, FRAC_PI_2 - angle)
    }

    /// Lower left and upper right corner of the smallest box around the plate.
    pub(super) fn bounds(&self) -> (Point, Point) {
        let mut min = Point::new(0.0, self.rim);
        let mut max = min;
        let corners = self.edges.iter().map(Edge::from);
        let spokes = (0..=3).map(|q| f64::from(q) * FRAC_PI_2).filter(|&angle| angle <= self.arc);
        for at in corners.chain(spokes.map(|angle| self.on_spoke(angle, self.rim))) {
            min = Point::new(min.x.min(at.x), min.y.min(at.y));
            max = Point::new(max.x.max(at.x), max.y.max(at.y));
        }
        (min, max)
    }

    /// Unit vector from the bend's centre to the middle of the rim: the plate's axis of symmetry.
    pub(super) fn axis(&self) -> Point {
        self.on_spoke(self.arc / 2.0, 1.0)
    }
}
