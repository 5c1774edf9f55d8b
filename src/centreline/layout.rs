//! A checked spec → every run laid out in space: the one input of solids, plans and drawings.

use super::turned;
use super::{Centreline, CornerFault, CornerPoint, TableFault, TableRow, from_corners, from_table};
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::geometry::Frame;
use crate::quantity::Unit;
use crate::spec::model::{BendRow, Component, Corner, End, Path, Run, Spec, Stock, Workshop};

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
    /// Unit of the spec's bare numbers: the one its author thinks in.
    pub units: Unit,
    /// Tube as bought.
    pub stock: Vec<Stock>,
    /// What the shop cuts, prints and joins with.
    pub workshop: Workshop,
    /// The components.
    pub components: Vec<Component>,
    /// The runs, in the order of the file; those that cannot be laid out are left out, with an error.
    pub runs: Vec<LaidRun>,
}

/// Lays out every run that can be. The findings are the errors of the others, with the place in the spec.
pub fn lay_out(spec: &Spec) -> (Layout, Diagnostics) {
    let mut findings = Diagnostics::new();
    let mut runs: Vec<LaidRun> = Vec::with_capacity(spec.runs().len());
    let lay = |(index, run): (usize, &Run), findings: &mut Diagnostics| {
        let centreline = lay_run(run, spec.units(), findings)?;
        Some(LaidRun { index, run: run.clone(), centreline })
    };
    let (copies, others): (Vec<_>, Vec<_>) =
        spec.runs().iter().enumerate().partition(|(_, run)| matches!(run.path, Path::SameAs(_)));
    runs.extend(others.into_iter().filter_map(|run| lay(run, &mut findings)));
    for (index, run) in copies {
        let copy = with_table(run, &runs);
        runs.extend(copy.and_then(|copy| lay((index, &copy), &mut findings)));
    }
    runs.sort_by_key(|laid| laid.index);
    let layout = Layout {
        name: spec.name().to_owned(),
        file_name: spec.file_name().to_owned(),
        title: spec.title().to_owned(),
        units: spec.units(),
        stock: spec.stock().to_vec(),
        workshop: *spec.workshop(),
        components: spec.components().to_vec(),
        runs,
    };
    (layout, findings)
}

/// A run that has the bends of another, with their table in its own radii. `None` where the other could not be
/// laid out: the fault was told there.
fn with_table(run: &Run, runs: &[LaidRun]) -> Option<Run> {
    let Path::SameAs(name) = &run.path else { return None };
    let LaidRun { run: other, centreline, .. } = runs.iter().find(|laid| laid.run.name == *name)?;
    let formed = run.bender.formed.map_or(run.bender.clr, |formed| formed.clr);
    let row = |bend: &super::Bend| {
        let own_clr = other.path.own_clr(bend.number);
        BendRow {
            length: bend.straight_before,
            rotation: bend.rotation,
            angle: bend.angle,
            clr: if own_clr { bend.radius } else { formed },
            own_clr,
            place: other.path.place(bend.number).unwrap_or(run.place),
        }
    };
    let rows = centreline.bends().iter().map(row).collect();
    Some(Run { path: Path::Bends { rows, end_length: centreline.end_straight() }, ..run.clone() })
}

fn lay_run(run: &Run, unit: Unit, findings: &mut Diagnostics) -> Option<Centreline> {
    let laid = match &run.path {
        Path::Corners(corners) => lay_corners(run, corners, unit),
        Path::Bends { rows, end_length } => lay_bends(run, rows, *end_length),
        // Those that could be resolved have a table by now.
        Path::SameAs(_) => Err(Vec::new()),
        Path::Route(_) => Err(vec![
            Diagnostic::error(
                "not-yet",
                format!("run {}: a way cannot be found automatically yet", run.name),
            )
            .hint("write the way yourself, as `corners:` or `bends:`")
            .at(run.place),
        ]),
    };
    laid.map_err(|faults| findings.extend(faults.into_iter().map(|fault| fault.run(&run.name)))).ok()
}

fn lay_corners(run: &Run, corners: &[Corner], unit: Unit) -> Result<Centreline, Vec<Diagnostic>> {
    let (Some(from), Some(to)) = (&run.from, &run.to) else {
        let fault = Diagnostic::error("run-ends", format!("run {} has corners but not both ends", run.name));
        return Err(vec![fault.hint("write `from:` and `to:`").at(run.place)]);
    };
    if let Some(faults) = turned::faults(run, corners, unit) {
        return Err(faults);
    }
    let points: Vec<CornerPoint> = corners.iter().map(|c| CornerPoint { at: c.at, radius: c.clr }).collect();
    from_corners(from.at, &points, to.at).map_err(|faults| {
        let told = |fault: &CornerFault| {
            let place = fault.corner().and_then(|n| corners.get(n - 1)).map_or(run.place, |c| c.place);
            let message = format!("run {}: {}", run.name, fault.message(unit));
            let error = Diagnostic::error(fault.code(), message);
            match own_end_advice(run, fault) {
                Some(advice) => error.hint(advice).at(run.place),
                None => error.hint(fault.advice()).written_in(run.written_in()).at(place),
            }
        };
        faults.iter().map(told).collect()
    })
}

/// The advice on a fault between a copy's own end and a corner, which is another run's.
fn own_end_advice(run: &Run, fault: &CornerFault) -> Option<String> {
    let copy = run.copy.as_ref()?;
    let own = |end: &Option<End>| end.as_ref().is_some_and(|end| end.image_of.is_none());
    let keys = [("from", fault.is_at_start() && own(&run.from)), ("to", fault.is_at_end() && own(&run.to))];
    let (key, _) = keys.into_iter().find(|(_, is_own)| *is_own)?;
    Some(format!(
        "its corners are those of run `{}`, mirrored: move the end in `{key}` or the mirror's plane, or write \
         `corners` of its own",
        copy.first
    ))
}

fn lay_bends(run: &Run, rows: &[BendRow], end_length: f64) -> Result<Centreline, Vec<Diagnostic>> {
    let frame = match &run.from {
        Some(End { at, facing: Some(facing), .. }) => Frame::new(*at, *facing),
        Some(End { at, facing: None, .. }) => Frame { origin: *at, ..Frame::default() },
        None => Frame::default(),
    };
    let table: Vec<TableRow> = rows
        .iter()
        .map(|r| TableRow { length: r.length, rotation: r.rotation, angle: r.angle, radius: r.clr })
        .collect();
    from_table(frame, &table, end_length).map_err(|faults| {
        let told = |fault: &TableFault| {
            let place = fault.row().and_then(|n| rows.get(n - 1)).map_or(run.place, |r| r.place);
            let message = format!("run {}: {fault}", run.name);
            Diagnostic::error("bend-table", message)
                .hint(fault.advice())
                .written_in(run.written_in())
                .at(place)
        };
        faults.iter().map(told).collect()
    })
}
