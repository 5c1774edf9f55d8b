//! Check dimensions: how far the two ends of a template lie apart, straight, across and up the sheet.

use std::f64::consts::{FRAC_PI_2, PI};

use super::figure::{Figure, heading};
use super::labels::Anchor;
use super::plane::Plane;
use crate::drawing::clip::clip_line;
use crate::drawing::extents::{Rect, arc_extents};
use crate::drawing::item::{Edge, Line, Point, Role};

/// From the drawing to a check dimension's line, mm: room for a bend's label between them, or, where
/// the paper is too small for that, for a line of words.
pub(crate) const DIMENSION_ROOM: [f64; 2] = [14.0, 8.0];

/// A check distance shorter than this is not worth a dimension line, mm.
const SHORT: f64 = 15.0;

/// A distance that prints as 0.0, mm.
const SMALL: f64 = 0.05;

/// These labels choose their places after the ends' and before the bends'.
const CHECK_RANK: u8 = 1;

impl Figure {
    /// The distances between the two ends, in words and, on the sides of the box `around`, as
    /// dimension lines.
    pub(super) fn checks(&mut self, plane: &Plane, around: Option<Rect>) {
        let (a, b) = (plane.start.at, plane.end.at);
        let (across, up) = ((b.x - a.x).abs(), (b.y - a.y).abs());
        let apart = a.distance(b);
        self.checks = match (across < SMALL, up < SMALL) {
            (true, true) => "the ends meet".to_owned(),
            (true, _) => format!("ends {apart:.1} apart, straight up the sheet"),
            (_, true) => format!("ends {apart:.1} apart, straight across the sheet"),
            _ => format!("ends {apart:.1} apart: {across:.1} across and {up:.1} up the sheet"),
        };
        let Some(around) = around else { return };
        if apart >= SHORT {
            self.line(Role::Dimension, a, b);
            let along = heading(a, b);
            let anchors = [0.5, 0.35, 0.65, 0.2, 0.8]
                .iter()
                .flat_map(|&share| {
                    [FRAC_PI_2, -FRAC_PI_2]
                        .map(|side| Anchor { at: a.polar(apart * share, along), away: along + side })
                })
                .collect();
            self.label(CHECK_RANK, vec![format!("{apart:.1} end to end")], anchors);
        }
        if across < SHORT || up < SHORT {
            return;
        }
        let low = self.crossings(&[(a, Point::new(a.x, around.min.y)), (b, Point::new(b.x, around.min.y))]);
        let high = self.crossings(&[(a, Point::new(a.x, around.max.y)), (b, Point::new(b.x, around.max.y))]);
        let y = if low <= high { around.min.y } else { around.max.y };
        self.dimension([a, b], [Point::new(a.x, y), Point::new(b.x, y)], &format!("{across:.1} across"));
        let left = self.crossings(&[(a, Point::new(around.min.x, a.y)), (b, Point::new(around.min.x, b.y))]);
        let right = self.crossings(&[(a, Point::new(around.max.x, a.y)), (b, Point::new(around.max.x, b.y))]);
        let x = if right <= left { around.max.x } else { around.min.x };
        self.dimension([a, b], [Point::new(x, a.y), Point::new(x, b.y)], &format!("{up:.1} up"));
    }

    /// A dimension line between two points beside the drawing, with extension lines from the ends.
    fn dimension(&mut self, ends: [Point; 2], [from, to]: [Point; 2], words: &str) {
        for (end, at) in ends.into_iter().zip([from, to]) {
            let along = heading(end, at);
            self.line(Role::Dimension, end.polar(2.0, along), at.polar(1.5, along));
        }
        self.line(Role::Dimension, from, to);
        let along = heading(from, to);
        self.head(to, along, 2.5);
        self.head(from, along + PI, 2.5);
        let long = from.distance(to);
        let anchors = [0.5, 0.3, 0.7, 0.15, 0.85]
            .iter()
            .flat_map(|&share| {
                [FRAC_PI_2, -FRAC_PI_2]
                    .map(|side| Anchor { at: from.polar(long * share, along), away: along + side })
            })
            .collect();
        self.label(CHECK_RANK, vec![words.to_owned()], anchors);
    }

    /// How many pieces of tube some lines would run over.
    fn crossings(&self, lines: &[(Point, Point)]) -> usize {
        let boxes: Vec<Rect> = self
            .solid
            .iter()
            .filter(|s| !s.2)
            .map(|(edge, reach, _)| edge_extents(edge).grown(*reach))
            .collect();
        lines
            .iter()
            .map(|&(from, to)| {
                // The first millimetres run over the tube's own end whichever way they go.
                boxes.iter().filter(|b| clip_line(&Line { from, to }, b).is_some()).count()
            })
            .sum()
    }
}

fn edge_extents(edge: &Edge) -> Rect {
    match edge {
        Edge::Line(line) => Rect::new(line.from, line.to),
        Edge::Arc(arc) => arc_extents(arc),
    }
}
