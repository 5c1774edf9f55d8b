//! Any bytes as a spec: read, or refused with findings that lie in the text and can be shown.

#![no_main]

use libfuzzer_sys::fuzz_target;
use tubewright::diagnostic::render_wrapped;
use tubewright::spec::{Reading, read_partly};
use tubewright_fuzz::timed;

fuzz_target!(|bytes: &[u8]| timed(|| run(bytes)));

fn run(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let Reading { spec, findings, broken, .. } = read_partly(text, "fuzz.yaml");
    for finding in findings.iter() {
        let inside = finding.place.is_none_or(|place| text.get(place.start..place.end).is_some());
        assert!(inside, "a place outside the text: {finding:?}");
    }
    assert!(findings.has_errors() || (broken.is_empty() && !spec.runs().is_empty()), "no run, and no error");
    let shown = render_wrapped(&findings, "fuzz.yaml", text, false, 80);
    assert_eq!(shown.is_empty(), findings.is_empty());
    let steers = |c: char| c.is_control() && c != '\n';
    assert!(!shown.contains(steers), "what is shown steers the terminal: {shown:?}");
}
