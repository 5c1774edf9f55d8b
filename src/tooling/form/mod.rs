//! Bending forms: one for each tube diameter, bend radius and springback in use.

use super::{Block, SheetWork};
use crate::centreline::Layout;
use crate::diagnostic::Diagnostics;
use crate::plan::Plan;

/// One bend angle a form serves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FormBend {
    /// Finished bend angle, rad.
    pub angle: f64,
    /// Angle to pull to, rad.
    pub pull_to: f64,
}

/// A bending form. The bend's centre is the origin; the tube comes in from the left along y = `clr`, meets
/// the arc at (0, clr) and is wound clockwise.
#[derive(Debug, Clone, PartialEq)]
pub struct Form {
    /// Tube diameter and finished radius, fit for a path: `15-r55`; where one radius has several springbacks
    /// the form's own radius too: `15-r55-held53.7`.
    pub name: String,
    /// Outside diameter of the tube, mm.
    pub od: f64,
    /// Radius of the finished bend's centreline, mm.
    pub finished_clr: f64,
    /// Radius of the tube's centreline on the form, mm: smaller, by what the tube springs back.
    pub clr: f64,
    /// Where the springback comes from, as in the plan: "test bends", "predicted" or "unknown".
    pub source: &'static str,
    /// Bends made on it, by finished angle.
    pub bends: Vec<FormBend>,
    /// Angle of its arc, rad.
    pub arc: f64,
    /// Straight of the groove before and after the arc, mm.
    pub lead: f64,
    /// Distance between tube and groove, mm.
    pub clearance: f64,
    /// Printed or milled: the form in one or two pieces.
    pub blocks: Vec<Block>,
    /// The block that presses the tube into the groove: its rim lies along y = 0 from left to right, the tube
    /// above it.
    pub follower: Block,
    /// The form as a stack of sheets, lowest layer first, standing as the block does.
    pub stack: SheetWork,
    /// Largest distance between the tube and the stack's steps within the groove, mm.
    pub hollow: f64,
}

/// One form for each tube diameter, finished radius and springback in use, by diameter and then radius.
pub fn forms(_layout: &Layout, _plan: &Plan, _findings: &mut Diagnostics) -> Vec<Form> {
    Vec::new()
}
