//! The plan as data. Field names are the keys of `plan.json`; units are in the names.

use serde::Serialize;

/// The plan of a whole spec.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Plan {
    /// Version of the keys.
    pub format: u32,
    /// Title of the spec.
    pub title: String,
    /// The spec's file name.
    pub spec: String,
    /// The runs, in the order of the file.
    pub runs: Vec<RunPlan>,
    /// Which run is cut from which piece of stock.
    pub cut_plan: CutPlan,
}

impl Plan {
    /// The plan of the run of a name.
    pub fn run(&self, name: &str) -> Option<&RunPlan> {
        self.runs.iter().find(|run| run.name == name)
    }
}

/// Which run is cut from which piece of stock; empty without `stock:` in the spec.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct CutPlan {
    /// One for each tube of the spec that has stock, in the order of first use.
    pub stocks: Vec<StockPlan>,
}

/// How the runs of one tube are cut from its stock.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StockPlan {
    /// The tube, as the shop would order it.
    pub tube: String,
    /// Outside diameter, mm.
    pub od_mm: f64,
    /// Wall, mm.
    pub wall_mm: f64,
    /// "stick" or "coil".
    pub form: &'static str,
    /// Length of a new piece, mm.
    pub new_length_mm: f64,
    /// Width of the cut, mm.
    pub kerf_mm: f64,
    /// New pieces there are; none for as many as needed.
    pub new_count: Option<usize>,
    /// The pieces that are cut, leftovers first.
    pub pieces: Vec<StockPiece>,
    /// New pieces the plan cuts into.
    pub new_used: usize,
    /// No plan does with fewer new pieces than this.
    pub new_lower_bound: usize,
    /// Whether the plan is proven to be the best there is: as many runs as possible, of as much length as
    /// possible, from as few new pieces and then as little length of leftovers as possible.
    pub proven: bool,
    /// Runs that the stock does not suffice for.
    pub missing: Vec<MissingPiece>,
}

/// A piece of stock and the runs cut from it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StockPiece {
    /// Number from 1, as written on the piece.
    pub number: usize,
    /// Whether it is left over from earlier.
    pub leftover: bool,
    /// Its length, mm.
    pub length_mm: f64,
    /// What is cut from it, in order from its first end.
    pub cuts: Vec<Cut>,
    /// What is left, mm.
    pub rest_mm: f64,
}

/// One run's tube on a piece of stock, mm from the piece's first end.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Cut {
    /// The run.
    pub run: String,
    /// Where it begins.
    pub from_mm: f64,
    /// Where it ends; the next begins a kerf later.
    pub to_mm: f64,
    /// Of that, tube to trim away at the datum end.
    pub allowance_start_mm: f64,
    /// Of that, tube to trim away at the other end.
    pub allowance_end_mm: f64,
}

/// A run there is no tube for.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MissingPiece {
    /// The run.
    pub run: String,
    /// Its cut length, mm.
    pub length_mm: f64,
}

/// The plan of one run. Lengths, areas, volumes and mass are those of the finished tube without
/// allowances, except where the name says `cut`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RunPlan {
    /// Its name.
    pub name: String,
    /// Its tube.
    pub tube: TubePlan,
    /// Its bender.
    pub bender: BenderPlan,
    /// Σ straights + Σ radius × angle, mm.
    pub developed_length_mm: f64,
    /// Length to cut, mm: developed length and both allowances, less what the bends stretch by.
    pub cut_length_mm: f64,
    /// Of that, tube to trim away at the datum end, mm.
    pub allowance_start_mm: f64,
    /// Of that, tube to trim away at the other end, mm.
    pub allowance_end_mm: f64,
    /// Straights before each bend and after the last, mm.
    pub straights_mm: Vec<f64>,
    /// Mass, g; none where the density of the material is not known.
    pub mass_g: Option<f64>,
    /// What the bore holds, ml.
    pub bore_volume_ml: f64,
    /// Outer skin without the end faces, mm².
    pub outer_area_mm2: f64,
    /// Metal, mm³.
    pub metal_volume_mm3: f64,
    /// Start, corners and end of the centreline. A bend of 180° has no corner and gives none.
    pub corners_mm: Vec<[f64; 3]>,
    /// Datum end and other end.
    pub ends: [EndPlan; 2],
    /// The bends, datum end first, marked for bending from the datum end.
    pub bends: Vec<BendPlan>,
    /// The same bends marked for bending from the other end, in that order.
    pub from_other_end: Vec<OtherEndBend>,
    /// Which end to bend from.
    pub order: OrderPlan,
    /// What to accept and how to help the tube keep its shape.
    pub quality: QualityPlan,
    /// Heat that brings all anneal zones to their temperature, kJ, without what is lost to the air;
    /// none where nothing is annealed or the metal's specific heat is not known.
    pub anneal_heat_kj: Option<f64>,
    /// Smallest distance from this tube's surface to anything else's, mm; negative where they
    /// overlap, none where there is nothing else.
    pub min_clearance_mm: Option<f64>,
}

/// The tube of a run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TubePlan {
    /// Outside diameter, mm.
    pub od_mm: f64,
    /// Wall, mm.
    pub wall_mm: f64,
    /// Material.
    pub material: String,
    /// Temper, as written in a spec.
    pub temper: &'static str,
}

/// The bender of a run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BenderPlan {
    /// Its name.
    pub name: String,
    /// Centreline radius as written, mm.
    pub clr_mm: f64,
    /// Centreline radius of its finished bends, mm: as fitted to test bends, else as written.
    pub formed_clr_mm: f64,
    /// What a finished bend's radius would be, mm, if the radius as written were that of the tool itself
    /// and the tube sprang back as predicted; none where nothing can be predicted.
    pub formed_if_tool_clr_mm: Option<f64>,
    /// Which point of a bend its reference line meets: "start", "middle" or "end".
    pub mark: &'static str,
    /// Distance from the reference line to that point, mm.
    pub datum_mm: f64,
    /// Straight it holds before a bend, mm.
    pub grip_mm: f64,
    /// Straight it needs behind a bend, mm.
    pub lead_out_mm: f64,
    /// Whether its test bends are fitted.
    pub calibrated: bool,
    /// What arcs gain in length, as a part of the finished arc.
    pub stretch: f64,
    /// Springback at an angle of 0, degrees, as fitted to test bends; none without them.
    pub springback_fixed_deg: Option<f64>,
    /// Springback per degree pulled, as fitted: springback = fixed + rate × angle pulled to.
    pub springback_rate: Option<f64>,
}

/// Which end to bend from.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OrderPlan {
    /// "datum end", "other end", "either" or "neither".
    pub better: &'static str,
    /// Why, in words.
    pub reason: String,
    /// Bending from the datum end.
    pub datum_end: OrderFit,
    /// Bending from the other end.
    pub other_end: OrderFit,
}

/// How a bender gets on with one order of bending.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OrderFit {
    /// Whether every bend can be held.
    pub possible: bool,
    /// The straight that is shortest against what the bender needs there, mm: how much is to spare, or
    /// how much is missing where negative; none without bends.
    pub spare_mm: Option<f64>,
    /// The bend where that is.
    pub tightest_bend: Option<usize>,
}

/// What to accept and how to help the tube keep its shape.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct QualityPlan {
    /// Smallest diameter to accept in a bend, mm: 8 % between largest and smallest diameter.
    pub smallest_diameter_mm: f64,
    /// Smallest diameter that can be used at all, mm: 75 % of the OD.
    pub reject_diameter_mm: f64,
    /// How much more stress pressure puts on the inside of the tightest bend than on straight tube, 1
    /// (ASME B31.3, factor I of the intrados); none without bends.
    pub intrados_factor: Option<f64>,
    /// The same at its back: less than 1 (factor I of the extrados).
    pub extrados_factor: Option<f64>,
    /// Advice on filling the tube for its tightest bend; none where it can stay empty.
    pub filler: Option<String>,
}

/// One end of a run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EndPlan {
    /// Centre of the finished tube's end.
    pub at_mm: [f64; 3],
    /// Unit direction from the end into the tube: the way a port there faces.
    pub facing: [f64; 3],
    /// `component.port`, if it ends in one.
    pub port: Option<String>,
    /// The fitting there.
    pub fitting: Option<String>,
    /// How far the tube goes in, mm from the finished end: where to draw the insertion mark.
    pub insert_mm: f64,
    /// How far the OD is below the one the fitting is made for, on the radius, mm: what the seal loses
    /// of its squeeze; none without a fitting.
    pub squeeze_loss_mm: Option<f64>,
}

/// Where a bend lies along the straight tube, and where to put the bender's reference line, mm from the
/// end of the cut tube that bending begins at. Stations are on the tube as it is before it is bent: what
/// the bends stretch by is taken off.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Marks {
    /// Turn of the bend's plane from the previous bend's, right-handed about the direction of travel, degrees:
    /// clockwise seen from the end that bending begins at. In a tool that stays where it is, the tube is
    /// turned by as much the other way.
    pub rotation_deg: f64,
    /// Straight of the finished tube before the bend, mm; without allowance.
    pub straight_before_mm: f64,
    /// Start of the bend.
    pub start_mm: f64,
    /// Middle of the bend.
    pub middle_mm: f64,
    /// End of the bend.
    pub end_mm: f64,
    /// Where to put the bender's reference line: the point of the bend that the bender is marked
    /// for (start, middle or end), less the bender's datum distance, because the line sits that far
    /// before the point it stands for.
    pub mark_mm: f64,
    /// The same mark measured from the actual end of the previous bend; from the tube's end for the first.
    pub from_last_end_mm: f64,
}

impl Marks {
    /// How far the tube is turned before the bend in a tool that stays where it is: degrees, clockwise seen
    /// from the end that bending begins at, −180 < turn ≤ 180. A side that lies clockwise is brought to the
    /// tool by turning the tube anticlockwise.
    pub fn tube_turn_deg(&self) -> f64 {
        if self.rotation_deg >= 180.0 { 180.0 } else { 0.0 - self.rotation_deg }
    }
}

/// One bend of a run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BendPlan {
    /// Number from the datum end, from 1.
    pub number: usize,
    /// Change of direction, degrees.
    pub angle_deg: f64,
    /// Angle between the two legs: 180° − change of direction.
    pub included_angle_deg: f64,
    /// Centreline radius of the finished bend, mm.
    pub clr_mm: f64,
    /// Where it lies, from the datum end of the cut tube.
    #[serde(flatten)]
    pub marks: Marks,
    /// Where the inside of the bend lies around the straight tube, degrees clockwise seen from the datum
    /// end, 0 ≤ clock < 360; the inside of the first bend is at 0.
    pub inside_clock_deg: f64,
    /// Angle to pull to, degrees.
    pub pull_to_deg: f64,
    /// What the bend opens by when let go, degrees.
    pub springback_deg: f64,
    /// Where the springback comes from: "test bends", "predicted", or "unknown" where neither a metal's
    /// strength nor test bends are there; nothing is added then.
    pub springback_source: &'static str,
    /// Centreline radius while it is held at the angle to pull to, mm: that of the tool.
    pub clr_under_load_mm: f64,
    /// Where annealing begins, mm from the datum end of the cut tube; none where the bend is not annealed.
    pub anneal_from_mm: Option<f64>,
    /// Where it ends.
    pub anneal_to_mm: Option<f64>,
    /// Strain of the outermost fibre, 1.
    pub outer_strain: f64,
    /// Wall left at the back of the bend, mm.
    pub outer_wall_mm: f64,
    /// Wall at the inside of the bend, mm.
    pub inner_wall_mm: f64,
    /// For a 90° bend: from the tube's end (first bend) or the end of the last bend, along the leg, to the
    /// centreline of the new leg, mm.
    pub end_to_centre_mm: Option<f64>,
    /// The same to the back of the new leg.
    pub end_to_back_mm: Option<f64>,
    /// The same to its inside.
    pub end_to_inside_mm: Option<f64>,
}

/// One bend, marked for bending from the other end: marks are measured from that end of the cut tube.
/// Angle to pull to, springback and anneal zone are those of the bend with the same number.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OtherEndBend {
    /// Number from the datum end.
    pub number: usize,
    /// Where it lies, from the other end of the cut tube.
    #[serde(flatten)]
    pub marks: Marks,
    /// Where the inside of the bend lies, degrees clockwise seen from the other end, 0 ≤ clock < 360; the
    /// inside of the bend that is made first is at 0.
    pub inside_clock_deg: f64,
}
