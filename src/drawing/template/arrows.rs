//! Arrows of travel inside the tube: one on each straight of each sheet, where no joint cuts it.

use std::f64::consts::FRAC_PI_2;

use super::figure::{Figure, beside, heading};
use crate::drawing::clip::{clip_arc, clip_line};
use crate::drawing::extents::Rect;
use crate::drawing::item::{Arc, Drawing, Edge, Line, Point, Role, Shape};

/// Longest arrow, mm.
const LONGEST: f64 = 12.0;

/// A straight shorter than this gets no arrow where another piece has one, mm.
const SHORT: f64 = 12.0;

/// Shortest piece of tube that gets an arrow at all, mm.
const SHORTEST: f64 = 3.0;

/// Arrows of travel in each of the `cells`.
pub(crate) fn arrows(figure: &Figure, cells: &[Rect]) -> Drawing {
    // Beside the centreline, where nothing else is.
    let lanes: Vec<Edge> = figure.pieces.iter().filter_map(|p| beside(p, figure.od / 4.0)).collect();
    let mut drawing = Drawing::new();
    for cell in cells {
        let mut parts: Vec<Edge> = lanes.iter().flat_map(|lane| clipped(lane, &cell.grown(-1.0))).collect();
        parts.sort_by(|a, b| length(b).total_cmp(&length(a)));
        let long = |part: &&Edge| matches!(part, Edge::Line(_)) && length(part) >= SHORT;
        let mut chosen: Vec<&Edge> = parts.iter().filter(long).collect();
        if chosen.is_empty() {
            chosen.extend(parts.first().filter(|part| length(part) >= SHORTEST));
        }
        for part in chosen {
            arrow(&mut drawing, part, figure.od);
        }
    }
    drawing
}

fn clipped(lane: &Edge, cell: &Rect) -> Vec<Edge> {
    match lane {
        Edge::Line(line) => clip_line(line, cell).map(Edge::Line).into_iter().collect(),
        Edge::Arc(arc) => clip_arc(arc, cell).into_iter().map(Edge::Arc).collect(),
    }
}

fn length(edge: &Edge) -> f64 {
    match edge {
        Edge::Line(line) => line.from.distance(line.to),
        Edge::Arc(arc) => arc.radius * arc.sweep.abs(),
    }
}

/// An arrow in the middle of a piece.
fn arrow(drawing: &mut Drawing, part: &Edge, od: f64) {
    let share = (LONGEST / length(part)).min(0.6);
    let (tip, along) = match part {
        Edge::Line(line) => {
            let along = heading(line.from, line.to);
            let size = length(part);
            let from = line.from.polar(size * (1.0 - share) / 2.0, along);
            let tip = from.polar(size * share, along);
            drawing.line(Role::Dimension, from, tip);
            (tip, along)
        }
        Edge::Arc(arc) => {
            let sweep = arc.sweep * share;
            let shaft = Arc { start: arc.start + (arc.sweep - sweep) / 2.0, sweep, ..*arc };
            drawing.add(Role::Dimension, Shape::Arc(shaft));
            (shaft.to(), shaft.start + sweep + FRAC_PI_2 * sweep.signum())
        }
    };
    for line in head(tip, along, (od / 5.0).min(2.5)) {
        drawing.add(Role::Dimension, Shape::Line(line));
    }
}

/// The two strokes of an open arrow head whose tip is `at`, pointing to `along`.
pub(super) fn head(at: Point, along: f64, size: f64) -> [Line; 2] {
    [0.3, -0.3].map(|side| Line { from: at, to: at.polar(-size, along + side) })
}
