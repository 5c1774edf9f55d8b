//! Readings that cannot all be right: the places of bends along the tube.

use super::{Reader, Taken, Tube, slips};
use crate::spec::model::What;

/// How far a bend may seem to start before the one in front of it ends, mm: each of the two places may be off by
/// more than the eye sees.
const OVERLAP_MM: f64 = 6.0;

/// How much longer than the tube a length along one leg may be read, mm, besides the tube's diameter.
const LONGER_MM: f64 = 2.0;

/// Notes readings that cannot be right; their quantities.
pub(super) fn check(tube: &Tube<'_>, reader: &mut Reader) -> Vec<What> {
    let mut impossible = along(tube, reader);
    impossible.extend(longer(tube, reader));
    impossible
}

/// A place along the tube.
struct Place<'t> {
    taken: &'t Taken,
    /// "bend 2 starts".
    words: String,
    /// The bend's number.
    bend: usize,
}

/// Notes bends that end before they start, or start before the bend made before ends.
fn along(tube: &Tube<'_>, reader: &mut Reader) -> Vec<What> {
    let mut impossible = Vec::new();
    let find = |what: What| tube.taken.iter().find(|taken| taken.what == what);
    let made = tube.run.bends.iter().take(tube.done).map(|bend| bend.number);
    let places = made.flat_map(|bend| {
        let place =
            |what, does: &str| Some(Place { taken: find(what)?, words: format!("bend {bend} {does}"), bend });
        [place(What::Starts(bend), "starts"), place(What::Ends(bend), "ends")]
    });
    let places: Vec<Place<'_>> = places.flatten().collect();
    for two in places.windows(2) {
        let [before, after] = two else { continue };
        let (first, second) = (before.taken.number, after.taken.number);
        let slack = if before.bend == after.bend { 0.0 } else { OVERLAP_MM };
        if second.value + slack > first.value {
            continue;
        }
        let length = |mm| tube.run.unit.length(mm);
        let message = format!(
            "{} at {}, and {} at {} ({})",
            after.words,
            length(second.value),
            before.words,
            length(first.value),
            tube.source.told(first.place)
        );
        let hint = "both are counted along the tube from the end that bending begins at: correct one of them";
        reader.error("contradiction", second.place, message, hint);
        impossible.extend([before.taken.what, after.taken.what]);
    }
    let Some(cut) = find(What::Cut) else { return impossible };
    for place in places.iter().filter(|place| place.taken.number.value > cut.number.value) {
        let length = |mm| tube.run.unit.length(mm);
        let message = format!(
            "{} at {}, and the tube was cut to {} ({})",
            place.words,
            length(place.taken.number.value),
            length(cut.number.value),
            tube.source.told(cut.number.place)
        );
        reader.error("contradiction", place.taken.number.place, message, "correct one of them");
        impossible.push(place.taken.what);
    }
    impossible
}

/// Notes lengths that the tube does not have.
fn longer(tube: &Tube<'_>, reader: &mut Reader) -> Vec<What> {
    let mut impossible = Vec::new();
    let is_read = tube.taken.iter().any(|taken| taken.what == What::Cut);
    let most = tube.cut() + tube.run.od + LONGER_MM;
    for taken in &tube.taken {
        let Taken { what, number, .. } = taken;
        let along = matches!(what, What::Starts(_) | What::Ends(_));
        let of_tube =
            matches!(what, What::Leg(..) | What::Between(..) | What::LastLeg(_) | What::EndToEnd(_));
        // Places beyond a cut that was read are told as a contradiction.
        if number.value <= most || !(of_tube || (along && !is_read)) {
            continue;
        }
        let length = |mm| tube.run.unit.length_to(mm, 1);
        let cut = if is_read { "was" } else { "is planned to be" };
        let message = format!(
            "{} is {}, longer than the tube, which {cut} cut to {}",
            tube.run.name(*what),
            length(number.value),
            length(tube.cut())
        );
        let slip = slips::explain(tube, reader.unit, taken).filter(|(code, ..)| *code == slips::UNIT);
        let hint = slip.map_or_else(|| "check the number and its unit".to_owned(), |(_, _, hint)| hint);
        reader.error("out-of-range", number.place, message, hint);
        impossible.push(*what);
    }
    impossible
}
