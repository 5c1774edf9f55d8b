//! Numbers as text: rounded once, no exponent, no trailing zeros, no negative zero.

use crate::quantity::decimals;

/// `value` with at most `places` decimals. Not a number or infinite becomes 0, which no checked
/// model can hold.
pub(super) fn decimal(value: f64, places: usize) -> String {
    let mut out = String::new();
    push_decimal(&mut out, value, places);
    out
}

/// Powers of ten, by the number of decimals they scale.
const TENS: [f64; 8] = [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7];

/// The largest scaled value whose digits an f64 still tells apart by far.
const EXACT: f64 = 1e14;

/// Appends what [`decimal`] gives. Drawings have millions of numbers, and the formatter of std looks for an exact
/// rounding of each: here the value is scaled to a whole number, whose digits are written.
pub(super) fn push_decimal(out: &mut String, value: f64, places: usize) {
    if !value.is_finite() {
        out.push('0');
        return;
    }
    let scaled = TENS.get(places).map(|ten| (value * ten).round());
    let Some(scaled) = scaled.filter(|scaled| scaled.abs() < EXACT) else {
        out.push_str(&decimals(value, places));
        return;
    };
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a whole number below 1e14")]
    let mut rest = scaled.abs() as u64;
    // The digits from the last to the first: at most 15 of the number, or a 0 and the decimals.
    let mut digits = [0_u8; 16];
    let mut count = 0;
    for digit in &mut digits {
        if rest == 0 && count > places {
            break;
        }
        *digit = b'0' + u8::try_from(rest % 10).unwrap_or(0);
        rest /= 10;
        count += 1;
    }
    let zeros = digits.iter().take(places).take_while(|&&digit| digit == b'0').count();
    if scaled < 0.0 {
        out.push('-');
    }
    for (index, digit) in digits.iter().enumerate().take(count).skip(zeros).rev() {
        out.push(char::from(*digit));
        if index == places && zeros < places {
            out.push('.');
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{decimal, decimals};

    #[test]
    fn the_quick_way_and_the_exact_way_agree() {
        for step in 0..20_000_u32 {
            let value = (f64::from(step) * 0.731 - 4000.0) * 10_f64.powi((step % 9) as i32 - 4);
            for places in 0..=9 {
                let (quick, exact) = (decimal(value, places), decimals(value, places));
                // A value half way between two numbers, within rounding, may go either way.
                let scaled = value.abs() * 10_f64.powi(places as i32);
                let half_way = (scaled.fract() - 0.5).abs() < 1e-15 * scaled.max(1.0);
                assert!(quick == exact || half_way, "{value:e} at {places}: {quick}, {exact}");
            }
        }
        assert_eq!(decimal(1e300, 3), decimals(1e300, 3));
        assert_eq!(decimal(-9.999_999_9, 3), "-10");
    }

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
