//! The marks of a wrap strip, along the straight tube and around it.

use std::f64::consts::{PI, TAU};

use crate::formula::wrap::once_round;
use crate::plan::{Clock, EndPlan, FromEnd, Operation, RunPlan};

/// Width of the glue flap, mm.
const FLAP: f64 = 8.0;

/// How far before a bend the line along its inside begins, mm.
const LEAD: f64 = 12.0;

/// A length or an inserted depth shorter than this is not drawn, mm.
const NOTHING: f64 = 0.05;

/// A bend along the tube.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct StripBend {
    /// How it is made from the end the strip begins at.
    pub(crate) made: Operation,
    /// Where the line along its inside begins, mm.
    pub(crate) lead: f64,
}

impl StripBend {
    /// Its number from the datum end.
    pub(crate) fn number(&self) -> usize {
        self.made.bend
    }

    /// Where it starts, has its middle and ends, mm.
    pub(crate) fn stations(&self) -> [f64; 3] {
        let arc = self.made.arc;
        [arc.start, arc.middle(), arc.end()]
    }

    /// Where the tool's reference line goes, mm.
    pub(crate) fn mark(&self) -> f64 {
        self.made.feed.mark
    }

    /// Where its inside lies around the tube.
    pub(crate) fn inside(&self) -> Clock {
        self.made.turn.inside
    }
}

/// The work at an end of the tube.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct StripEnd {
    /// Tube to trim away, mm.
    pub(crate) waste: f64,
    /// How far the finished tube goes into its fitting, mm.
    pub(crate) insert: f64,
}

/// A strip of paper once round the straight tube. x runs from the end that bending begins at along the
/// tube. The printed side is the outside, so that seen from that end clockwise is down: with the strip
/// lying before you and travel to the right, the tube is behind it and its near side rolls down when it
/// turns clockwise.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Strip {
    /// The run.
    pub(crate) name: String,
    /// Outside diameter, mm.
    pub(crate) od: f64,
    /// Thickness of the paper, mm.
    pub(crate) paper: f64,
    /// Length of the cut tube, mm.
    pub(crate) length: f64,
    /// Once round the tube, mm.
    pub(crate) height: f64,
    /// Width of the glue flap below it, mm.
    pub(crate) flap: f64,
    /// The end it begins at.
    pub(crate) from: FromEnd,
    /// The bends in the order they are made.
    pub(crate) bends: Vec<StripBend>,
    /// The end it begins at, and the other.
    pub(crate) ends: [StripEnd; 2],
    /// Clock angle of the upper edge, rad.
    pub(crate) seam: f64,
}

impl Strip {
    /// The strip of a run; `None` for a straight run with nothing to trim or insert. It begins at the end
    /// the plan says is better to bend from, the datum end where both are as good.
    pub(crate) fn new(run: &RunPlan, paper: f64) -> Option<Strip> {
        let from = run.begins_at();
        let height = once_round(run.tube.od, paper);
        let length = run.cut_length;
        let bends = bends(run.operations(from));
        let end = |waste: f64, end: &EndPlan| StripEnd { waste, insert: end.insert };
        let [datum, other] = &run.ends;
        let ends = [end(run.allowance_start, datum), end(run.allowance_end, other)];
        let ends = match from {
            FromEnd::Datum => ends,
            FromEnd::Other => [ends[1], ends[0]],
        };
        let drawn = !bends.is_empty() || ends.iter().any(|e| e.waste > NOTHING || e.insert > NOTHING);
        let seam = seam(bends.iter().map(|bend| bend.inside().radians()));
        drawn.then(|| Strip {
            name: run.name.clone(),
            od: run.tube.od,
            paper,
            length,
            height,
            flap: FLAP.min(height / 2.0),
            from,
            bends,
            ends,
            seam,
        })
    }

    /// Height of the inside of a bend on the strip, mm from the lower edge.
    pub(crate) fn at_inside(&self, bend: &StripBend) -> f64 {
        self.at_clock(bend.inside().radians())
    }

    /// Height of a clock angle (rad) on the strip, mm from the lower edge.
    pub(crate) fn at_clock(&self, clock: f64) -> f64 {
        self.height * (1.0 - (clock - self.seam).rem_euclid(TAU) / TAU)
    }

    /// Trim lines and the marks of how far the tube goes in: where, and whether it is a trim line.
    pub(crate) fn cuts(&self) -> Vec<(f64, bool)> {
        let [near, far] = self.ends;
        let mut cuts = Vec::new();
        for (end, from, sense) in [(near, 0.0, 1.0), (far, self.length, -1.0)] {
            if end.waste > NOTHING {
                cuts.push((from + sense * end.waste, true));
            }
            if end.insert > NOTHING {
                cuts.push((from + sense * (end.waste + end.insert), false));
            }
        }
        cuts
    }

    /// Whether a place along the tube is on the strip.
    pub(crate) fn has(&self, x: f64) -> bool {
        (-1e-6..=self.length + 1e-6).contains(&x)
    }
}

/// The bends in the order they are made.
fn bends(operations: &[Operation]) -> Vec<StripBend> {
    let mut before = 0.0;
    let bend = |made: &Operation| {
        let lead = (made.arc.start - LEAD).max(f64::min(before, made.arc.start));
        before = made.arc.end();
        StripBend { made: *made, lead }
    };
    operations.iter().map(bend).collect()
}

/// The clock angle to cut the strip open at: in the middle of the widest gap between the insides of bends,
/// so that no line along the tube comes near an edge.
fn seam(clocks: impl Iterator<Item = f64>) -> f64 {
    let mut used: Vec<f64> = std::iter::once(0.0).chain(clocks.map(|c| c.rem_euclid(TAU))).collect();
    used.sort_by(f64::total_cmp);
    let next = used.iter().skip(1).copied().chain([TAU]);
    let mut widest = (0.0, PI);
    for (&from, to) in used.iter().zip(next) {
        // Of gaps that differ by rounding only the first is taken.
        if to - from > widest.0 + 1e-8 {
            widest = (to - from, f64::midpoint(from, to));
        }
    }
    widest.1
}
