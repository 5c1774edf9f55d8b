//! The leak test: steps, what pressure to expect as the temperature changes, a log to fill in.

use super::cautions::{Caution, caution};
use super::steps::{Instruction, block, is_copper};
use crate::drawing::item::Role;
use crate::drawing::numbers::tenths;
use crate::drawing::page::flow::{BODY, Cell, Column, Flow, Ink, LEADING, PageBlock, Table, wide};
use crate::formula::pressure::gauge_pressure;
use crate::plan::RunPlan;

/// Gauge pressures of the test that the table is for, bar: common practice, no source.
const PRESSURES: [f64; 2] = [0.3, 0.5];

/// Temperature the table starts from, °C.
const START: f64 = 20.0;

/// When to read the gauge, minutes.
const READINGS: [u32; 5] = [0, 5, 10, 20, 30];

/// Adds the leak test and the coolant.
pub(super) fn leak(flow: &mut Flow, runs: &[&RunPlan]) {
    flow.heading("Leak test with air, before any liquid");
    let steps = [
        (
            "Close the loop, fit a gauge that shows 0.01 bar. Pump slowly to 0.3 to 0.5 bar, never above what the weakest part is rated for. Close the valve, wait 5 minutes: fresh air cools first.",
            vec![Caution::Air],
        ),
        (
            "Fill in the log. It passes if, after 30 minutes, the gauge is within 0.01 bar of what the table gives for the temperature by then.",
            vec![],
        ),
        (
            "If it falls: let the pressure off, brush soapy water on the joints, pump up again and look for bubbles.",
            vec![],
        ),
    ];
    for (words, cautions) in steps {
        flow.add(block(&Instruction { words: words.to_owned(), cautions, again: Vec::new() }, flow.wide));
    }
    expected(flow);
    log(flow);
    let words =
        "Then with liquid: fill, bleed, run the pump for 12 to 24 hours. Any damp tissue fails the test.";
    flow.add(block(
        &Instruction { words: words.to_owned(), cautions: vec![Caution::Water], again: Vec::new() },
        flow.wide,
    ));
    coolant(flow, runs);
    if runs.iter().any(|run| is_copper(&run.tube.material)) {
        let mut ink = Ink::new();
        let down = caution(&mut ink, Caution::Galvanic, 2.4, 0.6, flow.wide);
        flow.add(PageBlock::new(ink, down + 1.0));
    }
}

fn expected(flow: &mut Flow) {
    let narrow = flow.wide < super::card::ONE_ROW;
    let step = if narrow { 2 } else { 1 };
    let temperatures: Vec<f64> = (-5..=5).filter(|t| t % step == 0).map(|t| START + f64::from(t)).collect();
    flow.paragraph(
        "Expected gauge pressure, bar, if first read at 20 °C and nothing leaks. From another temperature: the same change per degree; 10 mbar of weather count like 10 mbar of air.",
        false,
        true,
    );
    let mut columns = vec![Column::words("at 20 °C", Some(22.0))];
    columns.extend(temperatures.iter().map(|t| Column::numbers(&format!("{t:.0} °C"), None)));
    let mut table = Table::new(columns);
    for pressure in PRESSURES {
        let mut row = vec![Cell::Bold(format!("{pressure:.2}"))];
        let at = temperatures.iter().map(|&t| format!("{:.3}", gauge_pressure(pressure, START, t)));
        row.extend(at.map(Cell::Words));
        table.rows.push(row);
    }
    flow.table(&table);
}

fn log(flow: &mut Flow) {
    let mut columns = vec![Column::words("after minutes", Some(40.0))];
    columns.extend(READINGS.iter().map(|minutes| Column::words(&minutes.to_string(), None)));
    let mut table = Table::new(columns);
    table.least = 6.6;
    table.together = true;
    for words in ["time", "read, bar", "air, °C", "by the table, bar"] {
        let mut row = vec![Cell::Words(words.to_owned())];
        row.extend(READINGS.iter().map(|_| Cell::Blank));
        table.rows.push(row);
    }
    flow.table(&table);
}

/// The volume of the tube and the coolant to buy. 20 to 30 % more for bleeding: common practice, no source.
fn coolant(flow: &mut Flow, runs: &[&RunPlan]) {
    let bore: f64 = runs.iter().map(|run| run.bore_volume).sum();
    let mut ink = Ink::new();
    let mut down = 1.0;
    let line = 6.0;
    let held = format!("Coolant: the tubes that join something hold {} ml", tenths(bore));
    down = ink.wrapped(0.0, down, BODY, true, flow.wide, &held) + line - LEADING * BODY;
    for words in [
        "Blocks, radiators, pump, reservoir (data sheets):",
        "All together, and 20 to 30 % more for bleeding, to buy:",
    ] {
        let long = wide(words, BODY, false);
        ink.words(0.0, down, BODY, false, words);
        let from = if long + 32.0 < flow.wide { long + 2.0 } else { 0.0 };
        if from == 0.0 {
            down += LEADING * BODY + 2.0;
        }
        ink.line(Role::Dimension, (from, down + BODY + 0.8), (from + 24.0, down + BODY + 0.8));
        ink.words(from + 25.0, down, BODY, false, "ml");
        down += line;
    }
    flow.add(PageBlock::new(ink, down));
}
