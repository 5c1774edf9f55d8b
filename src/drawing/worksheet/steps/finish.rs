//! From the bent tube to the fitted one.

use super::{Steps, allowance_at, form_end, is_joined, is_polished, named_ends};
use crate::drawing::numbers::{degrees, list, mm, short};
use crate::drawing::worksheet::bench::Bench;
use crate::drawing::worksheet::card::length;
use crate::drawing::worksheet::cautions::Caution;
use crate::drawing::worksheet::run::Surroundings;
use crate::plan::EndPlan;
use crate::spec::model::{Carried, EndForm};

/// Trimming, cleaning, lacquer, fitting.
pub(super) fn finish(all: &mut Steps, bench: &Bench<'_>, around: &Surroundings<'_>) {
    trim(all, bench, around);
    let plan = bench.plan;
    if is_joined(&plan.ends) {
        clean_joined(all, bench, around);
        fit(all, bench, around);
    } else {
        all.add("Round the ends, inside and outside. Wash the tube clean and dry it.", &[Caution::Edges]);
        all.add(
            "To shine: touch up the polish, degrease it, gloves from here on, then lacquer.",
            &[Caution::Solvent, Caution::Fumes],
        );
    }
}

fn trim(all: &mut Steps, bench: &Bench<'_>, around: &Surroundings<'_>) {
    let plan = bench.plan;
    let waste: Vec<String> = named_ends(plan)
        .map(|(_, name)| (allowance_at(plan, name), name))
        .filter(|(value, _)| *value > 0.0)
        .map(|(value, name)| format!("{} at the {name}", length(value, around.in_inches)))
        .collect();
    match (is_joined(&plan.ends), waste.is_empty()) {
        (true, false) => all.add(
            format!(
                "Hold it up to its ports with the allowance still on, without force, and mark where to trim. Planned: {}. Mark what is there, not what was planned.",
                list(&waste)
            ),
            &[],
        ),
        (true, true) => all.add(
            "Hold it up to its ports: it reaches them and is in line with them without force. If not, bend it right before anything else.",
            &[],
        ),
        (false, false) => all.add(format!("Mark where to trim: {}.", list(&waste)), &[]),
        (false, true) => {}
    }
    if !waste.is_empty() {
        all.add("Trim at the marks, square.", &[Caution::Edges]);
    }
}

fn clean_joined(all: &mut Steps, bench: &Bench<'_>, around: &Surroundings<'_>) {
    let plan = bench.plan;
    all.add(
        "Deburr the ends inside, chamfer them outside all round: no nick or scratch where a seal sits.",
        &[Caution::Edges],
    );
    for (end, name) in named_ends(plan) {
        // Without a bend in the way an end is formed once it is cut.
        let is_late = bench.bends.is_empty() || allowance_at(plan, name) > 0.0;
        if end.form != EndForm::Plain && is_late {
            all.add(form_end(end, name), &[]);
        }
    }
    if !is_polished(around.plan.carries) {
        let clean = "Pull a clean, dry cloth through, look through it: no chip, no water, no grease. Wipe the ends. Cap both until it is fitted.";
        all.add(clean, &[]);
        return;
    }
    all.add("Flush it with hot water, pull a cloth through, look through it, dry it.", &[]);
    all.add("Degrease it. Gloves from here on.", &[Caution::Solvent]);
    all.add(
        "To shine: touch up the polish and wipe it off, mask where seals sit, lacquer; none under a seal, none in the bore.",
        &[Caution::Fumes],
    );
}

fn fit(all: &mut Steps, bench: &Bench<'_>, around: &Surroundings<'_>) {
    let plan = bench.plan;
    let inserts: Vec<String> = named_ends(plan)
        .filter(|(end, _)| end.insert > 0.0)
        .map(|(end, name)| format!("{} from the {name}", length(end.insert, around.in_inches)))
        .collect();
    if !inserts.is_empty() {
        all.add(format!("Draw the insertion marks with a fine pen: {}.", list(&inserts)), &[]);
    }
    let loose: Vec<String> = named_ends(plan)
        .filter(|(end, _)| end.form == EndForm::Plain)
        .filter_map(|(end, name)| Some(format!("{} on the {name}", short(end.fitting.as_deref()?))))
        .collect();
    if !loose.is_empty() {
        all.add(
            format!("Slide on nuts, rings and collars, their mouths to the ends: {}. See that every seal is in, clean and whole.", list(&loose)),
            &[],
        );
    }
    let run = &bench.laid.run;
    let parts: Vec<String> = named_ends(plan)
        .zip([&run.from, &run.to])
        .filter_map(|((end, name), given)| fitted(end, name, given.as_ref()?.fitting.as_ref()))
        .collect();
    let (then, caution): (&str, &[Caution]) = match around.plan.carries {
        Some(Carried::Nothing) => ("", &[]),
        Some(Carried::Gas | Carried::Oil | Carried::Steam) => {
            (" When every run is in: the tests of the first page.", &[])
        }
        Some(Carried::Coolant) => (" When every run is in: leak test.", &[Caution::Live]),
        Some(Carried::Water | Carried::DrinkingWater) | None => (" When every run is in: leak test.", &[]),
    };
    let words = format!(
        "Fit it: {}. Each end slides in to its mark by hand and in line: never pull it in with a nut. Hold up a heavy run: no fitting may carry it.{then}",
        list(&parts)
    );
    all.add(words, caution);
}

/// "other end to pump.in (collar-15 takes 1.0° and 0.5 mm out of line)".
fn fitted(end: &EndPlan, name: &str, fitting: Option<&crate::spec::model::Fitting>) -> Option<String> {
    let port = end.port.as_deref().map(|p| format!(" to {}", short(p))).unwrap_or_default();
    if port.is_empty() && fitting.is_none() {
        return None;
    }
    let takes = fitting.map(|f| {
        let angle = degrees(f.max_angle.to_degrees());
        format!(" ({} takes {angle} and {} out of line)", short(&f.name), mm(f.max_side))
    });
    Some(format!("{name}{port}{}", takes.unwrap_or_default()))
}
