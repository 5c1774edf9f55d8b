//! A tube as it is, or is to be, in place of its planned run: planned and held against its surroundings like any other.

use super::seat::{BentTube, Seat};
use crate::centreline::{LaidRun, Layout};
use crate::diagnostic::Diagnostics;
use crate::fit;
use crate::plan::{self, FromEnd, RunPlan};
use crate::spec::model::{BendFrom, BendRow, RunPath};

/// The run of a tube, and everything that is found about it.
#[derive(Debug, Clone)]
pub struct Replanned {
    /// Everything in its place, the run with this tube.
    pub layout: Layout,
    /// The run's plan: marks, turns and angles to pull to are those of this tube, bent from the same end.
    pub run: RunPlan,
    /// The findings about the run.
    pub findings: Diagnostics,
}

/// Plans a tube, laid from the end that bending began at; `None` where the run is not in the layout.
pub(super) fn replan(
    layout: &Layout,
    laid: &LaidRun,
    from: FromEnd,
    (seat, tube, roll): (&Seat, &BentTube, f64),
) -> Option<Replanned> {
    let mut layout = layout.clone();
    let line = tube.laid(seat.frame(), roll);
    let line = if from == FromEnd::Datum { line } else { line.reversed() };
    let [first, last] = tube.trimmed;
    let place = laid.run.place;
    let row = |row: crate::centreline::TableRow| BendRow {
        length: row.length,
        rotation: row.rotation,
        angle: row.angle,
        clr: None,
        place,
    };
    let changed = layout.runs.iter_mut().find(|other| other.run.name == laid.run.name)?;
    let (start, end) = if from == FromEnd::Datum { (first, last) } else { (last, first) };
    (changed.run.allowance_start, changed.run.allowance_end) = (start.max(0.0), end.max(0.0));
    changed.run.bend_from = if from == FromEnd::Datum { BendFrom::Datum } else { BendFrom::Other };
    changed.run.path =
        RunPath::Bends { rows: line.table().into_iter().map(row).collect(), end_length: line.end_straight() };
    changed.run.copy = None;
    changed.centreline = line;
    let (fits, mut findings) = fit::check(&layout);
    let (plan, found) = plan::plan(&layout, &fits);
    findings.extend(found);
    findings.retain(|finding| finding.is_about(|name| *name == laid.run.name) && finding.run.is_some());
    let run = plan.runs.into_iter().find(|run| run.name == laid.run.name)?;
    Some(Replanned { layout, run, findings })
}
