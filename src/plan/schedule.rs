//! One run's lengths, volumes and bends.

use super::accept::QualityPlan;
use super::model::{BendPlan, BenderPlan, EndPlan, Operation, RunPlan, TubePlan};
use super::operations::{self, Held};
use super::{anneal, estimate, metal, order, pressure, quality, springback};
use crate::centreline::{Bend, LaidRun};
use crate::fit::Neighbour;
use crate::formula::{seal, section, wall};
use crate::geometry::{Point3, Vector3};
use crate::spec::model::{Carried, End, EndForm, Run, Tube};

const MM3_PER_ML: f64 = 1000.0;
const MM_PER_M: f64 = 1000.0;
const G_PER_KG: f64 = 1000.0;
const NMM_PER_NM: f64 = 1000.0;

/// Plans one run.
pub(super) fn plan_run(laid: &LaidRun, nearest: Option<Neighbour>, carries: Option<Carried>) -> RunPlan {
    let (run, centreline) = (&laid.run, &laid.centreline);
    let tube = &run.tube;
    let (od, wall, length) = (tube.od(), tube.wall(), centreline.length());
    let cut_length = operations::cut_length(laid);
    let held: Vec<Held> = centreline.bends().iter().map(|bend| held(laid, bend)).collect();
    let [from_datum_end, from_other_end] = operations::operations(laid, &held, cut_length);
    let quality = quality::plan(laid);
    let order = order::plan(run, &order::orders(run, &from_datum_end, &from_other_end, cut_length));
    RunPlan {
        name: run.name.clone(),
        tube: tube_plan(tube),
        bender: bender(laid),
        developed_length: length,
        cut_length,
        allowance_start: run.allowance_start,
        allowance_end: run.allowance_end,
        straights: centreline.straights(),
        mass: tube
            .density()
            .map(|density| section::mass_per_metre(od, wall, density) * length / MM_PER_M * G_PER_KG),
        bore_volume: section::bore_volume(od, wall, length) / MM3_PER_ML,
        outer_area: section::outer_area(od, length),
        metal_volume: section::metal_volume(od, wall, length),
        corners: centreline.corner_points(),
        ends: ends(laid, &from_datum_end, cut_length),
        anneal_heat: anneal::heat(run, &from_datum_end),
        bends: centreline
            .bends()
            .iter()
            .zip(&held)
            .map(|(bend, held)| one_bend(run, &quality, bend, held))
            .collect(),
        from_datum_end,
        from_other_end,
        quality,
        order,
        pressures: pressure::allowed(laid, carries),
        do_not_cut: Vec::new(),
        // Worked out from all the rest.
        far_end: None,
        nearest,
    }
}

fn tube_plan(tube: &Tube) -> TubePlan {
    TubePlan { od: tube.od(), wall: tube.wall(), material: tube.material().to_owned(), temper: tube.temper() }
}

fn bender(laid: &LaidRun) -> BenderPlan {
    let LaidRun { run: Run { bender, .. }, formed, .. } = laid;
    BenderPlan {
        name: bender.name.clone(),
        clr: bender.clr,
        formed_clr: formed.map_or(bender.clr, |formed| formed.clr),
        formed_if_tool_clr: springback::formed_if_tool(&laid.run),
        mark: bender.mark,
        datum: bender.datum,
        grip: bender.grip,
        lead_out: bender.lead_out,
        lever: bender.lever,
        calibrated: formed.is_some(),
        stretch: formed.map_or(0.0, |formed| formed.stretch),
        springback_fixed: formed.map(|formed| formed.springback_fixed),
        springback_rate: formed.map(|formed| formed.springback_rate),
    }
}

fn ends(laid: &LaidRun, from_datum_end: &[Operation], cut_length: f64) -> [EndPlan; 2] {
    let centreline = &laid.centreline;
    let [near_datum, near_other] = anneal::heated_seats(laid, from_datum_end, cut_length);
    let end = |at: Point3, facing: Vector3, end: Option<&End>, heated: Option<f64>| {
        let fitting = end.and_then(|end| end.fitting.as_ref());
        EndPlan {
            at,
            facing,
            port: end.and_then(|end| end.port.clone()),
            fitting: fitting.map(|fitting| fitting.name.clone()),
            form: fitting.map_or(EndForm::Plain, |fitting| fitting.end),
            heated,
            insert: end.map_or(0.0, End::insert),
            squeeze_loss: fitting.map(|fitting| seal::squeeze_loss(fitting.tube_od, laid.run.tube.od())),
        }
    };
    [
        end(centreline.start(), centreline.start_direction(), laid.run.from.as_ref(), near_datum),
        end(centreline.end(), -centreline.end_direction(), laid.run.to.as_ref(), near_other),
    ]
}

fn held(laid: &LaidRun, bend: &Bend) -> Held {
    let annealed = anneal::is_annealed(&laid.run, bend.radius);
    Held { annealed, springback: springback::springback(laid, bend, annealed) }
}

fn one_bend(run: &Run, quality: &QualityPlan, bend: &Bend, held: &Held) -> BendPlan {
    let tube = &run.tube;
    let bent = metal::bent_tube(tube, held.annealed);
    let moment = bent.map(|tube| tube.moment(held.springback.pull.radius) / NMM_PER_NM);
    BendPlan {
        number: bend.number,
        angle: bend.angle,
        clr: bend.radius,
        springback_source: held.springback.source,
        springback_band: held.springback.band(bend.angle),
        outer_strain: wall::outer_strain(tube.od(), bend.radius),
        elongation: metal::elongation(tube, held.annealed),
        outer_wall: wall::outer_wall(tube.od(), tube.wall(), bend.radius),
        inner_wall: wall::inner_wall(tube.od(), tube.wall(), bend.radius),
        moment,
        lever_force: moment.zip(run.bender.lever).map(|(moment, lever)| moment / (lever / MM_PER_M)),
        estimate: estimate::estimate(run, quality, bend.radius),
    }
}
