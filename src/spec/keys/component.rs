//! Keys of fittings and components.

use super::{Degrees, Kind, POSITIVE, Table, ZERO_OR_MORE, number, optional, required, table, words};
use crate::quantity::Unit;
use crate::spec::model::EndForm;

/// A fitting.
pub(in crate::spec) static FITTING: Table = table(
    "fitting",
    "A fitting a tube end goes into.",
    &[
        required("tube_od", POSITIVE, "Outside diameter of the tube it is made for."),
        required("insert", ZERO_OR_MORE, "How far the tube goes in behind the port's face."),
        optional(
            "deep",
            ZERO_OR_MORE,
            "How far the tube can go in at most while it is put in; `insert` where it is left out.",
        ),
        optional("straight", ZERO_OR_MORE, "Unbent tube it needs outside its face."),
        optional(
            "max_angle",
            Kind::Angle(Degrees { min: 0.0, open: false, max: 90.0 }),
            "Largest misalignment it takes, degrees; 1 where it is left out.",
        ),
        optional("max_side", ZERO_OR_MORE, "Largest sideways misfit it takes; 0.5 mm where it is left out."),
        optional("seal", Kind::Table(&SEAL), "Its O-ring."),
        optional(
            "end",
            Kind::Choice(words::<EndForm>),
            "Form of the tube's end in it; plain where it is left out. A plain end takes its nut, ring or collar after bending, a flared or beaded one before.",
        ),
        optional("body", Kind::Table(&FITTING_BODY), "What of it stands outside the port's face."),
        optional(
            "slide_back",
            ZERO_OR_MORE,
            "Straight tube outside the port's face that its loose part needs to be drawn back while joining; 0 where it is left out.",
        ),
    ],
);

/// The part of a fitting outside the port's face.
pub(in crate::spec) static FITTING_BODY: Table = table(
    "body",
    "The round part of a fitting that stands outside the port's face.",
    &[
        required("diameter", POSITIVE, "Diameter over all."),
        required("length", POSITIVE, "Length along the tube from the port's face."),
    ],
);

/// A fitting's seal.
pub(in crate::spec) static SEAL: Table = table(
    "seal",
    "The O-ring of a fitting.",
    &[
        required("section", POSITIVE, "Thickness of the ring."),
        required(
            "squeeze",
            number(1.0, 60.0),
            "How far a tube of the fitting's own size squeezes the ring, percent of its thickness.",
        ),
    ],
);

/// A component.
pub(in crate::spec) static COMPONENT: Table = Table {
    name: "component",
    doc: "What the tubes must reach and must miss.",
    keys: &[
        optional("box", Kind::Table(&BOX), "A box square to the axes."),
        optional("cylinder", Kind::Table(&CYLINDER), "A round bar."),
        optional("mesh", Kind::Text, MESH_DOC),
        optional("parts", Kind::List(&Kind::Table(&PART)), "Several shapes."),
        optional("units", MESH_UNITS, MESH_UNITS_DOC),
        optional("at", Kind::Point, MESH_AT_DOC),
        optional(
            "rotate",
            Kind::Table(&ROTATION),
            "How it is turned from these coordinates, with its ports.",
        ),
        optional(
            "fixed",
            Kind::YesOrNo,
            "Whether it cannot be moved while tubes are put in; false where it is left out.",
        ),
        optional("ports", Kind::Named(&PORT), "Where tubes can end, by name."),
    ],
    exactly_one: &[],
    at_most_one: &["box", "cylinder", "mesh", "parts"],
};

/// A part of a component.
pub(in crate::spec) static PART: Table = Table {
    name: "part",
    doc: "One shape of a component.",
    keys: &[
        optional("box", Kind::Table(&BOX), "A box square to the axes."),
        optional("cylinder", Kind::Table(&CYLINDER), "A round bar."),
        optional("mesh", Kind::Text, MESH_DOC),
        optional("units", MESH_UNITS, MESH_UNITS_DOC),
        optional("at", Kind::Point, MESH_AT_DOC),
        optional("rotate", Kind::Table(&ROTATION), "How it is turned from these coordinates."),
    ],
    exactly_one: &["box", "cylinder", "mesh"],
    at_most_one: &[],
};

const MESH_DOC: &str = "Any shape: the name of an STL file (binary or ASCII), from the spec's folder.";
const MESH_UNITS: Kind = Kind::Choice(|| [Unit::SPEC.as_slice(), &[Unit::Metre.name()]].concat());
const MESH_UNITS_DOC: &str =
    "Unit of the numbers in the mesh's file, which has none; the spec's where it is left out.";
const MESH_AT_DOC: &str = "Where the origin of the mesh's file goes; [0, 0, 0] where it is left out.";

/// A rotation.
pub(in crate::spec) static ROTATION: Table = table(
    "rotation",
    "A rotation about a line.",
    &[
        required("axis", Kind::Direction, "Direction of the line."),
        required(
            "degrees",
            Kind::Angle(Degrees { min: -360.0, open: false, max: 360.0 }),
            "By how much; clockwise where you look along the axis.",
        ),
        optional("about", Kind::Point, "A point of the line; [0, 0, 0] where it is left out."),
    ],
);

/// A box.
pub(in crate::spec) static BOX: Table = table(
    "box",
    "A box square to the axes.",
    &[required("from", Kind::Point, "One corner."), required("to", Kind::Point, "The opposite corner.")],
);

/// A cylinder.
pub(in crate::spec) static CYLINDER: Table = table(
    "cylinder",
    "A round bar.",
    &[
        required("from", Kind::Point, "Centre of one end."),
        required("to", Kind::Point, "Centre of the other end."),
        required("diameter", POSITIVE, "Diameter of the bar."),
    ],
);

/// A port.
pub(in crate::spec) static PORT: Table = table(
    "port",
    "A place of a component where a tube can end.",
    &[
        required("at", Kind::Point, "Centre of its face."),
        required("facing", Kind::Direction, "Direction out of the face."),
        optional("fitting", Kind::Text, "Name of the fitting the tube goes into."),
    ],
);
