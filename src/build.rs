//! The pipeline: a spec's text → a checked project → every file, handed one by one to a sink.

mod limits;
mod meshes;
mod notes;
mod read;
mod tools;

use rayon::prelude::*;

use crate::centreline::{LaidRun, Layout};
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::drawing::sheet::PrintSetup;
use crate::drawing::{overview, sheet, strip, template, worksheet};
use crate::export::{self, Artifact, Meta};
use crate::plan::RunPlan;
use crate::plan::{self, Plan};
use crate::tooling::form::Form;
use crate::tooling::jig::Jig;
use crate::tooling::{self, Tooling};
use notes::Notes;

/// A kind of file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// Solid models.
    Step,
    /// Meshes.
    Stl,
    /// Printable pages.
    Pdf,
    /// Pictures and untiled templates.
    Svg,
    /// Outlines to cut.
    Dxf,
    /// The bend list.
    Csv,
    /// The plan, machine-readable.
    Json,
}

impl Format {
    /// Every kind.
    pub const ALL: [Format; 7] =
        [Format::Step, Format::Stl, Format::Pdf, Format::Svg, Format::Dxf, Format::Csv, Format::Json];

    /// Its name on the command line: the ending of its files.
    pub fn name(self) -> &'static str {
        match self {
            Format::Step => "step",
            Format::Stl => "stl",
            Format::Pdf => "pdf",
            Format::Svg => "svg",
            Format::Dxf => "dxf",
            Format::Csv => "csv",
            Format::Json => "json",
        }
    }
}

/// What to build and how.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// Kinds of file.
    pub formats: Vec<Format>,
    /// Paper and printer.
    pub print: PrintSetup,
    /// Chord height of meshes, mm.
    pub chord_mm: f64,
    /// Time stamp of files, seconds since 1970-01-01 UTC.
    pub timestamp: u64,
}

impl Default for Options {
    /// Every kind of file with the default paper and chord height, stamped 1970-01-01.
    fn default() -> Self {
        Options {
            formats: Format::ALL.to_vec(),
            print: PrintSetup::default(),
            chord_mm: crate::tolerance::CHORD_MM,
            timestamp: 0,
        }
    }
}

/// A spec that has been read, laid out, checked and planned.
#[derive(Debug, Clone, PartialEq)]
pub struct Project {
    layout: Layout,
    plan: Plan,
    tooling: Tooling,
    findings: Diagnostics,
    mark: String,
}

/// Why a build stopped.
#[derive(Debug)]
pub enum BuildError<E> {
    /// The spec asks for something that cannot be made.
    Findings(Diagnostics),
    /// The sink refused a file.
    Sink(E),
}

impl Project {
    /// Reads a spec's text. `file_name` is its name without folders.
    ///
    /// # Errors
    /// Everything wrong with it, errors and warnings, in the order of the text.
    pub fn read(text: &str, file_name: &str) -> Result<Project, Diagnostics> {
        read::project(text, file_name)
    }

    /// The runs and components in space.
    pub fn layout(&self) -> &Layout {
        &self.layout
    }

    /// Lengths, bends and marks.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// Forms, jigs and test pieces.
    pub fn tooling(&self) -> &Tooling {
        &self.tooling
    }

    /// The mark that all its files have: six letters of what they are made from.
    pub fn mark(&self) -> &str {
        &self.mark
    }

    /// Warnings.
    pub fn findings(&self) -> &Diagnostics {
        &self.findings
    }

    /// Keeps only the named runs, as if the spec had no other: the stock is cut for them alone. Clearances
    /// still count the others.
    ///
    /// # Errors
    /// The first name that is no run's.
    pub fn keep_runs(&mut self, names: &[String]) -> Result<(), String> {
        if let Some(unknown) = names.iter().find(|n| !self.layout.runs.iter().any(|r| r.run.name == **n)) {
            return Err(unknown.clone());
        }
        let keep = |name: &String| names.contains(name);
        self.layout.runs.retain(|r| keep(&r.run.name));
        let kept: Vec<Diagnostic> = std::mem::take(&mut self.findings)
            .into_iter()
            .filter(|d| d.is_about(keep) && d.code != overview::TOO_LARGE)
            .collect();
        self.findings.extend(kept);
        self.findings.extend(overview::too_large(&self.layout));
        plan::narrow(&mut self.plan, &self.layout, &mut self.findings);
        tooling::narrow(&mut self.tooling, &self.layout, &self.plan, &mut self.findings);
        Ok(())
    }

    /// Renders every file the options ask for and hands each to `sink`, from several threads and in
    /// no set order. `step` is called once per finished job of [`Project::job_count`]. Returns warnings of the
    /// outputs that are left out for being beyond a limit, and of files that are not quite what the options ask for.
    ///
    /// # Errors
    /// The first file that could not be made or was refused.
    pub fn render<E: Send>(
        &self,
        options: &Options,
        sink: &(dyn Fn(&Artifact) -> Result<(), E> + Sync),
        step: &(dyn Fn() + Sync),
    ) -> Result<Diagnostics, BuildError<E>> {
        let mark = self.mark.clone();
        let meta = Meta { title: self.layout.title.clone(), mark, timestamp: options.timestamp };
        let notes = Notes::default();
        let run = |job: &Job<'_>| {
            let artifacts = match self.run_job(job, options, &meta, &notes) {
                Ok(artifacts) => artifacts,
                Err(Unmade::LeftOut(why)) => {
                    step();
                    return Ok(Some(*why));
                }
                Err(Unmade::Failed(findings)) => return Err(BuildError::Findings(findings)),
            };
            artifacts.iter().try_for_each(|artifact| sink(artifact).map_err(BuildError::Sink))?;
            step();
            Ok(None)
        };
        let left_out: Vec<Option<Diagnostic>> =
            self.jobs(options).par_iter().map(run).collect::<Result<_, _>>()?;
        let mut findings = Diagnostics::new();
        findings.extend(left_out.into_iter().flatten());
        findings.extend(notes.finish());
        Ok(findings)
    }

    /// How many jobs [`Project::render`] has with these options.
    pub fn job_count(&self, options: &Options) -> usize {
        self.jobs(options).len()
    }

    fn jobs(&self, options: &Options) -> Vec<Job<'_>> {
        let mut jobs = Vec::new();
        for format in Format::ALL.into_iter().filter(|f| options.formats.contains(f)) {
            match format {
                Format::Pdf => {
                    jobs.extend([Job::Templates, Job::Strips, Job::OverviewPdf, Job::Worksheet]);
                    jobs.extend(self.tooling.forms.iter().map(Job::FormPdf));
                    jobs.extend(self.tooling.jigs.iter().map(Job::JigPdf));
                }
                Format::Step => {
                    jobs.push(Job::Assembly);
                    jobs.extend(self.layout.runs.iter().map(Job::TubeStep));
                    jobs.extend(self.tooling.forms.iter().map(Job::FormStep));
                    jobs.extend(self.tooling.jigs.iter().map(Job::JigStep));
                }
                Format::Stl => {
                    jobs.extend(self.layout.runs.iter().map(Job::TubeStl));
                    jobs.extend(self.tooling.forms.iter().map(Job::FormStl));
                    jobs.push(Job::Gauges);
                }
                Format::Svg => {
                    jobs.push(Job::OverviewSvg);
                    jobs.extend(self.layout.runs.iter().map(Job::TemplateSvg));
                    jobs.extend(self.plan.runs.iter().map(Job::StripSvg));
                }
                Format::Dxf => {
                    jobs.extend(self.tooling.forms.iter().map(Job::FormDxf));
                    jobs.extend(self.tooling.jigs.iter().map(Job::JigDxf));
                    jobs.push(Job::Comb);
                }
                Format::Csv => jobs.push(Job::Csv),
                Format::Json => jobs.push(Job::Json),
            }
        }
        jobs
    }

    fn run_job(
        &self,
        job: &Job<'_>,
        options: &Options,
        meta: &Meta,
        notes: &Notes,
    ) -> Result<Vec<Artifact>, Unmade> {
        let layout = &self.layout;
        let one = |path: String, bytes: Vec<u8>| Ok(vec![Artifact { path, bytes }]);
        match *job {
            Job::Assembly => {
                if let Some(why) = limits::assembly(layout) {
                    return Err(left_out(why));
                }
                one("assembly.step".into(), export::step::assembly_file(layout, meta).map_err(failed)?)
            }
            Job::TubeStep(run) => {
                one(run_file(run, "tube.step"), export::step::tube_file(run, meta).map_err(failed)?)
            }
            Job::TubeStl(run) => Ok(meshes::tube_stl(run, options.chord_mm, layout.units, meta, notes)?),
            Job::Templates => {
                let sheets = sheet::template_sheets(layout, &self.plan, &options.print).map_err(left_out)?;
                one("templates.pdf".into(), export::pdf::render(&sheets, meta))
            }
            Job::TemplateSvg(run) => {
                let drawing = template::template_drawing(layout, &self.plan, run);
                one(run_file(run, "template.svg"), export::svg::render(&drawing, meta))
            }
            Job::Strips => {
                // A loop of straight pieces alone may have none.
                let strips = sheet::strip_sheets(&self.plan, &options.print).map_err(left_out)?;
                strips.too_high.into_iter().for_each(|warning| notes.add(warning));
                let sheets = strips.sheets;
                let file =
                    || Artifact { path: "strips.pdf".into(), bytes: export::pdf::render(&sheets, meta) };
                Ok((!sheets.is_empty()).then(file).into_iter().collect())
            }
            Job::StripSvg(run) => {
                let drawing = strip::strip_drawing(&self.plan, run, options.print.paper_thickness_mm);
                let file = |drawing| Artifact {
                    path: format!("runs/{}/strip.svg", run.name),
                    bytes: export::svg::render(&drawing, meta),
                };
                Ok(drawing.map(file).into_iter().collect())
            }
            Job::OverviewPdf => one(
                "overview.pdf".into(),
                export::pdf::render(&[overview::sheet(layout, &self.findings)], meta),
            ),
            Job::OverviewSvg => one(
                "overview.svg".into(),
                export::svg::render(&overview::overview(layout, &self.findings), meta),
            ),
            Job::Worksheet => {
                if let Some(why) = limits::worksheet(layout) {
                    return Err(left_out(why));
                }
                let sheets = worksheet::worksheet(layout, &self.plan, &self.findings, &options.print.paper);
                one("worksheet.pdf".into(), export::pdf::render(sheets, meta))
            }
            Job::FormStep(form) => Ok(tools::form_step(form, meta)?),
            Job::FormStl(form) => Ok(meshes::form_stl(form, options.chord_mm, meta, notes)?),
            Job::FormDxf(form) => Ok(tools::form_dxf(form, &layout.workshop.sheet, meta)?),
            Job::FormPdf(form) => Ok(tools::form_pdf(form, layout, &options.print.paper, meta)?),
            Job::JigStep(jig) => Ok(tools::jig_step(jig, layout, meta)?),
            Job::JigDxf(jig) => Ok(tools::jig_dxf(jig, &layout.workshop.sheet, meta)?),
            Job::JigPdf(jig) => Ok(tools::jig_pdf(jig, layout, &options.print.paper, meta)?),
            Job::Comb => Ok(tools::comb(&self.tooling.comb, &layout.workshop.sheet, meta)?),
            Job::Gauges => Ok(meshes::gauges(&self.tooling.gauges, options.chord_mm, meta, notes)?),
            Job::Csv => one("bends.csv".into(), export::csv::bends(&self.plan, &self.mark)),
            Job::Json => one(
                "plan.json".into(),
                export::json::plan(&self.plan, &self.tooling, &self.findings, &self.mark),
            ),
        }
    }
}

/// Why a job gave no files.
enum Unmade {
    /// Its output is beyond a limit; the others are made.
    LeftOut(Box<Diagnostic>),
    /// The build ends.
    Failed(Diagnostics),
}

impl From<Diagnostics> for Unmade {
    fn from(findings: Diagnostics) -> Self {
        Unmade::Failed(findings)
    }
}

fn left_out(why: Diagnostic) -> Unmade {
    Unmade::LeftOut(Box::new(why))
}

/// One piece of work that gives one or more files.
enum Job<'a> {
    Assembly,
    TubeStep(&'a LaidRun),
    TubeStl(&'a LaidRun),
    Templates,
    TemplateSvg(&'a LaidRun),
    Strips,
    StripSvg(&'a RunPlan),
    OverviewPdf,
    OverviewSvg,
    Worksheet,
    FormStep(&'a Form),
    FormStl(&'a Form),
    FormDxf(&'a Form),
    FormPdf(&'a Form),
    JigStep(&'a Jig),
    JigDxf(&'a Jig),
    JigPdf(&'a Jig),
    Comb,
    Gauges,
    Csv,
    Json,
}

fn run_file(run: &LaidRun, file: &str) -> String {
    format!("runs/{}/{file}", run.run.name)
}

fn single(diagnostic: Diagnostic) -> Diagnostics {
    let mut findings = Diagnostics::new();
    findings.push(diagnostic);
    findings
}

/// A writer's own fault, as a finding.
fn failed(error: impl std::fmt::Display) -> Diagnostics {
    let hint = "this is a fault of the program, not of the spec; slightly different lengths may avoid it";
    single(Diagnostic::error("output", error.to_string()).hint(hint))
}
