//! Test pieces: a comb that finds a machine's kerf and slot fit, and a gauge that finds a printed groove's
//! clearance.

use super::SheetWork;
use crate::flat::Path;
use crate::spec::model::Workshop;

/// The comb and its feelers.
pub fn comb(_workshop: &Workshop) -> SheetWork {
    SheetWork {
        name: "comb".to_owned(),
        thickness: _workshop.sheet.thickness,
        parts: Vec::new(),
        posed: Vec::new(),
    }
}

/// A bar with grooves of rising clearance for one tube diameter. Printed as it stands: its grooves open
/// sideways, as a form's does.
#[derive(Debug, Clone, PartialEq)]
pub struct GrooveGauge {
    /// Name, fit for a path: `groove-15`.
    pub name: String,
    /// Outside diameter of the tube, mm.
    pub od: f64,
    /// Clearances of its grooves, mm, lowest first.
    pub clearances: Vec<f64>,
    /// Its section, x away from the grooves' backs and y upwards: closed, counter-clockwise.
    pub section: Path,
    /// Length along the grooves, mm.
    pub length: f64,
}

/// One gauge for each tube diameter.
pub fn groove_gauges(_ods: &[f64], _workshop: &Workshop) -> Vec<GrooveGauge> {
    Vec::new()
}
