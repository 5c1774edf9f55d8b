//! Cautions, each beside the step where something can hurt.

use crate::drawing::item::{Across, Role};
use crate::drawing::page::flow::{BLACK, BODY, Ink, LEADING, lines, wide};
use crate::palette::Rgb;

/// A danger and how to keep clear of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Caution {
    /// Cut ends and chips.
    Edges,
    /// Dust from sanding and polishing.
    Dust,
    /// Flame.
    Torch,
    /// Hot metal that does not glow.
    BlackHeat,
    /// Fuel gas under pressure.
    Bottle,
    /// Steam from the open end.
    Quench,
    /// Acid that takes scale off.
    Pickle,
    /// Damp sand and quartz dust.
    Sand,
    /// Compressed air.
    Air,
    /// Water near electricity.
    Water,
    /// Tube near live parts.
    Live,
    /// Dissimilar metals in one loop.
    Galvanic,
    /// Solvent and washing-up liquid that take grease off.
    Solvent,
    /// Fumes of lacquer and thinner.
    Fumes,
    /// Hot water or steam on skin.
    Scald,
    /// Water or steam that is drunk.
    Food,
    /// Vessels and lines under pressure.
    Pressure,
    /// Work that only some may do.
    Licensed,
}

impl Caution {
    /// The words: a heading and what to do.
    pub(super) fn words(self) -> (&'static str, &'static str) {
        match self {
            Caution::Edges => (
                "Sharp edges and chips.",
                "Eye protection; no finger in the bore; brush chips out, off electronics.",
            ),
            Caution::Dust => (
                "Metal dust.",
                "Dust mask, eye protection; a damp cloth, never an air line; away from electronics.",
            ),
            Caution::Torch => (
                "Flame.",
                "Fireproof bench, nothing that burns near or above it, extinguisher, fresh air, eye protection, leather gloves, no synthetic clothes. Never heat a tube closed at both ends. Watch for an hour after.",
            ),
            Caution::BlackHeat => (
                "Black heat burns.",
                "Nothing glows below 525 °C: take all tube near the torch for hot, use tongs.",
            ),
            Caution::Bottle => (
                "Gas bottle and hose.",
                "Bottle upright, tied, off the flame; hose whole; leaks sought with soapy water.",
            ),
            Caution::Pickle => (
                "Pickling acid.",
                "Eye protection, gloves, apron, fresh air. Acid into water, never water into acid; never hot tube into acid. Rinse well, soda at hand; hand in what is used up.",
            ),
            Caution::Quench => (
                "Steam.",
                "It shoots out of the open end: turn it away, use tongs. Never quench a filled or plugged tube.",
            ),
            Caution::Sand => (
                "Damp sand bursts tubes; sand dust harms lungs.",
                "Oven-dry it above 110 °C; never heat a filled tube closed at both ends. Silica: respirator with a P3 or N100 filter, wet clean-up, never dry sweeping.",
            ),
            Caution::Air => (
                "Compressed air stores energy.",
                "Eye protection. Never above the pressure that is written here: regulator and relief valve set to it, and below the rating of the weakest part. Line tied down, nobody in line with its ends. Pressure off before you touch a joint.",
            ),
            Caution::Water => (
                "Water and electricity.",
                "Mains off and plug out; only the pump runs, on a supply of its own. Dry tissue under every joint. After a leak, dry it all for a day first.",
            ),
            Caution::Live => ("The tube conducts.", "Keep it 5 mm or more off live parts and boards."),
            Caution::Galvanic => (
                "Dissimilar metals.",
                "No copper and aluminium in one wet loop: the aluminium is eaten. Use a coolant with an inhibitor.",
            ),
            Caution::Solvent => (
                "Degreasing.",
                "Washing-up liquid mostly does. Solvent: fresh air, gloves, no flame; none chlorinated.",
            ),
            Caution::Fumes => {
                ("Fumes.", "Lacquer and thinner: fresh air, no flame, and only on a cold tube.")
            }
            Caution::Scald => (
                "Scalds.",
                "Water above 50 °C and steam scald. Let it cool and let the pressure off before a joint is touched; keep hot tube out of reach, or lag it.",
            ),
            Caution::Food => (
                "Food contact.",
                "Tube, seals, grease and solder must be of kinds allowed for drinking water where you are: no solder with lead, no sour drinks in copper. Flush until nothing of the work is left; throw the first fillings away.",
            ),
            Caution::Pressure => (
                "Pressure equipment.",
                "A safety valve that nothing can shut off, and a pressure below that of the weakest part. Local codes say who may build, test and inspect it.",
            ),
            Caution::Licensed => (
                "Licensed work.",
                "Lives depend on this line. Local codes say which tube, joints and flares are allowed, and who may make, fit and test it: ask before you cut.",
            ),
        }
    }
}

/// Capitals of what a caution says, mm.
const SAY: f64 = 2.7;

/// A caution with its sign, from `x` to `right`; how far down it reaches.
pub(super) fn caution(ink: &mut Ink, which: Caution, x: f64, down: f64, right: f64) -> f64 {
    let (head, rest) = which.words();
    let left = x + 6.4;
    sign(ink, x, down + 0.1);
    let room = right - left;
    let long = wide(head, BODY, true) + 1.4;
    let mut y = down + 0.7;
    ink.words(left, y, BODY, true, head);
    // The rest runs on behind the heading where there is room for it.
    let mut first = String::new();
    let mut words = rest.split_whitespace().peekable();
    // A word is taken or the loop ends.
    while let Some(word) = words.peek() {
        let longer = if first.is_empty() { (*word).to_owned() } else { format!("{first} {word}") };
        if long + wide(&longer, SAY, false) > room {
            break;
        }
        first = longer;
        words.next();
    }
    if !first.is_empty() {
        ink.words(left + long, y + BODY - SAY, SAY, false, &first);
    }
    y += LEADING * BODY;
    let others: Vec<&str> = words.collect();
    for words in lines(&others.join(" "), room, SAY, false) {
        ink.words(left, y, SAY, false, &words);
        y += LEADING * SAY;
    }
    ink.area(&[(x - 1.8, down), (x - 0.9, down), (x - 0.9, y - 0.6), (x - 1.8, y - 0.6)], BLACK);
    y
}

/// A triangle with an exclamation mark.
fn sign(ink: &mut Ink, x: f64, down: f64) {
    let (wide, high) = (5.2, 4.6);
    ink.area(&[(x, down + high), (x + wide, down + high), (x + wide / 2.0, down)], BLACK);
    let inner = Rgb(255, 255, 255);
    ink.area(
        &[(x + 0.95, down + high - 0.5), (x + wide - 0.95, down + high - 0.5), (x + wide / 2.0, down + 1.1)],
        inner,
    );
    ink.anchored(x + wide / 2.0, down + 1.75, 2.4, true, Across::Middle, "!");
    ink.line(Role::Dimension, (x, down + high), (x + wide, down + high));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_caution_stays_in_its_room() {
        for which in [Caution::Torch, Caution::Edges, Caution::Sand] {
            let mut ink = Ink::new();
            let end = caution(&mut ink, which, 8.0, 0.0, 120.0);
            let seen = crate::drawing::extents::extents(&ink.0).unwrap();
            assert!(seen.max.x <= 120.0 && seen.min.x >= 6.0 && seen.min.y >= -end, "{which:?}: {seen:?}");
        }
    }
}
