//! The plan as data: lengths are mm, angles rad, places points in space. Writers and drawings put degrees and words
//! in their place.

mod cutting;
mod far_end;
mod operation;

pub use cutting::{Cut, CutPlan, MissingPiece, StockPiece, StockPlan, TestCut};
pub use far_end::{Dominant, Early, FarEnd, Quantity, Reach};
pub use operation::{ArcOnTube, Clock, Feed, Operation, Pull, Turn, Zone};

use super::accept::{QualityPlan, SectionEstimate};
use crate::calibration::TestPiece;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::fit::{Assembly, Neighbour};
use crate::geometry::{Point3, Vector3};
use crate::spec::model::{Carried, EndForm, MarkPoint, Temper};

/// The plan of a whole spec.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Title of the spec.
    pub title: String,
    /// The spec's file name.
    pub spec: String,
    /// The stuff that the tubes carry, if the spec says.
    pub carries: Option<Carried>,
    /// The runs, in the order of the file.
    pub runs: Vec<RunPlan>,
    /// Which run is cut from which piece of stock.
    pub cut_plan: CutPlan,
    /// Test pieces for the benders that have none.
    pub trials: Vec<TrialPlan>,
    /// How the loop is put together.
    pub assembly: Assembly,
}

impl Plan {
    /// Notes in each run what was found of it that stops its tube from being cut.
    pub fn stop_cutting(&mut self, findings: &Diagnostics) {
        for run in &mut self.runs {
            let is_about = |finding: &&Diagnostic| {
                let of_run = finding.run.iter().chain(&finding.with).any(|name| *name == run.name);
                // A port's fault was found before any run was read.
                let of_port = finding.run.is_none() && finding.port.is_some();
                let in_port = run.ends.iter().any(|end| end.port.is_some() && end.port == finding.port);
                finding.stops_cutting() && (of_run || (of_port && in_port))
            };
            let own = format!("run {}: ", run.name);
            let reason = |finding: &Diagnostic| {
                let message = &finding.message;
                message.strip_prefix(own.as_str()).unwrap_or(message).to_owned()
            };
            run.do_not_cut = findings.iter().filter(is_about).map(reason).collect();
            // What cannot work does not go in, however exactly it is made.
            run.far_end = run.far_end.take().filter(|_| run.do_not_cut.is_empty());
        }
    }

    /// The plan of the run of a name.
    pub fn run(&self, name: &str) -> Option<&RunPlan> {
        self.runs.iter().find(|run| run.name == name)
    }
}

/// The test pieces of a bender with a tube that has no test bends.
#[derive(Debug, Clone, PartialEq)]
pub struct TrialPlan {
    /// The bender.
    pub bender: String,
    /// Its centreline radius as written, mm.
    pub clr: f64,
    /// The tube, as the shop would order it.
    pub tube: String,
    /// The runs that are bent by it.
    pub runs: Vec<String>,
    /// Temper of the tube as bought.
    pub temper: Temper,
    /// How many bends these have.
    pub bends: usize,
    /// How many of them are annealed first.
    pub annealed: usize,
    /// Which pieces to bend, and why these.
    pub advice: String,
    /// The pieces.
    pub pieces: Vec<TestPiece>,
    /// The tube of each piece to make soft where bends are annealed; empty where none is.
    pub zones: Vec<Zone>,
}

/// The plan of one run. Lengths, areas, volumes and mass are those of the finished tube without
/// allowances, except where the name says `cut`.
#[derive(Debug, Clone, PartialEq)]
pub struct RunPlan {
    /// Its name.
    pub name: String,
    /// Its tube.
    pub tube: TubePlan,
    /// Its bender.
    pub bender: BenderPlan,
    /// Σ straights + Σ radius × angle, mm.
    pub developed_length: f64,
    /// Length to cut, mm: developed length and both allowances, less what the bends stretch by.
    pub cut_length: f64,
    /// Of that, tube to trim away at the datum end, mm.
    pub allowance_start: f64,
    /// Of that, tube to trim away at the other end, mm.
    pub allowance_end: f64,
    /// Straights before each bend and after the last, mm.
    pub straights: Vec<f64>,
    /// Mass, g; none where the density of the material is not known.
    pub mass: Option<f64>,
    /// Volume of the bore, ml.
    pub bore_volume: f64,
    /// Outer skin without the end faces, mm².
    pub outer_area: f64,
    /// Metal, mm³.
    pub metal_volume: f64,
    /// Start, corners and end of the centreline. A bend of 180° has no corner and gives none.
    pub corners: Vec<Point3>,
    /// Datum end and other end.
    pub ends: [EndPlan; 2],
    /// The bends, datum end first.
    pub bends: Vec<BendPlan>,
    /// How to make them, from the datum end.
    pub from_datum_end: Vec<Operation>,
    /// How to make them, from the other end.
    pub from_other_end: Vec<Operation>,
    /// Which end to bend from.
    pub order: OrderPlan,
    /// What to accept and how to help the tube keep its shape.
    pub quality: QualityPlan,
    /// Heat that brings all anneal zones to their temperature, kJ, without what is lost to the air;
    /// none where nothing is annealed or the metal's specific heat is not known.
    pub anneal_heat: Option<f64>,
    /// The pressure it may hold by temperature, lowest first; empty where the spec does not say that it carries
    /// something, or no permissible stress of its metal is known.
    pub pressures: Vec<AllowedPressure>,
    /// Why no tube may be cut for it yet, a sentence each; empty where it may be.
    pub do_not_cut: Vec<String>,
    /// How far it may miss its second port; none where it does not have a port, or a point that faces somewhere, at both
    /// ends, and where it is not to be cut.
    pub far_end: Option<FarEnd>,
    /// The nearest surface to this tube's own; none where there is nothing else.
    pub nearest: Option<Neighbour>,
}

impl RunPlan {
    /// Whether its tube may be cut.
    pub fn may_be_cut(&self) -> bool {
        self.do_not_cut.is_empty()
    }

    /// Smallest distance from its surface to anything else's, mm; negative where they overlap, none where there is
    /// nothing else.
    pub fn min_clearance(&self) -> Option<f64> {
        self.nearest.as_ref().map(|nearest| nearest.distance)
    }

    /// Whether the angle to pull to is predicted for any of its bends.
    pub fn is_predicted(&self) -> bool {
        self.bends.iter().any(|bend| bend.springback_band.is_some())
    }

    /// Its allowances, mm: at the end that bending begins at, and at the one it ends at.
    pub fn allowances(&self, from: FromEnd) -> [f64; 2] {
        match from {
            FromEnd::Datum => [self.allowance_start, self.allowance_end],
            FromEnd::Other => [self.allowance_end, self.allowance_start],
        }
    }

    /// The end that bending begins at: the better one; the datum end where either will do; where neither will do, the
    /// one that is asked for, else the datum end.
    pub fn begins_at(&self) -> FromEnd {
        match self.order.better {
            Better::From(end) => end,
            Better::Either => FromEnd::Datum,
            Better::Neither => self.order.asked.unwrap_or(FromEnd::Datum),
        }
    }

    /// How to make its bends from one of its ends, in the order they are made.
    pub fn operations(&self, from: FromEnd) -> &[Operation] {
        match from {
            FromEnd::Datum => &self.from_datum_end,
            FromEnd::Other => &self.from_other_end,
        }
    }

    /// Its bends in the order they are made from one of its ends, each with how to make it.
    pub fn in_order(&self, from: FromEnd) -> impl Iterator<Item = (&BendPlan, &Operation)> {
        self.operations(from).iter().filter_map(|made| {
            let bend = self.bends.get(made.bend.checked_sub(1)?)?;
            Some((bend, made))
        })
    }
}

/// The tube of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct TubePlan {
    /// Outside diameter, mm.
    pub od: f64,
    /// Wall, mm.
    pub wall: f64,
    /// Material.
    pub material: String,
    /// Temper, before any annealing.
    pub temper: Temper,
}

/// The bender of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct BenderPlan {
    /// Its name.
    pub name: String,
    /// Centreline radius as written, mm.
    pub clr: f64,
    /// Centreline radius of its finished bends, mm: as fitted to test bends, else as written.
    pub formed_clr: f64,
    /// What a finished bend's radius would be, mm, if the radius as written were that of the tool itself
    /// and the tube sprang back as predicted; none where nothing can be predicted.
    pub formed_if_tool_clr: Option<f64>,
    /// Which point of a bend its reference line meets.
    pub mark: MarkPoint,
    /// Distance from the reference line to that point, mm.
    pub datum: f64,
    /// Straight it holds before a bend, mm.
    pub grip: f64,
    /// Straight it needs behind a bend, mm.
    pub lead_out: f64,
    /// Length of its lever, mm, where the spec gives it.
    pub lever: Option<f64>,
    /// Whether its test bends are fitted.
    pub calibrated: bool,
    /// Stretch of arcs, as a part of the finished arc.
    pub stretch: f64,
    /// Springback at an angle of 0, rad, as fitted to test bends; none without them.
    pub springback_fixed: Option<f64>,
    /// Springback per rad pulled, as fitted: springback = fixed + rate × angle pulled to.
    pub springback_rate: Option<f64>,
}

/// An end to begin bending at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FromEnd {
    /// The `from` end.
    Datum,
    /// The `to` end.
    Other,
}

impl FromEnd {
    /// Both, the datum end first.
    pub const BOTH: [FromEnd; 2] = [FromEnd::Datum, FromEnd::Other];

    /// As it is called everywhere: "datum end" or "other end".
    pub fn name(self) -> &'static str {
        match self {
            FromEnd::Datum => "datum end",
            FromEnd::Other => "other end",
        }
    }

    /// The end it is not.
    #[must_use]
    pub fn opposite(self) -> Self {
        match self {
            FromEnd::Datum => FromEnd::Other,
            FromEnd::Other => FromEnd::Datum,
        }
    }
}

/// Which end is better to begin bending at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Better {
    /// This one.
    From(FromEnd),
    /// Either will do; bending begins at the datum end.
    Either,
    /// Neither of those that may be used: the bender cannot hold every bend.
    Neither,
}

/// Which end to bend from.
#[derive(Debug, Clone, PartialEq)]
pub struct OrderPlan {
    /// The better end.
    pub better: Better,
    /// The end that the spec asks for; none where it leaves it to the plan.
    pub asked: Option<FromEnd>,
    /// Why, in words.
    pub reason: String,
    /// Bending from the datum end.
    pub datum_end: OrderFit,
    /// Bending from the other end.
    pub other_end: OrderFit,
}

/// How a bender gets on with one order of bending.
#[derive(Debug, Clone, PartialEq)]
pub struct OrderFit {
    /// Whether every bend can be held.
    pub possible: bool,
    /// The straight that is shortest against what the bender needs there, mm: how much is to spare, or
    /// how much is missing where negative; none without bends.
    pub spare: Option<f64>,
    /// The bend where that is.
    pub tightest_bend: Option<usize>,
}

/// The pressure that a run may hold at one temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AllowedPressure {
    /// Highest temperature, °C.
    pub celsius: f64,
    /// Straight tube, bar.
    pub straight: f64,
    /// Its tightest bend, bar; none without bends.
    pub tightest_bend: Option<f64>,
}

/// One end of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct EndPlan {
    /// Centre of the finished tube's end.
    pub at: Point3,
    /// Unit direction from the end into the tube: the way a port there faces.
    pub facing: Vector3,
    /// `component.port`, if it ends in one.
    pub port: Option<String>,
    /// The fitting there.
    pub fitting: Option<String>,
    /// The tube's form in it.
    pub form: EndForm,
    /// How far an anneal zone reaches into its seat and the first 5 mm beside it, mm; none where none does.
    pub heated: Option<f64>,
    /// How far the tube goes in, mm from the finished end: where to draw the insertion mark.
    pub insert: f64,
    /// How far the OD is below the one the fitting is made for, on the radius, mm: what the seal loses
    /// of its squeeze; none without a fitting.
    pub squeeze_loss: Option<f64>,
}

/// One bend of a run, whichever end it is bent from.
#[derive(Debug, Clone, PartialEq)]
pub struct BendPlan {
    /// Number from the datum end, from 1.
    pub number: usize,
    /// Change of direction, rad.
    pub angle: f64,
    /// Centreline radius of the finished bend, mm.
    pub clr: f64,
    /// Where its springback is known from.
    pub springback_source: SpringbackSource,
    /// How far off the angle to pull to may be, either way, rad, where springback is predicted; none where it is not.
    pub springback_band: Option<f64>,
    /// Strain of the outermost fibre, 1.
    pub outer_strain: f64,
    /// Elongation of the metal at fracture before it is bent, as a part of 1; none where it is not known.
    pub elongation: Option<f64>,
    /// Least wall left at the back of the bend, mm, if all of the stretch is taken from it.
    pub outer_wall: f64,
    /// Most wall at the inside of the bend, mm.
    pub inner_wall: f64,
    /// Moment that bends it, N·m, at its radius under load; none where the metal's strength is not known.
    pub moment: Option<f64>,
    /// Pull at the end of the bender's lever for that moment, N, without friction; none without a lever.
    pub lever_force: Option<f64>,
    /// How its section is likely to come out.
    pub estimate: SectionEstimate,
}

/// Where a bend's springback is known from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SpringbackSource {
    /// The bender's test bends show it.
    TestBends,
    /// It is worked out from the metal's strength.
    Predicted,
    /// Neither is there: nothing is added to the angle.
    Unknown,
}
