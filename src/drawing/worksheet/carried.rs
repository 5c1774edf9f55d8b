//! The stuff that the tubes carry: its cautions, the pressure that they may hold, and the tests before they are used.

use super::cautions::{Caution, caution};
use super::leak;
use super::steps::{add_step, is_copper};
use crate::drawing::item::Role;
use crate::drawing::numbers::tenths;
use crate::drawing::page::flow::{BODY, Flow, Ink, LEADING, PageBlock, wide};
use crate::plan::{AllowedPressure, RunPlan};
use crate::spec::model::Carried;

/// Adds the tests of runs that are joined to something, and what to know of the stuff they carry.
pub(super) fn carried(flow: &mut Flow, carries: Option<Carried>, runs: &[&RunPlan]) {
    let volume: f64 = runs.iter().map(|run| run.bore_volume).sum();
    about(flow, carries, runs);
    let with_air = [None, Some(Carried::Coolant), Some(Carried::Water), Some(Carried::DrinkingWater)];
    if with_air.contains(&carries) {
        leak::leak(flow, volume);
    }
    match carries {
        Some(Carried::Nothing) => {}
        Some(Carried::Coolant) => {
            add_step(
                flow,
                "Let the air off, take the gauge away. Then with liquid: fill, bleed, run the pump for 12 to 24 hours. Any damp tissue fails the test.",
                &[Caution::Water],
            );
            coolant(flow, volume);
            if runs.iter().any(|run| is_copper(&run.tube.material)) {
                told(flow, Caution::Galvanic);
            }
        }
        Some(Carried::Water) | None => {
            add_step(
                flow,
                "Let the air off, take the gauge away. Then with what it is to carry: fill, bleed, bring it slowly to its working pressure. Look at every joint at once, after an hour and after a day.",
                &[],
            );
        }
        Some(Carried::DrinkingWater) => {
            add_step(
                flow,
                "Let the air off, take the gauge away. Then with drinking water: flush until nothing of the work comes out, fill, bleed, bring it slowly to its working pressure. Look at every joint at once, after an hour and after a day. Tubes on the mains: by licensed practice and the water supplier's rules.",
                &[],
            );
        }
        Some(Carried::Steam) => {
            flow.heading("Test before use");
            add_step(
                flow,
                "Test with cold water at the pressure that the local code names, by those who may; never with air at that pressure. No joint weeps while it is held. Then heat up slowly and look at every joint from a distance.",
                &[],
            );
        }
        Some(Carried::Gas) => {
            flow.heading("Test before use");
            add_step(
                flow,
                "No test of your own: those who are licensed test it, with the medium, the pressure and the time of the local code, before gas is let in. Nothing is lit until they have.",
                &[],
            );
        }
        Some(Carried::Oil) => {
            flow.heading("Test before use");
            add_step(
                flow,
                "Fill it and bleed it until no bubble comes. Those who may test it do so with its own liquid, at the pressure of the local code or the machine's maker, and look for damp at every joint under full pressure. No vehicle or machine is used before it has passed.",
                &[],
            );
        }
    }
}

/// Cautions and pressures, below one heading.
fn about(flow: &mut Flow, carries: Option<Carried>, runs: &[&RunPlan]) {
    let Some(carried) = carries else { return };
    let which: &[Caution] = match carried {
        Carried::Coolant | Carried::Nothing => &[],
        Carried::Water => &[Caution::Scald, Caution::Pressure],
        Carried::DrinkingWater => &[Caution::Food, Caution::Scald, Caution::Pressure],
        Carried::Steam => &[Caution::Scald, Caution::Pressure, Caution::Food],
        Carried::Gas | Carried::Oil => &[Caution::Licensed],
    };
    let has_pressures = runs.iter().any(|run| !run.pressures.is_empty());
    if which.is_empty() && !has_pressures {
        return;
    }
    flow.heading(&format!("These tubes carry {}", words(carried)));
    which.iter().for_each(|caution| told(flow, *caution));
    if has_pressures {
        flow.paragraph(ASSUMED, false, false);
    }
}

/// The assumptions behind the pressures on the runs' pages.
const ASSUMED: &str = "The allowed pressure of each run stands on its page. Assumed: all copper annealed, its wall 10 % below the nominal one, thinner still in the bend, permissible stress by temperature after the rules of Lloyd's Register, no wear. Fittings, seals and soldered joints may hold less; local codes stand above this.";

/// As a sentence has it.
fn words(carried: Carried) -> &'static str {
    match carried {
        Carried::Coolant => "coolant",
        Carried::Water => "water",
        Carried::DrinkingWater => "drinking water",
        Carried::Steam => "steam",
        Carried::Gas => "gas",
        Carried::Oil => "oil, fuel or brake fluid",
        Carried::Nothing => "nothing",
    }
}

/// "46.6 bar to 75 °C, 45.4 to 125 °C": where bends are, of the tightest.
pub(super) fn pressure_words(pressures: &[AllowedPressure]) -> Option<String> {
    let bent = pressures.first()?.tightest_bend.is_some();
    let each: Vec<String> = pressures
        .iter()
        .map(|at| {
            format!("{:.0} bar to {:.0} °C", at.tightest_bend.unwrap_or(at.straight).floor(), at.celsius)
        })
        .collect();
    let place = if bent { ", in its tightest bend" } else { "" };
    Some(format!("{}{place}; see the first page", each.join(", ")))
}

fn told(flow: &mut Flow, which: Caution) {
    let mut ink = Ink::new();
    let down = caution(&mut ink, which, 2.4, 0.6, flow.wide);
    flow.add(PageBlock::new(ink, down + 1.0));
}

/// The volume of the tube and the coolant to buy. 20 to 30 % more for bleeding: common practice, no source.
fn coolant(flow: &mut Flow, bore: f64) {
    let mut ink = Ink::new();
    let mut down = 1.0;
    let line = 6.0;
    let held = format!("Coolant: the tubes that join something hold {} ml", tenths(bore));
    down = ink.wrapped(0.0, down, BODY, true, flow.wide, &held) + line - LEADING * BODY;
    for words in [
        "Blocks, radiators, pump, reservoir (data sheets):",
        "All together, and 20 to 30 % more for bleeding, to buy:",
    ] {
        let long = wide(words, BODY, false);
        ink.words(0.0, down, BODY, false, words);
        let from = if long + 32.0 < flow.wide { long + 2.0 } else { 0.0 };
        if from == 0.0 {
            down += LEADING * BODY + 2.0;
        }
        ink.line(Role::Dimension, (from, down + BODY + 0.8), (from + 24.0, down + BODY + 0.8));
        ink.words(from + 25.0, down, BODY, false, "ml");
        down += line;
    }
    flow.add(PageBlock::new(ink, down));
}
