//! Looking at the scene from one side: parallel projection onto the page.

use crate::drawing::item::Point;
use crate::geometry::{InnerSpace, Point3, Vector3};

/// A direction of looking.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Aspect {
    /// Name under the picture.
    pub(super) name: &'static str,
    /// Unit vector to the right of the picture.
    pub(super) right: Vector3,
    /// Unit vector up the picture.
    pub(super) up: Vector3,
}

impl Aspect {
    /// From the front: along +Y, with X to the right and Z up.
    pub(super) fn front() -> Self {
        Aspect { name: "front", right: Vector3::unit_x(), up: Vector3::unit_z() }
    }

    /// From above: along −Z, with X to the right and Y up.
    pub(super) fn top() -> Self {
        Aspect { name: "top", right: Vector3::unit_x(), up: Vector3::unit_y() }
    }

    /// From the left: along +X, with −Y to the right and Z up.
    pub(super) fn left() -> Self {
        Aspect { name: "left side", right: -Vector3::unit_y(), up: Vector3::unit_z() }
    }

    /// From the front, right and above, all three axes equally foreshortened.
    pub(super) fn isometric() -> Self {
        Aspect {
            name: "isometric",
            right: Vector3::new(1.0, 1.0, 0.0).normalize(),
            up: Vector3::new(-1.0, 1.0, 2.0).normalize(),
        }
    }

    /// Unit vector from the scene to the eye.
    pub(super) fn toward(&self) -> Vector3 {
        self.right.cross(self.up)
    }
}

/// An aspect with its place and scale on the page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct View {
    /// Direction of looking.
    pub(super) aspect: Aspect,
    /// The point of the scene that is shown at `at`.
    pub(super) centre: Point3,
    /// Where on the page, mm.
    pub(super) at: Point,
    /// Page mm per mm of the scene.
    pub(super) scale: f64,
}

impl View {
    /// Where a point of the scene appears on the page, and how near it is to the eye (page mm, larger is nearer).
    pub(super) fn see(&self, point: Point3) -> (Point, f64) {
        let v = point - self.centre;
        let at = self.at.shifted(v.dot(self.aspect.right) * self.scale, v.dot(self.aspect.up) * self.scale);
        (at, v.dot(self.aspect.toward()) * self.scale)
    }

    /// A unit vector of the scene on the page (its length there is 1 only if square to the line of
    /// sight), and its part towards the eye.
    pub(super) fn turn(&self, vector: Vector3) -> (Point, f64) {
        let aspect = &self.aspect;
        (Point::new(vector.dot(aspect.right), vector.dot(aspect.up)), vector.dot(aspect.toward()))
    }

    /// The point of the scene at nearness 0 that appears at `at`.
    pub(super) fn behind(&self, at: Point) -> Point3 {
        let (x, y) = ((at.x - self.at.x) / self.scale, (at.y - self.at.y) / self.scale);
        self.centre + self.aspect.right * x + self.aspect.up * y
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn aspects_look_where_they_say() {
        let toward = |aspect: Aspect| aspect.toward();
        assert_eq!(toward(Aspect::front()), -Vector3::unit_y());
        assert_eq!(toward(Aspect::top()), Vector3::unit_z());
        assert_eq!(toward(Aspect::left()), -Vector3::unit_x());
        let iso = Vector3::new(1.0, -1.0, 1.0).normalize();
        assert!((toward(Aspect::isometric()) - iso).magnitude() < 1e-12);
    }

    #[test]
    fn what_is_seen_is_found_again() {
        let view = View {
            aspect: Aspect::isometric(),
            centre: Point3::new(10.0, -3.0, 7.0),
            at: Point::new(200.0, 100.0),
            scale: 0.2,
        };
        let point = Point3::new(55.0, 21.0, -40.0);
        let (at, near) = view.see(point);
        let found = view.behind(at) + view.aspect.toward() * (near / view.scale);
        assert!((found - point).magnitude() < 1e-9);
    }
}
