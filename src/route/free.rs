//! Ways of two and three bends along any directions: polished numerically, so the best of their kind is not proven.

use std::cell::RefCell;

use cobyla::{RhoBeg, StopTols, minimize};

use super::answer::{Asked, Way};
use super::directions::Sequence;
use super::merit::Merit;
use super::problem::Problem;
use super::shape::straights;
use crate::centreline::{Centreline, CornerPoint, from_corners};
use crate::fit::Surroundings;
use crate::formula::bend::setback;
use crate::geometry::{EuclideanSpace, InnerSpace, MetricSpace, Point3, Vector3, angle_between};
use crate::tolerance::{CLEARANCE_MM, SMALLEST_BEND};

/// Numbers of bends of a free way: one bend has no freedom, and four have more than they need.
const BENDS: std::ops::RangeInclusive<usize> = 2..=3;

/// Starts of the search for each number of bends that are polished.
const POLISHED: usize = 12;

/// Measurements for each start that is polished.
const MEASURED: usize = 400;

/// Corners to begin with lie around the middle of both ends, along each axis by these parts of the way between the ends.
const LATTICE: [f64; 5] = [-1.0, -0.5, 0.0, 0.5, 1.0];

/// First steps of the search, in parts of the distance of the ends.
const FIRST_STEP: f64 = 0.1;

/// The search ends where its steps are so small, mm.
const LAST_STEP_MM: f64 = 1e-3;

/// Room that is kept for the rounding of corners and of the search, mm.
const MARGIN_MM: f64 = 0.02;

/// A place of the search: how far the first and the last leg go, and the corner between them, if there is one.
type Place = Vec<f64>;

/// A run among its surroundings.
struct Free<'a> {
    problem: &'a Problem<'a>,
    surroundings: &'a Surroundings<'a>,
    own: &'a [(usize, [bool; 2])],
    ways: [Vector3; 2],
    ends: [Point3; 2],
    straights: [f64; 2],
}

/// The best free ways, each of another number of bends; and what they cost in measurements.
pub(super) fn free_ways(
    problem: &Problem<'_>,
    surroundings: &Surroundings<'_>,
    asked: &Asked<'_>,
) -> (Vec<Way>, usize) {
    let [Some(first), Some(last)] = problem.ends.map(|end| end.way) else { return (Vec::new(), 0) };
    let own = surroundings.own(problem.run);
    let mut found = Vec::new();
    let mut effort = 0;
    for bends in BENDS.filter(|bends| *bends <= problem.wishes.max_bends) {
        let ends = problem.ends.map(|end| end.at);
        let best = problem
            .end_straights(bends)
            .into_iter()
            .filter_map(|straights| {
                let free = Free { problem, surroundings, own: &own, ways: [first, last], ends, straights };
                let (way, spent) = free.best(bends, asked);
                effort += spent;
                way
            })
            .min_by_key(Way::rank);
        found.extend(best);
    }
    (found, effort)
}

impl Free<'_> {
    fn best(&self, bends: usize, asked: &Asked<'_>) -> (Option<Way>, usize) {
        let stubs = self.stub_lengths();
        let mut effort = 0;
        // The best first and last legs for every corner between them; all of them where there is none.
        let mut starts: Vec<(f64, Place)> = self
            .between(bends)
            .into_iter()
            .flat_map(|between| {
                let both = stubs[0].iter().flat_map(|first| stubs[1].iter().map(move |last| [*first, *last]));
                let places = both.map(|legs| [legs.as_slice(), &between].concat());
                let mut worth: Vec<(f64, Place)> = places.map(|place| (self.worth(&place), place)).collect();
                effort += worth.len();
                if !between.is_empty() {
                    worth.sort_by(|a, b| a.0.total_cmp(&b.0));
                    worth.truncate(1);
                }
                worth
            })
            .collect();
        starts.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut best: Option<Way> = None;
        for (_, start) in starts.into_iter().take(POLISHED) {
            effort += MEASURED;
            let way = self.way(&self.polished(&start), asked);
            if let Some(way) = way
                && best.as_ref().is_none_or(|best| way.is_better_than(best))
            {
                best = Some(way);
            }
        }
        (best, effort)
    }

    /// Lengths of the first and of the last leg to begin with, mm: short and long ones.
    fn stub_lengths(&self) -> [Vec<f64>; 2] {
        let (apart, radius) = (self.ends[0].distance(self.ends[1]), self.problem.radius);
        self.straights.map(|straight| {
            let more = [0.5 * radius, radius, 2.0 * radius, 0.5 * apart, apart, 2.0 * apart, 4.0 * apart];
            more.map(|more| straight + more).to_vec()
        })
    }

    /// Coordinates of the corner between the first and the last to begin with: nothing for two bends, places all
    /// around both ends for three.
    fn between(&self, bends: usize) -> Vec<Place> {
        if bends == 2 {
            return vec![Vec::new()];
        }
        let [from, to] = self.ends;
        let (middle, reach) = (from.midpoint(to), from.distance(to));
        let mut all = Vec::new();
        for x in LATTICE {
            for y in LATTICE {
                for z in LATTICE {
                    all.push(vec![middle.x + x * reach, middle.y + y * reach, middle.z + z * reach]);
                }
            }
        }
        all
    }

    /// The corners at the ends of the first and before the last leg.
    fn stubs(&self, first: f64, last: f64) -> (Point3, Point3) {
        (self.ends[0] + self.ways[0] * first, self.ends[1] + self.ways[1] * last)
    }

    fn corners(&self, place: &[f64]) -> Vec<Point3> {
        let at = |index: usize| place.get(index).copied().unwrap_or_default();
        let (from, to) = self.stubs(at(0), at(1));
        let between = (place.len() > 2).then(|| Point3::new(at(2), at(3), at(4)));
        [Some(from), between, Some(to)].into_iter().flatten().collect()
    }

    /// The room that is left: on every leg, in every bend's angle as mm on its arc, and to everything else; negative
    /// where there is too little, mm.
    fn room(&self, place: &[f64]) -> Vec<f64> {
        let corners = self.corners(place);
        let legs = self.legs(&corners);
        let radius = self.problem.radius;
        let bender = &self.problem.run.bender;
        let least = 2.0 * SMALLEST_BEND;
        let mut room = Vec::new();
        let mut setbacks = vec![0.0];
        for pair in legs.windows(2) {
            let angle = angle_between(pair[0], pair[1]);
            room.push((bender.max_angle - angle) * radius);
            room.push((angle - least) * radius);
            setbacks.push(setback(radius, angle.clamp(least, 0.95 * std::f64::consts::PI)));
        }
        setbacks.push(0.0);
        let straights = straights(self.straights, self.problem.between(), legs.len());
        for (index, (leg, straight)) in legs.iter().zip(straights).enumerate() {
            room.push(leg.magnitude() - setbacks[index] - setbacks[index + 1] - straight - MARGIN_MM);
        }
        room.push(self.clear(&corners));
        room
    }

    /// How much nearer than wanted the parts of the tube are to everything, as a number below nothing, mm together; nothing
    /// where it is far enough.
    fn clear(&self, corners: &[Point3]) -> f64 {
        let Some(line) = self.line(corners) else { return 0.0 };
        let clearance = self.problem.wishes.clearance + MARGIN_MM;
        let breaches = self.surroundings.breaches(self.problem.run, &line, self.own, clearance);
        let others: f64 = breaches.iter().map(|breach| breach.distance - clearance).sum();
        let itself = Surroundings::to_itself(&line, self.problem.run.tube.od());
        others + itself.map_or(0.0, |near| (near - clearance).min(0.0))
    }

    fn line(&self, corners: &[Point3]) -> Option<Centreline> {
        let radius = self.problem.radius;
        let corners: Vec<CornerPoint> = corners.iter().map(|at| CornerPoint { at: *at, radius }).collect();
        from_corners(self.ends[0], &corners, self.ends[1]).ok()
    }

    /// The ways from end to end by these corners, mm.
    fn legs(&self, corners: &[Point3]) -> Vec<Vector3> {
        let all = || std::iter::once(&self.ends[0]).chain(corners).chain([&self.ends[1]]);
        all().zip(all().skip(1)).map(|(from, to)| *to - *from).collect()
    }

    /// The tube's length without the arcs' savings, mm.
    fn length(&self, place: &[f64]) -> f64 {
        self.legs(&self.corners(place)).iter().map(|leg| leg.magnitude()).sum()
    }

    /// A start's worth: less is better. Room that is missing counts more than length.
    fn worth(&self, place: &[f64]) -> f64 {
        let missing: f64 = self.room(place).into_iter().map(|room| (-room).max(0.0)).sum();
        self.length(place) + 10.0 * missing
    }

    /// A place near to the start whose legs are shorter and that has all room it needs, as far as one was found.
    fn polished(&self, start: &Place) -> Place {
        let known: RefCell<(Place, Vec<f64>)> = RefCell::new((Vec::new(), Vec::new()));
        let room_at = |place: &[f64], index: usize| {
            let mut known = known.borrow_mut();
            if known.0 != place {
                *known = (place.to_vec(), self.room(place));
            }
            known.1.get(index).copied().unwrap_or_default()
        };
        let count = self.room(start).len();
        let demands: Vec<_> = (0..count)
            .map(|index| move |place: &[f64], room: &mut &dyn Fn(&[f64], usize) -> f64| room(place, index))
            .collect();
        let apart = self.ends[0].distance(self.ends[1]);
        let reach = 10.0 * (apart + self.problem.radius);
        let bounds: Vec<(f64, f64)> = start
            .iter()
            .enumerate()
            .map(
                |(index, at)| {
                    if index < 2 { (self.straights[index], reach) } else { (at - reach, at + reach) }
                },
            )
            .collect();
        let tolerances = StopTols { xtol_abs: vec![LAST_STEP_MM; start.len()], ..StopTols::default() };
        let outcome = minimize(
            |place: &[f64], _: &mut &dyn Fn(&[f64], usize) -> f64| self.length(place),
            start,
            &bounds,
            &demands,
            &room_at as &dyn Fn(&[f64], usize) -> f64,
            MEASURED,
            RhoBeg::All(FIRST_STEP * apart),
            Some(tolerances),
        );
        match outcome {
            Ok((_, place, _)) | Err((_, place, _)) => place,
        }
    }

    /// The way of a place, where it has the room that it needs.
    fn way(&self, place: &[f64], asked: &Asked<'_>) -> Option<Way> {
        let rounding = -MARGIN_MM / 2.0;
        if self.room(place).into_iter().any(|room| room < rounding) {
            return None;
        }
        let corners = self.corners(place);
        let line = self.line(&corners)?;
        let clearance = self.problem.wishes.clearance;
        let is_clear = self.surroundings.breaches(self.problem.run, &line, self.own, clearance).is_empty()
            && Surroundings::to_itself(&line, self.problem.run.tube.od())
                .is_none_or(|near| near >= clearance - CLEARANCE_MM);
        let sequence = Sequence::new(line.directions().collect());
        let merit = Merit {
            last_resort: false,
            bends: sequence.angles.len(),
            planes: sequence.planes,
            unusual: sequence.unusual,
            length: line.length(),
            strange: sequence.legs.len(),
        };
        is_clear.then(|| Way::new(corners, line, merit, asked.order))
    }
}
