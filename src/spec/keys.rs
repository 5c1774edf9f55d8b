//! Every key of the format, once: the reader checks specs against these tables and the JSON Schema
//! is made from them.

mod component;
mod readings;
mod run;
mod workshop;

use strum::{IntoStaticStr, VariantArray, VariantNames};

use super::model::{Anneal, BendFrom, Carried, LegMeasure, MarkPoint, StockForm, Temper};
use crate::quantity::Unit;

pub(super) use component::{BOX, COMPONENT, CYLINDER, FITTING, FITTING_BODY, PART, PORT, ROTATION, SEAL};
pub(super) use readings::{ACCURACY, AT_BEND, READ_BEND, READ_TEMPLATE, READINGS};
pub(super) use run::{ALLOWANCE, BEND_ROW, CORNER_TABLE, END_TABLE, MIRROR, ROUTE, RUN};
pub(super) use workshop::{FORM, JIG, PRINTER, SHEET, STRAP, UNCERTAINTY, WORKSHOP};

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
    /// `true` or `false`.
    YesOrNo,
    /// A length.
    Length(Sign),
    /// A length of 0 or more, or a part in percent.
    LengthOrPercent,
    /// A length of more than 0, or words that name the run that a bend is parallel to.
    LengthOrParallel,
    /// A length, or a word for as far as it takes to be level with another place.
    LengthOrLevel,
    /// A length in a range.
    LengthIn(Limits),
    /// As many lengths in a range as there are words, which name them.
    LengthsIn(&'static [&'static str], Limits),
    /// An angle in degrees.
    Angle(Degrees),
    /// A number without a unit.
    Number(Range),
    /// A whole number from the one to the other.
    Count(usize, usize),
    /// Three coordinates.
    Point,
    /// Three numbers, not all 0.
    Direction,
    /// A mapping.
    Table(&'static Table),
    /// A mapping from names to such tables.
    Named(&'static Table),
    /// A mapping from numbers, 1 and more, to such tables.
    Numbered(&'static Table),
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

/// A bend: more than 0°, at most half a turn.
const BEND: Kind = Kind::Angle(Degrees { min: 0.0, open: true, max: 180.0 });

/// A bend at a corner: beyond that the lines of its legs cross far away (common practice, no source).
const CORNER_BEND: Kind = Kind::Angle(Degrees { min: 0.0, open: true, max: 170.0 });

/// Most bends of a way that is looked for: with each the directions to try are several times as many.
const MOST_ROUTED: usize = 10;

/// Furthest a tube can be pulled, degrees: beyond that its legs cross (common practice, no source).
pub(super) const FURTHEST_PULL_DEGREES: f64 = 200.0;

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
        optional(
            "carries",
            Kind::Choice(words::<Carried>),
            "What the tubes carry: the sheet's tests, cautions and allowed pressures are for it. Oil stands for fuel and brake fluid, too.",
        ),
        optional("tube", Kind::Table(&TUBE), "The tube of all runs that do not name their own."),
        optional(
            "bender",
            Kind::AnyOf(&BENDERS),
            "The bender of all runs that do not name their own; a list of them, each with the `od` of its tube, where there are several.",
        ),
        optional(
            "anneal",
            ANNEAL,
            "Whether bends are annealed first, in all runs that do not say; auto where it is left out: where the bend would stretch the tube too far as it is.",
        ),
        optional("bend_from", BEND_FROM, BEND_FROM_DOC),
        optional("clearance", ZERO_OR_MORE, CLEARANCE_DOC),
        optional("stock", Kind::AnyOf(&STOCKS), "Tube as bought; a list where there are several tubes."),
        optional(
            "workshop",
            Kind::Table(&WORKSHOP),
            "What forms and checking jigs are cut, printed and joined with.",
        ),
        optional(
            "uncertainty",
            Kind::Table(&UNCERTAINTY),
            "How exactly the work is done: how far each run may miss its second port goes by it.",
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

/// The end that bending begins at.
const BEND_FROM: Kind = Kind::Choice(words::<BendFrom>);

const BEND_FROM_DOC: &str = "End that bending begins at; better where it is left out: the datum end, unless the bender cannot hold the tube from there, or leaves less than 10 mm to spare and the other end at least 10 mm more.";

const CLEARANCE_DOC: &str = "Least gap wanted between a run and everything else, from surface to surface: less is a warning. Without it only what touches is.";

/// A bender.
pub(super) static BENDER: Table = table(
    "bender",
    "A bender or bending form. Of several, a run has the one with the `od` of its tube. A run's own bender is laid over it key by key; test bends are left behind when the run changes `name` or `clr`.",
    &[
        optional("name", Kind::Text, "Its name."),
        optional(
            "od",
            POSITIVE,
            "Outside diameter of the tube it is for; for any tube where it is left out.",
        ),
        optional("clr", POSITIVE, "Centreline radius it forms."),
        optional("grip", ZERO_OR_MORE, "Straight it must hold before the start of a bend."),
        optional("lead_out", ZERO_OR_MORE, "Straight it needs after the end of a bend."),
        optional("mark", Kind::Choice(words::<MarkPoint>), "Point of the bend its reference line meets."),
        optional(
            "datum",
            Kind::Length(Sign::Any),
            "Signed distance from the reference line to the real start of bend.",
        ),
        optional(
            "max_angle",
            Kind::Angle(Degrees { min: 0.0, open: true, max: FURTHEST_PULL_DEGREES }),
            "Largest angle it can pull a tube to, degrees, springback included; 200 where it is left out.",
        ),
        optional(
            "lever",
            POSITIVE,
            "Length of its lever, from the middle of the former to the hand: the plan says how hard to pull.",
        ),
        optional("test_bends", Kind::List(&Kind::Table(&TEST_BEND)), "Trial pieces."),
    ],
);

/// Least angle of a trial piece, degrees: of less, a reading that is 0.1 degrees off is a tenth or more.
const LEAST_TESTED: f64 = 1.0;

/// Largest angle of a trial piece, degrees: as far past a U as one may fall short of it and still have a width.
const MOST_TESTED: f64 = 190.0;

pub(super) static TEST_BEND: Table = table(
    "test bend",
    "A trial piece: what it was pulled to and what it became.",
    &[
        required(
            "pulled",
            Kind::Angle(Degrees { min: LEAST_TESTED, open: false, max: FURTHEST_PULL_DEGREES }),
            "Angle pulled to, degrees.",
        ),
        required(
            "got",
            Kind::Angle(Degrees { min: LEAST_TESTED, open: false, max: MOST_TESTED }),
            "Angle after letting go, degrees; a U may close to more than 180.",
        ),
        optional("cut", POSITIVE, "Cut length."),
        optional("leg_a", POSITIVE, "First leg."),
        optional("leg_b", POSITIVE, "Second leg."),
        optional("measured", Kind::Choice(words::<LegMeasure>), "Where the legs were measured to."),
        optional("across", POSITIVE, "Width of a U bend over the backs of its legs, where the bend ends."),
        optional(
            "temper",
            Kind::Choice(words::<Temper>),
            "How hard the piece was when it was bent; as the bends of the runs are where it is left out.",
        ),
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
            Kind::Count(0, usize::MAX),
            "How many new pieces there are; as many as needed where it is left out.",
        ),
        optional("form", Kind::Choice(words::<StockForm>), "How it is sold; stick where it is left out."),
        optional(
            "straighten",
            Kind::LengthOrPercent,
            "What is cut off more for each piece, so that its bent ends can be cut off once it is straightened: a part of its length or a length; for a coil 3 %, but 30 mm at least, and 0 for a stick where it is left out.",
        ),
        optional(
            "leftovers",
            Kind::List(&POSITIVE),
            "Lengths of pieces left over from earlier, cut into where that saves new tube.",
        ),
        optional(
            "od",
            POSITIVE,
            "Outside diameter of the tube it is; without od and wall it is for every tube that no other stock names.",
        ),
        optional("wall", POSITIVE, "Wall thickness of the tube it is."),
    ],
);

static BENDERS: [Kind; 2] = [Kind::Table(&BENDER), Kind::List(&Kind::Table(&BENDER))];
static STOCKS: [Kind; 2] = [Kind::Table(&STOCK), Kind::List(&Kind::Table(&STOCK))];
