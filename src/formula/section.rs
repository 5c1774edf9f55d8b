//! A tube's section and what it makes along a centreline (elementary geometry).
//!
//! D outside diameter, mm; t wall, mm, 0 < t < D/2; L centreline length, mm. Volumes and areas of a
//! bent tube follow from Pappus: the section's centroid travels the centreline, so they are those of
//! the straight tube of the same centreline length, exactly, as long as R > D/2.

use std::f64::consts::PI;

/// Area of the metal ring, mm²: π·(D − t)·t.
///
/// ```
/// # use tubewright::formula::section::metal_area;
/// assert!((metal_area(15.875, 1.2446) - 57.205).abs() < 5e-4);
/// ```
pub fn metal_area(od: f64, wall: f64) -> f64 {
    PI * (od - wall) * wall
}

/// Area of the bore, mm²: π/4·(D − 2t)².
///
/// ```
/// # use tubewright::formula::section::bore_area;
/// assert!((bore_area(15.0, 1.0) - 132.732).abs() < 5e-4);
/// ```
pub fn bore_area(od: f64, wall: f64) -> f64 {
    PI / 4.0 * (od - 2.0 * wall).powi(2)
}

/// Volume of the metal, mm³: metal area × L (Pappus).
///
/// ```
/// # use tubewright::formula::{bend::arc_length, section::metal_volume};
/// let quarter = arc_length(38.0, 90f64.to_radians());
/// assert!((metal_volume(15.875, 1.2446, quarter) - 3414.62).abs() < 5e-2);
/// ```
pub fn metal_volume(od: f64, wall: f64, length: f64) -> f64 {
    metal_area(od, wall) * length
}

/// Volume of the bore, mm³: bore area × L (Pappus).
///
/// ```
/// # use tubewright::formula::section::bore_volume;
/// assert!((bore_volume(15.0, 1.0, 1000.0) - 132_732.3).abs() < 5e-2);
/// ```
pub fn bore_volume(od: f64, wall: f64, length: f64) -> f64 {
    bore_area(od, wall) * length
}

/// Area of the outer skin without the end faces, mm²: π·D·L (Pappus).
///
/// ```
/// # use tubewright::formula::section::outer_area;
/// assert!((outer_area(15.875, 287.295) - 14_328.2).abs() < 5e-2);
/// ```
pub fn outer_area(od: f64, length: f64) -> f64 {
    PI * od * length
}

/// Mass of a metre of tube, kg/m: metal area × ρ, ρ in kg/m³ (copper tube 8940: agrees with the
/// masses of ASTM B88 and B88M to 0.35 %).
///
/// ```
/// # use tubewright::formula::section::mass_per_metre;
/// assert!((mass_per_metre(15.0, 1.0, 8940.0) - 0.3932).abs() < 5e-5);
/// ```
pub fn mass_per_metre(od: f64, wall: f64, density: f64) -> f64 {
    metal_area(od, wall) * density * 1e-6
}

/// Second moment of area about a diameter, mm⁴: π/64·(D⁴ − d⁴), written as π/16·t·(D − t)·(D² + d²) to
/// keep the digits of a thin wall (d = D − 2t; any strength-of-materials text).
///
/// ```
/// # use tubewright::formula::section::second_moment;
/// assert!((second_moment(15.875, 1.245) - 1542.0).abs() < 0.05);
/// ```
pub fn second_moment(od: f64, wall: f64) -> f64 {
    PI / 16.0 * wall * (od - wall) * (od * od + (od - 2.0 * wall).powi(2))
}
