//! A file of readings, held against the run that it is of.

mod bends;
mod number;
mod order;
mod slips;
mod templates;

use super::known_format;
use crate::diagnostic::{Diagnostic, Diagnostics, Span};
use crate::quantity::Unit;
use crate::spec::fields::{Fields, Reader, UnitFrom};
use crate::spec::keys::{self, READINGS};
use crate::spec::model::{Accuracy, LegMeasure, Measurable, Reading, Readings, What};
use crate::spec::node::Node;
use crate::spelling;

use number::{Number, filled};

/// How to begin where there is nothing yet.
const BEGIN: &str = "`tubewright correct SPEC RUN --write FILE` writes a file to fill in";

/// The text that is read: a file's, and behind it the options of the command line.
#[derive(Debug, Clone, Copy)]
pub(in crate::spec) struct Source {
    /// Places from here on, bytes, are those of options.
    pub(in crate::spec) options: usize,
}

impl Source {
    /// Where a place is, for a message about another one: "line 4".
    fn told(self, place: Span) -> String {
        if place.start < self.options { format!("line {}", place.line) } else { "`--set`".to_owned() }
    }
}

/// What is read of a tube.
struct Tube<'r> {
    run: &'r Measurable,
    source: Source,
    /// Bends that are made.
    done: usize,
    /// Where legs are measured to.
    measured: LegMeasure,
    accuracy: Accuracy,
    pulled: Vec<(usize, f64)>,
    taken: Vec<Taken>,
}

/// A reading that was taken.
#[derive(Debug, Clone)]
struct Taken {
    what: What,
    number: Number,
    /// Its key.
    key: &'static str,
    /// The number as it is written.
    text: String,
}

/// Reads a file of readings of a run; none where there are errors.
pub(in crate::spec) fn document(
    root: Option<&Node>,
    run: &Measurable,
    source: Source,
) -> (Option<Readings>, Diagnostics) {
    let mut reader = Reader::new(&READINGS);
    reader.unit = run.unit;
    reader.enter_run(Some(&run.run));
    let Some(root) = root else {
        let hint = format!("begin with `format: 1` and `readings: {}`; {BEGIN}", run.run);
        reader.note(Diagnostic::error("empty-file", "the file has no content").hint(hint));
        return (None, reader.finish());
    };
    let mut tube = Tube {
        run,
        source,
        done: run.bends.len(),
        measured: LegMeasure::Outside,
        accuracy: Accuracy::default(),
        pulled: Vec::new(),
        taken: Vec::new(),
    };
    if known_format(&mut reader, root)
        && let Some(fields) = reader.fields(root, &READINGS, root.place)
    {
        tube.read(&mut reader, root, &fields);
    }
    let findings = reader.finish();
    let readings = (!findings.has_errors()).then(|| tube.readings());
    (readings, findings)
}

impl Tube<'_> {
    fn read(&mut self, reader: &mut Reader, root: &Node, fields: &Fields<'_>) {
        let written = reader.needs(fields, "format").then(|| reader.value(fields, "format")).flatten();
        if let Some((_, node)) = written {
            reader.text(node, "the number 1");
        }
        if !self.is_of_the_run(reader, fields) {
            return;
        }
        unit(reader, fields);
        self.count(reader, fields);
        if filled(reader, fields, "measured").is_some() {
            self.measured = reader.choice(fields, "measured").unwrap_or(self.measured);
        }
        self.accuracy(reader, fields);
        let before = reader.errors();
        self.take(reader, fields, "cut", What::Cut);
        bends::read(self, reader, fields);
        self.last_leg(reader, fields);
        templates::read(self, reader, fields);
        if reader.unit_from == UnitFrom::Unreadable {
            return;
        }
        // One finding for a reading: a warning says no more than an error of its own.
        let impossible = order::check(self, reader);
        for taken in self.taken.iter().filter(|taken| !impossible.contains(&taken.what)) {
            if let Some((code, message, hint)) = slips::explain(self, reader.unit, taken) {
                reader.warning(code, taken.number.place, message, hint);
            }
        }
        if reader.errors() == before && self.taken.is_empty() && self.pulled.is_empty() {
            let message = format!("nothing that was measured on the tube of run {} is here", self.run.run);
            reader.error("no-readings", fields.place_of("readings"), message, self.example(root));
        }
    }

    /// What to write where there is no reading yet.
    fn example(&self, root: &Node) -> String {
        let begun = root.get("bends").is_some();
        match self.run.bends.first() {
            Some(bend) if begun => {
                format!(
                    "write what you measured behind a key, such as `angle: 88.5` below `{}:`",
                    bend.number
                )
            }
            Some(bend) => {
                format!(
                    "write what you measured, such as `bends: {{{}: {{angle: 88.5}}}}`; {BEGIN}",
                    bend.number
                )
            }
            None => format!("write what you measured, such as `cut: 420`; {BEGIN}"),
        }
    }

    /// Whether the file is of the run; noted where it is not.
    fn is_of_the_run(&self, reader: &mut Reader, fields: &Fields<'_>) -> bool {
        if !fields.has("readings") {
            reader.missing(fields, "readings");
            return true;
        }
        let Some(named) = reader.words(fields, "readings") else { return false };
        let Measurable { run, runs, .. } = self.run;
        if named == *run {
            return true;
        }
        let place = fields.value_place("readings");
        if runs.contains(&named) {
            let message = format!("these are readings of run {named}, and run {run} is asked for");
            let hint =
                format!("correct run {named} by them, or write `readings: {run}` if they are of that one");
            reader.error("other-run", place, message, hint);
        } else {
            let message = format!("the spec has no run `{named}`");
            let hint = spelling::advice(&named, "runs", runs.iter().map(String::as_str));
            reader.error("unknown-run", place, message, hint);
        }
        false
    }

    /// Reads how many bends are made.
    fn count(&mut self, reader: &mut Reader, fields: &Fields<'_>) {
        if filled(reader, fields, "bends_done").is_none() {
            return;
        }
        let Some(done) = reader.count(fields, "bends_done") else { return };
        let all = self.run.bends.len();
        if done <= all {
            self.done = done;
            return;
        }
        let bends = if all == 1 { "1 bend".to_owned() } else { format!("{all} bends") };
        let message = format!("`bends_done` is {done}, and run {} has {bends}", self.run.run);
        let hint = format!("write 0 to {all}; leave it empty where all are made");
        reader.error("out-of-range", fields.value_place("bends_done"), message, hint);
    }

    fn accuracy(&mut self, reader: &mut Reader, fields: &Fields<'_>) {
        let Some((_, node)) = filled(reader, fields, "accuracy") else { return };
        let Some(fields) = reader.fields(node, &keys::ACCURACY, fields.place_of("accuracy")) else { return };
        let mut angle =
            |key: &'static str| filled(reader, &fields, key).and_then(|_| reader.angle(&fields, key));
        let (angles, turns) = (angle("angle"), angle("turn"));
        let mut length =
            |key: &'static str| filled(reader, &fields, key).and_then(|_| reader.length(&fields, key));
        let usual = self.accuracy;
        self.accuracy = Accuracy {
            angle: angles.unwrap_or(usual.angle),
            turn: turns.unwrap_or(usual.turn),
            length: length("length").unwrap_or(usual.length),
            arc: length("arc").unwrap_or(usual.arc),
            template: length("template").unwrap_or(usual.template),
        };
    }

    fn last_leg(&mut self, reader: &mut Reader, fields: &Fields<'_>) {
        let place = fields.place_of("last_leg");
        if filled(reader, fields, "last_leg").is_none() {
            return;
        }
        match self.done.checked_sub(1).and_then(|last| self.run.bends.get(last)) {
            Some(last) if bends::crosses(reader, last, "last_leg", place) => {
                self.take(reader, fields, "last_leg", What::LastLeg(self.measured));
            }
            Some(_) => {}
            None => {
                let hint = "delete it; the length of a straight tube is `cut`";
                reader.error("not-made-yet", place, "there is no last leg: no bend is made", hint);
            }
        }
    }

    /// Takes the reading behind a key, where there is one.
    fn take(&mut self, reader: &mut Reader, fields: &Fields<'_>, key: &'static str, what: What) {
        let Some(number) = number::number(reader, fields, key) else { return };
        let text = fields.node(key).map_or("", number::written).to_owned();
        self.taken.push(Taken { what, number, key, text });
    }

    /// The length of the straight tube, as read or else as planned, mm.
    fn cut(&self) -> f64 {
        let read = self.taken.iter().find(|taken| taken.what == What::Cut);
        read.map_or(self.run.cut, |taken| taken.number.value)
    }

    fn readings(self) -> Readings {
        let place = |number: &Number| (number.place.start < self.source.options).then_some(number.place);
        let reading = |taken: &Taken| Reading {
            what: taken.what,
            value: taken.number.value,
            accuracy: taken.number.accuracy.unwrap_or_else(|| self.accuracy.of(taken.what)),
            place: place(&taken.number),
        };
        Readings { done: self.done, all: self.taken.iter().map(reading).collect(), pulled: self.pulled }
    }
}

/// The unit of bare numbers: the file's own, or else the spec's.
fn unit(reader: &mut Reader, fields: &Fields<'_>) {
    if filled(reader, fields, "units").is_none() {
        return;
    }
    match reader.chosen(fields, "units").and_then(Unit::from_name) {
        // A word that is only meant is an error, and lengths are not compared by a guess.
        Some(unit) if fields.node("units").and_then(Node::scalar) == Some(unit.name()) => {
            reader.unit = unit;
            reader.unit_from = UnitFrom::Written;
        }
        _ => reader.unit_from = UnitFrom::Unreadable,
    }
}
