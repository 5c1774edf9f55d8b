//! Pressure in a tube: what it may hold, and air shut in at a leak test.

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

/// Pressure, bar, that a straight tube may hold: p = 2·S·t/(D − 0.8·t), S the permissible stress, MPa, t the least wall
/// and D the largest outside diameter, mm (ASME B31 as the Copper Tube Handbook, CDA A4015, has it in its tables of
/// rated pressures). Valid for t < D/2; joints may hold less.
///
/// ```
/// # use tubewright::formula::pressure::allowed;
/// // Type M 1/2, t 0.025 in, D 0.626 in: the handbook prints 494 psi annealed (S 6000 psi) and 850 drawn (S 10 300).
/// let (t, d, psi) = (0.025 * 25.4, 0.626 * 25.4, 0.0689476);
/// assert!((allowed(6.0 * 6.89476, t, d) / psi - 494.0).abs() < 2.0);
/// assert!((allowed(10.3 * 6.89476, t, d) / psi - 850.0).abs() < 2.0);
/// ```
pub fn allowed(stress: f64, wall: f64, od: f64) -> f64 {
    const BAR_PER_MPA: f64 = 10.0;
    2.0 * stress * wall / (od - 0.8 * wall) * BAR_PER_MPA
}

/// Change of the gauge pressure, bar, that one kelvin makes at a gauge pressure p and T, °C: (p + p_atm)/T with T in
/// kelvin (ideal gas, fixed volume).
///
/// ```
/// # use tubewright::formula::pressure::per_kelvin;
/// assert!((per_kelvin(0.5, 20.0) - 0.005162).abs() < 5e-7);
/// ```
pub fn per_kelvin(gauge: f64, celsius: f64) -> f64 {
    (gauge + ATMOSPHERE) / (celsius + KELVIN)
}

/// Viscosity of air over that of water at 20 °C, 1: 18.2 µPa·s over 1002 µPa·s (CRC Handbook, from memory).
const AIR_TO_WATER: f64 = 18.2 / 1002.0;

/// Water, ml per hour, that passes at a gauge pressure p, bar, through the leak that lets it `fall`, bar, in an hour
/// where `volume` ml of air are shut in.
///
/// The air lost is V·Δp/p_atm, measured outside. Through one and the same fine leak air flows by (p₁² − p₀²)/(2·p₀·η),
/// water by (p₁ − p₀)/η (laminar flow, Hagen and Poiseuille, air as an ideal gas at one temperature), so water is
/// 2·p₀/(p₁ + p₀)·η_air/η_water of the air. Valid for small leaks and falls; wider ones let through less water.
///
/// ```
/// # use tubewright::formula::pressure::water_leak;
/// // 300 ml at 0.5 bar that lose 20 mbar an hour: 5.92 ml of air an hour, 0.0863 ml of water.
/// assert!((water_leak(300.0, 0.02, 0.5) - 0.0863).abs() < 5e-5);
/// ```
pub fn water_leak(volume: f64, fall: f64, gauge: f64) -> f64 {
    let air = volume * fall / ATMOSPHERE;
    air * 2.0 * ATMOSPHERE / (gauge + 2.0 * ATMOSPHERE) * AIR_TO_WATER
}
