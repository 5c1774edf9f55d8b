//! Tubes on the bench: runs that the spec puts nowhere. Where all runs are shown together they lie beside the
//! others.

use super::{Centreline, LaidRun, Layout};
use crate::geometry::{EuclideanSpace, Placement, Point3, Vector3};
use crate::spec::model::Shape;

/// Least room round a tube on the bench, mm, and as a part of the size of what it lies beside.
const ROOM_MM: f64 = 30.0;
const ROOM: f64 = 0.06;

/// Faces of ports are drawn up to this much larger than the tube that goes in, and hang over their component.
const PORT_ROOM: f64 = 1.5;

impl LaidRun {
    /// Whether the spec says where in the world the run lies. A bend table without ends is a tube on the bench.
    pub fn has_place(&self) -> bool {
        self.run.from.is_some() || self.run.to.is_some()
    }
}

/// Tubes on the bench in one column; the next column lies on its right.
const COLUMN: usize = 50;

impl Layout {
    /// The layout as it is shown in one picture or assembly: tubes on the bench lie before and below everything that
    /// has a place, and before and below each other, so that from the front, from above and from the side none is
    /// in line with another; of more than fifty, the next fifty lie on their right. Each keeps its direction; without
    /// anything that has a place the first stays where it is.
    #[must_use]
    pub fn shown_together(&self) -> Layout {
        let mut shown = self.clone();
        let mut column: Option<Column> = Extent::of_placed(self).map(Column::below);
        for laid in shown.runs.iter_mut().filter(|laid| !laid.has_place()) {
            let own = Extent::of_run(laid);
            match &mut column {
                Some(column) => laid.centreline = shifted(&laid.centreline, column.next(&own)),
                None => column = Some(Column::below(own)),
            }
        }
        shown
    }
}

/// Where the next tube on the bench goes.
struct Column {
    /// The box that all tubes of the column lie below.
    head: Extent,
    /// Between tubes, mm: the same for all, so that many do not run away.
    room: f64,
    left: f64,
    right: f64,
    /// Lowest y and z so far.
    low: (f64, f64),
    count: usize,
}

impl Column {
    fn below(head: Extent) -> Column {
        let left = head.low.x;
        Column { head, room: head.room(), left, right: left, low: (head.low.y, head.low.z), count: 0 }
    }

    /// By how much to move a tube of this box.
    fn next(&mut self, own: &Extent) -> Vector3 {
        if self.count == COLUMN {
            self.left = self.right + self.room;
            self.low = (self.head.low.y, self.head.low.z);
            self.count = 0;
        }
        let by = Vector3::new(
            self.left - own.low.x,
            self.low.0 - self.room - own.high.y,
            self.low.1 - self.room - own.high.z,
        );
        self.low = (own.low.y + by.y, own.low.z + by.z);
        self.right = self.right.max(own.high.x + by.x);
        self.count += 1;
        by
    }
}

fn shifted(centreline: &Centreline, by: Vector3) -> Centreline {
    let origin = Point3::from_vec(by);
    centreline.moved(&Placement { origin, axis: Vector3::unit_z(), x: Vector3::unit_x() })
}

/// A box in space.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Extent {
    low: Point3,
    high: Point3,
}

impl Extent {
    /// The box round balls of `reach` mm at some points.
    fn around(points: impl Iterator<Item = Point3>, reach: f64) -> Option<Extent> {
        let ball = |p: Point3| {
            let reach = Vector3::new(reach, reach, reach);
            Extent { low: p - reach, high: p + reach }
        };
        points.map(ball).reduce(|a, b| a.with(&b))
    }

    fn with(&self, other: &Extent) -> Extent {
        let pick =
            |a: Point3, b: Point3, f: fn(f64, f64) -> f64| Point3::new(f(a.x, b.x), f(a.y, b.y), f(a.z, b.z));
        Extent { low: pick(self.low, other.low, f64::min), high: pick(self.high, other.high, f64::max) }
    }

    /// A box round a run: balls round its ends, and round the middle of each bend one that holds the whole bend.
    fn of_run(laid: &LaidRun) -> Extent {
        let line = &laid.centreline;
        let reach = laid.run.tube.outer_radius();
        let bends = line.bends().iter().filter_map(|bend| {
            // Its ends are the furthest from its middle: by the chord of half its angle.
            let middle = line.point_at(bend.middle());
            let chord = 2.0 * bend.radius * (bend.angle / 4.0).sin();
            Extent::around([middle].into_iter(), reach + chord)
        });
        let ball = Vector3::new(reach, reach, reach);
        let end = |p: Point3| Extent { low: p - ball, high: p + ball };
        bends.fold(end(line.start()).with(&end(line.end())), |all, bend| all.with(&bend))
    }

    /// The box of everything that the spec gives a place; `None` where nothing has one.
    fn of_placed(layout: &Layout) -> Option<Extent> {
        let runs = layout.runs.iter().filter(|laid| laid.has_place()).map(Extent::of_run);
        let largest = layout.runs.iter().map(|laid| laid.run.tube.od()).fold(10.0, f64::max);
        let components = layout.components.iter().filter_map(|component| {
            let shapes = component.shapes.iter().filter_map(|shape| match shape {
                Shape::Box { place, size } => {
                    Extent::around(Shape::box_corners(place, *size).into_iter(), 0.0)
                }
                Shape::Cylinder { from, to, diameter } => {
                    Extent::around([*from, *to].into_iter(), diameter / 2.0)
                }
                Shape::Mesh(mesh) => Extent::around(mesh.corners(), 0.0),
            });
            let faces = component.ports.iter().filter_map(|port| {
                let tube = port.fitting.as_ref().map_or(largest, |fitting| fitting.tube_od);
                Extent::around([port.at].into_iter(), PORT_ROOM * tube / 2.0)
            });
            shapes.chain(faces).reduce(|a, b| a.with(&b))
        });
        runs.chain(components).reduce(|a, b| a.with(&b))
    }

    /// Room that shows that something lies apart, mm.
    fn room(&self) -> f64 {
        let size = self.high - self.low;
        ROOM_MM.max(ROOM * size.x.max(size.y).max(size.z))
    }
}
