//! The search for the best ways.

use std::cmp::{Ordering, Reverse};
use std::collections::{BTreeMap, BinaryHeap};
use std::rc::Rc;

use super::barrier::{clear_of, clear_of_each_other};
use super::directions::{Angles, Sequence, USUAL, directions, is_same, sequences};
use super::merit::{Merit, Rank};
use super::problem::Problem;
use super::programme::{Legs, Row};
use super::shape::{Piece, Shape};
use crate::centreline::{Centreline, from_corners};
use crate::fit::{Breach, Obstacle, Surroundings};
use crate::geometry::{MetricSpace, Point3, Vector3};
use crate::spec::model::Criterion;
use crate::tolerance::CLEARANCE_MM;

/// Most sequences of directions of one number of bends.
const MOST_SEQUENCES: usize = 50_000;

/// Part of the effort that is kept to find some way where none is proven yet.
const KEPT: f64 = 0.2;

/// A leg that goes straight on is followed so many times as far as the ends are apart.
const FURTHEST: f64 = 4.0;

/// Halvings of that length: to a hundredth of a millimetre in ten metres.
const HALVINGS: usize = 20;

/// Corners are written to a thousandth of a millimetre, or to 1e-4 in: legs have so much more room for that, mm.
const ROUNDING_MM: f64 = 0.005;

/// Straight to spare beyond which more is of no use, in outside diameters of the tube (common practice, no source).
const SPARE_DIAMETERS: f64 = 4.0;

/// A way from end to end.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    /// Its corners.
    pub corners: Vec<Point3>,
    /// Its centreline.
    pub line: Centreline,
    /// Planes that its bends lie in, one after the other.
    pub planes: usize,
    /// Bends at other angles than 45° and 90°.
    pub unusual: usize,
    rank: Rank,
}

impl Way {
    /// How much worse it is than another one, number by number of their rank.
    pub(super) fn loss_to(&self, other: &Way) -> Rank {
        let mut loss = self.rank;
        loss.iter_mut().zip(other.rank).for_each(|(mine, other)| *mine -= other);
        loss
    }

    /// Whether it is better than another one.
    pub(super) fn is_better_than(&self, other: &Way) -> bool {
        self.rank < other.rank
    }
}

/// How sure it is that the first way is the best.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Proof {
    /// Along these directions there is none better; or none at all.
    Proven,
    /// The effort was spent first. A better way than the first has at least so many bends, and a tube at least so
    /// long, mm.
    Open {
        /// Bends.
        bends: usize,
        /// Length, mm.
        length: f64,
    },
}

/// The outcome of a search.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// The best ways, each different from those before; empty where none was found.
    pub ways: Vec<Way>,
    /// How sure that is.
    pub proof: Proof,
    /// How often each obstacle was in the way.
    pub in_the_way: BTreeMap<Obstacle, usize>,
    /// Linear programmes solved.
    pub effort: usize,
}

/// The wishes of a search.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// Ways to find.
    pub ways: usize,
    /// Linear programmes to solve at most: the same on every machine.
    pub effort: usize,
    /// The order of merit; criteria that are left out come last.
    pub order: &'a [Criterion],
    /// Directions of the lines near by.
    pub kin: &'a [Vector3],
}

/// Finds the best ways among the surroundings. Where the spec does not say which angles it allows, others than 45° and
/// 90° are tried only if these are proven to reach nothing.
pub fn search(problem: &Problem<'_>, surroundings: &Surroundings<'_>, asked: &Asked<'_>) -> Answer {
    if !problem.wishes.angles.is_empty() {
        return search_angles(problem, surroundings, asked);
    }
    let mut usual = problem.clone();
    usual.wishes.angles = USUAL.to_vec();
    let answer = search_angles(&usual, surroundings, asked);
    if !answer.ways.is_empty() || answer.proof != Proof::Proven {
        return answer;
    }
    search_angles(problem, surroundings, asked)
}

fn search_angles(problem: &Problem<'_>, surroundings: &Surroundings<'_>, asked: &Asked<'_>) -> Answer {
    let mut search = Search {
        problem,
        surroundings,
        asked,
        own: surroundings.own(problem.run),
        straight_on: [None; 2],
        open: BinaryHeap::new(),
        serial: 0,
        answer: Answer { ways: Vec::new(), proof: Proof::Proven, in_the_way: BTreeMap::new(), effort: 0 },
    };
    search.run();
    search.answer
}

/// A sequence with its programme.
struct Candidate {
    shape: Shape,
    legs: Legs,
    strange: usize,
}

/// Demands, each with those before it.
struct Demand {
    rows: Vec<Row>,
    before: Option<Rc<Demand>>,
}

/// A part of the search: a sequence, and the demands that its lengths meet.
struct Node {
    rank: Rank,
    serial: usize,
    candidate: Rc<Candidate>,
    demands: Option<Rc<Demand>>,
    lengths: Vec<f64>,
}

impl Node {
    fn key(&self) -> (Rank, usize) {
        (self.rank, self.serial)
    }

    fn rows(&self) -> Vec<&Row> {
        rows(self.demands.as_ref())
    }
}

fn rows(demands: Option<&Rc<Demand>>) -> Vec<&Row> {
    let mut all = Vec::new();
    let mut at = demands;
    // Every demand is before the next one, so the chain ends.
    while let Some(demand) = at {
        all.extend(&demand.rows);
        at = demand.before.as_ref();
    }
    all
}

impl PartialEq for Node {
    fn eq(&self, other: &Self) -> bool {
        self.key() == other.key()
    }
}

impl Eq for Node {}

impl PartialOrd for Node {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Node {
    fn cmp(&self, other: &Self) -> Ordering {
        self.key().cmp(&other.key())
    }
}

struct Search<'a> {
    problem: &'a Problem<'a>,
    surroundings: &'a Surroundings<'a>,
    asked: &'a Asked<'a>,
    own: Vec<(usize, [bool; 2])>,
    /// How far the tube can go straight on from each end until something is in its way, mm.
    straight_on: [Option<f64>; 2],
    open: BinaryHeap<Reverse<Node>>,
    serial: usize,
    answer: Answer,
}

/// What is wrong with the best lengths of a node.
enum Fault {
    /// It comes too near to something.
    Breach(Breach),
    /// Two of its own pieces come too near to each other.
    Itself([Piece; 2]),
    /// Its legs leave no room for its bends.
    NoRoom,
}

impl Search<'_> {
    fn run(&mut self) {
        let ends = &self.problem.ends;
        let wishes = &self.problem.wishes;
        let ways = [ends[0].way, ends[1].way.map(|way| -way)];
        let right = std::f64::consts::FRAC_PI_2;
        let with_diagonals = wishes.angles.iter().any(|angle| (angle - right).abs() > 1e-6);
        let all = directions(ways, with_diagonals || wishes.angles.is_empty());
        let [first, last] = ways.map(|way| way.map_or_else(|| all.clone(), |way| vec![way]));
        let angles = Angles { wished: wishes.angles.clone(), largest: self.problem.run.bender.max_angle };
        self.straight_on = [self.straight_on(0), self.straight_on(1)];
        let by_bends = self.asked.order.first().is_none_or(|first| *first == Criterion::Bends);
        for bends in 0..=wishes.max_bends {
            let found = sequences(&all, (&first, &last), &angles, bends, MOST_SEQUENCES);
            for sequence in found {
                self.begin(sequence);
            }
            // Fewer bends are better than anything else: a level is done before the next one begins.
            if by_bends && self.finish_level() {
                return;
            }
        }
        self.finish_level();
    }

    /// Takes nodes in their order until enough ways are found; whether the search is over.
    fn finish_level(&mut self) -> bool {
        let kept = (self.asked.effort as f64 * KEPT) as usize;
        // A node is taken off, and its children cost effort, of which there is an end.
        while let Some(Reverse(node)) = self.open.pop() {
            if self.answer.ways.len() >= self.asked.ways {
                return true;
            }
            if self.answer.effort + kept >= self.asked.effort {
                self.give_up(node);
                return true;
            }
            self.take(&node);
        }
        self.answer.ways.len() >= self.asked.ways
    }

    fn begin(&mut self, sequence: Sequence) {
        let bends = sequence.angles.len();
        let kin = self.asked.kin;
        let strange = if kin.is_empty() {
            0
        } else {
            let is_kin =
                |leg: &Vector3| kin.iter().any(|known| is_same(*known, *leg) || is_same(-*known, *leg));
            sequence.legs.iter().filter(|leg| !is_kin(leg)).count()
        };
        let shape = Shape::new(sequence, self.problem.ends[0].at, self.problem.radius);
        for ends in self.problem.end_straights(bends) {
            // What just fits has no room for rounding, and its corners lie where the ports say.
            for more in [ROUNDING_MM, 0.0] {
                if self.begin_with(&shape, ends, more, strange) {
                    break;
                }
            }
        }
    }

    /// Begins with straights that are longer than needed by `more` mm; whether there are such lengths.
    fn begin_with(&mut self, shape: &Shape, [first, last]: [f64; 2], more: f64, strange: usize) -> bool {
        let mut straights = vec![self.problem.between(); shape.bends() + 1];
        if let Some(straight) = straights.last_mut() {
            *straight = last;
        }
        if let Some(straight) = straights.first_mut() {
            *straight = first;
        }
        straights.iter_mut().for_each(|straight| *straight += more);
        let Some(mut legs) = Legs::new(shape, self.problem.ends[1].at, &straights) else { return false };
        self.cap(shape, &mut legs);
        let node = self.solved(&Rc::new(Candidate { shape: shape.clone(), legs, strange }), None);
        let is_possible = node.is_some();
        self.open.extend(node.map(Reverse));
        is_possible
    }

    /// How far the tube can go straight on from an end: its first leg lies on one line, whatever follows.
    fn straight_on(&mut self, end: usize) -> Option<f64> {
        let leave = self.problem.ends.get(end)?;
        let way = leave.way?;
        let own: Vec<(usize, [bool; 2])> = self
            .own
            .iter()
            .map(|(component, ends)| (*component, [end == 0 && ends[0], end == 1 && ends[1]]))
            .filter(|(_, ends)| *ends != [false; 2])
            .collect();
        let [first, last] = &self.problem.ends;
        let furthest = FURTHEST * (first.at.distance(last.at) + self.problem.radius);
        let clearance = self.problem.wishes.clearance;
        let (at, run) = (leave.at, self.problem.run);
        let breach = |length: f64| {
            let tip = at + way * length;
            let (from, to) = if end == 0 { (at, tip) } else { (tip, at) };
            let line = from_corners(from, &[], to).ok()?;
            self.surroundings.breaches(run, &line, &own, clearance).first().map(|breach| breach.obstacle)
        };
        let obstacle = breach(furthest)?;
        let (mut clear, mut blocked) = (0.0, furthest);
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(clear, blocked);
            if breach(middle).is_some() { blocked = middle } else { clear = middle }
        }
        *self.answer.in_the_way.entry(obstacle).or_default() += 1;
        Some(blocked)
    }

    /// Keeps the first and the last leg from going on into something.
    fn cap(&self, shape: &Shape, legs: &mut Legs) {
        if shape.bends() == 0 {
            return;
        }
        for (end, leg, bend) in [(0, 0, 1), (1, shape.bends(), shape.bends())] {
            if let Some(most) = self.straight_on[end] {
                legs.cap(leg, most + shape.setback_at(bend));
            }
        }
    }

    /// The node of a sequence with these demands, where its programme has a solution.
    fn solved(&mut self, candidate: &Rc<Candidate>, demands: Option<Rc<Demand>>) -> Option<Node> {
        self.answer.effort += 1;
        let lengths = candidate.legs.shortest(&rows(demands.as_ref()))?;
        self.serial += 1;
        let rank = self.merit(candidate, &lengths).rank(self.asked.order);
        Some(Node { rank, serial: self.serial, candidate: Rc::clone(candidate), demands, lengths })
    }

    fn merit(&self, candidate: &Candidate, lengths: &[f64]) -> Merit {
        let sequence = &candidate.shape.sequence;
        Merit {
            bends: sequence.angles.len(),
            planes: sequence.planes,
            unusual: sequence.unusual,
            length: lengths.iter().sum::<f64>() - candidate.shape.saved(),
            strange: candidate.strange,
        }
    }

    /// Keeps the way of a node that is clear of everything, or branches on what is in its way.
    fn take(&mut self, node: &Node) {
        match self.fault(&node.candidate.shape, &node.lengths) {
            None => self.keep(node),
            Some(fault) => {
                for child in self.children(node, &fault) {
                    self.open.push(Reverse(child));
                }
            }
        }
    }

    fn children(&mut self, node: &Node, fault: &Fault) -> Vec<Node> {
        let shape = &node.candidate.shape;
        let radius = self.problem.run.tube.outer_radius();
        let clearance = self.problem.wishes.clearance;
        let branches = match fault {
            Fault::NoRoom => return Vec::new(),
            Fault::Breach(breach) => {
                *self.answer.in_the_way.entry(breach.obstacle).or_default() += 1;
                let middle = f64::midpoint(breach.stations[0], breach.stations[1]);
                let mut piece = shape.piece_at(&node.lengths, middle);
                if breach.own {
                    self.leave_out_port(shape, &mut piece);
                }
                clear_of(shape, &piece, &breach.hull, radius + clearance)
            }
            Fault::Itself([first, second]) => {
                clear_of_each_other(shape, [first, second], 2.0 * radius + clearance)
            }
        };
        branches
            .into_iter()
            .filter_map(|rows| {
                let demand = Rc::new(Demand { rows, before: node.demands.clone() });
                self.solved(&node.candidate, Some(demand))
            })
            .collect()
    }

    /// The tube in a port and its fitting cannot keep clear of the port's own component.
    fn leave_out_port(&self, shape: &Shape, piece: &mut Piece) {
        let od = self.problem.run.tube.od();
        let beyond = |end: usize| {
            let end = &self.problem.ends[end];
            end.insert + end.outside + od
        };
        let last = shape.bends();
        if let (Some(leg), Some(way)) = (piece.leg, piece.ways.first().copied()) {
            if leg == 0
                && let Some(place) = piece.places.first_mut()
            {
                place.off = way * beyond(0);
            }
            if leg == last
                && let Some(place) = piece.places.last_mut()
            {
                place.off = way * -beyond(1);
            }
        }
    }

    /// The worst fault of a way, if it has any.
    fn fault(&self, shape: &Shape, lengths: &[f64]) -> Option<Fault> {
        let Some(line) = shape.centreline(lengths, self.problem.ends[1].at) else {
            return Some(Fault::NoRoom);
        };
        let problem = self.problem;
        let clearance = problem.wishes.clearance;
        let breaches = self.surroundings.breaches(problem.run, &line, &self.own, clearance);
        let worst = breaches
            .into_iter()
            .min_by(|a, b| a.distance.total_cmp(&b.distance).then(a.stations[0].total_cmp(&b.stations[0])));
        if let Some(breach) = worst {
            return Some(Fault::Breach(breach));
        }
        let od = problem.run.tube.od();
        let near = Surroundings::to_itself(&line, od)?;
        (near < clearance - CLEARANCE_MM)
            .then(|| nearest_pieces(shape, lengths).map_or(Fault::NoRoom, Fault::Itself))
    }

    /// Keeps a way, unless one like it is kept already.
    fn keep(&mut self, node: &Node) {
        let shape = &node.candidate.shape;
        let lengths = self.roomier(node);
        let Some(line) = shape.centreline(&lengths, self.problem.ends[1].at) else { return };
        let corners = shape.corners(&lengths);
        let alike = self.problem.run.tube.od().max(self.problem.radius / 2.0);
        let is_known = self.answer.ways.iter().any(|way| {
            way.corners.len() == corners.len()
                && way.corners.iter().zip(&corners).all(|(a, b)| a.distance(*b) < alike)
        });
        if !is_known {
            let Sequence { planes, unusual, .. } = shape.sequence;
            self.answer.ways.push(Way { corners, line, planes, unusual, rank: node.rank });
        }
    }

    /// Lengths that are together no longer, with more straight to spare where there is room.
    fn roomier(&self, node: &Node) -> Vec<f64> {
        let Candidate { shape, legs, .. } = &*node.candidate;
        let most = node.lengths.iter().sum::<f64>() + 1e-7;
        let enough = SPARE_DIAMETERS * self.problem.run.tube.od();
        let Some(roomy) = legs.roomiest(&node.rows(), most, enough) else { return node.lengths.clone() };
        for share in [1.0, 0.5, 0.25] {
            let between: Vec<f64> =
                node.lengths.iter().zip(&roomy).map(|(a, b)| a + (b - a) * share).collect();
            if self.fault(shape, &between).is_none() {
                return between;
            }
        }
        node.lengths.clone()
    }

    /// Looks for any way with the effort that is left, and says what is not excluded.
    fn give_up(&mut self, node: Node) {
        let merit = self.merit(&node.candidate, &node.lengths);
        let Answer { ways, .. } = &self.answer;
        if ways.is_empty() {
            self.answer.proof = Proof::Open { bends: merit.bends, length: merit.length };
        }
        let mut stack = vec![node];
        let mut others =
            std::mem::take(&mut self.open).into_sorted_vec().into_iter().rev().map(|node| node.0);
        // Every node taken costs effort, of which there is an end.
        while self.answer.ways.is_empty() && self.answer.effort < self.asked.effort {
            let Some(node) = stack.pop().or_else(|| others.next()) else { return };
            match self.fault(&node.candidate.shape, &node.lengths) {
                None => self.keep(&node),
                Some(fault) => {
                    let mut children = self.children(&node, &fault);
                    // A node without any costs effort, too.
                    self.answer.effort += 1;
                    children.sort_by_key(|child| Reverse(child.key()));
                    stack.extend(children);
                }
            }
        }
    }
}

/// The two pieces of a way, not next to each other, that come nearest to each other.
fn nearest_pieces(shape: &Shape, lengths: &[f64]) -> Option<[Piece; 2]> {
    let pieces = shape.pieces();
    let points: Vec<Vec<Point3>> = pieces
        .iter()
        .map(|piece| piece.places.iter().map(|place| shape.at(place, lengths)).collect())
        .collect();
    let mut best: Option<(f64, usize, usize)> = None;
    for first in 0..pieces.len() {
        // Straight, half, half, straight: what comes after the next straight.
        for second in first + 4..pieces.len() {
            let (Some(a), Some(b)) = (points.get(first), points.get(second)) else { continue };
            let apart = between(a, b);
            if best.is_none_or(|(least, ..)| apart < least) {
                best = Some((apart, first, second));
            }
        }
    }
    let (_, first, second) = best?;
    Some([pieces.get(first)?.clone(), pieces.get(second)?.clone()])
}

/// The distance between two chains of points, mm.
fn between(a: &[Point3], b: &[Point3]) -> f64 {
    let mut least = f64::MAX;
    for p in a.windows(2) {
        for q in b.windows(2) {
            if let (&[p0, p1], &[q0, q1]) = (p, q) {
                least = least.min(segments_apart((p0, p1), (q0, q1)));
            }
        }
    }
    least
}

/// The distance between two straight lines with ends, mm.
fn segments_apart(first: (Point3, Point3), second: (Point3, Point3)) -> f64 {
    use parry3d_f64::math::{Pose, Vector};
    use parry3d_f64::query::details::closest_points_segment_segment;
    use parry3d_f64::shape::Segment;
    let vector = |p: Point3| Vector::new(p.x, p.y, p.z);
    let segment = |(a, b): (Point3, Point3)| Segment::new(vector(a), vector(b));
    let (a, b) = (segment(first), segment(second));
    match closest_points_segment_segment(&Pose::IDENTITY, &a, &b, f64::MAX) {
        parry3d_f64::query::ClosestPoints::WithinMargin(a, b) => a.distance(b),
        _ => f64::MAX,
    }
}
