//! Springback, and the lengths of the legs of a bent piece.
//!
//! R centreline radius of the finished bend, mm; a its angle (change of direction), rad; D outside
//! diameter of the tube, mm; s stretch: what the arc gains in length as a part of the finished arc, 1.
//! Elementary geometry, except for the straight line that springback is taken to follow, which is
//! common practice.

/// Springback of a bend, rad: fixed + rate × pulled, and never less than 0, because a
/// tube springs back, not on. `pulled` is the angle it is pulled to, rad; `fixed` rad, `rate` 1,
/// below 1. A straight line over the angles of test bends: common practice, no source.
///
/// ```
/// # use tubewright::formula::calibration::springback;
/// // 0.5° and 3 %: pulled to 93.3°, a bend opens by 3.3°.
/// let back = springback(93.3f64.to_radians(), 0.5f64.to_radians(), 0.03);
/// assert!((back.to_degrees() - 3.299).abs() < 5e-4);
/// ```
pub fn springback(pulled: f64, fixed: f64, rate: f64) -> f64 {
    (fixed + rate * pulled).max(0.0)
}

/// Angle to pull to for a bend of angle `a`, rad: (a + fixed)/(1 − rate), which [`springback`] brings
/// back to a; never less than a.
///
/// ```
/// # use tubewright::formula::calibration::pull_to;
/// let pulled = pull_to(90f64.to_radians(), 0.5f64.to_radians(), 0.03);
/// assert!((pulled.to_degrees() - 93.299).abs() < 5e-4);
/// ```
pub fn pull_to(angle: f64, fixed: f64, rate: f64) -> f64 {
    ((angle + fixed) / (1.0 - rate)).max(angle)
}

/// Length by which two legs that meet in a corner exceed the bend between them, mm:
/// 2R·tan(a/2) − R·a, the gain. Valid for 0 ≤ a < π.
///
/// ```
/// # use tubewright::formula::calibration::gain;
/// assert!((gain(50.0, 90f64.to_radians()) - 21.460).abs() < 5e-4);
/// ```
pub fn gain(radius: f64, angle: f64) -> f64 {
    radius * gain_factor(angle)
}

/// [`gain`] of a radius of 1: 2·tan(a/2) − a.
pub fn gain_factor(angle: f64) -> f64 {
    2.0 * (angle / 2.0).tan() - angle
}

/// Sum of the two legs of a bent piece, from its ends to the corner of its centreline, mm:
/// cut + 2R·tan(a/2) − (1 − s)·R·a = cut + gain + s·R·a. `cut` is its length before it was bent, mm.
/// Valid for 0 ≤ a < π.
///
/// ```
/// # use tubewright::formula::calibration::leg_sum;
/// // 36 in cut, bent to 90° at a radius of 6 in: the legs come to 38.575 in without stretch, and to
/// // 39 in where the arc is stretched by 4.5 %.
/// let square = 90f64.to_radians();
/// assert!((leg_sum(36.0, 6.0, 0.0, square) - 38.575).abs() < 5e-4);
/// assert!((leg_sum(36.0, 6.0, 0.0451, square) - 39.0).abs() < 5e-4);
/// ```
pub fn leg_sum(cut: f64, radius: f64, stretch: f64, angle: f64) -> f64 {
    cut + gain(radius, angle) + stretch * radius * angle
}

/// From the corner of the centrelines of two legs to where the lines of their backs cross, along a
/// leg, mm: D/2·tan(a/2). A leg measured to the back is longer by it than one measured to the centre,
/// one measured to the inside is shorter by it. Valid for 0 ≤ a < π.
///
/// ```
/// # use tubewright::formula::calibration::back_of_leg;
/// assert!((back_of_leg(15.0, 90f64.to_radians()) - 7.5).abs() < 1e-12);
/// assert!((back_of_leg(15.0, 45f64.to_radians()) - 3.107).abs() < 5e-4);
/// ```
pub fn back_of_leg(od: f64, angle: f64) -> f64 {
    od / 2.0 * (angle / 2.0).tan()
}

/// How far the leg sum of a bend moves for an error of 1 rad in its angle, mm per rad, as long as
/// the legs are measured to the centre: R·tan²(a/2), the slope of [`gain`]. Valid for 0 ≤ a < π.
///
/// ```
/// # use tubewright::formula::calibration::{gain, gain_slope};
/// assert!((gain_slope(50.0, 90f64.to_radians()) - 50.0).abs() < 1e-12);
/// let (a, step) = (2.0, 1e-6);
/// let slope = (gain(50.0, a + step) - gain(50.0, a - step)) / (2.0 * step);
/// assert!((gain_slope(50.0, a) - slope).abs() < 1e-5);
/// ```
pub fn gain_slope(radius: f64, angle: f64) -> f64 {
    radius * (angle / 2.0).tan().powi(2)
}

/// Centreline radius of a U bend from its width over the backs of its legs where the bend ends, mm:
/// (across/sin(a/2) − D)/2; at 180° half of what is left of the width without one OD. For a near π.
///
/// ```
/// # use tubewright::formula::calibration::radius_across;
/// assert!((radius_across(125.0, 15.0, 180f64.to_radians()) - 55.0).abs() < 1e-12);
/// assert!((radius_across(125.0, 15.0, 176f64.to_radians()) - 55.038).abs() < 5e-4);
/// ```
pub fn radius_across(across: f64, od: f64, angle: f64) -> f64 {
    (across / (angle / 2.0).sin() - od) / 2.0
}
