//! The bent tube beside its plan: the tube that is most likely there by what was measured of it.
//!
//! [`Making`] holds what the bench sets for the bends of a run that are done, and makes the tube of any deviations from
//! it, by the rules of [`mod@crate::bench`]. It foretells every reading of such a tube. [`estimate()`] turns that about:
//! from readings to deviations, and from these to the tube, its far end, and the readings that contradict the others.
//! [`correct()`] goes on from there: it holds the tube against the ports of its run, and says which re-bends and cuts let a
//! finished tube in, or how the bends that are left of a half-bent one make up for those that are made. What an end needs
//! is measured in what its fitting forgives: a tube that needs 1 or less goes in.
//!
//! ```
//! use tubewright::Project;
//! use tubewright::correct::{Making, estimate};
//! use tubewright::plan::Quantity;
//! use tubewright::spec::model::{Reading, Readings, What};
//!
//! let spec = "
//! format: 1
//! tube: {standard: EN 1057, size: 15 x 1.0, temper: soft}
//! bender: {clr: 55}
//! runs:
//!   corner: {from: [0, 0, 0], corners: [[120, 0, 0]], to: [120, 90, 0]}
//! ";
//! let project = Project::read(spec, "corner.yaml").expect("a sound spec");
//! let (laid, run) = (&project.layout().runs[0], &project.plan().runs[0]);
//! // The bend came out at 88°, read to 0.3°.
//! let (value, accuracy) = (88f64.to_radians(), 0.3f64.to_radians());
//! let read = Reading { what: What::Angle(1), value, accuracy, place: None };
//! let readings = Readings { done: 1, pulled: vec![], all: vec![read] };
//! let making = Making::new(laid, run, &project.layout().uncertainty, &readings);
//! let found = estimate(&making, &readings.all);
//! let angle = found.deviations.iter().find(|found| found.quantity == Quantity::Angle(1)).expect("its angle");
//! assert!((angle.value.to_degrees() + 2.0).abs() < 0.1 && angle.slipped > 0.9);
//! // The leg behind the bend, 35 mm long, points 2° out.
//! assert_eq!(found.dominant.expect("an error").quantity, Quantity::Angle(1));
//! ```

mod advice;
mod estimate;
mod limits;
mod made;
mod onwards;
mod readings;
mod replan;
mod rework;
mod seat;
mod settle;
mod template;
mod tube;
pub mod words;

#[cfg(test)]
mod tests;

pub use advice::{Advice, Correction, GoingOn, Mended, Mending, Rest, correct};
pub use estimate::{Contribution, Deviation, EndError, Estimate, ReadingFit, Sure, estimate};
pub use limits::{Reach, reach};
pub use made::Making;
pub use onwards::{Begun, Left, Onwards};
pub use replan::Replanned;
pub use rework::{Change, Finished, Rework, rebend};
pub use seat::{BentTube, Miss, Seat};
pub use tube::Made;
