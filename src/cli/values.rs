//! Parsers of single argument values.

use std::ffi::OsStr;

use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};
use clap::error::{ContextKind, ContextValue};
use tubewright::build::Format;
use tubewright::drawing::sheet::Paper;
use tubewright::spelling;

/// Names of kinds of file, in capitals, too. Of a name that is none the nearest is suggested, by the same rule as
/// runs, metals and keys: the parser's own rule finds none for two letters that changed places.
#[derive(Clone)]
pub(super) struct Formats;

impl TypedValueParser for Formats {
    type Value = Format;

    fn parse_ref(
        &self,
        command: &clap::Command,
        argument: Option<&clap::Arg>,
        value: &OsStr,
    ) -> Result<Format, clap::Error> {
        let names = Format::ALL.iter().map(|format| format.name());
        let typed = value.to_string_lossy();
        let known = Format::ALL.iter().copied().find(|format| format.name().eq_ignore_ascii_case(&typed));
        if let Some(format) = known {
            return Ok(format);
        }
        let listed = PossibleValuesParser::new(names.clone()).parse_ref(command, argument, value);
        let mut error = match listed {
            Err(error) => error,
            Ok(_) => clap::Error::new(clap::error::ErrorKind::InvalidValue).with_cmd(command),
        };
        if let Some(meant) = spelling::nearest(&typed, names) {
            error.insert(ContextKind::SuggestedValue, ContextValue::String(meant.to_owned()));
        }
        Err(error)
    }

    fn possible_values(&self) -> Option<Box<dyn Iterator<Item = PossibleValue> + '_>> {
        Some(Box::new(Format::ALL.iter().map(|format| PossibleValue::new(format.name()))))
    }
}

/// Lengths of a printed 100 mm bar, mm, across and up the sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct PrinterScale(pub(super) f64, pub(super) f64);

/// A paper name or size.
pub(super) fn paper(text: &str) -> Result<Paper, String> {
    Paper::parse(text)
}

/// `X,Y`, each what a 100 mm bar measured.
pub(super) fn printer_scale(text: &str) -> Result<PrinterScale, String> {
    let number = |part: &str| {
        part.trim()
            .parse::<f64>()
            .ok()
            // A printer further off than this has scaled to fit: that is to be switched off, not compensated.
            .filter(|bar| (90.0..=110.0).contains(bar))
            .ok_or_else(|| {
                format!(
                    "{:?} is not what a printed 100 mm bar can measure: write mm from 90 to 110",
                    part.trim()
                )
            })
    };
    match text.split(',').collect::<Vec<_>>()[..] {
        [x, y] => Ok(PrinterScale(number(x)?, number(y)?)),
        _ => Err("write both measurements, across and up, such as 99.6,100.2".to_owned()),
    }
}

/// Thickness of paper in mm.
pub(super) fn paper_thickness(text: &str) -> Result<f64, String> {
    let value: f64 = text.parse().map_err(|_| format!("{text:?} is not a number of mm"))?;
    // Thicker than card nothing wraps round a tube.
    if (0.0..=1.0).contains(&value) { Ok(value) } else { Err("write a thickness of 0 to 1 mm".to_owned()) }
}

/// A chord height in mm.
pub(super) fn chord(text: &str) -> Result<f64, String> {
    let value: f64 = text.parse().map_err(|_| format!("{text:?} is not a number of mm"))?;
    // Below a micrometre meshes grow without bound; above 5 mm a bend is no longer round.
    if (0.001..=5.0).contains(&value) {
        Ok(value)
    } else {
        Err("write a chord height of 0.001 to 5 mm".to_owned())
    }
}

/// How long a search may take, in seconds.
pub(super) fn seconds(text: &str) -> Result<f64, String> {
    let value: f64 = text.parse().map_err(|_| format!("{text:?} is not a number of seconds"))?;
    if (0.1..=600.0).contains(&value) { Ok(value) } else { Err("write 0.1 to 600 seconds".to_owned()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn printer_scale_takes_two_plausible_bars() {
        assert_eq!(printer_scale("99.6,100.2"), Ok(PrinterScale(99.6, 100.2)));
        for wrong in ["99.6", "99.6,", "0,100", "NaN,100", "100,100,100", "25.4,25.4"] {
            assert!(printer_scale(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn paper_is_thin() {
        assert_eq!(paper_thickness("0.12"), Ok(0.12));
        for wrong in ["-0.1", "1.1", "NaN", "thin"] {
            assert!(paper_thickness(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn a_search_takes_some_time() {
        assert_eq!(seconds("2"), Ok(2.0));
        for wrong in ["0", "-1", "NaN", "1e9", "long"] {
            assert!(seconds(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn chord_has_bounds() {
        assert_eq!(chord("0.02"), Ok(0.02));
        for wrong in ["0", "-1", "NaN", "inf", "1e-9", "fine"] {
            assert!(chord(wrong).is_err(), "{wrong}");
        }
    }
}
