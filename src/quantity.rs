//! Lengths and angles as people write them. The only place with conversion constants.
//!
//! A length is a number and a unit: `12.5 mm`, `3.2 cm`, `3 m`, `5/8 in`, `1-1/2 in`, `1 1/2 in`,
//! `2.5"`; without a unit it is in the unit the caller names. Angles are degrees: `45`, `45 deg`, `45°`.

#[cfg(test)]
mod tests;

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

    /// The unit with this spelling: `mm`, `cm`, `m`, `in`, `inch`, `inches` or `"`.
    pub fn from_name(name: &str) -> Option<Unit> {
        match name {
            "mm" => Some(Unit::Millimetre),
            "cm" => Some(Unit::Centimetre),
            "m" => Some(Unit::Metre),
            "in" | "inch" | "inches" | "\"" => Some(Unit::Inch),
            _ => None,
        }
    }

    /// How a spec writes it.
    pub fn name(self) -> &'static str {
        match self {
            Unit::Millimetre => "mm",
            Unit::Centimetre => "cm",
            Unit::Metre => "m",
            Unit::Inch => "in",
        }
    }

    /// A length of so many mm as a bare number of this unit: to a thousandth of a mm or a ten-thousandth of
    /// an inch.
    ///
    /// ```
    /// use tubewright::quantity::Unit;
    /// assert_eq!([Unit::Inch.number(31.75), Unit::Centimetre.number(12.5)], ["1.25", "1.25"]);
    /// ```
    pub fn number(self, mm: f64) -> String {
        decimals(mm / self.millimetres(), if self == Unit::Millimetre { 3 } else { 4 })
    }

    /// The same with the unit behind it.
    ///
    /// ```
    /// assert_eq!(tubewright::quantity::Unit::Inch.length(31.75), "1.25 in");
    /// ```
    pub fn length(self, mm: f64) -> String {
        format!("{} {}", self.number(mm), self.name())
    }

    /// How many decimals show a length as finely as so many of mm do, at least.
    fn places(self, of_mm: usize) -> usize {
        let more = match self {
            Unit::Millimetre => 0,
            Unit::Centimetre => 1,
            Unit::Inch => 2,
            Unit::Metre => 3,
        };
        of_mm + more
    }

    /// A length of so many mm as a bare number of this unit, with at most so many decimals where the unit is mm and
    /// as fine in others.
    ///
    /// ```
    /// use tubewright::quantity::Unit;
    /// assert_eq!([Unit::Millimetre.number_to(2.54, 1), Unit::Inch.number_to(2.54, 1)], ["2.5", "0.1"]);
    /// ```
    pub fn number_to(self, mm: f64, places: usize) -> String {
        decimals(mm / self.millimetres(), self.places(places))
    }

    /// The same with the unit behind it.
    pub fn length_to(self, mm: f64, places: usize) -> String {
        format!("{} {}", self.number_to(mm, places), self.name())
    }

    /// The same with all of the decimals.
    ///
    /// ```
    /// use tubewright::quantity::Unit;
    /// assert_eq!([Unit::Millimetre.length_with(30.0, 1), Unit::Inch.length_with(30.0, 1)], ["30.0 mm", "1.181 in"]);
    /// ```
    pub fn length_with(self, mm: f64, places: usize) -> String {
        format!("{} {}", self.number_with(mm, places), self.name())
    }

    /// The same without the unit.
    pub fn number_with(self, mm: f64, places: usize) -> String {
        fixed(mm / self.millimetres(), self.places(places))
    }

    /// As [`Unit::length_to`], but rounded up: where a length is needed, the one that is shown is enough.
    ///
    /// ```
    /// use tubewright::quantity::Unit;
    /// assert_eq!([Unit::Millimetre.length_up(6.61, 1), Unit::Inch.length_up(6.61, 1)], ["6.7 mm", "0.261 in"]);
    /// ```
    pub fn length_up(self, mm: f64, places: usize) -> String {
        self.length_rounded(mm, places, f64::ceil)
    }

    /// As [`Unit::length_to`], but rounded down: where a length is the most there may be, the one that is shown is
    /// not too much.
    ///
    /// ```
    /// use tubewright::quantity::Unit;
    /// assert_eq!([Unit::Millimetre.length_down(6.69, 1), Unit::Inch.length_down(6.69, 1)], ["6.6 mm", "0.263 in"]);
    /// ```
    pub fn length_down(self, mm: f64, places: usize) -> String {
        self.length_rounded(mm, places, f64::floor)
    }

    fn length_rounded(self, mm: f64, places: usize, round: fn(f64) -> f64) -> String {
        let steps = 10f64.powi(self.places(places) as i32);
        let rounded = round(mm / self.millimetres() * steps) / steps;
        format!("{} {}", decimals(rounded, self.places(places)), self.name())
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
    Empty {
        /// The quantity that was wanted.
        wanted: Wanted,
    },
    /// No number at all, or something behind it that is no unit.
    #[error("`{text}` is not {wanted}")]
    NotANumber {
        /// The text.
        text: String,
        /// The quantity that was wanted.
        wanted: Wanted,
    },
    /// A decimal comma.
    #[error("`{text}` has a comma in it")]
    Comma {
        /// The text.
        text: String,
    },
    /// A minus sign or fraction from outside the keyboard.
    #[error("`{text}` has the character `{found}` in it")]
    Symbol {
        /// The text.
        text: String,
        /// The character.
        found: char,
        /// The text to write for it.
        instead: &'static str,
    },
    /// Infinite, not a number, or too large for either.
    #[error("`{text}` is not a finite number")]
    NotFinite {
        /// The text.
        text: String,
        /// The quantity that was wanted.
        wanted: Wanted,
    },
    /// A fraction over 0.
    #[error("`{text}` divides by 0")]
    ZeroDenominator {
        /// The text.
        text: String,
    },
    /// A mixed number whose fraction is 1 or more.
    #[error("the fraction behind the whole number in `{text}` is not less than 1")]
    ImproperFraction {
        /// The text.
        text: String,
    },
    /// A unit that is none of ours.
    #[error("`{unit}` {}", .wanted.stranger())]
    Unit {
        /// The unit as written.
        unit: String,
        /// The quantity that was wanted.
        wanted: Wanted,
    },
    /// Feet.
    #[error("`{text}` is in feet")]
    Feet {
        /// The text.
        text: String,
        /// The same in inches.
        inches: String,
    },
    /// Longer than a kilometre.
    #[error("`{text}` is more than 1 km")]
    TooLong {
        /// The text.
        text: String,
    },
}

/// Kinds of quantity a text should be.
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
    /// What to write.
    fn example(self) -> &'static str {
        match self {
            Wanted::Length => "write a number, such as 12.5, 12.5 mm or 5/8 in",
            Wanted::Angle => "write degrees, such as 45",
            Wanted::Number => "write a number without a unit, such as 1 or -0.5",
        }
    }

    /// The message about a unit that does not belong.
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
    /// Advice.
    pub fn advice(&self) -> String {
        match self {
            QuantityFault::Comma { text } => format!("write a decimal point: {}", text.replace(',', ".")),
            QuantityFault::Symbol { text, found, instead } => match text.split_once(*found) {
                // Joined without a hyphen, 4 and 1/4 would be 41/4.
                Some((whole, _)) if instead.len() > 1 && whole.ends_with(|c: char| c.is_ascii_digit()) => {
                    format!("write `{}`", text.replace(*found, &format!("-{instead}")))
                }
                _ => format!("write `{instead}` for `{found}`"),
            },
            QuantityFault::Feet { inches, .. } => format!("write it in inches: {inches} in"),
            QuantityFault::Unit { wanted: Wanted::Length, .. } => {
                "units are mm, cm, m and in (or \")".to_owned()
            }
            QuantityFault::Unit { wanted: Wanted::Angle, .. } => {
                "angles are degrees: write 45, 45 deg or 45°".to_owned()
            }
            QuantityFault::Unit { .. } => Wanted::Number.example().to_owned(),
            QuantityFault::TooLong { .. } => "check the unit".to_owned(),
            QuantityFault::ZeroDenominator { .. } | QuantityFault::ImproperFraction { .. } => {
                "write a fraction such as 1-1/2".to_owned()
            }
            QuantityFault::Empty { wanted }
            | QuantityFault::NotANumber { wanted, .. }
            | QuantityFault::NotFinite { wanted, .. } => wanted.example().to_owned(),
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
    length(text, default).map_err(|fault| feet(text).unwrap_or(fault))
}

/// The fault of a length in feet, perhaps feet and inches, with what it is in inches.
fn feet(text: &str) -> Option<QuantityFault> {
    let text = text.trim();
    let (feet, rest) = ["feet", "foot", "ft", "'"].iter().find_map(|unit| text.split_once(unit))?;
    let feet = parse_number(feet).ok()?;
    let inches = if rest.trim().is_empty() { 0.0 } else { length(rest, Unit::Inch).ok()? / MM_PER_INCH };
    // Inches go the way the feet go: -1' 6" is 18 in the other way.
    let inches = feet * 12.0 + inches.copysign(feet);
    // Six decimals are what a 64th of an inch takes.
    Some(QuantityFault::Feet { text: text.to_owned(), inches: decimals(inches, 6) })
}

fn length(text: &str, default: Unit) -> Result<f64, QuantityFault> {
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

/// The number of a text that has no unit behind it; `None` where there is one, or no number.
pub fn bare_number(text: &str) -> Option<f64> {
    split(text, Wanted::Length).ok().filter(|(_, unit)| unit.is_empty()).map(|(number, _)| number)
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
    decimals(value, 3)
}

/// A number with at most `most` decimals: no trailing zeros, no exponent, no negative zero.
///
/// ```
/// # use tubewright::quantity::decimals;
/// assert_eq!([decimals(0.1 + 0.2, 6), decimals(-1e-9, 6), decimals(30.0, 0)], ["0.3", "0", "30"]);
/// ```
pub fn decimals(value: f64, most: usize) -> String {
    let text = format!("{value:.most$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// A number with exactly so many decimals; no negative zero. All that shows a number with as many decimals shows
/// the same.
///
/// ```
/// # use tubewright::quantity::fixed;
/// assert_eq!([fixed(15.0, 1), fixed(-0.04, 1), fixed(-0.06, 1)], ["15.0", "0.0", "-0.1"]);
/// ```
pub fn fixed(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    let nothing = text.bytes().all(|byte| matches!(byte, b'-' | b'0' | b'.'));
    if nothing { text.trim_start_matches('-').to_owned() } else { text }
}

/// A part as percent without the sign: one decimal at most.
///
/// ```
/// assert_eq!(tubewright::quantity::percent(0.165), "16.5");
/// ```
pub fn percent(part: f64) -> String {
    decimals(part * 100.0, 1)
}

/// Splits a text into its number and whatever stands behind it, trimmed.
fn split(text: &str, wanted: Wanted) -> Result<(f64, &str), QuantityFault> {
    let text = text.trim();
    if text.is_empty() {
        return Err(QuantityFault::Empty { wanted });
    }
    check_symbols(text)?;
    let not_a_number = || QuantityFault::NotANumber { text: text.to_owned(), wanted };
    let (negative, unsigned) = match text.strip_prefix(['-', '+']) {
        Some(rest) => (text.starts_with('-'), rest.trim_start()),
        None => (false, text),
    };
    if is_non_finite(unsigned) {
        return Err(QuantityFault::NotFinite { text: text.to_owned(), wanted });
    }
    let (magnitude, rest) = magnitude(unsigned, text).unwrap_or_else(|| Err(not_a_number()))?;
    if !magnitude.is_finite() {
        return Err(QuantityFault::NotFinite { text: text.to_owned(), wanted });
    }
    let unit = rest.trim();
    // A unit is one word or one mark; anything with a digit or an operator in it is a slip in the number.
    if unit.contains(|c: char| c.is_ascii_digit() || "+-/*.".contains(c)) {
        return Err(not_a_number());
    }
    Ok((if negative { -magnitude } else { magnitude }, unit))
}

fn check_symbols(text: &str) -> Result<(), QuantityFault> {
    const SYMBOLS: [(char, &str); 14] = [
        ('\u{2212}', "-"),
        ('\u{2013}', "-"),
        ('\u{2014}', "-"),
        ('\u{2044}', "/"),
        ('\u{2215}', "/"),
        ('\u{00bd}', "1/2"),
        ('\u{00bc}', "1/4"),
        ('\u{00be}', "3/4"),
        ('\u{215b}', "1/8"),
        ('\u{215c}', "3/8"),
        ('\u{215d}', "5/8"),
        ('\u{215e}', "7/8"),
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
