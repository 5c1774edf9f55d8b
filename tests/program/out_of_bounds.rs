//! What lies outside: files that are none, names and links that lead elsewhere, specs without end, and builds that
//! are broken off.

#![cfg(unix)]
use std::fs;
use std::os::unix::fs::symlink;
use std::path::Path;
use std::process::{Command as Process, Stdio};

use tempfile::TempDir;

use crate::run::{command, stderr, stdout, tubewright};

const SPEC: &str = "\
format: 1
tube: {standard: EN 1057, size: 15 x 1.0, temper: soft}
bender: {clr: 55}
runs:
  knee:
    bends: [{length: 90, angle: 90}]
    end_length: 90
";

fn folder() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("knee.yaml"), SPEC).unwrap();
    folder
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn nothing_is_written_through_links_in_the_output_folder() {
    let folder = folder();
    fs::create_dir_all(folder.path().join("out/knee")).unwrap();
    fs::create_dir(folder.path().join("elsewhere")).unwrap();
    symlink("../../elsewhere", folder.path().join("out/knee/runs")).unwrap();
    let said = stderr(&tubewright(&folder, &["build", "knee.yaml"]).code(3));
    assert!(said.contains("could not write out/knee/runs: it is a link"), "{said}");
    assert!(names(&folder.path().join("elsewhere")).is_empty());
    assert_eq!(names(&folder.path().join("out/knee")), ["runs"]);
}

#[test]
fn a_specs_name_does_not_lead_out_of_the_output_folder() {
    let folder = folder();
    for name in ["...yaml", ".yaml", ".hidden.yaml", "con.yaml", "a..yaml", "tab\there.yaml"] {
        fs::write(folder.path().join(name), SPEC).unwrap();
        let said = stderr(&tubewright(&folder, &["build", name]).code(2));
        assert!(said.contains("gives no name for an output folder") && said.contains("--out"), "{said}");
        tubewright(&folder, &["check", name]).code(0);
        tubewright(&folder, &["build", name, "--out", "there", "--only", "csv"]).code(0);
        fs::remove_dir_all(folder.path().join("there")).unwrap();
        fs::remove_file(folder.path().join(name)).unwrap();
    }
    assert_eq!(names(folder.path()), ["knee.yaml"]);
}

#[test]
fn an_output_folder_that_leads_nowhere_is_said() {
    let folder = folder();
    symlink("gone", folder.path().join("link")).unwrap();
    for (out, wanted) in [
        ("link", "link is a link to gone, which does not exist"),
        ("missing/../x", "missing/../x leads through missing, which does not exist"),
        ("knee.yaml/x", "could not write knee.yaml: it is a file, not a folder"),
    ] {
        let said = stderr(&tubewright(&folder, &["build", "knee.yaml", "--out", out]).code(3));
        assert!(said.contains(wanted), "{said}");
    }
    assert_eq!(names(folder.path()), ["knee.yaml", "link"]);
}

#[test]
fn file_names_do_not_steer_the_terminal() {
    let folder = folder();
    let name = "a\n\u{1b}[2J\u{202e}.yaml";
    for text in ["format: 1\nrunz: {}\n", SPEC] {
        fs::write(folder.path().join(name), text).unwrap();
        for arguments in
            [&["check", name][..], &["build", name], &["calibrate", name], &["check", name, "--strict"]]
        {
            let done = tubewright(&folder, arguments);
            let said = stdout(&done) + &stderr(&done);
            assert!(!said.contains(['\u{1b}', '\u{202e}']), "{said:?}");
            assert!(said.contains("a\\n\\u{1b}[2J\\u{202e}.yaml"), "{said:?}");
        }
    }
    let said = stderr(&tubewright(&folder, &["check", "\u{1b}[2Jnone.yaml"]).code(3));
    assert!(said.contains("could not read \\u{1b}[2Jnone.yaml"), "{said:?}");
    let built = tubewright(&folder, &["build", "knee.yaml", "--only", "csv", "--out", "o\u{1b}[2J"]).code(0);
    assert!(stdout(&built).contains("o\\u{1b}[2J"), "{}", stdout(&built));
}

#[test]
fn words_of_a_spec_do_not_steer_the_terminal() {
    let folder = folder();
    let named = SPEC.replace(
        "bender: {clr: 55}",
        r#"bender: {name: "x\e[2J\u202Ey", clr: 55, test_bends: [{pulled: 45, got: 44}]}"#,
    );
    fs::write(folder.path().join("named.yaml"), named).unwrap();
    for command in ["check", "calibrate", "build"] {
        let done = tubewright(&folder, &[command, "named.yaml"]);
        let said = stdout(&done) + &stderr(&done);
        assert!(!said.contains(['\u{1b}', '\u{202e}']), "{command}: {said:?}");
    }
}

#[test]
fn only_regular_files_are_read() {
    let folder = folder();
    assert!(Process::new("mkfifo").arg(folder.path().join("pipe.yaml")).status().unwrap().success());
    for (path, wanted) in
        [("pipe.yaml", "no regular file"), ("/dev/zero", "no regular file"), (".", "it is a folder")]
    {
        for command in ["check", "build", "calibrate"] {
            let said = stderr(&tubewright(&folder, &[command, path]).code(3));
            assert!(
                said.contains(&format!("could not read {path}: it is")) && said.contains(wanted),
                "{said}"
            );
        }
    }
}

#[test]
fn a_spec_is_read_up_to_a_limit() {
    let folder = folder();
    let fill = |length: usize| format!("{SPEC}#{}\n", "x".repeat(length - SPEC.len() - 2)).into_bytes();
    fs::write(folder.path().join("long.yaml"), fill(16_000_000)).unwrap();
    fs::write(folder.path().join("longer.yaml"), fill(16_000_001)).unwrap();
    tubewright(&folder, &["check", "long.yaml"]).code(0);
    let said = stderr(&tubewright(&folder, &["check", "longer.yaml"]).code(3));
    assert!(said.contains("could not read longer.yaml: it is longer than 16 MB"), "{said}");
    let said = stderr(&command(&folder, &["check", "-"]).write_stdin(fill(16_000_001)).assert().code(3));
    assert!(said.contains("it is longer than 16 MB"), "{said}");
}

#[test]
fn specs_are_read_from_standard_input() {
    let folder = folder();
    let from_input = |arguments: &[&str]| command(&folder, arguments).write_stdin(SPEC).assert();
    let checked = stdout(&from_input(&["check", "-"]).code(0));
    assert!(checked.starts_with("stdin\n") && checked.contains("knee: cut"), "{checked}");
    assert!(stdout(&from_input(&["calibrate", "-"]).code(0)).contains("No bender has test bends yet"));
    let built = stdout(&from_input(&["build", "-", "--only", "json"]).code(0));
    assert!(built.contains("1 file in out/stdin"), "{built}");
    from_input(&["build", "-", "--only", "csv", "--out", "there"]).code(0);
    assert_eq!(names(&folder.path().join("there")), ["bends.csv"]);
    let said = stderr(&from_input(&["check", "-", "knee.yaml", "-"]).code(2));
    assert!(said.contains("standard input can be read once only"), "{said}");
    let wrong = command(&folder, &["check", "-"]).write_stdin("format: 1\nrunz: {}\n").assert().code(1);
    assert!(stderr(&wrong).contains("--> stdin:2:1"), "{}", stderr(&wrong));
}

/// Texts that a few lines make vast.
fn bombs() -> Vec<(&'static str, String)> {
    let nested = |each: usize, levels: usize, first: &str, open: &str, close: &str| {
        let mut text = format!("format: 1\nx-0: &a0 {first}\n");
        for level in 1..=levels {
            let below = format!("*a{}", level - 1);
            text += &format!("x-{level}: &a{level} {open}{}{close}\n", vec![below; each].join(", "));
        }
        text + "runs: {}\n"
    };
    let merged = {
        let mut text = "format: 1\nx-0: &a0 {k0: 1}\n".to_owned();
        for level in 1..=24 {
            text += &format!("x-{level}: &a{level} {{<<: [*a{0}, *a{0}], k{level}: 1}}\n", level - 1);
        }
        text + "runs: {}\n"
    };
    let wide = format!(
        "format: 1\nx-0: &a [{}]\nx-1: [{}]\nruns: {{}}\n",
        vec!["1"; 10_000].join(", "),
        vec!["*a"; 10_000].join(", ")
    );
    let long_words = format!(
        "format: 1\nx-0: &a \"{}\"\nx-1: [{}]\nruns: {{}}\n",
        "x".repeat(100_000),
        vec!["*a"; 90_000].join(", ")
    );
    let many_keys = {
        let keys: Vec<String> = (0..3_000).map(|n| format!("k{n}: 1")).collect();
        format!(
            "format: 1\nx-0: &a {{{}}}\nx-1: [{}]\nruns: {{}}\n",
            keys.join(", "),
            vec!["{<<: *a}"; 3_000].join(", ")
        )
    };
    vec![
        ("nested lists", nested(10, 9, "[1, 1]", "[", "]")),
        ("nested in twos", nested(2, 30, "[1, 1]", "[", "]")),
        ("merged", merged),
        ("wide", wide),
        ("long words", long_words),
        ("merged keys", many_keys),
        ("itself", "format: 1\nx-0: &a [*a, *a]\nruns: {}\n".to_owned()),
    ]
}

#[test]
fn aliases_that_multiply_are_refused() {
    let folder = folder();
    for (name, text) in bombs() {
        let refused = command(&folder, &["check", "-"]).write_stdin(text).assert().code(1);
        let said = stderr(&refused);
        assert!(
            said.contains("error[yaml-syntax]"),
            "{name}: {}",
            said.chars().take(300).collect::<String>()
        );
    }
}

#[test]
fn any_command_finishes_a_build_that_was_broken_off() {
    for command in ["check", "calibrate"] {
        let folder = folder();
        let out = folder.path().join("out/knee");
        let state = out.join(".tubewright-build");
        fs::create_dir_all(state.join("new")).unwrap();
        fs::create_dir_all(state.join("old")).unwrap();
        fs::write(out.join("a.txt"), "old").unwrap();
        fs::write(state.join("new/0"), "new").unwrap();
        let journal =
            r#"{"id":"1","folders":["runs"],"files":[["a.txt",0],["runs/b",1]],"lead":null,"others":[]}"#;
        fs::write(state.join("go.json"), journal).unwrap();
        fs::create_dir(out.join("runs")).unwrap();
        fs::write(out.join("runs/b"), "new").unwrap();
        let said = stderr(&tubewright(&folder, &[command, "knee.yaml"]).code(0));
        assert!(
            said.contains("note: an earlier build into out/knee was broken off; all its files are in place"),
            "{said}"
        );
        assert_eq!(names(&out), ["a.txt", "runs"]);
        assert_eq!(fs::read_to_string(out.join("a.txt")).unwrap(), "new");
        assert_eq!(stderr(&tubewright(&folder, &[command, "knee.yaml"]).code(0)), "");
    }
}

#[test]
fn a_build_that_is_told_to_end_leaves_no_trace() {
    for (signal, code) in [("-INT", 130), ("-TERM", 143)] {
        let folder = folder();
        let runs: String = (0..400)
            .map(|n| {
                let (bends, at) = ("[{length: 90, angle: 90}, {length: 90, angle: 90}]", 40 * n);
                format!("  r{n}: {{from: {{at: [0, 0, {at}], facing: [1, 0, 0]}}, bends: {bends}, end_length: 90}}\n")
            })
            .collect();
        fs::write(folder.path().join("many.yaml"), SPEC.split("  knee").next().unwrap().to_owned() + &runs)
            .unwrap();
        let mut build = Process::new(env!("CARGO_BIN_EXE_tubewright"))
            .current_dir(&folder)
            .args(["build", "many.yaml"])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        // It listens once files are on their way.
        let staged = folder.path().join("out/many/.tubewright-build/new/5");
        while !staged.exists() {
            assert!(build.try_wait().unwrap().is_none(), "the build has ended");
            std::thread::sleep(std::time::Duration::from_millis(2));
        }
        assert!(Process::new("kill").args([signal, &build.id().to_string()]).status().unwrap().success());
        assert_eq!(build.wait().unwrap().code(), Some(code));
        assert_eq!(names(folder.path()), ["knee.yaml", "many.yaml"]);
    }
}

/// A build that waits for another one has not staged a file; signals are heard before.
#[cfg(target_os = "linux")]
#[test]
fn a_waiting_build_that_is_told_to_end_leaves_what_it_found() {
    for (signal, code) in [("-INT", 130), ("-TERM", 143)] {
        let folder = folder();
        let state = folder.path().join("out/knee/.tubewright-build");
        fs::create_dir_all(&state).unwrap();
        let held = fs::File::create(state.join("lock")).unwrap();
        held.lock().unwrap();
        let build = Process::new(env!("CARGO_BIN_EXE_tubewright"))
            .current_dir(&folder)
            .args(["build", "knee.yaml"])
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let status = format!("/proc/{}/status", build.id());
        // It listens as soon as it catches both signals, 2 and 15.
        let catches = || {
            let status = fs::read_to_string(&status).unwrap();
            let caught = status.lines().find_map(|line| line.strip_prefix("SigCgt:")).unwrap();
            let caught = u64::from_str_radix(caught.trim(), 16).unwrap();
            caught & (1 << 1) != 0 && caught & (1 << 14) != 0
        };
        while !catches() {
            std::thread::sleep(std::time::Duration::from_millis(2));
        }
        assert!(Process::new("kill").args([signal, &build.id().to_string()]).status().unwrap().success());
        let ended = build.wait_with_output().unwrap();
        assert_eq!(ended.status.code(), Some(code));
        assert_eq!(String::from_utf8_lossy(&ended.stderr), "");
        assert_eq!(names(&state), ["lock"]);
    }
}
