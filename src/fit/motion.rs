//! A part moved along a line and about one.

use crate::geometry::{Point3, Vector3};
use crate::spec::model::Rotation;

/// A part that was turned about a line and shifted.
#[derive(Debug, Clone, Copy)]
pub(super) struct Motion {
    turn: Option<Rotation>,
    shift: Vector3,
}

impl Motion {
    /// None.
    pub(super) const STILL: Motion = Motion { turn: None, shift: Vector3::new(0.0, 0.0, 0.0) };

    /// A point, moved.
    pub(super) fn point(&self, point: Point3) -> Point3 {
        self.turn.map_or(point, |turn| turn.point(point)) + self.shift
    }

    /// A direction, moved.
    pub(super) fn direction(&self, direction: Vector3) -> Vector3 {
        self.turn.map_or(direction, |turn| turn.direction(direction))
    }

    /// How far it was shifted, mm.
    pub(super) fn shift_of(&self) -> Vector3 {
        self.shift
    }

    /// The same, seen from something that was shifted itself.
    pub(super) fn seen_from(self, shift: Vector3) -> Motion {
        Motion { shift: self.shift - shift, ..self }
    }

    /// The same with another turn.
    pub(super) fn turned(self, turn: Rotation) -> Motion {
        Motion { turn: Some(turn), ..self }
    }

    /// The same, shifted further, mm.
    pub(super) fn shifted(self, by: Vector3) -> Motion {
        Motion { shift: self.shift + by, ..self }
    }
}
