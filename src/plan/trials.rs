//! Test pieces for benders that have none.

use super::model::{RunPlan, TrialPlan};
use crate::calibration::test_pieces;
use crate::centreline::Layout;

/// The test pieces of every bender with a tube that has no test bends, each once, in the order of first use.
/// `runs` are those of the layout.
pub(super) fn trials(layout: &Layout, runs: &[RunPlan]) -> Vec<TrialPlan> {
    let mut found: Vec<(usize, TrialPlan)> = Vec::new();
    for (index, (laid, planned)) in layout.runs.iter().zip(runs).enumerate() {
        let bender = &laid.run.bender;
        if planned.bends.is_empty() || laid.formed.is_some() || !bender.test_bends.is_empty() {
            continue;
        }
        let annealed = planned.from_datum_end.iter().filter(|made| made.anneal.is_some()).count();
        let known = found.iter_mut().find(|(first, trial)| {
            let tube = layout.runs.get(*first).map(|first| &first.run.tube);
            trial.bender == bender.name && trial.clr == bender.clr && tube == Some(&laid.run.tube)
        });
        match known {
            Some((_, trial)) => {
                trial.runs.push(planned.name.clone());
                trial.bends += planned.bends.len();
                trial.annealed += annealed;
            }
            None => found.push((
                index,
                TrialPlan {
                    bender: bender.name.clone(),
                    clr: bender.clr,
                    tube: laid.run.tube.designation().to_owned(),
                    runs: vec![planned.name.clone()],
                    temper: laid.run.tube.temper(),
                    bends: planned.bends.len(),
                    annealed,
                    pieces: test_pieces(bender),
                },
            )),
        }
    }
    found.into_iter().map(|(_, trial)| trial).collect()
}
