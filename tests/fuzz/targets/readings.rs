//! Any bytes as readings of a tube, in a file and as options: read, or refused with findings that lie in their text.

#![no_main]

use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;
use tubewright::Project;
use tubewright::diagnostic::{Diagnostics, render_wrapped};
use tubewright::plan::measurable;
use tubewright::spec::model::Measurable;
use tubewright::spec::readings::read;
use tubewright_fuzz::timed;

static RUNS: LazyLock<Vec<Measurable>> = LazyLock::new(|| {
    let spec = include_str!("../../bad_readings/of/loop.yaml");
    let project = Project::read(spec, "loop.yaml").expect("sound");
    let runs = project.plan().runs.iter();
    runs.map(|run| measurable(project.layout(), run).expect("is laid out")).collect()
});

fuzz_target!(|bytes: &[u8]| timed(|| run(bytes)));

/// The first byte chooses the run, and whether the lines are options or a file: a `#`, the first run and a file.
fn run(bytes: &[u8]) {
    let Some((first, rest)) = bytes.split_first() else { return };
    let Ok(text) = std::str::from_utf8(rest) else { return };
    let Some(run) = RUNS.get((usize::from(first / 2) + 3) % RUNS.len()) else { return };
    let options: Vec<String> =
        if first % 2 == 0 { text.lines().map(str::to_owned).collect() } else { Vec::new() };
    let file = options.is_empty().then_some(text);
    let found = read(file, &options, run);
    is_told(&found.findings, file.unwrap_or_default());
    assert_eq!(found.of_options.len(), options.len());
    found.of_options.iter().zip(&options).for_each(|(findings, option)| is_told(findings, option));
    let errors = found.findings.has_errors() || found.of_options.iter().any(Diagnostics::has_errors);
    assert_eq!(found.readings.is_none(), errors);
    for reading in found.readings.iter().flat_map(|readings| &readings.all) {
        assert!(reading.value.is_finite() && reading.accuracy > 0.0, "{reading:?}");
    }
}

fn is_told(findings: &Diagnostics, text: &str) {
    for finding in findings.iter() {
        let inside = finding.place.is_none_or(|place| text.get(place.start..place.end).is_some());
        assert!(inside, "a place outside the text: {finding:?}");
    }
    let shown = render_wrapped(findings, "fuzz.yaml", text, false, 80);
    assert!(
        !shown.contains(|c: char| c.is_control() && c != '\n'),
        "what is shown steers the terminal: {shown:?}"
    );
}
