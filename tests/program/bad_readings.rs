//! Every file in `tests/bad_readings` has readings that are wrong, and says how in comments at its end, as the files of
//! `tests/bad_specs` do. At its head it may say more:
//!
//! ```text
//! # of: RUN                    (the run that is asked for; `cold` where it is left out)
//! # set: bend 2 angle 88       (an option; what is found in it is expected as `# expect: set LINE:COLUMN ...`)
//! ```
//!
//! Each is read by the library and by the program, as readings of `of/loop.yaml`.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use assert_cmd::Command;
use proptest::prelude::*;
use tubewright::build::Project;
use tubewright::diagnostic::{Diagnostic, Severity};
use tubewright::plan::measurable;
use tubewright::spec::model::Measurable;
use tubewright::spec::readings::{Read, read};

use crate::bad_specs::{expected, found, told};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bad_readings")
}

fn corpus() -> Vec<(PathBuf, String)> {
    let entries = fs::read_dir(folder()).expect("the corpus").map(|entry| entry.expect("an entry").path());
    let mut files: Vec<PathBuf> = entries.filter(|path| path.is_file()).collect();
    files.sort();
    files.into_iter().map(|path| (path.clone(), fs::read_to_string(path).expect("is text"))).collect()
}

/// The runs that the readings are of.
static RUNS: LazyLock<Vec<Measurable>> = LazyLock::new(|| {
    let text = fs::read_to_string(folder().join("of/loop.yaml")).expect("the spec");
    let project = Project::read(&text, "loop.yaml").expect("sound");
    let runs = project.plan().runs.iter();
    runs.map(|run| measurable(project.layout(), run).expect("is laid out")).collect()
});

fn run(name: &str) -> &'static Measurable {
    RUNS.iter().find(|run| run.run == name).expect("a run of the spec")
}

/// What a file says behind a word at the head of its comments.
fn said<'t>(text: &'t str, word: &str) -> Vec<&'t str> {
    text.lines().filter_map(|line| line.strip_prefix("# ")?.strip_prefix(word)?.strip_prefix(": ")).collect()
}

fn asked_for(text: &str) -> &str {
    said(text, "of").first().copied().unwrap_or("cold")
}

fn options(text: &str) -> Vec<String> {
    said(text, "set").into_iter().map(str::to_owned).collect()
}

fn reading(text: &str) -> Read {
    read(Some(text), &options(text), run(asked_for(text)))
}

/// All findings, those of options behind the others.
fn findings(read: &Read) -> impl Iterator<Item = &Diagnostic> {
    read.findings.iter().chain(read.of_options.iter().flat_map(|findings| findings.iter()))
}

fn only_warnings(text: &str) -> bool {
    text.lines().any(|line| line == "# only warnings")
}

#[test]
fn the_library_finds_exactly_what_each_file_expects() {
    let corpus = corpus();
    assert!(corpus.len() >= 40, "only {} files", corpus.len());
    let mut wrong = String::new();
    for (path, text) in corpus {
        let read = reading(&text);
        let mut lines = found(&read.findings);
        for findings in &read.of_options {
            lines.extend(found(findings).into_iter().map(|line| format!("set {line}")));
        }
        let hints: Vec<String> = findings(&read).map(|d| d.help().unwrap_or_default()).collect();
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        if lines != expected(&text)
            || hints != said(&text, "help")
            || read.readings.is_some() != only_warnings(&text)
        {
            wrong.push_str(&format!("== {name}\n"));
            for (line, hint) in lines.iter().zip(&hints) {
                wrong.push_str(&format!("# expect: {line}\n# help: {hint}\n"));
            }
        }
        assert!(lines.len() == hints.len() && !lines.is_empty(), "{name}");
    }
    assert!(wrong.is_empty(), "found otherwise:\n{wrong}");
}

#[test]
fn every_message_has_a_place_unless_nothing_is_there() {
    let mut codes = Vec::new();
    for (path, text) in corpus() {
        let read = reading(&text);
        for finding in findings(&read) {
            assert!(finding.place.is_some() || finding.code == "empty-file", "{}: {finding}", path.display());
            codes.push(finding.code);
        }
        told(&read.findings, &text).expect("is told");
        for (option, findings) in options(&text).iter().zip(&read.of_options) {
            told(findings, option).expect("is told");
        }
    }
    for code in [
        "bad-angle",
        "bad-choice",
        "bad-format",
        "bad-length",
        "bad-number",
        "bad-option",
        "contradiction",
        "duplicate-key",
        "empty-file",
        "first-bend",
        "included-angle",
        "measured-elsewhere",
        "missing-key",
        "missing-value",
        "no-crossing",
        "no-readings",
        "not-made-yet",
        "other-run",
        "out-of-range",
        "radians",
        "reading-far-off",
        "reading-unit",
        "turn-other-way",
        "unknown-bend",
        "unknown-key",
        "unknown-run",
        "unknown-template",
        "wrong-type",
        "yaml-syntax",
    ] {
        assert!(codes.contains(&code), "no file has a finding of the code {code}");
    }
}

#[test]
fn the_program_refuses_each_file_and_writes_nothing() {
    for (path, text) in corpus() {
        let place = tempfile::tempdir().expect("a folder");
        let (code, set) = (if only_warnings(&text) { 0 } else { 1 }, options(&text));
        let run = Command::new(env!("CARGO_BIN_EXE_tubewright"))
            .current_dir(place.path())
            .arg("correct")
            .arg(folder().join("of/loop.yaml"))
            .arg(asked_for(&text))
            .arg(&path)
            .args(set.iter().flat_map(|option| ["--set", option.as_str()]))
            .assert()
            .code(code);
        let shown = String::from_utf8_lossy(&run.get_output().stderr).into_owned();
        for line in expected(&text) {
            let is_code =
                |word: &&str| !word.starts_with('"') && word.contains(|c: char| c.is_ascii_lowercase());
            let code = line.split(' ').filter(|word| *word != "set").find(is_code).expect("a code");
            assert!(shown.contains(&format!("[{code}]")), "{}: no {code} in\n{shown}", path.display());
        }
        assert_eq!(run.get_output().stdout.is_empty(), code == 1, "{}", path.display());
        assert_eq!(fs::read_dir(place.path()).expect("still there").count(), 0, "{}", path.display());
    }
}

const SOUND: &str = "format: 1\nreadings: cold\nbends_done: 3\ncut: 481.5\nmeasured: centre\nbends:\n  1: {pulled: 92, angle: 88.5, \
    starts: 90, ends: {got: 176, accuracy: 1}, leg: 145}\n  2: {angle: 60.4, turn: 91, starts: 236, ends: 294, leg: 92}\n  \
    3: {angle: 89.7, turn: -179, between: 150}\nlast_leg: 125\ntemplates:\n  1: {end_to_end: 190, beyond: 1, left: -2.5}\n  \
    2: {end_to_end: 258, at_bends: {2: {left: 0.3, above: 0}}}\naccuracy: {angle: 0.3, length: 0.4}\n";

#[test]
fn a_sound_file_has_no_finding() {
    let read = read(Some(SOUND), &["bend 2 turn 89.5 ± 0.8".to_owned()], run("cold"));
    assert_eq!(found(&read.findings), Vec::<String>::new());
    let readings = read.readings.expect("sound");
    assert_eq!((readings.done, readings.pulled.len(), readings.all.len()), (3, 1, 20));
    let option = readings.all.iter().find(|reading| reading.place.is_none()).expect("one of an option");
    assert!(
        (option.value.to_degrees() - 89.5).abs() < 1e-9 && (option.accuracy.to_degrees() - 0.8).abs() < 1e-9
    );
    let (replaced, line) = (&read.replaced[0], SOUND.lines().position(|line| line.contains("  2: {angle")));
    assert_eq!((replaced.was.as_str(), Some(replaced.place.line - 1)), ("91", line));
}

/// What holds of any reading.
fn is_told(text: Option<&str>, options: &[String]) -> Result<Read, TestCaseError> {
    let read = read(text, options, run("cold"));
    told(&read.findings, text.unwrap_or_default())?;
    prop_assert_eq!(read.of_options.len(), options.len());
    for (option, findings) in options.iter().zip(&read.of_options) {
        // An option may hold a line break, which is none in a file.
        if !option.contains(char::is_control) {
            told(findings, option)?;
        }
    }
    let errors = findings(&read).filter(|finding| finding.severity == Severity::Error).count();
    prop_assert_eq!(read.readings.is_none(), errors > 0);
    for reading in read.readings.iter().flat_map(|readings| &readings.all) {
        prop_assert!(reading.value.is_finite() && reading.accuracy > 0.0, "{reading:?}");
    }
    Ok(read)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_edit_of_sound_readings_can_make_it_panic(
        edits in prop::collection::vec(
            (any::<usize>(), 0usize..12, "[-0-9a-z.,:{}\\[\\]'\"#&*!|>%@\n ]{0,6}|\\PC{0,3}|[1-9]e[0-9]{1,3}|~|: \n"),
            1..5,
        ),
        options in prop::collection::vec("(bend|template|cut|accuracy|at| |[0-9]|angle|left|leg|±|-|\\PC){0,8}", 0..3),
    ) {
        let mut letters: Vec<char> = SOUND.chars().collect();
        for (at, length, text) in edits {
            let start = at % (letters.len() + 1);
            let end = (start + length).min(letters.len());
            letters.splice(start..end, text.chars());
        }
        let text: String = letters.into_iter().collect();
        is_told(Some(&text), &options)?;
    }

    #[test]
    fn no_text_and_no_option_can_make_it_panic(bytes in prop::collection::vec(any::<u8>(), 0..200), option in "\\PC{0,40}|\\P{Zs}{0,20}") {
        let text = String::from_utf8_lossy(&bytes);
        let read = is_told(Some(&text), std::slice::from_ref(&option))?;
        prop_assert!(read.readings.is_none(), "random bytes are no readings");
        is_told(None, &[option])?;
    }
}
