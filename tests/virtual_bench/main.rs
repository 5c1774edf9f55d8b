//! Every run is bent on a virtual bench by its plan's numbers alone, from both ends, and must end where the
//! spec says. The bench (`bench.rs`) and the shapes wanted here know nothing of the program's own geometry, nor of
//! the library's bench: what is compared are the ports, corners and bend tables of the spec.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on must stop"
)]

mod agree;
mod bench;
mod case;
mod metal;

use bench::{Form, Miss, Shape, Tool, TubeEnd, Way, bend};
use case::case;
use proptest::prelude::*;
use serde_json::{Value, json};
use tubewright::build::Project;
use tubewright::export;
use tubewright::geometry::{EuclideanSpace, InnerSpace, Vector3};
use tubewright::spec;
use tubewright::spec::model::{MarkPoint, OwnClr, Run, RunPath};

/// The plan of a spec as its file says it.
fn plan_of(project: &Project) -> Value {
    let bytes = export::json::plan(project.plan(), project.tooling(), project.findings(), project.mark());
    serde_json::from_slice(&bytes).expect("is JSON")
}

fn spun(v: Vector3, axis: Vector3, angle: f64) -> Vector3 {
    v * angle.cos() + axis.cross(v) * angle.sin() + axis * (axis.dot(v) * (1.0 - angle.cos()))
}

/// A row of a bend table, rad and mm.
#[derive(Debug, Clone, Copy)]
struct Row {
    length: f64,
    rotation: f64,
    angle: f64,
    clr: f64,
}

/// A tube walked along: its shape, the axis of its last bend, and its corners.
struct Walked {
    shape: Shape,
    last_axis: Option<Vector3>,
    corners: Vec<Vector3>,
}

impl Walked {
    fn from(&self, other_end: bool) -> Shape {
        // Walked from its other end a bend turns the other way about.
        if other_end { self.shape.reversed(self.last_axis.map(|axis| -axis)) } else { self.shape }
    }
}

/// Walks a bend table from a place in a direction; the first rotation is from the plane square to +Z.
fn walk(at: Vector3, direction: Vector3, rows: &[Row], end_length: f64) -> Walked {
    let first = TubeEnd { at, into: direction };
    let up = if direction.x.hypot(direction.y) < 1e-9 { Vector3::unit_x() } else { Vector3::unit_z() };
    let mut normal = (up - direction * up.dot(direction)).normalize();
    let (mut at, mut direction) = (at, direction);
    let (mut axes, mut corners) = (Vec::new(), Vec::new());
    for row in rows {
        at += direction * row.length;
        normal = spun(normal, direction, row.rotation);
        corners.push(at + direction * (row.clr * (row.angle / 2.0).tan()));
        let centre = at + normal.cross(direction) * row.clr;
        at = centre + spun(at - centre, normal, row.angle);
        direction = spun(direction, normal, row.angle);
        axes.push(normal);
    }
    at += direction * end_length;
    let shape = Shape { first, last: TubeEnd { at, into: -direction }, axis: axes.first().copied() };
    Walked { shape, last_axis: axes.last().copied(), corners }
}

/// The shape that ends and corners ask for.
fn through(points: &[Vector3]) -> Walked {
    let legs: Vec<Vector3> = points.windows(2).map(|pair| (pair[1] - pair[0]).normalize()).collect();
    let axes: Vec<Vector3> = legs.windows(2).map(|pair| pair[0].cross(pair[1]).normalize()).collect();
    let shape = Shape {
        first: TubeEnd { at: points[0], into: legs[0] },
        last: TubeEnd { at: points[points.len() - 1], into: -legs[legs.len() - 1] },
        axis: axes.first().copied(),
    };
    Walked { shape, last_axis: axes.last().copied(), corners: points[1..points.len() - 1].to_vec() }
}

/// What a run of a spec asks for.
fn wanted(run: &Run) -> Walked {
    let from = run.from.as_ref();
    match &run.path {
        RunPath::Corners(corners) => {
            let ends = [from, run.to.as_ref()].map(|end| end.expect("an end").at.to_vec());
            let between = corners.iter().map(|corner| corner.at.to_vec());
            through(&[ends[0]].into_iter().chain(between).chain([ends[1]]).collect::<Vec<_>>())
        }
        RunPath::Bends { rows, end_length } => {
            let rows: Vec<Row> = rows
                .iter()
                .map(|row| Row {
                    length: row.length,
                    rotation: row.rotation,
                    angle: row.angle,
                    clr: row.clr.map_or(run.bender.clr, |own| own.mm),
                })
                .collect();
            let at = from.map_or(Vector3::new(0.0, 0.0, 0.0), |end| end.at.to_vec());
            let facing = from.and_then(|end| end.facing).unwrap_or(Vector3::unit_x());
            walk(at, facing.normalize(), &rows, *end_length)
        }
        RunPath::Route(_) | RunPath::SameAs(_) => panic!("no path of its own"),
    }
}

fn tool(mark: MarkPoint, datum: f64) -> Tool {
    let point = match mark {
        MarkPoint::Start => 0.0,
        MarkPoint::Middle => 0.5,
        MarkPoint::End => 1.0,
    };
    Tool { datum, point }
}

/// A form that gives a finished radius in a metal that springs back as theory says; `None` for one that does
/// not spring back.
fn plain_form(clr: f64, metal: Option<(metal::Law, f64, f64)>) -> Form {
    let rate = metal.map_or(0.0, |(law, od, wall)| 1.0 - metal::held(law, od, wall, clr) / clr);
    Form { clr, stretch: 0.0, fixed: 0.0, rate }
}

/// The law of copper as it is bent: soft or annealed, or by the strength of its temper.
fn copper(temper: &str, annealed: bool) -> metal::Law {
    match temper {
        "soft" => metal::Law::SOFT_COPPER,
        _ if annealed => metal::Law::SOFT_COPPER,
        "half-hard" => metal::Law::yielding(117_200.0, 250.0),
        "hard" => metal::Law::yielding(117_200.0, 290.0),
        other => panic!("temper {other}"),
    }
}

/// What the tool makes of the bends of a demo's run: the radius written for each, and copper's springback
/// where the plan reckons with it.
fn demo_forms(run: &Run, plan: &Value) -> Vec<Form> {
    let own: Vec<Option<OwnClr>> = match &run.path {
        RunPath::Corners(corners) => corners.iter().map(|corner| corner.clr).collect(),
        RunPath::Bends { rows, .. } => rows.iter().map(|row| row.clr).collect(),
        RunPath::Route(_) | RunPath::SameAs(_) => panic!("no path of its own"),
    };
    let radii: Vec<f64> = own.iter().map(|own| own.map_or(run.bender.clr, |own| own.mm)).collect();
    assert_eq!(run.tube.material(), "copper");
    let planned = plan["bends"].as_array().unwrap();
    assert_eq!(planned.len(), radii.len());
    let form = |(clr, planned): (f64, &Value)| {
        assert_eq!(planned["springback_source"], "predicted");
        let law = copper(run.tube.temper().name(), !planned["anneal_from_mm"].is_null());
        plain_form(clr, Some((law, run.tube.od(), run.tube.wall())))
    };
    radii.into_iter().zip(planned).map(form).collect()
}

#[test]
fn the_demos_and_the_starters_end_in_their_ports() {
    let specs = [
        ("starter", spec::STARTER),
        ("starter in inches", spec::STARTER_INCHES),
        ("starter from ports", spec::STARTER_PORTS),
        ("starter from ports in inches", spec::STARTER_PORTS_INCHES),
        ("reading-room", include_str!("../../specs/reading-room.yaml")),
        ("espresso", include_str!("../../specs/espresso.yaml")),
        ("lamp-arm", include_str!("../../specs/lamp-arm.yaml")),
    ];
    let (mut bent, mut ports) = (0, 0);
    for (name, text) in specs {
        let project = Project::read(text, name).expect(name);
        let plan = plan_of(&project);
        for (laid, planned) in project.layout().runs.iter().zip(plan["runs"].as_array().unwrap()) {
            let run = &laid.run;
            let tool = tool(run.bender.mark, run.bender.datum);
            let target = wanted(run);
            let forms = demo_forms(run, planned);
            for way in Way::all() {
                let made = bend(planned, tool, &forms, way)
                    .unwrap_or_else(|fault| panic!("{name}, {} {way:?}: {fault}", run.name));
                let miss = made.miss(&target.from(way.other_end));
                assert!(miss.fits(), "{name}, {} {way:?}: {miss:?}", run.name);
                bent += 1;
            }
            // The shape wanted is the ports' own, too.
            for (end, found) in [(&run.from, target.shape.first), (&run.to, target.shape.last)] {
                if let Some((end, facing)) = end.as_ref().and_then(|end| Some((end, end.facing?))) {
                    assert!((found.at - end.at.to_vec()).magnitude() < 0.05, "{name}, {}", run.name);
                    assert!(
                        (found.into - facing.normalize()).magnitude().to_degrees() < 0.05,
                        "{}",
                        run.name
                    );
                    ports += 1;
                }
            }
        }
    }
    assert!(bent >= 8 * 10 && ports >= 16, "{bent} {ports}");
}

/// Whether the bench noticed that something is wrong.
fn noticed(made: Result<Miss, String>) -> bool {
    made.map_or(true, |miss| !miss.fits())
}

const FROM_DATUM: Way = Way { other_end: false, from_last_end: false, by_clock: false };

fn add(plan: &mut Value, list: &str, index: usize, key: &str, by: f64) {
    let row = &mut plan[list][index];
    row[key] = json!(row[key].as_f64().unwrap() + by);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn runs_bent_by_their_plan_end_where_the_spec_says(case in case()) {
        let (plan, forms) = (case.plan(&case.project()), case.forms());
        for way in Way::all() {
            match case.bend(&plan, &forms, way) {
                Ok(miss) => prop_assert!(miss.is_rounding(), "{way:?}: {miss:?}\n{}", case.yaml()),
                Err(fault) => return Err(TestCaseError::fail(format!("{way:?}: {fault}\n{}", case.yaml()))),
            }
        }
    }

    #[test]
    fn the_bench_notices_what_is_wrong_with_a_plan(case in case(), which in any::<prop::sample::Index>()) {
        let (plan, forms) = (case.plan(&case.project()), case.forms());
        let bend = which.index(case.rows.len());
        for (other_end, list) in [(false, "bends"), (true, "from_other_end")] {
            let way = Way { other_end, ..FROM_DATUM };
            let mut shifted = plan.clone();
            add(&mut shifted, list, bend, "mark_mm", 1.0);
            prop_assert!(noticed(case.bend(&shifted, &forms, way)), "a mark shifted by 1 mm\n{}", case.yaml());

            let mut pulled = plan.clone();
            add(&mut pulled, "bends", bend, "pull_to_deg", 1.0);
            prop_assert!(noticed(case.bend(&pulled, &forms, way)), "a bend pulled 1 degree too far\n{}", case.yaml());

            let turn = plan[list][bend]["rotation_deg"].as_f64().unwrap();
            if bend > 0 && turn.to_radians().sin().abs() > 0.05 {
                let mut swapped = plan.clone();
                add(&mut swapped, list, bend, "rotation_deg", -2.0 * turn);
                prop_assert!(noticed(case.bend(&swapped, &forms, way)), "a turn the wrong way\n{}", case.yaml());
            }
            let mut short = plan.clone();
            short["cut_length_mm"] = json!(plan["cut_length_mm"].as_f64().unwrap() - 1.0);
            prop_assert!(noticed(case.bend(&short, &forms, way)), "cut 1 mm short\n{}", case.yaml());
        }
    }

    #[test]
    fn a_tube_that_springs_back_misses_when_it_is_pulled_to_the_angle_itself(case in case()) {
        let forms = case.forms();
        let springs = forms.iter().any(|form| form.fixed > 0.01 || form.rate > 0.01);
        prop_assume!(springs);
        let mut plan = case.plan(&case.project());
        for index in 0..case.rows.len() {
            let angle = plan["bends"][index]["angle_deg"].clone();
            plan["bends"][index]["pull_to_deg"] = angle;
        }
        prop_assert!(noticed(case.bend(&plan, &forms, FROM_DATUM)), "{}", case.yaml());
    }

    #[test]
    fn a_first_bend_made_late_is_made_good_by_marking_from_its_end(case in case()) {
        let (mut plan, forms) = (case.plan(&case.project()), case.forms());
        add(&mut plan, "bends", 0, "mark_mm", 0.5);
        add(&mut plan, "bends", 0, "from_last_end_mm", 0.5);
        let way = Way { from_last_end: true, ..FROM_DATUM };
        // All bends lie true to each other; the first straight is longer and the last one shorter.
        let shape = case.walked().shape;
        if let Ok(miss) = case.bend(&plan, &forms, way) {
            let moved = 0.5 * (shape.first.into + shape.last.into).magnitude();
            prop_assert!((miss.mm - moved).abs() < 1e-3 && miss.deg < 1e-3, "{miss:?} {moved}\n{}", case.yaml());
        } else {
            prop_assert!(case.end_length + case.allowance[1] < 0.5 + 1e-5 + case.allowance[1]);
        }
    }
}
