//! One run's lengths, volumes and bends.

use super::model::{BendPlan, BenderPlan, EndPlan, Marks, OtherEndBend, RunPlan, TubePlan};
use super::{anneal, marks, order, quality, springback};
use crate::centreline::{Bend, LaidRun};
use crate::formula::{seal, section, wall};
use crate::geometry::{Point3, Vector3};
use crate::spec::model::{End, Run, Tube};

const MM3_PER_ML: f64 = 1000.0;
const MM_PER_M: f64 = 1000.0;
const G_PER_KG: f64 = 1000.0;

/// A bend this near to 90° has its leg given to back, centre and inside, rad.
const SQUARE: f64 = crate::tolerance::SMALLEST_BEND;

/// Plans one run.
pub(super) fn plan_run(laid: &LaidRun, min_clearance: Option<f64>) -> RunPlan {
    let (run, centreline) = (&laid.run, &laid.centreline);
    let tube = &run.tube;
    let (od, wall, length) = (tube.od(), tube.wall(), centreline.length());
    let cut_length = marks::cut_length(laid);
    let (bends, from_other_end) = (bends(laid, cut_length), from_other_end(laid));
    let order = order::plan(run, &order::orders(run, &bends, &from_other_end, cut_length));
    RunPlan {
        name: run.name.clone(),
        tube: tube_plan(tube),
        bender: bender(run),
        developed_length_mm: length,
        cut_length_mm: cut_length,
        allowance_start_mm: run.allowance_start,
        allowance_end_mm: run.allowance_end,
        straights_mm: centreline.straights(),
        mass_g: tube
            .density()
            .map(|density| section::mass_per_metre(od, wall, density) * length / MM_PER_M * G_PER_KG),
        bore_volume_ml: section::bore_volume(od, wall, length) / MM3_PER_ML,
        outer_area_mm2: section::outer_area(od, length),
        metal_volume_mm3: section::metal_volume(od, wall, length),
        corners_mm: centreline.corner_points().into_iter().map(point).collect(),
        ends: ends(laid),
        quality: quality::plan(laid),
        anneal_heat_kj: anneal::heat(run, &bends),
        bends,
        from_other_end,
        order,
        min_clearance_mm: min_clearance,
    }
}

fn tube_plan(tube: &Tube) -> TubePlan {
    TubePlan {
        od_mm: tube.od(),
        wall_mm: tube.wall(),
        material: tube.material().to_owned(),
        temper: tube.temper().name(),
    }
}

fn bender(run: &Run) -> BenderPlan {
    let bender = &run.bender;
    BenderPlan {
        name: bender.name.clone(),
        clr_mm: bender.clr,
        formed_clr_mm: bender.formed.map_or(bender.clr, |formed| formed.clr),
        formed_if_tool_clr_mm: springback::formed_if_tool(run),
        mark: bender.mark.name(),
        datum_mm: bender.datum,
        grip_mm: bender.grip,
        lead_out_mm: bender.lead_out,
        calibrated: bender.formed.is_some(),
        stretch: bender.formed.map_or(0.0, |formed| formed.stretch),
        springback_fixed_deg: bender.formed.map(|formed| formed.springback_fixed.to_degrees()),
        springback_rate: bender.formed.map(|formed| formed.springback_rate),
    }
}

fn ends(laid: &LaidRun) -> [EndPlan; 2] {
    let centreline = &laid.centreline;
    let end = |at: Point3, facing: Vector3, end: Option<&End>| {
        let fitting = end.and_then(|end| end.fitting.as_ref());
        EndPlan {
            at_mm: point(at),
            facing: vector(facing),
            port: end.and_then(|end| end.port.clone()),
            fitting: fitting.map(|fitting| fitting.name.clone()),
            insert_mm: end.map_or(0.0, End::insert),
            squeeze_loss_mm: fitting.map(|fitting| seal::squeeze_loss(fitting.tube_od, laid.run.tube.od())),
        }
    };
    [
        end(centreline.start(), centreline.start_direction(), laid.run.from.as_ref()),
        end(centreline.end(), -centreline.end_direction(), laid.run.to.as_ref()),
    ]
}

fn bends(laid: &LaidRun, cut_length: f64) -> Vec<BendPlan> {
    let marks = marks::marks(laid, false);
    let clock = marks::clock(&marks);
    laid.centreline
        .bends()
        .iter()
        .zip(marks)
        .zip(clock)
        .map(|((bend, marks), inside)| one_bend(laid, bend, marks, inside, cut_length))
        .collect()
}

fn one_bend(laid: &LaidRun, bend: &Bend, marks: Marks, inside: f64, cut_length: f64) -> BendPlan {
    let tube = &laid.run.tube;
    let annealed = anneal::is_annealed(&laid.run, bend.radius);
    let zone = annealed.then(|| anneal::zone(laid, &marks, cut_length));
    let spring = springback::springback(laid, bend, annealed);
    let angle = bend.angle.to_degrees();
    let allowance = if bend.number == 1 { laid.run.allowance_start } else { 0.0 };
    let square = (bend.angle - std::f64::consts::FRAC_PI_2).abs() < SQUARE;
    let to_centre = square.then_some(allowance + bend.straight_before + bend.radius);
    BendPlan {
        number: bend.number,
        angle_deg: angle,
        included_angle_deg: 180.0 - angle,
        clr_mm: bend.radius,
        marks,
        inside_clock_deg: inside,
        pull_to_deg: spring.pull_to.to_degrees(),
        springback_deg: spring.pull_to.to_degrees() - angle,
        springback_source: spring.source,
        clr_under_load_mm: spring.radius_under_load,
        anneal_from_mm: zone.map(|zone| zone.0),
        anneal_to_mm: zone.map(|zone| zone.1),
        outer_strain: wall::outer_strain(tube.od(), bend.radius),
        outer_wall_mm: wall::outer_wall(tube.od(), tube.wall(), bend.radius),
        inner_wall_mm: wall::inner_wall(tube.od(), tube.wall(), bend.radius),
        end_to_centre_mm: to_centre,
        end_to_back_mm: to_centre.map(|leg| leg + tube.outer_radius()),
        end_to_inside_mm: to_centre.map(|leg| leg - tube.outer_radius()),
    }
}

fn from_other_end(laid: &LaidRun) -> Vec<OtherEndBend> {
    let marks = marks::marks(laid, true);
    let clock = marks::clock(&marks);
    let numbers = laid.centreline.bends().iter().rev().map(|bend| bend.number);
    numbers
        .zip(marks)
        .zip(clock)
        .map(|((number, marks), inside)| OtherEndBend { number, marks, inside_clock_deg: inside })
        .collect()
}

fn point(point: Point3) -> [f64; 3] {
    [point.x, point.y, point.z]
}

fn vector(vector: Vector3) -> [f64; 3] {
    [vector.x, vector.y, vector.z]
}
