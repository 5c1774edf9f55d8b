//! What a reading of a made tube comes to.
//!
//! D outside diameter, R finished radius and a angle of a bend: from where it begins or ends to where the lines of its
//! legs cross it is (R + k·D/2)·tan(a/2), with k = 0 for the centrelines, 1 for the backs and −1 for the insides
//! (elementary geometry). A bend of half a turn has no such crossing.

use std::f64::consts::{PI, TAU};

use super::made::Making;
use super::tube::Made;
use crate::formula::bend::setback;
use crate::formula::calibration::back_of_leg;
use crate::spec::model::{LegMeasure, What};
use crate::tolerance::SMALLEST_BEND;

impl Making {
    /// The reading that a made tube would give, without error: mm or rad. None where it has none: a bend that is not
    /// done, a turn to the first bend made, legs that do not cross, a template with bends that are still to be made.
    ///
    /// Places along the tube are those on the straight tube before it was bent, as marks on it show them and as the
    /// worksheet counts them: what bends stretch by is not in them.
    pub fn reading(&self, tube: &Made, what: What) -> Option<f64> {
        let row = |bend: usize| tube.rows.get(self.position(bend)?);
        let template = |number: usize| self.templates.get(number.checked_sub(1)?);
        let value = match what {
            What::Angle(bend) => row(bend)?.angle,
            What::Turn(bend) => {
                let position = self.position(bend).filter(|position| *position > 0)?;
                tube.rows.get(position)?.rotation
            }
            What::Starts(bend) => *tube.begins.get(self.position(bend)?)?,
            What::Ends(bend) => {
                let position = self.position(bend)?;
                tube.begins.get(position)? + tube.takes.get(position)?
            }
            What::Leg(bend, to) => row(bend)?.length + self.crossing(tube, self.position(bend)?, to)?,
            What::Between(bend, to) => {
                let position = self.position(bend)?;
                let before = match position.checked_sub(1) {
                    Some(before) => self.crossing(tube, before, to)?,
                    None => 0.0,
                };
                before + row(bend)?.length + self.crossing(tube, position, to)?
            }
            What::LastLeg(to) => tube.rest + self.crossing(tube, tube.rows.len().checked_sub(1)?, to)?,
            What::Cut => tube.cut,
            What::EndToEnd(number) => template(number)?.end_to_end(tube, self.is_whole())?,
            What::FarEnd(number, off) => template(number)?.far_end_off(tube, self.is_whole(), off)?,
            What::OnTemplate(bend, off) => {
                let position = self.position(bend)?;
                let template = self.templates.iter().find(|template| template.bends.contains(&position))?;
                template.bend_off(tube, position, off)?
            }
        };
        value.is_finite().then_some(value)
    }

    /// From where the bend at a position begins or ends to where the lines of its legs cross, mm.
    fn crossing(&self, tube: &Made, position: usize, to: LegMeasure) -> Option<f64> {
        let row = tube.rows.get(position)?;
        let side = match to {
            LegMeasure::Centre => 0.0,
            LegMeasure::Outside => 1.0,
            LegMeasure::Inside => -1.0,
        };
        let crosses = row.angle.abs() < PI - SMALLEST_BEND;
        crosses.then(|| setback(row.radius, row.angle) + side * back_of_leg(self.od, row.angle))
    }
}

/// Whether a quantity is an angle, not a length.
pub(super) fn is_angle(what: What) -> bool {
    matches!(what, What::Angle(_) | What::Turn(_))
}

/// How much more was read than another value is, mm or rad. A turn is the same after a full turn.
pub(super) fn more(what: What, read: f64, than: f64) -> f64 {
    let more = read - than;
    if matches!(what, What::Turn(_)) { more - TAU * (more / TAU).round() } else { more }
}
