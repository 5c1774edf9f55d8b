//! Any bytes as a spec: read, laid out, checked and planned, or refused with findings that have places.

#![no_main]

use libfuzzer_sys::fuzz_target;
use tubewright::build::Project;

fuzz_target!(|bytes: &[u8]| {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    if let Err(findings) = Project::read(text, "fuzz.yaml") {
        assert!(findings.has_errors(), "refused without an error");
    }
});
