//! The modules may use each other in one direction only. This test reads every `crate::` path of
//! the library and holds it against the allowed edges, which are the picture in `src/lib.rs`.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on has failed")]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// What each module may use, besides itself.
const ALLOWED: &[(&str, &[&str])] = &[
    ("flat", &[]),
    ("geometry", &[]),
    ("tolerance", &[]),
    ("palette", &[]),
    ("diagnostic", &[]),
    ("quantity", &[]),
    ("spelling", &[]),
    ("formula", &[]),
    ("stock", &["formula", "quantity", "spelling"]),
    ("spec", &["diagnostic", "geometry", "quantity", "spelling", "stock", "tolerance"]),
    ("centreline", &["diagnostic", "formula", "geometry", "quantity", "spec", "tolerance"]),
    ("fit", &["centreline", "diagnostic", "formula", "geometry", "quantity", "spec", "tolerance"]),
    (
        "plan",
        &["centreline", "diagnostic", "fit", "formula", "geometry", "quantity", "spec", "stock", "tolerance"],
    ),
    ("bench", &["centreline", "formula", "geometry", "plan", "spec", "tolerance"]),
    ("tooling", &["centreline", "diagnostic", "flat", "geometry", "plan", "quantity", "spec", "tolerance"]),
    ("solid", &["centreline", "flat", "formula", "geometry", "quantity", "spec", "tolerance", "tooling"]),
    (
        "drawing",
        &[
            "centreline",
            "diagnostic",
            "flat",
            "formula",
            "geometry",
            "palette",
            "plan",
            "quantity",
            "spec",
            "spelling",
            "tolerance",
            "tooling",
        ],
    ),
    (
        "export",
        &[
            "centreline",
            "diagnostic",
            "drawing",
            "geometry",
            "palette",
            "plan",
            "quantity",
            "solid",
            "tolerance",
            "tooling",
        ],
    ),
    (
        "build",
        &[
            "centreline",
            "diagnostic",
            "drawing",
            "export",
            "fit",
            "plan",
            "quantity",
            "solid",
            "spec",
            "tolerance",
            "tooling",
        ],
    ),
];

fn sources(folder: &Path, files: &mut Vec<PathBuf>) {
    let mut entries: Vec<PathBuf> =
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            sources(&path, files);
        } else if path.extension().is_some_and(|e| e == "rs") {
            files.push(path);
        }
    }
}

/// The top-level modules a source names through `crate::…`, with the line of the first mention.
fn uses(text: &str) -> BTreeMap<String, usize> {
    let mut found = BTreeMap::new();
    let mut add = |name: &str, line: usize| {
        let name: String = name.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
        if !name.is_empty() {
            found.entry(name).or_insert(line);
        }
    };
    for (index, line) in text.lines().enumerate() {
        let code = line.split("//").next().unwrap_or_default();
        for (at, _) in code.match_indices("crate::") {
            let rest = &code[at + "crate::".len()..];
            match rest.strip_prefix('{') {
                // `use crate::{a::b, c}`: only names at the first level count; rustfmt keeps these on one line
                // unless they are long, and then the test below refuses the form.
                Some(list) => {
                    let mut depth = 0;
                    let mut name = String::new();
                    for c in list.chars() {
                        match c {
                            '{' => depth += 1,
                            '}' if depth == 0 => break,
                            '}' => depth -= 1,
                            ',' if depth == 0 => add(std::mem::take(&mut name).trim(), index + 1),
                            _ if depth == 0 => name.push(c),
                            _ => {}
                        }
                    }
                    add(name.trim(), index + 1);
                }
                None => add(rest, index + 1),
            }
        }
        assert!(!code.trim_end().ends_with("crate::{"), "line {}: write one `use` per module", index + 1);
    }
    found
}

#[test]
fn modules_use_each_other_in_one_direction() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&src, &mut files);
    let allowed: BTreeMap<&str, &[&str]> = ALLOWED.iter().copied().collect();
    let mut wrong = Vec::new();
    let mut used_edges = BTreeSet::new();
    for file in &files {
        let inside = file.strip_prefix(&src).unwrap();
        let module =
            inside.components().next().unwrap().as_os_str().to_str().unwrap().trim_end_matches(".rs");
        let tests = inside
            .file_stem()
            .and_then(|s| s.to_str())
            .is_some_and(|s| s.ends_with("tests") || s == "fixture");
        if tests || matches!(module, "lib" | "main" | "cli") {
            continue;
        }
        let may =
            allowed.get(module).unwrap_or_else(|| panic!("module {module} has no place in the picture"));
        let text = fs::read_to_string(file).unwrap();
        // Unit tests, at the end of a file, may build their inputs with anything.
        let tests = ["mod tests {", "pub(crate) mod tests {"].map(|module| format!("#[cfg(test)]\n{module}"));
        let end = tests.iter().filter_map(|tests| text.find(tests)).min().unwrap_or(text.len());
        let product = &text[..end];
        for (used, line) in uses(product) {
            used_edges.insert((module.to_owned(), used.clone()));
            if used != module && !may.contains(&used.as_str()) {
                wrong.push(format!("src/{}:{line}: {module} may not use {used}", inside.display()));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    let unused: Vec<String> = ALLOWED
        .iter()
        .flat_map(|(module, may)| may.iter().map(move |used| (*module, *used)))
        .filter(|(module, used)| !used_edges.contains(&((*module).to_owned(), (*used).to_owned())))
        .map(|(module, used)| format!("{module} no longer uses {used}"))
        .collect();
    assert!(unused.is_empty(), "the picture allows more than there is: {}", unused.join(", "));
}

#[test]
fn the_scan_sees_every_form_of_use() {
    let text = "use crate::a::B;\nuse crate::{c::{d, e}, f};\nlet x = crate::g::h();\n// crate::not";
    let names: Vec<String> = uses(text).into_keys().collect();
    assert_eq!(names, ["a", "c", "f", "g"]);
}
