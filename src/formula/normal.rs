//! How far errors reach that are distributed normally, about nothing.
//!
//! Elementary probability: the density of a normal error of standard deviation s is exp(−x²/2s²)/(s·√2π). The error
//! function is the C library's.

use std::f64::consts::{FRAC_PI_2, PI, SQRT_2};

/// Half the width of the range that holds 95 % of a normal error, in its standard deviations.
pub const REACH_95: f64 = 1.959_963_984_540_054;

/// Steps of Simpson's rule over half a turn; even.
const STEPS: u32 = 64;

/// Halvings of the search for a radius: 2⁻⁵⁰ of it is below rounding.
const HALVINGS: u32 = 50;

/// The part of all errors of a plane that lie within `radius` of nothing. `deviations` are the standard deviations along
/// the two axes on which the errors are independent, any unit; a radius of more than 0, the same unit.
///
/// With s the larger deviation and t the smaller, and x = r·sin u, it is
/// ∫ exp(−x²/2s²)/(s·√2π) · erf(r·cos u/(t·√2)) · r·cos u du from −π/2 to π/2.
///
/// ```
/// # use tubewright::formula::normal::within;
/// // Of a round distribution 1 − exp(−r²/2) lie within r deviations: 0.393469 within one.
/// assert!((within(1.0, [1.0, 1.0]) - 0.393469).abs() < 1e-6);
/// // On one axis alone 0.682689 do.
/// assert!((within(1.0, [1.0, 0.0]) - 0.682689).abs() < 1e-6);
/// ```
pub fn within(radius: f64, deviations: [f64; 2]) -> f64 {
    let (large, small) = (deviations[0].max(deviations[1]), deviations[0].min(deviations[1]));
    if large <= 0.0 {
        return 1.0;
    }
    let part = |u: f64| {
        let (across, along) = (radius * u.cos(), radius * u.sin());
        let beside = if small > 0.0 { libm::erf(across / (small * SQRT_2)) } else { 1.0 };
        (-along * along / (2.0 * large * large)).exp() / (large * (2.0 * PI).sqrt()) * beside * across
    };
    let step = PI / f64::from(STEPS);
    let weight = |index: u32| match index {
        0 | STEPS => 1.0,
        odd if odd % 2 == 1 => 4.0,
        _ => 2.0,
    };
    let sum: f64 = (0..=STEPS).map(|index| weight(index) * part(-FRAC_PI_2 + step * f64::from(index))).sum();
    sum * step / 3.0
}

/// The radius within which 95 % of the errors of a plane lie, in the unit of its standard deviations (see [`within`]).
///
/// ```
/// # use tubewright::formula::normal::circle_95;
/// // √(−2·ln 0.05) deviations where both are alike.
/// assert!((circle_95([1.0, 1.0]) - 2.447747).abs() < 1e-5);
/// // On one axis alone as many as a range has.
/// assert!((circle_95([0.0, 3.0]) - 3.0 * 1.959964).abs() < 1e-4);
/// ```
pub fn circle_95(deviations: [f64; 2]) -> f64 {
    let (mut low, mut high) = (0.0, 3.0 * deviations[0].hypot(deviations[1]));
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if within(middle, deviations) < 0.95 { low = middle } else { high = middle }
    }
    high
}
