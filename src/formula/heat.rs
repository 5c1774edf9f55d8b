//! Heat that warms metal (any physics text).

/// Heat, kJ, that warms a mass, kg, of specific heat c, J/(kg·K), by a rise, K: m·c·ΔT/1000. What goes
/// to the air and along the tube is not in it.
///
/// ```
/// # use tubewright::formula::{heat::heat, section::mass_per_metre};
/// // 1 kg of copper from 20 to 600 °C takes 240 kJ (NIST's Shomate equation, from memory), with 414 J/(kg·K) on the
/// // mean; 100 mm of 15.875 x 1.245 tube 12.3 kJ.
/// assert!((heat(1.0, 414.0, 580.0) - 240.0).abs() < 0.2);
/// let mass = mass_per_metre(15.875, 1.2446, 8940.0) * 0.1;
/// assert!((heat(mass, 414.0, 580.0) - 12.28).abs() < 5e-3);
/// ```
pub fn heat(mass: f64, specific_heat: f64, rise: f64) -> f64 {
    mass * specific_heat * rise / 1000.0
}

/// Minutes in which a flame of a power, kW, gives a heat, kJ: Q/(60·P). A tube takes several times as long, because
/// most of a flame's heat goes to the air.
///
/// ```
/// # use tubewright::formula::heat::flame_minutes;
/// // The 240 kJ of a kilogram: 4 minutes of 1 kW, 2 of 2 kW.
/// assert_eq!((flame_minutes(240.0, 1.0), flame_minutes(240.0, 2.0)), (4.0, 2.0));
/// ```
pub fn flame_minutes(heat: f64, power: f64) -> f64 {
    heat / power / 60.0
}
