//! The table of all outputs: for each its file, its kind, what there is one of it for, and how it is made.

use super::work::{Files, Planned, Work, one};
use super::{Format, Options, Project, cuts, meshes, models, pages};
use crate::export;
use crate::tooling::form::Form;
use crate::tooling::jig::Jig;

use Format::{Csv, Dxf, Json, Pdf, Step, Stl, Svg};

/// An output of the program.
pub(super) struct Output {
    /// Its path below the output folder; `<run>`, `<form>` and `<piece>` stand for names.
    path: &'static str,
    format: Format,
    make: Make,
}

/// The maker of an output's files, and the things there is one of it for. Each function is given the path.
#[derive(Clone, Copy)]
enum Make {
    /// Once, from runs and components.
    Once(fn(&Work<'_>, &str) -> Files),
    /// For each run.
    Run(fn(&Work<'_>, Planned<'_>, &str) -> Files),
    /// Once, from forms, jigs or test pieces.
    Tools(fn(&Work<'_>, &str) -> Files),
    /// For each form.
    Form(fn(&Work<'_>, &Form, &str) -> Files),
    /// For each jig.
    Jig(fn(&Work<'_>, &Jig, &str) -> Files),
}

/// Every output, those that take longest first.
pub(super) const OUTPUTS: [Output; 21] = [
    Output { path: "assembly.step", format: Step, make: Make::Once(models::assembly) },
    Output { path: "runs/<run>/tube.step", format: Step, make: Make::Run(models::tube) },
    Output { path: "forms/<form>/form.step", format: Step, make: Make::Form(models::form) },
    Output { path: "jigs/<run>.step", format: Step, make: Make::Jig(models::jig) },
    Output { path: "runs/<run>/tube.stl", format: Stl, make: Make::Run(meshes::tube) },
    Output { path: "forms/<form>/<piece>.stl", format: Stl, make: Make::Form(meshes::form) },
    Output { path: "trials/<piece>.stl", format: Stl, make: Make::Tools(meshes::gauges) },
    Output { path: "templates.pdf", format: Pdf, make: Make::Once(pages::templates) },
    Output { path: "strips.pdf", format: Pdf, make: Make::Once(pages::strips) },
    Output { path: "overview.pdf", format: Pdf, make: Make::Once(pages::overview) },
    Output { path: "worksheet.pdf", format: Pdf, make: Make::Once(pages::worksheet) },
    Output { path: "forms/<form>/form.pdf", format: Pdf, make: Make::Form(pages::form) },
    Output { path: "jigs/<run>.pdf", format: Pdf, make: Make::Jig(pages::jig) },
    Output { path: "overview.svg", format: Svg, make: Make::Once(pages::overview_picture) },
    Output { path: "runs/<run>/template.svg", format: Svg, make: Make::Run(pages::template_picture) },
    Output { path: "runs/<run>/strip.svg", format: Svg, make: Make::Run(pages::strip_picture) },
    Output { path: "forms/<form>/form.dxf", format: Dxf, make: Make::Form(cuts::form) },
    Output { path: "jigs/<run>.dxf", format: Dxf, make: Make::Jig(cuts::jig) },
    Output { path: "trials/comb.dxf", format: Dxf, make: Make::Tools(cuts::comb) },
    Output { path: "bends.csv", format: Csv, make: Make::Once(bends) },
    Output { path: "plan.json", format: Json, make: Make::Tools(plan) },
];

/// Whether an output that these options ask for is made from forms, jigs or test pieces.
pub(super) fn need_tooling(options: &Options) -> bool {
    let of_tools = |output: &Output| matches!(output.make, Make::Tools(_) | Make::Form(_) | Make::Jig(_));
    asked_for(options).any(of_tools)
}

fn asked_for(options: &Options) -> impl Iterator<Item = &'static Output> {
    OUTPUTS.iter().filter(|output| options.formats.contains(&output.format))
}

/// A piece of work that gives the files of an output for one thing: the whole, or the run, form or jig at a position.
pub(super) struct Job {
    output: &'static Output,
    index: usize,
}

/// The jobs of a build.
pub(super) fn jobs(project: &Project, options: &Options) -> Vec<Job> {
    let count = |make: Make| match make {
        Make::Once(_) | Make::Tools(_) => 1,
        Make::Run(_) => project.layout.runs.len(),
        Make::Form(_) => project.tooling().forms.len(),
        Make::Jig(_) => project.tooling().jigs.len(),
    };
    asked_for(options)
        .flat_map(|output| (0..count(output.make)).map(move |index| Job { output, index }))
        .collect()
}

impl Job {
    /// Makes its files.
    pub(super) fn run(&self, work: &Work<'_>) -> Files {
        let (path, project) = (self.output.path, work.project);
        let nothing = || Ok(Vec::new());
        match self.output.make {
            Make::Once(make) | Make::Tools(make) => make(work, path),
            Make::Run(make) => {
                let run = project.layout.runs.get(self.index).zip(project.plan.runs.get(self.index));
                run.map_or_else(nothing, |(laid, plan)| {
                    make(work, Planned { laid, plan }, &path.replace("<run>", &laid.run.name))
                })
            }
            Make::Form(make) => project
                .tooling()
                .forms
                .get(self.index)
                .map_or_else(nothing, |form| make(work, form, &path.replace("<form>", &form.name))),
            Make::Jig(make) => project
                .tooling()
                .jigs
                .get(self.index)
                .map_or_else(nothing, |jig| make(work, jig, &path.replace("<run>", &jig.run))),
        }
    }
}

fn bends(work: &Work<'_>, path: &str) -> Files {
    one(path, export::csv::bends(&work.project.plan, &work.project.mark))
}

fn plan(work: &Work<'_>, path: &str) -> Files {
    let Project { plan, mark, .. } = work.project;
    one(path, export::json::plan(plan, work.project.tooling(), work.findings, mark))
}
