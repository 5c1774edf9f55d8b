//! The command where the system gives few threads, or is asked for too many.

#![cfg(unix)]

use std::fs;

use assert_cmd::Command;

const SPEC: &str = "\
format: 1
tube: {od: 12, wall: 1, material: copper, temper: soft}
bender: {clr: 40}
runs:
  a: {bends: [{length: 60, angle: 90}], end_length: 60}
  b: {bends: [{length: 50, angle: 45}], end_length: 60}
";

/// Builds with limits of the shell and this many threads asked for.
fn build(limit: &str, threads: &str) {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("two.yaml"), SPEC).unwrap();
    let script = format!("{limit} exec \"$0\" build two.yaml --only stl,csv,json");
    let run = Command::new("sh")
        .current_dir(folder.path())
        .args(["-c", &script, env!("CARGO_BIN_EXE_tubewright")])
        .env("RAYON_NUM_THREADS", threads)
        .assert()
        .success();
    assert!(!String::from_utf8_lossy(&run.get_output().stderr).contains("panicked"));
    assert!(folder.path().join("out/two/plan.json").is_file());
}

#[test]
fn a_hundred_thousand_threads_are_not_started() {
    build("", "100000");
    build("", "18446744073709551615");
}

/// 100 MB of addresses hold no eight stacks of threads with their heaps, on many cores no 64.
#[test]
fn one_thread_does_where_there_is_no_room_for_more() {
    build("ulimit -v 100000;", "100000");
}

/// For root this limit does not hold, and the build has its threads.
#[test]
fn one_thread_does_where_no_more_may_be_started() {
    // Shells differ in the letter.
    build("ulimit -u 1 2>/dev/null || ulimit -p 1;", "8");
}
