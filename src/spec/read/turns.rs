//! Angles of a bend table that are usual slips: signs, more than half a turn, radians.

use std::f64::consts::PI;

use crate::diagnostic::Span;
use crate::quantity::{decimals, parse_angle};
use crate::spec::fields::Reader;
use crate::spec::node::Node;
use crate::spec::values::half_turn;

/// Angles that people bend to are multiples of this, rad (15°).
const STEP: f64 = PI / 12.0;

/// The largest bend in radians, with room for rounding.
const LARGEST: f64 = PI + 0.01;

/// The fault of a row's angle.
pub(super) enum Slip {
    /// To be noted at the angle: message and what to write.
    Told(Span, String, String),
    /// Noted at another row.
    Shared,
}

/// A row as written.
#[derive(Clone, Copy)]
struct WrittenRow<'n> {
    angle: Option<Written<'n>>,
    rotation: Option<Written<'n>>,
}

/// An angle as written.
#[derive(Clone, Copy)]
struct Written<'n> {
    text: &'n str,
    degrees: f64,
    place: Span,
}

impl<'n> WrittenRow<'n> {
    fn of(node: &'n Node) -> WrittenRow<'n> {
        let written = |key: &str| {
            let node = node.get(key)?;
            let text = node.scalar()?;
            let degrees = parse_angle(text).ok()?.to_degrees();
            Some(Written { text, degrees, place: node.place })
        };
        WrittenRow { angle: written("angle"), rotation: written("rotation") }
    }

    fn is_negative(&self) -> bool {
        self.angle.is_some_and(|angle| angle.degrees < 0.0)
    }

    /// Its rotation, turned on by half a turn where `flipped`, as a spec writes it.
    fn rotation(&self, flipped: bool) -> String {
        let turned = self.rotation.map_or(0.0, |r| r.degrees) + if flipped { 180.0 } else { 0.0 };
        shown(half_turn(turned))
    }
}

/// The slips of a bend table's angles, by row. Rotations in radians are noted.
pub(super) fn slips(reader: &mut Reader, items: &[Node]) -> Vec<Option<Slip>> {
    let rows: Vec<WrittenRow<'_>> = items.iter().map(WrittenRow::of).collect();
    if let Some(slips) = all_in_radians(&rows) {
        return slips;
    }
    for rotation in rows.iter().filter_map(|row| row.rotation) {
        // Two decimals alone may be degrees.
        if let Some(degrees) = radians(rotation.text, 3) {
            let (text, degrees) = (rotation.text, shown(degrees));
            let message = format!("`rotation` is {text}°, and {text} radians are {degrees}°");
            let hint =
                format!("angles are degrees: did you mean `rotation: {degrees}`? If not, write `{text} deg`");
            reader.warning("radians", rotation.place, message, hint);
        }
    }
    (0..rows.len()).map(|index| slip(&rows, index)).collect()
}

/// Angles that are all small, some of them exactly what a usual angle is in radians.
fn all_in_radians(rows: &[WrittenRow<'_>]) -> Option<Vec<Option<Slip>>> {
    let bare = |text: &str| text.ends_with(|c: char| c.is_ascii_digit());
    let small =
        |row: &WrittenRow<'_>| row.angle.is_none_or(|a| bare(a.text) && (0.0..=LARGEST).contains(&a.degrees));
    if !rows.iter().all(small) {
        return None;
    }
    let mut slips: Vec<Option<Slip>> = rows.iter().map(|row| row.angle.map(|_| Slip::Shared)).collect();
    let first = rows.iter().position(|row| row.angle.is_some_and(|a| radians(a.text, 2).is_some()))?;
    let angle = rows[first].angle?;
    let (text, degrees) = (angle.text, shown(radians(angle.text, 2)?));
    let message = format!("`angle` is {text}°, and {text} radians are {degrees}°");
    let hint = format!(
        "angles are degrees: write `angle: {degrees}`, and so in every row; if {text}° is right, write `angle: {text} deg`"
    );
    slips[first] = Some(Slip::Told(angle.place, message, hint));
    Some(slips)
}

/// The usual angle in degrees whose radians, rounded or cut off to the decimals written (`least` or more),
/// are this text.
fn radians(text: &str, least: usize) -> Option<f64> {
    let places = text.split_once('.')?.1;
    if places.len() < least || !places.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    let number: f64 = text.parse().ok()?;
    let steps = (number / STEP).round();
    let last_place = 0.1_f64.powi(i32::try_from(places.len()).ok()?);
    let near = (steps * STEP - number).abs() < last_place * if places.len() > 2 { 1.0 } else { 0.51 };
    (steps != 0.0 && steps.abs() <= 24.0 && near).then_some(steps * 15.0)
}

fn slip(rows: &[WrittenRow<'_>], index: usize) -> Option<Slip> {
    let row = rows.get(index)?;
    let angle = row.angle?;
    let message = format!("`angle` is {}°", angle.text.trim_end_matches(['°', ' ']));
    let message = message.replace("deg°", "deg");
    let told = |hint| Some(Slip::Told(angle.place, message, hint));
    let before = index.checked_sub(1).and_then(|index| rows.get(index));
    let after = rows.get(index + 1).filter(|row| !row.is_negative());
    // The bend the other way; the plane of the next one is counted from it.
    let other_way = |degrees: f64, flipped: bool| {
        let next = match after {
            Some(next) => format!(", and `rotation: {}` in the next row", next.rotation(true)),
            None => String::new(),
        };
        format!("`rotation: {}, angle: {}`{next}", row.rotation(flipped), shown(degrees))
    };
    let degrees = angle.degrees;
    if (-180.0..0.0).contains(&degrees) {
        let flipped = !before.is_some_and(WrittenRow::is_negative);
        return told(format!(
            "the way a bend goes is its `rotation`; for the other way write {}",
            other_way(-degrees, flipped)
        ));
    }
    // As its reader compares: 180 converts to exactly half a turn.
    if degrees > 180.0 + 1e-9 && degrees < 360.0 {
        let half = shown(degrees / 2.0);
        return told(format!(
            "a bend is at most half a turn: write two rows of {half}, the second with `length: 0`; or, if {}° the \
             other way is meant, {}",
            shown(360.0 - degrees),
            other_way(360.0 - degrees, true)
        ));
    }
    None
}

/// Degrees as a spec writes them.
fn shown(degrees: f64) -> String {
    decimals(degrees, 4)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Point3, Vector3, turned};
    use crate::spec::read_partly;

    fn hints(rows: &str) -> Vec<String> {
        let text = format!(
            "format: 1\ntube: {{od: 15, wall: 1, material: copper, temper: soft}}\nbender: {{clr: 55}}\n\
             runs: {{a: {{bends: [{rows}], end_length: 90}}}}\n"
        );
        let hint = |d: crate::diagnostic::Diagnostic| format!("{}: {}", d.code, d.hint.unwrap_or_default());
        read_partly(&text, "x.yaml").findings.into_iter().map(hint).collect()
    }

    #[test]
    fn radians_are_told_from_degrees() {
        for (text, degrees) in [
            ("1.57", 90.0),
            ("1.5708", 90.0),
            ("1.5707", 90.0),
            ("0.785", 45.0),
            ("3.14159", 180.0),
            ("1.05", 60.0),
            ("2.0944", 120.0),
        ] {
            assert_eq!(radians(text, 2), Some(degrees), "{text}");
        }
        for text in
            ["1.5", "1.6", "2", "90", "45.5", "0.00", "1.58", "1.572", "22.5", "1.57 deg", "1.e3", "99.7"]
        {
            assert_eq!(radians(text, 2), None, "{text}");
        }
        assert_eq!(
            hints("{length: 80, angle: 1.5708}, {length: 80, angle: 0.7}"),
            [
                "out-of-range: angles are degrees: write `angle: 90`, and so in every row; if 1.5708° is right, write \
              `angle: 1.5708 deg`"
            ]
        );
        assert_eq!(hints("{length: 80, angle: 1.5708 deg}, {length: 80, angle: 0.7}"), [""; 0]);
        assert_eq!(hints("{length: 80, angle: 1.5708}, {length: 80, angle: 45}"), [""; 0]);
        assert_eq!(hints("{length: 80, angle: 90, rotation: -1.571}").len(), 1);
        assert_eq!(hints("{length: 80, angle: 90, rotation: 1.57}"), [""; 0]);
    }

    /// Where a table of (rotation, angle) ends, corner by corner; here an angle may be negative.
    fn end(rows: &[(f64, f64)]) -> Point3 {
        let (mut at, mut way, mut normal) =
            (Point3::new(0.0, 0.0, 0.0), Vector3::unit_x(), Vector3::unit_z());
        for (rotation, angle) in rows {
            at += way * 40.0;
            normal = turned(normal, way, rotation.to_radians());
            way = turned(way, normal, angle.to_radians());
        }
        at + way * 40.0
    }

    #[test]
    fn the_other_way_is_what_is_advised() {
        assert_eq!(
            hints("{length: 80, angle: 90}, {length: 80, angle: -90}, {length: 80, rotation: 30, angle: 45}"),
            [
                "out-of-range: the way a bend goes is its `rotation`; for the other way write `rotation: 180, angle: 90`, \
              and `rotation: -150` in the next row"
            ]
        );
        assert_eq!(
            hints("{length: 80, angle: -45}, {length: 80, rotation: -20, angle: -30}"),
            [
                "out-of-range: the way a bend goes is its `rotation`; for the other way write `rotation: 180, angle: 45`",
                "out-of-range: the way a bend goes is its `rotation`; for the other way write `rotation: -20, angle: 30`"
            ]
        );
        assert_eq!(
            hints("{length: 80, rotation: 20, angle: 270}, {length: 80, angle: 90}"),
            [
                "out-of-range: a bend is at most half a turn: write two rows of 135, the second with `length: 0`; or, if \
              90° the other way is meant, `rotation: -160, angle: 90`, and `rotation: 180` in the next row"
            ]
        );
        // The advised table ends where the signed one does.
        for (signed, advised) in [
            (
                &[(0.0, 90.0), (0.0, -90.0), (30.0, 45.0)][..],
                &[(0.0, 90.0), (180.0, 90.0), (-150.0, 45.0)][..],
            ),
            (&[(0.0, -45.0), (-20.0, -30.0)], &[(180.0, 45.0), (-20.0, 30.0)]),
            (&[(20.0, 270.0), (0.0, 90.0)], &[(-160.0, 90.0), (180.0, 90.0)]),
        ] {
            let off = end(signed) - end(advised);
            assert!(off.x.hypot(off.y).hypot(off.z) < 1e-9, "{signed:?}");
        }
    }
}
