//! Keys of runs.

use strum::VariantNames;

use super::{
    ANNEAL, BEND, BEND_FROM, BEND_FROM_DOC, BENDER, CLEARANCE_DOC, CORNER_BEND, Degrees, Kind, MOST_ROUTED,
    POSITIVE, Sign, TUBE, Table, Way, ZERO_OR_MORE, optional, required, table, words,
};
use crate::spec::model::{Axis, Criterion, Directions};

/// A run.
pub(in crate::spec) static RUN: Table = Table {
    name: "run",
    doc: "One tube to be bent, by corners, by a bend table, or as a copy of another run. With `from` and `to` alone its way is found; `route` refines that. A copy also takes the other run's tube, bender, anneal, bend_from, clearance and allowance where it has none of its own.",
    keys: &[
        optional("from", Kind::AnyOf(&END), "Datum end: a port, a point, or a point that faces somewhere."),
        optional("to", Kind::AnyOf(&END), "Other end."),
        optional(
            "corners",
            Kind::List(&Kind::AnyOf(&CORNER)),
            "Where the straight centrelines cross, in order.",
        ),
        optional("bends", Kind::List(&Kind::Table(&BEND_ROW)), "A bend table."),
        optional("end_length", ZERO_OR_MORE, "Straight after the last bend of a bend table."),
        optional("route", Kind::Table(&ROUTE), "Wishes for the way that is found."),
        optional(
            "mirror",
            Kind::Table(&MIRROR),
            "The mirror image of another run. Ends that are left out are mirrored, too.",
        ),
        optional(
            "same_as",
            Kind::Text,
            "Name of another run whose bends it has, laid from its own `from`; a tube on the bench without.",
        ),
        optional("allowance", Kind::Table(&ALLOWANCE), "Extra tube to trim away after fitting."),
        optional("anneal", ANNEAL, "Whether its bends are annealed first."),
        optional("bend_from", BEND_FROM, BEND_FROM_DOC),
        optional("clearance", ZERO_OR_MORE, CLEARANCE_DOC),
        optional("tube", Kind::Table(&TUBE), "Its own tube."),
        optional("bender", Kind::Table(&BENDER), "Its own bender."),
    ],
    exactly_one: &[],
    at_most_one: <Way as VariantNames>::VARIANTS,
};

static END: [Kind; 3] = [Kind::PortName, Kind::Point, Kind::Table(&END_TABLE)];
static CORNER: [Kind; 2] = [Kind::Point, Kind::Table(&CORNER_TABLE)];

/// An end that faces somewhere.
pub(in crate::spec) static END_TABLE: Table = table(
    "end",
    "An end that is no port of a component.",
    &[
        required("at", Kind::Point, "Where the tube ends."),
        required("facing", Kind::Direction, "Direction in which the tube leaves that place."),
    ],
);

/// A corner that is placed from a port or from the corner before, or has its own radius.
pub(in crate::spec) static CORNER_TABLE: Table = Table {
    name: "corner",
    doc: "A corner: by its coordinates, in front of a port of its run, or by steps from the corner before.",
    keys: &[
        optional("at", Kind::Point, "Where the straight centrelines cross."),
        optional("out", POSITIVE, "In front of the face of the `from` end, along its axis."),
        optional("in", POSITIVE, "In front of the face of the `to` end, along its axis."),
        optional("x", Kind::LengthOrLevel, STEP_DOC),
        optional("y", Kind::LengthOrLevel, STEP_DOC),
        optional("z", Kind::LengthOrLevel, STEP_DOC),
        optional(
            "clr",
            Kind::LengthOrParallel,
            "Centreline radius there instead of the bender's; `parallel to RUN` for a bend about the same centre as that run's, as pairs of lines are bent.",
        ),
    ],
    exactly_one: &[],
    at_most_one: &["at", "out", "in"],
};

const STEP_DOC: &str = "Step along this axis from the place of `out` or `in`, or from the corner before; `level` for as far as the next corner with `at`, `out` or `in`, or the `to` end.";

/// A row of a bend table.
pub(in crate::spec) static BEND_ROW: Table = table(
    "bend",
    "A row of a bend table.",
    &[
        required("length", ZERO_OR_MORE, "Straight before the bend."),
        optional(
            "rotation",
            Kind::Angle(Degrees { min: -180.0, open: true, max: 180.0 }),
            "Turn of the bend's plane from the previous bend's, degrees; 0 where it is left out.",
        ),
        required("angle", BEND, "Bend angle (change of direction), degrees."),
        optional("clr", POSITIVE, "Centreline radius instead of the bender's."),
    ],
);

/// A route to be found.
pub(in crate::spec) static ROUTE: Table = table(
    "route",
    "A request to find the way automatically.",
    &[
        optional(
            "max_bends",
            Kind::Count(1, MOST_ROUTED),
            "Most bends allowed, 10 at most; 4 where it is left out.",
        ),
        optional(
            "angles",
            Kind::List(&CORNER_BEND),
            "Bend angles allowed, degrees; 45 and 90 where it is left out, and any where these reach nothing.",
        ),
        optional(
            "clearance",
            ZERO_OR_MORE,
            "Distance to keep from everything else; `clearance` of the run or spec where it is left out, or else 3 mm.",
        ),
        optional(
            "prefer",
            Kind::List(&CRITERION),
            "What makes a way better, first things first; bends, planes, angles, length where it is left out.",
        ),
        optional(
            "directions",
            Kind::Choice(words::<Directions>),
            "Directions of the legs: `axes` for those of the axes and halfway between two of them, `any` for ways of two and three bends that follow no axis, too; axes where it is left out.",
        ),
        optional(
            "through",
            Kind::List(&Kind::Point),
            "Points that its straights lead through, in this order.",
        ),
        optional(
            "avoid",
            Kind::List(&Kind::AnyOf(&AVOID)),
            "Room to keep clear of beside all that is there: a component's name for the whole box round it, or a box.",
        ),
        optional("like", Kind::Text, "Name of the run beside which it leads, with the same bends."),
        optional(
            "spacing",
            POSITIVE,
            "Distance from that run's centreline; that of their `from` ends where it is left out.",
        ),
    ],
);

static AVOID: [Kind; 2] = [Kind::Text, Kind::Table(&super::BOX)];

static CRITERION: Kind = Kind::Choice(words::<Criterion>);

/// A mirror image.
pub(in crate::spec) static MIRROR: Table = table(
    "mirror",
    "The mirror image of another run.",
    &[
        required("run", Kind::Text, "Name of the other run."),
        required("plane", Kind::Choice(words::<Axis>), "The axis the plane of the mirror stands square to."),
        required("at", Kind::Length(Sign::Any), "Where the plane crosses that axis."),
    ],
);

/// Extra tube at the ends.
pub(in crate::spec) static ALLOWANCE: Table = table(
    "allowance",
    "Extra tube to trim away after fitting.",
    &[
        optional("start", ZERO_OR_MORE, "At the datum end."),
        optional("end", ZERO_OR_MORE, "At the other end."),
    ],
);
