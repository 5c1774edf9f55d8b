//! Arrows of travel, inside the tube and beside the bends, each where no joint cuts it.

use std::f64::consts::FRAC_PI_2;

use super::figure::{PlaneFigure, beside, heading};
use crate::drawing::clip::{clip_arc, clip_line};
use crate::drawing::extents::Rect;
use crate::drawing::item::{Arc, Drawing, Edge, ItemShape, Line, Point, Role};

/// Longest arrow, mm.
const LONGEST: f64 = 12.0;

/// A straight shorter than this gets no arrow where another piece has one, mm.
const SHORT: f64 = 12.0;

/// Shortest piece of tube that gets an arrow at all, mm.
const SHORTEST: f64 = 3.0;

/// From the tip of an arrow beside a bend to the ends of its head, mm.
const TURN_HEAD: f64 = 3.0;

/// Arrows of travel: in each of the `cells` one on each straight, and beside each bend one in the cell
/// that has most room for it.
pub(crate) fn arrows(figure: &PlaneFigure, cells: &[Rect]) -> Drawing {
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
            let share = (LONGEST / length(part)).min(0.6);
            arrow(&mut drawing, part, share, (figure.od / 5.0).min(2.5));
        }
    }
    for turn in &figure.turns {
        let parts = cells.iter().flat_map(|cell| clipped(&Edge::Arc(*turn), &cell.grown(-1.0)));
        let longest = parts.max_by(|a, b| length(a).total_cmp(&length(b)));
        if let Some(part) = longest.filter(|part| length(part) >= 2.0 * TURN_HEAD) {
            arrow(&mut drawing, &part, 1.0, TURN_HEAD);
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

/// An arrow in the middle of a piece, over a `share` of it, with a head of a `size` in mm.
fn arrow(drawing: &mut Drawing, part: &Edge, share: f64, size: f64) {
    let (tip, along) = match part {
        Edge::Line(line) => {
            let along = heading(line.from, line.to);
            let long = length(part);
            let from = line.from.polar(long * (1.0 - share) / 2.0, along);
            let tip = from.polar(long * share, along);
            drawing.line(Role::Dimension, from, tip);
            (tip, along)
        }
        Edge::Arc(arc) => {
            let sweep = arc.sweep * share;
            let shaft = Arc { start: arc.start + (arc.sweep - sweep) / 2.0, sweep, ..*arc };
            drawing.add(Role::Dimension, ItemShape::Arc(shaft));
            (shaft.to(), shaft.start + sweep + FRAC_PI_2 * sweep.signum())
        }
    };
    for line in head(tip, along, size) {
        drawing.add(Role::Dimension, ItemShape::Line(line));
    }
}

/// The two strokes of an open arrow head whose tip is `at`, pointing to `along`.
pub(super) fn head(at: Point, along: f64, size: f64) -> [Line; 2] {
    [0.3, -0.3].map(|side| Line { from: at, to: at.polar(-size, along + side) })
}
