//! What every template sheet carries beside its drawing: title block, scale bars, legend, page map.

use std::f64::consts::FRAC_PI_2;

use super::frame::Frame;
use super::tiling::{Tiling, letters};
use crate::centreline::LaidRun;
use crate::drawing::extents::Rect;
use crate::drawing::item::{Across, Drawing, Edge, Line, Point, Role, Shape, Text, Upright};
use crate::drawing::scale::{BARS_HIGH, PRINT_NOTE, bars};
use crate::drawing::template::legend::legend;
use crate::drawing::template::plane::Plane;
use crate::drawing::text::{shortened, weight, width, wrapped};

/// Heights of capitals of the title, the sheet's label and the notes, mm.
const HEIGHTS: [f64; 3] = [3.0, 2.5, 1.8];

/// From line to line of the notes, mm.
const PITCH: f64 = 2.75;

/// Room kept at the right of a title block, mm.
const SIDE: f64 = 1.5;

/// What a title block says.
pub(crate) struct Words<'a> {
    /// The spec's title.
    pub(crate) title: &'a str,
    /// "sample plane 1: sheet B2 of 6".
    pub(crate) label: &'a str,
    /// Lines below it, most important first.
    pub(crate) notes: &'a [String],
}

/// A template's name and `tail` behind it, short enough for a title block `wide` mm wide. Only the run's
/// name is cut: plane and sheet are what tells one template from another.
pub(crate) fn label(laid: &LaidRun, plane: &Plane, tail: &str, wide: f64) -> String {
    let run = &laid.run.name;
    let tail = format!("{}{tail}", plane.name.strip_prefix(run.as_str()).unwrap_or_default());
    let bold = weight(Role::Title);
    let room = wide - SIDE - width(&tail, HEIGHTS[1], bold);
    format!("{}{tail}", shortened(run, room, HEIGHTS[1], bold))
}

/// Puts one line of text, cut to `room` mm if it is longer.
fn line(drawing: &mut Drawing, role: Role, at: Point, height: f64, words: &str, room: f64) {
    let content = shortened(words, room, height, weight(role));
    let text = Text { at, height, angle: 0.0, across: Across::Left, upright: Upright::Top, content };
    drawing.add(role, Shape::Text(text));
}

/// Title, label and notes in a box, down to `floor`; what does not fit below is left out from the end.
pub(crate) fn title_block(bounds: Rect, floor: f64, words: &Words<'_>) -> Drawing {
    let mut drawing = Drawing::new();
    let room = bounds.width() - SIDE;
    let mut at = Point::new(bounds.min.x, bounds.max.y - 0.5);
    line(&mut drawing, Role::Title, at, HEIGHTS[0], words.title, room);
    at = at.shifted(0.0, -4.6);
    line(&mut drawing, Role::Title, at, HEIGHTS[1], words.label, room);
    at = at.shifted(0.0, -4.2);
    for note in words.notes {
        for part in wrapped(note, room, HEIGHTS[2], weight(Role::Note)) {
            if at.y - PITCH < floor {
                return drawing;
            }
            line(&mut drawing, Role::Note, at, HEIGHTS[2], &part, room);
            at = at.shifted(0.0, -PITCH);
        }
    }
    drawing
}

/// Title block, legend and page map of a sheet.
pub(crate) fn furniture(frame: &Frame, words: &Words<'_>, map: &Drawing) -> Drawing {
    let bounds = frame.title;
    let print = Point::new(bounds.min.x, bounds.min.y + BARS_HIGH + 3.2);
    let mut drawing = title_block(bounds, print.y + 0.6, words);
    line(&mut drawing, Role::Title, print, HEIGHTS[2], PRINT_NOTE, bounds.width());
    drawing.append(legend(Point::new(frame.legend.min.x, frame.legend.max.y - 1.0)));
    drawing.append(map.clone());
    drawing
}

/// The scale bars of a sheet, along both axes.
pub(crate) fn scale_bars(frame: &Frame) -> Drawing {
    let mut drawing = bars(frame.title.min, 0.0);
    drawing.append(bars(frame.upright_bars, FRAC_PI_2));
    drawing
}

/// Small picture of all sheets of a template and the tube across them; the sheet `here` has a thick frame.
pub(crate) fn page_map(bounds: Rect, tiling: &Tiling, pieces: &[Edge], here: (usize, usize)) -> Drawing {
    let mut drawing = Drawing::new();
    let whole = whole(tiling);
    let room = Rect { min: bounds.min.shifted(5.0, 1.0), max: bounds.max.shifted(-1.0, -6.5) };
    let scale = (room.width() / whole.width()).min(room.height() / whole.height());
    let origin = room.centre().shifted(-whole.centre().x * scale, -whole.centre().y * scale);
    let map = |p: Point| Point::new(origin.x + p.x * scale, origin.y + p.y * scale);
    let cell = |tile: (usize, usize)| {
        let ((left, right), (low, high)) = (tiling.x.cell(tile.0), tiling.y.cell(tile.1));
        Rect { min: map(Point::new(left, low)), max: map(Point::new(right, high)) }
    };
    line(&mut drawing, Role::Note, Point::new(bounds.min.x, bounds.max.y - 0.8), 1.8, "page map", 28.0);
    for &tile in &tiling.tiles {
        outline(&mut drawing, Role::Dimension, &cell(tile));
    }
    outline(&mut drawing, Role::Trim, &cell(here).grown(-0.3));
    for piece in pieces {
        let small = match piece {
            Edge::Line(l) => Shape::Line(Line { from: map(l.from), to: map(l.to) }),
            Edge::Arc(a) => {
                let mut small = *a;
                small.centre = map(a.centre);
                small.radius = a.radius * scale;
                Shape::Arc(small)
            }
        };
        drawing.add(Role::Outline, small);
    }
    let height = 1.6;
    let name = |drawing: &mut Drawing, at: Point, content: String, across: Across, upright: Upright| {
        drawing.add(Role::Note, Shape::Text(Text { at, height, angle: 0.0, across, upright, content }));
    };
    // Names closer than this would run into each other; then every second, third … is named.
    let every = |cells: usize, room: f64| {
        (1..=cells).find(|&n| room / cells.max(1) as f64 * n as f64 >= 4.0).unwrap_or(cells.max(1))
    };
    let corner = map(Point::new(whole.min.x, whole.max.y));
    for column in (0..tiling.x.count()).step_by(every(tiling.x.count(), whole.width() * scale)) {
        let at = Point::new(cell((column, 0)).centre().x, corner.y + 1.0);
        name(&mut drawing, at, letters(column), Across::Middle, Upright::Baseline);
    }
    for row in (0..tiling.y.count()).step_by(every(tiling.y.count(), whole.height() * scale)) {
        let at = Point::new(corner.x - 1.0, cell((0, row)).centre().y);
        name(&mut drawing, at, (tiling.y.count() - row).to_string(), Across::Right, Upright::Middle);
    }
    drawing
}

fn whole(tiling: &Tiling) -> Rect {
    let (left, right) = (tiling.x.window(0).0, tiling.x.window(tiling.x.count() - 1).1);
    let (low, high) = (tiling.y.window(0).0, tiling.y.window(tiling.y.count() - 1).1);
    Rect::new(Point::new(left, low), Point::new(right, high))
}

/// The four sides of a box.
pub(crate) fn outline(drawing: &mut Drawing, role: Role, bounds: &Rect) {
    for side in bounds.sides() {
        drawing.line(role, side.from, side.to);
    }
}
