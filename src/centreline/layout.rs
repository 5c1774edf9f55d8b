//! A checked spec → every run laid out in space: the one input of solids, plans and drawings.

use super::{Centreline, CornerPoint, TableRow, from_corners, from_table};
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::geometry::Frame;
use crate::spec::model::{Component, Path, Run, Spec};

/// A run with its centreline.
#[derive(Debug, Clone, PartialEq)]
pub struct LaidRun {
    /// Position among the spec's runs; picks the run's colour.
    pub index: usize,
    /// The run as specified.
    pub run: Run,
    /// Its centreline, finished ends (no allowance).
    pub centreline: Centreline,
}

/// A whole spec laid out.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    /// Name of the output folder.
    pub name: String,
    /// The spec's file name.
    pub file_name: String,
    /// Title.
    pub title: String,
    /// The components.
    pub components: Vec<Component>,
    /// The runs, in the order of the file; automatic routes are left out, with a warning.
    pub runs: Vec<LaidRun>,
}

/// Lays out every run.
///
/// # Errors
/// All runs that cannot be laid out, with the place in the spec; warnings ride along.
pub fn lay_out(spec: &Spec) -> Result<(Layout, Diagnostics), Diagnostics> {
    let mut findings = Diagnostics::new();
    let mut runs = Vec::with_capacity(spec.runs().len());
    for (index, run) in spec.runs().iter().enumerate() {
        if let Some(centreline) = lay_run(run, &mut findings) {
            runs.push(LaidRun { index, run: run.clone(), centreline });
        }
    }
    if findings.has_errors() {
        return Err(findings);
    }
    let layout = Layout {
        name: spec.name().to_owned(),
        file_name: spec.file_name().to_owned(),
        title: spec.title().to_owned(),
        components: spec.components().to_vec(),
        runs,
    };
    Ok((layout, findings))
}

fn lay_run(run: &Run, findings: &mut Diagnostics) -> Option<Centreline> {
    match &run.path {
        Path::Corners(corners) => {
            let (Some(from), Some(to)) = (&run.from, &run.to) else {
                findings.push(
                    Diagnostic::error("run-ends", format!("run {} has corners but not both ends", run.name))
                        .hint("write `from:` and `to:`")
                        .at(run.place)
                        .run(&run.name),
                );
                return None;
            };
            let points: Vec<CornerPoint> =
                corners.iter().map(|c| CornerPoint { at: c.at, radius: c.clr }).collect();
            match from_corners(from.at, &points, to.at) {
                Ok(centreline) => Some(centreline),
                Err(faults) => {
                    for fault in faults {
                        let place =
                            fault.corner().and_then(|n| corners.get(n - 1)).map_or(run.place, |c| c.place);
                        findings.push(
                            Diagnostic::error(fault.code(), format!("run {}: {fault}", run.name))
                                .hint(fault.advice())
                                .at(place)
                                .run(&run.name),
                        );
                    }
                    None
                }
            }
        }
        Path::Bends { rows, end_length } => {
            let frame = match &run.from {
                Some(end) => match end.facing {
                    Some(facing) => Frame::new(end.at, facing),
                    None => Frame { origin: end.at, ..Frame::default() },
                },
                None => Frame::default(),
            };
            let table: Vec<TableRow> = rows
                .iter()
                .map(|r| TableRow { length: r.length, rotation: r.rotation, angle: r.angle, radius: r.clr })
                .collect();
            match from_table(frame, &table, *end_length) {
                Ok(centreline) => Some(centreline),
                Err(faults) => {
                    for fault in faults {
                        let place = fault.row().and_then(|n| rows.get(n - 1)).map_or(run.place, |r| r.place);
                        findings.push(
                            Diagnostic::error("bend-table", format!("run {}: {fault}", run.name))
                                .hint(fault.advice())
                                .at(place)
                                .run(&run.name),
                        );
                    }
                    None
                }
            }
        }
        Path::Route(_) => {
            findings.push(
                Diagnostic::warning(
                    "not-yet",
                    format!(
                        "run {}: automatic routes are checked but not found yet; the run is left out",
                        run.name
                    ),
                )
                .hint("give the run `corners:` or `bends:` to have it built")
                .at(run.place)
                .run(&run.name),
            );
            None
        }
    }
}
