//! Finding room on a form's face: boxes that keep off the edge, the holes and each other.

use super::body::{Body, Inside};
use crate::flat::{Path, Point};
use crate::tooling::Purpose;

/// Room kept around everything that is marked, mm.
pub(super) const GAP_MM: f64 = 1.0;

/// Places are tried on a raster of this many steps along each side of the body.
const STEPS: i32 = 40;

/// A turned rectangle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct TurnedRect {
    /// Centre.
    pub(super) centre: Point,
    /// Width along `angle`, mm.
    pub(super) width: f64,
    /// Height square to it, mm.
    pub(super) height: f64,
    /// Direction of the width, rad.
    pub(super) angle: f64,
}

impl TurnedRect {
    /// A box along a line.
    pub(super) fn along(from: Point, to: Point, height: f64) -> Self {
        TurnedRect {
            centre: Point::new((from.x + to.x) / 2.0, (from.y + to.y) / 2.0),
            width: from.distance(to),
            height,
            angle: (to.y - from.y).atan2(to.x - from.x),
        }
    }

    /// Corners, counter-clockwise.
    pub(super) fn corners(&self) -> [Point; 4] {
        self.corners_by(self.turned())
    }

    /// Unit vectors along its width and its height.
    fn turned(&self) -> [Point; 2] {
        [self.angle, self.angle + std::f64::consts::FRAC_PI_2].map(|angle| {
            let (sin, cos) = angle.sin_cos();
            Point::new(cos, sin)
        })
    }

    /// The corners of a rectangle with these unit vectors: they are the same wherever it lies.
    fn corners_by(&self, [along, up]: [Point; 2]) -> [Point; 4] {
        let Point { x, y } = self.centre;
        let at = |w: f64, h: f64| Point::new(x + w * along.x + h * up.x, y + w * along.y + h * up.y);
        let (w, h) = (self.width / 2.0, self.height / 2.0);
        [at(-w, -h), at(w, -h), at(w, h), at(-w, h)]
    }

    /// Its contour, counter-clockwise.
    pub(super) fn path(&self) -> Path {
        Path::polygon(self.corners())
    }

    /// The same box, wider by `by` mm on every side.
    pub(super) fn grown(&self, by: f64) -> Self {
        TurnedRect { width: self.width + 2.0 * by, height: self.height + 2.0 * by, ..*self }
    }

    /// Distance from a point to the box, mm; 0 inside.
    pub(super) fn distance(&self, at: Point) -> f64 {
        let (sin, cos) = self.angle.sin_cos();
        let (dx, dy) = (at.x - self.centre.x, at.y - self.centre.y);
        let along = ((dx * cos + dy * sin).abs() - self.width / 2.0).max(0.0);
        let across = ((dy * cos - dx * sin).abs() - self.height / 2.0).max(0.0);
        along.hypot(across)
    }

    /// Whether two boxes come nearer than `gap` mm, by separating axes (a little wide at corners).
    pub(super) fn meets(&self, other: &TurnedRect, gap: f64) -> bool {
        [self.angle, other.angle].iter().all(|angle| {
            [0.0, std::f64::consts::FRAC_PI_2].iter().all(|quarter| {
                let (sin, cos) = (angle + quarter).sin_cos();
                let span = |label: &TurnedRect| {
                    let along = label.corners().map(|p| p.x * cos + p.y * sin);
                    let low = along.iter().copied().fold(f64::INFINITY, f64::min);
                    (low, along.iter().copied().fold(f64::NEG_INFINITY, f64::max))
                };
                let (a, b) = (span(self), span(other));
                a.0 < b.1 + gap && b.0 < a.1 + gap
            })
        })
    }
}

/// A round hole: centre, diameter (mm), purpose.
pub(super) type Hole = (Point, f64, Purpose);

/// A face with everything put on it so far.
#[derive(Debug, Clone)]
pub(super) struct Room<'a> {
    inside: Inside<'a>,
    holes: &'a [Hole],
    /// Room kept to the edge and to holes, mm.
    edge: f64,
    taken: Vec<TurnedRect>,
}

impl<'a> Room<'a> {
    /// A face with its holes and nothing marked; `edge` mm are kept to edges and holes.
    pub(super) fn new(
        body: &'a Body,
        radius: f64,
        holes: &'a [Hole],
        slot: Option<TurnedRect>,
        edge: f64,
    ) -> Self {
        Room {
            inside: body.inside(radius),
            holes,
            edge,
            taken: slot.map(|slot| slot.grown(edge)).into_iter().collect(),
        }
    }

    /// Takes the room of a mark, free or not.
    pub(super) fn take(&mut self, label: TurnedRect) {
        self.taken.push(label);
    }

    /// Whether a box keeps off the holes and what is there already.
    fn is_clear(&self, label: &TurnedRect) -> bool {
        self.holes.iter().all(|(at, diameter, _)| label.distance(*at) >= diameter / 2.0 + self.edge)
            && !self.taken.iter().any(|other| label.meets(other, GAP_MM))
    }

    fn is_free(&self, label: &TurnedRect) -> bool {
        self.keeps_in(&label.corners()) && self.is_clear(label)
    }

    /// Whether all corners of a box keep off the edge.
    fn keeps_in(&self, corners: &[Point]) -> bool {
        corners.iter().all(|&corner| self.inside.keeps(corner, self.edge))
    }

    /// Takes the room of all boxes if all of them fit there; they may be nearer to each other.
    pub(super) fn try_take(&mut self, labels: &[TurnedRect]) -> bool {
        let free = labels.iter().all(|label| self.is_free(label));
        if free {
            self.taken.extend(labels);
        }
        free
    }

    /// The same for strokes that begin at the rim.
    pub(super) fn try_take_at_rim(&mut self, labels: &[TurnedRect]) -> bool {
        let free = labels.iter().all(|label| self.is_clear(label));
        if free {
            self.taken.extend(labels);
        }
        free
    }

    /// The free place for such a box that is nearest to where it stands, taken.
    pub(super) fn nearest(&mut self, label: TurnedRect) -> Option<TurnedRect> {
        let (min, max) = self.inside.body.bounds();
        let part = |low: f64, high: f64, step: i32| low + (high - low) * f64::from(step) / f64::from(STEPS);
        let raster = (0..=STEPS)
            .flat_map(|row| (0..=STEPS).map(move |column| (row, column)))
            .map(|(row, column)| Point::new(part(min.x, max.x, column), part(min.y, max.y, row)));
        // Of places equally far the first is taken. Only a place nearer than the best so far is looked at.
        let turned = label.turned();
        let mut best: Option<(f64, TurnedRect)> = None;
        for centre in std::iter::once(label.centre).chain(raster) {
            let (away, there) = (centre.distance(label.centre), TurnedRect { centre, ..label });
            if best.is_none_or(|(least, _)| away < least)
                && self.keeps_in(&there.corners_by(turned))
                && self.is_clear(&there)
            {
                best = Some((away, there));
            }
        }
        let (_, found) = best?;
        self.taken.push(found);
        Some(found)
    }
}
