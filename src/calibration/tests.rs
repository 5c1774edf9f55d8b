//! Test bends made by hand.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on has failed")]

use super::*;
use crate::build::Project;
use crate::diagnostic::Severity;
use crate::geometry::{MetricSpace, Point3};
use crate::plan::SpringbackSource;
use crate::spec::model::{LegMeasure, TestBend};
use crate::spec::read_partly;
use crate::testing;

const INCH: f64 = 25.4;

fn piece(pulled: f64, got: f64) -> TestBend {
    TestBend {
        pulled: pulled.to_radians(),
        got: got.to_radians(),
        cut: None,
        leg_a: None,
        leg_b: None,
        measured: LegMeasure::Centre,
        across: None,
        temper: None,
        place: Span::default(),
    }
}

fn legs(pulled: f64, got: f64, cut: f64, leg_a: f64, leg_b: f64) -> TestBend {
    TestBend { cut: Some(cut), leg_a: Some(leg_a), leg_b: Some(leg_b), ..piece(pulled, got) }
}

fn calibrated(clr: f64, od: f64, test_bends: Vec<TestBend>) -> Calibration {
    calibrate(&Bender { test_bends, ..testing::bender(clr) }, od).unwrap()
}

/// The example of a published bender manual: 12 + 24 in of 1-1/2 in tube, bent to 90° over a 6 in radius, measure
/// 20 and 20-1/2 in to the outside. Legs to the centre 19-1/4 and 19-3/4 in, gain 3.0 in, where the
/// radius alone would give 2.575 in: a real radius of 6.99 in, or a stretch of 4.5 %.
#[test]
fn a_published_manuals_square_bend_is_4_5_percent_stretch_or_a_larger_radius() {
    let bend =
        TestBend { measured: LegMeasure::Outside, ..legs(92.0, 90.0, 36.0 * INCH, 20.0 * INCH, 20.5 * INCH) };
    let fit = calibrated(6.0 * INCH, 1.5 * INCH, vec![bend]);
    assert!((fit.pieces[0].leg_sum.unwrap() / INCH - 39.0).abs() < 1e-9);
    let Some(RadiusHeld::OneAngle(angle)) = fit.radius_held else { panic!("{:?}", fit.radius_held) };
    assert!((angle.to_degrees() - 90.0).abs() < 1e-9);
    assert_eq!((fit.clr.value, fit.clr.held, fit.refusal), (6.0 * INCH, true, None));
    assert!((fit.stretch.value - 0.0451).abs() < 5e-5, "{}", fit.stretch.value);
    // The same legs, the stretch taken as 0: the other reading of the example.
    let gained = fit.pieces[0].leg_sum.unwrap() - 36.0 * INCH;
    let radius = gained / crate::formula::calibration::gain_factor(PI / 2.0);
    assert!((radius / INCH - 6.990).abs() < 5e-4);
}

#[test]
fn one_angle_gives_springback_in_proportion() {
    let fit = calibrated(55.0, 15.0, vec![piece(90.0, 88.2), piece(92.0, 90.2)]);
    assert!(fit.fixed.held && fit.fixed.value == 0.0);
    // Least squares through 0 by hand: (1.8·90 + 1.8·92)/(90² + 92²).
    assert!((fit.rate.value - 1.8 * 182.0 / (8100.0 + 8464.0)).abs() < 1e-12);
    assert_eq!((fit.clr.value, fit.stretch.value), (55.0, 0.0));
    assert_eq!(fit.radius_held, Some(RadiusHeld::NoLengths));
    assert_eq!((fit.refusal, fit.angles_to_spare), (None, 1));
    assert_eq!(next(&fit, Unit::Millimetre).len(), 2, "{:?}", next(&fit, Unit::Millimetre));
}

#[test]
fn two_angles_give_a_fixed_part_as_well() {
    let fit = calibrated(55.0, 15.0, vec![piece(45.0, 43.6), piece(90.0, 87.5)]);
    // 1.4° at 45° and 2.5° at 90°: 1.1° per 45°, 0.3° at 0.
    assert!((fit.fixed.value.to_degrees() - 0.3).abs() < 1e-9);
    assert!((fit.rate.value - 1.1 / 45.0).abs() < 1e-12);
    assert_eq!(fit.fixed.standard_error, None, "nothing to spare");
    let reading = fit.rate.reading_error.unwrap().to_degrees();
    assert!((reading - (0.1 * 2f64.sqrt() / 45.0).to_degrees()).abs() < 1e-9, "0.1° at either end");
}

#[test]
fn a_u_bend_across_and_one_square_tell_radius_from_stretch() {
    let u_bend = TestBend { across: Some(127.0), ..piece(184.0, 180.0) };
    // R = (127 − 15)/2 = 56; gain 56·0.429204 = 24.035, and 2 % of 87.965 = 1.759.
    let square = legs(92.0, 90.0, 300.0, 162.897, 162.897);
    let fit = calibrated(55.0, 15.0, vec![u_bend, square]);
    assert_eq!((fit.radius_held, fit.refusal), (None, None));
    assert!((fit.clr.value - 56.0).abs() < 1e-9, "{}", fit.clr.value);
    assert!((fit.stretch.value - 0.02).abs() < 2e-5, "{}", fit.stretch.value);
    assert!((fit.clr.reading_error.unwrap() - 0.05).abs() < 1e-12);
    let alone = calibrated(55.0, 15.0, vec![u_bend]);
    assert_eq!((alone.clr.value, alone.stretch.value, alone.stretch.held), (56.0, 0.0, true));
}

#[test]
fn legs_of_small_bends_do_not_tell_the_radius() {
    let fit = calibrated(
        55.0,
        15.0,
        vec![legs(20.0, 20.0, 300.0, 150.1, 150.1), legs(45.0, 45.0, 300.0, 151.4, 151.4)],
    );
    assert!(matches!(fit.radius_held, Some(RadiusHeld::Uncertain(error)) if error > 2.75), "{fit:?}");
    assert_eq!(fit.clr.value, 55.0);
}

const SPEC: &str = "
format: 1
tube: {standard: EN 1057, size: 15 x 1.0, temper: half-hard}
bender:
  clr: 55
  test_bends:
    - {pulled: 184, got: 180, across: 127}
    - {pulled: 92, got: 90, cut: 300, leg_a: 162.897, leg_b: 162.897}
runs:
  corners:
    from: [0, 0, 0]
    to: [200, 200, 90]
    corners: [[200, 0, 0], {at: [200, 200, 0], clr: 40}]
  rows: {bends: [{length: 80, angle: 90}, {length: 60, angle: 45, clr: 30}], end_length: 70}
  own: {bender: {clr: 40}, bends: [{length: 80, angle: 90}], end_length: 70}
";

#[test]
fn bends_without_a_radius_of_their_own_take_the_fitted_one_and_still_end_where_they_should() {
    let project = Project::read(SPEC, "x.yaml").unwrap();
    let [corners, rows, own] = &project.plan().runs[..] else { panic!("three runs") };
    let radii = |run: &crate::plan::RunPlan| run.bends.iter().map(|bend| bend.clr).collect::<Vec<_>>();
    let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} {b}");
    near(radii(corners)[0], 56.0);
    near(radii(rows)[0], 56.0);
    assert_eq!((radii(corners)[1], radii(rows)[1], &radii(own)[..]), (40.0, 30.0, &[40.0][..]));
    near(corners.bender.formed_clr, 56.0);
    assert_eq!((corners.bender.clr, corners.bender.calibrated, own.bender.calibrated), (55.0, true, false));
    for (at, end) in [[0.0; 3], [200.0, 200.0, 90.0]].into_iter().zip(&corners.ends) {
        near(end.at.distance(Point3::from(at)), 0.0);
    }
    // The corner's setback is the fitted radius.
    near(corners.straights[0], 200.0 - 56.0);
    // 2.2 % of springback for both pieces, none fixed: pulled to 92 for 90.
    near(corners.from_datum_end[0].pull.angle.to_degrees(), 92.0);
    assert_eq!(corners.bends[0].springback_source, SpringbackSource::TestBends);
    // Bends with a radius of their own are not stretched: 2 % of the first arc is.
    let stretched = corners.bender.stretch * 56.0 * PI / 2.0;
    near(corners.cut_length, corners.developed_length - stretched);
}

#[test]
fn a_run_with_a_tube_of_its_own_is_not_planned_by_test_bends_of_another_one() {
    let with = |own: &str| {
        let text = format!("{SPEC}  thin: {{{own}, bends: [{{length: 80, angle: 90}}], end_length: 70}}\n");
        let project = Project::read(&text, "x.yaml").unwrap();
        let told = project.findings().iter().filter(|d| d.code == "tests-of-another-tube").count();
        (project.plan().runs[3].bender.calibrated, told)
    };
    assert_eq!(with("tube: {size: 15 x 1.0, standard: EN 1057}"), (true, 0), "the same tube");
    assert_eq!(with("tube: {temper: soft}"), (false, 1));
    assert_eq!(with("tube: {od: 12, wall: 1}"), (false, 1));
    assert_eq!(with("tube: {od: 12, wall: 1}, bender: {test_bends: []}"), (false, 0));
    assert_eq!(with("tube: {od: 12, wall: 1}, bender: {test_bends: [{pulled: 92, got: 90}]}"), (true, 0));
}

#[test]
fn a_fitted_radius_that_leaves_no_room_is_an_error_at_the_corner() {
    let text = SPEC
        .replace("corners: [[200, 0, 0]", "corners: [[55.5, 0, 0]")
        .replace("to: [200, 200", "to: [55.5, 200");
    let text = text.replace("{at: [200, 200, 0]", "{at: [55.5, 200, 0]");
    let findings = Project::read(&text, "x.yaml").unwrap_err();
    let errors = findings.iter().filter(|finding| finding.severity == Severity::Error);
    let found: Vec<_> = errors.map(|finding| (finding.code, finding.message.as_str())).collect();
    let told = "run corners: the start and corner 1 are 55.5 mm apart; the bend there needs 56.0 mm";
    assert_eq!(found, [("corners-too-close", told)]);
}

#[test]
fn one_fault_is_told_once_however_many_runs_share_the_bender() {
    let bad = SPEC.replace("pulled: 92, got: 90, cut: 300", "pulled: 92, got: 90, cut: 250");
    let (calibrations, findings) = calibrations(&read_partly(&bad, "x.yaml").spec);
    assert_eq!((findings.len(), calibrations), (1, Calibrations::default()));
}
