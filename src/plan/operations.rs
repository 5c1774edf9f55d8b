//! How a run's bends are made, from either end: the list of operations that every page and file is made from.
//!
//! All stations are on the tube before it is bent. A bend of arc R·a uses (1 − stretch)·R·a of it.

use super::anneal;
use super::model::{ArcOnTube, Clock, Feed, FromEnd, Operation, Pull, Turn, Zone};
use super::springback::Springback;
use crate::centreline::{Bend, LaidRun};

/// A bend this near to 90° has the length of its leg given, rad.
const SQUARE: f64 = crate::tolerance::SMALLEST_BEND;

/// How a bend is held, whichever end it is made from.
#[derive(Debug, Clone, Copy)]
pub(super) struct Held {
    /// Whether it is made soft first.
    pub(super) annealed: bool,
    /// Its springback.
    pub(super) springback: Springback,
}

/// The operations that bend a run from its datum end, and from the other one. `held` are its bends, datum end first.
pub(super) fn operations(laid: &LaidRun, held: &[Held], cut_length: f64) -> [Vec<Operation>; 2] {
    let (bends, straights) = (laid.centreline.bends(), laid.centreline.straights());
    let pulls = held.iter().map(|held| held.springback.pull);
    let rotations = bends.iter().map(|bend| bend.rotation);
    let mut datum = Walk::new(laid, FromEnd::Datum)
        .all(bends.iter().zip(straights.iter().copied()).zip(rotations).zip(pulls.clone()));
    for (made, held) in datum.iter_mut().zip(held) {
        made.anneal = held.annealed.then(|| anneal::zone(laid.run.tube.od(), &made.arc, cut_length));
    }
    // A rotation is a right-handed turn about the direction of travel, and a right-handed turn stays one
    // when the tube is looked along from the other end. The first bend from there has nothing to turn from.
    let rotations = std::iter::once(0.0).chain(bends.iter().skip(1).rev().map(|bend| bend.rotation));
    let mut other = Walk::new(laid, FromEnd::Other)
        .all(bends.iter().rev().zip(straights.iter().rev().copied()).zip(rotations).zip(pulls.rev()));
    for (made, twin) in other.iter_mut().zip(datum.iter().rev()) {
        made.anneal = twin.anneal.map(|zone| Zone { from: cut_length - zone.to, to: cut_length - zone.from });
    }
    [datum, other]
}

/// A walk along the straight tube, from the end that bending begins at.
struct Walk<'r> {
    laid: &'r LaidRun,
    /// Tube to trim away at that end, mm.
    allowance: f64,
    /// Where the bend made before ends; nothing before the first.
    last_end: Option<f64>,
    /// The radius of that bend, mm, where it is of 90°.
    last_square: Option<f64>,
    /// The turns after the first, added up, degrees.
    turned: f64,
}

impl<'r> Walk<'r> {
    fn new(laid: &'r LaidRun, from: FromEnd) -> Self {
        let run = &laid.run;
        let allowance = match from {
            FromEnd::Datum => run.allowance_start,
            FromEnd::Other => run.allowance_end,
        };
        Walk { laid, allowance, last_end: None, last_square: None, turned: 0.0 }
    }

    /// The operations of all bends: each with the straight before it, its rotation and how it is pulled.
    fn all<'b>(mut self, bends: impl Iterator<Item = (((&'b Bend, f64), f64), Pull)>) -> Vec<Operation> {
        bends.map(|(((bend, straight), rotation), pull)| self.next(bend, straight, rotation, pull)).collect()
    }

    fn next(&mut self, bend: &Bend, straight: f64, rotation: f64, pull: Pull) -> Operation {
        let length = tube_used(self.laid, bend);
        let arc = ArcOnTube { start: self.last_end.unwrap_or(self.allowance) + straight, length };
        let mark = arc.start + self.laid.run.bender.mark.behind_start(length) - self.laid.run.bender.datum;
        let waste = if self.last_end.is_none() { self.allowance } else { 0.0 };
        // The first bend may be made on any side: the clock starts at it.
        if self.last_end.is_some() {
            self.turned += rotation.to_degrees();
        }
        let feed =
            Feed { mark, from_last_end: mark - self.last_end.unwrap_or(0.0), straight_before: straight };
        self.last_end = Some(arc.end());
        let is_square = (bend.angle - std::f64::consts::FRAC_PI_2).abs() < SQUARE;
        let leg = is_square.then_some(waste + straight + bend.radius);
        let from_back = self.last_square.map(|radius| radius + self.laid.run.tube.od());
        self.last_square = is_square.then_some(bend.radius);
        Operation {
            bend: bend.number,
            feed,
            turn: Turn { rotation, inside: Clock::after(self.turned) },
            pull,
            arc,
            anneal: None,
            leg,
            back_to_back: leg.zip(from_back).map(|(leg, from_back)| leg + from_back),
        }
    }
}

/// Length of straight tube a bend is made of, mm. Bends with a radius of their own are not made on the
/// bender that the stretch was measured on.
pub(super) fn tube_used(laid: &LaidRun, bend: &Bend) -> f64 {
    let stretch = laid.formed_at(bend).map_or(0.0, |formed| formed.stretch);
    (1.0 - stretch) * bend.arc_length()
}

/// Length of straight tube the whole run is made of, allowances included, mm.
pub(super) fn cut_length(laid: &LaidRun) -> f64 {
    let used: f64 = laid.centreline.bends().iter().map(|bend| tube_used(laid, bend)).sum();
    let straights: f64 = laid.centreline.straights().iter().sum();
    straights + used + laid.run.allowance_start + laid.run.allowance_end
}

#[cfg(test)]
mod tests {
    use crate::fit::check;
    use crate::plan::{Clock, FromEnd, plan};
    use crate::spec::model::Anneal;
    use crate::testing::{layout, table_run};

    #[test]
    fn both_orders_have_the_same_bends_and_zones() {
        let mut laid = table_run("t", 40.0, &[(60.0, 0.0, 90.0), (80.0, 90.0, 45.0)], 70.0);
        laid.run.anneal = Anneal::Always;
        let layout = layout(vec![laid], vec![]);
        let (plan, _) = plan(&layout, &check(&layout).0);
        let run = &plan.runs[0];
        let numbers = |from| run.in_order(from).map(|(bend, _)| bend.number).collect::<Vec<_>>();
        assert_eq!((numbers(FromEnd::Datum), numbers(FromEnd::Other)), (vec![1, 2], vec![2, 1]));
        // 60 + 62.832 + 80 + 31.416 + 70 mm; 15 mm of tube on either side of a bend: bend 2 lies at 202.832 to
        // 234.248 from the datum end, 70 to 101.416 from the other.
        let zone = |from, index: usize| run.operations(from)[index].anneal.unwrap();
        for (zone, wanted) in [
            (zone(FromEnd::Datum, 1), (187.832, 249.248)),
            (zone(FromEnd::Other, 0), (55.0, 116.416)),
            (zone(FromEnd::Other, 1), (166.416, 259.248)),
        ] {
            assert!((zone.from - wanted.0).abs() < 1e-3 && (zone.to - wanted.1).abs() < 1e-3, "{zone:?}");
        }
        // Bends are pulled alike in both orders, and the clock starts at the bend that is made first.
        assert_eq!(run.from_datum_end[0].pull, run.from_other_end[1].pull);
        assert_eq!(run.from_other_end[0].turn.inside, Clock::after(0.0));
    }

    #[test]
    fn the_clock_adds_up_the_turns_behind_the_first_bend() {
        let rows = [(60.0, 30.0, 90.0), (80.0, -100.0, 45.0), (80.0, 90.0, 45.0), (80.0, 10.0, 45.0)];
        let layout = layout(vec![table_run("t", 40.0, &rows, 70.0)], vec![]);
        let (plan, _) = plan(&layout, &check(&layout).0);
        let run = &plan.runs[0];
        let read = |from| -> Vec<f64> {
            run.operations(from).iter().map(|made| (made.turn.inside.degrees() * 1e9).round() / 1e9).collect()
        };
        // -100 is 260; with 90 more it is 350, with 10 more a full turn, which is none.
        assert_eq!(read(FromEnd::Datum), [0.0, 260.0, 350.0, 0.0]);
        assert_eq!(read(FromEnd::Other), [0.0, 10.0, 100.0, 0.0]);
    }

    #[test]
    fn two_square_bends_are_measured_over_their_backs() {
        let rows = [(60.0, 0.0, 90.0), (80.0, 90.0, 90.0), (50.0, 0.0, 45.0), (50.0, 0.0, 90.0)];
        let layout = layout(vec![table_run("t", 40.0, &rows, 70.0)], vec![]);
        let (plan, _) = plan(&layout, &check(&layout).0);
        let over =
            |from| plan.runs[0].operations(from).iter().map(|made| made.back_to_back).collect::<Vec<_>>();
        // Corners 40 + 80 + 40 mm apart, and half of 15 mm on either side.
        assert_eq!(over(FromEnd::Datum), [None, Some(175.0), None, None]);
        assert_eq!(over(FromEnd::Other), [None, None, None, Some(175.0)]);
    }

    #[test]
    fn a_side_that_lies_clockwise_is_brought_up_anticlockwise() {
        let turn = |degrees: f64| {
            let rows = [(60.0, 0.0, 90.0), (80.0, degrees, 45.0)];
            let layout = layout(vec![table_run("t", 40.0, &rows, 70.0)], vec![]);
            let (plan, _) = plan(&layout, &check(&layout).0);
            plan.runs[0].from_datum_end[1].turn.of_tube().to_degrees()
        };
        assert!((turn(30.0) + 30.0).abs() < 1e-12 && (turn(-120.0) - 120.0).abs() < 1e-12);
        // Half a turn has one sign, whichever way it is written.
        assert_eq!(turn(180.0), 180.0);
    }
}
