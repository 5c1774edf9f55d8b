//! `tubewright build`: renders every file of each spec, then puts them in place.

use std::path::{Path, PathBuf};

use indicatif::{ProgressBar, ProgressStyle};
use tubewright::build::{BuildError, Format, Options, Project};
use tubewright::diagnostic::Diagnostics;
use tubewright::drawing::sheet::PrintSetup;
use tubewright::export::Artifact;
use tubewright::export::bundle::{Bundle, BundleError};

use super::args::{BuildArguments, ReportFormat};
use super::folders::{folders, say_mended};
use super::left_over::LeftOver;
use super::next::Sheets;
use super::read::{ReadSpec, read_specs};
use super::selection::{self, planned};
use super::terminal::{Page, Terminal, shown};
use super::{Outcome, interrupt, report};

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
    let specs = read_specs(terminal, &arguments.specs)?;
    let specs = planned(specs, &arguments.runs, Some(&options)).map_err(wrong)?;
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

    let wrote = |error: BundleError| {
        if matches!(error, BundleError::Ended) {
            interrupt::wait_for_the_end();
        }
        terminal.complain(&error.to_string(), Outcome::Io)
    };
    let bundle = interrupt::open(&folders).map_err(wrote)?;
    for (out, mended) in bundle.mended() {
        say_mended(terminal, out, Some(*mended));
    }
    let mut all = Vec::with_capacity(specs.len());
    for (index, spec) in specs.iter().enumerate() {
        let made = stage(terminal, spec, index, &bundle, &options, arguments.specs.strict);
        let made = made.map_err(|error| match error {
            BuildError::Sink(error) => wrote(error),
            BuildError::Findings(findings) => {
                refuse(terminal, spec, &findings, text);
                Outcome::SpecErrors
            }
        })?;
        if text {
            spec.show_findings(terminal, &made.left_out, terminal.quiet);
        }
        all.push(made);
    }
    let files = bundle.put_in_place().map_err(wrote)?;
    // Some runs alone have a folder of their own, which holds nothing else.
    let whole = arguments.only.is_empty();
    Ok(tell(terminal, specs.iter().zip(&folders).zip(files.into_iter().zip(&all)), arguments, whole))
}

/// Reports files that are in place. `whole` builds also name what is left over.
fn tell<'a>(
    terminal: &Terminal,
    built: impl Iterator<Item = ((&'a ReadSpec, &'a PathBuf), (Vec<String>, &'a Made))>,
    arguments: &BuildArguments,
    whole: bool,
) -> Outcome {
    let text = arguments.specs.format == ReportFormat::Text;
    let mut outcome = Outcome::Done;
    let mut reports = Vec::new();
    for ((spec, out), (files, made)) in built {
        let Some(project) = &spec.project else { continue };
        let runs: Vec<&str> = project.layout().runs.iter().map(|laid| laid.run.name.as_str()).collect();
        let left_over = LeftOver::of(out, &files, project.mark(), whole, &runs);
        if text {
            let summary = summary(project, out, &files, terminal.page());
            let next = made.sheets.next(out, &files, &arguments.paper);
            outcome = outcome.max(terminal.tell(&(summary + &left_over.text() + &next)));
        } else {
            let mut report = report::SpecReport::new(spec, false);
            report.add_findings(made.left_out.iter());
            report.status = "built";
            report.out = Some(out.display().to_string());
            report.files = files;
            report.left_over = Some(left_over);
            reports.push(report);
        }
    }
    if !text {
        outcome = outcome.max(terminal.print(&report::json("build", &reports)));
    }
    outcome
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

/// The report of a build about a spec, beside its files.
struct Made {
    /// The sheets to print.
    sheets: Sheets,
    /// Warnings of the outputs that are left out.
    left_out: Diagnostics,
}

/// Renders every file of a spec into the output folder of this index. With `strict`, outputs that are left out end
/// the build.
fn stage(
    terminal: &Terminal,
    spec: &ReadSpec,
    index: usize,
    bundle: &Bundle,
    options: &Options,
    strict: bool,
) -> Result<Made, BuildError<BundleError>> {
    let sheets = Sheets::default();
    let Some(project) = &spec.project else { return Ok(Made { sheets, left_out: Diagnostics::new() }) };
    let bar = progress(terminal, project, options);
    let sink = |artifact: &Artifact| {
        sheets.count(artifact);
        bundle.add(index, artifact)
    };
    let rendered = project.render(options, &sink, &|| bar.inc(1));
    bar.finish_and_clear();
    let left_out = rendered?;
    if strict && !left_out.is_empty() {
        return Err(BuildError::Findings(left_out));
    }
    Ok(Made { sheets, left_out })
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

fn summary(project: &Project, out: &Path, files: &[String], page: Page) -> String {
    let table = report::run_table(project.plan(), page);
    let counted = report::counted(files.len(), "file");
    format!("{table}{counted} in {}, plan mark {}\n", shown(out), project.mark())
}
