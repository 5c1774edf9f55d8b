//! Files of one plan have one mark, and files of another are named.

use std::fs;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use tempfile::TempDir;

const SPEC: &str = "\
format: 1
tube: {standard: EN 1057, size: 15 x 1.0, temper: soft}
bender: {clr: 55}
runs:
  knee:
    bends: [{length: 90, angle: 90}]
    end_length: 90
";

const STRAIGHT: &str = "\
format: 1
tube: {standard: EN 1057, size: 15 x 1.0, temper: soft}
bender: {clr: 55}
runs:
  knee: {from: [0, 0, 0], to: [200, 0, 0], corners: []}
";

fn folder() -> TempDir {
    tempfile::tempdir().unwrap()
}

/// Builds a spec and returns what is said.
fn build(folder: &TempDir, spec: &str, options: &[&str]) -> String {
    fs::write(folder.path().join("a.yaml"), spec).unwrap();
    let done = Command::new(env!("CARGO_BIN_EXE_tubewright"))
        .current_dir(folder)
        .args(["build", "a.yaml"])
        .args(options)
        .assert()
        .code(0);
    String::from_utf8(done.get_output().stdout.clone()).unwrap()
}

/// The mark in what a build says.
fn mark(said: &str) -> String {
    said.split("plan mark ").nth(1).unwrap()[..6].to_owned()
}

fn files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() { files(&path, found) } else { found.push(path) }
    }
}

#[test]
fn every_file_has_the_mark_of_its_plan() {
    let folder = folder();
    let said = build(&folder, SPEC, &[]);
    let mark = mark(&said);
    let mut all = Vec::new();
    files(&folder.path().join("out/a"), &mut all);
    assert!(all.len() > 15, "{all:?}");
    for path in all {
        let bytes = fs::read(&path).unwrap();
        let found = tubewright::export::mark::found(path.file_name().unwrap().to_str().unwrap(), &bytes, &[]);
        assert_eq!(found.as_ref(), Some(&mark), "{}", path.display());
    }
    let plan: serde_json::Value =
        serde_json::from_slice(&fs::read(folder.path().join("out/a/plan.json")).unwrap()).unwrap();
    assert_eq!(plan["mark"], mark.as_str());
    let dxf = fs::read_to_string(folder.path().join("out/a/jigs/knee.dxf")).unwrap();
    assert!(dxf.contains(&format!("\nPlan mark {mark}.\n")), "a note beside the parts");
}

#[test]
fn the_mark_follows_the_specs_text_alone() {
    let folder = folder();
    let first = mark(&build(&folder, SPEC, &["--only", "csv"]));
    assert_eq!(mark(&build(&folder, SPEC, &["--only", "csv", "--out", "other", "--paper", "a3"])), first);
    assert_ne!(
        mark(&build(&folder, &SPEC.replace("length: 90, angle", "length: 91, angle"), &["--only", "csv"])),
        first
    );
}

#[test]
fn pages_that_are_no_longer_needed_are_named() {
    let folder = folder();
    build(&folder, SPEC, &[]);
    fs::write(folder.path().join("out/a/mine.pdf"), "a page of the user's own").unwrap();
    let said = build(&folder, STRAIGHT, &[]);
    let (_, named) = said.split_once("not from this build, and left as they were: ").unwrap();
    let (named, _) = named.split_once('\n').unwrap();
    assert!(named.contains("strips.pdf") && named.contains("forms/15-r55/"), "{said}");
    assert!(!named.contains("mine.pdf") && !named.contains("plan.json"), "{said}");
    assert!(folder.path().join("out/a/strips.pdf").exists());
}

#[test]
fn files_of_another_plan_are_named_beside_a_part_of_the_files() {
    let folder = folder();
    let old = mark(&build(&folder, SPEC, &["--only", "csv,json,step,svg"]));
    let quiet = build(&folder, SPEC, &["--only", "pdf"]);
    assert!(!quiet.contains("of another plan"), "{quiet}");
    let changed = SPEC.replace("end_length: 90", "end_length: 95");
    let said = build(&folder, &changed, &["--only", "step,json"]);
    let (_, named) = said.split_once("of another plan, and left as they were: ").unwrap();
    let (named, _) = named.split_once('\n').unwrap();
    for file in ["bends.csv", "overview.svg", "runs/knee/template.svg", "worksheet.pdf", "strips.pdf"] {
        assert!(named.contains(&format!("{file} ({old})")), "no {file} in {said}");
    }
    assert!(!named.contains("assembly.step") && !named.contains("plan.json"), "{said}");
    let report: serde_json::Value =
        serde_json::from_str(&build(&folder, &changed, &["--only", "step", "--format", "json"])).unwrap();
    let spec = &report["specs"][0];
    assert_eq!(spec["mark"], mark(&said).as_str());
    let others = spec["of_another_plan"].as_array().unwrap();
    assert!(others.contains(&serde_json::json!({"file": "bends.csv", "mark": old})), "{spec}");
}

#[test]
fn folders_of_runs_that_are_no_more_are_named() {
    let folder = folder();
    let two = format!("{SPEC}  rod: {{from: [0, 50, 0], to: [200, 50, 0], corners: []}}\n");
    build(&folder, &two, &["--run", "rod", "--only", "json"]);
    build(&folder, &two, &["--run", "rod", "--run", "knee", "--only", "json"]);
    build(&folder, &two, &["--run", "knee", "--only", "json"]);
    fs::create_dir(folder.path().join("out/a/only/mine")).unwrap();
    fs::write(folder.path().join("out/a/only/mine/page.pdf"), "of the user's own").unwrap();
    let quiet = build(&folder, &two, &[]);
    assert!(!quiet.contains("not from this build"), "{quiet}");
    let said = build(&folder, SPEC, &[]);
    let (_, named) = said.split_once("not from this build, and left as they were: ").unwrap();
    let (named, _) = named.split_once('\n').unwrap();
    let only: Vec<&str> = named.split(", ").filter(|name| name.starts_with("only/")).collect();
    assert_eq!(only, ["only/knee+rod/", "only/rod/"], "{said}");
    assert!(folder.path().join("out/a/only/rod/plan.json").exists());
}

#[test]
fn folders_of_runs_of_another_plan_are_named_beside_a_whole_build() {
    let folder = folder();
    let old = mark(&build(&folder, SPEC, &["--run", "knee", "--only", "json,svg"]));
    fs::create_dir(folder.path().join("out/a/only/mine")).unwrap();
    fs::write(folder.path().join("out/a/only/mine/page.pdf"), "of the user's own").unwrap();
    let quiet = build(&folder, SPEC, &[]);
    assert!(!quiet.contains("left as they were"), "{quiet}");
    let changed = SPEC.replace("end_length: 90", "end_length: 95");
    let said = build(&folder, &changed, &[]);
    let line = format!("of another plan, and left as they were: only/knee/ ({old})\n");
    assert!(said.contains(&line), "{said}");
    let report: serde_json::Value =
        serde_json::from_str(&build(&folder, &changed, &["--format", "json"])).unwrap();
    let others = &report["specs"][0]["of_another_plan"];
    assert_eq!(others, &serde_json::json!([{"file": "only/knee/", "mark": old}]));
    build(&folder, &changed, &["--run", "knee", "--only", "json,svg"]);
    let quiet = build(&folder, &changed, &[]);
    assert!(!quiet.contains("left as they were"), "{quiet}");
}
