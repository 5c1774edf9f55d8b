//! The search for the best ways.

use std::cmp::{Ordering, Reverse};
use std::collections::BinaryHeap;
use std::rc::Rc;

use super::answer::{Answer, Asked, Proof, Way};
use super::barrier::{clear_of, clear_of_each_other};
use super::directions::Sequence;
use super::free::free_ways;
use super::merit::{Merit, Rank};
use super::probe::{Fault, Probe};
use super::problem::Problem;
use super::programme::{Legs, Row};
use super::roots::{Levels, Programme, Root, Roots, is_kin};
use super::shape::Shape;
use super::tighten::{Tight, tighten};
use crate::centreline::from_corners;
use crate::fit::{Breach, Surroundings};
use crate::geometry::MetricSpace;
use crate::spec::model::{Criterion, Directions};

/// Part of the effort that is kept to find some way where none is proven yet.
const KEPT: f64 = 0.2;

/// A leg that goes straight on is followed so many times as far as the ends are apart.
const FURTHEST: f64 = 4.0;

/// Halvings of that length: to a hundredth of a millimetre in ten metres.
const HALVINGS: usize = 20;

/// Fewest bends of a way along free directions: with one less, the ports leave no choice.
const LEAST_FREE: usize = 2;

/// Straight to spare beyond which more is of no use, in outside diameters of the tube (common practice, no source).
const SPARE_DIAMETERS: f64 = 4.0;

/// Finds the best ways among the surroundings. Where the spec does not say which angles it allows, others than 45° and
/// 90° are tried only if these are proven to reach nothing.
pub fn search(problem: &Problem<'_>, surroundings: &Surroundings<'_>, asked: &Asked<'_>) -> Answer {
    Roots::of(problem).search(surroundings, asked)
}

impl Roots<'_> {
    /// [`search`] with what is known of the run already.
    pub(super) fn search(&self, surroundings: &Surroundings<'_>, asked: &Asked<'_>) -> Answer {
        let answer = self.by_order(surroundings, asked);
        let is_open = matches!(answer.proof, Proof::Open { .. });
        if asked.order.is_empty() || !(answer.ways.is_empty() && is_open) {
            return answer;
        }
        // The usual order comes to some way sooner.
        let left = Asked { order: &[], below: None, ..*asked };
        let some = self.by_order(surroundings, &left);
        let ways =
            some.ways.into_iter().map(|way| way.by(asked.order)).filter(|way| asked.wants(way)).collect();
        Answer { ways, effort: answer.effort + some.effort, ..answer }
    }

    fn by_order(&self, surroundings: &Surroundings<'_>, asked: &Asked<'_>) -> Answer {
        let Some(alone) = &self.alone else { return self.search_with_room(surroundings, asked) };
        let unbounded = Asked { below: None, ..*asked };
        let mut answer = self.search_with_room(surroundings, &unbounded);
        let plain = alone.search(surroundings, &unbounded);
        // Room for the others is worth tube, but no bend and no plane.
        let worth = |answer: &Answer| answer.ways.first().map(|way| (way.corners.len(), way.planes));
        if worth(&answer).is_none_or(|worth_it| worth(&plain).is_some_and(|plain| plain < worth_it)) {
            answer = plain;
        }
        answer.ways.retain(|way| asked.wants(way));
        answer
    }

    fn search_with_room(&self, surroundings: &Surroundings<'_>, asked: &Asked<'_>) -> Answer {
        let mut answer = self.along_axes(surroundings, asked);
        if self.problem.wishes.directions == Directions::Any {
            let (free, effort) = free_ways(&self.problem, surroundings, asked);
            answer.effort += effort;
            answer.ways.extend(free.into_iter().filter(|way| asked.wants(way)));
            answer.ways.sort_by_key(Way::rank);
            answer.ways.truncate(asked.ways);
            answer.proof = self.open_for_free(&answer);
        }
        answer
    }

    /// Of free ways none is proven: what is not excluded are two bends, and legs that lead straight.
    fn open_for_free(&self, answer: &Answer) -> Proof {
        let is_least = |way: &Way| way.corners.len() < LEAST_FREE;
        if answer.proof == Proof::Proven && answer.ways.first().is_some_and(is_least) {
            return Proof::Proven;
        }
        self.problem.open(LEAST_FREE)
    }

    /// Ways along the directions of axes and ends.
    fn along_axes(&self, surroundings: &Surroundings<'_>, asked: &Asked<'_>) -> Answer {
        if let Some(beside) = &self.beside {
            let answer = search_levels(self, beside, surroundings, asked);
            if !answer.ways.is_empty() {
                return answer;
            }
        }
        let Some(usual) = &self.usual else { return search_levels(self, &self.all, surroundings, asked) };
        let answer = search_levels(self, usual, surroundings, asked);
        if !answer.ways.is_empty() || answer.proof != Proof::Proven {
            return answer;
        }
        let left = Asked { effort: asked.effort.saturating_sub(answer.effort), ..*asked };
        let mut further = search_levels(self, &self.all, surroundings, &left);
        further.effort += answer.effort;
        further
    }
}

fn search_levels(
    roots: &Roots<'_>,
    levels: &Levels,
    surroundings: &Surroundings<'_>,
    asked: &Asked<'_>,
) -> Answer {
    let mut search = Search {
        problem: &roots.problem,
        probe: Probe::new(&roots.problem, surroundings),
        asked,
        last_resort: roots.usual.is_some() && std::ptr::eq(levels, &raw const roots.all),
        straight_on: [None; 2],
        open: BinaryHeap::new(),
        serial: 0,
        answer: Answer::nothing(),
    };
    search.run(levels);
    search.answer
}

/// Demands, each with those before it.
struct Demand {
    row: Row,
    /// What is left to other parts of the search.
    cuts: Vec<Row>,
    before: Option<Rc<Demand>>,
}

/// A part of the search: a sequence, and the demands that its lengths meet.
struct Node<'a> {
    rank: Rank,
    serial: usize,
    root: &'a Root,
    /// Legs that differ from all lines near by.
    strange: usize,
    /// None before the sequence is taken up: its rank is that of the shortest that might be.
    solved: Option<Solved<'a>>,
}

/// The shortest lengths of a node.
struct Solved<'a> {
    programme: &'a Programme,
    demands: Option<Rc<Demand>>,
    lengths: Vec<f64>,
}

impl Solved<'_> {
    /// The demands of its branch, without what is left to other parts.
    fn demands(&self) -> Vec<&Row> {
        chain(self.demands.as_ref()).map(|demand| &demand.row).collect()
    }
}

impl Node<'_> {
    fn key(&self) -> (Rank, usize) {
        (self.rank, self.serial)
    }
}

/// A demand and those before it.
fn chain(last: Option<&Rc<Demand>>) -> impl Iterator<Item = &Demand> {
    // Every demand is before the next one, so the chain ends.
    std::iter::successors(last, |demand| demand.before.as_ref()).map(AsRef::as_ref)
}

impl PartialEq for Node<'_> {
    fn eq(&self, other: &Self) -> bool {
        self.key() == other.key()
    }
}

impl Eq for Node<'_> {}

impl PartialOrd for Node<'_> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Node<'_> {
    fn cmp(&self, other: &Self) -> Ordering {
        self.key().cmp(&other.key())
    }
}

struct Search<'a> {
    problem: &'a Problem<'a>,
    probe: Probe<'a>,
    asked: &'a Asked<'a>,
    /// Whether usual angles reached nothing.
    last_resort: bool,
    /// How far the tube can go straight on from each end until something is in its way, mm.
    straight_on: [Option<f64>; 2],
    open: BinaryHeap<Reverse<Node<'a>>>,
    serial: usize,
    answer: Answer,
}

impl<'a> Search<'a> {
    fn run(&mut self, levels: &'a Levels) {
        self.straight_on = [self.straight_on(0), self.straight_on(1)];
        let by_bends = self.asked.order.first().is_none_or(|first| *first == Criterion::Bends);
        let mut cut = None;
        for bends in 0..=levels.most() {
            let Some(level) = levels.level(self.problem, bends) else { continue };
            level.roots.iter().for_each(|root| self.begin(root));
            self.answer.effort += level.effort;
            cut = cut.or(level.is_cut.then_some(bends));
            // Fewer bends are better than anything else: a level is done before the next one begins.
            if by_bends && self.finish_level() {
                break;
            }
        }
        if !by_bends {
            self.finish_level();
        }
        self.open_for_cut(cut.filter(|bends| {
            !by_bends || self.answer.ways.first().is_none_or(|way| way.corners.len() >= *bends)
        }));
    }

    /// Says what is not excluded where there are more sequences of so many bends than were looked at.
    fn open_for_cut(&mut self, bends: Option<usize>) {
        if let (Some(bends), Proof::Proven) = (bends, self.answer.proof) {
            self.answer.proof = self.problem.open(bends);
        }
    }

    /// Takes nodes in their order until enough ways are found; whether the search is over.
    fn finish_level(&mut self) -> bool {
        let kept = (self.asked.effort as f64 * KEPT) as usize;
        // A node is taken off, and its children cost effort, of which there is an end.
        while let Some(Reverse(node)) = self.open.pop() {
            let is_no_better = self.asked.below.is_some_and(|below| node.rank >= below);
            if is_no_better || self.answer.ways.len() >= self.asked.ways {
                return true;
            }
            if self.answer.effort + kept >= self.asked.effort {
                self.give_up(node);
                return true;
            }
            match &node.solved {
                None => self.take_up(&node),
                Some(solved) => self.take(&node, solved),
            }
        }
        self.answer.ways.len() >= self.asked.ways
    }

    /// Lets a sequence wait for its turn.
    fn begin(&mut self, root: &'a Root) {
        let kin = self.asked.kin;
        let legs = &root.shape.sequence.legs;
        let strange = if kin.is_empty() { 0 } else { legs.iter().filter(|leg| !is_kin(**leg, kin)).count() };
        let rank = self.merit(root, strange, root.at_least).rank(self.asked.order);
        self.serial += 1;
        self.open.push(Reverse(Node { rank, serial: self.serial, root, strange, solved: None }));
    }

    /// Solves the programme of a sequence whose turn it is.
    fn take_up(&mut self, node: &Node<'a>) {
        let Node { root, strange, serial, .. } = *node;
        let (found, effort) = root.shortest(root.caps(self.straight_on));
        self.answer.effort += effort;
        let Some((programme, lengths)) = found else { return };
        let rank = self.rank((root, programme), strange, &lengths);
        let solved = Some(Solved { programme, demands: None, lengths });
        self.open.push(Reverse(Node { rank, serial, root, strange, solved }));
    }

    /// How far the tube can go straight on from an end: its first leg lies on one line, whatever follows.
    fn straight_on(&mut self, end: usize) -> Option<f64> {
        let leave = self.problem.ends.get(end)?;
        let way = leave.way?;
        let own: Vec<(usize, [bool; 2])> = self
            .probe
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
            self.probe
                .surroundings
                .breaches(run, &line, &own, clearance)
                .first()
                .map(|breach| breach.obstacle)
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

    /// A node of the same sequence with these demands, where its programme has a solution.
    fn with(&mut self, node: &Node<'a>, solved: &Solved<'a>, demands: Rc<Demand>) -> Option<Node<'a>> {
        let Node { root, strange, .. } = *node;
        let programme = solved.programme;
        let demands = Some(demands);
        let mut rows: Vec<&Row> = Vec::new();
        for row in chain(demands.as_ref()).flat_map(|demand| std::iter::once(&demand.row).chain(&demand.cuts))
        {
            if !rows.iter().any(|known| row.follows_from(known)) {
                rows.retain(|known| !known.follows_from(row));
                rows.push(row);
            }
        }
        if !programme.legs.may_meet(&rows) {
            return None;
        }
        self.answer.effort += 1;
        let lengths = programme.legs.shortest(&rows, root.caps(self.straight_on))?;
        self.serial += 1;
        let rank = self.rank((root, programme), strange, &lengths);
        let solved = Some(Solved { programme, demands, lengths });
        Some(Node { rank, serial: self.serial, root, strange, solved })
    }

    fn rank(&self, (root, solved): (&Root, &Programme), strange: usize, lengths: &[f64]) -> Rank {
        let length = solved.legs.cost(lengths) - root.shape.saved();
        self.merit(root, strange, length).rank(self.asked.order)
    }

    fn merit(&self, root: &Root, strange: usize, length: f64) -> Merit {
        let Sequence { angles, planes, unusual, .. } = &root.shape.sequence;
        let (bends, planes, unusual, last_resort) = (angles.len(), *planes, *unusual, self.last_resort);
        Merit { last_resort, bends, planes, unusual, length, strange }
    }

    /// Keeps the way of a node that is clear of everything, or branches on what is in its way.
    fn take(&mut self, node: &Node<'a>, solved: &Solved<'a>) {
        self.answer.effort += 1;
        match self.probe.fault(&node.root.shape, &solved.lengths) {
            None => self.keep(node, solved),
            Some(fault) => {
                for child in self.children(node, solved, &fault) {
                    self.open.push(Reverse(child));
                }
            }
        }
    }

    fn children(&mut self, node: &Node<'a>, solved: &Solved<'a>, fault: &Fault) -> Vec<Node<'a>> {
        let shape = &node.root.shape;
        let branches = match fault {
            Fault::NoRoom => return Vec::new(),
            Fault::Breach(breach) => {
                *self.answer.in_the_way.entry(breach.obstacle).or_default() += 1;
                self.demands(shape, &solved.lengths, breach)
            }
            Fault::Itself([first, second]) => {
                clear_of_each_other(shape, [first, second], self.probe.apart_from_itself())
            }
        };
        self.branch(node, solved, branches)
    }

    /// The demands that would each keep the worst piece of a stretch clear of what is in its way.
    fn demands(&self, shape: &Shape, lengths: &[f64], breach: &Breach) -> Vec<Row> {
        let apart = self.probe.apart();
        let spare = |rows: &Vec<Row>| rows.iter().map(|row| row.spare(lengths)).fold(f64::MIN, f64::max);
        let pieces = self.probe.pieces(shape, lengths, breach).into_iter();
        pieces
            .map(|piece| clear_of(shape, &piece, &breach.hull, apart))
            .min_by(|a, b| spare(a).total_cmp(&spare(b)))
            .unwrap_or_default()
    }

    /// The parts of a node in which one of these demands is met, and none of those before it.
    fn branch(&mut self, node: &Node<'a>, solved: &Solved<'a>, demands: Vec<Row>) -> Vec<Node<'a>> {
        let mut children: Vec<Node<'a>> = Vec::new();
        let mut cuts: Vec<Row> = Vec::new();
        for row in demands {
            let others = cuts.iter().filter(|cut| !cut.follows_from(&row)).cloned().collect();
            let missed = row.missed();
            let demand = Rc::new(Demand { row, cuts: others, before: solved.demands.clone() });
            if let Some(child) = self.with(node, solved, demand) {
                cuts.push(missed);
                children.push(child);
            }
        }
        children
    }

    /// Keeps a way, unless one like it is kept already.
    fn keep(&mut self, node: &Node<'_>, solved: &Solved<'_>) {
        let shape = &node.root.shape;
        let caps = node.root.caps(self.straight_on);
        let tight = self.tight(node, solved, caps);
        let lengths = self.roomier((shape, &solved.programme.legs), &tight, caps);
        let Some(line) = shape.centreline(&lengths, self.problem.ends[1].at) else { return };
        let corners = shape.corners(&lengths);
        let alike = self.problem.alike();
        if !self.answer.ways.iter().any(|way| way.is_like(&corners, alike)) {
            let length = solved.programme.legs.cost(&tight.lengths) - shape.saved();
            let merit = self.merit(node.root, node.strange, length);
            self.answer.ways.push(Way::new(corners, line, merit, self.asked.order));
        }
    }

    /// The lengths of a node that is clear of everything, past edges as closely as they go.
    fn tight(&mut self, node: &Node<'_>, solved: &Solved<'_>, caps: [f64; 2]) -> Tight {
        let rows: Vec<Row> = solved.demands().into_iter().cloned().collect();
        let found = Tight { lengths: solved.lengths.clone(), rows };
        // With nothing in the way there are none shorter.
        if found.rows.is_empty() {
            return found;
        }
        let way = (&node.root.shape, &solved.programme.legs);
        let tight = tighten(&self.probe, way, &found, caps, &mut self.answer.effort);
        let rank = |lengths: &[f64]| self.rank((node.root, solved.programme), node.strange, lengths);
        // Ways stay in their order: the first of three is the one that is found alone.
        let is_behind =
            |tight: &Tight| self.answer.ways.last().is_none_or(|last| last.rank() <= rank(&tight.lengths));
        tight.filter(is_behind).unwrap_or(found)
    }

    /// Lengths that are together no longer, with more straight to spare where there is room.
    fn roomier(&self, (shape, legs): (&Shape, &Legs), tight: &Tight, caps: [f64; 2]) -> Vec<f64> {
        let shortest = &tight.lengths;
        let most = shortest.iter().sum::<f64>() + 1e-7;
        let enough = SPARE_DIAMETERS * self.problem.run.tube.od();
        if legs.is_placed() {
            return shortest.clone();
        }
        let rows: Vec<&Row> = tight.rows.iter().collect();
        let Some(roomy) = legs.roomiest(&rows, caps, (most, enough)) else {
            return shortest.clone();
        };
        for share in [1.0, 0.5, 0.25] {
            let between: Vec<f64> = shortest.iter().zip(&roomy).map(|(a, b)| a + (b - a) * share).collect();
            if self.probe.fault(shape, &between).is_none() {
                return between;
            }
        }
        shortest.clone()
    }

    /// Looks for any way with the effort that is left, and says what is not excluded.
    fn give_up(&mut self, node: Node<'a>) {
        let length = match &node.solved {
            Some(solved) => solved.lengths.iter().sum::<f64>() - node.root.shape.saved(),
            None => node.root.at_least,
        };
        let Answer { ways, .. } = &self.answer;
        if ways.is_empty() {
            self.answer.proof = Proof::Open { bends: node.root.shape.bends(), length };
        }
        self.open.push(Reverse(node));
        let mut stack: Vec<Node<'a>> = Vec::new();
        // Every node taken costs effort, of which there is an end.
        while self.answer.ways.is_empty() && self.answer.effort < self.asked.effort {
            let next = stack.pop().or_else(|| self.open.pop().map(|node| node.0));
            let Some(node) = next else { return };
            self.answer.effort += 1;
            let Some(solved) = &node.solved else {
                self.take_up(&node);
                continue;
            };
            match self.probe.fault(&node.root.shape, &solved.lengths) {
                None => self.keep(&node, solved),
                Some(fault) => {
                    let mut children = self.children(&node, solved, &fault);
                    children.sort_by_key(|child| Reverse(child.key()));
                    stack.extend(children);
                }
            }
        }
    }
}
