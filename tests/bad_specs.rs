//! Every file in `tests/bad_specs` is wrong, and says how in comments at its end:
//!
//! ```text
//! # expect: LINE:COLUMN code "message"      (`-` for a finding without a place)
//! ```
//!
//! Each is read by the library and built by the program: exactly the expected findings, exit code 1,
//! and no file written.

#![allow(clippy::expect_used, reason = "a test that cannot go on has failed")]

use std::fs;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use proptest::prelude::*;
use tubewright::build::Project;
use tubewright::diagnostic::{Diagnostic, Diagnostics, Severity, render};
use tubewright::spec;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bad_specs")
}

fn corpus() -> Vec<(PathBuf, String)> {
    let mut files: Vec<PathBuf> =
        fs::read_dir(folder()).expect("the corpus").map(|entry| entry.expect("an entry").path()).collect();
    files.sort();
    files.into_iter().map(|path| (path.clone(), fs::read_to_string(path).expect("is text"))).collect()
}

fn place(finding: &Diagnostic) -> String {
    finding.place.map_or("-".to_owned(), |p| format!("{}:{}", p.line, p.column))
}

fn found(findings: &Diagnostics) -> Vec<String> {
    findings.iter().map(|d| format!("{} {} \"{}\"", place(d), d.code, d.message)).collect()
}

fn expected(text: &str) -> Vec<String> {
    text.lines().filter_map(|line| line.strip_prefix("# expect: ")).map(str::to_owned).collect()
}

#[test]
fn the_library_finds_exactly_what_each_file_expects() {
    let corpus = corpus();
    assert!(corpus.len() >= 45, "only {} files", corpus.len());
    for (path, text) in corpus {
        let expected = expected(&text);
        assert!(!expected.is_empty(), "{} expects nothing", path.display());
        let findings = Project::read(&text, "spec.yaml").expect_err(&path.display().to_string());
        assert!(findings.has_errors(), "{} has no error", path.display());
        assert_eq!(found(&findings), expected, "{}", path.display());
    }
}

#[test]
fn every_error_says_what_to_write_instead_and_where() {
    for (path, text) in corpus() {
        let findings = Project::read(&text, "spec.yaml").expect_err("is wrong");
        for finding in findings.iter().filter(|d| d.severity == Severity::Error) {
            assert!(finding.hint.as_ref().is_some_and(|h| !h.is_empty()), "{}: {finding}", path.display());
            assert!(finding.place.is_some() || finding.code == "empty-file", "{}: {finding}", path.display());
        }
        let shown = render(&findings, "spec.yaml", &text, false);
        for finding in findings.iter().filter(|d| d.place.is_some()) {
            let at = format!("--> spec.yaml:{}", place(finding));
            assert!(shown.contains(&at), "{}: no `{at}` in\n{shown}", path.display());
        }
    }
}

#[test]
fn the_program_refuses_each_file_and_writes_nothing() {
    for (path, text) in corpus() {
        let place = tempfile::tempdir().expect("a folder");
        let out = place.path().join("out");
        let run = Command::new(env!("CARGO_BIN_EXE_tubewright"))
            .current_dir(place.path())
            .args(["build", "--out"])
            .arg(&out)
            .arg(&path)
            .assert()
            .code(1);
        let shown = String::from_utf8_lossy(&run.get_output().stderr).into_owned();
        for line in expected(&text) {
            let code = line.split(' ').nth(1).expect("a code");
            assert!(shown.contains(&format!("[{code}]")), "{}: no {code} in\n{shown}", path.display());
        }
        let left = fs::read_dir(place.path()).expect("still there").count();
        assert_eq!(left, 0, "{} left something behind", path.display());
    }
}

#[test]
fn a_chord_too_fine_for_a_mesh_is_told_with_the_one_taken() {
    let place = tempfile::tempdir().expect("a folder");
    let path = place.path().join("fine.yaml");
    let duct = "format: 1\ntube: {od: 900, wall: 5, material: steel, temper: soft}\nbender: {clr: 2000}\n\
                runs: {a: {bends: [{length: 10, angle: 180}], end_length: 10}}\n";
    fs::write(&path, duct).expect("written");
    let run = Command::new(env!("CARGO_BIN_EXE_tubewright"))
        .current_dir(place.path())
        .args(["build", "--only", "stl", "--chord", "0.001"])
        .arg(&path)
        .assert()
        .code(0);
    let shown = String::from_utf8_lossy(&run.get_output().stderr).into_owned();
    assert!(
        shown.contains("warning[chord]: run a: tube.stl is made with a chord height of 0.016 mm"),
        "{shown}"
    );
    assert!(shown.contains("help: give a `--chord` of 0.016 mm or more"), "{shown}");
}

#[test]
fn the_starters_are_sound_and_show_a_planar_run_and_one_in_space() {
    for starter in [spec::STARTER, spec::STARTER_INCHES] {
        let project = Project::read(starter, "starter.yaml").expect("sound");
        assert_eq!(found(project.findings()), Vec::<String>::new());
        let planes: Vec<usize> =
            project.layout().runs.iter().map(|run| run.centreline.plane_groups().len()).collect();
        assert_eq!(planes, [1, 2]);
    }
}

/// The starter or a demo with some of its text replaced.
fn mutated(base: usize, edits: &[(usize, usize, String)]) -> String {
    const BASES: [&str; 4] = [
        spec::STARTER,
        include_str!("../specs/reading-room.yaml"),
        include_str!("../specs/espresso.yaml"),
        include_str!("../specs/lamp-arm.yaml"),
    ];
    let mut letters: Vec<char> = BASES[base % BASES.len()].chars().collect();
    for (at, length, text) in edits {
        let start = at % (letters.len() + 1);
        let end = (start + length).min(letters.len());
        letters.splice(start..end, text.chars());
    }
    letters.into_iter().collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_edit_of_a_sound_spec_can_make_it_panic(
        base in 0usize..4,
        edits in prop::collection::vec(
            (any::<usize>(), 0usize..12, "[-0-9a-z.,:{}\\[\\]'\"#&*!|>%@\n ]{0,6}|\\PC{0,3}|[1-9]e[0-9]{1,3}|~|<<: \\*a"),
            1..5,
        )
    ) {
        let text = mutated(base, &edits);
        match Project::read(&text, "spec.yaml") {
            Ok(project) => prop_assert!(!project.findings().has_errors()),
            Err(findings) => {
                prop_assert!(findings.has_errors());
                render(&findings, "spec.yaml", &text, true);
            }
        }
    }

    #[test]
    fn no_text_can_make_it_panic(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        let text = String::from_utf8_lossy(&bytes);
        let findings = Project::read(&text, "spec.yaml").expect_err("random bytes are no spec");
        prop_assert!(render(&findings, "spec.yaml", &text, false).contains("error["));
    }
}
