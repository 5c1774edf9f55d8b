//! A checked spec → every run laid out in space: the one input of solids, plans and drawings.

use std::borrow::Cow;
use std::collections::BTreeSet;

use super::crowded::Crowded;
use super::{Centreline, CornerFault, CornerPoint, TableFault, TableRow, from_corners, from_table};
use super::{parallel, rules, turned};
use crate::calibration::{Calibrations, Formed};
use crate::diagnostic::{Diagnostic, Diagnostics, Severity};
use crate::geometry::Frame;
use crate::quantity::Unit;
use crate::spec::model::{
    BendRow, Carried, Component, Corner, End, OwnClr, Run, RunPath, Spec, Stock, Uncertainty, Workshop,
};

/// A run with its centreline.
#[derive(Debug, Clone, PartialEq)]
pub struct LaidRun {
    /// Position among the spec's runs; picks the run's colour.
    pub index: usize,
    /// The run as specified.
    pub run: Run,
    /// The constants of its bender with its tube, where test bends give them.
    pub formed: Option<Formed>,
    /// Its centreline, finished ends (no allowance).
    pub centreline: Centreline,
}

impl LaidRun {
    /// The constants for a bend: one with a radius of its own is not made on the bender that was tested.
    pub fn formed_at(&self, bend: &super::Bend) -> Option<Formed> {
        self.formed.filter(|_| self.run.path.own_clr(bend.number).is_none())
    }
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
    /// The stuff that the tubes carry, if the spec says.
    pub carries: Option<Carried>,
    /// Tube as bought.
    pub stock: Vec<Stock>,
    /// The shop's sheet, printer and fastenings.
    pub workshop: Workshop,
    /// How exactly the work is done.
    pub uncertainty: Uncertainty,
    /// The components.
    pub components: Vec<Component>,
    /// The runs, in the order of the file; those that cannot be laid out are left out, with an error.
    pub runs: Vec<LaidRun>,
}

/// Lays out every run that can be, with the radii of the calibrated benders. The findings are the errors of the
/// others and what the [`rules`] say, with the place in the spec.
pub fn lay_out(spec: &Spec, calibrations: &Calibrations) -> (Layout, Diagnostics) {
    let mut findings = Diagnostics::new();
    let mut runs: Vec<LaidRun> = Vec::with_capacity(spec.runs().len());
    let mut against_rules: BTreeSet<&str> = BTreeSet::new();
    let mut crowded = Crowded::default();
    for (index, run) in parallel::in_order(spec, &mut findings) {
        // A fault in the bends of a run is not repeated for its copies.
        if run.copy.as_ref().is_some_and(|copy| against_rules.contains(copy.run.as_str())) {
            against_rules.insert(&run.name);
            continue;
        }
        let Some(with_path) = with_table(run, &runs) else { continue };
        let Some(with_path) = parallel::resolved(with_path, &runs, spec.units(), &mut findings) else {
            continue;
        };
        let formed = calibrations.of_run(&run.name);
        let centreline = lay_run(&with_path, formed, spec.units(), &mut crowded, &mut findings);
        let found = rules::check(&with_path, centreline.as_ref(), spec.units());
        let is_sound = !found.iter().any(|finding| finding.severity == Severity::Error);
        findings.extend(found);
        if !is_sound {
            against_rules.insert(&run.name);
        } else if let Some(centreline) = centreline {
            runs.push(LaidRun { index, run: with_path.into_owned(), formed, centreline });
        }
    }
    findings.extend(crowded.findings(spec.units()));
    runs.sort_by_key(|laid| laid.index);
    let layout = Layout {
        name: spec.name().to_owned(),
        file_name: spec.file_name().to_owned(),
        title: spec.title().to_owned(),
        units: spec.units(),
        carries: spec.carries(),
        stock: spec.stock().to_vec(),
        workshop: *spec.workshop(),
        uncertainty: *spec.uncertainty(),
        components: spec.components().to_vec(),
        runs,
    };
    (layout, findings.none_twice())
}

/// The run itself, or one that has the bends of another with their table. `None` where the other could not be laid
/// out: the fault was noted there.
fn with_table<'r>(run: &'r Run, runs: &[LaidRun]) -> Option<Cow<'r, Run>> {
    let RunPath::SameAs(name) = &run.path else { return Some(Cow::Borrowed(run)) };
    let LaidRun { run: other, centreline, .. } = runs.iter().find(|laid| laid.run.name == *name)?;
    let row = |bend: &super::Bend| BendRow {
        length: bend.straight_before,
        rotation: bend.rotation,
        angle: bend.angle,
        clr: other.path.own_clr(bend.number),
        place: other.path.place(bend.number).unwrap_or(run.place),
    };
    let rows = centreline.bends().iter().map(row).collect();
    let path = RunPath::Bends { rows, end_length: centreline.end_straight() };
    Some(Cow::Owned(Run { path, ..run.clone() }))
}

fn lay_run(
    run: &Run,
    formed: Option<Formed>,
    unit: Unit,
    crowded: &mut Crowded,
    findings: &mut Diagnostics,
) -> Option<Centreline> {
    let made = formed.map_or(run.bender.clr, |formed| formed.clr);
    let radius = |own: Option<OwnClr>| own.map_or(made, |own| own.mm);
    let laid = match &run.path {
        RunPath::Corners(corners) => {
            // A radius that test bends give is not a written one that may be wrong.
            let is_written = made.total_cmp(&run.bender.clr).is_eq();
            lay_corners(run, corners, &radius, unit, is_written.then_some(crowded))
        }
        RunPath::Bends { rows, end_length } => lay_bends(run, rows, &radius, *end_length),
        // Those that could be resolved have a table by now, and those whose way was found have corners.
        RunPath::SameAs(_) | RunPath::Route(_) => Err(Vec::new()),
    };
    laid.map_err(|faults| findings.extend(faults.into_iter().map(|fault| fault.run(&run.name)))).ok()
}

/// The finished radius of a bend, mm, from its own where it has one.
type Radius<'r> = &'r dyn Fn(Option<OwnClr>) -> f64;

fn lay_corners(
    run: &Run,
    corners: &[Corner],
    radius: Radius<'_>,
    unit: Unit,
    mut crowded: Option<&mut Crowded>,
) -> Result<Centreline, Vec<Diagnostic>> {
    let (Some(from), Some(to)) = (&run.from, &run.to) else {
        let fault = Diagnostic::error("run-ends", format!("run {} has corners but not both ends", run.name));
        return Err(vec![fault.hint("write `from:` and `to:`").at(run.place)]);
    };
    if let Some(faults) = turned::faults(run, corners, unit) {
        return Err(faults);
    }
    if let Some(crowded) = &mut crowded {
        crowded.count(run, corners);
    }
    let points: Vec<CornerPoint> =
        corners.iter().map(|c| CornerPoint { at: c.at, radius: radius(c.clr) }).collect();
    from_corners(from.at, &points, to.at).map_err(|faults| {
        let mut told = |fault: &CornerFault| {
            let place = fault.corner().and_then(|n| corners.get(n - 1)).map_or(run.place, |c| c.place);
            let message = format!("run {}: {}", run.name, fault.message(unit));
            let error = Diagnostic::error(fault.code(), message);
            let error = match own_end_advice(run, fault) {
                Some(advice) => error.hint(advice).at(run.place),
                None => error.hint(fault.advice()).written_in(run.written_in()).at(place),
            };
            match &mut crowded {
                Some(crowded) => crowded.take(run, corners, fault, error),
                None => Some(error),
            }
        };
        faults.iter().filter_map(&mut told).collect()
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

fn lay_bends(
    run: &Run,
    rows: &[BendRow],
    radius: Radius<'_>,
    end_length: f64,
) -> Result<Centreline, Vec<Diagnostic>> {
    let frame = match &run.from {
        Some(End { at, facing: Some(facing), .. }) => Frame::new(*at, *facing),
        Some(End { at, facing: None, .. }) => Frame { origin: *at, ..Frame::default() },
        None => Frame::default(),
    };
    let table: Vec<TableRow> = rows
        .iter()
        .map(|r| TableRow { length: r.length, rotation: r.rotation, angle: r.angle, radius: radius(r.clr) })
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
