//! The runs that a command is to deal with, of all that the specs have.

use std::hash::Hasher;
use std::path::{Path, PathBuf};

use tubewright::build::{Checked, Options, Project};
use tubewright::spelling;

use super::read::ReadSpec;
use super::terminal::shown;

/// Folder below a spec's output folder for builds of some of its runs. Those are not of the whole build, nor
/// left over from one.
pub(super) const FOLDER: &str = "only";

/// Longest name of a selection's folder, letters: a path of some systems has 260.
const LONGEST: usize = 80;

/// Plans every spec's runs of these names, or all where there are no names. What is found of them is what a build
/// with the options finds; without options, of the runs alone.
///
/// # Errors
/// The error about a name that no run of a sound spec has.
pub(super) fn planned(
    specs: Vec<ReadSpec<Checked>>,
    names: &[String],
    options: Option<&Options>,
) -> Result<Vec<ReadSpec>, String> {
    specs.iter().try_for_each(|spec| known(spec, names))?;
    let planned = |ReadSpec { path, text, project, findings }: ReadSpec<Checked>| {
        let Some(checked) = project else { return ReadSpec { path, text, project: None, findings } };
        let planned = if names.is_empty() { checked.plan() } else { checked.plan_only(names) };
        let of_project = |project: &Project| match options {
            Some(options) => project.findings_of(options),
            None => project.findings().clone(),
        };
        let (project, findings) = match planned {
            Ok(project) => {
                let findings = of_project(&project);
                (Some(project), findings)
            }
            Err(findings) => (None, findings),
        };
        ReadSpec { path, text, project, findings }
    };
    Ok(specs.into_iter().map(planned).collect())
}

/// Whether a spec has runs of these names. One with errors may lack any of them.
fn known(spec: &ReadSpec<Checked>, names: &[String]) -> Result<(), String> {
    let Some(checked) = spec.project.as_ref().filter(|_| !spec.findings.has_errors()) else { return Ok(()) };
    let Some(unknown) = names.iter().find(|name| !checked.run_names().any(|run| run == *name)) else {
        return Ok(());
    };
    let hint = spelling::advice(unknown, "runs", checked.run_names());
    Err(format!("{} has no run {unknown:?}; {hint}", shown(&spec.path)))
}

/// Where the named runs of a spec are built: a folder of their own, so that the pages of the whole spec stay
/// as they are. It is called by the runs, `only/a+b`, in the order of the spec; where that is too long,
/// by the first, how many more there are, and a sum over all their names.
pub(super) fn folder(out: &Path, spec: &ReadSpec) -> PathBuf {
    let runs = spec.project.as_ref().map_or(&[][..], |project| &project.layout().runs);
    let names: Vec<&str> = runs.iter().map(|laid| laid.run.name.as_str()).collect();
    out.join(FOLDER).join(called(&names))
}

fn called(names: &[&str]) -> String {
    let all = names.join("+");
    if all.len() <= LONGEST {
        return all;
    }
    let mut sum = rustc_hash::FxHasher::default();
    sum.write(all.as_bytes());
    let first = names.first().copied().unwrap_or_default();
    format!("{first}+{}-more-{:06x}", names.len().saturating_sub(1), sum.finish() >> 40)
}

/// The runs that the name of a selection's folder tells: of a shortened one the first.
pub(super) fn runs_called(name: &str) -> impl Iterator<Item = &str> {
    let whole = |name: &&str| {
        let Some((count, sum)) = name.split_once("-more-") else { return true };
        let counts = !count.is_empty() && count.bytes().all(|byte| byte.is_ascii_digit());
        !(counts && sum.len() == 6 && sum.bytes().all(|byte| byte.is_ascii_hexdigit()))
    };
    // The first is a run's whatever it looks like.
    name.split('+').enumerate().filter(move |(index, name)| *index == 0 || whole(name)).map(|(_, name)| name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_selection_is_called_by_its_runs() {
        assert_eq!(called(&["a"]), "a");
        assert_eq!(called(&["tank-to-pump", "b.2"]), "tank-to-pump+b.2");
        let longest = "x".repeat(64);
        assert_eq!(called(&[&longest]), longest);
    }

    #[test]
    fn the_runs_of_a_selection_are_read_from_its_name() {
        let many: Vec<String> = (0..200).map(|index| format!("run-{index}")).collect();
        let many = called(&many.iter().map(String::as_str).collect::<Vec<_>>());
        for (name, runs) in [
            ("a", vec!["a"]),
            ("tank-to-pump+b.2", vec!["tank-to-pump", "b.2"]),
            ("3-more-tea", vec!["3-more-tea"]),
            (&many, vec!["run-0"]),
        ] {
            assert_eq!(runs_called(name).collect::<Vec<_>>(), runs, "{name}");
        }
    }

    #[test]
    fn many_runs_have_a_short_name_of_their_own() {
        let names: Vec<String> = (0..200).map(|index| format!("run-{index}")).collect();
        let all: Vec<&str> = names.iter().map(String::as_str).collect();
        let mut other = all.clone();
        other.swap_remove(7);
        other.push("other");
        assert!(called(&all).starts_with("run-0+199-more-"), "{}", called(&all));
        assert_ne!(called(&all), called(&other));
        let longest = "x".repeat(64);
        assert!(called(&[longest.as_str(), "a-name-that-is-too-long-beside-it"]).len() <= 64 + 20);
    }
}
