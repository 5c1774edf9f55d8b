//! What a person at a terminal is told: how every command ends, starters, sizes, widths, what to do next.

use std::fs;
use std::path::Path;

use tempfile::TempDir;

use crate::run::{command, stderr, stdout, tubewright};

/// One sound run and one whose tube is thinner than its fitting wants: a warning.
const TWO_RUNS: &str = "\
format: 1
tube: {standard: EN 1057, size: 15 x 1.0, temper: soft}
bender: {clr: 55, grip: 30}
runs:
  knee:
    from: [0, 0, 0]
    to: [200, 150, 0]
    corners: [[200, 0, 0]]
  hook:
    bends: [{length: 20, angle: 90}, {length: 20, angle: 90}]
    end_length: 20
";

fn folder() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("two.yaml"), TWO_RUNS).unwrap();
    fs::write(folder.path().join("bad.yaml"), "format: 1\nrunz: {}\n").unwrap();
    folder
}

fn demo(name: &str) -> String {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("specs").join(name).to_str().unwrap().to_owned()
}

#[test]
fn every_command_ends_with_the_code_that_is_documented() {
    let folder = folder();
    let cases: &[(u8, &[&str])] = &[
        (0, &["--help"]),
        (0, &["--version"]),
        (2, &[]),
        (0, &["init", "new.yaml"]),
        (3, &["init", "new.yaml"]),
        (3, &["init", "none/new.yaml"]),
        (2, &["init", "other.yaml", "--units", "furlong"]),
        (0, &["check", "two.yaml"]),
        (1, &["check", "two.yaml", "--strict"]),
        (1, &["check", "bad.yaml"]),
        (2, &["check"]),
        (2, &["check", "two.yaml", "--run", "none"]),
        (3, &["check", "none.yaml"]),
        (0, &["build", "two.yaml", "--only", "csv"]),
        (1, &["build", "bad.yaml"]),
        (2, &["build", "two.yaml", "--run", "none"]),
        (3, &["build", "none.yaml"]),
        (3, &["build", "two.yaml", "--only", "csv", "--out", "bad.yaml"]),
        (0, &["calibrate", "two.yaml"]),
        (1, &["calibrate", "bad.yaml"]),
        (2, &["calibrate"]),
        (3, &["calibrate", "none.yaml"]),
        (0, &["sizes"]),
        (0, &["sizes", "17.3"]),
        (2, &["sizes", "wide"]),
        (2, &["sizes", "15 x wide"]),
        (0, &["schema"]),
        (2, &["schema", "two.yaml"]),
        (0, &["man"]),
        (2, &["man", "build"]),
        (3, &["man", "--dir", "two.yaml"]),
        (0, &["completions", "bash"]),
        (2, &["completions", "tcsh"]),
    ];
    for (code, arguments) in cases {
        let ended = tubewright(&folder, arguments).code(i32::from(*code));
        // Whatever goes wrong is said, and said where errors belong.
        assert_eq!(stderr(&ended).contains("rror"), *code != 0, "{arguments:?}: {}", stderr(&ended));
    }
}

#[test]
#[cfg(target_os = "linux")]
fn text_that_cannot_be_printed_gives_code_3() {
    let folder = folder();
    for arguments in [
        &["init", "-"][..],
        &["check", "two.yaml"],
        &["calibrate", "two.yaml"],
        &["build", "two.yaml", "--only", "csv"],
        &["sizes"],
        &["schema"],
        &["man"],
        &["completions", "fish"],
        &["--help"],
        &["build", "--help"],
    ] {
        let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_tubewright"));
        let ended = command.current_dir(&folder).args(arguments).stdout(full).output().unwrap();
        assert_eq!(ended.status.code(), Some(3), "{arguments:?}");
    }
}

#[test]
fn every_starter_builds_without_a_warning_and_names_its_schema() {
    let folder = folder();
    for (units, from) in [("mm", "tube"), ("in", "tube"), ("mm", "ports"), ("in", "ports")] {
        let name = format!("{from}-{units}.yaml");
        tubewright(&folder, &["init", &name, "--units", units, "--from", from]).code(0);
        let text = fs::read_to_string(folder.path().join(&name)).unwrap();
        assert!(text.starts_with("# yaml-language-server: $schema=tubewright.schema.json\n"), "{name}");
        assert!(text.contains("tubewright schema > tubewright.schema.json"), "{name}");
        assert!(text.contains(&format!("\nunits: {units}")), "{name}");
        let first = |word: &str| text.find(&format!("\n{word}:")).unwrap();
        assert_eq!(first("components") < first("tube"), from == "ports", "{name}");
        let checked = tubewright(&folder, &["check", &name, "--strict"]).code(0);
        assert_eq!(stderr(&checked), "", "{name}");
        tubewright(&folder, &["build", &name, "--strict"]).code(0);
        let printed = stdout(&tubewright(&folder, &["init", "-", "--units", units, "--from", from]).code(0));
        assert_eq!(printed, text);
        let refused = tubewright(&folder, &["init", &name]).code(3);
        assert!(stderr(&refused).contains("exists already"), "{}", stderr(&refused));
        assert_eq!(fs::read_to_string(folder.path().join(&name)).unwrap(), text);
    }
}

#[test]
fn check_of_one_run_finds_and_shows_that_run_only() {
    let folder = folder();
    let all = tubewright(&folder, &["check", "two.yaml"]).code(0);
    assert!(stderr(&all).contains("hook"), "{}", stderr(&all));
    let one = tubewright(&folder, &["check", "two.yaml", "--run", "knee", "--strict"]).code(0);
    assert_eq!(stderr(&one), "");
    assert!(stdout(&one).contains("knee") && !stdout(&one).contains("hook"), "{}", stdout(&one));
    let both = tubewright(&folder, &["check", "two.yaml", "--run", "knee", "--run", "hook"]).code(0);
    assert_eq!((stdout(&both), stderr(&both)), (stdout(&all), stderr(&all)));
    let none = tubewright(&folder, &["check", "two.yaml", "--run", "knees"]).code(2);
    assert!(stderr(&none).contains("no run \"knees\"; did you mean `knee`?"), "{}", stderr(&none));
    let json =
        stdout(&tubewright(&folder, &["check", "two.yaml", "--run", "knee", "--format", "json"]).code(0));
    let report: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(report["specs"][0]["runs"].as_array().unwrap().len(), 1);
}

#[test]
fn check_of_one_run_is_not_stopped_by_errors_of_another() {
    let folder = folder();
    let broken = format!(
        "{TWO_RUNS}  third: {{from: [0, 0, 90], to: [200, 0, 90], way: 1, corners: []}}
"
    );
    fs::write(folder.path().join("broken.yaml"), &broken).unwrap();
    let all = stderr(&tubewright(&folder, &["check", "broken.yaml"]).code(1));
    assert!(all.contains("unknown key `way`") && !all.contains("clearance-unknown"), "{all}");

    let one = tubewright(&folder, &["check", "broken.yaml", "--run", "knee"]).code(0);
    let said = stderr(&one);
    assert!(stdout(&one).contains("knee") && !said.contains("unknown-key"), "{said}");
    let warning =
        "warning[clearance-unknown]: clearances to run third are not known: it could not be laid out";
    assert!(said.starts_with(warning), "{said}");
    tubewright(&folder, &["check", "broken.yaml", "--run", "knee", "--strict"]).code(1);

    let other = stderr(&tubewright(&folder, &["check", "broken.yaml", "--run", "third"]).code(1));
    assert!(other.contains("unknown-key") && !other.contains("clearance-unknown"), "{other}");
    let everywhere = broken.replacen("tube: {", "tube: {odd: 1, ", 1);
    fs::write(folder.path().join("broken.yaml"), everywhere).unwrap();
    let stopped = stderr(&tubewright(&folder, &["check", "broken.yaml", "--run", "knee"]).code(1));
    assert!(stopped.contains("unknown key `odd`") && !stopped.contains("`way`"), "{stopped}");
}

#[test]
fn sizes_are_found_by_diameter() {
    let folder = folder();
    let said = |arguments: &[&str]| stdout(&tubewright(&folder, arguments).code(0));
    let found = said(&["sizes", "5/8"]);
    let row = |words: &[&str]| found.lines().any(|line| words.iter().all(|word| line.contains(word)));
    assert!(row(&["ASTM B88 ", "1/2 type L", "outside diameter", "15.875"]), "{found}");
    assert!(row(&["ASTM B88 ", "5/8 type L", "nominal size", "19.050"]), "{found}");
    assert!(row(&["ASTM B280", "outside diameter", "0.625"]), "{found}");
    for same in [&["sizes", "5/8", "in"][..], &["sizes", "0.625"], &["sizes", "5/8 in"]] {
        assert_eq!(said(same), found, "{same:?}");
    }
    let one = said(&["sizes", "15", "x", "1"]);
    assert!(one.contains("tube: {standard: EN 1057, size: 15 x 1.0, temper: soft}"), "{one}");
    assert_eq!(one, said(&["sizes", "15 x 1"]));
    let near = said(&["sizes", "17"]);
    assert!(near.contains("no built-in tube measures 17 across") && near.contains("18.000"), "{near}");
    let json: serde_json::Value =
        serde_json::from_str(&said(&["sizes", "15 x 1", "--format", "json"])).unwrap();
    assert_eq!((&json["sizes"][0]["standard"], &json["note"]), (&"EN 1057".into(), &serde_json::Value::Null));
    assert_eq!(json["sizes"][0]["found_by"], "outside diameter");
    // The size as it is shown can be pasted into a spec.
    for asked in ["5/8", "15 x 1", "28.6"] {
        let shown = said(&["sizes", asked]).split_whitespace().collect::<Vec<_>>().join(" ");
        let (_, tube) = shown.split_once("tube: ").unwrap();
        let spec = format!(
            "format: 1\nbender: {{clr: 100}}\ntube: {tube}\nruns: {{a: {{bends: [], end_length: 100}}}}\n"
        );
        fs::write(folder.path().join("pasted.yaml"), &spec).unwrap();
        tubewright(&folder, &["check", "pasted.yaml"]).code(0);
    }
}

#[test]
fn tables_and_words_keep_to_the_width() {
    let folder = folder();
    let reading_room = demo("reading-room.yaml");
    let long = TWO_RUNS.replace("hook", &"long-name-".repeat(6));
    fs::write(folder.path().join("long.yaml"), long).unwrap();
    for (columns, arguments) in [
        (80, &["check", &reading_room][..]),
        (80, &["check", "long.yaml"]),
        (60, &["check", "two.yaml"]),
        (80, &["build", "two.yaml"]),
        (80, &["sizes"]),
        (80, &["sizes", "5/8"]),
        (100, &["check", &reading_room]),
    ] {
        let set = command(&folder, arguments).env("COLUMNS", columns.to_string()).assert().code(0);
        let widest = stdout(&set).lines().map(|line| line.chars().count()).max().unwrap();
        assert!(widest > 40 && widest <= columns, "{arguments:?}: {widest}\n{}", stdout(&set));
    }
    // On a narrow page what springs back is left out, since angle and angle to pull to are there.
    let table =
        |columns: &str| stdout(&command(&folder, &["check", &reading_room]).env("COLUMNS", columns).assert());
    assert!(table("100").contains("springs") && !table("80").contains("springs"));
    assert_eq!(
        table("100"),
        stdout(&tubewright(&folder, &["check", &reading_room])),
        "100 is usual for a file"
    );
    assert!(table("80").contains("turn the"), "{}", table("80"));
}

#[test]
fn a_dumb_terminal_gets_plain_rules_and_no_colours() {
    let folder = folder();
    for arguments in [&["check", "two.yaml"][..], &["sizes", "15"], &["build", "two.yaml"]] {
        let said = command(&folder, arguments).env("TERM", "dumb").assert().code(0);
        let all = stdout(&said) + &stderr(&said);
        assert!(all.contains("\n---") && !all.contains(['─', '\x1b']), "{all}");
        assert!(stdout(&tubewright(&folder, arguments)).contains("\n───"));
    }
}

#[test]
fn what_is_asked_of_sizes_cannot_steer_the_terminal() {
    let folder = folder();
    for wanted in ["\x1b[31m", "15\x1b[31m", "EN\x1b[31m 1058"] {
        let said = stderr(&tubewright(&folder, &["sizes", wanted]).code(2));
        assert!(said.contains("\\u{1b}[31m") && !said.contains('\x1b'), "{said:?}");
    }
}

#[test]
fn a_build_of_some_runs_leaves_the_whole_as_it_is() {
    let folder = folder();
    tubewright(&folder, &["build", "two.yaml"]).code(0);
    let whole = fs::read(folder.path().join("out/two/templates.pdf")).unwrap();
    let said = stdout(&tubewright(&folder, &["build", "two.yaml", "--run", "knee"]).code(0));
    assert!(said.contains("files in out/two/only/knee, plan mark "), "{said}");
    assert!(said.contains("out/two/only/knee/overview.svg"), "{said}");
    assert_eq!(fs::read(folder.path().join("out/two/templates.pdf")).unwrap(), whole);
    assert!(folder.path().join("out/two/only/knee/runs/knee/template.svg").exists());
    // Named in the order of the spec, in whatever order they were asked for.
    tubewright(&folder, &["build", "two.yaml", "--run", "hook", "--run", "knee", "--only", "csv"]).code(0);
    assert!(folder.path().join("out/two/only/knee+hook/bends.csv").exists());
    let again = stdout(&tubewright(&folder, &["build", "two.yaml"]).code(0));
    assert!(!again.contains("only"), "{again}");
}

/// Pages of a PDF below a folder, counted by a PDF library.
fn pages(folder: &Path, file: &str) -> usize {
    lopdf::Document::load(folder.join(file)).unwrap().get_pages().len()
}

#[test]
fn a_build_ends_with_what_to_open_and_print() {
    let folder = folder();
    for paper in ["a4", "a5", "letter", "300x450"] {
        let built =
            tubewright(&folder, &["build", "two.yaml", "--paper", paper, "--out", &format!("out/{paper}")])
                .code(0);
        let (said, warned) = (stdout(&built), stderr(&built));
        let out = folder.path().join("out").join(paper);
        let (_, next) = said.split_once("next:\n").unwrap_or_else(|| panic!("{said}"));
        assert!(next.contains(&format!("out/{paper}/overview.svg")), "{next}");
        assert!(next.contains(&format!("on {paper} paper, at 100 %")), "{next}");
        let mut told = Vec::new();
        for line in next.lines() {
            let Some((_, file)) = line.split_once(". ") else { continue };
            let words: Vec<&str> = file.split_whitespace().collect();
            assert_eq!(words[1].parse::<usize>().unwrap(), pages(&out, words[0]), "{line}");
            told.push(words[0].to_owned());
        }
        // A strip of this tube is too high for the smallest paper.
        let strips = paper != "a5";
        let all = ["worksheet.pdf", "strips.pdf", "templates.pdf"];
        assert_eq!(told, all.into_iter().filter(|file| strips || *file != "strips.pdf").collect::<Vec<_>>());
        assert_eq!(out.join("strips.pdf").exists(), strips);
        let left_out = ["strip-too-high", "a5 paper: knee, hook", "--paper a4", "runs/<run>/strip.svg"];
        assert!(left_out.iter().all(|words| warned.contains(words) != strips), "{warned}");
        let tools = ["forms/15-r55/form.pdf", "jigs/hook.pdf", "jigs/knee.pdf"];
        let sheets: usize = tools.iter().map(|file| pages(&out, file)).sum();
        assert!(next.contains(&format!("have {sheets} sheets more in 3 PDFs")), "{next}");
    }
    let quiet = tubewright(&folder, &["build", "two.yaml", "--quiet"]).code(0);
    assert_eq!(stdout(&quiet), "");
    assert!(!stdout(&tubewright(&folder, &["build", "two.yaml", "--only", "csv"]).code(0)).contains("next"));
}

#[test]
fn the_manual_has_every_command_and_option() {
    let folder = folder();
    let page = stdout(&tubewright(&folder, &["man"]).code(0));
    let plain = page.replace('\\', "");
    for words in
        ["EXAMPLES", "TUBEWRIGHT BUILD", "--printer-scale", "TUBEWRIGHT CALIBRATE", "--units", "Exit codes"]
    {
        assert!(plain.contains(words), "no {words}");
    }
    let build = plain.find("TUBEWRIGHT BUILD").unwrap();
    assert!(
        plain[build..].find("tubewright build my-loop.yaml").unwrap()
            < plain[build..].find("SYNOPSIS").unwrap()
    );
    tubewright(&folder, &["man", "--dir", "man/man1"]).code(0);
    for command in
        ["", "-init", "-build", "-check", "-calibrate", "-sizes", "-schema", "-man", "-completions"]
    {
        let page = fs::read_to_string(folder.path().join(format!("man/man1/tubewright{command}.1"))).unwrap();
        assert!(page.contains(".SH EXAMPLES") && page.contains(".SH OPTIONS"), "{command}");
    }
}
