//! Bending forms: one for each tube diameter, bend radius and springback in use.

mod block;
mod body;
mod digits;
mod engrave;
mod holes;
mod job;
mod room;
mod split;
mod stack;
mod sunk;

use super::{Block, Opening, Purpose, SheetWork};
use crate::centreline::Layout;
use crate::diagnostic::Diagnostics;
use crate::plan::{Plan, SpringbackSource};
use crate::quantity::Unit;
use crate::spec::model::Workshop;
use body::Body;
use job::FormJob;

pub use job::{LARGEST_ARC, OVER_BEND_UNKNOWN};

/// One bend angle a form serves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FormBend {
    /// Finished bend angle, rad.
    pub angle: f64,
    /// Angle to pull to, rad.
    pub pull_to: f64,
}

/// A bending form. The bend's centre is the origin; the tube comes in from the left along y = `held_radius`, meets
/// the arc at (0, held_radius) and is wound clockwise.
#[derive(Debug, Clone, PartialEq)]
pub struct Form {
    /// Tube diameter and finished radius, fit for a path: `15-r55`; where one radius has several springbacks
    /// the form's own radius too: `15-r55-held53.7`.
    pub name: String,
    /// Outside diameter of the tube, mm.
    pub od: f64,
    /// Radius of the finished bend's centreline, mm.
    pub clr: f64,
    /// Radius of the tube's centreline on the form, mm: smaller, by what the tube springs back.
    pub held_radius: f64,
    /// Where the springback of its bends is known from.
    pub source: SpringbackSource,
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

/// Less than this behind the groove is no form, mm: it would break off.
const LEAST_ROOT_MM: f64 = 0.5;

/// One form for each tube diameter, finished radius and springback in use, by diameter and then radius.
///
/// The findings say which bends are too tight for a form (`form-rim`), which forms end before their bend
/// does (`form-arc`), which are too narrow for dowels (`form-hole`) and which do not fit the printer
/// (`printer-bed`).
pub fn forms(layout: &Layout, plan: &Plan, findings: &mut Diagnostics) -> Vec<Form> {
    let jobs = job::jobs(layout, plan, findings);
    jobs.iter().filter_map(|job| form(job, &layout.workshop, layout.units, findings)).collect()
}

fn form(job: &FormJob, workshop: &Workshop, unit: Unit, findings: &mut Diagnostics) -> Option<Form> {
    if job.root() < LEAST_ROOT_MM || job.rim() <= job.root() {
        let (clr, od) = (unit.length_to(job.held_radius, 2), unit.length(job.od));
        let message = format!("a bend of radius {clr} leaves no form inside a tube of {od}");
        let hint = "give the bend a centreline radius of more than half the tube's diameter";
        findings.push(job.warning("form-rim", message, hint));
        return None;
    }
    let body = Body::new(job);
    let (stack, hollow) = stack::stack(job, &body, workshop);
    if stack.parts.iter().all(|part| !part.openings.iter().any(is_dowel)) {
        let message = format!("form {} is too narrow for dowels through its layers", job.name);
        let hint = "glue the layers in line on a flat board, or give the bend a larger radius";
        findings.push(job.warning("form-hole", message, hint));
    }
    Some(Form {
        name: job.name.clone(),
        od: job.od,
        clr: job.clr,
        held_radius: job.held_radius,
        source: job.source,
        bends: job.bends.clone(),
        arc: body.arc,
        lead: body.lead,
        clearance: job.clearance,
        blocks: block::pieces(job, &body, (workshop, unit), findings),
        follower: block::follower(job, (workshop, unit), findings),
        stack,
        hollow,
    })
}

fn is_dowel(opening: &Opening) -> bool {
    matches!(opening, Opening::Round { purpose: Purpose::Dowel, .. })
}
