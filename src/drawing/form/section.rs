//! The stack cut across the groove, where the bend starts: layers, groove and tube.

use super::{SCALES, captioned, layers, rim};
use crate::drawing::extents::Rect;
use crate::drawing::hatch::hatching;
use crate::drawing::item::{Across, Drawing, ItemShape, Line, Point, Role};
use crate::drawing::page::flow::{FINE, Ink, PageBlock};
use crate::drawing::scale;
use crate::quantity::decimals;
use crate::tooling::form::Form;

/// How much of the layers is shown behind the groove, in tube diameters.
const BEHIND: f64 = 1.0;

/// Room for the words to the left of the picture, mm.
const WORDS: f64 = 54.0;

/// Highest picture, mm.
const HIGH: f64 = 90.0;

/// Least distance between two lines of words, mm.
const LINE: f64 = 1.7 * FINE;

/// The section, the bend's axis to the left, with each layer's name and rim beside it.
pub(super) fn section(form: &Form, wide: f64, enlarged: f64) -> PageBlock {
    let half = layers(form).map(|(_, p)| p.at.origin.z.abs()).fold(0.0, f64::max).max(form.od);
    let left = form.held_radius - form.od * (0.5 + BEHIND);
    let size = (form.held_radius + form.od * 0.75 - left, 2.0 * half);
    let by = scale::fitting(&SCALES, size, (wide - WORDS - 4.0, HIGH), enlarged);
    let mut real = Drawing::new();
    let mut names = Vec::new();
    for (index, (part, posed)) in layers(form).enumerate() {
        let Some(rim) = rim(part) else { continue };
        let low = posed.at.origin.z;
        let bound = Rect::new(Point::new(left, low), Point::new(rim.radius, low + form.stack.thickness));
        // Drawn in paper size, so that hatching lies equally far apart at any scale.
        let paper = Rect::new(
            Point::new(bound.min.x * by, bound.min.y * by),
            Point::new(bound.max.x * by, bound.max.y * by),
        );
        hatch(&mut real, &paper, index % 2 == 1);
        for side in paper.sides() {
            real.line(Role::Outline, side.from, side.to);
        }
        names.push((paper.centre().y, format!("{}  rim R {}", part.name, decimals(rim.radius, 2))));
    }
    let centre = Point::new(form.held_radius * by, 0.0);
    let circle = |radius: f64| ItemShape::Circle { centre, radius: radius * by };
    real.add(Role::TubeEdge, circle(form.od / 2.0));
    real.add(Role::Hidden, circle(form.od / 2.0 + form.clearance));
    let cross = form.od * 0.62 * by;
    real.line(Role::Centreline, centre.shifted(-cross, 0.0), centre.shifted(cross, 0.0));
    real.line(Role::Centreline, centre.shifted(0.0, -cross), centre.shifted(0.0, cross));

    // Names of thin layers reach beyond the stack.
    let high = (2.0 * half * by).max(names.len() as f64 * LINE) + 2.0;
    let mut ink = Ink::new();
    ink.put(&real, WORDS - left * by, high / 2.0);
    label(&mut ink, &names, high);
    let caption = format!(
        "{} Full circle: tube, OD {}. Dashed: the groove's circle, {} mm outside it. The bend's axis lies {} mm to the left of the tube's middle.",
        scale::words(by * enlarged),
        decimals(form.od, 3),
        decimals(form.clearance, 2),
        decimals(form.held_radius, 2)
    );
    captioned(ink, high, wide, &caption)
}

/// Slanted lines, the other way round for every second layer.
fn hatch(drawing: &mut Drawing, bound: &Rect, mirrored: bool) {
    for Line { from, to } in hatching(bound) {
        let flip = |p: Point| {
            if mirrored { Point::new(p.x, bound.min.y + bound.max.y - p.y) } else { p }
        };
        drawing.line(Role::Waste, flip(from), flip(to));
    }
}

/// The layers' names in a column on the left, each with a line to its layer, spread where layers are thin.
fn label(ink: &mut Ink, names: &[(f64, String)], high: f64) {
    let count = names.len() as f64;
    let (first, last) = (names.first().map_or(0.0, |n| n.0), names.last().map_or(0.0, |n| n.0));
    let step = if count > 1.0 { ((last - first) / (count - 1.0)).max(LINE) } else { LINE };
    let middle = (first + last) / 2.0;
    for (index, (y, name)) in names.iter().enumerate() {
        let at = middle + (index as f64 - (count - 1.0) / 2.0) * step;
        let down = high / 2.0 - at;
        ink.anchored(WORDS - 9.0, down - FINE / 2.0, FINE, false, Across::Right, name);
        ink.line(Role::Dimension, (WORDS - 8.0, down), (WORDS - 5.0, down));
        ink.line(Role::Dimension, (WORDS - 5.0, down), (WORDS, high / 2.0 - y));
    }
}
