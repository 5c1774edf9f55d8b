//! Which end to bend from: whether the bender can hold the tube for every bend, in the order from the
//! datum end and in the order from the other one.
//!
//! A bend needs its grip on the straight before it, back to the bend made just before or to the tube's
//! end with that end's allowance; and its lead-out on tube that is still straight, which is all the tube
//! behind it, because the bends there are not made yet. A part of a fitting that must be on the tube by then takes
//! its length from either.

use super::model::{Better, FromEnd, Operation, OrderFit, OrderPlan};
use crate::quantity::Unit;
use crate::spec::model::{BendFrom, End, Fitting, Run};
use crate::tolerance::NO_STRAIGHT_MM;

/// Straight to spare that is enough to begin at the datum end, mm, and how much more the other end must leave to be
/// worth the confusion of marks from there (common practice, no source).
const ENOUGH_MM: f64 = 10.0;

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
    /// The straight there is, mm; negative where a part on the tube is longer than it.
    pub(super) there: f64,
    /// Tube beside it that a fitting's part on the tube takes, mm.
    pub(super) taken: f64,
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
        let (there, needed) = (unit.length_with(self.there.max(0.0), 1), unit.length(self.needed));
        let beside = if self.taken > 0.0 {
            format!(" beside the part that goes on first ({})", unit.length(self.taken))
        } else {
            String::new()
        };
        match self.need {
            Need::Grip => format!("{there} of straight before it{beside}, and the bender grips {needed}"),
            Need::LeadOut => format!("{there} of tube behind it{beside}, and the bender needs {needed}"),
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
    [Order::new(FromEnd::Datum, run, datum, cut_length), Order::new(FromEnd::Other, run, other, cut_length)]
}

/// The tube that a part at this end takes while the bends are made, mm.
fn on_tube(end: Option<&End>) -> f64 {
    end.and_then(|end| end.fitting.as_ref()).map_or(0.0, Fitting::on_tube)
}

impl Order {
    fn new(from: FromEnd, run: &Run, operations: &[Operation], cut_length: f64) -> Self {
        let mut order = Order { from, rooms: Vec::new(), mark_off: None };
        let parts = [run.from.as_ref(), run.to.as_ref()].map(on_tube);
        let (allowance, [near, far]) = match from {
            FromEnd::Datum => (run.allowance_start, parts),
            FromEnd::Other => (run.allowance_end, [parts[1], parts[0]]),
        };
        for made in operations {
            let first = order.rooms.is_empty();
            let (at_end, near) = if first { (allowance, near) } else { (0.0, 0.0) };
            let before = made.feed.straight_before + at_end - near;
            let behind = cut_length - made.arc.end() - far;
            let room =
                |need, there: f64, taken, needed| Room { bend: made.bend, need, first, there, taken, needed };
            order.rooms.push(room(Need::Grip, before, near, run.bender.grip));
            order.rooms.push(room(Need::LeadOut, behind, far, run.bender.lead_out));
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

/// The order that the spec asks for, where it asks for one.
fn asked<'o>(run: &Run, [datum, other]: &'o [Order; 2]) -> Option<&'o Order> {
    match run.bend_from {
        BendFrom::Datum => Some(datum),
        BendFrom::Other => Some(other),
        BendFrom::Better => None,
    }
}

/// Which of a run's two orders to bend it in.
pub(super) fn plan(run: &Run, orders: &[Order; 2]) -> OrderPlan {
    let [datum, other] = orders;
    let (better, reason) = match asked(run, orders) {
        Some(asked) if !run_is_straight(datum) => as_asked(asked),
        _ => choose(run, datum, other),
    };
    let asked = asked(run, orders).map(|order| order.from);
    OrderPlan { better, asked, reason, datum_end: datum.fit(), other_end: other.fit() }
}

fn run_is_straight(order: &Order) -> bool {
    order.rooms.is_empty()
}

/// The end that `bend_from` names, whether or not the other would be better.
fn as_asked(asked: &Order) -> (Better, String) {
    let name = asked.from.name();
    if asked.possible() {
        return (Better::From(asked.from), format!("the spec asks for the {name}"));
    }
    let fault = asked.fault(Unit::Millimetre).unwrap_or_default();
    (Better::Neither, format!("the spec asks for the {name}, and from there {fault}"))
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

/// Between two orders that the bender can make: the datum end, where the marks of the spec and of the templates are
/// from, unless the other leaves much more to hold.
fn prefer(run: &Run, datum: &Order, other: &Order) -> (Better, String) {
    let (Some(here), Some(there)) = (datum.tightest(), other.tightest()) else {
        return (Better::Either, "there is nothing to bend".to_owned());
    };
    if run.bender.grip <= 0.0 && run.bender.lead_out <= 0.0 {
        return (Better::Either, "the bender is given no grip and no lead-out".to_owned());
    }
    let more = there.spare() - here.spare();
    if here.spare() >= ENOUGH_MM - NO_STRAIGHT_MM || more < ENOUGH_MM - NO_STRAIGHT_MM {
        let reason = format!(
            "{:.1} mm are to spare at its tightest, bend {}; from the other end {:.1} mm at bend {}",
            here.spare().max(0.0),
            here.bend,
            there.spare().max(0.0),
            there.bend
        );
        return (Better::From(datum.from), reason);
    }
    let reason = format!(
        "it leaves {:.1} mm more to spare: {:.1} mm at its tightest, bend {}; from the datum end {:.1} mm at bend {}",
        more,
        there.spare(),
        there.bend,
        here.spare().max(0.0),
        here.bend
    );
    (Better::From(other.from), reason)
}

#[cfg(test)]
mod tests {
    use super::super::model::{Better, FromEnd, OrderPlan, RunPlan};
    use crate::centreline::LaidRun;
    use crate::fit::check;
    use crate::spec::model::{BendFrom, EndForm, Fitting, FittingBody};
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
    fn the_other_end_must_be_worth_it() {
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
        assert_eq!(found.better, Better::From(FromEnd::Datum));
        assert_eq!(
            found.reason,
            "19.0 mm are to spare at its tightest, bend 1; from the other end 20.0 mm at bend 1"
        );
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
    fn the_datum_end_is_left_for_ten_millimetres_more() {
        // 30 mm in front, 60 behind: from the datum end 9 to spare, from the other end 60 - 21, but bend 2 stands
        // 45 before bend 1.
        let better = |grip: f64| order(laid(grip, 0.0)).better;
        assert_eq!(better(20.0), Better::From(FromEnd::Datum), "10 mm to spare are enough");
        assert_eq!(better(20.1), Better::From(FromEnd::Other), "9.9 mm, and 15 mm more from the other end");
        // 9.9 mm to spare from the datum end; behind bend 1, 34.9 mm less the lead-out from the other.
        let nearly = |lead_out| {
            let mut laid = laid(25.0, lead_out);
            laid.run.allowance_start = 4.9;
            order(laid).better
        };
        assert_eq!(nearly(15.2), Better::From(FromEnd::Datum), "9.8 mm more are not worth it");
        assert_eq!(nearly(15.0), Better::From(FromEnd::Other));
    }

    #[test]
    fn the_end_that_is_asked_for_is_used_whatever_it_leaves() {
        let ask = |from, grip| {
            let mut laid = laid(grip, 0.0);
            laid.run.bend_from = from;
            let run = planned(laid);
            (run.order.better, run.begins_at(), run.order.reason)
        };
        let (better, from, reason) = ask(BendFrom::Datum, 25.0);
        assert_eq!((better, from), (Better::From(FromEnd::Datum), FromEnd::Datum));
        assert_eq!(reason, "the spec asks for the datum end");
        assert_eq!(ask(BendFrom::Other, 10.0).0, Better::From(FromEnd::Other));
        let (better, from, reason) = ask(BendFrom::Datum, 40.0);
        assert_eq!((better, from), (Better::Neither, FromEnd::Datum));
        assert!(
            reason.ends_with(
                "from there bend 1 lacks 10.0 mm: 30.0 mm of straight before it, and the bender grips 40 mm"
            ),
            "{reason}"
        );
        let mut laid = laid(40.0, 0.0);
        laid.run.bend_from = BendFrom::Datum;
        let layout = layout(vec![laid], vec![]);
        let (_, found) = crate::plan::plan(&layout, &check(&layout).0);
        let short = found.iter().find(|finding| finding.code == "short-grip").unwrap();
        assert_eq!(
            (short.message.as_str(), short.hint.as_deref()),
            (
                "run t: from the datum end bend 1 has 30.0 mm of straight before it, and the bender grips 40 mm; from the other end it can be held",
                Some("delete `bend_from: datum`")
            )
        );
    }

    #[test]
    fn a_part_that_goes_on_first_takes_its_length_from_the_grip() {
        let with = |form| {
            let mut laid = laid(20.0, 20.0);
            let fitting = Fitting {
                end: form,
                body: Some(FittingBody { diameter: 22.0, length: 18.0 }),
                ..crate::testing::fitting()
            };
            laid.run.from.as_mut().unwrap().fitting = Some(fitting);
            order(laid)
        };
        assert_eq!(fit(&with(EndForm::Plain)), fit(&order(laid(20.0, 20.0))));
        let flared = with(EndForm::Flared);
        // 30 - 18 mm to grip from the datum end, 30 - 18 behind the last bend from the other.
        assert_eq!(fit(&flared), [(false, Some(-8.0), Some(1)), (false, Some(-8.0), Some(1))]);
        assert!(
            flared.reason.starts_with("from the datum end bend 1 lacks 8.0 mm: 12.0 mm of straight before it beside the part that goes on first (18 mm), and the bender grips 20 mm"),
            "{}",
            flared.reason
        );
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
