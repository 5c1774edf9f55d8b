//! The work on a run, step by step, without steps that do not apply to it. The order of work and the advice are
//! common practice, no source, unless a source is named.

use super::bench::Bench;
use super::card::length;
use super::cautions::{Caution, caution};
use super::run::Surroundings;
use crate::drawing::numbers::{degrees, list, mm, sentence, short, tenths};
use crate::drawing::page::flow::{BODY, Flow, Ink, LEADING, PageBlock, TICK};
use crate::plan::{Better, EndPlan, RunPlan};

/// One step.
pub(super) struct Instruction {
    /// The work.
    pub(super) words: String,
    /// The cautions.
    pub(super) cautions: Vec<Caution>,
    /// Cautions that an earlier step has given in full.
    pub(super) again: Vec<Caution>,
}

/// Adds a run's steps, each with a box to tick.
pub(super) fn steps(flow: &mut Flow, bench: &Bench<'_>, around: &Surroundings<'_>) {
    for step in list_steps(bench, around) {
        flow.add(block(&step, flow.wide));
    }
}

/// A step as a block.
pub(super) fn block(step: &Instruction, width: f64) -> PageBlock {
    let mut ink = Ink::new();
    ink.tick(0.4, 0.3);
    let left = TICK + 2.6;
    let again: String = step
        .again
        .iter()
        .map(|which| format!(" ({}: as above.)", which.words().0.trim_end_matches('.')))
        .collect();
    let words = format!("{}{again}", step.words);
    let mut down = ink.wrapped(left, 1.1, BODY, false, width - left, &words);
    for &which in &step.cautions {
        down = caution(&mut ink, which, left + 2.0, down, width);
    }
    PageBlock::new(ink, down.max(1.1 + LEADING * BODY))
}

/// The steps of a run.
pub(super) fn list_steps(bench: &Bench<'_>, around: &Surroundings<'_>) -> Vec<Instruction> {
    let mut all = Steps(Vec::new());
    before_bending(&mut all, bench, around);
    soften(&mut all, bench);
    fill_and_bend(&mut all, bench);
    after_bending(&mut all, bench, around);
    fit(&mut all, bench);
    all.0
}

struct Steps(Vec<Instruction>);

impl Steps {
    /// Adds a step. A caution is said in full the first time, and recalled after that.
    fn add(&mut self, words: impl Into<String>, cautions: &[Caution]) {
        let said = |which: &Caution| self.0.iter().any(|step| step.cautions.contains(which));
        let (again, cautions) = cautions.iter().copied().partition(said);
        self.0.push(Instruction { words: words.into(), cautions, again });
    }
}

/// Whether a run is joined to something: then its ends matter and it can leak.
pub(super) fn is_joined(ends: &[EndPlan; 2]) -> bool {
    ends.iter().any(|end| end.port.is_some() || end.fitting.is_some())
}

fn before_bending(all: &mut Steps, bench: &Bench<'_>, around: &Surroundings<'_>) {
    let plan = bench.plan;
    match plan.order.better {
        Better::From(_) | Better::Either => {}
        Better::Neither => {
            let words = "Do not cut yet: this bender cannot hold every bend from either end. Change the run, leave more tube to trim, or find another tool first.";
            all.add(words, &[]);
        }
    }
    let cut = length(plan.cut_length, around.in_inches);
    let words = format!(
        "Cut straight tube square to {cut}{}. Deburr both ends.",
        stock(plan, around).unwrap_or_default()
    );
    all.add(words, &[Caution::Edges]);
    all.add("If the tube is to shine, sand and polish it now, while it is straight.", &[Caution::Dust]);
    if bench.bends.is_empty() {
        let words = "Write \"datum end\" on that end with a fine pen.";
        all.add(words, &[]);
    } else {
        let marks: Vec<String> = bench.bends.iter().map(|b| tenths(b.made.feed.mark)).collect();
        let end = bench.end();
        // With many bends the list would only be hard to read: the cards have every mark.
        let list = if marks.len() <= 8 { format!(" at {} mm from it", list(&marks)) } else { String::new() };
        let words = format!(
            "Pen, not scriber: \"{end}\" on that end, the first mark{list}, a line along the tube for the inside of each bend (or wrap the strip around it).",
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
            format!(", from piece {} of the cut plan ({what})", piece.number)
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
        "Put on now every nut, ring or collar, its mouth to the end ({}). Tape them back, clear of the bends{}.",
        parts.join("; "),
        if bench.bends.iter().any(|b| b.made.anneal.is_some()) {
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
        .filter_map(|b| b.made.anneal.map(|zone| (b.bend.number, zone)))
        .map(|(number, zone)| format!("bend {number} from {} to {}", tenths(zone.from), tenths(zone.to)))
        .collect();
    if zones.is_empty() {
        return;
    }
    // A few zones are said here; more are easier found on the cards.
    let mut words = if zones.len() <= 2 {
        format!("Anneal {} (mm from the {}). ", list(&zones), bench.end())
    } else {
        format!("Anneal the zones on the cards of {} bends. ", zones.len())
    };
    let copper = is_copper(&bench.plan.tube.material);
    if copper {
        // First visible red: 525 °C (Draper point); annealing range of copper 375 to 650 °C.
        words.push_str("Move the flame; stop at the first dull red seen in the shade, about 525 to 650 °C, never cherry red. ");
    } else {
        words.push_str("Temperature and time as the metal's data sheet says: the colours for copper do not hold, and aluminium melts before it glows. ");
    }
    if let Some(heat) = bench.plan.anneal_heat {
        words.push_str(&format!("Takes about {heat:.0} kJ, and several times that is lost to the air. "));
    }
    words.push_str("No flame on seals, plastics, grease, lacquer, soldered joints.");
    all.add(words, &[Caution::Torch, Caution::BlackHeat]);
    let clean = "Take the scale off, rinse, dry. Handle soft tube little: it hardens.";
    if copper {
        let cool = "Let it cool in the air, or quench it: quicker and sheds scale, but no softer.";
        all.add(format!("{cool} {clean}"), &[Caution::Quench]);
    } else {
        all.add(format!("Let it cool as the metal's data sheet says. {clean}"), &[]);
    }
}

fn fill_and_bend(all: &mut Steps, bench: &Bench<'_>) {
    if bench.bends.is_empty() {
        return;
    }
    let quality = &bench.plan.quality;
    if let Some(filler) = &quality.filler {
        all.add(sentence(filler), &[Caution::Sand]);
    }
    let check = format!(
        "Wipe tool and tube; a film of grease where they slide, none where the tube is held. Each bend: set the mark, turn the tube, pull in one smooth move, let go. Lay it on its template and measure across the bend: {} or more is good; below {} it is scrap, and so is a kink. Before the next bend see that the last leg lies true in its plane; at last lay the whole run on its templates or drop it into its jig, and try it in place without force.",
        mm(quality.smallest_diameter),
        mm(quality.reject_diameter)
    );
    all.add(check, &[]);
    if quality.filler.is_some() {
        all.add("Take the filler out, tap the tube and flush it until nothing more comes.", &[]);
    }
}

fn after_bending(all: &mut Steps, bench: &Bench<'_>, around: &Surroundings<'_>) {
    let plan = bench.plan;
    let waste = [(plan.allowance_start, "datum end"), (plan.allowance_end, "other end")];
    let waste: Vec<String> = waste
        .into_iter()
        .filter(|part| part.0 > 0.0)
        .map(|(value, end)| format!("{} at the {end}", length(value, around.in_inches)))
        .collect();
    let joined = is_joined(&plan.ends);
    let inserts: Vec<String> = plan
        .ends
        .iter()
        .zip(["datum end", "other end"])
        .filter(|(end, _)| end.insert > 0.0)
        .map(|(end, name)| format!("{} from the {name}", length(end.insert, around.in_inches)))
        .collect();
    let trim = (!waste.is_empty()).then(|| format!("Trim {}, square. ", list(&waste)));
    let insert = (!inserts.is_empty()).then(|| format!("Draw the insertion marks: {}. ", list(&inserts)));
    let ends = if joined {
        "Deburr inside, chamfer outside all round: no nick or scratch where the seal sits. Flush with hot water, pull a cloth through, look through, dry."
    } else {
        "Round the ends, inside and outside, and wash the tube clean."
    };
    all.add(format!("{}{}{ends}", trim.unwrap_or_default(), insert.unwrap_or_default()), &[Caution::Edges]);
    let mut finish = "To shine: touch up the polish, gloves from here on".to_owned();
    if joined {
        finish.push_str(", mask where seals sit, lacquer; none under a seal.");
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
        "Fit it: {}. Each end slides in to its mark by hand and in line: never pull it in with a nut. When every run is in: leak test.",
        list(&parts)
    );
    all.add(words, &[Caution::Live]);
}
