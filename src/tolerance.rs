//! Tolerances that stages share, with their reasons.

/// Two points nearer than this are one point, mm. A thousandth of the width of a pencil line would
/// still be invisible; rounding of metre-long runs stays a thousand times below it.
pub const COINCIDENT_MM: f64 = 1e-6;

/// A straight shorter than this is no straight at all, mm: bends that touch leave only rounding.
pub const NO_STRAIGHT_MM: f64 = 1e-6;

/// The smallest change of direction that counts as a bend, rad (0.05°). Below it a hand-bent tube
/// cannot be told from a straight one, and three such corners are "in line".
pub const SMALLEST_BEND: f64 = 0.05 * std::f64::consts::PI / 180.0;

/// Two bend planes whose rotation differs by less than this are one plane, rad (0.05°). Over a leg
/// of 300 mm that is 0.26 mm, less than the width of a pencil line.
pub const SAME_PLANE: f64 = 0.05 * std::f64::consts::PI / 180.0;

/// How far above π a half turn may arrive, rad: angles come from degrees.
pub const HALF_TURN_ROUNDING: f64 = 1e-12;

/// Default chord height of STL files, mm: finer than a printed layer is high.
pub const CHORD_MM: f64 = 0.05;

/// How exactly clearances are measured, mm: bends are cut into chords until they lie this close.
pub const MEASURED_MM: f64 = 1e-3;

/// The deepest overlap that is no clash, mm: nobody holds a tube in place to a hundredth, and tubes drawn touching
/// are not a clash.
pub const CLEARANCE_MM: f64 = 0.01;

/// Two surfaces nearer than this touch, mm: no hand-bent tube is true to a twentieth.
pub const TOUCHING_MM: f64 = 0.05;

/// Two outside diameters, or two walls, nearer than this are one size, mm: sizes are quoted to a
/// hundredth, and the walls of a standard lie several hundredths apart.
pub const SAME_SIZE_MM: f64 = 0.01;

/// Whether two outside diameters, or two walls, mm, are of one size.
pub fn is_same_size(a: f64, b: f64) -> bool {
    (a - b).abs() < SAME_SIZE_MM
}
