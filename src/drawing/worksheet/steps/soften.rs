//! The torch: before anything is on the tube that it would spoil.

use super::{Steps, is_copper, named_ends};
use crate::drawing::numbers::{list, tenths};
use crate::drawing::worksheet::bench::Bench;
use crate::drawing::worksheet::cautions::Caution;
use crate::formula::heat::flame_minutes;

/// Share of a flame's heat that reaches the tube: an estimate, no source.
const FLAME_USED: f64 = 1.0 / 3.0;

/// Heating, cooling, taking the scale off; nothing where no bend is annealed.
pub(super) fn soften(all: &mut Steps, bench: &Bench<'_>) {
    let zones: Vec<String> = bench
        .bends
        .iter()
        .filter_map(|b| b.made.anneal.map(|zone| (b.bend.number, zone)))
        .map(|(number, zone)| format!("bend {number} from {} to {}", tenths(zone.from), tenths(zone.to)))
        .collect();
    if zones.is_empty() {
        return;
    }
    let copper = is_copper(&bench.plan.tube.material);
    all.add(find_zones(bench, &zones), &[]);
    all.add(heat(bench, copper), &[Caution::Torch, Caution::Bottle, Caution::BlackHeat]);
    let soft = "Handle it little: it hardens.";
    if copper {
        let cool = "Let it cool in the air, or quench it: quicker, sheds scale, no softer.";
        all.add(format!("{cool} {soft}"), &[Caution::Quench]);
    } else {
        all.add(format!("Let it cool as the metal's data sheet says. {soft}"), &[]);
    }
    let scale = "Take the scale off, outside and in the bore, where it would wear pumps and block valves: abrade it, or pickle it, and brush the bore. Rinse inside and outside until the water is clear, dry.";
    all.add(scale, &[Caution::Dust, Caution::Pickle]);
}

fn find_zones(bench: &Bench<'_>, zones: &[String]) -> String {
    // A few zones are said here; more are easier found on the cards.
    let where_to = if zones.len() <= 2 {
        format!("{} (mm from the {})", list(zones), bench.end())
    } else {
        format!("on the cards of {} bends", zones.len())
    };
    format!(
        "Find the anneal zones: {where_to}. Lay the bare tube beside a rule: no ink, strip, tape, grease, seal or fitting is on it yet. A copper wire tied round it shows the {} until that is written on it.",
        bench.end()
    )
}

fn heat(bench: &Bench<'_>, copper: bool) -> String {
    let mut words = String::from("Heat each zone all round, the flame always moving. ");
    if copper {
        // First visible red: 525 °C (Draper point); annealing range of copper 375 to 650 °C.
        words.push_str(
            "Stop at the first dull red seen in the shade, about 525 to 650 °C, never cherry red. ",
        );
    } else {
        words.push_str("Temperature and time as the metal's data sheet says: the colours for copper do not hold, and aluminium melts before it glows. ");
    }
    let near: Vec<&str> =
        named_ends(bench.plan).filter(|(end, _)| end.heated.is_some()).map(|(_, name)| name).collect();
    if !near.is_empty() {
        words.push_str(&format!(
            "The torch comes near the seat at the {}: keep the seat cool with a wet rag, re-round it before fitting. ",
            near.join(" and at the ")
        ));
    }
    if let Some(heat) = bench.plan.anneal_heat {
        let minutes = |kilowatts: f64| flame_minutes(heat / FLAME_USED, kilowatts);
        words.push_str(&format!(
            "It takes {heat:.0} kJ: about {} min with a flame of 1 kW, {} min with 2 kW, if a third of its heat gets in (an estimate). ",
            tenths(minutes(1.0)),
            tenths(minutes(2.0))
        ));
    }
    words.push_str("No flame on soldered joints.");
    words
}
