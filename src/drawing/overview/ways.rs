//! Several ways of runs side by side, each among everything else, in isometric projection.

use super::view::{Aspect, View};
use super::{colour, extents, paint, scene};
use crate::centreline::Layout;
use crate::drawing::extents::Rect;
use crate::drawing::item::{Across, Drawing, ItemShape, Point, Role, Text, Vertical};
use crate::geometry::{EuclideanSpace, Point3};
use crate::palette::Rgb;
use crate::quantity::decimals;

/// A run along one of its ways.
#[derive(Debug, Clone)]
pub struct ShownWay<'a> {
    /// Everything in its place, the run along this way.
    pub layout: &'a Layout,
    /// The run's name.
    pub run: &'a str,
    /// The name of the picture.
    pub label: String,
    /// A line of facts below it.
    pub more: String,
}

/// Pictures beside each other.
const COLUMNS: usize = 3;

/// Size of a picture with its words, mm.
const CELL: (f64, f64) = (92.0, 84.0);

/// Room for the words below a picture, mm.
const WORDS: f64 = 12.0;

/// Around a picture, mm.
const AROUND: f64 = 3.0;

/// Runs that the picture is not about.
const OTHERS: Rgb = Rgb(214, 214, 214);

/// "4 bends, 2 planes, cut 580 mm".
pub fn facts(bends: usize, planes: usize, cut_length: f64) -> String {
    let counted = |count: usize, noun: &str| format!("{count} {noun}{}", if count == 1 { "" } else { "s" });
    format!("{}, {}, cut {} mm", counted(bends, "bend"), counted(planes, "plane"), decimals(cut_length, 0))
}

/// The pictures in rows, the first at the upper left.
pub fn side_by_side(ways: &[ShownWay<'_>]) -> Drawing {
    let mut drawing = Drawing::new();
    for (index, way) in ways.iter().enumerate() {
        let (row, column) = (index / COLUMNS, index % COLUMNS);
        let corner = Point::new(column as f64 * CELL.0, -((row + 1) as f64) * CELL.1);
        drawing.append(one(way, Rect::new(corner, corner.shifted(CELL.0, CELL.1))));
    }
    drawing
}

fn one(way: &ShownWay<'_>, cell: Rect) -> Drawing {
    let mut drawing = Drawing::new();
    let layout = way.layout;
    let aspect = Aspect::isometric();
    let seen = extents(layout, aspect);
    let room = Rect::new(cell.min.shifted(0.0, WORDS), cell.max).grown(-AROUND);
    let scale = (room.width() / seen.width().max(1e-6)).min(room.height() / seen.height().max(1e-6));
    let (middle, centre) = (seen.centre(), room.centre());
    let at = Point::new(centre.x - middle.x * scale, centre.y - middle.y * scale);
    let view = View { aspect, centre: Point3::origin(), at, scale };
    let (bodies, known) = scene(layout, &view);
    let is_shown = |run: usize| layout.runs.get(run).is_some_and(|laid| laid.run.name == way.run);
    let tint = |run: usize| if is_shown(run) { colour(layout, run) } else { OTHERS };
    drawing.append(paint::paint(&bodies, &known, &view, &tint).drawing);
    for (words, height, down) in [(&way.label, 3.4, 7.6), (&way.more, 2.6, 2.8)] {
        let text = Text {
            at: Point::new(cell.centre().x, cell.min.y + down),
            height,
            angle: 0.0,
            across: Across::Middle,
            upright: Vertical::Baseline,
            content: words.clone(),
        };
        drawing.add(Role::Note, ItemShape::Text(text));
    }
    let (low, high) = (cell.min, cell.max);
    let corners = [low, Point::new(high.x, low.y), high, Point::new(low.x, high.y)];
    for (index, from) in corners.iter().enumerate() {
        let to = corners.get((index + 1) % corners.len()).unwrap_or(from);
        drawing.line(Role::Dimension, *from, *to);
    }
    drawing
}
