//! Tag pairs, a code and a value a line each, as an ASCII DXF file is made of.

use std::fmt::{Display, Write as _};

use crate::drawing::item::Point;

/// Lengths and degrees are rounded to this many digits behind the point: a nanometre, far below any
/// machine's step, so that the last bits of a platform's sine do not show.
const LENGTH_DIGITS: usize = 9;

/// Bulges are pure numbers near 0.1; more digits keep the arc's radius to the same nanometre.
const RATIO_DIGITS: usize = 14;

/// A text of tag pairs that counts its handles up.
pub(super) struct Tags {
    text: String,
    next: u32,
}

impl Tags {
    /// No tags yet; the first handle given out is `handle`.
    pub(super) fn starting_at(handle: u32) -> Self {
        Tags { text: String::new(), next: handle }
    }

    /// A tag with a text or a whole number.
    pub(super) fn text(&mut self, code: u16, value: impl Display) {
        // Writing to a string cannot fail.
        let _ = write!(self.text, "{code:>3}\n{value}\n");
    }

    /// A tag with a length (mm) or an angle (degrees).
    pub(super) fn length(&mut self, code: u16, value: f64) {
        self.number(code, value, LENGTH_DIGITS);
    }

    /// A tag with a pure number.
    pub(super) fn ratio(&mut self, code: u16, value: f64) {
        self.number(code, value, RATIO_DIGITS);
    }

    fn number(&mut self, code: u16, value: f64, digits: usize) {
        let mut number = format!("{value:.digits$}");
        let kept = number.trim_end_matches('0').len();
        number.truncate(kept);
        if number.ends_with('.') {
            number.push('0');
        }
        self.text(code, if number == "-0.0" { "0.0" } else { &number });
    }

    /// A point on the drawing plane: `code`, `code` + 10 and `code` + 20.
    pub(super) fn point(&mut self, code: u16, at: Point) {
        self.length(code, at.x);
        self.length(code + 10, at.y);
        self.length(code + 20, 0.0);
    }

    /// The next free handle.
    pub(super) fn handle(&mut self) {
        let handle = self.next;
        self.next += 1;
        self.known_handle(handle);
    }

    /// A handle that others refer to.
    pub(super) fn known_handle(&mut self, handle: u32) {
        self.text(5, format_args!("{handle:X}"));
    }

    /// The handle of the owner.
    pub(super) fn owner(&mut self, handle: u32) {
        self.text(330, format_args!("{handle:X}"));
    }

    /// The handle that would be given out next.
    pub(super) fn next_handle(&self) -> u32 {
        self.next
    }

    /// Adds the finished tags of another.
    pub(super) fn append(&mut self, other: &Tags) {
        self.text.push_str(&other.text);
    }

    /// The file.
    pub(super) fn into_bytes(self) -> Vec<u8> {
        self.text.into_bytes()
    }
}
