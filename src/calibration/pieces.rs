//! The test pieces that calibrate a bender well: which angles, how long their legs are, what to measure.
//!
//! Pieces of 45° and 90° show springback at small and large angles, and their legs the stretch. A U is springback at
//! the largest angle, and its width gives the radius without the stretch: read to 0.1 mm, it is known to 0.05 mm.
//! Where a bender cannot make a U, a piece of 120° tells the two apart, less well.

use std::f64::consts::PI;

use crate::formula::bend::arc_length;
use crate::spec::model::Bender;
use crate::tolerance::SMALLEST_BEND;

/// Straight of each leg that is clear of the bend, mm.
///
/// Over L mm, 0.1° is L·0.00175 mm. A leg read to 0.1 mm at either end lies to √2·0.1 = 0.14 mm: it takes 81 mm to
/// read 0.1° ([`ANGLE_READING`](super::ANGLE_READING)). The tube is flattened for some way behind a bend: about one
/// OD more, common practice, no source.
pub const LEG_MM: f64 = 100.0;

/// Angles to pull to, rad, before the last piece.
const FIRST: [f64; 2] = [PI / 4.0, PI / 2.0];

/// Angle of the last piece where the bender cannot make a U, rad.
const WITHOUT_U: f64 = PI * 2.0 / 3.0;

/// Lengths to measure on a test piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// Both legs.
    Legs,
    /// The width over the backs of its legs: it is a U.
    Across,
}

/// A test piece to cut, mark and bend.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TestPiece {
    /// Angle to pull to, rad.
    pub pull: f64,
    /// The lengths to measure on it.
    pub measure: Measure,
    /// Length to cut, mm.
    pub cut: f64,
    /// The place that goes to the bender's reference line, mm from the end that is held.
    pub mark: f64,
    /// Straight before the bend, mm.
    pub straight: f64,
    /// Tube that becomes the bend, mm.
    pub arc: f64,
}

/// The pieces to bend for a bender without test bends. Fewer where it cannot bend far.
pub fn test_pieces(bender: &Bender) -> Vec<TestPiece> {
    let within = |angle: &f64| *angle <= bender.max_angle + SMALLEST_BEND;
    let last = if within(&PI) { PI } else { WITHOUT_U };
    FIRST.into_iter().chain([last]).filter(within).map(|pull| test_piece(bender, pull)).collect()
}

fn test_piece(bender: &Bender, pull: f64) -> TestPiece {
    // Whole millimetres are easily cut and marked.
    let first = bender.grip.max(LEG_MM).ceil();
    let arc = arc_length(bender.clr, pull);
    TestPiece {
        pull,
        measure: if pull < PI { Measure::Legs } else { Measure::Across },
        cut: (first + arc + bender.lead_out.max(LEG_MM)).ceil(),
        mark: first + bender.mark.behind_start(arc) - bender.datum,
        straight: first,
        arc,
    }
}

/// The advice for a bender without test bends, as `calibrate` and the worksheet give it.
pub fn advice(bender: &Bender) -> String {
    let pieces = test_pieces(bender);
    let with_u = pieces.iter().any(|piece| piece.measure == Measure::Across);
    let legs: Vec<String> = pieces
        .iter()
        .filter(|piece| piece.measure == Measure::Legs)
        .map(|piece| format!("{:.0}°", piece.pull.to_degrees()))
        .collect();
    let u = if with_u {
        " and a U, pulled to 180°: its width gives the radius, which legs alone leave uncertain"
    } else {
        ""
    };
    format!(
        "bend pieces to {}{u}; leave {LEG_MM:.0} mm of straight on each leg, since 0.1° over {LEG_MM:.0} mm is {:.2} mm",
        legs.join(", "),
        LEG_MM * super::ANGLE_READING.tan()
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calibration::{ANGLE_READING, LENGTH_READING_MM};

    fn bender(max_angle: f64) -> Bender {
        Bender { max_angle: max_angle.to_radians(), ..crate::testing::bender(55.0) }
    }

    #[test]
    fn legs_are_long_enough_to_read_a_tenth_of_a_degree() {
        // Both ends of a leg are read to 0.1 mm: √2 · 0.1 mm over the leg is 0.1° at 81.03 mm.
        let needed = 2f64.sqrt() * LENGTH_READING_MM / ANGLE_READING.tan();
        assert!((needed - 81.03).abs() < 5e-3 && needed < LEG_MM, "{needed}");
        // For each piece, straight on either side of the arc.
        for piece in test_pieces(&bender(180.0)) {
            let straight = piece.cut - 55.0 * piece.pull;
            assert!((2.0 * LEG_MM..2.0 * LEG_MM + 1.0).contains(&straight), "{straight}");
        }
    }

    #[test]
    fn a_u_is_among_them_where_the_bender_can_make_one() {
        let angles = |most| {
            let pieces = test_pieces(&bender(most));
            pieces.iter().map(|p| (p.pull.to_degrees().round() as u32, p.measure)).collect::<Vec<_>>()
        };
        use Measure::{Across, Legs};
        assert_eq!(angles(180.0), [(45, Legs), (90, Legs), (180, Across)]);
        assert_eq!(angles(179.0), [(45, Legs), (90, Legs), (120, Legs)]);
        assert_eq!(angles(90.0), [(45, Legs), (90, Legs)]);
    }

    #[test]
    fn marks_are_where_the_bender_needs_them() {
        let mut bender = bender(180.0);
        (bender.grip, bender.datum) = (130.5, 4.0);
        let piece = test_pieces(&bender)[1];
        // 131 mm held, an arc of 86.39 mm and a leg of 100 mm.
        assert_eq!((piece.cut, piece.mark), (318.0, 127.0));
    }
}
