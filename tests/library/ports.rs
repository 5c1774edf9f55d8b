//! What the README says of ports, corners and bend tables that begin in one.

use tubewright::build::Project;
use tubewright::diagnostic::Diagnostics;
use tubewright::geometry::{InnerSpace, Vector3};

const HEAD: &str = "\
format: 1
tube: {standard: EN 1057, size: 15 x 1.0, temper: soft}
bender: {clr: 55}
fittings: {collar-15: {tube_od: 15, insert: 12, straight: 8}}
";

fn read(body: &str) -> Result<Project, Diagnostics> {
    Project::read(&format!("{HEAD}{body}"), "ports.yaml")
}

fn sound(body: &str) -> Project {
    read(body).unwrap_or_else(|findings| panic!("{findings:?}"))
}

/// Where the tube of a bend table turns first, in words of the README: x right, y away from you, z up.
fn first_turn(facing: [f64; 3], rotation: f64) -> Vector3 {
    let project = sound(&format!(
        "runs: {{a: {{from: {{at: [0, 0, 0], facing: {facing:?}}}, \
         bends: [{{length: 50, rotation: {rotation}, angle: 90}}], end_length: 50}}}}\n"
    ));
    project.layout().runs[0].centreline.end_direction()
}

#[test]
fn rotation_0_is_as_the_readme_says_for_every_way_a_port_faces() {
    let (x, y, z) = (Vector3::unit_x(), Vector3::unit_y(), Vector3::unit_z());
    for (facing, rotation, turns) in [
        // Level ports: to the left, as seen along the tube, level.
        ([1.0, 0.0, 0.0], 0.0, y),
        ([0.0, 1.0, 0.0], 0.0, -x),
        ([-1.0, 0.0, 0.0], 0.0, -y),
        ([0.0, -1.0, 0.0], 0.0, x),
        // From there clockwise: up, right, down.
        ([1.0, 0.0, 0.0], 90.0, z),
        ([1.0, 0.0, 0.0], 180.0, -y),
        ([1.0, 0.0, 0.0], -90.0, -z),
        // A port that faces up: towards you, then left, away, right.
        ([0.0, 0.0, 1.0], 0.0, -y),
        ([0.0, 0.0, 1.0], 90.0, x),
        ([0.0, 0.0, 1.0], 180.0, y),
        ([0.0, 0.0, 1.0], -90.0, -x),
        // One that faces down: away from you.
        ([0.0, 0.0, -1.0], 0.0, y),
        ([0.0, 0.0, -1.0], 90.0, x),
    ] {
        let turned = first_turn(facing, rotation);
        assert!((turned - turns).magnitude() < 1e-9, "{facing:?} {rotation}: {turned:?}");
    }
}

/// A tank and a pump; a run between them by corners. One number is the height of the tank's port.
fn by_corners(height: &str, corner: &str) -> String {
    format!(
        "x-port: &rz {height}\n\
         components:\n  \
           tank: {{box: {{from: [0, 0, 0], to: [80, 60, 400]}}, \
           ports: {{out: {{at: [40, 60, *rz], facing: [0, 1, 0], fitting: collar-15}}}}}}\n  \
           pump: {{box: {{from: [200, 300, 0], to: [280, 400, 20]}}, \
           ports: {{in: {{at: [240, 350, 20], facing: [0, 0, 1], fitting: collar-15}}}}}}\n\
         runs:\n  \
           a: {{from: tank.out, to: pump.in, corners: [[40, 350, {corner}], [240, 350, {corner}]]}}\n"
    )
}

#[test]
fn an_anchor_on_one_number_moves_a_port_and_its_corners() {
    for height in ["120", "12.5 cm", "335"] {
        let project = sound(&by_corners(height, "*rz"));
        assert!(project.findings().is_empty(), "{:?}", project.findings());
        let mm = tubewright::quantity::parse_length(height, tubewright::quantity::Unit::Millimetre).unwrap();
        let laid = &project.layout().runs[0];
        assert!((laid.centreline.start().z - mm).abs() < 1e-9);
        let corners: Vec<f64> = laid.centreline.bends().iter().map(|bend| bend.corner.unwrap().z).collect();
        assert!(corners.iter().all(|z| (z - mm).abs() < 1e-9), "{corners:?}");
        // The tube begins behind the face of the port by what goes into the fitting.
        assert!((laid.centreline.start().y - 48.0).abs() < 1e-9);
    }
}

#[test]
fn a_first_corner_beside_the_port_s_axis_is_told() {
    let project = sound(&by_corners("120", "150"));
    let told: Vec<&str> = project.findings().iter().map(|finding| finding.code).collect();
    // Two bends are no longer square, one of them at the tank's port.
    assert!(told.contains(&"port-angle"), "{told:?}");
}

/// A bent tube, measured, between two ports that lie 100 mm away and 80 mm to the left.
fn measured(length: f64, angle: f64) -> String {
    format!(
        "components:\n  \
           a: {{box: {{from: [-50, -50, -50], to: [0, 50, 50]}}, \
           ports: {{out: {{at: [0, 0, 0], facing: [1, 0, 0], fitting: collar-15}}}}}}\n  \
           b: {{box: {{from: [50, 80, -50], to: [150, 180, 50]}}, \
           ports: {{in: {{at: [100, 80, 0], facing: [0, -1, 0], fitting: collar-15}}}}}}\n\
         runs:\n  \
           a: {{from: a.out, to: b.in, bends: [{{length: {length}, angle: {angle}}}], end_length: 37}}\n"
    )
}

#[test]
fn a_measured_tube_between_two_ports_is_told_how_far_it_misses() {
    // From 12 mm inside the port: 57 mm, a bend of 55 mm to (100, 55), 37 mm more into the other by 12 mm.
    assert!(sound(&measured(57.0, 90.0)).findings().is_empty());
    let told = |length, angle| -> Vec<String> {
        sound(&measured(length, angle)).findings().iter().map(|finding| finding.message.clone()).collect()
    };
    assert_eq!(
        told(60.0, 90.0),
        ["run a: the tube ends 3.00 mm to the side of port b.in; at most 0.50 mm off is allowed"]
    );
    let short = told(57.0, 87.0);
    assert!(
        short.iter().any(|message| message.contains("leaves b.in 3.00° off the way it faces")),
        "{short:?}"
    );
}
