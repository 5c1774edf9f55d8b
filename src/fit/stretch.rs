//! A stretch of tube along one straight or arc, as a chord with a stated error.

use parry3d_f64::bounding_volume::Aabb;
use parry3d_f64::math::{Pose, Rotation, Vector};
use parry3d_f64::shape::{Cylinder, Segment as Chord};

use super::motion::Motion;
use crate::centreline::{Centreline, LaidRun, Segment};
use crate::formula::bend::sagitta;
use crate::geometry::Point3;

/// Arcs enter the search cut to this angle, so that their boxes are tight.
const LARGEST_ARC: f64 = std::f64::consts::FRAC_PI_4;

/// A point as the distance library takes it.
pub(super) fn vector(point: Point3) -> Vector {
    Vector::new(point.x, point.y, point.z)
}

/// Part of a run between two stations.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stretch {
    segment: Segment,
    /// Centreline radius; `None` on a straight.
    bend: Option<f64>,
    /// Station of the segment's start.
    offset: f64,
    /// Stations where the stretch starts and ends.
    stations: [f64; 2],
    /// Length of the whole run.
    run_length: f64,
    /// Outer radius of the tube.
    pub(super) radius: f64,
    /// The centreline's chord.
    pub(super) chord: Chord,
    /// From the chord to the arc's crown; zero on a straight.
    pub(super) bulge: Vector,
}

impl Stretch {
    fn new(segment: Segment, offset: f64, stations: [f64; 2], run_length: f64, radius: f64) -> Self {
        let bend = segment.radius();
        let chord = Chord::new(Vector::ZERO, Vector::ZERO);
        let bulge = Vector::ZERO;
        let blank = Stretch { segment, bend, offset, stations, run_length, radius, chord, bulge };
        blank.spanning(stations, [blank.at(stations[0]), blank.at(stations[1])])
    }

    /// The stretch between two stations, whose centreline points are known.
    fn spanning(&self, stations: [f64; 2], [a, b]: [Vector; 2]) -> Self {
        let bulge = match (&self.segment, self.bend) {
            (Segment::Arc { centre, .. }, Some(bend)) => {
                let outward = a.midpoint(b) - vector(*centre);
                outward.normalize_or_zero() * sagitta(bend, (stations[1] - stations[0]) / bend)
            }
            _ => Vector::ZERO,
        };
        Stretch { stations, chord: Chord::new(a, b), bulge, ..*self }
    }

    /// Centreline point at a station.
    fn at(&self, station: f64) -> Vector {
        vector(self.segment.point_at(station - self.offset))
    }

    /// Whether it is part of a straight.
    pub(super) fn is_straight(&self) -> bool {
        self.bend.is_none()
    }

    /// Centreline point at a share (0 to 1) of the stretch.
    pub(super) fn at_share(&self, share: f64) -> Vector {
        match self.bend {
            Some(_) => self.at(self.from() + share * self.length()),
            None => self.chord.a.lerp(self.chord.b, share),
        }
    }

    /// Station of the start, mm.
    pub(super) fn from(&self) -> f64 {
        self.stations[0]
    }

    /// Station of the end, mm.
    pub(super) fn to(&self) -> f64 {
        self.stations[1]
    }

    /// Length along the centreline, mm.
    pub(super) fn length(&self) -> f64 {
        self.to() - self.from()
    }

    /// The same stretch between two stations inside it.
    pub(super) fn between(&self, from: f64, to: f64) -> Self {
        self.spanning([from, to], [self.at(from), self.at(to)])
    }

    /// The stretch of the tube after a motion.
    pub(super) fn moved(&self, motion: &Motion) -> Self {
        let segment = match self.segment {
            Segment::Straight { from, direction, length } => {
                Segment::Straight { from: motion.point(from), direction: motion.direction(direction), length }
            }
            Segment::Arc { centre, axis, from, angle } => Segment::Arc {
                centre: motion.point(centre),
                axis: motion.direction(axis),
                from: motion.point(from),
                angle,
            },
        };
        let moved = Stretch { segment, ..*self };
        moved.spanning(self.stations, [moved.at(self.from()), moved.at(self.to())])
    }

    /// Both halves.
    pub(super) fn halves(&self) -> [Self; 2] {
        let middle = (self.from() + self.to()) / 2.0;
        let point = self.at(middle);
        [
            self.spanning([self.from(), middle], [self.chord.a, point]),
            self.spanning([middle, self.to()], [point, self.chord.b]),
        ]
    }

    /// Whether a ball rolled along the stretch could leave the tube through its flat end.
    pub(super) fn is_flat(&self) -> bool {
        self.from() < self.radius || self.to() > self.run_length - self.radius
    }

    /// How far the chord's tube may be from the bent one, mm.
    pub(super) fn slack(&self) -> f64 {
        self.bend.map_or(0.0, |bend| {
            // A flat end square to the chord is tilted against the true one by half the angle.
            let tilt = if self.is_flat() { self.radius * (self.length() / bend / 2.0).sin() } else { 0.0 };
            self.bulge.length() + tilt
        })
    }

    /// The chord's tube with flat ends.
    pub(super) fn cylinder(&self) -> (Pose, Cylinder) {
        cylinder(self.chord.a, self.chord.b, self.radius)
    }

    /// The same, shorter by so many mm at both ends.
    pub(super) fn cylinder_short_of(&self, mm: f64) -> (Pose, Cylinder) {
        let (a, b) = (self.chord.a, self.chord.b);
        let off = (b - a).normalize_or_zero() * mm.min(a.distance(b) / 2.0);
        cylinder(a + off, b - off, self.radius)
    }

    /// A box around the bent stretch.
    pub(super) fn aabb(&self) -> Aabb {
        let around = self.radius + self.slack();
        let reach = Vector::splat(around);
        Aabb::new(self.chord.a.min(self.chord.b) - reach, self.chord.a.max(self.chord.b) + reach)
    }
}

/// A cylinder between two points, as the distance library takes it.
pub(super) fn cylinder(from: Vector, to: Vector, radius: f64) -> (Pose, Cylinder) {
    let axis = to - from;
    let rotation = Rotation::from_rotation_arc(Vector::Y, axis.normalize_or(Vector::Y));
    (Pose::from_parts((from + to) / 2.0, rotation), Cylinder::new(axis.length() / 2.0, radius))
}

/// A run's tube in stretches.
pub(super) fn tube(laid: &LaidRun) -> Vec<Stretch> {
    stretches(&laid.centreline, laid.run.tube.outer_radius())
}

/// A whole line in stretches, none of more than 45° of bend, with a tube of this radius round it.
pub(super) fn stretches(centreline: &Centreline, radius: f64) -> Vec<Stretch> {
    let run_length = centreline.length();
    let mut offset = 0.0;
    let mut all = Vec::new();
    for segment in centreline.segments() {
        let length = segment.length();
        let parts = segment.radius().map_or(1.0, |bend| (length / bend / LARGEST_ARC).ceil().max(1.0));
        let step = length / parts;
        // `parts` is between 1 and 4, so the count is exact.
        for part in 0..parts as u32 {
            let from = offset + step * f64::from(part);
            all.push(Stretch::new(*segment, offset, [from, from + step], run_length, radius));
        }
        offset += length;
    }
    all
}
