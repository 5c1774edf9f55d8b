//! Tubes of round numbers, their places worked by hand, and whole runs followed on the tool that they are planned for.

use std::f64::consts::{FRAC_PI_2, PI};

use super::*;
use crate::centreline::LaidRun;
use crate::fit::check;
use crate::geometry::{InnerSpace, MetricSpace};
use crate::plan::plan;
use crate::spec::model::{LegMeasure, Temper, TestBend};
use crate::testing::{layout, place, table_run};

/// A tool that forms a radius of 50 mm without springback or stretch.
fn plain(mark: MarkPoint, datum: f64) -> Tool {
    let form = Formed { springback_fixed: 0.0, springback_rate: 0.0, clr: 50.0, stretch: 0.0 };
    Tool { mark, datum, forms: vec![form; 3] }
}

fn near(found: Point3, wanted: [f64; 3]) {
    assert!(found.distance(Point3::from(wanted)) < 1e-3, "found {found:?}, wanted {wanted:?}");
}

fn along(found: Vector3, wanted: [f64; 3]) {
    assert!((found - Vector3::from(wanted)).magnitude() < 1e-9, "found {found:?}, wanted {wanted:?}");
}

#[test]
fn a_tube_is_where_each_operation_puts_it() {
    let tool = plain(MarkPoint::Start, 0.0);
    let mut tube = Workpiece::new(300.0);
    tube.feed(100.0);
    near(tube.in_tool().start(), [-100.0, 0.0, 0.0]);
    near(tube.in_tool().end(), [200.0, 0.0, 0.0]);
    // A quarter turn of 78.540 mm towards +y. It ends at x = 0, so it began a radius before and beside that, and the
    // first 100 mm come down to there along −y; 300 − 100 − 78.540 mm are left.
    tube.pull(&tool, 1, FRAC_PI_2).unwrap();
    let line = tube.in_tool();
    near(line.start(), [-50.0, 150.0, 0.0]);
    along(line.start_direction(), [0.0, -1.0, 0.0]);
    near(line.point_at(100.0), [-50.0, 50.0, 0.0]);
    near(line.point_at(178.540), [0.0, 0.0, 0.0]);
    near(line.end(), [121.460, 0.0, 0.0]);
    along(line.bends()[0].axis, [0.0, 0.0, 1.0]);
    // Clockwise is right-handed about x: what stood out along y stands out along z.
    tube.turn(FRAC_PI_2);
    near(tube.in_tool().start(), [-50.0, 0.0, 150.0]);
    near(tube.in_tool().end(), [121.460, 0.0, 0.0]);
    // The mark 228.540 mm from the first end lies 50 mm behind the bend.
    tube.feed(228.540);
    near(tube.in_tool().start(), [-100.0, 0.0, 150.0]);
    // The second bend turns by 45° about z and takes 39.270 mm of tube; what was bent before swings round with it.
    tube.pull(&tool, 2, FRAC_PI_2 / 2.0).unwrap();
    let line = tube.in_tool();
    near(line.end(), [300.0 - 228.540 - 39.270, 0.0, 0.0]);
    let (sin, cos) = (PI / 4.0).sin_cos();
    // The second bend starts at 50·sin 45° before x = 0, 50·(1 − cos 45°) beside it.
    let start = [-50.0 * sin, 50.0 * (1.0 - cos), 0.0];
    near(line.point_at(228.540), start);
    // From there 50 mm of straight and a radius back, and 150 mm up.
    near(line.start(), [start[0] - 100.0 * cos, start[1] + 100.0 * sin, 150.0]);
    // The plane of the second bend lies a quarter turn anticlockwise of the first.
    assert!((tube.rows()[1].rotation + FRAC_PI_2).abs() < 1e-12);
    assert!((tube.rest() - 32.190).abs() < 1e-3);
}

#[test]
fn the_mark_stands_for_a_point_of_the_bend() {
    // 78.540 mm of tube; the point lies 4 mm beyond the reference line.
    for (mark, start) in [(MarkPoint::Start, 104.0), (MarkPoint::Middle, 64.730), (MarkPoint::End, 25.460)] {
        let mut tube = Workpiece::new(300.0);
        tube.feed(100.0);
        tube.pull(&plain(mark, 4.0), 1, FRAC_PI_2).unwrap();
        assert!((tube.rows()[0].length - start).abs() < 1e-3, "{mark:?}: {}", tube.rows()[0].length);
    }
}

#[test]
fn the_tool_decides_what_comes_out_of_a_pull() {
    // Pulled to 100° it opens by 1° + 2 %: 97° are left, 84.648 mm of arc at R 50, made of 82.955 mm of tube at 2 %
    // of stretch. The bent tube is 1.693 mm longer than the straight one.
    let form =
        Formed { springback_fixed: 1f64.to_radians(), springback_rate: 0.02, clr: 50.0, stretch: 0.02 };
    let tool = Tool { mark: MarkPoint::Start, datum: 0.0, forms: vec![form] };
    let mut tube = Workpiece::new(300.0);
    tube.feed(100.0);
    tube.pull(&tool, 1, 100f64.to_radians()).unwrap();
    let row = tube.rows()[0];
    assert!((row.angle.to_degrees() - 97.0).abs() < 1e-9 && row.radius == 50.0);
    assert!((tube.rest() - (300.0 - 100.0 - 82.955)).abs() < 1e-3);
    assert!((tube.in_tool().length() - 301.693).abs() < 1e-3);
}

#[test]
fn a_bend_that_cannot_be_made_is_told_and_leaves_the_tube_as_it_was() {
    let tool = plain(MarkPoint::Start, 0.0);
    let mut tube = Workpiece::new(300.0);
    tube.feed(100.0);
    tube.pull(&tool, 1, FRAC_PI_2).unwrap();
    let before = tube.clone();
    let told = |tube: &Workpiece, mark: f64, bend: usize, degrees: f64| {
        let mut tube = tube.clone();
        tube.feed(mark);
        let fault = tube.pull(&tool, bend, degrees.to_radians()).unwrap_err();
        assert_eq!(tube.rows(), before.rows());
        fault.to_string()
    };
    // The first bend ends at 178.540 mm; the next takes 78.540 mm.
    let inside = "bend 2 begins 8.5 mm inside the bend made before it, or in front of the tube";
    assert_eq!(told(&tube, 170.0, 2, 90.0), inside);
    assert_eq!(told(&tube, 230.0, 2, 90.0), "bend 2 ends 8.5 mm beyond the tube");
    assert_eq!(told(&tube, 200.0, 2, 0.04), "bend 2 comes out at 0.04°; a bend turns by 0.05° to 180°");
    assert_eq!(told(&tube, 179.0, 2, 181.0), "bend 2 comes out at 181.00°; a bend turns by 0.05° to 180°");
    assert_eq!(told(&tube, 200.0, 4, 30.0), "the tool has no constants for bend 4");
    assert_eq!(told(&tube, 200.0, 0, 30.0), "the tool has no constants for bend 0");
}

/// Three bends in space with a U, an allowance at either end.
fn run() -> LaidRun {
    let mut laid =
        table_run("r", 50.0, &[(60.0, 20.0, 90.0), (0.0, 100.0, 180.0), (40.0, -70.0, 35.0)], 70.0);
    (laid.run.allowance_start, laid.run.allowance_end) = (8.0, 3.0);
    laid.run.bender.mark = MarkPoint::Middle;
    laid.run.bender.datum = 6.0;
    laid
}

fn planned(laid: &LaidRun) -> RunPlan {
    let layout = layout(vec![laid.clone()], vec![]);
    plan(&layout, &check(&layout).0).0.runs.remove(0)
}

#[test]
fn the_plan_followed_on_its_own_tool_makes_the_run_from_either_end() {
    let mut tested = run();
    tested.formed = Some(Formed { springback_fixed: 0.02, springback_rate: 0.03, clr: 50.0, stretch: 0.04 });
    for laid in [run(), tested] {
        let plan = planned(&laid);
        let tool = Tool::as_planned(&plan);
        for from in FromEnd::BOTH {
            let [waste, other] = plan.allowances(from);
            let steps: Vec<Step> =
                follow(plan.operations(from), plan.cut_length, &tool).collect::<Result<_, _>>().unwrap();
            let made: Vec<(usize, Action)> = steps.iter().map(|step| (step.bend, step.action)).collect();
            let parts = [Action::Feed, Action::Turn, Action::Pull];
            let wanted = plan.operations(from).iter().flat_map(|made| parts.map(|part| (made.bend, part)));
            assert_eq!(made, wanted.collect::<Vec<_>>());
            let tube = &steps.last().unwrap().tube;
            let line = tube.laid_at(run_frame(&laid.centreline, from, waste));
            assert!((line.length() - waste - other - laid.centreline.length()).abs() < 1e-9);
            let along = match from {
                FromEnd::Datum => laid.centreline.clone(),
                FromEnd::Other => laid.centreline.reversed(),
            };
            for station in 0..=40 {
                let station = along.length() * f64::from(station) / 40.0;
                let (found, wanted) = (line.point_at(waste + station), along.point_at(station));
                assert!(found.distance(wanted) < 1e-9, "{from:?} at {station}: {found:?} {wanted:?}");
            }
            // On the tool it is the same tube, moved: distances between its points are alike.
            let on_tool = tube.in_tool();
            let apart = |line: &Centreline, a: f64, b: f64| line.point_at(a).distance(line.point_at(b));
            for (a, b) in [(0.0, 150.0), (0.0, 400.0), (100.0, 330.0)] {
                assert!((apart(&line, a, b) - apart(&on_tool, a, b)).abs() < 1e-9);
            }
        }
    }
}

#[test]
fn test_bends_in_another_state_still_tell_the_stretch() {
    let mut laid = run();
    laid.formed = Some(Formed { springback_fixed: 0.0, springback_rate: 0.03, clr: 50.0, stretch: 0.04 });
    let tested = TestBend {
        pulled: 1.6,
        got: 1.55,
        cut: None,
        leg_a: None,
        leg_b: None,
        measured: LegMeasure::Centre,
        across: None,
        temper: Some(Temper::Soft),
        place: place(3),
    };
    laid.run.bender.test_bends = vec![tested];
    let plan = planned(&laid);
    assert!(plan.bends.iter().all(|bend| bend.springback_source == SpringbackSource::Predicted));
    let tool = Tool::as_planned(&plan);
    let tube = follow(&plan.from_datum_end, plan.cut_length, &tool).last().unwrap().unwrap().tube;
    let line = tube.laid_at(run_frame(&laid.centreline, FromEnd::Datum, plan.allowance_start));
    assert!((line.length() - laid.centreline.length() - 11.0).abs() < 1e-9, "{}", line.length());
    for (row, straight) in tube.rows().iter().zip([68.0, 0.0, 40.0]) {
        assert!((row.length - straight).abs() < 1e-9, "{row:?}");
    }
}

#[test]
fn a_tool_that_is_not_the_planned_one_makes_another_tube_or_stops() {
    let laid = run();
    let plan = planned(&laid);
    let mut tool = Tool::as_planned(&plan);
    // The U behind the first bend leaves no straight between them: a wider first bend runs into it.
    tool.forms[0].clr = 52.0;
    let done: Vec<_> = follow(&plan.from_datum_end, plan.cut_length, &tool).collect();
    assert_eq!(done.len(), 6, "it ends with the bend that fails");
    assert!(matches!(done[5], Err(BenchFault::Overlap { bend: 2, .. })), "{:?}", done[5]);
    // Pulled by the same angle, the last bend comes out 2 % short of 35°.
    let mut tool = Tool::as_planned(&plan);
    tool.forms[2].springback_rate = 1.0 - 0.98 * (1.0 - tool.forms[2].springback_rate);
    let last = follow(&plan.from_datum_end, plan.cut_length, &tool).last().unwrap().unwrap();
    assert!((last.tube.rows()[2].angle.to_degrees() - 35.0 * 0.98).abs() < 1e-9);
}

#[test]
fn a_straight_tube_has_a_place_too() {
    let laid = table_run("s", 50.0, &[], 200.0);
    let plan = planned(&laid);
    assert_eq!(follow(&plan.from_datum_end, plan.cut_length, &Tool::as_planned(&plan)).count(), 0);
    let tube = Workpiece::new(plan.cut_length);
    near(tube.in_tool().end(), [200.0, 0.0, 0.0]);
    let line = tube.laid_at(run_frame(&laid.centreline, FromEnd::Other, 0.0));
    assert!(line.start().distance(laid.centreline.end()) < 1e-12);
    assert!(line.end().distance(laid.centreline.start()) < 1e-12);
}
