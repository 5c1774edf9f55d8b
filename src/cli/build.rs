//! `tubewright build`: renders every file of each spec, then puts them in place.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use indicatif::{ProgressBar, ProgressStyle};
use tubewright::build::{BuildError, Format, Options, Project};
use tubewright::diagnostic::Diagnostics;
use tubewright::drawing::sheet::{Paper, PrintSetup};
use tubewright::export::Artifact;
use tubewright::export::bundle::{Bundle, BundleError};

use super::args::{BuildArguments, ReportFormat};
use super::next::Sheets;
use super::read::{ReadSpec, read_specs};
use super::selection::{self, keep_runs};
use super::terminal::{Page, Terminal};
use super::{Outcome, report};

/// A bar for fewer jobs than this would be gone before it is read.
const JOBS_WORTH_A_BAR: usize = 200;

pub(super) fn run(terminal: &Terminal, arguments: &BuildArguments) -> Outcome {
    match try_run(terminal, arguments) {
        Ok(outcome) | Err(outcome) => outcome,
    }
}

/// Reads all, renders all, then puts all in place: a loop half rebuilt is worse than one not rebuilt.
fn try_run(terminal: &Terminal, arguments: &BuildArguments) -> Result<Outcome, Outcome> {
    let wrong = |message: String| terminal.complain(&message, Outcome::Usage);
    let text = arguments.specs.format == ReportFormat::Text;
    let options = options(arguments, timestamp().map_err(wrong)?);
    let mut specs = read_specs(terminal, &arguments.specs)?;
    keep_runs(&mut specs, &arguments.runs).map_err(wrong)?;
    let mut folders = folders(&specs, arguments.out.as_deref()).map_err(wrong)?;
    if !arguments.runs.is_empty() {
        folders = specs.iter().zip(&folders).map(|(spec, out)| selection::folder(out, spec)).collect();
    }

    if text {
        specs.iter().for_each(|spec| spec.show(terminal, arguments.specs.strict));
    }
    if !specs.iter().all(|spec| spec.sound(arguments.specs.strict)) {
        if !text {
            let report = |spec| report::SpecReport::new(spec, arguments.specs.strict);
            let reports: Vec<_> = specs.iter().map(report).collect();
            terminal.print(&report::json("build", &reports));
        }
        return Err(Outcome::SpecErrors);
    }

    let mut staged = Vec::with_capacity(specs.len());
    let mut missing = Vec::with_capacity(specs.len());
    for (spec, out) in specs.iter().zip(&folders) {
        let made = stage(terminal, spec, out, &options, arguments.specs.strict);
        let (bundle, left_out) = made.map_err(|error| match error {
            BuildError::Sink(error) => terminal.complain(&error.to_string(), Outcome::Io),
            BuildError::Findings(findings) => {
                refuse(terminal, spec, &findings, text);
                Outcome::SpecErrors
            }
        })?;
        if text {
            spec.show_findings(terminal, &left_out, terminal.quiet);
        }
        staged.push(bundle);
        missing.push(left_out);
    }
    let whole = arguments.only.is_empty() && arguments.runs.is_empty();
    place(terminal, specs.iter().zip(&folders).zip(staged).zip(&missing), &arguments.paper, text, whole)
}

/// Puts staged files in place and reports them. `whole` builds also name what is left over.
fn place<'a>(
    terminal: &Terminal,
    staged: impl Iterator<Item = (((&'a ReadSpec, &'a PathBuf), (Bundle, Sheets)), &'a Diagnostics)>,
    paper: &Paper,
    text: bool,
    whole: bool,
) -> Result<Outcome, Outcome> {
    let mut outcome = Outcome::Done;
    let mut reports = Vec::new();
    for (((spec, out), (bundle, sheets)), left_out) in staged {
        let files =
            bundle.put_in_place().map_err(|error| terminal.complain(&error.to_string(), Outcome::Io))?;
        if text {
            let left_over = if whole { left_over(out, &files) } else { String::new() };
            let summary = summary(spec, out, &files, terminal.page());
            let next = sheets.next(out, &files, paper);
            outcome = outcome.max(terminal.tell(&(summary + &left_over + &next)));
        } else {
            let mut report = report::SpecReport::new(spec, false);
            report.add_findings(left_out.iter());
            report.status = "built";
            report.out = Some(out.display().to_string());
            report.files = files;
            reports.push(report);
        }
    }
    if !text {
        outcome = outcome.max(terminal.print(&report::json("build", &reports)));
    }
    Ok(outcome)
}

fn options(arguments: &BuildArguments, timestamp: u64) -> Options {
    let formats = if arguments.only.is_empty() { Format::ALL.to_vec() } else { arguments.only.clone() };
    // A bar that printed short is stretched, and the other way round.
    let scale = arguments.printer_scale.map_or((1.0, 1.0), |bar| (100.0 / bar.0, 100.0 / bar.1));
    Options {
        formats,
        print: PrintSetup {
            paper: arguments.paper.clone(),
            scale,
            paper_thickness_mm: arguments.paper_thickness,
        },
        chord_mm: arguments.chord,
        timestamp,
    }
}

/// `SOURCE_DATE_EPOCH`, or 0 so that the same input gives the same bytes.
fn timestamp() -> Result<u64, String> {
    match std::env::var("SOURCE_DATE_EPOCH") {
        Ok(value) => value.parse().map_err(|_| {
            format!("SOURCE_DATE_EPOCH is {value:?}; it must be whole seconds since 1970-01-01")
        }),
        Err(_) => Ok(0),
    }
}

/// The output folder of each spec.
fn folders(specs: &[ReadSpec], out: Option<&Path>) -> Result<Vec<PathBuf>, String> {
    let mut seen = BTreeSet::new();
    specs
        .iter()
        .map(|spec| {
            let name = spec.path.file_stem().unwrap_or(spec.path.as_os_str());
            let folder = match out {
                Some(out) if specs.len() == 1 => out.to_owned(),
                Some(out) => out.join(name),
                None => Path::new("out").join(name),
            };
            if seen.insert(folder.clone()) {
                Ok(folder)
            } else {
                Err(format!(
                    "two specs would both be written to {}; build them one by one with --out",
                    folder.display()
                ))
            }
        })
        .collect()
}

/// Renders every file of a spec. Also returns warnings of the outputs that are left out; with `strict` these end
/// the build.
fn stage(
    terminal: &Terminal,
    spec: &ReadSpec,
    out: &Path,
    options: &Options,
    strict: bool,
) -> Result<((Bundle, Sheets), Diagnostics), BuildError<BundleError>> {
    let bundle = Bundle::new(out).map_err(BuildError::Sink)?;
    let sheets = Sheets::default();
    if let Ok(project) = &spec.project {
        let bar = progress(terminal, project, options);
        let sink = |artifact: &Artifact| {
            sheets.count(artifact);
            bundle.add(artifact)
        };
        let rendered = project.render(options, &sink, &|| bar.inc(1));
        bar.finish_and_clear();
        let left_out = rendered?;
        if strict && !left_out.is_empty() {
            return Err(BuildError::Findings(left_out));
        }
        return Ok(((bundle, sheets), left_out));
    }
    Ok(((bundle, sheets), Diagnostics::new()))
}

fn progress(terminal: &Terminal, project: &Project, options: &Options) -> ProgressBar {
    let jobs = project.job_count(options);
    if !terminal.shows_progress() || jobs < JOBS_WORTH_A_BAR {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(jobs as u64);
    if let Ok(style) = ProgressStyle::with_template("{msg} {wide_bar} {pos}/{len}") {
        bar.set_style(style);
    }
    bar.set_message(project.layout().name.clone());
    bar
}

fn refuse(terminal: &Terminal, spec: &ReadSpec, findings: &Diagnostics, text: bool) {
    if text {
        spec.show_findings(terminal, findings, false);
    } else {
        let mut report = report::SpecReport::new(spec, false);
        report.add_findings(findings.iter());
        terminal.print(&report::json("build", &[report]));
    }
}

fn summary(spec: &ReadSpec, out: &Path, files: &[String], page: Page) -> String {
    let table = spec
        .project
        .as_ref()
        .map_or_else(|_| String::new(), |project| report::run_table(project.plan(), page));
    format!("{table}{} in {}\n", report::counted(files.len(), "file"), out.display())
}

/// Names what an earlier build left of runs, forms, jigs and test pieces, so that nobody bends from an old
/// template or cuts an old part. They are the user's to delete.
fn left_over(out: &Path, files: &[String]) -> String {
    let listed = |folder: &str| -> Vec<(String, bool)> {
        let entries = std::fs::read_dir(out.join(folder)).into_iter().flatten().flatten();
        let path = |entry: &std::fs::DirEntry| format!("{folder}/{}", entry.file_name().to_string_lossy());
        entries.map(|entry| (path(&entry), entry.path().is_dir())).collect()
    };
    let mut names = Vec::new();
    for (path, is_folder) in ["runs", "forms", "jigs", "trials"].into_iter().flat_map(listed) {
        let inside = format!("{path}/");
        match is_folder {
            // A form that is now printed in two halves leaves its old whole behind.
            true if files.iter().any(|file| file.starts_with(&inside)) => names.extend(
                listed(&path).into_iter().map(|(inner, _)| inner).filter(|inner| !files.contains(inner)),
            ),
            true => names.push(inside),
            false if !files.contains(&path) => names.push(path),
            false => {}
        }
    }
    names.sort();
    if names.is_empty() {
        return String::new();
    }
    format!("not from this build, and left as they were: {}\n", names.join(", "))
}
