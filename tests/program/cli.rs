//! The command as a user runs it: exit codes, files, reports.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use assert_cmd::Command;
use tempfile::TempDir;
use tubewright::calibration::EXAMPLE;

use crate::run::{stderr, stdout, tubewright};

const TWO_RUNS: &str = "\
format: 1
tube: {standard: EN 1057, size: 15 x 1.0, temper: soft}
bender: {clr: 55}
runs:
  knee:
    from: [0, 0, 0]
    to: [200, 150, 0]
    corners: [[200, 0, 0]]
  rod:
    from: [0, 0, 100]
    to: [300, 0, 100]
    corners: []
";

/// A folder of its own for each test, with `two.yaml` in it.
fn folder() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("two.yaml"), TWO_RUNS).unwrap();
    folder
}

/// Every file below `folder` with its contents, by path.
fn tree(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(next) = folders.pop() {
        for entry in fs::read_dir(next).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let name = path.strip_prefix(folder).unwrap().to_str().unwrap().replace('\\', "/");
                found.insert(name, fs::read(&path).unwrap());
            }
        }
    }
    found
}

fn names(folder: &Path) -> Vec<String> {
    tree(folder).into_keys().collect()
}

#[test]
fn build_writes_every_file_and_says_so() {
    let folder = folder();
    let done = tubewright(&folder, &["build", "two.yaml"]).code(0);
    let expected = [
        "assembly.step",
        "bends.csv",
        "forms/15-r55/follower.stl",
        "forms/15-r55/form.dxf",
        "forms/15-r55/form.pdf",
        "forms/15-r55/form.step",
        "forms/15-r55/form.stl",
        "jigs/knee.dxf",
        "jigs/knee.pdf",
        "jigs/knee.step",
        "jigs/rod.dxf",
        "jigs/rod.pdf",
        "jigs/rod.step",
        "overview.pdf",
        "overview.svg",
        "plan.json",
        "runs/knee/strip.svg",
        "runs/knee/template.svg",
        "runs/knee/tube.step",
        "runs/knee/tube.stl",
        "runs/rod/template.svg",
        "runs/rod/tube.step",
        "runs/rod/tube.stl",
        "strips.pdf",
        "templates.pdf",
        "trials/comb.dxf",
        "trials/groove-15.stl",
        "worksheet.pdf",
    ];
    assert_eq!(names(&folder.path().join("out/two")), expected);
    let said = stdout(&done);
    for part in ["knee", "rod", "28 files in out/two", "626.4"] {
        // 350 mm of legs less the gain of 23.6 mm, and the rod of 300 mm
        assert!(said.contains(part), "{part} is not in\n{said}");
    }
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    let folder = folder();
    tubewright(&folder, &["build", "two.yaml", "--out", "a"]).code(0);
    tubewright(&folder, &["build", "two.yaml", "--out", "b"]).code(0);
    let (a, b) = (tree(&folder.path().join("a")), tree(&folder.path().join("b")));
    assert!(a.len() == 28 && a == b);
}

#[test]
fn files_of_runs_that_are_gone_are_named_and_kept() {
    let folder = folder();
    tubewright(&folder, &["build", "two.yaml"]).code(0);
    let renamed = TWO_RUNS.replace("  rod:", "  bar:");
    fs::write(folder.path().join("two.yaml"), renamed).unwrap();
    let said = stdout(&tubewright(&folder, &["build", "two.yaml"]).code(0));
    let left =
        "not from this build, and left as they were: jigs/rod.dxf, jigs/rod.pdf, jigs/rod.step, runs/rod/\n";
    assert!(said.contains(left), "{said}");
    assert!(folder.path().join("out/two/runs/rod/tube.step").exists());
}

#[test]
fn the_whole_form_is_named_when_it_is_now_printed_in_two() {
    let folder = folder();
    tubewright(&folder, &["build", "two.yaml"]).code(0);
    let small = format!("{TWO_RUNS}workshop: {{printer: {{bed: [100, 100, 100]}}}}\n");
    fs::write(folder.path().join("two.yaml"), small).unwrap();
    let said = stdout(&tubewright(&folder, &["build", "two.yaml"]).code(0));
    assert!(said.contains("left as they were: forms/15-r55/form.stl\n"), "{said}");
    assert!(folder.path().join("out/two/forms/15-r55/form-a.stl").exists());
}

#[test]
fn radii_a_hair_apart_get_forms_of_one_or_two_names() {
    let folder = folder();
    let spec =
        TWO_RUNS.replace("  rod:\n    from: [0, 0, 100]\n    to: [300, 0, 100]\n    corners: []\n", "");
    // 20.0005 mm lies between two names of whole micrometres.
    let bent = "  a:\n    bends: [{length: 30, angle: 90, clr: 20.0005}, {length: 30, angle: 90, clr: 20}]\n    end_length: 30\n";
    fs::write(folder.path().join("hair.yaml"), spec + bent).unwrap();
    tubewright(&folder, &["build", "hair.yaml", "--only", "dxf"]).code(0);
    let forms: Vec<String> = names(&folder.path().join("out/hair"))
        .into_iter()
        .filter(|name| name.starts_with("forms/"))
        .collect();
    assert_eq!(forms, ["forms/15-r20.001/form.dxf", "forms/15-r20/form.dxf", "forms/15-r55/form.dxf"]);
}

#[test]
fn bend_tables_without_a_place_do_not_clash() {
    let folder = folder();
    let run = |name: &str| format!("  {name}:\n    bends: [{{length: 60, angle: 90}}]\n    end_length: 60\n");
    let spec = TWO_RUNS.split("runs:").next().unwrap().to_owned() + "runs:\n" + &run("a") + &run("b");
    fs::write(folder.path().join("tables.yaml"), spec).unwrap();
    tubewright(&folder, &["build", "tables.yaml", "--strict", "--only", "json"]).code(0);
    let plan: serde_json::Value =
        serde_json::from_slice(&fs::read(folder.path().join("out/tables/plan.json")).unwrap()).unwrap();
    assert!(plan["runs"][0]["min_clearance_mm"].is_null());
}

#[test]
fn strict_shows_what_stops_it_even_when_quiet() {
    let folder = folder();
    fs::write(
        folder.path().join("stocked.yaml"),
        format!("{TWO_RUNS}stock: {{length: 3 m, od: 12, wall: 1}}\n"),
    )
    .unwrap();
    let said = stderr(&tubewright(&folder, &["check", "stocked.yaml", "--strict", "--quiet"]).code(1));
    assert!(
        said.contains("warning[unused-stock]") && said.contains("1 warning counts as an error"),
        "{said}"
    );
}

#[test]
fn the_readme_s_whole_format_builds() {
    let folder = folder();
    let readme = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md")).unwrap();
    let mut blocks = readme.split("```yaml\n").filter_map(|rest| rest.split("```").next());
    let block = blocks.find(|block| block.starts_with("format: 1")).unwrap();
    fs::write(folder.path().join("readme.yaml"), block).unwrap();
    tubewright(&folder, &["build", "readme.yaml", "--strict"]).code(0);
}

#[test]
fn only_and_run_narrow_the_build() {
    let folder = folder();
    tubewright(&folder, &["build", "two.yaml", "--only", "stl,csv", "--run", "rod", "--out", "o"]).code(0);
    assert_eq!(names(&folder.path().join("o")), ["only/rod/bends.csv", "only/rod/runs/rod/tube.stl"]);
    let wrong = tubewright(&folder, &["build", "two.yaml", "--run", "rodd"]).code(2);
    assert!(stderr(&wrong).contains("no run \"rodd\"; did you mean `rod`?"), "{}", stderr(&wrong));
    tubewright(&folder, &["build", "two.yaml", "--only", "gif"]).code(2);
    for (typed, meant) in [("pdff", "pdf"), ("dfx", "dxf"), ("csv,setp", "step"), (".stl", "stl")] {
        let said = stderr(&tubewright(&folder, &["build", "two.yaml", "--only", typed]).code(2));
        assert!(said.contains(&format!("a similar value exists: '{meant}'")), "{typed}: {said}");
        assert!(said.contains("[possible values: step, stl, pdf, svg, dxf, csv, json]"), "{said}");
    }
    tubewright(&folder, &["build", "two.yaml", "--only", "CSV", "--out", "capitals"]).code(0);
    assert_eq!(names(&folder.path().join("capitals")), ["bends.csv"]);
}

#[test]
fn errors_stop_the_build_and_leave_everything_as_it_was() {
    let folder = folder();
    tubewright(&folder, &["build", "two.yaml"]).code(0);
    let before = tree(folder.path());
    fs::write(
        folder.path().join("bad.yaml"),
        TWO_RUNS.replace("corners: [[200, 0, 0]]", "cornres: [[200, 0, 0]]"),
    )
    .unwrap();
    let failed = tubewright(&folder, &["build", "bad.yaml", "two.yaml"]).code(1);
    let said = stderr(&failed);
    for part in ["bad.yaml:8:5", "cornres", "corners"] {
        assert!(said.contains(part), "{part} is not in\n{said}");
    }
    fs::remove_file(folder.path().join("bad.yaml")).unwrap();
    assert_eq!(tree(folder.path()), before);
}

#[test]
fn warnings_fail_only_when_strict() {
    let folder = folder();
    fs::write(
        folder.path().join("stocked.yaml"),
        format!("{TWO_RUNS}stock: {{length: 3 m, od: 12, wall: 1}}\n"),
    )
    .unwrap();
    let warned = tubewright(&folder, &["check", "stocked.yaml"]).code(0);
    assert!(stderr(&warned).contains("warning[unused-stock]"), "{}", stderr(&warned));
    let quiet = tubewright(&folder, &["check", "stocked.yaml", "--quiet"]).code(0);
    assert_eq!((stdout(&quiet), stderr(&quiet)), (String::new(), String::new()));
    tubewright(&folder, &["check", "stocked.yaml", "--strict"]).code(1);
    tubewright(&folder, &["build", "stocked.yaml", "--strict"]).code(1);
    assert_eq!(names(folder.path()), ["stocked.yaml", "two.yaml"]);
}

#[test]
fn reports_can_be_read_by_programs() {
    let folder = folder();
    let built = tubewright(&folder, &["build", "two.yaml", "--format", "json"]).code(0);
    let report: serde_json::Value = serde_json::from_str(&stdout(&built)).unwrap();
    let spec = &report["specs"][0];
    assert_eq!((&report["command"], &spec["status"]), (&"build".into(), &"built".into()));
    assert_eq!(spec["files"].as_array().unwrap().len(), 28);
    let plan: serde_json::Value =
        serde_json::from_slice(&fs::read(folder.path().join("out/two/plan.json")).unwrap()).unwrap();
    assert_eq!(spec["runs"], plan["runs"]);
    assert_eq!(spec["runs"][0]["bends"].as_array().unwrap().len(), 1);

    fs::write(folder.path().join("bad.yaml"), "format: 1\nruns: {}\n").unwrap();
    let failed = tubewright(&folder, &["check", "bad.yaml", "--format", "json"]).code(1);
    let report: serde_json::Value = serde_json::from_str(&stdout(&failed)).unwrap();
    let finding = &report["specs"][0]["findings"][0];
    assert_eq!(report["specs"][0]["status"], "errors");
    assert!(finding["code"].is_string() && finding["line"].is_u64(), "{finding}");
}

/// Two bends in space that only the other end can be held for, made on a calibrated bender.
const HOOK: &str = "\
format: 1
tube: {od: 10, wall: 1, material: testium, density: 8000, elongation: 30, temper: hard}
bender:
  name: plywood form
  clr: 40
  grip: 30
  lead_out: 10
  test_bends:
    - {pulled: 40, got: 38}
    - {pulled: 90, got: 85.5}
runs:
  hook:
    from: {at: [0, 0, 0], facing: [1, 0, 0]}
    bends:
      - {length: 20, rotation: 0, angle: 90}
      - {length: 35, rotation: 90, angle: 76}
    end_length: 60
    allowance: {end: 5}
";

#[test]
fn check_shows_the_plan_in_the_order_of_work() {
    let folder = folder();
    fs::write(folder.path().join("hook.yaml"), HOOK).unwrap();
    let said = stdout(&tubewright(&folder, &["check", "hook.yaml"]).code(0));
    let (_, shown) = said.split_once(" hook: ").unwrap();
    // Straights of 20, 35 and 60 mm, arcs of 62.832 and 53.058, and 5 mm to trim. Of an angle pulled to, 5 %
    // springs back: 90/0.95 and 76/0.95. At R 40 OD/wall is 10 of 7.5 R/OD = 30, so 10/30 of 8 %; the wall is
    // 1/(1 + 10/100).
    let expected = [
        "cut 235.9 mm, 5 mm at the other end to trim away later",
        "   bend from the other end: from the datum end bend 1 lacks 10.0 mm: 20.0 mm of straight before it,",
        "   and the bender grips 30 mm",
        "   plywood form, fitted to its test bends: radius 40 mm (written 40), stretch 0 %, springs back 0°",
        "   and 5 % of the angle pulled",
        "   springback as the test bends show",
        "   estimate, bend 1: 2.7 % oval if bent empty, 9.9 mm from inside to back (good); wall 0.91 mm at",
        "   the back, 1.10 inside; bend it empty (published: up to 8 % is good, and up to OD/wall 30 stays",
        "   empty, here 10)",
        " bend      mark from   from last             turn the   angle   pull to   springs   anneal",
        "        other end mm     bend mm               tube °       °         °    back °       mm",
        "───────────────────────────────────────────────────────────────────────────────────────────",
        " 2              65.0        65.0                    -    76.0      80.0       4.0        -",
        " 1             153.1        35.0   90.0 anticlockwise    90.0      94.7       4.7        -",
    ];
    assert_eq!(shown.lines().take(expected.len()).collect::<Vec<_>>(), expected, "{said}");
    assert!(said.lines().all(|line| line.chars().count() <= 100), "{said}");
    let strict = tubewright(&folder, &["check", "hook.yaml", "--strict"]).code(0);
    assert_eq!(stderr(&strict), "", "one end that will do is enough");
    let json = stdout(&tubewright(&folder, &["check", "hook.yaml", "--format", "json"]).code(0));
    let report: serde_json::Value = serde_json::from_str(&json).unwrap();
    let run = &report["specs"][0]["runs"][0];
    assert_eq!(run["order"]["better"], "other end");
    assert_eq!(
        (&run["bender"]["springback_rate"], &run["bender"]["springback_fixed_deg"]),
        (&0.05.into(), &0.into())
    );
    assert_eq!(run["bends"][1]["pull_to_deg"], 80);
}

/// A spec with what `calibrate` says to paste.
fn with_example(folder: &TempDir) -> String {
    let text = TWO_RUNS.replace("bender: {clr: 55}\n", EXAMPLE);
    fs::write(folder.path().join("tested.yaml"), &text).unwrap();
    text
}

#[test]
fn calibrate_says_how_to_write_test_bends_and_fits_what_it_says() {
    let folder = folder();
    let said = stdout(&tubewright(&folder, &["calibrate", "two.yaml"]).code(0));
    assert!(said.contains("No bender has test bends yet") && said.contains(EXAMPLE), "{said}");
    let readme = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md")).unwrap();
    assert!(readme.contains(EXAMPLE), "the README shows the same");
    with_example(&folder);
    let said = tubewright(&folder, &["calibrate", "tested.yaml", "--strict"]).code(0);
    assert_eq!(stderr(&said), "");
    let said = stdout(&said);
    // R = (126.6/sin 89.85° − 15)/2; legs 340.1 − 15·tan 44.75° = 325.23; gain 25.23 = 0.42055·R + s·1.56207·R.
    for shown in ["55.80 mm", "325.23", "2.02 %", "A 90° bend stretches by 1.77 mm.", "knee, rod"] {
        assert!(said.contains(shown), "no {shown} in\n{said}");
    }
    // Pulled to 92.54°, a bend opens by 0.28° + 2.44 % of that: 2.54°.
    assert!(said.lines().any(|line| line.contains("90°") && line.contains("92.54°")), "{said}");
    tubewright(&folder, &["build", "tested.yaml", "--strict", "--only", "json"]).code(0);
    let plan = fs::read_to_string(folder.path().join("out/tested/plan.json")).unwrap();
    let plan: serde_json::Value = serde_json::from_str(&plan).unwrap();
    let bend = &plan["runs"][0]["bends"][0];
    assert!((bend["clr_mm"].as_f64().unwrap() - 55.8).abs() < 0.001, "{bend}");
    assert!((bend["pull_to_deg"].as_f64().unwrap() - 92.54).abs() < 0.005, "{bend}");
    assert_eq!(bend["springback_source"], "test bends");
}

#[test]
fn calibrate_refuses_pieces_that_do_not_agree_and_still_shows_them() {
    let folder = folder();
    let bad = with_example(&folder).replace("got: 89.5", "got: 85");
    fs::write(folder.path().join("bad.yaml"), bad).unwrap();
    let refused = tubewright(&folder, &["calibrate", "bad.yaml"]).code(1);
    assert!(stderr(&refused).contains("error[bad-test-bends]"), "{}", stderr(&refused));
    let said = stdout(&refused);
    assert!(said.contains("-2.87") && said.contains("not used: see the error"), "{said}");
    assert!(!said.contains("pull to"), "{said}");
    fs::write(folder.path().join("broken.yaml"), "format: 1\nrunz: {}\n").unwrap();
    let broken = tubewright(&folder, &["calibrate", "broken.yaml"]).code(1);
    assert!(stderr(&broken).contains("did you mean `runs`"), "{}", stderr(&broken));
    assert_eq!(stdout(&broken), "");
}

#[test]
fn calibrate_reports_to_programs() {
    let folder = folder();
    with_example(&folder);
    let said = stdout(&tubewright(&folder, &["calibrate", "tested.yaml", "--format", "json"]).code(0));
    let report: serde_json::Value = serde_json::from_str(&said).unwrap();
    assert_eq!((&report["command"], &report["specs"][0]["status"]), (&"calibrate".into(), &"sound".into()));
    let bender = &report["specs"][0]["benders"][0];
    let fit = &bender["calibration"];
    assert_eq!((&bender["runs"], fit["used"].as_bool()), (&serde_json::json!(["knee", "rod"]), Some(true)));
    assert_eq!(fit["pieces"].as_array().unwrap().len(), 3);
    assert!((fit["formed_clr_mm"]["value"].as_f64().unwrap() - 55.8).abs() < 0.001, "{fit}");
    assert_eq!(fit["formed_clr_mm"]["standard_error"], serde_json::Value::Null);
    let pulled: Vec<f64> =
        fit["pull_to"].as_array().unwrap().iter().map(|row| row["angle_deg"].as_f64().unwrap()).collect();
    assert_eq!(pulled, [30.0, 45.0, 90.0, 180.0]);
}

#[test]
fn files_that_cannot_be_read_or_written_give_code_3() {
    let folder = folder();
    let unread = tubewright(&folder, &["build", "none.yaml"]).code(3);
    assert!(stderr(&unread).contains("none.yaml"));
    fs::write(folder.path().join("taken"), "a file where the folder should be").unwrap();
    tubewright(&folder, &["build", "two.yaml", "--out", "taken"]).code(3);
    assert_eq!(names(folder.path()), ["taken", "two.yaml"]);
}

#[test]
fn text_that_is_not_utf8_is_an_error_of_the_spec() {
    let folder = folder();
    fs::write(folder.path().join("latin.yaml"), b"format: 1\ntitle: K\xfchlung\n").unwrap();
    let failed = tubewright(&folder, &["check", "latin.yaml"]).code(1);
    for part in ["latin.yaml:2:9", "not UTF-8", "save it as UTF-8"] {
        assert!(stderr(&failed).contains(part), "{}", stderr(&failed));
    }
}

#[test]
fn wrong_usage_gives_code_2() {
    let folder = folder();
    for arguments in [
        &["bild"][..],
        &["build"],
        &["build", "two.yaml", "--paper", "a9"],
        &["build", "two.yaml", "--chord", "0"],
        &["build", "two.yaml", "--printer-scale", "25,25"],
        &["build", "two.yaml", "./two.yaml"],
        &["sizes", "EN 1058"],
    ] {
        tubewright(&folder, arguments).code(2);
    }
    // A number below 0 is one of the option, not an option.
    for (option, value, told) in [
        ("--chord", "-1", "0.001"),
        ("--paper-thickness", "-0.1", "0 to 1 mm"),
        ("--printer-scale", "-99,100", "90 to 110"),
    ] {
        let said = stderr(&tubewright(&folder, &["build", "two.yaml", option, value]).code(2));
        assert!(said.contains(told), "{said}");
    }
    assert_eq!(names(folder.path()), ["two.yaml"]);
}

#[test]
fn sizes_schema_and_completions_print() {
    let folder = folder();
    let sizes = stdout(&tubewright(&folder, &["sizes", "ASTM B88"]).code(0));
    assert!(sizes.contains("15.875") && !sizes.contains("EN 1057"), "{sizes}");
    let all: serde_json::Value =
        serde_json::from_str(&stdout(&tubewright(&folder, &["sizes", "--format", "json"]).code(0))).unwrap();
    assert_eq!(all.as_array().unwrap().len(), 4);
    let schema: serde_json::Value =
        serde_json::from_str(&stdout(&tubewright(&folder, &["schema"]).code(0))).unwrap();
    assert!(schema["properties"]["runs"].is_object());
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let script = stdout(&tubewright(&folder, &["completions", shell]).code(0));
        assert!(script.contains("printer-scale"), "{shell}");
    }
}

#[test]
fn every_demo_builds_without_a_warning() {
    let specs = Path::new(env!("CARGO_MANIFEST_DIR")).join("specs");
    let mut demos = 0;
    for entry in fs::read_dir(specs).unwrap() {
        let path = entry.unwrap().path();
        // Beside the specs lie the meshes of their components.
        if path.extension().is_none_or(|extension| extension != "yaml") {
            continue;
        }
        let folder = tempfile::tempdir().unwrap();
        tubewright(&folder, &["build", path.to_str().unwrap(), "--strict"]).code(0);
        demos += 1;
    }
    assert!(demos >= 4);
}

#[test]
fn the_time_stamp_follows_source_date_epoch() {
    let folder = folder();
    let build = |epoch: &str| {
        Command::new(env!("CARGO_BIN_EXE_tubewright"))
            .current_dir(&folder)
            .env("SOURCE_DATE_EPOCH", epoch)
            .args(["build", "two.yaml", "--run", "rod", "--only", "step"])
            .assert()
    };
    build("86400").code(0);
    let step = fs::read_to_string(folder.path().join("out/two/only/rod/runs/rod/tube.step")).unwrap();
    assert!(step.contains("1970-01-02T00:00:00"), "{}", &step[..300]);
    build("yesterday").code(2);
}
