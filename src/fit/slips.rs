//! The slip behind a bend table that misses its port: what it was meant to say.

use std::f64::consts::PI;

use crate::centreline::{Bend, Centreline, LaidRun, TableRow, from_table};
use crate::formula::bend;
use crate::geometry::{InnerSpace, MetricSpace, Point3, Vector3, angle_between, signed_angle, turned};
use crate::quantity::{Unit, decimals};
use crate::spec::model::{BendRow, End, RunPath};
use crate::tolerance::{NO_STRAIGHT_MM, SMALLEST_BEND};

/// A table that ends nearer to its port than this, mm, and turned off it by less than [`NEAR`], was meant so.
/// Tables are written to whole millimetres and degrees, so the sum of a few rows may be off by as much.
const NEAR_MM: f64 = 1.5;
/// See [`NEAR_MM`]; rad (1.5°).
const NEAR: f64 = 1.5 * PI / 180.0;

/// Rounding of a length that is shown in tenths of a millimetre, mm.
const SHOWN_MM: f64 = 0.05;

/// The last straight of a bend table whose end lies within `most` mm of its place, but for that straight.
pub(super) fn end_length(laid: &LaidRun, end: &End, most: f64, unit: Unit) -> Option<String> {
    let RunPath::Bends { rows: _, end_length } = &laid.run.path else { return None };
    let (at, out) = (laid.centreline.end(), laid.centreline.end_direction());
    let lacking = (end.at - at).dot(out);
    let beside = (end.at - at - out * lacking).magnitude();
    let faces = end.facing.is_none_or(|facing| angle_between(out, -facing) < NEAR);
    let last = end_length + lacking;
    (faces && beside + SHOWN_MM < most && last > NO_STRAIGHT_MM)
        .then(|| format!("with `end_length: {}` it ends there", shown(last, unit)))
}

/// A length as the hints about a table show it.
fn shown(mm: f64, unit: Unit) -> String {
    decimals(mm / unit.millimetres(), if unit == Unit::Millimetre { 1 } else { 3 })
}

/// A point as a spec writes it, without the brackets.
pub(super) fn point(at: Point3, unit: Unit) -> String {
    list([at.x, at.y, at.z], &|mm| unit.number(mm))
}

/// A direction as a spec writes it, without the brackets.
pub(super) fn direction(way: Vector3) -> String {
    // The sum with 0 leaves no negative zero.
    list([way.x + 0.0, way.y + 0.0, way.z + 0.0], &|n| decimals(n, 4))
}

fn list(numbers: [f64; 3], show: &dyn Fn(f64) -> String) -> String {
    numbers.map(show).join(", ")
}

/// What the bend table of a run was probably meant to say, where its end then is where it should be.
pub(super) fn table(laid: &LaidRun, end: &End, unit: Unit) -> Option<String> {
    let RunPath::Bends { rows, end_length } = &laid.run.path else { return None };
    let row = |(r, bend): (&BendRow, &Bend)| TableRow {
        length: r.length,
        rotation: r.rotation,
        angle: r.angle,
        radius: bend.radius,
    };
    let typed: Vec<TableRow> = rows.iter().zip(laid.centreline.bends()).map(row).collect();
    let ways = [
        (Some((typed.clone(), *end_length)), ""),
        (
            Some((other_way(&typed), *end_length)),
            "are the rotations anticlockwise? They count clockwise, looking along the tube from the datum end: ",
        ),
        (
            included(&typed).map(|rows| (rows, *end_length)),
            "are the angles those between the legs? `angle` is how far the tube turns: ",
        ),
        (
            straights(&typed, *end_length),
            "are the lengths those from corner to corner? `length` is the straight between bends: ",
        ),
    ];
    ways.into_iter().find_map(|(table, told)| {
        let (mut rows, last) = table?;
        let laid = from_table(laid.centreline.frame(), &rows, last).ok()?;
        let turn = turn_onto(&laid, end)?;
        // As typed it would not have been asked about.
        if told.is_empty() && turn == 0.0 {
            return None;
        }
        rows.first_mut()?.rotation += turn;
        let changes = changes((&typed, *end_length), (&rows, last), unit);
        // A half turn the other way is the same: there is nothing to change.
        (!changes.is_empty()).then(|| format!("{told}with {changes} it ends there"))
    })
}

/// The columns of a table that differ from those typed, as a spec writes them.
fn changes(typed: (&[TableRow], f64), meant: (&[TableRow], f64), unit: Unit) -> String {
    let degrees = |angle: f64| decimals(signed_degrees(angle), 1);
    let column = |name: &str, show: &dyn Fn(&TableRow) -> String| {
        let pairs = || typed.0.iter().zip(meant.0);
        let changed: Vec<usize> = pairs()
            .enumerate()
            .filter(|(_, (typed, meant))| show(typed) != show(meant))
            .map(|(index, _)| index)
            .collect();
        let values: Vec<String> = meant.0.iter().map(show).collect();
        match changed.as_slice() {
            [] => None,
            [0] => values.first().map(|value| format!("`{name}: {value}` in the first row")),
            _ => Some(format!("`{name}` {} in the rows", values.join(", "))),
        }
    };
    let length = |mm: f64| shown(mm, unit);
    let columns = [
        column("length", &|row| length(row.length)),
        column("rotation", &|row| degrees(row.rotation)),
        column("angle", &|row| degrees(row.angle)),
        (length(typed.1) != length(meant.1)).then(|| format!("`end_length: {}`", length(meant.1))),
    ];
    columns.into_iter().flatten().collect::<Vec<_>>().join(" and ")
}

fn other_way(rows: &[TableRow]) -> Vec<TableRow> {
    rows.iter().map(|row| TableRow { rotation: -row.rotation, ..*row }).collect()
}

/// The rows with the angles between the legs taken as bends.
fn included(rows: &[TableRow]) -> Option<Vec<TableRow>> {
    let row = |row: &TableRow| {
        let angle = PI - row.angle;
        (angle > SMALLEST_BEND).then_some(TableRow { angle, ..*row })
    };
    rows.iter().map(row).collect()
}

/// The rows and the last straight with the setbacks of their bends taken off.
fn straights(rows: &[TableRow], end_length: f64) -> Option<(Vec<TableRow>, f64)> {
    let mut before = 0.0;
    let mut table = Vec::with_capacity(rows.len());
    for row in rows {
        if row.angle > PI - SMALLEST_BEND {
            return None;
        }
        let setback = bend::setback(row.radius, row.angle);
        let length = row.length - before - setback;
        table.push(TableRow { length: (length > -NO_STRAIGHT_MM).then_some(length.max(0.0))?, ..*row });
        before = setback;
    }
    let end_length = end_length - before;
    (end_length > -NO_STRAIGHT_MM).then_some((table, end_length.max(0.0)))
}

/// How far the run must be turned about its first straight, rad, for its end to be where it should be; `None`
/// where no turn does that.
fn turn_onto(laid: &Centreline, end: &End) -> Option<f64> {
    let (start, axis) = (laid.start(), laid.start_direction());
    let beside = |point: Point3| (point - start) - axis * (point - start).dot(axis);
    let (is, wanted) = (beside(laid.end()), beside(end.at));
    // On the axis every turn does: the way it faces would have to tell.
    let turn = if is.magnitude() < NEAR_MM { 0.0 } else { signed_angle(is, wanted, axis) };
    let place = |point: Point3, turn: f64| start + turned(point - start, axis, turn);
    let fits = |turn: f64| {
        let faces = end
            .facing
            .is_none_or(|facing| angle_between(turned(laid.end_direction(), axis, turn), -facing) < NEAR);
        place(laid.end(), turn).distance(end.at) < NEAR_MM && faces
    };
    // Less than the misfit itself is no turn.
    let turns = if turn.abs() < NEAR { [0.0, 0.0] } else { [0.0, turn] };
    turns.into_iter().find(|turn| fits(*turn))
}

/// Degrees of an angle, more than -180 up to 180.
fn signed_degrees(angle: f64) -> f64 {
    let degrees = angle.to_degrees().rem_euclid(360.0);
    if degrees > 180.0 + 1e-9 { degrees - 360.0 } else { degrees }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{end, table_run};

    /// What is advised for a table (length, rotation, angle) that was meant to be another.
    fn advice(typed: &[(f64, f64, f64)], last: f64, meant: &[(f64, f64, f64)], meant_last: f64) -> String {
        let goal = table_run("m", 40.0, meant, meant_last).centreline;
        let mut port = end([0.0; 3]);
        port.at = goal.end();
        port.facing = Some(-goal.end_direction());
        table(&table_run("t", 40.0, typed, last), &port, Unit::Millimetre).unwrap_or_default()
    }

    #[test]
    fn the_usual_slips_of_a_table_are_recognised() {
        let meant = [(100.0, 20.0, 90.0), (80.0, 70.0, 60.0), (75.0, -50.0, 45.0)];
        let map = |f: &dyn Fn((f64, f64, f64)) -> (f64, f64, f64)| meant.map(f);
        let told = |typed: &[(f64, f64, f64)], last: f64| advice(typed, last, &meant, 60.0);
        assert_eq!(told(&meant, 60.0), "");
        let first = map(&|(l, r, a)| (l, if r == 20.0 { 110.0 } else { r }, a));
        assert_eq!(told(&first, 60.0), "with `rotation: 20` in the first row it ends there");
        assert_eq!(
            told(&map(&|(l, r, a)| (l, -r, a)), 60.0),
            "are the rotations anticlockwise? They count clockwise, looking along the tube from the datum end: \
             with `rotation` 20, 70, -50 in the rows it ends there"
        );
        assert_eq!(
            told(&map(&|(l, r, a)| (l, r, 180.0 - a)), 60.0),
            "are the angles those between the legs? `angle` is how far the tube turns: \
             with `angle` 90, 60, 45 in the rows it ends there"
        );
        let setback = |a: f64| 40.0 * (a.to_radians() / 2.0).tan();
        let corners = [
            (100.0 + setback(90.0), 20.0, 90.0),
            (80.0 + setback(90.0) + setback(60.0), 70.0, 60.0),
            (75.0 + setback(60.0) + setback(45.0), -50.0, 45.0),
        ];
        assert_eq!(
            told(&corners, 60.0 + setback(45.0)),
            "are the lengths those from corner to corner? `length` is the straight between bends: \
             with `length` 100, 80, 75 in the rows and `end_length: 60` it ends there"
        );
        // Two slips at once, and one that is none of these.
        let both = told(&map(&|(l, r, a)| (l, if r == 20.0 { 0.0 } else { -r }, a)), 60.0);
        assert!(both.ends_with("with `rotation` 20, 70, -50 in the rows it ends there"), "{both}");
        assert_eq!(told(&map(&|(l, r, a)| (l + 10.0, r, a)), 60.0), "");
    }

    #[test]
    fn half_turns_are_not_asked_about() {
        let meant = [(45.0, 180.0, 90.0), (50.0, 180.0, 90.0)];
        assert_eq!(advice(&meant, 35.0, &meant, 36.0), "");
    }

    #[test]
    fn a_last_straight_of_another_length_is_told() {
        let goal = table_run("m", 40.0, &[(45.0, 0.0, 90.0)], 36.0).centreline;
        let told = |typed: (f64, f64, f64), last: f64| {
            let mut port = end([0.0; 3]);
            port.at = goal.end();
            port.facing = Some(-goal.end_direction());
            end_length(&table_run("t", 40.0, &[typed], last), &port, 0.5, Unit::Millimetre)
        };
        assert_eq!(told((45.0, 0.0, 90.0), 20.0).as_deref(), Some("with `end_length: 36` it ends there"));
        assert_eq!(told((46.0, 0.0, 90.0), 20.0), None);
        assert_eq!(told((45.0, 0.0, 88.0), 36.0), None);
    }
}
