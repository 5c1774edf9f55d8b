//! Whether the bender can hold the tube for each bend, the bends made in order from the datum end, and
//! whether there is tube to put its reference line on.

use super::model::{BendPlan, RunPlan};
use crate::centreline::{Bend, LaidRun};
use crate::diagnostic::{Diagnostic, Diagnostics, Place};
use crate::quantity::trimmed;
use crate::spec::model::Path;
use crate::tolerance::NO_STRAIGHT_MM;

/// Adds a warning for every bend whose straight is too short for the bender's grip before it or its
/// lead-out after it, and for every mark that is not on the cut tube.
///
/// The grip sits on the straight to the previous bend (with the start allowance before the first
/// bend). The lead-out needs tube that is still straight; since later bends are not made yet, that is
/// all the tube behind the bend, end allowance included.
pub(super) fn check(laid: &LaidRun, plan: &RunPlan, findings: &mut Diagnostics) {
    for (bend, planned) in laid.centreline.bends().iter().zip(&plan.bends) {
        findings.extend(short_grip(laid, bend));
        findings.extend(short_lead_out(laid, bend));
        findings.extend(mark_off_tube(laid, planned, plan.cut_length_mm));
    }
}

fn short_grip(laid: &LaidRun, bend: &Bend) -> Option<Diagnostic> {
    let run = &laid.run;
    let number = bend.number;
    let allowance = if number == 1 { run.allowance_start } else { 0.0 };
    let (before, grip) = (bend.straight_before + allowance, run.bender.grip);
    let short = grip - before;
    if short <= NO_STRAIGHT_MM {
        return None;
    }
    let message =
        format!("the straight before bend {number} is {before:.1} mm; the bender grips {} mm", trimmed(grip));
    let hint = match (&run.path, number) {
        (Path::Bends { .. }, _) => {
            format!("make `length` of bend {number} at least {} mm", up(bend.straight_before + short))
        }
        (_, 1) => format!("move corner 1 at least {} mm further from the start", up(short)),
        _ => format!("move corners {} and {number} apart by at least {} mm", number - 1, up(short)),
    };
    let hint = if number == 1 {
        format!("{hint}, or give {} to trim away later", allowance_of("start", run.allowance_start + short))
    } else {
        hint
    };
    Some(warning(laid, number, "short-grip", &message, hint))
}

fn short_lead_out(laid: &LaidRun, bend: &Bend) -> Option<Diagnostic> {
    let (run, centreline) = (&laid.run, &laid.centreline);
    let number = bend.number;
    let after = centreline.length() - bend.end() + run.allowance_end;
    let lead_out = run.bender.lead_out;
    let short = lead_out - after;
    if short <= NO_STRAIGHT_MM {
        return None;
    }
    let message = format!(
        "there are {after:.1} mm of tube after bend {number}; the bender needs {} mm",
        trimmed(lead_out)
    );
    let longer = match run.path {
        Path::Bends { .. } => {
            format!("make `end_length` at least {} mm", up(centreline.end_straight() + short))
        }
        _ => {
            let last = centreline.bends().len();
            format!("move corner {last} at least {} mm further from the end", up(short))
        }
    };
    let hint =
        format!("{longer}, or give {} to trim away later", allowance_of("end", run.allowance_end + short));
    Some(warning(laid, number, "short-lead-out", &message, hint))
}

/// A bender's datum distance can put its reference line beside a short tube.
fn mark_off_tube(laid: &LaidRun, bend: &BendPlan, cut_length: f64) -> Option<Diagnostic> {
    let (run, number) = (&laid.run, bend.number);
    let (before, behind) = (-bend.marks.mark_mm, bend.marks.mark_mm - cut_length);
    let (message, hint) = if before > NO_STRAIGHT_MM {
        let message = format!("the mark of bend {number} falls {before:.1} mm in front of the cut tube");
        (message, allowance_of("start", run.allowance_start + before))
    } else if behind > NO_STRAIGHT_MM {
        let message =
            format!("the mark of bend {number} falls {behind:.1} mm beyond the end of the cut tube");
        (message, allowance_of("end", run.allowance_end + behind))
    } else {
        return None;
    };
    let hint = format!("give {hint} to trim away later, or check the bender's `datum`");
    Some(warning(laid, number, "mark-off-tube", &message, hint))
}

fn warning(
    laid: &LaidRun,
    bend: usize,
    code: &'static str,
    message: &str,
    hint: impl Into<String>,
) -> Diagnostic {
    let name = &laid.run.name;
    Diagnostic::warning(code, format!("run {name}: {message}"))
        .hint(hint)
        .at(place(laid, bend))
        .run(name)
        .bend(bend)
}

/// Where the spec writes a bend: its row or its corner.
fn place(laid: &LaidRun, bend: usize) -> Place {
    let run = &laid.run;
    let index = bend.saturating_sub(1);
    match &run.path {
        Path::Corners(corners) => corners.get(index).map(|corner| corner.place),
        Path::Bends { rows, .. } => rows.get(index).map(|row| row.place),
        Path::Route(_) => None,
    }
    .unwrap_or(run.place)
}

/// The key that makes the cut tube longer, as a spec writes it whatever its unit.
fn allowance_of(end: &str, mm: f64) -> String {
    format!("`allowance: {{{end}: {} mm}}`", up(mm))
}

/// A length rounded up to what is shown, so that what a hint says is enough.
fn up(mm: f64) -> String {
    trimmed(((mm - NO_STRAIGHT_MM) * 100.0).ceil() / 100.0)
}
