//! Drawings independent of any file format: lines, arcs, closed paths and text with roles, in mm,
//! y up. Pages are made here too; writers only translate.

pub mod clip;
pub mod cut;
pub mod extents;
pub mod form;
mod hatch;
pub mod item;
pub mod jig;
pub(crate) mod labels;
pub(crate) mod legend;
pub(crate) mod numbers;
pub mod overview;
pub(crate) mod page;
pub mod pen;
mod room;
pub mod scale;
pub mod sheet;
pub mod shift;
pub mod strip;
pub mod template;
pub mod text;
pub mod worksheet;
