//! Specs from random numbers: laid out, fitted and planned. Lengths of a plan are numbers and add up.

#![no_main]

use libfuzzer_sys::fuzz_target;
use tubewright::centreline::lay_out;
use tubewright::{fit, plan, spec};
use tubewright_fuzz::Numbers;

fuzz_target!(|numbers: Numbers| {
    let text = numbers.text(4, 12, 3000.0);
    let Ok((spec, _)) = spec::read(&text, "fuzz.yaml") else { return };
    let Ok((layout, _)) = lay_out(&spec) else { return };
    let (fits, _) = fit::check(&layout);
    let (plan, _) = plan::plan(&layout, &fits);
    for (laid, run) in layout.runs.iter().zip(&plan.runs) {
        let length = laid.centreline.length();
        assert!(run.cut_length_mm.is_finite() && run.developed_length_mm.is_finite());
        assert!((run.developed_length_mm - length).abs() < 1e-6 * length.max(1.0), "lengths differ");
        for bend in &run.bends {
            assert!(bend.pull_to_deg.is_finite() && bend.marks.mark_mm.is_finite());
        }
    }
});
