//! The plan as `plan.json` has it. Field names are the keys, in their order; units are in the names, and angles are
//! degrees.

use serde::Serialize;

use super::assembly::{self, StepData};
use super::cutting::CutPlanData;
use crate::plan::{
    AllowedPressure, BendPlan, Better, Dominant, Early, EndPlan, FarEnd, FromEnd, Operation, OrderFit,
    OrderPlan, Plan, QualityPlan, Quantity, RunPlan, SpringbackSource,
};

/// Version of the keys.
const FORMAT: u32 = 1;

/// A plan, without what other stages say of it.
#[derive(Serialize)]
pub(super) struct PlanData<'a> {
    format: u32,
    title: &'a str,
    spec: &'a str,
    carries: Option<&'static str>,
    runs: Vec<RunData<'a>>,
    cut_plan: CutPlanData<'a>,
    assembly: Vec<StepData<'a>>,
}

/// A run as the files of a build and the reports of the program have it.
#[derive(Serialize)]
pub struct RunData<'a> {
    name: &'a str,
    tube: TubeData<'a>,
    bender: BenderData<'a>,
    developed_length_mm: f64,
    cut_length_mm: f64,
    allowance_start_mm: f64,
    allowance_end_mm: f64,
    straights_mm: &'a [f64],
    mass_g: Option<f64>,
    bore_volume_ml: f64,
    outer_area_mm2: f64,
    metal_volume_mm3: f64,
    corners_mm: Vec<[f64; 3]>,
    ends: [EndData<'a>; 2],
    bends: Vec<BendData>,
    from_other_end: Vec<OtherEndData>,
    order: OrderData<'a>,
    quality: QualityData<'a>,
    anneal_heat_kj: Option<f64>,
    allowed_pressure: Vec<PressureData>,
    do_not_cut: &'a [String],
    min_clearance_mm: Option<f64>,
    nearest: Option<NearestData<'a>>,
    far_end: Option<FarEndData>,
}

/// How far the end that is put in last may miss its port, 95 % of it, and what is forgiven there.
#[derive(Serialize)]
struct FarEndData {
    put_in_first: &'static str,
    along_mm: f64,
    across_mm: f64,
    angle_deg: f64,
    forgiven_along_mm: f64,
    forgiven_across_mm: f64,
    forgiven_angle_deg: f64,
    goes_in: f64,
    dominant: Option<DominantData>,
    leave_mm: f64,
    early: Option<EarlyData>,
}

/// The quantity that most of the error is due to.
#[derive(Serialize)]
struct DominantData {
    /// "mark", "angle", "turn", "radius", "length" or "ports".
    quantity: &'static str,
    number: Option<usize>,
    radius_mm: Option<f64>,
    share: f64,
}

/// What shows it before the tube is tried: the distance between the ends of a template.
#[derive(Serialize)]
struct EarlyData {
    plane: usize,
    end_to_end_mm: f64,
    off_mm: f64,
}

/// What the least clearance is to, and where on the run's surface.
#[derive(Serialize)]
struct NearestData<'a> {
    to: &'a str,
    at_mm: [f64; 3],
}

/// The pressure that a run may hold up to a temperature, °C.
#[derive(Serialize)]
struct PressureData {
    celsius: f64,
    straight_bar: f64,
    tightest_bend_bar: Option<f64>,
}

#[derive(Serialize)]
struct TubeData<'a> {
    od_mm: f64,
    wall_mm: f64,
    material: &'a str,
    temper: &'static str,
}

#[derive(Serialize)]
struct BenderData<'a> {
    name: &'a str,
    clr_mm: f64,
    formed_clr_mm: f64,
    formed_if_tool_clr_mm: Option<f64>,
    mark: &'static str,
    datum_mm: f64,
    grip_mm: f64,
    lead_out_mm: f64,
    calibrated: bool,
    stretch: f64,
    springback_fixed_deg: Option<f64>,
    springback_rate: Option<f64>,
    lever_mm: Option<f64>,
}

#[derive(Serialize)]
struct EndData<'a> {
    at_mm: [f64; 3],
    facing: [f64; 3],
    port: Option<&'a str>,
    fitting: Option<&'a str>,
    form: &'static str,
    insert_mm: f64,
    torch_comes_near: bool,
    squeeze_loss_mm: Option<f64>,
}

/// Where a bend lies and where its mark is, from the end that bending begins at.
#[derive(Serialize)]
pub(crate) struct MarksData {
    pub(crate) rotation_deg: f64,
    pub(crate) straight_before_mm: f64,
    pub(crate) start_mm: f64,
    pub(crate) middle_mm: f64,
    pub(crate) end_mm: f64,
    pub(crate) mark_mm: f64,
    pub(crate) from_last_end_mm: f64,
}

/// A bend, marked for bending from the datum end.
#[derive(Serialize)]
pub(crate) struct BendData {
    pub(crate) number: usize,
    pub(crate) angle_deg: f64,
    /// Angle between the two legs.
    pub(crate) included_angle_deg: f64,
    pub(crate) clr_mm: f64,
    #[serde(flatten)]
    pub(crate) marks: MarksData,
    pub(crate) inside_clock_deg: f64,
    pub(crate) pull_to_deg: f64,
    pub(crate) springback_deg: f64,
    pub(crate) springback_source: &'static str,
    pub(crate) clr_under_load_mm: f64,
    pub(crate) anneal_from_mm: Option<f64>,
    pub(crate) anneal_to_mm: Option<f64>,
    pub(crate) outer_strain: f64,
    pub(crate) outer_wall_mm: f64,
    pub(crate) inner_wall_mm: f64,
    pub(crate) end_to_centre_mm: Option<f64>,
    /// To the back of the new leg.
    pub(crate) end_to_back_mm: Option<f64>,
    /// To its inside.
    pub(crate) end_to_inside_mm: Option<f64>,
    pub(crate) back_to_back_mm: Option<f64>,
    /// Either way of the angle to pull to, where it is predicted.
    pub(crate) springback_band_deg: Option<f64>,
    pub(crate) bending_moment_nm: Option<f64>,
    pub(crate) lever_force_n: Option<f64>,
    /// Estimates, bent empty.
    pub(crate) ovality_estimate: f64,
    pub(crate) smallest_diameter_estimate_mm: f64,
    pub(crate) verdict_estimate: &'static str,
    pub(crate) outer_wall_estimate_mm: f64,
    pub(crate) inner_wall_estimate_mm: f64,
    /// "empty" or "filled".
    pub(crate) bent: &'static str,
    /// Published limits.
    pub(crate) empty_limit_od_per_wall: f64,
    pub(crate) wall_before_bending_factor: Option<f64>,
}

/// A bend, marked for bending from the other end.
#[derive(Serialize)]
pub(crate) struct OtherEndData {
    pub(crate) number: usize,
    #[serde(flatten)]
    pub(crate) marks: MarksData,
    pub(crate) inside_clock_deg: f64,
}

#[derive(Serialize)]
struct OrderData<'a> {
    better: &'static str,
    reason: &'a str,
    datum_end: FitData,
    other_end: FitData,
}

#[derive(Serialize)]
struct FitData {
    possible: bool,
    spare_mm: Option<f64>,
    tightest_bend: Option<usize>,
}

#[derive(Serialize)]
struct QualityData<'a> {
    smallest_diameter_mm: f64,
    reject_diameter_mm: f64,
    intrados_factor: Option<f64>,
    extrados_factor: Option<f64>,
    filler: Option<&'a str>,
    verdicts: [VerdictData; 3],
}

/// What a bend is whose smallest diameter is at least this.
#[derive(Serialize)]
struct VerdictData {
    least_diameter_mm: f64,
    verdict: &'static str,
}

impl<'a> PlanData<'a> {
    pub(super) fn new(plan: &'a Plan) -> Self {
        PlanData {
            format: FORMAT,
            title: &plan.title,
            spec: &plan.spec,
            carries: plan.carries.map(Into::into),
            runs: plan.runs.iter().map(RunData::new).collect(),
            cut_plan: CutPlanData::new(&plan.cut_plan),
            assembly: assembly::steps(&plan.assembly),
        }
    }
}

impl<'a> RunData<'a> {
    /// A run's plan as data.
    pub fn new(run: &'a RunPlan) -> Self {
        let from_other_end = run.operations(FromEnd::Other).iter().map(OtherEndData::new);
        RunData {
            name: &run.name,
            tube: tube(run),
            bender: bender(run),
            developed_length_mm: run.developed_length,
            cut_length_mm: run.cut_length,
            allowance_start_mm: run.allowance_start,
            allowance_end_mm: run.allowance_end,
            straights_mm: &run.straights,
            mass_g: run.mass,
            bore_volume_ml: run.bore_volume,
            outer_area_mm2: run.outer_area,
            metal_volume_mm3: run.metal_volume,
            corners_mm: run.corners.iter().map(|corner| (*corner).into()).collect(),
            ends: run.ends.each_ref().map(end),
            bends: bends(run).collect(),
            from_other_end: from_other_end.collect(),
            order: order(&run.order),
            quality: quality(&run.quality),
            anneal_heat_kj: run.anneal_heat,
            allowed_pressure: run.pressures.iter().map(pressure).collect(),
            do_not_cut: &run.do_not_cut,
            min_clearance_mm: run.min_clearance(),
            nearest: run
                .nearest
                .as_ref()
                .map(|nearest| NearestData { to: &nearest.to, at_mm: nearest.at.into() }),
            far_end: run.far_end.as_ref().map(far_end),
        }
    }
}

/// The bends of a run, datum end first.
pub(crate) fn bends(run: &RunPlan) -> impl Iterator<Item = BendData> {
    let radius = run.tube.od / 2.0;
    run.in_order(FromEnd::Datum).map(move |(bend, made)| BendData::new(bend, made, radius))
}

fn far_end(far: &FarEnd) -> FarEndData {
    let forgiven = far.forgiven_there();
    let early = match far.early {
        Some(Early::EndToEnd { plane, mm, off, .. }) => {
            Some(EarlyData { plane, end_to_end_mm: mm, off_mm: off })
        }
        Some(Early::Turn { .. } | Early::Ports) | None => None,
    };
    FarEndData {
        put_in_first: far.first.name(),
        along_mm: far.error.along,
        across_mm: far.error.across,
        angle_deg: far.error.angle.to_degrees(),
        forgiven_along_mm: forgiven.along,
        forgiven_across_mm: forgiven.across,
        forgiven_angle_deg: forgiven.angle.to_degrees(),
        goes_in: far.goes_in,
        dominant: far.dominant.map(dominant),
        leave_mm: far.leave,
        early,
    }
}

fn dominant(dominant: Dominant) -> DominantData {
    let (quantity, radius_mm) = match dominant.quantity {
        Quantity::Mark(_) => ("mark", None),
        Quantity::Angle(_) => ("angle", None),
        Quantity::Turn(_) => ("turn", None),
        Quantity::Radius(clr) => ("radius", Some(clr)),
        Quantity::Length => ("length", None),
        Quantity::Ports => ("ports", None),
    };
    DominantData { quantity, number: dominant.quantity.bend(), radius_mm, share: dominant.share }
}

fn tube(run: &RunPlan) -> TubeData<'_> {
    let tube = &run.tube;
    TubeData { od_mm: tube.od, wall_mm: tube.wall, material: &tube.material, temper: tube.temper.name() }
}

fn bender(run: &RunPlan) -> BenderData<'_> {
    let bender = &run.bender;
    BenderData {
        name: &bender.name,
        clr_mm: bender.clr,
        formed_clr_mm: bender.formed_clr,
        formed_if_tool_clr_mm: bender.formed_if_tool_clr,
        mark: bender.mark.name(),
        datum_mm: bender.datum,
        grip_mm: bender.grip,
        lead_out_mm: bender.lead_out,
        calibrated: bender.calibrated,
        stretch: bender.stretch,
        springback_fixed_deg: bender.springback_fixed.map(f64::to_degrees),
        springback_rate: bender.springback_rate,
        lever_mm: bender.lever,
    }
}

fn end(end: &EndPlan) -> EndData<'_> {
    EndData {
        at_mm: end.at.into(),
        facing: end.facing.into(),
        port: end.port.as_deref(),
        fitting: end.fitting.as_deref(),
        form: end.form.name(),
        insert_mm: end.insert,
        torch_comes_near: end.heated.is_some(),
        squeeze_loss_mm: end.squeeze_loss,
    }
}

impl MarksData {
    fn new(made: &Operation) -> Self {
        MarksData {
            rotation_deg: made.turn.rotation.to_degrees(),
            straight_before_mm: made.feed.straight_before,
            start_mm: made.arc.start,
            middle_mm: made.arc.middle(),
            end_mm: made.arc.end(),
            mark_mm: made.feed.mark,
            from_last_end_mm: made.feed.from_last_end,
        }
    }
}

impl BendData {
    /// A bend and how it is made from the datum end, of a tube with that outer radius, mm.
    fn new(bend: &BendPlan, made: &Operation, radius: f64) -> Self {
        let (angle, pull_to) = (bend.angle.to_degrees(), made.pull.angle.to_degrees());
        BendData {
            number: bend.number,
            angle_deg: angle,
            included_angle_deg: 180.0 - angle,
            clr_mm: bend.clr,
            marks: MarksData::new(made),
            inside_clock_deg: made.turn.inside.degrees(),
            pull_to_deg: pull_to,
            springback_deg: pull_to - angle,
            springback_source: source(bend.springback_source),
            clr_under_load_mm: made.pull.radius,
            anneal_from_mm: made.anneal.map(|zone| zone.from),
            anneal_to_mm: made.anneal.map(|zone| zone.to),
            outer_strain: bend.outer_strain,
            outer_wall_mm: bend.outer_wall,
            inner_wall_mm: bend.inner_wall,
            end_to_centre_mm: made.leg,
            end_to_back_mm: made.leg.map(|leg| leg + radius),
            end_to_inside_mm: made.leg.map(|leg| leg - radius),
            back_to_back_mm: made.back_to_back,
            springback_band_deg: bend.springback_band.map(f64::to_degrees),
            bending_moment_nm: bend.moment,
            lever_force_n: bend.lever_force,
            ovality_estimate: bend.estimate.ovality,
            smallest_diameter_estimate_mm: bend.estimate.smallest_diameter,
            verdict_estimate: bend.estimate.verdict.name(),
            outer_wall_estimate_mm: bend.estimate.outer_wall,
            inner_wall_estimate_mm: bend.estimate.inner_wall,
            bent: if bend.estimate.filled { "filled" } else { "empty" },
            empty_limit_od_per_wall: bend.estimate.empty_limit,
            wall_before_bending_factor: bend.estimate.wall_before_bending,
        }
    }
}

impl OtherEndData {
    /// How a bend is made from the other end.
    pub(crate) fn new(made: &Operation) -> Self {
        OtherEndData {
            number: made.bend,
            marks: MarksData::new(made),
            inside_clock_deg: made.turn.inside.degrees(),
        }
    }
}

fn order(order: &OrderPlan) -> OrderData<'_> {
    OrderData {
        better: better(order.better),
        reason: &order.reason,
        datum_end: fit(&order.datum_end),
        other_end: fit(&order.other_end),
    }
}

fn fit(fit: &OrderFit) -> FitData {
    FitData { possible: fit.possible, spare_mm: fit.spare, tightest_bend: fit.tightest_bend }
}

fn quality(quality: &QualityPlan) -> QualityData<'_> {
    QualityData {
        smallest_diameter_mm: quality.smallest_diameter,
        reject_diameter_mm: quality.reject_diameter,
        intrados_factor: quality.intrados_factor,
        extrados_factor: quality.extrados_factor,
        filler: quality.filler.as_deref(),
        verdicts: quality
            .verdicts()
            .map(|(least, verdict)| VerdictData { least_diameter_mm: least, verdict: verdict.name() }),
    }
}

fn pressure(pressure: &AllowedPressure) -> PressureData {
    PressureData {
        celsius: pressure.celsius,
        straight_bar: pressure.straight,
        tightest_bend_bar: pressure.tightest_bend,
    }
}

fn better(better: Better) -> &'static str {
    match better {
        Better::From(end) => end.name(),
        Better::Either => "either",
        Better::Neither => "neither",
    }
}

/// A springback's source as the files have it.
pub(super) fn source(source: SpringbackSource) -> &'static str {
    match source {
        SpringbackSource::TestBends => "test bends",
        SpringbackSource::Predicted => "predicted",
        SpringbackSource::Unknown => "unknown",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The words are a contract with programs that read the file: a variant's name in the code may change, these not.
    #[test]
    fn words_are_those_of_the_contract() {
        let ends = [FromEnd::Datum, FromEnd::Other].map(Better::From).map(better);
        assert_eq!(ends, ["datum end", "other end"]);
        assert_eq!([better(Better::Either), better(Better::Neither)], ["either", "neither"]);
        let sources =
            [SpringbackSource::TestBends, SpringbackSource::Predicted, SpringbackSource::Unknown].map(source);
        assert_eq!(sources, ["test bends", "predicted", "unknown"]);
    }
}
