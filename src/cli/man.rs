//! `tubewright man`: the manual, made from the words of the help.
//!
//! The generator writes one command's page. Here the examples are put in front, and the commands can follow
//! each other on one page.

use std::fs;
use std::io;
use std::path::Path;

use clap::builder::PossibleValue;
use clap::{Arg, Command, CommandFactory};
use clap_mangen::Man;
use clap_mangen::roff::{Roff, roman};

use super::Outcome;
use super::args::Arguments;
use super::terminal::{Terminal, shown};

pub(super) fn run(terminal: &Terminal, folder: Option<&Path>) -> Outcome {
    let program = listed(Arguments::command().disable_help_subcommand(true));
    let Some(folder) = folder else {
        return match whole(&program) {
            Ok(page) => terminal.print(&page),
            Err(error) => terminal.complain(&format!("could not make the page: {error}"), Outcome::Io),
        };
    };
    match each(program, folder) {
        Ok(count) => terminal.tell(&format!("{count} pages in {}\n", shown(folder))),
        Err(error) => {
            terminal.complain(&format!("could not write pages into {}: {error}", shown(folder)), Outcome::Io)
        }
    }
}

/// The program with the values of its options in their help, where they need no explanation: the generator
/// gives each a paragraph.
fn listed(command: Command) -> Command {
    let in_line = |argument: Arg| {
        let values = argument.get_possible_values();
        if !argument.get_action().takes_values()
            || values.is_empty()
            || values.iter().any(|value| value.get_help().is_some())
        {
            return argument;
        }
        let help = argument.get_help().map(ToString::to_string).unwrap_or_default();
        let names: Vec<&str> = values.iter().map(PossibleValue::get_name).collect();
        let help = format!("{help} [possible values: {}]", names.join(", "));
        argument.help(help).hide_possible_values(true)
    };
    command.mut_args(in_line).mut_subcommands(listed)
}

/// One page with every command below the program.
fn whole(program: &Command) -> io::Result<String> {
    let mut page = front(program)? + &options(program)?;
    for command in program.get_subcommands() {
        // Not built by the program, a command has no options but its own.
        let full_name = format!("{} {}", program.get_name(), command.get_name());
        let command = command.clone().bin_name(&full_name).disable_help_flag(true);
        let about = command.get_about().map(ToString::to_string).unwrap_or_default();
        let mut heading = Roff::new();
        heading.control("SH", [full_name.to_uppercase().as_str()]);
        heading.text([roman(about)]);
        let parts = usage(&command)? + &options(&command)? + &notes(&command);
        // Its parts are one step below its name.
        page += &(heading.render() + &parts.replace(".SH ", ".SS "));
    }
    Ok(page + &notes(program))
}

/// A page for the program and for each of its commands; how many.
fn each(mut program: Command, folder: &Path) -> io::Result<usize> {
    fs::create_dir_all(folder)?;
    program.build();
    let commands: Vec<&Command> = std::iter::once(&program).chain(program.get_subcommands()).collect();
    for command in &commands {
        let mut page = front(command)? + &options(command)?;
        if command.has_subcommands() {
            page += &text(|out| Man::new((*command).clone()).render_subcommands_section(out))?;
        }
        fs::write(folder.join(Man::new((*command).clone()).get_filename()), page + &notes(command))?;
    }
    Ok(commands.len())
}

/// Title, name and how to use it.
fn front(command: &Command) -> io::Result<String> {
    let man = Man::new(command.clone());
    Ok(text(|out| man.render_title(out))? + &text(|out| man.render_name_section(out))? + &usage(command)?)
}

/// Examples first, as in the help.
fn usage(command: &Command) -> io::Result<String> {
    let mut roff = Roff::new();
    let examples = command.get_before_help().map(ToString::to_string).unwrap_or_default();
    roff.control("SH", ["EXAMPLES"]);
    roff.control("nf", []);
    for line in examples.lines().skip(1) {
        roff.text([roman(line.trim())]);
    }
    roff.control("fi", []);
    let man = Man::new(command.clone());
    Ok(roff.render() + &text(|out| man.render_synopsis_section(out))?)
}

fn options(command: &Command) -> io::Result<String> {
    let man = Man::new(command.clone());
    text(|out| man.render_options_section(out))
}

/// The end of the help, paragraph by paragraph.
fn notes(command: &Command) -> String {
    let mut roff = Roff::new();
    if let Some(words) = command.get_after_help() {
        roff.control("SH", ["NOTES"]);
        for line in words.to_string().lines() {
            if line.is_empty() {
                roff.control("PP", []);
            } else {
                roff.text([roman(line.trim())]);
            }
        }
    }
    roff.render()
}

/// The text that a part of the generator writes.
fn text(part: impl FnOnce(&mut dyn io::Write) -> io::Result<()>) -> io::Result<String> {
    let mut bytes = Vec::new();
    part(&mut bytes)?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}
