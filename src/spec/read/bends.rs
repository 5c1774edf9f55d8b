//! Rules for single bends, whichever way a run writes them: radii, angles, corners that hardly turn.

use std::f64::consts::PI;

use super::bender::PlacedBender;
use super::run::{Draft, MaybeEnd, OwnClr};
use super::units::USUAL_CLRS;
use crate::diagnostic::{Diagnostic, Place};
use crate::geometry::{InnerSpace, MetricSpace, Point3, angle_between};
use crate::quantity::{Unit, decimals, trimmed};
use crate::spec::fields::{Reader, UnitFrom};
use crate::spec::model::Tube;
use crate::tolerance::{COINCIDENT_MM, SMALLEST_BEND};

/// What the rules for single bends look at.
pub(super) struct Bend {
    clr: f64,
    clr_place: Place,
    own_clr: bool,
    angle: Option<f64>,
    /// How far its corner lies off the straight between its neighbours, mm; `None` in a bend table.
    off: Option<f64>,
    place: Place,
}

/// The same before the bender gives its radius to those without one of their own.
#[derive(Debug, Clone)]
pub(super) struct SketchedBend {
    own: OwnClr,
    angle: Option<f64>,
    off: Option<f64>,
    place: Place,
}

impl SketchedBend {
    /// The bend with the bender's radius where it has none of its own.
    pub(super) fn made_with(&self, bender: &PlacedBender) -> Bend {
        Bend {
            clr: self.own.map_or(bender.bender.clr, |own| own.0),
            clr_place: self.own.map_or(bender.clr_place, |own| own.1),
            own_clr: self.own.is_some(),
            angle: self.angle,
            off: self.off,
            place: self.place,
        }
    }
}

/// The bends of a path, as far as its ends are known.
pub(super) fn sketched_bends(path: &Draft, from: &MaybeEnd, to: &MaybeEnd) -> Vec<SketchedBend> {
    let bend = |own, place, angle, off| SketchedBend { own, angle, off, place };
    match path {
        Draft::Route(_) | Draft::Same(_) => Vec::new(),
        Draft::Bends(rows, _) => {
            rows.iter().map(|(row, own)| bend(*own, row.place, Some(row.angle), None)).collect()
        }
        Draft::Corners(corners) => {
            let at = |end: &MaybeEnd| end.as_ref().and_then(Option::as_ref).map(|e| e.at);
            let points: Vec<Option<Point3>> = std::iter::once(at(from))
                .chain(corners.iter().map(|(c, _)| Some(c.at)))
                .chain([at(to)])
                .collect();
            let turns = points.windows(3).map(|three| (turn(three), off_line(three)));
            corners.iter().zip(turns).map(|((c, own), (turn, off))| bend(*own, c.place, turn, off)).collect()
        }
    }
}

/// Change of direction at the middle one of three points, rad. `None` where it is not known, and where
/// the run turns back on itself: that is refused for its own reason when the run is laid out.
fn turn(points: &[Option<Point3>]) -> Option<f64> {
    let &[Some(before), Some(at), Some(after)] = points else { return None };
    if before.distance(at) < COINCIDENT_MM || at.distance(after) < COINCIDENT_MM {
        return None;
    }
    let angle = angle_between((at - before).normalize(), (after - at).normalize());
    (angle < PI - SMALLEST_BEND).then_some(angle)
}

/// How far the middle one of three points lies off the line through the other two, mm.
fn off_line(points: &[Option<Point3>]) -> Option<f64> {
    let &[Some(before), Some(at), Some(after)] = points else { return None };
    let (along, beside) = (after - before, at - before);
    (along.magnitude() > COINCIDENT_MM).then(|| along.cross(beside).magnitude() / along.magnitude())
}

/// A radius that would be usual in another unit, as a spec writes it.
fn usual_clr(clr: f64, od: f64, unit: Unit) -> Option<String> {
    let number = clr / unit.millimetres();
    let usual = |other: &Unit| USUAL_CLRS.contains(&(number * other.millimetres() / od));
    let meant = [Unit::Millimetre, Unit::Centimetre, Unit::Inch].into_iter().filter(|other| *other != unit);
    let meant: Vec<String> =
        meant.filter(usual).map(|other| format!("`{} {}`", unit.number(clr), other.name())).collect();
    (!meant.is_empty()).then(|| meant.join(" or "))
}

/// Notes radii that the tube has no room for.
pub(super) fn check_radii(reader: &mut Reader, bends: &[Bend], tube: &Tube) {
    if reader.unit_from == UnitFrom::Unreadable {
        return;
    }
    let least = tube.outer_radius();
    for (index, bend) in bends.iter().enumerate().filter(|(_, b)| b.clr <= tube.outer_radius()) {
        let unit = reader.unit;
        let message = format!(
            "a centreline radius of {} is inside a tube of {}",
            unit.length(bend.clr),
            unit.length(tube.od())
        );
        // Rounded up, so that what is shown is enough.
        let hint = format!("write a `clr` of more than {}", unit.length_up(least - 1e-9, 3));
        let hint = match usual_clr(bend.clr, tube.od(), unit) {
            Some(meant) => format!("{hint}; did you mean {meant}?"),
            None => hint,
        };
        let diagnostic = Diagnostic::error("clr-too-small", message).hint(hint).at(bend.clr_place);
        // The bender's own radius is one finding, however many bends use it.
        reader.note(if bend.own_clr { diagnostic.bend(index + 1) } else { diagnostic });
    }
}

/// Notes bends that are more than the bender makes. `written_in` is the run that has them, where that is another.
pub(super) fn check_angles(
    reader: &mut Reader,
    bends: &[Bend],
    bender: &PlacedBender,
    written_in: Option<&str>,
) {
    let most = bender.bender.max_angle;
    for (index, bend) in bends.iter().enumerate() {
        // Less over than the smallest bend cannot be told from the bender's largest.
        let Some(angle) = bend.angle.filter(|a| *a > most + SMALLEST_BEND) else { continue };
        let message = format!(
            "bend {} turns by {:.1}°, but `{}` bends to at most {}°",
            index + 1,
            angle.to_degrees(),
            bender.bender.name,
            trimmed(most.to_degrees())
        );
        reader.note(
            Diagnostic::error("over-max-angle", message)
                .hint("split the bend, or raise the bender's `max_angle`")
                .written_in(written_in)
                .at(bend.place)
                .bend(index + 1),
        );
    }
}

/// A bend smaller than this is hardly meant, rad (0.5°): what the eye and a protractor of a bender tell apart
/// (common practice, no source).
const SMALLEST_MEANT: f64 = 0.5 * PI / 180.0;

/// Notes bends that are hardly meant. `written_in` is the run that has them, where that is another.
pub(super) fn check_small(reader: &mut Reader, bends: &[Bend], written_in: Option<&str>) {
    for (index, bend) in bends.iter().enumerate() {
        let meant = |angle: &f64| !(SMALLEST_BEND..SMALLEST_MEANT).contains(angle);
        let Some(angle) = bend.angle.filter(|angle| !meant(angle)) else { continue };
        let number = index + 1;
        let turn = decimals(angle.to_degrees(), 2);
        let (message, hint) = match bend.off {
            Some(off) => (
                format!("corner {number} turns the tube by {turn}° only; is this corner meant?"),
                format!(
                    "it is {} off the straight between its neighbours: delete it, or check its coordinates",
                    reader.unit.length(off)
                ),
            ),
            None => (
                format!("bend {number} turns by {turn}° only; is this bend meant?"),
                "delete the row, and add its `length` to the next row's, or to `end_length`".to_owned(),
            ),
        };
        let warning = Diagnostic::warning("small-bend", message).hint(hint).written_in(written_in);
        reader.note(warning.at(bend.place).bend(number));
    }
}
