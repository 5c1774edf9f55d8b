//! Test bends → what the bender really makes of the tube: springback, radius and stretch.
//!
//! Two fits, both linear (formulas: [`crate::formula::calibration`]).
//!
//! **Springback** of every piece, pulled − got = a + b·pulled; with pieces at one angle only, a is 0.
//!
//! **Radius R and stretch s** from the legs of pieces whose length before bending is known. With q = s·R
//! and a the angle got, A + B − cut = R·(2·tan(a/2) − a) + q·a. A U bend that was measured across gives R
//! alone. A piece at 90° cannot tell the two apart: 1 mm of radius is 0.43 mm of its leg sum, and so is
//! 0.27 mm of q. It takes two angles that differ enough. Where it cannot be told, R is held at the
//! bender's `clr` and all goes to s: the other way round a small stretch would be read as
//! millimetres of radius. Either way the tube used by a bend near the tested angle comes out right.
//!
//! **Weights.** A reading is taken to be off by [`LENGTH_READING_MM`] or [`ANGLE_READING`]. An angle that is
//! off moves the leg sum by R·tan²(a/2) per rad (and by D/2·(1 + tan²(a/2)) for legs measured to the
//! outside or inside), so long legs of wide bends count less.

mod advice;
mod fit;
mod least_squares;
mod messages;
mod pieces;
mod suspect;

#[cfg(test)]
mod tests;

pub use advice::{EXAMPLE, held, next};
pub use fit::calibrate;
pub use pieces::{LEG_MM, Measure, TestPiece, advice, test_pieces};

use std::collections::BTreeMap;
use std::f64::consts::PI;

use crate::diagnostic::{Diagnostic, Diagnostics, Span};
use crate::quantity::Unit;
use crate::spec::model::{Bender, Run, Spec, Tube};

/// How far a length read from a rule is off, mm.
pub const LENGTH_READING_MM: f64 = 0.1;

/// How far an angle read from a protractor with a vernier or a digital one is off, rad (0.1°).
pub const ANGLE_READING: f64 = 0.1 * PI / 180.0;

/// A piece whose lengths are further off the fit than this was spoiled or misread, mm. Wide bends are
/// given more, see [`LengthFit::limit`].
pub const WORST_MM: f64 = 0.5;

/// The same for angles, rad (0.5°).
pub const WORST_ANGLE: f64 = 0.5 * PI / 180.0;

/// Angles must differ by this to tell two constants apart, rad (20°).
pub const APART: f64 = 20.0 * PI / 180.0;

/// The constants of a bender with a tube, fitted to its test bends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Formed {
    /// Springback at an angle of 0, rad.
    pub springback_fixed: f64,
    /// Springback per radian pulled, 1: springback = fixed + rate × angle pulled to.
    pub springback_rate: f64,
    /// Centreline radius of the finished bend, mm.
    pub clr: f64,
    /// Stretch: the arc's gain in length, as a part of the finished arc: tube used = (1 − stretch) × arc.
    pub stretch: f64,
}

/// A constant of a fit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Constant {
    /// Its value.
    pub value: f64,
    /// Whether it was held there because the pieces cannot tell it.
    pub held: bool,
    /// Its standard error by how the pieces scatter; none where nothing is left to scatter.
    pub standard_error: Option<f64>,
    /// Its standard error if lengths are read to [`LENGTH_READING_MM`] and angles to [`ANGLE_READING`]; none
    /// where it was held.
    pub reading_error: Option<f64>,
}

/// One test bend beside the fit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PieceFit {
    /// Number in the list, from 1.
    pub number: usize,
    /// Where the spec has it.
    pub place: Span,
    /// Angle pulled to, rad.
    pub pulled: f64,
    /// Angle after letting go, rad.
    pub got: f64,
    /// How much further bent it is than fitted, rad.
    pub angle_off: f64,
    /// Sum of its legs to the centreline's corner, mm; none where they were not measured.
    pub leg_sum: Option<f64>,
    /// The same beside the fit.
    pub legs: Option<LengthFit>,
    /// The radius that its width gives beside the fit.
    pub across: Option<LengthFit>,
}

impl PieceFit {
    /// The worse of its lengths; none without any.
    pub fn worst_length(&self) -> Option<LengthFit> {
        [self.legs, self.across].into_iter().flatten().max_by(|a, b| a.ratio().total_cmp(&b.ratio()))
    }
}

/// A measured length beside the fit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LengthFit {
    /// How much longer it is than fitted, mm.
    pub off: f64,
    /// How far it may be off, mm: [`WORST_MM`], or 2.5 times what its readings make likely. That is more
    /// where 0.1° of angle moves the legs by more than a rule is misread, as at 120° and a radius of 50 mm.
    pub limit: f64,
}

impl LengthFit {
    /// How far it is off in units of how far it may be.
    pub(crate) fn ratio(&self) -> f64 {
        self.off.abs() / self.limit
    }
}

/// The fit of a bender and a tube to test bends.
#[derive(Debug, Clone, PartialEq)]
pub struct Calibration {
    /// The pieces, in the order of the file.
    pub pieces: Vec<PieceFit>,
    /// Springback at an angle of 0, rad.
    pub fixed: Constant,
    /// Springback per radian pulled, 1.
    pub rate: Constant,
    /// Radius of the finished bend, mm.
    pub clr: Constant,
    /// Stretch, as a part of the finished arc, 1.
    pub stretch: Constant,
    /// Why the radius was held, if it was.
    pub radius_held: Option<RadiusHeld>,
    /// Angles more than springback has constants.
    pub angles_to_spare: usize,
    /// Lengths more than radius and stretch have constants.
    pub lengths_to_spare: usize,
    /// Why none of this is used, if so.
    pub refusal: Option<Refusal>,
}

impl Calibration {
    /// The constants that bends are planned with; none where the test bends were refused.
    pub fn formed(&self) -> Option<Formed> {
        self.refusal.is_none().then_some(Formed {
            springback_fixed: self.fixed.value,
            springback_rate: self.rate.value,
            clr: self.clr.value,
            stretch: self.stretch.value,
        })
    }
}

/// Why the radius stays at the bender's `clr`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RadiusHeld {
    /// No piece has lengths.
    NoLengths,
    /// All legs are of bends of about one angle, rad.
    OneAngle(f64),
    /// Readings as good as they are would leave it this uncertain, mm.
    Uncertain(f64),
}

/// Why a bender's test bends are not used.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Refusal {
    /// A piece is too far off.
    DoNotAgree {
        /// Its index.
        piece: usize,
        /// By how much.
        off: Off,
        /// Whether it can be told that this piece is the wrong one.
        told: bool,
    },
    /// A constant is not what a bender does.
    Implausible(Implausible),
    /// The fitted radius leaves no room for the tube.
    InsideTube,
}

/// How far a piece is off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Off {
    /// Its angle, rad.
    Angle(f64),
    /// Its lengths.
    Length(LengthFit),
}

/// A constant that is not what a bender does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Implausible {
    /// Springback at an angle of 0, rad.
    Fixed(f64),
    /// Springback per radian.
    Rate(f64),
    /// Radius, mm.
    Radius(f64),
    /// Stretch.
    Stretch(f64),
}

/// A bender's test bends with one tube, and the runs that are bent by them.
#[derive(Debug, Clone, PartialEq)]
pub struct Calibrated<'s> {
    /// The bender.
    pub bender: &'s Bender,
    /// The tube.
    pub tube: &'s Tube,
    /// Names of the runs.
    pub runs: Vec<&'s str>,
    /// The fit to its test bends; none where it has none.
    pub calibration: Option<Calibration>,
    /// The unit of the spec, which sentences about it give lengths in.
    pub unit: Unit,
}

/// Every bender of a spec with every tube it bends, in the order of first use.
pub fn benders(spec: &Spec) -> Vec<Calibrated<'_>> {
    let mut found: Vec<Calibrated<'_>> = Vec::new();
    for run in spec.runs() {
        match found.iter_mut().find(|known| same(known, run)) {
            Some(known) => known.runs.push(&run.name),
            None => found.push(Calibrated {
                bender: &run.bender,
                tube: &run.tube,
                runs: vec![&run.name],
                calibration: calibrate(&run.bender, run.tube.od()),
                unit: spec.units(),
            }),
        }
    }
    found
}

fn same(known: &Calibrated<'_>, run: &Run) -> bool {
    let key = |bender: &Bender| (bender.name.clone(), bender.clr.to_bits());
    known.tube == &run.tube
        && key(known.bender) == key(&run.bender)
        && known.bender.test_bends == run.bender.test_bends
}

/// Why test bends are not used, once for each bender.
pub fn refusals(benders: &[Calibrated<'_>]) -> Diagnostics {
    let mut told: Vec<Diagnostic> = Vec::new();
    for Calibrated { bender, tube, calibration, unit, .. } in benders {
        let refusal = calibration.as_ref().and_then(|found| messages::refusal(bender, tube, found, *unit));
        // One bender with tubes of several tempers has one fault, not several.
        told.extend(refusal.filter(|refusal| !told.contains(refusal)));
    }
    let mut findings = Diagnostics::new();
    findings.extend(told);
    findings
}

/// The constants that runs are bent by, of those whose benders have test bends.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Calibrations(BTreeMap<String, Formed>);

impl Calibrations {
    /// The constants of a run's bender with its tube; none where test bends do not give them or were refused.
    pub fn of_run(&self, name: &str) -> Option<Formed> {
        self.0.get(name).copied()
    }
}

/// Fits every bender of a spec to its test bends. The findings are the [`refusals`].
pub fn calibrations(spec: &Spec) -> (Calibrations, Diagnostics) {
    let benders = benders(spec);
    let findings = refusals(&benders);
    let mut found = BTreeMap::new();
    for Calibrated { runs, calibration, .. } in benders {
        if let Some(formed) = calibration.as_ref().and_then(Calibration::formed) {
            found.extend(runs.into_iter().map(|run| (run.to_owned(), formed)));
        }
    }
    (Calibrations(found), findings)
}
