//! Test bends tell of the tube they were made of.

use super::{Defaults, Given, tube};
use crate::spec::fields::{Fields, Reader};
use crate::spec::keys;
use crate::spec::model::{Bender, Tube};
use crate::spec::node::Value;
use crate::tolerance::is_same_size;

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
        None => inherited(defaults, bender).and_then(|base| {
            let spec = tested_tube(reader, defaults)?;
            // A bender for a size of its own was not tried with the spec's tube of another.
            let is_of_it = !base.has("od") || is_same_size(spec.od(), tube.od());
            is_of_it.then_some(spec)
        }),
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

/// The spec's bender that a bender's test bends are from.
fn inherited<'d, 'n>(defaults: &'d Defaults<'n>, bender: &Bender) -> Option<&'d Fields<'n>> {
    let bases: Vec<&Fields<'n>> = match &defaults.bender.given {
        Given::Fields(base) => vec![base],
        Given::BySize(benders) => benders.iter().map(|bender| &bender.fields).collect(),
        Given::Absent | Given::Broken => Vec::new(),
    };
    let first = |base: &Fields<'n>| match &base.node("test_bends")?.value {
        Value::List(items) => items.first().map(|item| item.place),
        _ => None,
    };
    let own = bender.test_bends.first()?.place;
    bases.into_iter().find(|base| first(base) == Some(own))
}

/// The spec's own tube, if its keys make one without a run's.
fn tested_tube(reader: &Reader, defaults: &Defaults<'_>) -> Option<Tube> {
    let Given::Fields(fields) = &defaults.tube.given else { return None };
    // Runs may add the keys that it lacks: they are no fault.
    let mut aside = Reader::new(&keys::SPEC);
    (aside.unit, aside.unit_from) = (reader.unit, reader.unit_from);
    tube::tube(&mut aside, fields, false)
}
