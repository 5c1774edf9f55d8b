//! The work on a run, step by step, without steps that do not apply to it. The order of work and the advice are
//! common practice, no source, unless a source is named.
//!
//! The torch comes before everything that it would spoil: polish, ink, tape, seals. What does not pass a bend or the
//! form of an end goes on before the bends are made; everything else after them.

mod finish;
mod soften;

use super::bench::Bench;
use super::card::length;
use super::cautions::{Caution, caution};
use super::run::Surroundings;
use crate::drawing::numbers::{count, list, sentence, short, tenths};
use crate::drawing::page::flow::{BODY, Flow, Ink, LEADING, PageBlock, TICK};
use crate::plan::{EndPlan, FromEnd, RunPlan};
use crate::spec::model::{Carried, EndForm, StockForm, Temper};

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

/// Adds a step that no earlier one has cautions in common with.
pub(super) fn add_step(flow: &mut Flow, words: impl Into<String>, cautions: &[Caution]) {
    let step = Instruction { words: words.into(), cautions: cautions.to_vec(), again: Vec::new() };
    flow.add(block(&step, flow.wide));
}

/// A step as a block.
fn block(step: &Instruction, width: f64) -> PageBlock {
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
    if !bench.plan.may_be_cut() {
        all.add("Do not cut: see the head of this run's page. The steps come once it can work.", &[]);
        return all.0;
    }
    first_of_all(&mut all, bench);
    cut(&mut all, bench, around);
    soften::soften(&mut all, bench);
    if is_polished(around.plan.carries) {
        all.add("If the tube is to shine, sand and polish it now, while it is straight.", &[Caution::Dust]);
    }
    form_first(&mut all, bench);
    mark(&mut all, bench);
    put_between(&mut all, bench);
    fill_and_bend(&mut all, bench, around);
    finish::finish(&mut all, bench, around);
    all.0
}

/// Steps as they are added.
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

/// Whether tubes that carry this are made to shine: lines of gas, oil and brakes keep their skin, and any coat on it.
fn is_polished(carries: Option<Carried>) -> bool {
    !matches!(carries, Some(Carried::Gas | Carried::Oil))
}

/// Both ends of a run with their names, the datum end first.
fn named_ends<'p>(plan: &'p RunPlan) -> impl Iterator<Item = (&'p EndPlan, &'static str)> + use<'p> {
    plan.ends.iter().zip(FromEnd::BOTH.map(FromEnd::name))
}

/// What is to be known before a tube is cut.
fn first_of_all(all: &mut Steps, bench: &Bench<'_>) {
    let plan = bench.plan;
    if !plan.bender.calibrated && !plan.bends.is_empty() {
        all.add(
            "Bend the test pieces first, write what came out into the spec, and print this sheet again.",
            &[],
        );
    }
    for form in forms(plan) {
        let words = format!(
            "{} an offcut and measure the tube that a {} takes.",
            sentence(form).trim_end_matches('.'),
            form
        );
        all.add(words, &[]);
    }
}

fn cut(all: &mut Steps, bench: &Bench<'_>, around: &Surroundings<'_>) {
    let plan = bench.plan;
    let takes: Vec<String> = forms(plan).into_iter().map(|form| format!("each {form}")).collect();
    let verb = if takes.len() > 1 { "take" } else { "takes" };
    let more = if takes.is_empty() {
        String::new()
    } else {
        format!(" and, on top, the tube that {} {verb}", list(&takes))
    };
    let long = format!("{}{more}", length(plan.cut_length, around.in_inches));
    let stock = Stock::of(plan, around);
    let piece = stock.as_ref().map(Stock::words).unwrap_or_default();
    if let Some(stock) = stock.filter(Stock::is_bent) {
        let off = length(plan.cut_length + stock.straighten, around.in_inches);
        all.add(format!("Cut {off} of tube{piece}. Deburr both ends."), &[Caution::Edges]);
        let straighten = format!(
            "Straighten it: lay it along the bench, roll it under a flat board until it lies flat, do not pull it. Then cut it square to {long}, the bent ends away, and deburr again."
        );
        all.add(straighten, &[]);
    } else {
        let coiled = if plan.tube.temper == Temper::Soft {
            "Tube off a coil is straightened first: roll it to and fro under a flat board until it lies flat. "
        } else {
            ""
        };
        all.add(
            format!("{coiled}Cut straight tube square to {long}{piece}. Deburr both ends."),
            &[Caution::Edges],
        );
    }
}

/// The stock that the cut plan takes a run from.
struct Stock {
    form: StockForm,
    number: usize,
    leftover: bool,
    /// Tube beyond the cut length, cut off once it is straightened, mm.
    straighten: f64,
}

impl Stock {
    fn of(plan: &RunPlan, around: &Surroundings<'_>) -> Option<Stock> {
        around.plan.cut_plan.stocks.iter().find_map(|stock| {
            let mut cuts =
                stock.pieces.iter().flat_map(|piece| piece.cuts.iter().map(move |cut| (piece, cut)));
            let (piece, cut) = cuts.find(|(_, cut)| cut.run == plan.name)?;
            let (number, leftover, straighten) = (piece.number, piece.leftover, cut.straighten);
            Some(Stock { form: stock.form, number, leftover, straighten })
        })
    }

    /// Whether tube of it is straightened first.
    fn is_bent(&self) -> bool {
        self.form == StockForm::Coil || self.straighten > 0.0
    }

    /// ", from piece 2 of the cut plan (new)".
    fn words(&self) -> String {
        let kind = if self.leftover { "leftover" } else { "new" };
        format!(", from piece {} of the cut plan ({kind})", self.number)
    }
}

fn mark(all: &mut Steps, bench: &Bench<'_>) {
    if bench.bends.is_empty() {
        all.add("Write \"datum end\" on that end with a fine pen.", &[]);
        return;
    }
    let marks: Vec<String> = bench.bends.iter().map(|b| tenths(b.made.feed.mark)).collect();
    let end = bench.end();
    // With many bends the list would only be hard to read: the cards have every mark.
    let list = if marks.len() == 1 {
        format!("the mark at {} mm from it", list(&marks))
    } else if marks.len() <= 8 {
        format!("the marks at {} mm from it", list(&marks))
    } else {
        "the first mark".to_owned()
    };
    // Parts that are on the tube keep a strip from it.
    let strip = if formed_ends(bench.plan).next().is_some() {
        ""
    } else {
        " Or mark through the strip and take it off."
    };
    let words = format!(
        "Wipe it. Mark it with a pen, no scriber: \"{end}\" on that end, {list}, a line along the inside of each bend.{strip}"
    );
    all.add(words, &[]);
}

/// The ends of a run that are no plain ones, each with its name and its form's.
fn formed_ends<'p>(
    plan: &'p RunPlan,
) -> impl Iterator<Item = (&'p EndPlan, &'static str, &'static str)> + use<'p> {
    named_ends(plan).filter_map(|(end, name)| Some((end, name, form_word(end.form)?)))
}

/// Straight tube that a tool for flares or beads needs on a bent tube, mm (common practice, no source).
const ROOM_TO_FORM: f64 = 50.0;

/// Whether an end gets its form while the tube is still straight: the end that the marks are measured from does, and
/// one that leaves no room for the tool later; none that is trimmed.
fn is_formed_first(bench: &Bench<'_>, name: &str) -> bool {
    let plan = bench.plan;
    let straight = if name == FromEnd::Datum.name() { plan.straights.first() } else { plan.straights.last() };
    let room = straight.is_some_and(|straight| *straight >= ROOM_TO_FORM);
    !bench.bends.is_empty() && allowance_at(plan, name) <= 0.0 && (name == bench.end() || !room)
}

/// Parts that would not pass a bend or an end's form later, and the ends that get their form now.
fn form_first(all: &mut Steps, bench: &Bench<'_>) {
    if bench.bends.is_empty() {
        // Nothing is in the way: the ends are formed once the tube is cut.
        return;
    }
    let parts: Vec<String> = formed_ends(bench.plan)
        .filter_map(|(end, name, _)| {
            let fitting = short(end.fitting.as_deref()?);
            Some(format!("{fitting} on the {name}, which is {}", end.form.name()))
        })
        .collect();
    if parts.is_empty() {
        return;
    }
    let first = if has_room_between(bench) {
        "first sleeves and closed clips that sit between two bends, then "
    } else {
        ""
    };
    let words = format!(
        "Put on now, before the bends: {first}{}. Nuts and sleeves look to their end; tape them back, clear of the bends and of the tool.",
        list(&parts)
    );
    all.add(words, &[]);
    for (_, name, form) in formed_ends(bench.plan).filter(|(_, name, _)| is_formed_first(bench, name)) {
        all.add(form_end(form, name), &[]);
    }
}

/// The least room for a sleeve or clip, mm (common practice, no source).
const ROOM_FOR_SLEEVE: f64 = 15.0;

/// Whether a part can sit between two bends and be clear of the tool.
fn has_room_between(bench: &Bench<'_>) -> bool {
    let straights = &bench.plan.straights;
    let between = straights.get(1..straights.len().saturating_sub(1)).unwrap_or_default();
    between.iter().any(|straight| straight - bench.laid.run.bender.grip >= ROOM_FOR_SLEEVE)
}

/// Parts that sit between two bends.
fn put_between(all: &mut Steps, bench: &Bench<'_>) {
    // Past a formed end nothing goes on any more: there they went on before.
    if !has_room_between(bench) || formed_ends(bench.plan).next().is_some() {
        return;
    }
    let plain = named_ends(bench.plan).any(|(end, _)| end.form == EndForm::Plain && end.fitting.is_some());
    let wait = if plain { "; other parts wait" } else { "" };
    all.add(
        format!("Put on now sleeves and closed clips that sit between two bends, clear of the tool{wait}."),
        &[],
    );
}

/// Tube to trim away at the end of a name, mm.
fn allowance_at(plan: &RunPlan, name: &str) -> f64 {
    if name == FromEnd::Datum.name() { plan.allowance_start } else { plan.allowance_end }
}

/// "flare" or "bead": the form of an end; nothing for a plain one.
fn form_word(form: EndForm) -> Option<&'static str> {
    match form {
        EndForm::Plain => None,
        EndForm::Flared => Some("flare"),
        EndForm::Beaded => Some("bead"),
    }
}

/// "2 flares": what the forms of a run's ends take, on top of its cut length; nothing where its ends are plain.
pub(super) fn forms_taken(plan: &RunPlan) -> Option<String> {
    let each: Vec<String> = forms(plan)
        .into_iter()
        .map(|form| {
            let number = formed_ends(plan).filter(|(_, _, other)| *other == form).count();
            count(number, form, &format!("{form}s"))
        })
        .collect();
    (!each.is_empty()).then(|| list(&each))
}

/// The forms that a run's ends get, each once.
fn forms(plan: &RunPlan) -> Vec<&'static str> {
    let mut all: Vec<&str> = formed_ends(plan).map(|(_, _, form)| form).collect();
    all.dedup();
    all
}

/// "Flare the datum end.": how an end gets its form.
fn form_end(form: &str, name: &str) -> String {
    format!(
        "{} as its fitting's maker says: deburred and clean, its nut and sleeve on the tube. Look at it: even all round, no split. No file or chamfer touches it after that.",
        sentence(&format!("{form} the {name}")).trim_end_matches('.')
    )
}

/// Whether a material is copper, which the colours and the quench are for.
pub(super) fn is_copper(material: &str) -> bool {
    let material = material.to_lowercase();
    material.contains("copper") && !material.contains("nickel")
}

/// How a bent run is held against its shape.
fn lay_words(bench: &Bench<'_>, in_inches: bool) -> String {
    let lay = "Then lay the whole run on its templates, or drop it into its jig";
    let longer = |name: &str, mm: f64| format!("the {name} is still {} longer", length(mm, in_inches));
    let waste: Vec<String> = named_ends(bench.plan)
        .map(|(_, name)| (name, allowance_at(bench.plan, name)))
        .filter(|(_, value)| *value > 0.0)
        .map(|(name, value)| longer(name, value))
        .collect();
    if formed_ends(bench.plan).next().is_none() && !waste.is_empty() {
        // The stop of a jig stays where it is.
        let jig = if bench.plan.allowance_start > 0.0 {
            ", into its jig once it is trimmed"
        } else {
            ", or drop it into its jig, the gate out"
        };
        return format!("Then lay the whole run on its templates{jig}: {}, do not cut it yet.", list(&waste));
    }
    let later: Vec<String> = formed_ends(bench.plan)
        .filter(|(_, name, _)| !is_formed_first(bench, name) && allowance_at(bench.plan, name) <= 0.0)
        .map(|(_, name, form)| format!("the {name} is longer by what its {form} takes: do not cut it"))
        .collect();
    if formed_ends(bench.plan).next().is_none() {
        format!("{lay}.")
    } else if later.is_empty() {
        format!("{lay} without the saddles that its parts come to.")
    } else {
        format!("{lay} without its gate and the saddles that its parts come to: {}.", list(&later))
    }
}

fn fill_and_bend(all: &mut Steps, bench: &Bench<'_>, around: &Surroundings<'_>) {
    if bench.bends.is_empty() {
        return;
    }
    let quality = &bench.plan.quality;
    if let Some(filler) = &quality.filler {
        all.add(sentence(filler), &[Caution::Sand]);
    }
    let film = match around.plan.carries {
        Some(Carried::Oil) => "a film of the line's own liquid where it slides, none on the marks, no grease",
        Some(Carried::Gas) => "no grease",
        _ => "a film of grease where it slides, none on the marks and where the tube is held",
    };
    let pull = if bench.plan.is_predicted() {
        "pull smoothly to the low end of its ±, let go, look, pull on a little at a time until it gives its angle, never past that"
    } else {
        "pull smoothly to the number, let go, look"
    };
    let bend = format!(
        "Wipe the tool; {film}. Each bend: set the mark, turn the tube, {pull}. See that the last leg lies true before the next bend."
    );
    all.add(bend, &[]);
    let strict = match around.plan.carries {
        Some(Carried::Gas | Carried::Oil | Carried::Steam) => " On this line only a good bend will do.",
        _ => "",
    };
    all.add(format!("{}{strict} {}", quality.flattening(), lay_words(bench, around.in_inches)), &[]);
    if quality.filler.is_some() {
        all.add("Take the filler out, tap the tube and flush it until nothing more comes.", &[]);
    }
}
