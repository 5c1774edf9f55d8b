//! Findings as people read them: the pressing ones first, and the same one told once with all it holds for.

use std::collections::HashMap;

use super::{Diagnostic, Diagnostics, Severity};

/// Most subjects and most lines that a group names; the rest is counted.
const MOST_NAMED: usize = 12;

/// Findings that say the same of several bends, ports or runs.
#[derive(Debug, Clone, PartialEq)]
pub struct Group<'a> {
    /// The first of them in the spec.
    pub first: &'a Diagnostic,
    /// The others.
    pub others: Vec<&'a Diagnostic>,
}

/// The findings in groups, the most pressing first; within a rank by code, then by place.
pub fn grouped(findings: &Diagnostics) -> Vec<Group<'_>> {
    let mut ordered: Vec<&Diagnostic> = findings.iter().collect();
    ordered.sort_by_key(|finding| (finding.turn(), finding.place.map_or((1, 0), |place| (0, place.start))));
    let mut groups: Vec<Group<'_>> = Vec::new();
    let mut known: HashMap<(Severity, &str, String, Option<&str>), usize> = HashMap::new();
    for finding in ordered {
        let key = (finding.severity, finding.code, gist(finding), finding.hint.as_deref());
        match known.get(&key).and_then(|at| groups.get_mut(*at)) {
            Some(group) => group.others.push(finding),
            None => {
                known.insert(key, groups.len());
                groups.push(Group { first: finding, others: Vec::new() });
            }
        }
    }
    groups
}

/// A finding without its run, bend and port.
fn gist(finding: &Diagnostic) -> String {
    let mut said = finding.message.clone();
    if let Some(run) = &finding.run {
        said = without(&said, &format!("run {run}"));
    }
    if let Some(port) = &finding.port {
        said = without(&said, &format!("port {port}"));
        said = without(&said, port);
    }
    if let Some(bend) = finding.bend {
        said = without(&said, &format!("bend {bend}"));
    }
    said
}

/// The text with a name in it blotted out wherever it stands as a whole.
fn without(text: &str, name: &str) -> String {
    let inside = |c: char| c.is_alphanumeric() || matches!(c, '_' | '-');
    let mut left = String::with_capacity(text.len());
    let mut rest = text;
    // A name of no letters would be found for ever; any other leaves less text each time.
    while let Some(at) = rest.find(name).filter(|_| !name.is_empty()) {
        let (before, behind) = (&rest[..at], &rest[at + name.len()..]);
        let whole = !before.ends_with(inside) && !behind.starts_with(inside);
        left.push_str(before);
        left.push_str(if whole { "…" } else { name });
        rest = behind;
    }
    left + rest
}

impl Group<'_> {
    /// How many findings it is.
    pub fn count(&self) -> usize {
        1 + self.others.len()
    }

    /// "the same for bends 2 and 3 of run a; run b"; none where there are no others.
    pub fn same_for(&self) -> Option<String> {
        if self.others.is_empty() {
            return None;
        }
        let mut subjects = subjects(&self.others);
        if subjects.is_empty() {
            return Some(format!("the same {} more", times(self.others.len())));
        }
        let more = subjects.len().saturating_sub(MOST_NAMED);
        subjects.truncate(MOST_NAMED);
        let rest = if more > 0 { format!("; and {more} more") } else { String::new() };
        Some(format!("the same for {}{rest}", subjects.join("; ")))
    }

    /// "line 14", "lines 14 to 18, 20": of the others, where they are not on the line of the first.
    pub fn other_lines(&self) -> Option<String> {
        let line = |finding: &Diagnostic| finding.place.map(|place| place.line);
        let mut lines: Vec<usize> = self.others.iter().filter_map(|finding| line(finding)).collect();
        lines.sort_unstable();
        lines.dedup();
        if lines.is_empty() || lines.iter().all(|at| Some(*at) == line(self.first)) {
            return None;
        }
        Some(numbered("line", &lines))
    }
}

fn times(count: usize) -> String {
    if count == 1 { "once".to_owned() } else { format!("{count} times") }
}

/// The bends of each run that have it: "bends 2 and 3 of run a"; runs that have it as a whole are named together.
fn subjects(findings: &[&Diagnostic]) -> Vec<String> {
    let mut runs: Vec<(&str, Vec<&Diagnostic>)> = Vec::new();
    let mut at: HashMap<&str, usize> = HashMap::new();
    for finding in findings {
        let Some(run) = &finding.run else { continue };
        let index = *at.entry(run).or_insert_with(|| {
            runs.push((run, Vec::new()));
            runs.len() - 1
        });
        if let Some((_, of_run)) = runs.get_mut(index) {
            of_run.push(finding);
        }
    }
    let mut told: Vec<String> = Vec::new();
    let mut whole: Vec<&str> = Vec::new();
    for (run, of_run) in runs {
        let mut bends: Vec<usize> = of_run.iter().filter_map(|finding| finding.bend).collect();
        bends.sort_unstable();
        bends.dedup();
        let ports: Vec<&str> = of_run.iter().filter_map(|finding| finding.port.as_deref()).collect();
        if bends.is_empty() && ports.is_empty() {
            whole.push(run);
        }
        if !bends.is_empty() {
            told.push(format!("{} of run {run}", numbered("bend", &bends)));
        }
        if !ports.is_empty() {
            let ports: Vec<String> = ports.iter().map(|port| port.replacen("its ", "the ", 1)).collect();
            told.push(format!("{} of run {run}", listed(&ports)));
        }
    }
    if !whole.is_empty() {
        let names: Vec<String> = whole.iter().map(|name| (*name).to_owned()).collect();
        told.push(format!("run{} {}", plural(names.len()), listed(&names)));
    }
    told
}

fn plural(count: usize) -> &'static str {
    if count == 1 { "" } else { "s" }
}

/// "bend 2", "bends 1, 3 to 6": numbers in their order, each once.
fn numbered(what: &str, numbers: &[usize]) -> String {
    let mut spans: Vec<(usize, usize)> = Vec::new();
    for number in numbers {
        match spans.last_mut() {
            Some((_, last)) if *last + 1 == *number => *last = *number,
            _ => spans.push((*number, *number)),
        }
    }
    let span = |(first, last): &(usize, usize)| match last - first {
        0 => vec![first.to_string()],
        1 => vec![first.to_string(), last.to_string()],
        _ => vec![format!("{first} to {last}")],
    };
    let parts: Vec<String> = spans.iter().flat_map(span).collect();
    format!("{what}{} {}", plural(numbers.len()), listed(&parts))
}

/// "a", "a and b", "a, b and c"; of very many the first, and how many more.
pub fn listed(names: &[String]) -> String {
    let (named, more) = match names.len() {
        0..=MOST_NAMED => (names, 0),
        count => (&names[..MOST_NAMED], count - MOST_NAMED),
    };
    match named {
        [] => String::new(),
        _ if more > 0 => format!("{} and {more} more", named.join(", ")),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::Span;

    fn tight(run: &str, bend: usize, line: usize) -> Diagnostic {
        Diagnostic::warning("tight-radius", format!("run {run}: the radius of bend {bend} is 38 mm"))
            .run(run)
            .bend(bend)
            .at(Span { line, column: 1, start: line * 10, end: line * 10 + 1 })
    }

    fn of(findings: impl IntoIterator<Item = Diagnostic>) -> Diagnostics {
        let mut all = Diagnostics::new();
        all.extend(findings);
        all
    }

    #[test]
    fn the_same_of_many_bends_is_one_group_that_names_them() {
        let findings = of([
            tight("b", 1, 20),
            tight("a", 2, 12),
            tight("a", 1, 11),
            tight("a", 3, 13),
            tight("a", 4, 14),
            tight("a", 12, 17),
        ]);
        let groups = grouped(&findings);
        assert_eq!(groups.len(), 1);
        assert_eq!((groups[0].first.bend, groups[0].count()), (Some(1), 6));
        assert_eq!(
            groups[0].same_for().unwrap(),
            "the same for bends 2 to 4 and 12 of run a; bend 1 of run b"
        );
        assert_eq!(groups[0].other_lines().unwrap(), "lines 12 to 14, 17 and 20");
    }

    #[test]
    fn what_differs_in_a_number_stays_apart() {
        let other = |radius: u8| {
            Diagnostic::warning("tight-radius", format!("run a: the radius of bend 1 is {radius} mm"))
                .run("a")
                .bend(1)
        };
        assert_eq!(grouped(&of([other(38), other(40)])).len(), 2);
        let hinted = |hint: &str| other(38).hint(hint);
        assert_eq!(grouped(&of([hinted("x"), hinted("y")])).len(), 2);
    }

    #[test]
    fn names_are_blotted_out_only_where_they_stand_whole() {
        assert_eq!(without("bend 1 and bend 12, bend 1", "bend 1"), "… and bend 12, …");
        assert_eq!(without("run a: run a-b, run a.", "run a"), "…: run a-b, ….");
    }

    #[test]
    fn errors_come_first_then_what_stops_the_work() {
        let findings = of([
            Diagnostic::warning("title-characters", "t"),
            tight("a", 1, 1),
            Diagnostic::warning("clash", "run a overlaps run b").run("a"),
            Diagnostic::error("bad-length", "x"),
        ]);
        let codes: Vec<&str> = grouped(&findings).iter().map(|group| group.first.code).collect();
        assert_eq!(codes, ["bad-length", "clash", "tight-radius", "title-characters"]);
    }

    #[test]
    fn ports_and_whole_runs_are_named() {
        let loose = |run: &str, port: &str| {
            Diagnostic::warning("seal-squeeze", format!("run {run}: too thin for its fitting at {port}"))
                .run(run)
                .port(port)
        };
        let findings = of([loose("a", "tank.out"), loose("a", "pump.in"), loose("b", "its end")]);
        let groups = grouped(&findings);
        assert_eq!(groups.len(), 1);
        assert_eq!(groups[0].same_for().unwrap(), "the same for pump.in of run a; the end of run b");
        assert_eq!(groups[0].other_lines(), None);
        let whole = |run: &str| Diagnostic::error("e", format!("run {run}: no")).run(run);
        let findings = of([
            whole("a"),
            whole("b"),
            whole("c"),
            Diagnostic::error("f", "m"),
            Diagnostic::error("f", "m"),
        ]);
        let groups = grouped(&findings);
        let told: Vec<_> = groups.iter().filter_map(Group::same_for).collect();
        assert_eq!(told, ["the same for runs b and c", "the same once more"]);
    }

    #[test]
    fn a_name_of_no_letters_is_not_looked_for_for_ever() {
        assert_eq!(without("run a: no", ""), "run a: no");
        let findings = of([Diagnostic::error("e", "m").run(""), Diagnostic::error("e", "m").run("")]);
        assert_eq!(grouped(&findings).len(), 1);
    }

    #[test]
    fn long_lists_are_cut() {
        let names: Vec<String> = (1..=40).map(|n| format!("r{n}")).collect();
        assert!(listed(&names).ends_with("r11, r12 and 28 more"), "{}", listed(&names));
    }
}
