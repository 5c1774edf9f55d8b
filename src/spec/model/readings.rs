//! Readings of a bent tube.

use strum::{IntoStaticStr, VariantArray};

use super::LegMeasure;
use crate::diagnostic::Span;

/// The readings of one tube, nothing trimmed yet, whose bends were made in the order of the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Readings {
    /// Bends that are made, in the order of the plan's operations: all, or the first ones.
    pub done: usize,
    /// The angles that bends were pulled to where these are not the plan's: the bend's number from the datum end, rad.
    pub pulled: Vec<(usize, f64)>,
    /// The readings.
    pub all: Vec<Reading>,
}

/// One reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// The quantity that was read.
    pub what: What,
    /// Its value, mm or rad.
    pub value: f64,
    /// 95 % of such readings are off by no more than this, mm or rad.
    pub accuracy: f64,
    /// Where it is written; none where it was given on the command line.
    pub place: Option<Span>,
}

/// How far a place of the tube lies off its drawing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "snake_case")]
pub enum Off {
    /// Beyond the drawn end, waste that is drawn included, along the drawn tube; negative where it is short of it.
    Beyond,
    /// To the left of the drawing, looking out of the tube along it; negative to the right.
    Left,
    /// Above the paper; negative where the paper would have to be cut away.
    Above,
}

impl Off {
    /// As a file of readings writes it.
    pub fn name(self) -> &'static str {
        self.into()
    }
}

/// What 95 % of readings stay within, either way, where a file does not say. All of it is common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accuracy {
    /// Of a bend's angle, rad: two readings with a protractor or a sliding bevel differ by as much.
    pub angle: f64,
    /// Of a turn, rad: legs of some 100 mm are sighted over, and seen to lie 2 mm askew.
    pub turn: f64,
    /// Of a length by a rule or tape, mm.
    pub length: f64,
    /// Of where a bend starts or ends, mm: at 2 mm behind its start a bend of 40 mm radius has left the straight by
    /// 0.05 mm, which the eye does not see yet.
    pub arc: f64,
    /// Of a place on a template, mm: the printed line, and the eye above it.
    pub template: f64,
}

impl Default for Accuracy {
    fn default() -> Self {
        let degree = 1f64.to_radians();
        Accuracy { angle: 0.5 * degree, turn: degree, length: 0.5, arc: 2.0, template: 0.7 }
    }
}

impl Accuracy {
    /// That of a quantity, mm or rad.
    pub fn of(&self, what: What) -> f64 {
        match what {
            What::Angle(_) => self.angle,
            What::Turn(_) => self.turn,
            What::Starts(_) | What::Ends(_) => self.arc,
            What::Leg(..) | What::Between(..) | What::LastLeg(_) | What::Cut => self.length,
            What::EndToEnd(_) | What::FarEnd(..) | What::OnTemplate(..) => self.template,
        }
    }
}

/// The quantity of a reading. Bends are named by their numbers from the datum end; "before" is before it in the order
/// of bending, and the first end is the one that bending began at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum What {
    /// The angle that the tube turns by in a bend, let go.
    Angle(usize),
    /// The turn of a bend's plane from that of the bend made before it, as `rotation` in a spec counts it: clockwise
    /// looking along the tube, which is the same from either end.
    Turn(usize),
    /// From the first end along the tube to where a bend starts, as marks are counted: in lengths of the straight tube,
    /// before bends stretched it.
    Starts(usize),
    /// The same to where a bend ends.
    Ends(usize),
    /// From the first end, or where the bend before ends, along the leg to where the lines of a bend's legs cross: those
    /// of their centrelines, backs or insides.
    Leg(usize, LegMeasure),
    /// From where the lines of the legs of the bend before cross to where those of this one do; not of the first bend.
    Between(usize, LegMeasure),
    /// From where the lines of the legs of the last bend that is made cross to the other end.
    LastLeg(LegMeasure),
    /// The length of the straight tube that was cut.
    Cut,
    /// Of a template, by its number in the order of bending from 1: the distance between the middles of the two ends of
    /// its part of the tube. Where that is an end of the tube, it is the cut one, whatever is trimmed later; where it is
    /// not, the bend before ends there, or the next bend starts.
    EndToEnd(usize),
    /// The far end of a template's part of the tube, whose first straight lies on its drawing, and whose first bend lies
    /// flat.
    FarEnd(usize, Off),
    /// The place where a bend ends, on the template that it is drawn on, laid in the same way; not [`Off::Beyond`].
    OnTemplate(usize, Off),
}
