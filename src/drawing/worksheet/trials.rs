//! Test pieces for a bender that has no test bends yet: what to cut, mark and measure, and the lines of
//! YAML to write the results into.

use super::cautions::Caution;
use super::pictures::{test_piece, u_piece};
use super::steps::add_step;
use crate::drawing::numbers::{inches, limited, list, mm, short, tenths};
use crate::drawing::page::flow::{BODY, Cell, Column, Flow, Ink, LEADING, PageBlock, Table, wide};
use crate::plan::{CutPlan, LEG_MM, Measure, TestPiece, TrialPlan};

/// The blocks of a trial's page.
pub(super) fn trial(trial: &TrialPlan, cut_plan: &CutPlan, in_inches: bool, width: f64) -> Flow {
    let mut flow = Flow::new(width);
    let name = short(&trial.bender);
    flow.paragraph(
        &format!("{name}, centreline radius {}, with {}", mm(trial.clr), limited(&trial.tube, 72)),
        true,
        true,
    );
    let words = format!(
        "No test bends are written for this bender. Until then springback is predicted and the radius is taken as written. To settle both before you spend a long tube, {}.",
        trial.advice
    );
    flow.paragraph(&words, false, false);
    flow.heading("Cut, mark, bend");
    flow.table(&table(&trial.pieces, in_inches));
    let taken = taken_from(trial, cut_plan);
    if let Some(words) = &taken {
        flow.paragraph(words, false, false);
    }
    for (index, words) in steps(trial, taken.is_some()).into_iter().enumerate() {
        let cautions: &[Caution] = if index == 0 { &[Caution::Edges] } else { &[] };
        add_step(&mut flow, words, cautions);
    }
    pictures(&mut flow, trial);
    flow.heading("Write the results into the spec, then run \"tubewright calibrate\"");
    flow.add(yaml(trial, flow.wide));
    flow
}

/// How far on from the end of its bend the width of a U is measured again, mm: within its shorter leg.
const AGAIN_MM: f64 = LEG_MM - 20.0;

/// The pictures beside each other where there is room.
fn pictures(flow: &mut Flow, trial: &TrialPlan) {
    let again = format!("again, {AGAIN_MM:.0} mm on");
    let mut ink = test_piece();
    if !has_u(trial) {
        flow.add(PageBlock::new(ink, TEST_PIECE_MM));
    } else if flow.wide >= super::card::ONE_ROW {
        ink.put(&u_piece(&again).0, flow.wide / 2.0 + 5.0, 0.0);
        flow.add(PageBlock::new(ink, TEST_PIECE_MM));
    } else {
        flow.add(PageBlock::new(ink, TEST_PIECE_MM));
        flow.add(PageBlock::new(u_piece(&again), U_PIECE_MM));
    }
}

/// Heights of the pictures, mm.
const TEST_PIECE_MM: f64 = 48.0;
const U_PIECE_MM: f64 = 30.0;

fn table(pieces: &[TestPiece], in_inches: bool) -> Table {
    let long_mm = if in_inches { 26.0 } else { 18.0 };
    let mut table = Table::new(vec![
        Column::words("", Some(8.0)),
        Column::numbers("no.", Some(11.0)),
        Column::numbers("cut", Some(long_mm)),
        Column::numbers("mark at", Some(long_mm)),
        Column::numbers("pull to", Some(18.0)),
        Column::words("got, °", None),
        Column::words("leg a or width, mm", None),
        Column::words("leg b, mm", None),
    ]);
    let long =
        |value| if in_inches { Cell::Both(tenths(value), inches(value)) } else { Cell::Bold(tenths(value)) };
    table.least = 10.0;
    for (index, piece) in pieces.iter().enumerate() {
        let leg_b = match piece.measure {
            Measure::Legs => Cell::Blank,
            Measure::Across => Cell::Words("none: a U".to_owned()),
        };
        table.rows.push(vec![
            Cell::Tick,
            Cell::Words((index + 1).to_string()),
            long(piece.cut),
            long(piece.mark),
            Cell::Bold(format!("{:.0}°", piece.pull.to_degrees())),
            Cell::Blank,
            Cell::Blank,
            leg_b,
        ]);
    }
    table
}

fn has_u(trial: &TrialPlan) -> bool {
    trial.pieces.iter().any(|piece| piece.measure == Measure::Across)
}

/// Where the cut plan takes them from; nothing without stock.
fn taken_from(trial: &TrialPlan, cut_plan: &CutPlan) -> Option<String> {
    let is_own =
        |bender: &str, clr: f64, tube: &str| bender == trial.bender && clr == trial.clr && tube == trial.tube;
    let mut each: Vec<(usize, String)> = Vec::new();
    let mut elsewhere: Vec<String> = Vec::new();
    for stock in &cut_plan.stocks {
        for piece in &stock.pieces {
            let own = piece.tests.iter().filter(|test| is_own(&test.bender, test.clr, &test.tube));
            let from = if piece.leftover { "leftover" } else { "new" };
            if own.clone().next().is_none() {
                let cuts = piece.cuts.iter().filter(|cut| trial.runs.contains(&cut.run));
                elsewhere.extend(cuts.map(|cut| short(&cut.run)));
            }
            each.extend(
                own.map(|test| {
                    (test.number, format!("{} from piece {} ({from})", test.number, piece.number))
                }),
            );
        }
        let missing = stock.missing_tests.iter().filter(|test| is_own(&test.bender, test.clr, &test.tube));
        each.extend(missing.map(|test| (test.number, format!("no tube is left for {}", test.number))));
    }
    each.sort();
    let each: Vec<String> = each.into_iter().map(|(_, words)| words).collect();
    let other_bar = if elsewhere.is_empty() {
        String::new()
    } else {
        format!(
            " From another piece than these: {}. Its springback may differ: pull the last degrees in small steps and look.",
            list(&elsewhere)
        )
    };
    (!each.is_empty()).then(|| format!("By the cut plan: {}.{other_bar}", each.join(", ")))
}

fn steps(trial: &TrialPlan, is_planned: bool) -> Vec<String> {
    let mut steps = vec![
        format!(
            "Cut them off{}, straighten what comes off a coil, then cut square to these lengths and deburr. Treat them as the runs: same bar where it can be, same film on the tool, same speed. {}{}",
            if is_planned { " as the cut plan says" } else { "" },
            state(trial),
            soft_zones(trial)
        ),
        "Set the mark on the tool's reference line, its end of the tube on the held side. Pull until the tool shows the angle, write that angle down if it is another one, let go.".to_owned(),
        format!(
            "Measure the angle turned to 0.1°: on a straight leg, 0.1° over {LEG_MM:.0} mm is 0.17 mm. Measure both legs from the cut end to the crossing of the outer lines, to 0.1 mm. Leg a is the one that was held."
        ),
    ];
    if has_u(trial) {
        let per_mm = (1.0 / AGAIN_MM).atan().to_degrees();
        steps.push(format!(
            "The U has no legs to measure but its width over the backs of its legs, where the bend ends, to 0.1 mm. Measure the width again {AGAIN_MM:.0} mm further on: for each mm it is wider there, the U is {per_mm:.2}° less than 180°, for each mm narrower {per_mm:.2}° more. From 170 to 190° will do: if it opens further, pull again, and write the angle it was last pulled to."
        ));
    }
    steps
}

/// The state to bend them in.
fn state(trial: &TrialPlan) -> String {
    let temper = trial.temper.name();
    match trial.annealed {
        0 => format!("The runs are bent as bought: bend these {temper}, too."),
        all if all == trial.bends => {
            "The runs are made soft before they are bent: make these soft in the same way, by the steps and cautions on the page of a run, over the bend and a tube's diameter beyond; mark them once they are cold.".to_owned()
        }
        some => format!(
            "{some} of the {} bends are made soft first, the others are bent as bought. These pieces tell of one state only: bend them all soft or all {temper}, whichever matters more, and write which below; springback of the other bends stays predicted.",
            trial.bends
        ),
    }
}

/// " Make soft: 1 from 88.0 to 147.3, …": where the pieces are heated.
fn soft_zones(trial: &TrialPlan) -> String {
    let zones: Vec<String> = (1..)
        .zip(&trial.zones)
        .map(|(number, zone)| format!("{number} from {} to {}", tenths(zone.from), tenths(zone.to)))
        .collect();
    if zones.is_empty() {
        return String::new();
    }
    format!(" The zones to make soft, mm from the end that is held: {}.", list(&zones))
}

/// The lines to fill in: one for each piece where it fits the width.
fn yaml(trial: &TrialPlan, width: f64) -> PageBlock {
    let temper = match trial.annealed {
        0 => trial.temper.name(),
        all if all == trial.bends => "soft",
        _ => "____",
    };
    let mut ink = Ink::new();
    let mut down = 1.0;
    ink.words(4.0, down, BODY, false, "test_bends:   # under the bender");
    for piece in &trial.pieces {
        down += LEADING * BODY + 1.6;
        let first = format!("- {{pulled: {:.0}, got: ____, temper: {temper},", piece.pull.to_degrees());
        let cut = tenths(piece.cut);
        let more = match piece.measure {
            Measure::Legs => {
                format!("cut: {cut} mm, leg_a: ____ mm, leg_b: ____ mm, measured: outside}}")
            }
            Measure::Across => "across: ____ mm}".to_owned(),
        };
        ink.words(10.0, down, BODY, false, &first);
        let long = wide(&format!("{first} "), BODY, false);
        if 10.0 + long + wide(&more, BODY, false) <= width {
            ink.words(10.0 + long, down, BODY, false, &more);
        } else {
            down += LEADING * BODY;
            let end = ink.wrapped(14.0, down, BODY, false, width - 14.0, &more);
            down = end - LEADING * BODY;
        }
    }
    PageBlock::new(ink, down + LEADING * BODY + 1.0)
}
