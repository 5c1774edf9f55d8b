//! Permissible stress of annealed copper under pressure: rules of Lloyd's Register for pressure piping of seamless
//! annealed copper, by design temperature, as read.

/// Temperature, °C; stress up to it, MPa.
const ANNEALED_COPPER: [(f64, f64); 4] = [(75.0, 41.2), (125.0, 40.2), (150.0, 34.3), (200.0, 18.6)];

/// The permissible stresses of annealed copper: pairs of a temperature, °C, and the stress up to it, MPa.
pub fn permissible_stresses() -> &'static [(f64, f64)] {
    &ANNEALED_COPPER
}
