//! A bender and its trial pieces.

use strum::{IntoStaticStr, VariantArray};

use super::Temper;
use crate::diagnostic::Span;

/// Which point of a bend a bender's reference line meets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum MarkPoint {
    /// Start of the bend.
    #[default]
    Start,
    /// Middle of the bend.
    Middle,
    /// End of the bend.
    End,
}

impl MarkPoint {
    /// As written in a spec.
    pub fn name(self) -> &'static str {
        self.into()
    }

    /// How far behind the start of a bend it lies, in the unit of the length that the bend takes.
    pub fn behind_start(self, length: f64) -> f64 {
        match self {
            MarkPoint::Start => 0.0,
            MarkPoint::Middle => length / 2.0,
            MarkPoint::End => length,
        }
    }
}

/// Where the legs of a test bend were measured to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, IntoStaticStr, VariantArray, Hash, PartialOrd, Ord)]
#[strum(serialize_all = "kebab-case")]
pub enum LegMeasure {
    /// To the centreline of the other leg.
    #[default]
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
    /// How hard the piece was when it was bent; none where nothing is written: as the bends of the runs are.
    pub temper: Option<Temper>,
    /// Where the spec says so.
    pub place: Span,
}

impl Bender {
    /// How hard its trial pieces were when they were bent; none where they do not say. All are alike.
    pub fn tested_temper(&self) -> Option<Temper> {
        self.test_bends.iter().find_map(|bend| bend.temper)
    }
}

/// A bender or bending form.
#[derive(Debug, Clone, PartialEq)]
pub struct Bender {
    /// Its name.
    pub name: String,
    /// Centreline radius it forms, mm.
    pub clr: f64,
    /// Where the spec says so.
    pub clr_place: Span,
    /// Straight it must hold before the start of a bend, mm.
    pub grip: f64,
    /// Straight it needs after the end of a bend, mm.
    pub lead_out: f64,
    /// Which point of the bend its reference line meets.
    pub mark: MarkPoint,
    /// Signed distance from the reference line to the real start of bend, mm.
    pub datum: f64,
    /// Largest angle it can pull a tube to, springback included, rad.
    pub max_angle: f64,
    /// Length of its lever, from the middle of the former to the hand, mm, where the spec gives it.
    pub lever: Option<f64>,
    /// Trial pieces.
    pub test_bends: Vec<TestBend>,
}
