//! The report at the end of a command: a table for people, JSON for programs.

use serde::Serialize;
use tubewright::build::Project;
use tubewright::diagnostic::{Diagnostic, Diagnostics};
use tubewright::export;
use tubewright::export::json::RunData;
use tubewright::plan::Plan;
use tubewright::quantity::trimmed;

use super::left_over::LeftOver;
use super::read::ReadSpec;
use super::table;
use super::terminal::Page;

/// One spec in a JSON report.
#[derive(Serialize)]
pub(super) struct SpecReport<'a> {
    spec: String,
    /// "sound" or "errors" from check; "built" once its files are in place.
    pub(super) status: &'static str,
    /// The plan's mark; none where there is no plan.
    mark: Option<&'a str>,
    findings: Vec<&'a Diagnostic>,
    /// As in plan.json.
    runs: Vec<RunData<'a>>,
    /// The output folder.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) out: Option<String>,
    /// Files put in place, below the output folder.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) files: Vec<String>,
    /// Other files in the output folder.
    #[serde(flatten)]
    pub(super) left_over: Option<LeftOver>,
}

impl<'a> SpecReport<'a> {
    pub(super) fn new(spec: &'a ReadSpec, strict: bool) -> Self {
        let runs = spec.project.as_ref().map_or(&[][..], |project| &project.plan().runs);
        let runs = runs.iter().map(RunData::new).collect();
        SpecReport {
            spec: spec.path.display().to_string(),
            status: if spec.sound(strict) { "sound" } else { "errors" },
            mark: spec.project.as_ref().map(Project::mark),
            findings: spec.findings.iter().collect(),
            runs,
            out: None,
            files: Vec::new(),
            left_over: None,
        }
    }

    /// Adds findings made after reading.
    pub(super) fn add_findings(&mut self, findings: impl IntoIterator<Item = &'a Diagnostic>) {
        self.findings.extend(findings);
        self.status = "errors";
    }
}

#[derive(Serialize)]
struct Report<'a> {
    command: &'a str,
    specs: &'a [SpecReport<'a>],
}

/// The JSON report of a command.
pub(super) fn json(command: &str, specs: &[SpecReport<'_>]) -> String {
    String::from_utf8_lossy(&export::json::document(&Report { command, specs })).into_owned()
}

/// Runs, bends and cut lengths.
pub(super) fn run_table(plan: &Plan, page: Page) -> String {
    let bends: usize = plan.runs.iter().map(|run| run.bends.len()).sum();
    let length: f64 = plan.runs.iter().map(|run| run.cut_length).sum();
    let total = ["total".into(), String::new(), bends.to_string(), format!("{length:.1}"), String::new()];
    let rows = plan.runs.iter().map(|run| {
        vec![
            run.name.clone(),
            format!("{} x {} {}", trimmed(run.tube.od), trimmed(run.tube.wall), run.tube.temper.name()),
            run.bends.len().to_string(),
            format!("{:.1}", run.cut_length),
            run.min_clearance.map_or_else(|| "-".to_owned(), |c| format!("{c:.1}")),
        ]
    });
    let header = ["run", "tube", "bends", "cut length mm", "clearance mm"];
    table::set(&header, rows.chain([total.to_vec()]), 2, page)
}

/// Why a spec with warnings only was not built.
pub(super) fn strict_note(spec: &str, findings: &Diagnostics) -> String {
    let count = findings.len();
    let counted = counted(count, "warning");
    let verb = if count == 1 { "counts as an error" } else { "count as errors" };
    format!("error: {spec}: {counted} {verb} with --strict\n")
}

/// "1 file", "2 files".
pub(super) fn counted(count: usize, what: &str) -> String {
    format!("{count} {what}{}", if count == 1 { "" } else { "s" })
}
