//! Test bends tell of the tube they were made of.

use super::{Defaults, Given, tube};
use crate::spec::fields::{Fields, Reader};
use crate::spec::model::{Bender, Tube};
use crate::spec::node::Value;

/// Takes test bends from a run with a tube of its own, with a warning: springback, stretch and legs measured
/// to the outside are those of the tube they were made of. That is `other`, the tube of the run that this one has
/// its bender from, or else the spec's.
pub(super) fn drop_tests_of_another_tube(
    reader: &mut Reader,
    defaults: &Defaults<'_>,
    run: &Fields<'_>,
    other: Option<&Tube>,
    tube: &Tube,
    bender: &mut Bender,
) {
    if !run.has("tube") || bender.test_bends.is_empty() {
        return;
    }
    let tested = match other {
        Some(other) => Some(other.clone()),
        None if inherited(defaults, bender) => tested_tube(reader, defaults),
        None => None,
    };
    let (Some(tested), of) = (tested, if other.is_some() { "the other run" } else { "the spec" }) else {
        return;
    };
    let metal = |tube: &Tube| (tube.material().to_owned(), tube.temper());
    if (tested.od(), tested.wall()) == (tube.od(), tube.wall()) && metal(&tested) == metal(tube) {
        return;
    }
    let message = format!(
        "{of}'s test bends are of another tube, {}: they are not used for this run",
        tested.designation()
    );
    let hint = "bend pieces of this run's tube and give its `bender` their `test_bends`; `test_bends: []` if there \
                are none";
    reader.warning("tests-of-another-tube", run.place_of("tube"), message, hint);
    bender.test_bends.clear();
}

/// Whether a bender's test bends are those of the spec's bender.
fn inherited(defaults: &Defaults<'_>, bender: &Bender) -> bool {
    let Given::Fields(base) = &defaults.bender.given else { return false };
    let first = base.node("test_bends").and_then(|node| match &node.value {
        Value::List(items) => items.first(),
        _ => None,
    });
    match (first, bender.test_bends.first()) {
        (Some(first), Some(own)) => first.place == own.place,
        _ => false,
    }
}

/// The spec's own tube, if its keys make one without a run's.
fn tested_tube(reader: &Reader, defaults: &Defaults<'_>) -> Option<Tube> {
    let Given::Fields(fields) = &defaults.tube.given else { return None };
    // Runs may add the keys that it lacks: they are no fault.
    let mut aside = Reader::new();
    (aside.unit, aside.unit_from) = (reader.unit, reader.unit_from);
    tube::tube(&mut aside, fields, false)
}
