//! Ends that no tube can join, and bodies that are none: a clear message after counted effort.

use std::fmt::Write;

use tubewright::build::Unrouted;
use tubewright::diagnostic::Diagnostic;
use tubewright::route::EFFORT;

const HEAD: &str = "\
format: 1
tube: {standard: EN 1057, size: 15 x 1.0, temper: half-hard}
bender: {clr: 55, grip: 30, lead_out: 15}
fittings:
  collar: {tube_od: 15, insert: 12, straight: 8}
components:
";

const PUMP: &str = "  \
  pump:
    box: {from: [0, 0, 0], to: [80, 60, 100]}
    ports: {out: {at: [80, 30, 50], facing: [1, 0, 0], fitting: collar}}
";

/// The last branch that is begun is brought to its end.
const ONE_BRANCH: usize = 100;

/// Everything that is found in a spec, with what its runs' ways cost; and whether all runs have one.
fn found(components: &str, run: &str, file: &[u8]) -> (Vec<Diagnostic>, bool) {
    let text = format!("{HEAD}{components}runs:\n  feed: {run}\n");
    let unrouted = Unrouted::read_with(&text, "spec.yaml", &|_: &str| Ok(file.to_vec()));
    let routed = unrouted.ways(1, EFFORT);
    assert_eq!(routed.found.len(), 1, "{:?}", unrouted.findings());
    let answer = &routed.found[0].answer;
    assert!(answer.effort <= EFFORT + ONE_BRANCH, "{} for {text}", answer.effort);
    let has_way = !answer.ways.is_empty();
    let findings = match unrouted.checked(routed).plan() {
        Ok(project) => project.findings().iter().cloned().collect(),
        Err(findings) => findings.iter().cloned().collect(),
    };
    (findings, has_way)
}

/// That a run has no way: the message and what it advises, with these words.
fn no_way(components: &str, run: &str, message: &str, advice: &str) {
    let (findings, has_way) = found(components, run, &[]);
    assert!(!has_way);
    let finding = findings.iter().find(|finding| finding.code == "no-way").expect("it has no way");
    assert!(finding.message.contains(message), "{finding}");
    let hint = finding.hint.clone().unwrap_or_default();
    assert!(hint.contains(advice), "{hint}");
}

const AHEAD: &str = "{from: pump.out, to: {at: [400, 130, 50], facing: [-1, 0, 0]}}";

#[test]
fn ports_nearer_than_two_straights_are_moved_apart() {
    // 4 mm of room for 8 mm of straight: the change that helps is found whatever others cost.
    let tank = "  \
  tank:
    box: {from: [84, 0, 0], to: [180, 60, 100]}
    ports: {in: {at: [84, 30, 50], facing: [-1, 0, 0], fitting: collar}}
";
    let components = format!("{PUMP}{tank}");
    let run = "{from: pump.out, to: tank.in}";
    no_way(
        &components,
        run,
        "there is no way with at most 4 bends",
        "pump.out with its component moved by -5 mm along x",
    );
    // 30 mm apart, and 10 mm out of line: no change that is tried leaves room for bends, and each kind says so.
    let components = components.replace("84", "110").replace("at: [110, 30", "at: [110, 40");
    no_way(
        &components,
        run,
        "component tank is in the way most often",
        "none lets it through: move a component",
    );
}

#[test]
fn the_bodies_of_a_straight_tube_s_fittings_have_room() {
    let spec = |gap: f64, path: &str| {
        let head = HEAD.replace("straight: 8}", "straight: 6, body: {diameter: 20, length: 7}}");
        let far = 80.0 + gap;
        format!(
            "{head}{PUMP}  tank:\n    box: {{from: [{far}, 0, 0], to: [200, 60, 100]}}\n    ports: {{in: {{at: [{far}, 30, 50], \
             facing: [-1, 0, 0], fitting: collar}}}}\nruns:\n  feed: {{from: pump.out, to: tank.in{path}}}\n"
        )
    };
    let codes = |text: &str| -> Vec<&'static str> {
        let unrouted = Unrouted::read_with(text, "spec.yaml", &|_: &str| Ok(Vec::new()));
        match unrouted.checked(unrouted.ways(1, EFFORT)).plan() {
            Ok(project) => project.findings().iter().map(|finding| finding.code).collect(),
            Err(findings) => findings.iter().map(|finding| finding.code).collect(),
        }
    };
    // Two bodies of 7 mm: 14 mm are enough, 13.9 are not.
    for (gap, route, by_hand) in [(14.0, None, None), (13.9, Some("no-way"), Some("port-straight"))] {
        let has = |path: &str, code: &str| codes(&spec(gap, path)).contains(&code);
        assert_eq!(has("", "no-way"), route.is_some(), "{gap}: {:?}", codes(&spec(gap, "")));
        assert_eq!(has(", corners: []", "port-straight"), by_hand.is_some(), "{gap}");
    }
}

#[test]
fn ports_that_no_tube_joins_with_nothing_in_the_way_are_told() {
    // 60 mm apart and 40 mm aside of each other: two bends of 55 mm need more, and there may be no third.
    let run = "{from: {at: [0, 0, 0], facing: [1, 0, 0]}, to: {at: [60, 40, 0], facing: [-1, 0, 0]}, route: {max_bends: 2}}";
    no_way(
        "  far: {box: {from: [900, 0, 0], to: [950, 60, 60]}}\n",
        run,
        "if nothing were in the way",
        "max_bends: 3",
    );
}

#[test]
fn a_ring_of_fixed_parts_round_a_port_is_named() {
    let parts = [
        ([100, -60, -40], [140, -40, 140]),
        ([100, 100, -40], [140, 120, 140]),
        ([100, -40, -60], [140, 100, -40]),
        ([100, -40, 140], [140, 100, 160]),
        ([140, -60, -60], [150, 120, 160]),
    ];
    let mut components = format!("{PUMP}    fixed: true\n  cage:\n    fixed: true\n    parts:\n");
    for (low, high) in parts {
        writeln!(components, "      - {{box: {{from: {low:?}, to: {high:?}}}}}").unwrap();
    }
    no_way(
        &components,
        AHEAD,
        "component cage is in the way most often",
        "none lets it through: move a component",
    );
}

#[test]
fn a_port_inside_a_component_is_named() {
    let crate_before = format!("{PUMP}  crate: {{box: {{from: [70, 0, 0], to: [120, 60, 100]}}}}\n");
    no_way(
        &crate_before,
        AHEAD,
        "it has no way: port pump.out lies inside component crate",
        "correct the port's `at`",
    );
    let (findings, _) = found(&PUMP.replace("at: [80,", "at: [40,"), AHEAD, &[]);
    let inside = findings.iter().find(|finding| finding.code == "port-inside").expect("it is inside");
    assert_eq!(inside.message, "port pump.out lies inside pump, 40 mm from where it would come out");
    assert!(inside.hint.as_ref().is_some_and(|hint| hint.contains("write `at: [80, 30, 50]`")), "{inside}");
}

/// A ball of 80 mm without its lower cap, as ASCII STL of 10,000 triangles.
fn bowl() -> Vec<u8> {
    let (around, down) = (100, 51);
    let at = |step: usize, ring: usize| {
        let turn = std::f64::consts::TAU * step as f64 / around as f64;
        let tilt = std::f64::consts::PI * ring as f64 / down as f64;
        [tilt.sin() * turn.cos(), tilt.sin() * turn.sin(), tilt.cos()].map(|part| 40.0 * part)
    };
    let mut text = "solid bowl\n".to_owned();
    for ring in 1..down {
        for step in 0..around {
            let [a, b, c, d] = [(0, 0), (1, 0), (1, 1), (0, 1)].map(|(s, r)| at(step + s, ring + r));
            for corners in [[a, d, c], [a, c, b]] {
                text += "facet normal 0 0 0\nouter loop\n";
                for [x, y, z] in corners {
                    writeln!(text, "vertex {x:.5} {y:.5} {z:.5}").unwrap();
                }
                text += "endloop\nendfacet\n";
            }
        }
    }
    (text + "endsolid bowl\n").into_bytes()
}

#[test]
fn an_open_mesh_of_many_triangles_is_said_and_passed() {
    let mesh = "  bowl: {mesh: bowl.stl, units: mm, at: [200, 0, 0]}\n";
    let run = "{from: {at: [0, 0, 0], facing: [1, 0, 0]}, to: {at: [400, 0, 0], facing: [-1, 0, 0]}}";
    let file = bowl();
    let triangles = file.windows(8).filter(|window| window == b"endfacet").count();
    assert_eq!(triangles, 10_000);
    let (findings, has_way) = found(mesh, run, &file);
    assert!(has_way, "{findings:?}");
    let open = findings.iter().find(|finding| finding.code == "mesh-open").expect("it is open");
    assert!(open.message.contains("is not closed: 100 of its edges"), "{open}");
    assert!(open.hint.as_ref().is_some_and(|hint| hint.contains("repair the part")), "{open}");
    assert!(findings.iter().all(|finding| finding.code != "clash"), "{findings:?}");
}
