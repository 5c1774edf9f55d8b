//! `tubewright calibrate`: what test bends say of the benders, and what to measure next.

mod json;
mod text;

use tubewright::calibration::{Calibrated, EXAMPLE, advice, benders, refusals};
use tubewright::diagnostic::{Diagnostic, Diagnostics, Severity};
use tubewright::spec::model::Spec;
use tubewright::spec::{Resolver, read_with};

use super::Outcome;
use super::args::{ReportFormat, SpecArguments};
use super::folders;
use super::read::{FromSpec, read_specs};
use super::terminal::{Page, Terminal};

/// The warning of reading that concerns calibration.
const OTHER_TUBE: &str = "tests-of-another-tube";

/// Calibration needs no layout, so nothing is told of clashes and corners.
impl FromSpec for Spec {
    fn read(text: &str, file_name: &str, resolver: &Resolver<'_>) -> (Self, Diagnostics) {
        let reading = read_with(text, file_name, resolver);
        let concerns = |d: &Diagnostic| d.severity == Severity::Error || d.code == OTHER_TUBE;
        let mut findings = Diagnostics::new();
        findings.extend(reading.findings.into_iter().filter(concerns));
        findings.extend(refusals(&benders(&reading.spec)));
        findings.sort_by_place();
        // The benders of the sound runs are shown beside the errors of the others.
        (reading.spec, findings)
    }
}

pub(super) fn run(terminal: &Terminal, arguments: &SpecArguments) -> Outcome {
    let specs = match read_specs::<Spec>(terminal, arguments) {
        Ok(specs) => specs,
        Err(outcome) => return outcome,
    };
    folders::mend(terminal, &specs);
    let mut outcome = Outcome::Done;
    let mut reports = Vec::new();
    for spec in &specs {
        if !spec.sound(arguments.strict) {
            outcome = Outcome::SpecErrors;
        }
        let benders = spec.project.as_ref().map_or_else(Vec::new, benders);
        match arguments.format {
            ReportFormat::Json => reports.push(json::report(spec, arguments.strict, &benders)),
            ReportFormat::Text => {
                spec.show(terminal, arguments.strict);
                let tables: Vec<String> =
                    benders.iter().filter_map(|bender| text::bender(bender, terminal.page())).collect();
                let told = if !tables.is_empty() {
                    tables.join("\n")
                } else if !spec.findings.has_errors() {
                    how_to_begin(&benders, terminal.page())
                } else {
                    continue;
                };
                outcome = outcome.max(terminal.print(&format!("{}\n\n{told}", spec.called())));
            }
        }
    }
    if arguments.format == ReportFormat::Json {
        outcome = outcome.max(terminal.print(&json::render(&reports)));
    }
    outcome
}

/// Advice where no bender has test bends.
fn how_to_begin(benders: &[Calibrated<'_>], page: Page) -> String {
    // A spec has one advice for all its benders, but for those that cannot bend a U.
    let first = benders.first().map(|known| advice(known.bender));
    let before = format!(
        "No bender has test bends yet. Of the same tube, in the state that the runs are bent in, {}. Measure them, and \
         write what you found below the bender; these numbers are of 15 mm tube:",
        first.as_deref().unwrap_or("bend a few pieces")
    );
    let after = "Five or more pieces show which one was misread. Without test bends springback is predicted from the metal, the radius is \
                 `clr` as written, and nothing is taken off for stretch.";
    format!("{}\n{EXAMPLE}\n{}", page.wrapped(&before, 0), page.wrapped(after, 0))
}
