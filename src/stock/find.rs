//! From what a spec says to one size: forgiving about spelling, exact about the answer.

use super::{Size, SoldAs, Standard, standards};
use crate::quantity::{QuantityFault, Unit, parse_length};
use crate::spelling;

/// Two lengths nearer than this are the same size, mm: only rounding of inches lies between them.
const SAME_SIZE_MM: f64 = 1e-6;

/// A size as a spec asks for it.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// Size, as written: `15 x 1.0`, `1/2`, `K 1/2`, `3/4 x 0.042`.
    pub size: &'a str,
    /// Type, as written.
    pub kind: Option<&'a str>,
    /// Whether drawn lengths (half-hard or hard) are meant rather than annealed coils.
    pub drawn: bool,
    /// The unit that hints give lengths in.
    pub unit: Unit,
}

/// Which part of what was asked a fault concerns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Subject {
    /// The standard.
    Standard,
    /// The size.
    Size,
    /// The type.
    Type,
}

/// Why there is no such tube.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{message}")]
pub struct StockFault {
    /// The key to point at.
    pub subject: Subject,
    /// What is wrong.
    pub message: String,
    /// What to write instead.
    pub hint: String,
}

impl StockFault {
    fn new(subject: Subject, message: impl Into<String>, hint: impl Into<String>) -> Self {
        StockFault { subject, message: message.into(), hint: hint.into() }
    }

    fn quantity(size: &str, fault: &QuantityFault) -> Self {
        StockFault::new(Subject::Size, format!("`{size}` is not a size: {fault}"), fault.advice())
    }
}

/// The standard with this name; case and spaces do not matter and `ASTM` may be left out.
///
/// # Errors
/// When none has it; the hint suggests the nearest or lists all.
pub fn find_standard(name: &str) -> Result<&'static Standard, StockFault> {
    let key = |text: &str| -> String {
        let plain: String = text.chars().filter(char::is_ascii_alphanumeric).collect();
        let plain = plain.to_ascii_uppercase();
        // Countries publish a European standard under their own letters: it is the same one.
        let national = ["DIN", "BS", "NF"].iter().find_map(|letters| plain.strip_prefix(letters));
        let plain = national.filter(|rest| rest.starts_with("EN")).unwrap_or(&plain);
        plain.trim_start_matches("ASTM").to_owned()
    };
    let asked = key(name);
    if let Some(standard) = standards().iter().find(|s| key(s.name) == asked) {
        return Ok(standard);
    }
    let names = || standards().iter().map(|s| s.name);
    let hint = match spelling::nearest(name, names()) {
        Some(meant) => format!("did you mean `{meant}`?"),
        None => {
            let names: Vec<&str> = names().collect();
            format!("standards are {}; or give the tube by `od` and `wall`", names.join(", "))
        }
    };
    Err(StockFault::new(Subject::Standard, format!("there is no tube standard `{name}` here"), hint))
}

/// The size of a standard that is asked for.
///
/// # Errors
/// When there is none or more than one: what is wrong with the type, the size or both, with the sizes
/// to choose from.
pub fn find(standard: &'static Standard, asked: Asked<'_>) -> Result<&'static Size, Vec<StockFault>> {
    if !standard.types.is_empty() {
        return find_typed(standard, asked);
    }
    let size = find_by_wall(standard, asked);
    if asked.kind.is_none() {
        return size.map_err(|fault| vec![fault]);
    }
    let misplaced = StockFault::new(
        Subject::Type,
        format!("{} has no types", standard.name),
        "delete `type`; the size says the wall",
    );
    Err(std::iter::once(misplaced).chain(size.err()).collect())
}

/// The length a size is called by, mm.
pub(super) fn nominal(size: &Size, unit: Unit) -> f64 {
    let name = size.size.split(" x ").next().unwrap_or(size.size);
    parse_length(name, unit).unwrap_or(size.od)
}

fn same(a: f64, b: f64) -> bool {
    (a - b).abs() < SAME_SIZE_MM
}

fn find_typed(standard: &'static Standard, asked: Asked<'_>) -> Result<&'static Size, Vec<StockFault>> {
    let (written_kind, text) = take_type(standard, asked.size);
    let kind = kind(standard, asked, written_kind);
    let same_size = sizes_called(standard, asked, &text);
    let (kind, same_size) = match (kind, same_size) {
        (Ok(kind), Ok(sizes)) => (kind, sizes),
        (kind, sizes) => return Err(kind.err().into_iter().chain(sizes.err()).collect()),
    };
    let made: Vec<&str> = same_size.iter().filter_map(|s| s.kind).collect();
    let fault = |message: String, hint: String| vec![StockFault::new(Subject::Type, message, hint)];
    let Some(kind) = kind else {
        let choices: Vec<String> = made.iter().map(|k| format!("`type: {k}`")).collect();
        let message = format!("{} size {text} needs a type", standard.name);
        return Err(fault(message, format!("add {}", choices.join(" or "))));
    };
    same_size.into_iter().find(|s| s.kind == Some(kind)).ok_or_else(|| {
        let message = format!("{} size {text} is not listed as type {kind}", standard.name);
        fault(message, format!("types of that size: {}", made.join(", ")))
    })
}

/// The type that is asked for by the key or in the size.
fn kind(
    standard: &'static Standard,
    asked: Asked<'_>,
    written: Option<&'static str>,
) -> Result<Option<&'static str>, StockFault> {
    let Some(key) = asked.kind else { return Ok(written) };
    if written.is_some_and(|word| !key.trim().eq_ignore_ascii_case(word)) {
        return Err(StockFault::new(
            Subject::Type,
            format!("`type: {key}` and the size `{}` do not agree", asked.size),
            "keep one of the two types",
        ));
    }
    let found = standard.types.iter().find(|t| t.eq_ignore_ascii_case(key.trim()));
    found.copied().map(Some).ok_or_else(|| {
        StockFault::new(
            Subject::Type,
            format!("{} has no type `{key}`", standard.name),
            format!("types are {}", standard.types.join(", ")),
        )
    })
}

/// The sizes of every type with this nominal; `text` is the size as asked without a type.
fn sizes_called(
    standard: &'static Standard,
    asked: Asked<'_>,
    text: &str,
) -> Result<Vec<&'static Size>, StockFault> {
    let unit = standard.unit;
    let wanted = parse_length(text, unit).map_err(|fault| StockFault::quantity(asked.size, &fault))?;
    let found: Vec<&Size> = standard.sizes.iter().filter(|s| same(nominal(s, unit), wanted)).collect();
    if found.is_empty() { Err(unknown_nominal(standard, (text, wanted), asked.unit)) } else { Ok(found) }
}

/// Splits a type off a size such as `K 1/2` or `1/2 type K`.
fn take_type(standard: &Standard, size: &str) -> (Option<&'static str>, String) {
    let mut kind = None;
    let mut rest: Vec<&str> = Vec::new();
    for word in size.split_whitespace() {
        match standard.types.iter().find(|t| t.eq_ignore_ascii_case(word)) {
            Some(found) if kind.is_none() => kind = Some(*found),
            _ if word.eq_ignore_ascii_case("type") => {}
            _ => rest.push(word),
        }
    }
    (kind, rest.join(" "))
}

fn unknown_nominal(standard: &'static Standard, (text, wanted): (&str, f64), unit: Unit) -> StockFault {
    // The outside diameter where the nominal size is wanted: an easy slip with inch water tube.
    let hint = match standard.sizes.iter().find(|s| (s.od - wanted).abs() < 0.01) {
        Some(size) => format!(
            "a size is named by its nominal: {} has an outside diameter of {}",
            size.size,
            unit.length(size.od)
        ),
        None => {
            let sizes = standard.sizes.iter();
            around(sizes.map(|size| Offer {
                name: size.size,
                off: nominal(size, standard.unit) - wanted,
                wall_off: 0.0,
            }))
        }
    };
    StockFault::new(Subject::Size, format!("{} has no size {text}", standard.name), hint)
}

/// A size that may be taken for one there is not.
struct Offer {
    name: &'static str,
    /// How much larger it is, mm.
    off: f64,
    /// How far its wall is from the one asked for, mm.
    wall_off: f64,
}

/// The nearest size to either side; of several walls, the nearest.
fn around(offers: impl Iterator<Item = Offer> + Clone) -> String {
    let nearer =
        |a: &Offer, b: &Offer| a.off.abs().total_cmp(&b.off.abs()).then(a.wall_off.total_cmp(&b.wall_off));
    let below = offers.clone().filter(|o| o.off < 0.0).min_by(nearer);
    let above = offers.filter(|o| o.off > 0.0).min_by(nearer);
    let names: Vec<&str> = [below, above].into_iter().flatten().map(|o| o.name).collect();
    format!("nearest: {}", names.join(" or "))
}

fn find_by_wall(standard: &'static Standard, asked: Asked<'_>) -> Result<&'static Size, StockFault> {
    let unit = standard.unit;
    let length =
        |text: &str| parse_length(text, unit).map_err(|fault| StockFault::quantity(asked.size, &fault));
    let mut parts = asked.size.split(['x', 'X', '×', '*']);
    let od = length(parts.next().unwrap_or(""))?;
    let wall = parts.next().map(length).transpose()?;
    if parts.next().is_some() {
        return Err(StockFault::new(
            Subject::Size,
            format!("`{}` has more than an outside diameter and a wall", asked.size),
            format!("write it as `{}`", standard.example),
        ));
    }
    let same_od: Vec<&Size> =
        standard.sizes.iter().filter(|s| same(nominal(s, unit), od) || same(s.od, od)).collect();
    let other = if asked.drawn { SoldAs::Coil } else { SoldAs::Drawn };
    if same_od.is_empty() {
        let offers = standard.sizes.iter().filter(|s| wall.is_some() || s.form != other).map(|s| Offer {
            name: s.size,
            off: s.od - od,
            wall_off: wall.map_or(0.0, |wall| (s.wall - wall).abs()),
        });
        let message = format!("{} has no size {}", standard.name, asked.size.trim());
        let swapped = |s: &&Size| wall.is_some_and(|wall| same(s.od, wall)) && same(s.wall, od);
        let hint = match standard.sizes.iter().find(swapped) {
            Some(size) => format!("the outside diameter comes first: write `{}`", size.size),
            None => around(offers),
        };
        return Err(StockFault::new(Subject::Size, message, hint));
    }
    let list = |sizes: &[&Size]| sizes.iter().map(|s| s.size).collect::<Vec<_>>().join(", ");
    let chosen: Vec<&Size> = match wall {
        Some(wall) => same_od.iter().copied().filter(|s| same(s.wall, wall)).collect(),
        None => same_od.iter().copied().filter(|s| s.form != other).collect(),
    };
    match chosen.as_slice() {
        [size] => Ok(size),
        [] if wall.is_none() => Err(StockFault::new(
            Subject::Size,
            format!(
                "{} size {} is not listed {}",
                standard.name,
                asked.size.trim(),
                if asked.drawn { "in drawn lengths" } else { "in annealed coils" }
            ),
            format!("name the wall: {}", list(&same_od)),
        )),
        [] => Err(StockFault::new(
            Subject::Size,
            format!("{} has no size {}", standard.name, asked.size.trim()),
            format!("sizes of that outside diameter: {}", list(&same_od)),
        )),
        several => Err(StockFault::new(
            Subject::Size,
            format!("{} size {} comes with more than one wall", standard.name, asked.size.trim()),
            format!("write one of {}", list(several)),
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ask(standard: &str, size: &str, kind: Option<&str>, drawn: bool) -> String {
        let standard = find_standard(standard).expect(standard);
        match find(standard, Asked { size, kind, drawn, unit: Unit::Millimetre }) {
            Ok(size) => size.designation(),
            Err(faults) => {
                let told = |f: &StockFault| format!("{:?}: {f}; {}", f.subject, f.hint);
                faults.iter().map(told).collect::<Vec<_>>().join(" | ")
            }
        }
    }

    #[test]
    fn standards_by_any_spelling() {
        for name in ["EN 1057", "en1057", "EN-1057", "ASTM B88", "B88", "astm b88m", "B 280", "DIN EN 1057"] {
            assert!(find_standard(name).is_ok(), "{name}");
        }
        let fault = find_standard("EN 1058").expect_err("no such standard");
        assert_eq!(fault.message, "there is no tube standard `EN 1058` here");
        assert_eq!(fault.hint, "did you mean `EN 1057`?");
        for (name, meant) in [("ASTM-B-281", "ASTM B280"), ("ASTM B89", "ASTM B88")] {
            let fault = find_standard(name).expect_err(name);
            assert_eq!(fault.hint, format!("did you mean `{meant}`?"));
        }
        let fault = find_standard("ISO 4200").expect_err("no such standard");
        assert!(fault.hint.contains("EN 1057, ASTM B88, ASTM B88M, ASTM B280"));
    }

    #[test]
    fn od_by_wall_in_any_spelling() {
        for size in ["15 x 1.0", "15x1", "15 × 1", "15X1.0", "15 mm x 1 mm", "15*1"] {
            assert_eq!(ask("EN 1057", size, None, true), "EN 1057 15 x 1.0", "{size}");
        }
        assert_eq!(
            ask("EN 1057", "15 x 1,0", None, true),
            "Size: `15 x 1,0` is not a size: `1,0` has a comma in it; write a decimal point: 1.0"
        );
        assert_eq!(
            ask("EN 1057", "15 x 1.1", None, true),
            "Size: EN 1057 has no size 15 x 1.1; sizes of that outside diameter: 15 x 0.7, 15 x 0.8, 15 x 1.0"
        );
        assert_eq!(
            ask("EN 1057", "17 x 1", None, true),
            "Size: EN 1057 has no size 17 x 1; nearest: 16 x 1.0 or 18 x 1.0"
        );
        assert_eq!(
            ask("EN 1057", "15", None, true),
            "Size: EN 1057 size 15 comes with more than one wall; write one of 15 x 0.7, 15 x 0.8, 15 x 1.0"
        );
        assert_eq!(ask("EN 1057", "16", None, true), "EN 1057 16 x 1.0");
        assert_eq!(
            ask("EN 1057", "1 x 15", None, true),
            "Size: EN 1057 has no size 1 x 15; the outside diameter comes first: write `15 x 1.0`"
        );
        assert_eq!(
            ask("EN 1057", "15 x 1.0", Some("K"), true),
            "Type: EN 1057 has no types; delete `type`; the size says the wall"
        );
        assert_eq!(
            ask("EN 1057", "15 x 1.1", Some("K"), true),
            "Type: EN 1057 has no types; delete `type`; the size says the wall | \
             Size: EN 1057 has no size 15 x 1.1; sizes of that outside diameter: 15 x 0.7, 15 x 0.8, 15 x 1.0"
        );
        assert_eq!(ask("EN 1057", "1 x 1", None, true), "Size: EN 1057 has no size 1 x 1; nearest: 6 x 1.0");
    }

    #[test]
    fn nominal_sizes_with_a_type() {
        let half = "ASTM B88 type K 1/2 (15.875 x 1.245 mm)";
        for (size, kind) in [
            ("1/2", Some("K")),
            ("0.5", Some("k")),
            ("1/2 in", Some("K")),
            ("K 1/2", None),
            ("1/2 type K", None),
        ] {
            assert_eq!(ask("ASTM B88", size, kind, true), half, "{size}");
        }
        assert_eq!(ask("ASTM B88M", "15", Some("B"), true), "ASTM B88M type B 15 (15 x 1 mm)");
        assert_eq!(
            ask("ASTM B88", "1/2", None, true),
            "Type: ASTM B88 size 1/2 needs a type; add `type: K` or `type: L` or `type: M`"
        );
        assert_eq!(
            ask("ASTM B88", "1/4", Some("M"), true),
            "Type: ASTM B88 size 1/4 is not listed as type M; types of that size: K, L"
        );
        assert_eq!(
            ask("ASTM B88", "1/2", Some("A"), true),
            "Type: ASTM B88 has no type `A`; types are K, L, M"
        );
        assert_eq!(
            ask("ASTM B88", "7/16", Some("K"), true),
            "Size: ASTM B88 has no size 7/16; nearest: 3/8 or 1/2"
        );
        assert_eq!(
            ask("ASTM B88", "7/8", Some("K"), true),
            "Size: ASTM B88 has no size 7/8; a size is named by its nominal: 3/4 has an outside diameter of 22.225 mm"
        );
        assert_eq!(
            ask("ASTM B88", "K 1/2", Some("L"), true),
            "Type: `type: L` and the size `K 1/2` do not agree; keep one of the two types"
        );
        assert_eq!(
            ask("ASTM B88", "7/16", Some("A"), true),
            "Type: ASTM B88 has no type `A`; types are K, L, M | Size: ASTM B88 has no size 7/16; nearest: 3/8 or 1/2"
        );
    }

    #[test]
    fn refrigeration_tube_by_form() {
        assert_eq!(ask("ASTM B280", "1/2", None, false), "ASTM B280 1/2 x 0.032 in (12.7 x 0.813 mm)");
        assert_eq!(ask("ASTM B280", "1/2", None, true), "ASTM B280 1/2 x 0.035 in (12.7 x 0.889 mm)");
        assert_eq!(ask("ASTM B280", "0.187", None, false), ask("ASTM B280", "3/16", None, false));
        assert_eq!(
            ask("ASTM B280", "3/4 x 0.042", None, false),
            "ASTM B280 3/4 x 0.042 in (19.05 x 1.067 mm)"
        );
        assert_eq!(
            ask("ASTM B280", "3/4", None, false),
            "Size: ASTM B280 size 3/4 comes with more than one wall; write one of 3/4 x 0.035, 3/4 x 0.042"
        );
        assert_eq!(
            ask("ASTM B280", "1/4", None, true),
            "Size: ASTM B280 size 1/4 is not listed in drawn lengths; name the wall: 1/4 x 0.030"
        );
        assert_eq!(
            ask("ASTM B280", "7/16", None, false),
            "Size: ASTM B280 has no size 7/16; nearest: 3/8 x 0.032 or 1/2 x 0.032"
        );
        assert_eq!(
            ask("ASTM B280", "7/16 x 0.035", None, false),
            "Size: ASTM B280 has no size 7/16 x 0.035; nearest: 3/8 x 0.032 or 1/2 x 0.035"
        );
    }
}
