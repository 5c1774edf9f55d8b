//! Every key of the format, once: the reader checks specs against these tables and the JSON Schema
//! is made from them.

use strum::{IntoStaticStr, VariantArray, VariantNames};

use super::model::{Anneal, Axis, LegMeasure, MarkPoint, StockForm, Temper};
use crate::quantity::Unit;

/// A mapping with known keys.
#[derive(Debug)]
pub(super) struct Table {
    /// Its name in messages and in the schema.
    pub(super) name: &'static str,
    /// Its purpose.
    pub(super) doc: &'static str,
    /// Its keys.
    pub(super) keys: &'static [Rule],
    /// Keys of which exactly one must be there; empty for no such rule.
    pub(super) exactly_one: &'static [&'static str],
    /// Keys of which no two may be there.
    pub(super) at_most_one: &'static [&'static str],
}

/// A key and what may stand behind it.
#[derive(Debug)]
pub(super) struct Rule {
    /// The key.
    pub(super) key: &'static str,
    /// Whether it must be there.
    pub(super) required: bool,
    /// Its kind of value.
    pub(super) kind: Kind,
    /// Its meaning.
    pub(super) doc: &'static str,
}

/// The values a key may choose from, each by its word.
pub(super) trait Choice: Copy + VariantArray + Into<&'static str> {}

impl<T: Copy + VariantArray + Into<&'static str>> Choice for T {}

/// The words of a choice.
pub(super) fn words<T: Choice>() -> Vec<&'static str> {
    T::VARIANTS.iter().map(|value| (*value).into()).collect()
}

/// The ways in which a run says where it goes, each a key.
#[derive(Debug, Clone, Copy, PartialEq, Eq, IntoStaticStr, VariantArray, VariantNames)]
#[strum(serialize_all = "snake_case")]
pub(super) enum Way {
    /// Through corners.
    Corners,
    /// By a bend table.
    Bends,
    /// By a route to be found.
    Route,
    /// As the mirror image of another run.
    Mirror,
    /// With the bends of another run.
    SameAs,
}

/// Kinds of value.
#[derive(Debug)]
pub(super) enum Kind {
    /// The number of the format.
    Format,
    /// One line of words.
    Text,
    /// A size of a standard: words or a number.
    Size,
    /// One of these words.
    Choice(fn() -> Vec<&'static str>),
    /// The name of a tube standard.
    Standard,
    /// A length.
    Length(Sign),
    /// A length in a range.
    LengthIn(Limits),
    /// As many lengths in a range as there are words, which name them.
    LengthsIn(&'static [&'static str], Limits),
    /// An angle in degrees.
    Angle(Degrees),
    /// A number without a unit.
    Number(Range),
    /// A whole number of at least this.
    Count(usize),
    /// Three coordinates.
    Point,
    /// Three numbers, not all 0.
    Direction,
    /// A mapping.
    Table(&'static Table),
    /// A mapping from names to such tables.
    Named(&'static Table),
    /// A list.
    List(&'static Kind),
    /// A reference to a port, `component.port`.
    PortName,
    /// Any of these.
    AnyOf(&'static [Kind]),
}

/// Which lengths a key takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sign {
    /// Any.
    Any,
    /// 0 or more.
    ZeroOrMore,
    /// More than 0.
    Positive,
}

/// A range of numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Range {
    /// Smallest number.
    pub(super) min: f64,
    /// Largest number.
    pub(super) max: f64,
    /// Whether both ends are left out.
    pub(super) open: bool,
}

/// A range of lengths, mm, both ends included: outside of it a number is a slip, mostly of the unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Limits {
    /// Smallest length.
    pub(super) min: f64,
    /// Largest length.
    pub(super) max: f64,
}

/// A range of angles, degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Degrees {
    /// Smallest angle.
    pub(super) min: f64,
    /// Whether `min` itself is left out.
    pub(super) open: bool,
    /// Largest angle.
    pub(super) max: f64,
}

impl Table {
    /// The rule of a key.
    pub(super) fn rule(&self, key: &str) -> Option<&'static Rule> {
        self.keys.iter().find(|rule| rule.key == key)
    }
}

const fn table(name: &'static str, doc: &'static str, keys: &'static [Rule]) -> Table {
    Table { name, doc, keys, exactly_one: &[], at_most_one: &[] }
}

const fn required(key: &'static str, kind: Kind, doc: &'static str) -> Rule {
    Rule { key, required: true, kind, doc }
}

const fn optional(key: &'static str, kind: Kind, doc: &'static str) -> Rule {
    Rule { key, required: false, kind, doc }
}

const POSITIVE: Kind = Kind::Length(Sign::Positive);
const ZERO_OR_MORE: Kind = Kind::Length(Sign::ZeroOrMore);
const fn number(min: f64, max: f64) -> Kind {
    Kind::Number(Range { min, max, open: false })
}

const fn mm(min: f64, max: f64) -> Kind {
    Kind::LengthIn(Limits { min, max })
}

/// A bend, or the most a bender can do: more than 0°, at most half a turn.
const BEND: Kind = Kind::Angle(Degrees { min: 0.0, open: true, max: 180.0 });

/// The whole file. Keys that begin with `x-` are also read at this level, and ignored: a place for anchors.
pub(super) static SPEC: Table = table(
    "spec",
    "A set of bent tube runs.",
    &[
        required("format", Kind::Format, "Always 1."),
        optional("title", Kind::Text, "Title of the drawings; the file's name where it is left out."),
        optional(
            "units",
            Kind::Choice(|| Unit::SPEC.to_vec()),
            "Unit of numbers without one; mm where it is left out. Any length may carry its own: 12.5 mm, 3.2 cm, 3 m, 5/8 in, 1-1/2 in, 2.5\".",
        ),
        optional("tube", Kind::Table(&TUBE), "The tube of all runs that do not name their own."),
        optional("bender", Kind::Table(&BENDER), "The bender of all runs that do not name their own."),
        optional(
            "anneal",
            ANNEAL,
            "Whether bends are annealed first, in all runs that do not say; auto where it is left out: where the bend would stretch the tube too far as it is.",
        ),
        optional("stock", Kind::AnyOf(&STOCKS), "Tube as bought; a list where there are several tubes."),
        optional(
            "workshop",
            Kind::Table(&WORKSHOP),
            "What forms and checking jigs are cut, printed and joined with.",
        ),
        optional("fittings", Kind::Named(&FITTING), "Fittings by name."),
        optional("components", Kind::Named(&COMPONENT), "What the tubes must reach and must miss, by name."),
        required("runs", Kind::Named(&RUN), "The tubes to be bent, by name."),
    ],
);

/// A tube.
pub(super) static TUBE: Table = table(
    "tube",
    "A tube of a standard (standard, size, temper) or given outright (od, wall, material, temper). A run's own tube is laid over the spec's key by key. With its own `standard` it takes over the temper only, with its own `od` the temper and the metal (copper, if the spec's tube is of a standard). With its own `material` it leaves behind what the spec says of the metal, with its own `temper` the strength, elongation and hardening.",
    &[
        optional("standard", Kind::Standard, "Tube standard."),
        optional("size", Kind::Size, "Size as the standard names it: 15 x 1.0, or 1/2."),
        optional("type", Kind::Text, "Type of wall, in standards that have types: K, L, M or A, B, C."),
        optional("od", POSITIVE, "Outside diameter."),
        optional("wall", POSITIVE, "Wall thickness."),
        optional(
            "material",
            Kind::Text,
            "Metal. Masses are known for copper, brass, stainless steel, steel and aluminium.",
        ),
        // Outside these ranges a number is a slip of the unit: of the metals tubes are drawn from,
        // magnesium is lightest with 1740 kg/m3 and platinum heaviest with 21 450.
        optional("density", number(500.0, 25_000.0), "Density of another metal, kg/m3; copper has 8940."),
        optional("temper", Kind::Choice(words::<Temper>), "How hard the tube is as bought."),
        optional("modulus", number(1.0, 500.0), "Modulus of elasticity, GPa; copper has about 120."),
        optional("yield_strength", number(1.0, 5000.0), "Yield strength as bought, MPa."),
        optional("elongation", number(0.1, 100.0), "Elongation at fracture as bought, percent."),
        optional("hardening", Kind::Table(&HARDENING), "How the metal hardens as it is bent."),
    ],
);

/// Hardening law of a metal.
pub(super) static HARDENING: Table = table(
    "hardening law",
    "How the metal hardens: stress in MPa = strength x strain to the power of the exponent.",
    &[
        required("strength", number(1.0, 5000.0), "Stress at a strain of 1, MPa."),
        required(
            "exponent",
            Kind::Number(Range { min: 0.0, max: 1.0, open: true }),
            "Exponent of the strain; about 0.05 for hard tube, 0.3 to 0.5 for soft.",
        ),
    ],
);

/// Whether bends are annealed.
const ANNEAL: Kind = Kind::Choice(words::<Anneal>);

/// A bender.
pub(super) static BENDER: Table = table(
    "bender",
    "A bender or bending form. A run's own bender is laid over the spec's key by key; test bends are left behind when the run changes `name` or `clr`.",
    &[
        optional("name", Kind::Text, "Its name."),
        optional("clr", POSITIVE, "Centreline radius it forms."),
        optional("grip", ZERO_OR_MORE, "Straight it must hold before the start of a bend."),
        optional("lead_out", ZERO_OR_MORE, "Straight it needs after the end of a bend."),
        optional("mark", Kind::Choice(words::<MarkPoint>), "Point of the bend its reference line meets."),
        optional(
            "datum",
            Kind::Length(Sign::Any),
            "Signed distance from the reference line to the real start of bend.",
        ),
        optional("max_angle", BEND, "Largest bend it can make, degrees."),
        optional("test_bends", Kind::List(&Kind::Table(&TEST_BEND)), "Trial pieces."),
    ],
);

/// Least angle of a trial piece, degrees: of less, a reading that is 0.1 degrees off is a tenth or more.
const LEAST_TESTED: f64 = 1.0;

pub(super) static TEST_BEND: Table = table(
    "test bend",
    "A trial piece: what it was pulled to and what it became.",
    &[
        required(
            "pulled",
            Kind::Angle(Degrees { min: LEAST_TESTED, open: false, max: 200.0 }),
            "Angle pulled to, degrees.",
        ),
        required(
            "got",
            Kind::Angle(Degrees { min: LEAST_TESTED, open: false, max: 180.0 }),
            "Angle after letting go, degrees.",
        ),
        optional("cut", POSITIVE, "Cut length."),
        optional("leg_a", POSITIVE, "First leg."),
        optional("leg_b", POSITIVE, "Second leg."),
        optional("measured", Kind::Choice(words::<LegMeasure>), "Where the legs were measured to."),
        optional("across", POSITIVE, "Width of a U bend over the backs of its legs, where the bend ends."),
    ],
);

/// Tube as bought.
pub(super) static STOCK: Table = table(
    "stock",
    "Tube as bought.",
    &[
        required("length", POSITIVE, "Length of a new piece."),
        optional("kerf", ZERO_OR_MORE, "Width of the cut; 0 where it is left out, as for a tube cutter."),
        optional(
            "count",
            Kind::Count(0),
            "How many new pieces there are; as many as needed where it is left out.",
        ),
        optional("form", Kind::Choice(words::<StockForm>), "How it is sold; stick where it is left out."),
        optional(
            "leftovers",
            Kind::List(&POSITIVE),
            "Lengths of pieces left over from earlier, cut before new ones.",
        ),
        optional(
            "od",
            POSITIVE,
            "Outside diameter of the tube it is; without od and wall it is for every tube that no other stock names.",
        ),
        optional("wall", POSITIVE, "Wall thickness of the tube it is."),
    ],
);

static STOCKS: [Kind; 2] = [Kind::Table(&STOCK), Kind::List(&Kind::Table(&STOCK))];

/// A fitting.
pub(super) static FITTING: Table = table(
    "fitting",
    "A fitting a tube end goes into.",
    &[
        required("tube_od", POSITIVE, "Outside diameter of the tube it is made for."),
        required("insert", ZERO_OR_MORE, "How far the tube goes in behind the port's face."),
        optional("straight", ZERO_OR_MORE, "Unbent tube it needs outside its face."),
        optional(
            "max_angle",
            Kind::Angle(Degrees { min: 0.0, open: false, max: 90.0 }),
            "Largest misalignment it takes, degrees; 1 where it is left out.",
        ),
        optional("max_side", ZERO_OR_MORE, "Largest sideways misfit it takes; 0.5 mm where it is left out."),
        optional("seal", Kind::Table(&SEAL), "Its O-ring."),
    ],
);

/// A fitting's seal.
pub(super) static SEAL: Table = table(
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
pub(super) static COMPONENT: Table = Table {
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
        optional("ports", Kind::Named(&PORT), "Where tubes can end, by name."),
    ],
    exactly_one: &[],
    at_most_one: &["box", "cylinder", "mesh", "parts"],
};

/// A part of a component.
pub(super) static PART: Table = Table {
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
const MESH_UNITS: Kind = Kind::Choice(|| Unit::SPEC.to_vec());
const MESH_UNITS_DOC: &str =
    "Unit of the numbers in the mesh's file, which has none; the spec's where it is left out.";
const MESH_AT_DOC: &str = "Where the origin of the mesh's file goes; [0, 0, 0] where it is left out.";

/// A rotation.
pub(super) static ROTATION: Table = table(
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
pub(super) static BOX: Table = table(
    "box",
    "A box square to the axes.",
    &[required("from", Kind::Point, "One corner."), required("to", Kind::Point, "The opposite corner.")],
);

/// A cylinder.
pub(super) static CYLINDER: Table = table(
    "cylinder",
    "A round bar.",
    &[
        required("from", Kind::Point, "Centre of one end."),
        required("to", Kind::Point, "Centre of the other end."),
        required("diameter", POSITIVE, "Diameter of the bar."),
    ],
);

/// A port.
pub(super) static PORT: Table = table(
    "port",
    "A place of a component where a tube can end.",
    &[
        required("at", Kind::Point, "Centre of its face."),
        required("facing", Kind::Direction, "Direction out of the face."),
        optional("fitting", Kind::Text, "Name of the fitting the tube goes into."),
    ],
);

/// A run.
pub(super) static RUN: Table = Table {
    name: "run",
    doc: "One tube to be bent, by corners, by a bend table, by a route to be found, or as a copy of another run. A copy also takes the other run's tube, bender, anneal and allowance where it has none of its own.",
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
        optional("route", Kind::Table(&ROUTE), "Find the way automatically."),
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
        optional("tube", Kind::Table(&TUBE), "Its own tube."),
        optional("bender", Kind::Table(&BENDER), "Its own bender."),
    ],
    exactly_one: <Way as VariantNames>::VARIANTS,
    at_most_one: &[],
};

static END: [Kind; 3] = [Kind::PortName, Kind::Point, Kind::Table(&END_TABLE)];
static CORNER: [Kind; 2] = [Kind::Point, Kind::Table(&CORNER_TABLE)];

/// An end that faces somewhere.
pub(super) static END_TABLE: Table = table(
    "end",
    "An end that is no port of a component.",
    &[
        required("at", Kind::Point, "Where the tube ends."),
        required("facing", Kind::Direction, "Direction in which the tube leaves that place."),
    ],
);

/// A corner with its own radius.
pub(super) static CORNER_TABLE: Table = table(
    "corner",
    "A corner with its own radius.",
    &[
        required("at", Kind::Point, "Where the straight centrelines cross."),
        optional("clr", POSITIVE, "Centreline radius there instead of the bender's."),
    ],
);

/// A row of a bend table.
pub(super) static BEND_ROW: Table = table(
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
pub(super) static ROUTE: Table = table(
    "route",
    "A request to find the way automatically.",
    &[
        required("max_bends", Kind::Count(1), "Most bends allowed."),
        optional("angles", Kind::List(&BEND), "Bend angles allowed, degrees; any where it is left out."),
        optional("clearance", ZERO_OR_MORE, "Distance to keep from everything else."),
    ],
);

/// A mirror image.
pub(super) static MIRROR: Table = table(
    "mirror",
    "The mirror image of another run.",
    &[
        required("run", Kind::Text, "Name of the other run."),
        required("plane", Kind::Choice(words::<Axis>), "The axis the plane of the mirror stands square to."),
        required("at", Kind::Length(Sign::Any), "Where the plane crosses that axis."),
    ],
);

/// Extra tube at the ends.
pub(super) static ALLOWANCE: Table = table(
    "allowance",
    "Extra tube to trim away after fitting.",
    &[
        optional("start", ZERO_OR_MORE, "At the datum end."),
        optional("end", ZERO_OR_MORE, "At the other end."),
    ],
);

/// The shop that forms and jigs are made in. Defaults are in `model::Workshop`.
pub(super) static WORKSHOP: Table = table(
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
pub(super) static SHEET: Table = table(
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
pub(super) static PRINTER: Table = table(
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
pub(super) static FORM: Table = table(
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
pub(super) static STRAP: Table = table(
    "strap",
    "A strap that holds the tube to the form.",
    &[required("width", mm(3.0, 50.0), "Its width."), required("thickness", mm(0.3, 10.0), "Its thickness.")],
);

/// Checking jigs.
pub(super) static JIG: Table = table(
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
