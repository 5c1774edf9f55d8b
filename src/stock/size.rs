//! One size of a standard.

use super::material::COPPER;
use crate::formula::section::mass_per_metre;
use crate::quantity::{KG_PER_M_PER_LB_PER_FT, MM_PER_INCH, trimmed};

/// How a size is sold, where the standard tells the two apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SoldAs {
    /// Coils or straight lengths alike.
    Any,
    /// Annealed coils.
    Coil,
    /// Drawn straight lengths.
    Drawn,
}

/// How a standard words its sizes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wording {
    /// Outside diameter by wall, mm: `15 x 1.0`.
    OdByWall,
    /// A nominal size with a type of wall: `1/2`, type K.
    Typed,
    /// An outside diameter in inches; a wall where there is more than one: `3/4 x 0.042`.
    InchOdByWall,
}

/// One size of a tube standard.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Size {
    /// Name of the standard.
    pub standard: &'static str,
    /// The size as the standard words it, without type.
    pub size: &'static str,
    /// Type of wall, in standards that have types.
    pub kind: Option<&'static str>,
    /// Outside diameter, mm.
    pub od: f64,
    /// Wall, mm.
    pub wall: f64,
    /// The mass the standard or a maker's list prints, kg/m.
    pub printed_kg_per_m: Option<f64>,
    /// How it is sold.
    pub form: SoldAs,
    /// How the standard words sizes.
    pub wording: Wording,
}

impl Size {
    /// A size in mm with its mass in kg/m where one is printed.
    pub(super) const fn metric(
        standard: &'static str,
        size: &'static str,
        kind: Option<&'static str>,
        od: f64,
        wall: f64,
        printed_kg_per_m: Option<f64>,
    ) -> Size {
        let wording = if kind.is_some() { Wording::Typed } else { Wording::OdByWall };
        Size { standard, size, kind, od, wall, printed_kg_per_m, form: SoldAs::Any, wording }
    }

    /// A size in inches with its mass in lb/ft where one is printed.
    pub(super) const fn inch(
        standard: &'static str,
        size: &'static str,
        kind: Option<&'static str>,
        od: f64,
        wall: f64,
        lb_per_ft: Option<f64>,
    ) -> Size {
        let wording = if kind.is_some() { Wording::Typed } else { Wording::InchOdByWall };
        let printed_kg_per_m = match lb_per_ft {
            Some(mass) => Some(mass * KG_PER_M_PER_LB_PER_FT),
            None => None,
        };
        let (od, wall) = (od * MM_PER_INCH, wall * MM_PER_INCH);
        Size { standard, size, kind, od, wall, printed_kg_per_m, form: SoldAs::Any, wording }
    }

    /// The same, sold in this form only.
    pub(super) const fn sold_as(mut self, form: SoldAs) -> Size {
        self.form = form;
        self
    }

    /// Bore, mm.
    pub fn bore(&self) -> f64 {
        self.od - 2.0 * self.wall
    }

    /// Mass per metre, kg/m, of the copper these standards are for.
    pub fn kg_per_m(&self) -> f64 {
        mass_per_metre(self.od, self.wall, COPPER.density)
    }

    /// The size as a spec writes it: `15 x 1.0`, `1/2 type K`, `3/4 x 0.042`.
    pub fn short(&self) -> String {
        match (self.kind, self.wording) {
            (Some(kind), _) => format!("{} type {kind}", self.size),
            (None, _) => self.size.to_owned(),
        }
    }

    /// How the shop would order it, without temper. Where the name of the size is not its outside
    /// diameter in mm, OD x wall in mm follows.
    pub fn designation(&self) -> String {
        let millimetres = format!("({} x {} mm)", trimmed(self.od), trimmed(self.wall));
        match self.wording {
            Wording::OdByWall => format!("{} {}", self.standard, self.size),
            Wording::Typed => {
                format!("{} type {} {} {millimetres}", self.standard, self.kind.unwrap_or(""), self.size)
            }
            Wording::InchOdByWall => format!("{} {} in {millimetres}", self.standard, self.size),
        }
    }
}
