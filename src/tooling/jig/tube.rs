//! The tube as a jig sees it: straights to hold it by, and fine samples of everything else.

use crate::centreline::{Bend, Centreline, Segment};
use crate::geometry::{Point3, Vector3};

/// Distance of two samples along a bend or a straight, mm at most. Between two samples of a bend of radius R
/// the tube reaches no further than 1/(8 R) mm beyond the balls round them.
const SAMPLE_MM: f64 = 1.0;

/// A straight of the tube.
#[derive(Debug, Clone, Copy)]
pub(super) struct Leg {
    /// Its number among straights and arcs.
    pub piece: usize,
    /// Start.
    pub from: Point3,
    /// Unit direction of travel.
    pub direction: Vector3,
    /// Length, mm.
    pub length: f64,
    /// Distance of its start from the datum end along the tube, mm.
    pub station: f64,
}

impl Leg {
    /// The point this far along the leg, mm.
    pub(super) fn point(&self, along: f64) -> Point3 {
        self.from + self.direction * along
    }

    /// Length of its direction seen from above: the cosine of its slope.
    pub(super) fn level(&self) -> f64 {
        self.direction.x.hypot(self.direction.y)
    }
}

/// A point of the centreline.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sample {
    /// Where.
    pub at: Point3,
    /// Unit direction of travel.
    pub direction: Vector3,
    /// The straight or arc it is on.
    pub piece: usize,
    /// Distance along the tube from the datum end, mm.
    pub station: f64,
}

/// A tube in the jig's space.
#[derive(Debug, Clone)]
pub(super) struct Tube {
    /// Outer radius, mm.
    pub radius: f64,
    /// Its straights.
    pub legs: Vec<Leg>,
    /// Its bends.
    pub bends: Vec<Bend>,
    /// For each bend, the number of its arc among straights and arcs.
    pub arcs: Vec<usize>,
    /// Number of straights and arcs.
    pub pieces: usize,
    /// Samples of the whole centreline.
    pub samples: Vec<Sample>,
    /// Length along the centreline, mm.
    pub length: f64,
}

impl Tube {
    /// The tube of an outer radius (mm) along a centreline.
    pub(super) fn new(centreline: &Centreline, radius: f64) -> Tube {
        let mut tube = Tube {
            radius,
            legs: Vec::new(),
            bends: centreline.bends().to_vec(),
            arcs: Vec::new(),
            pieces: centreline.segments().len(),
            samples: Vec::new(),
            length: centreline.length(),
        };
        let mut station = 0.0;
        for (piece, segment) in centreline.segments().iter().enumerate() {
            let length = segment.length();
            match *segment {
                Segment::Straight { from, direction, length } => {
                    tube.legs.push(Leg { piece, from, direction, length, station });
                }
                Segment::Arc { .. } => tube.arcs.push(piece),
            }
            let steps = (length / SAMPLE_MM.min(radius / 3.0)).ceil().clamp(1.0, 20_000.0);
            for step in 0..=steps as usize {
                let along = length * step as f64 / steps;
                tube.samples.push(Sample {
                    at: segment.point_at(along),
                    direction: segment.direction_at(along),
                    piece,
                    station: station + along,
                });
            }
            station += length;
        }
        tube
    }

    /// Height of the lowest point of the tube's outside, mm.
    ///
    /// It is at an end's rim or where the centreline runs level within a bend: a surface's lowest point has a
    /// plumb normal, which is square to the centreline.
    pub(super) fn lowest(&self) -> f64 {
        let ends = self.samples.first().into_iter().chain(self.samples.last());
        let rims = ends.map(|s| s.at.z - self.radius * s.direction.x.hypot(s.direction.y));
        let bellies = self.bends.iter().filter_map(|bend| {
            let spoke = bend.axis.cross(bend.direction_in) * -bend.radius;
            let along = bend.direction_in * bend.radius;
            // z = centre + cos θ spoke.z + sin θ along.z, lowest opposite to its phase.
            let phase = along.z.atan2(spoke.z) + std::f64::consts::PI;
            let phase = phase.rem_euclid(std::f64::consts::TAU);
            let low = bend.centre.z - spoke.z.hypot(along.z) - self.radius;
            (phase <= bend.angle).then_some(low)
        });
        // A level straight between bends.
        let legs = self
            .legs
            .iter()
            .flat_map(|leg| [leg.from.z, leg.point(leg.length).z].map(|z| z - self.radius * leg.level()));
        rims.chain(bellies).chain(legs).fold(f64::INFINITY, f64::min)
    }

    /// The leg that is this piece.
    pub(super) fn leg(&self, piece: usize) -> Option<&Leg> {
        self.legs.iter().find(|leg| leg.piece == piece)
    }
}

/// What is wrong with a tube beyond a point: turned about an axis through a centre, then shifted.
#[derive(Debug, Clone, Copy)]
pub(super) enum Wrong {
    /// A bend is turned further by an angle, rad.
    Turned {
        /// Centre of the bend.
        centre: Point3,
        /// Its axis.
        axis: Vector3,
        /// By how much, rad.
        by: f64,
    },
    /// A straight is longer.
    Longer(Vector3),
}

impl Wrong {
    /// Where a point beyond comes to lie.
    pub(super) fn point(&self, p: Point3) -> Point3 {
        match *self {
            Wrong::Turned { centre, .. } => centre + self.vector(p - centre),
            Wrong::Longer(by) => p + by,
        }
    }

    /// Where a direction beyond comes to point.
    pub(super) fn vector(&self, v: Vector3) -> Vector3 {
        match *self {
            Wrong::Turned { axis, by, .. } => crate::geometry::turned(v, axis, by),
            Wrong::Longer(_) => v,
        }
    }
}
