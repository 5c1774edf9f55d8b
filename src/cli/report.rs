//! The report at the end of a command: a table for people, JSON for programs.

use serde::Serialize;
use tubewright::build::Project;
use tubewright::diagnostic::{Diagnostic, Diagnostics};
use tubewright::export;
use tubewright::export::json::RunData;
use tubewright::geometry::Point3;
use tubewright::plan::{Plan, RunPlan};
use tubewright::quantity::{fixed, trimmed};

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
    let length: f64 = plan.runs.iter().filter(|run| run.may_be_cut()).map(|run| run.cut_length).sum();
    let none = String::new;
    let total = ["total".into(), none(), none(), bends.to_string(), fixed(length, 1), none(), none()];
    let row = |run: &RunPlan| {
        let nearest = run.nearest.as_ref();
        [
            run.name.clone(),
            format!("{} x {} {}", trimmed(run.tube.od), trimmed(run.tube.wall), run.tube.temper.name()),
            nearest.map_or_else(none, |nearest| nearest.name().to_owned()),
            run.bends.len().to_string(),
            if run.may_be_cut() { format!("{:.1}", run.cut_length) } else { "do not cut".to_owned() },
            nearest.map_or_else(|| "-".to_owned(), |nearest| fixed(nearest.distance, 1)),
            nearest.map_or_else(none, |nearest| place(nearest.at)),
        ]
    };
    let header = ["run", "tube", "nearest to", "bends", "cut length mm", "clearance mm", "there, mm"];
    let set = |columns: &[usize], page| {
        let kept = |cells: &[String]| columns.iter().filter_map(|at| cells.get(*at).cloned()).collect();
        let header: Vec<&str> = columns.iter().filter_map(|at| header.get(*at).copied()).collect();
        let words = columns.iter().filter(|at| **at < FIRST_NUMBER).count();
        let rows = plan.runs.iter().map(&row).chain([total.clone()]);
        table::set(&header, rows.map(|cells| kept(&cells)), words, page)
    };
    // A narrow page does without the neighbours: the plans of the runs have them, too.
    let ways: [&[usize]; 3] = [&[0, 1, 2, 3, 4, 5, 6], &[0, 1, 2, 3, 4, 5], &[0, 1, 3, 4, 5]];
    let whole = |columns: &&&[usize]| {
        table::width(&set(columns, Page { columns: usize::MAX, ..page })) <= page.columns
    };
    set(ways.iter().find(whole).unwrap_or(&ways[2]), page)
}

/// The first column of the table of runs that holds numbers.
const FIRST_NUMBER: usize = 3;

/// A place, to the millimetre.
pub(super) fn place(at: Point3) -> String {
    let [x, y, z] = [at.x, at.y, at.z].map(|mm| fixed(mm, 0));
    format!("[{x}, {y}, {z}]")
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
