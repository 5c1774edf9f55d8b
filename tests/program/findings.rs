//! What a person reads when much is wrong at once: the pressing first, the same once, nothing beside the point.

use std::fs;

use serde_json::Value;

use crate::run::{folder, json, stderr, tubewright};

/// Two runs of loose tube with bends tighter than any handbook has, and a third across the first. The clash is
/// the last thing that checking comes to know of the first run.
const CROWDED: &str = "\
format: 1
tube: {od: 15.875, wall: 1.245, material: copper, temper: soft}
bender: {clr: 38}
fittings:
  collar-16: {tube_od: 16, insert: 12, straight: 8}
components:
  tank:
    box: {from: [0, 0, 0], to: [80, 60, 200]}
    ports:
      low: {at: [40, 60, 20], facing: [0, 1, 0], fitting: collar-16}
      high: {at: [40, 60, 180], facing: [0, 1, 0], fitting: collar-16}
  pump:
    box: {from: [400, 300, 0], to: [480, 380, 200]}
    ports:
      low: {at: [400, 340, 20], facing: [-1, 0, 0], fitting: collar-16}
      high: {at: [400, 340, 180], facing: [-1, 0, 0], fitting: collar-16}
runs:
  feed:
    from: tank.low
    to: pump.low
    corners:
      - [40, 160, 20]
      - [160, 160, 20]
      - [160, 250, 20]
      - [280, 250, 20]
      - [280, 340, 20]
  back:
    from: tank.high
    to: pump.high
    corners:
      - [40, 340, 180]
  cross:
    from: [100, -50, 30.075]
    to: [100, 250, 30.075]
    corners: []
";

/// "warning[clash]" of every block, in the order they are shown.
fn headings(text: &str) -> Vec<&str> {
    text.lines()
        .filter(|line| line.starts_with("error[") || line.starts_with("warning["))
        .map(|line| line.split(':').next().unwrap_or_default())
        .collect()
}

#[test]
fn the_clash_is_seen_first_and_what_is_alike_once() {
    let folder = folder("crowded.yaml", CROWDED);
    let said = stderr(&tubewright(&folder, &["check", "crowded.yaml"]).code(0));
    assert_eq!(
        headings(&said),
        ["warning[clash]", "warning[seal-squeeze]", "warning[tight-radius]"],
        "{said}"
    );
    // The tubes' axes cross 10.075 mm apart: 5.8 mm of overlap, its middle 5 mm over the lower one's axis.
    assert!(said.contains("run feed overlaps run cross by 5.80 mm, deepest at [100, 160, 25] mm"), "{said}");
    assert!(said.contains("= note: run cross is on line 32\n"), "{said}");
    assert!(
        said.contains(
            "= note: the same for bends 2 to 5 of run feed; bend 1 of run back (lines 23 to 26 and 31)"
        ),
        "{said}"
    );
    assert!(
        said.contains(
            "the same for pump.low of run feed; tank.high and pump.high of run back (lines 20, 28 and 29)"
        ),
        "{said}"
    );
    // Programs are told of each.
    let report = json(&tubewright(&folder, &["check", "crowded.yaml", "--format", "json"]).code(0));
    let findings = report["specs"][0]["findings"].as_array().unwrap().clone();
    let of = |code: &str| findings.iter().filter(|f| f["code"] == code).cloned().collect::<Vec<_>>();
    assert_eq!((of("tight-radius").len(), of("seal-squeeze").len(), of("clash").len()), (6, 4, 1));
    let clash = &of("clash")[0];
    assert_eq!(
        (&clash["run"], &clash["with"], &clash["rank"]),
        (&"feed".into(), &"cross".into(), &"stops-work".into())
    );
    let at: Vec<f64> = clash["at_mm"].as_array().unwrap().iter().map(|mm| mm.as_f64().unwrap()).collect();
    assert!(
        at.iter().zip([100.0, 160.0, 25.0375]).all(|(found, wanted)| (found - wanted).abs() < 0.02),
        "{at:?}"
    );
    assert_eq!(of("tight-radius").iter().map(|f| f["bend"].as_u64().unwrap()).max(), Some(5));
}

#[test]
fn the_overview_and_the_plan_show_the_clash_whichever_run_is_built() {
    let folder = folder("crowded.yaml", CROWDED);
    for run in ["feed", "cross"] {
        tubewright(&folder, &["build", "crowded.yaml", "--only", "svg,json", "--run", run, "--out", run])
            .code(0);
        let place = folder.path().join(run);
        let (mut svg, mut plan) = (String::new(), Value::Null);
        let mut folders = vec![place];
        while let Some(next) = folders.pop() {
            for entry in fs::read_dir(next).unwrap().map(|entry| entry.unwrap().path()) {
                if entry.is_dir() {
                    folders.push(entry);
                } else if entry.ends_with("overview.svg") {
                    svg = fs::read_to_string(entry).unwrap();
                } else if entry.ends_with("plan.json") {
                    plan = serde_json::from_slice(&fs::read(entry).unwrap()).unwrap();
                }
            }
        }
        assert!(svg.contains(">run feed overlaps run cross by 5.80 mm<"), "{run}");
        let clashes = plan["warnings"].as_array().unwrap().iter().filter(|w| w["code"] == "clash").count();
        assert_eq!(clashes, 1, "{run}");
    }
    let quiet =
        stderr(&tubewright(&folder, &["build", "crowded.yaml", "--only", "csv", "--run", "back"]).code(0));
    assert!(!quiet.contains("clash") && quiet.contains("tight-radius"), "{quiet}");
}

#[test]
fn errors_stand_before_warnings_and_hide_none() {
    let spec =
        CROWDED.replace("      - [40, 340, 180]\n", "      - [40, 340, 180]\n      - [100, 340, 180]\n");
    let folder = folder("crowded.yaml", &spec);
    let said = stderr(&tubewright(&folder, &["build", "crowded.yaml"]).code(1));
    assert_eq!(
        headings(&said),
        ["error[corners-in-line]", "warning[clash]", "warning[seal-squeeze]", "warning[tight-radius]"],
        "{said}"
    );
    assert!(said.contains("the same for bends 2 to 5 of run feed (lines"), "{said}");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1, "nothing is written");
}

#[test]
fn of_very_many_findings_the_rest_is_counted() {
    let run = |i: usize| format!("  r{i}: {{bends: [], end_length: 50, key{i}: 1}}\n");
    let runs: String = (0..130).map(run).collect();
    let head = CROWDED.split("fittings:").next().unwrap().replace("format: 1\n", "format: 1\ntitle: Ω\n");
    let folder = folder("many.yaml", &format!("{head}runs:\n{runs}"));
    let said = stderr(&tubewright(&folder, &["check", "many.yaml"]).code(1));
    assert_eq!(headings(&said), ["error[unknown-key]"; 100], "{said}");
    assert!(
        said.ends_with("\n... and 30 errors and 1 warning more; `--format json` lists them all\n"),
        "{said}"
    );
    let report = json(&tubewright(&folder, &["check", "many.yaml", "--format", "json"]).code(1));
    assert_eq!(report["specs"][0]["findings"].as_array().unwrap().len(), 131);
}

#[test]
fn calibrate_tells_of_calibration_only() {
    let folder = folder("crowded.yaml", CROWDED);
    assert_eq!(stderr(&tubewright(&folder, &["calibrate", "crowded.yaml", "--strict"]).code(0)), "");
    // A corner that cannot be bent does not stop the calibration; what cannot be read does, and test bends that
    // do not agree.
    let corner = CROWDED.replace("[40, 340, 180]\n", "[40, 340, 180]\n      - [100, 340, 180]\n");
    let tested = corner.replace(
        "bender: {clr: 38}",
        "bender: {clr: 38, test_bends: [{pulled: 45, got: 43.5}, {pulled: 90, got: 87.5}]}",
    );
    fs::write(folder.path().join("tested.yaml"), &tested).unwrap();
    let done = tubewright(&folder, &["calibrate", "tested.yaml"]).code(0);
    assert_eq!(stderr(&done), "");
    assert!(String::from_utf8_lossy(&done.get_output().stdout).contains("Next:"));
    let wrong = tested.replace("got: 87.5", "got: 60").replace("runs:\n", "titel: x\nruns:\n");
    fs::write(folder.path().join("wrong.yaml"), &wrong).unwrap();
    let refused = stderr(&tubewright(&folder, &["calibrate", "wrong.yaml"]).code(1));
    assert_eq!(headings(&refused), ["error[bad-test-bends]", "error[unknown-key]"], "{refused}");
    let report = json(&tubewright(&folder, &["calibrate", "tested.yaml", "--format", "json"]).code(0));
    assert_eq!(
        (&report["specs"][0]["status"], &report["specs"][0]["findings"]),
        (&"sound".into(), &Value::Array(vec![]))
    );
}

#[test]
fn a_run_without_a_way_is_no_silent_success() {
    // The lines of both ports cross at a right angle.
    let spec = CROWDED
        .replace("    corners:\n      - [40, 340, 180]\n", "    route: {max_bends: 1, angles: [45]}\n");
    let folder = folder("routed.yaml", &spec);
    for command in [&["check", "routed.yaml"][..], &["build", "routed.yaml"]] {
        let said = stderr(&tubewright(&folder, command).code(1));
        assert!(headings(&said).starts_with(&["error[no-way]"]), "{said}");
        assert!(said.contains("was tried and lets it through"), "{said}");
    }
    let two = spec.replace(", angles: [45]", "");
    fs::write(folder.path().join("two.yaml"), two).unwrap();
    let said = stderr(&tubewright(&folder, &["check", "two.yaml"]).code(0));
    assert!(!said.contains("error"), "{said}");
    let nothing =
        CROWDED.replace("    corners:\n      - [40, 340, 180]\n", "").replace("    to: ", "    # to: ");
    fs::write(folder.path().join("nothing.yaml"), nothing).unwrap();
    let said = stderr(&tubewright(&folder, &["check", "nothing.yaml"]).code(1));
    assert!(said.contains("neither both ends nor `corners`, `bends`, `mirror` or `same_as`"), "{said}");
}
