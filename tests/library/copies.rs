//! Runs that are copies of another, from the spec's text: mirror images and the same bends elsewhere.

use std::f64::consts::TAU;

use proptest::prelude::*;
use tubewright::build::Project;
use tubewright::centreline::{Centreline, LaidRun};
use tubewright::geometry::{MetricSpace, Point3};
use tubewright::plan::{FromEnd, RunPlan};

const HEAD: &str = "\
format: 1
tube: {od: 12, wall: 1, material: copper, temper: half-hard}
bender: {clr: 40, grip: 12, lead_out: 5, mark: middle, datum: 3}
";

fn project(text: &str) -> Project {
    Project::read(text, "copies.yaml").unwrap_or_else(|findings| panic!("{findings:?}\n{text}"))
}

fn laid<'p>(project: &'p Project, name: &str) -> &'p LaidRun {
    project.layout().runs.iter().find(|laid| laid.run.name == name).unwrap()
}

fn planned<'p>(project: &'p Project, name: &str) -> &'p RunPlan {
    project.plan().runs.iter().find(|run| run.name == name).unwrap()
}

/// A point's mirror image, worked out from the words of the spec.
fn image(point: Point3, plane: &str, at: f64) -> Point3 {
    let over = |c: f64, axis: &str| if plane == axis { at - (c - at) } else { c };
    Point3::new(over(point.x, "x"), over(point.y, "y"), over(point.z, "z"))
}

fn assert_mirrored(one: &Centreline, other: &Centreline, plane: &str, at: f64) {
    assert!((one.length() - other.length()).abs() < 1e-9);
    for step in 0..=60 {
        let station = one.length() * f64::from(step) / 60.0;
        let (wanted, found) = (image(one.point_at(station), plane, at), other.point_at(station));
        assert!(wanted.distance(found) < 1e-8, "{station}: {wanted:?} {found:?}");
    }
}

/// Angles and lengths alike, turns between bends the other way round, pulled and cut alike.
fn assert_plans_are_mirrored(one: &RunPlan, other: &RunPlan) {
    assert!((one.cut_length - other.cut_length).abs() < 1e-9);
    assert_eq!(one.bends.len(), other.bends.len());
    for ((a, made), (b, twin)) in one.in_order(FromEnd::Datum).zip(other.in_order(FromEnd::Datum)) {
        assert!((a.angle - b.angle).abs() < 1e-11);
        assert!((made.pull.angle - twin.pull.angle).abs() < 1e-11);
        assert!((made.feed.mark - twin.feed.mark).abs() < 1e-9);
        assert!((a.clr - b.clr).abs() < 1e-12);
        if a.number > 1 {
            let (turn, back) = (made.turn.rotation, twin.turn.rotation);
            let off = (turn + back).rem_euclid(TAU);
            assert!(off.min(TAU - off) < 1e-9, "{turn} {back}");
        }
    }
}

/// Three random bends as rows of a table.
fn rows() -> impl Strategy<Value = String> {
    let row = (40.0..120.0, -180.0..180.0, 10.0..150.0).prop_map(|(length, rotation, angle)| {
        format!("{{length: {length:.2}, rotation: {rotation:.2}, angle: {angle:.2}}}")
    });
    proptest::collection::vec(row, 1..4).prop_map(|rows| rows.join(", "))
}

fn direction() -> impl Strategy<Value = [f64; 3]> {
    // Along an axis as often as askew: the plane that first rotations are counted from changes there.
    let along = (0_usize..3, any::<bool>()).prop_map(|(axis, back)| {
        let mut way = [0.0; 3];
        way[axis] = if back { -1.0 } else { 1.0 };
        way
    });
    prop_oneof![along, proptest::array::uniform3(0.1..1.0), proptest::array::uniform3(-1.0..-0.1)]
}

fn plane() -> impl Strategy<Value = &'static str> {
    prop_oneof![Just("x"), Just("y"), Just("z")]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn a_mirrored_table_is_the_reflection_point_by_point(
        rows in rows(), at in proptest::array::uniform3(-300.0..300.0_f64), facing in direction(),
        plane in plane(), mirror in -400.0..400.0_f64,
    ) {
        let text = format!(
            "{HEAD}runs:\n  right: {{mirror: {{run: left, plane: {plane}, at: {mirror}}}}}\n  left: {{from: {{at: {at:?}, facing: {facing:?}}}, bends: [{rows}], end_length: 50, allowance: {{start: 3, end: 4}}}}\n"
        );
        let project = project(&text);
        assert_mirrored(&laid(&project, "left").centreline, &laid(&project, "right").centreline, plane, mirror);
        assert_plans_are_mirrored(planned(&project, "left"), planned(&project, "right"));
    }

    #[test]
    fn mirrored_corners_are_the_reflection_point_by_point(
        spread in proptest::array::uniform3(120.0..200.0_f64), plane in plane(), mirror in -400.0..400.0_f64,
    ) {
        let [a, b, c] = spread;
        let text = format!(
            "{HEAD}runs:\n  left: {{from: [5, 6, 7], to: [{}, {b}, {c}], corners: [[{a}, 6, 7], {{at: [{a}, {b}, 7], clr: 31}}, [{a}, {b}, {c}]]}}\n  right: {{mirror: {{run: left, plane: {plane}, at: {mirror}}}}}\n",
            a + 130.0
        );
        let project = project(&text);
        assert_mirrored(&laid(&project, "left").centreline, &laid(&project, "right").centreline, plane, mirror);
        assert_plans_are_mirrored(planned(&project, "left"), planned(&project, "right"));
        prop_assert_eq!(planned(&project, "right").bends[1].clr, 31.0);
    }

    /// Corners and table of the same run, laid from anywhere: the same table and the same marks.
    #[test]
    fn the_same_bends_are_the_same_table_and_marks(
        spread in proptest::array::uniform3(120.0..200.0_f64), facing in direction(),
    ) {
        let [a, b, c] = spread;
        let text = format!(
            "{HEAD}runs:\n  copy: {{same_as: left, from: {{at: [900, 0, 0], facing: {facing:?}}}}}\n  bench: {{same_as: copy}}\n  left: {{from: [0, 0, 0], to: [{a}, {b}, {c}], corners: [[{a}, 0, 0], {{at: [{a}, {b}, 0], clr: 31}}], allowance: {{start: 5}}}}\n"
        );
        let project = project(&text);
        let first = &laid(&project, "left").centreline;
        for name in ["copy", "bench"] {
            let copy = &laid(&project, name).centreline;
            for (one, other) in first.table().iter().zip(copy.table()) {
                prop_assert!((one.length - other.length).abs() < 1e-9);
                prop_assert!((one.rotation - other.rotation).abs() < 1e-9);
                prop_assert!((one.angle - other.angle).abs() < 1e-9);
                prop_assert_eq!(one.radius, other.radius);
            }
            let (one, other) = (planned(&project, "left"), planned(&project, name));
            prop_assert!((one.cut_length - other.cut_length).abs() < 1e-9);
            for (a, b) in one.from_datum_end.iter().zip(&other.from_datum_end) {
                prop_assert!((a.feed.mark - b.feed.mark).abs() < 1e-9);
                prop_assert!((a.pull.angle - b.pull.angle).abs() < 1e-11);
            }
        }
        prop_assert!(laid(&project, "copy").centreline.start().distance(Point3::new(900.0, 0.0, 0.0)) < 1e-12);
        prop_assert!(laid(&project, "bench").run.from.is_none());
    }
}

/// Worked by hand: a level left turn becomes a level right turn, which is half a turn away from the reference.
#[test]
fn the_first_turn_of_a_mirrored_table_follows_the_plane() {
    let text = format!(
        "{HEAD}runs:
  left: {{from: {{at: [0, 0, 0], facing: [1, 0, 0]}}, bends: [{{length: 60, angle: 90}}, {{length: 50, rotation: 90, angle: 45}}], end_length: 30}}
  across-x: {{mirror: {{run: left, plane: x, at: 0}}}}
  across-y: {{mirror: {{run: left, plane: y, at: 0}}}}
  across-z: {{mirror: {{run: left, plane: z, at: 5 in}}}}
"
    );
    let project = project(&text);
    let turns = |name: &str| -> Vec<f64> {
        planned(&project, name)
            .from_datum_end
            .iter()
            .map(|made| (made.turn.rotation.to_degrees() * 1e6).round() / 1e6)
            .collect()
    };
    assert_eq!(turns("left"), [0.0, 90.0]);
    assert_eq!(turns("across-x"), [180.0, -90.0]);
    assert_eq!(turns("across-y"), [180.0, -90.0]);
    // Level stays level in a mirror that lies flat, and what went up goes down.
    assert_eq!(turns("across-z").iter().map(|t| t.abs()).collect::<Vec<_>>(), [0.0, 90.0]);
    assert_eq!(turns("across-z")[1], -90.0);
    assert_eq!(laid(&project, "across-z").centreline.start().z, 254.0);
}

#[test]
fn a_copy_takes_what_it_does_not_say_and_keeps_what_it_does() {
    let text = format!(
        "{HEAD}runs:
  left:
    bends: [{{length: 60, angle: 90}}]
    end_length: 60
    tube: {{od: 10, wall: 1, temper: soft}}
    bender: {{clr: 35}}
    anneal: always
    allowance: {{start: 5, end: 6}}
  like: {{same_as: left}}
  other: {{mirror: {{run: left, plane: x, at: 0}}, tube: {{od: 8, wall: 1}}, bender: {{clr: 30}}, anneal: never, allowance: {{end: 9}}}}
"
    );
    let project = project(&text);
    let (left, like, other) =
        (&laid(&project, "left").run, &laid(&project, "like").run, &laid(&project, "other").run);
    assert_eq!((&like.tube, &like.bender, like.anneal), (&left.tube, &left.bender, left.anneal));
    assert_eq!((like.allowance_start, like.allowance_end), (5.0, 6.0));
    assert_eq!((other.tube.od(), other.bender.clr), (8.0, 30.0));
    // Laid over the spec's tube, as of any run.
    assert_eq!(other.tube.temper(), tubewright::spec::model::Temper::HalfHard);
    assert_eq!((other.allowance_start, other.allowance_end), (0.0, 9.0));
    assert_eq!(laid(&project, "other").centreline.bends()[0].radius, 30.0);
}

/// A mirrored run that is given ports meets them, or is told by how much it does not, as any run.
#[test]
fn ports_of_a_copy_are_held_to_it() {
    let spec = |to: &str| {
        format!(
            "{HEAD}components:
  left-tank: {{ports: {{out: {{at: [0, 0, 0], facing: [0, 1, 0]}}, in: {{at: [-150, 100, 0], facing: [1, 0, 0]}}}}}}
  right-tank: {{ports: {{out: {{at: [300, 0, 0], facing: [0, 1, 0]}}, in: {{at: {to}, facing: [-1, 0, 0]}}}}}}
runs:
  left: {{from: left-tank.out, to: left-tank.in, bends: [{{length: 60, angle: 90}}], end_length: 110}}
  right: {{mirror: {{run: left, plane: x, at: 150}}, from: right-tank.out, to: right-tank.in}}
"
        )
    };
    let codes = |to: &str| -> Vec<(String, &str)> {
        let project = project(&spec(to));
        project.findings().iter().map(|d| (d.run.clone().unwrap_or_default(), d.code)).collect()
    };
    assert!(
        codes("[450, 100, 0]").iter().all(|(_, code)| !code.starts_with("port-")),
        "{:?}",
        codes("[450, 100, 0]")
    );
    assert!(
        codes("[452, 100, 0]").contains(&("right".to_owned(), "port-side")),
        "{:?}",
        codes("[452, 100, 0]")
    );
}

/// The fitted radius of a bender reaches its copies, whose straights stay those of the first run.
#[test]
fn copies_of_corners_go_by_test_bends() {
    let text = "\
format: 1
tube: {od: 12, wall: 1, material: copper, temper: half-hard}
bender:
  clr: 40
  test_bends:
    - {pulled: 47, got: 45}
    - {pulled: 184.5, got: 179.7, across: 93}
    - {pulled: 92.5, got: 90}
runs:
  a: {from: [0, 0, 0], to: [200, 150, 0], corners: [[200, 0, 0]]}
  b: {same_as: a, from: {at: [0, 0, 300], facing: [0, 1, 0]}}
";
    let project = project(text);
    let [a, b] = ["a", "b"].map(|name| laid(&project, name).centreline.table());
    assert!((a[0].radius - 40.0).abs() > 0.01, "{a:?}");
    assert_eq!(a[0].radius, b[0].radius);
    assert!((a[0].length - b[0].length).abs() < 1e-9);
}

/// A fault of a run that its copies have, too, is told once, with what to change in the run.
#[test]
fn a_fault_of_a_run_and_its_copies_is_one_block() {
    let text = include_str!("../bad_specs/slip-copies-have-the-faults-of-the-first.yaml");
    let project = project(text);
    let shown = tubewright::diagnostic::render(project.findings(), "copies.yaml", text, false);
    for once in ["[port-straight]", "97.9 mm of straight between bends 1 and 2"] {
        assert_eq!(shown.matches(once).count(), 1, "{once} in\n{shown}");
    }
    for same in ["the same for left.out's image of run right;", "bend 2 of run right;", "bend 2 of run bench"]
    {
        assert!(shown.contains(same), "no `{same}` in\n{shown}");
    }
    assert!(!shown.contains("in run `left`: move corners"), "the run itself comes first:\n{shown}");
}
