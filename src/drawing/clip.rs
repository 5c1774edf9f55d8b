//! The part of a drawing inside a box. Lines stay lines and arcs stay arcs.

use std::f64::consts::TAU;

use super::extents::{Rect, arc_extents};
use super::item::{Arc, Edge, Item, ItemShape, Line, Path, Point};

/// Pieces shorter than this are dust of the cutting itself, mm.
const DUST: f64 = 1e-6;

/// The part of a line inside a box (Liang and Barsky's parameters).
pub fn clip_line(line: &Line, window: &Rect) -> Option<Line> {
    let (dx, dy) = (line.to.x - line.from.x, line.to.y - line.from.y);
    let (mut first, mut last) = (0.0_f64, 1.0_f64);
    for (step, room) in [
        (-dx, line.from.x - window.min.x),
        (dx, window.max.x - line.from.x),
        (-dy, line.from.y - window.min.y),
        (dy, window.max.y - line.from.y),
    ] {
        if step == 0.0 {
            if room < 0.0 {
                return None;
            }
        } else if step < 0.0 {
            first = first.max(room / step);
        } else {
            last = last.min(room / step);
        }
    }
    if first > last {
        return None;
    }
    let at = |t: f64| match t {
        0.0 => line.from,
        1.0 => line.to,
        _ => line.from.shifted(dx * t, dy * t),
    };
    Some(Line { from: at(first), to: at(last) })
}

/// The parts of an arc inside a box, in the arc's order.
pub fn clip_arc(arc: &Arc, window: &Rect) -> Vec<Arc> {
    if window.holds(&arc_extents(arc)) {
        return vec![*arc];
    }
    let (sense, long) = (arc.sweep.signum(), arc.sweep.abs());
    // How far past the start, in the arc's own sense, each crossing of a side's line lies.
    let past = |angle: f64| ((angle - arc.start) * sense).rem_euclid(TAU);
    let mut cuts = vec![0.0, long];
    for share in [window.min.x, window.max.x].map(|x| (x - arc.centre.x) / arc.radius) {
        if share.abs() <= 1.0 {
            cuts.extend([share.acos(), -share.acos()].map(past));
        }
    }
    for share in [window.min.y, window.max.y].map(|y| (y - arc.centre.y) / arc.radius) {
        if share.abs() <= 1.0 {
            cuts.extend([share.asin(), std::f64::consts::PI - share.asin()].map(past));
        }
    }
    cuts.retain(|&cut| cut <= long);
    cuts.sort_by(f64::total_cmp);
    let mut kept: Vec<(f64, f64)> = Vec::new();
    for pair in cuts.windows(2) {
        let &[from, to] = pair else { continue };
        let middle = arc.centre.polar(arc.radius, arc.start + sense * (from + to) / 2.0);
        if (to - from) * arc.radius < DUST || !window.has(middle) {
            continue;
        }
        match kept.last_mut() {
            Some(last) if (from - last.1) * arc.radius < 2.0 * DUST => last.1 = to,
            _ => kept.push((from, to)),
        }
    }
    kept.into_iter()
        .map(|(from, to)| Arc { start: arc.start + sense * from, sweep: sense * (to - from), ..*arc })
        .collect()
}

fn clip_path(path: &Path, window: &Rect) -> Vec<Path> {
    let mut parts: Vec<Path> = Vec::new();
    let mut join = |edge: Edge| match parts.last_mut() {
        Some(Path { edges, .. }) if edges.last().is_some_and(|e| e.to().distance(edge.from()) < DUST) => {
            edges.push(edge);
        }
        _ => parts.push(Path { edges: vec![edge], closed: false }),
    };
    for edge in &path.edges {
        match edge {
            Edge::Line(line) => {
                clip_line(line, window)
                    .filter(|l| l.from.distance(l.to) > DUST)
                    .map(Edge::Line)
                    .map(&mut join);
            }
            Edge::Arc(arc) => clip_arc(arc, window).into_iter().map(Edge::Arc).for_each(&mut join),
        }
    }
    parts
}

/// The part of an area inside a box, for a convex area bounded by lines (Sutherland and Hodgman's way:
/// one side of the box after the other). `None` for any other area and where nothing is left.
fn clip_area(bound: &Path, window: &Rect) -> Option<Path> {
    if bound.edges.iter().any(|edge| matches!(edge, Edge::Arc(_))) {
        return None;
    }
    // How far inside each side of the box a point lies.
    let sides: [fn(Point, &Rect) -> f64; 4] =
        [|p, w| p.x - w.min.x, |p, w| w.max.x - p.x, |p, w| p.y - w.min.y, |p, w| w.max.y - p.y];
    let mut points: Vec<Point> = bound.edges.iter().map(Edge::from).collect();
    for inside in sides {
        let next = points.iter().skip(1).chain(points.first());
        points = points
            .iter()
            .zip(next)
            .flat_map(|(&a, &b)| {
                let (from, to) = (inside(a, window), inside(b, window));
                let share = from / (from - to);
                let cross = a.shifted((b.x - a.x) * share, (b.y - a.y) * share);
                [(from >= 0.0).then_some(a), ((from >= 0.0) != (to >= 0.0)).then_some(cross)]
            })
            .flatten()
            .collect();
    }
    (points.len() >= 3).then(|| Path::polygon(points))
}

/// The parts of an item inside a box. Words are kept only if `window` holds their whole box, an
/// area with arcs only if it holds it all; an area of lines is taken to be convex.
pub fn clip_item(item: &Item, window: &Rect) -> Vec<Item> {
    let whole = super::extents::shape_extents(&item.shape, item.role);
    if whole.is_some_and(|extents| window.holds(&extents)) {
        return vec![item.clone()];
    }
    let shapes: Vec<ItemShape> = match &item.shape {
        ItemShape::Line(line) => clip_line(line, window)
            .filter(|l| l.from.distance(l.to) > DUST)
            .map(ItemShape::Line)
            .into_iter()
            .collect(),
        ItemShape::Arc(arc) => clip_arc(arc, window).into_iter().map(ItemShape::Arc).collect(),
        ItemShape::Circle { centre, radius } => {
            let round = Arc { centre: *centre, radius: *radius, start: 0.0, sweep: TAU };
            clip_arc(&round, window).into_iter().map(ItemShape::Arc).collect()
        }
        ItemShape::Path(path) => clip_path(path, window).into_iter().map(ItemShape::Path).collect(),
        ItemShape::Area { bound, fill } => {
            let fill = *fill;
            clip_area(bound, window).map(|bound| ItemShape::Area { bound, fill }).into_iter().collect()
        }
        ItemShape::Text(_) => Vec::new(),
    };
    shapes.into_iter().map(|shape| Item { shape, role: item.role, colour: item.colour }).collect()
}

/// A chain of points along an arc that leaves it by at most `sagitta` mm.
pub fn flattened(arc: &Arc, sagitta: f64) -> Vec<Point> {
    let reach = (1.0 - sagitta / arc.radius.max(sagitta)).clamp(-1.0, 1.0).acos() * 2.0;
    let pieces = (1..=360u16).find(|&n| arc.sweep.abs() / f64::from(n) <= reach).unwrap_or(360);
    (0..=pieces)
        .map(|i| arc.centre.polar(arc.radius, arc.start + arc.sweep * f64::from(i) / f64::from(pieces)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn window() -> Rect {
        Rect::new(Point::new(0.0, 0.0), Point::new(100.0, 60.0))
    }

    #[test]
    fn lines_are_cut_at_the_sides() {
        let line =
            |a: (f64, f64), b: (f64, f64)| Line { from: Point::new(a.0, a.1), to: Point::new(b.0, b.1) };
        let cut = clip_line(&line((-50.0, 30.0), (150.0, 30.0)), &window()).expect("crosses");
        assert_eq!((cut.from.x, cut.to.x), (0.0, 100.0));
        assert!(clip_line(&line((-50.0, 70.0), (150.0, 70.0)), &window()).is_none());
        assert!(clip_line(&line((-10.0, 55.0), (10.0, 75.0)), &window()).is_none());
        let inside = line((10.0, 10.0), (20.0, 20.0));
        assert_eq!(clip_line(&inside, &window()), Some(inside));
    }

    #[test]
    fn a_circle_around_a_corner_leaves_a_quarter() {
        let round = Arc { centre: Point::new(0.0, 0.0), radius: 20.0, start: 0.3, sweep: TAU };
        let parts = clip_arc(&round, &window());
        let total: f64 = parts.iter().map(|a| a.sweep).sum();
        assert!((total - TAU / 4.0).abs() < 1e-9, "{parts:?}");
    }

    #[test]
    fn an_area_keeps_what_is_inside() {
        let corners = |points: &[(f64, f64)]| Path::polygon(points.iter().map(|p| Point::new(p.0, p.1)));
        let area = |path: &Path| {
            path.edges.iter().map(|e| e.from().x * e.to().y - e.to().x * e.from().y).sum::<f64>() / 2.0
        };
        let cut = clip_area(&corners(&[(-20.0, 10.0), (50.0, 10.0), (50.0, 90.0), (-20.0, 90.0)]), &window());
        assert!((area(&cut.expect("overlaps")) - 50.0 * 50.0).abs() < 1e-9);
        let tip = clip_area(&corners(&[(90.0, 30.0), (110.0, 20.0), (110.0, 40.0)]), &window());
        assert!((area(&tip.expect("overlaps")) - 50.0).abs() < 1e-9);
        assert!(clip_area(&corners(&[(120.0, 0.0), (130.0, 0.0), (130.0, 9.0)]), &window()).is_none());
    }

    proptest! {
        #[test]
        fn the_parts_of_an_arc_are_exactly_its_points_inside(
            x in -20.0..120.0, y in -20.0..80.0, radius in 1.0..90.0, start in -7.0..7.0, sweep in -6.2..6.2,
        ) {
            let arc = Arc { centre: Point::new(x, y), radius, start, sweep };
            let parts = clip_arc(&arc, &window());
            for step in 0..=200 {
                let turned = sweep * f64::from(step) / 200.0;
                let point = arc.centre.polar(radius, start + turned);
                let shown = parts.iter().any(|part| {
                    let past = (turned - (part.start - start)) / sweep.signum();
                    past >= -1e-9 && past <= part.sweep.abs() + 1e-9
                });
                if window().grown(-1e-5).has(point) {
                    prop_assert!(shown, "{point:?} is missing from {parts:?}");
                } else if !window().grown(1e-5).has(point) {
                    prop_assert!(!shown, "{point:?} should be cut away");
                }
            }
        }
    }
}
