//! The plan as data: lengths are mm, angles rad, places points in space. Writers and drawings put degrees and words
//! in their place.

use std::f64::consts::PI;

use super::accept::{QualityPlan, SectionEstimate};
use crate::calibration::TestPiece;
use crate::geometry::{Point3, Vector3};
use crate::spec::model::{Carried, EndForm, MarkPoint, StockForm, Straighten, Temper};

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
}

impl Plan {
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
}

/// Which run is cut from which piece of stock; empty without `stock:` in the spec.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CutPlan {
    /// One for each tube of the spec that has stock, in the order of first use.
    pub stocks: Vec<StockPlan>,
}

/// How the runs of one tube are cut from its stock.
#[derive(Debug, Clone, PartialEq)]
pub struct StockPlan {
    /// The tube, as the shop would order it.
    pub tube: String,
    /// Outside diameter, mm.
    pub od: f64,
    /// Wall, mm.
    pub wall: f64,
    /// How it is sold.
    pub form: StockForm,
    /// Length of a new piece, mm.
    pub new_length: f64,
    /// Width of the cut, mm.
    pub kerf: f64,
    /// What is cut off more for each piece, to be straightened.
    pub straighten: Straighten,
    /// New pieces there are; none for as many as needed.
    pub new_count: Option<usize>,
    /// The pieces that are cut, leftovers first.
    pub pieces: Vec<StockPiece>,
    /// New pieces that runs are cut from.
    pub new_used: usize,
    /// New pieces that test pieces alone are cut from.
    pub new_for_tests: usize,
    /// Longest rest in one piece, mm: of a piece that is cut, or of a leftover that is not begun.
    pub longest_rest: f64,
    /// The runs of no plan do with fewer new pieces than this.
    pub new_lower_bound: usize,
    /// Whether the plan is proven to be the best there is: as many runs as possible, of as much length as possible;
    /// from the fewest new pieces; with the longest rest in one piece; with the fewest leftovers begun, and of these
    /// the shortest. Test pieces come after that: they are cut from what the runs leave.
    pub proven: bool,
    /// Runs that the stock does not suffice for.
    pub missing: Vec<MissingPiece>,
    /// Test pieces that the stock does not suffice for.
    pub missing_tests: Vec<TestCut>,
}

/// A piece of stock and the runs cut from it.
#[derive(Debug, Clone, PartialEq)]
pub struct StockPiece {
    /// Number from 1, as written on the piece.
    pub number: usize,
    /// Whether it is left over from earlier.
    pub leftover: bool,
    /// Its length, mm.
    pub length: f64,
    /// The test pieces cut from it, in order from its first end.
    pub tests: Vec<TestCut>,
    /// The runs cut from it, in order behind the test pieces.
    pub cuts: Vec<Cut>,
    /// Length left over, mm.
    pub rest: f64,
}

/// One run's tube on a piece of stock, mm from the piece's first end.
#[derive(Debug, Clone, PartialEq)]
pub struct Cut {
    /// The run.
    pub run: String,
    /// Where it begins.
    pub from: f64,
    /// Where it ends; the next begins a kerf later.
    pub to: f64,
    /// Of that, tube beyond the run's cut length, cut off once it is straightened.
    pub straighten: f64,
    /// Of that, tube to trim away at the datum end.
    pub allowance_start: f64,
    /// Of that, tube to trim away at the other end.
    pub allowance_end: f64,
}

/// A test piece's tube on a piece of stock, mm from the piece's first end.
#[derive(Debug, Clone, PartialEq)]
pub struct TestCut {
    /// The bender that it is for.
    pub bender: String,
    /// The tube, as the shop would order it.
    pub tube: String,
    /// The bender's centreline radius as written, mm.
    pub clr: f64,
    /// Its number among the bender's test pieces, from 1.
    pub number: usize,
    /// Angle to pull it to, rad.
    pub pull: f64,
    /// Its length once it is straight, mm.
    pub length: f64,
    /// Where it begins.
    pub from: f64,
    /// Where it ends; the next begins a kerf later.
    pub to: f64,
}

/// A run there is no tube for.
#[derive(Debug, Clone, PartialEq)]
pub struct MissingPiece {
    /// The run.
    pub run: String,
    /// Its cut length, mm.
    pub length: f64,
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
    /// Smallest distance from this tube's surface to anything else's, mm; negative where they
    /// overlap, none where there is nothing else.
    pub min_clearance: Option<f64>,
}

impl RunPlan {
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

/// How one bend is made: the tube is fed to a mark, turned, and pulled. All lengths along the tube are mm from the end
/// that bending begins at, on the cut tube before it is bent: what the bends stretch by is taken off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Operation {
    /// The bend's number from the datum end, from 1.
    pub bend: usize,
    /// First the tube is slid along the tool.
    pub feed: Feed,
    /// Then it is turned about itself.
    pub turn: Turn,
    /// Then it is bent.
    pub pull: Pull,
    /// The tube that the bend is made of.
    pub arc: ArcOnTube,
    /// The tube to be made soft first; none where the bend is not annealed.
    pub anneal: Option<Zone>,
    /// For a bend of 90°: from the tube's end (first bend made) or the end of the last bend, along the leg, to the
    /// centreline of the new leg, mm.
    pub leg: Option<f64>,
    /// Between two bends of 90°: along the leg between them from the back of the bend made before to the back of this
    /// one, mm, as a rule over both legs measures it.
    pub back_to_back: Option<f64>,
}

/// How far the tube is slid along the tool.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Feed {
    /// The place on the tube that goes to the bender's reference line, mm: the point of the bend that the bender is
    /// marked for (start, middle or end), less the bender's datum distance, because the line sits that far before
    /// the point it stands for.
    pub mark: f64,
    /// The same measured from the actual end of the bend made before, mm; from the tube's end for the first.
    pub from_last_end: f64,
    /// Straight of the finished tube before the bend, mm; without allowance.
    pub straight_before: f64,
}

/// How far the tube is turned about itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turn {
    /// Turn of the bend's plane from that of the bend made before, right-handed about the direction of travel, rad:
    /// clockwise seen from the end that bending begins at. A tool that goes round the tube is turned by it.
    pub rotation: f64,
    /// Where the inside of the bend lies around the tube; the inside of the first bend made is at 0.
    pub inside: Clock,
}

impl Turn {
    /// How far the tube is turned in a tool that stays where it is: rad, clockwise seen from the end that bending
    /// begins at, −π < turn ≤ π. A side that lies clockwise is brought to the tool by turning the tube anticlockwise.
    pub fn of_tube(&self) -> f64 {
        // Half a turn is the same either way.
        if self.rotation.to_degrees() >= 180.0 { PI } else { 0.0 - self.rotation }
    }
}

/// How far the tube is bent before it is let go.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pull {
    /// Angle to pull to, rad.
    pub angle: f64,
    /// Centreline radius under load, while it is held at that angle, mm: that of the tool.
    pub radius: f64,
}

/// The stretch of the straight tube that becomes a bend.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ArcOnTube {
    /// Where it starts, mm.
    pub start: f64,
    /// How long it is, mm.
    pub length: f64,
}

impl ArcOnTube {
    /// Its middle, mm.
    pub fn middle(&self) -> f64 {
        self.start + self.length / 2.0
    }

    /// Its end, mm.
    pub fn end(&self) -> f64 {
        self.start + self.length
    }
}

/// The tube that is made soft for a bend.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Zone {
    /// Where it begins, mm.
    pub from: f64,
    /// Where it ends, mm.
    pub to: f64,
}

/// What a dial on the tube reads for one of its sides: clockwise seen from the end that bending begins at, from 0 up
/// to a full turn.
///
/// It adds up the turns as the dial does, in degrees: a sum in radians would end in other digits.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Clock {
    degrees: f64,
}

impl Clock {
    /// The reading after all turns, which are given in degrees.
    pub(super) fn after(turned: f64) -> Self {
        let degrees = turned.rem_euclid(360.0);
        // Rounding of a sum near a full turn is no turn.
        Clock { degrees: if 360.0 - degrees < 1e-9 { 0.0 } else { degrees } }
    }

    /// The reading, degrees.
    pub fn degrees(self) -> f64 {
        self.degrees
    }

    /// The angle, rad.
    pub fn radians(self) -> f64 {
        self.degrees.to_radians()
    }
}
