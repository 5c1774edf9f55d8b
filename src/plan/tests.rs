use super::{Plan, plan};
use crate::diagnostic::Diagnostics;
use crate::fit::check;
use crate::fit::fixture::{layout, place, run, table_run};
use crate::spec::model::{MarkPoint, Temper, Tube};

fn planned(laid: crate::centreline::LaidRun) -> (Plan, Diagnostics) {
    let layout = layout(vec![laid], vec![]);
    plan(&layout, &check(&layout).0)
}

fn near(found: f64, wanted: f64) {
    assert!((found - wanted).abs() < 5e-4, "found {found}, wanted {wanted}");
}

/// 15 x 1 copper, two 90° bends at 60 mm in a Z through space.
fn zed() -> crate::centreline::LaidRun {
    run("zed", 60.0, &[[0.0; 3], [150.0, 0.0, 0.0], [150.0, 160.0, 0.0], [150.0, 160.0, 100.0]])
}

#[test]
fn lengths_and_volumes_are_those_of_the_finished_tube() {
    let mut laid = zed();
    laid.run.allowance_start = 10.0;
    laid.run.allowance_end = 4.0;
    let run = planned(laid).0.runs.remove(0);
    // 90 + 40 + 40 of straight and two quarter turns of 94.248.
    near(run.developed_length_mm, 358.495_559);
    near(run.cut_length_mm, 372.495_559);
    assert_eq!(run.straights_mm.len(), 3);
    // π·14·1 mm² of metal, π/4·13² of bore.
    near(run.metal_volume_mm3, 358.495_559 * 43.982_297);
    near(run.bore_volume_ml, 358.495_559 * 132.732_289 / 1000.0);
    near(run.outer_area_mm2, 358.495_559 * 47.123_89);
    near(run.mass_g.unwrap(), 358.495_559 * 43.982_297 * 8.94e-3);
    assert_eq!(run.corners_mm.len(), 4);
    assert_eq!(run.ends[0].facing, [1.0, 0.0, 0.0]);
    near(run.ends[1].facing[2], -1.0);
    assert_eq!(run.min_clearance_mm, None);
}

#[test]
fn marks_are_measured_on_the_cut_tube() {
    let mut laid = zed();
    laid.run.allowance_start = 10.0;
    let run = planned(laid).0.runs.remove(0);
    let bend = &run.bends[1];
    near(bend.marks.straight_before_mm, 40.0);
    near(bend.marks.start_mm, 10.0 + 90.0 + 94.2478 + 40.0);
    near(bend.marks.middle_mm, bend.marks.start_mm + 47.1239);
    near(bend.marks.end_mm, bend.marks.start_mm + 94.2478);
    near(bend.marks.mark_mm, bend.marks.start_mm);
    near(bend.marks.from_last_end_mm, 40.0);
    near(run.bends[0].marks.from_last_end_mm, 100.0);
    near(bend.marks.rotation_deg, 90.0);
    near(bend.included_angle_deg, 90.0);
    near(bend.outer_strain, 0.125);
    near(bend.outer_wall_mm, 60.0 / 67.5);
    near(bend.pull_to_deg, 90.0);
}

#[test]
fn the_mark_is_the_tools_point_less_its_datum() {
    for (mark, point) in [(MarkPoint::Start, 90.0), (MarkPoint::Middle, 137.1239), (MarkPoint::End, 184.2478)]
    {
        let mut laid = zed();
        laid.run.bender.mark = mark;
        laid.run.bender.datum = 7.5;
        near(planned(laid).0.runs[0].bends[0].marks.mark_mm, point - 7.5);
    }
}

#[test]
fn no_density_no_mass() {
    let mut laid = zed();
    laid.run.tube = Tube::new(15.0, 1.0, "steel", None, Temper::Hard, "15 x 1").unwrap();
    assert_eq!(planned(laid).0.runs[0].mass_g, None);
}

#[test]
fn short_straights_are_named_in_bending_order() {
    let mut laid = zed();
    laid.run.bender.grip = 95.0;
    laid.run.bender.lead_out = 50.0;
    let found = planned(laid.clone()).1;
    let said: Vec<(&str, Option<usize>, &str)> =
        found.iter().map(|d| (d.code, d.bend, d.message.as_str())).collect();
    assert_eq!(
        said,
        [
            ("short-grip", Some(1), "run zed: the straight before bend 1 is 90.0 mm; the bender grips 95 mm"),
            ("short-grip", Some(2), "run zed: the straight before bend 2 is 40.0 mm; the bender grips 95 mm"),
            (
                "short-lead-out",
                Some(2),
                "run zed: there are 40.0 mm of tube after bend 2; the bender needs 50 mm"
            ),
        ]
    );
    let hints: Vec<&str> = found.iter().filter_map(|d| d.hint.as_deref()).collect();
    assert_eq!(
        hints,
        [
            "move corner 1 at least 5 mm further from the start, or give `allowance: {start: 5 mm}` to trim away later",
            "move corners 1 and 2 apart by at least 55 mm",
            "move corner 2 at least 10 mm further from the end, or give `allowance: {end: 10 mm}` to trim away later",
        ]
    );
    assert!(found.iter().all(|d| d.place == Some(place(6))), "the corner's place: {found:?}");
    // Allowances are tube to hold: they cure the first grip and the last lead-out.
    laid.run.allowance_start = 5.0;
    laid.run.allowance_end = 10.0;
    let left: Vec<Option<usize>> = planned(laid).1.iter().map(|d| d.bend).collect();
    assert_eq!(left, [Some(2)]);
}

#[test]
fn a_bend_table_is_told_its_own_keys() {
    let mut laid = table_run("t", 40.0, &[(12.34, 0.0, 90.0), (6.0, 0.0, 90.0)], 8.0);
    laid.run.bender.grip = 19.0;
    laid.run.bender.lead_out = 15.0;
    laid.run.allowance_start = 2.0;
    let found = planned(laid).1;
    let hints: Vec<&str> = found.iter().filter_map(|d| d.hint.as_deref()).collect();
    assert_eq!(
        hints,
        [
            // 19 - 2 of allowance; 2 + (19 - 14.34).
            "make `length` of bend 1 at least 17 mm, or give `allowance: {start: 6.66 mm}` to trim away later",
            "make `length` of bend 2 at least 19 mm",
            "make `end_length` at least 15 mm, or give `allowance: {end: 7 mm}` to trim away later",
        ]
    );
    assert!(found.iter().all(|d| d.place == Some(place(6))), "the row's place: {found:?}");
}

#[test]
fn marks_off_the_tube_are_cured_by_the_allowance_they_name() {
    let off = |datum: f64, start: f64, end: f64| {
        let mut laid = table_run("t", 40.0, &[(30.0, 0.0, 90.0)], 20.0);
        laid.run.bender.datum = datum;
        laid.run.allowance_start = start;
        laid.run.allowance_end = end;
        let found = planned(laid).1;
        let said: Vec<String> = found
            .iter()
            .map(|d| format!("{} {:?} {}; {}", d.code, d.bend, d.message, d.hint.as_deref().unwrap_or("")))
            .collect();
        said.join("\n")
    };
    assert_eq!(
        off(50.0, 0.0, 0.0),
        "mark-off-tube Some(1) run t: the mark of bend 1 falls 20.0 mm in front of the cut tube; \
         give `allowance: {start: 20 mm}` to trim away later, or check the bender's `datum`"
    );
    assert_eq!(off(50.0, 20.0, 0.0), "");
    // The cut tube is 30 + 62.832 + 20 long.
    assert_eq!(
        off(-90.0, 0.0, 1.0),
        "mark-off-tube Some(1) run t: the mark of bend 1 falls 6.2 mm beyond the end of the cut tube; \
         give `allowance: {end: 7.17 mm}` to trim away later, or check the bender's `datum`"
    );
    assert_eq!(off(-90.0, 0.0, 7.17), "");
    assert_eq!(off(30.0, 0.0, 0.0), "", "on the datum end");
}
