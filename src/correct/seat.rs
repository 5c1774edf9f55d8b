//! A bent tube held against the two ports that it should join.

use crate::centreline::{Centreline, LaidRun, TableRow, lay};
use crate::geometry::{Frame, InnerSpace, Point3, Vector3, reference_normal, turned};
use crate::plan::{FromEnd, RunPlan, Seating, forgiven};

/// A bent tube, walked from its first end.
#[derive(Debug, Clone, PartialEq)]
pub struct BentTube {
    /// Its bends: the straight before each, mm, the turn of its plane from that of the bend before, rad, its angle and
    /// its radius.
    pub rows: Vec<TableRow>,
    /// The straight behind the last bend, mm.
    pub rest: f64,
    /// Tube that is cut off at the first and at the last end, mm.
    pub trimmed: [f64; 2],
}

impl BentTube {
    /// Its centreline with the first end, once that is trimmed, at a frame's origin; its first bend turns about the
    /// normal that is turned by `roll`, rad, clockwise.
    pub fn laid(&self, frame: Frame, roll: f64) -> Centreline {
        let normal = turned(frame.normal, frame.direction, roll);
        let mut rows = self.rows.clone();
        let mut rest = self.rest - self.trimmed[1];
        match rows.first_mut() {
            Some(row) => {
                row.length -= self.trimmed[0];
                row.rotation = 0.0;
            }
            None => rest -= self.trimmed[0],
        }
        lay(Frame { normal, ..frame }, &rows, rest)
    }

    /// Where its trimmed last end is, and the way out of it: as [`Self::laid`], of straights that may be less than
    /// nothing too.
    fn end(&self, frame: Frame, roll: f64) -> (Point3, Vector3) {
        let (mut at, mut way) = (frame.origin - frame.direction * self.trimmed[0], frame.direction);
        let mut axis = turned(frame.normal, frame.direction, roll);
        for (index, row) in self.rows.iter().enumerate() {
            at += way * row.length;
            if index > 0 {
                axis = turned(axis, way, row.rotation);
            }
            let centre = at + axis.cross(way) * row.radius;
            at = centre + turned(at - centre, axis, row.angle);
            way = turned(way, axis, row.angle).normalize();
            axis = (axis - way * axis.dot(way)).normalize();
        }
        (at + way * (self.rest - self.trimmed[1]), way)
    }
}

/// The ports of a run, as a tube meets them that is put into the first one first.
#[derive(Debug, Clone)]
pub struct Seat {
    /// The tube's first end as planned: its place, the way the tube goes, the axis of its first bend.
    frame: Frame,
    /// The last end's place, and the way out of the tube there.
    last: (Point3, Vector3),
    seating: std::sync::Arc<Seating>,
}

/// How far the last end is off its port where the first one sits in its own.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Miss {
    /// From its place in the port to where it is, mm.
    pub moved: Vector3,
    /// From the way into the port to the way out of the tube, unit vectors.
    pub turned: Vector3,
}

impl Miss {
    /// How far it is turned, rad.
    pub fn angle(&self) -> f64 {
        2.0 * (self.turned.magnitude() / 2.0).min(1.0).asin()
    }
}

impl Seat {
    /// The seat of a run; `None` where an end has no port and no direction.
    pub fn of(laid: &LaidRun, plan: &RunPlan) -> Option<Self> {
        let ends = [laid.run.from.as_ref()?, laid.run.to.as_ref()?];
        let [from, to] = [(ends[0].at, ends[0].facing?), (ends[1].at, ends[1].facing?)];
        let first = plan.begins_at();
        let bends = laid.centreline.bends();
        let (near, far, axis) = match first {
            FromEnd::Datum => (from, to, bends.first().map(|bend| bend.axis)),
            FromEnd::Other => (to, from, bends.last().map(|bend| -bend.axis)),
        };
        let axis = axis.unwrap_or_else(|| reference_normal(near.1));
        // A tube that is drawn slightly askew in its port: its plane is kept as well as it can be.
        let square = axis - near.1 * axis.dot(near.1);
        let normal = if square.magnitude() > 1e-6 { square.normalize() } else { reference_normal(near.1) };
        let frame = Frame { origin: near.0, direction: near.1, normal };
        let last = (far.0, -far.1);
        let order = |pair: [_; 2]| match first {
            FromEnd::Datum => pair,
            FromEnd::Other => [pair[1], pair[0]],
        };
        let forgiven = order(ends.map(forgiven));
        let seating = Seating::new((frame.origin, frame.direction), last, forgiven, false);
        Some(Seat { frame, last, seating: std::sync::Arc::new(seating) })
    }

    /// The frame of the first end.
    pub fn frame(&self) -> Frame {
        self.frame
    }

    /// How far a tube's last end is off, its first bend turned by `roll` from its planned plane.
    pub fn miss(&self, tube: &BentTube, roll: f64) -> Miss {
        let (at, way) = tube.end(self.frame, roll);
        Miss { moved: at - self.last.0, turned: way - self.last.1 }
    }

    /// How many times what the fittings forgive a tube needs.
    pub fn needs(&self, miss: &Miss) -> f64 {
        self.seating.needs(miss.moved, miss.turned)
    }

    /// Whether a tube goes in.
    pub fn takes(&self, miss: &Miss) -> bool {
        self.seating.takes(miss.moved, miss.turned)
    }

    /// Slopes by the motions of a rigid body but its turning about the first end, which is a number of its own: three
    /// shifts and two tilts.
    pub(super) fn tilts(&self, motions: &[f64; 6]) -> [f64; 5] {
        let [x, y, z, turns @ ..] = motions;
        let about = Vector3::from(turns.to_owned());
        let across = self.frame.direction.cross(self.frame.normal);
        [*x, *y, *z, about.dot(self.frame.normal), about.dot(across)]
    }

    pub(super) fn parts(&self, miss: &Miss) -> Vec<[(f64, [f64; 6]); 2]> {
        self.seating.parts(miss.moved, miss.turned)
    }
}
