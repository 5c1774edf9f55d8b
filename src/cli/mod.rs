//! The command line: arguments as typed → a resolved job → a report and an exit code.

mod args;

mod build;
mod calibrate;
mod check;
mod init;
mod plan;
mod read;
mod report;
mod sizes;
mod table;
mod values;

use std::io::{self, IsTerminal, Write};
use std::process::ExitCode;

use clap::{CommandFactory, Parser};

use args::{Arguments, Colour, Command};

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

/// What every command needs to print.
struct Terminal {
    quiet: bool,
    colour: Colour,
}

impl Terminal {
    /// Whether to colour what goes to standard error.
    fn colour_messages(&self) -> bool {
        match self.colour {
            Colour::Always => true,
            Colour::Never => false,
            Colour::Auto => {
                std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty()) && io::stderr().is_terminal()
            }
        }
    }

    /// Prints to standard output. A reader that has gone away is no error.
    fn print(&self, text: &str) -> Outcome {
        match io::stdout().lock().write_all(text.as_bytes()) {
            Ok(()) => Outcome::Done,
            Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Outcome::Done,
            Err(error) => self.complain(&format!("could not print: {error}"), Outcome::Io),
        }
    }

    /// Prints to standard output unless quiet.
    fn tell(&self, text: &str) -> Outcome {
        if self.quiet { Outcome::Done } else { self.print(text) }
    }

    /// Prints a message to standard error; there is nowhere left to report a failure of that.
    fn message(&self, text: &str) {
        drop(io::stderr().lock().write_all(text.as_bytes()));
    }

    /// Says why a command ends.
    fn complain(&self, text: &str, outcome: Outcome) -> Outcome {
        self.message(&format!("error: {text}\n"));
        outcome
    }
}

/// Runs the program with the process's arguments.
pub(crate) fn run() -> ExitCode {
    let arguments = Arguments::parse();
    let terminal = Terminal { quiet: arguments.quiet, colour: arguments.color };
    let outcome = match arguments.command {
        Command::Init { file } => init::run(&terminal, &file),
        Command::Build(build) => build::run(&terminal, &build),
        Command::Calibrate { specs } => calibrate::run(&terminal, &specs),
        Command::Check { specs } => check::run(&terminal, &specs),
        Command::Sizes { standard, format } => sizes::run(&terminal, standard.as_deref(), format),
        Command::Schema => terminal.print(&tubewright::spec::schema()),
        Command::Completions { shell } => {
            let mut script = Vec::new();
            clap_complete::generate(shell, &mut Arguments::command(), "tubewright", &mut script);
            terminal.print(&String::from_utf8_lossy(&script))
        }
    };
    ExitCode::from(outcome as u8)
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
}
