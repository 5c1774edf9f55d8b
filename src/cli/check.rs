//! `tubewright check`: reports problems and the plan, writes nothing.

use super::args::{CheckArguments, ReportFormat};
use super::read::read_specs;
use super::selection::planned;
use super::terminal::Terminal;
use super::{Outcome, folders, plan, report};

pub(super) fn run(terminal: &Terminal, arguments: &CheckArguments) -> Outcome {
    let CheckArguments { specs: arguments, runs } = arguments;
    let specs = match read_specs(terminal, arguments) {
        Ok(specs) => specs,
        Err(outcome) => return outcome,
    };
    let specs = match planned(specs, runs, None) {
        Ok(specs) => specs,
        Err(unknown) => return terminal.complain(&unknown, Outcome::Usage),
    };
    folders::mend(terminal, &specs);
    let page = terminal.page();
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
                if let Some(project) = &spec.project {
                    let made = project.plan();
                    let (table, plans) = (report::run_table(made, page), plan::plans(made, page));
                    let text = format!("{}\n{table}{plans}", spec.called());
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
