//! Convex polygons on the page: hull, overlap, insideness.

use crate::drawing::item::Point;

/// Twice the signed area of the triangle a, b, c; positive if they turn left.
fn turn(a: Point, b: Point, c: Point) -> f64 {
    (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x)
}

/// The convex hull, counter-clockwise. Fewer than three corners if the points lie in line.
pub(super) fn hull(points: &[Point]) -> Vec<Point> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let half = |points: &mut dyn Iterator<Item = Point>| {
        let mut chain: Vec<Point> = Vec::new();
        for point in points {
            // Takes off at most as many points as were put on.
            while let [.., a, b] = chain[..] {
                if turn(a, b, point) > 0.0 {
                    break;
                }
                chain.pop();
            }
            chain.push(point);
        }
        chain.pop();
        chain
    };
    let mut lower = half(&mut sorted.iter().copied());
    lower.extend(half(&mut sorted.iter().rev().copied()));
    lower
}

/// The middle of what two counter-clockwise convex polygons share; `None` if that is less than
/// `least` mm² in area.
pub(super) fn shared_middle(a: &[Point], b: &[Point], least: f64) -> Option<Point> {
    let mut shared = a.to_vec();
    for (index, &from) in b.iter().enumerate() {
        let to = b[(index + 1) % b.len()];
        shared = clipped(&shared, from, to);
        if shared.len() < 3 {
            return None;
        }
    }
    let origin = shared[0];
    let (mut area, mut x, mut y) = (0.0, 0.0, 0.0);
    for pair in shared[1..].windows(2) {
        let twice = turn(origin, pair[0], pair[1]);
        area += twice / 2.0;
        x += twice / 2.0 * (origin.x + pair[0].x + pair[1].x) / 3.0;
        y += twice / 2.0 * (origin.y + pair[0].y + pair[1].y) / 3.0;
    }
    (area >= least).then(|| Point::new(x / area, y / area))
}

/// The part of a polygon on the left of the line from `from` to `to`.
fn clipped(polygon: &[Point], from: Point, to: Point) -> Vec<Point> {
    let mut kept = Vec::with_capacity(polygon.len() + 1);
    for (index, &p) in polygon.iter().enumerate() {
        let q = polygon[(index + 1) % polygon.len()];
        let (dp, dq) = (turn(from, to, p), turn(from, to, q));
        if dp >= 0.0 {
            kept.push(p);
        }
        if (dp > 0.0 && dq < 0.0) || (dp < 0.0 && dq > 0.0) {
            let t = dp / (dp - dq);
            kept.push(p.shifted((q.x - p.x) * t, (q.y - p.y) * t));
        }
    }
    kept
}

/// Whether a point lies in a counter-clockwise convex polygon.
pub(super) fn holds(polygon: &[Point], at: Point) -> bool {
    polygon.len() > 2
        && (0..polygon.len()).all(|i| turn(polygon[i], polygon[(i + 1) % polygon.len()], at) >= 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(x: f64, y: f64) -> Vec<Point> {
        hull(
            &[(0.0, 0.0), (2.0, 2.0), (0.0, 2.0), (2.0, 0.0), (1.0, 1.0)]
                .map(|(u, v)| Point::new(x + u, y + v)),
        )
    }

    #[test]
    fn a_hull_drops_inner_points_and_turns_left() {
        let hull = square(0.0, 0.0);
        assert_eq!(hull.len(), 4);
        assert!(holds(&hull, Point::new(1.0, 1.0)) && !holds(&hull, Point::new(2.1, 1.0)));
    }

    #[test]
    fn shared_parts_have_a_middle_and_touching_ones_none() {
        let middle = shared_middle(&square(0.0, 0.0), &square(1.0, 1.0), 1e-6).unwrap();
        assert!(middle.distance(Point::new(1.5, 1.5)) < 1e-12);
        assert_eq!(shared_middle(&square(0.0, 0.0), &square(2.0, 0.0), 1e-6), None);
        assert_eq!(shared_middle(&square(0.0, 0.0), &square(5.0, 0.0), 1e-6), None);
    }
}
