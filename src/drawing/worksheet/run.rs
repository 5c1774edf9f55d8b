//! The pages of one run: what it is made of, how the tool is set, a card per bend, the steps.

use super::bench::Bench;
use super::card::{ONE_ROW, all_alike, card, length, other_row, outcome, pulling_words};
use super::carried::pressure_words;
use super::pictures::{TOOL_MM, finished, tool};
use super::steps;
use super::stop::stop;
use crate::drawing::item::Role;
use crate::drawing::numbers::{inches, limited, mm, sentence, short, tenths};
use crate::drawing::page::flow::{
    BIG, BODY, Column, Flow, HEAD, Ink, KEY, LEADING, PageBlock, Table, lines, wide,
};
use crate::plan::{Better, FarEnd, FromEnd, Neighbour, OrderFit, Plan, RunPlan};
use crate::quantity::fixed;
use crate::spec::model::EndForm;

/// Size of the picture of the finished run, mm.
const PICTURE_MM: (f64, f64) = (46.0, 34.0);

/// Facts of the whole spec that a run's pages need.
pub(super) struct Surroundings<'a> {
    /// The whole plan.
    pub(super) plan: &'a Plan,
    /// Whether lengths are given in inches as well.
    pub(super) in_inches: bool,
}

/// The blocks of a run's pages.
pub(super) fn run(bench: &Bench<'_>, around: &Surroundings<'_>, width: f64) -> Flow {
    let mut flow = Flow::new(width);
    stop(&mut flow, bench.plan);
    flow.add(head(bench, around, width));
    if !bench.bends.is_empty() {
        bend_from(&mut flow, bench);
        flow.add(setting(bench, width));
        pulling_words(bench).into_iter().for_each(|words| flow.paragraph(words, true, true));
        let alike = all_alike(bench);
        for bend in &bench.bends {
            flow.add(card(bench, bend, width, around.in_inches, alike));
        }
    }
    flow.heading("Steps");
    steps::steps(&mut flow, bench, around);
    if !bench.bends.is_empty() {
        other_order(&mut flow, bench, around.in_inches);
    }
    flow
}

fn head(bench: &Bench<'_>, around: &Surroundings<'_>, width: f64) -> PageBlock {
    let plan = bench.plan;
    let mut ink = Ink::new();
    let beside = width >= ONE_ROW;
    let room = if beside { width - PICTURE_MM.0 - 4.0 } else { width };
    let mut down = 0.6;
    if plan.may_be_cut() {
        cut_to(&mut ink, plan, around, down);
        down += BIG + 3.4;
    }
    for (word, value) in facts(bench, around) {
        ink.words(0.0, down, BODY, false, word);
        down = ink.wrapped(22.5, down, BODY, true, room - 22.5, &value) + 0.2;
    }
    if beside {
        ink.put(&finished(bench.laid, PICTURE_MM.0, PICTURE_MM.1).0, room + 4.0, 0.0);
        down = down.max(PICTURE_MM.1);
    } else {
        let left = (width - PICTURE_MM.0) / 2.0;
        ink.put(&finished(bench.laid, PICTURE_MM.0, PICTURE_MM.1).0, left, down);
        down += PICTURE_MM.1;
    }
    PageBlock::new(ink, down + 1.0)
}

/// The length to cut, large.
fn cut_to(ink: &mut Ink, plan: &RunPlan, around: &Surroundings<'_>, down: f64) {
    let lead = "cut to";
    ink.words(0.0, down + BIG - HEAD, HEAD, false, lead);
    let words = tenths(plan.cut_length);
    let mut x = wide(lead, HEAD, false) + 4.0;
    ink.words(x, down, BIG, true, &words);
    x += wide(&words, BIG, true) + 2.0;
    ink.words(x, down + BIG - KEY, KEY, true, "mm");
    x += wide("mm", KEY, true) + 5.0;
    if around.in_inches {
        let words = inches(plan.cut_length);
        ink.words(x, down + BIG - KEY, KEY, false, &words);
        x += wide(&words, KEY, false) + 5.0;
    }
    if let Some(forms) = steps::forms_taken(plan) {
        ink.words(x, down + BIG - KEY, KEY, true, &format!("+ {forms}"));
    }
}

fn facts(bench: &Bench<'_>, around: &Surroundings<'_>) -> Vec<(&'static str, String)> {
    let plan = bench.plan;
    let mut all = vec![("tube", tube_words(bench))];
    let (start, end) = (plan.allowance_start, plan.allowance_end);
    if start > 0.0 || end > 0.0 {
        let part = |value: f64, which: &str| {
            (value > 0.0).then(|| format!("{} at the {which}", length(value, around.in_inches)))
        };
        let parts: Vec<String> =
            [part(start, "datum end"), part(end, "other end")].into_iter().flatten().collect();
        all.push(("to trim", format!("{}, included in the cut length", parts.join(", "))));
    }
    if !plan.bends.is_empty() {
        let bender = &plan.bender;
        let known = if bender.calibrated { "test bends fitted" } else { "no test bends yet" };
        let radius = length(bender.formed_clr, around.in_inches);
        all.push(("bender", format!("{}, radius {radius}, {known}", short(&bender.name))));
        if let (true, Some(bend)) = (all_alike(bench), bench.bends.first()) {
            let words = outcome(bend).into_iter().map(|(word, value)| format!("{word} {value}"));
            all.push(("each bend", words.collect::<Vec<_>>().join(", ")));
        }
    }
    all.extend(pressure_words(&plan.pressures).map(|words| ("pressure", words)));
    if let Some(nearest) = &plan.nearest {
        all.push(("clearance", clearance_words(nearest, around.in_inches)));
    }
    all.extend(plan.far_end.as_ref().map(|far| ("goes in", goes_in(far))));
    let ends = plan.ends.iter().zip(["datum end", "other end"]);
    for (end, word) in ends {
        if let Some(port) = &end.port {
            let fitting = end.fitting.as_deref().map(|f| format!(", {}", short(f))).unwrap_or_default();
            all.push((word, format!("{}{fitting}", short(port))));
        }
    }
    all
}

/// How likely the tube goes in, and how far the end that is put in last may be off.
fn goes_in(far: &FarEnd) -> String {
    let most = far.dominant.map(|most| format!(", mostly {}", most.quantity.words())).unwrap_or_default();
    let leave = far.leave_words().map(|words| format!("; {words}")).unwrap_or_default();
    format!("{}; at 95 % {}{most}{leave}", far.goes_in_percent(), far.off_words())
}

/// "12.3 mm to run return, nearest at [40, 60, 20]": in words what is next to the run.
fn clearance_words(nearest: &Neighbour, in_inches: bool) -> String {
    let [x, y, z] = [nearest.at.x, nearest.at.y, nearest.at.z].map(|mm| fixed(mm, 0));
    let to = short(&nearest.to);
    if nearest.distance < 0.0 && fixed(nearest.distance, 1) != "0.0" {
        return format!(
            "none: {} into {to}, deepest at [{x}, {y}, {z}]",
            length(-nearest.distance, in_inches)
        );
    }
    format!("{} to {to}, nearest at [{x}, {y}, {z}]", length(nearest.distance.max(0.0), in_inches))
}

/// "EN 1057 15 x 1.0 half-hard, copper": the designation with what it leaves out.
fn tube_words(bench: &Bench<'_>) -> String {
    let tube = &bench.laid.run.tube;
    let mut words = limited(tube.designation(), 72);
    for more in [tube.material(), tube.temper().name()] {
        if !words.to_lowercase().contains(&more.to_lowercase()) {
            words = format!("{words}, {}", short(more));
        }
    }
    words
}

/// Which end the work begins at, large, and why.
fn bend_from(flow: &mut Flow, bench: &Bench<'_>) {
    let order = &bench.plan.order;
    let mut ink = Ink::new();
    let inside = flow.wide - 6.0;
    let (big, size) = match order.better {
        Better::From(_) | Better::Either => (format!("Bend from the {}", bench.end().to_uppercase()), KEY),
        Better::Neither if plan_asks(bench) => {
            ("This bender cannot hold every bend from the end that is asked for".to_owned(), HEAD)
        }
        Better::Neither => ("This bender cannot hold every bend, from either end".to_owned(), HEAD),
    };
    let mut down = 1.8;
    for line in lines(&big, inside, size, true) {
        ink.words(3.0, down, size, true, &line);
        down += LEADING * size - 0.6;
    }
    down = ink.wrapped(3.0, down, BODY, true, inside, &seen(bench));
    down = ink.wrapped(3.0, down, BODY, false, inside, &sentence(&order.reason));
    // An unusual way is framed to be seen.
    let frame = match (order.better, bench.from) {
        (Better::Neither, _) | (_, FromEnd::Other) => Role::Trim,
        (Better::From(_) | Better::Either, FromEnd::Datum) => Role::Dimension,
    };
    ink.frame(frame, 0.0, 0.0, flow.wide, down);
    flow.add(PageBlock::new(ink, down + 1.0));
}

/// Whether the spec names the end to begin at.
fn plan_asks(bench: &Bench<'_>) -> bool {
    bench.plan.order.asked.is_some()
}

/// From where everything on the page is measured.
fn seen(bench: &Bench<'_>) -> String {
    let not = match bench.from {
        FromEnd::Datum => "",
        FromEnd::Other => ", not from the datum end",
    };
    format!("Marks are measured from the {}{not}.", bench.end())
}

fn setting(bench: &Bench<'_>, width: f64) -> PageBlock {
    let mut ink = Ink::new();
    let beside = width >= ONE_ROW;
    ink.put(&tool(bench).0, 0.0, 0.0);
    let (x, mut down, room) =
        if beside { (TOOL_MM.0 + 5.0, 1.0, width - TOOL_MM.0 - 5.0) } else { (0.0, TOOL_MM.1 + 1.0, width) };
    let bender = &bench.plan.bender;
    down = ink.wrapped(x, down, BODY, true, room, "Set the mark on the tool's reference line.");
    let apart = bender.datum.abs();
    let place = if apart > 0.05 {
        let way = if bender.datum > 0.0 { "beyond" } else { "before" };
        format!(
            "The {} of the bend then lies {} {way} the line, seen from the {}.",
            bender.mark.name(),
            mm(apart),
            bench.end()
        )
    } else {
        format!("The line shows where the {} of the bend comes.", bender.mark.name())
    };
    let words = [
        place,
        "Surest: mark where each bend really ended and measure the next mark from there.".to_owned(),
        "Turns: seen along the straight being bent, from the end you started at. The tool stays, grey is where the last leg swings to.".to_owned(),
        "Dial: 0 at the inside of the first bend, clockwise.".to_owned(),
    ];
    for words in words {
        down = ink.wrapped(x, down + 0.4, BODY, false, room, &words);
    }
    PageBlock::new(ink, if beside { down.max(TOOL_MM.1) } else { down } + 0.2)
}

/// Marks and turns from the other end, where the run can be bent from there. The form of an end that is made first
/// takes tube that the marks do not know of: then there is no other order.
fn other_order(flow: &mut Flow, bench: &Bench<'_>, in_inches: bool) {
    let other = Bench::from(bench.plan, bench.laid, bench.from.opposite());
    let fit = match other.from {
        FromEnd::Datum => &bench.plan.order.datum_end,
        FromEnd::Other => &bench.plan.order.other_end,
    };
    if !fit.possible || bench.plan.ends.iter().any(|end| end.form != EndForm::Plain) {
        return;
    }
    flow.heading(&format!("The other order: marks and turns from the {}", other.end()));
    flow.paragraph(&possible(fit), false, true);
    let mut table = Table::new(vec![
        Column::numbers("bend", Some(14.0)),
        Column::numbers("mark", Some(24.0)),
        Column::numbers("from last", Some(28.0)),
        Column::words("turn the tube", None),
        Column::numbers("dial", Some(18.0)),
        Column::numbers("bend lies at", Some(39.0)),
        Column::numbers("pull to", Some(20.0)),
    ]);
    for bend in &other.bends {
        table.rows.push(other_row(bend, in_inches));
    }
    flow.table(&table);
}

/// "Can be held; 12.0 mm to spare at bend 2."
fn possible(fit: &OrderFit) -> String {
    let place = fit.tightest_bend.map(|n| format!(" at bend {n}")).unwrap_or_default();
    let spare = fit.spare.map(|spare| format!("; {} to spare{place}", mm(spare))).unwrap_or_default();
    format!("Can be held{spare}. Never mix the two orders.")
}
