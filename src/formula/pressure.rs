//! Air shut in at a leak test.

/// Standard atmosphere, bar.
pub const ATMOSPHERE: f64 = 1.013_25;

/// 0 °C in kelvin.
const KELVIN: f64 = 273.15;

/// Gauge pressure, bar, of air shut in at gauge pressure p₁, bar, when its temperature goes from T₁ to
/// T₂, °C: (p₁ + p_atm)·T₂/T₁ − p_atm with T in kelvin (ideal gas, fixed volume, any physics text).
/// Valid for temperatures above −273 °C and an unchanged barometer: 10 mbar of weather are 10 mbar.
///
/// ```
/// # use tubewright::formula::pressure::gauge_pressure;
/// // 0.5 bar at 25 °C reads 25.4 mbar less at 20 °C.
/// assert!((gauge_pressure(0.5, 25.0, 20.0) - 0.4746).abs() < 5e-5);
/// ```
pub fn gauge_pressure(gauge: f64, from_celsius: f64, to_celsius: f64) -> f64 {
    (gauge + ATMOSPHERE) * (to_celsius + KELVIN) / (from_celsius + KELVIN) - ATMOSPHERE
}
