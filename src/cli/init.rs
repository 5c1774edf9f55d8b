//! `tubewright init`: writes a starter spec, never over an existing file.

use std::fs::OpenOptions;
use std::io::{self, Write};

use tubewright::spec::{STARTER, STARTER_INCHES, STARTER_PORTS, STARTER_PORTS_INCHES};

use super::Outcome;
use super::args::{Beginning, StarterArguments, Units};
use super::terminal::{Terminal, shown};

pub(super) fn run(terminal: &Terminal, arguments: &StarterArguments) -> Outcome {
    let file = &arguments.file;
    let starter = match (arguments.from, arguments.units) {
        (Beginning::Tube, Units::Mm) => STARTER,
        (Beginning::Tube, Units::In) => STARTER_INCHES,
        (Beginning::Ports, Units::Mm) => STARTER_PORTS,
        (Beginning::Ports, Units::In) => STARTER_PORTS_INCHES,
    };
    if file.as_os_str() == "-" {
        return terminal.print(starter);
    }
    let written = OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(file)
        .and_then(|mut spec| spec.write_all(starter.as_bytes()));
    match written {
        Ok(()) => terminal.tell(&format!("wrote {0}\nnext: tubewright check {0}\n", shown(file))),
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
            terminal.complain(&format!("{} exists already and was left as it is", shown(file)), Outcome::Io)
        }
        Err(error) => terminal.complain(&format!("could not write {}: {error}", shown(file)), Outcome::Io),
    }
}
