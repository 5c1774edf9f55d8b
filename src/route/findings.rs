//! Findings about ways: none, not proven, not where they were wanted.

use super::answer::{Answer, Asked, Proof, Way};
use super::changes::changes;
use super::problem::Problem;
use super::search::search;
use super::together::Outcome;
use crate::centreline::{LaidRun, from_corners};
use crate::diagnostic::{Diagnostic, listed};
use crate::fit::{Obstacle, Surroundings};
use crate::geometry::{Point3, Vector3};
use crate::quantity::Unit;
use crate::spec::model::{AvoidWhat, Component, Directions, End, Like, ON_THE_SKIN_MM, Route, Run, RunPath};
use crate::tolerance::COINCIDENT_MM;

/// The name of a box to avoid.
pub(super) const AVOIDED: &str = "a box of `avoid`";

/// An end that lies in a box to avoid, or in a component to avoid.
pub(super) fn shut_in(problem: &Problem<'_>, route: &Route) -> Option<Diagnostic> {
    let run = problem.run;
    for avoid in &route.avoid {
        let ends = || [&run.from, &run.to].into_iter().flatten();
        let shape = match &avoid.what {
            AvoidWhat::Room(shape) => shape,
            AvoidWhat::Component(name) => {
                let Some(end) = ends().find(|end| is_port_of(end, name)) else { continue };
                let message =
                    format!("run {}: it must avoid {name}, and {} is there", run.name, end_name(end));
                let hint = "delete it from `avoid`: the run keeps clear of its own components all the same";
                return Some(
                    Diagnostic::error("port-in-avoid", message).hint(hint).at(avoid.place).run(&run.name),
                );
            }
        };
        for end in ends() {
            let way = end.facing.unwrap_or_else(Vector3::unit_x);
            let holds = |(from, to): &(f64, f64)| *from <= COINCIDENT_MM && *to > COINCIDENT_MM;
            if shape.inside(end.face, way).iter().any(holds) {
                let name = end_name(end);
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
pub(super) fn not_beside(
    like: Option<&Like>,
    problem: &Problem<'_>,
    way: &Way,
    unit: Unit,
) -> Option<Diagnostic> {
    let (like, run) = (like?, problem.run);
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
                "that is as near as its ports, its bends and what is in the way allow: change `spacing`, or move a port",
            ),
            None => (
                format!("run {}: there is no room beside run {}, so it goes its own way", run.name, like.run),
                "give it another `spacing` or more bends, or write both by `corners`",
            ),
        },
    };
    Some(Diagnostic::warning("not-beside", message).hint(hint).at(like.place).run(&run.name))
}

/// A run farther from its place beside another is told, mm: less is below what a bench keeps to (common practice, no
/// source).
const SLIGHTLY_OFF_MM: f64 = 0.5;

/// The warning about a way that may not be the best.
pub(super) fn not_proven(run: &Run, answer: &Answer, unit: Unit) -> Option<Diagnostic> {
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

/// The error of a run without a way.
pub(super) fn no_way(
    (run, problem): (&Run, &Problem<'_>),
    outcome: &Outcome,
    (components, among): (&[Component], &[LaidRun]),
    unit: Unit,
) -> Diagnostic {
    let Answer { proof, in_the_way, .. } = &outcome.answer;
    let bends = match problem.wishes.max_bends {
        1 => "1 bend".to_owned(),
        bends => format!("{bends} bends"),
    };
    let found = match proof {
        Proof::Proven => format!("run {}: there is no way with at most {bends}", run.name),
        Proof::Open { .. } => {
            format!("run {}: no way with at most {bends} was found with the effort allowed", run.name)
        }
    };
    let most =
        in_the_way.iter().max_by(|a, b| a.1.cmp(b.1).then(b.0.cmp(a.0))).map(|(obstacle, _)| *obstacle);
    let all = problem.all_of(components);
    let blocked = most.and_then(|most| thing(most, &all, among));
    let blocked = blocked.map(|name| format!("; {name} is in the way most often")).unwrap_or_default();
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
    let error = |why: &str| Diagnostic::error("no-way", format!("{found}{why}")).at(run.place).run(&run.name);
    let certain = |why: &str| {
        let message = format!("run {}: it has no way: {why}", run.name);
        Diagnostic::error("no-way", message).at(run.place).run(&run.name)
    };
    if let Some((end, component)) = end_inside(problem, components) {
        let hint = "correct the port's `at` or the component's size: no tube can begin there";
        return certain(&format!("{end} lies inside component {component}")).hint(hint);
    }
    if let Some((port, other)) = shared_port(run, among) {
        let hint = "a port takes one tube: give one of the two runs another port";
        return certain(&format!("run {other} ends in its port {port}, too")).hint(hint);
    }
    if let Some((point, obstacle)) = point_shut_in(problem, &Surroundings::new(&all, among)) {
        let by = thing(obstacle, &all, among).unwrap_or_default();
        let why =
            format!("no tube fits at the point [{}] of `through`: {by} is too near", shown(point, unit));
        return certain(&why).hint("move the point, or leave it out");
    }
    let hint = changes(problem, &all, among, unit);
    if has_none_alone(problem) {
        let why = "; it would have none if nothing were in the way: the straights at its ends, the radius and the grip \
                   leave no room for the bends between its ports";
        return error(why).hint(hint);
    }
    error(&format!("{blocked}{shut}")).hint(hint)
}

/// An end of a run that lies inside a component that is not its own, with the name of that.
fn end_inside<'c>(problem: &Problem<'_>, components: &'c [Component]) -> Option<(String, &'c str)> {
    let ends = [&problem.run.from, &problem.run.to].into_iter().flatten();
    ends.flat_map(|end| components.iter().map(move |component| (end, component))).find_map(
        |(end, component)| {
            let own = is_port_of(end, &component.name);
            let way = end.facing.unwrap_or_else(Vector3::unit_x);
            let holds = |(from, to): &(f64, f64)| *from < -ON_THE_SKIN_MM && *to > ON_THE_SKIN_MM;
            let is_inside = !own
                && component.own_shapes().iter().any(|shape| shape.inside(end.face, way).iter().any(holds));
            is_inside.then(|| (end_name(end), component.name.as_str()))
        },
    )
}

/// Whether an end is a port of a component. Names hold dots too.
fn is_port_of(end: &End, component: &str) -> bool {
    let after = end.port.as_ref().and_then(|port| port.strip_prefix(component));
    after.is_some_and(|after| after.starts_with('.'))
}

/// A point to lead through that no tube fits at, with the thing that is too near to it.
fn point_shut_in(problem: &Problem<'_>, surroundings: &Surroundings<'_>) -> Option<(Point3, Obstacle)> {
    let clearance = problem.wishes.clearance;
    problem.wishes.through.iter().find_map(|point| {
        let ways = [Vector3::unit_x(), Vector3::unit_y(), Vector3::unit_z()];
        let blocked = ways.map(|way| {
            let half = way * (SHORT_MM / 2.0);
            let line = from_corners(*point - half, &[], *point + half).ok()?;
            Some(surroundings.breaches(problem.run, &line, &[], clearance).first()?.obstacle)
        });
        let [Some(obstacle), Some(_), Some(_)] = blocked else { return None };
        Some((*point, obstacle))
    })
}

/// Another run that ends in a port of this one, with the port.
fn shared_port<'r>(run: &Run, among: &'r [LaidRun]) -> Option<(String, &'r str)> {
    let ends = |run: &Run| -> Vec<String> {
        [&run.from, &run.to].into_iter().flatten().filter_map(|end| end.port.clone()).collect()
    };
    let mine = ends(run);
    among.iter().find_map(|laid| {
        let port = ends(&laid.run).into_iter().find(|port| mine.contains(port))?;
        Some((port, laid.run.name.as_str()))
    })
}

fn end_name(end: &End) -> String {
    end.port.as_ref().map_or("one of its ends".to_owned(), |port| format!("port {port}"))
}

/// Whether a run is proven to have no way where there is nothing else.
fn has_none_alone(problem: &Problem<'_>) -> bool {
    let answer = search(problem, &Surroundings::new(&[], &[]), &Asked::new(1, EFFORT_ALONE, &[]));
    answer.ways.is_empty() && answer.proof == Proof::Proven
}

/// Length of tube that stands for a place, mm.
const SHORT_MM: f64 = 0.2;

/// Linear programmes and measurements for a run alone: little is in its way.
const EFFORT_ALONE: usize = 2_000;

/// A point as a spec writes it.
fn shown(at: Point3, unit: Unit) -> String {
    [at.x, at.y, at.z].map(|mm| unit.number(mm)).join(", ")
}

/// "component pump" or "run a".
fn thing(obstacle: Obstacle, components: &[Component], runs: &[LaidRun]) -> Option<String> {
    match obstacle {
        Obstacle::Component(index) => components.get(index).map(|component| match component.name.as_str() {
            AVOIDED => AVOIDED.to_owned(),
            name => format!("component {name}"),
        }),
        Obstacle::Run(index) => runs.get(index).map(|laid| format!("run {}", laid.run.name)),
        Obstacle::Itself => None,
    }
}
