//! Times of finding ways, each with its limit: six runs that cross each other, one run among 30 components, and the
//! clearances of 100 runs among 100 components.

#![allow(
    missing_docs,
    clippy::expect_used,
    clippy::print_stdout,
    reason = "criterion writes an undocumented main; a benchmark may stop, and says its limits"
)]

#[path = "../library/support.rs"]
mod support;

use std::fmt::Write;
use std::hint::black_box;
use std::time::{Duration, Instant};

use criterion::{Criterion, criterion_group, criterion_main};
use support::Chance;
use support::testing::table_run;
use tubewright::build::{Project, Unrouted};
use tubewright::centreline::{Centreline, CornerPoint, from_corners};
use tubewright::fit::{Surroundings, check_in_place};
use tubewright::geometry::Point3;
use tubewright::route::{EFFORT, Proof, Routed};
use tubewright::spec::model::{Component, Shape};
use tubewright::spec::no_files;

const SIX_RUNS: Duration = Duration::from_secs(1);
const ONE_RUN_MEDIAN: Duration = Duration::from_millis(50);
const ONE_RUN_95: Duration = Duration::from_millis(300);
const CLEARANCES: Duration = Duration::from_secs(1);

/// Scenes of one run, and components in each.
const SCENES: usize = 100;
const COMPONENTS: usize = 30;
const BENDS: usize = 4;

/// Radius and grip of the bender of one run, mm.
const CLR: f64 = 55.0;
const GRIP: f64 = 30.0;

/// Says a time beside its limit.
fn held(name: &str, time: Duration, limit: Duration) {
    let part = time.as_secs_f64() / limit.as_secs_f64();
    let word = if time <= limit { "held" } else { "NOT HELD" };
    println!(
        "{name}: {:.1} ms, limit {} ms: {part:.2} of it, {word}",
        time.as_secs_f64() * 1e3,
        limit.as_millis()
    );
}

/// Times a function by criterion, and says the median of its samples beside the limit.
fn timed<T>(criterion: &mut Criterion, name: &str, limit: Duration, mut function: impl FnMut() -> T) {
    let mut samples: Vec<Duration> = Vec::new();
    let mut group = criterion.benchmark_group("routes");
    group.sample_size(10);
    group.bench_function(name, |b| {
        b.iter_custom(|count| {
            let begun = Instant::now();
            (0..count).for_each(|_| drop(black_box(function())));
            let time = begun.elapsed();
            samples.push(time / u32::try_from(count).unwrap_or(u32::MAX));
            time
        });
    });
    group.finish();
    samples.sort();
    // No sample is taken of a benchmark that is left out.
    if let Some(median) = samples.get(samples.len() / 2) {
        held(name, *median, limit);
    }
}

fn unrouted(text: &str) -> Unrouted {
    let unrouted = Unrouted::read_with(text, "bench.yaml", &no_files);
    assert!(!unrouted.findings().has_errors(), "{:?}", unrouted.findings());
    unrouted
}

/// The number of runs with a way, and of those whose way is proven best.
fn counts(routed: &Routed<'_>) -> [usize; 2] {
    let found = routed.found.iter().filter(|found| !found.answer.ways.is_empty());
    let proven = found.clone().filter(|found| found.answer.proof == Proof::Proven);
    [found.count(), proven.count()]
}

/// A manifold and a rack of valves with a beam between them; every line goes to a valve two places on.
fn crossing() -> String {
    let mut text = "format: 1\n\
        tube: {od: 12, wall: 1, material: copper, temper: soft}\n\
        bender: {clr: 36, grip: 20, lead_out: 12}\n\
        fittings: {union: {tube_od: 12, insert: 10, straight: 8}}\n\
        components:\n  beam: {box: {from: [190, 40, -40], to: [250, 370, 130]}}\n"
        .to_owned();
    for (name, x, facing) in [("manifold", [0, 60], 1), ("rack", [430, 490], -1)] {
        let face = if facing > 0 { x[1] } else { x[0] };
        writeln!(
            text,
            "  {name}:\n    box: {{from: [{}, 0, 0], to: [{}, 420, 210]}}\n    ports:",
            x[0], x[1]
        )
        .expect("fits memory");
        for port in 0..6 {
            let (y, z) = (55 + 62 * port, 70 + 35 * (port % 2));
            writeln!(
                text,
                "      p{port}: {{at: [{face}, {y}, {z}], facing: [{facing}, 0, 0], fitting: union}}"
            )
            .expect("fits memory");
        }
    }
    text += "runs:\n";
    for run in 0..6 {
        writeln!(text, "  line-{run}: {{from: manifold.p{run}, to: rack.p{}}}", (run + 2) % 6)
            .expect("fits memory");
    }
    text
}

fn six_runs(criterion: &mut Criterion) {
    let unrouted = unrouted(&crossing());
    let [found, proven] = counts(&unrouted.ways(1, EFFORT));
    println!("six runs that cross: {found} found, {proven} proven");
    timed(criterion, "six runs that cross", SIX_RUNS, || unrouted.ways(1, EFFORT));
}

/// Points along four bends of 90°, and the line through them.
fn known(chance: &mut Chance) -> Option<(Vec<[f64; 3]>, Centreline)> {
    let mut points = vec![[0.0; 3]];
    let mut last_axis = 3;
    for leg in 0..=BENDS {
        let axes: Vec<usize> = (0..3).filter(|axis| *axis != last_axis).collect();
        let axis = if leg == 0 { 0 } else { *chance.pick(&axes) };
        let sign = if leg == 0 { 1.0 } else { *chance.pick(&[1.0, -1.0]) };
        let setbacks = if leg == 0 || leg == BENDS { CLR } else { 2.0 * CLR };
        let mut point = points[leg];
        point[axis] += sign * (setbacks + GRIP + chance.between(1.0, 200.0).round());
        points.push(point);
        last_axis = axis;
    }
    let corners: Vec<CornerPoint> =
        points[1..=BENDS].iter().map(|at| CornerPoint { at: Point3::from(*at), radius: CLR }).collect();
    let line = from_corners(Point3::from(points[0]), &corners, Point3::from(points[BENDS + 1])).ok()?;
    // 6 mm: it keeps the usual clearance from itself, too.
    let is_clear = Surroundings::to_itself(&line, 15.0).is_none_or(|near| near > 6.0);
    is_clear.then_some((points, line))
}

/// A spec of one run to be found, among boxes that are clear of a way with four bends.
fn scene(chance: &mut Chance) -> Option<String> {
    let (points, line) = known(chance)?;
    let run = table_run("known", CLR, &[], 100.0).run;
    let mut text = format!(
        "format: 1\ntube: {{od: 15, wall: 1, material: copper, temper: soft}}\n\
         bender: {{clr: {CLR}, grip: {GRIP}, lead_out: 15}}\ncomponents:\n"
    );
    let reach =
        |axis: usize, sign: f64| points.iter().map(|p| p[axis] * sign).fold(f64::MIN, f64::max) * sign;
    let room = [0, 1, 2].map(|axis| [reach(axis, -1.0) - 150.0, reach(axis, 1.0) + 150.0]);
    let mut placed = 0;
    // The room about the line is larger than the line: some box is clear of it in the end.
    while placed < COMPONENTS {
        let middle = room.map(|[low, high]| chance.between(low, high));
        let half = [0, 1, 2].map(|_| chance.between(10.0, 70.0));
        let corner = |sign: f64| [0, 1, 2].map(|k| (middle[k] + sign * half[k]).round());
        let [low, high] = [corner(-1.0), corner(1.0)];
        let shape = Shape::square(Point3::from(low), Point3::from(high));
        let one = [Component::new("box", vec![shape], vec![])];
        // The usual clearance of 3 mm, beyond planes.
        if Surroundings::new(&one, &[]).breaches(&run, &line, &[], 6.0).is_empty() {
            writeln!(text, "  b{placed}: {{box: {{from: {low:?}, to: {high:?}}}}}").expect("fits memory");
            placed += 1;
        }
    }
    let facing = |at: [f64; 3], next: [f64; 3]| [0, 1, 2].map(|k| (next[k] - at[k]).clamp(-1.0, 1.0));
    let (first, last) = (points[0], points[BENDS + 1]);
    let (out, back) = (facing(first, points[1]), facing(last, points[BENDS]));
    writeln!(
        text,
        "runs:\n  r: {{from: {{at: {first:?}, facing: {out:?}}}, to: {{at: {last:?}, facing: {back:?}}}}}"
    )
    .expect("fits memory");
    Some(text)
}

fn one_run(_: &mut Criterion) {
    let mut chance = Chance(11);
    let mut times: Vec<Duration> = Vec::new();
    let (mut found, mut proven, mut bends) = (0, 0, [0; BENDS + 1]);
    // Some lines turn back on themselves; each draw goes on in the numbers.
    while times.len() < SCENES {
        let Some(text) = scene(&mut chance) else { continue };
        let unrouted = unrouted(&text);
        let begun = Instant::now();
        let routed = black_box(unrouted.ways(1, EFFORT));
        times.push(begun.elapsed());
        let [one, best] = counts(&routed);
        found += one;
        proven += best;
        let way = routed.found.first().and_then(|found| found.answer.ways.first());
        if let Some(count) = way.and_then(|way| bends.get_mut(way.corners.len())) {
            *count += 1;
        }
    }
    times.sort();
    println!(
        "one run among {COMPONENTS} components: {SCENES} scenes, {found} found, {proven} proven; with 0 to {BENDS} \
         bends: {bends:?}; the longest {:.1} ms",
        times[SCENES - 1].as_secs_f64() * 1e3
    );
    held("one run, median", times[SCENES / 2], ONE_RUN_MEDIAN);
    held("one run, 95 %", times[SCENES * 95 / 100], ONE_RUN_95);
}

/// A hundred runs of three bends, each 2 mm above a box of its own.
fn hundred() -> String {
    let mut text = "format: 1\ntube: {od: 12, wall: 1, material: copper, temper: soft}\n\
        bender: {clr: 36, grip: 20, lead_out: 12}\ncomponents:\n"
        .to_owned();
    let place = |index: i32| (40 * (index % 10), 40 * (index / 10));
    for index in 0..100 {
        let (y, z) = place(index);
        let (low, high) = ([140, y - 4, z - 2], [160, y + 4, z + 14]);
        writeln!(text, "  b{index}: {{box: {{from: {low:?}, to: {high:?}}}}}").expect("fits memory");
    }
    text += "runs:\n";
    for index in 0..100 {
        let (y, z) = place(index);
        // Lines of one row lie inside each other, and so do those of one column.
        let (near, far) = (400 - 20 * (index % 10), 700 - 20 * (index / 10));
        let from = [0, y, z + 22];
        let corners = [[near, y, z + 22], [near, y + 420, z + 22], [far, y + 420, z + 22]];
        let to = [far, y + 420, z + 500];
        writeln!(text, "  r{index}: {{from: {from:?}, to: {to:?}, corners: {corners:?}}}")
            .expect("fits memory");
    }
    text
}

fn clearances(criterion: &mut Criterion) {
    let project = Project::read(&hundred(), "bench.yaml")
        .map_err(|findings| findings.iter().next().map(|first| first.message.clone()))
        .expect("is sound");
    let layout = project.layout();
    let (report, findings) = check_in_place(layout);
    let measured = (0..layout.runs.len()).filter(|run| report.min_clearance(*run).is_some()).count();
    println!(
        "clearances of {} runs among {} components: {measured} have a nearest, {} findings",
        layout.runs.len(),
        layout.components.len(),
        findings.iter().count()
    );
    timed(criterion, "clearances of 100 runs among 100 components", CLEARANCES, || check_in_place(layout));
}

criterion_group!(benches, six_runs, one_run, clearances);
criterion_main!(benches);
