//! `tubewright check`: reports problems and the plan, writes nothing.

use super::args::{CheckArguments, ReportFormat};
use super::read::read_specs;
use super::selection::keep_runs;
use super::terminal::Terminal;
use super::{Outcome, folders, plan, report};

pub(super) fn run(terminal: &Terminal, arguments: &CheckArguments) -> Outcome {
    let CheckArguments { specs: arguments, runs } = arguments;
    let mut specs = match read_specs(terminal, arguments) {
        Ok(specs) => specs,
        Err(outcome) => return outcome,
    };
    if let Err(unknown) = keep_runs(&mut specs, runs) {
        return terminal.complain(&unknown, Outcome::Usage);
    }
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
                if let Ok(project) = &spec.project {
                    let planned = project.plan();
                    let (table, plans) = (report::run_table(planned, page), plan::plans(planned, page));
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
