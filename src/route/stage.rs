//! A spec with runs whose ways are to be found → the same spec with corners in their place.

use std::borrow::Cow;

use super::answer::{Answer, Proof, Way};
use super::beside::{Beside, Follower};
use super::changes::changes;
use super::problem::{Problem, Wishes};
use super::together::{Outcome, Room, laid, together};
use crate::calibration::Calibrations;
use crate::centreline::{LaidRun, lay_out};
use crate::diagnostic::{Diagnostic, Diagnostics, listed};
use crate::fit::{Obstacle, box_round};
use crate::geometry::Vector3;
use crate::quantity::Unit;
use crate::spec::model::{
    Avoid, AvoidWhat, Component, CopyOf, Corner, Criterion, Directions, Placed, Route, Run, RunPath, Spec,
};
use crate::tolerance::COINCIDENT_MM;

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

/// The name of a box to avoid.
const AVOIDED: &str = "a box of `avoid`";

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
            let finding = match answer.ways.first() {
                Some(way) => {
                    not_proven(sought.run, answer, unit).or_else(|| not_beside(sought, problem, way, unit))
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

    fn finish(self) -> Routed<'s> {
        let mut findings = Diagnostics::new();
        let mut found = Vec::new();
        let mut runs: Vec<Run> = Vec::new();
        let mut done = self.done;
        for run in self.spec.runs() {
            let Some(at) = done.iter().position(|done| done.found.name == run.name) else {
                // One that leads beside itself in a circle was told before.
                runs.extend(Some(run).filter(|run| !matches!(run.path, RunPath::Route(_))).cloned());
                continue;
            };
            let one = done.swap_remove(at);
            findings.extend(one.finding);
            if let Some(way) = one.found.answer.ways.first() {
                runs.push(Run { path: path(way, run), ..run.clone() });
            }
            found.push(one.found);
        }
        // The image of a run without a way has none, either.
        let names: Vec<&str> = found.iter().map(|found| found.name.as_str()).collect();
        let mut runs = runs;
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
            let mirrored = corners.iter().map(|corner| Corner { at: plane.point(corner.at), ..*corner });
            run.path = RunPath::Corners(mirrored.collect());
        }
    }
}

/// An end that lies in a box to avoid.
fn shut_in(problem: &Problem<'_>, route: &Route) -> Option<Diagnostic> {
    let run = problem.run;
    for avoid in &route.avoid {
        let AvoidWhat::Room(shape) = &avoid.what else { continue };
        for end in [&run.from, &run.to].into_iter().flatten() {
            let way = end.facing.unwrap_or_else(Vector3::unit_x);
            let holds = |(from, to): &(f64, f64)| *from <= COINCIDENT_MM && *to > COINCIDENT_MM;
            if shape.inside(end.face, way).iter().any(holds) {
                let name =
                    end.port.as_ref().map_or("one of its ends".to_owned(), |port| format!("port {port}"));
                let message = format!("run {}: {name} lies in a box that the run must avoid", run.name);
                let hint = "let the box end in front of the port, or delete it from `avoid`";
                return Some(
                    Diagnostic::error("port-in-avoid", message).hint(hint).at(avoid.place).run(&run.name),
                );
            }
        }
    }
    None
}

/// The warning about a way that does not lead where it should beside another run.
fn not_beside(sought: &Sought<'_>, problem: &Problem<'_>, way: &Way, unit: Unit) -> Option<Diagnostic> {
    let like = sought.route.like.as_ref()?;
    let run = sought.run;
    let (message, hint) = match &problem.beside {
        None => (
            format!(
                "run {}: it does not lead beside run {}: its ports do not face as those do",
                run.name, like.run
            ),
            "turn the ports the same way, or delete `like`",
        ),
        Some(beside) => match beside.off(&way.corners, problem.ends[0].at) {
            Some(off) if off <= SLIGHTLY_OFF_MM => return None,
            Some(off) => (
                format!(
                    "run {}: it leads beside run {}, but up to {} off the spacing",
                    run.name,
                    like.run,
                    unit.length_with(off, 1)
                ),
                "its ports are not as far apart, or something is in the way: change `spacing`, or move either",
            ),
            None => (
                format!("run {}: there is no room beside run {}, so it goes its own way", run.name, like.run),
                "give it another `spacing`, or write both by `corners`",
            ),
        },
    };
    Some(Diagnostic::warning("not-beside", message).hint(hint).at(like.place).run(&run.name))
}

/// A run farther from its place beside another is told, mm: less is below what a bench keeps to (common practice, no
/// source).
const SLIGHTLY_OFF_MM: f64 = 0.5;

fn not_proven(run: &Run, answer: &Answer, unit: Unit) -> Option<Diagnostic> {
    let Proof::Open { bends, length } = answer.proof else { return None };
    let message = format!(
        "run {}: its way may not be the best: one with {bends} bends and {} of tube is not excluded",
        run.name,
        unit.length_with(length, 0)
    );
    let is_free = matches!(&run.path, RunPath::Route(route) if route.directions == Directions::Any);
    let hint = if is_free {
        "ways along free directions are looked for from many starts, and none is proven; leave `directions` out for \
         one that is, or write the way as `corners`"
    } else {
        "give the search more effort (`tubewright route --seconds`), or write the way as `corners`"
    };
    Some(Diagnostic::warning("way-not-proven", message).hint(hint).at(run.place).run(&run.name))
}

fn no_way(
    (run, problem): (&Run, &Problem<'_>),
    outcome: &Outcome,
    (components, among): (&[Component], &[LaidRun]),
    unit: Unit,
) -> Diagnostic {
    let Answer { proof, in_the_way, .. } = &outcome.answer;
    let bends = problem.wishes.max_bends;
    let found = match proof {
        Proof::Proven => format!("run {}: there is no way with at most {bends} bends", run.name),
        Proof::Open { .. } => {
            format!("run {}: no way with at most {bends} bends was found with the effort allowed", run.name)
        }
    };
    let most =
        in_the_way.iter().max_by(|a, b| a.1.cmp(b.1).then(b.0.cmp(a.0))).map(|(obstacle, _)| *obstacle);
    let all = problem.all_of(components);
    let blocked = most.map(|most| name(most, &all, among)).unwrap_or_default();
    let rivals: Vec<String> = in_the_way
        .keys()
        .filter_map(|obstacle| match obstacle {
            Obstacle::Run(index) => among.get(*index).map(|laid| format!("run {}", laid.run.name)),
            _ => None,
        })
        .collect();
    let shut = if outcome.shut_out && !rivals.is_empty() {
        format!("; without {} it would have one", listed(&rivals))
    } else {
        String::new()
    };
    let hint = changes(problem, &all, among, unit);
    Diagnostic::error("no-way", format!("{found}{blocked}{shut}")).hint(hint).at(run.place).run(&run.name)
}

/// "; component pump is in the way most often".
fn name(obstacle: Obstacle, components: &[Component], runs: &[LaidRun]) -> String {
    let name = match obstacle {
        Obstacle::Component(index) => components.get(index).map(|component| match component.name.as_str() {
            AVOIDED => AVOIDED.to_owned(),
            name => format!("component {name}"),
        }),
        Obstacle::Run(index) => runs.get(index).map(|laid| format!("run {}", laid.run.name)),
        Obstacle::Itself => None,
    };
    name.map(|name| format!("; {name} is in the way most often")).unwrap_or_default()
}
