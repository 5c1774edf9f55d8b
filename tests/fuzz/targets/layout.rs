//! Specs from random numbers: laid out, fitted and planned. Lengths of a plan are numbers and add up.

#![no_main]

use libfuzzer_sys::fuzz_target;
use tubewright_fuzz::{Dice, Size, planned, spec, timed};

const SIZE: Size = Size { runs: 4, bends: 12, longest: 3000.0, wild: true };

fuzz_target!(|bytes: &[u8]| timed(|| run(bytes)));

fn run(bytes: &[u8]) {
    let text = spec(&mut Dice::new(bytes), &SIZE);
    let Some(planned) = planned(&text) else { return };
    assert_eq!(planned.layout.runs.len(), planned.plan.runs.len(), "a run is lost: {text}");
    for (laid, run) in planned.layout.runs.iter().zip(&planned.plan.runs) {
        let length = laid.centreline.length();
        assert!(run.cut_length_mm.is_finite() && run.developed_length_mm.is_finite(), "{text}");
        assert!((run.developed_length_mm - length).abs() < 1e-6 * length.max(1.0), "lengths differ: {text}");
        assert!(run.cut_length_mm >= run.developed_length_mm - 1e-6, "cut too short: {text}");
        for made in run.from_datum_end.iter().chain(&run.from_other_end) {
            assert!(made.pull.angle.is_finite() && made.feed.mark.is_finite(), "{text}");
        }
    }
}
