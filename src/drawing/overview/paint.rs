//! Bodies in painting order → fills and lines. Pieces of one tube that follow each other in the order
//! become one strip, so that no seam shows between them.

use super::body::{Body, Look, Owner, Piece};
use super::convex::hull;
use super::order::Order;
use super::view::View;
use crate::drawing::item::{Arc, Drawing, Edge, Item, ItemShape, Line, Path, Point, Role};
use crate::palette::{COMPONENT, Rgb};

/// A strip reaches so far under the neighbour that is painted later, page mm: no gap shows there.
const UNDERLAP: f64 = 0.25;

/// A triangle of a skin reaches so far over its sides, page mm.
const SEAM: f64 = 0.03;

/// Points of a strip nearer to the straight between their neighbours than this are left out, mm.
const STRAIGHT: f64 = 1e-3;

/// The lighter band along a tube: its half width and how far it moves towards the light, in radii.
const SHINE: (f64, f64) = (0.2, 0.4);

/// Where the light comes from on the page: above left.
const LIGHT: Point = Point { x: -0.5, y: 0.866 };

/// A painted picture and the order its bodies were painted in.
pub(super) struct Painted {
    /// Fills and lines.
    pub(super) drawing: Drawing,
    /// Positions of the bodies, first painted first.
    pub(super) order: Vec<usize>,
    /// Whether every pair of bodies was compared.
    pub(super) exact: bool,
}

/// Paints bodies; `known` are pairs that touch, with the first to be painted first. `colour` gives a
/// run's colour.
pub(super) fn paint(
    bodies: &[Body],
    known: &[(usize, usize)],
    view: &View,
    colour: &dyn Fn(usize) -> Rgb,
) -> Painted {
    let mut order = Order::new(bodies, known, view);
    let exact = order.is_exact();
    let mut painted = Painted { drawing: Drawing::new(), order: Vec::with_capacity(bodies.len()), exact };
    // Each body is taken once.
    while let Some(first) = order.next() {
        let mut last = first;
        // The last piece of a run goes on in none.
        while matches!(bodies[last].look, Look::Piece(p) if p.goes_on) && order.is_ready(last + 1) {
            last += 1;
            order.take(last);
        }
        painted.order.extend(first..=last);
        let tint = match bodies[first].owner {
            Owner::Run(run) => colour(run),
            Owner::Component(_) => COMPONENT,
        };
        let pieces: Vec<Piece> = bodies[first..=last]
            .iter()
            .filter_map(|b| if let Look::Piece(piece) = b.look { Some(piece) } else { None })
            .collect();
        if pieces.is_empty() {
            single(&mut painted.drawing, &bodies[first], tint);
        } else {
            let joins = |index: Option<usize>| {
                index.is_some_and(|i| matches!(bodies[i].look, Look::Piece(p) if p.goes_on))
            };
            // How far the strip may reach under a neighbour that comes later: not beyond it.
            let under = |joined: bool, neighbour: usize| match bodies.get(neighbour).map(|b| &b.look) {
                Some(Look::Piece(p)) if joined && !order.is_done(neighbour) => {
                    UNDERLAP.min(p.ends[0].distance(p.ends[1]))
                }
                _ => 0.0,
            };
            let before = first.wrapping_sub(1);
            let under = (under(joins(first.checked_sub(1)), before), under(joins(Some(last)), last + 1));
            strip(&mut painted.drawing, &pieces, under, tint);
        }
    }
    painted
}

/// The colour towards white (part > 0) or black (part < 0).
pub(super) fn shade(colour: Rgb, part: f64) -> Rgb {
    let towards = if part > 0.0 { 255.0 } else { 0.0 };
    let mix = |c: u8| (f64::from(c) + (towards - f64::from(c)) * part.abs()).round().clamp(0.0, 255.0) as u8;
    Rgb(mix(colour.0), mix(colour.1), mix(colour.2))
}

fn line_colour(tint: Rgb) -> Rgb {
    shade(tint, -0.55)
}

/// Points of a picture are rounded to this, mm: a hundredth of a line's width, and short to write.
const GRAIN: f64 = 1e-3;

/// A path through points.
pub(super) fn through(points: &[Point], closed: bool) -> Path {
    let round = |v: f64| (v / GRAIN).round() * GRAIN;
    let points: Vec<Point> = points.iter().map(|p| Point::new(round(p.x), round(p.y))).collect();
    let mut edges: Vec<Edge> = points.windows(2).map(|p| Edge::Line(Line { from: p[0], to: p[1] })).collect();
    if let (true, Some(&first), Some(&last)) = (closed, points.first(), points.last()) {
        edges.push(Edge::Line(Line { from: last, to: first }));
    }
    Path { edges, closed }
}

fn fill(drawing: &mut Drawing, points: &[Point], fill: Rgb) {
    if points.len() > 2 {
        let shape = ItemShape::Area { bound: through(points, true), fill };
        drawing.items.push(Item { shape, role: Role::Outline, colour: None });
    }
}

fn stroke(drawing: &mut Drawing, path: Path, role: Role, colour: Rgb) {
    drawing.items.push(Item { shape: ItemShape::Path(path), role, colour: Some(colour) });
}

fn single(drawing: &mut Drawing, body: &Body, tint: Rgb) {
    let line = line_colour(tint);
    match &body.look {
        Look::EndOn { radius } | Look::Fold { radius, .. } => {
            let centre = body.bounds.centre();
            fill(drawing, &body.outline, tint);
            let (start, sweep) = match body.look {
                Look::Fold { start, sweep, .. } => (start, sweep),
                _ => (0.0, std::f64::consts::TAU),
            };
            let arc = |start, sweep| Edge::Arc(Arc { centre, radius: *radius, start, sweep });
            let halves = vec![arc(start, sweep / 2.0), arc(start + sweep / 2.0, sweep / 2.0)];
            stroke(drawing, Path { edges: halves, closed: false }, Role::Outline, line);
        }
        Look::End { bore } => {
            let face = if bore.is_some() { shade(tint, 0.45) } else { tint };
            fill(drawing, &body.outline, face);
            stroke(drawing, through(&body.outline, true), Role::Outline, line);
            if let Some(bore) = bore {
                fill(drawing, bore, line);
            }
        }
        Look::Port => {
            fill(drawing, &body.outline, shade(tint, -0.35));
            stroke(drawing, through(&body.outline, true), Role::Component, shade(tint, -0.6));
        }
        Look::Solid(faces) => {
            for (face, light) in faces {
                fill(drawing, face, shade(tint, 0.75 * light - 0.1));
                stroke(drawing, through(face, true), Role::Component, shade(tint, -0.5));
            }
        }
        Look::Facet { light, edges } => {
            // Two areas that meet leave a pale line between them, where neither reaches under the other.
            let around = |at: &Point| {
                [(SEAM, 0.0), (-SEAM, 0.0), (0.0, SEAM), (0.0, -SEAM)].map(|(x, y)| at.shifted(x, y))
            };
            let outline = hull(&body.outline.iter().flat_map(around).collect::<Vec<_>>());
            fill(drawing, &outline, shade(tint, 0.75 * light - 0.1));
            for edge in edges {
                stroke(drawing, through(edge, false), Role::Component, shade(tint, -0.5));
            }
        }
        Look::Piece(_) => {}
    }
}

/// A strip of pieces that join smoothly, reaching `under` (mm) its neighbours before and after.
fn strip(drawing: &mut Drawing, pieces: &[Piece], under: (f64, f64), tint: Rgb) {
    let mut spine: Vec<(Point, Point)> = pieces.iter().map(|p| (p.ends[0], p.normals[0])).collect();
    spine.extend(pieces.last().map(|p| (p.ends[1], p.normals[1])));
    let radius = pieces.first().map_or(0.0, |p| p.radius);
    // Travel runs to the right of the left-hand normal.
    let on = |(at, n): (Point, Point), by: f64| (at.shifted(n.y * by, -n.x * by), n);
    if let Some(&first) = spine.first().filter(|_| under.0 > 0.0) {
        spine.insert(0, on(first, -under.0));
    }
    if let Some(&last) = spine.last().filter(|_| under.1 > 0.0) {
        spine.push(on(last, under.1));
    }
    let side = |part: &dyn Fn(Point) -> f64| -> Vec<Point> {
        let points: Vec<Point> =
            spine.iter().map(|&(at, n)| at.shifted(n.x * part(n) * radius, n.y * part(n) * radius)).collect();
        simplified(&points)
    };
    let band = |mut left: Vec<Point>, right: Vec<Point>| {
        left.extend(right.into_iter().rev());
        left
    };
    let (left, right) = (side(&|_| 1.0), side(&|_| -1.0));
    fill(drawing, &band(left.clone(), right.clone()), tint);
    let middle = |n: Point| SHINE.1 * (n.x * LIGHT.x + n.y * LIGHT.y);
    let shine = band(side(&|n| middle(n) + SHINE.0), side(&|n| middle(n) - SHINE.0));
    fill(drawing, &shine, shade(tint, 0.3));
    let cut = |piece: Option<&Piece>, end: usize| piece.is_some_and(|p| p.cut[end]);
    let closing = |a: Option<&Point>, b: Option<&Point>| a.into_iter().chain(b).copied().collect();
    let mut edges = vec![left, right];
    if cut(pieces.first(), 0) {
        edges.push(closing(edges[0].first(), edges[1].first()));
    }
    if cut(pieces.last(), 1) {
        edges.push(closing(edges[0].last(), edges[1].last()));
    }
    for edge in edges {
        stroke(drawing, through(&edge, false), Role::Outline, line_colour(tint));
    }
}

/// Points without those that lie on the straight between their neighbours.
fn simplified(points: &[Point]) -> Vec<Point> {
    let mut kept: Vec<Point> = Vec::with_capacity(points.len());
    for &point in points {
        if let [.., a, b] = kept[..] {
            let (dx, dy) = (point.x - a.x, point.y - a.y);
            let long = dx.hypot(dy);
            let off = ((b.x - a.x) * dy - (b.y - a.y) * dx).abs();
            let ahead = (b.x - a.x) * dx + (b.y - a.y) * dy;
            if off <= STRAIGHT * long && ahead >= 0.0 && ahead <= long * long {
                kept.pop();
            }
        }
        kept.push(point);
    }
    kept
}
