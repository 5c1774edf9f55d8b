//! Around the drawing of every template sheet: title block, scale bars, legend, page map.

use std::f64::consts::FRAC_PI_2;

use super::PrintSetup;
use super::frame::PageFrame;
use super::tiling::{Tiling, letters};
use crate::drawing::extents::Rect;
use crate::drawing::item::{Across, Drawing, Edge, ItemShape, Line, Point, Role, Text, Vertical};
use crate::drawing::scale::{BARS_HIGH, PRINT_NOTE, bars};
use crate::drawing::text::{shortened, weight, width, wrapped};

/// Heights of capitals of the title, the sheet's label and the words below, mm.
const HEIGHTS: [f64; 3] = [3.0, 2.5, 1.8];

/// Heights of capitals of the notes, mm: the first with which all of them have room.
const NOTES: [f64; 5] = [1.8, 1.7, 1.6, 1.5, 1.4];

/// From line to line of the notes, as a multiple of the height of capitals.
const LEADING: f64 = 1.53;

/// Room kept at the right of a title block, mm.
const SIDE: f64 = 1.5;

/// Height of capitals of the names on a page map, mm.
const MAP_HEIGHT: f64 = 1.5;

/// From line to line of names on a page map, mm: descenders and all.
const MAP_LINE: f64 = 2.2;

/// The words of a title block.
pub(crate) struct TitleWords<'a> {
    /// The spec's title.
    pub(crate) title: &'a str,
    /// "sample plane 1: sheet B2 of 6".
    pub(crate) label: &'a str,
    /// Lines below it, most important first.
    pub(crate) notes: &'a [String],
}

/// The name of a run's template and `tail` behind it, short enough for a title block `wide` mm wide. Only the run's
/// name is cut: plane and sheet are what tells one template from another.
pub(crate) fn label(run: &str, template: &str, tail: &str, wide: f64) -> String {
    let tail = format!("{}{tail}", template.strip_prefix(run).unwrap_or_default());
    let bold = weight(Role::Title);
    let room = wide - SIDE - width(&tail, HEIGHTS[1], bold);
    format!("{}{tail}", shortened(run, room, HEIGHTS[1], bold))
}

/// Puts one line of text, cut to `room` mm if it is longer.
pub(crate) fn line(drawing: &mut Drawing, role: Role, at: Point, height: f64, words: &str, room: f64) {
    let content = shortened(words, room, height, weight(role));
    let text = Text { at, height, angle: 0.0, across: Across::Left, upright: Vertical::Top, content };
    drawing.add(role, ItemShape::Text(text));
}

/// Title, label and notes in a box, down to `floor`. Where the notes find no room they run on from each
/// other, and then in smaller letters: none is ever cut.
pub(crate) fn title_block(bounds: Rect, floor: f64, words: &TitleWords<'_>) -> Drawing {
    let mut drawing = Drawing::new();
    let room = bounds.width() - SIDE;
    let mut at = Point::new(bounds.min.x, bounds.max.y - 0.5);
    line(&mut drawing, Role::Title, at, HEIGHTS[0], words.title, room);
    at = at.shifted(0.0, -4.6);
    line(&mut drawing, Role::Title, at, HEIGHTS[1], words.label, room);
    at = at.shifted(0.0, -4.2);
    let (height, lines) = set(words.notes, room, at.y - floor);
    for part in lines {
        line(&mut drawing, Role::Note, at, height, &part, f64::INFINITY);
        at = at.shifted(0.0, -LEADING * height);
    }
    drawing
}

/// Notes in lines for a room (width, height in mm), and the height of their capitals.
fn set(notes: &[String], wide: f64, high: f64) -> (f64, Vec<String>) {
    let run_on = [notes.join("  ")];
    let smaller = (1..8).map(|n| NOTES[4] * 0.9_f64.powi(n));
    let ways = NOTES.iter().map(|&h| (h, notes)).chain(NOTES.iter().map(|&h| (h, &run_on[..])));
    let mut found = (NOTES[0], Vec::new());
    for (height, parts) in ways.chain(smaller.map(|h| (h, &run_on[..]))) {
        let lines: Vec<String> =
            parts.iter().flat_map(|note| wrapped(note, wide, height, weight(Role::Note))).collect();
        let depth = lines.iter().fold(0.0, |sum, _| sum + LEADING * height);
        found = (height, lines);
        if depth <= high {
            break;
        }
    }
    found
}

/// Title block and legend of a sheet; `legend` draws it below and right of a point.
pub(crate) fn furniture(
    frame: &PageFrame,
    words: &TitleWords<'_>,
    legend: impl FnOnce(Point) -> Drawing,
) -> Drawing {
    let bounds = frame.title;
    let print = Point::new(bounds.min.x, bounds.min.y + BARS_HIGH + 3.2);
    let mut drawing = title_block(bounds, print.y + 0.6, words);
    line(&mut drawing, Role::Title, print, HEIGHTS[2], PRINT_NOTE, bounds.width());
    drawing.append(legend(Point::new(frame.legend.min.x, frame.legend.max.y - 1.0)));
    drawing
}

/// The scale bars of a sheet, along both axes.
fn scale_bars(frame: &PageFrame) -> Drawing {
    let mut drawing = bars(frame.title.min, 0.0);
    drawing.append(bars(frame.upright_bars, FRAC_PI_2));
    drawing
}

/// The scale bars before the stretch that puts them into their places.
pub(crate) fn true_bars(frame: &PageFrame, (sx, sy): (f64, f64)) -> Drawing {
    let mut unstretched = frame.clone();
    let place = |p: Point| Point::new(p.x / sx, p.y / sy);
    unstretched.title = Rect::new(place(frame.title.min), place(frame.title.max));
    unstretched.upright_bars = place(frame.upright_bars);
    scale_bars(&unstretched)
}

/// The note about a stretched sheet; nothing for a true printer.
pub(crate) fn scale_note(setup: &PrintSetup) -> Option<String> {
    let (sx, sy) = setup.scale;
    (setup.scale != (1.0, 1.0)).then(|| {
        format!(
            "Stretched {sx:.4} x {sy:.4} for a printer that makes 100 mm {:.2} wide and {:.2} high: on the page the bars are {:.2} and {:.2} long, on paper 100.",
            100.0 / sx,
            100.0 / sy,
            100.0 * sx,
            100.0 * sy
        )
    })
}

/// Small picture of all sheets of a template and the tube across them; the sheet `here` has a thick frame.
pub(crate) fn page_map(bounds: Rect, tiling: &Tiling, pieces: &[Edge], here: (usize, usize)) -> Drawing {
    let mut drawing = Drawing::new();
    let whole = whole(tiling);
    let (columns, rows) = (tiling.x.count(), tiling.y.count());
    // Names that would run into each other stand in several lines; the room for those depends on the
    // scale and the scale on the room, so it is taken as if the map filled its block.
    let name_wide = (0..columns).map(|c| map_width(&letters(c))).fold(0.0, f64::max) + 0.6;
    let number_wide = map_width(&rows.to_string()) + 0.8;
    let levels = |cells: usize, size: f64, room: f64| (size * cells as f64 / room).ceil().max(1.0);
    let free = (bounds.width() - 3.0 - number_wide, bounds.height() - 6.5);
    let fit = (free.0 / whole.width()).min(free.1 / whole.height());
    let above = levels(columns, name_wide, whole.width() * fit * 0.8);
    let beside = levels(rows, MAP_LINE, whole.height() * fit * 0.8);
    let room = Rect {
        min: bounds.min.shifted(1.0 + beside * number_wide, 0.5),
        max: bounds.max.shifted(-1.0, -4.0 - above * MAP_LINE),
    };
    let scale = (room.width() / whole.width()).min(room.height() / whole.height()).max(0.0);
    // Right below its caption.
    let origin = Point::new(room.min.x - whole.min.x * scale, room.max.y - whole.max.y * scale);
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
            Edge::Line(l) => ItemShape::Line(Line { from: map(l.from), to: map(l.to) }),
            Edge::Arc(a) => {
                let mut small = *a;
                small.centre = map(a.centre);
                small.radius = a.radius * scale;
                ItemShape::Arc(small)
            }
        };
        drawing.add(Role::Outline, small);
    }
    let name = |drawing: &mut Drawing, at: Point, content: String, across: Across, upright: Vertical| {
        let (height, angle) = (MAP_HEIGHT, 0.0);
        drawing.add(Role::Note, ItemShape::Text(Text { at, height, angle, across, upright, content }));
    };
    let corner = map(Point::new(whole.min.x, whole.max.y));
    let lines = |level: usize, lines: f64| (level as f64) % lines;
    for column in 0..columns {
        let up = 0.7 + MAP_LINE * lines(column, above);
        let at = Point::new(cell((column, 0)).centre().x, corner.y + up);
        name(&mut drawing, at, letters(column), Across::Middle, Vertical::Baseline);
    }
    for row in 0..rows {
        let left = 0.7 + number_wide * lines(row, beside);
        let at = Point::new(corner.x - left, cell((0, row)).centre().y);
        name(&mut drawing, at, (rows - row).to_string(), Across::Right, Vertical::Middle);
    }
    drawing
}

/// Width of a name on a page map, mm.
fn map_width(name: &str) -> f64 {
    width(name, MAP_HEIGHT, weight(Role::Note))
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
