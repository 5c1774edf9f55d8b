//! From a length to every built-in size that it may mean, in all standards.

use super::find::nominal;
use super::{Size, standards};
use crate::quantity::{MM_PER_INCH, QuantityFault, Unit, parse_length, trimmed};

/// Two lengths nearer than this are the same, mm: an inch in thousandths is rounded by half of one.
const ROUNDED_MM: f64 = 0.0005 * MM_PER_INCH + 1e-9;

/// The dimension of a size that is the length asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Match {
    /// It is the outside diameter.
    Outside,
    /// The size is called by it, but measures something else.
    Name,
    /// Nothing; it is the next smaller or larger outside diameter.
    Nearest,
}

/// A size that was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hit {
    /// The size.
    pub size: &'static Size,
    /// Why it was found.
    pub by: Match,
}

/// What was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// In the order of the standards.
    pub hits: Vec<Hit>,
    /// A note where they are not quite the size asked for.
    pub note: Option<String>,
}

/// Finds every size with the outside diameter or nominal size that `text` gives, such as `15`, `5/8`,
/// `0.625 in`, `15 x 1`; a bare number may be mm or inches. Where there is none, the nearest are found.
///
/// # Errors
/// When the text is no length, or no length and wall.
pub fn search(text: &str) -> Result<Found, QuantityFault> {
    let (across, wall) = match text.split_once(['x', '×']) {
        Some((across, wall)) => (across, Some(lengths(wall)?)),
        None => (text, None),
    };
    let asked = lengths(across)?;
    let sizes =
        || standards().iter().flat_map(|standard| standard.sizes.iter().map(move |size| (standard, size)));
    let met = |mm: f64| asked.iter().any(|asked| (asked - mm).abs() < ROUNDED_MM);
    let mut hits: Vec<Hit> = sizes()
        .filter_map(|(standard, size)| {
            let by = if met(size.od) { Some(Match::Outside) } else { None };
            let called = met(nominal(size, standard.unit)).then_some(Match::Name);
            by.or(called).map(|by| Hit { size, by })
        })
        .collect();
    let mut note = None;
    if hits.is_empty() {
        let across = across.trim();
        note =
            Some(format!("no built-in tube measures {across} across or is called so; the nearest are shown"));
        let ods = neighbours(&asked, sizes().map(|(_, size)| size.od));
        hits = sizes()
            .filter(|(_, size)| ods.contains(&size.od))
            .map(|(_, size)| Hit { size, by: Match::Nearest })
            .collect();
    }
    if let Some(walls) = wall {
        let fits = |hit: &&Hit| walls.iter().any(|wall| (wall - hit.size.wall).abs() < ROUNDED_MM);
        let kept: Vec<Hit> = hits.iter().filter(fits).copied().collect();
        if kept.is_empty() {
            let asked = walls.iter().map(|wall| format!("{} mm", trimmed(*wall))).collect::<Vec<_>>();
            let no_wall = format!("none of them has a wall of {}", asked.join(" or "));
            note = Some(note.map_or(no_wall.clone(), |note| format!("{note}; {no_wall}")));
        } else {
            hits = kept;
        }
    }
    Ok(Found { hits, note })
}

/// The lengths a word may mean, mm: a bare number is tried in mm and in inches.
fn lengths(text: &str) -> Result<Vec<f64>, QuantityFault> {
    let mm = parse_length(text, Unit::Millimetre)?;
    let inches = parse_length(text, Unit::Inch)?;
    Ok(if (mm - inches).abs() < ROUNDED_MM { vec![mm] } else { vec![mm, inches] })
}

/// The outside diameters next below and above the asked length that any of them is nearest to.
fn neighbours(asked: &[f64], ods: impl Iterator<Item = f64> + Clone) -> Vec<f64> {
    let off = |asked: f64| ods.clone().map(|od| (od - asked).abs() / od).fold(f64::INFINITY, f64::min);
    let Some(&asked) = asked.iter().min_by(|a, b| off(**a).total_cmp(&off(**b))) else { return Vec::new() };
    let below = ods.clone().filter(|od| *od < asked).max_by(f64::total_cmp);
    let above = ods.filter(|od| *od > asked).min_by(f64::total_cmp);
    below.into_iter().chain(above).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(text: &str) -> Vec<(String, Match)> {
        let hits = search(text).expect(text).hits;
        hits.iter().map(|hit| (hit.size.designation(), hit.by)).collect()
    }

    #[test]
    fn a_fraction_is_an_outside_diameter_and_a_name() {
        let hits = found("5/8");
        let of = |by| hits.iter().filter(|hit| hit.1 == by).map(|hit| hit.0.as_str()).collect::<Vec<_>>();
        // B88 calls tube by 1/8 in less than it measures, B280 by what it measures.
        assert!(of(Match::Outside).iter().any(|name| name.starts_with("ASTM B88 type L 1/2 ")), "{hits:?}");
        assert!(of(Match::Outside).iter().any(|name| name.starts_with("ASTM B280 5/8 x")), "{hits:?}");
        assert!(
            of(Match::Name).iter().any(|name| name.starts_with("ASTM B88 type L 5/8 (19.05 x")),
            "{hits:?}"
        );
        for same in ["5/8 in", "0.625", "15.875 mm", "1.5875 cm"] {
            assert_eq!(found(same), hits, "{same}");
        }
    }

    #[test]
    fn a_wall_narrows() {
        let both = ["EN 1057 15 x 1.0", "ASTM B88M type B 15 (15 x 1 mm)"];
        assert_eq!(found("15 x 1"), both.map(|name| (name.to_owned(), Match::Outside)));
        assert!(found("15").len() > 1);
        let other = search("15 x 1.3").expect("lengths");
        assert_eq!(other.hits.len(), found("15").len());
        assert!(other.note.is_some_and(|note| note.contains("wall of 1.3 mm")));
    }

    #[test]
    fn what_is_not_there_gives_its_neighbours() {
        let near = search("17").expect("a length");
        let mut ods: Vec<f64> = near.hits.iter().map(|hit| hit.size.od).collect();
        ods.sort_by(f64::total_cmp);
        ods.dedup();
        assert_eq!(ods, [16.0, 18.0], "{near:?}");
        assert!(near.note.is_some_and(|note| note.contains("measures 17 across")));
        assert!(near.hits.iter().all(|hit| hit.by == Match::Nearest));
    }

    #[test]
    fn what_is_no_length_is_refused() {
        for wrong in ["", "wide", "15 x", "x 1", "15 x 1 x 2"] {
            assert!(search(wrong).is_err(), "{wrong}");
        }
    }
}
