//! `tubewright init`: writes a starter spec, never over an existing file.

use std::fs::OpenOptions;
use std::io::{self, Write};
use std::path::Path;

use tubewright::spec::{STARTER, STARTER_INCHES, STARTER_PORTS, STARTER_PORTS_INCHES};

use super::Outcome;
use super::args::{Beginning, StarterArguments, Units};
use super::read::STDIN;
use super::terminal::{Terminal, shown};

pub(super) fn run(terminal: &Terminal, arguments: &StarterArguments) -> Outcome {
    let file = &arguments.file;
    let starter = match (arguments.from, arguments.units) {
        (Beginning::Tube, Units::Mm) => STARTER,
        (Beginning::Tube, Units::In) => STARTER_INCHES,
        (Beginning::Ports, Units::Mm) => STARTER_PORTS,
        (Beginning::Ports, Units::In) => STARTER_PORTS_INCHES,
    };
    write_new(terminal, file, starter, &format!("tubewright check {}", shown(file)))
}

/// Writes a file that is not there yet, or prints it where it is called `-`, and says what to do next.
pub(super) fn write_new(terminal: &Terminal, file: &Path, text: &str, next: &str) -> Outcome {
    if file.as_os_str() == STDIN {
        return terminal.print(text);
    }
    let written = OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(file)
        .and_then(|mut new| new.write_all(text.as_bytes()));
    match written {
        Ok(()) => terminal.tell(&format!("wrote {}\nnext: {next}\n", shown(file))),
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
            terminal.complain(&format!("{} exists already and was left as it is", shown(file)), Outcome::Io)
        }
        Err(error) => terminal.complain(&format!("could not write {}: {error}", shown(file)), Outcome::Io),
    }
}
