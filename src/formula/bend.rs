//! Geometry of one bend (elementary geometry; any trade textbook).
//!
//! R centreline radius, mm; a bend angle (change of direction), rad.

/// Length of the bend's centreline, mm: R·a. Valid for 0 ≤ a ≤ π.
///
/// ```
/// # use tubewright::formula::bend::arc_length;
/// assert!((arc_length(38.0, 90f64.to_radians()) - 59.690).abs() < 5e-4);
/// ```
pub fn arc_length(radius: f64, angle: f64) -> f64 {
    radius * angle
}

/// Distance from the corner to either tangent point, mm: R·tan(a/2). Valid for 0 ≤ a < π.
///
/// ```
/// # use tubewright::formula::bend::setback;
/// assert!((setback(50.0, 45f64.to_radians()) - 20.711).abs() < 5e-4);
/// ```
pub fn setback(radius: f64, angle: f64) -> f64 {
    radius * (angle / 2.0).tan()
}

/// What a bend saves over its two setbacks, mm: 2R·tan(a/2) − R·a. Valid for 0 ≤ a < π.
///
/// ```
/// # use tubewright::formula::bend::gain;
/// assert!((gain(60.0, 90f64.to_radians()) - 25.752).abs() < 5e-4);
/// ```
pub fn gain(radius: f64, angle: f64) -> f64 {
    2.0 * setback(radius, angle) - arc_length(radius, angle)
}
