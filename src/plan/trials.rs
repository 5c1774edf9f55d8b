//! Test pieces for benders that have none.

use super::anneal;
use super::model::{ArcOnTube, RunPlan, TrialPlan, Zone};
use crate::calibration::{TestPiece, advice, test_pieces};
use crate::centreline::{LaidRun, Layout};
use crate::diagnostic::{Diagnostic, Diagnostics, listed};
use crate::spec::model::{Run, Temper};

/// Whether a bender's test bends were made in the state that a bend of its run is made in: soft where it is annealed
/// first, else as bought. Where they do not say, they were. Their radius and stretch are used for all bends.
pub(super) fn tell_of(run: &Run, annealed: bool) -> bool {
    let state = if annealed { Temper::Soft } else { run.tube.temper() };
    run.bender.tested_temper().is_none_or(|tested| tested == state)
}

/// Notes bends of a run that its test bends do not tell of.
pub(super) fn check(laid: &LaidRun, planned: &RunPlan, findings: &mut Diagnostics) {
    let Some(tested) = laid.run.bender.tested_temper() else { return };
    let others: Vec<(usize, bool)> = planned
        .from_datum_end
        .iter()
        .zip(laid.centreline.bends())
        .filter(|(_, bend)| laid.formed_at(bend).is_some())
        .map(|(made, _)| (made.bend, made.anneal.is_some()))
        .filter(|(_, annealed)| !tell_of(&laid.run, *annealed))
        .collect();
    let Some((first, annealed)) = others.first() else { return };
    let numbers: Vec<String> = others.iter().map(|(number, _)| number.to_string()).collect();
    let (bends, are) = if others.len() == 1 { ("bend", "is") } else { ("bends", "are") };
    let state = if *annealed { "made soft first" } else { "bent as bought" };
    let message = format!(
        "run {}: {bends} {} {are} {state}, and the test bends of `{}` are of {} tube: springback there is predicted",
        planned.name,
        listed(&numbers),
        laid.run.bender.name,
        tested.name()
    );
    let hint = "bend test pieces in the state that the run is bent in, and write their `temper`";
    let found = Diagnostic::warning("tests-of-another-temper", message).hint(hint);
    findings.push(found.run(&planned.name).bend(*first).at(laid.run.bender.clr_place));
}

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
                    advice: advice(bender),
                    pieces: test_pieces(bender),
                    zones: Vec::new(),
                },
            )),
        }
    }
    for (first, trial) in &mut found {
        let od = layout.runs.get(*first).map(|laid| laid.run.tube.od());
        if let (Some(od), true) = (od, trial.annealed > 0) {
            trial.zones = trial.pieces.iter().map(|piece| zone(od, piece)).collect();
        }
    }
    found.into_iter().map(|(_, trial)| trial).collect()
}

/// The tube of a piece that is made soft, as a run's is.
fn zone(od: f64, piece: &TestPiece) -> Zone {
    anneal::zone(od, &ArcOnTube { start: piece.straight, length: piece.arc }, piece.cut)
}

#[cfg(test)]
mod tests {
    use crate::calibration::Formed;
    use crate::plan::{SpringbackSource, plan};
    use crate::spec::model::{Anneal, LegMeasure, Temper, TestBend};
    use crate::testing::{layout, place, table_run};

    /// How a bend of half-hard tube, annealed or not, is pulled by test bends of this temper; and the warnings.
    fn told(anneal: Anneal, tested: Option<Temper>) -> (SpringbackSource, Vec<String>) {
        let mut laid = table_run("t", 60.0, &[(150.0, 0.0, 90.0), (150.0, 0.0, 45.0)], 150.0);
        laid.run.anneal = anneal;
        laid.formed = Some(Formed { springback_fixed: 0.0, springback_rate: 0.1, clr: 60.0, stretch: 0.0 });
        laid.run.bender.test_bends = vec![TestBend {
            pulled: 1.0,
            got: 0.9,
            cut: None,
            leg_a: None,
            leg_b: None,
            measured: LegMeasure::Centre,
            across: None,
            temper: tested,
            place: place(6),
        }];
        let layout = layout(vec![laid], vec![]);
        let (plan, findings) = plan(&layout, &crate::fit::check(&layout).0);
        assert!(plan.trials.is_empty());
        let found = findings.iter().filter(|finding| finding.code == "tests-of-another-temper");
        (plan.runs[0].bends[0].springback_source, found.map(|finding| finding.message.clone()).collect())
    }

    #[test]
    fn test_bends_tell_of_bends_in_their_own_state() {
        use SpringbackSource::{Predicted, TestBends};
        assert_eq!(told(Anneal::Never, None), (TestBends, vec![]));
        assert_eq!(told(Anneal::Always, None), (TestBends, vec![]));
        assert_eq!(told(Anneal::Never, Some(Temper::HalfHard)), (TestBends, vec![]));
        assert_eq!(told(Anneal::Always, Some(Temper::Soft)), (TestBends, vec![]));
        let message = "run t: bends 1 and 2 are made soft first, and the test bends of `bench bender` are of half-hard tube: \
                       springback there is predicted";
        assert_eq!(told(Anneal::Always, Some(Temper::HalfHard)), (Predicted, vec![message.to_owned()]));
        let message = "run t: bends 1 and 2 are bent as bought, and the test bends of `bench bender` are of soft tube: \
                       springback there is predicted";
        assert_eq!(told(Anneal::Never, Some(Temper::Soft)), (Predicted, vec![message.to_owned()]));
    }
}
