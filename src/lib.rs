//! tubewright turns a YAML description of bent tube runs into solid CAD models, full-size paper
//! templates, bending-form outlines and a bend plan.
//!
//! # Use
//!
//! [`Project`] is the front door: the text of a spec in, every file out, or [`Diagnostics`] with everything that is
//! wrong with the text.
//!
//! ```
//! use tubewright::{Format, Options, Project};
//!
//! let spec = "
//! format: 1
//! tube: {standard: EN 1057, size: 15 x 1.0, temper: soft}
//! bender: {clr: 55}
//! runs:
//!   corner: {from: [0, 0, 0], corners: [[120, 0, 0]], to: [120, 90, 0]}
//! ";
//! let project = Project::read(spec, "corner.yaml").expect("a sound spec");
//! // 120 and 90 mm less twice the setback of 55 mm, and a quarter turn of 55 mm: π / 2 × 55 mm.
//! assert!((project.plan().runs[0].developed_length - 186.394).abs() < 1e-3);
//! let built = project.files(&Options { formats: vec![Format::Step], ..Options::default() }).expect("files");
//! assert!(built.files.iter().any(|file| file.path == "runs/corner/tube.step"));
//! ```
//!
//! [`World`] tells how near a line comes to components and runs. `examples/step_and_bends.rs` is a small program.
//! The modules below are the stages behind these types. They are documented for those who work on them, and change
//! with them; the re-exported types change with a new minor version only.
//!
//! # Pipeline
//!
//! ```text
//! stock ─> spec ─> calibration ─> route ─> centreline ─┬──────────────────────────> solid ───┐
//!                                                      │                  ┌─> tooling ─┤    ├─> export ─> files
//!                                                      └─> fit ─> plan ─> ┴──────> drawing ─┘
//! ```
//!
//! [`route`] is for runs that have only ends: it lays out the others, holds ways against [`fit`]'s surroundings, and
//! puts corners in their place. [`build`] runs it; [`mod@bench`] stands beside it and follows a plan's operations in space; `formula` and the small
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

// The fixtures of the tests beside the code and of those in `tests/` are one file, which names the crate as they do.
#[cfg(test)]
extern crate self as tubewright;

pub mod bench;
pub mod build;
pub mod calibration;
pub mod centreline;
mod chance;
pub mod correct;
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
pub mod route;
pub mod solid;
pub mod spec;
pub mod spelling;
pub mod stock;
#[cfg(test)]
mod testing;
pub mod tolerance;
pub mod tooling;

pub use build::{Built, Format, Options, Project};
pub use diagnostic::{Diagnostic, Diagnostics};
pub use export::Artifact;
pub use fit::World;
