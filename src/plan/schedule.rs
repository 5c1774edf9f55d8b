//! One run's lengths, volumes and marks.

use super::model::{BendPlan, EndPlan, RunPlan, TubePlan};
use crate::centreline::{Bend, Centreline, LaidRun};
use crate::formula::{section, wall};
use crate::geometry::{Point3, Vector3};
use crate::spec::model::{Bender, MarkPoint, Tube};

const MM3_PER_ML: f64 = 1000.0;
const MM_PER_M: f64 = 1000.0;
const G_PER_KG: f64 = 1000.0;

/// Plans one run.
pub(super) fn plan_run(laid: &LaidRun, min_clearance: Option<f64>) -> RunPlan {
    let (run, centreline) = (&laid.run, &laid.centreline);
    let tube = &run.tube;
    let (od, wall, length) = (tube.od(), tube.wall(), centreline.length());
    RunPlan {
        name: run.name.clone(),
        tube: TubePlan {
            od_mm: od,
            wall_mm: wall,
            material: tube.material().to_owned(),
            temper: tube.temper().name(),
        },
        developed_length_mm: length,
        cut_length_mm: length + run.allowance_start + run.allowance_end,
        straights_mm: centreline.straights(),
        mass_g: tube
            .density()
            .map(|density| section::mass_per_metre(od, wall, density) * length / MM_PER_M * G_PER_KG),
        bore_volume_ml: section::bore_volume(od, wall, length) / MM3_PER_ML,
        outer_area_mm2: section::outer_area(od, length),
        metal_volume_mm3: section::metal_volume(od, wall, length),
        corners_mm: centreline.corner_points().into_iter().map(point).collect(),
        ends: ends(centreline),
        bends: bends(centreline.bends(), tube, &run.bender, run.allowance_start),
        min_clearance_mm: min_clearance,
    }
}

fn ends(centreline: &Centreline) -> [EndPlan; 2] {
    [
        EndPlan { at_mm: point(centreline.start()), facing: vector(centreline.start_direction()) },
        EndPlan { at_mm: point(centreline.end()), facing: vector(-centreline.end_direction()) },
    ]
}

fn bends(bends: &[Bend], tube: &Tube, bender: &Bender, allowance: f64) -> Vec<BendPlan> {
    let mut last_end = 0.0;
    bends
        .iter()
        .map(|bend| {
            let marked = match bender.mark {
                MarkPoint::Start => bend.start,
                MarkPoint::Middle => bend.middle(),
                MarkPoint::End => bend.end(),
            };
            let mark = allowance + marked - bender.datum;
            let angle = bend.angle.to_degrees();
            let planned = BendPlan {
                number: bend.number,
                angle_deg: angle,
                included_angle_deg: 180.0 - angle,
                rotation_deg: bend.rotation.to_degrees(),
                clr_mm: bend.radius,
                straight_before_mm: bend.straight_before,
                start_mm: allowance + bend.start,
                middle_mm: allowance + bend.middle(),
                end_mm: allowance + bend.end(),
                mark_mm: mark,
                from_last_end_mm: mark - last_end,
                pull_to_deg: angle,
                springback_deg: 0.0,
                springback_source: "none",
                outer_strain: wall::outer_strain(tube.od(), bend.radius),
                outer_wall_mm: wall::outer_wall(tube.od(), tube.wall(), bend.radius),
            };
            last_end = planned.end_mm;
            planned
        })
        .collect()
}

fn point(point: Point3) -> [f64; 3] {
    [point.x, point.y, point.z]
}

fn vector(vector: Vector3) -> [f64; 3] {
    [vector.x, vector.y, vector.z]
}
