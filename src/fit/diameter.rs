//! Whether a tube goes into its fitting, and whether it still seals there.

use crate::diagnostic::{Diagnostic, Severity};
use crate::formula::seal::{squeeze_left, squeeze_loss};
use crate::quantity::{Unit, percent};
use crate::spec::model::{Fitting, Seal};

/// Tubes this much thinner or thicker than a fitting is made for still suit it, mm: EN 1057 allows the mean
/// diameter of tube up to 18 mm as much (from memory; read for the sister standard EN 13348).
const SAME: f64 = 0.04;

/// How far a tube may be over the diameter its fitting is made for, mm: half-hard tube of the size itself
/// may be up to 0.09 mm over, ovality included (EN 13348 data sheet), and fittings have to take that.
const OVERSIZE: f64 = 0.1;

/// Least squeeze that a resting ring is relied on with, 1: published guides give 10 to 40 %.
const LEAST_SQUEEZE: f64 = 0.10;

/// Squeeze that a tube's own tolerance and ovality may take off further, mm on the radius: half of
/// 0.0635 mm (ASTM B88, annealed, 1/2 in) and half of 0.09 mm.
const FURTHER_LOSS: f64 = 0.077;

/// The ring that is reckoned with where the spec describes none: 1.78 mm thick (0.070 in), squeezed by 20 %,
/// about the average of industrial designs for rings at rest (20.5 %).
const USUAL: Seal = Seal { section: 1.78, squeeze: 0.20 };

const HINT: &str = "choose the fitting for this tube, or the tube for this fitting";

/// What is wrong with a tube of diameter `od`, mm, in a fitting at `port`: the finding, without its run and place.
pub(super) fn check(od: f64, fitting: &Fitting, port: &str, run: &str, unit: Unit) -> Option<Diagnostic> {
    let under = fitting.tube_od - od;
    if under.abs() <= SAME || (-OVERSIZE..=0.0).contains(&under) {
        return None;
    }
    let what = format!(
        "run {run}: the tube's OD is {}; {} at {port} takes {}",
        unit.length(od),
        fitting.name,
        unit.length(fitting.tube_od)
    );
    if under < 0.0 {
        return Some(Diagnostic::error("fitting-od", format!("{what}: the tube does not go in")).hint(HINT));
    }
    let (severity, left) = loose(fitting, squeeze_loss(fitting.tube_od, od), unit);
    let message = format!("{what}: {left}");
    Some(match severity {
        Severity::Error => Diagnostic::error("fitting-od", message).hint(HINT),
        Severity::Warning => Diagnostic::warning("seal-squeeze", message)
            .hint(format!("{HINT}; else keep the tube round and smooth at the seal, and test it for leaks")),
    })
}

/// The effect of a loss of squeeze, mm, on the seal, in words.
fn loose(fitting: &Fitting, loss: f64, unit: Unit) -> (Severity, String) {
    let ring = fitting.seal.unwrap_or(USUAL);
    let left = squeeze_left(ring.squeeze, ring.section, loss);
    let (its, keeps) = if fitting.seal.is_some() { ("its", "keeps") } else { ("a usual", "would keep") };
    let start = format!(
        "the seal loses {} of squeeze on the radius, so {its} {} ring squeezed by {} %",
        unit.length_to(loss, 4),
        unit.length(ring.section),
        percent(ring.squeeze)
    );
    if left <= 0.0 {
        return (Severity::Error, format!("{start} would not touch the tube"));
    }
    let start = format!("{start} {keeps} {} %", percent(left));
    if left < LEAST_SQUEEZE {
        let least = percent(LEAST_SQUEEZE);
        return (Severity::Error, format!("{start}; below {least} % no seal is relied on"));
    }
    let worst = squeeze_left(left, ring.section, FURTHER_LOSS).max(0.0);
    let worst = format!(
        "the tube's own tolerance and ovality come on top: {} of them leave {} %",
        unit.length(FURTHER_LOSS),
        percent(worst)
    );
    (Severity::Warning, format!("{start}; {worst}"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing;

    fn found(od: f64, tube_od: f64, seal: Option<Seal>) -> Option<(Severity, String)> {
        let fitting = Fitting { tube_od, seal, ..testing::fitting() };
        check(od, &fitting, "tank.out", "a", Unit::Millimetre)
            .map(|d| (d.severity, format!("{}: {}", d.code, d.message)))
    }

    fn told(od: f64, tube_od: f64, seal: Option<Seal>) -> (Severity, String) {
        found(od, tube_od, seal).unwrap()
    }

    #[test]
    fn tube_of_the_fittings_own_size_is_silent() {
        // Half of what ASTM B88 rounds, EN 1057 mean diameter, half-hard tube with its ovality.
        for (od, tube_od) in [(15.0, 15.0), (9.525, 9.5), (14.96, 15.0), (15.04, 15.0), (15.09, 15.0)] {
            assert_eq!(found(od, tube_od, None), None, "{od} in {tube_od}");
        }
    }

    #[test]
    fn inch_tube_in_a_metric_fitting_is_loose_by_these_numbers() {
        let (severity, message) = told(15.875, 16.0, None);
        assert_eq!(severity, Severity::Warning);
        assert_eq!(
            message,
            "seal-squeeze: run a: the tube's OD is 15.875 mm; collar-15 at tank.out takes 16 mm: the seal loses \
             0.0625 mm of squeeze on the radius, so a usual 1.78 mm ring squeezed by 20 % would keep 16.5 %; the \
             tube's own tolerance and ovality come on top: 0.077 mm of them leave 12.2 %"
        );
        let (severity, message) = told(15.875, 16.0, Some(Seal { section: 2.62, squeeze: 0.25 }));
        assert_eq!(severity, Severity::Warning);
        assert!(message.contains("its 2.62 mm ring squeezed by 25 % keeps 22.6 %"), "{message}");
    }

    #[test]
    fn what_cannot_seal_or_go_in_is_an_error() {
        let (severity, message) = told(15.0, 16.0, None);
        assert_eq!(severity, Severity::Error);
        assert!(message.starts_with("fitting-od: ") && message.contains("loses 0.5 mm"), "{message}");
        assert!(message.ends_with("would not touch the tube"), "{message}");
        // A 1.78 mm ring at 20 % keeps 10 % with 0.178 mm less.
        assert_eq!(told(15.0, 15.355, None).0, Severity::Warning);
        let (severity, message) = told(15.0, 15.357, None);
        assert_eq!(severity, Severity::Error);
        assert!(message.ends_with("below 10 % no seal is relied on"), "{message}");
        // A thick ring takes more.
        assert_eq!(told(15.0, 16.0, Some(Seal { section: 5.33, squeeze: 0.20 })).0, Severity::Warning);
        let (severity, message) = told(15.11, 15.0, None);
        assert_eq!(severity, Severity::Error);
        assert!(message.ends_with("takes 15 mm: the tube does not go in"), "{message}");
    }
}
