//! A spec's text → a project, or everything that is wrong with it.
//!
//! A run with an error goes no further than the stage that found it. The sound ones go on, so that their
//! faults are told together with its own; what only its absence would bring about is not told.

use super::Project;
use crate::centreline::{LaidRun, Layout, lay_out};
use crate::diagnostic::{Diagnostic, Diagnostics, Severity};
use crate::drawing::overview;
use crate::fit::{self, FitReport};
use crate::spec::{self, Reading};
use crate::{export, plan, solid, tooling};

/// See [`Project::read`].
pub(super) fn project(text: &str, file_name: &str) -> Result<Project, Diagnostics> {
    let Reading { mut spec, mut findings, broken } = spec::read_partly(text, file_name);
    findings.extend(plan::calibration::apply(&mut spec));
    let (mut layout, found) = lay_out(&spec);
    findings.extend(found);
    findings.extend(drop_unmakeable(&mut layout));
    let (mut fits, found) = fit::check(&layout);
    findings.extend(found);
    let incomplete = findings.has_errors();
    if incomplete {
        layout.runs.retain(|laid| is_sound(laid, &findings));
        // Nobody reads the clearances of a plan that is only made for its findings.
        fits = FitReport::default();
    }
    let (plan, mut found) = plan::plan(&layout, &fits);
    if incomplete {
        plan::drop_of_the_whole(&mut found, broken.contains(&"stock"));
    }
    let is_planned = !["tube", "bender", "anneal"].iter().any(|key| broken.contains(key));
    if is_planned {
        findings.extend(found);
    }
    let (tooling, found) = tooling::tooling(&layout, &plan);
    if is_planned && !broken.contains(&"workshop") {
        findings.extend(found);
    }
    if !incomplete {
        findings.extend(overview::too_large(&layout));
    }
    findings.sort_by_place();
    if incomplete || findings.has_errors() {
        return Err(findings);
    }
    // Files the spec names will be parts of their own.
    let mark = export::mark::of([text.as_bytes()]);
    Ok(Project { layout, plan, tooling, findings, mark })
}

/// Whether nothing that was found of a run keeps its plan from being right.
fn is_sound(laid: &LaidRun, findings: &Diagnostics) -> bool {
    let run = &laid.run;
    let refused = run.bender.formed.is_none() && !run.bender.test_bends.is_empty();
    let about =
        |finding: &Diagnostic| finding.severity == Severity::Error && finding.run.as_ref() == Some(&run.name);
    !refused && !findings.iter().any(about)
}

/// Takes out the runs and components that no solid can be made of; why.
fn drop_unmakeable(layout: &mut Layout) -> Diagnostics {
    let mut findings = Diagnostics::new();
    let unit = layout.units;
    layout.runs.retain(|LaidRun { run, centreline, .. }| {
        let Err(fault) = solid::verify::tube(centreline, &run.tube) else { return true };
        let message = format!("run {}: {}", run.name, fault.message(unit));
        let finding = Diagnostic::error("no-solid", message).hint(fault.advice());
        findings.push(finding.at(run.place).run(&run.name));
        false
    });
    layout.components.retain(|component| {
        let Err(fault) = solid::component(component) else { return true };
        let message = format!("component {}: {}", component.name, fault.message(unit));
        findings.push(Diagnostic::error("no-solid", message).hint(fault.advice()));
        false
    });
    findings
}
