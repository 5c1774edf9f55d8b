//! Whether the numbers of a whole spec are in the unit it says: judged by its tube, since no path or
//! radius is too small or too large by itself.

use crate::diagnostic::Span;
use crate::quantity::{Unit, bare_number, parse_length, trimmed};
use crate::spec::fields::{Reader, UnitFrom};
use crate::spec::node::{Node, Value};
use crate::stock::{self, Asked, standards};
use crate::tolerance::is_same_size;

/// Outside diameters of tube that is bent by hand, mm, with room to spare on both sides. A spec in cm with a tube
/// of 2 to 3 cm is known by its wall.
const ODS_MM: std::ops::RangeInclusive<f64> = 1.9..=110.0;
/// Walls of such tube, mm.
const WALLS_MM: std::ops::RangeInclusive<f64> = 0.2..=7.0;
/// A wall that is a larger part of the outside diameter than this leaves a bar, not a tube.
const THICKEST_WALL: f64 = 0.4;
/// Coordinates of a loop that fits a bench or a room, mm: in a unit that makes them larger, it was not meant.
const LARGEST_COORDINATE_MM: f64 = 2500.0;
/// Radii that a bender may have, in outside diameters.
const POSSIBLE_CLRS: std::ops::RangeInclusive<f64> = 0.5..=30.0;
/// Radii that benders mostly have, in outside diameters.
pub(crate) const USUAL_CLRS: std::ops::RangeInclusive<f64> = 1.2..=8.0;
/// The largest coordinate of a run is rarely further out than so many radii: where it is, the radius alone
/// is in another unit.
const LARGEST_COORDINATE_CLRS: f64 = 25.0;

/// Units a spec may have.
const UNITS: [Unit; 3] = [Unit::Millimetre, Unit::Centimetre, Unit::Inch];

/// A number without a unit.
struct Bare<'n> {
    number: f64,
    text: &'n str,
    place: Span,
}

impl<'n> Bare<'n> {
    fn of(node: &'n Node) -> Option<Bare<'n>> {
        let text = node.scalar()?;
        Some(Bare { number: bare_number(text)?, text, place: node.place })
    }

    fn mm(&self, unit: Unit) -> f64 {
        self.number * unit.millimetres()
    }

    /// Nobody writes a fraction of a millimetre or centimetre.
    fn may_be(&self, unit: Unit) -> bool {
        unit == Unit::Inch || !self.text.contains('/')
    }
}

/// A wall: a bare number, or a length in mm.
enum Wall {
    Bare(f64),
    Given(f64),
}

impl Wall {
    fn mm(&self, unit: Unit) -> f64 {
        match self {
            Wall::Bare(number) => number * unit.millimetres(),
            Wall::Given(mm) => *mm,
        }
    }
}

/// The unit that a spec was taken to be in, and the one it probably is in.
struct Verdict<'n> {
    /// The size that is absurd in the unit as it is.
    now: String,
    /// Units in which it is not, each with what it is then.
    then: Vec<(Unit, String)>,
    /// The number it was judged by, and its key.
    by: (&'static str, Bare<'n>),
}

/// Notes a spec whose sizes make no sense in its unit and do in another. Its lengths are not compared any
/// further: each would be a finding of its own.
pub(super) fn check(reader: &mut Reader, spec: &Node, units: Option<Span>) {
    if reader.unit_from == UnitFrom::Unreadable {
        return;
    }
    let Some(Verdict { now, then, by: (key, bare) }) = judge(spec, reader.unit) else { return };
    let unit = reader.unit.name();
    let message = match units {
        Some(_) => format!("with `units: {unit}`, {now}"),
        None => format!("without `units:`, numbers are mm, and {now}"),
    };
    let ways: Vec<String> =
        then.iter().map(|(u, then)| format!("`units: {}` for {then}", u.name())).collect();
    let write = if units.is_some() { "write" } else { "add" };
    let hint = format!(
        "{write} {}; if it is right as it stands, write `{key}: {} {unit}`",
        ways.join(" or "),
        bare.text
    );
    reader.error("units", units.unwrap_or(bare.place), message, hint);
    reader.unit_from = UnitFrom::Unreadable;
}

fn judge(spec: &Node, unit: Unit) -> Option<Verdict<'_>> {
    let runs = || match spec.get("runs").map(|node| &node.value) {
        Some(Value::Map(entries)) => entries.iter().map(|(_, node)| node).collect(),
        _ => Vec::new(),
    };
    let tubes = spec.get("tube").into_iter().chain(runs().into_iter().filter_map(|run| run.get("tube")));
    let tube = tubes.into_iter().find(|tube| tube.get("od").is_some() || tube.get("standard").is_some())?;
    let mut coordinates = 0.0_f64;
    for part in ["components", "runs"] {
        spec.get(part).into_iter().for_each(|node| largest(node, &mut coordinates));
    }
    match tube.get("od") {
        Some(od) => by_tube(Bare::of(od)?, tube.get("wall"), coordinates, unit),
        None => {
            let clr = spec.get("bender").and_then(|bender| bender.get("clr"))?;
            by_radius(Bare::of(clr)?, standard_od(tube)?, coordinates, unit)
        }
    }
}

/// The largest bare number among coordinates and straights.
fn largest(node: &Node, found: &mut f64) {
    let mut count = |node: &Node| {
        if let Some(bare) = Bare::of(node) {
            *found = found.max(bare.number.abs());
        }
    };
    match &node.value {
        Value::Scalar(_) => {}
        Value::List(items) => {
            items.iter().for_each(&mut count);
            items.iter().for_each(|item| largest(item, found));
        }
        Value::Map(entries) => {
            let lengths = |key: &str| matches!(key, "length" | "end_length" | "out" | "in" | "x" | "y" | "z");
            entries.iter().filter(|(key, _)| lengths(&key.text)).for_each(|(_, node)| count(node));
            let other = |key: &str| matches!(key, "facing" | "tube" | "bender" | "route");
            entries.iter().filter(|(key, _)| !other(&key.text)).for_each(|(_, node)| largest(node, found));
        }
    }
}

fn by_tube<'n>(od: Bare<'n>, wall: Option<&Node>, coordinates: f64, unit: Unit) -> Option<Verdict<'n>> {
    let wall = match wall.map(|node| (Bare::of(node), node.scalar())) {
        None => None,
        Some((Some(bare), _)) => Some(Wall::Bare(bare.number)),
        Some((None, text)) => Some(Wall::Given(parse_length(text?, unit).ok()?)),
    };
    let is_tube = |unit: Unit| {
        let (od, wall) = (od.mm(unit), wall.as_ref().map(|wall| wall.mm(unit)));
        ODS_MM.contains(&od) && wall.is_none_or(|wall| WALLS_MM.contains(&wall) && wall < THICKEST_WALL * od)
    };
    let told = |unit: Unit| match &wall {
        Some(wall) => format!("{} x {} mm", trimmed(od.mm(unit)), trimmed(wall.mm(unit))),
        None => format!("{} mm", trimmed(od.mm(unit))),
    };
    if is_tube(unit) {
        return None;
    }
    let may_be = |other: Unit| {
        other != unit
            && od.may_be(other)
            && is_tube(other)
            && coordinates * other.millimetres() <= LARGEST_COORDINATE_MM
    };
    let mut then: Vec<Unit> = UNITS.into_iter().filter(|unit| may_be(*unit)).collect();
    let built_in = |unit: Unit| {
        let (od, wall) = (od.mm(unit), wall.as_ref().map(|wall| wall.mm(unit)));
        let mut sizes = standards().iter().flat_map(|standard| standard.sizes);
        sizes.any(|size| is_same_size(size.od, od) && wall.is_none_or(|wall| is_same_size(size.wall, wall)))
    };
    // Of two units that make sense, the one in which there is such a tube; or else one of round numbers.
    for better in [&built_in as &dyn Fn(Unit) -> bool, &|unit| is_round(&od, unit)] {
        if then.len() > 1 && then.iter().any(|unit| better(*unit)) {
            then.retain(|unit| better(*unit));
        }
    }
    let then: Vec<(Unit, String)> = then.into_iter().map(|u| (u, format!("a tube of {}", told(u)))).collect();
    let now = format!("the tube is {}, which nobody bends by hand", told(unit));
    (!then.is_empty()).then_some(Verdict { now, then, by: ("od", od) })
}

/// Tube is made in whole mm and in sixteenths of an inch.
fn is_round(od: &Bare<'_>, unit: Unit) -> bool {
    let steps = if unit == Unit::Inch { od.number * 16.0 } else { od.mm(unit) };
    (steps - steps.round()).abs() < 1e-6
}

/// Outside diameter of the tube of a standard, mm.
fn standard_od(tube: &Node) -> Option<f64> {
    let text = |key: &str| tube.get(key).and_then(Node::scalar);
    let standard = stock::find_standard(text("standard")?).ok()?;
    let drawn = text("temper").is_some_and(|temper| temper != "soft");
    stock::find(standard, Asked { size: text("size")?, kind: text("type"), drawn, unit: Unit::Millimetre })
        .ok()
        .map(|size| size.od)
}

fn by_radius(clr: Bare<'_>, od: f64, coordinates: f64, unit: Unit) -> Option<Verdict<'_>> {
    let alone = coordinates > LARGEST_COORDINATE_CLRS * clr.number;
    if alone || clr.number <= 0.0 || POSSIBLE_CLRS.contains(&(clr.mm(unit) / od)) {
        return None;
    }
    let may_be = |other: Unit| {
        other != unit
            && clr.may_be(other)
            && USUAL_CLRS.contains(&(clr.mm(other) / od))
            && coordinates * other.millimetres() <= LARGEST_COORDINATE_MM
    };
    let told = |unit: Unit| format!("a centreline radius of {} mm", trimmed(clr.mm(unit)));
    let then: Vec<(Unit, String)> =
        UNITS.into_iter().filter(|unit| may_be(*unit)).map(|unit| (unit, told(unit))).collect();
    let now = format!("the bender has {} for a tube of {} mm", told(unit), trimmed(od));
    (!then.is_empty()).then_some(Verdict { now, then, by: ("clr", clr) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spec::read_partly;

    /// The findings of a spec with these units and tube, its radius and coordinates a number of outside diameters.
    fn units(unit: &str, tube: &str, clr: f64, reach: f64) -> Option<String> {
        let units = if unit.is_empty() { String::new() } else { format!("units: {unit}\n") };
        let text = format!(
            "format: 1\n{units}tube: {{{tube}, temper: soft}}\nbender: {{clr: {clr}}}\n\
             runs: {{a: {{from: [0, 0, 0], to: [{reach}, {reach}, 0], corners: [[{reach}, 0, 0]]}}}}\n"
        );
        let findings = read_partly(&text, "x.yaml").findings;
        let units: Vec<_> = findings.iter().filter(|finding| finding.code == "units").collect();
        assert!(units.is_empty() || findings.len() == 1, "{text}\n{findings:?}");
        units.first().map(|finding| finding.hint.clone().unwrap_or_default())
    }

    #[test]
    fn a_unit_is_told_by_the_tube() {
        for (unit, tube, meant) in [
            ("", "od: 1.5, wall: 0.1", "`units: cm` for a tube of 15 x 1 mm;"),
            ("mm", "od: 0.625, wall: 0.04", "`units: in` for a tube of 15.875 x 1.016 mm;"),
            ("mm", "od: 5/8, wall: 0.035", "`units: in` for a tube of 15.875 x 0.889 mm;"),
            ("mm", "od: 2.2, wall: 0.1", "`units: cm` for a tube of 22 x 1 mm;"),
            ("mm", "od: 3-1/8, wall: 0.109", "`units: in` for a tube of 79.375 x 2.769 mm;"),
            ("mm", "od: 0.8, wall: 0.08", "`units: cm` for a tube of 8 x 0.8 mm;"),
            ("in", "od: 15, wall: 1", "`units: mm` for a tube of 15 x 1 mm;"),
            ("cm", "od: 15, wall: 1", "`units: mm` for a tube of 15 x 1 mm;"),
            ("in", "od: 1.5, wall: 0.25", ""),
            ("cm", "od: 6, wall: 1", "`units: mm` for a tube of 6 x 1 mm;"),
        ] {
            let tube_keys = format!("{tube}, material: copper");
            let od = tube.split([' ', ',']).nth(1).and_then(bare_number).expect("a number");
            let hint = units(unit, &tube_keys, od * 3.5, od * 20.0).unwrap_or_default();
            assert!(
                if meant.is_empty() { hint.is_empty() } else { hint.contains(meant) },
                "{unit} {tube}: {hint}"
            );
        }
        // Two units make sense, and none of them makes a tube of a standard or of whole steps.
        let hint = units("", "od: 0.51, wall: 0.04, material: copper", 2.0, 10.0).expect("judged");
        assert!(hint.contains("`units: cm`") && hint.contains("or `units: in`"), "{hint}");
    }

    #[test]
    fn a_unit_is_told_by_the_radius_for_a_tube_of_a_standard() {
        let en = "standard: EN 1057, size: 12 x 1.0";
        assert!(
            units("", en, 4.5, 20.0)
                .expect("judged")
                .contains("`units: cm` for a centreline radius of 45 mm")
        );
        assert!(
            units("in", en, 45.0, 80.0)
                .expect("judged")
                .contains("`units: mm` for a centreline radius of 45 mm")
        );
        // The radius alone is in another unit.
        assert_eq!(units("", en, 4.5, 200.0), None);
        let b88 = "standard: ASTM B88, size: K 1/2";
        assert!(
            units("", b88, 2.5, 20.0)
                .expect("judged")
                .contains("`units: in` for a centreline radius of 63.5 mm")
        );
    }

    #[test]
    fn ordinary_tube_is_left_alone() {
        let mut looked_at = 0;
        for (unit, ods, walls) in [
            (
                "",
                &[3.0, 4.0, 4.75, 6.0, 8.0, 10.0, 12.0, 15.0, 22.0, 28.0, 42.0, 54.0][..],
                &[0.3, 0.5, 0.7, 1.0, 1.5, 2.0][..],
            ),
            (
                "cm",
                &[0.3, 0.4, 0.6, 0.8, 1.0, 1.5, 2.2, 2.8, 4.2, 5.4][..],
                &[0.03, 0.05, 0.07, 0.1, 0.15, 0.2][..],
            ),
            (
                "in",
                &[0.125, 0.1875, 0.25, 0.375, 0.5, 0.625, 0.875, 1.125, 1.5, 2.125][..],
                &[0.02, 0.028, 0.035, 0.049, 0.065, 0.083][..],
            ),
        ] {
            for (od, wall) in ods.iter().flat_map(|od| walls.iter().map(move |wall| (od, wall))) {
                // Half of the outside diameter is a solid bar, and nearly that is one to this check.
                if *wall >= THICKEST_WALL * od {
                    continue;
                }
                for ratio in [1.5, 2.0, 3.5, 6.0] {
                    for reach in [8.0, 40.0, 150.0] {
                        let tube = format!("od: {od}, wall: {wall}, material: copper");
                        assert_eq!(units(unit, &tube, od * ratio, od * reach), None, "{unit} {tube}");
                        looked_at += 1;
                    }
                }
            }
        }
        assert!(looked_at > 1500, "{looked_at}");
        for size in standards().iter().flat_map(|standard| standard.sizes) {
            let kind = size.kind.map(|kind| format!(", type: {kind}")).unwrap_or_default();
            let tube = format!("standard: {}, size: {}{kind}", size.standard, size.size);
            for (unit, mm) in [("mm", 1.0), ("cm", 10.0), ("in", 25.4)] {
                for ratio in [1.5, 3.5, 6.0] {
                    let clr = size.od * ratio / mm;
                    assert_eq!(units(unit, &tube, clr, clr * 6.0), None, "{unit} {tube}");
                }
            }
        }
    }
}
