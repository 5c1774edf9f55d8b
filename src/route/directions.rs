//! The directions that legs may have, and every sequence of them from one end to the other.

use std::f64::consts::{FRAC_1_SQRT_2, FRAC_PI_2, FRAC_PI_4, PI};

use crate::geometry::{InnerSpace, Vector3, angle_between, reference_normal};
use crate::tolerance::{SAME_PLANE, SMALLEST_BEND};

/// Two directions nearer to each other than this are one, and an angle that near to a wished one is that, rad.
const SAME: f64 = 1e-6;

/// Angles that every bender marks, rad (common practice, no source).
pub(super) const USUAL: [f64; 2] = [FRAC_PI_4, FRAC_PI_2];

/// Most bends of one way at other angles, where the spec does not say which it allows.
const MOST_UNUSUAL: usize = 2;

/// The directions of legs: along the axes, halfway between two of them, and the same about the way each end faces.
pub(super) fn directions(ends: [Option<Vector3>; 2], with_diagonals: bool) -> Vec<Vector3> {
    let mut all: Vec<Vector3> = Vec::new();
    add_frame(&mut all, [Vector3::unit_x(), Vector3::unit_y(), Vector3::unit_z()], with_diagonals);
    for way in ends.into_iter().flatten() {
        if !all.iter().any(|known| is_same(*known, way)) {
            let beside = reference_normal(way);
            add_frame(&mut all, [way, beside, way.cross(beside)], with_diagonals);
        }
    }
    all
}

fn add_frame(all: &mut Vec<Vector3>, axes: [Vector3; 3], with_diagonals: bool) {
    let mut add = |way: Vector3| {
        let way = clean(way);
        if !all.iter().any(|known| is_same(*known, way)) {
            all.push(way);
        }
    };
    for axis in axes {
        add(axis);
        add(-axis);
    }
    if with_diagonals {
        for (first, second) in [(0, 1), (1, 2), (2, 0)] {
            for (a, b) in [(1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0)] {
                add((axes[first] * a + axes[second] * b) * FRAC_1_SQRT_2);
            }
        }
    }
}

/// A direction without the rounding of what should be 0.
fn clean(way: Vector3) -> Vector3 {
    let clean = |part: f64| if part.abs() < 1e-12 { 0.0 } else { part };
    Vector3::new(clean(way.x), clean(way.y), clean(way.z))
}

pub(super) fn is_same(a: Vector3, b: Vector3) -> bool {
    (a - b).magnitude() < SAME
}

/// The directions of a way's legs, and what they are worth.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Sequence {
    /// Of every leg, datum end first.
    pub(super) legs: Vec<Vector3>,
    /// The angle of every bend, rad.
    pub(super) angles: Vec<f64>,
    /// Planes that its bends lie in, one after the other.
    pub(super) planes: usize,
    /// Bends at an angle that is not usual.
    pub(super) unusual: usize,
}

impl Sequence {
    /// What is known of the legs alone.
    pub(super) fn new(legs: Vec<Vector3>) -> Self {
        let angles: Vec<f64> = legs.windows(2).map(|pair| angle_between(pair[0], pair[1])).collect();
        let axes: Vec<Vector3> = legs.windows(2).map(|pair| pair[0].cross(pair[1]).normalize()).collect();
        let mut planes = 0;
        let mut first: Option<Vector3> = None;
        for axis in axes {
            if first.is_none_or(|first| first.cross(axis).magnitude() >= SAME_PLANE.sin()) {
                planes += 1;
                first = Some(axis);
            }
        }
        let unusual = angles.iter().filter(|angle| !is_one_of(**angle, &USUAL)).count();
        Sequence { legs, angles, planes, unusual }
    }
}

fn is_one_of(angle: f64, wished: &[f64]) -> bool {
    wished.iter().any(|wish| (angle - wish).abs() < SAME)
}

/// The angles that bends may have.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Angles {
    /// Those of the spec, rad; empty for any.
    pub(super) wished: Vec<f64>,
    /// The largest that the bender makes, rad.
    pub(super) largest: f64,
}

impl Angles {
    fn allows(&self, angle: f64) -> bool {
        let is_bend = angle > SMALLEST_BEND && angle < PI - SMALLEST_BEND;
        is_bend
            && angle <= self.largest + SMALLEST_BEND
            && (self.wished.is_empty() || is_one_of(angle, &self.wished))
    }
}

/// Every sequence with so many bends that begins along one of `first` and ends along one of `last`, in an order that
/// depends on nothing else.
pub(super) fn sequences(
    all: &[Vector3],
    (first, last): (&[Vector3], &[Vector3]),
    angles: &Angles,
    bends: usize,
    most: usize,
) -> Vec<Sequence> {
    let mut found = Vec::new();
    let mut legs: Vec<Vector3> = Vec::with_capacity(bends + 1);
    for &way in first {
        legs.push(way);
        extend(&mut legs, (all, last), angles, (bends, most), &mut found);
        legs.pop();
    }
    found
}

fn extend(
    legs: &mut Vec<Vector3>,
    (all, last): (&[Vector3], &[Vector3]),
    angles: &Angles,
    (bends, most): (usize, usize),
    found: &mut Vec<Sequence>,
) {
    if found.len() >= most {
        return;
    }
    let Some(&at) = legs.last() else { return };
    if legs.len() == bends + 1 {
        if last.iter().any(|way| is_same(*way, at)) {
            let sequence = Sequence::new(legs.clone());
            if !angles.wished.is_empty() || sequence.unusual <= MOST_UNUSUAL {
                found.push(sequence);
            }
        }
        return;
    }
    let choices = if legs.len() == bends { last } else { all };
    for &way in choices {
        if angles.allows(angle_between(at, way)) {
            legs.push(way);
            extend(legs, (all, last), angles, (bends, most), found);
            legs.pop();
        }
    }
}
