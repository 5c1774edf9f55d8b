//! Numbers as text: rounded once, no exponent, no trailing zeros, no negative zero.

use crate::quantity::decimals;

/// `value` with at most `places` decimals. Not a number or infinite becomes 0, which no checked
/// model can hold.
pub(super) fn decimal(value: f64, places: usize) -> String {
    if value.is_finite() { decimals(value, places) } else { "0".to_owned() }
}

#[cfg(test)]
mod tests {
    use super::decimal;

    #[test]
    fn rounds_once_and_keeps_no_noise() {
        assert_eq!(decimal(1.0, 6), "1");
        assert_eq!(decimal(-1e-9, 6), "0");
        assert_eq!(decimal(0.1 + 0.2, 6), "0.3");
        assert_eq!(decimal(-12.5, 6), "-12.5");
        assert_eq!(decimal(100.0, 0), "100");
        assert_eq!(decimal(f64::NAN, 6), "0");
    }
}
