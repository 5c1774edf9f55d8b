//! The tube along a sequence of legs: where its pieces are, as their lengths change.

use super::directions::Sequence;
use crate::centreline::{Centreline, CornerPoint, from_corners};
use crate::formula::bend::{arc_length, setback};
use crate::geometry::{InnerSpace, Point3, Vector3};

/// A bend is looked at in parts no larger than this, rad: its chord is then nearly the bend.
const LARGEST_PART: f64 = std::f64::consts::PI / 16.0;

/// Stations nearer to each other than this are the same, mm.
const SAME_MM: f64 = 1e-6;

/// A place of the tube: so far from the point before leg `legs`, which is the datum end and all legs before added up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Place {
    /// How many whole legs lie before it.
    pub(super) legs: usize,
    /// From there, mm.
    pub(super) off: Vector3,
}

/// The tube along a sequence.
#[derive(Debug, Clone)]
pub(super) struct Shape {
    pub(super) sequence: Sequence,
    pub(super) start: Point3,
    pub(super) radius: f64,
    /// From each bend's corner to where it starts and ends, mm.
    setbacks: Vec<f64>,
    /// Length of every arc, mm.
    arcs: Vec<f64>,
    /// Bends are looked at in parts no larger than this, rad.
    largest_part: f64,
}

impl Shape {
    pub(super) fn new(sequence: Sequence, start: Point3, radius: f64) -> Self {
        let setbacks = sequence.angles.iter().map(|angle| setback(radius, *angle)).collect();
        let arcs = sequence.angles.iter().map(|angle| arc_length(radius, *angle)).collect();
        Shape { sequence, start, radius, setbacks, arcs, largest_part: LARGEST_PART }
    }

    /// The same with its bends in so many times as many parts.
    pub(super) fn finer(&self, times: f64) -> Shape {
        Shape { largest_part: self.largest_part / times, ..self.clone() }
    }

    pub(super) fn bends(&self) -> usize {
        self.sequence.angles.len()
    }

    /// Setback at the point before leg `index`, mm: none at the ends.
    pub(super) fn setback_at(&self, index: usize) -> f64 {
        index.checked_sub(1).and_then(|bend| self.setbacks.get(bend)).copied().unwrap_or(0.0)
    }

    /// What the arcs make the tube shorter than its legs, mm.
    pub(super) fn saved(&self) -> f64 {
        2.0 * self.setbacks.iter().sum::<f64>() - self.arcs.iter().sum::<f64>()
    }

    /// The corners for these lengths of legs, mm.
    pub(super) fn corners(&self, lengths: &[f64]) -> Vec<Point3> {
        let mut at = self.start;
        let mut corners = Vec::with_capacity(self.bends());
        for (leg, length) in self.sequence.legs.iter().zip(lengths).take(self.bends()) {
            at += *leg * *length;
            corners.push(at);
        }
        corners
    }

    /// The tube for these lengths of legs, mm; `None` where they leave no room for its bends.
    pub(super) fn centreline(&self, lengths: &[f64], end: Point3) -> Option<Centreline> {
        let corners: Vec<CornerPoint> =
            self.corners(lengths).into_iter().map(|at| CornerPoint { at, radius: self.radius }).collect();
        from_corners(self.start, &corners, end).ok()
    }

    /// The pieces that hold a stretch of the tube between two stations, mm from the datum end, for these lengths of
    /// legs. The stretch lies on one leg or on one bend.
    pub(super) fn pieces_within(&self, lengths: &[f64], [from, to]: [f64; 2]) -> Vec<Piece> {
        let middle = f64::midpoint(from, to);
        let mut begin = 0.0;
        for (index, length) in lengths.iter().enumerate() {
            let straight = length - self.setback_at(index) - self.setback_at(index + 1);
            let arc = self.arcs.get(index).copied().unwrap_or(f64::MAX);
            if middle <= begin + straight || index + 1 == lengths.len() {
                return vec![self.leg(index)];
            }
            begin += straight;
            if middle <= begin + arc {
                let parts = self.parts(index);
                let at = |part: usize| begin + arc * part as f64 / parts as f64;
                let is_within = |part: &usize| at(*part) < to - SAME_MM && at(part + 1) > from + SAME_MM;
                return (0..parts).filter(is_within).map(|part| self.part_of_bend(index, part)).collect();
            }
            begin += arc;
        }
        vec![self.leg(0)]
    }

    /// The straight of a leg.
    pub(super) fn leg(&self, index: usize) -> Piece {
        let way = self.way(index);
        let from = Place { legs: index, off: way * self.setback_at(index) };
        let to = Place { legs: index + 1, off: way * -self.setback_at(index + 1) };
        Piece { ends: [from, to], crown: None, ways: vec![way], leg: Some(index), order: 3 * index }
    }

    /// How many parts the bend behind leg `index` is looked at in.
    fn parts(&self, index: usize) -> usize {
        let angle = self.sequence.angles.get(index).copied().unwrap_or_default();
        // Rounding does not make one more.
        ((angle / self.largest_part - 1e-6).ceil() as usize).max(1)
    }

    /// A part of the bend behind leg `index`: its ends, and where the lines along them cross.
    fn part_of_bend(&self, index: usize, part: usize) -> Piece {
        let (before, after) = (self.way(index), self.way(index + 1));
        let angle = self.sequence.angles.get(index).copied().unwrap_or_default();
        let parts = self.parts(index);
        let inward = (after - before * angle.cos()) / angle.sin();
        let turn = |part: usize| angle * part as f64 / parts as f64;
        let start = before * -self.setback_at(index + 1);
        let at = |turn: f64| start + (before * turn.sin() + inward * (1.0 - turn.cos())) * self.radius;
        let (from, to) = (turn(part), turn(part + 1));
        let along = before * from.cos() + inward * from.sin();
        let crown = at(from) + along * (self.radius * ((to - from) / 2.0).tan());
        let place = |off: Vector3| Place { legs: index + 1, off };
        Piece {
            ends: [place(at(from)), place(at(to))],
            crown: Some(place(crown)),
            ways: vec![before, after, (at(to) - at(from)).normalize()],
            leg: None,
            order: 3 * index + if 2 * part < parts { 1 } else { 2 },
        }
    }

    fn way(&self, index: usize) -> Vector3 {
        self.sequence.legs.get(index).copied().unwrap_or_else(Vector3::unit_x)
    }

    /// Every piece, in order.
    pub(super) fn pieces(&self) -> Vec<Piece> {
        let mut all = Vec::new();
        for index in 0..=self.bends() {
            all.push(self.leg(index));
            if index < self.bends() {
                all.extend((0..self.parts(index)).map(|part| self.part_of_bend(index, part)));
            }
        }
        all
    }

    /// A place for these lengths of legs.
    pub(super) fn at(&self, place: &Place, lengths: &[f64]) -> Point3 {
        let legs = self.sequence.legs.iter().zip(lengths).take(place.legs);
        legs.fold(self.start + place.off, |at, (leg, length)| at + *leg * *length)
    }

    /// The points whose hull holds a piece's centreline, for these lengths of legs.
    pub(super) fn points(&self, piece: &Piece, lengths: &[f64]) -> Vec<Point3> {
        piece.places().map(|place| self.at(place, lengths)).collect()
    }

    /// The parts of a place along a direction: what each leg's length adds, and the rest, mm.
    pub(super) fn along(&self, place: &Place, normal: Vector3) -> (Vec<f64>, f64) {
        let count = self.sequence.legs.len();
        let mut parts = vec![0.0; count];
        for (part, leg) in parts.iter_mut().zip(&self.sequence.legs).take(place.legs) {
            *part = normal.dot(*leg);
        }
        let start = Vector3::new(self.start.x, self.start.y, self.start.z);
        (parts, normal.dot(start + place.off))
    }
}

/// The least straights of so many legs, mm: those of the first and the last, and that between bends.
pub(super) fn straights([first, last]: [f64; 2], between: f64, legs: usize) -> Vec<f64> {
    let straight = |leg: usize| match leg {
        0 => first,
        leg if leg + 1 == legs => last,
        _ => between,
    };
    (0..legs).map(straight).collect()
}

/// A piece of the tube: a straight, or part of a bend.
#[derive(Debug, Clone)]
pub(super) struct Piece {
    /// Where its centreline starts and ends.
    pub(super) ends: [Place; 2],
    /// Of part of a bend, where the lines along its ends cross: the hull of the three holds its centreline.
    crown: Option<Place>,
    /// The directions of its legs; of part of a bend, also that of its chord.
    pub(super) ways: Vec<Vector3>,
    /// The leg it is the straight of.
    pub(super) leg: Option<usize>,
    /// Its place among straights and halves of bends, in order.
    pub(super) order: usize,
}

impl Piece {
    /// The places whose hull holds its centreline, in order.
    pub(super) fn places(&self) -> impl Iterator<Item = &Place> {
        let [start, end] = &self.ends;
        [Some(start), self.crown.as_ref(), Some(end)].into_iter().flatten()
    }

    /// The place that lies least far along a direction, whatever the lengths of the legs.
    pub(super) fn least_along(&self, normal: Vector3) -> &Place {
        let [start, end] = &self.ends;
        // The ends of a straight lie along its leg, the places of a bend all so far from its corner.
        let is_before = |place: &Place, other: &Place| match (self.leg, self.ways.first()) {
            (Some(_), Some(way)) => place.legs < other.legs && normal.dot(*way) >= 0.0,
            _ => normal.dot(place.off) <= normal.dot(other.off),
        };
        let nearer = if is_before(start, end) { start } else { end };
        self.crown.as_ref().filter(|crown| is_before(crown, nearer)).unwrap_or(nearer)
    }
}
