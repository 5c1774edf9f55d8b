//! A spec's text → runs laid out and checked → a project, or everything that is wrong with it.
//!
//! A run with an error goes no further than the stage that found it. The sound ones go on, so that their
//! faults are told together with its own; what only its absence would bring about is not told.

use std::borrow::Cow;
use std::collections::BTreeSet;
use std::sync::OnceLock;

use super::Project;
use crate::calibration::{Calibrations, calibrations};
use crate::centreline::{LaidRun, Layout, lay_out};
use crate::diagnostic::{Diagnostic, Diagnostics, Severity, listed};
use crate::drawing::overview;
use crate::export;
use crate::fit::{self, FitReport};
use crate::plan::{self, Known};
use crate::route::{self, Routed};
use crate::solid::{self, Tubes};
use crate::spec::model::{Shape, Spec};
use crate::spec::{self, Reading, Resolver, no_files};

/// A spec that has been read; ways that are to be found are not found yet.
#[derive(Debug, Clone)]
pub struct Unrouted {
    reading: Reading,
    calibrations: Calibrations,
    mark: String,
}

impl Unrouted {
    /// Reads the text of a spec that may name files, which `resolver` gives. `file_name` is its name without folders.
    pub fn read_with(text: &str, file_name: &str, resolver: &Resolver<'_>) -> Unrouted {
        let mut reading = spec::read_with(text, file_name, resolver);
        let (calibrations, found) = calibrations(&reading.spec);
        reading.findings.extend(found);
        let files = reading.files.iter().map(AsRef::as_ref);
        let mark = export::mark::of([text.as_bytes()].into_iter().chain(files));
        Unrouted { reading, calibrations, mark }
    }

    /// The spec as read.
    pub fn spec(&self) -> &Spec {
        &self.reading.spec
    }

    /// Everything that was found in reading it.
    pub fn findings(&self) -> &Diagnostics {
        &self.reading.findings
    }

    /// Finds so many ways for every run that has none, with this effort for each search. Among components that could
    /// not be read they would be wrong: then none is found.
    pub fn ways(&self, ways: usize, effort: usize) -> Routed<'_> {
        let spec = &self.reading.spec;
        if self.findings().has_errors() {
            return Routed { spec: Cow::Borrowed(spec), found: Vec::new(), findings: Diagnostics::new() };
        }
        route::find_ways(spec, &self.calibrations, ways, effort)
    }

    /// Lays out the runs with these ways and checks how they fit.
    pub fn checked(&self, routed: Routed<'_>) -> Checked {
        self.checked_by(routed, fit::check)
    }

    /// The same for tubes that are in their places, however they came there.
    pub fn checked_in_place(&self, routed: Routed<'_>) -> Checked {
        self.checked_by(routed, fit::check_in_place)
    }

    fn checked_by(
        &self,
        routed: Routed<'_>,
        check: impl FnOnce(&Layout) -> (FitReport, Diagnostics),
    ) -> Checked {
        let Reading { findings, broken, run_names, .. } = &self.reading;
        let mut findings = findings.clone();
        findings.extend(routed.findings);
        let (mut layout, found) = lay_out(&routed.spec, &self.calibrations);
        findings.extend(found);
        let (tubes, found) = drop_unmakeable(&mut layout);
        findings.extend(found);
        let (fits, found) = check(&layout);
        findings.extend(found);
        let (broken, run_names, mark) = (broken.clone(), run_names.clone(), self.mark.clone());
        Checked { layout, tubes, fits, findings, broken, run_names, mark }
    }
}

/// A spec that has been read, laid out and checked; nothing is planned yet.
#[derive(Debug, Clone)]
pub struct Checked {
    layout: Layout,
    tubes: Tubes,
    fits: FitReport,
    findings: Diagnostics,
    /// Keys of the spec itself with errors below them.
    broken: Vec<&'static str>,
    /// Names of all runs, those with errors included.
    run_names: Vec<String>,
    mark: String,
}

impl Checked {
    /// Reads the text of a spec that names no files, lays its runs out and checks how they fit. `file_name` is its
    /// name without folders.
    pub fn read(text: &str, file_name: &str) -> Checked {
        Checked::read_with(text, file_name, &no_files)
    }

    /// The same of a spec that may name files, which `resolver` gives.
    pub fn read_with(text: &str, file_name: &str, resolver: &Resolver<'_>) -> Checked {
        let unrouted = Unrouted::read_with(text, file_name, resolver);
        unrouted.checked(unrouted.ways(1, route::EFFORT))
    }

    /// Names of the sound runs, in the order of the spec.
    pub fn run_names(&self) -> impl Iterator<Item = &str> + Clone {
        self.layout.runs.iter().map(|laid| laid.run.name.as_str())
    }

    /// Everything that was found so far.
    pub fn findings(&self) -> &Diagnostics {
        &self.findings
    }

    /// Plans every run.
    ///
    /// # Errors
    /// Everything wrong with the spec, errors and warnings, in the order of the text.
    pub fn plan(self) -> Result<Project, Diagnostics> {
        self.plan_runs(&|_| true)
    }

    /// Plans the runs of these names as if the spec had no other: the stock is cut for them alone, and errors of
    /// others do not count. Clearances still count the others, but for those that could not be laid out; a warning
    /// names these.
    ///
    /// # Errors
    /// Everything wrong with these runs and with no run in particular, errors and warnings, in the order of the text.
    /// Where one of these runs is missing by the errors of another, these as well.
    pub fn plan_only(mut self, names: &[String]) -> Result<Project, Diagnostics> {
        let is_asked_for = |name: &String| names.contains(name);
        let mut errors =
            self.findings.iter().filter(|finding| finding.severity == Severity::Error).peekable();
        if errors.peek().is_some() && !errors.any(|error| error.is_about(is_asked_for)) {
            let laid: BTreeSet<&str> = self.run_names().collect();
            if !names.iter().all(|name| laid.contains(name.as_str())) {
                return self.plan();
            }
            let left_out = self.run_names.iter().filter(|name| !laid.contains(name.as_str()));
            let left_out: Vec<String> = left_out.cloned().collect();
            self.findings.extend(unknown_clearances(&left_out));
        }
        self.plan_runs(&is_asked_for)
    }

    fn plan_runs(self, is_asked_for: &dyn Fn(&String) -> bool) -> Result<Project, Diagnostics> {
        let Checked { mut layout, tubes, mut fits, mut findings, broken, mark, .. } = self;
        fits.retain(|index| layout.runs.get(index).is_some_and(|laid| is_asked_for(&laid.run.name)));
        layout.runs.retain(|laid| is_asked_for(&laid.run.name));
        findings.retain(|finding| finding.is_about(is_asked_for));
        if findings.has_errors() {
            return Err(with_those_of_the_plan(layout, findings, &broken));
        }
        let (mut plan, found) = plan::plan(&layout, &fits);
        findings.extend(found);
        findings.extend(overview::too_large(&layout));
        findings.sort_by_place();
        if findings.has_errors() {
            return Err(findings);
        }
        plan.stop_cutting(&findings);
        Ok(Project { layout, tubes, plan, findings, mark, designed: OnceLock::new() })
    }
}

/// Warns that the clearances to runs that could not be laid out are not known.
fn unknown_clearances(left_out: &[String]) -> Option<Diagnostic> {
    let (run, they) = match left_out.len() {
        0 => return None,
        1 => ("run", "it"),
        _ => ("runs", "they"),
    };
    let message =
        format!("clearances to {run} {} are not known: {they} could not be laid out", listed(left_out));
    let hint = "mend the errors there; a check without `--run` tells them";
    Some(Diagnostic::warning("clearance-unknown", message).hint(hint))
}

/// The findings of a spec with errors, and those of planning its sound runs.
fn with_those_of_the_plan(mut layout: Layout, mut findings: Diagnostics, broken: &[&str]) -> Diagnostics {
    layout.runs.retain(|laid| is_sound(laid, &findings));
    if !["tube", "bender", "anneal"].iter().any(|key| broken.contains(key)) {
        let known = Known { runs: false, stock: !broken.contains(&"stock") };
        // Nobody reads the clearances of a plan that is only made for its findings.
        let (_, found) = plan::plan_known(&layout, &FitReport::default(), known);
        findings.extend(found);
    }
    findings.sort_by_place();
    findings
}

/// Whether nothing that was found of a run keeps its plan from being right.
fn is_sound(laid: &LaidRun, findings: &Diagnostics) -> bool {
    let run = &laid.run;
    let refused = laid.formed.is_none() && !run.bender.test_bends.is_empty();
    let about =
        |finding: &Diagnostic| finding.severity == Severity::Error && finding.run.as_ref() == Some(&run.name);
    !refused && !findings.iter().any(about)
}

/// Takes out the runs and components that no solid can be made of; why.
fn drop_unmakeable(layout: &mut Layout) -> (Tubes, Diagnostics) {
    let mut findings = Diagnostics::new();
    let unit = layout.units;
    let (tubes, faults) = Tubes::of(layout);
    layout.runs.retain(|LaidRun { run, index, .. }| {
        let Some(fault) = faults.get(index) else { return true };
        let message = format!("run {}: {}", run.name, fault.message(unit));
        let finding = Diagnostic::error("no-solid", message).hint(fault.advice());
        findings.push(finding.at(run.place).run(&run.name));
        false
    });
    layout.components.retain(|component| {
        if let Some(fault) = component.shapes.iter().find_map(|shape| solid::check_shape(shape).err()) {
            let message = format!("component {}: {}", component.name, fault.message(unit));
            findings.push(Diagnostic::error("no-solid", message).hint(fault.advice()));
            return false;
        }
        findings.extend(component.shapes.iter().find_map(|shape| not_in_assembly(&component.name, shape)));
        true
    });
    (tubes, findings)
}

/// A mesh of a component that makes no solid.
fn not_in_assembly(component: &str, shape: &Shape) -> Option<Diagnostic> {
    let Shape::Mesh(mesh) = shape else { return None };
    let why = solid::left_out(mesh)?;
    let message = format!("a mesh of component {component} is left out of assembly.step: {why}");
    let hint = "lay its own file beside assembly.step in a CAD program, or mend it where it was drawn";
    Some(Diagnostic::warning("not-in-assembly", message).hint(hint))
}

#[cfg(test)]
mod tests {
    use super::*;

    const SPEC: &str = "format: 1
tube: {standard: EN 1057, size: 15 x 1.0, temper: soft}
bender: {clr: 55}
stock: {length: 1 m, count: 1}
runs:
  a: {bends: [], end_length: 600}
  b: {from: [0, 0, 0], to: [700, 0, 0], corners: []}
  c: {from: [100, -50, 0], to: [100, 50, 0], corners: []}
";

    fn names(project: &Project) -> Vec<&str> {
        project.plan.runs.iter().map(|run| run.name.as_str()).collect()
    }

    fn codes(findings: &Diagnostics) -> Vec<&str> {
        findings.iter().map(|finding| finding.code).collect()
    }

    #[test]
    fn the_runs_asked_for_are_planned_as_if_there_were_no_others_but_for_clearances() {
        let checked = Checked::read(SPEC, "x.yaml");
        assert_eq!(checked.run_names().collect::<Vec<_>>(), ["a", "b", "c"]);
        let all = checked.clone().plan().unwrap();
        assert_eq!(names(&all), ["a", "b", "c"]);
        assert_eq!(codes(&all.findings), ["stock-short", "clash"]);

        let one = checked.clone().plan_only(&["b".to_owned()]).unwrap();
        assert_eq!((names(&one), codes(&one.findings)), (vec!["b"], vec!["clash"]));
        assert_eq!(one.plan.runs[0].min_clearance(), all.plan.runs[1].min_clearance());
        assert_eq!(one.plan.cut_plan.stocks[0].missing, []);

        let other = checked.plan_only(&["a".to_owned()]).unwrap();
        assert_eq!((names(&other), codes(&other.findings)), (vec!["a"], vec![]));
    }

    #[test]
    fn errors_of_other_runs_do_not_keep_a_run_from_its_plan_unless_it_is_made_from_theirs() {
        let text = SPEC.replace("to: [700, 0, 0], corners: []", "to: [700, 0, 0], corner: []")
            + "  d: {from: [0, 0, 0], to: [9, 0, 0], corners: [[9, 9]]}\n  e: {same_as: d}\n";
        let only = |name: &str| Checked::read(&text, "x.yaml").plan_only(&[name.to_owned()]);
        let sound = only("c").unwrap();
        assert_eq!((names(&sound), codes(&sound.findings)), (vec!["c"], vec!["clearance-unknown"]));
        let told = sound.findings.iter().map(|finding| finding.message.as_str()).collect::<Vec<_>>();
        assert_eq!(told, ["clearances to runs b, d and e are not known: they could not be laid out"]);

        let own = only("b").unwrap_err();
        assert_eq!(codes(&own), ["unknown-key"], "of b alone");
        for name in ["e", "nobody"] {
            assert_eq!(only(name).unwrap_err(), Checked::read(&text, "x.yaml").plan().unwrap_err(), "{name}");
        }
        let everywhere = text.replace("length: 1 m", "length: 1 q");
        let stopped = Checked::read(&everywhere, "x.yaml").plan_only(&["c".to_owned()]).unwrap_err();
        assert_eq!(
            stopped.iter().filter(|f| f.run.is_some()).count(),
            0,
            "that of the stock alone: {stopped:?}"
        );
        assert!(stopped.has_errors());
    }

    #[test]
    fn tools_are_designed_when_a_file_of_theirs_is_asked_for() {
        use crate::build::{Format, Options};
        let project = Project::read(&SPEC.replace("600", "10"), "x.yaml").unwrap();
        let of = |format| {
            codes(&project.findings_of(&Options { formats: vec![format], ..Options::default() })).join(" ")
        };
        assert_eq!(of(Format::Csv), "clash");
        assert!(project.designed.get().is_none());
        // The tube of 10 mm is too short for a jig.
        assert_eq!(of(Format::Dxf), "no-jig clash");
        assert!(project.designed.get().is_some());
    }
}
