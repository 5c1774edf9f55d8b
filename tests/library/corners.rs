//! Corners that are placed from the ports of their run.

use proptest::prelude::*;
use tubewright::build::Project;
use tubewright::geometry::{InnerSpace, Point3, Vector3};
use tubewright::spec::model::RunPath;

/// A tank and a pump that face each other across a gap, each moved by so much, and runs between them.
fn read(tank: Vector3, pump: Vector3, runs: &str) -> Project {
    let at = |x: f64, y: f64, z: f64, by: Vector3| format!("[{}, {}, {}]", x + by.x, y + by.y, z + by.z);
    let text = format!(
        "format: 1\ntube: {{standard: EN 1057, size: 15 x 1.0, temper: soft}}\nbender: {{clr: 55}}\n\
         fittings: {{collar: {{tube_od: 15, insert: 12, straight: 8}}}}\ncomponents:\n  \
         tank: {{ports: {{out: {{at: {}, facing: [0, 1, 0], fitting: collar}}}}}}\n  \
         pump: {{ports: {{in: {{at: {}, facing: [0, -1, 0], fitting: collar}}}}}}\nruns:\n{runs}",
        at(40.0, 60.0, 30.0, tank),
        at(300.0, 480.0, 330.0, pump),
    );
    Project::read(&text, "corners.yaml").unwrap_or_else(|findings| panic!("{text}\n{findings:?}"))
}

fn corners(project: &Project, run: usize) -> Vec<Point3> {
    match &project.layout().runs[run].run.path {
        RunPath::Corners(corners) => corners.iter().map(|corner| corner.at).collect(),
        other => panic!("{other:?}"),
    }
}

fn same(found: &[Point3], wanted: &[[f64; 3]]) {
    assert_eq!(found.len(), wanted.len(), "{found:?}");
    for (found, wanted) in found.iter().zip(wanted) {
        assert!((found - Point3::from(*wanted)).magnitude() < 1e-9, "{found:?} {wanted:?}");
    }
}

const STILL: Vector3 = Vector3::new(0.0, 0.0, 0.0);

#[test]
fn corners_lie_where_the_readme_says() {
    let runs = "  a: {from: tank.out, to: pump.in, corners: [{out: 105}, {z: level}, {in: 120, clr: 60}]}
  b: {from: tank.out, to: pump.in, corners: [{out: 105}, {x: 130, z: 150}, {at: [300, 300, 330]}]}
  c: {from: tank.out, to: pump.in, corners: [{out: 105}, {in: 120, z: -300}, {in: 120}]}
  d: {from: tank.out, to: pump.in, corners: [{y: 105}, {x: level, z: level}]}
";
    let project = read(STILL, STILL, runs);
    same(&corners(&project, 0), &[[40.0, 165.0, 30.0], [40.0, 165.0, 330.0], [300.0, 360.0, 330.0]]);
    assert_eq!(project.layout().runs[0].centreline.bends()[2].radius, 60.0);
    same(&corners(&project, 1), &[[40.0, 165.0, 30.0], [170.0, 165.0, 180.0], [300.0, 300.0, 330.0]]);
    same(&corners(&project, 2), &[[40.0, 165.0, 30.0], [300.0, 360.0, 30.0], [300.0, 360.0, 330.0]]);
    // Nothing after it has a place of its own: it is level with the face it leads to.
    same(&corners(&project, 3), &[[40.0, 165.0, 30.0], [300.0, 165.0, 330.0]]);
}

#[test]
fn a_mirror_image_and_a_parallel_bend_go_with_corners_from_ports() {
    let runs = "  a: {from: tank.out, to: pump.in, corners: [{out: 105}, {in: 120}]}
  m: {mirror: {run: a, plane: x, at: -20}}
  in: {from: {at: [0, 0, 0], facing: [1, 0, 0]}, to: {at: [300, 300, 0], facing: [0, -1, 0]}, corners: [{out: 300}]}
  p: {from: {at: [0, -80, 0], facing: [1, 0, 0]}, to: {at: [380, 300, 0], facing: [0, -1, 0]}, corners: [{out: 380, clr: parallel to in}]}
";
    let project = read(STILL, STILL, runs);
    same(&corners(&project, 1), &[[-80.0, 165.0, 30.0], [-340.0, 360.0, 330.0]]);
    // 80 mm outside a bend of 55 mm.
    assert!((project.layout().runs[3].centreline.bends()[0].radius - 135.0).abs() < 1e-9);
}

fn shift() -> impl Strategy<Value = Vector3> {
    (-60.0..60.0, -60.0..60.0, -60.0..60.0).prop_map(|(x, y, z)| Vector3::new(x, y, z))
}

proptest! {
    /// A port that is moved takes the corners in front of it along; those of the other port stay, and the ones between
    /// are level with them again. The tube still leaves both ports along their axes.
    #[test]
    fn a_moved_port_moves_the_run(tank in shift(), pump in shift()) {
        let runs = "  a: {from: tank.out, to: pump.in, corners: [{out: 105}, {z: level}, {in: 120}]}\n";
        let project = read(tank, pump, runs);
        let found = corners(&project, 0);
        let first = Point3::new(40.0, 165.0, 30.0) + tank;
        let last = Point3::new(300.0, 360.0, 330.0) + pump;
        let between = Point3::new(first.x, first.y, last.z);
        same(&found, &[first.into(), between.into(), last.into()]);
        let line = &project.layout().runs[0].centreline;
        prop_assert!((line.start_direction() - Vector3::unit_y()).magnitude() < 1e-9);
        prop_assert!((line.end_direction() - Vector3::unit_y()).magnitude() < 1e-9);
        prop_assert!((line.start() - (Point3::new(40.0, 48.0, 30.0) + tank)).magnitude() < 1e-9);
        prop_assert!((line.end() - (Point3::new(300.0, 492.0, 330.0) + pump)).magnitude() < 1e-9);
    }

    /// A corner beside the axis of its port is told the place on it: written there, nothing is found any more.
    #[test]
    fn the_coordinates_of_a_hint_are_right(beside in 12.0..40.0f64, out in 90.0..130.0f64) {
        let text = |corner: &str| {
            format!("  a: {{from: tank.out, to: pump.in, corners: [{corner}, {{z: level}}, {{in: 120}}]}}\n")
        };
        let told = |project: &Project| -> Option<String> {
            let found = project.findings().iter().find(|found| found.code == "port-angle")?;
            found.hint.clone()
        };
        for (wrong, opens, closes) in [
            (format!("[{}, {}, 30]", 40.0 + beside, 60.0 + out), "put it at [", "]"),
            (format!("{{x: {beside}, y: {out}}}"), "which is `{", "}`"),
        ] {
            let hint = told(&read(STILL, STILL, &text(&wrong))).expect("is beside the axis");
            let (_, rest) = hint.split_once(opens).unwrap_or_else(|| panic!("{hint}"));
            let (right, _) = rest.split_once(closes).unwrap_or_else(|| panic!("{hint}"));
            let right = if opens.contains('{') { format!("{{{right}}}") } else { format!("[{right}]") };
            prop_assert_eq!(told(&read(STILL, STILL, &text(&right))), None, "{} for {}", right, wrong);
        }
    }

    /// A straight that is too far off its neighbours: with the corner that is said to be missing, the run can be bent,
    /// and both straights meet at a right angle there and with their neighbours.
    #[test]
    fn the_missing_corner_makes_right_angles(x in 120.0..300.0f64, y in 200.0..400.0f64, z in 300.0..500.0f64) {
        let text = |more: &str| format!(
            "format: 1\ntube: {{standard: EN 1057, size: 15 x 1.0, temper: soft}}\nbender: {{clr: 55, max_angle: 100}}\n\
             runs: {{a: {{from: {{at: [0, 0, 0], facing: [1, 0, 0]}}, to: {{at: [-{x}, {y}, -{z}], facing: [0, 0, -1]}}, \
             corners: [{{out: 300}}{more}, {{in: 300}}]}}}}\n"
        );
        let findings = Project::read(&text(""), "x.yaml").expect_err("turns by more than 100°");
        let hint = findings.iter().find_map(|found| found.hint.clone()).unwrap_or_default();
        let (_, rest) = hint.split_once("a corner is missing after corner 1: with [").unwrap_or_else(|| panic!("{hint}"));
        let (at, _) = rest.split_once(']').unwrap_or_else(|| panic!("{hint}"));
        let project = Project::read(&text(&format!(", [{at}]")), "x.yaml");
        let project = project.unwrap_or_else(|findings| panic!("[{at}]\n{findings:?}"));
        for bend in project.layout().runs[0].centreline.bends() {
            prop_assert!((bend.angle.to_degrees() - 90.0).abs() < 0.01, "{}", bend.angle.to_degrees());
        }
    }
}
