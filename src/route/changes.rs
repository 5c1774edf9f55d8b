//! The single changes that would let a run through, each tried before it is told.

use std::cell::Cell;

use super::answer::Asked;
use super::problem::Problem;
use super::search::search;
use crate::centreline::LaidRun;
use crate::fit::Surroundings;
use crate::geometry::Vector3;
use crate::quantity::Unit;
use crate::spec::model::{Component, Directions};

/// Linear programmes for one trial: enough for what is easily found.
const EFFORT: usize = 500;

/// Linear programmes for the trials of one kind of change: none goes without for what others spent.
const EFFORT_FOR_EACH: usize = 1_000;

/// Parts of the bender's radius and grip that are tried.
const PARTS: [f64; 3] = [0.8, 0.6, 0.4];

/// The smallest radius that is tried, in outside diameters: the least that is published for copper tube (common
/// practice is larger).
const LEAST_DIAMETERS: f64 = 1.5;

/// Halvings between a clearance that lets a run through and one that does not.
const HALVINGS: usize = 5;

/// How far a port is moved, mm.
const MOVES: [f64; 4] = [5.0, 10.0, 20.0, 40.0];

/// Advice for a run without a way: what was tried and works, or that nothing did.
pub(super) fn changes(
    problem: &Problem<'_>,
    components: &[Component],
    runs: &[LaidRun],
    unit: Unit,
) -> String {
    let surroundings = Surroundings::new(components, runs);
    let (spent, cut_short) = (Cell::new(0), Cell::new(false));
    let works = |changed: &Problem<'_>| {
        if spent.get() >= EFFORT_FOR_EACH {
            cut_short.set(true);
            return false;
        }
        let asked = Asked::new(1, EFFORT, &[]);
        let answer = search(changed, &surroundings, &asked);
        spent.set(spent.get() + answer.effort);
        !answer.ways.is_empty()
    };
    let mut all: Vec<String> = Vec::new();
    for change in CHANGES {
        spent.set(0);
        all.extend(change(problem, unit, &works));
    }
    if all.is_empty() {
        let what = match (components.is_empty() && runs.is_empty(), problem.avoid.is_empty()) {
            (true, _) => "a port farther",
            (false, true) => "a component",
            (false, false) => "a component, or let `avoid` take less room",
        };
        let far = if cut_short.get() { " as far as the effort allows" } else { "" };
        format!(
            "one bend more, free directions, less clearance, a smaller radius, a shorter grip and moved ports were \
             tried{far}, and none lets it through: move {what}"
        )
    } else {
        format!("each of these was tried and lets it through: {}", all.join("; "))
    }
}

type Works<'w> = &'w dyn Fn(&Problem<'_>) -> bool;

/// Tries changes of one kind.
type Change = fn(&Problem<'_>, Unit, Works<'_>) -> Option<String>;

const CHANGES: [Change; 7] =
    [without_points, one_bend_more, any_directions, less_clearance, smaller_radius, shorter_grip, moved_port];

fn without_points(problem: &Problem<'_>, _: Unit, works: Works<'_>) -> Option<String> {
    let mut changed = problem.clone();
    changed.wishes.through.clear();
    let had_some = !problem.wishes.through.is_empty();
    (had_some && works(&changed)).then(|| "no points in `through`, or others".to_owned())
}

fn one_bend_more(problem: &Problem<'_>, _: Unit, works: Works<'_>) -> Option<String> {
    let mut changed = problem.clone();
    changed.wishes.max_bends += 1;
    works(&changed).then(|| format!("`max_bends: {}`", changed.wishes.max_bends))
}

fn any_directions(problem: &Problem<'_>, _: Unit, works: Works<'_>) -> Option<String> {
    let wishes = &problem.wishes;
    if !(wishes.angles.is_empty() && wishes.through.is_empty()) || wishes.directions == Directions::Any {
        return None;
    }
    let mut changed = problem.clone();
    changed.wishes.directions = Directions::Any;
    works(&changed).then(|| "`directions: any`".to_owned())
}

fn less_clearance(problem: &Problem<'_>, unit: Unit, works: Works<'_>) -> Option<String> {
    let wanted = problem.wishes.clearance;
    let lets_through = |clearance: f64| {
        let mut changed = problem.clone();
        changed.wishes.clearance = clearance;
        clearance < wanted && works(&changed)
    };
    let (mut most, mut too_much) = (0.0, wanted);
    if !lets_through(most) {
        return None;
    }
    for _ in 0..HALVINGS {
        let middle = (f64::midpoint(most, too_much) * 10.0).floor() / 10.0;
        if lets_through(middle) { most = middle } else { too_much = middle }
    }
    Some(format!("a `clearance` of {}", unit.length(most)))
}

fn smaller_radius(problem: &Problem<'_>, unit: Unit, works: Works<'_>) -> Option<String> {
    let least = LEAST_DIAMETERS * problem.run.tube.od();
    PARTS.into_iter().find_map(|part| {
        let radius = (problem.radius * part).round();
        let changed = Problem { radius, ..problem.clone() };
        (radius >= least && works(&changed)).then(|| format!("a `clr` of {}", unit.length(radius)))
    })
}

fn shorter_grip(problem: &Problem<'_>, unit: Unit, works: Works<'_>) -> Option<String> {
    PARTS.into_iter().chain([0.0]).find_map(|part| {
        let mut run = problem.run.clone();
        let grip = (run.bender.grip * part).floor();
        if grip >= run.bender.grip {
            return None;
        }
        run.bender.grip = grip;
        run.bender.lead_out = run.bender.lead_out.min(grip);
        let changed = Problem { run: &run, ..problem.clone() };
        works(&changed).then(|| format!("a tool with a `grip` of {}", unit.length(grip)))
    })
}

fn moved_port(problem: &Problem<'_>, unit: Unit, works: Works<'_>) -> Option<String> {
    let axes = [("x", Vector3::unit_x()), ("y", Vector3::unit_y()), ("z", Vector3::unit_z())];
    for by in MOVES {
        for (end, key) in [(0, "from"), (1, "to")] {
            for (axis, way) in axes {
                for signed in [by, -by] {
                    let mut changed = problem.clone();
                    if let Some(leave) = changed.ends.get_mut(end) {
                        leave.at += way * signed;
                    }
                    if works(&changed) {
                        let name = [&problem.run.from, &problem.run.to]
                            .get(end)
                            .and_then(|end| {
                                Some(format!("{} with its component", end.as_ref()?.port.as_ref()?))
                            })
                            .unwrap_or_else(|| format!("the end in `{key}`"));
                        return Some(format!("{name} moved by {} along {axis}", unit.length(signed)));
                    }
                }
            }
        }
    }
    None
}
