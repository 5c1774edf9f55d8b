//! Sheets of paper: pages for a printing writer, their furniture, and drawings cut to fit them.

pub(crate) mod frame;
pub(crate) mod furniture;
mod paper;
pub(crate) mod tile;
pub(crate) mod tiling;

pub use frame::MARGIN;
pub use paper::Paper;

use super::item::Drawing;

/// A page: its drawing is in page coordinates, mm, origin bottom left, y up.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// The page's name in a reader's table of contents: "sample plane 1: sheet B2 of 6".
    pub name: String,
    /// Width of the paper, mm.
    pub width: f64,
    /// Height of the paper, mm.
    pub height: f64,
    /// Its drawing.
    pub drawing: Drawing,
    /// Parts printed with a stretch that cancels a printer's error.
    pub stretched: Vec<Stretched>,
    /// Whether it must be printed at full size; a picture may be fitted to any paper.
    pub full_size: bool,
}

impl Sheet {
    /// A sheet to be printed at full size, without stretched parts.
    pub fn new(name: impl Into<String>, width: f64, height: f64, drawing: Drawing) -> Self {
        Sheet { name: name.into(), width, height, drawing, stretched: Vec::new(), full_size: true }
    }
}

/// A drawing whose points are stretched about the page's origin; line widths and letters are not.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretched {
    /// The drawing.
    pub drawing: Drawing,
    /// Factors along x and y.
    pub by: (f64, f64),
}

/// How templates are printed.
#[derive(Debug, Clone, PartialEq)]
pub struct PrintSetup {
    /// The paper.
    pub paper: Paper,
    /// Factors along x and y by which drawings are stretched: 100 over what a printed 100 mm bar
    /// measured. (1, 1) for a true printer.
    pub scale: (f64, f64),
    /// Thickness of the paper, mm: a strip wrapped round a tube goes round half of it further out.
    pub paper_thickness_mm: f64,
}

/// Office paper of 80 g/m², mm (common practice, no source).
pub const PAPER_THICKNESS_MM: f64 = 0.1;

impl Default for PrintSetup {
    fn default() -> Self {
        PrintSetup { paper: Paper::default(), scale: (1.0, 1.0), paper_thickness_mm: PAPER_THICKNESS_MM }
    }
}

/// Most sheets of templates in one build. More than this nobody tapes together.
pub const MOST_SHEETS: usize = 60;
