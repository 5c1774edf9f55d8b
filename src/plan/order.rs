//! Which end to bend from: whether the bender can hold the tube for every bend, in the order from the
//! datum end and in the order from the other one.
//!
//! A bend needs its grip on the straight before it, back to the bend made just before or to the tube's
//! end with that end's allowance; and its lead-out on tube that is still straight, which is all the tube
//! behind it, because the bends there are not made yet.

use super::model::{Better, FromEnd, Operation, OrderFit, OrderPlan};
use crate::quantity::Unit;
use crate::spec::model::Run;
use crate::tolerance::NO_STRAIGHT_MM;

/// Two orders whose spare straights differ by no more than this, mm, are equally good. A pencil line
/// and a rule are no better.
const AS_MUCH_MM: f64 = 1.0;

/// The straight that a bender needs beside a bend.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Need {
    /// Straight to hold before it.
    Grip,
    /// Straight tube behind it.
    LeadOut,
}

/// The tube there is beside a bend, for one need of the bender.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Room {
    pub(super) bend: usize,
    pub(super) need: Need,
    /// Whether the bend is the first to be made, so that it is gripped at the tube's end.
    pub(super) first: bool,
    /// The straight there is, mm.
    pub(super) there: f64,
    /// The straight that the bender needs, mm.
    pub(super) needed: f64,
}

impl Room {
    /// The straight to spare, mm; negative where some is missing.
    pub(super) fn spare(&self) -> f64 {
        self.there - self.needed
    }

    fn lacks(&self) -> bool {
        self.spare() < -NO_STRAIGHT_MM
    }

    /// Both in words.
    pub(super) fn told(&self, unit: Unit) -> String {
        let (there, needed) = (unit.length_with(self.there, 1), unit.length(self.needed));
        match self.need {
            Need::Grip => format!("{there} of straight before it, and the bender grips {needed}"),
            Need::LeadOut => format!("{there} of tube behind it, and the bender needs {needed}"),
        }
    }
}

/// One order of bending.
#[derive(Debug)]
pub(super) struct Order {
    pub(super) from: FromEnd,
    rooms: Vec<Room>,
    /// The first bend made whose mark is not on the cut tube.
    mark_off: Option<usize>,
}

/// Both orders of a run, from the datum end and from the other one.
pub(super) fn orders(run: &Run, datum: &[Operation], other: &[Operation], cut_length: f64) -> [Order; 2] {
    [
        Order::new(FromEnd::Datum, run, (run.allowance_start, datum), cut_length),
        Order::new(FromEnd::Other, run, (run.allowance_end, other), cut_length),
    ]
}

impl Order {
    /// The order of `operations`, the first of them behind the tube's end with `allowance`.
    fn new(from: FromEnd, run: &Run, (allowance, operations): (f64, &[Operation]), cut_length: f64) -> Self {
        let mut order = Order { from, rooms: Vec::new(), mark_off: None };
        for made in operations {
            let first = order.rooms.is_empty();
            let before = made.feed.straight_before + if first { allowance } else { 0.0 };
            let behind = cut_length - made.arc.end();
            let room = |need, there, needed| Room { bend: made.bend, need, first, there, needed };
            order.rooms.push(room(Need::Grip, before, run.bender.grip));
            order.rooms.push(room(Need::LeadOut, behind, run.bender.lead_out));
            if off_tube(made, cut_length).is_some() {
                order.mark_off = order.mark_off.or(Some(made.bend));
            }
        }
        order
    }

    fn tightest(&self) -> Option<&Room> {
        self.rooms.iter().min_by(|a, b| a.spare().total_cmp(&b.spare()))
    }

    fn possible(&self) -> bool {
        !self.rooms.iter().any(Room::lacks)
    }

    /// Where the bender cannot be held. Where the lead-out is short behind several bends, only the last:
    /// it is shortest there, and what cures it cures the others.
    pub(super) fn lacking(&self) -> impl Iterator<Item = &Room> {
        let last = self.rooms.iter().rfind(|room| room.need == Need::LeadOut).map(|room| room.bend);
        self.rooms
            .iter()
            .filter(move |room| room.lacks() && (room.need == Need::Grip || Some(room.bend) == last))
    }

    fn missing(&self) -> f64 {
        self.lacking().map(Room::spare).sum()
    }

    fn fit(&self) -> OrderFit {
        let tightest = self.tightest();
        OrderFit {
            possible: self.possible(),
            spare: tightest.map(Room::spare),
            tightest_bend: tightest.map(|room| room.bend),
        }
    }

    /// Why this order is not possible, in words; `None` where it is.
    pub(super) fn fault(&self, unit: Unit) -> Option<String> {
        if let Some(room) = self.tightest().filter(|room| room.lacks()) {
            let lacking = unit.length_with(-room.spare(), 1);
            return Some(format!("bend {} lacks {lacking}: {}", room.bend, room.told(unit)));
        }
        self.mark_off.map(|bend| format!("the mark of bend {bend} does not fall on the tube"))
    }
}

/// How far a bend's mark lies in front of the end it is measured from (negative) or beyond the other
/// end of the cut tube (positive), mm; none where it is on the tube.
pub(super) fn off_tube(made: &Operation, cut_length: f64) -> Option<f64> {
    let mark = made.feed.mark;
    let behind = mark - cut_length;
    if mark < -NO_STRAIGHT_MM {
        Some(mark)
    } else if behind > NO_STRAIGHT_MM {
        Some(behind)
    } else {
        None
    }
}

/// Of two orders that both lack something, the one that lacks less at its worst, or else in all.
pub(super) fn nearest<'o>(datum: &'o Order, other: &'o Order) -> &'o Order {
    let worst = |order: &Order| order.tightest().map_or(0.0, Room::spare);
    let apart = worst(other) - worst(datum);
    let nearer =
        if apart.abs() > NO_STRAIGHT_MM { apart } else { other.missing() - datum.missing() - NO_STRAIGHT_MM };
    if nearer > 0.0 { other } else { datum }
}

/// Which of a run's two orders to bend it in.
pub(super) fn plan(run: &Run, [datum, other]: &[Order; 2]) -> OrderPlan {
    let (better, reason) = choose(run, datum, other);
    OrderPlan { better, reason, datum_end: datum.fit(), other_end: other.fit() }
}

fn choose(run: &Run, datum: &Order, other: &Order) -> (Better, String) {
    let only = |order: &Order, not: &Order, fault: &str| {
        (Better::From(order.from), format!("from the {} {fault}", not.from.name()))
    };
    // The plan and the pages speak of mm.
    match (datum.fault(Unit::Millimetre), other.fault(Unit::Millimetre)) {
        (None, None) => prefer(run, datum, other),
        (None, Some(fault)) => only(datum, other, &fault),
        (Some(fault), None) => only(other, datum, &fault),
        (Some(here), Some(there)) => match (datum.possible(), other.possible()) {
            // A mark beside the tube is cured by an allowance; a bend that cannot be held is worse.
            (true, false) => only(datum, other, &there),
            (false, true) => only(other, datum, &here),
            (true, true) => prefer(run, datum, other),
            (false, false) => {
                (Better::Neither, format!("from the datum end {here}; from the other end {there}"))
            }
        },
    }
}

/// Between two orders that the bender can make.
fn prefer(run: &Run, datum: &Order, other: &Order) -> (Better, String) {
    let (Some(here), Some(there)) = (datum.tightest(), other.tightest()) else {
        return (Better::Either, "there is nothing to bend".to_owned());
    };
    if run.bender.grip <= 0.0 && run.bender.lead_out <= 0.0 {
        return (Better::Either, "the bender is given no grip and no lead-out".to_owned());
    }
    let more = there.spare() - here.spare();
    if more.abs() <= AS_MUCH_MM + NO_STRAIGHT_MM {
        let least = here.spare().min(there.spare()).max(0.0);
        return (Better::Either, format!("from both ends {least:.1} mm are to spare at the tightest bend"));
    }
    let (from, best, order, second) =
        if more > 0.0 { (other.from, there, datum, here) } else { (datum.from, here, other, there) };
    let reason = format!(
        "it leaves {:.1} mm more to spare: {:.1} mm at its tightest, bend {}; from the {} {:.1} mm at bend {}",
        more.abs(),
        best.spare(),
        best.bend,
        order.from.name(),
        second.spare().max(0.0),
        second.bend
    );
    (Better::From(from), reason)
}

#[cfg(test)]
mod tests {
    use super::super::model::{Better, FromEnd, OrderPlan, RunPlan};
    use crate::centreline::LaidRun;
    use crate::fit::check;
    use crate::testing::{layout, run, table_run};

    /// Bends of 90° at 40 mm behind straights of 30 and 45 mm, with 60 mm at the end.
    fn laid(grip: f64, lead_out: f64) -> LaidRun {
        let mut laid = table_run("t", 40.0, &[(30.0, 0.0, 90.0), (45.0, 90.0, 90.0)], 60.0);
        laid.run.bender.grip = grip;
        laid.run.bender.lead_out = lead_out;
        laid
    }

    fn planned(laid: LaidRun) -> RunPlan {
        let layout = layout(vec![laid], vec![]);
        crate::plan::plan(&layout, &check(&layout).0).0.runs.remove(0)
    }

    fn order(laid: LaidRun) -> OrderPlan {
        planned(laid).order
    }

    fn fit(order: &OrderPlan) -> [(bool, Option<f64>, Option<usize>); 2] {
        [&order.datum_end, &order.other_end].map(|fit| {
            let spare = fit.spare.map(|mm| (mm * 1e6).round() / 1e6);
            (fit.possible, spare, fit.tightest_bend)
        })
    }

    #[test]
    fn the_only_end_that_can_be_held_is_the_better_one() {
        // From the datum end 30 mm for a grip of 40; from the other end 60 and 45, and 30 for a lead-out of 20.
        let found = order(laid(40.0, 20.0));
        assert_eq!(fit(&found), [(false, Some(-10.0), Some(1)), (true, Some(5.0), Some(1))]);
        assert_eq!(
            (found.better, found.reason.as_str()),
            (
                Better::From(FromEnd::Other),
                "from the datum end bend 1 lacks 10.0 mm: 30.0 mm of straight before it, and the bender grips 40 mm"
            )
        );
        let found = order(laid(20.0, 50.0));
        assert_eq!(fit(&found), [(true, Some(10.0), Some(1)), (false, Some(-20.0), Some(1))]);
        assert_eq!(
            (found.better, found.reason.as_str()),
            (
                Better::From(FromEnd::Datum),
                "from the other end bend 1 lacks 20.0 mm: 30.0 mm of tube behind it, and the bender needs 50 mm"
            )
        );
    }

    #[test]
    fn of_two_ends_the_one_with_more_to_spare_is_better() {
        let found = order(laid(25.0, 5.0));
        assert_eq!(fit(&found), [(true, Some(5.0), Some(1)), (true, Some(20.0), Some(1))]);
        assert_eq!(
            (found.better, found.reason.as_str()),
            (
                Better::From(FromEnd::Other),
                "it leaves 15.0 mm more to spare: 20.0 mm at its tightest, bend 1; from the datum end 5.0 mm at bend 1"
            )
        );
        // An allowance is tube to hold.
        let mut longer = laid(25.0, 5.0);
        longer.run.allowance_start = 14.0;
        let found = order(longer);
        assert_eq!(fit(&found), [(true, Some(19.0), Some(1)), (true, Some(20.0), Some(1))]);
        assert_eq!(found.better, Better::Either);
        assert_eq!(found.reason, "from both ends 19.0 mm are to spare at the tightest bend");
    }

    #[test]
    fn what_neither_end_can_hold_says_why_and_by_how_much() {
        let found = order(laid(40.0, 35.0));
        assert_eq!(fit(&found), [(false, Some(-10.0), Some(1)), (false, Some(-5.0), Some(1))]);
        assert_eq!(
            (found.better, found.reason.as_str()),
            (
                Better::Neither,
                "from the datum end bend 1 lacks 10.0 mm: 30.0 mm of straight before it, and the bender grips 40 mm; \
                 from the other end bend 1 lacks 5.0 mm: 30.0 mm of tube behind it, and the bender needs 35 mm"
            )
        );
    }

    #[test]
    fn without_bends_or_needs_either_end_will_do() {
        let straight = order(run("s", 40.0, &[[0.0; 3], [100.0, 0.0, 0.0]]));
        assert_eq!((straight.better, straight.reason.as_str()), (Better::Either, "there is nothing to bend"));
        assert_eq!(fit(&straight), [(true, None, None), (true, None, None)]);
        let free = order(laid(0.0, 0.0));
        assert_eq!(free.better, Better::Either);
        assert_eq!(free.reason, "the bender is given no grip and no lead-out");
    }

    #[test]
    fn an_end_whose_marks_are_on_the_tube_is_preferred() {
        // The mark of bend 1 lies 35 mm before its start, 30 mm behind the datum end. The other end has less
        // to spare.
        let mut marked = table_run("t", 40.0, &[(30.0, 0.0, 90.0)], 40.0);
        marked.run.bender.grip = 20.0;
        marked.run.bender.lead_out = 25.0;
        assert_eq!(fit(&order(marked.clone())), [(true, Some(10.0), Some(1)), (true, Some(5.0), Some(1))]);
        assert_eq!(order(marked.clone()).better, Better::From(FromEnd::Datum));
        marked.run.bender.datum = 35.0;
        let found = order(marked);
        assert_eq!(
            (found.better, found.reason.as_str()),
            (Better::From(FromEnd::Other), "from the datum end the mark of bend 1 does not fall on the tube")
        );
    }

    #[test]
    fn bends_behind_are_straight_tube_as_long_as_they_are_not_made() {
        // 10 mm between two bends do for a lead-out of 30 but not for a grip.
        let mut close = table_run("t", 40.0, &[(50.0, 0.0, 90.0), (10.0, 0.0, 90.0)], 40.0);
        close.run.bender.lead_out = 30.0;
        assert_eq!(fit(&order(close.clone()))[0], (true, Some(10.0), Some(2)));
        close.run.bender.grip = 12.0;
        assert_eq!(fit(&order(close)), [(false, Some(-2.0), Some(2)), (false, Some(-2.0), Some(1))]);
    }

    #[test]
    fn stretch_leaves_less_tube_only_where_tube_is_measured() {
        // The room is that of the straights, whatever the bends between them are made of.
        let mut stretched = laid(40.0, 20.0);
        let before = order(stretched.clone());
        stretched.formed = Some(crate::calibration::Formed {
            springback_fixed: 0.0,
            springback_rate: 0.0,
            clr: 40.0,
            stretch: 0.05,
        });
        assert_eq!(fit(&order(stretched)), fit(&before));
    }
}
