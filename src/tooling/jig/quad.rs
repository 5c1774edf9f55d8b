//! Rectangles lying any way on the base board.

use crate::flat::{Point, Rect};

/// A rectangle turned any way.
#[derive(Debug, Clone, Copy)]
pub(super) struct Quad {
    /// Its corners, counter-clockwise.
    pub corners: [Point; 4],
}

impl Quad {
    /// The rectangle round a middle: half its length along an angle (rad), half its width across.
    pub(super) fn new(middle: Point, angle: f64, half_length: f64, half_width: f64) -> Quad {
        let (sin, cos) = angle.sin_cos();
        Quad::along(middle, (cos, sin), half_length, half_width)
    }

    /// The same along a unit vector.
    pub(super) fn along(middle: Point, (cos, sin): (f64, f64), half_length: f64, half_width: f64) -> Quad {
        let corner = |u: f64, v: f64| {
            let (u, v) = (u * half_length, v * half_width);
            middle.shifted(u * cos - v * sin, u * sin + v * cos)
        };
        Quad { corners: [corner(-1.0, -1.0), corner(1.0, -1.0), corner(1.0, 1.0), corner(-1.0, 1.0)] }
    }

    /// Least distance to another, mm; 0 where they meet.
    pub(super) fn distance(&self, other: &Quad) -> f64 {
        if !parted(&self.corners, &other.corners) && !parted(&other.corners, &self.corners) {
            return 0.0;
        }
        let near = |a: &Quad, b: &Quad| {
            let sides = |p: Point| (0..4).map(move |i| to_side(p, b.corners[i], b.corners[(i + 1) % 4]));
            a.corners.iter().flat_map(|p| sides(*p)).fold(f64::INFINITY, f64::min)
        };
        near(self, other).min(near(other, self)).sqrt()
    }

    /// Whether the distance to another is more than `gap` mm.
    pub(super) fn distance_over(&self, other: &Quad, gap: f64) -> bool {
        // Most are far from each other: the circles round them tell.
        let ((a, reach_a), (b, reach_b)) = (self.circle(), other.circle());
        let far = gap.max(0.0) + reach_a + reach_b + 1e-6;
        let (dx, dy) = (a.x - b.x, a.y - b.y);
        dx * dx + dy * dy > far * far || self.distance(other) > gap
    }

    /// Middle and radius of the circle round it.
    fn circle(&self) -> (Point, f64) {
        let [a, _, c, _] = self.corners;
        let (dx, dy) = (c.x - a.x, c.y - a.y);
        (Point::new((a.x + c.x) / 2.0, (a.y + c.y) / 2.0), (dx * dx + dy * dy).sqrt() / 2.0)
    }

    /// Whether it lies within a box.
    pub(super) fn within(&self, bounds: &Rect) -> bool {
        self.corners.iter().all(|corner| bounds.has(*corner))
    }
}

/// Whether a side of `a` has all of `b` on its outside.
fn parted(a: &[Point; 4], b: &[Point; 4]) -> bool {
    (0..4).any(|i| {
        let (from, to) = (a[i], a[(i + 1) % 4]);
        b.iter().all(|p| (to.x - from.x) * (p.y - from.y) - (to.y - from.y) * (p.x - from.x) < 0.0)
    })
}

/// Length of a vector of millimetres: no overflow to guard against, and `hypot` is slow.
pub(super) fn length(x: f64, y: f64) -> f64 {
    (x * x + y * y).sqrt()
}

/// Square of the distance from a side: thousands are compared for one jig.
fn to_side(p: Point, from: Point, to: Point) -> f64 {
    let (x, y) = (to.x - from.x, to.y - from.y);
    let (px, py) = (p.x - from.x, p.y - from.y);
    let square = x * x + y * y;
    let part = if square > 0.0 { ((px * x + py * y) / square).clamp(0.0, 1.0) } else { 0.0 };
    let (dx, dy) = (px - part * x, py - part * y);
    dx * dx + dy * dy
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distances_of_rectangles() {
        let a = Quad::new(Point::new(0.0, 0.0), 0.0, 2.0, 1.0);
        let b = Quad::new(Point::new(5.0, 5.0), std::f64::consts::FRAC_PI_2, 1.0, 1.0);
        assert!((a.distance(&b) - 2.0_f64.hypot(3.0)).abs() < 1e-12);
        // A corner turned towards a side.
        let c = Quad::new(Point::new(5.0, 0.0), std::f64::consts::FRAC_PI_4, 1.0, 1.0);
        assert!((a.distance(&c) - (3.0 - 2.0_f64.sqrt())).abs() < 1e-12);
        assert_eq!(a.distance(&Quad::new(Point::new(1.0, 0.0), 0.3, 0.1, 0.1)), 0.0);
        for quad in [b, c] {
            let distance = a.distance(&quad);
            assert!(a.distance_over(&quad, distance - 1e-9) && !a.distance_over(&quad, distance + 1e-9));
        }
    }
}
