//! Finding room for engraved words: boxes that keep off the edge, the holes and each other.

use super::holes::Hole;
use super::plate::Plate;
use crate::drawing::item::Point;

/// Room kept around every engraved word, mm.
const GAP_MM: f64 = 1.0;

/// Room kept between a word and the plate's edge or a hole, mm.
const EDGE_MM: f64 = 1.8;

/// Places are tried on a raster of this many steps along each side of the plate.
const STEPS: i32 = 40;

/// A turned rectangle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Label {
    /// Centre.
    pub(super) centre: Point,
    /// Width along `angle`, mm.
    pub(super) width: f64,
    /// Height square to it, mm.
    pub(super) height: f64,
    /// Direction of the width, rad.
    pub(super) angle: f64,
}

impl Label {
    /// A thin box along a line.
    pub(super) fn along(from: Point, to: Point) -> Self {
        Label {
            centre: Point::new((from.x + to.x) / 2.0, (from.y + to.y) / 2.0),
            width: from.distance(to),
            height: 0.2,
            angle: (to.y - from.y).atan2(to.x - from.x),
        }
    }

    fn corners(&self) -> [Point; 4] {
        let up = self.angle + std::f64::consts::FRAC_PI_2;
        let at = |w: f64, h: f64| self.centre.polar(w, self.angle).polar(h, up);
        let (w, h) = (self.width / 2.0, self.height / 2.0);
        [at(-w, -h), at(w, -h), at(w, h), at(-w, h)]
    }

    /// Distance from a point to the box, mm; 0 inside.
    fn distance(&self, at: Point) -> f64 {
        let (sin, cos) = self.angle.sin_cos();
        let (dx, dy) = (at.x - self.centre.x, at.y - self.centre.y);
        let along = ((dx * cos + dy * sin).abs() - self.width / 2.0).max(0.0);
        let across = ((dy * cos - dx * sin).abs() - self.height / 2.0).max(0.0);
        along.hypot(across)
    }

    /// Whether two boxes come nearer than `gap` mm, by separating axes (a little wide at corners).
    fn meets(&self, other: &Label, gap: f64) -> bool {
        [self.angle, other.angle].iter().all(|angle| {
            [0.0, std::f64::consts::FRAC_PI_2].iter().all(|quarter| {
                let (sin, cos) = (angle + quarter).sin_cos();
                let span = |label: &Label| {
                    label
                        .corners()
                        .iter()
                        .map(|p| p.x * cos + p.y * sin)
                        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
                            (low.min(value), high.max(value))
                        })
                };
                let (a, b) = (span(self), span(other));
                a.0 < b.1 + gap && b.0 < a.1 + gap
            })
        })
    }
}

/// A plate with everything put on it so far.
pub(super) struct Room<'a> {
    plate: &'a Plate,
    holes: &'a [Hole],
    taken: Vec<Label>,
}

impl<'a> Room<'a> {
    /// A plate with its holes and nothing engraved.
    pub(super) fn new(plate: &'a Plate, holes: &'a [Hole]) -> Self {
        Room { plate, holes, taken: Vec::new() }
    }

    /// Takes the room of a mark, free or not.
    pub(super) fn take(&mut self, label: Label) {
        self.taken.push(label);
    }

    /// Whether a word fits.
    pub(super) fn is_free(&self, label: &Label) -> bool {
        label.corners().iter().all(|&corner| self.plate.clearance(corner) >= EDGE_MM)
            && self.holes.iter().all(|hole| label.distance(hole.at) >= hole.diameter / 2.0 + EDGE_MM)
            && !self.taken.iter().any(|other| label.meets(other, GAP_MM))
    }

    /// Takes the room of a word if it fits there.
    pub(super) fn try_take(&mut self, label: Label) -> bool {
        let free = self.is_free(&label);
        if free {
            self.taken.push(label);
        }
        free
    }

    /// The free place for such a box that is nearest to where it stands, taken.
    pub(super) fn nearest(&mut self, label: Label) -> Option<Label> {
        let (min, max) = self.plate.bounds();
        let part = |low: f64, high: f64, step: i32| low + (high - low) * f64::from(step) / f64::from(STEPS);
        let raster = (0..=STEPS)
            .flat_map(|row| (0..=STEPS).map(move |column| (row, column)))
            .map(|(row, column)| Point::new(part(min.x, max.x, column), part(min.y, max.y, row)));
        let mut places: Vec<Point> = std::iter::once(label.centre).chain(raster).collect();
        places.sort_by(|a, b| a.distance(label.centre).total_cmp(&b.distance(label.centre)));
        let found =
            places.into_iter().map(|centre| Label { centre, ..label }).find(|there| self.is_free(there))?;
        self.taken.push(found);
        Some(found)
    }
}
