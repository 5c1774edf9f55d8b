//! What to do with a run, step by step, only what applies to it. The order of work and the advice are
//! common practice, no source, unless a source is named.

use super::bench::Bench;
use super::card::length;
use super::cautions::{Caution, caution};
use super::layout::{BODY, Block, Flow, Ink, LEADING, TICK};
use super::run::Surroundings;
use crate::drawing::numbers::{degrees, list, mm, sentence, short, tenths};
use crate::plan::{EndPlan, RunPlan};

/// One step.
pub(super) struct Step {
    /// What to do.
    pub(super) words: String,
    /// What to beware of.
    pub(super) cautions: Vec<Caution>,
    /// What to beware of that an earlier step has said in full.
    pub(super) again: Vec<Caution>,
}

/// Adds a run's steps, each with a box to tick.
pub(super) fn steps(flow: &mut Flow, bench: &Bench<'_>, around: &Surroundings<'_>) {
    for step in list_steps(bench, around) {
        flow.add(block(&step, flow.wide));
    }
}

/// A step as a block.
pub(super) fn block(step: &Step, width: f64) -> Block {
    let mut ink = Ink::new();
    ink.tick(0.4, 0.8);
    let left = TICK + 3.4;
    let again: String = step
        .again
        .iter()
        .map(|which| format!(" ({}: see above.)", which.words().0.trim_end_matches('.')))
        .collect();
    let words = format!("{}{again}", step.words);
    let mut down = ink.wrapped(left, 1.6, BODY, false, width - left, &words);
    for &which in &step.cautions {
        down = caution(&mut ink, which, left + 2.4, down + 0.6, width);
    }
    Block::new(ink, down.max(1.6 + LEADING * BODY) + 0.6)
}

/// The steps of a run.
pub(super) fn list_steps(bench: &Bench<'_>, around: &Surroundings<'_>) -> Vec<Step> {
    let mut all = Steps(Vec::new());
    before_bending(&mut all, bench, around);
    soften(&mut all, bench);
    fill_and_bend(&mut all, bench);
    after_bending(&mut all, bench, around);
    fit(&mut all, bench);
    all.0
}

struct Steps(Vec<Step>);

impl Steps {
    /// Adds a step. A caution is said in full the first time, and recalled after that.
    fn add(&mut self, words: impl Into<String>, cautions: &[Caution]) {
        let said = |which: &Caution| self.0.iter().any(|step| step.cautions.contains(which));
        let (again, cautions) = cautions.iter().copied().partition(said);
        self.0.push(Step { words: words.into(), cautions, again });
    }
}

/// Whether a run is joined to something: then its ends matter and it can leak.
pub(super) fn is_joined(ends: &[EndPlan; 2]) -> bool {
    ends.iter().any(|end| end.port.is_some() || end.fitting.is_some())
}

fn before_bending(all: &mut Steps, bench: &Bench<'_>, around: &Surroundings<'_>) {
    let plan = bench.plan;
    let cut = length(plan.cut_length_mm, around.in_inches);
    let words = format!(
        "Choose straight, round tube. Cut it square to {cut}{}. Deburr both ends, inside and outside.",
        stock(plan, around).unwrap_or_default()
    );
    all.add(words, &[Caution::Edges]);
    all.add(
        "If the tube is to shine, sand and polish it now, while it is straight: bent, it only needs touching up.",
        &[Caution::Dust],
    );
    if bench.bends.is_empty() {
        let words = "Write \"datum end\" on that end with a fine pen.";
        all.add(words, &[]);
    } else {
        let marks: Vec<String> = bench.bends.iter().map(|b| tenths(b.marks.mark_mm)).collect();
        let end = bench.end();
        // With many bends the list would only be hard to read: the cards have every mark.
        let list = if marks.len() <= 8 { format!(" at {} mm from it", list(&marks)) } else { String::new() };
        let words = format!(
            "With a fine pen, not a scriber: write \"{end}\" on that end, draw the first mark{list}, and a line along the tube for the inside of each bend (or wrap its strip around it).",
        );
        all.add(words.replace("the first mark at", "the marks at"), &[]);
    }
    fittings_on(all, bench);
}

/// ", from piece 2 (new)": the piece of stock that the cut plan takes a run from.
fn stock(plan: &RunPlan, around: &Surroundings<'_>) -> Option<String> {
    around.plan.cut_plan.stocks.iter().flat_map(|stock| &stock.pieces).find_map(|piece| {
        piece.cuts.iter().any(|cut| cut.run == plan.name).then(|| {
            let what = if piece.leftover { "leftover" } else { "new" };
            format!(", from piece {} of the cut plan ({what}, {})", piece.number, mm(piece.length_mm))
        })
    })
}

/// Fittings that go on before the tube is bent.
fn fittings_on(all: &mut Steps, bench: &Bench<'_>) {
    let Some((first, last)) = bench.plan.bends.first().zip(bench.plan.bends.last()) else { return };
    let ends = bench.plan.ends.iter().zip([("datum end", first.number), ("other end", last.number)]);
    let parts: Vec<String> = ends
        .filter_map(|(end, (name, bend))| {
            let fitting = short(end.fitting.as_deref()?);
            Some(format!("{name}: {fitting}, will not pass bend {bend} later"))
        })
        .collect();
    if parts.is_empty() {
        return;
    }
    let words = format!(
        "Put on now every nut, ring or collar that goes over the tube, its mouth to the end ({}). Tape them back, clear of the bends{}.",
        parts.join("; "),
        if bench.bends.iter().any(|b| b.anneal.is_some()) {
            " and of the flame, their seals taken out"
        } else {
            ""
        }
    );
    all.add(words, &[]);
}

/// Whether a material is copper, which the colours and the quench are for.
pub(super) fn is_copper(material: &str) -> bool {
    let material = material.to_lowercase();
    material.contains("copper") && !material.contains("nickel")
}

fn soften(all: &mut Steps, bench: &Bench<'_>) {
    let zones: Vec<String> = bench
        .bends
        .iter()
        .filter_map(|b| b.anneal.map(|(from, to)| (b.bend.number, from, to)))
        .map(|(number, from, to)| format!("bend {number} from {} to {}", tenths(from), tenths(to)))
        .collect();
    if zones.is_empty() {
        return;
    }
    let mut words = String::new();
    if zones.len() <= 8 {
        words = format!("Anneal {} (mm from the {}). ", list(&zones), bench.end());
    } else {
        words.push_str("Anneal every zone given with the bends. ");
    }
    let copper = is_copper(&bench.plan.tube.material);
    if copper {
        // First visible red: 525 °C (Draper point); annealing range of copper 375 to 650 °C.
        words.push_str("Move the flame; stop at the first dull red you can see in the shade, about 525 to 650 °C. Never cherry red. ");
    } else {
        words.push_str("Temperature and time as the metal's data sheet says: the colours for copper do not hold, and aluminium melts before it glows. ");
    }
    if let Some(heat) = bench.plan.anneal_heat_kj {
        words.push_str(&format!(
            "The zones take about {heat:.0} kJ, and a torch loses several times that to the air. "
        ));
    }
    words.push_str("Keep the flame off seals, plastics, grease, lacquer and soldered joints.");
    all.add(words, &[Caution::Torch, Caution::BlackHeat]);
    if copper {
        all.add(
            "Let it cool in the air. Or quench it: that is only quicker and sheds scale, it makes copper no softer.",
            &[Caution::Quench],
        );
    } else {
        all.add("Let it cool as the metal's data sheet says.", &[]);
    }
    all.add("Take the scale off, rinse and dry, so that it does not score tube and tool. Handle soft tube little: it hardens.", &[]);
}

fn fill_and_bend(all: &mut Steps, bench: &Bench<'_>) {
    if bench.bends.is_empty() {
        return;
    }
    let quality = &bench.plan.quality;
    if let Some(filler) = &quality.filler {
        all.add(sentence(filler), &[Caution::Sand]);
    }
    all.add("Wipe tool and tube clean. A film of grease where they slide, none where the tube is held.", &[]);
    let check = format!(
        "Each bend: set the mark, turn the tube, pull to the angle in one smooth move, let go. Lay it on the template named on its card and measure the smallest diameter across the bend: {} or more is good; below {} it is scrap, and so is a kink. Before the next bend see that the last leg lies true in its plane.",
        mm(quality.smallest_diameter_mm),
        mm(quality.reject_diameter_mm)
    );
    all.add(check, &[]);
    if quality.filler.is_some() {
        all.add("Take the filler out, tap the tube and flush it until nothing more comes.", &[]);
    }
}

fn after_bending(all: &mut Steps, bench: &Bench<'_>, around: &Surroundings<'_>) {
    let plan = bench.plan;
    let bent = !bench.bends.is_empty();
    if bent {
        all.add("Lay the whole run on its templates, then hold it in place without force.", &[]);
    }
    let waste = [(plan.allowance_start_mm, "datum end"), (plan.allowance_end_mm, "other end")];
    let waste: Vec<String> = waste
        .into_iter()
        .filter(|part| part.0 > 0.0)
        .map(|(value, end)| format!("{} at the {end}", length(value, around.in_inches)))
        .collect();
    if !waste.is_empty() {
        all.add(
            format!(
                "Trim {}, square. Measure from the corner of the last bend, not from memory.",
                list(&waste)
            ),
            &[Caution::Edges],
        );
    }
    let joined = is_joined(&plan.ends);
    let inserts: Vec<String> = plan
        .ends
        .iter()
        .zip(["datum end", "other end"])
        .filter(|(end, _)| end.insert_mm > 0.0)
        .map(|(end, name)| format!("{} from the {name}", length(end.insert_mm, around.in_inches)))
        .collect();
    if !inserts.is_empty() {
        all.add(format!("Draw the insertion marks: {}.", list(&inserts)), &[]);
    }
    if joined {
        all.add("Deburr the ends inside; chamfer them outside, all round, no nick or scratch where the seal sits.", &[Caution::Edges]);
        all.add(
            "Flush the bore with hot water, pull a cloth through, look through against the light, dry.",
            &[],
        );
    } else {
        all.add("Round the ends, inside and outside, and wash the tube clean.", &[Caution::Edges]);
    }
    let mut finish = "If it is to shine: touch up the polish, wear gloves from here on".to_owned();
    if joined {
        finish.push_str(", mask the ends where seals sit, then lacquer; no lacquer under a seal.");
    } else {
        finish.push_str(", then lacquer.");
    }
    all.add(finish, &[Caution::Vapour]);
}

fn fit(all: &mut Steps, bench: &Bench<'_>) {
    let plan = bench.plan;
    if !is_joined(&plan.ends) {
        return;
    }
    let run = &bench.laid.run;
    let ends = plan.ends.iter().zip([(&run.from, "datum end"), (&run.to, "other end")]);
    let parts: Vec<String> = ends
        .filter_map(|(end, (given, name))| {
            let port = end.port.as_deref().map(|p| format!(" to {}", short(p))).unwrap_or_default();
            let fitting = given.as_ref()?.fitting.as_ref();
            if port.is_empty() && fitting.is_none() {
                return None;
            }
            let takes = fitting.map(|f| {
                format!(
                    " ({} takes {} and {} out of line)",
                    short(&f.name),
                    degrees(f.max_angle.to_degrees()),
                    mm(f.max_side)
                )
            });
            Some(format!("{name}{port}{}", takes.unwrap_or_default()))
        })
        .collect();
    let words = format!(
        "Fit it: {}. Push each end in to its mark. It must slide in by hand and in line: never pull it into place with a nut.",
        list(&parts)
    );
    all.add(words, &[Caution::Live]);
    all.add("When every run is in: leak test, as on the pages for all runs.", &[]);
}
