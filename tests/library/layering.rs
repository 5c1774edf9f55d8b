//! The modules may use each other in one direction only. One test reads every `crate::` path of the library and holds
//! it against the allowed edges, which are the picture in `src/lib.rs`. Another looks inside each module: the files
//! and folders of one level form no ring.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// What each module may use, besides itself.
const ALLOWED: &[(&str, &[&str])] = &[
    ("chance", &[]),
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
    ("calibration", &["diagnostic", "formula", "quantity", "spec", "tolerance"]),
    ("centreline", &["calibration", "diagnostic", "formula", "geometry", "quantity", "spec", "tolerance"]),
    ("fit", &["centreline", "diagnostic", "formula", "geometry", "quantity", "spec", "tolerance"]),
    (
        "route",
        &[
            "calibration",
            "centreline",
            "diagnostic",
            "fit",
            "formula",
            "geometry",
            "quantity",
            "spec",
            "tolerance",
        ],
    ),
    (
        "plan",
        &[
            "calibration",
            "centreline",
            "chance",
            "diagnostic",
            "fit",
            "formula",
            "geometry",
            "quantity",
            "spec",
            "stock",
            "tolerance",
        ],
    ),
    ("bench", &["calibration", "centreline", "formula", "geometry", "plan", "spec", "tolerance"]),
    (
        "correct",
        &[
            "bench",
            "centreline",
            "chance",
            "diagnostic",
            "fit",
            "formula",
            "geometry",
            "plan",
            "quantity",
            "spec",
            "tolerance",
        ],
    ),
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
            "calibration",
            "centreline",
            "diagnostic",
            "drawing",
            "export",
            "fit",
            "plan",
            "quantity",
            "route",
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
            .is_some_and(|s| s.ends_with("tests") || matches!(s, "fixture" | "testing"));
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

/// Files and folders inside a module, and which others there each of them uses, with the first place.
type Inner = BTreeMap<String, BTreeMap<String, String>>;

/// The names that a path leads to after `prefix` in a line of code: one, or the first of each in braces.
fn named<'l>(code: &'l str, prefix: &str) -> Vec<&'l str> {
    let is_name = |c: char| c.is_alphanumeric() || c == '_';
    let first = |text: &'l str| text.trim_start().split(|c| !is_name(c)).next().unwrap_or_default();
    let mut names = Vec::new();
    for (at, _) in code.match_indices(prefix) {
        // `a::super::` is another path, and so is `super::super::` where one is meant.
        if code[..at].ends_with(|c: char| is_name(c) || c == ':') {
            continue;
        }
        let rest = &code[at + prefix.len()..];
        match rest.strip_prefix('{') {
            Some(list) => names.extend(list.split('}').next().unwrap_or_default().split(',').map(first)),
            None => names.push(first(rest)),
        }
    }
    names.retain(|name| !name.is_empty() && *name != "super");
    names
}

/// The inner modules of every module, by its name.
fn inner_modules(src: &Path) -> BTreeMap<String, Inner> {
    let mut files = Vec::new();
    sources(src, &mut files);
    let places: Vec<(PathBuf, Vec<String>)> = files
        .into_iter()
        .map(|file| {
            let inside = file.strip_prefix(src).unwrap().with_extension("");
            let parts = inside.iter().map(|part| part.to_str().unwrap().to_owned());
            (file.clone(), parts.filter(|part| part != "mod").collect())
        })
        .filter(|(_, parts): &(PathBuf, Vec<String>)| parts.len() > 1)
        .filter(|(_, parts)| parts.last().is_some_and(|name| !name.ends_with("tests") && name != "fixture"))
        .collect();
    let mut modules: BTreeMap<String, Inner> = BTreeMap::new();
    for (_, parts) in &places {
        modules.entry(parts[0].clone()).or_default().entry(parts[1].clone()).or_default();
    }
    for (file, parts) in &places {
        let text = fs::read_to_string(file).unwrap();
        let product = text.split("#[cfg(test)]\nmod tests {").next().unwrap_or_default();
        let up = "super::".repeat(parts.len() - 1);
        let across = format!("crate::{}::", parts[0]);
        for (index, line) in product.lines().enumerate() {
            let code = line.split("//").next().unwrap_or_default();
            for name in named(code, &up).into_iter().chain(named(code, &across)) {
                let inner = modules.get_mut(&parts[0]).unwrap();
                if name != parts[1] && inner.contains_key(name) {
                    let place = format!("{}:{}", file.strip_prefix(src).unwrap().display(), index + 1);
                    inner.get_mut(&parts[1]).unwrap().entry(name.to_owned()).or_insert(place);
                }
            }
        }
    }
    modules
}

/// Takes out what uses nothing that is left, until nothing can be taken: what stays is in a ring, or uses one.
fn rings(inner: &Inner) -> Inner {
    let mut left = inner.clone();
    loop {
        let names: BTreeSet<String> = left.keys().cloned().collect();
        left.values_mut().for_each(|uses| uses.retain(|name, _| names.contains(name)));
        let before = left.len();
        left.retain(|_, uses| !uses.is_empty());
        if left.len() == before {
            return left;
        }
    }
}

#[test]
fn inside_a_module_there_is_no_ring() {
    let modules = inner_modules(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"));
    assert!(modules.len() > 8 && modules["drawing"]["template"].contains_key("sheet"), "{modules:#?}");
    let found: Vec<String> = modules
        .iter()
        .filter(|(module, _)| *module != "cli")
        .map(|(module, inner)| (module, rings(inner)))
        .filter(|(_, ring)| !ring.is_empty())
        .map(|(module, ring)| format!("{module}: {ring:#?}"))
        .collect();
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
fn the_scan_of_inner_modules_sees_every_form_of_use_and_every_ring() {
    assert_eq!(named("use super::a::B;", "super::"), ["a"]);
    assert_eq!(named("use super::{a, b::C};", "super::"), ["a", "b"]);
    assert_eq!(named("use super::super::x; let y = super::super::z();", "super::super::"), ["x", "z"]);
    assert_eq!(named("use super::super::x;", "super::"), Vec::<&str>::new());
    assert_eq!(named("use crate::fit::a; x::crate::fit::b", "crate::fit::"), ["a"]);
    let uses = |names: &[&str]| names.iter().map(|name| ((*name).to_owned(), String::new())).collect();
    let inner = |edges: &[(&str, &[&str])]| -> Inner {
        edges.iter().map(|(name, used)| ((*name).to_owned(), uses(used))).collect()
    };
    assert!(rings(&inner(&[("a", &["b", "c"]), ("b", &["c"]), ("c", &[])])).is_empty());
    let ring = rings(&inner(&[("a", &["b"]), ("b", &["a"]), ("c", &[])]));
    assert_eq!(ring.keys().collect::<Vec<_>>(), ["a", "b"]);
}

#[test]
fn the_scan_sees_every_form_of_use() {
    let text = "use crate::a::B;\nuse crate::{c::{d, e}, f};\nlet x = crate::g::h();\n// crate::not";
    let names: Vec<String> = uses(text).into_keys().collect();
    assert_eq!(names, ["a", "c", "f", "g"]);
}
