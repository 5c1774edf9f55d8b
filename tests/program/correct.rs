//! `tubewright correct`: readings from a file, from options and from standard input, held against the plan.

use std::fs;

use crate::run::{folder, json, stderr, stdout, tubewright};

const LOOP: &str = include_str!("../bad_readings/of/loop.yaml");

const BENT: &str = "\
format: 1
readings: cold
bends_done: 2
bends:
  1: {angle: 88.5, leg: {got: 153, accuracy: 1}}
  2: {turn: 92}
";

#[test]
fn readings_stand_beside_the_plan() {
    let folder = folder("loop.yaml", LOOP);
    fs::write(folder.path().join("bent.yaml"), BENT).unwrap();
    let said = stdout(&tubewright(&folder, &["correct", "loop.yaml", "cold", "bent.yaml"]).code(0));
    assert!(said.starts_with("loop.yaml, run cold: 2 of 3 bends made\n"), "{said}");
    let row = |name: &str| {
        let line =
            said.lines().find(|line| line.contains(name)).unwrap_or_else(|| panic!("no {name} in\n{said}"));
        line.split_whitespace().map(str::to_owned).collect::<Vec<_>>().join(" ")
    };
    assert_eq!(row("bend 1 angle"), "bend 1 angle ° 88.50 90.00 -1.50 0.50");
    // 10 mm to trim, 80 mm straight, 55 mm to the crossing and half a tube of 15 mm to the back.
    assert_eq!(row("bend 1 leg"), "bend 1 leg, outside mm 153.00 152.50 +0.50 1.00");
    assert_eq!(row("bend 2 turn"), "bend 2 turn ° 92.00 90.00 +2.00 1.00");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2, "nothing is written");
}

#[test]
fn options_go_before_the_file_and_do_without() {
    let folder = folder("loop.yaml", LOOP);
    fs::write(folder.path().join("bent.yaml"), BENT).unwrap();
    let set = ["--set", "bend 1 angle 89 ± 0.2", "--set", "bends done 3", "--set", "template 2 left -2"];
    let done =
        tubewright(&folder, &[&["correct", "loop.yaml", "cold", "bent.yaml"], &set[..]].concat()).code(0);
    let (said, told) = (stdout(&done), stderr(&done));
    assert!(said.contains("all 3 bends made") && said.contains("template 2 left"), "{said}");
    assert!(
        told.contains("note: `--set 'bend 1 angle 89 ± 0.2'` goes before 88.5 on line 5 of bent.yaml"),
        "{told}"
    );
    assert!(told.contains("note: `--set 'bends done 3'` goes before 2 on line 3 of bent.yaml"), "{told}");
    assert_eq!(told.lines().count(), 2, "{told}");

    let alone =
        tubewright(&folder, &[&["correct", "loop.yaml", "cold", "--format", "json"], &set[..]].concat());
    let report = json(&alone.code(0));
    assert_eq!((&report["bends_done"], &report["file"]), (&3.into(), &serde_json::Value::Null));
    let reading = &report["readings"][0];
    assert_eq!((&reading["name"], &reading["unit"]), (&"bend 1 angle".into(), &"deg".into()));
    let number = |key: &str| (reading[key].as_f64().unwrap() * 1e6).round() / 1e6;
    assert_eq!(["got", "planned", "off", "accuracy"].map(number), [89.0, 90.0, -1.0, 0.2]);
}

#[test]
fn an_option_is_quoted_with_a_mark_under_the_word() {
    let folder = folder("loop.yaml", LOOP);
    let refused = tubewright(&folder, &["correct", "loop.yaml", "cold", "--set", "bend 2 angel 88"]).code(1);
    let shown = stderr(&refused);
    let lines: Vec<&str> = shown.lines().collect();
    let quoted = lines.iter().position(|line| line.ends_with("bend 2 angel 88")).expect("is quoted");
    assert_eq!(lines[quoted + 1].find("^^^^^"), lines[quoted].find("angel"), "{shown}");
    assert!(shown.contains("did you mean `angle`?"), "{shown}");
}

#[test]
fn a_blank_file_reads_as_nothing_and_takes_what_is_filled_in() {
    for (unit, of_unit) in [("mm", 1.0), ("in", 25.4)] {
        let number = |mm: f64| mm / of_unit;
        // The same run in another unit.
        let spec = format!(
            "format: 1\nunits: {unit}\ntube: {{od: {}, wall: {}, material: copper, temper: soft}}\nbender: {{clr: {}}}\n\
             runs: {{cold: {{bends: [{{length: {}, angle: 90}}, {{length: {}, rotation: 90, angle: 60}}], end_length: {}}}}}\n",
            number(15.0),
            number(1.0),
            number(55.0),
            number(80.0),
            number(60.0),
            number(70.0),
        );
        let folder = folder("loop.yaml", &spec);
        let written = tubewright(&folder, &["correct", "loop.yaml", "cold", "--write", "bent.yaml"]).code(0);
        assert!(
            stdout(&written).contains("next: fill it in, then tubewright correct loop.yaml cold bent.yaml")
        );
        let path = folder.path().join("bent.yaml");
        let blank = fs::read_to_string(&path).unwrap();
        let printed = tubewright(&folder, &["correct", "loop.yaml", "cold", "--write", "-"]).code(0);
        assert_eq!(stdout(&printed), blank.replace("bent.yaml", "FILE"), "the same each time");
        assert!(blank.contains(&format!("\nunits: {unit}\n")), "{blank}");

        let refused = tubewright(&folder, &["correct", "loop.yaml", "cold", "bent.yaml"]).code(1);
        assert!(stderr(&refused).contains("[no-readings]"), "{}", stderr(&refused));

        // Whoever writes what the plan has beside each key reads back the plan.
        let planned = |line: &str| {
            let (_, said) = line.split_once("# planned ")?;
            Some(said.split([' ', ',', ';']).next().unwrap_or_default().to_owned())
        };
        let filled: Vec<String> = blank
            .lines()
            .map(|line| match (planned(line), line.split_once(':')) {
                (Some(value), Some((key, _))) if !line.trim_start().starts_with('#') => {
                    format!("{key}: {value}")
                }
                _ => line.to_owned(),
            })
            .collect();
        let mut filled = filled.join("\n") + "\n";
        let leg = filled.lines().find(|line| line.starts_with("last_leg:")).expect("a last leg").to_owned();
        assert!(!leg.contains("planned") || leg.contains('#'), "{leg}");
        filled = filled.replace("bends_done:", "bends_done: 2 ");
        fs::write(&path, &filled).unwrap();
        let report = json(
            &tubewright(&folder, &["correct", "loop.yaml", "cold", "bent.yaml", "--format", "json"]).code(0),
        );
        let readings = report["readings"].as_array().unwrap();
        assert!(readings.len() >= 13, "{report}");
        assert_eq!(report["pulled"].as_array().unwrap().len(), 2);
        for reading in readings {
            // As far off as what the blank shows is rounded.
            assert!(reading["off"].as_f64().unwrap().abs() <= 0.051, "{reading}");
        }
        assert_eq!(report["file_findings"], serde_json::json!([]));
    }
}

#[test]
fn a_blank_file_goes_over_no_other() {
    let folder = folder("loop.yaml", LOOP);
    fs::write(folder.path().join("bent.yaml"), BENT).unwrap();
    let refused = tubewright(&folder, &["correct", "loop.yaml", "cold", "--write", "bent.yaml"]).code(3);
    assert!(stderr(&refused).contains("bent.yaml exists already and was left as it is"));
    assert_eq!(fs::read_to_string(folder.path().join("bent.yaml")).unwrap(), BENT);
}

#[test]
fn what_cannot_be_done_has_its_exit_code() {
    let folder = folder("loop.yaml", LOOP);
    fs::write(folder.path().join("bent.yaml"), BENT).unwrap();
    fs::write(folder.path().join("bad.yaml"), LOOP.replace("length: 80", "lenght: 80")).unwrap();
    fs::write(folder.path().join("bytes.yaml"), b"format: 1\nreadings: \xff\n").unwrap();
    let told = |arguments: &[&str], code: i32| {
        let done = tubewright(&folder, &[&["correct"], arguments].concat()).code(code);
        assert_eq!(stdout(&done), "", "{arguments:?}");
        stderr(&done)
    };
    assert!(told(&["loop.yaml", "clod", "bent.yaml"], 2).contains("did you mean `cold`?"));
    assert!(told(&["loop.yaml", "cold"], 2).contains("--write FILE"));
    assert!(told(&["-", "cold", "-"], 2).contains("standard input can be read once only"));
    assert!(told(&["loop.yaml", "cold", "bent.yaml", "--write", "x.yaml"], 2).contains("--write"));
    assert!(told(&["loop.yaml", "cold", "none.yaml"], 3).contains("could not read none.yaml"));
    assert!(told(&["loop.yaml", "cold", "."], 3).contains("it is a folder; name the file of readings in it"));
    assert!(told(&["none.yaml", "cold", "bent.yaml"], 3).contains("could not read none.yaml"));
    assert!(told(&["bad.yaml", "cold", "bent.yaml"], 1).contains("[unknown-key]"));
    assert!(told(&["loop.yaml", "cold", "bytes.yaml"], 1).contains("not UTF-8"));
    assert!(told(&["bad.yaml", "cold", "--write", "x.yaml"], 1).contains("[unknown-key]"));
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 4, "nothing is written");
    let report =
        json(&tubewright(&folder, &["correct", "bad.yaml", "cold", "bent.yaml", "--format", "json"]).code(1));
    assert_eq!((&report["status"], &report["readings"]), (&"errors".into(), &serde_json::json!([])));
    assert_eq!(report["findings"][0]["code"], "unknown-key");
}

#[test]
fn readings_come_from_standard_input() {
    let folder = folder("loop.yaml", LOOP);
    let from_input = |arguments: &[&str], text: &str| {
        assert_cmd::Command::new(env!("CARGO_BIN_EXE_tubewright"))
            .current_dir(folder.path())
            .args(arguments)
            .write_stdin(text.to_owned())
            .assert()
    };
    let done = from_input(&["correct", "loop.yaml", "cold", "-"], BENT).code(0);
    assert!(stdout(&done).contains("bend 1 angle"));
    let refused = from_input(&["correct", "loop.yaml", "cold", "-"], &BENT.replace("88.5", "885")).code(1);
    assert!(stderr(&refused).contains("--> stdin:5:14"), "{}", stderr(&refused));
    fs::write(folder.path().join("bent.yaml"), BENT).unwrap();
    let done = from_input(&["correct", "-", "cold", "bent.yaml"], LOOP).code(0);
    assert!(stdout(&done).starts_with("stdin, run cold"));
}
