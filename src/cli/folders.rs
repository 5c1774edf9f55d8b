//! Which output folder each spec is built into, and builds that were broken off there.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use tubewright::export::bundle::{self, Mended};

use super::read::{ReadSpec, STDIN, STDIN_NAME};
use super::terminal::{Terminal, shown};

/// Names some systems keep for devices, whatever follows a point in them.
const RESERVED: [&str; 4] = ["con", "prn", "aux", "nul"];

/// The output folder of each spec.
pub(super) fn folders(specs: &[ReadSpec], out: Option<&Path>) -> Result<Vec<PathBuf>, String> {
    let mut seen = BTreeSet::new();
    specs
        .iter()
        .map(|spec| {
            let folder = match out {
                Some(out) if specs.len() == 1 => out.to_owned(),
                out => out.unwrap_or(Path::new("out")).join(name(&spec.path)?),
            };
            if seen.insert(folder.clone()) {
                Ok(folder)
            } else {
                Err(format!(
                    "two specs would both be written to {}; build them one by one with --out",
                    shown(&folder)
                ))
            }
        })
        .collect()
}

/// The folder's name for a spec: its file name without the ending.
fn name(spec: &Path) -> Result<PathBuf, String> {
    if spec.as_os_str() == STDIN {
        return Ok(PathBuf::from(STDIN_NAME));
    }
    let stem = spec.file_stem().unwrap_or_default();
    if is_folder_name(&stem.to_string_lossy()) {
        return Ok(PathBuf::from(stem));
    }
    Err(format!(
        "{} gives no name for an output folder; rename it, or say where to write with --out",
        shown(spec)
    ))
}

/// Whether a name can be a folder's on every system, and leads nowhere else. `...yaml` without its ending
/// is `..`.
fn is_folder_name(name: &str) -> bool {
    let device = name.split('.').next().unwrap_or(name).trim_end().to_ascii_lowercase();
    let numbered = (device.starts_with("com") || device.starts_with("lpt"))
        && device.len() == 4
        && device.ends_with(|c: char| c.is_ascii_digit());
    !name.is_empty()
        && !name.starts_with('.')
        && !name.ends_with(['.', ' '])
        && !name.chars().any(char::is_control)
        && !RESERVED.contains(&device.as_str())
        && !numbered
}

/// Mends builds into the default output folders of these specs that were broken off. Any command that reads
/// specs does, so that nobody works from half a build.
pub(super) fn mend<P>(terminal: &Terminal, specs: &[ReadSpec<P>]) {
    for out in specs.iter().filter_map(|spec| Some(Path::new("out").join(name(&spec.path).ok()?))) {
        match bundle::mend(&out) {
            Ok(mended) => say_mended(terminal, &out, mended),
            Err(error) => terminal.message(&format!("warning: {error}\n")),
        }
    }
}

/// Says what became of a build that was broken off.
pub(super) fn say_mended(terminal: &Terminal, out: &Path, mended: Option<Mended>) {
    let done = match mended {
        Some(Mended::Finished) => "all its files are in place now",
        Some(Mended::TakenBack) => "every file is as it was before it",
        Some(Mended::Swept) | None => return,
    };
    if !terminal.quiet {
        terminal.message(&format!("note: an earlier build into {} was broken off; {done}\n", shown(out)));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_folders_lead_nowhere_else() {
        for (spec, folder) in
            [("a/loop.yaml", "loop"), ("loop", "loop"), ("loop.v2.yaml", "loop.v2"), ("-", "stdin")]
        {
            assert_eq!(name(Path::new(spec)), Ok(PathBuf::from(folder)), "{spec}");
        }
        for spec in [
            "...yaml",
            "..",
            ".",
            "/",
            ".yaml",
            ".hidden.yaml",
            "a..yaml",
            "a .yaml",
            "CON.yaml",
            "com1.x.yaml",
            "a\nb.yaml",
        ] {
            assert!(name(Path::new(spec)).is_err(), "{spec}");
        }
    }
}
