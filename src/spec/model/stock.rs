//! Tube as bought.

use strum::{IntoStaticStr, VariantArray};

use crate::diagnostic::Span;
use crate::tolerance::is_same_size;

/// How tube is sold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum StockForm {
    /// Straight lengths.
    #[default]
    Stick,
    /// Coils.
    Coil,
}

impl StockForm {
    /// As written in a spec.
    pub fn name(self) -> &'static str {
        self.into()
    }
}

/// What is cut off a coil more than a piece needs: its ends stay bent, and are cut off once the rest is straight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Straighten {
    /// A part of the piece, 1.
    Part(f64),
    /// A length, mm.
    Length(f64),
    /// Of a coil where nothing is written: 3 % of the piece, but 30 mm at least, so that a tube cutter finds hold at
    /// both ends (common practice, no source).
    OfCoil,
}

/// The part of a piece, 1, and the least length, mm, of [`Straighten::OfCoil`].
pub const OF_COIL: (f64, f64) = (0.03, 30.0);

impl Straighten {
    /// Where nothing is written: nothing for straight lengths.
    pub fn usual(form: StockForm) -> Self {
        match form {
            StockForm::Stick => Straighten::Length(0.0),
            StockForm::Coil => Straighten::OfCoil,
        }
    }

    /// How much that is for a piece of this length, mm.
    pub fn of(self, length: f64) -> f64 {
        match self {
            Straighten::Part(part) => part * length,
            Straighten::Length(more) => more,
            Straighten::OfCoil => (OF_COIL.0 * length).max(OF_COIL.1),
        }
    }
}

/// Tube as bought.
#[derive(Debug, Clone, PartialEq)]
pub struct Stock {
    /// Outside diameter and wall of the tube it is, mm; `None` for every tube no other stock names.
    pub section: Option<(f64, f64)>,
    /// How it is sold.
    pub form: StockForm,
    /// Length of one new piece, mm.
    pub length: f64,
    /// Width of the cut, mm.
    pub kerf: f64,
    /// What is cut off more for each piece, to be straightened.
    pub straighten: Straighten,
    /// How many new pieces there are; `None` for as many as needed.
    pub count: Option<usize>,
    /// Lengths of pieces left over from earlier, mm: cut into where that saves new tube.
    pub leftovers: Vec<f64>,
    /// Where the spec says so.
    pub place: Span,
}

impl Stock {
    /// Whether it names the tube of this outside diameter and wall, mm.
    pub fn names(&self, od: f64, wall: f64) -> bool {
        self.section
            .is_some_and(|(own_od, own_wall)| is_same_size(own_od, od) && is_same_size(own_wall, wall))
    }
}
