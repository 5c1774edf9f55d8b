//! Loops that cannot be put together: which run closes the ring, and what would open it.

use super::parts::Parts;
use super::search::Search;
use crate::centreline::Layout;
use crate::diagnostic::{Diagnostic, listed};
use crate::quantity::Unit;

/// Most changes that are tried.
const MOST_TRIED: usize = 24;

/// Most that are told.
const MOST_TOLD: usize = 3;

/// The finding about tubes that hold each other.
pub(super) fn cannot_be_put_in(layout: &Layout, parts: &Parts, stuck: &[usize]) -> Diagnostic {
    let name = |index: usize| parts.tubes.get(index).map(|tube| tube.name.as_str()).unwrap_or_default();
    // Without the one that closes the ring, all others go in.
    let closes = |left_out: &usize| {
        let others: Vec<usize> = stuck.iter().copied().filter(|index| index != left_out).collect();
        goes_together(parts, &others)
    };
    let closing = stuck.iter().copied().take(MOST_TRIED).find(closes);
    let first = closing.or(stuck.first().copied()).unwrap_or_default();
    let others = || {
        let others = stuck.iter().filter(|index| **index != first);
        listed(&others.map(|index| name(*index).to_owned()).collect::<Vec<_>>())
    };
    let (own, held) = (name(first), holds(parts, first, layout.units));
    let message = match (stuck, closing) {
        ([_], _) => format!("run {own}: it cannot be put in: {held}"),
        (_, Some(_)) => {
            format!("run {own}: it closes a ring with {}, and cannot be put in: {held}", others())
        }
        (_, None) => {
            format!(
                "run {own}: it cannot be put in, nor can {}: they hold each other in more than one ring",
                others()
            )
        }
    };
    let openers = openers(parts, stuck, first, layout.units);
    let hint = if openers.is_empty() {
        "no single change of a port's fitting or of what is `fixed` opens it: lead one of the runs so that both its ends \
         face the same way, or make it of two pieces"
            .to_owned()
    } else {
        format!("each of these opens it: {}", openers.join("; "))
    };
    let warning = Diagnostic::warning("cannot-be-put-in", message).hint(hint);
    match layout.runs.get(first) {
        Some(laid) => warning.at(laid.run.place).run(&laid.run.name),
        None => warning,
    }
}

/// The ports and fixed parts that hold a tube.
fn holds(parts: &Parts, index: usize, unit: Unit) -> String {
    let ends = || parts.tubes.get(index).into_iter().flat_map(|tube| tube.ends.iter().flatten());
    let mut of_it = " of it go";
    let into: Vec<String> = ends()
        .filter(|end| end.hold > 0.0)
        .map(|end| format!("{}{} into {}", unit.length(end.insert), std::mem::take(&mut of_it), end.port))
        .collect();
    let mut fixed: Vec<String> = Vec::new();
    for body in ends().filter_map(|end| parts.bodies.get(end.component)).filter(|body| body.fixed) {
        if !fixed.contains(&body.name) {
            fixed.push(body.name.clone());
        }
    }
    let fixed = match fixed.as_slice() {
        [] => String::new(),
        [one] => format!("; {one} is fixed"),
        several => format!("; {} are fixed", listed(several)),
    };
    format!("{}{fixed}", into.join(" and "))
}

fn goes_together(parts: &Parts, tubes: &[usize]) -> bool {
    let found = Search::of(parts).take_apart(tubes);
    found.stuck.is_empty() && !found.is_cut_short
}

/// Changes with which all of these tubes go in, each tried. Those of the run that closes the ring come first.
fn openers(parts: &Parts, stuck: &[usize], first: usize, unit: Unit) -> Vec<String> {
    let order = [first].into_iter().chain(stuck.iter().copied().filter(|index| *index != first));
    let mut changes: Vec<(String, Parts)> = Vec::new();
    for index in order {
        changes.extend(changes_of(parts, index, unit));
    }
    let mut told: Vec<String> = Vec::new();
    for (words, changed) in changes.into_iter().take(MOST_TRIED) {
        if told.len() < MOST_TOLD && !told.contains(&words) && goes_together(&changed, stuck) {
            told.push(words);
        }
    }
    told
}

/// Changes at the ends of a tube, in words and made.
fn changes_of(parts: &Parts, index: usize, unit: Unit) -> Vec<(String, Parts)> {
    let mut changes = Vec::new();
    let Some(tube) = parts.tubes.get(index) else { return changes };
    for end in [0, 1] {
        let Some(held) = &tube.ends[end] else { continue };
        let component = held.component;
        if parts.bodies.get(component).is_some_and(|body| body.fixed) {
            let mut changed = parts.clone();
            let name = changed.bodies.get_mut(component).map(|body| {
                body.fixed = false;
                body.name.clone()
            });
            changes.push((format!("component {} not `fixed`", name.unwrap_or_default()), changed));
        }
    }
    for end in [0, 1] {
        let (Some(held), Some(other)) = (&tube.ends[end], &tube.ends[1 - end]) else { continue };
        if held.hold > 0.0 && other.hold > 0.0 {
            let mut changed = parts.clone();
            let deep = held.insert + other.hold;
            if let Some(own) = changed.tubes.get_mut(index).and_then(|tube| tube.ends[end].as_mut()) {
                own.spare = other.hold;
            }
            let words = format!("a fitting in {} with `deep: {}`", held.port, unit.number(deep));
            changes.push((words, changed));
        }
    }
    for end in [0, 1] {
        let Some(held) = tube.ends[end].as_ref().filter(|held| held.hold > 0.0) else { continue };
        let mut changed = parts.clone();
        if let Some(own) = changed.tubes.get_mut(index).and_then(|tube| tube.ends[end].as_mut()) {
            own.hold = 0.0;
        }
        changed.find_backs();
        let words =
            format!("a fitting in {} that the tube does not go into, such as one for a flare", held.port);
        changes.push((words, changed));
    }
    changes
}
