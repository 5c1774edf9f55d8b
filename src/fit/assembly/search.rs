//! The search for an order: the finished loop is taken apart, and the steps are read backwards.
//!
//! A tube that is gone is in nobody's way, and every move of a component can be undone. So a tube that can be taken out
//! is taken out at once: no other order finds more. Between tubes every component is back in its place; while one is
//! looked for, components are set back in every combination, the fewest first.

use std::cell::{Cell, RefCell};
use std::cmp::Reverse;
use std::collections::{BTreeSet, BinaryHeap};

use rustc_hash::FxHashMap;

use super::super::distance::{Near, box_distance, lower_by_tube};
use super::super::motion::Motion;
use super::super::solid::{Solid, lower_by_solid};
use super::super::stretch::Stretch;
use super::motion::{Leg, PART_OF_WAY, SLIGHT_MM, TOUCH_MM, is_clear};
use super::parts::{Held, Parts, Tube};
use super::ways::{Drawn, Way, ways};
use crate::geometry::Vector3;

/// Most combinations of moved components that are tried before each tube.
const MOST_PLACES: usize = 20_000;

/// How plain a way out is: tubes that are turned, then how many tubes it takes out, many before few.
type Preference = (usize, Reverse<usize>);

/// Most pairs of parts that are measured, those of a mesh counting more.
const MOST_MEASURED: usize = 40_000;

/// Bodies that move are measured so closely, mm: a part of what counts as a touch.
const FINE_MM: f64 = 0.02;

/// Where a component is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) enum Place {
    /// In its place.
    Home,
    /// Set back in the way of this number.
    Back(usize),
    /// Not there yet.
    Out,
}

/// What a part may be in the way of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
enum Other {
    Tube(usize),
    Body(usize, Place),
}

/// A move that was looked at before.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
enum Mover {
    Tube(usize, usize, [Option<Place>; 2]),
    Body(usize, usize, bool),
}

/// What it costs to move components: how much, and then how large they are.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord)]
struct Cost {
    moves: usize,
    bulk: u64,
}

impl Cost {
    fn and(self, other: Cost) -> Cost {
        Cost { moves: self.moves + other.moves, bulk: self.bulk.saturating_add(other.bulk) }
    }
}

/// A step of taking apart.
#[derive(Debug, Clone)]
pub(super) enum Apart {
    /// A tube is taken out.
    Tube(usize, Drawn),
    /// A component is moved along a unit vector, so many mm, or altogether.
    Away { body: usize, way: Vector3, travel: Option<f64> },
    /// It is put back.
    Home { body: usize, way: Vector3, travel: Option<f64> },
}

/// The outcome of a search.
#[derive(Debug, Clone, Default)]
pub(super) struct Found {
    /// The steps of taking apart, in their order.
    pub(super) steps: Vec<Apart>,
    /// Tubes that cannot be taken out.
    pub(super) stuck: Vec<usize>,
    /// Whether the search ended at a limit.
    pub(super) is_cut_short: bool,
}

/// A search over some parts.
pub(super) struct Search<'p> {
    parts: &'p Parts,
    known: RefCell<FxHashMap<(Mover, Other), bool>>,
    measured: Cell<usize>,
    /// Components that hold a tube or were in the way of one.
    concerned: RefCell<BTreeSet<usize>>,
}

impl<'p> Search<'p> {
    pub(super) fn of(parts: &'p Parts) -> Self {
        Search { parts, known: RefCell::default(), measured: Cell::new(0), concerned: RefCell::default() }
    }

    /// Takes these tubes apart.
    pub(super) fn take_apart(&self, tubes: &[usize]) -> Found {
        let mut fitted: BTreeSet<usize> = tubes.iter().copied().collect();
        let ends = tubes.iter().filter_map(|tube| self.parts.tubes.get(*tube));
        self.concerned
            .borrow_mut()
            .extend(ends.flat_map(|tube| tube.ends.iter().flatten()).map(|end| end.component));
        let mut found = Found::default();
        // Every round takes a tube out, or is the last.
        while !fitted.is_empty() {
            match self.round(&fitted) {
                Some(steps) => {
                    for step in &steps {
                        if let Apart::Tube(tube, _) = step {
                            fitted.remove(tube);
                        }
                    }
                    found.steps.extend(steps);
                }
                None => break,
            }
        }
        found.is_cut_short = self.is_spent() && !fitted.is_empty();
        found.stuck = fitted.into_iter().collect();
        found
    }

    fn is_spent(&self) -> bool {
        self.measured.get() >= MOST_MEASURED
    }

    /// The tubes that come out with the fewest moves of components, with these moves.
    fn round(&self, fitted: &BTreeSet<usize>) -> Option<Vec<Apart>> {
        // Components that turn out to be in the way are moved, too. There are so many of them.
        loop {
            let before = self.concerned.borrow().len();
            let steps = self.pass(fitted);
            if steps.is_some() || self.is_spent() || self.concerned.borrow().len() == before {
                return steps;
            }
        }
    }

    fn pass(&self, fitted: &BTreeSet<usize>) -> Option<Vec<Apart>> {
        let home = vec![Place::Home; self.parts.bodies.len()];
        let concerned: Vec<usize> = self.concerned.borrow().iter().copied().collect();
        let mut seen: BTreeSet<Vec<Place>> = BTreeSet::from([home.clone()]);
        let mut open = BinaryHeap::from([Reverse((Cost::default(), 0_usize))]);
        let mut nodes: Vec<(Vec<Place>, Vec<Apart>)> = vec![(home, Vec::new())];
        let mut best: Option<(Cost, Preference, Vec<Apart>)> = None;
        // Every combination of places is opened once, up to a limit.
        while let Some(Reverse((cost, index))) = open.pop() {
            if self.is_spent() || best.as_ref().is_some_and(|(known, _, _)| cost.moves > known.moves) {
                break;
            }
            let Some((places, moves)) = nodes.get(index).cloned() else { break };
            let out = self.taken_out(fitted, &places);
            // Plain ways first, then many tubes at once.
            let turned = |step: &&Apart| matches!(step, Apart::Tube(_, Drawn::Turned { .. }));
            let rank = (out.iter().filter(turned).count(), Reverse(out.len()));
            if !out.is_empty() && best.as_ref().is_none_or(|(_, known, _)| rank < *known) {
                best = Some((cost, rank, there_and_back(&moves, &out)));
            }
            if best.is_some() {
                continue;
            }
            for &body in &concerned {
                for (place, price, step) in self.moves(body, &places, fitted) {
                    let mut next = places.clone();
                    next[body] = place;
                    if nodes.len() < MOST_PLACES && seen.insert(next.clone()) {
                        open.push(Reverse((cost.and(price), nodes.len())));
                        nodes.push((next, [moves.as_slice(), &[step]].concat()));
                    }
                }
            }
        }
        best.map(|(_, _, steps)| steps)
    }

    /// The tubes that come out one after another with components in these places.
    fn taken_out(&self, fitted: &BTreeSet<usize>, places: &[Place]) -> Vec<Apart> {
        let mut left = fitted.clone();
        let mut out = Vec::new();
        // Every turn takes a tube out, or is the last.
        loop {
            let found = left.iter().find_map(|&tube| Some((tube, self.way_out(tube, places, &left)?)));
            let Some((tube, drawn)) = found else { return out };
            left.remove(&tube);
            out.push(Apart::Tube(tube, drawn));
        }
    }

    /// The first way in which a tube comes out.
    fn way_out(&self, index: usize, places: &[Place], fitted: &BTreeSet<usize>) -> Option<Drawn> {
        let tube = self.parts.tubes.get(index)?;
        let place = |end: &Option<Held>| end.as_ref().and_then(|end| places.get(end.component).copied());
        let own = tube.ends.each_ref().map(place);
        // One that is deeper in a component set back is not drawn from there.
        if tube.ends.iter().zip(own).any(|(end, place)| self.is_deeper(end.as_ref(), place)) {
            return None;
        }
        let is_in = |end: usize| {
            let held = tube.ends[end].as_ref()?;
            (held.hold > 0.0 && own[end] == Some(Place::Home)).then_some(held)
        };
        let engaged = [is_in(0), is_in(1)];
        let found = ways(tube, engaged).into_iter().enumerate().find(|(number, way)| {
            let mover = Mover::Tube(index, *number, own);
            let misses_bodies = (0..self.parts.bodies.len()).all(|body| {
                let at = places.get(body).copied().unwrap_or(Place::Out);
                let is_clear = at == Place::Out
                    || self
                        .looked_up(&mover, Other::Body(body, at), || self.tube_misses(tube, way, body, at));
                if !is_clear {
                    self.concerned.borrow_mut().insert(body);
                }
                is_clear
            });
            misses_bodies
                && fitted.iter().filter(|other| **other != index).all(|&other| {
                    self.looked_up(&mover, Other::Tube(other), || {
                        let legs: Vec<Leg> = way.legs.iter().map(|(leg, _)| *leg).collect();
                        let own = tube.without([false; 2]);
                        let others = self.parts.tubes.get(other).map(|tube| tube.without([false; 2]));
                        let others = others.unwrap_or_default();
                        is_clear(Motion::STILL, &legs, &mut |motion, most| {
                            self.between(&own, motion, &others, most)
                        })
                    })
                })
        });
        found.map(|(_, way)| way.drawn)
    }

    /// Whether an end is in a component that was set back, and is not let go by that.
    fn is_deeper(&self, end: Option<&Held>, place: Option<Place>) -> bool {
        let (Some(end), Some(Place::Back(number))) = (end, place) else { return false };
        let back = self.parts.bodies.get(end.component).and_then(|body| body.backs.get(number));
        end.hold > 0.0 && back.is_some_and(|(way, _)| !end.lets_go(-*way, end.hold))
    }

    fn looked_up(&self, mover: &Mover, other: Other, look: impl FnOnce() -> bool) -> bool {
        let key = (mover.clone(), other);
        if let Some(known) = self.known.borrow().get(&key) {
            return *known;
        }
        let is_clear = look();
        self.known.borrow_mut().insert(key, is_clear);
        is_clear
    }

    /// Whether a tube on a way misses a component. The straights that slide in its ports are left out.
    fn tube_misses(&self, tube: &Tube, way: &Way, body: usize, place: Place) -> bool {
        let Some(other) = self.parts.bodies.get(body) else { return true };
        let shift = self.shift(body, place);
        let mut before = Motion::STILL;
        way.legs.iter().all(|(leg, slides)| {
            let is_own = |end: usize| tube.ends[end].as_ref().is_some_and(|held| held.component == body);
            let stretches = tube.without([slides[0] && is_own(0), slides[1] && is_own(1)]);
            let start = before;
            before = leg.after(before, 1.0);
            is_clear(start, &[*leg], &mut |motion, most| {
                let motion = motion.seen_from(shift);
                self.count(other.weight);
                let mut near = Near::within(most).or_about(-SLIGHT_MM - TOUCH_MM).to(FINE_MM, PART_OF_WAY);
                for stretch in &stretches {
                    let moved = stretch.moved(&motion);
                    other.solids.iter().for_each(|solid| lower(&mut near, &moved, solid));
                }
                near.distance
            })
        })
    }

    /// Distance of a moved tube from another, mm.
    fn between(&self, tube: &[Stretch], motion: &Motion, other: &[Stretch], most: f64) -> f64 {
        self.count(1);
        let mut near = Near::within(most).or_about(-SLIGHT_MM - TOUCH_MM).to(FINE_MM, PART_OF_WAY);
        for stretch in tube {
            let moved = stretch.moved(motion);
            for other in other {
                if box_distance(&moved.aabb(), &other.aabb()) < near.distance {
                    lower_by_tube(&mut near, &moved, other);
                }
            }
        }
        near.distance
    }

    fn count(&self, weight: usize) {
        self.measured.set(self.measured.get() + weight);
    }

    /// How far a component is from its place.
    fn shift(&self, body: usize, place: Place) -> Vector3 {
        let back = |number: usize| self.parts.bodies.get(body)?.backs.get(number).map(|(way, by)| *way * *by);
        match place {
            Place::Back(number) => back(number),
            Place::Home | Place::Out => None,
        }
        .unwrap_or(Vector3::new(0.0, 0.0, 0.0))
    }

    /// The moves of a component that is in its place: where it then is, what that costs, and the step.
    fn moves(&self, index: usize, places: &[Place], fitted: &BTreeSet<usize>) -> Vec<(Place, Cost, Apart)> {
        let Some(body) = self.parts.bodies.get(index) else { return Vec::new() };
        if body.fixed || places.get(index) != Some(&Place::Home) {
            return Vec::new();
        }
        let mut moves = Vec::new();
        for (number, &(way, travel)) in body.backs.iter().enumerate() {
            if self.is_moved(index, (number, way, travel), places, fitted) {
                let step = Apart::Away { body: index, way, travel: Some(travel) };
                moves.push((Place::Back(number), Cost { moves: SET_BACK, bulk: body.bulk }, step));
            }
        }
        let axes = [Vector3::unit_x(), Vector3::unit_y(), Vector3::unit_z()];
        let ways = body.backs.iter().map(|(way, _)| *way);
        let ways: Vec<Vector3> = ways.chain(axes.into_iter().flat_map(|axis| [axis, -axis])).collect();
        // From an axis on it counts as a way of its own.
        let out = ways
            .into_iter()
            .enumerate()
            .find(|&(number, way)| self.is_moved(index, (OUT + number, way, self.parts.far), places, fitted));
        if let Some((_, way)) = out {
            let cost = Cost { moves: TAKE_OUT, bulk: body.bulk };
            moves.push((Place::Out, cost, Apart::Away { body: index, way, travel: None }));
        }
        moves
    }

    /// Whether a component can be moved from its place with these tubes fitted.
    fn is_moved(
        &self,
        index: usize,
        (number, way, travel): (usize, Vector3, f64),
        places: &[Place],
        fitted: &BTreeSet<usize>,
    ) -> bool {
        let Some(body) = self.parts.bodies.get(index) else { return false };
        let mover = Mover::Body(index, number, number >= OUT);
        let legs = [Leg::Shift(way * travel)];
        let misses_tubes = fitted.iter().all(|&other| {
            self.looked_up(&mover, Other::Tube(other), || {
                let Some(tube) = self.parts.tubes.get(other) else { return true };
                let own = |end: usize| {
                    tube.ends[end].as_ref().filter(|end| end.component == index && end.hold > 0.0)
                };
                let held = [own(0), own(1)];
                // The tube is drawn out by as much, or goes deeper.
                let slides = |end: &Held| end.lets_go(-way, end.hold) || end.goes_deeper(-way, travel);
                if held.into_iter().flatten().any(|end| !slides(end)) {
                    return false;
                }
                let stretches = tube.without(held.map(|end| end.is_some()));
                is_clear(Motion::STILL, &legs, &mut |motion, most| {
                    // It is the component that moves.
                    let back = Motion::STILL.seen_from(motion.shift_of());
                    self.count(body.weight);
                    let mut near =
                        Near::within(most).or_about(-SLIGHT_MM - TOUCH_MM).to(FINE_MM, PART_OF_WAY);
                    for stretch in &stretches {
                        let moved = stretch.moved(&back);
                        body.solids.iter().for_each(|solid| lower(&mut near, &moved, solid));
                    }
                    near.distance
                })
            })
        });
        misses_tubes
            && (0..self.parts.bodies.len()).filter(|other| *other != index).all(|other| {
                let at = places.get(other).copied().unwrap_or(Place::Out);
                let is_clear = at == Place::Out
                    || self.looked_up(&mover, Other::Body(other, at), || {
                        self.bodies_miss(index, &legs, other, self.shift(other, at))
                    });
                if !is_clear {
                    self.concerned.borrow_mut().insert(other);
                }
                is_clear
            })
    }

    fn bodies_miss(&self, index: usize, legs: &[Leg], other: usize, shift: Vector3) -> bool {
        let (Some(body), Some(other)) = (self.parts.bodies.get(index), self.parts.bodies.get(other)) else {
            return true;
        };
        is_clear(Motion::STILL, legs, &mut |motion, most| {
            self.count(body.weight * other.weight);
            let shift = motion.seen_from(shift).shift_of();
            let pairs = body.solids.iter().flat_map(|one| other.solids.iter().map(move |two| (one, two)));
            pairs.map(|(one, two)| one.apart(shift, two, most)).fold(most, f64::min)
        })
    }
}

/// Lowers `near` to the distance of a stretch from a solid, where their boxes come so near.
fn lower(near: &mut Near, stretch: &Stretch, solid: &Solid) {
    if box_distance(&stretch.aabb(), &solid.aabb()) < near.distance {
        lower_by_solid(near, stretch, solid);
    }
}

/// What it costs to set a component back, and to leave it out.
const SET_BACK: usize = 10;
const TAKE_OUT: usize = 16;

/// Numbers of ways out begin here.
const OUT: usize = 1000;

/// Moves of components, the tubes that then come out, and the same moves back.
fn there_and_back(moves: &[Apart], out: &[Apart]) -> Vec<Apart> {
    let back = moves.iter().rev().filter_map(|step| match step {
        Apart::Away { body, way, travel } => Some(Apart::Home { body: *body, way: *way, travel: *travel }),
        _ => None,
    });
    moves.iter().cloned().chain(out.iter().cloned()).chain(back).collect()
}
