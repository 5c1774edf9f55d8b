//! How far a bent tube opens when it is let go.
//!
//! D outside diameter, t wall, R centreline radius, mm; E modulus of elasticity, MPa; a bend angle, rad.
//! The tube is a ring section bent about its centreline; a fibre at distance y from the neutral axis
//! is strained by ε = y/R, and letting go takes off an elastic moment equal to the one it was bent with:
//!
//! 1/R₀ − 1/R_f = M/(E·I), so f = M·R₀/(E·I), a_f = a₀·(1 − f), R_f = R₀/(1 − f)
//!
//! with R₀, a₀ under load and R_f, a_f after it (beam theory; for sheet the same is Kalpakjian &
//! Schmid, Manufacturing Processes for Engineering Materials). Flattening, friction and the tool's own
//! give are left out, so a real tube may differ by a degree: test bends say more.

use std::f64::consts::PI;

use super::section::second_moment;

/// Fixed-point steps before a nearly elastic bend is bisected instead.
const STEPS: usize = 50;

/// Halvings or doublings that leave nothing of a double's digits.
const HALVINGS: usize = 200;

/// Most terms of the series of a nearly elastic bend: what is left is below 1e-6 of the moment.
const TERMS: u32 = 2000;

/// Part of a predicted springback that it may be off by. Analytical models of round tube bent without a mandrel were
/// 38.9, 14.4 and 14.2 % off on the mean (Zhou et al., Science Progress 104(1), 2021, doi
/// 10.1177/0036850420984303): 40 %.
const OFF: f64 = 0.4;

/// The least that a predicted springback may be off by, rad (0.5°): common practice, no source.
const LEAST_OFF: f64 = 0.5 * PI / 180.0;

/// How far off a predicted springback may be, either way, rad: the larger of 0.5° and 40 % of it.
///
/// ```
/// # use tubewright::formula::springback::band;
/// assert!((band(2.088f64.to_radians()).to_degrees() - 0.8352).abs() < 1e-9);
/// assert!((band(0.7f64.to_radians()).to_degrees() - 0.5).abs() < 1e-9);
/// ```
pub fn band(springback: f64) -> f64 {
    (OFF * springback.abs()).max(LEAST_OFF)
}

/// How stress follows strain once a fibre yields. Below that it is E·ε.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FlowLaw {
    /// The stress stays as it is, MPa.
    Plastic {
        /// Flow stress, MPa.
        stress: f64,
    },
    /// Hardening: σ = K·εⁿ.
    Power {
        /// K, stress at a strain of 1, MPa.
        strength: f64,
        /// n, 0 < n < 1.
        exponent: f64,
    },
}

impl FlowLaw {
    /// Engineering tensile strength, MPa: the stress itself, or K·nⁿ·e⁻ⁿ, where σ = K·εⁿ has its largest load
    /// (Considère: at ε = n; any text on metal forming).
    ///
    /// ```
    /// # use tubewright::formula::springback::FlowLaw;
    /// let soft = FlowLaw::Power { strength: 530.0, exponent: 0.44 };
    /// assert!((soft.tensile_strength() - 237.9).abs() < 0.05);
    /// ```
    pub fn tensile_strength(self) -> f64 {
        match self {
            FlowLaw::Plastic { stress } => stress,
            FlowLaw::Power { strength, exponent } => {
                strength * (exponent / std::f64::consts::E).powf(exponent)
            }
        }
    }

    /// Strain at which the law leaves the elastic line E·ε, 1.
    fn yield_strain(self, modulus: f64) -> f64 {
        match self {
            FlowLaw::Plastic { stress } => stress / modulus,
            FlowLaw::Power { strength, exponent } => (strength / modulus).powf(1.0 / (1.0 - exponent)),
        }
    }

    /// Stress at a strain beyond yield, MPa.
    fn stress(self, strain: f64) -> f64 {
        match self {
            FlowLaw::Plastic { stress } => stress,
            FlowLaw::Power { strength, exponent } => strength * strain.powf(exponent),
        }
    }

    /// ∫ x^(n+1)·√(1 − x²) dx from `core` to 1: the share of a disc that flows, n = 0 without hardening.
    fn flowing(self, core: f64) -> f64 {
        match self {
            FlowLaw::Plastic { .. } => (1.0 - core * core).max(0.0).powf(1.5) / 3.0,
            FlowLaw::Power { exponent, .. } => {
                // The whole is half a beta function; the core comes off it by the series of √(1 − x²).
                let whole =
                    PI.sqrt() / 4.0 * libm::tgamma(exponent / 2.0 + 1.0) / libm::tgamma(exponent / 2.0 + 2.5);
                let (mut factor, mut power, mut inner) = (1.0, core.powf(exponent + 2.0), 0.0);
                for k in 0..TERMS {
                    let k = f64::from(k);
                    let term = factor * power / (exponent + 2.0 + 2.0 * k);
                    inner += term;
                    if term.abs() <= f64::EPSILON * inner {
                        break;
                    }
                    factor *= (2.0 * k - 1.0) / (2.0 * k + 2.0);
                    power *= core * core;
                }
                (whole - inner).max(0.0)
            }
        }
    }
}

/// A tube in the state it is bent in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BentTube {
    /// D, mm.
    pub od: f64,
    /// t, mm, 0 < t < D/2.
    pub wall: f64,
    /// E, MPa.
    pub modulus: f64,
    /// How it flows.
    pub law: FlowLaw,
}

impl BentTube {
    /// Bending moment at centreline radius R, N·mm: exact for the ring (outer disc less bore), with
    /// its elastic core. For a disc of radius r with sin φ = min(1, ε_y·R/r):
    ///
    /// M = 4E·r⁴/R·(φ/8 − sin 4φ/32) + 4·r³·σ(r/R)·∫ x^(n+1)·√(1 − x²) dx from sin φ to 1
    ///
    /// (ring integrals of beam theory; with n = 0 the last integral is cos³φ/3.) Valid for R > 0.
    ///
    /// ```
    /// # use tubewright::formula::springback::{BentTube, FlowLaw};
    /// // 15.875 x 1.245, 275 MPa at R 50: nearly the plastic moment (D³ − d³)/6 × 275 = 73 458 N·mm.
    /// let tube = BentTube { od: 15.875, wall: 1.245, modulus: 117e3, law: FlowLaw::Plastic { stress: 275.0 } };
    /// let moment = tube.moment(50.0);
    /// assert!(moment < 73_458.0 && moment > 0.999 * 73_458.0);
    /// ```
    pub fn moment(&self, radius: f64) -> f64 {
        self.disc(self.od / 2.0, radius) - self.disc(self.od / 2.0 - self.wall, radius)
    }

    fn disc(&self, r: f64, radius: f64) -> f64 {
        let core = (self.law.yield_strain(self.modulus) * radius / r).min(1.0);
        let phi = core.asin();
        let elastic = self.modulus * r.powi(4) / radius * (phi / 2.0 - (4.0 * phi).sin() / 8.0);
        if core >= 1.0 {
            return elastic;
        }
        elastic + 4.0 * r.powi(3) * self.law.stress(r / radius) * self.law.flowing(core)
    }

    /// Share of the angle that is lost when a bend held at centreline radius R₀ is let go, 0 to 1:
    /// f = M·R₀/(E·I). 1 is a bend so wide that it stays elastic and springs back straight.
    ///
    /// ```
    /// # use tubewright::formula::springback::{BentTube, FlowLaw};
    /// // 15.875 x 1.245, 275 MPa, E 117 GPa at R 50: a numeric integral of the ring gives 1.8321° of 90°.
    /// let tube = BentTube { od: 15.875, wall: 1.245, modulus: 117e3, law: FlowLaw::Plastic { stress: 275.0 } };
    /// assert!((90.0 * tube.lost_share(50.0) - 1.8321).abs() < 1e-3);
    /// ```
    pub fn lost_share(&self, loaded: f64) -> f64 {
        let stiffness = self.modulus * second_moment(self.od, self.wall);
        (self.moment(loaded) * loaded / stiffness).clamp(0.0, 1.0)
    }

    /// Centreline radius after letting go of R₀, mm: R₀/(1 − f); `None` where it springs back straight.
    ///
    /// ```
    /// # use tubewright::formula::springback::{BentTube, FlowLaw};
    /// let tube = BentTube { od: 15.875, wall: 1.245, modulus: 117e3, law: FlowLaw::Plastic { stress: 275.0 } };
    /// assert!((tube.released(50.0).unwrap() - 51.039).abs() < 2e-3);
    /// assert_eq!(tube.released(1e6), None);
    /// ```
    pub fn released(&self, loaded: f64) -> Option<f64> {
        let kept = 1.0 - self.lost_share(loaded);
        // A bend that keeps less than a millionth of its angle is straight.
        Some(loaded / kept).filter(|finished| kept > 1e-6 && finished.is_finite())
    }

    /// Centreline radius R₀ to hold a bend at so that it relaxes to R_f, mm; `None` where no bend is
    /// left to speak of. Solves 1/R₀ = 1/R_f + M(R₀)/(E·I), whose right side grows slower than its left.
    ///
    /// ```
    /// # use tubewright::formula::springback::{BentTube, FlowLaw};
    /// let tube = BentTube { od: 15.875, wall: 1.245, modulus: 117e3, law: FlowLaw::Plastic { stress: 275.0 } };
    /// let finished = tube.released(50.0).unwrap();
    /// assert!((tube.loaded(finished).unwrap() - 50.0).abs() < 1e-9);
    /// ```
    pub fn loaded(&self, finished: f64) -> Option<f64> {
        let wanted = 1.0 / finished;
        let stiffness = self.modulus * second_moment(self.od, self.wall);
        if !(wanted > 0.0 && wanted.is_finite() && stiffness > 0.0 && stiffness.is_finite()) {
            return None;
        }
        let next = |curvature: f64| wanted + self.moment(1.0 / curvature) / stiffness;
        // From below, every step stays below the answer.
        let mut low = wanted;
        for _ in 0..STEPS {
            let step = next(low);
            if step - low <= f64::EPSILON * step {
                return Some(1.0 / step).filter(|radius| radius.is_finite());
            }
            low = step;
        }
        let mut high = low;
        for _ in 0..HALVINGS {
            high *= 2.0;
            if next(high) <= high {
                break;
            }
        }
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(low, high);
            if next(middle) > middle {
                low = middle;
            } else {
                high = middle;
            }
        }
        Some(1.0 / high).filter(|radius| *radius > 0.0 && radius.is_finite())
    }
}
