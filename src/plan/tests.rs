use super::{Plan, plan};
use crate::diagnostic::Diagnostics;
use crate::fit::check;
use crate::geometry::Vector3;
use crate::spec::model::{MarkPoint, Temper, Tube};
use crate::testing::{layout, run};

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
    near(run.developed_length, 358.495_559);
    near(run.cut_length, 372.495_559);
    assert_eq!(run.straights.len(), 3);
    // π·14·1 mm² of metal, π/4·13² of bore.
    near(run.metal_volume, 358.495_559 * 43.982_297);
    near(run.bore_volume, 358.495_559 * 132.732_289 / 1000.0);
    near(run.outer_area, 358.495_559 * 47.123_89);
    near(run.mass.unwrap(), 358.495_559 * 43.982_297 * 8.94e-3);
    assert_eq!(run.corners.len(), 4);
    assert_eq!(run.ends[0].facing, Vector3::unit_x());
    near(run.ends[1].facing.z, -1.0);
    assert_eq!(run.min_clearance(), None);
}

#[test]
fn marks_are_measured_on_the_cut_tube() {
    let mut laid = zed();
    laid.run.allowance_start = 10.0;
    let run = planned(laid).0.runs.remove(0);
    let (bend, made) = (&run.bends[1], run.from_datum_end[1]);
    near(made.feed.straight_before, 40.0);
    near(made.arc.start, 10.0 + 90.0 + 94.2478 + 40.0);
    near(made.arc.middle(), made.arc.start + 47.1239);
    near(made.arc.end(), made.arc.start + 94.2478);
    near(made.feed.mark, made.arc.start);
    near(made.feed.from_last_end, 40.0);
    near(run.from_datum_end[0].feed.from_last_end, 100.0);
    near(made.turn.rotation.to_degrees(), 90.0);
    near(bend.angle.to_degrees(), 90.0);
    // The leg of the first bend begins at the end of the cut tube.
    near(run.from_datum_end[0].leg.unwrap(), 10.0 + 90.0 + 60.0);
    near(made.leg.unwrap(), 100.0);
    near(bend.outer_strain, 0.125);
    near(bend.outer_wall, 60.0 / 67.5);
}

#[test]
fn the_mark_is_the_tools_point_less_its_datum() {
    for (mark, point) in [(MarkPoint::Start, 90.0), (MarkPoint::Middle, 137.1239), (MarkPoint::End, 184.2478)]
    {
        let mut laid = zed();
        laid.run.bender.mark = mark;
        laid.run.bender.datum = 7.5;
        near(planned(laid).0.runs[0].from_datum_end[0].feed.mark, point - 7.5);
    }
}

#[test]
fn no_density_no_mass() {
    let mut laid = zed();
    laid.run.tube = Tube::new(15.0, 1.0, "steel", None, Temper::Hard, "15 x 1").unwrap();
    assert_eq!(planned(laid).0.runs[0].mass, None);
}
