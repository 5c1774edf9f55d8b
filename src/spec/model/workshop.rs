//! The shop's sheet, printer and fastenings: they decide the sizes of forms, checking jigs and test pieces.

use crate::diagnostic::Span;

/// Sheets that parts are cut from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SheetStock {
    /// Thickness as measured, mm.
    pub thickness: f64,
    /// Width, mm.
    pub width: f64,
    /// Height, mm.
    pub height: f64,
    /// Least distance between two parts, and between a part and the sheet's edge, mm.
    pub spacing: f64,
    /// Width of the cut, mm.
    pub kerf: f64,
    /// How much wider than a tab its slot is, mm, on the width and on the thickness.
    pub slot_fit: f64,
}

/// A 3D printer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Printer {
    /// Room it prints in: width, depth, height, mm.
    pub bed: [f64; 3],
    /// How much wider than its pin or bolt hole a printed hole is made, mm on the diameter.
    pub hole_fit: f64,
}

/// A strap that holds the tube to a form's lead-in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strap {
    /// Width, mm.
    pub width: f64,
    /// Thickness, mm.
    pub thickness: f64,
}

/// How bending forms are made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FormOptions {
    /// Distance between the tube and the groove all round, mm: the groove's radius is OD/2 + clearance.
    pub clearance: f64,
    /// Depth of the groove below the rim, as a part of the tube's outside diameter: 0.5 is half round.
    pub depth: f64,
    /// How far the arc goes on beyond the largest angle to pull to, rad.
    pub over_bend: f64,
    /// The strap its slot is made for; `None` for no slot.
    pub strap: Option<Strap>,
}

/// How checking jigs are made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct JigOptions {
    /// Distance between the tube and a cradle's saddle, mm.
    pub clearance: f64,
    /// Least distance between the tube and the base board, mm.
    pub lift: f64,
    /// How far beyond the finished end the length gate stands, mm: by so much a tube may be too long.
    pub gate: f64,
}

/// The shop's sheet, printer and fastenings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Workshop {
    /// Sheets.
    pub sheet: SheetStock,
    /// Printer.
    pub printer: Printer,
    /// Diameter of dowel pins, mm; `None` for the largest that fits of the usual ones.
    pub dowel: Option<f64>,
    /// Diameter of bolt holes, mm; `None` for the largest that fits of the usual ones.
    pub bolt_hole: Option<f64>,
    /// Bending forms.
    pub form: FormOptions,
    /// Checking jigs.
    pub jig: JigOptions,
    /// Where the spec says so; none where it leaves it all to the program.
    pub place: Option<Span>,
}

impl Default for Workshop {
    /// 6 mm board of 600 x 400 from a laser, a printer of 220 x 220 x 250 (all common practice, no source).
    fn default() -> Self {
        Workshop {
            sheet: SheetStock {
                thickness: 6.0,
                width: 600.0,
                height: 400.0,
                spacing: 5.0,
                kerf: 0.2,
                slot_fit: 0.1,
            },
            printer: Printer { bed: [220.0, 220.0, 250.0], hole_fit: 0.2 },
            dowel: None,
            bolt_hole: None,
            form: FormOptions {
                clearance: 0.1,
                depth: 0.5,
                over_bend: 3.0_f64.to_radians(),
                strap: Some(Strap { width: 12.0, thickness: 3.0 }),
            },
            jig: JigOptions { clearance: 0.5, lift: 20.0, gate: 1.0 },
            place: None,
        }
    }
}
