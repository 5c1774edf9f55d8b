//! Every sequence of directions that a run may take, with the programme of its lengths: the same whatever is in the
//! way, and made once for all searches of the run.

use std::borrow::Cow;
use std::sync::OnceLock;

use super::beside::{Beside, Wanted};
use super::directions::{Angles, Sequence, USUAL, directions, is_same, sequences};
use super::problem::Problem;
use super::programme::Legs;
use super::shape::{Shape, straights};
use crate::geometry::{InnerSpace, MetricSpace, Point3, Vector3};

/// Most sequences of directions of one number of bends.
const MOST_SEQUENCES: usize = 50_000;

/// Most roots of one number of bends that are looked at: a sequence has one for each choice of the legs that lead through
/// points.
const MOST_ROOTS: usize = 20_000;

/// Roots that are as much work as a linear programme.
const ROOTS_PER_PROGRAMME: usize = 10;

/// Corners are written to a thousandth of a millimetre, or to 1e-4 in: legs have so much more room for that, mm.
const ROUNDING_MM: f64 = 0.005;

/// A run with the sequences that it may take.
pub(super) struct Roots<'a> {
    pub(super) problem: Cow<'a, Problem<'a>>,
    /// The run without room for those that are to lead beside it.
    pub(super) alone: Option<Box<Roots<'a>>>,
    /// The one beside another run.
    pub(super) beside: Option<Levels>,
    /// With angles that every bender marks, where the spec leaves the angles open.
    pub(super) usual: Option<Levels>,
    /// With all angles that may be.
    pub(super) all: Levels,
}

impl<'a> Roots<'a> {
    pub(super) fn of(problem: &'a Problem<'a>) -> Self {
        let alone = (!problem.followers.is_empty())
            .then(|| Box::new(Roots::made(Cow::Owned(Problem { followers: Vec::new(), ..problem.clone() }))));
        Roots { alone, ..Roots::made(Cow::Borrowed(problem)) }
    }

    fn made(problem: Cow<'a, Problem<'a>>) -> Self {
        let wished = &problem.wishes.angles;
        let usual = wished.is_empty().then(|| Levels::of(&problem, &USUAL));
        let beside = problem.beside.as_ref().map(|beside| Levels::beside(&problem, beside));
        let all = Levels::of(&problem, wished);
        Roots { problem, alone: None, beside, usual, all }
    }
}

/// Sequences by their number of bends.
pub(super) struct Levels {
    angles: Angles,
    levels: Vec<OnceLock<Level>>,
}

/// The sequences with one number of bends.
#[derive(Default)]
pub(super) struct Level {
    pub(super) roots: Vec<Root>,
    /// Whether there are more than were looked at.
    pub(super) is_cut: bool,
    /// What they cost, in linear programmes.
    pub(super) effort: usize,
}

impl Levels {
    /// Those with bends of these angles, rad; of any where there are none.
    fn of(problem: &Problem<'_>, angles: &[f64]) -> Self {
        let angles = Angles { wished: angles.to_vec(), largest: problem.run.bender.max_angle };
        let levels = (0..=problem.wishes.max_bends).map(|_| OnceLock::new()).collect();
        Levels { angles, levels }
    }

    /// The one with the legs of another run.
    fn beside(problem: &Problem<'_>, beside: &Beside) -> Self {
        let angles = Angles { wished: Vec::new(), largest: problem.run.bender.max_angle };
        let sequence = Sequence::new(beside.legs.clone());
        let bends = sequence.angles.len();
        let shape = Shape::new(sequence, problem.ends[0].at, problem.radius);
        let straights = problem.end_straights(bends).into_iter();
        let mut roots: Vec<Root> =
            straights.flat_map(|ends| Root::all(&shape, problem, ends, &beside.wanted).1).collect();
        if bends > problem.wishes.max_bends {
            roots.clear();
        }
        let mut levels: Vec<OnceLock<Level>> = (0..bends).map(|_| OnceLock::from(Level::default())).collect();
        levels.push(OnceLock::from(Level { roots, ..Level::default() }));
        Levels { angles, levels }
    }

    /// The most bends.
    pub(super) fn most(&self) -> usize {
        self.levels.len().saturating_sub(1)
    }

    /// The sequences with so many bends.
    pub(super) fn level(&self, problem: &Problem<'_>, bends: usize) -> Option<&Level> {
        Some(self.levels.get(bends)?.get_or_init(|| self.made(problem, bends)))
    }

    fn made(&self, problem: &Problem<'_>, bends: usize) -> Level {
        let [start, end] = &problem.ends;
        let ways: [Option<Vector3>; 2] = [start.way, end.way.map(|way| -way)];
        let right = std::f64::consts::FRAC_PI_2;
        let wished = &self.angles.wished;
        let with_diagonals = wished.is_empty() || wished.iter().any(|angle| !is_angle(*angle, right));
        let all = directions(ways, with_diagonals);
        let [first, last] = ways.map(|way| way.map_or_else(|| all.clone(), |way| vec![way]));
        let straights = problem.end_straights(bends);
        let found = sequences(&all, (&first, &last), &self.angles, bends, MOST_SEQUENCES);
        let mut level = Level { is_cut: found.len() >= MOST_SEQUENCES, ..Level::default() };
        let mut looked_at = 0;
        for sequence in found {
            if looked_at >= MOST_ROOTS {
                level.is_cut = true;
                break;
            }
            let shape = Shape::new(sequence, start.at, problem.radius);
            for ends in &straights {
                let (choices, roots) = Root::all(&shape, problem, *ends, &[]);
                looked_at += choices;
                level.roots.extend(roots);
            }
        }
        level.effort = looked_at / ROOTS_PER_PROGRAMME;
        level
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
    /// How many choices there are of legs that lead through the wanted points, and a root for each that may reach the end.
    fn all(shape: &Shape, problem: &Problem<'_>, ends: [f64; 2], wanted: &[Wanted]) -> (usize, Vec<Self>) {
        let all = choices(&shape.sequence.legs, &problem.wishes.through);
        let roots = all.iter().filter_map(|legs| Root::new(shape, problem, ends, (legs, wanted)));
        (all.len(), roots.collect())
    }

    /// `None` where no lengths of the legs reach the end.
    fn new(
        shape: &Shape,
        problem: &Problem<'_>,
        ends: [f64; 2],
        (through, wanted): (&[usize], &[Wanted]),
    ) -> Option<Self> {
        let end = problem.ends[1].at;
        let followers: Vec<Vec<f64>> =
            problem.followers.iter().filter_map(|follower| follower.needs(shape, end)).collect();
        let programme = |more: f64| {
            let mut straights = straights(ends, problem.between(), shape.bends() + 1);
            straights.iter_mut().for_each(|straight| *straight += more);
            let legs = Legs::new(shape, end, &straights)?.beside(shape, wanted);
            let legs = followers.iter().fold(legs, |legs, needs| legs.at_least(needs, more));
            let mut points = through.iter().zip(&problem.wishes.through);
            let legs = points.try_fold(legs, |legs, (leg, point)| legs.through(shape, *leg, *point))?;
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

/// Every choice of a leg for each of these points, in their order along the tube.
fn choices(legs: &[Vector3], points: &[Point3]) -> Vec<Vec<usize>> {
    let mut all: Vec<Vec<usize>> = vec![Vec::new()];
    for (index, point) in points.iter().enumerate() {
        let mut longer = Vec::new();
        for choice in all {
            let last = choice.last().copied();
            for (leg, way) in legs.iter().enumerate().skip(last.unwrap_or(0)) {
                let before = index.checked_sub(1).and_then(|before| points.get(before));
                let is_back = last == Some(leg) && before.is_some_and(|p| (*point - *p).dot(*way) < 0.0);
                if !is_back {
                    longer.push([choice.as_slice(), &[leg]].concat());
                }
            }
        }
        all = longer;
    }
    all
}

/// Whether a leg has the direction of one of these lines.
pub(super) fn is_kin(leg: Vector3, kin: &[Vector3]) -> bool {
    kin.iter().any(|known| is_same(*known, leg) || is_same(-*known, leg))
}
