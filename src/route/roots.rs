//! Every sequence of directions that a run may take, with the programme of its lengths: the same whatever is in the
//! way, and made once for all searches of the run.

use std::sync::OnceLock;

use super::directions::{Angles, USUAL, directions, is_same, sequences};
use super::problem::Problem;
use super::programme::Legs;
use super::shape::Shape;
use crate::geometry::{MetricSpace, Vector3};

/// Most sequences of directions of one number of bends.
const MOST_SEQUENCES: usize = 50_000;

/// Corners are written to a thousandth of a millimetre, or to 1e-4 in: legs have so much more room for that, mm.
const ROUNDING_MM: f64 = 0.005;

/// A run with the sequences that it may take.
pub(super) struct Roots<'a> {
    pub(super) problem: &'a Problem<'a>,
    /// With angles that every bender marks, where the spec leaves the angles open.
    pub(super) usual: Option<Levels>,
    /// With all angles that may be.
    pub(super) all: Levels,
}

impl<'a> Roots<'a> {
    pub(super) fn of(problem: &'a Problem<'a>) -> Self {
        let wished = &problem.wishes.angles;
        let usual = wished.is_empty().then(|| Levels::of(problem, &USUAL));
        Roots { problem, usual, all: Levels::of(problem, wished) }
    }
}

/// Sequences by their number of bends.
pub(super) struct Levels {
    angles: Angles,
    levels: Vec<OnceLock<Vec<Root>>>,
}

impl Levels {
    /// Those with bends of these angles, rad; of any where there are none.
    fn of(problem: &Problem<'_>, angles: &[f64]) -> Self {
        let angles = Angles { wished: angles.to_vec(), largest: problem.run.bender.max_angle };
        let levels = (0..=problem.wishes.max_bends).map(|_| OnceLock::new()).collect();
        Levels { angles, levels }
    }

    /// The sequences with so many bends.
    pub(super) fn level(&self, problem: &Problem<'_>, bends: usize) -> &[Root] {
        self.levels.get(bends).map_or(&[], |level| level.get_or_init(|| self.made(problem, bends)))
    }

    fn made(&self, problem: &Problem<'_>, bends: usize) -> Vec<Root> {
        let [start, end] = &problem.ends;
        let ways: [Option<Vector3>; 2] = [start.way, end.way.map(|way| -way)];
        let right = std::f64::consts::FRAC_PI_2;
        let wished = &self.angles.wished;
        let with_diagonals = wished.is_empty() || wished.iter().any(|angle| !is_angle(*angle, right));
        let all = directions(ways, with_diagonals);
        let [first, last] = ways.map(|way| way.map_or_else(|| all.clone(), |way| vec![way]));
        let straights = problem.end_straights(bends);
        let mut roots = Vec::new();
        for sequence in sequences(&all, (&first, &last), &self.angles, bends, MOST_SEQUENCES) {
            let shape = Shape::new(sequence, start.at, problem.radius);
            roots.extend(straights.iter().filter_map(|ends| Root::new(&shape, problem, *ends)));
        }
        roots
    }
}

fn is_angle(angle: f64, other: f64) -> bool {
    (angle - other).abs() < 1e-6
}

/// A sequence, with room for one order of bending.
pub(super) struct Root {
    pub(super) shape: Shape,
    /// With room for rounding; and without, for what just fits and has its corners where the ports say.
    programmes: Vec<Programme>,
    /// No tube along it is shorter, mm.
    pub(super) at_least: f64,
}

/// One programme of a sequence, and its solution while nothing is in the way.
pub(super) struct Programme {
    pub(super) legs: Legs,
    free: OnceLock<Option<Vec<f64>>>,
}

impl Root {
    /// `None` where no lengths of the legs reach the end.
    fn new(shape: &Shape, problem: &Problem<'_>, [first, last]: [f64; 2]) -> Option<Self> {
        let end = problem.ends[1].at;
        let programme = |more: f64| {
            let mut straights = vec![problem.between(); shape.bends() + 1];
            if let Some(straight) = straights.last_mut() {
                *straight = last;
            }
            if let Some(straight) = straights.first_mut() {
                *straight = first;
            }
            straights.iter_mut().for_each(|straight| *straight += more);
            let legs = Legs::new(shape, end, &straights)?;
            legs.may_meet(&[]).then(|| Programme { legs, free: OnceLock::new() })
        };
        let programmes: Vec<Programme> = [ROUNDING_MM, 0.0].into_iter().filter_map(programme).collect();
        let least = programmes.last()?.legs.least.iter().sum::<f64>();
        let at_least = least.max(shape.start.distance(end)) - shape.saved();
        Some(Root { shape: shape.clone(), programmes, at_least })
    }

    /// The programme that has a solution within these caps of the first and the last leg, with its solution; and how
    /// many were solved.
    pub(super) fn shortest(&self, caps: [f64; 2]) -> (Option<(&Programme, Vec<f64>)>, usize) {
        for (index, programme) in self.programmes.iter().enumerate() {
            if let Some(lengths) = programme.shortest(caps) {
                return (Some((programme, lengths)), index + 1);
            }
        }
        (None, self.programmes.len())
    }

    /// Most lengths of the first and the last leg, mm, for the straight that there is room for at both ends.
    pub(super) fn caps(&self, straight_on: [Option<f64>; 2]) -> [f64; 2] {
        let bends = self.shape.bends();
        let cap = |straight: Option<f64>, bend: usize| match straight {
            Some(straight) if bends > 0 => straight + self.shape.setback_at(bend),
            _ => f64::INFINITY,
        };
        [cap(straight_on[0], 1), cap(straight_on[1], bends)]
    }
}

impl Programme {
    fn shortest(&self, caps: [f64; 2]) -> Option<Vec<f64>> {
        let free = self.free.get_or_init(|| self.legs.shortest(&[], [f64::INFINITY; 2])).as_ref()?;
        let within = |length: Option<&f64>, cap: f64| length.is_none_or(|length| *length <= cap);
        if within(free.first(), caps[0]) && within(free.last(), caps[1]) {
            return Some(free.clone());
        }
        self.legs.shortest(&[], caps)
    }
}

/// Whether a leg has the direction of one of these lines.
pub(super) fn is_kin(leg: Vector3, kin: &[Vector3]) -> bool {
    kin.iter().any(|known| is_same(*known, leg) || is_same(-*known, leg))
}
