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

/// Rise of an arc over its chord, mm: R·(1 − cos(a/2)) = 2R·sin²(a/4), which keeps its digits for
/// small a. Valid for 0 ≤ a ≤ 2π.
///
/// ```
/// # use tubewright::formula::bend::sagitta;
/// assert!((sagitta(50.0, 90f64.to_radians()) - 14.6447).abs() < 5e-5);
/// ```
pub fn sagitta(radius: f64, angle: f64) -> f64 {
    2.0 * radius * (angle / 4.0).sin().powi(2)
}
