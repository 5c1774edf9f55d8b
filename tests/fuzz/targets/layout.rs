//! Specs from random numbers: laid out, fitted and planned. Lengths of a plan are numbers and add up.

#![no_main]

use libfuzzer_sys::fuzz_target;
use tubewright_fuzz::{Dice, Size, planned, spec, timed};

const SMALL: Size = Size { runs: 2, bends: 4, longest: 3000.0, wild: true };
const LARGE: Size = Size { runs: 4, bends: 12, longest: 3000.0, wild: true };

fuzz_target!(|bytes: &[u8]| timed(|| run(bytes)));

fn run(bytes: &[u8]) {
    let mut dice = Dice::new(bytes);
    let size = Size::drawn(&mut dice, SMALL, LARGE);
    let text = spec(&mut dice, &size);
    let Some(planned) = planned(&text) else { return };
    assert_eq!(planned.layout.runs.len(), planned.plan.runs.len(), "a run is lost: {text}");
    for (laid, run) in planned.layout.runs.iter().zip(&planned.plan.runs) {
        let length = laid.centreline.length();
        assert!(run.cut_length.is_finite() && run.developed_length.is_finite(), "{text}");
        assert!((run.developed_length - length).abs() < 1e-6 * length.max(1.0), "lengths differ: {text}");
        assert!(run.cut_length >= run.developed_length - 1e-6, "cut too short: {text}");
        for made in run.from_datum_end.iter().chain(&run.from_other_end) {
            assert!(made.pull.angle.is_finite() && made.feed.mark.is_finite(), "{text}");
        }
    }
}
