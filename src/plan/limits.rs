//! Warnings where the bender cannot hold the tube in either order of bending, and where there is no
//! tube to put its reference line on.

use super::model::{Better, FromEnd, Operation, RunPlan};
use super::order::{Need, Order, Room, nearest, off_tube, orders};
use crate::centreline::LaidRun;
use crate::diagnostic::{Diagnostic, Diagnostics, Span};
use crate::quantity::Unit;
use crate::spec::model::BendFrom;
use crate::tolerance::NO_STRAIGHT_MM;

/// Adds the warnings of one run. A run that can be bent from one end only gets none: its plan says from
/// which. Where neither end will do, what is missing from the nearer one is told, bend by bend.
pub(super) fn check(laid: &LaidRun, plan: &RunPlan, unit: Unit, findings: &mut Diagnostics) {
    let [datum, other] = orders(&laid.run, &plan.from_datum_end, &plan.from_other_end, plan.cut_length);
    let of = |from| if from == FromEnd::Datum { &datum } else { &other };
    let used = match plan.order.better {
        Better::From(_) | Better::Either => of(plan.begins_at()),
        Better::Neither => {
            let used = plan.order.asked.map_or_else(|| nearest(&datum, &other), of);
            let spurned = of(used.from.opposite());
            findings.extend(used.lacking().map(|room| lacking(laid, plan, (used.from, room), spurned, unit)));
            used
        }
    };
    let operations = plan.operations(used.from).iter();
    findings.extend(operations.filter_map(|made| mark_off_tube(laid, plan, used.from, made, unit)));
}

/// A bend that cannot be held, although its order is nearer to working than the `spurned` one.
fn lacking(
    laid: &LaidRun,
    plan: &RunPlan,
    (from, room): (FromEnd, &Room),
    spurned: &Order,
    unit: Unit,
) -> Diagnostic {
    let code = match room.need {
        Need::Grip => "short-grip",
        Need::LeadOut => "short-lead-out",
    };
    if room.need == Need::Grip && !room.first {
        return short_between(laid, from, room, unit);
    }
    let (this, that) = (from.name(), spurned.from.name());
    let has = format!("from the {this} bend {} has {}", room.bend, room.told(unit));
    let Some(instead) = spurned.fault(unit) else {
        let message = format!("{has}; from the {that} it can be held");
        let hint = format!("delete `bend_from: {}`", BendFrom::name(laid.run.bend_from));
        return warning(laid, room.bend, code, &message, hint);
    };
    let message = format!("{has}; from the {that} {instead}");
    // The grip of the first bend is at the end that bending begins at; the lead-out at the one it ends at.
    let at_start = (from == FromEnd::Datum) == (room.need == Need::Grip);
    let hint = longer_end(laid, plan, at_start, -room.spare(), unit);
    warning(laid, room.bend, code, &message, hint).written_in(laid.run.written_in())
}

/// The straight between two bends is gripped from whichever end the tube is bent.
fn short_between(laid: &LaidRun, from: FromEnd, room: &Room, unit: Unit) -> Diagnostic {
    // From the other end the bend before this one has the higher number.
    let later = if from == FromEnd::Datum { room.bend } else { room.bend + 1 };
    let message = format!(
        "there are {} of straight between bends {} and {later}; the bender grips {}, from either end",
        unit.length_with(room.there, 1),
        later - 1,
        unit.length(room.needed)
    );
    let hint = if laid.run.is_by_corners() {
        format!("move corners {} and {later} apart by at least {}", later - 1, up(-room.spare(), unit))
    } else {
        format!("make `length` of bend {later} at least {}", up(room.needed, unit))
    };
    warning(laid, later, "short-grip", &message, hint).written_in(laid.run.written_in())
}

/// The change that makes the straight at one end longer by `short`.
fn longer_end(laid: &LaidRun, plan: &RunPlan, at_start: bool, short: f64, unit: Unit) -> String {
    let straights = &plan.straights;
    let (first, last) = (straights.first().copied(), straights.last().copied());
    let drawn = if at_start { first } else { last }.unwrap_or_default() + short;
    let longer = match (laid.run.is_by_corners(), at_start) {
        (false, true) => format!("make `length` of bend 1 at least {}", up(drawn, unit)),
        (false, false) => format!("make `end_length` at least {}", up(drawn, unit)),
        (true, true) => format!("move corner 1 at least {} further from the start", up(short, unit)),
        (true, false) => {
            format!("move corner {} at least {} further from the end", plan.bends.len(), up(short, unit))
        }
    };
    let allowance = allowance_of(laid, at_start, short, unit);
    match &laid.run.copy {
        Some(copy) if copy.own_allowance => {
            format!("{longer}; or give run `{}` {allowance} to trim away later", laid.run.name)
        }
        _ => format!("{longer}, or give {allowance} to trim away later"),
    }
}

/// A bender's datum distance can put its reference line beside a short tube.
fn mark_off_tube(
    laid: &LaidRun,
    plan: &RunPlan,
    from: FromEnd,
    made: &Operation,
    unit: Unit,
) -> Option<Diagnostic> {
    let (bend, off) = (made.bend, off_tube(made, plan.cut_length)?);
    let measured = match from {
        FromEnd::Datum => "",
        FromEnd::Other => ", measured from the other end,",
    };
    let side = if off < 0.0 { "in front of" } else { "beyond the end of" };
    let by = unit.length_with(off.abs(), 1);
    let message = format!("the mark of bend {bend}{measured} falls {by} {side} the cut tube");
    let at_start = (from == FromEnd::Datum) == (off < 0.0);
    let longer = allowance_of(laid, at_start, off.abs(), unit);
    let hint = format!("give {longer} to trim away later, or check the bender's `datum`");
    let allowance_of = laid.run.copy.as_ref().filter(|copy| !copy.own_allowance);
    let warning = warning(laid, bend, "mark-off-tube", &message, hint);
    Some(warning.written_in(allowance_of.map(|copy| copy.first.as_str())))
}

/// A warning about a bend, at its place in the spec.
pub(super) fn warning(
    laid: &LaidRun,
    bend: usize,
    code: &'static str,
    message: &str,
    hint: impl Into<String>,
) -> Diagnostic {
    let name = &laid.run.name;
    Diagnostic::warning(code, format!("run {name}: {message}"))
        .hint(hint)
        .at(place(laid, bend))
        .run(name)
        .bend(bend)
}

/// Where the spec writes a bend: its row or its corner.
fn place(laid: &LaidRun, bend: usize) -> Span {
    laid.run.path.place(bend).unwrap_or(laid.run.place)
}

/// The key that makes the cut tube longer by `short` at one end, as a spec writes it whatever its unit.
fn allowance_of(laid: &LaidRun, at_start: bool, short: f64, unit: Unit) -> String {
    let (end, has) =
        if at_start { ("start", laid.run.allowance_start) } else { ("end", laid.run.allowance_end) };
    format!("`allowance: {{{end}: {}}}`", up(has + short, unit))
}

/// A length rounded up to what is shown, so that what a hint says is enough.
fn up(mm: f64, unit: Unit) -> String {
    unit.length_up(mm - NO_STRAIGHT_MM, 2)
}

#[cfg(test)]
mod tests {
    use crate::centreline::LaidRun;
    use crate::diagnostic::Diagnostics;
    use crate::fit::check;
    use crate::testing::{layout, place, run, table_run};

    fn findings(laid: LaidRun) -> Diagnostics {
        let layout = layout(vec![laid], vec![]);
        let found = crate::plan::plan(&layout, &check(&layout).0).1;
        let mut limits = Diagnostics::new();
        limits
            .extend(found.into_iter().filter(|d| d.code.starts_with("short-") || d.code == "mark-off-tube"));
        limits
    }

    /// "code bend message; hint" of each finding.
    fn told(found: &Diagnostics) -> Vec<String> {
        let one = |d: &crate::diagnostic::Diagnostic| {
            let bend = d.bend.map_or_else(String::new, |bend| bend.to_string());
            format!("{} {bend} {}; {}", d.code, d.message, d.hint.as_deref().unwrap_or_default())
        };
        found.iter().map(one).collect()
    }

    /// 15 x 1 copper, two 90° bends at 60 mm: straights of 90, 40 and 40 mm.
    fn zed(grip: f64, lead_out: f64) -> LaidRun {
        let mut laid =
            run("zed", 60.0, &[[0.0; 3], [150.0, 0.0, 0.0], [150.0, 160.0, 0.0], [150.0, 160.0, 100.0]]);
        laid.run.bender.grip = grip;
        laid.run.bender.lead_out = lead_out;
        laid
    }

    #[test]
    fn what_no_order_can_hold_is_told_for_the_nearer_one_and_cured_by_its_hints() {
        // From the datum end: 5 + 55 + 10 missing; from the other one 55 + 55.
        let mut laid = zed(95.0, 50.0);
        let found = findings(laid.clone());
        assert_eq!(
            told(&found),
            [
                "short-grip 1 run zed: from the datum end bend 1 has 90.0 mm of straight before it, and the bender \
                 grips 95 mm; from the other end bend 2 lacks 55.0 mm: 40.0 mm of straight before it, and the bender \
                 grips 95 mm; move corner 1 at least 5 mm further from the start, or give `allowance: {start: 5 mm}` \
                 to trim away later",
                "short-grip 2 run zed: there are 40.0 mm of straight between bends 1 and 2; the bender grips 95 mm, \
                 from either end; move corners 1 and 2 apart by at least 55 mm",
                "short-lead-out 2 run zed: from the datum end bend 2 has 40.0 mm of tube behind it, and the bender \
                 needs 50 mm; from the other end bend 2 lacks 55.0 mm: 40.0 mm of straight before it, and the bender \
                 grips 95 mm; move corner 2 at least 10 mm further from the end, or give `allowance: {end: 10 mm}` \
                 to trim away later",
            ]
        );
        assert!(found.iter().all(|d| d.place == Some(place(6))), "the corner's place: {found:?}");
        // Allowances are tube to hold: they cure the first grip and the last lead-out.
        laid.run.allowance_start = 5.0;
        laid.run.allowance_end = 10.0;
        let left: Vec<Option<usize>> = findings(laid).iter().map(|d| d.bend).collect();
        assert_eq!(left, [Some(2)]);
    }

    #[test]
    fn the_nearer_order_may_be_the_one_from_the_other_end() {
        // 20, 50 and 38 mm of straight, a grip of 40 and a lead-out of 30: from the datum end 20 mm of grip
        // are missing; from the other end 2 mm of grip and 10 mm of lead-out.
        let mut laid = table_run("t", 40.0, &[(20.0, 0.0, 90.0), (50.0, 0.0, 90.0)], 38.0);
        laid.run.bender.grip = 40.0;
        laid.run.bender.lead_out = 30.0;
        let found = told(&findings(laid.clone()));
        let from_datum = "from the datum end bend 1 lacks 20.0 mm: 20.0 mm of straight before it, and the bender grips 40 mm";
        assert_eq!(
            found,
            [
                format!(
                    "short-grip 2 run t: from the other end bend 2 has 38.0 mm of straight before it, and the bender \
                     grips 40 mm; {from_datum}; make `end_length` at least 40 mm, or give `allowance: {{end: 2 mm}}` \
                     to trim away later"
                ),
                format!(
                    "short-lead-out 1 run t: from the other end bend 1 has 20.0 mm of tube behind it, and the bender \
                     needs 30 mm; {from_datum}; make `length` of bend 1 at least 30 mm, or give \
                     `allowance: {{start: 10 mm}}` to trim away later"
                ),
            ]
        );
        laid.run.allowance_end = 2.0;
        laid.run.allowance_start = 10.0;
        assert_eq!(told(&findings(laid)), Vec::<String>::new());
    }

    #[test]
    fn a_run_that_one_end_suits_needs_no_warning() {
        assert_eq!(told(&findings(zed(40.0, 40.0))), Vec::<String>::new(), "just enough");
        // 40 mm behind bend 2 are too few for a lead-out of 50, but 90 mm behind bend 1 are not.
        assert_eq!(told(&findings(zed(40.0, 50.0))), Vec::<String>::new());
        assert_eq!(findings(zed(41.0, 50.0)).len(), 2, "short between, and behind bend 2");
    }

    #[test]
    fn a_bend_table_is_told_its_own_keys() {
        let mut laid = table_run("t", 40.0, &[(12.34, 0.0, 90.0), (6.0, 0.0, 90.0)], 8.0);
        laid.run.bender.grip = 19.0;
        laid.run.bender.lead_out = 15.0;
        laid.run.allowance_start = 2.0;
        let found = findings(laid);
        let hints: Vec<&str> = found.iter().filter_map(|d| d.hint.as_deref()).collect();
        assert_eq!(
            hints,
            [
                // 19 - 2 of allowance; 2 + (19 - 14.34).
                "make `length` of bend 1 at least 17 mm, or give `allowance: {start: 6.66 mm}` to trim away later",
                "make `length` of bend 2 at least 19 mm",
                "make `end_length` at least 15 mm, or give `allowance: {end: 7 mm}` to trim away later",
            ]
        );
        assert!(found.iter().all(|d| d.place == Some(place(6))), "the row's place: {found:?}");
    }

    /// One bend with 30 mm before and 20 mm behind it, on a cut tube of 30 + 62.832 + 20 mm.
    fn knee(datum: f64, allowance: (f64, f64)) -> LaidRun {
        let mut laid = table_run("t", 40.0, &[(30.0, 0.0, 90.0)], 20.0);
        laid.run.bender.datum = datum;
        (laid.run.allowance_start, laid.run.allowance_end) = allowance;
        laid
    }

    #[test]
    fn marks_off_the_tube_are_cured_by_the_allowance_they_name() {
        let off = |datum: f64, allowance| told(&findings(knee(datum, allowance))).join("\n");
        assert_eq!(
            off(50.0, (0.0, 0.0)),
            "mark-off-tube 1 run t: the mark of bend 1 falls 20.0 mm in front of the cut tube; \
             give `allowance: {start: 20 mm}` to trim away later, or check the bender's `datum`"
        );
        assert_eq!(off(50.0, (20.0, 0.0)), "");
        assert_eq!(
            off(-95.0, (0.0, 1.0)),
            "mark-off-tube 1 run t: the mark of bend 1 falls 11.2 mm beyond the end of the cut tube; \
             give `allowance: {end: 12.17 mm}` to trim away later, or check the bender's `datum`"
        );
        assert_eq!(off(-95.0, (0.0, 12.17)), "");
        assert_eq!(off(30.0, (0.0, 0.0)), "", "on the datum end");
        // 20 - 25 from the other end, but that end is not used.
        assert_eq!(off(25.0, (0.0, 0.0)), "");
    }

    #[test]
    fn a_mark_is_looked_for_in_the_order_that_is_used() {
        // Held from the other end only (30 mm of lead-out), where the mark falls 5 mm off the tube.
        let mut laid = knee(25.0, (0.0, 0.0));
        laid.run.bender.lead_out = 30.0;
        assert_eq!(
            told(&findings(laid.clone())),
            [
                "mark-off-tube 1 run t: the mark of bend 1, measured from the other end, falls 5.0 mm in front of \
              the cut tube; give `allowance: {end: 5 mm}` to trim away later, or check the bender's `datum`"
            ]
        );
        laid.run.allowance_end = 5.0;
        assert_eq!(told(&findings(laid)), Vec::<String>::new());
    }
}
