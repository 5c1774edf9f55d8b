//! Where bends lie on the straight tube, from either end.
//!
//! All stations are on the tube before it is bent. A bend of arc R·a uses (1 − stretch)·R·a of it.

use super::model::Marks;
use crate::centreline::{Bend, LaidRun};
use crate::spec::model::{MarkPoint, Run};

/// Marks of every bend in the order of bending, from the datum end or from the other one.
pub(super) fn marks(laid: &LaidRun, from_other_end: bool) -> Vec<Marks> {
    let bends = laid.centreline.bends();
    let straights = laid.centreline.straights();
    if !from_other_end {
        let rotations = bends.iter().map(|bend| bend.rotation);
        return walk(&laid.run, laid.run.allowance_start, bends.iter(), straights.into_iter(), rotations);
    }
    // A rotation is a right-handed turn about the direction of travel, and a right-handed turn stays one
    // when the tube is looked along from the other end. The first bend from there has nothing to turn from.
    let rotations = std::iter::once(0.0).chain(bends.iter().skip(1).rev().map(|bend| bend.rotation));
    walk(&laid.run, laid.run.allowance_end, bends.iter().rev(), straights.into_iter().rev(), rotations)
}

fn walk<'b>(
    run: &Run,
    allowance: f64,
    bends: impl Iterator<Item = &'b Bend>,
    straights: impl Iterator<Item = f64>,
    rotations: impl Iterator<Item = f64>,
) -> Vec<Marks> {
    let mut last_end = 0.0;
    let mut at = allowance;
    bends
        .zip(straights)
        .zip(rotations)
        .map(|((bend, straight), rotation)| {
            let used = tube_used(run, bend);
            let start = at + straight;
            let into = match run.bender.mark {
                MarkPoint::Start => 0.0,
                MarkPoint::Middle => used / 2.0,
                MarkPoint::End => used,
            };
            let mark = start + into - run.bender.datum;
            let marks = Marks {
                rotation_deg: rotation.to_degrees(),
                straight_before_mm: straight,
                start_mm: start,
                middle_mm: start + used / 2.0,
                end_mm: start + used,
                mark_mm: mark,
                from_last_end_mm: mark - last_end,
            };
            at = start + used;
            last_end = at;
            marks
        })
        .collect()
}

/// Length of straight tube a bend is made of, mm. Bends with a radius of their own are not made on the
/// bender that the stretch was measured on.
pub(super) fn tube_used(run: &Run, bend: &Bend) -> f64 {
    let stretch = match &run.bender.formed {
        Some(formed) if !run.path.own_clr(bend.number) => formed.stretch,
        _ => 0.0,
    };
    (1.0 - stretch) * bend.arc_length()
}

/// Length of straight tube the whole run is made of, allowances included, mm.
pub(super) fn cut_length(laid: &LaidRun) -> f64 {
    let used: f64 = laid.centreline.bends().iter().map(|bend| tube_used(&laid.run, bend)).sum();
    let straights: f64 = laid.centreline.straights().iter().sum();
    straights + used + laid.run.allowance_start + laid.run.allowance_end
}

/// Where the inside of each bend lies around the tube, degrees: the turns after the first, added up.
pub(super) fn clock(marks: &[Marks]) -> Vec<f64> {
    let mut clock = 0.0;
    marks
        .iter()
        .enumerate()
        .map(|(index, mark)| {
            if index > 0 {
                clock += mark.rotation_deg;
            }
            // Rounding of a sum near a full turn is no turn.
            let turned = f64::rem_euclid(clock, 360.0);
            if 360.0 - turned < 1e-9 { 0.0 } else { turned }
        })
        .collect()
}
