//! One window of a tiled template as it lies on its sheet: lines, labels, joints, registration marks.

use super::tiling::{OVERLAP, Tiling};
use crate::drawing::clip::{clip_item, clip_line, flattened};
use crate::drawing::extents::Rect;
use crate::drawing::item::{Across, Drawing, Edge, ItemShape, Line, Point, Role, Text, Vertical};
use crate::drawing::text::{Weight, text_box};

/// Radius of a registration mark, mm. With it, marks in the middle of an overlap stay 12 mm from
/// the sheet's edge at a margin of 10 mm.
pub(crate) const MARK: f64 = 2.8;

/// Size of the numbers of registration marks, mm.
const NUMBER: f64 = 1.7;

/// A registration mark: where two joints cross, or the same place of an outer window.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct RegistrationMark {
    /// Its middle.
    pub(crate) at: Point,
    /// Its number; a mark has the same number on every sheet it is on.
    pub(crate) number: usize,
    /// Where the number stands.
    words: Text,
}

impl RegistrationMark {
    /// The mark with a number that keeps off `lines`.
    pub(crate) fn new(at: Point, number: usize, lines: &[Line]) -> RegistrationMark {
        RegistrationMark { at, number, words: number_text(at, number, lines) }
    }

    /// The box labels keep out of.
    pub(crate) fn bounds(&self) -> Rect {
        let cross = Rect { min: self.at, max: self.at }.grown(MARK);
        let words = text_box(&self.words, Weight::Regular);
        Rect::around(words).map_or(cross, |b| b.union(cross))
    }
}

/// The marks of all printed tiles, numbered in reading order; numbers keep off `lines`.
pub(crate) fn marks(tiling: &Tiling, lines: &[Line]) -> Vec<RegistrationMark> {
    let (xs, ys) = (tiling.x.nodes(), tiling.y.nodes());
    let mut marks: Vec<RegistrationMark> = Vec::new();
    for (row, &y) in ys.iter().enumerate().rev() {
        for (column, &x) in xs.iter().enumerate() {
            let printed = tiling
                .tiles
                .iter()
                .any(|&(c, r)| (c == column || c + 1 == column) && (r == row || r + 1 == row));
            if printed {
                let (at, number) = (Point::new(x, y), marks.len() + 1);
                marks.push(RegistrationMark::new(at, number, lines));
            }
        }
    }
    marks
}

/// The number beside its mark, in the first quarter that no line runs through.
fn number_text(at: Point, number: usize, lines: &[Line]) -> Text {
    let text = |(right, above): (f64, f64)| Text {
        at: at.shifted(right * 1.4, above * 1.4),
        height: NUMBER,
        angle: 0.0,
        across: if right > 0.0 { Across::Left } else { Across::Right },
        upright: if above > 0.0 { Vertical::Baseline } else { Vertical::Top },
        content: number.to_string(),
    };
    let free = |t: &Text| {
        let corners = text_box(t, Weight::Regular);
        Rect::around(corners).is_none_or(|b| !lines.iter().any(|l| clip_line(l, &b.grown(0.2)).is_some()))
    };
    let quarters = [(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)];
    quarters.into_iter().map(text).find(free).unwrap_or_else(|| text((1.0, 1.0)))
}

/// The marks on one tile: lower left, lower right, upper left, upper right.
pub(crate) fn tile_marks<'a>(
    tiling: &Tiling,
    marks: &'a [RegistrationMark],
    tile: (usize, usize),
) -> Vec<&'a RegistrationMark> {
    let (xs, ys) = (tiling.x.nodes(), tiling.y.nodes());
    let at = |column: usize, row: usize| {
        let (x, y) = (xs.get(column)?, ys.get(row)?);
        marks.iter().find(|m| (m.at.x - x).abs() < 1e-9 && (m.at.y - y).abs() < 1e-9)
    };
    let (c, r) = tile;
    [at(c, r), at(c + 1, r), at(c, r + 1), at(c + 1, r + 1)].into_iter().flatten().collect()
}

/// The drawing of a tile, in the template's coordinates: everything clipped to the tile's window, words
/// only where this tile alone shows their place.
pub(crate) fn content(
    tiling: &Tiling,
    tile: (usize, usize),
    figure: &Drawing,
    (words, checks): (&Drawing, &Drawing),
    marks: &[RegistrationMark],
) -> Drawing {
    let window = tiling.window(tile);
    let own = tiling.own(tile);
    let mut drawing = Drawing::new();
    for item in figure.items.iter().chain(&checks.items) {
        drawing.items.extend(clip_item(item, &window));
    }
    for item in &words.items {
        let room = if matches!(item.shape, ItemShape::Text(_)) { &own } else { &window };
        drawing.items.extend(clip_item(item, room));
    }
    joints(&mut drawing, tiling, tile, &window);
    for mark in tile_marks(tiling, marks, tile) {
        cross(&mut drawing, mark);
    }
    drawing
}

/// The lines to cut along or lay against, on the sides where a neighbour is printed.
fn joints(drawing: &mut Drawing, tiling: &Tiling, (column, row): (usize, usize), window: &Rect) {
    let half = OVERLAP / 2.0;
    let beside = |dx: isize, dy: isize| {
        column.checked_add_signed(dx).zip(row.checked_add_signed(dy)).is_some_and(|tile| tiling.has(tile))
    };
    let Rect { min, max } = *window;
    for (there, x) in [(beside(-1, 0), min.x + half), (beside(1, 0), max.x - half)] {
        if there {
            drawing.line(Role::Hidden, Point::new(x, min.y), Point::new(x, max.y));
        }
    }
    for (there, y) in [(beside(0, -1), min.y + half), (beside(0, 1), max.y - half)] {
        if there {
            drawing.line(Role::Hidden, Point::new(min.x, y), Point::new(max.x, y));
        }
    }
}

/// Draws a registration mark.
pub(crate) fn cross(drawing: &mut Drawing, mark: &RegistrationMark) {
    for (dx, dy) in [(MARK, 0.0), (0.0, MARK)] {
        drawing.line(Role::Registration, mark.at.shifted(-dx, -dy), mark.at.shifted(dx, dy));
    }
    drawing.add(Role::Registration, ItemShape::Circle { centre: mark.at, radius: MARK * 0.5 });
    drawing.add(Role::Registration, ItemShape::Text(mark.words.clone()));
}

/// All lines of a drawing, arcs as chains of short ones.
pub(crate) fn flat_lines(drawing: &Drawing) -> Vec<Line> {
    let mut lines = Vec::new();
    let mut edge = |edge: &Edge| match edge {
        Edge::Line(line) => lines.push(*line),
        Edge::Arc(arc) => {
            let points = flattened(arc, 0.05);
            lines.extend(points.windows(2).filter_map(|p| Some(Line { from: *p.first()?, to: *p.last()? })));
        }
    };
    for item in &drawing.items {
        match &item.shape {
            ItemShape::Line(line) => edge(&Edge::Line(*line)),
            ItemShape::Arc(arc) => edge(&Edge::Arc(*arc)),
            ItemShape::Path(path) | ItemShape::Area { bound: path, .. } => {
                path.edges.iter().for_each(&mut edge);
            }
            ItemShape::Circle { .. } | ItemShape::Text(_) => {}
        }
    }
    lines
}
