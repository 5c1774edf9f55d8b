//! What is accepted of a bend's section, and what is expected of it: the data.

use crate::quantity::fixed;

/// What a bend's smallest diameter says of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// It is good.
    Good,
    /// It can be used where nothing seals on it.
    NothingSeals,
    /// It is scrap.
    Scrap,
}

impl Verdict {
    /// In words.
    pub fn name(self) -> &'static str {
        match self {
            Verdict::Good => "good",
            Verdict::NothingSeals => "usable where nothing seals",
            Verdict::Scrap => "scrap",
        }
    }
}

/// What to accept and how to help the tube keep its shape.
#[derive(Debug, Clone, PartialEq)]
pub struct QualityPlan {
    /// Smallest diameter of a good bend, mm: 8 % ovality. It is measured from the inside of the bend to its back.
    pub smallest_diameter: f64,
    /// Smallest diameter of a bend that can be used at all, where nothing seals on it, mm: 15 % ovality.
    pub reject_diameter: f64,
    /// How much more stress pressure puts on the inside of the tightest bend than on straight tube, 1
    /// (ASME B31.3, factor I of the intrados); none without bends.
    pub intrados_factor: Option<f64>,
    /// The same at its back: less than 1 (factor I of the extrados).
    pub extrados_factor: Option<f64>,
    /// Advice on filling the tube for its tightest bend; none where it can stay empty.
    pub filler: Option<String>,
}

impl QualityPlan {
    /// The verdicts, each with the least diameter, mm, that has it; the last is of everything that is left.
    pub fn verdicts(&self) -> [(f64, Verdict); 3] {
        [
            (self.smallest_diameter, Verdict::Good),
            (self.reject_diameter, Verdict::NothingSeals),
            (0.0, Verdict::Scrap),
        ]
    }

    /// The verdict on a bend by its smallest diameter, mm.
    pub fn verdict(&self, smallest: f64) -> Verdict {
        let verdict = self.verdicts().into_iter().find(|(least, _)| smallest >= *least);
        verdict.map_or(Verdict::Scrap, |(_, verdict)| verdict)
    }

    /// The verdicts as a sentence for the bench, in mm.
    pub fn flattening(&self) -> String {
        let (good, usable) = (fixed(self.smallest_diameter, 1), fixed(self.reject_diameter, 1));
        format!(
            "Measure each bend from its inside to its back: {good} mm or more is good; less, down to {usable} mm, is usable \
             where nothing seals on it; below {usable} mm it is scrap, and so is a kink."
        )
    }
}

/// The section of a bend as it is likely to come out. Estimates, beside the limits that are published.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SectionEstimate {
    /// Ovality, 1, if it is bent empty: see [`crate::formula::flattening::ovality`]. A filler keeps it rounder.
    pub ovality: f64,
    /// Smallest diameter at that ovality, mm.
    pub smallest_diameter: f64,
    /// What that diameter would say of the bend.
    pub verdict: Verdict,
    /// Wall at the back, mm.
    pub outer_wall: f64,
    /// Wall at the inside, mm.
    pub inner_wall: f64,
    /// Whether it is filled before it is bent.
    pub filled: bool,
    /// Published: most OD/wall that is bent empty at this radius, 1.
    pub empty_limit: f64,
    /// Published: wall before bending over the least wall wanted after it, 1; none for a bend tighter than 3 diameters.
    pub wall_before_bending: Option<f64>,
}
