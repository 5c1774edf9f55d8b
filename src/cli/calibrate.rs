//! `tubewright calibrate`: what test bends say of the benders, and what to measure next.

mod json;
mod text;

use tubewright::plan::calibration::{EXAMPLE, benders};
use tubewright::spec::read_partly;

use super::Outcome;
use super::args::{ReportFormat, SpecArguments};
use super::folders;
use super::read::read_specs;
use super::terminal::{Page, Terminal, shown};

pub(super) fn run(terminal: &Terminal, arguments: &SpecArguments) -> Outcome {
    let specs = match read_specs(terminal, arguments) {
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
        // Fitted again for the tables: a spec with errors is no project.
        let reading = read_partly(&spec.text, &spec.path.to_string_lossy());
        let benders = benders(&reading.spec);
        match arguments.format {
            ReportFormat::Json => reports.push(json::report(spec, arguments.strict, &benders)),
            ReportFormat::Text => {
                spec.show(terminal, arguments.strict);
                let tables: Vec<String> =
                    benders.iter().filter_map(|bender| text::bender(bender, terminal.page())).collect();
                let told = if !tables.is_empty() {
                    tables.join("\n")
                } else if spec.project.is_ok() {
                    how_to_begin(terminal.page())
                } else {
                    continue;
                };
                outcome = outcome.max(terminal.print(&format!("{}\n\n{told}", shown(&spec.path))));
            }
        }
    }
    if arguments.format == ReportFormat::Json {
        outcome = outcome.max(terminal.print(&json::render(&reports)));
    }
    outcome
}

/// What to do where no bender has test bends.
fn how_to_begin(page: Page) -> String {
    let before = "No bender has test bends yet. Bend a few pieces of the same tube, measure them, and write what you \
                  found below the bender; these numbers are of 15 mm tube:";
    let after = "Two or three pieces give springback; lengths and a U give radius and stretch; five or more show \
                 which one was misread. Without test bends springback is predicted from the metal, the radius is \
                 `clr` as written, and nothing is taken off for stretch.";
    format!("{}\n{EXAMPLE}\n{}", page.wrapped(before, 0), page.wrapped(after, 0))
}
