//! The program run in a folder, and its words.

use std::fs;

use assert_cmd::Command;
use assert_cmd::assert::Assert;
use serde_json::Value;
use tempfile::TempDir;

/// The program with arguments, whatever terminal and clock the tests are run with.
pub(crate) fn command(folder: &TempDir, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_tubewright"));
    command.current_dir(folder).args(arguments);
    command.env_remove("SOURCE_DATE_EPOCH").env_remove("COLUMNS").env_remove("TERM");
    command
}

pub(crate) fn tubewright(folder: &TempDir, arguments: &[&str]) -> Assert {
    command(folder, arguments).assert()
}

pub(crate) fn stdout(assert: &Assert) -> String {
    String::from_utf8(assert.get_output().stdout.clone()).unwrap()
}

pub(crate) fn stderr(assert: &Assert) -> String {
    String::from_utf8(assert.get_output().stderr.clone()).unwrap()
}

/// A folder with one spec in it.
pub(crate) fn folder(name: &str, spec: &str) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join(name), spec).unwrap();
    folder
}

/// The report that a command printed.
pub(crate) fn json(assert: &Assert) -> Value {
    serde_json::from_slice(&assert.get_output().stdout).unwrap()
}
