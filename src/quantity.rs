//! Lengths and angles as people write them. The only place with conversion constants.
//!
//! A length is a number and a unit: `12.5 mm`, `3.2 cm`, `3 m`, `5/8 in`, `1-1/2 in`, `1 1/2 in`,
//! `2.5"`; without a unit it is in the unit the caller names. Angles are degrees: `45`, `45 deg`, `45°`.

/// Millimetres in an inch, exactly (international inch).
pub const MM_PER_INCH: f64 = 25.4;
/// Kilograms per metre in a pound per foot: 0.453 592 37 kg over 0.3048 m, both exact by definition.
pub const KG_PER_M_PER_LB_PER_FT: f64 = 0.453_592_37 / 0.304_8;
/// No tube run is longer than this, mm (1 km): a larger number is a slip of the unit.
pub const LONGEST_MM: f64 = 1e6;

/// Unit of a length.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// Millimetre.
    Millimetre,
    /// Centimetre.
    Centimetre,
    /// Metre.
    Metre,
    /// Inch.
    Inch,
}

impl Unit {
    /// Units a spec may choose for its bare numbers, as written there.
    pub const SPEC: [&'static str; 3] = ["mm", "cm", "in"];

    /// The unit with this spelling: `mm`, `cm`, `m`, `in`, `inch` or `"`.
    pub fn from_name(name: &str) -> Option<Unit> {
        match name {
            "mm" => Some(Unit::Millimetre),
            "cm" => Some(Unit::Centimetre),
            "m" => Some(Unit::Metre),
            "in" | "inch" | "\"" => Some(Unit::Inch),
            _ => None,
        }
    }

    /// Millimetres in one of it.
    pub fn millimetres(self) -> f64 {
        match self {
            Unit::Millimetre => 1.0,
            Unit::Centimetre => 10.0,
            Unit::Metre => 1000.0,
            Unit::Inch => MM_PER_INCH,
        }
    }
}

/// Why a text is no length, angle or number.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum QuantityFault {
    /// Nothing written.
    #[error("there is nothing here")]
    Empty,
    /// No number at all, or something behind it that is no unit.
    #[error("`{text}` is not {wanted}")]
    NotANumber {
        /// What was written.
        text: String,
        /// What was wanted.
        wanted: Wanted,
    },
    /// A decimal comma.
    #[error("`{text}` has a comma in it")]
    Comma {
        /// What was written.
        text: String,
    },
    /// A minus sign or fraction from outside the keyboard.
    #[error("`{text}` has the character `{found}` in it")]
    Symbol {
        /// What was written.
        text: String,
        /// The character.
        found: char,
        /// What to write for it.
        instead: &'static str,
    },
    /// Infinite, not a number, or too large for either.
    #[error("`{text}` is not a finite number")]
    NotFinite {
        /// What was written.
        text: String,
    },
    /// A fraction over 0.
    #[error("`{text}` divides by 0")]
    ZeroDenominator {
        /// What was written.
        text: String,
    },
    /// A mixed number whose fraction is 1 or more.
    #[error("the fraction behind the whole number in `{text}` is not less than 1")]
    ImproperFraction {
        /// What was written.
        text: String,
    },
    /// A unit that is none of ours.
    #[error("`{unit}` {}", .wanted.stranger())]
    Unit {
        /// The unit as written.
        unit: String,
        /// What was wanted.
        wanted: Wanted,
    },
    /// Longer than a kilometre.
    #[error("`{text}` is more than 1 km")]
    TooLong {
        /// What was written.
        text: String,
    },
}

/// What a text should have been.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wanted {
    /// A length.
    Length,
    /// An angle.
    Angle,
    /// A number without a unit.
    Number,
}

impl Wanted {
    /// What a unit that does not belong is told.
    fn stranger(self) -> &'static str {
        match self {
            Wanted::Length => "is not a unit of length",
            Wanted::Angle => "is not a unit of angle",
            Wanted::Number => "has no place behind a number without a unit",
        }
    }
}

impl std::fmt::Display for Wanted {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Wanted::Length => "a length",
            Wanted::Angle => "an angle",
            Wanted::Number => "a number",
        })
    }
}

impl QuantityFault {
    /// What to write instead.
    pub fn advice(&self) -> String {
        match self {
            QuantityFault::Comma { text } => format!("write a decimal point: {}", text.replace(',', ".")),
            QuantityFault::Symbol { found, instead, .. } => format!("write `{instead}` for `{found}`"),
            QuantityFault::Unit { unit, wanted: Wanted::Length } => match unit.as_str() {
                "ft" | "'" | "feet" | "foot" => "write it in inches: 2 ft is 24 in".to_owned(),
                _ => "units are mm, cm, m and in (or \")".to_owned(),
            },
            QuantityFault::Unit { wanted: Wanted::Angle, .. } => {
                "angles are degrees: write 45, 45 deg or 45°".to_owned()
            }
            QuantityFault::Unit { .. } | QuantityFault::NotANumber { wanted: Wanted::Number, .. } => {
                "write a number without a unit, such as 1 or -0.5".to_owned()
            }
            QuantityFault::NotANumber { wanted: Wanted::Angle, .. } => "write degrees, such as 45".to_owned(),
            QuantityFault::TooLong { .. } => "check the unit".to_owned(),
            QuantityFault::ZeroDenominator { .. } | QuantityFault::ImproperFraction { .. } => {
                "write a fraction such as 1-1/2".to_owned()
            }
            QuantityFault::Empty | QuantityFault::NotANumber { .. } | QuantityFault::NotFinite { .. } => {
                "write a number, such as 12.5, 12.5 mm or 5/8 in".to_owned()
            }
        }
    }
}

/// Reads a length in mm; a number without a unit is in `default` units.
///
/// ```
/// use tubewright::quantity::{Unit, parse_length};
/// assert_eq!(parse_length("5/8 in", Unit::Millimetre), Ok(15.875));
/// ```
///
/// # Errors
/// When the text is no length, is not finite or is longer than a kilometre.
pub fn parse_length(text: &str, default: Unit) -> Result<f64, QuantityFault> {
    let (number, unit) = split(text, Wanted::Length)?;
    let unit = match unit {
        "" => default,
        name => Unit::from_name(name)
            .ok_or_else(|| QuantityFault::Unit { unit: name.to_owned(), wanted: Wanted::Length })?,
    };
    let length = number * unit.millimetres();
    if length.abs() > LONGEST_MM {
        return Err(QuantityFault::TooLong { text: text.trim().to_owned() });
    }
    Ok(length)
}

/// Reads an angle written in degrees and returns radians.
///
/// # Errors
/// When the text is no angle or not finite.
pub fn parse_angle(text: &str) -> Result<f64, QuantityFault> {
    match split(text, Wanted::Angle)? {
        (number, "" | "deg" | "°") => Ok(number.to_radians()),
        (_, unit) => Err(QuantityFault::Unit { unit: unit.to_owned(), wanted: Wanted::Angle }),
    }
}

/// Reads a number without a unit.
///
/// # Errors
/// When the text is no number, has a unit or is not finite.
pub fn parse_number(text: &str) -> Result<f64, QuantityFault> {
    match split(text, Wanted::Number)? {
        (number, "") => Ok(number),
        (_, unit) => Err(QuantityFault::Unit { unit: unit.to_owned(), wanted: Wanted::Number }),
    }
}

/// A length in mm as messages and designations show it: at most three decimals, no trailing zeros.
///
/// ```
/// assert_eq!(tubewright::quantity::trimmed(15.8750), "15.875");
/// ```
pub fn trimmed(value: f64) -> String {
    let text = format!("{value:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// Splits a text into its number and whatever stands behind it, trimmed.
fn split(text: &str, wanted: Wanted) -> Result<(f64, &str), QuantityFault> {
    let text = text.trim();
    if text.is_empty() {
        return Err(QuantityFault::Empty);
    }
    check_symbols(text)?;
    let not_a_number = || QuantityFault::NotANumber { text: text.to_owned(), wanted };
    let (negative, unsigned) = match text.strip_prefix(['-', '+']) {
        Some(rest) => (text.starts_with('-'), rest.trim_start()),
        None => (false, text),
    };
    if is_non_finite(unsigned) {
        return Err(QuantityFault::NotFinite { text: text.to_owned() });
    }
    let (magnitude, rest) = magnitude(unsigned, text).unwrap_or_else(|| Err(not_a_number()))?;
    if !magnitude.is_finite() {
        return Err(QuantityFault::NotFinite { text: text.to_owned() });
    }
    let unit = rest.trim();
    // A unit is one word or one mark; anything with a digit or an operator in it is a slip in the number.
    if unit.contains(|c: char| c.is_ascii_digit() || "+-/*.".contains(c)) {
        return Err(not_a_number());
    }
    Ok((if negative { -magnitude } else { magnitude }, unit))
}

fn check_symbols(text: &str) -> Result<(), QuantityFault> {
    const SYMBOLS: [(char, &str); 10] = [
        ('\u{2212}', "-"),
        ('\u{2013}', "-"),
        ('\u{2014}', "-"),
        ('\u{2044}', "/"),
        ('\u{2215}', "/"),
        ('\u{00bd}', "1/2"),
        ('\u{00bc}', "1/4"),
        ('\u{00be}', "3/4"),
        ('\u{2033}', "\""),
        ('\u{201d}', "\""),
    ];
    for (found, instead) in SYMBOLS {
        if text.contains(found) {
            return Err(QuantityFault::Symbol { text: text.to_owned(), found, instead });
        }
    }
    // A comma between digits; lists never reach this point.
    let comma = text.contains(',') && text.chars().any(|c| c.is_ascii_digit());
    if comma { Err(QuantityFault::Comma { text: text.to_owned() }) } else { Ok(()) }
}

fn is_non_finite(text: &str) -> bool {
    let word: String = text.trim_start_matches('.').to_ascii_lowercase();
    ["nan", "inf", "infinity"].contains(&word.as_str())
}

/// The number at the start of `text`, which has no sign, and the rest; `None` where there is none.
fn magnitude<'t>(text: &'t str, whole: &str) -> Option<Result<(f64, &'t str), QuantityFault>> {
    let (first, rest) = decimal(text)?;
    let value: f64 = first.parse().ok()?;
    let is_whole = first.bytes().all(|b| b.is_ascii_digit());
    if !is_whole {
        return Some(Ok((value, rest)));
    }
    if let Some(behind) = rest.trim_start().strip_prefix('/') {
        return fraction(value, behind, whole);
    }
    // `1-1/2` or `1 1/2`: a whole number, a hyphen or a space, a fraction.
    let joined = rest.strip_prefix('-').or_else(|| rest.strip_prefix(' '));
    let Some((second, behind)) = joined.and_then(|j| digits(j.trim_start())) else {
        return Some(Ok((value, rest)));
    };
    let Some(behind) = behind.trim_start().strip_prefix('/') else { return Some(Ok((value, rest))) };
    let numerator: f64 = second.parse().ok()?;
    Some(match fraction(numerator, behind, whole)? {
        Ok((part, _)) if part >= 1.0 => Err(QuantityFault::ImproperFraction { text: whole.to_owned() }),
        Ok((part, rest)) => Ok((value + part, rest)),
        Err(fault) => Err(fault),
    })
}

fn fraction<'t>(
    numerator: f64,
    behind: &'t str,
    whole: &str,
) -> Option<Result<(f64, &'t str), QuantityFault>> {
    let (denominator, rest) = digits(behind.trim_start())?;
    let denominator: f64 = denominator.parse().ok()?;
    if denominator == 0.0 {
        return Some(Err(QuantityFault::ZeroDenominator { text: whole.to_owned() }));
    }
    Some(Ok((numerator / denominator, rest)))
}

fn digits(text: &str) -> Option<(&str, &str)> {
    let end = text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    (end > 0).then(|| text.split_at(end))
}

/// Digits, a point, an exponent: what `f64` reads, without sign or words.
fn decimal(text: &str) -> Option<(&str, &str)> {
    let bytes = text.as_bytes();
    let run = |from: usize| bytes[from..].iter().take_while(|b| b.is_ascii_digit()).count();
    let whole = run(0);
    let mut end = whole;
    let mut digits = whole;
    if bytes.get(end) == Some(&b'.') {
        let part = run(end + 1);
        digits += part;
        end += 1 + part;
    }
    if digits == 0 {
        return None;
    }
    if matches!(bytes.get(end), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
        if end + 1 + sign < bytes.len() {
            let exponent = run(end + 1 + sign);
            if exponent > 0 {
                end += 1 + sign + exponent;
            }
        }
    }
    Some(text.split_at(end))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn mm(text: &str) -> f64 {
        parse_length(text, Unit::Millimetre).unwrap_or_else(|fault| panic!("{text}: {fault}"))
    }

    fn fault(text: &str) -> String {
        let fault = parse_length(text, Unit::Millimetre).expect_err(text);
        format!("{fault}; {}", fault.advice())
    }

    #[test]
    fn lengths_in_every_spelling() {
        for (text, expected) in [
            ("5/8 in", 15.875),
            ("1-1/2 in", 38.1),
            ("1 1/2 in", 38.1),
            ("1 - 1/2 in", f64::NAN),
            ("2.5\"", 63.5),
            ("1-1/2\"", 38.1),
            ("12.5 mm", 12.5),
            ("12.5mm", 12.5),
            ("3.2 cm", 32.0),
            ("3 m", 3000.0),
            ("  7 ", 7.0),
            ("-1-1/2 in", -38.1),
            ("-5/8in", -15.875),
            ("+4", 4.0),
            ("- 4", -4.0),
            (".5", 0.5),
            ("5.", 5.0),
            ("1e2", 100.0),
            ("1.5E-1 cm", 1.5),
            ("-0", 0.0),
            ("3/8 inch", 9.525),
            ("1000 m", 1e6),
        ] {
            if expected.is_nan() {
                assert!(parse_length(text, Unit::Millimetre).is_err(), "{text}");
            } else {
                assert!((mm(text) - expected).abs() < 1e-12, "{text}: {}", mm(text));
            }
        }
    }

    #[test]
    fn bare_numbers_take_the_given_unit() {
        assert_eq!(parse_length("1-1/2", Unit::Inch), Ok(1.5 * MM_PER_INCH));
        assert_eq!(parse_length("2", Unit::Centimetre), Ok(20.0));
        assert_eq!(parse_length("2 mm", Unit::Inch), Ok(2.0));
    }

    #[test]
    fn faults_say_what_to_write() {
        assert_eq!(fault("1,5"), "`1,5` has a comma in it; write a decimal point: 1.5");
        assert_eq!(fault("3/0 in"), "`3/0 in` divides by 0; write a fraction such as 1-1/2");
        assert_eq!(
            fault(".nan"),
            "`.nan` is not a finite number; write a number, such as 12.5, 12.5 mm or 5/8 in"
        );
        assert_eq!(
            fault("1e999"),
            "`1e999` is not a finite number; write a number, such as 12.5, 12.5 mm or 5/8 in"
        );
        assert_eq!(fault("2 ft"), "`ft` is not a unit of length; write it in inches: 2 ft is 24 in");
        assert_eq!(fault("2 mn"), "`mn` is not a unit of length; units are mm, cm, m and in (or \")");
        assert_eq!(fault("1001 m"), "`1001 m` is more than 1 km; check the unit");
        assert_eq!(
            fault("\u{2212}4"),
            "`\u{2212}4` has the character `\u{2212}` in it; write `-` for `\u{2212}`"
        );
        assert_eq!(
            fault("1-5/2 in"),
            "the fraction behind the whole number in `1-5/2 in` is not less than 1; write a fraction such as 1-1/2"
        );
        for text in
            ["", " ", "mm", "1/", "1/2/3", "1 2", "--1", "1.2.3", "1-2", "0x10", "1_000", "e5", "-", "5 mm 3"]
        {
            assert!(parse_length(text, Unit::Millimetre).is_err(), "{text:?}");
        }
    }

    #[test]
    fn angles_are_degrees() {
        for text in ["22.5", "22.5 deg", "22.5°", "22-1/2"] {
            assert_eq!(parse_angle(text), Ok(22.5f64.to_radians()), "{text}");
        }
        assert_eq!(parse_angle("180"), Ok(std::f64::consts::PI));
        let fault = parse_angle("1 rad").expect_err("radians are not read");
        assert_eq!(fault.to_string(), "`rad` is not a unit of angle");
        assert_eq!(
            parse_number("0.5 mm").expect_err("no unit").to_string(),
            "`mm` has no place behind a number without a unit"
        );
    }

    proptest! {
        #[test]
        fn never_panics_and_never_infinite(text in "\\PC{0,12}|[-+0-9./ eEminc\"]{0,10}") {
            if let Ok(length) = parse_length(&text, Unit::Inch) {
                prop_assert!(length.abs() <= LONGEST_MM);
            }
            if let Ok(angle) = parse_angle(&text) {
                prop_assert!(angle.is_finite());
            }
        }

        #[test]
        fn sixty_fourths_are_exact(whole in 0u32..100, part in 1u32..64) {
            let exact = (f64::from(whole) + f64::from(part) / 64.0) * MM_PER_INCH;
            prop_assert_eq!(mm(&format!("{whole}-{part}/64 in")), exact);
            prop_assert_eq!(mm(&format!("-{whole} {part}/64\"")), -exact);
        }
    }
}
