//! Engraving of a jig's parts.

use std::f64::consts::PI;

use super::Duty;
use super::quad::Quad;
use super::stand::Stand;
use super::tube::TubeInJig;
use crate::flat::{Edge, Line, Path, Point, Rect};
use crate::geometry::InnerSpace;
use crate::tooling::{Engraving, Words};

/// Height of capitals wished and least, mm.
const LETTERS_MM: f64 = 5.0;
const LEAST_LETTERS_MM: f64 = 1.5;

/// Width of a letter over the height of capitals: that of wide capitals, so that no word is wider.
const LETTER_WIDTH: f64 = 0.95;

/// Most points at which a line is looked at: a metre of tube in quarters of a millimetre.
const MOST_STEPS: f64 = 4000.0;

/// Distances that differ by less are the same, mm.
const ROUNDING: f64 = 1e-9;

/// Between words and any edge, mm.
const CLEAR_MM: f64 = 1.5;

fn words(at: Point, height: f64, angle: f64, content: &str) -> Engraving {
    Engraving::Words(Words { at, height, angle, content: content.to_owned() })
}

/// Width of a line of words, mm.
fn width(content: &str, height: f64) -> f64 {
    content.chars().count() as f64 * LETTER_WIDTH * height
}

/// An upright's name, its run and which side looks towards the datum end, below its saddle.
pub(super) fn upright(stand: &Stand, name: &str, run: &str) -> Vec<Engraving> {
    let bottom = stand.saddle.map_or(stand.top, |saddle| saddle.centre - saddle.radius);
    let (low, high) = (CLEAR_MM, bottom - CLEAR_MM);
    let half = stand.arms[0].min(stand.arms[1]) - CLEAR_MM;
    let name = name.to_uppercase();
    let lines = [(name.as_str(), LETTERS_MM), (run, 3.5), ("DATUM SIDE", 3.0)];
    // Lines stand 1.6 heights apart at most 7 mm each, from the top.
    let room = ((high - low) / lines.len() as f64).min(8.0);
    let start = high.min(low + room * lines.len() as f64);
    let line = |(row, (content, wish)): (usize, (&str, f64))| {
        let fits = 2.0 * half / width(content, 1.0);
        let height = wish.min(room / 1.6).min(fits);
        let at = Point::new(0.0, start - room * (row as f64 + 0.5));
        // The name is always there: parts are told apart by it.
        (height >= LEAST_LETTERS_MM || row == 0).then(|| words(at, height.max(0.8), 0.0, content))
    };
    lines.into_iter().enumerate().filter_map(line).collect()
}

/// Engraving of the board: names beside slots, the run, the datum end, straights seen from above, the trim line.
pub(super) fn board(
    run: &str,
    stands: &[Stand],
    names: &[String],
    tube: &TubeInJig,
    slots: &[Quad],
    bounds: &Rect,
) -> Vec<Engraving> {
    let mut board = Board { slots, bounds, taken: Vec::new(), marks: Vec::new() };
    for (stand, name) in stands.iter().zip(names) {
        board.beside(stand, &name.to_uppercase());
    }
    if let Some(stop) = stands.iter().find(|stand| stand.duty == Duty::Stop) {
        board.arrow(stop);
        board.beside(stop, "DATUM END");
    }
    if let Some(gate) = stands.iter().find(|stand| stand.duty == Duty::Gate) {
        board.trim(gate, tube);
    }
    board.title(&format!("BASE {run}"));
    for leg in &tube.legs {
        let own: Vec<&Stand> = stands.iter().filter(|stand| stand.piece == leg.piece).collect();
        if let [first, .., last] = own.as_slice() {
            board.line(first.on_board(0.0, 0.0), last.on_board(0.0, 0.0));
        }
    }
    let lower = bounds.min;
    board.marks.iter().map(|mark| shifted(mark, -lower.x, -lower.y)).collect()
}

fn shifted(mark: &Engraving, dx: f64, dy: f64) -> Engraving {
    let line = |l: &Line| Line { from: l.from.shifted(dx, dy), to: l.to.shifted(dx, dy) };
    match mark {
        Engraving::Line(l) => Engraving::Line(line(l)),
        Engraving::Stroke(path) => {
            let edge = |e: &Edge| match e {
                Edge::Line(l) => Edge::Line(line(l)),
                Edge::Arc(arc) => Edge::Arc(crate::flat::Arc { centre: arc.centre.shifted(dx, dy), ..*arc }),
            };
            Engraving::Stroke(Path { edges: path.edges.iter().map(edge).collect(), closed: path.closed })
        }
        Engraving::Words(w) => Engraving::Words(Words { at: w.at.shifted(dx, dy), ..w.clone() }),
    }
}

struct Board<'a> {
    slots: &'a [Quad],
    bounds: &'a Rect,
    /// Rooms of other marks.
    taken: Vec<Quad>,
    marks: Vec<Engraving>,
}

impl Board<'_> {
    fn free(&self, quad: &Quad) -> bool {
        quad.within(&self.bounds.grown(-CLEAR_MM))
            && self.slots.iter().all(|slot| slot.distance_over(quad, CLEAR_MM - ROUNDING))
            && self.taken.iter().all(|taken| taken.distance_over(quad, 0.5 - ROUNDING))
    }

    /// Words where they are free, smaller if need be. `places` gives the middle for a half width and half height.
    fn put(&mut self, content: &str, angle: f64, places: impl Fn(f64, f64) -> Vec<Point>) -> bool {
        let reading = if angle.cos() < -1e-9 { angle + PI } else { angle };
        for height in [LETTERS_MM, 4.0, 3.0, 2.2, LEAST_LETTERS_MM] {
            let (half_width, half_height) = (width(content, height) / 2.0, height / 2.0);
            for at in places(half_width, half_height) {
                let quad = Quad::new(at, angle, half_width, half_height);
                if self.free(&quad) {
                    self.taken.push(quad);
                    self.marks.push(words(at, height, reading, content));
                    return true;
                }
            }
        }
        false
    }

    /// Words beside an upright: before or behind it, off the tube's line, or at its ends.
    fn beside(&mut self, stand: &Stand, content: &str) {
        let thick = stand.thickness / 2.0;
        let [left, right] = stand.foot;
        let before = if stand.duty == Duty::Gate { 1.0 } else { -1.0 };
        let places = |half_width: f64, half_height: f64| {
            let off = thick + 2.0 * CLEAR_MM + half_height;
            let mut places = Vec::new();
            for n in [before * off, -before * off, before * (off + 6.0), -before * (off + 6.0)] {
                for u in [half_width + 1.5, -half_width - 1.5, right - half_width, half_width - left] {
                    places.push(stand.on_board(u, n));
                }
            }
            for u in [right + half_width + 2.0, -left - half_width - 2.0, 0.0] {
                places.push(stand.on_board(u, 0.0));
            }
            places
        };
        if !self.put(content, stand.angle(), places) {
            // In a tight place: anywhere within two widths of the slot.
            let near = |_: f64, _: f64| {
                let ring = |k: i32| {
                    let (sin, cos) = (f64::from(k) * PI / 12.0).sin_cos();
                    stand.on_board(cos * (left + right), sin * (left + right))
                };
                (0..24).map(ring).collect()
            };
            self.put(content, stand.angle(), near);
        }
    }

    /// An arrow from the stop along the tube.
    fn arrow(&mut self, stop: &Stand) {
        let thick = stop.thickness / 2.0;
        for side in [1.0, -1.0, 1.6, -1.6, 2.2, -2.2] {
            let u = side * 8.0;
            let (tail, tip) = (stop.on_board(u, -thick - 9.0), stop.on_board(u, -thick - 2.0));
            let quad = Quad::new(stop.on_board(u, -thick - 5.5), stop.angle(), 1.5, 3.5);
            if self.free(&quad) {
                let barb = |v: f64| Line { from: stop.on_board(u + v, -thick - 4.0), to: tip };
                let edges = [barb(-1.2), Line { from: tip, to: stop.on_board(u + 1.2, -thick - 4.0) }];
                self.marks.push(Engraving::Line(Line { from: tail, to: tip }));
                self.marks
                    .push(Engraving::Stroke(Path { edges: edges.map(Edge::Line).to_vec(), closed: false }));
                self.taken.push(quad);
                return;
            }
        }
    }

    /// A line across where the finished tube ends.
    fn trim(&mut self, gate: &Stand, tube: &TubeInJig) {
        let Some([_, end]) = tube.ends() else { return };
        let n = (end.at - gate.middle).dot(gate.ahead);
        for reach in [[-1.0, -0.4], [0.4, 1.0]] {
            let [from, to] = reach.map(|part| gate.on_board(part * (2.0 * tube.radius + 10.0), n));
            self.line(from, to);
        }
        let place = |half_width: f64, half_height: f64| {
            [1.0, -1.0]
                .iter()
                .flat_map(|side| {
                    let u = side * (2.0 * tube.radius + 11.0 + half_width);
                    [0.0, half_height + 1.0, -half_height - 1.0].map(|more| gate.on_board(u, n + more))
                })
                .collect()
        };
        if !self.put("TRIM", gate.angle(), place) {
            self.beside(gate, "TRIM");
        }
    }

    /// The board's own name, along its lower or upper edge, or wherever there is room.
    fn title(&mut self, content: &str) {
        let bounds = *self.bounds;
        let places = |half_width: f64, half_height: f64| {
            let room = bounds.grown(-CLEAR_MM - 1.0);
            let rows = [room.min.y + half_height, room.max.y - half_height, bounds.centre().y];
            let mut places = Vec::new();
            for y in rows {
                for part in 0..=8 {
                    let (from, to) = (room.min.x + half_width, room.max.x - half_width);
                    places.push(Point::new(from + (to - from) * f64::from(part) / 8.0, y));
                }
            }
            places
        };
        self.put(content, 0.0, places);
    }

    /// A line, broken where slots and other marks are.
    fn line(&mut self, from: Point, to: Point) {
        let length = from.distance(to);
        if length < 1.0 {
            return;
        }
        let at = |along: f64| {
            let part = along / length;
            Point::new(from.x + (to.x - from.x) * part, from.y + (to.y - from.y) * part)
        };
        // Only what comes near the line at all is looked at step by step.
        let whole =
            Quad::new(at(length / 2.0), (to.y - from.y).atan2(to.x - from.x), length / 2.0 + 0.2, 0.2);
        let near = |quads: &[Quad], gap: f64| -> Vec<Quad> {
            quads.iter().filter(|quad| !quad.distance_over(&whole, gap)).copied().collect()
        };
        let (slots, taken) = (near(self.slots, 1.0), near(&self.taken, 0.8));
        let free = |along: f64| {
            let dot = Quad::new(at(along), 0.0, 0.1, 0.1);
            dot.within(self.bounds)
                && slots.iter().all(|slot| slot.distance(&dot) >= 1.0)
                && taken.iter().all(|taken| taken.distance(&dot) >= 0.8)
        };
        let steps = (length / 0.5).ceil().clamp(1.0, MOST_STEPS) as usize;
        let mut open: Option<f64> = None;
        let mut lines = Vec::new();
        for step in 0..=steps {
            let along = length * step as f64 / steps as f64;
            let is_free = free(along);
            match open {
                None if is_free => open = Some(along),
                Some(start) if !is_free || step == steps => {
                    if along - start > 1.5 {
                        let stop = if is_free { along } else { along - length / steps as f64 };
                        lines.push(Engraving::Line(Line { from: at(start), to: at(stop) }));
                    }
                    open = None;
                }
                _ => {}
            }
        }
        self.marks.extend(lines);
    }
}
