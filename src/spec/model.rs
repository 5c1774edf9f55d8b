//! The checked model of a spec: every length in mm, every angle in rad, every name resolved,
//! every number finite. Only the spec reader makes one from a file; tests may make parts by hand.

use crate::diagnostic::Place;
use crate::geometry::{Point3, Vector3};
use crate::quantity::{Unit, trimmed};
use crate::tolerance::SAME_SIZE_MM;

/// How hard the tube is before any annealing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Temper {
    /// Annealed coil or piece (EN R220, ASTM O60 or O50).
    Soft,
    /// Half hard (EN R250, ASTM H58 light drawn).
    HalfHard,
    /// Hard (EN R290, ASTM H80).
    Hard,
}

impl Temper {
    /// As written in a spec.
    pub fn name(self) -> &'static str {
        match self {
            Temper::Soft => "soft",
            Temper::HalfHard => "half-hard",
            Temper::Hard => "hard",
        }
    }
}

/// A tube's section and material.
#[derive(Debug, Clone, PartialEq)]
pub struct Tube {
    od: f64,
    wall: f64,
    material: String,
    density: Option<f64>,
    temper: Temper,
    designation: String,
    metal: GivenMetal,
}

/// What a spec says of a tube's metal as it is delivered; the rest is looked up for known metals.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct GivenMetal {
    /// Modulus of elasticity, MPa.
    pub modulus: Option<f64>,
    /// Yield strength, MPa.
    pub yield_strength: Option<f64>,
    /// Elongation at fracture, 1 (0.25 for 25 %).
    pub elongation: Option<f64>,
    /// Hardening law.
    pub hardening: Option<Hardening>,
}

/// The power law of a metal that hardens as it is bent: stress = strength × strain^exponent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hardening {
    /// Stress at a strain of 1, MPa.
    pub strength: f64,
    /// Exponent, 1; 0 < exponent < 1.
    pub exponent: f64,
}

/// Why a tube's numbers make no tube.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum TubeFault {
    /// Not a positive number.
    #[error("the outside diameter must be more than 0, not {} mm", trimmed(*.0))]
    Od(f64),
    /// The wall leaves no bore.
    #[error("a wall of {} mm leaves no bore in a tube of {} mm", trimmed(*.wall), trimmed(*.od))]
    Wall {
        /// Outside diameter, mm.
        od: f64,
        /// Wall, mm.
        wall: f64,
    },
}

impl Tube {
    /// A tube of outside diameter `od` and `wall` (mm). `density` in kg/m³ where it is known;
    /// `designation` is how the shop would order it, such as "EN 1057 15 x 1.0 half-hard".
    ///
    /// # Errors
    /// When there would be no metal or no bore.
    pub fn new(
        od: f64,
        wall: f64,
        material: impl Into<String>,
        density: Option<f64>,
        temper: Temper,
        designation: impl Into<String>,
    ) -> Result<Self, TubeFault> {
        if !(od.is_finite() && od > 0.0) {
            return Err(TubeFault::Od(od));
        }
        if !(wall > 0.0 && wall < od / 2.0) {
            return Err(TubeFault::Wall { od, wall });
        }
        Ok(Tube {
            od,
            wall,
            material: material.into(),
            density,
            temper,
            designation: designation.into(),
            metal: GivenMetal::default(),
        })
    }

    /// The same tube with what the spec says of its metal.
    #[must_use]
    pub fn with_metal(mut self, metal: GivenMetal) -> Self {
        self.metal = metal;
        self
    }

    /// Outside diameter, mm.
    pub fn od(&self) -> f64 {
        self.od
    }

    /// Wall thickness, mm.
    pub fn wall(&self) -> f64 {
        self.wall
    }

    /// Bore, mm.
    pub fn bore(&self) -> f64 {
        self.od - 2.0 * self.wall
    }

    /// Outer radius, mm.
    pub fn outer_radius(&self) -> f64 {
        self.od / 2.0
    }

    /// Inner radius, mm.
    pub fn inner_radius(&self) -> f64 {
        self.od / 2.0 - self.wall
    }

    /// Material, as written or as the standard says.
    pub fn material(&self) -> &str {
        &self.material
    }

    /// Density, kg/m³; `None` for a material without a known one.
    pub fn density(&self) -> Option<f64> {
        self.density
    }

    /// Temper.
    pub fn temper(&self) -> Temper {
        self.temper
    }

    /// What the spec says of its metal.
    pub fn metal(&self) -> &GivenMetal {
        &self.metal
    }

    /// How the shop would order it.
    pub fn designation(&self) -> &str {
        &self.designation
    }
}

/// Which point of a bend a bender's reference line meets.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MarkPoint {
    /// Start of the bend.
    Start,
    /// Middle of the bend.
    Middle,
    /// End of the bend.
    End,
}

impl MarkPoint {
    /// As written in a spec.
    pub fn name(self) -> &'static str {
        match self {
            MarkPoint::Start => "start",
            MarkPoint::Middle => "middle",
            MarkPoint::End => "end",
        }
    }
}

/// Whether bends are made soft with the torch first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Anneal {
    /// Where the bend would stretch the tube too far as it is.
    #[default]
    Auto,
    /// Every bend.
    Always,
    /// No bend.
    Never,
}

/// Where the legs of a test bend were measured to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LegMeasure {
    /// To the centreline of the other leg.
    Centre,
    /// To the back (outside) of the other leg.
    Outside,
    /// To the inside of the other leg.
    Inside,
}

/// A trial piece: what it was pulled to and what it became. It has all of `cut`, `leg_a` and `leg_b` or
/// none of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TestBend {
    /// Angle pulled to, rad.
    pub pulled: f64,
    /// Angle after letting go, rad.
    pub got: f64,
    /// Cut length, mm.
    pub cut: Option<f64>,
    /// First leg, mm.
    pub leg_a: Option<f64>,
    /// Second leg, mm.
    pub leg_b: Option<f64>,
    /// Where the legs were measured to.
    pub measured: LegMeasure,
    /// Width of a U bend over the backs of its legs, mm.
    pub across: Option<f64>,
    /// Where the spec says so.
    pub place: Place,
}

/// What a bender really makes of a tube, fitted to its test bends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Formed {
    /// Springback at an angle of 0, rad.
    pub springback_fixed: f64,
    /// Springback per radian pulled, 1: springback = fixed + rate × angle pulled to.
    pub springback_rate: f64,
    /// Centreline radius of the finished bend, mm.
    pub clr: f64,
    /// What the arc gains in length, as a part of the finished arc: tube used = (1 − stretch) × arc.
    pub stretch: f64,
}

/// A bender or bending form.
#[derive(Debug, Clone, PartialEq)]
pub struct Bender {
    /// Its name.
    pub name: String,
    /// Centreline radius it forms, mm.
    pub clr: f64,
    /// Straight it must hold before the start of a bend, mm.
    pub grip: f64,
    /// Straight it needs after the end of a bend, mm.
    pub lead_out: f64,
    /// Which point of the bend its reference line meets.
    pub mark: MarkPoint,
    /// Signed distance from the reference line to the real start of bend, mm.
    pub datum: f64,
    /// Largest bend it can make, rad.
    pub max_angle: f64,
    /// Trial pieces.
    pub test_bends: Vec<TestBend>,
    /// What the trial pieces say, once they are fitted.
    pub formed: Option<Formed>,
}

/// A fitting a tube end goes into.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitting {
    /// Its name in the spec.
    pub name: String,
    /// Outside diameter of the tube it is made for, mm.
    pub tube_od: f64,
    /// How far the tube goes in behind the port's face, mm.
    pub insert: f64,
    /// Unbent tube it needs outside its face, mm.
    pub straight: f64,
    /// Largest misalignment it takes, rad.
    pub max_angle: f64,
    /// Largest sideways misfit it takes, mm.
    pub max_side: f64,
    /// Its seal, if the spec describes it.
    pub seal: Option<Seal>,
}

/// The O-ring of a fitting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seal {
    /// Thickness of the ring, mm.
    pub section: f64,
    /// How far a tube of the fitting's own size squeezes it, as a part of its thickness.
    pub squeeze: f64,
}

/// The outer shape of a component.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// A box square to the axes.
    Box {
        /// Corner with the smallest coordinates.
        min: Point3,
        /// Corner with the largest coordinates.
        max: Point3,
    },
    /// A round bar.
    Cylinder {
        /// Centre of one end.
        from: Point3,
        /// Centre of the other end.
        to: Point3,
        /// Diameter, mm.
        diameter: f64,
    },
}

/// A place of a component where a tube can end.
#[derive(Debug, Clone, PartialEq)]
pub struct Port {
    /// Its name within the component.
    pub name: String,
    /// Centre of its face.
    pub at: Point3,
    /// Unit vector out of the face.
    pub facing: Vector3,
    /// What the tube goes into.
    pub fitting: Option<Fitting>,
}

/// Something the tubes must reach and must miss.
#[derive(Debug, Clone, PartialEq)]
pub struct Component {
    /// Its name in the spec.
    pub name: String,
    /// Its outer shape; `None` for a component that is ports only.
    pub shape: Option<Shape>,
    /// Its ports.
    pub ports: Vec<Port>,
}

/// One end of a run, resolved.
#[derive(Debug, Clone, PartialEq)]
pub struct End {
    /// Centre of the tube's end: the port's face, `insert` deeper.
    pub at: Point3,
    /// Centre of the port's face (the same as `at` without a fitting).
    pub face: Point3,
    /// Unit vector out of the port, if the end says which way it faces.
    pub facing: Option<Vector3>,
    /// `component.port`, if it is one.
    pub port: Option<String>,
    /// The fitting there.
    pub fitting: Option<Fitting>,
    /// Where the spec says so.
    pub place: Place,
}

impl End {
    /// How far the tube goes in behind the face, mm.
    pub fn insert(&self) -> f64 {
        self.fitting.as_ref().map_or(0.0, |f| f.insert)
    }
}

/// A corner of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Corner {
    /// Where the straight centrelines cross.
    pub at: Point3,
    /// Centreline radius there, mm (its own, or the bender's).
    pub clr: f64,
    /// Whether the radius is its own.
    pub own_clr: bool,
    /// Where the spec says so.
    pub place: Place,
}

/// A row of a bend table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BendRow {
    /// Straight before the bend, mm.
    pub length: f64,
    /// Plane rotation, rad.
    pub rotation: f64,
    /// Bend angle, rad.
    pub angle: f64,
    /// Centreline radius, mm (its own, or the bender's).
    pub clr: f64,
    /// Whether the radius is its own.
    pub own_clr: bool,
    /// Where the spec says so.
    pub place: Place,
}

/// A request to find the way automatically.
#[derive(Debug, Clone, PartialEq)]
pub struct Route {
    /// Most bends allowed.
    pub max_bends: usize,
    /// Bend angles allowed, rad; empty for any.
    pub angles: Vec<f64>,
    /// Distance to keep from everything else, mm.
    pub clearance: f64,
}

/// How a run gets from one end to the other.
#[derive(Debug, Clone, PartialEq)]
pub enum Path {
    /// Through corners; may be empty for a straight piece.
    Corners(Vec<Corner>),
    /// By a bend table.
    Bends {
        /// Rows, datum end first.
        rows: Vec<BendRow>,
        /// Straight after the last bend, mm.
        end_length: f64,
    },
    /// To be found.
    Route(Route),
}

impl Path {
    /// Whether bend `number` (from 1) has a radius of its own instead of the bender's.
    pub fn own_clr(&self, number: usize) -> bool {
        let index = number.wrapping_sub(1);
        match self {
            Path::Corners(corners) => corners.get(index).is_some_and(|corner| corner.own_clr),
            Path::Bends { rows, .. } => rows.get(index).is_some_and(|row| row.own_clr),
            Path::Route(_) => false,
        }
    }
}

/// One tube to be bent.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Its name.
    pub name: String,
    /// Its tube (the run's own, or the spec's).
    pub tube: Tube,
    /// Its bender (the run's own, or the spec's).
    pub bender: Bender,
    /// Datum end. A bend table may do without.
    pub from: Option<End>,
    /// Other end. A bend table may do without.
    pub to: Option<End>,
    /// How it gets there.
    pub path: Path,
    /// Whether its bends are annealed first.
    pub anneal: Anneal,
    /// Extra tube at the datum end, to trim away after fitting, mm.
    pub allowance_start: f64,
    /// Extra tube at the other end, to trim away after fitting, mm.
    pub allowance_end: f64,
    /// Where the spec names it.
    pub place: Place,
}

/// How tube is sold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum StockForm {
    /// Straight lengths.
    #[default]
    Stick,
    /// Coils.
    Coil,
}

/// Tube as bought.
#[derive(Debug, Clone, PartialEq)]
pub struct Stock {
    /// Outside diameter and wall of the tube it is, mm; `None` for every tube no other stock names.
    pub section: Option<(f64, f64)>,
    /// How it is sold.
    pub form: StockForm,
    /// Length of one new piece, mm.
    pub length: f64,
    /// Width of the cut, mm.
    pub kerf: f64,
    /// How many new pieces there are; `None` for as many as needed.
    pub count: Option<usize>,
    /// Lengths of pieces left over from earlier, mm: used before new ones.
    pub leftovers: Vec<f64>,
    /// Where the spec says so.
    pub place: Place,
}

impl Stock {
    /// Whether it names the tube of this outside diameter and wall, mm.
    pub fn names(&self, od: f64, wall: f64) -> bool {
        let same = |a: f64, b: f64| (a - b).abs() < SAME_SIZE_MM;
        self.section.is_some_and(|(own_od, own_wall)| same(own_od, od) && same(own_wall, wall))
    }
}

/// A whole checked spec.
#[derive(Debug, Clone, PartialEq)]
pub struct Spec {
    pub(crate) name: String,
    pub(crate) file_name: String,
    pub(crate) title: String,
    pub(crate) units: Unit,
    pub(crate) components: Vec<Component>,
    pub(crate) runs: Vec<Run>,
    pub(crate) stock: Vec<Stock>,
}

impl Spec {
    /// Name of the output folder: the file's name without its ending.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The file's name without folders.
    pub fn file_name(&self) -> &str {
        &self.file_name
    }

    /// The title; the name where the spec gives none.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// Unit of its bare numbers.
    pub fn units(&self) -> Unit {
        self.units
    }

    /// The components, in the order of the file.
    pub fn components(&self) -> &[Component] {
        &self.components
    }

    /// The runs, in the order of the file.
    pub fn runs(&self) -> &[Run] {
        &self.runs
    }

    /// Tube as bought.
    pub fn stock(&self) -> &[Stock] {
        &self.stock
    }
}
