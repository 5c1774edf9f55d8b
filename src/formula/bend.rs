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

/// Straight line between the two tangent points of a bend, mm: 2R·sin(a/2). Valid for 0 ≤ a ≤ π.
/// With a/n for `angle`, the step between neighbouring ticks of an arc divided into n.
///
/// ```
/// # use tubewright::formula::bend::chord;
/// assert!((chord(50.0, 10f64.to_radians()) - 8.7156).abs() < 5e-5);
/// ```
pub fn chord(radius: f64, angle: f64) -> f64 {
    2.0 * radius * (angle / 2.0).sin()
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

/// Centreline length of one bend between two legs measured along their centrelines to the corner,
/// mm: A + B − gain. Valid for 0 ≤ a < π.
///
/// ```
/// # use tubewright::formula::bend::length_from_legs;
/// assert!((length_from_legs(150.0, 125.0, 60.0, 90f64.to_radians()) - 249.248).abs() < 5e-4);
/// ```
pub fn length_from_legs(leg_a: f64, leg_b: f64, radius: f64, angle: f64) -> f64 {
    leg_a + leg_b - gain(radius, angle)
}

/// Centreline length of one bend between two legs measured to the back (outside) of the other leg,
/// mm: A + B − D·tan(a/2) − gain, D outside diameter, mm. Valid for 0 ≤ a < π.
///
/// ```
/// # use tubewright::formula::bend::length_from_backs;
/// assert!((length_from_backs(150.0, 125.0, 15.875, 50.0, 90f64.to_radians()) - 237.665).abs() < 5e-4);
/// ```
pub fn length_from_backs(leg_a: f64, leg_b: f64, od: f64, radius: f64, angle: f64) -> f64 {
    // The outer walls cross OD/2·tan(a/2) beyond the centrelines' corner, on each leg.
    length_from_legs(leg_a, leg_b, radius, angle) - 2.0 * setback(od / 2.0, angle)
}
