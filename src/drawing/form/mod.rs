//! How a form is put together: the stack in section, its layers, the block and what to mind.

use super::sheet::{Paper, Sheet};
use crate::centreline::Layout;
use crate::tooling::form::Form;

/// The assembly drawing of a form's stack of sheets.
pub fn sheets(_form: &Form, _layout: &Layout, _paper: &Paper) -> Vec<Sheet> {
    Vec::new()
}
