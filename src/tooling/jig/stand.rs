//! Uprights as numbers: where each stands, its saddle, how near anything comes to it.

use super::Duty;
use super::quad::{Quad, length};
use super::region::Region;
use super::tube::{Sample, TubeInJig};
use crate::flat::Point;
use crate::geometry::{InnerSpace, Point3, Vector3};

/// A saddle: a round bottom and straight walls above it, open at the top.
///
/// Around a tube of slope b the saddle's space is a cylinder of radius a = OD/2 + clearance, which a plumb plane
/// square to the tube seen from above cuts in an ellipse of half axes a and a/cos b. Through the plate's thickness
/// t the ellipse's middle goes up or down by t/2 · tan b, so the saddle's lowest point is that of the ellipse at
/// the plate's lower side. From there a circle of radius a rises; the ellipse is higher everywhere, by
/// (a/cos b − a)(1 − √(1 − (u/a)²)) ≥ 0 at a distance u from the middle. Beside the tube the walls are the
/// cylinder's own plumb tangent planes. So the least gap is the clearance, at the bottom and at both sides.
#[derive(Debug, Clone, Copy)]
pub(super) struct Saddle {
    /// Radius of the bottom and half the distance of the walls, mm.
    pub radius: f64,
    /// Height of the bottom's centre above the board, mm.
    pub centre: f64,
    /// How much the mouth is widened at its upper edges, mm.
    pub chamfer: f64,
}

/// An upright plate, its middle plane square to the tube seen from above.
#[derive(Debug, Clone)]
pub(super) struct Stand {
    pub duty: Duty,
    /// The straight it belongs to; a guard's bend.
    pub piece: usize,
    /// Distance along the tube from the datum end, mm.
    pub station: f64,
    /// The centreline there.
    pub at: Point3,
    /// Unit direction of the tube there.
    pub direction: Vector3,
    /// That direction seen from above, unit.
    pub ahead: Vector3,
    /// Horizontal unit vector within the plate: its x.
    pub across: Vector3,
    /// Middle of the plate's thickness on the board, below the tube's axis.
    pub middle: Point3,
    /// Thickness, mm.
    pub thickness: f64,
    /// How far it reaches to −across and to +across, mm.
    pub arms: [f64; 2],
    /// The same at its foot, not less.
    pub foot: [f64; 2],
    /// Up to where the foot is wider than the arms, mm above the board.
    pub foot_top: f64,
    /// Height above the board, mm.
    pub top: f64,
    pub saddle: Option<Saddle>,
    /// Tabs: middle along across and width, mm, by their middle.
    pub tabs: Vec<(f64, f64)>,
}

/// So near to an end, in radii of the tube, its round section is held against the stop or gate.
const NEAR_END: f64 = 1.5;

/// Distance of (u, z) from the box −left ≤ u ≤ right, z ≤ top.
fn to_box(u: f64, z: f64, [left, right]: [f64; 2], top: f64) -> f64 {
    let beside = (-left - u).max(u - right).max(0.0);
    length(beside, (z - top).max(0.0))
}

impl Stand {
    /// A point in the plate's axes: along across, along ahead from the middle plane, height.
    pub(super) fn local(&self, p: Point3) -> (f64, f64, f64) {
        let from = p - self.middle;
        (from.dot(self.across), from.dot(self.ahead), p.z)
    }

    /// Distance from the plate's shape within its own plane, mm; 0 in it. `top` is the walls' upper end.
    pub(super) fn flat_distance(&self, u: f64, z: f64, top: f64) -> f64 {
        let foot = if self.foot_top > 0.0 { to_box(u, z, self.foot, self.foot_top) } else { f64::INFINITY };
        let body = match self.saddle {
            None => to_box(u, z, self.arms, top),
            Some(saddle) => {
                let (side, rise) = (u.abs(), z - saddle.centre);
                let inside = side < saddle.radius && (rise >= 0.0 || length(side, rise) < saddle.radius);
                if !inside {
                    to_box(u, z, self.arms, top)
                } else if rise >= 0.0 {
                    length(saddle.radius - side, (z - top).max(0.0))
                } else {
                    saddle.radius - length(side, rise)
                }
            }
        };
        foot.min(body)
    }

    /// Whether a point of the plate's own plane is in its shape; `top` is the walls' upper end.
    pub(super) fn covers(&self, u: f64, z: f64, top: f64) -> bool {
        let within = |[left, right]: [f64; 2], top: f64| u >= -left && u <= right && z <= top;
        if self.foot_top > 0.0 && within(self.foot, self.foot_top) {
            return true;
        }
        within(self.arms, top)
            && self.saddle.is_none_or(|saddle| {
                let (side, rise) = (u.abs(), z - saddle.centre);
                side >= saddle.radius || (rise < 0.0 && length(side, rise) >= saddle.radius)
            })
    }

    /// Distance of a point from the plate, mm; 0 in it.
    pub(super) fn distance(&self, p: Point3) -> f64 {
        let (u, n, z) = self.local(p);
        let beside = (n.abs() - self.thickness / 2.0).max(0.0);
        length(self.flat_distance(u, z, self.top), beside)
    }

    /// Angle of its x axis on the board, rad.
    pub(super) fn angle(&self) -> f64 {
        self.across.y.atan2(self.across.x)
    }

    /// A point of the board: along across and ahead from below the tube's axis.
    pub(super) fn on_board(&self, u: f64, n: f64) -> Point {
        let p = self.middle + self.across * u + self.ahead * n;
        Point::new(p.x, p.y)
    }

    /// Rectangle on the board: middle along across, whole width, depth along ahead.
    pub(super) fn rectangle(&self, middle: f64, width: f64, depth: f64) -> Quad {
        Quad::along(self.on_board(middle, 0.0), (self.across.x, self.across.y), width / 2.0, depth / 2.0)
    }

    /// The part of the board that it covers.
    pub(super) fn footprint(&self) -> Quad {
        let [left, right] = [0, 1].map(|side| self.foot[side].max(self.arms[side]));
        self.rectangle((right - left) / 2.0, left + right, self.thickness)
    }

    /// Its slots in the base board, wider by `fit` than its tabs.
    pub(super) fn slots(&self, fit: f64) -> impl Iterator<Item = Quad> + '_ {
        self.tabs
            .iter()
            .map(move |&(middle, width)| self.rectangle(middle, width + fit, self.thickness + fit))
    }

    /// Whether the tube comes nearer to it than it should: `margin` mm; less where a bend leaves the straight
    /// that it holds; `gap` mm for the end that it stands against.
    pub(super) fn meets(&self, tube: &TubeInJig, margin: f64, clearance: f64, gap: f64) -> bool {
        let near = self.thickness / 2.0 + tube.radius + margin;
        tube.any_in(&self.region(tube.radius, margin.max(clearance)), |sample| {
            if sample.piece == self.piece {
                return false;
            }
            let ahead = (sample.at - self.middle).dot(self.ahead);
            if ahead.abs() >= near {
                return false;
            }
            let beside = sample.piece.abs_diff(self.piece) == 1;
            if let (true, Some(reach)) = (beside, self.beyond(sample, tube)) {
                return reach > -gap;
            }
            let need = if beside { clearance / 2.0 } else { margin };
            self.distance(sample.at) < tube.radius + need
        })
    }

    /// Where the middle of a tube of this outer radius must be to come within `margin` mm of the plate, or be looked
    /// at by [`Stand::beyond`].
    fn region(&self, radius: f64, margin: f64) -> Region {
        let own = match self.duty {
            Duty::Cradle | Duty::Guard => 0.0,
            Duty::Stop | Duty::Gate => NEAR_END * radius,
        };
        let around = radius + margin;
        Region {
            middle: self.middle,
            across: self.across,
            ahead: self.ahead,
            sides: [0, 1].map(|side| self.foot[side].max(self.arms[side]).max(own) + around),
            depth: self.thickness / 2.0 + around,
            top: self.top + around,
        }
    }

    /// For a stop or gate and a sample near its end: how far the tube's round section there reaches into
    /// the plate, mm, negative before it.
    fn beyond(&self, sample: &Sample, tube: &TubeInJig) -> Option<f64> {
        let (from_end, sense) = match self.duty {
            Duty::Cradle | Duty::Guard => return None,
            Duty::Stop => (sample.station, -1.0),
            Duty::Gate => (tube.length - sample.station, 1.0),
        };
        let reach = section_reach(sample.direction, self.ahead, tube.radius);
        let ahead = (sample.at - self.middle).dot(self.ahead) * sense;
        (from_end < NEAR_END * tube.radius).then_some(ahead + reach + self.thickness / 2.0)
    }
}

/// How far a round section square to `direction` reaches along the unit `ahead` from its middle, mm.
pub(super) fn section_reach(direction: Vector3, ahead: Vector3, radius: f64) -> f64 {
    radius * (1.0 - direction.dot(ahead).powi(2)).max(0.0).sqrt()
}
