//! Keys of a file of readings.

use super::{
    Degrees, FURTHEST_PULL_DEGREES, Kind, Sign, Table, ZERO_OR_MORE, mm, optional, required, table, words,
};
use crate::quantity::Unit;
use crate::spec::model::LegMeasure;

/// Largest distance from a template's drawing that is believed, mm: more is a slip of the unit.
const MOST_OFF_MM: f64 = 200.0;

/// A bend's angle after letting go, degrees: up to what a tube can be pulled to.
const GOT: Kind = Kind::Angle(Degrees { min: 0.0, open: true, max: FURTHEST_PULL_DEGREES });
/// A turn either way, degrees.
const TURN: Kind = Kind::Angle(Degrees { min: -180.0, open: false, max: 180.0 });
const OFF: Kind = mm(-MOST_OFF_MM, MOST_OFF_MM);

/// How far an angle may be off, degrees.
const ANGLE_OFF: Kind = Kind::Angle(Degrees { min: 0.01, open: false, max: 45.0 });
/// How far a length may be off, mm.
const LENGTH_OFF: Kind = mm(0.01, 100.0);

/// The whole file of readings.
pub(in crate::spec) static READINGS: Table = table(
    "file of readings",
    "What was measured on a bent tube of one run, or on one that is bent in part. Nothing has to be measured: what is left out or empty is not known.",
    &[
        required("format", Kind::Format, "Always 1."),
        required("readings", Kind::Text, "Name of the run that the tube is of."),
        optional(
            "units",
            Kind::Choice(|| Unit::SPEC.to_vec()),
            "Unit of numbers without one; that of the spec where it is left out.",
        ),
        optional(
            "bends_done",
            Kind::Count(0, usize::MAX),
            "How many bends are made, in the order of the worksheet; all where it is left out.",
        ),
        optional("cut", READ_LENGTH, "Length of the straight tube that was cut."),
        optional(
            "measured",
            Kind::Choice(words::<LegMeasure>),
            "Where legs, and lengths between bends, are measured to: the outside (back) of the other leg, its centre or its inside; outside where it is left out.",
        ),
        optional("bends", Kind::Numbered(&READ_BEND), "The bends by their numbers, as on the worksheet."),
        optional(
            "last_leg",
            READ_LENGTH,
            "From where the legs of the last bend made cross to the tube's other end.",
        ),
        optional(
            "templates",
            Kind::Numbered(&READ_TEMPLATE),
            "The templates by the numbers of their planes, as printed; 1 where there is one. The tube lies with the first straight and the first bend of the template on the drawing.",
        ),
        optional(
            "accuracy",
            Kind::Table(&ACCURACY),
            "What 95 % of the readings stay within, either way, where they do not say.",
        ),
    ],
);

const READ_LENGTH: Kind = Kind::AnyOf(&[Kind::Length(Sign::Positive), Kind::Table(&LENGTH_TABLE)]);
const READ_PLACE: Kind = Kind::AnyOf(&[ZERO_OR_MORE, Kind::Table(&PLACE_TABLE)]);
const READ_ANGLE: Kind = Kind::AnyOf(&[GOT, Kind::Table(&ANGLE_TABLE)]);
const READ_TURN: Kind = Kind::AnyOf(&[TURN, Kind::Table(&TURN_TABLE)]);
const READ_OFF: Kind = Kind::AnyOf(&[OFF, Kind::Table(&OFF_TABLE)]);

const GOT_DOC: &str = "What was read.";
const SURE_DOC: &str = "What 95 % of such readings stay within, either way.";

static LENGTH_TABLE: Table = table(
    "reading of a length",
    "A length with how far it may be off.",
    &[required("got", Kind::Length(Sign::Positive), GOT_DOC), optional("accuracy", LENGTH_OFF, SURE_DOC)],
);

static PLACE_TABLE: Table = table(
    "reading of a place on the tube",
    "A distance from the end that bending begins at, with how far it may be off.",
    &[required("got", ZERO_OR_MORE, GOT_DOC), optional("accuracy", LENGTH_OFF, SURE_DOC)],
);

static ANGLE_TABLE: Table = table(
    "reading of an angle",
    "An angle with how far it may be off.",
    &[required("got", GOT, GOT_DOC), optional("accuracy", ANGLE_OFF, SURE_DOC)],
);

static TURN_TABLE: Table = table(
    "reading of a turn",
    "A turn with how far it may be off.",
    &[required("got", TURN, GOT_DOC), optional("accuracy", ANGLE_OFF, SURE_DOC)],
);

static OFF_TABLE: Table = table(
    "reading of a place on the template",
    "A distance from the drawing with how far it may be off.",
    &[required("got", OFF, GOT_DOC), optional("accuracy", LENGTH_OFF, SURE_DOC)],
);

/// The readings of a bend.
pub(in crate::spec) static READ_BEND: Table = table(
    "measured bend",
    "What was measured on one bend. The first end is the one that bending begins at, nothing trimmed yet.",
    &[
        optional(
            "pulled",
            Kind::Angle(Degrees { min: 0.0, open: true, max: FURTHEST_PULL_DEGREES }),
            "Angle that it was pulled to, degrees; that of the plan where it is left out.",
        ),
        optional("angle", READ_ANGLE, "Angle after letting go, degrees; straight is 0."),
        optional(
            "turn",
            READ_TURN,
            "Turn of its plane from that of the bend made before, degrees, as `rotation` in a spec: clockwise when you look along the tube.",
        ),
        optional("starts", READ_PLACE, "Where it starts, from the first end along the tube, as marks are."),
        optional("ends", READ_PLACE, "Where it ends, from the first end along the tube, as marks are."),
        optional(
            "leg",
            READ_LENGTH,
            "From the end of the bend made before, or the first end, to where the lines of its legs cross.",
        ),
        optional(
            "between",
            READ_LENGTH,
            "From where the legs of the bend made before cross to where its own do: back of one bend to back of the other, where that is what is measured.",
        ),
    ],
);

/// The readings of a template.
pub(in crate::spec) static READ_TEMPLATE: Table = table(
    "measured template",
    "What was measured with the tube on a template.",
    &[
        optional(
            "end_to_end",
            READ_LENGTH,
            "Between the middles of the two ends of its part of the tube; of a cut end, waste included.",
        ),
        optional(
            "beyond",
            READ_OFF,
            "How far its far end reaches beyond the drawn end; less than 0: short of it.",
        ),
        optional(
            "left",
            READ_OFF,
            "How far its far end lies to the left of the drawing, looking out of the tube; less than 0: to the right.",
        ),
        optional("above", READ_OFF, "How far its far end lies higher than its first straight."),
        optional(
            "at_bends",
            Kind::Numbered(&AT_BEND),
            "How the places lie where bends of this template end, by the bends' numbers.",
        ),
    ],
);

/// Where a bend ends on a template.
pub(in crate::spec) static AT_BEND: Table = table(
    "place on a template",
    "How far the place where a bend ends lies off its drawing.",
    &[
        optional(
            "left",
            READ_OFF,
            "To the left of the drawing, looking along the tube; less than 0: to the right.",
        ),
        optional("above", READ_OFF, "Higher than the first straight."),
    ],
);

/// How exactly readings are taken. Defaults are in `model::Accuracy`.
pub(in crate::spec) static ACCURACY: Table = table(
    "accuracy",
    "What 95 % of the readings stay within, either way. What is left out is common practice, no source.",
    &[
        optional("angle", ANGLE_OFF, "Of a bend's angle, degrees; 0.5 where it is left out."),
        optional("turn", ANGLE_OFF, "Of a turn, degrees; 1 where it is left out."),
        optional("length", LENGTH_OFF, "Of a length by a rule or tape; 0.5 mm where it is left out."),
        optional("arc", LENGTH_OFF, "Of where a bend starts or ends; 2 mm where it is left out."),
        optional("template", LENGTH_OFF, "Of what is read on a template; 0.7 mm where it is left out."),
    ],
);
