//! Offsets, saddles, rolled offsets and back-to-back bends (elementary geometry; the layout rules of
//! plumbing, pipefitting and conduit texts are roundings of these).
//!
//! h rise of the offset, mm; a angle of each of its bends, rad, 0 < a ≤ π/2; R centreline radius, mm.
//! A three-bend saddle has outer bends of a and a middle bend of 2a, and its two halves obey the
//! offset's formulas.

use super::bend::gain;

/// Distance between the two corners of an offset along the sloping centreline, mm: h·csc a. Also the
/// travel of a rolled offset whose `rise` is the true offset, and the distance from the middle
/// corner of a saddle to either outer one.
///
/// ```
/// # use tubewright::formula::offset::travel;
/// assert!((travel(1.0, 22.5f64.to_radians()) - 2.6131).abs() < 5e-5);
/// ```
pub fn travel(rise: f64, angle: f64) -> f64 {
    rise / angle.sin()
}

/// Rise of an offset whose corners are `travel` mm apart, mm: travel·sin a.
///
/// ```
/// # use tubewright::formula::offset::rise;
/// assert!((rise(6.0, 5f64.to_radians()) - 0.523).abs() < 5e-4);
/// ```
pub fn rise(travel: f64, angle: f64) -> f64 {
    travel * angle.sin()
}

/// How much nearer the far corner of an offset is to its start than along the tube, measured corner
/// to corner, mm: h·tan(a/2). The trade's shrink; also how far ahead the middle mark of a saddle goes.
///
/// ```
/// # use tubewright::formula::offset::shrink;
/// assert!((shrink(50.0, 45f64.to_radians()) - 20.711).abs() < 5e-4);
/// ```
pub fn shrink(rise: f64, angle: f64) -> f64 {
    rise * (angle / 2.0).tan()
}

/// How much an offset really shortens a tube, mm: h·tan(a/2) − 2·gain, for the tube cuts two corners.
///
/// ```
/// # use tubewright::formula::offset::shortening;
/// assert!((shortening(50.0, 50.0, 45f64.to_radians()) - 16.408).abs() < 5e-4);
/// ```
pub fn shortening(rise: f64, radius: f64, angle: f64) -> f64 {
    shrink(rise, angle) - 2.0 * gain(radius, angle)
}

/// Distance between the middles of an offset's two bends along the tube, mm: h·csc a − gain.
///
/// ```
/// # use tubewright::formula::offset::between_middles;
/// assert!((between_middles(50.0, 50.0, 45f64.to_radians()) - 68.559).abs() < 5e-4);
/// ```
pub fn between_middles(rise: f64, radius: f64, angle: f64) -> f64 {
    travel(rise, angle) - gain(radius, angle)
}

/// Smallest rise of an offset, where its bends touch without a straight, mm: 2R·(1 − cos a).
///
/// ```
/// # use tubewright::formula::offset::smallest_rise;
/// assert!((smallest_rise(50.0, 45f64.to_radians()) - 29.289).abs() < 5e-4);
/// ```
pub fn smallest_rise(radius: f64, angle: f64) -> f64 {
    2.0 * super::bend::sagitta(radius, 2.0 * angle)
}

/// True offset of a rolled offset, mm, from its rise and its roll sideways (both mm), and the angle
/// of its plane from the vertical, rad: √(rise² + roll²), atan(roll/rise).
///
/// ```
/// # use tubewright::formula::offset::rolled;
/// let (offset, from_vertical) = rolled(12.0, 16.0);
/// assert!((offset - 20.0).abs() < 1e-12);
/// assert!((from_vertical.to_degrees() - 53.130).abs() < 5e-4);
/// ```
pub fn rolled(rise: f64, roll: f64) -> (f64, f64) {
    (rise.hypot(roll), roll.atan2(rise))
}

/// Straight between two bends of 90° to the same side whose backs are `backs` mm apart, mm:
/// backs − D − 2R, D outside diameter, mm. Negative where they do not fit.
///
/// ```
/// # use tubewright::formula::offset::straight_between_backs;
/// assert!((straight_between_backs(150.0, 15.875, 50.0) - 34.125).abs() < 1e-9);
/// ```
pub fn straight_between_backs(backs: f64, od: f64, radius: f64) -> f64 {
    backs - od - 2.0 * radius
}
