//! The lines of a wrap strip, whole; sheets show parts of it.

use super::model::{Strip, StripBend};
use crate::drawing::extents::Rect;
use crate::drawing::hatch::hatching;
use crate::drawing::item::{Across, Drawing, ItemShape, Path, Point, Role, Text, Vertical};
use crate::palette::Rgb;
use crate::plan::Zone;
use std::f64::consts::FRAC_PI_2;

/// Room left of the strip for the words that name its end, mm.
pub(crate) const BEFORE: f64 = 17.0;

/// Room right of the strip, mm.
pub(crate) const BEHIND: f64 = 9.0;

/// How far the arrows of a tool's mark stick out, and half their width, mm.
const ARROW: (f64, f64) = (3.0, 1.1);

/// Height of capitals beside the ends, mm.
const HEIGHT: f64 = 1.8;

/// A light tint that prints as a light grey without colour.
const TINT: Rgb = Rgb(255, 228, 196);

/// All lines of a strip and the words at its two ends. x as along the tube; y from the lower edge up.
pub(crate) fn lines(strip: &Strip) -> Drawing {
    let mut drawing = Drawing::new();
    anneal(&mut drawing, strip);
    let (long, high, low) = (strip.length, strip.height, -strip.flap);
    for (x, y, to_x, to_y) in
        [(0.0, low, long, low), (0.0, high, long, high), (0.0, low, 0.0, high), (long, low, long, high)]
    {
        drawing.line(Role::Cut, Point::new(x, y), Point::new(to_x, to_y));
    }
    drawing.line(Role::Dimension, Point::new(0.0, 0.0), Point::new(long, 0.0));
    waste(&mut drawing, strip);
    side_up(&mut drawing, strip);
    for bend in &strip.bends {
        self::bend(&mut drawing, strip, bend);
    }
    for (x, trim) in strip.cuts() {
        across(&mut drawing, strip, if trim { Role::Trim } else { Role::Component }, x);
    }
    first_end(&mut drawing, strip);
    other_end(&mut drawing, strip);
    drawing
}

fn along(drawing: &mut Drawing, role: Role, (from, to): (f64, f64), y: f64) {
    drawing.line(role, Point::new(from, y), Point::new(to, y));
}

/// The line along the side that turns up first; where it is the inside of a bend too, that line stands for it.
fn side_up(drawing: &mut Drawing, strip: &Strip) {
    let (y, mut from) = (strip.at_clock(0.0), 0.0);
    for bend in strip.bends.iter().filter(|bend| (strip.at_inside(bend) - y).abs() < 0.2) {
        if bend.lead > from {
            along(drawing, Role::SideUp, (from, bend.lead), y);
        }
        from = bend.made.arc.end();
    }
    if from < strip.length {
        along(drawing, Role::SideUp, (from, strip.length), y);
    }
}

/// A line once round the tube, if it is on the tube.
fn across(drawing: &mut Drawing, strip: &Strip, role: Role, x: f64) {
    if strip.has(x) {
        drawing.line(role, Point::new(x, 0.0), Point::new(x, strip.height));
    }
}

fn bend(drawing: &mut Drawing, strip: &Strip, bend: &StripBend) {
    let [start, middle, end] = bend.stations();
    for (role, x) in [(Role::Tangent, start), (Role::Middle, middle), (Role::Tangent, end)] {
        across(drawing, strip, role, x);
    }
    let inside = (bend.lead.max(0.0), end.min(strip.length));
    along(drawing, Role::Inside, inside, strip.at_inside(bend));
    across(drawing, strip, Role::ToolMark, bend.mark());
    if strip.has(bend.mark()) {
        let (long, half) = ARROW;
        let tip = Point::new(bend.mark(), strip.height);
        let arrow = Path::polygon([tip, tip.shifted(half, long), tip.shifted(-half, long)]);
        drawing.add(Role::ToolMark, ItemShape::Area { bound: arrow, fill: Rgb(0, 0, 0) });
    }
}

/// The stretches to anneal: tinted, then, as stretches may overlap, their ends dotted.
fn anneal(drawing: &mut Drawing, strip: &Strip) {
    let on_tube = |zone: Zone| (zone.from.max(0.0), zone.to.min(strip.length));
    let zones: Vec<(f64, f64)> =
        strip.bends.iter().filter_map(|bend| bend.made.anneal.map(on_tube)).collect();
    for &(from, to) in zones.iter().filter(|zone| zone.0 < zone.1) {
        let zone = Rect::new(Point::new(from, 0.0), Point::new(to, strip.height));
        drawing.add(Role::Anneal, ItemShape::Area { bound: Path::polygon(zone.corners()), fill: TINT });
    }
    for x in zones.into_iter().filter(|zone| zone.0 < zone.1).flat_map(|(from, to)| [from, to]) {
        across(drawing, strip, Role::Anneal, x);
    }
}

/// Hatching over the tube to trim away.
fn waste(drawing: &mut Drawing, strip: &Strip) {
    let [near, far] = strip.ends;
    for (from, to) in [(0.0, near.waste), (strip.length - far.waste, strip.length)] {
        let bound = Rect::new(Point::new(from, 0.0), Point::new(to, strip.height));
        for line in hatching(&bound) {
            drawing.add(Role::Waste, ItemShape::Line(line));
        }
    }
}

/// Words before the first edge: which end it is, the way along the tube, and which way turns go.
fn first_end(drawing: &mut Drawing, strip: &Strip) {
    let middle = strip.height / 2.0;
    let name = strip.from.name().to_uppercase();
    upright(drawing, Role::Title, Point::new(-10.2, middle), &name);
    upright(drawing, Role::Note, Point::new(-6.8, middle), "line this edge up");
    upright(drawing, Role::Note, Point::new(-3.6, middle), "with the tube's end");
    // Printed side out and travel to the right, clockwise is down.
    let half = (strip.height / 2.0 - 2.0).clamp(3.0, 12.0);
    arrow(drawing, Point::new(-14.2, middle + half), Point::new(-14.2, middle - half));
    upright(drawing, Role::Note, Point::new(-16.0, middle), "clockwise, +");
    let over = strip.height.max(28.0) / 2.0 + middle + 3.0;
    arrow(drawing, Point::new(-13.0, over), Point::new(-2.0, over));
}

/// Words behind the last edge.
fn other_end(drawing: &mut Drawing, strip: &Strip) {
    let name = strip.from.opposite().name().to_uppercase();
    let middle = strip.height / 2.0;
    upright(drawing, Role::Title, Point::new(strip.length + 3.0, middle), &name);
    let cut = format!("cut length {:.1}", strip.length);
    upright(drawing, Role::Note, Point::new(strip.length + 6.4, middle), &cut);
}

/// Words up the sheet, `at` in their middle.
fn upright(drawing: &mut Drawing, role: Role, at: Point, words: &str) {
    let text = Text {
        at,
        height: HEIGHT,
        angle: FRAC_PI_2,
        across: Across::Middle,
        upright: Vertical::Middle,
        content: words.to_owned(),
    };
    drawing.add(role, ItemShape::Text(text));
}

fn arrow(drawing: &mut Drawing, from: Point, tip: Point) {
    let along = (tip.y - from.y).atan2(tip.x - from.x);
    drawing.line(Role::Dimension, from, tip);
    for side in [0.35, -0.35] {
        drawing.line(Role::Dimension, tip, tip.polar(-2.2, along + side));
    }
}
