//! The space round an upright that anything must be in to come near it.

use crate::geometry::{InnerSpace, Point3, Vector3};

/// A box that is open below: along the upright's plate, across it, and up.
#[derive(Debug, Clone, Copy)]
pub(super) struct Region {
    /// Middle of the upright on the board.
    pub middle: Point3,
    /// Horizontal unit vector along the plate.
    pub across: Vector3,
    /// Horizontal unit vector square to it.
    pub ahead: Vector3,
    /// How far it reaches to −across and to +across, mm.
    pub sides: [f64; 2],
    /// How far it reaches to either side of the plate's middle plane, mm.
    pub depth: f64,
    /// Its height above the board, mm.
    pub top: f64,
}

impl Region {
    /// Whether a box of the jig's axes reaches into it, or nearly.
    pub(super) fn meets_box(&self, low: Point3, high: Point3) -> bool {
        let [left, right] = self.sides;
        let centre = self.middle + self.across * ((right - left) / 2.0);
        let half = (left + right) / 2.0;
        let wide = half * self.across.x.abs() + self.depth * self.ahead.x.abs();
        let long = half * self.across.y.abs() + self.depth * self.ahead.y.abs();
        low.z <= self.top
            && low.x <= centre.x + wide
            && high.x >= centre.x - wide
            && low.y <= centre.y + long
            && high.y >= centre.y - long
    }

    /// From where to where along a straight (mm from its start) it is in here; `None` where it never is.
    pub(super) fn part_of_line(&self, from: Point3, direction: Vector3, length: f64) -> Option<(f64, f64)> {
        let start = from - self.middle;
        let [left, right] = self.sides;
        let slabs = [
            (start.dot(self.across), direction.dot(self.across), -left, right),
            (start.dot(self.ahead), direction.dot(self.ahead), -self.depth, self.depth),
            (from.z, direction.z, f64::NEG_INFINITY, self.top),
        ];
        let (mut first, mut last) = (0.0_f64, length);
        for (at, step, low, high) in slabs {
            if step.abs() < 1e-12 {
                if at < low || at > high {
                    return None;
                }
                continue;
            }
            let (a, b) = ((low - at) / step, (high - at) / step);
            (first, last) = (first.max(a.min(b)), last.min(a.max(b)));
        }
        (first <= last).then_some((first, last))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_straight_is_in_a_region_from_where_it_enters_to_where_it_leaves() {
        let region = Region {
            middle: Point3::new(10.0, 0.0, 0.0),
            across: Vector3::unit_y(),
            ahead: Vector3::unit_x(),
            sides: [2.0, 3.0],
            depth: 4.0,
            top: 20.0,
        };
        let through = |y: f64, z: f64| region.part_of_line(Point3::new(0.0, y, z), Vector3::unit_x(), 100.0);
        assert_eq!(through(2.5, 19.0), Some((6.0, 14.0)));
        assert_eq!(through(3.5, 19.0), None);
        assert_eq!(through(-1.5, 21.0), None);
        let falling = Vector3::new(1.0, 0.0, -1.0).normalize();
        let (first, last) = region.part_of_line(Point3::new(0.0, 0.0, 30.0), falling, 100.0).unwrap();
        assert!((first - 10.0 * 2.0_f64.sqrt()).abs() < 1e-9 && (last - 14.0 * 2.0_f64.sqrt()).abs() < 1e-9);
        assert!(region.meets_box(Point3::new(0.0, 0.0, 0.0), Point3::new(6.5, 1.0, 5.0)));
        assert!(!region.meets_box(Point3::new(0.0, 0.0, 0.0), Point3::new(5.5, 1.0, 5.0)));
    }
}
