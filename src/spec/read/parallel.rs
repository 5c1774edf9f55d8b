//! `clr: parallel to RUN`: corners that are bent about one centre with another run.

use super::corner::PLACES;
use crate::diagnostic::Span;
use crate::spec::fields::{Fields, Reader};
use crate::spec::model::Parallel;
use crate::spec::node::{Node, Value};
use crate::spelling;

/// The words before the run's name.
const WORDS: &str = "parallel to ";

/// The run that a corner's `clr` names.
pub(super) fn named<'n>(corner: &Fields<'n>) -> Option<&'n str> {
    corner.node("clr").and_then(name)
}

fn name(clr: &Node) -> Option<&str> {
    clr.scalar()?.strip_prefix(WORDS).map(str::trim)
}

/// The corners of a run that name another.
pub(super) fn parallels(run: &Fields<'_>) -> Vec<Parallel> {
    let Some(Value::List(corners)) = run.node("corners").map(|node| &node.value) else { return Vec::new() };
    let of = |(index, corner): (usize, &Node)| {
        let clr = corner.get("clr").filter(|_| PLACES.iter().any(|key| corner.get(key).is_some()))?;
        Some(Parallel { corner: index + 1, run: name(clr)?.to_owned(), place: clr.place })
    };
    corners.iter().enumerate().filter_map(of).collect()
}

/// Notes the name of a run that there is not, with those that there are.
pub(super) fn unknown_run<'n>(
    reader: &mut Reader,
    name: &str,
    place: Span,
    names: impl Iterator<Item = &'n str> + Clone,
) {
    let hint = spelling::advice(name, "runs", names);
    reader.error("unknown-run", place, format!("there is no run `{name}`"), hint);
}

/// Notes names of runs that there are not, and of the run itself.
pub(super) fn check(reader: &mut Reader, run: &str, parallels: &[Parallel], names: &[String]) {
    reader.enter_run(Some(run));
    for parallel in parallels {
        if parallel.run == run {
            let message = "a run cannot be parallel to itself";
            reader.error("parallel-circle", parallel.place, message, "name another run, or write a radius");
        } else if !names.contains(&parallel.run) {
            unknown_run(reader, &parallel.run, parallel.place, names.iter().map(String::as_str));
        }
    }
    reader.enter_run(None);
}
