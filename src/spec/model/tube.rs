//! A tube: its section, its metal and its temper.

use strum::{IntoStaticStr, VariantArray};

use crate::quantity::{Unit, trimmed};

/// How hard the tube is before any annealing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum Temper {
    /// Annealed coil or piece (EN R220, ASTM O60 or O50).
    Soft,
    /// Half hard (EN R250, ASTM H58 drawn).
    HalfHard,
    /// Hard (EN R290); of an ASTM standard H58, too.
    Hard,
}

impl Temper {
    /// As written in a spec.
    pub fn name(self) -> &'static str {
        self.into()
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
    standard: Option<&'static str>,
}

/// Properties of a tube's metal as delivered that a spec gives; the rest is looked up for known metals.
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
    #[error("{}", no_bore(*.od, *.wall, Unit::Millimetre))]
    Wall {
        /// Outside diameter, mm.
        od: f64,
        /// Wall, mm.
        wall: f64,
    },
}

fn no_bore(od: f64, wall: f64, unit: Unit) -> String {
    format!("a wall of {} leaves no bore in a tube of {}", unit.length(wall), unit.length(od))
}

impl TubeFault {
    /// The message with its lengths in a spec's unit.
    pub fn message(&self, unit: Unit) -> String {
        match *self {
            TubeFault::Wall { od, wall } => no_bore(od, wall, unit),
            TubeFault::Od(_) => self.to_string(),
        }
    }
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
            standard: None,
        })
    }

    /// The same tube with what the spec says of its metal.
    #[must_use]
    pub fn with_metal(mut self, metal: GivenMetal) -> Self {
        self.metal = metal;
        self
    }

    /// The same tube as one of a standard, whose tempers have strengths of their own.
    #[must_use]
    pub fn of_standard(mut self, name: &'static str) -> Self {
        self.standard = Some(name);
        self
    }

    /// Name of the standard it is of; `None` for one given outright.
    pub fn standard(&self) -> Option<&'static str> {
        self.standard
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

    /// Properties of its metal that the spec gives.
    pub fn metal(&self) -> &GivenMetal {
        &self.metal
    }

    /// How the shop would order it.
    pub fn designation(&self) -> &str {
        &self.designation
    }
}
