//! Every loop that is not over a collection says right above it why it ends: a build must not hang.

use std::fs;
use std::path::{Path, PathBuf};

/// What begins a loop without an end of its own.
const OPEN_ENDED: [&str; 5] = ["while ", "loop {", "successors(", "from_fn(", "repeat_with("];

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    let entries = fs::read_dir(folder).expect("a folder of sources");
    let mut paths: Vec<PathBuf> = entries.map(|entry| entry.expect("an entry").path()).collect();
    paths.sort();
    for path in paths {
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
}

/// Lines (from 1) of loops without a word above them, up to the tests of a file.
fn unexplained(text: &str) -> Vec<usize> {
    let own = text.split("#[cfg(test)]\nmod tests {").next().unwrap_or(text);
    let lines: Vec<&str> = own.lines().map(str::trim).collect();
    let opens = |line: &str| {
        let words =
            line.split_once(": ").filter(|(label, _)| label.starts_with('\'')).map_or(line, |(_, l)| l);
        OPEN_ENDED[..2].iter().any(|word| words.starts_with(word))
            || OPEN_ENDED[2..].iter().any(|word| !line.starts_with("//") && line.contains(word))
    };
    (0..lines.len())
        .filter(|&at| opens(lines[at]) && !(at > 0 && lines[at - 1].starts_with("//")))
        .map(|at| at + 1)
        .collect()
}

#[test]
fn every_open_ended_loop_says_why_it_ends() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&root, &mut files);
    assert!(files.len() > 100, "{} files", files.len());
    let is_test =
        |path: &Path| path.file_stem().is_some_and(|stem| stem.to_string_lossy().ends_with("tests"));
    let mut found = Vec::new();
    for path in files.iter().filter(|path| !is_test(path)) {
        let text = fs::read_to_string(path).expect("a source");
        let name = path.strip_prefix(&root).expect("in src").display().to_string();
        found.extend(unexplained(&text).into_iter().map(|line| format!("src/{name}:{line}")));
    }
    assert!(found.is_empty(), "say above these loops why they end:\n{}", found.join("\n"));
}

#[test]
fn a_loop_without_a_word_is_seen() {
    assert_eq!(unexplained("let a = 1;\nwhile a > 0 {\n}\n"), [2]);
    assert_eq!(unexplained("f();\n'all: loop {\n"), [2]);
    assert_eq!(unexplained("let x = iter::from_fn(|| a.next());\n"), [1]);
    assert!(unexplained("// `a` falls.\nwhile a > 0 {\n").is_empty());
    assert!(unexplained("f(); // for a while or a loop\n").is_empty());
}
