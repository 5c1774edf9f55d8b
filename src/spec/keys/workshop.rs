//! Keys of the workshop.

use super::{Degrees, Kind, Limits, Table, mm, number, optional, required, table};

/// The shop that forms and jigs are made in. Defaults are in `model::Workshop`.
pub(in crate::spec) static WORKSHOP: Table = table(
    "workshop",
    "What forms and checking jigs are cut, printed and joined with.",
    &[
        optional("sheet", Kind::Table(&SHEET), "Sheets that parts are cut from."),
        optional("printer", Kind::Table(&PRINTER), "The 3D printer."),
        optional(
            "dowel",
            mm(1.0, 20.0),
            "Diameter of dowel pins; the largest of 6, 4 and 3 mm that fits where it is left out.",
        ),
        optional(
            "bolt_hole",
            mm(1.0, 25.0),
            "Diameter of bolt holes; that for the largest bolt of M6, M4 and M3 that fits where it is left out.",
        ),
        optional("form", Kind::Table(&FORM), "How bending forms are made."),
        optional("jig", Kind::Table(&JIG), "How checking jigs are made."),
    ],
);

/// Sheets.
pub(in crate::spec) static SHEET: Table = table(
    "sheet",
    "Sheets that parts are cut from.",
    &[
        optional("thickness", mm(0.5, 50.0), "Thickness as measured; 6 mm where it is left out."),
        optional(
            "size",
            Kind::LengthsIn(&["width", "height"], Limits { min: 50.0, max: 10_000.0 }),
            "Width and height; 600 x 400 mm where it is left out.",
        ),
        optional(
            "spacing",
            mm(0.0, 20.0),
            "Least distance between parts and from the edge; 5 mm where it is left out.",
        ),
        optional(
            "kerf",
            mm(0.0, 10.0),
            "Width of the cut, such as that of a laser or the diameter of a router's cutter; 0.2 mm where it is left out.",
        ),
        optional(
            "slot_fit",
            mm(-0.5, 2.0),
            "How much wider than its tab a slot is; 0.1 mm where it is left out, less than 0 for a press fit.",
        ),
    ],
);

/// A 3D printer.
pub(in crate::spec) static PRINTER: Table = table(
    "printer",
    "A 3D printer.",
    &[
        optional(
            "bed",
            Kind::LengthsIn(&["width", "depth", "height"], Limits { min: 50.0, max: 5000.0 }),
            "Room it prints in: width, depth and height; 220 x 220 x 250 mm where it is left out.",
        ),
        optional(
            "hole_fit",
            mm(0.0, 2.0),
            "How much wider a printed hole is made than what goes through it; 0.2 mm where it is left out.",
        ),
    ],
);

/// Bending forms.
pub(in crate::spec) static FORM: Table = table(
    "form",
    "How bending forms are made.",
    &[
        optional(
            "clearance",
            mm(0.0, 2.0),
            "Distance between tube and groove all round; 0.1 mm where it is left out.",
        ),
        optional(
            "depth",
            number(0.3, 0.7),
            "Depth of the groove as a part of the outside diameter; 0.5, half round, where it is left out.",
        ),
        optional(
            "over_bend",
            Kind::Angle(Degrees { min: 0.0, open: false, max: 30.0 }),
            "How far the arc goes on beyond the largest angle to pull to, degrees; 3 where it is left out.",
        ),
        optional(
            "strap",
            Kind::AnyOf(&STRAPS),
            "The strap that holds the tube to the form; none for no slot, 12 x 3 mm where it is left out.",
        ),
    ],
);

static STRAPS: [Kind; 2] = [Kind::Choice(|| vec!["none"]), Kind::Table(&STRAP)];

/// A strap.
pub(in crate::spec) static STRAP: Table = table(
    "strap",
    "A strap that holds the tube to the form.",
    &[required("width", mm(3.0, 50.0), "Its width."), required("thickness", mm(0.3, 10.0), "Its thickness.")],
);

/// Checking jigs.
pub(in crate::spec) static JIG: Table = table(
    "jig",
    "How checking jigs are made.",
    &[
        optional(
            "clearance",
            mm(0.0, 2.0),
            "Distance between the tube and a cradle; 0.5 mm where it is left out.",
        ),
        optional(
            "lift",
            mm(5.0, 200.0),
            "Least distance between the tube and the base board; 20 mm where it is left out.",
        ),
        optional(
            "gate",
            mm(0.0, 5.0),
            "How much too long a tube may be before it no longer drops in; 1 mm where it is left out.",
        ),
    ],
);

/// The largest error that is believed, mm: a larger one is a slip of the unit.
const MOST_OFF: f64 = 100.0;

/// An error of an angle: 0 to 45 degrees.
const OFF: Kind = Kind::Angle(Degrees { min: 0.0, open: false, max: 45.0 });

/// Errors of the work. Defaults are in `model::Uncertainty`.
pub(in crate::spec) static UNCERTAINTY: Table = table(
    "uncertainty",
    "How exactly the work is done: half-widths that 95 % of the errors stay within, either way.",
    &[
        optional("port", mm(0.0, MOST_OFF), "Of each coordinate of a port; 1 mm where it is left out."),
        optional(
            "mark",
            mm(0.0, MOST_OFF),
            "Of where a mark is and how the tube is held to it; 0.5 mm where it is left out.",
        ),
        optional(
            "angle",
            OFF,
            "Of a bend's angle, degrees; 0.5 with test bends and 1 without where it is left out. Where springback is predicted and may be further off, that counts.",
        ),
        optional("turn", OFF, "Of the turn of the tube before a bend, degrees; 1 where it is left out."),
        optional(
            "radius",
            mm(0.0, MOST_OFF),
            "Of the finished radius of a former; 0.3 mm with test bends and 1 mm without where it is left out.",
        ),
        optional("length", mm(0.0, MOST_OFF), "Of the cut length; 0.5 mm where it is left out."),
    ],
);
