//! A spec with runs whose ways are to be found → the same spec with corners in their place.

use std::borrow::Cow;

use super::changes::changes;
use super::problem::{Problem, Wishes};
use super::search::{Answer, Proof};
use super::together::{Outcome, Room, together};
use crate::calibration::Calibrations;
use crate::centreline::{LaidRun, lay_out};
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::fit::Obstacle;
use crate::geometry::Point3;
use crate::quantity::Unit;
use crate::spec::model::{Component, Corner, Criterion, Placed, Route, Run, RunPath, Spec};

/// Linear programmes for one search: the same answer on every machine.
pub const EFFORT: usize = 4_000;

/// The ways of one run, best first.
#[derive(Debug, Clone)]
pub struct Found {
    /// The run.
    pub name: String,
    /// Its ways among those that the others take.
    pub answer: Answer,
}

/// A spec whose ways are found.
#[derive(Debug, Clone)]
pub struct Routed<'s> {
    /// The spec with the corners of the best ways. Runs without a way are left out.
    pub spec: Cow<'s, Spec>,
    /// The ways of every run that was looked for, in the order of the spec.
    pub found: Vec<Found>,
    /// Errors of runs without a way, and warnings of ways that are not proven to be the best.
    pub findings: Diagnostics,
}

impl Routed<'_> {
    /// The same with another way for one of the runs that were looked for: `way` counts from 0. `None` where it has
    /// no such way.
    pub fn with_way(&self, run: &str, way: usize) -> Option<Routed<'static>> {
        let found = self.found.iter().find(|found| found.name == run)?;
        let corners = &found.answer.ways.get(way)?.corners;
        let mut runs = self.spec.runs().to_vec();
        let changed = runs.iter_mut().find(|other| other.name == run)?;
        changed.path = path(corners, changed);
        let spec = Cow::Owned(self.spec.with_runs(runs));
        Some(Routed { spec, found: self.found.clone(), findings: self.findings.clone() })
    }
}

/// Decimals of a corner's coordinates, mm.
const DECIMALS: f64 = 1e3;

/// The corners of a way as a run has them: as they would be written.
fn path(corners: &[Point3], run: &Run) -> RunPath {
    let rounded = |mm: f64| (mm * DECIMALS).round() / DECIMALS + 0.0;
    let corner = |at: &Point3| Corner {
        at: Point3::new(rounded(at.x), rounded(at.y), rounded(at.z)),
        by: Placed::Point,
        clr: None,
        place: run.place,
    };
    RunPath::Corners(corners.iter().map(corner).collect())
}

/// Finds the ways of every run that has none, `ways` of each, with this effort for each search.
pub fn find_ways<'s>(spec: &'s Spec, calibrations: &Calibrations, ways: usize, effort: usize) -> Routed<'s> {
    let wanted: Vec<(usize, &Run, &Route)> = spec
        .runs()
        .iter()
        .enumerate()
        .filter_map(|(index, run)| match &run.path {
            RunPath::Route(route) => Some((index, run, route)),
            _ => None,
        })
        .collect();
    if wanted.is_empty() {
        return Routed { spec: Cow::Borrowed(spec), found: Vec::new(), findings: Diagnostics::new() };
    }
    let others = spec.runs().iter().filter(|run| !matches!(run.path, RunPath::Route(_)));
    // Their findings are told when the whole is laid out.
    let (layout, _) = lay_out(&spec.with_runs(others.cloned().collect()), calibrations);
    let room = Room { components: spec.components(), fixed: &layout.runs, effort, ways };
    let problems: Vec<Problem<'_>> = wanted
        .iter()
        .filter_map(|(_, run, route)| {
            let radius = calibrations.of_run(&run.name).map_or(run.bender.clr, |formed| formed.clr);
            Problem::new(run, radius, Wishes::of(run, route))
        })
        .collect();
    let orders: Vec<&[Criterion]> = wanted.iter().map(|(.., route)| route.prefer.as_slice()).collect();
    let outcomes = together(&problems, &orders, &room);
    finish(spec, &wanted, &problems, outcomes, &room)
}

fn finish<'s>(
    spec: &'s Spec,
    wanted: &[(usize, &Run, &Route)],
    problems: &[Problem<'_>],
    outcomes: Vec<Outcome>,
    room: &Room<'_>,
) -> Routed<'s> {
    let mut findings = Diagnostics::new();
    let mut runs: Vec<Option<Run>> = spec.runs().iter().cloned().map(Some).collect();
    let mut found = Vec::new();
    for (((index, run, _), problem), outcome) in wanted.iter().zip(problems).zip(outcomes) {
        let best = outcome.answer.ways.first();
        match best {
            Some(_) => findings.extend(not_proven(run, &outcome.answer, spec.units())),
            None => findings.push(no_way(run, problem, &outcome, room, spec.units())),
        }
        if let Some(place) = runs.get_mut(*index) {
            *place = best.map(|way| Run { path: path(&way.corners, run), ..(*run).clone() });
        }
        found.push(Found { name: run.name.clone(), answer: outcome.answer });
    }
    let spec = spec.with_runs(runs.into_iter().flatten().collect());
    Routed { spec: Cow::Owned(spec), found, findings }
}

fn not_proven(run: &Run, answer: &Answer, unit: Unit) -> Option<Diagnostic> {
    let Proof::Open { bends, length } = answer.proof else { return None };
    let message = format!(
        "run {}: its way may not be the best: one with {bends} bends and {} of tube is not excluded",
        run.name,
        unit.length_with(length, 0)
    );
    let hint = "give the search more time (`tubewright route --seconds`), or write the way as `corners`";
    Some(Diagnostic::warning("way-not-proven", message).hint(hint).at(run.place).run(&run.name))
}

fn no_way(run: &Run, problem: &Problem<'_>, outcome: &Outcome, room: &Room<'_>, unit: Unit) -> Diagnostic {
    let Answer { proof, in_the_way, .. } = &outcome.answer;
    let bends = problem.wishes.max_bends;
    let found = match proof {
        Proof::Proven => format!("run {}: there is no way with at most {bends} bends", run.name),
        Proof::Open { .. } => {
            format!("run {}: no way with at most {bends} bends was found in the time", run.name)
        }
    };
    let most =
        in_the_way.iter().max_by(|a, b| a.1.cmp(b.1).then(b.0.cmp(a.0))).map(|(obstacle, _)| *obstacle);
    let blocked = most.map(|most| name(most, room.components, room.fixed)).unwrap_or_default();
    let shut = if outcome.shut_out { "; alone it would have one" } else { "" };
    let hint = changes(problem, room, unit);
    Diagnostic::error("no-way", format!("{found}{blocked}{shut}")).hint(hint).at(run.place).run(&run.name)
}

/// "; component pump is in the way most often".
fn name(obstacle: Obstacle, components: &[Component], fixed: &[LaidRun]) -> String {
    let name = match obstacle {
        Obstacle::Component(index) => components.get(index).map(|c| format!("component {}", c.name)),
        Obstacle::Run(index) => fixed.get(index).map(|laid| format!("run {}", laid.run.name)),
        Obstacle::Itself => None,
    };
    name.map(|name| format!("; {name} is in the way most often")).unwrap_or_default()
}
