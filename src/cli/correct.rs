//! `tubewright correct`: a bent tube, or one that is bent in part, held against its plan by what was measured on it.

mod advice;
mod found;
mod json;
mod text;

use std::path::Path;

use tubewright::build::{Checked, Project};
use tubewright::correct::{Correction, correct};
use tubewright::diagnostic::{Diagnostics, Severity, harmless, render, render_wrapped};
use tubewright::plan::measurable;
use tubewright::spec::model::{Measurable, Readings};
use tubewright::spec::readings::{Read, blank, read};

use super::Outcome;
use super::args::{CorrectArguments, ReportFormat, SpecArguments};
use super::init::write_new;
use super::read::{ReadSpec, STDIN, read_specs, read_text};
use super::selection::planned;
use super::terminal::{Terminal, shown};

/// What was measured on a tube, as it was given.
struct Given<'a> {
    /// The file; its findings are those of reading it.
    file: Option<ReadSpec<()>>,
    /// The options.
    options: &'a [String],
    read: Read,
}

/// A tube that was measured, held against its plan.
struct Measured<'a> {
    spec: &'a ReadSpec,
    /// What can be measured on it.
    run: &'a Measurable,
    given: &'a Given<'a>,
    /// The tube and the advice; none without sound readings.
    found: Option<Correction>,
}

pub(super) fn run(terminal: &Terminal, arguments: &CorrectArguments) -> Outcome {
    let CorrectArguments { spec, run, file, set, write, twist, format } = arguments;
    let is_stdin = |path: &Path| path.as_os_str() == STDIN;
    if file.is_none() && set.is_empty() && write.is_none() {
        let what = format!(
            "nothing says what was measured: name a file of readings, or write them as `--set`; \
             `tubewright correct {} {} --write FILE` writes a file to fill in",
            shown(spec),
            harmless(run)
        );
        return terminal.complain(&what, Outcome::Usage);
    }
    if is_stdin(spec) && file.as_deref().is_some_and(is_stdin) {
        return terminal.complain("standard input can be read once only", Outcome::Usage);
    }
    let (spec, names) = match read_spec(terminal, arguments) {
        Ok(read) => read,
        Err(outcome) => return outcome,
    };
    let Some(measurable) = spec.project.as_ref().and_then(|project| of_run(project, run, names)) else {
        if *format == ReportFormat::Json {
            return terminal.print(&json::of_unsound(&spec, run)).max(Outcome::SpecErrors);
        }
        spec.show(terminal, false);
        return Outcome::SpecErrors;
    };
    if let Some(file) = write {
        return write_blank(terminal, &spec, &measurable, file);
    }
    let given = match given(terminal, file.as_deref(), set, &measurable) {
        Ok(given) => given,
        Err(outcome) => return outcome,
    };
    let project = spec.project.as_ref();
    let found = project.zip(given.read.readings.as_ref()).and_then(|(project, readings)| {
        correct(project.layout(), project.plan(), &measurable.run, readings, *twist)
    });
    report(terminal, &Measured { spec: &spec, run: &measurable, given: &given, found }, *format)
}

/// The spec with its run planned, and the names of all of its runs.
fn read_spec(terminal: &Terminal, arguments: &CorrectArguments) -> Result<(ReadSpec, Vec<String>), Outcome> {
    let specs = vec![arguments.spec.clone()];
    let one = SpecArguments { specs, strict: false, format: arguments.format };
    let specs = read_specs::<Checked>(terminal, &one)?;
    let checked = specs.first().and_then(|spec| spec.project.as_ref());
    let names = checked.map_or_else(Vec::new, |checked| checked.run_names().map(str::to_owned).collect());
    let planned = planned(specs, std::slice::from_ref(&arguments.run), None);
    let specs = planned.map_err(|unknown| terminal.complain(&unknown, Outcome::Usage))?;
    let spec = specs.into_iter().next().ok_or(Outcome::Usage)?;
    Ok((spec, names))
}

fn of_run(project: &Project, run: &str, names: Vec<String>) -> Option<Measurable> {
    let measurable = measurable(project.layout(), project.plan().run(run)?)?;
    Some(Measurable { runs: names, ..measurable })
}

fn write_blank(terminal: &Terminal, spec: &ReadSpec, run: &Measurable, file: &Path) -> Outcome {
    let name = if file.as_os_str() == STDIN { "FILE".to_owned() } else { shown(file) };
    let path = shown(&spec.path);
    let next = format!("fill it in, then tubewright correct {path} {} {name}", run.run);
    write_new(terminal, file, &blank(run, &path, &name), &next)
}

/// Reads what was measured.
fn given<'a>(
    terminal: &Terminal,
    file: Option<&Path>,
    options: &'a [String],
    run: &Measurable,
) -> Result<Given<'a>, Outcome> {
    let Some(path) = file else {
        return Ok(Given { file: None, options, read: read(None, options, run) });
    };
    let (text, not_text) = read_text(terminal, path, "file of readings")?;
    let read = match not_text {
        Some(not_text) => {
            let mut findings = Diagnostics::new();
            findings.push(not_text);
            let of_options = vec![Diagnostics::new(); options.len()];
            Read { readings: None, findings, of_options, replaced: Vec::new() }
        }
        None => read(Some(&text), options, run),
    };
    let findings = read.findings.clone();
    Ok(Given { file: Some(ReadSpec { path: path.to_owned(), text, project: None, findings }), options, read })
}

impl Given<'_> {
    /// The name of what the readings are from, for people.
    fn called(&self) -> String {
        self.file.as_ref().map_or_else(|| "--set".to_owned(), ReadSpec::called)
    }

    /// Shows what was found in reading, on standard error, and which readings options took the place of.
    fn show(&self, terminal: &Terminal) {
        match &self.file {
            Some(file) => file.show_findings(terminal, &self.read.findings, terminal.quiet),
            None => show(terminal, &self.read.findings, &self.called(), ""),
        }
        for (option, findings) in self.options.iter().zip(&self.read.of_options) {
            show(terminal, findings, "--set", option);
        }
        for replaced in self.read.replaced.iter().filter(|_| !terminal.quiet) {
            let option = self.options.get(replaced.option).map_or("", String::as_str);
            let (was, line) = (harmless(&replaced.was), replaced.place.line);
            let file = self.called();
            terminal.message(&format!(
                "note: `--set '{}'` goes before {was} on line {line} of {file}\n",
                harmless(option)
            ));
        }
    }
}

/// Shows findings in a text that is not in a file.
fn show(terminal: &Terminal, findings: &Diagnostics, name: &str, text: &str) {
    let mut shown = findings.clone();
    shown.retain(|finding| !terminal.quiet || finding.severity == Severity::Error);
    if shown.is_empty() {
        return;
    }
    let colour = terminal.colour_messages();
    let message = match terminal.message_columns() {
        Some(columns) => render_wrapped(&shown, name, text, colour, columns),
        None => render(&shown, name, text, colour),
    };
    terminal.message(&message);
}

fn report(terminal: &Terminal, measured: &Measured<'_>, format: ReportFormat) -> Outcome {
    let outcome = match &measured.given.read.readings {
        Some(_) => Outcome::Done,
        None => Outcome::SpecErrors,
    };
    match format {
        ReportFormat::Json => outcome.max(terminal.print(&json::of(measured))),
        ReportFormat::Text => {
            measured.given.show(terminal);
            let Some(readings) = &measured.given.read.readings else { return outcome };
            outcome.max(terminal.tell(&told(measured, readings, terminal)))
        }
    }
}

/// The whole report for people: first what was read.
fn told(measured: &Measured<'_>, readings: &Readings, terminal: &Terminal) -> String {
    let page = terminal.page();
    let read = text::readings(measured, readings, page);
    let Some(found) = &measured.found else { return read };
    let Some((plan, project)) = measured
        .spec
        .project
        .as_ref()
        .and_then(|project| Some((project.plan().run(&measured.run.run)?, project)))
    else {
        return read;
    };
    let there = advice::there(found, measured.run, page);
    let next = advice::next(found, (measured.run, plan), page);
    let new = advice::new_findings(found, project, page);
    [read, there, next, new].into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join("\n")
}
