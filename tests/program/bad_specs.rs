//! Every file in `tests/bad_specs` is wrong, and says how in comments at its end:
//!
//! ```text
//! # expect: LINE:COLUMN code "message"      (`-` for a finding without a place)
//! # help: what to write instead             (of the finding above; `slip-` files have one for each)
//! # only warnings                           (the spec builds, but not with `--strict`)
//! ```
//!
//! Each is read by the library and built by the program: exactly the expected findings, exit code 1,
//! and no file written. The `slip-` files are what a new user gets wrong, one slip each.

use std::fs;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use proptest::prelude::*;
use tubewright::build::{Options, Project};
use tubewright::diagnostic::{Diagnostic, Diagnostics, Severity, grouped, render};
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

pub(crate) fn place(finding: &Diagnostic) -> String {
    finding.place.map_or("-".to_owned(), |p| format!("{}:{}", p.line, p.column))
}

pub(crate) fn found(findings: &Diagnostics) -> Vec<String> {
    findings.iter().map(|d| format!("{} {} \"{}\"", place(d), d.code, d.message)).collect()
}

pub(crate) fn expected(text: &str) -> Vec<String> {
    text.lines().filter_map(|line| line.strip_prefix("# expect: ")).map(str::to_owned).collect()
}

/// A file that a spec of the corpus names.
fn named(name: &str) -> Result<Vec<u8>, String> {
    fs::read(folder().join(name)).map_err(|error| error.to_string())
}

/// What is found in a spec, whether it builds or not.
fn read(text: &str) -> Diagnostics {
    match Project::read_with(text, "spec.yaml", &named) {
        Ok(project) => project.findings_of(&Options::default()),
        Err(findings) => findings,
    }
}

/// Whether a file says that it has nothing but warnings.
fn only_warnings(text: &str) -> bool {
    text.lines().any(|line| line == "# only warnings")
}

#[test]
fn the_library_finds_exactly_what_each_file_expects() {
    let corpus = corpus();
    assert!(corpus.len() >= 45, "only {} files", corpus.len());
    for (path, text) in corpus {
        let expected = expected(&text);
        assert!(!expected.is_empty(), "{} expects nothing", path.display());
        let findings = read(&text);
        let builds = Project::read_with(&text, "spec.yaml", &named).is_ok();
        assert_eq!(builds, only_warnings(&text), "{}: {:?}", path.display(), found(&findings));
        assert_eq!(found(&findings), expected, "{}", path.display());
    }
}

#[test]
fn every_error_says_what_to_write_instead_and_where() {
    for (path, text) in corpus() {
        let findings = read(&text);
        for finding in findings.iter().filter(|d| d.severity == Severity::Error) {
            assert!(finding.hint.as_ref().is_some_and(|h| !h.is_empty()), "{}: {finding}", path.display());
            assert!(finding.place.is_some() || finding.code == "empty-file", "{}: {finding}", path.display());
        }
        let shown = render(&findings, "spec.yaml", &text, false);
        // What is the same for several runs or bends is shown where it is first, with the lines of the others.
        for group in grouped(&findings) {
            if group.first.place.is_some() {
                let at = format!("--> spec.yaml:{}", place(group.first));
                assert!(shown.contains(&at), "{}: no `{at}` in\n{shown}", path.display());
            }
            if let Some(lines) = group.other_lines() {
                assert!(shown.contains(&lines), "{}: no `{lines}` in\n{shown}", path.display());
            }
        }
    }
}

#[test]
fn slips_of_a_new_user_are_told_with_what_to_write() {
    let slips: Vec<(PathBuf, String)> = corpus()
        .into_iter()
        .filter(|(path, _)| path.file_name().is_some_and(|name| name.to_string_lossy().starts_with("slip-")))
        .collect();
    assert!(slips.len() >= 20, "only {} files", slips.len());
    for (path, text) in slips {
        let expected: Vec<&str> = text.lines().filter_map(|line| line.strip_prefix("# help: ")).collect();
        let findings = read(&text);
        let hints: Vec<String> = findings.iter().map(|d| d.help().unwrap_or_default()).collect();
        assert_eq!(hints, expected, "{}", path.display());
        assert!(findings.iter().all(|d| d.place.is_some()), "{}", path.display());
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
            .args(only_warnings(&text).then_some("--strict"))
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
        include_str!("../../specs/reading-room.yaml"),
        include_str!("../../specs/espresso.yaml"),
        include_str!("../../specs/lamp-arm.yaml"),
    ];
    let mut letters: Vec<char> = BASES[base % BASES.len()].chars().collect();
    for (at, length, text) in edits {
        let start = at % (letters.len() + 1);
        let end = (start + length).min(letters.len());
        letters.splice(start..end, text.chars());
    }
    letters.into_iter().collect()
}

/// Every finding is shown by its code, lies in the text where it says, and an error says what to write.
pub(crate) fn told(findings: &Diagnostics, text: &str) -> Result<(), TestCaseError> {
    let shown = render(findings, "spec.yaml", text, false);
    for finding in findings.iter() {
        prop_assert!(shown.contains(&format!("[{}]", finding.code)), "{finding}\n{shown}");
        let is_told =
            finding.severity == Severity::Warning || finding.hint.as_ref().is_some_and(|h| !h.is_empty());
        prop_assert!(is_told, "{finding}\n{text}");
        let Some(place) = finding.place else { continue };
        let (before, within) = (text.get(..place.start), text.get(place.start..place.end));
        prop_assert!(before.is_some() && within.is_some(), "{place:?}\n{text}");
        // A CR without LF ends a line of YAML, and no line that an editor of today shows.
        if !text.replace("\r\n", "").contains('\r') {
            prop_assert_eq!(before.unwrap_or_default().matches('\n').count() + 1, place.line, "{}", text);
        }
    }
    Ok(())
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
            Ok(project) => {
                for run in &project.plan().runs {
                    let (cut, developed) = (run.cut_length, run.developed_length);
                    prop_assert!(developed > 0.0 && (developed..1e6).contains(&(cut + 1e-6)), "{cut} {developed}\n{text}");
                }
                told(project.findings(), &text)?;
            }
            Err(findings) => told(&findings, &text)?,
        }
    }

    #[test]
    fn no_text_can_make_it_panic(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        let text = String::from_utf8_lossy(&bytes);
        let findings = Project::read(&text, "spec.yaml").expect_err("random bytes are no spec");
        prop_assert!(findings.has_errors());
        told(&findings, &text)?;
    }
}

/// A spec in a unit of so many mm, its lengths given in mm: a tube, a tank whose port faces along `axis`, a run
/// through corners that begins on that port's axis, and a bend table.
fn ordinary(
    unit: (&str, f64),
    tube: (f64, f64, f64),
    axis: usize,
    legs: [f64; 4],
    rows: &[(f64, i32, u32)],
) -> String {
    let (name, mm) = unit;
    let (od, wall, ratio) = tube;
    let number = |length: f64| format!("{}", (length / mm * 1e4).round() / 1e4);
    let point = |mut point: [f64; 3]| {
        point.rotate_right(axis);
        format!("[{}, {}, {}]", number(point[0]), number(point[1]), number(point[2]))
    };
    let clr = od * ratio;
    let [a, b, c, d] = legs.map(|leg| clr * 2.0 + leg);
    let facing = ["[1, 0, 0]", "[0, 1, 0]", "[0, 0, 1]"][axis % 3];
    let table: Vec<String> = rows
        .iter()
        .map(|(length, rotation, angle)| {
            format!("{{length: {}, rotation: {rotation}, angle: {angle}}}", number(*length))
        })
        .collect();
    format!(
        "format: 1\nunits: {name}\ntube: {{od: {}, wall: {}, material: copper, temper: soft}}\n\
         bender: {{clr: {}}}\nfittings: {{collar: {{tube_od: {}, insert: {}}}}}\ncomponents:\n  tank:\n    \
         box: {{from: {}, to: {}}}\n    ports: {{out: {{at: {}, facing: {facing}, fitting: collar}}}}\nruns:\n  \
         a: {{from: tank.out, to: {}, corners: [{}, {}]}}\n  b: {{bends: [{}], end_length: {}}}\n",
        number(od),
        number(wall),
        number(clr),
        number(od),
        number(od * 0.8),
        point([0.0, 0.0, 0.0]),
        point([80.0, 60.0, 180.0]),
        point([80.0, 30.0, 40.0]),
        point([80.0 + a, 30.0 + b, 40.0 + c]),
        point([80.0 + a, 30.0, 40.0]),
        point([80.0 + a, 30.0 + b, 40.0]),
        table.join(", "),
        number(d),
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, failure_persistence: None, ..ProptestConfig::default() })]

    /// Outside diameters of 3 to 54 mm, walls of tube, radii of 1.5 to 6 diameters: nothing is taken for a slip.
    #[test]
    fn no_ordinary_spec_is_taken_for_a_slip(
        unit in prop::sample::select(vec![("mm", 1.0), ("cm", 10.0), ("in", 25.4)]),
        od in 3.0f64..54.0,
        wall in 0.04f64..0.15,
        ratio in 1.5f64..6.0,
        axis in 0usize..3,
        legs in [5.0f64..400.0, 5.0f64..400.0, 5.0f64..400.0, 5.0f64..400.0],
        rows in prop::collection::vec((10.0f64..300.0, -179i32..=180, 5u32..=180), 1..6),
    ) {
        // To a tenth of a millimetre, as tube is sold, and no thinner than it is drawn.
        let tube = ((od * 10.0).round() / 10.0, (od * wall).clamp(0.3, 3.0), ratio);
        let text = ordinary(unit, tube, axis, legs, &rows);
        let findings = match spec::read(&text, "spec.yaml") {
            Ok((_, findings)) | Err(findings) => findings,
        };
        prop_assert!(findings.is_empty(), "{:?}\n{}", found(&findings), text);
    }
}
