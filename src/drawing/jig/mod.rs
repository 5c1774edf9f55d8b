//! How a checking jig is put together and used.

use super::sheet::{Paper, Sheet};
use crate::centreline::Layout;
use crate::tooling::jig::Jig;

/// The assembly drawing of a jig.
pub fn sheets(_jig: &Jig, _layout: &Layout, _paper: &Paper) -> Vec<Sheet> {
    Vec::new()
}
