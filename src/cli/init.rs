//! `tubewright init`: writes the starter spec, never over an existing file.

use std::fs::OpenOptions;
use std::io::{self, Write};
use std::path::Path;

use super::{Outcome, Terminal};

pub(super) fn run(terminal: &Terminal, file: &Path) -> Outcome {
    if file.as_os_str() == "-" {
        return terminal.print(tubewright::spec::STARTER);
    }
    let written = OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(file)
        .and_then(|mut spec| spec.write_all(tubewright::spec::STARTER.as_bytes()));
    match written {
        Ok(()) => terminal.tell(&format!("wrote {0}\nnext: tubewright build {0}\n", file.display())),
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => terminal
            .complain(&format!("{} exists already and was left as it is", file.display()), Outcome::Io),
        Err(error) => terminal.complain(&format!("could not write {}: {error}", file.display()), Outcome::Io),
    }
}
