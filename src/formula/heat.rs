//! Heat that warms metal (any physics text).

/// Heat, kJ, that warms a mass, kg, of specific heat c, J/(kg·K), by a rise, K: m·c·ΔT/1000. What goes
/// to the air and along the tube is not in it.
///
/// ```
/// # use tubewright::formula::{heat::heat, section::mass_per_metre};
/// // 100 mm of 15.875 x 1.245 copper from 20 to 600 °C: 11.4 kJ.
/// let mass = mass_per_metre(15.875, 1.2446, 8940.0) * 0.1;
/// assert!((heat(mass, 385.0, 580.0) - 11.42).abs() < 5e-3);
/// ```
pub fn heat(mass: f64, specific_heat: f64, rise: f64) -> f64 {
    mass * specific_heat * rise / 1000.0
}
