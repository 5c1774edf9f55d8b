//! Checking jigs: a base board with uprights that a rightly bent tube drops into.

use super::SheetWork;
use crate::centreline::Layout;
use crate::diagnostic::Diagnostics;
use crate::geometry::{Placement, Point3, Vector3};
use crate::plan::Plan;

/// What an upright does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// Holds the tube in a saddle open at the top.
    Cradle,
    /// Stands against the datum end.
    Stop,
    /// Stands just beyond the other end: a tube that is too long does not drop in. Taken out for trimming.
    Gate,
}

/// An upright on the base board.
#[derive(Debug, Clone, PartialEq)]
pub struct Upright {
    /// Its part in the jig's work.
    pub part: usize,
    /// What it does.
    pub role: Role,
    /// Where along the finished tube, mm from the datum end.
    pub station: f64,
    /// The tube's centreline there, in the jig's space.
    pub at: Point3,
    /// Unit direction of the tube there, in the jig's space.
    pub direction: Vector3,
}

/// How small an error of one bend's angle a jig shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sense {
    /// Bend number from the datum end, from 1.
    pub bend: usize,
    /// Smallest error of its angle at which the tube no longer drops in, rad, with the tube held true before
    /// the bend; none where no cradle or gate feels it.
    pub least_error: Option<f64>,
}

/// The checking jig of one run. Jig space: x and y along the base board, z up, z = 0 on its upper face.
#[derive(Debug, Clone, PartialEq)]
pub struct Jig {
    /// The run.
    pub run: String,
    /// Where the run's space lies in the jig's: its origin, its z axis and its x axis.
    pub tube: Placement,
    /// Base board and uprights, put together in the jig's space. The base is part 0.
    pub work: SheetWork,
    /// The uprights, datum end first.
    pub uprights: Vec<Upright>,
    /// What it shows of each bend.
    pub senses: Vec<Sense>,
}

/// A jig for every run that one can be made for; findings say for which not.
pub fn jigs(_layout: &Layout, _plan: &Plan, _findings: &mut Diagnostics) -> Vec<Jig> {
    Vec::new()
}
