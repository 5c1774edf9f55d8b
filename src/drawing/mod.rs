//! Drawings independent of any file format: lines, arcs, closed paths and text with roles, in mm,
//! y up. Pages are made here too; writers only translate.

pub mod extents;
pub mod form;
pub mod item;
pub mod pen;
pub mod sheet;
pub mod text;
