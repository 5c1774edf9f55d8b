//! Readings of a bent tube.

use super::LegMeasure;
use crate::diagnostic::Span;

/// The readings of one tube, whose bends were made in the order of the plan.
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

/// How far an end of the tube lies off its drawing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Off {
    /// Beyond the drawn end, along the drawn tube; negative where it is short of it.
    Beyond,
    /// To the left of the drawing, looking out of the tube along it; negative to the right.
    Left,
    /// Above the paper; negative where the paper would have to be cut away.
    Above,
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
    /// From the first end along the tube to where a bend starts.
    Starts(usize),
    /// From the first end along the tube to where a bend ends.
    Ends(usize),
    /// From the first end, or where the bend before ends, to where the lines of a bend's legs cross.
    Leg(usize, LegMeasure),
    /// From where the lines of the legs of the bend before cross to where those of this one do; of the first bend, from
    /// the first end.
    Between(usize, LegMeasure),
    /// From where the lines of the last bend's legs cross to the other end.
    LastLeg(LegMeasure),
    /// The length of the straight tube that was cut.
    Cut,
    /// Of a template, by its number in the order of bending from 1: the distance between the middles of the two ends of
    /// its part of the tube.
    EndToEnd(usize),
    /// The far end of a template's part of the tube, whose first straight lies on its drawing, and whose first bend lies
    /// flat.
    FarEnd(usize, Off),
    /// The place where a bend ends, on the template that it is drawn on, laid in the same way; not [`Off::Beyond`].
    OnTemplate(usize, Off),
}
