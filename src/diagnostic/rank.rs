//! How pressing each warning is, by its code: the order in which people read findings.

use super::{Diagnostic, Severity};

/// How pressing a finding is, the most pressing first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Rank {
    /// Nothing is written.
    Error,
    /// The run cannot be bent, or does not go where it should.
    StopsWork,
    /// The run can be made, but is likely to be spoiled.
    CostsTube,
    /// Good to know.
    Advice,
}

use Rank::{Advice, CostsTube, StopsWork};

/// Every code that a warning may have, with its rank, in the order in which findings are told. Errors come
/// first whatever their code.
const WARNINGS: &[(&str, Rank)] = &[
    ("clash", StopsWork),
    ("clash-limit", StopsWork),
    ("port-angle", StopsWork),
    ("port-side", StopsWork),
    ("port-straight", StopsWork),
    ("slide-back", StopsWork),
    ("cannot-be-put-in", StopsWork),
    ("port-inside", StopsWork),
    ("port-facing", StopsWork),
    ("port-along", StopsWork),
    ("short-grip", StopsWork),
    ("short-lead-out", StopsWork),
    ("pull-too-far", StopsWork),
    ("over-max-angle", StopsWork),
    ("mark-off-tube", StopsWork),
    ("longer-than-stock", StopsWork),
    ("stock-short", StopsWork),
    ("too-near", CostsTube),
    ("port-off", CostsTube),
    ("port-recess", CostsTube),
    ("radians", CostsTube),
    ("included-angle", CostsTube),
    ("turn-other-way", CostsTube),
    ("reading-unit", CostsTube),
    ("measured-elsewhere", CostsTube),
    ("reading-far-off", CostsTube),
    ("mesh-size", CostsTube),
    ("mesh-open", CostsTube),
    ("strain", CostsTube),
    ("heat-near-seal", CostsTube),
    ("seal-squeeze", CostsTube),
    ("tight-radius", CostsTube),
    ("no-springback", CostsTube),
    ("tests-of-another-tube", CostsTube),
    ("tests-of-another-temper", CostsTube),
    ("clearance-unknown", CostsTube),
    ("small-bend", Advice),
    ("mesh-inside-out", Advice),
    ("not-in-assembly", Advice),
    ("not-beside", Advice),
    ("way-not-proven", Advice),
    ("heavy-pull", Advice),
    ("no-elongation", Advice),
    ("leftovers-of-several-tubes", Advice),
    ("unused-stock", Advice),
    ("form-rim", Advice),
    ("form-arc", Advice),
    ("form-hole", Advice),
    ("printer-bed", Advice),
    ("sheet-size", Advice),
    ("wide-kerf", Advice),
    ("no-jig", Advice),
    ("jig-blind", Advice),
    ("form-limit", Advice),
    ("jig-limit", Advice),
    ("overview-limit", Advice),
    ("worksheet-limit", Advice),
    ("assembly-limit", Advice),
    ("too-many-sheets", Advice),
    ("strip-too-high", Advice),
    ("chord", Advice),
    ("stl-coarse", Advice),
    ("stl-origin", Advice),
    ("stl-size", Advice),
    ("unknown-density", Advice),
    ("title-characters", Advice),
];

/// Warnings of a run that cannot work as it is planned: no tube is cut for it before they are gone. Warnings about stock
/// are not among them, for tube can be had; nor is one that leaves it open whether something is wrong.
const STOP_CUTTING: &[&str] = &[
    // The tube lies where something else is: it must go another way, and has another length then.
    "clash",
    // The end does not meet its port: the corner, the table or the port is wrong, and the length with it.
    "port-angle",
    "port-side",
    // The fitting does not seal on a bend, or cannot be joined: a straight must be longer.
    "port-straight",
    "slide-back",
    // The port's own numbers are wrong, and every length counts from them.
    "port-inside",
    "port-facing",
    "port-along",
    // The bender cannot make it: the run, its allowance or the bender must be another.
    "short-grip",
    "short-lead-out",
    "pull-too-far",
    "over-max-angle",
    "mark-off-tube",
    "cannot-be-put-in",
];

/// Whether a warning's code has a rank.
pub(super) fn is_ranked(code: &str) -> bool {
    WARNINGS.iter().any(|(known, _)| *known == code)
}

impl Rank {
    /// As reports name it.
    pub fn name(self) -> &'static str {
        match self {
            Rank::Error => "error",
            StopsWork => "stops-work",
            CostsTube => "costs-tube",
            Advice => "advice",
        }
    }
}

impl Diagnostic {
    /// How pressing it is.
    pub fn rank(&self) -> Rank {
        let known = WARNINGS.iter().find(|(code, _)| *code == self.code);
        match self.severity {
            Severity::Error => Rank::Error,
            // Every code has a rank, see the tests below.
            Severity::Warning => known.map_or(Advice, |(_, rank)| *rank),
        }
    }

    /// Whether no tube is cut for a run that it is about, before it is put right.
    pub fn stops_cutting(&self) -> bool {
        self.severity == Severity::Error || STOP_CUTTING.contains(&self.code)
    }

    /// Its turn among findings: errors in the order of the text, then warnings by their code.
    pub(super) fn turn(&self) -> usize {
        match self.severity {
            Severity::Error => 0,
            Severity::Warning => {
                1 + WARNINGS.iter().position(|(code, _)| *code == self.code).unwrap_or(WARNINGS.len())
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::{Path, PathBuf};

    fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
        for entry in
            std::fs::read_dir(folder).expect("the sources").map(|entry| entry.expect("an entry").path())
        {
            if entry.is_dir() {
                sources(&entry, found);
            } else if entry.extension().is_some_and(|ending| ending == "rs") {
                found.push(entry);
            }
        }
    }

    /// The text of every source without its tests and comments.
    fn texts() -> Vec<(PathBuf, String)> {
        let mut files = Vec::new();
        sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), &mut files);
        files.retain(|path| !path.ends_with("rank.rs") && !path.ends_with("tests.rs"));
        let code = |path: PathBuf| {
            let text = std::fs::read_to_string(&path).expect("is text");
            let text = text.split("#[cfg(test)]\nmod tests {").next().unwrap_or_default();
            let lines = text.lines().map(|line| line.split("// ").next().unwrap_or_default());
            (path, lines.collect::<Vec<_>>().join("\n"))
        };
        files.into_iter().map(code).collect()
    }

    /// The first code among the arguments behind an opening bracket: a quoted word of small letters and hyphens.
    fn first_code(arguments: &str) -> Option<&str> {
        let (_, quoted) = arguments.split(';').next()?.split_once('"')?;
        let word = quoted.split('"').next()?;
        word.chars().all(|c| c.is_ascii_lowercase() || c == '-').then_some(word)
    }

    #[test]
    fn every_warning_made_in_the_sources_has_a_rank() {
        let texts = texts();
        let mut seen = 0;
        for (path, text) in &texts {
            for (at, opening) in text.match_indices("warning(") {
                if let Some(code) = first_code(&text[at + opening.len()..]) {
                    assert!(is_ranked(code), "{}: `{code}` has no rank in {}", path.display(), file!());
                    seen += 1;
                }
            }
        }
        assert!(seen >= 20, "only {seen} found");
        for (code, _) in WARNINGS {
            let quoted = format!("\"{code}\"");
            assert!(texts.iter().any(|(_, text)| text.contains(&quoted)), "nothing has the code `{code}`");
        }
    }

    #[test]
    fn ranks_do_not_mix_in_the_order_of_telling() {
        assert!(WARNINGS.is_sorted_by_key(|(_, rank)| *rank));
        assert_eq!(WARNINGS[0], ("clash", StopsWork));
        let mut codes: Vec<&str> = WARNINGS.iter().map(|(code, _)| *code).collect();
        for code in STOP_CUTTING {
            assert!(WARNINGS.contains(&(code, StopsWork)), "{code}");
        }
        codes.sort_unstable();
        codes.dedup();
        assert_eq!(codes.len(), WARNINGS.len(), "no code twice");
    }
}
