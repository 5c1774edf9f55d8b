//! The command line: arguments as typed → a resolved job → a report and an exit code.

mod args;

mod build;
mod calibrate;
mod check;
mod correct;
mod folders;
mod init;
mod interrupt;
mod left_over;
mod man;
mod next;
mod plan;
mod read;
mod report;
mod route;
mod selection;
mod sizes;
mod table;
mod terminal;
mod threads;
mod values;

use std::process::ExitCode;

use clap::{CommandFactory, Parser};

use args::{Arguments, Command};
use terminal::Terminal;

/// How a command ended; the codes are part of the contract.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Outcome {
    /// Done.
    Done = 0,
    /// The spec has errors; nothing was written.
    SpecErrors = 1,
    /// Wrong usage.
    Usage = 2,
    /// Could not read or write.
    Io = 3,
}

/// Runs the program with the process's arguments.
pub(crate) fn run() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(told) => return ExitCode::from(say(&told) as u8),
    };
    let terminal = Terminal::new(arguments.quiet, arguments.color);
    let outcome = threads::run(|| obey(&terminal, &arguments.command));
    ExitCode::from(outcome as u8)
}

fn obey(terminal: &Terminal, command: &Command) -> Outcome {
    match command {
        Command::Init(starter) => init::run(terminal, starter),
        Command::Build(build) => build::run(terminal, build),
        Command::Calibrate { specs } => calibrate::run(terminal, specs),
        Command::Check(check) => check::run(terminal, check),
        Command::Correct(correct) => correct::run(terminal, correct),
        Command::Route(route) => route::run(terminal, route),
        Command::Sizes { wanted, format } => sizes::run(terminal, &wanted.join(" "), *format),
        Command::Schema { readings: false } => terminal.print(&tubewright::spec::schema()),
        Command::Schema { readings: true } => terminal.print(&tubewright::spec::readings_schema()),
        Command::Man { dir } => man::run(terminal, dir.as_deref()),
        Command::Completions { shell } => {
            let mut script = Vec::new();
            clap_complete::generate(*shell, &mut Arguments::command(), "tubewright", &mut script);
            terminal.print(&String::from_utf8_lossy(&script))
        }
    }
}

/// Prints help, the version, or what is wrong with the arguments.
fn say(told: &clap::Error) -> Outcome {
    match told.print() {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => Outcome::Io,
        _ if told.use_stderr() => Outcome::Usage,
        _ => Outcome::Done,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn arguments_are_well_formed() {
        Arguments::command().debug_assert();
    }

    #[test]
    fn every_command_and_option_has_help() {
        for command in Arguments::command().get_subcommands() {
            assert!(command.get_about().is_some(), "{}", command.get_name());
            for argument in command.get_arguments() {
                assert!(argument.get_help().is_some(), "{} {}", command.get_name(), argument.get_id());
            }
        }
    }

    #[test]
    fn every_help_begins_with_examples_that_are_sound() {
        let program = Arguments::command();
        for command in std::iter::once(&program).chain(program.get_subcommands()) {
            let name = command.get_name();
            for help in [command.clone().render_help(), command.clone().render_long_help()] {
                assert!(help.to_string().starts_with("Examples:\n  tubewright"), "{name}: {help}");
            }
            let examples = command.get_before_help().map(ToString::to_string).unwrap_or_default();
            for line in examples.lines().skip(1) {
                // A remark, a redirection and quotes are the shell's.
                let typed = line.trim().split("   ").next().unwrap_or_default();
                let typed = typed.split(['>', '|']).next().unwrap_or_default();
                let words = typed.split('"').enumerate().flat_map(|(index, part)| match index % 2 {
                    0 => part.split_whitespace().collect(),
                    _ => vec![part],
                });
                assert!(Arguments::try_parse_from(words).is_ok(), "{name}: {typed}");
                assert!(line.chars().count() <= 80, "{name}: {line}");
            }
        }
    }
}
