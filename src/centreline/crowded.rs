//! A bender's radius that is too large almost everywhere: one finding about it, not one for every two points.

use std::collections::BTreeMap;

use super::corners::{CornerFault, Pair, RunPoint};
use super::rules::usual_clr;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::quantity::Unit;
use crate::spec::USUAL_CLRS;
use crate::spec::model::{Bender, Corner, Run};

/// Fewer faults than this say more each by itself than by their common cause.
const MANY: usize = 3;

/// The bends made at their benders' radii, by where each radius is written.
#[derive(Debug, Default)]
pub(super) struct Crowded(BTreeMap<usize, Uses>);

/// The places where the bends of one radius are made. A place lies between two neighbouring points of a run.
#[derive(Debug)]
struct Uses {
    bender: Bender,
    /// Outside diameter of the first tube that is bent at the radius, mm.
    od: f64,
    /// How many places there are.
    places: usize,
    /// Those that are too short for the radius.
    tight: Vec<Tight>,
}

/// A place that is too short for a bender's radius.
#[derive(Debug)]
struct Tight {
    /// The fault by itself.
    finding: Diagnostic,
    /// Its points as messages name them.
    points: String,
    /// The largest radius that fits, mm.
    largest: f64,
}

impl Crowded {
    /// Counts the places of a run that its bender's radius matters to.
    pub(super) fn count(&mut self, run: &Run, corners: &[Corner]) {
        let bends = corners.iter().map(|corner| corner.clr.is_none());
        let ends = || std::iter::once(false);
        let points: Vec<bool> = ends().chain(bends).chain(ends()).collect();
        let places = points.windows(2).filter(|pair| pair.contains(&true)).count();
        let uses = || Uses { bender: run.bender.clone(), od: run.tube.od(), places: 0, tight: Vec::new() };
        self.0.entry(run.bender.clr_place.start).or_insert_with(uses).places += places;
    }

    /// Takes the finding about a fault that the bender's radius may have caused, in a run that was counted; others
    /// come back. A place that is too short for the smallest usual radius is wrong by itself.
    pub(super) fn take(
        &mut self,
        run: &Run,
        corners: &[Corner],
        fault: &CornerFault,
        finding: Diagnostic,
    ) -> Option<Diagnostic> {
        let (CornerFault::TooClose { first, second, apart, setbacks }, Some(uses)) =
            (*fault, self.0.get_mut(&run.bender.clr_place.start))
        else {
            return Some(finding);
        };
        let own = |point: RunPoint| point.corner().and_then(|n| corners.get(n - 1)?.clr);
        let (mut there, mut shared) = (apart, 0.0);
        for (point, setback) in [first, second].into_iter().zip(setbacks) {
            if own(point).is_some() { there -= setback } else { shared += setback }
        }
        // A bend's setback is in proportion to its radius; without a bend of the bender's radius there is no largest.
        let largest = run.bender.clr * there / shared;
        if !largest.is_finite() || largest < USUAL_CLRS.start() * run.tube.od() {
            return Some(finding);
        }
        let points = Pair(first, second).to_string();
        uses.tight.push(Tight { finding: finding.run(&run.name), points, largest });
        None
    }

    /// One finding about each radius that is too large in most of its places; the findings that were taken, of the
    /// others.
    pub(super) fn findings(self, unit: Unit) -> Diagnostics {
        let mut findings = Diagnostics::new();
        for uses in self.0.into_values() {
            if uses.tight.len() >= MANY && 2 * uses.tight.len() > uses.places {
                findings.extend(uses.too_large(unit));
            } else {
                findings.extend(uses.tight.into_iter().map(|tight| tight.finding));
            }
        }
        findings
    }
}

impl Uses {
    /// The finding about the radius; none without a place that is too short for it.
    fn too_large(&self, unit: Unit) -> Option<Diagnostic> {
        let tightest = self.tight.iter().min_by(|a, b| a.largest.total_cmp(&b.largest))?;
        let (bender, run) = (&self.bender, tightest.finding.run.as_ref()?);
        let message = format!(
            "a centreline radius of {} is too large in {} of {} places: the points there are too close together for \
             its bends",
            unit.length(bender.clr),
            self.tight.len(),
            self.places
        );
        let hint = format!(
            "write a `clr` of at most {}, or move the points apart; the least room is between {} of run {run}",
            unit.length_down(tightest.largest, 1),
            tightest.points
        );
        let hint = match usual_clr(bender.clr, self.od, unit) {
            Some(meant) => format!("{hint}; did you mean {meant}?"),
            None => hint,
        };
        let finding = Diagnostic::error("clr-too-large", message).hint(hint).at(bender.clr_place);
        let is_of_one = self.tight.iter().all(|tight| tight.finding.run.as_ref() == Some(run));
        Some(if is_of_one { finding.run(run) } else { finding })
    }
}

#[cfg(test)]
mod tests {
    use crate::calibration::calibrations;
    use crate::centreline::lay_out;
    use crate::spec::read;

    /// Four places of 100 mm.
    const CLOSE: &str = "
  a: {from: [0, 0, 0], to: [100, 100, 0], corners: [[100, 0, 0]]}
  b: {from: [0, 0, 90], to: [100, 100, 90], corners: [[100, 0, 90]]}
";

    /// Two places of 1 m, and two more that have bends of another radius only.
    const WIDE: &str = "
  c:
    from: [0, 0, 180]
    to: [0, 500, 180]
    corners: [[1000, 0, 180], {at: [1000, 1000, 180], clr: 55}, {at: [0, 1000, 180], clr: 55}]
";

    /// Codes, lines and advice of the faults of a layout.
    fn faults(bender: &str, runs: &[&str]) -> Vec<(&'static str, usize, String)> {
        let text = format!(
            "format: 1\ntube: {{od: 15, wall: 1, material: copper, temper: soft}}\nbender: {{{bender}}}\nruns:{}",
            runs.concat()
        );
        let (spec, _) = read(&text, "x.yaml").expect("a sound spec");
        let (_, findings) = lay_out(&spec, &calibrations(&spec).0);
        findings
            .iter()
            .map(|f| (f.code, f.place.map_or(0, |place| place.line), f.help().unwrap_or_default()))
            .collect()
    }

    fn codes(bender: &str, runs: &[&str]) -> Vec<&'static str> {
        faults(bender, runs).into_iter().map(|(code, ..)| code).collect()
    }

    #[test]
    fn a_radius_too_large_in_most_places_is_one_fault_and_its_advice_mends_all() {
        let told = faults("clr: 150", &[CLOSE]);
        let advice = "write a `clr` of at most 100 mm, or move the points apart; the least room is between the start \
                      and corner 1 of run a";
        assert_eq!(told, [("clr-too-large", 3, advice.to_owned())]);
        assert_eq!(codes("clr: 100", &[CLOSE]), [""; 0]);
        assert_eq!(codes("clr: 100.1", &[CLOSE]), ["clr-too-large"]);
    }

    #[test]
    fn a_radius_too_large_in_some_places_is_a_fault_of_each() {
        assert_eq!(codes("clr: 150", &[CLOSE, WIDE]), ["clr-too-large"], "4 of 6");
        let more = WIDE.replace("c:", "d:").replace("180", "270");
        assert_eq!(codes("clr: 150", &[CLOSE, WIDE, &more]), ["corners-too-close"; 4], "4 of 8");
        assert_eq!(
            codes("clr: 150", &[CLOSE.split("  b").next().unwrap_or_default()]),
            ["corners-too-close"; 2],
            "too few to tell"
        );
    }

    #[test]
    fn a_place_too_short_for_any_radius_and_a_radius_from_test_bends_are_left_out() {
        let short = CLOSE.replace("to: [100, 100, 90]", "to: [100, 17, 90]");
        assert_eq!(codes("clr: 150", &[&short]), ["corners-too-close", "clr-too-large"]);
        // The test bend is as wide as a radius of 150 mm makes it.
        let tested = "clr: 145, test_bends: [{pulled: 180, got: 176, across: 315}]";
        assert_eq!(codes("clr: 145", &[CLOSE]), ["clr-too-large"]);
        assert_eq!(codes(tested, &[CLOSE]), ["corners-too-close"; 4]);
    }
}
