//! Around the pictures: frame, legend, title, axes, scale bar, projection symbol.

use super::arrange::{Page, Place};
use super::clash::{self, Clash};
use super::colour;
use super::paint::{shade, through};
use super::view::View;
use crate::centreline::{LaidRun, Layout};
use crate::drawing::extents::Rect;
use crate::drawing::item::{Across, Drawing, Item, ItemShape, Line, Point, Role, Text, Vertical};
use crate::drawing::text::{Weight, shortened, width};
use crate::geometry::Vector3;
use crate::palette::Rgb;
use crate::quantity::trimmed;

/// Columns of the legend.
const COLUMNS: usize = 3;

/// Height of a row of the legend, mm.
const ROW_MM: f64 = 4.8;

/// Most rows of the legend; what is beyond is counted, not listed.
const MOST_ROWS: usize = 14;

/// Least height of the band at the bottom: the title needs it, mm.
const LEAST_BAND_MM: f64 = 26.0;

/// Width of the title, mm.
const TITLE_MM: f64 = 122.0;

/// Height of capitals of ordinary words, mm.
const HEIGHT: f64 = 2.2;

/// Length of an axis of a triad, mm.
const AXIS_MM: f64 = 7.0;

const RED: Rgb = Rgb(170, 40, 40);
const GREEN: Rgb = Rgb(40, 120, 50);
const BLUE: Rgb = Rgb(40, 70, 170);

/// Height of the band with legend and title, mm.
pub(super) fn band_height(layout: &Layout, clashes: &[Clash]) -> f64 {
    let rows = (layout.runs.len() + clash::lines(clashes)).div_ceil(COLUMNS).min(MOST_ROWS);
    LEAST_BAND_MM.max(rows as f64 * ROW_MM + 5.0)
}

pub(super) fn words(
    drawing: &mut Drawing,
    role: Role,
    at: Point,
    height: f64,
    across: Across,
    content: String,
) {
    let text = Text { at, height, angle: 0.0, across, upright: Vertical::Middle, content };
    drawing.add(role, ItemShape::Text(text));
}

fn coloured(drawing: &mut Drawing, role: Role, from: Point, to: Point, colour: Rgb) {
    drawing.items.push(Item { shape: ItemShape::Line(Line { from, to }), role, colour: Some(colour) });
}

/// Frame, legend and title of a layout shown together.
pub(super) fn frame(layout: &Layout, clashes: &[Clash], page: &Page) -> Drawing {
    let mut drawing = Drawing::new();
    let Rect { min, max } = page.frame;
    for side in page.frame.sides() {
        drawing.line(Role::Component, side.from, side.to);
    }
    let top = min.y + page.band;
    drawing.line(Role::Component, Point::new(min.x, top), Point::new(max.x, top));
    let fold = max.x - TITLE_MM;
    drawing.line(Role::Component, Point::new(fold, min.y), Point::new(fold, top));
    legend(&mut drawing, layout, clashes, Rect::new(min, Point::new(fold, top)));
    title(&mut drawing, layout, page, Rect::new(Point::new(fold, min.y), Point::new(max.x, top)));
    drawing
}

/// The places of the legend's lines, down one column after the other.
pub(super) struct Slot {
    room: Rect,
    rows: usize,
    /// Width of a column, mm.
    pub(super) wide: f64,
}

impl Slot {
    /// Left end of a line, half a capital up.
    pub(super) fn at(&self, index: usize) -> Point {
        let (column, row) = (index / self.rows, index % self.rows);
        let (left, top) = (self.room.min.x + 4.0, self.room.max.y - 4.8);
        Point::new(left + self.wide * column as f64, top - ROW_MM * row as f64)
    }
}

/// Clashes first, then the runs.
fn legend(drawing: &mut Drawing, layout: &Layout, clashes: &[Clash], room: Rect) {
    let before = clash::lines(clashes);
    let rows = (layout.runs.len() + before).div_ceil(COLUMNS).clamp(1, MOST_ROWS);
    let wide = room.width() / COLUMNS as f64;
    let place = Slot { room, rows, wide };
    clash::legend(drawing, clashes, &place);
    let left = (rows * COLUMNS).saturating_sub(before);
    let shown = if layout.runs.len() > left { left.saturating_sub(1) } else { layout.runs.len() };
    let slot = |index: usize| place.at(before + index);
    let beside = !layout.components.is_empty() || layout.runs.iter().any(LaidRun::has_place);
    for (index, run) in layout.runs.iter().take(shown).enumerate() {
        let at = slot(index);
        swatch(drawing, at, colour(layout, index));
        let at = at.shifted(12.0, 0.0);
        let name = shortened(&run.run.name, 0.45 * (wide - 18.0), HEIGHT, Weight::Bold);
        let long = width(&name, HEIGHT, Weight::Bold);
        words(drawing, Role::Title, at, HEIGHT, Across::Left, name);
        let beside = if beside && !run.has_place() { ", bench" } else { "" };
        let rest = shortened(&(particulars(run) + beside), wide - 20.0 - long, HEIGHT, Weight::Regular);
        words(drawing, Role::Note, at.shifted(long + 2.0, 0.0), HEIGHT, Across::Left, rest);
    }
    if shown < layout.runs.len() {
        let more = format!("and {} more runs", layout.runs.len() - shown);
        words(drawing, Role::Note, slot(shown), HEIGHT, Across::Left, more);
    }
    if layout.runs.is_empty() {
        words(drawing, Role::Note, slot(0), HEIGHT, Across::Left, "no runs".to_owned());
    }
}

/// A short piece of tube in a run's colour.
fn swatch(drawing: &mut Drawing, at: Point, tint: Rgb) {
    let corners = Rect::new(at.shifted(0.0, -1.1), at.shifted(9.0, 1.1)).corners();
    let fill = ItemShape::Area { bound: through(&corners, true), fill: tint };
    drawing.items.push(Item { shape: fill, role: Role::Outline, colour: None });
    let line = Some(shade(tint, -0.55));
    let shape = ItemShape::Path(through(&corners, true));
    drawing.items.push(Item { shape, role: Role::Outline, colour: line });
}

/// "15 x 1, 4 bends, 612.0 mm": the length is that of the centreline.
fn particulars(run: &LaidRun) -> String {
    let tube = &run.run.tube;
    let bends = match run.centreline.bends().len() {
        0 => "straight".to_owned(),
        1 => "1 bend".to_owned(),
        n => format!("{n} bends"),
    };
    format!("{} x {}, {bends}, {:.1} mm", trimmed(tube.od()), trimmed(tube.wall()), run.centreline.length())
}

fn title(drawing: &mut Drawing, layout: &Layout, page: &Page, room: Rect) {
    let left = room.min.x + 4.0;
    let top = room.max.y;
    let name = shortened(&layout.title, room.width() - 8.0, 4.0, Weight::Bold);
    words(drawing, Role::Title, Point::new(left, top - 5.5), 4.0, Across::Left, name);
    let flat = &page.places[0];
    let file = shortened(&layout.file_name, 50.0, HEIGHT, Weight::Regular);
    let scales = format!("overview of {file}, scale {} on A3", flat.scale_name);
    words(drawing, Role::Note, Point::new(left, top - 11.2), HEIGHT, Across::Left, scales);
    let iso = format!("isometric {}; all lengths in mm; picture, fits any paper", page.places[3].scale_name);
    words(drawing, Role::Note, Point::new(left, top - 15.4), HEIGHT, Across::Left, iso);
    symbol(drawing, Point::new(room.max.x - 20.0, top - 13.0));
    let note = "first-angle projection";
    words(
        drawing,
        Role::Note,
        Point::new(room.max.x - 4.0, top - 19.6),
        HEIGHT,
        Across::Right,
        note.to_owned(),
    );
    scale_bar(drawing, Point::new(left, top - 22.0), flat);
}

/// The sign of first-angle projection (ISO 5456-2): a cone's frustum from the side, and on its right
/// the same from its small end.
fn symbol(drawing: &mut Drawing, at: Point) {
    let (small, large, half) = (1.4, 2.8, 3.4);
    let side =
        [(-half, -small), (half, -large), (half, large), (-half, small)].map(|(x, y)| at.shifted(x, y));
    drawing.add(Role::Component, ItemShape::Path(through(&side, true)));
    let round = at.shifted(10.0, 0.0);
    for radius in [small, large] {
        drawing.add(Role::Component, ItemShape::Circle { centre: round, radius });
    }
    drawing.line(Role::Centreline, at.shifted(-half - 1.5, 0.0), at.shifted(half + 1.5, 0.0));
    drawing.line(Role::Centreline, round.shifted(-large - 1.2, 0.0), round.shifted(large + 1.2, 0.0));
    drawing.line(Role::Centreline, round.shifted(0.0, -large - 1.2), round.shifted(0.0, large + 1.2));
}

/// A bar of a round length of the scene, at the scale of the flat views, with fifths.
fn scale_bar(drawing: &mut Drawing, at: Point, place: &Place) {
    let most = 60.0 / place.scale;
    let decade = 10f64.powf(most.log10().floor());
    let length = [5.0, 2.0, 1.0].iter().map(|&n| n * decade).find(|&l| l <= most).unwrap_or(decade);
    let page = length * place.scale;
    drawing.line(Role::Scale, at, at.shifted(page, 0.0));
    for fifth in 0..=5 {
        let tick = if fifth % 5 == 0 { 1.6 } else { 0.9 };
        let foot = at.shifted(page * f64::from(fifth) / 5.0, 0.0);
        drawing.line(Role::Scale, foot, foot.shifted(0.0, tick));
    }
    let words_at = at.shifted(page + 2.5, 0.6);
    words(drawing, Role::Note, words_at, HEIGHT, Across::Left, format!("{length} mm"));
}

/// Name and scale of a view, and its axes; `note` follows the scale.
pub(super) fn caption(view: &View, place: &Place, note: &str) -> Drawing {
    let mut drawing = Drawing::new();
    let foot = Point::new(place.cell.centre().x, place.cell.min.y + 4.0);
    let name = format!("{} {}{note}", view.aspect.name, place.scale_name);
    words(&mut drawing, Role::Note, foot, 2.6, Across::Middle, name);
    let origin = Point::new(place.cell.min.x + 11.0, place.cell.min.y + 6.0);
    let axes =
        [(Vector3::unit_x(), "X", RED), (Vector3::unit_y(), "Y", GREEN), (Vector3::unit_z(), "Z", BLUE)];
    for (axis, name, colour) in axes {
        let (way, toward) = view.turn(axis);
        let long = way.x.hypot(way.y);
        if long > 1e-6 {
            let tip = origin.shifted(way.x * AXIS_MM, way.y * AXIS_MM);
            coloured(&mut drawing, Role::Component, origin, tip, colour);
            let back = way.y.atan2(way.x) + std::f64::consts::PI;
            for spread in [-0.4, 0.4] {
                coloured(&mut drawing, Role::Component, tip, tip.polar(1.4, back + spread), colour);
            }
            axis_name(&mut drawing, tip.polar(2.0, back + std::f64::consts::PI), name, colour);
        } else {
            // Straight at the eye: an arrow's point; straight away: its tail.
            let shape = ItemShape::Circle { centre: origin, radius: 1.0 };
            drawing.items.push(Item { shape, role: Role::Component, colour: Some(colour) });
            if toward < 0.0 {
                for (x, y) in [(0.7, 0.7), (0.7, -0.7)] {
                    let (from, to) = (origin.shifted(-x, -y), origin.shifted(x, y));
                    coloured(&mut drawing, Role::Component, from, to, colour);
                }
            }
            axis_name(&mut drawing, origin.shifted(-2.6, -2.2), name, colour);
        }
    }
    drawing
}

fn axis_name(drawing: &mut Drawing, at: Point, name: &str, colour: Rgb) {
    let text = Text {
        at,
        height: 2.0,
        angle: 0.0,
        across: Across::Middle,
        upright: Vertical::Middle,
        content: name.to_owned(),
    };
    drawing.items.push(Item { shape: ItemShape::Text(text), role: Role::Note, colour: Some(colour) });
}
