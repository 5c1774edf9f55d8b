//! The report for people.

use std::f64::consts::PI;

use tubewright::correct::{Correction, GoingOn};
use tubewright::quantity::{decimals, fixed};
use tubewright::spec::model::{LegMeasure, Measurable, Reading, Readings, What};

use super::Measured;
use crate::cli::table;
use crate::cli::terminal::Page;

/// How far a reading is from the plan, mm or rad: a turn the shorter way round.
pub(super) fn off(what: What, got: f64, planned: f64) -> f64 {
    let off = got - planned;
    match what {
        What::Turn(_) => (off + PI).rem_euclid(2.0 * PI) - PI,
        _ => off,
    }
}

/// Whether a quantity is an angle.
pub(super) fn is_angle(what: What) -> bool {
    matches!(what, What::Angle(_) | What::Turn(_))
}

/// The face that a leg or a length between bends is measured to.
pub(super) fn face(what: What) -> Option<LegMeasure> {
    match what {
        What::Leg(_, to) | What::Between(_, to) | What::LastLeg(to) => Some(to),
        _ => None,
    }
}

/// The readings beside the plan's values.
pub(super) fn readings(measured: &Measured<'_>, readings: &Readings, page: Page) -> String {
    let run = measured.run;
    let rows = readings.all.iter().map(|reading| row(run, readings.done, reading));
    let header = ["reading", "unit", "got", "planned", "off", "± (95 %)"];
    let head = format!("{}, run {}: {}", measured.spec.called(), run.run, made(run, readings.done));
    let mut text = format!("{head}\n\n");
    if !readings.all.is_empty() {
        text.push_str(&table::set(&header, rows, 2, page));
    }
    text.push_str(&pulled(run, readings));
    text
}

/// "all 3 bends made", "2 of 3 bends made".
fn made(run: &Measurable, done: usize) -> String {
    match (done, run.bends.len()) {
        (_, 0) => "a straight tube".to_owned(),
        (done, 1) => if done == 1 { "its bend made" } else { "its bend not made yet" }.to_owned(),
        (done, all) if done == all => format!("all {all} bends made"),
        (done, all) => format!("{done} of {all} bends made"),
    }
}

fn row(run: &Measurable, done: usize, reading: &Reading) -> Vec<String> {
    let Reading { what, value, accuracy, .. } = *reading;
    let planned = run.planned(what, done);
    let number = |value: f64| match what {
        what if is_angle(what) => fixed(value.to_degrees(), 2),
        _ => run.unit.number_with(value, 2),
    };
    let signed = |value: f64| {
        let text = number(value);
        let nothing = text.bytes().all(|byte| matches!(byte, b'0' | b'.'));
        if text.starts_with('-') || nothing { text } else { format!("+{text}") }
    };
    let face = face(what).map(Into::<&str>::into);
    let name = run.name(what);
    vec![
        face.map_or(name.clone(), |face| format!("{name}, {face}")),
        if is_angle(what) { "°".to_owned() } else { run.unit.name().to_owned() },
        number(value),
        planned.map_or_else(|| "-".to_owned(), number),
        planned.map_or_else(|| "-".to_owned(), |planned| signed(off(what, value, planned))),
        number(accuracy),
    ]
}

/// The bends that are left, as they are then to be made.
pub(super) fn going_on(found: &Correction, going_on: &GoingOn, run: &Measurable, page: Page) -> String {
    let Some(planned) = &going_on.planned else { return String::new() };
    let from = found.making.from();
    let done = found.estimate.made.rows.len();
    let length = |mm: f64| run.unit.number_with(mm, 1);
    let degrees = |angle: f64| fixed(angle.to_degrees(), 1);
    let rows = planned.run.in_order(from).skip(done).map(|(bend, made)| {
        vec![
            made.bend.to_string(),
            length(made.feed.mark),
            length(made.feed.from_last_end),
            degrees(made.turn.of_tube()),
            degrees(bend.angle),
            degrees(made.pull.angle),
        ]
    });
    let unit = run.unit.name();
    let marks = format!("mark from the {} {unit}", from.name());
    let last = format!("from last bend {unit}");
    let header = ["bend", marks.as_str(), last.as_str(), "turn the tube °", "angle °", "pull to °"];
    table::set(&header, rows, 1, page)
}

/// A line for each bend that was pulled to another angle than the plan's.
fn pulled(run: &Measurable, readings: &Readings) -> String {
    let degrees = |angle: f64| decimals(angle.to_degrees(), 1);
    let line = |(number, pulled): &(usize, f64)| {
        let planned = run.bends.iter().find(|bend| bend.number == *number)?.pulled;
        let (pulled, planned) = (degrees(*pulled), degrees(planned));
        Some(format!("bend {number} was pulled to {pulled}°, planned {planned}°\n"))
    };
    readings.pulled.iter().filter_map(line).collect()
}
