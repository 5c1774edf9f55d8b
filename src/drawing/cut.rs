//! Sheet parts as a cutter takes them: nested on sheets, with nominal contours, contours with the kerf
//! taken up, holes to drill and engraving, each on its layer.

use super::item::Drawing;
use crate::spec::model::SheetStock;
use crate::tooling::SheetWork;
use crate::tooling::form::Form;
use crate::tooling::jig::Jig;

/// Why parts cannot be drawn for a cutter.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CutFault {
    /// A contour from which the kerf cannot be taken.
    #[error("the kerf of part {0} cannot be taken up")]
    Kerf(String),
}

/// All parts of a work nested on sheets, which stand side by side, and `notes` below them.
///
/// # Errors
/// [`CutFault::Kerf`] when a part is narrower somewhere than the cut is wide.
pub fn sheets(_work: &SheetWork, _stock: &SheetStock, _notes: &[String]) -> Result<Drawing, CutFault> {
    Ok(Drawing::new())
}

/// What to know when cutting a form's layers.
pub fn form_notes(_form: &Form, _stock: &SheetStock) -> Vec<String> {
    Vec::new()
}

/// What to know when cutting a jig's parts.
pub fn jig_notes(_jig: &Jig, _stock: &SheetStock) -> Vec<String> {
    Vec::new()
}

/// What to know when cutting and reading the comb.
pub fn comb_notes(_stock: &SheetStock) -> Vec<String> {
    Vec::new()
}
