//! tubewright turns a YAML description of bent tube runs into solid CAD models, full-size paper
//! templates, bending-form outlines and a bend plan.
//!
//! # Pipeline
//!
//! ```text
//! stock ─> spec ─> centreline ─┬──────────────────────────> solid ───┐
//!                              │                  ┌─> tooling ─┤    ├─> export ─> files
//!                              └─> fit ─> plan ─> ┴──────> drawing ─┘
//! ```
//!
//! [`build`] runs it; [`bench`] stands beside it and follows a plan's operations in space; `formula` and the small
//! modules below it serve every stage.
//!
//! Data flows one way. [`solid`] and [`plan`] do not see each other; writers in [`export`] compute
//! no geometry and touch no disk, except [`export`]'s bundle, which puts finished files in place.
//!
//! # Conventions
//!
//! Millimetres and radians inside; right-handed axes; drawings y up. An arc is centre, radius,
//! start and signed sweep. Tolerances that stages share have their names and reasons in
//! [`tolerance`]; every domain formula has one place in [`formula`].

pub mod bench;
pub mod build;
pub mod centreline;
pub mod diagnostic;
pub mod drawing;
pub mod export;
pub mod fit;
pub mod flat;
pub mod formula;
pub mod geometry;
pub mod palette;
pub mod plan;
pub mod quantity;
pub mod solid;
pub mod spec;
pub mod spelling;
pub mod stock;
pub mod tolerance;
pub mod tooling;
