//! What is engraved: start of bend, degree ticks, an end mark for every bend angle, the direction,
//! and what the form is for.

use std::f64::consts::{FRAC_PI_2, PI};

use super::place::{Label, Room};
use super::plate::Plate;
use crate::drawing::item::{Across, Drawing, Point, Role, Shape, Text, Upright};
use crate::quantity::decimals;

/// Ticks every so many degrees.
const TICK_DEGREES: u32 = 15;

/// Height of capitals of degree figures, mm.
const FIGURE_MM: f64 = 2.2;

/// Heights of capitals tried for the block of names, mm.
const NAME_HEIGHTS: [f64; 8] = [6.0, 5.0, 4.0, 3.5, 3.0, 2.5, 2.0, 1.8];

/// Distance from one line of words to the next, in heights of capitals.
const LINE_PITCH: f64 = 1.7;

/// Advance of one character in heights of capitals: the widest that plain engraving fonts take.
const ADVANCE: f64 = 1.0;

/// Greatest depth of the band of ticks behind the rim, mm.
const BAND_MM: f64 = 10.0;

/// Depth of the band of ticks behind the rim, mm; kept small on a small rim.
pub(super) fn band(plate: &Plate) -> f64 {
    BAND_MM.min(0.4 * plate.rim)
}

/// Engraves the plate. `bends` are the bend angles to be made on it (rad), `names` the lines that
/// say what it is; both appear as far as there is room.
pub(super) fn engrave(plate: &Plate, room: &mut Room<'_>, bends: &[f64], names: &[String]) -> Drawing {
    let mut drawing = Drawing::new();
    start(plate, room, &mut drawing);
    for &bend in bends {
        end_mark(plate, room, &mut drawing, bend);
    }
    ticks(plate, room, &mut drawing, bends);
    direction(plate, room, &mut drawing);
    name_block(plate, room, &mut drawing, names);
    drawing
}

fn words_box(content: &str, height: f64, centre: Point, angle: f64) -> Label {
    Label { centre, width: content.chars().count() as f64 * height * ADVANCE, height, angle }
}

fn words(drawing: &mut Drawing, content: &str, label: &Label) {
    let text = Text {
        at: label.centre,
        height: label.height,
        angle: label.angle,
        across: Across::Middle,
        upright: Upright::Middle,
        content: content.to_owned(),
    };
    drawing.add(Role::Engrave, Shape::Text(text));
}

/// A line on the spoke of a bend angle, from the rim inwards.
fn spoke(plate: &Plate, room: &mut Room<'_>, drawing: &mut Drawing, angle: f64, length: f64) {
    let (outer, inner) = (plate.on_spoke(angle, plate.rim), plate.on_spoke(angle, plate.rim - length));
    drawing.line(Role::Engrave, outer, inner);
    room.take(Label::along(outer, inner));
}

/// Start of bend: a long mark and its name beside it, on the side where the tube lies straight.
fn start(plate: &Plate, room: &mut Room<'_>, drawing: &mut Drawing) {
    let length = 0.9 * band(plate);
    spoke(plate, room, drawing, 0.0, length);
    let name = "start";
    let mut label = words_box(name, FIGURE_MM, Point::new(0.0, 0.0), 0.0);
    for drop in [length - FIGURE_MM / 2.0, 3.0, 4.0, 6.0, 8.0] {
        label.centre = Point::new(-label.width / 2.0 - 1.5, plate.rim - drop);
        if room.try_take(label) {
            words(drawing, name, &label);
            break;
        }
    }
}

/// End of a bend: a mark with a head and the angle below it.
fn end_mark(plate: &Plate, room: &mut Room<'_>, drawing: &mut Drawing, angle: f64) {
    let length = 0.7 * band(plate);
    spoke(plate, room, drawing, angle, length);
    // The head: two short strokes that meet on the rim.
    let tip = plate.on_spoke(angle, plate.rim);
    let back = plate.on_spoke(angle, plate.rim - 0.3 * band(plate));
    let away = PI - angle;
    for side in [1.0, -1.0] {
        drawing.line(Role::Engrave, tip, back.polar(side * 0.12 * band(plate), away));
    }
    figure(plate, room, drawing, angle, length, true);
}

/// The angle in figures below its mark, reading along the rim; further in where that is taken.
fn figure(plate: &Plate, room: &mut Room<'_>, drawing: &mut Drawing, angle: f64, below: f64, search: bool) {
    let content = format!("{}°", decimals(angle.to_degrees(), 1));
    for step in 0..if search { 6 } else { 1 } {
        let drop = below + 1.1 + FIGURE_MM / 2.0 + f64::from(step) * (FIGURE_MM + 1.2);
        let radius = plate.rim - drop;
        if radius < FIGURE_MM {
            break;
        }
        let label = words_box(&content, FIGURE_MM, plate.on_spoke(angle, radius), -angle);
        if room.try_take(label) {
            words(drawing, &content, &label);
            break;
        }
    }
}

/// Ticks every 15°, those at 45° longer, each with its angle where there is room; none where an end
/// mark stands.
fn ticks(plate: &Plate, room: &mut Room<'_>, drawing: &mut Drawing, bends: &[f64]) {
    let clear = (f64::from(TICK_DEGREES) / 8.0).to_radians();
    let free = |angle: f64| bends.iter().all(|bend| (bend - angle).abs() > clear);
    let degrees: Vec<u32> = (1..)
        .map(|n| n * TICK_DEGREES)
        .take_while(|&d| f64::from(d).to_radians() < plate.arc)
        .filter(|&d| free(f64::from(d).to_radians()))
        .collect();
    let length = |d: u32| if d.is_multiple_of(45) { 0.45 * band(plate) } else { 0.3 * band(plate) };
    for &d in &degrees {
        spoke(plate, room, drawing, f64::from(d).to_radians(), length(d));
    }
    // The coarser figures first: on a small rim they are the ones that find room.
    for step in [90, 45, 30, 15] {
        let coarser = |d: u32| [90, 45, 30].iter().any(|&c| c > step && d.is_multiple_of(c));
        for &d in degrees.iter().filter(|d| d.is_multiple_of(step) && !coarser(**d)) {
            figure(plate, room, drawing, f64::from(d).to_radians(), length(d), false);
        }
    }
}

/// An arrow along the lead-in: this way the tube goes.
fn direction(plate: &Plate, room: &mut Room<'_>, drawing: &mut Drawing) {
    let length = (0.45 * plate.lead).min(20.0);
    let head = 2.0;
    let wish = Label {
        centre: Point::new(-0.6 * plate.lead, plate.rim - 5.0),
        width: length,
        height: head,
        angle: 0.0,
    };
    let Some(found) = room.nearest(wish) else { return };
    let tip = found.centre.shifted(length / 2.0, 0.0);
    drawing.line(Role::Engrave, tip.shifted(-length, 0.0), tip);
    for side in [0.5, -0.5] {
        drawing.line(Role::Engrave, tip, tip.shifted(-head, side * head));
    }
}

/// The lines that name the form, as large as they go: in one block, along the drawing or along the
/// plate's axis, else all in one line, else the first line alone.
fn name_block(plate: &Plate, room: &mut Room<'_>, drawing: &mut Drawing, names: &[String]) {
    let axis = plate.axis();
    let along = axis.y.atan2(axis.x);
    let one_line = [names.join("  ")];
    let alone = &names[..names.len().min(1)];
    let all = NAME_HEIGHTS.iter().flat_map(|&height| {
        [(names, 0.0), (names, along), (&one_line[..], 0.0), (&one_line[..], along)]
            .map(|(lines, angle)| (lines, angle, height))
    });
    let first = NAME_HEIGHTS.iter().map(|&height| (alone, along, height));
    for (lines, angle, height) in all.chain(first) {
        if write_block(plate, room, drawing, lines, angle, height) {
            return;
        }
    }
}

/// Writes lines below each other as near the plate's middle as there is room; false without room.
fn write_block(
    plate: &Plate,
    room: &mut Room<'_>,
    drawing: &mut Drawing,
    lines: &[String],
    angle: f64,
    height: f64,
) -> bool {
    let (min, max) = plate.bounds();
    let longest = lines.iter().map(|l| l.chars().count()).max().unwrap_or(0) as f64;
    let wish = Label {
        centre: Point::new((min.x + max.x) / 2.0, (min.y + max.y) / 2.0),
        width: longest * height * ADVANCE,
        height: height * (1.0 + LINE_PITCH * (lines.len() as f64 - 1.0)),
        angle,
    };
    let Some(found) = room.nearest(wish) else { return false };
    let top = (found.height - height) / 2.0;
    for (row, line) in lines.iter().enumerate() {
        let down = row as f64 * LINE_PITCH * height - top;
        let centre = found.centre.polar(down, angle - FRAC_PI_2);
        words(drawing, line, &words_box(line, height, centre, angle));
    }
    true
}
