//! The small drawings of the sheet: the tool, a turn of the tube, a run as it will look.

use std::f64::consts::{FRAC_PI_2, PI};

use super::bench::{Bench, BenchBend};
use crate::centreline::LaidRun;
use crate::drawing::item::{Across, Arc, Edge, ItemShape, Path, Point, Role};
use crate::drawing::numbers::{mm, tenths};
use crate::drawing::overview::picture::picture;
use crate::drawing::page::flow::{BLACK, FINE, Ink, wide};
use crate::drawing::shift::shifted;
use crate::palette::{COMPONENT, Rgb};

/// White, for discs under numbers.
const WHITE: Rgb = Rgb(255, 255, 255);

/// Side of the picture of a turn, mm.
pub(super) const TURN_MM: f64 = 23.0;

/// Size of the picture of the tool, mm.
pub(super) const TOOL_MM: (f64, f64) = (97.0, 43.0);

fn arc(ink: &mut Ink, role: Role, centre: (f64, f64), radius: f64, start: f64, sweep: f64) {
    let centre = Point::new(centre.0, -centre.1);
    ink.0.add(role, ItemShape::Arc(Arc { centre, radius, start, sweep }));
}

fn circle(ink: &mut Ink, role: Role, centre: (f64, f64), radius: f64) {
    let centre = Point::new(centre.0, -centre.1);
    ink.0.add(role, ItemShape::Circle { centre, radius });
}

fn disc(ink: &mut Ink, centre: (f64, f64), radius: f64, fill: Rgb) {
    let centre = Point::new(centre.0, -centre.1);
    let half = |start| Edge::Arc(Arc { centre, radius, start, sweep: PI });
    let bound = Path { edges: vec![half(0.0), half(PI)], closed: true };
    let item = crate::drawing::item::Item {
        shape: ItemShape::Area { bound, fill },
        role: Role::Outline,
        colour: None,
    };
    ink.0.items.push(item);
}

/// The tube seen along the straight being bent, from the end the work begins at, the tool below it as in the picture of
/// the [`tool`]. The last leg, which pointed to the tool while its bend was made, swings the way of the arrow.
///
/// The tool stays where it is: drawn is the turn of the tube, not that of the bend's plane.
pub(super) fn turn(bend: &BenchBend<'_>) -> Ink {
    let mut ink = Ink::new();
    let centre = (TURN_MM / 2.0, 10.2);
    let (tube, leg) = (3.9, 9.6);
    ink.words(0.6, TURN_MM - FINE - 1.6, FINE, false, "tool");
    if bend.before.is_some() {
        // From the tool, which is below. On paper, counter-clockwise counts up.
        let turned = -bend.made.turn.of_tube();
        let angle = turned - FRAC_PI_2;
        last_leg(&mut ink, centre, tube, leg, angle);
        let radius: f64 = 7.2;
        if turned.abs() > 1e-3 {
            // From just beside the tool, so that the arrow does not start in it.
            let begin = -FRAC_PI_2;
            let sweep = turned - turned.signum() * (1.6 / radius).min(turned.abs() * 0.5);
            arc(&mut ink, Role::Trim, centre, radius, begin, sweep);
            let end = begin + turned;
            let tip = Point::new(centre.0, -centre.1).polar(radius, end);
            ink.head((tip.x, -tip.y), end + FRAC_PI_2 * turned.signum() - 0.2 * turned.signum(), 2.6);
        }
    }
    // The tool, before the leg that may stand behind it.
    let (top, side) = (centre.1 + tube + 0.4, 5.4);
    ink.area(
        &[
            (centre.0 - side, top),
            (centre.0 + side, top),
            (centre.0 + side, top + 1.5),
            (centre.0 - side, top + 1.5),
        ],
        BLACK,
    );
    disc(&mut ink, centre, tube, WHITE);
    circle(&mut ink, Role::Trim, centre, tube);
    circle(&mut ink, Role::Outline, centre, tube * 0.8);
    // The inside of this bend: where the tube touches the tool.
    disc(&mut ink, (centre.0, centre.1 + tube * 0.9), 0.9, BLACK);
    ink
}

/// The leg before the last bend, as it stands once the tube is turned.
fn last_leg(ink: &mut Ink, centre: (f64, f64), half: f64, long: f64, angle: f64) {
    let from = Point::new(centre.0, -centre.1);
    let side = angle + FRAC_PI_2;
    let corner = |along: f64, across: f64| {
        let p = from.polar(along, angle).polar(across, side);
        (p.x, -p.y)
    };
    let half = half * 0.72;
    let corners = [corner(0.0, half), corner(long, half), corner(long, -half), corner(0.0, -half)];
    ink.area(&corners, COMPONENT);
    for pair in corners.windows(2) {
        ink.line(Role::Outline, pair[0], pair[1]);
    }
}

/// The tool with the tube in it: which line the mark is set on, where the datum end points, which way the
/// tube bends.
pub(super) fn tool(bench: &Bench<'_>) -> Ink {
    let mut ink = Ink::new();
    let bender = &bench.plan.bender;
    let (axis, half, radius) = (15.5, 3.2, 20.0);
    let start = 44.0;
    let centre = (start, axis + radius);
    former(&mut ink, centre, radius - half);
    // The straight tube, and the same pulled round, dashed.
    let (left, right) = (2.0, TOOL_MM.0 - 2.0);
    for side in [-half, half] {
        ink.line(Role::Outline, (left, axis + side), (right, axis + side));
    }
    ink.line(Role::Outline, (left, axis - half), (left, axis + half));
    bent(&mut ink, centre, radius, half);
    let point = start + bender.mark.behind_start(21.0);
    let apart = bender.datum.abs() > 0.05;
    let mark = if apart { point - 13.0 * bender.datum.signum() } else { point };
    // The reference line, and the mark that is set on it.
    ink.line(Role::Trim, (mark, 5.0), (mark, axis + half + 5.0));
    let head = [(mark - 1.5, axis - half - 2.8), (mark + 1.5, axis - half - 2.8), (mark, axis - half)];
    ink.area(&head, BLACK);
    let place = mark.clamp(34.0, TOOL_MM.0 - 34.0);
    ink.anchored(place, 1.0, FINE, true, Across::Middle, "your mark, on the tool's reference line");
    ink.line(Role::Tangent, (point, axis - half), (point, axis + half));
    let mut what = vec![format!("{} of the bend", bender.mark.name())];
    if apart {
        what.push(format!("{} {}", mm(bender.datum.abs()), beyond(bender.datum)));
    }
    let long = what.iter().map(|line| wide(line, FINE, false)).fold(0.0, f64::max);
    let right_of = point.max(mark) + 2.4;
    let x = if right_of + long < TOOL_MM.0 { right_of } else { (point.min(mark) - 2.4 - long).max(0.0) };
    for (index, line) in what.iter().enumerate() {
        ink.words(x, 4.7 + 3.7 * index as f64, FINE, false, line);
    }
    if apart {
        let way = if point > mark { 0.0 } else { PI };
        ink.line(Role::Dimension, (mark, axis - half - 1.2), (point, axis - half - 1.2));
        ink.line(Role::Dimension, (point, axis - half - 2.6), (point, axis));
        ink.head((point, axis - half - 1.2), way, 2.0);
    }
    ends(&mut ink, bench, axis, half);
    ink
}

fn beyond(datum: f64) -> &'static str {
    if datum > 0.0 { "further on" } else { "before it" }
}

/// Words at both ends of the tool's picture.
fn ends(ink: &mut Ink, bench: &Bench<'_>, axis: f64, half: f64) {
    let y = axis + half + 4.0;
    ink.line(Role::Trim, (12.0, y), (4.0, y));
    ink.head((1.5, y), PI, 3.4);
    ink.words(1.5, y + 2.6, FINE, true, &format!("{} this way", bench.end()));
    let x = 72.0;
    for (index, line) in ["the free end", "bends this way"].iter().enumerate() {
        ink.words(x, axis + 12.2 + 3.9 * index as f64, FINE, false, line);
    }
}

fn former(ink: &mut Ink, centre: (f64, f64), radius: f64) {
    let (from, to) = (105f64.to_radians(), -25f64.to_radians());
    arc(ink, Role::Trim, centre, radius, from, to - from);
    let middle = Point::new(centre.0, -centre.1);
    for angle in [from, to] {
        let end = middle.polar(radius, angle);
        ink.line(Role::Outline, centre, (end.x, -end.y));
    }
    disc(ink, centre, 0.8, BLACK);
    ink.anchored(centre.0 - 2.0, centre.1 + 1.6, FINE, false, Across::Middle, "former");
}

/// The tube after the pull, dashed, with an arrow from the straight tube to it.
fn bent(ink: &mut Ink, centre: (f64, f64), radius: f64, half: f64) {
    let turned = 60f64.to_radians();
    let middle = Point::new(centre.0, -centre.1);
    let way = -turned;
    for side in [-half, half] {
        arc(ink, Role::Hidden, centre, radius + side, FRAC_PI_2, -turned);
        let from = middle.polar(radius + side, FRAC_PI_2 - turned);
        let to = from.polar(15.0, way);
        ink.line(Role::Hidden, (from.x, -from.y), (to.x, -to.y));
    }
    let around = radius + half + 10.0;
    let (begin, end) = (46f64.to_radians(), 18f64.to_radians());
    arc(ink, Role::Trim, centre, around, begin, end - begin + 0.06);
    let tip = middle.polar(around, end);
    ink.head((tip.x, -tip.y), end - FRAC_PI_2, 3.4);
}

/// A run as it will look, its bends numbered and its datum end marked, in a box of the size given.
pub(super) fn finished(laid: &LaidRun, wide_mm: f64, high: f64) -> Ink {
    let mut ink = Ink::new();
    let room = high - 5.5;
    let picture = picture(laid, wide_mm - 6.0, room - 6.0, Rgb(222, 222, 222));
    let lift = |p: Point| (p.x + 3.0, room - 3.0 - p.y);
    ink.0.append(shifted(&picture.drawing, 3.0, -(room - 3.0)));
    disc(&mut ink, lift(picture.ends[0]), 1.7, BLACK);
    let mut kept: Vec<(f64, f64)> = vec![lift(picture.ends[0])];
    for (number, at) in &picture.bends {
        let at = lift(*at);
        let far = |other: &(f64, f64)| (at.0 - other.0).hypot(at.1 - other.1) > 5.2;
        if !kept.iter().all(far) {
            continue;
        }
        kept.push(at);
        disc(&mut ink, at, 2.4, WHITE);
        circle(&mut ink, Role::Outline, at, 2.4);
        ink.anchored(at.0, at.1 - FINE / 2.0, FINE, true, Across::Middle, &number.to_string());
    }
    let foot = high - 3.6;
    // The bends' numbers stand on the picture: the words for them are dropped where they have no room.
    let full = "datum end; bends numbered";
    let words =
        if picture.bends.is_empty() || wide(full, FINE, false) + 5.0 > wide_mm { "datum end" } else { full };
    let long = wide(words, FINE, false);
    let left = ((wide_mm - long - 5.0) / 2.0).max(0.0);
    disc(&mut ink, (left + 1.7, foot + FINE / 2.0), 1.7, BLACK);
    ink.words(left + 5.0, foot, FINE, false, words);
    ink
}

/// How the legs of a test piece are measured: to the crossing of the outer lines.
pub(super) fn test_piece() -> Ink {
    let mut ink = Ink::new();
    let (radius, half, leg) = (18.0, 4.0, 22.0);
    let turned = 60f64.to_radians();
    // Datum leg from the left, then the bend downwards.
    let (left, axis) = (6.0, 14.0);
    let start = left + leg;
    let centre = (start, axis + radius);
    let middle = Point::new(centre.0, -centre.1);
    let way = -turned;
    let mut far = Vec::new();
    for side in [half, -half] {
        ink.line(Role::Outline, (left, axis - side), (start, axis - side));
        arc(&mut ink, Role::Outline, centre, radius + side, FRAC_PI_2, -turned);
        let from = middle.polar(radius + side, FRAC_PI_2 - turned);
        let to = from.polar(leg, way);
        ink.line(Role::Outline, (from.x, -from.y), (to.x, -to.y));
        far.push(to);
    }
    ink.line(Role::Outline, (left, axis - half), (left, axis + half));
    ink.line(Role::Outline, (far[0].x, -far[0].y), (far[1].x, -far[1].y));
    // The outer lines go on to where they cross.
    let cross_x = start + (radius + half) * (turned / 2.0).tan();
    let cross = Point::new(cross_x, -(axis - half));
    ink.line(Role::Hidden, (start, axis - half), (cross.x, axis - half));
    let outer = middle.polar(radius + half, FRAC_PI_2 - turned);
    ink.line(Role::Hidden, (outer.x, -outer.y), (cross.x, -cross.y));
    disc(&mut ink, (cross.x, -cross.y), 0.9, BLACK);
    // Leg a above, leg b beside.
    let y = axis - half - 4.0;
    dimension(&mut ink, Point::new(left, -y), Point::new(cross.x, -y));
    for x in [left, cross.x] {
        ink.line(Role::Dimension, (x, y - 1.4), (x, axis - half - 0.8));
    }
    ink.anchored((left + cross.x) / 2.0, y - 4.0, FINE, true, Across::Middle, "leg a");
    let out = way + FRAC_PI_2;
    let (from, to) = (cross.polar(4.0, out), far[0].polar(4.0, out));
    dimension(&mut ink, from, to);
    for (near, end) in [(cross, from), (far[0], to)] {
        let near = near.polar(0.8, out);
        let end = end.polar(1.4, out);
        ink.line(Role::Dimension, (near.x, -near.y), (end.x, -end.y));
    }
    let label = Point::new((from.x + to.x) / 2.0, (from.y + to.y) / 2.0).polar(2.4, out);
    ink.words(label.x, -label.y - FINE / 2.0, FINE, true, "leg b");
    // The angle that counts: from the way the tube came.
    let around = 12.0;
    arc(&mut ink, Role::Dimension, (cross.x, -cross.y), around, 0.0, -turned);
    ink.line(Role::Centreline, (cross.x, -cross.y), (cross.x + around + 4.0, -cross.y));
    let tip = cross.polar(around, -turned);
    ink.head((tip.x, -tip.y), -turned - FRAC_PI_2 + 0.1, 2.0);
    ink.words(cross.x + around + 5.0, -cross.y - FINE / 2.0, FINE, true, "got: the angle turned");
    ink
}

/// Where the width of a U is measured: at the end of its bend, and again further on, which `again` names.
pub(super) fn u_piece(again: &str) -> Ink {
    let mut ink = Ink::new();
    let (radius, half, left, end) = (9.0, 3.0, 8.0, 68.0);
    let centre = (end, 14.0);
    let legs = [centre.1 - radius, centre.1 + radius];
    for leg in legs {
        for side in [-half, half] {
            ink.line(Role::Outline, (left, leg + side), (end, leg + side));
        }
        ink.line(Role::Outline, (left, leg - half), (left, leg + half));
    }
    for side in [-half, half] {
        arc(&mut ink, Role::Outline, centre, radius + side, FRAC_PI_2, -PI);
    }
    let (top, foot) = (legs[0] - half, legs[1] + half);
    for (x, words) in [(end, "width"), (end - 40.0, again)] {
        dimension(&mut ink, Point::new(x, -top), Point::new(x, -foot));
        // Before the line, where the bend leaves room for words.
        let long = wide(words, FINE, true);
        ink.words(x - 1.5 - long, centre.1 - FINE / 2.0, FINE, true, words);
    }
    ink
}

fn dimension(ink: &mut Ink, from: Point, to: Point) {
    ink.line(Role::Dimension, (from.x, -from.y), (to.x, -to.y));
    let angle = (to.y - from.y).atan2(to.x - from.x);
    ink.head((to.x, -to.y), angle, 2.2);
    ink.head((from.x, -from.y), angle + PI, 2.2);
}

/// Words for the turn before a bend, in two lines: how far, and which way seen from the end the work
/// begins at.
pub(super) fn turn_words(bend: &BenchBend<'_>) -> (String, &'static str) {
    let Some(_) = bend.before else { return ("any way up".to_owned(), "first bend") };
    let turned = bend.made.turn.of_tube().to_degrees();
    let amount = format!("{}°", tenths(turned.abs()));
    // By the words: what they show as no turn, or as half a turn, has no side.
    let way = if amount == "0.0°" {
        "do not turn"
    } else if amount == "180.0°" {
        "half a turn"
    } else if turned > 0.0 {
        "clockwise"
    } else {
        "anticlockwise"
    };
    (amount, way)
}
