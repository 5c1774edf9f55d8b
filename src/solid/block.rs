//! Forms and followers: blocks with a groove along their rim.

use super::{Solid, SolidFault};
use crate::tooling::Block;

/// The solid of a block.
///
/// # Errors
/// What the block's numbers do not allow; [`SolidFault::Volume`] would be a fault of this program.
pub fn block(_block: &Block) -> Result<Solid, SolidFault> {
    Err(SolidFault::Flat)
}
