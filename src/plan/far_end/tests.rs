//! Cases whose probabilities are known. The errors themselves are held against bent tubes in `tests/library/far_end.rs`.

use super::*;
use crate::fit::check;
use crate::formula::normal::within;
use crate::plan::plan;
use crate::spec::model::Fitting;
use crate::testing::{fitting, layout, run};

/// The far end of a straight run of 300 mm between two ports with a fitting, on which so much is uncertain.
fn straight(of: Uncertainty, fitting: &Fitting, allowance: f64) -> FarEnd {
    let mut laid = run("s", 40.0, &[[0.0; 3], [300.0, 0.0, 0.0]]);
    laid.run.allowance_end = allowance;
    for (end, facing) in [(&mut laid.run.from, 1.0), (&mut laid.run.to, -1.0)] {
        let end = end.as_mut().unwrap();
        end.fitting = Some(fitting.clone());
        end.facing = Some(Vector3::new(facing, 0.0, 0.0));
    }
    let mut layout = layout(vec![laid], vec![]);
    layout.uncertainty = of;
    plan(&layout, &check(&layout).0).0.runs.remove(0).far_end.unwrap()
}

const EXACT: Uncertainty =
    Uncertainty { port: 0.0, mark: 0.0, angle: Some(0.0), turn: 0.0, radius: Some(0.0), length: 0.0 };

/// Of 1000 tubes: the deviation of a part of a half is 1.6 %.
fn near(found: f64, wanted: f64) {
    assert!((found - wanted).abs() < 0.05, "found {found}, wanted {wanted}");
}

#[test]
fn a_straight_tube_of_the_wrong_length_goes_in_as_often_as_both_fittings_forgive_it() {
    // A quarter of 12 mm of depth at either end: 6 mm together.
    let long = |length: f64| straight(Uncertainty { length, ..EXACT }, &fitting(), 0.0);
    near(long(6.0).goes_in, 0.95);
    near(long(12.0).goes_in, within(6.0, [12.0 / REACH_95, 0.0]));
    near(long(5.0).goes_in, within(6.0, [5.0 / REACH_95, 0.0]));
    assert_eq!(long(2.0).goes_in, 1.0);
    let far = long(12.0);
    assert!((far.error.along - 12.0).abs() < 1e-9 && far.error.across < 1e-9 && far.error.angle < 1e-9);
    assert_eq!((far.leave, far.dominant.unwrap().quantity), (12.0, Quantity::Length));
    assert_eq!(long(5.0).leave, 0.0);
    // Trimmed, it always goes in.
    assert_eq!(straight(Uncertainty { length: 12.0, ..EXACT }, &fitting(), 12.0).goes_in, 1.0);
}

#[test]
fn ports_that_are_off_let_a_stiff_tube_in_as_often_as_their_sides_and_depths_do() {
    // Without tilt both sides together forgive 2 mm to any side and 2 x 6 mm along.
    let stiff = Fitting { max_angle: 1e-9, max_side: 1.0, insert: 24.0, ..fitting() };
    let far = straight(Uncertainty { port: 2.0, ..EXACT }, &stiff, 0.0);
    let each = 2.0 / REACH_95 * std::f64::consts::SQRT_2;
    near(far.goes_in, within(2.0, [each, each]) * within(12.0, [each, 0.0]));
    assert!((far.error.along - REACH_95 * each).abs() < 1e-9);
    assert!((far.error.across - 2.447747 * each).abs() < 1e-4, "{far:?}");
    assert_eq!(far.dominant.unwrap(), Dominant { quantity: Quantity::Ports, share: 1.0 });
    // With 1° of tilt at both ends 300 mm of tube give 5.2 mm more.
    let soft = Fitting { max_angle: 1f64.to_radians(), ..stiff };
    let far = straight(Uncertainty { port: 2.0, ..EXACT }, &soft, 0.0);
    near(far.goes_in, within(2.0 + 300.0 * 1f64.to_radians(), [each, each]));
}

#[test]
fn nothing_is_said_of_a_run_without_a_port_at_both_ends() {
    let layout = layout(vec![run("s", 40.0, &[[0.0; 3], [300.0, 0.0, 0.0]])], vec![]);
    let facing = layout.runs[0].run.from.as_ref().unwrap().facing;
    assert_eq!(facing, None);
    assert_eq!(plan(&layout, &check(&layout).0).0.runs[0].far_end, None);
}
