//! Whether test bends agree, and which piece is the wrong one if they do not.

use super::fit::{Angles, Lengths, angle_row, length_rows};
use super::least_squares::{misfit, residual};
use super::{Calibration, Off, Refusal, WORST_ANGLE};
use crate::spec::model::TestBend;

/// With fewer readings to spare than this once a piece is left out, the rest fit whichever is left out.
const ENOUGH_TO_SPARE: usize = 2;

/// The rest must fit this much better without the suspect than without any other piece (sum of
/// squares, so three times better).
const CLEARLY_BETTER: f64 = 9.0;

/// The piece that is too far off, if one is.
pub(super) fn disagreement(
    bends: &[TestBend],
    clr: f64,
    od: f64,
    calibration: &Calibration,
) -> Option<Refusal> {
    let pieces = &calibration.pieces;
    let angle = |index: usize| pieces[index].angle_off.abs() / WORST_ANGLE;
    let length = |index: usize| pieces[index].worst_length().map_or(0.0, |length| length.ratio());
    let worst = |of: &dyn Fn(usize) -> f64| (0..pieces.len()).max_by(|a, b| of(*a).total_cmp(&of(*b)));
    let (worst_angle, worst_length) = (worst(&angle)?, worst(&length)?);
    let broken = Broken { angles: angle(worst_angle) > 1.0, lengths: length(worst_length) > 1.0 };
    if !broken.angles && !broken.lengths {
        return None;
    }
    if let Some(piece) = odd_one_out(bends, clr, od, broken) {
        let rest = without(bends, piece);
        return Some(Refusal::DoNotAgree {
            piece,
            off: off_the_rest(bends, piece, &rest, clr, od),
            told: true,
        });
    }
    let (piece, off) = if angle(worst_angle) >= length(worst_length) {
        (worst_angle, Off::Angle(pieces[worst_angle].angle_off))
    } else {
        (worst_length, Off::Length(pieces[worst_length].worst_length()?))
    };
    Some(Refusal::DoNotAgree { piece, off, told: false })
}

/// Which of the two fits has a piece beyond its limit.
#[derive(Clone, Copy)]
struct Broken {
    angles: bool,
    lengths: bool,
}

/// The piece without which the others agree, and clearly better than without any other.
fn odd_one_out(bends: &[TestBend], clr: f64, od: f64, broken: Broken) -> Option<usize> {
    let mut scores = Vec::with_capacity(bends.len());
    for index in 0..bends.len() {
        let rest = without(bends, index);
        let (angles, lengths) = (Angles::fit(&rest), Lengths::fit(&rest, clr, od));
        let rests_on = Broken {
            angles: broken.angles && angles.spare >= ENOUGH_TO_SPARE,
            lengths: broken.lengths && lengths.spare >= ENOUGH_TO_SPARE,
        };
        if !rests_on.angles && !rests_on.lengths {
            return None;
        }
        let mut score = 0.0;
        if rests_on.angles {
            let rows: Vec<_> = rest.iter().map(angle_row).collect();
            score += misfit(&rows, angles.values);
        }
        if rests_on.lengths {
            score += misfit(&length_rows(&rest, clr, od), lengths.values);
        }
        scores.push((score, index));
    }
    scores.sort_by(|a, b| a.0.total_cmp(&b.0));
    let [(best, index), (next, _), ..] = scores[..] else { return None };
    let agrees = agree(&without(bends, index), clr, od);
    (agrees && best * CLEARLY_BETTER < next).then_some(index)
}

fn agree(bends: &[TestBend], clr: f64, od: f64) -> bool {
    let (angles, lengths) = (Angles::fit(bends).values, Lengths::fit(bends, clr, od));
    bends.iter().all(|bend| residual(&angle_row(bend), angles).abs() <= WORST_ANGLE)
        && length_rows(bends, clr, od).iter().all(|row| lengths.beside(row).ratio() <= 1.0)
}

/// How far a piece is off what the others say: the worse of its angle and its lengths, by their limits.
fn off_the_rest(bends: &[TestBend], piece: usize, rest: &[TestBend], clr: f64, od: f64) -> Off {
    let angle = -residual(&angle_row(&bends[piece]), Angles::fit(rest).values);
    let lengths = Lengths::fit(rest, clr, od);
    let length = length_rows(&bends[piece..=piece], clr, od)
        .iter()
        .map(|row| lengths.apart(row))
        .max_by(|a, b| a.ratio().total_cmp(&b.ratio()));
    match length {
        Some(length) if length.ratio() > angle.abs() / WORST_ANGLE => Off::Length(length),
        _ => Off::Angle(angle),
    }
}

fn without(bends: &[TestBend], index: usize) -> Vec<TestBend> {
    bends.iter().enumerate().filter(|(other, _)| *other != index).map(|(_, bend)| *bend).collect()
}
