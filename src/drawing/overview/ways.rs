//! Several ways of runs side by side, each among everything else: at an angle, and from the side that shows its bends
//! best.

use super::view::{Aspect, View};
use super::{colour, extents, paint, scene};
use crate::centreline::Layout;
use crate::drawing::extents::Rect;
use crate::drawing::item::{Across, Drawing, ItemShape, Point, Role, Text, Vertical};
use crate::drawing::text::{weight, width};
use crate::geometry::{EuclideanSpace, InnerSpace, Point3};
use crate::palette::Rgb;
use crate::plan::RunPlan;
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

/// Ways beside each other.
const COLUMNS: usize = 2;

/// Size of a way's pictures with their words, mm.
const CELL: (f64, f64) = (138.0, 84.0);

/// Part of it for the picture at an angle.
const AT_AN_ANGLE: f64 = 0.62;

/// Room for the words below a picture, mm.
const WORDS: f64 = 12.0;

/// Around a picture, mm.
const AROUND: f64 = 3.0;

/// Runs that the picture is not about.
const OTHERS: Rgb = Rgb(214, 214, 214);

/// "3 bends of 90 45 90° in 2 planes, cut 580, gap 5.9 mm".
pub fn facts(plan: &RunPlan, planes: usize) -> String {
    let s = |count: usize| if count == 1 { "" } else { "s" };
    let degrees: Vec<String> = plan.bends.iter().map(|bend| decimals(bend.angle.to_degrees(), 1)).collect();
    let bends = match degrees.len() {
        0 => "straight".to_owned(),
        count => {
            format!("{count} bend{} of {}° in {planes} plane{}", s(count), degrees.join(" "), s(planes))
        }
    };
    let near = plan.min_clearance();
    let near = near.map(|mm| format!(", gap {}", decimals(mm, 1))).unwrap_or_default();
    format!("{bends}, cut {}{near} mm", decimals(plan.cut_length, 0))
}

/// The pictures in rows, the first at the upper left.
pub fn side_by_side(ways: &[ShownWay<'_>]) -> Drawing {
    let mut drawing = Drawing::new();
    for (index, way) in ways.iter().enumerate() {
        let (row, column) = (index / COLUMNS, index % COLUMNS);
        let corner = Point::new(column as f64 * CELL.0, -((row + 1) as f64) * CELL.1);
        // All ways of a run from one side, so that they can be compared.
        let alike: Vec<&ShownWay<'_>> = ways.iter().filter(|other| other.run == way.run).collect();
        let cell = Rect::new(corner, corner.shifted(CELL.0, CELL.1));
        drawing.append(one(way, broadest(&alike), cell));
    }
    drawing
}

/// The side from which the ways of a run spread most to both sides of a line.
fn broadest(ways: &[&ShownWay<'_>]) -> Aspect {
    let spread = |aspect: &Aspect| -> f64 { ways.iter().filter_map(|way| breadth(way, *aspect)).sum() };
    let [front, others @ ..] = [Aspect::front(), Aspect::top(), Aspect::left()];
    others
        .into_iter()
        .fold(front, |best, next| if spread(&next) > spread(&best) + 1e-6 { next } else { best })
}

/// How far the corners and ends of a way spread to both sides of the line that fits them best, mm.
fn breadth(way: &ShownWay<'_>, aspect: Aspect) -> Option<f64> {
    let laid = way.layout.runs.iter().find(|laid| laid.run.name == way.run)?;
    let line = &laid.centreline;
    let points: Vec<Point> = std::iter::once(line.start())
        .chain(line.bends().iter().flat_map(|bend| [bend.start, bend.end()].map(|at| line.point_at(at))))
        .chain([line.end()])
        .map(|at| Point::new(at.to_vec().dot(aspect.right), at.to_vec().dot(aspect.up)))
        .collect();
    let count = points.len() as f64;
    let mean = |part: fn(&Point) -> f64| points.iter().map(part).sum::<f64>() / count;
    let (x, y) = (mean(|p| p.x), mean(|p| p.y));
    let sum = |of: &dyn Fn(f64, f64) -> f64| points.iter().map(|p| of(p.x - x, p.y - y)).sum::<f64>() / count;
    let (xx, xy, yy) = (sum(&|a, _| a * a), sum(&|a, b| a * b), sum(&|_, b| b * b));
    // The smaller root of the spread's own equation.
    let least = f64::midpoint(xx, yy) - ((xx - yy) / 2.0).hypot(xy);
    Some(least.max(0.0).sqrt())
}

fn one(way: &ShownWay<'_>, side: Aspect, cell: Rect) -> Drawing {
    let mut drawing = Drawing::new();
    let room = Rect::new(cell.min.shifted(0.0, WORDS), cell.max);
    let between = room.min.x + room.width() * AT_AN_ANGLE;
    let [left, right] = [
        Rect::new(room.min, Point::new(between, room.max.y)),
        Rect::new(Point::new(between, room.min.y), room.max),
    ];
    drawing.append(picture(way, Aspect::isometric(), left));
    drawing.append(picture(way, side, right));
    drawing.append(words(way, side, cell));
    drawing
}

fn picture(way: &ShownWay<'_>, aspect: Aspect, cell: Rect) -> Drawing {
    let layout = way.layout;
    let seen = extents(layout, aspect);
    let room = cell.grown(-AROUND);
    let scale = (room.width() / seen.width().max(1e-6)).min(room.height() / seen.height().max(1e-6));
    let (middle, centre) = (seen.centre(), room.centre());
    let at = Point::new(centre.x - middle.x * scale, centre.y - middle.y * scale);
    let view = View { aspect, centre: Point3::origin(), at, scale };
    let (bodies, known) = scene(layout, &view);
    let is_shown = |run: usize| layout.runs.get(run).is_some_and(|laid| laid.run.name == way.run);
    let tint = |run: usize| if is_shown(run) { colour(layout, run) } else { OTHERS };
    paint::paint(&bodies, &known, &view, &tint).drawing
}

fn words(way: &ShownWay<'_>, side: Aspect, cell: Rect) -> Drawing {
    let mut drawing = Drawing::new();
    let label = format!("{}: at an angle, and from the {}", way.label, side.name.trim_end_matches(" side"));
    for (words, largest, down) in [(&label, 3.4, 7.6), (&way.more, 2.6, 2.8)] {
        // Many angles make a long line: it is written smaller.
        let wide = width(words, largest, weight(Role::Note));
        let height = largest * ((cell.width() - 2.0 * AROUND) / wide.max(1e-6)).min(1.0);
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
