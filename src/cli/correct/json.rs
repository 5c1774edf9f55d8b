//! The report for programs: lengths in mm, angles in degrees, every key always there.

use serde::Serialize;
use tubewright::diagnostic::Diagnostic;
use tubewright::export;
use tubewright::spec::model::{Measurable, Reading, What};

use super::Measured;
use super::found::{FoundData, found_data};
use super::text::{face, is_angle, off};
use crate::cli::read::ReadSpec;

#[derive(Serialize)]
struct Report<'a> {
    command: &'static str,
    spec: String,
    run: &'a str,
    /// "sound"; "errors" where the spec, the file of readings or an option has some.
    status: &'static str,
    /// Of the spec.
    findings: Vec<&'a Diagnostic>,
    /// The file of readings.
    file: Option<String>,
    /// Of the readings as a whole and of their file.
    file_findings: Vec<&'a Diagnostic>,
    options: Vec<OptionData<'a>>,
    replaced: Vec<ReplacedData<'a>>,
    bends: Option<usize>,
    bends_done: Option<usize>,
    pulled: Vec<PulledData>,
    readings: Vec<ReadingData>,
    /// The most likely tube and the advice; none without sound readings.
    found: Option<FoundData>,
}

/// An option with a reading.
#[derive(Serialize)]
struct OptionData<'a> {
    text: &'a str,
    findings: Vec<&'a Diagnostic>,
}

/// A reading of the file that an option took the place of.
#[derive(Serialize)]
struct ReplacedData<'a> {
    option: &'a str,
    line: usize,
    was: &'a str,
}

/// A bend that was not pulled to the plan's angle.
#[derive(Serialize)]
struct PulledData {
    bend: usize,
    pulled_deg: f64,
    planned_deg: Option<f64>,
}

#[derive(Serialize)]
struct ReadingData {
    /// As an option of the command line says it.
    name: String,
    /// "deg" or "mm", of all of its numbers.
    unit: &'static str,
    /// The face that it is measured to, of legs and between bends.
    measured: Option<&'static str>,
    got: f64,
    planned: Option<f64>,
    off: Option<f64>,
    /// What 95 % of such readings stay within.
    accuracy: f64,
    /// Line in the file; none where an option says it.
    line: Option<usize>,
}

/// Where the spec has errors.
pub(super) fn of_unsound(spec: &ReadSpec, run: &str) -> String {
    printed(&Report { status: "errors", findings: spec.findings.iter().collect(), ..empty(spec, run) })
}

/// What was read.
pub(super) fn of(measured: &Measured<'_>) -> String {
    let Measured { spec, run, given, found } = measured;
    let readings = given.read.readings.as_ref();
    let text = |option: usize| given.options.get(option).map_or("", String::as_str);
    let options = given.options.iter().zip(&given.read.of_options);
    let pulled = readings.into_iter().flat_map(|readings| &readings.pulled);
    let report = Report {
        status: if readings.is_some() { "sound" } else { "errors" },
        file: given.file.as_ref().map(|file| file.path.display().to_string()),
        file_findings: given.read.findings.iter().collect(),
        options: options
            .map(|(text, findings)| OptionData { text, findings: findings.iter().collect() })
            .collect(),
        replaced: (given.read.replaced.iter())
            .map(|old| ReplacedData { option: text(old.option), line: old.place.line, was: &old.was })
            .collect(),
        bends: Some(run.bends.len()),
        bends_done: readings.map(|readings| readings.done),
        pulled: pulled.map(|(bend, pulled)| pulled_data(run, *bend, *pulled)).collect(),
        readings: readings.map_or_else(Vec::new, |readings| {
            readings.all.iter().map(|reading| reading_data(run, readings.done, reading)).collect()
        }),
        found: found.as_ref().map(found_data),
        ..empty(spec, &run.run)
    };
    printed(&report)
}

fn empty<'a>(spec: &ReadSpec, run: &'a str) -> Report<'a> {
    Report {
        command: "correct",
        spec: spec.path.display().to_string(),
        run,
        status: "errors",
        findings: Vec::new(),
        file: None,
        file_findings: Vec::new(),
        options: Vec::new(),
        replaced: Vec::new(),
        bends: None,
        bends_done: None,
        pulled: Vec::new(),
        readings: Vec::new(),
        found: None,
    }
}

fn printed(report: &Report<'_>) -> String {
    String::from_utf8_lossy(&export::json::document(report)).into_owned()
}

fn pulled_data(run: &Measurable, bend: usize, pulled: f64) -> PulledData {
    let planned = run.bends.iter().find(|made| made.number == bend);
    PulledData {
        bend,
        pulled_deg: pulled.to_degrees(),
        planned_deg: planned.map(|made| made.pulled.to_degrees()),
    }
}

fn reading_data(run: &Measurable, done: usize, reading: &Reading) -> ReadingData {
    let Reading { what, value, accuracy, place } = *reading;
    let in_unit = |value: f64| if is_angle(what) { value.to_degrees() } else { value };
    let planned = run.planned(what, done);
    ReadingData {
        name: run.name(what),
        unit: unit(what),
        measured: face(what).map(Into::into),
        got: in_unit(value),
        planned: planned.map(in_unit),
        off: planned.map(|planned| in_unit(off(what, value, planned))),
        accuracy: in_unit(accuracy),
        line: place.map(|place| place.line),
    }
}

fn unit(what: What) -> &'static str {
    if is_angle(what) { "deg" } else { "mm" }
}
