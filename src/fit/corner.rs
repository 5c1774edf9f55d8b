//! Advice on the corner next to an end of a run: the place where it belongs, or the other end that was meant.

use super::slips::{direction, point};
use crate::centreline::{LaidRun, Layout};
use crate::geometry::{InnerSpace, MetricSpace, Point3, Vector3};
use crate::quantity::Unit;
use crate::spec::model::{Component, Corner, End, Placed, Port, RunPath};
use crate::tolerance::NO_STRAIGHT_MM;

/// Two lines that pass each other nearer than this cross, mm: coordinates are typed to a tenth of a millimetre.
const CROSSING_MM: f64 = 0.1;

/// A radius from so many outside diameters on is none too small: the least published for copper tube up to 28 mm are
/// smaller (DVGW GW 392: 55 mm for 15 mm, 114 mm for 28 mm).
const LEAST_CLRS: f64 = 4.1;

/// The directions of the axes.
const AXES: [[f64; 3]; 6] =
    [[1.0, 0.0, 0.0], [-1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, -1.0, 0.0], [0.0, 0.0, 1.0], [0.0, 0.0, -1.0]];

/// The other orders of three coordinates.
const SWAPPED: [[usize; 3]; 5] = [[1, 0, 2], [0, 2, 1], [2, 1, 0], [1, 2, 0], [2, 0, 1]];

/// The corner next to an end of a run.
pub(super) struct NextCorner<'a> {
    layout: &'a Layout,
    laid: &'a LaidRun,
    end: &'a End,
    at_start: bool,
    corner: Corner,
    /// Its number, from 1.
    number: usize,
    /// Whether it is the only one.
    is_only: bool,
}

impl<'a> NextCorner<'a> {
    /// `None` where the run has no corners.
    pub(super) fn of(layout: &'a Layout, laid: &'a LaidRun, end: &'a End, at_start: bool) -> Option<Self> {
        let RunPath::Corners(corners) = &laid.run.path else { return None };
        let number = if at_start { 1 } else { corners.len() };
        let corner = *corners.get(number.checked_sub(1)?)?;
        Some(NextCorner { layout, laid, end, at_start, corner, number, is_only: corners.len() == 1 })
    }

    /// Advice where the corner is not on the way the end faces.
    pub(super) fn on_the_way(&self, facing: Vector3) -> String {
        let number = self.number;
        if let Some(place) = self.crossing() {
            return format!(
                "the lines straight out of both ends cross at [{}]: put corner {number} there{}",
                self.point(place),
                self.written(place, facing)
            );
        }
        let is_by_point = self.corner.by == Placed::Point;
        if let Some(place) = self.swapped().filter(|_| is_by_point) {
            return format!(
                "are coordinates of corner {number} swapped? At [{}] it lies straight out of the port",
                self.point(place)
            );
        }
        if let Some(way) = self.other_facing(facing).filter(|_| is_by_point) {
            let written = as_written(&self.layout.components, self.end, way);
            return format!(
                "corner {number} lies straight out along [{}], and the port faces [{}]: write `facing: [{}]`",
                direction(way),
                direction(facing),
                direction(written)
            );
        }
        if let Some(port) = self.other_port() {
            let key = if self.at_start { "from" } else { "to" };
            return format!(
                "corner {number} lies straight out of another port: did you mean `{key}: {port}`?"
            );
        }
        let along = (self.corner.at - self.end.face).dot(facing);
        if along < NO_STRAIGHT_MM {
            let lies = lies(along);
            let front = self.end.face + facing * self.usual_way_out();
            return format!(
                "corner {number} lies {lies} the port's face, which faces [{}]: move it in front, such as to [{}]{}",
                direction(facing),
                self.point(front),
                self.written(front, facing)
            );
        }
        let on_axis = self.end.face + facing * along;
        let (place, written) = (self.point(on_axis), self.written(on_axis, facing));
        if self.is_only && self.other_end().is_some_and(|other| is_straight_out_of(other, self.corner.at)) {
            let side = if self.at_start { "before" } else { "after" };
            return format!(
                "corner 1 lies straight out of the other end, not of this one: add a corner [{place}] {side} it{written}"
            );
        }
        if self.lacks_another(on_axis) {
            let side = if self.at_start { "before" } else { "after" };
            return format!(
                "corner {number} does not lie straight out of the port: a corner is missing {side} it; add [{place}]{written}"
            );
        }
        format!("corner {number} belongs on the line straight out of the port: put it at [{place}]{written}")
    }

    /// A point on the line out of the port as a corner that is counted from there is written, after the point itself.
    fn written(&self, at: Point3, facing: Vector3) -> String {
        if self.corner.by == Placed::Point {
            return String::new();
        }
        let key = if self.at_start { "out" } else { "in" };
        format!(", which is `{{{key}: {}}}`", self.unit().number((at - self.end.face).dot(facing)))
    }

    /// Whether the corner has its place from elsewhere, and there is room for another between it and a place on the line
    /// out of the port.
    fn lacks_another(&self, on_axis: Point3) -> bool {
        let is_from_elsewhere = match self.corner.by {
            Placed::Point => false,
            Placed::Out => !self.at_start,
            Placed::In => self.at_start,
            Placed::Step => !self.at_start,
        };
        // Two bends of 90° take as much.
        is_from_elsewhere && self.corner.at.distance(on_axis) >= 2.0 * self.laid.run.bender.clr
    }

    /// A way out of the port that has room for what its fitting needs and for a bend of 90°, mm.
    fn usual_way_out(&self) -> f64 {
        let fitting = self.end.fitting.as_ref();
        let straight = fitting.map_or(0.0, |fitting| fitting.straight_outside().max(fitting.slide_back));
        self.laid.run.bender.clr + straight
    }

    /// Advice where the straight between the end, which messages call `port`, and the corner lacks `short` mm, and the
    /// corner cannot be moved: it lies straight out of both ends.
    pub(super) fn further_off(&self, port: &str, short: f64) -> Option<String> {
        let takes = |end: &End| end.takes(self.corner.at) == Some(true);
        if !(self.is_only && takes(self.end) && takes(self.other_end()?)) {
            return None;
        }
        let unit = self.unit();
        let bend = self.laid.centreline.bends().first()?;
        let most = bend.radius - short / (bend.angle / 2.0).tan();
        let smaller = if most >= LEAST_CLRS * self.laid.run.tube.od() {
            format!(", or give the corner a `clr` of at most {}", unit.length_down(most, 1))
        } else {
            String::new()
        };
        Some(format!(
            "corner 1 has its place, straight out of both ends: move {port} away from it by {}{smaller}",
            unit.length_up(short, 1)
        ))
    }

    fn unit(&self) -> Unit {
        self.layout.units
    }

    fn point(&self, at: Point3) -> String {
        point(at, self.unit())
    }

    fn other_end(&self) -> Option<&End> {
        let run = &self.laid.run;
        if self.at_start { run.to.as_ref() } else { run.from.as_ref() }
    }

    /// Where the lines straight out of both ends cross, for the only corner.
    fn crossing(&self) -> Option<Point3> {
        let other = self.other_end().filter(|_| self.is_only)?;
        let (way, across) = (self.end.facing?, other.facing?);
        let (apart, cosine) = (other.face - self.end.face, way.dot(across));
        let sine2 = 1.0 - cosine * cosine;
        if sine2 < 1e-9 {
            return None;
        }
        let along = (apart.dot(way) - apart.dot(across) * cosine) / sine2;
        let back = (apart.dot(way) * cosine - apart.dot(across)) / sine2;
        let (here, there) = (self.end.face + way * along, other.face + across * back);
        let crosses = along > NO_STRAIGHT_MM && back > NO_STRAIGHT_MM && here.distance(there) < CROSSING_MM;
        crosses.then_some(here)
    }

    /// The corner with coordinates swapped, where that lies straight out of the end.
    fn swapped(&self) -> Option<Point3> {
        let at: [f64; 3] = self.corner.at.into();
        let orders = SWAPPED.into_iter().map(|order| Point3::from(order.map(|index| at[index])));
        orders.into_iter().find(|point| self.end.takes(*point) == Some(true))
    }

    /// The axis along which the corner lies straight out, where that leaves the end's own component.
    fn other_facing(&self, facing: Vector3) -> Option<Vector3> {
        let own = component_of(&self.layout.components, self.end);
        let shapes = own.map_or(&[][..], |component| &component.shapes);
        let ways = AXES.into_iter().map(Vector3::from).chain([-facing]);
        ways.into_iter().find(|&way| {
            self.end.turned_to(way).takes(self.corner.at) == Some(true)
                && shapes.iter().all(|shape| shape.is_left_along(self.end.face, way))
        })
    }

    /// A port where no run ends and that the corner lies straight out of.
    fn other_port(&self) -> Option<String> {
        self.end.port.as_ref()?;
        let ends = || self.layout.runs.iter().flat_map(|laid| [&laid.run.from, &laid.run.to]);
        let is_used = |name: &String| ends().flatten().any(|end| end.port.as_ref() == Some(name));
        ports(&self.layout.components)
            .filter(|(name, _, port)| {
                End::in_port(port, name.clone(), self.end.place).takes(self.corner.at) == Some(true)
            })
            .map(|(name, _, _)| name)
            .find(|name| !is_used(name))
    }
}

/// The ports of components with their full names.
fn ports(components: &[Component]) -> impl Iterator<Item = (String, &Component, &Port)> {
    components.iter().flat_map(|component| {
        component.ports.iter().map(move |port| (format!("{}.{}", component.name, port.name), component, port))
    })
}

/// The component that the port of an end belongs to.
fn component_of<'c>(components: &'c [Component], end: &End) -> Option<&'c Component> {
    let own = end.port.as_ref()?;
    ports(components).find(|(name, _, _)| name == own).map(|(_, component, _)| component)
}

/// A way in space as the spec writes it at the port of an end.
pub(super) fn as_written(components: &[Component], end: &End, way: Vector3) -> Vector3 {
    component_of(components, end).map_or(way, |component| component.as_written(way))
}

/// The side of a port's face that a point lies on, `along` mm in front of it, in words for one that is not in front.
pub(super) fn lies(along: f64) -> &'static str {
    if along > -NO_STRAIGHT_MM { "level with" } else { "behind" }
}

/// Whether a corner lies in front of an end that faces somewhere, on the line out of it.
fn is_straight_out_of(end: &End, corner: Point3) -> bool {
    let out = corner - end.face;
    end.facing.is_some_and(|facing| {
        let along = out.dot(facing);
        along > NO_STRAIGHT_MM && (out - facing * along).magnitude() < NO_STRAIGHT_MM
    })
}
