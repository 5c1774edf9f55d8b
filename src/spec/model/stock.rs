//! Tube as bought.

use strum::{IntoStaticStr, VariantArray};

use crate::diagnostic::Span;
use crate::tolerance::SAME_SIZE_MM;

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
    /// How many new pieces there are; `None` for as many as needed.
    pub count: Option<usize>,
    /// Lengths of pieces left over from earlier, mm: used before new ones.
    pub leftovers: Vec<f64>,
    /// Where the spec says so.
    pub place: Span,
}

impl Stock {
    /// Whether it names the tube of this outside diameter and wall, mm.
    pub fn names(&self, od: f64, wall: f64) -> bool {
        let same = |a: f64, b: f64| (a - b).abs() < SAME_SIZE_MM;
        self.section.is_some_and(|(own_od, own_wall)| same(own_od, od) && same(own_wall, wall))
    }
}
