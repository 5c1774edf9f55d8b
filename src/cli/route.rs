//! `tubewright route`: the best ways of runs that have only ends, and one of them into the spec.

use std::fs;
use std::path::Path;

use serde::Serialize;
use tubewright::build::{Project, Unrouted};
use tubewright::diagnostic::{Diagnostic, Diagnostics};
use tubewright::export::Meta;
use tubewright::plan::RunPlan;
use tubewright::quantity::decimals;
use tubewright::route::{EFFORT, Found, Proof, Routed, Way};
use tubewright::spec::Resolver;
use tubewright::spec::edit::with_corners;
use tubewright::spec::model::RunPath;
use tubewright::{drawing, export};

use super::Outcome;
use super::args::{ReportFormat, RouteArguments, SpecArguments};
use super::read::{FromSpec, ReadSpec, STDIN, read_specs};
use super::table;
use super::terminal::{Page, Terminal, shown};

impl FromSpec for Unrouted {
    fn read(text: &str, file_name: &str, resolver: &Resolver<'_>) -> (Self, Diagnostics) {
        let unrouted = Unrouted::read_with(text, file_name, resolver);
        let findings = unrouted.findings().clone();
        (unrouted, findings)
    }
}

/// A way of a run, planned among the ways that the others take.
struct Planned<'r> {
    found: &'r Found,
    /// From 1.
    number: usize,
    way: &'r Way,
    /// None where it cannot be planned: the findings say why.
    project: Result<Project, Diagnostics>,
}

impl Planned<'_> {
    fn plan(&self) -> Option<&RunPlan> {
        self.project.as_ref().ok()?.plan().run(&self.found.name)
    }
}

pub(super) fn run(terminal: &Terminal, arguments: &RouteArguments) -> Outcome {
    let one = SpecArguments { specs: vec![arguments.spec.clone()], strict: false, format: arguments.format };
    let specs = match read_specs::<Unrouted>(terminal, &one) {
        Ok(specs) => specs,
        Err(outcome) => return outcome,
    };
    let Some(spec) = specs.first() else { return Outcome::Done };
    let Some(unrouted) = spec.project.as_ref().filter(|_| spec.sound(false)) else {
        spec.show(terminal, false);
        return Outcome::SpecErrors;
    };
    if let Err(unknown) = known(unrouted, &arguments.runs) {
        return terminal.complain(&unknown, Outcome::Usage);
    }
    let wanted = arguments.ways.max(arguments.take.unwrap_or(0));
    // An effort is counted, not timed.
    let effort = (EFFORT as f64 * arguments.seconds / 2.0) as usize;
    let routed = unrouted.ways(usize::from(wanted), effort);
    let is_shown = |found: &&Found| arguments.runs.is_empty() || arguments.runs.contains(&found.name);
    let shown: Vec<&Found> = routed.found.iter().filter(is_shown).collect();
    let mut findings = about(&routed.findings, &shown);
    // A port that faces the wrong way leads every way astray.
    findings.extend(unrouted.findings().iter().filter(|finding| finding.code.starts_with("port-")).cloned());
    spec.show_findings(terminal, &findings, terminal.quiet);
    if let Some(number) = arguments.take {
        return take(terminal, spec, unrouted, &routed, &shown, usize::from(number));
    }
    let planned: Vec<Planned<'_>> =
        shown.iter().flat_map(|found| plans(unrouted, &routed, found, usize::from(arguments.ways))).collect();
    let mut outcome = if shown.iter().any(|found| found.answer.ways.is_empty()) {
        Outcome::SpecErrors
    } else {
        Outcome::Done
    };
    let text = match arguments.format {
        ReportFormat::Json => json(spec, &shown, &planned),
        ReportFormat::Text if shown.is_empty() => {
            let none = "No run has only `from` and `to`, or a `route`: there is no way to find.";
            format!("{}\n{}", spec.called(), terminal.page().wrapped(none, 0))
        }
        ReportFormat::Text => format!("{}\n{}", spec.called(), tables(&shown, &planned, terminal.page())),
    };
    outcome = outcome.max(terminal.print(&text));
    if let Some(file) = &arguments.svg {
        outcome = outcome.max(draw(terminal, file, &spec.called(), &planned));
    }
    outcome
}

/// The findings of the runs that are shown.
fn about(findings: &Diagnostics, shown: &[&Found]) -> Diagnostics {
    let mut about = Diagnostics::new();
    let is_shown =
        |finding: &&Diagnostic| shown.iter().any(|found| finding.run.as_ref() == Some(&found.name));
    about.extend(findings.iter().filter(is_shown).cloned());
    about
}

/// Whether every name is a run whose way is to be found.
fn known(unrouted: &Unrouted, names: &[String]) -> Result<(), String> {
    let runs = unrouted.spec().runs();
    for name in names {
        let Some(run) = runs.iter().find(|run| run.name == *name) else {
            let all: Vec<String> = runs.iter().map(|run| format!("`{}`", run.name)).collect();
            return Err(format!("the spec has no run `{name}`; its runs are {}", all.join(", ")));
        };
        if !matches!(run.path, RunPath::Route(_)) {
            return Err(format!(
                "run `{name}` has a way of its own; only runs with no more than ends are looked for"
            ));
        }
    }
    Ok(())
}

fn plans<'r>(unrouted: &Unrouted, routed: &'r Routed<'_>, found: &'r Found, most: usize) -> Vec<Planned<'r>> {
    let ways = found.answer.ways.iter().take(most).enumerate();
    ways.filter_map(|(index, way)| {
        let checked = unrouted.checked_in_place(routed.with_way(&found.name, index)?);
        let project =
            checked.clone().plan().or_else(|_| checked.plan_only(std::slice::from_ref(&found.name)));
        Some(Planned { found, number: index + 1, way, project })
    })
    .collect()
}

fn tables(shown: &[&Found], planned: &[Planned<'_>], page: Page) -> String {
    let each = shown.iter().map(|found| {
        let mine: Vec<&Planned<'_>> = planned.iter().filter(|way| way.found.name == found.name).collect();
        let head = page.wrapped(&format!("{}: {}", found.name, proof(found)), 0);
        let is_stopped = mine.iter().any(|way| way.plan().is_some_and(|plan| !plan.may_be_cut()));
        let stopped = if is_stopped {
            page.wrapped("do not cut it yet: `tubewright check` says why", 0)
        } else {
            String::new()
        };
        if mine.is_empty() { head } else { format!("{head}{stopped}{}", ways_table(&mine, page)) }
    });
    if planned.is_empty() {
        return format!("\n{}", each.collect::<Vec<_>>().join("\n"));
    }
    let note = "end off: how far the end that is put in last may be off, along the tube and to a side (95 %). Write a \
                way into the spec: tubewright route SPEC RUN --take WAY";
    format!("\n{}\n{}", each.collect::<Vec<_>>().join("\n"), page.wrapped(note, 0))
}

fn proof(found: &Found) -> String {
    let answer = &found.answer;
    match (answer.ways.is_empty(), answer.proof) {
        (true, Proof::Proven) => "proven to have no way along these directions".to_owned(),
        (true, Proof::Open { .. }) => "no way was found with the effort allowed".to_owned(),
        (false, Proof::Proven) => "the first way is proven best along these directions".to_owned(),
        (false, Proof::Open { bends, length }) => format!(
            "not proven best: a way of {bends} bends and {} mm of tube is not excluded",
            decimals(length, 0)
        ),
    }
}

fn ways_table(ways: &[&Planned<'_>], page: Page) -> String {
    let rows = ways.iter().map(|planned| {
        let bends = planned.way.line.bends();
        let angles: Vec<String> = bends.iter().map(|bend| decimals(bend.angle.to_degrees(), 1)).collect();
        let plan = planned.plan();
        let number = |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |mm| format!("{mm:.1}"));
        let spare = plan.and_then(|plan| {
            let order = &plan.order;
            order.datum_end.spare.into_iter().chain(order.other_end.spare).reduce(f64::max)
        });
        vec![
            planned.number.to_string(),
            bends.len().to_string(),
            planned.way.planes.to_string(),
            angles.join(" "),
            number(plan.map(|plan| plan.cut_length)),
            number(plan.and_then(RunPlan::min_clearance)),
            number(spare),
            off(plan),
        ]
    });
    let header = [
        "way",
        "bends",
        "planes",
        "angles °",
        "cut length mm",
        "clearance mm",
        "straight to spare mm",
        "end off mm",
    ];
    table::set(&header, rows, 0, page)
}

/// The far end's error, 95 %: along the tube and to a side.
fn off(plan: Option<&RunPlan>) -> String {
    let error = plan.and_then(|plan| plan.far_end.as_ref()).map(|far| far.error);
    error.map_or_else(|| "-".to_owned(), |error| format!("{:.1} {:.1}", error.along, error.across))
}

/// One way in a JSON report.
#[derive(Serialize)]
struct WayData {
    number: usize,
    planes: usize,
    angles_deg: Vec<f64>,
    corners_mm: Vec<[f64; 3]>,
    cut_length_mm: Option<f64>,
    min_clearance_mm: Option<f64>,
    /// The error of the end that is put in last, 95 %; none where an end has no port.
    far_end: Option<FarEndData>,
}

#[derive(Serialize)]
struct FarEndData {
    along_mm: f64,
    across_mm: f64,
    angle_deg: f64,
    /// How likely the tube goes in, 0 to 1.
    goes_in: f64,
}

#[derive(Serialize)]
struct RunWays<'a> {
    name: &'a str,
    proven: bool,
    ways: Vec<WayData>,
}

#[derive(Serialize)]
struct Report<'a> {
    command: &'static str,
    spec: String,
    runs: Vec<RunWays<'a>>,
}

fn json(spec: &ReadSpec<Unrouted>, shown: &[&Found], planned: &[Planned<'_>]) -> String {
    let runs = shown.iter().map(|found| RunWays {
        name: &found.name,
        proven: found.answer.proof == Proof::Proven,
        ways: planned.iter().filter(|way| way.found.name == found.name).map(way_data).collect(),
    });
    let report = Report { command: "route", spec: spec.path.display().to_string(), runs: runs.collect() };
    String::from_utf8_lossy(&export::json::document(&report)).into_owned()
}

fn way_data(planned: &Planned<'_>) -> WayData {
    let plan = planned.plan();
    WayData {
        number: planned.number,
        planes: planned.way.planes,
        angles_deg: planned.way.line.bends().iter().map(|bend| bend.angle.to_degrees()).collect(),
        corners_mm: planned.way.rounded_corners().iter().map(|at| [at.x, at.y, at.z]).collect(),
        cut_length_mm: plan.map(|plan| plan.cut_length),
        min_clearance_mm: plan.and_then(RunPlan::min_clearance),
        far_end: plan.and_then(|plan| plan.far_end.as_ref()).map(|far| FarEndData {
            along_mm: far.error.along,
            across_mm: far.error.across,
            angle_deg: far.error.angle.to_degrees(),
            goes_in: far.goes_in,
        }),
    }
}

/// Writes the corners of a way into the spec.
fn take(
    terminal: &Terminal,
    spec: &ReadSpec<Unrouted>,
    unrouted: &Unrouted,
    routed: &Routed<'_>,
    shown: &[&Found],
    number: usize,
) -> Outcome {
    let [found] = shown else {
        let names: Vec<String> = shown.iter().map(|found| format!("`{}`", found.name)).collect();
        let why = match names.as_slice() {
            [] => "no run has a way to be found".to_owned(),
            names => format!("`--take` is for one run: name one of {}", names.join(", ")),
        };
        return terminal.complain(&why, Outcome::Usage);
    };
    let name = &found.name;
    let Some(with_way) = routed.with_way(name, number - 1) else {
        let there = found.answer.ways.len();
        return terminal
            .complain(&format!("run `{name}` has no way {number}: {there} were found"), Outcome::Usage);
    };
    let unit = unrouted.spec().units();
    let run = with_way.spec.runs().iter().find(|run| run.name == *name);
    let Some(RunPath::Corners(corners)) = run.map(|run| &run.path) else { return Outcome::SpecErrors };
    let written: Vec<String> = corners
        .iter()
        .map(|corner| [corner.at.x, corner.at.y, corner.at.z].map(|mm| unit.number(mm)).join(", "))
        .map(|numbers| format!("[{numbers}]"))
        .collect();
    let changed = match with_corners(&spec.text, name, &written) {
        Ok(changed) => changed,
        Err(fault) => {
            let why = format!(
                "run `{name}` was left as it is: {fault}. Write it yourself: corners: [{}]",
                written.join(", ")
            );
            return terminal.complain(&why, Outcome::SpecErrors);
        }
    };
    if spec.path.as_os_str() == STDIN {
        return terminal.print(&changed);
    }
    match replace(&spec.path, &changed) {
        Ok(()) => {
            let file = spec.called();
            let wrote = format!("wrote way {number} of {name} into {file}");
            let gone = lost_wishes(unrouted, name).map(|lost| format!("\n{lost}")).unwrap_or_default();
            terminal.tell(&format!("{wrote}{gone}\nnext: tubewright check {file}\n"))
        }
        Err(error) => terminal.complain(&format!("could not write {}: {error}", spec.called()), Outcome::Io),
    }
}

/// Words about wishes that went with the `route` of a run, where it had some that are checked no longer.
fn lost_wishes(unrouted: &Unrouted, name: &str) -> Option<String> {
    let run = unrouted.spec().runs().iter().find(|run| run.name == name)?;
    let RunPath::Route(route) = &run.path else { return None };
    let unit = unrouted.spec().units();
    let clearance = route
        .clearance
        .map(|mm| format!("write `clearance: {}` beside them to have it checked", unit.number(mm)));
    let others = !(route.avoid.is_empty() && route.through.is_empty()) || route.like.is_some();
    match (clearance, others) {
        (None, false) => None,
        (clearance, _) => Some(format!(
            "its `route` is gone, and with it what it asked for{}",
            clearance.map(|words| format!(": {words}")).unwrap_or_default()
        )),
    }
}

/// Puts a whole new text in place of a file at once.
fn replace(path: &Path, text: &str) -> std::io::Result<()> {
    // A link is followed, so that the file itself is replaced.
    let path = fs::canonicalize(path)?;
    let mut name = path.file_name().unwrap_or_default().to_owned();
    name.push(".new");
    let beside = path.with_file_name(name);
    fs::write(&beside, text)?;
    fs::set_permissions(&beside, fs::metadata(&path)?.permissions())?;
    fs::rename(&beside, &path).inspect_err(|_| drop(fs::remove_file(&beside)))
}

fn draw(terminal: &Terminal, file: &Path, name: &str, planned: &[Planned<'_>]) -> Outcome {
    let mark =
        planned.iter().find_map(|planned| Some(planned.project.as_ref().ok()?.mark())).unwrap_or_default();
    let ways: Vec<drawing::overview::ways::ShownWay<'_>> = planned
        .iter()
        .filter_map(|planned| {
            let project = planned.project.as_ref().ok()?;
            let plan = planned.plan()?;
            let label = format!("{} {}", planned.found.name, planned.number);
            let more = drawing::overview::ways::facts(plan, planned.way.planes);
            Some(drawing::overview::ways::ShownWay {
                layout: project.layout(),
                run: &planned.found.name,
                label,
                more,
            })
        })
        .collect();
    let meta = Meta { title: format!("Ways of {name}"), mark: mark.to_owned(), timestamp: 0 };
    let picture = drawing::overview::ways::side_by_side(&ways);
    match fs::write(file, export::svg::render(&picture, &meta)) {
        Ok(()) => terminal.tell(&format!("wrote {}\n", shown(file))),
        Err(error) => terminal.complain(&format!("could not write {}: {error}", shown(file)), Outcome::Io),
    }
}
