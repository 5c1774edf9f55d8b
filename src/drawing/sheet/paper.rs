//! Paper sizes.

use super::frame::PageFrame;
use crate::quantity::{MM_PER_INCH, Unit, parse_length};
use crate::spelling;

/// A size of paper, upright.
#[derive(Debug, Clone, PartialEq)]
pub struct Paper {
    name: String,
    width: f64,
    height: f64,
}

/// Names and sizes (mm, upright). A sizes after ISO 216:2007; the others after ANSI/ASME Y14.1
/// (letter, tabloid) and common practice (legal), 25.4 mm to the inch.
const NAMED: [(&str, f64, f64); 7] = [
    ("a4", 210.0, 297.0),
    ("a3", 297.0, 420.0),
    ("a2", 420.0, 594.0),
    ("a5", 148.0, 210.0),
    ("letter", 8.5 * MM_PER_INCH, 11.0 * MM_PER_INCH),
    ("legal", 8.5 * MM_PER_INCH, 14.0 * MM_PER_INCH),
    ("tabloid", 11.0 * MM_PER_INCH, 17.0 * MM_PER_INCH),
];

/// Longest side of a page, mm: readers need not show more than 14 400 points (ISO 32000-1, annex C.2).
const LONGEST: f64 = 14_400.0 / 72.0 * MM_PER_INCH;

impl Paper {
    /// Reads `a5`, `a4`, `a3`, `a2`, `letter`, `legal`, `tabloid` in any case, or a size such as
    /// `300x450`, `30cm x 45cm`, `8-1/2 x 11 in` (mm where no unit is given; a unit behind the second
    /// number alone counts for both).
    ///
    /// # Errors
    /// The fault of the size and the advice.
    pub fn parse(words: &str) -> Result<Paper, String> {
        let wanted = words.trim().to_lowercase();
        if let Some(&(name, width, height)) = NAMED.iter().find(|named| named.0 == wanted) {
            return Ok(Paper { name: name.to_owned(), width, height });
        }
        let (width, height) = size(&wanted).ok_or_else(|| {
            let meant = match wanted.strip_prefix('a').map(str::parse::<u8>) {
                Some(Ok(0 | 1)) => Some("a2"),
                Some(Ok(_)) => Some("a5"),
                _ => spelling::nearest(&wanted, NAMED.iter().map(|named| named.0)),
            };
            let meant = meant.map_or_else(String::new, |name| format!("; did you mean {name}?"));
            format!(
                "`{words}` is no paper: write a5, a4, a3, a2, letter, legal, tabloid or a size in mm such as 300x450{meant}"
            )
        })?;
        let paper = Paper { name: wanted, width: width.min(height), height: width.max(height) };
        if paper.height > LONGEST {
            return Err(format!("paper longer than {LONGEST:.0} mm does not fit into a PDF page"));
        }
        if PageFrame::all(&paper).is_empty() {
            return Err(format!(
                "paper of {width:.0} x {height:.0} mm is too small: scale bars, title block and drawing need at least 148 x 210 mm"
            ));
        }
        Ok(paper)
    }

    /// As the user named it.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The named papers that are larger both ways, the smallest first: of the inch sizes for an inch size, of the
    /// A sizes for any other.
    pub(crate) fn larger(&self) -> Vec<Paper> {
        let is_inch = |name: &str| !name.starts_with('a');
        let own = NAMED.iter().any(|named| named.0 == self.name) && is_inch(&self.name);
        let is_larger = |(_, width, height): &&(&str, f64, f64)| {
            *width >= self.width && *height >= self.height && width * height > self.width * self.height
        };
        let mut larger: Vec<Paper> = NAMED
            .iter()
            .filter(|named| is_inch(named.0) == own)
            .filter(is_larger)
            .map(|&(name, width, height)| Paper { name: name.to_owned(), width, height })
            .collect();
        larger.sort_by(|a, b| (a.width * a.height).total_cmp(&(b.width * b.height)));
        larger
    }

    /// Short side, mm.
    pub fn width(&self) -> f64 {
        self.width
    }

    /// Long side, mm.
    pub fn height(&self) -> f64 {
        self.height
    }
}

impl Default for Paper {
    /// A4.
    fn default() -> Self {
        let (name, width, height) = NAMED[0];
        Paper { name: name.to_owned(), width, height }
    }
}

/// Two lengths in mm around an `x`; a unit behind the second alone counts for both.
fn size(words: &str) -> Option<(f64, f64)> {
    let (first, second) = words.split_once(['x', '×'])?;
    let is_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | '/' | '-' | '+' | ' ');
    let unit = second.trim_start_matches(is_number);
    let first = if first.chars().all(is_number) { format!("{first}{unit}") } else { first.to_owned() };
    let length = |words: &str| parse_length(words, Unit::Millimetre).ok().filter(|&mm| mm > 0.0);
    Some((length(&first)?, length(second)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sides(words: &str) -> (f64, f64) {
        let paper = Paper::parse(words).unwrap_or_else(|fault| panic!("{words}: {fault}"));
        (paper.width(), paper.height())
    }

    #[test]
    fn named_sizes_are_those_of_the_standards() {
        assert_eq!(sides("a4"), (210.0, 297.0));
        assert_eq!(sides("A3"), (297.0, 420.0));
        assert_eq!(sides("a2"), (420.0, 594.0));
        assert_eq!(sides("A5"), (148.0, 210.0));
        for (name, points) in
            [("letter", (612.0, 792.0)), ("legal", (612.0, 1008.0)), ("tabloid", (792.0, 1224.0))]
        {
            let (width, height) = sides(name);
            assert!((width / 25.4 * 72.0 - points.0).abs() < 1e-9, "{name}");
            assert!((height / 25.4 * 72.0 - points.1).abs() < 1e-9, "{name}");
        }
    }

    #[test]
    fn larger_papers_are_of_the_same_family() {
        let larger = |words: &str| -> Vec<String> {
            let paper = Paper::parse(words).expect("is paper");
            paper.larger().iter().map(|paper| paper.name().to_owned()).collect()
        };
        assert_eq!(larger("a5"), ["a4", "a3", "a2"]);
        assert_eq!(larger("letter"), ["legal", "tabloid"]);
        assert_eq!(larger("200x300"), ["a3", "a2"]);
        assert_eq!(larger("a2"), [""; 0]);
    }

    #[test]
    fn sizes_of_ones_own_take_units_and_either_order() {
        assert_eq!(sides("300x450"), (300.0, 450.0));
        assert_eq!(sides("450 x 300"), (300.0, 450.0));
        assert_eq!(sides("30cmx45cm"), (300.0, 450.0));
        assert_eq!(sides("30 x 45 cm"), (300.0, 450.0));
        assert_eq!(sides("10in × 300mm"), (254.0, 300.0));
        assert_eq!(sides("148x210"), (148.0, 210.0));
        assert_eq!(sides("8-1/2x11 in"), sides("letter"));
    }

    #[test]
    fn what_is_no_paper_is_refused_with_advice() {
        for wrong in
            ["", "a5x", "x", "300", "300x", "nanx300", "-300x300", "infx300", "0x300", "1e400x300", "3ftx300"]
        {
            let fault = Paper::parse(wrong).expect_err(wrong);
            assert!(fault.contains("a4") && fault.contains("300x450"), "{fault}");
        }
        assert!(Paper::parse("Leter").expect_err("misspelt").ends_with("; did you mean letter?"));
        assert!(Paper::parse("letr").expect_err("shortened").ends_with("; did you mean letter?"));
        assert!(Paper::parse("a6").expect_err("small").ends_with("; did you mean a5?"));
        assert!(Paper::parse("A0").expect_err("large").ends_with("; did you mean a2?"));
        assert!(Paper::parse("A-4").expect_err("misspelt").ends_with("; did you mean a4?"));
        assert!(Paper::parse("100x100").expect_err("small").contains("148 x 210"));
        assert!(Paper::parse("300x9000").expect_err("long").contains("5080"));
    }
}
