//! The node tree → the checked model: one file per part of the format.

mod bender;
mod component;
mod copy;
mod corner;
mod parallel;
pub(super) mod readings;
mod route;
mod run;
mod shape;
mod stock;
mod tested;
mod tube;
mod turns;
mod uncertainty;
mod units;
mod workshop;

use std::collections::BTreeSet;
use std::path::Path;

use super::Reading;
use super::fields::{Fields, Reader, UnitFrom};
use super::keys::{self, SPEC, Table};
use super::model::{Anneal, BendFrom, RunPath, Spec};
use super::named::{NamedFiles, Resolver};
use super::node::{Key, Node, Scalar, Value};
use crate::diagnostic::{Diagnostic, Diagnostics, Span, listed};
use crate::quantity::Unit;

pub(crate) use units::USUAL_CLRS;

/// Furthest a tube can be pulled, rad: beyond that its legs cross.
pub(crate) const FURTHEST_PULL: f64 = keys::FURTHEST_PULL_DEGREES.to_radians();

use component::{Fittings, Ports};
use copy::Copied;
use run::Sketch;

/// The only version of the format there is.
const FORMAT: &str = "1";

/// Which part of the spec a run falls back on.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Fallback {
    Tube,
    Bender,
}

impl Fallback {
    fn key(self) -> &'static str {
        match self {
            Fallback::Tube => "tube",
            Fallback::Bender => "bender",
        }
    }

    fn table(self) -> &'static Table {
        match self {
            Fallback::Tube => &keys::TUBE,
            Fallback::Bender => &keys::BENDER,
        }
    }
}

/// A part of the spec that runs fall back on.
struct Base<'n> {
    part: Fallback,
    given: Given<'n>,
    /// Whether any run used it, alone or under its own keys.
    used: bool,
    /// Runs that have none of their own and nothing to fall back on, with their places.
    lacking: Vec<(String, Span)>,
    /// Of several, those that runs have fallen back on.
    picked: BTreeSet<usize>,
}

enum Given<'n> {
    Absent,
    /// Written, but no mapping; noted.
    Broken,
    Fields(Fields<'n>),
    /// Benders by the size of their tube.
    BySize(Vec<bender::Sized<'n>>),
}

/// Tube, bender, annealing, first end and clearance of runs that do not say their own.
struct Defaults<'n> {
    tube: Base<'n>,
    bender: Base<'n>,
    anneal: Anneal,
    bend_from: BendFrom,
    clearance: Option<f64>,
}

/// Keys of a spec that say how runs are planned, not where they lie but for a bend's radius.
const PLANNED_BY: [&str; 7] = ["stock", "workshop", "anneal", "tube", "bender", "bend_from", "carries"];

/// Keys of a tube that describe its metal.
const METAL: [&str; 5] = ["density", "modulus", "yield_strength", "elongation", "hardening"];
/// Those of them that differ from temper to temper.
const OF_TEMPER: [&str; 3] = ["yield_strength", "elongation", "hardening"];

impl<'n> Base<'n> {
    fn read(reader: &mut Reader, spec: &Fields<'n>, part: Fallback) -> Base<'n> {
        let key = part.key();
        let given = match spec.has(key).then(|| reader.value(spec, key)) {
            // The key is misspelt: its value is not known.
            None if spec.is_meant(key) => Given::Broken,
            None => Given::Absent,
            Some(None) => Given::Broken,
            Some(Some((_, node))) if part == Fallback::Bender => {
                bender::given(reader, node, spec.place_of(key))
            }
            Some(Some((_, node))) => match reader.fields(node, part.table(), spec.place_of(key)) {
                Some(fields) => Given::Fields(fields),
                None => Given::Broken,
            },
        };
        Base { part, given, used: false, lacking: Vec::new(), picked: BTreeSet::new() }
    }

    /// The run's own keys over these; `None` where there are none that could be read. `od` is that of the run's tube,
    /// mm, where the tube was read before.
    fn merged(&mut self, reader: &mut Reader, run: &Fields<'n>, od: Option<f64>) -> Option<Fields<'n>> {
        let (part, key) = (self.part, self.part.key());
        let own = if run.has(key) {
            let (_, node) = reader.value(run, key)?;
            Some(reader.fields(node, part.table(), run.place_of(key))?)
        } else {
            None
        };
        // A run's own section of tube: what it does not say of the metal is the spec's.
        let section =
            part == Fallback::Tube && own.as_ref().is_some_and(|own| own.has("standard") || own.has("od"));
        if section {
            return self.metal_under(own?);
        }
        self.used = true;
        if let (Some(own), Some(od), Fallback::Bender) = (&own, od, part)
            && !bender::own_fits(reader, own, od)
        {
            return None;
        }
        let sized;
        let given = match &self.given {
            Given::BySize(benders) => {
                let at = bender::for_tube(reader, benders, run, own.as_ref(), od?)?;
                self.picked.extend(at);
                sized = at
                    .and_then(|at| benders.get(at))
                    .map_or(Given::Absent, |b| Given::Fields(b.fields.clone()));
                &sized
            }
            given => given,
        };
        match (given, own) {
            (Given::Broken | Given::BySize(_), _) => None,
            (Given::Absent, Some(own)) => Some(own),
            (Given::Absent, None) => {
                if !run.is_meant(key) {
                    self.lacking.push((reader.run().unwrap_or_default().to_owned(), run.place));
                }
                None
            }
            (Given::Fields(base), None) => Some(base.clone()),
            (Given::Fields(base), Some(own)) => {
                // Test bends describe one bender at one radius.
                let other = own.has("name") || own.has("clr");
                let left_behind: &[&str] = match part {
                    Fallback::Tube => stays_with_metal(&own),
                    Fallback::Bender if other => &["test_bends"],
                    Fallback::Bender => &[],
                };
                Some(own.over(base, left_behind))
            }
        }
    }
}

impl<'n> Base<'n> {
    /// Notes the runs without, all in one.
    fn note_lacking(&self, reader: &mut Reader) {
        let key = self.part.key();
        let Some((first, place)) = self.lacking.first() else { return };
        let names: Vec<String> = self.lacking.iter().map(|(name, _)| name.clone()).collect();
        let hint = format!("add `{key}:` to the spec for all runs, or to each run that has its own");
        if names.len() > 1 {
            let message = format!("there is no `{key}` for runs {}", listed(&names));
            reader.error("missing-key", *place, message, hint);
        } else {
            let message = format!("there is no `{key}` for this run");
            let hint = format!("add `{key}:` to the run, or to the spec for all runs");
            reader.note(Diagnostic::error("missing-key", message).hint(hint).at(*place).run(first));
        }
    }

    /// A run's own `standard` or `od` with the temper of these keys and, under `od`, their metal.
    fn metal_under(&self, own: Fields<'n>) -> Option<Fields<'n>> {
        const SECTION: [&str; 5] = ["standard", "size", "type", "od", "wall"];
        let base = match &self.given {
            Given::Fields(base) => base,
            Given::Absent => return Some(own),
            // A missing key would be asked for, though it may be the one that could not be read.
            Given::Broken | Given::BySize(_) => return Some(own).filter(|own| own.has("temper")),
        };
        let mut left_behind = SECTION.to_vec();
        if own.has("standard") {
            left_behind.push("material");
        }
        left_behind.extend(stays_with_metal(&own));
        Some(own.over(base, &left_behind))
    }

    /// Whether these are the keys of a tube of a standard. All of those are of copper.
    fn is_of_standard(&self) -> bool {
        matches!(&self.given, Given::Fields(base) if base.has("standard"))
    }
}

/// Keys of the spec's tube that do not hold for the metal or temper of a run's own.
fn stays_with_metal(own: &Fields<'_>) -> &'static [&'static str] {
    if own.has("standard") || own.has("material") {
        &METAL
    } else if own.has("temper") {
        &OF_TEMPER
    } else {
        &[]
    }
}

/// Reads a document; see [`super::read_with`].
pub(super) fn document(root: Option<&Node>, file_name: &str, resolver: &Resolver<'_>) -> Reading {
    let mut reader = Reader::new(&SPEC);
    let mut reading = nothing(file_name);
    let mut files = NamedFiles::new(resolver);
    if let Some(root) = root {
        // Another version has other rules; faults against ours would be guesses.
        if known_format(&mut reader, root)
            && let Some(fields) = reader.fields(root, &SPEC, root.place)
        {
            fill(&mut reader, &mut files, &mut reading, root, &fields);
        }
    } else {
        reader.note(
            Diagnostic::error("empty-file", "the file has no content")
                .hint("begin with `format: 1`; `tubewright init` writes a spec to start from"),
        );
    }
    Reading { findings: reader.finish(), files: files.finish(), ..reading }
}

/// The reading of a text that is not YAML.
pub(super) fn unreadable(diagnostic: Diagnostic, file_name: &str) -> Reading {
    let mut reading = nothing(file_name);
    reading.findings.push(diagnostic);
    reading
}

/// The reading of a file of this name before anything is read.
fn nothing(file_name: &str) -> Reading {
    let path = Path::new(file_name);
    let part = |part: Option<&std::ffi::OsStr>| part.and_then(|p| p.to_str()).unwrap_or("spec").to_owned();
    let name = part(path.file_stem());
    let spec = Spec {
        title: name.clone(),
        name,
        file_name: part(path.file_name()),
        units: Unit::Millimetre,
        carries: None,
        components: Vec::new(),
        runs: Vec::new(),
        stock: Vec::new(),
        workshop: Default::default(),
        uncertainty: Default::default(),
    };
    Reading {
        spec,
        findings: Diagnostics::new(),
        broken: Vec::new(),
        files: Vec::new(),
        run_names: Vec::new(),
    }
}

/// Reads the keys of a spec.
fn fill(
    reader: &mut Reader,
    files: &mut NamedFiles<'_>,
    reading: &mut Reading,
    root: &Node,
    fields: &Fields<'_>,
) {
    let Reading { spec, broken, run_names, .. } = reading;
    broken.extend(PLANNED_BY.into_iter().filter(|key| fields.is_meant(key)));
    if reader.needs(fields, "format")
        && let Some((_, node)) = reader.value(fields, "format")
    {
        reader.text(node, "the number 1");
    }
    spec.units = unit(reader, root, fields);
    if let Some(title) = reader.words(fields, "title") {
        reader.check_characters(&title, fields.value_place("title"));
        spec.title = title;
    }
    if let Some((_, node)) = reader.value(fields, "stock") {
        spec.stock =
            noting(reader, broken, "stock", |reader| stock::stocks(reader, node, fields.place_of("stock")));
    }
    if let Some((_, node)) = reader.value(fields, "workshop") {
        let place = fields.place_of("workshop");
        spec.workshop = noting(reader, broken, "workshop", |reader| workshop::workshop(reader, node, place));
    }
    if let Some((_, node)) = reader.value(fields, "uncertainty") {
        spec.uncertainty = uncertainty::uncertainty(reader, node, fields.place_of("uncertainty"));
    }
    let ports = components(reader, files, spec, fields);
    let anneal = noting(reader, broken, "anneal", |reader| run::anneal(reader, fields).unwrap_or_default());
    let bend_from =
        noting(reader, broken, "bend_from", |reader| run::bend_from(reader, fields).unwrap_or_default());
    spec.carries = noting(reader, broken, "carries", |reader| {
        reader
            .optional(fields, "carries", None, |reader| reader.choice(fields, "carries").map(Some))
            .flatten()
    });
    let before = reader.errors();
    let mut defaults = Defaults {
        tube: Base::read(reader, fields, Fallback::Tube),
        bender: Base::read(reader, fields, Fallback::Bender),
        anneal,
        bend_from,
        clearance: run::clearance(reader, fields),
    };
    let mut sound_defaults = reader.errors() == before;
    if let Some((_, node)) = reader.value(fields, "runs") {
        *run_names = runs(reader, spec, node, fields, &mut defaults, &ports);
    }
    defaults.tube.note_lacking(reader);
    defaults.bender.note_lacking(reader);
    let before = reader.errors();
    check_defaults(reader, &defaults);
    sound_defaults &= reader.errors() == before;
    if !sound_defaults {
        broken.extend(["tube", "bender"]);
    }
    stock::check_used(reader, spec);
    if reader.unit_from == UnitFrom::Unreadable {
        // Laid out in the wrong unit, they would have faults that are none.
        spec.components.clear();
        spec.runs.clear();
    }
}

/// The unit of the spec's bare numbers.
fn unit(reader: &mut Reader, root: &Node, fields: &Fields<'_>) -> Unit {
    let is_written = fields.has("units");
    if is_written {
        reader.chosen(fields, "units");
        // Another unit than the one meant would be wrong everywhere: it is not guessed.
        let written = fields.node("units").and_then(Node::scalar).filter(|text| Unit::SPEC.contains(text));
        let unit = written.and_then(Unit::from_name);
        reader.unit_from = if unit.is_some() { UnitFrom::Written } else { UnitFrom::Unreadable };
        reader.unit = unit.unwrap_or(reader.unit);
    }
    units::check(reader, root, is_written.then(|| fields.value_place("units")));
    reader.unit
}

/// Reads a part of the spec, whose key joins `broken` where there are errors in it.
fn noting<T>(
    reader: &mut Reader,
    broken: &mut Vec<&'static str>,
    key: &'static str,
    read: impl FnOnce(&mut Reader) -> T,
) -> T {
    let before = reader.errors();
    let value = read(reader);
    broken.extend((reader.errors() > before).then_some(key));
    value
}

/// Reads the fittings and components; their ports.
fn components(
    reader: &mut Reader,
    files: &mut NamedFiles<'_>,
    spec: &mut Spec,
    fields: &Fields<'_>,
) -> Ports {
    let fittings = match reader.value(fields, "fittings") {
        Some((_, node)) => component::fittings(reader, node),
        None => Fittings::new(),
    };
    let mut ports = Ports::new();
    let components = reader.value(fields, "components");
    let is_written = fields.has("components") || fields.is_meant("components");
    reader.no_ports = is_written && !components.is_some_and(|(_, node)| matches!(node.value, Value::Map(_)));
    if let Some((_, node)) = components {
        spec.components = component::components(reader, files, node, (&fittings, &mut ports));
    }
    ports
}

/// Reads the runs; the names of all, those with errors included.
fn runs<'n>(
    reader: &mut Reader,
    spec: &mut Spec,
    node: &'n Node,
    fields: &Fields<'n>,
    defaults: &mut Defaults<'n>,
    ports: &Ports,
) -> Vec<String> {
    if matches!(&node.value, Value::Map(entries) if entries.is_empty()) {
        let hint = "add a run under `runs:`; `tubewright init` writes a spec to start from";
        reader.error("no-runs", fields.place_of("runs"), "there are no runs", hint);
    }
    let mut written = Vec::new();
    let mut names = Vec::new();
    for (key, node) in reader.named(node, "run") {
        names.push(key.text.clone());
        reader.enter_run(Some(&key.text));
        let before = reader.errors();
        if let Some(fields) = reader.fields(node, &keys::RUN, key.place) {
            let copied = copy::copied(reader, &fields);
            written.push(Written { key, fields, copied, sound: reader.errors() == before });
        }
        reader.enter_run(None);
    }
    let known: Vec<copy::KnownRun<'_>> = written
        .iter()
        .map(|run| copy::KnownRun { name: &run.key.text, copied: run.copied.as_ref() })
        .collect();
    let order = copy::order(reader, &known);
    let mut sketches = vec![Sketch::default(); written.len()];
    for (index, source) in order {
        let Written { key, fields, copied, sound } = &written[index];
        reader.enter_run(Some(&key.text));
        let before = reader.errors();
        let other = source.map_or_else(Sketch::default, |source| sketches[source].clone());
        let source = copied.as_ref().map(|copied| (copied, &other));
        let sketch = run::run(reader, key, fields, defaults, ports, source);
        if *sound && reader.errors() == before {
            sketches[index] = sketch;
        }
        reader.enter_run(None);
    }
    for (run, sketch) in written.iter().zip(&sketches) {
        parallel::check(reader, &run.key.text, &sketch.parallels, &names);
    }
    let routes: Vec<(&str, Option<&RunPath>)> = written
        .iter()
        .zip(&sketches)
        .map(|(run, sketch)| (run.key.text.as_str(), sketch.path.as_ref()))
        .collect();
    let components: Vec<&str> = match fields.node("components").map(|node| &node.value) {
        Some(Value::Map(entries)) => entries.iter().map(|(key, _)| key.text.as_str()).collect(),
        _ => Vec::new(),
    };
    for run in &routes {
        route::check(reader, *run, (&routes, &components));
    }
    spec.runs.extend(sketches.into_iter().filter_map(Sketch::whole));
    names
}

/// A run as written.
struct Written<'n> {
    key: &'n Key,
    fields: Fields<'n>,
    /// What it is a copy of.
    copied: Option<Copied>,
    /// Whether nothing was wrong with its keys.
    sound: bool,
}

/// Runs may replace keys of a default, or all of it: what no run has read is read here.
fn check_defaults(reader: &mut Reader, defaults: &Defaults<'_>) {
    for base in [&defaults.tube, &defaults.bender] {
        if let Given::Fields(fields) = &base.given {
            reader.check_values(fields);
        }
    }
    if let Given::Fields(fields) = &defaults.bender.given {
        bender::test_bends(reader, fields);
    }
    if let Given::BySize(benders) = &defaults.bender.given {
        for (at, bender) in benders.iter().enumerate() {
            reader.check_values(&bender.fields);
            bender::test_bends(reader, &bender.fields);
            if !defaults.bender.picked.contains(&at) {
                bender::bender(reader, &bender.fields);
            }
        }
    }
    if let Given::Fields(fields) = &defaults.tube.given {
        tube::hardening(reader, fields);
    }
    if let (Given::Fields(fields), false) = (&defaults.tube.given, defaults.tube.used) {
        tube::tube(reader, fields, false);
    }
    if let (Given::Fields(fields), false) = (&defaults.bender.given, defaults.bender.used) {
        bender::bender(reader, fields);
    }
}

/// Whether the spec is of our version, or does not say; noted if it is of another.
fn known_format(reader: &mut Reader, root: &Node) -> bool {
    let Value::Map(entries) = &root.value else { return true };
    let format = entries.iter().find(|(key, _)| key.text == "format").map(|(_, node)| node);
    let Some(Node { value: Value::Scalar(Scalar { text, null: false }), place }) = format else {
        return true;
    };
    if text == FORMAT {
        return true;
    }
    let message = format!("format `{text}` is not known");
    reader.error("bad-format", *place, message, "this program reads `format: 1`");
    false
}
