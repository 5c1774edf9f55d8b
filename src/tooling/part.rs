//! Parts cut from a sheet, and works made of several of them.

use crate::flat::{Line, Path, Point};
use crate::geometry::Placement;

/// Purposes of round holes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// A dowel pin, a push fit.
    Dowel,
    /// A bolt, with clearance.
    Bolt,
}

/// A hole through a part.
#[derive(Debug, Clone, PartialEq)]
pub enum Opening {
    /// A round hole.
    Round {
        /// Centre.
        at: Point,
        /// Diameter, mm.
        diameter: f64,
        /// Its purpose.
        purpose: Purpose,
    },
    /// A hole of any shape: a closed contour, counter-clockwise.
    Slot(Path),
}

/// One line of engraved words, centred on a point both ways.
#[derive(Debug, Clone, PartialEq)]
pub struct Words {
    /// Middle.
    pub at: Point,
    /// Height of capitals, mm.
    pub height: f64,
    /// Direction of reading, rad.
    pub angle: f64,
    /// The words.
    pub content: String,
}

/// Engraving of a part's upper face (the one that looks along +z).
#[derive(Debug, Clone, PartialEq)]
pub enum Engraving {
    /// A straight stroke.
    Line(Line),
    /// An open or closed stroke of lines and arcs.
    Stroke(Path),
    /// Words.
    Words(Words),
}

/// A part cut from a sheet, in its own plane. Its material fills 0 ≤ z ≤ thickness of the sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Name as engraved and listed: "L3", "C1", "base".
    pub name: String,
    /// Outer contour as designed: closed, counter-clockwise.
    pub outline: Path,
    /// Holes as designed.
    pub openings: Vec<Opening>,
    /// Engraving.
    pub marks: Vec<Engraving>,
}

/// A part standing in space: (x, y) of the part and its thickness go along x, y and the axis of `at`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Posed {
    /// Position among the work's parts.
    pub part: usize,
    /// Where its origin and axes are.
    pub at: Placement,
}

/// Something made of parts of one sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetWork {
    /// Name, fit for a path and engraved on every part.
    pub name: String,
    /// Thickness of the sheet, mm.
    pub thickness: f64,
    /// The parts, each to be cut once.
    pub parts: Vec<Part>,
    /// Where they stand when put together.
    pub posed: Vec<Posed>,
}
