//! From the bent tube to the fitted one.

use super::{
    Steps, allowance_at, form_end, form_word, formed_ends, is_formed_first, is_joined, is_polished,
    named_ends,
};
use crate::drawing::numbers::{degrees, list, mm, short};
use crate::drawing::worksheet::bench::Bench;
use crate::drawing::worksheet::card::length;
use crate::drawing::worksheet::cautions::Caution;
use crate::drawing::worksheet::run::Surroundings;
use crate::plan::EndPlan;
use crate::spec::model::{Carried, EndForm, Fitting};

/// Trimming, cleaning, lacquer, fitting.
pub(super) fn finish(all: &mut Steps, bench: &Bench<'_>, around: &Surroundings<'_>) {
    trim(all, bench, around);
    let plan = bench.plan;
    if is_joined(&plan.ends) {
        clean_joined(all, bench, around);
        fit(all, bench, around);
    } else {
        all.add("Round the ends inside and outside, wash the tube, dry it.", &[Caution::Edges]);
        all.add(
            "To shine: touch up the polish, degrease it, gloves from here on, then lacquer.",
            &[Caution::Solvent, Caution::Fumes],
        );
    }
}

fn trim(all: &mut Steps, bench: &Bench<'_>, around: &Surroundings<'_>) {
    let plan = bench.plan;
    let long = |value| length(value, around.in_inches);
    let waste: Vec<(&EndPlan, &str, f64)> = named_ends(plan)
        .map(|(end, name)| (end, name, allowance_at(plan, name)))
        .filter(|(_, _, value)| *value > 0.0)
        .collect();
    if waste.is_empty() {
        if is_joined(&plan.ends) {
            let longer = if formed_ends(plan).any(|(_, name, _)| !is_formed_first(bench, name)) {
                " An end that is not formed yet is longer by what that takes."
            } else {
                ""
            };
            all.add(format!("Hold it up to its ports: it reaches them, in line and without force. If not, bend it right first.{longer}"), &[]);
        }
        return;
    }
    let (at_port, free): (Vec<_>, Vec<_>) = waste.into_iter().partition(|(end, ..)| end.port.is_some());
    let mut words = Vec::new();
    if !at_port.is_empty() {
        words.push("Hold it up to its ports with the allowance still on, without force, the seals taken out; an end with an allowance lies beside its port, its leg parallel to the port's axis, not slanted. If it cannot lie so, take the trim from the template.".to_owned());
    }
    for (end, name, value) in at_port {
        let insert = if let Some(form) = form_word(end.form) {
            format!("trim beyond that by what its {form} takes")
        } else if end.insert > 0.0 {
            format!("trim {} beyond that, which goes in", long(end.insert))
        } else {
            "trim there".to_owned()
        };
        words.push(format!(
            "At the {name} mark level with the port's face and {insert} (planned: {} off).",
            long(value)
        ));
    }
    for (_, name, value) in free {
        words.push(format!("At the {name} mark {} to trim.", long(value)));
    }
    all.add(words.join(" "), &[]);
    all.add("Trim at the marks, square.", &[Caution::Edges]);
}

fn clean_joined(all: &mut Steps, bench: &Bench<'_>, around: &Surroundings<'_>) {
    let plan = bench.plan;
    if named_ends(plan).any(|(end, _)| end.form == EndForm::Plain) {
        let which = if formed_ends(plan).next().is_some() { "the plain end" } else { "the ends" };
        let words = format!("Deburr {which} inside, chamfer outside: no scratch where a seal sits.");
        all.add(words, &[]);
    }
    for (_, name, form) in formed_ends(plan).filter(|(_, name, _)| !is_formed_first(bench, name)) {
        all.add(form_end(form, name), &[]);
    }
    if !is_polished(around.plan.carries) {
        let clean = "Wipe the tube dry. Blow it out with clean dry air, eyes covered, the far end in a cloth, or pull a cloth through; look into both ends: no chip, no water, no grease. Cap both ends until it is fitted.";
        all.add(clean, &[]);
        return;
    }
    all.add("Flush it with hot water, pull a cloth through, look into both ends, dry it.", &[]);
    all.add(
        "To shine, touch up the polish. Degrease the outside, not the bore; wipe, dry. Gloves from here on.",
        &[Caution::Solvent],
    );
    let hot = matches!(around.plan.carries, Some(Carried::Steam | Carried::DrinkingWater | Carried::Water));
    let hot = if hot { " nor on tube that runs hot" } else { "" };
    let seats = inserts(bench, around);
    let seats = if seats.is_empty() {
        "Mask what seals sit on".to_owned()
    } else {
        format!("Mask what goes in ({}) and what a ring grips", list(&seats))
    };
    all.add(
        format!("{seats}; lacquer if wanted, not in the bore{hot}; let it dry, unmask."),
        &[Caution::Fumes],
    );
}

/// "12.0 mm from the datum end": how much of each end goes into its fitting.
fn inserts(bench: &Bench<'_>, around: &Surroundings<'_>) -> Vec<String> {
    named_ends(bench.plan)
        .filter(|(end, _)| end.insert > 0.0)
        .map(|(end, name)| format!("{} from the {name}", length(end.insert, around.in_inches)))
        .collect()
}

fn fit(all: &mut Steps, bench: &Bench<'_>, around: &Surroundings<'_>) {
    let plan = bench.plan;
    let inserts = inserts(bench, around);
    if !inserts.is_empty() {
        all.add(format!("Draw the insertion marks with a fine pen: {}.", list(&inserts)), &[]);
    }
    let loose: Vec<String> = named_ends(plan)
        .filter(|(end, _)| end.form == EndForm::Plain)
        .filter_map(|(end, name)| Some(format!("{} on the {name}", short(end.fitting.as_deref()?))))
        .collect();
    if !loose.is_empty() {
        let words = format!(
            "Slide on nuts, rings and collars, mouths to the ends: {}. Seals in, if any: clean, whole, wet with what the line carries.",
            list(&loose)
        );
        all.add(words, &[]);
    }
    let run = &bench.laid.run;
    let parts: Vec<String> = named_ends(plan)
        .zip([&run.from, &run.to])
        .filter_map(|((end, name), given)| fitted(end, name, given.as_ref()?.fitting.as_ref()))
        .collect();
    let mut words = vec![format!("Fit it: {}.", list(&parts))];
    if named_ends(plan).all(|(end, _)| end.port.is_some()) {
        words.push(
            "If neither port gives way, loosen the mount of one part, and tighten it again after.".to_owned(),
        );
    }
    if !inserts.is_empty() {
        words.push(
            "A plain end slides in to its mark by hand, in line: never pull it in with a nut.".to_owned(),
        );
    }
    if formed_ends(plan).next().is_some() {
        words.push("Start each nut several turns by hand.".to_owned());
    }
    words.push(
        "Tighten as the fitting's maker says, its body held. No fitting may carry a heavy run.".to_owned(),
    );
    let cautions: &[Caution] = match around.plan.carries {
        Some(Carried::Nothing) => &[],
        Some(Carried::Gas | Carried::Oil | Carried::Steam) => {
            words.push("When every run is in: the tests of the first page.".to_owned());
            &[]
        }
        Some(Carried::Coolant | Carried::Water | Carried::DrinkingWater) | None => {
            words.push("When every run is in: leak test.".to_owned());
            if around.plan.carries == Some(Carried::Coolant) { &[Caution::Live] } else { &[] }
        }
    };
    all.add(words.join(" "), cautions);
}

/// "other end to pump.in (collar-15 takes 1.0° and 0.5 mm out of line)".
fn fitted(end: &EndPlan, name: &str, fitting: Option<&Fitting>) -> Option<String> {
    let port = end.port.as_deref().map(|p| format!(" to {}", short(p))).unwrap_or_default();
    if port.is_empty() && fitting.is_none() {
        return None;
    }
    // A flare or bead is drawn in line by its nut.
    let takes = fitting.filter(|_| end.form == EndForm::Plain).map(|f| {
        let angle = degrees(f.max_angle.to_degrees());
        format!(" ({} takes at most {angle} and {} out of line)", short(&f.name), mm(f.max_side))
    });
    Some(format!("{name}{port}{}", takes.unwrap_or_default()))
}
