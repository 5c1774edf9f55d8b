//! The pipeline: a spec's text → a checked project → every file, handed one by one to a sink.

mod cuts;
mod limits;
mod meshes;
mod models;
mod notes;
mod outputs;
mod pages;
mod read;
mod work;

use std::convert::Infallible;
use std::sync::{Mutex, OnceLock, PoisonError};

use rayon::prelude::*;
use strum::{IntoStaticStr, VariantArray};

use crate::centreline::Layout;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::drawing::sheet::PrintSetup;
use crate::export::{Artifact, Meta};
use crate::plan::Plan;
use crate::solid::Tubes;
use crate::spec::Resolver;
use crate::tooling::{self, Tooling};
use notes::Notes;
use work::{Unmade, Work};

pub use read::{Checked, Unrouted};

/// A kind of file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
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
    pub const ALL: &'static [Format] = Format::VARIANTS;

    /// Its name on the command line: the ending of its files.
    pub fn name(self) -> &'static str {
        self.into()
    }
}

/// The kinds of file to build, and their settings.
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
#[derive(Debug, Clone)]
pub struct Project {
    layout: Layout,
    tubes: Tubes,
    plan: Plan,
    findings: Diagnostics,
    mark: String,
    /// Forms, jigs and test pieces with their findings, once something asks for them.
    designed: OnceLock<(Tooling, Diagnostics)>,
}

/// Why a build stopped.
#[derive(Debug)]
pub enum BuildError<E> {
    /// The spec asks for something that cannot be made.
    Findings(Diagnostics),
    /// The sink refused a file.
    Sink(E),
}

/// The files of a build.
#[derive(Debug, Clone, PartialEq)]
pub struct Built {
    /// By path.
    pub files: Vec<Artifact>,
    /// Warnings of outputs that are left out, and of files that are not quite what the options ask for.
    pub findings: Diagnostics,
}

impl Project {
    /// Reads the text of a spec that names no files and plans all its runs. `file_name` is its name without folders.
    ///
    /// # Errors
    /// Everything wrong with it, errors and warnings, in the order of the text.
    pub fn read(text: &str, file_name: &str) -> Result<Project, Diagnostics> {
        Checked::read(text, file_name).plan()
    }

    /// The same of a spec that may name files: `resolver` gives the content of each by the name in the spec.
    ///
    /// # Errors
    /// As for [`Project::read`], and for files that `resolver` does not give.
    pub fn read_with(text: &str, file_name: &str, resolver: &Resolver<'_>) -> Result<Project, Diagnostics> {
        Checked::read_with(text, file_name, resolver).plan()
    }

    /// The runs and components in space.
    pub fn layout(&self) -> &Layout {
        &self.layout
    }

    /// Lengths, bends and marks.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// Forms, jigs and test pieces; designed when they are first asked for.
    pub fn tooling(&self) -> &Tooling {
        &self.designed().0
    }

    fn designed(&self) -> &(Tooling, Diagnostics) {
        self.designed.get_or_init(|| tooling::tooling(&self.layout, &self.plan))
    }

    /// The mark that all its files have: six letters of what they are made from.
    pub fn mark(&self) -> &str {
        &self.mark
    }

    /// Warnings of the runs: how they fit, and how they are bent.
    pub fn findings(&self) -> &Diagnostics {
        &self.findings
    }

    /// Warnings of everything that a build with these options is made from: of the runs, and of forms, jigs and test
    /// pieces where a file of theirs is asked for.
    pub fn findings_of(&self, options: &Options) -> Diagnostics {
        let mut findings = self.findings.clone();
        if outputs::need_tooling(options) {
            findings.extend(self.designed().1.iter().cloned());
            findings.sort_by_place();
        }
        findings
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
        let (notes, findings) = (Notes::default(), self.findings_of(options));
        let work = Work { project: self, findings: &findings, options, meta: &meta, notes: &notes };
        let run = |job: &outputs::Job| {
            let artifacts = match job.run(&work) {
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
            outputs::jobs(self, options).par_iter().map(run).collect::<Result<_, _>>()?;
        let mut findings = Diagnostics::new();
        findings.extend(left_out.into_iter().flatten());
        findings.extend(notes.finish());
        Ok(findings)
    }

    /// Every file the options ask for, in memory; see [`Project::render`] for one at a time.
    ///
    /// # Errors
    /// Why a file could not be made.
    pub fn files(&self, options: &Options) -> Result<Built, Diagnostics> {
        let files = Mutex::new(Vec::new());
        let keep = |file: &Artifact| {
            files.lock().unwrap_or_else(PoisonError::into_inner).push(file.clone());
            Ok(())
        };
        let findings = self.render::<Infallible>(options, &keep, &|| ()).map_err(|error| match error {
            BuildError::Findings(findings) => findings,
            BuildError::Sink(never) => match never {},
        })?;
        let mut files = files.into_inner().unwrap_or_else(PoisonError::into_inner);
        files.sort_by(|a, b| a.path.cmp(&b.path));
        Ok(Built { files, findings })
    }

    /// How many jobs [`Project::render`] has with these options.
    pub fn job_count(&self, options: &Options) -> usize {
        outputs::jobs(self, options).len()
    }
}
