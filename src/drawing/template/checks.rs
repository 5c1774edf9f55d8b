//! Check sizes: how far the two ends of a template lie apart, straight, across and up the sheet.

use std::f64::consts::{FRAC_PI_2, PI};

use super::arrows::head;
use super::figure::{PlaneFigure, edge_extents, heading};
use super::plane::{DrawnEnd, DrawnEndKind, Plane};
use crate::drawing::clip::clip_line;
use crate::drawing::extents::Rect;
use crate::drawing::item::{Arc, Drawing, Edge, ItemShape, Line, Point, Role};
use crate::drawing::labels::{Anchor, Label};

/// From the drawing to a check dimension's line, mm: room for a bend's label between them, or, where
/// the paper is too small for that, for a line of words.
pub(crate) const DIMENSION_ROOM: [f64; 2] = [14.0, 8.0];

/// A check distance shorter than this is not worth a dimension line, mm.
const SHORT: f64 = 15.0;

/// A distance that prints as 0.0, mm.
const SMALL: f64 = 0.05;

/// Less of a check size than this is not worth its words on a sheet, mm.
const LEAST_SHOWN: f64 = 10.0;

/// These labels choose their places after the ends' and before the bends'.
pub(super) const CHECK_RANK: u8 = 1;

/// Room between the tube and a line of a check size, mm.
const CLEAR: f64 = 1.0;

/// Sine of the angle under which a line counts as running along the tube: 30°.
const FLAT: f64 = 0.5;

/// How finely a line is followed through the tube, mm.
const STEP: f64 = 0.5;

/// Most steps along one line past one piece of tube.
const MOST_STEPS: f64 = 4000.0;

/// A check size: its line, the extension lines that lead to it, and its words.
#[derive(Debug, Clone)]
pub(crate) struct CheckSize {
    /// The line the size belongs to.
    main: Line,
    /// Extension lines.
    extensions: Vec<Line>,
    /// Strokes of the arrow heads.
    heads: Vec<Line>,
    /// "176.1 up".
    words: String,
}

impl CheckSize {
    /// All its lines but the strokes of the heads; its own first.
    pub(crate) fn lines(&self) -> impl Iterator<Item = &Line> {
        std::iter::once(&self.main).chain(&self.extensions)
    }

    /// It as a drawing.
    pub(crate) fn drawing(&self) -> Drawing {
        let mut drawing = Drawing::new();
        for line in self.lines() {
            drawing.add(Role::Check, ItemShape::Line(*line));
        }
        for line in &self.heads {
            drawing.add(Role::Dimension, ItemShape::Line(*line));
        }
        drawing
    }

    /// Its label in one cell, beside the longest part that is there; `None` where there is too little
    /// of it: there it is not drawn.
    pub(crate) fn label(&self, cell: &Rect) -> Option<Label> {
        let part = |line: &Line| clip_line(line, cell).filter(|l| l.from.distance(l.to) >= LEAST_SHOWN);
        let (line, words) = match part(&self.main) {
            Some(line) => (line, self.words.clone()),
            None => {
                let longest = self
                    .extensions
                    .iter()
                    .filter_map(part)
                    .max_by(|a, b| a.from.distance(a.to).total_cmp(&b.from.distance(b.to)))?;
                (longest, format!("extension of {}", self.words))
            }
        };
        let (along, long) = (heading(line.from, line.to), line.from.distance(line.to));
        let anchors = [0.5, 0.35, 0.65, 0.2, 0.8]
            .iter()
            .flat_map(|&share| {
                [FRAC_PI_2, -FRAC_PI_2]
                    .map(|side| Anchor { at: line.from.polar(long * share, along), away: along + side })
            })
            .collect();
        Some(Label::new(CHECK_RANK, vec![words], anchors))
    }
}

impl PlaneFigure {
    /// The distances between the two ends, in words and, on the sides of the box `around`, as
    /// dimension lines; those that would run along the tube in words only.
    pub(super) fn check(&mut self, plane: &Plane, around: Option<Rect>) {
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
        if apart >= SHORT
            && let Some(main) = self.between(plane.stops())
        {
            let words = format!("{apart:.1} end to end");
            self.sizes.push(CheckSize { main, extensions: Vec::new(), heads: Vec::new(), words });
        }
        if across < SHORT || up < SHORT {
            return;
        }
        let level = |y: f64| [Point::new(a.x, y), Point::new(b.x, y)];
        let upright = |x: f64| [Point::new(x, a.y), Point::new(x, b.y)];
        self.dimension(
            plane.stops(),
            [level(around.min.y), level(around.max.y)],
            format!("{across:.1} across"),
        );
        self.dimension(plane.stops(), [upright(around.max.x), upright(around.min.x)], format!("{up:.1} up"));
    }

    /// A dimension between the ends on one of two sides of the drawing, whichever its extension lines
    /// reach over less of the tube.
    fn dimension(&mut self, stops: [&DrawnEnd; 2], sides: [[Point; 2]; 2], words: String) {
        let reached = sides.into_iter().filter_map(|points| {
            let mut extensions = Vec::with_capacity(2);
            for (stop, at) in stops.into_iter().zip(points) {
                extensions.push(self.extension(stop, at)?);
            }
            Some((self.crossings(&extensions), extensions, points))
        });
        let Some((_, extensions, [from, to])) = reached.min_by_key(|side| side.0) else { return };
        let along = heading(from, to);
        let heads = [head(to, along, 2.5), head(from, along + PI, 2.5)].concat();
        self.sizes.push(CheckSize { main: Line { from, to }, extensions, heads, words });
    }

    /// The line from outside the tube at one of its ends to a little beyond `at`.
    fn extension(&self, stop: &DrawnEnd, at: Point) -> Option<Line> {
        let along = heading(stop.at, at);
        let line = Line { from: stop.at, to: at.polar(1.5, along) };
        let inside = self.inside(&line);
        let start = self.leaves(&inside, stop, along)?;
        let long = line.from.distance(line.to);
        let room = long - 3.0 > start && !runs_along(&inside, start, long);
        room.then(|| Line { from: stop.at.polar(start, along), to: line.to })
    }

    /// The line between the ends, as far as it is outside the tube there.
    fn between(&self, [first, last]: [&DrawnEnd; 2]) -> Option<Line> {
        let along = heading(first.at, last.at);
        let long = first.at.distance(last.at);
        let inside = self.inside(&Line { from: first.at, to: last.at });
        let back: Vec<Inside> =
            inside.iter().map(|i| Inside { from: long - i.to, to: long - i.from, ..*i }).collect();
        let start = self.leaves(&inside, first, along)?;
        let end = long - self.leaves(&back, last, along + PI)?;
        let room = end - start >= SHORT / 2.0 && !runs_along(&inside, start, end);
        room.then(|| Line { from: first.at.polar(start, along), to: first.at.polar(end, along) })
    }

    /// How far from an end a line comes out of the tube; `None` where it runs along the tube.
    fn leaves(&self, inside: &[Inside], stop: &DrawnEnd, along: f64) -> Option<f64> {
        let mut start = 0.0;
        // `start` moves to the end of a further part each time.
        while let Some(next) = inside.iter().find(|i| i.from <= start + STEP && i.to > start) {
            start = next.to;
        }
        let waste = match &stop.kind {
            DrawnEndKind::TubeEnd { waste, .. } if (along - stop.outward).cos() > 0.0 => *waste,
            _ => 0.0,
        };
        (start <= 1.5 * self.od + waste + CLEAR).then_some(start)
    }

    /// Where a line is in the tube or its waste, or next to its edge.
    fn inside(&self, line: &Line) -> Vec<Inside> {
        let along = heading(line.from, line.to);
        let mut found: Vec<Inside> = Vec::new();
        for (edge, reach, _) in self.solid.iter().filter(|s| !s.2) {
            let reach = reach + CLEAR;
            let Some(near) = clip_line(line, &edge_extents(edge).grown(reach)) else { continue };
            let (mut at, last) = (line.from.distance(near.from), line.from.distance(near.to));
            let step = STEP.max((last - at) / MOST_STEPS);
            let mut open: Option<Inside> = None;
            // MOST_STEPS and two at most; half a millimetre does not vanish beside the longest run.
            while at < last + step {
                let place = at.min(last);
                let (away, tangent) = nearest(edge, line.from.polar(place, along));
                if away <= reach {
                    let flat = if (along - tangent).sin().abs() < FLAT { step } else { 0.0 };
                    let part = open.get_or_insert(Inside { from: place, to: place, flat: 0.0 });
                    part.to = place;
                    part.flat += flat;
                } else {
                    found.extend(open.take());
                }
                at += step;
            }
            found.extend(open);
        }
        found
    }

    /// How many pieces of tube some lines would run over.
    fn crossings(&self, lines: &[Line]) -> usize {
        let bodies = self.solid.iter().filter(|s| !s.2);
        bodies
            .map(|(edge, reach, _)| edge_extents(edge).grown(*reach))
            .map(|bounds| lines.iter().filter(|line| clip_line(line, &bounds).is_some()).count())
            .sum()
    }
}

/// A stretch of a line that lies in the tube.
#[derive(Debug, Clone, Copy)]
struct Inside {
    /// From its start, mm.
    from: f64,
    /// To, mm from the line's start.
    to: f64,
    /// How much of it runs along the tube rather than across, mm.
    flat: f64,
}

/// Whether a line between `start` and `end` runs along the tube for more than can be overlooked.
fn runs_along(inside: &[Inside], start: f64, end: f64) -> bool {
    let between = inside.iter().filter(|i| i.from < end - STEP && i.to > start + STEP);
    between.map(|i| i.flat).sum::<f64>() > 2.0
}

/// Distance from an edge, and its direction at the place nearest.
fn nearest(edge: &Edge, p: Point) -> (f64, f64) {
    match edge {
        Edge::Line(line) => {
            let (along, long) = (heading(line.from, line.to), line.from.distance(line.to));
            let (sin, cos) = along.sin_cos();
            let share = ((p.x - line.from.x) * cos + (p.y - line.from.y) * sin).clamp(0.0, long);
            (p.distance(line.from.polar(share, along)), along)
        }
        Edge::Arc(arc) => nearest_on_arc(arc, p),
    }
}

fn nearest_on_arc(arc: &Arc, p: Point) -> (f64, f64) {
    let angle = heading(arc.centre, p);
    let past = ((angle - arc.start) * arc.sweep.signum()).rem_euclid(2.0 * PI);
    if past <= arc.sweep.abs() {
        return ((p.distance(arc.centre) - arc.radius).abs(), angle + FRAC_PI_2);
    }
    let ends = [(arc.from(), arc.start), (arc.to(), arc.start + arc.sweep)];
    let [first, last] = ends.map(|(end, angle)| (p.distance(end), angle + FRAC_PI_2));
    if first.0 <= last.0 { first } else { last }
}
