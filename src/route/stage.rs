//! A spec with runs whose ways are to be found → the same spec with corners in their place.

use std::borrow::Cow;

use super::answer::{Answer, Way};
use super::beside::{Beside, Follower};
use super::findings::{AVOIDED, no_way, not_beside, not_proven, shut_in};
use super::problem::{Problem, Wishes};
use super::together::{Room, laid, together};
use crate::calibration::Calibrations;
use crate::centreline::{LaidRun, lay_out};
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::fit::{Surroundings, box_round};
use crate::spec::model::{
    Avoid, AvoidWhat, Component, CopyOf, Corner, Criterion, Like, Placed, Route, Run, RunPath, Spec,
};

/// Linear programmes and measurements for one search: the same answer on every machine.
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
        let way = found.answer.ways.get(way)?;
        let mut runs = self.spec.runs().to_vec();
        let changed = runs.iter_mut().find(|other| other.name == run)?;
        changed.path = path(way, changed);
        mirror_images(&mut runs, &[run]);
        let spec = Cow::Owned(self.spec.with_runs(runs));
        Some(Routed { spec, found: self.found.clone(), findings: self.findings.clone() })
    }
}

/// The corners of a way as a run has them.
fn path(way: &Way, run: &Run) -> RunPath {
    let corner = |at| Corner { at, by: Placed::Point, clr: None, place: run.place };
    RunPath::Corners(way.rounded_corners().into_iter().map(corner).collect())
}

/// Finds the ways of every run that has none, `ways` of each, with this effort for each search.
pub fn find_ways<'s>(spec: &'s Spec, calibrations: &Calibrations, ways: usize, effort: usize) -> Routed<'s> {
    let mut wanted: Vec<Sought<'_>> = spec.runs().iter().filter_map(Sought::of).collect();
    if wanted.is_empty() {
        return Routed { spec: Cow::Borrowed(spec), found: Vec::new(), findings: Diagnostics::new() };
    }
    let others = spec.runs().iter().filter(|run| !matches!(run.path, RunPath::Route(_)) && !is_image(run));
    // Their findings are told when the whole is laid out.
    let (layout, _) = lay_out(&spec.with_runs(others.cloned().collect()), calibrations);
    let mut stage = Stage { spec, fixed: layout.runs, effort, ways, done: Vec::new() };
    // Runs that lead beside another wait for its way. None waits for itself, so every round takes some.
    while !wanted.is_empty() {
        let names: Vec<&str> = wanted.iter().map(|sought| sought.run.name.as_str()).collect();
        let waits = |sought: &Sought<'_>| {
            sought.route.like.as_ref().is_some_and(|like| names.contains(&like.run.as_str()))
        };
        let (later, now): (Vec<Sought<'_>>, Vec<Sought<'_>>) =
            wanted.iter().partition(|sought| waits(sought));
        if now.is_empty() {
            break;
        }
        stage.round(&now, calibrations);
        wanted = later;
    }
    stage.finish()
}

/// A run whose way is to be found.
#[derive(Clone, Copy)]
struct Sought<'s> {
    run: &'s Run,
    route: &'s Route,
}

impl<'s> Sought<'s> {
    fn of(run: &'s Run) -> Option<Self> {
        match &run.path {
            RunPath::Route(route) => Some(Sought { run, route }),
            _ => None,
        }
    }

    fn problem(&self, stage: &Stage<'_>, calibrations: &Calibrations) -> Option<Problem<'s>> {
        let Sought { run, route } = self;
        let mut problem = self.alone(calibrations)?;
        problem.avoid = route.avoid.iter().filter_map(|avoid| room(avoid, stage.spec.components())).collect();
        problem.beside = route.like.as_ref().and_then(|like| {
            let other = stage.fixed.iter().find(|laid| laid.run.name == like.run)?;
            let ends = (problem.ends[0].at, problem.ends.map(|end| end.way));
            Beside::of(ends, &other.centreline, like.spacing)
        });
        problem.followers = stage.followers(run, calibrations);
        Some(problem)
    }

    /// The run with its wishes alone.
    fn alone(&self, calibrations: &Calibrations) -> Option<Problem<'s>> {
        let Sought { run, route } = self;
        let radius = calibrations.of_run(&run.name).map_or(run.bender.clr, |formed| formed.clr);
        Problem::new(run, radius, Wishes::of(run, route))
    }
}

/// The room to keep clear of as a component.
fn room(avoid: &Avoid, components: &[Component]) -> Option<Component> {
    let (name, shape) = match &avoid.what {
        AvoidWhat::Room(shape) => (AVOIDED.to_owned(), shape.clone()),
        AvoidWhat::Component(name) => {
            let component = components.iter().find(|component| component.name == *name)?;
            (name.clone(), box_round(component.own_shapes())?)
        }
    };
    Some(Component::new(name, vec![shape], Vec::new()))
}

/// The runs that have their ways so far.
struct Stage<'s> {
    spec: &'s Spec,
    fixed: Vec<LaidRun>,
    effort: usize,
    ways: usize,
    done: Vec<Done>,
}

/// A run that was looked for.
struct Done {
    found: Found,
    finding: Option<Diagnostic>,
}

impl<'s> Stage<'s> {
    /// The runs that are to lead beside a run.
    fn followers(&self, run: &Run, calibrations: &Calibrations) -> Vec<Follower> {
        let sought = self.spec.runs().iter().filter_map(Sought::of);
        let follower = |sought: Sought<'_>| {
            let like = sought.route.like.as_ref().filter(|like| like.run == run.name)?;
            sought.alone(calibrations)?.as_follower(like.spacing)
        };
        sought.filter_map(follower).collect()
    }

    /// Finds the ways of some runs together.
    fn round(&mut self, runs: &[Sought<'s>], calibrations: &Calibrations) {
        let mut sought = Vec::new();
        let mut problems = Vec::new();
        for run in runs {
            let Some(problem) = run.problem(self, calibrations) else { continue };
            if let Some(finding) = shut_in(&problem, run.route) {
                let answer = Answer::nothing();
                let found = Found { name: run.run.name.clone(), answer };
                self.done.push(Done { found, finding: Some(finding) });
                continue;
            }
            sought.push(*run);
            problems.push(problem);
        }
        let unit = self.spec.units();
        let orders: Vec<&[Criterion]> = sought.iter().map(|sought| sought.route.prefer.as_slice()).collect();
        let components = self.spec.components();
        let Stage { fixed, effort, ways, .. } = self;
        let room = Room { components, fixed, effort: *effort, ways: *ways };
        let outcomes = together(&problems, &orders, &room);
        let lines: Vec<Option<LaidRun>> = problems
            .iter()
            .zip(&outcomes)
            .map(|(problem, outcome)| Some(laid(problem, outcome.answer.ways.first()?)))
            .collect();
        let mut done = Vec::new();
        for (index, ((sought, problem), outcome)) in sought.iter().zip(&problems).zip(&outcomes).enumerate() {
            let answer = &outcome.answer;
            let others = lines.iter().enumerate().filter(|(other, _)| *other != index);
            let among: Vec<LaidRun> =
                fixed.iter().cloned().chain(others.filter_map(|(_, line)| line.clone())).collect();
            // That the other run has no way is told there.
            let has_way = |like: &&Like| fixed.iter().any(|laid| laid.run.name == like.run);
            let like = sought.route.like.as_ref().filter(has_way);
            let finding = match answer.ways.first() {
                Some(way) => {
                    not_proven(sought.run, answer, unit).or_else(|| not_beside(like, problem, way, unit))
                }
                None => Some(no_way((sought.run, problem), outcome, (components, &among), unit)),
            };
            done.push(Done {
                found: Found { name: sought.run.name.clone(), answer: answer.clone() },
                finding,
            });
        }
        fixed.extend(lines.into_iter().flatten());
        self.done.extend(done);
    }

    /// Leaves out further ways that come too near to runs that were led after this one.
    fn drop_overlaps(&self, run: &Run, ways: &mut Vec<Way>) {
        let (RunPath::Route(route), Some(first)) = (&run.path, ways.first().cloned()) else { return };
        if ways.len() < 2 {
            return;
        }
        let others: Vec<LaidRun> =
            self.fixed.iter().filter(|laid| laid.run.name != run.name).cloned().collect();
        let surroundings = Surroundings::new(&[], &others);
        let clearance = Wishes::of(run, route).clearance;
        ways.retain(|way| *way == first || surroundings.breaches(run, &way.line, &[], clearance).is_empty());
    }

    fn finish(mut self) -> Routed<'s> {
        let mut findings = Diagnostics::new();
        let mut found = Vec::new();
        let mut runs: Vec<Run> = Vec::new();
        let mut done = std::mem::take(&mut self.done);
        for run in self.spec.runs() {
            let Some(at) = done.iter().position(|done| done.found.name == run.name) else {
                // One that leads beside itself in a circle was told before.
                runs.extend(Some(run).filter(|run| !matches!(run.path, RunPath::Route(_))).cloned());
                continue;
            };
            let mut one = done.swap_remove(at);
            self.drop_overlaps(run, &mut one.found.answer.ways);
            findings.extend(one.finding);
            if let Some(way) = one.found.answer.ways.first() {
                runs.push(Run { path: path(way, run), ..run.clone() });
            }
            found.push(one.found);
        }
        // The image of a run without a way has none, either.
        let names: Vec<&str> = found.iter().map(|found| found.name.as_str()).collect();
        mirror_images(&mut runs, &names);
        runs.retain(|run| !is_image(run));
        Routed { spec: Cow::Owned(self.spec.with_runs(runs)), found, findings }
    }
}

/// Whether a run is the mirror image of one that is found, and has no corners yet.
fn is_image(run: &Run) -> bool {
    matches!(run.path, RunPath::SameAs(_)) && run.copy.as_ref().is_some_and(|copy| copy.plane.is_some())
}

/// Gives the mirror images of these runs, which were found, their corners.
fn mirror_images(runs: &mut [Run], found: &[&str]) {
    let corners: Vec<(String, Vec<Corner>)> = runs
        .iter()
        .filter(|run| found.contains(&run.name.as_str()))
        .filter_map(|run| match &run.path {
            RunPath::Corners(corners) => Some((run.name.clone(), corners.clone())),
            _ => None,
        })
        .collect();
    for run in runs {
        let Some(CopyOf { run: of, plane: Some(plane), .. }) = &run.copy else { continue };
        if let Some((_, corners)) = corners.iter().find(|(name, _)| name == of) {
            run.path = RunPath::Corners(plane.corners(corners));
        }
    }
}
