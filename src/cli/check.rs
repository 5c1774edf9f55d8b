//! `tubewright check`: reports problems and the plan, writes nothing.

use super::args::{ReportFormat, SpecArguments};
use super::read::read_specs;
use super::{Outcome, Terminal, plan, report};

pub(super) fn run(terminal: &Terminal, arguments: &SpecArguments) -> Outcome {
    let specs = match read_specs(terminal, arguments) {
        Ok(specs) => specs,
        Err(outcome) => return outcome,
    };
    let mut outcome = Outcome::Done;
    let mut reports = Vec::new();
    for spec in &specs {
        if !spec.sound(arguments.strict) {
            outcome = Outcome::SpecErrors;
        }
        match arguments.format {
            ReportFormat::Json => reports.push(report::SpecReport::new(spec, arguments.strict)),
            ReportFormat::Text => {
                spec.show(terminal, arguments.strict);
                if let Ok(project) = &spec.project {
                    let planned = project.plan();
                    let (table, plans) = (report::run_table(planned), plan::plans(planned));
                    let text = format!("{}\n{table}{plans}", spec.path.display());
                    outcome = outcome.max(terminal.tell(&text));
                }
            }
        }
    }
    if arguments.format == ReportFormat::Json {
        outcome = outcome.max(terminal.print(&report::json("check", &reports)));
    }
    outcome
}
