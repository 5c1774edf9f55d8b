//! Where the leg behind a bend lies while the bend is held at the angle to pull to, before it springs back.

use std::f64::consts::{FRAC_PI_2, PI};

use super::figure::{PlaneFigure, beside, heading};
use super::plane::{FlatBend, Plane};
use crate::drawing::clip::flattened;
use crate::drawing::item::{Arc, Edge, ItemShape, Line, Path, Point, Role};
use crate::drawing::labels::Anchor;
use crate::plan::Pull;

/// A bend that springs back by less is drawn as it is, rad.
const LEAST: f64 = 0.05 * PI / 180.0;

/// Longest piece of the leg that is drawn, mm.
const LONGEST: f64 = 60.0;

/// A leg shorter than this says nothing, mm.
const SHORTEST: f64 = 5.0;

/// Room kept to other parts of the tube, mm.
const CLEAR: f64 = 1.0;

/// How near an edge may come to the centreline of the finished leg where it would run along it, mm.
const OFF_CENTRE: f64 = 0.6;

/// Sine of the angle from which an edge that crosses the centreline cannot be taken to run along it: 14°.
const STEEP: f64 = 0.24;

/// These labels choose their places last.
const PULLED_RANK: u8 = 4;

impl PlaneFigure {
    /// Draws both edges of a bend as it is held, and of the leg behind it as far as that is clear of the rest
    /// of the tube.
    pub(super) fn pulled(&mut self, plane: &Plane, bend: &FlatBend) {
        let Some(Pull { angle, radius }) = bend.pulled.filter(|p| p.angle - bend.angle > LEAST) else {
            return;
        };
        let side = bend.arc.sweep.signum();
        let start = bend.arc.start;
        let from = bend.arc.from();
        let arc = Arc { centre: from.polar(-radius, start), radius, start, sweep: side * angle };
        let along = start + side * (angle + FRAC_PI_2);
        let leg = Line { from: arc.to(), to: arc.to().polar(room(plane, bend, arc.to(), along), along) };
        let half = plane.od / 2.0;
        for off in [half, -half] {
            let pieces = [Edge::Arc(arc), Edge::Line(leg)];
            let long = leg.from.distance(leg.to) > 0.0;
            let edges: Vec<Edge> =
                pieces.iter().take(1 + usize::from(long)).filter_map(|piece| beside(piece, off)).collect();
            for edge in &edges {
                self.solid.push((*edge, 0.0, true));
            }
            self.drawing.add(Role::Springback, ItemShape::Path(Path { edges, closed: false }));
        }
        let inner = leg.to.polar(half, along + side * FRAC_PI_2);
        let outer = leg.to.polar(-half, along + side * FRAC_PI_2);
        self.line(Role::Springback, inner, outer);
        let anchor = |at: Point, away: f64| Anchor { at, away };
        let back = leg.from.distance(leg.to) / 2.0;
        let anchors = vec![
            anchor(inner, along + side * FRAC_PI_2),
            anchor(inner.polar(-back, along), along + side * FRAC_PI_2),
            anchor(inner, along),
        ];
        self.label(PULLED_RANK, vec![format!("pull to here: {:.1}°", angle.to_degrees())], anchors);
    }
}

/// How much of the leg from `from` along `along` is drawn, mm.
fn room(plane: &Plane, bend: &FlatBend, from: Point, along: f64) -> f64 {
    let own = plane.pieces.iter().position(|piece| *piece == Edge::Arc(bend.arc));
    let next = own.and_then(|index| plane.pieces.get(index + 1));
    let Some(Edge::Line(leg)) = next else { return 0.0 };
    // Whatever is neither this bend nor its leg.
    let others: Vec<Line> = plane
        .pieces
        .iter()
        .enumerate()
        .filter(|(index, _)| own.is_none_or(|own| *index != own && *index != own + 1))
        .flat_map(|(_, piece)| chain(piece))
        .collect();
    let turn = along - heading(leg.from, leg.to);
    let side = bend.arc.sweep.signum();
    let outer = from.polar(-plane.od / 2.0, along + side * FRAC_PI_2);
    // How far outside the finished leg's centreline the outer edge starts.
    let normal = heading(leg.from, leg.to) - side * FRAC_PI_2;
    let start = (outer.x - leg.from.x) * normal.cos() + (outer.y - leg.from.y) * normal.sin();
    let flat = turn.sin().abs();
    let centre = if flat < STEEP { (start - OFF_CENTRE).max(0.0) / flat.max(1e-9) } else { f64::INFINITY };
    let mut long = leg.from.distance(leg.to).min(LONGEST).min(centre);
    let clear = |long: f64| {
        let end = Line { from, to: from.polar(long, along) };
        others.iter().all(|line| apart(&end, line) >= plane.od + CLEAR)
    };
    // From LONGEST down in steps of SHORTEST.
    while long >= SHORTEST && !clear(long) {
        long -= SHORTEST;
    }
    if long < SHORTEST { 0.0 } else { long }
}

fn chain(piece: &Edge) -> Vec<Line> {
    match piece {
        Edge::Line(line) => vec![*line],
        Edge::Arc(arc) => flattened(arc, 0.5)
            .windows(2)
            .filter_map(|pair| Some(Line { from: *pair.first()?, to: *pair.last()? }))
            .collect(),
    }
}

/// Smallest distance from points a few millimetres apart on one line to the other line, mm.
fn apart(line: &Line, other: &Line) -> f64 {
    let steps = (line.from.distance(line.to) / 3.0).ceil().max(1.0);
    let (dx, dy) = (other.to.x - other.from.x, other.to.y - other.from.y);
    let square = (dx * dx + dy * dy).max(1e-12);
    let mut least = f64::INFINITY;
    let mut step = 0.0;
    // The line is LONGEST at most.
    while step <= steps {
        let share = step / steps;
        let p = line.from.shifted((line.to.x - line.from.x) * share, (line.to.y - line.from.y) * share);
        let near = (((p.x - other.from.x) * dx + (p.y - other.from.y) * dy) / square).clamp(0.0, 1.0);
        least = least.min(p.distance(other.from.shifted(dx * near, dy * near)));
        step += 1.0;
    }
    least
}

#[cfg(test)]
mod tests {
    use super::super::plane::tests::{flat_planes, laid};
    use super::*;

    fn figure(rows: &[(f64, f64, f64, f64)], end: f64, more: f64) -> (Plane, PlaneFigure) {
        let mut plane = flat_planes(&laid("sample", rows, end)).remove(0);
        for bend in &mut plane.bends {
            let angle = bend.angle + more.to_radians();
            // The arc keeps its length.
            bend.pulled = Some(Pull { angle, radius: bend.arc.radius * bend.angle / angle });
        }
        let figure = PlaneFigure::new(&plane, None);
        (plane, figure)
    }

    fn legs(figure: &PlaneFigure) -> Vec<Line> {
        let of = figure.drawing.items.iter().filter(|i| i.role == Role::Springback);
        of.filter_map(|item| match &item.shape {
            ItemShape::Path(path) => {
                path.edges.iter().find_map(|e| if let Edge::Line(l) = e { Some(*l) } else { None })
            }
            _ => None,
        })
        .collect()
    }

    #[test]
    fn the_leg_points_where_the_bend_is_pulled_to() {
        let (plane, figure) = figure(&[(80.0, 0.0, 90.0, 55.0)], 70.0, 2.3);
        let legs = legs(&figure);
        assert_eq!(legs.len(), 2);
        for leg in &legs {
            assert!((heading(leg.from, leg.to).to_degrees() - 92.3).abs() < 1e-9);
            assert!(leg.from.distance(leg.to) <= LONGEST + 1e-9);
        }
        // Worked by hand: R' = 55·90/92.3 = 53.6295; the centreline leaves the arc at
        // (80 + R'·sin 92.3°, R'·(1 − cos 92.3°)).
        let (x, y) =
            (80.0 + 53.6295 * 92.3f64.to_radians().sin(), 53.6295 * (1.0 - 92.3f64.to_radians().cos()));
        let middle =
            Point::new((legs[0].from.x + legs[1].from.x) / 2.0, (legs[0].from.y + legs[1].from.y) / 2.0);
        assert!(middle.distance(Point::new(x, y)) < 1e-3, "{middle:?}");
        assert!((legs[0].from.distance(legs[1].from) - plane.od).abs() < 1e-9);
        assert!(figure.labels.iter().any(|l| l.lines == ["pull to here: 92.3°"]));
    }

    #[test]
    fn a_right_turn_is_pulled_to_the_right() {
        let (plane, figure) = figure(&[(80.0, 0.0, 45.0, 55.0), (80.0, 180.0, 60.0, 55.0)], 70.0, 3.0);
        assert!(plane.bends[1].arc.sweep < 0.0);
        let second = &legs(&figure)[2];
        assert!((heading(second.from, second.to).to_degrees() - (45.0 - 63.0)).abs() < 1e-9);
    }

    #[test]
    fn nothing_is_drawn_for_next_to_no_springback() {
        let (_, figure) = figure(&[(80.0, 0.0, 90.0, 55.0)], 70.0, 0.04);
        assert!(legs(&figure).is_empty() && !figure.labels.iter().any(|l| l.lines[0].contains("pull")));
    }

    #[test]
    fn a_leg_keeps_off_the_rest_of_the_tube() {
        // A tight U: pulled far over, the leg would run into the first one.
        let (plane, figure) = figure(&[(120.0, 0.0, 175.0, 22.5)], 100.0, 40.0);
        let first = Line { from: Point::new(0.0, 0.0), to: Point::new(120.0, 0.0) };
        for leg in legs(&figure) {
            assert!(apart(&leg, &first) > plane.od / 2.0, "{leg:?}");
        }
    }
}
