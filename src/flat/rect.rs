//! Boxes square to the axes.

use std::f64::consts::{FRAC_PI_2, TAU};

use super::{Arc, Edge, Line, Path, Point};

/// A box square to the axes, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rect {
    /// Lower left corner.
    pub min: Point,
    /// Upper right corner.
    pub max: Point,
}

impl Rect {
    /// The box between two opposite corners given in any order.
    pub fn new(a: Point, b: Point) -> Self {
        Rect { min: Point::new(a.x.min(b.x), a.y.min(b.y)), max: Point::new(a.x.max(b.x), a.y.max(b.y)) }
    }

    /// The smallest box around some points; `None` without points.
    pub fn around(points: impl IntoIterator<Item = Point>) -> Option<Self> {
        points.into_iter().map(|p| Rect { min: p, max: p }).reduce(Rect::union)
    }

    /// Width, mm.
    pub fn width(&self) -> f64 {
        self.max.x - self.min.x
    }

    /// Height, mm.
    pub fn height(&self) -> f64 {
        self.max.y - self.min.y
    }

    /// Middle.
    pub fn centre(&self) -> Point {
        Point::new((self.min.x + self.max.x) / 2.0, (self.min.y + self.max.y) / 2.0)
    }

    /// Lower left, lower right, upper right, upper left.
    pub fn corners(&self) -> [Point; 4] {
        let Rect { min, max } = *self;
        [min, Point::new(max.x, min.y), max, Point::new(min.x, max.y)]
    }

    /// The four sides, counter-clockwise from the bottom.
    pub fn sides(&self) -> [Line; 4] {
        let [a, b, c, d] = self.corners();
        [(a, b), (b, c), (c, d), (d, a)].map(|(from, to)| Line { from, to })
    }

    /// The smallest box around both.
    #[must_use]
    pub fn union(self, other: Rect) -> Rect {
        Rect {
            min: Point::new(self.min.x.min(other.min.x), self.min.y.min(other.min.y)),
            max: Point::new(self.max.x.max(other.max.x), self.max.y.max(other.max.y)),
        }
    }

    /// The box grown by `by` mm on every side (shrunk if negative).
    #[must_use]
    pub fn grown(self, by: f64) -> Rect {
        Rect { min: self.min.shifted(-by, -by), max: self.max.shifted(by, by) }
    }

    /// The box shifted by (dx, dy) mm.
    #[must_use]
    pub fn shifted(self, dx: f64, dy: f64) -> Rect {
        Rect { min: self.min.shifted(dx, dy), max: self.max.shifted(dx, dy) }
    }

    /// Whether a point lies in it or on its bound.
    pub fn has(&self, p: Point) -> bool {
        p.x >= self.min.x && p.x <= self.max.x && p.y >= self.min.y && p.y <= self.max.y
    }

    /// Whether another box lies wholly in it.
    pub fn holds(&self, other: &Rect) -> bool {
        self.has(other.min) && self.has(other.max)
    }

    /// Whether the two share more than a bound.
    pub fn overlaps(&self, other: &Rect) -> bool {
        self.min.x < other.max.x
            && other.min.x < self.max.x
            && self.min.y < other.max.y
            && other.min.y < self.max.y
    }
}

/// Box of an arc: its ends and the quarter points it passes.
pub fn arc_extents(arc: &Arc) -> Rect {
    let mut extents = Rect::new(arc.from(), arc.to());
    for quarter in 0..4 {
        let angle = f64::from(quarter) * FRAC_PI_2;
        // How far past the start, in the arc's own sense, the quarter point lies.
        let past = ((angle - arc.start) * arc.sweep.signum()).rem_euclid(TAU);
        if past <= arc.sweep.abs() {
            let point = arc.centre.polar(arc.radius, angle);
            extents = extents.union(Rect { min: point, max: point });
        }
    }
    extents
}

/// Box of a path; `None` for one without edges.
pub fn path_extents(path: &Path) -> Option<Rect> {
    path.edges
        .iter()
        .map(|edge| match edge {
            Edge::Line(line) => Rect::new(line.from, line.to),
            Edge::Arc(arc) => arc_extents(arc),
        })
        .reduce(Rect::union)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn arc(start: f64, sweep: f64) -> Rect {
        arc_extents(&Arc { centre: Point::new(10.0, 20.0), radius: 5.0, start, sweep })
    }

    #[test]
    fn an_arc_reaches_the_quarter_points_it_passes() {
        let up = arc(PI / 4.0, PI / 2.0);
        assert!((up.max.y - 25.0).abs() < 1e-12);
        assert!((up.min.y - (20.0 + 5.0 * (PI / 4.0).sin())).abs() < 1e-12);
        // The same arc drawn the other way round has the same box.
        let back = arc(3.0 * PI / 4.0, -PI / 2.0);
        assert!((up.min.x - back.min.x).abs() < 1e-12 && (up.max.y - back.max.y).abs() < 1e-12);
    }

    #[test]
    fn a_long_clockwise_arc_goes_round_the_far_side() {
        let long = arc(PI / 2.0, -1.5 * PI);
        assert!((long.max.x - 15.0).abs() < 1e-12);
        assert!((long.min.y - 15.0).abs() < 1e-12);
        assert!((long.min.x - 5.0).abs() < 1e-12);
    }
}
