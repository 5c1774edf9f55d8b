//! Findings as text for a terminal: the line itself, the place under it, and what to write instead.

use annotate_snippets::{AnnotationKind, Group as Report, Level, Origin, Renderer, Snippet};

use super::{Diagnostic, Diagnostics, Group, Severity, Span, grouped};

/// Most blocks that are shown; the rest is counted.
const MOST_BLOCKS: usize = 100;

/// Narrowest room that words are wrapped to, columns: a narrower terminal wraps by itself.
const NARROWEST: usize = 40;

/// The findings as text, the most pressing first, each with the line of `source` it concerns and what to do,
/// separated by empty lines and ending with one line end; empty for no findings. What is the same for several
/// bends or runs is one block that names them. `file` is the path as the user typed it. With `colour`, ANSI
/// colours. Of very many blocks the rest is counted.
pub fn render(findings: &Diagnostics, file: &str, source: &str, colour: bool) -> String {
    rendered(findings, file, source, colour, None)
}

/// The same with its words wrapped to a terminal of so many columns.
pub fn render_wrapped(
    findings: &Diagnostics,
    file: &str,
    source: &str,
    colour: bool,
    columns: usize,
) -> String {
    rendered(findings, file, source, colour, Some(columns.max(NARROWEST)))
}

fn rendered(
    findings: &Diagnostics,
    file: &str,
    source: &str,
    colour: bool,
    columns: Option<usize>,
) -> String {
    let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
    let file = &harmless(file);
    let renderer = columns.map_or(renderer.clone(), |columns| renderer.term_width(columns));
    let groups = grouped(findings);
    let (shown, rest) = groups.split_at(groups.len().min(MOST_BLOCKS));
    let mut blocks: Vec<String> =
        shown.iter().map(|group| block(&renderer, group, file, source, columns)).collect();
    if !rest.is_empty() {
        blocks.push(not_shown(rest));
    }
    if blocks.is_empty() { String::new() } else { format!("{}\n", blocks.join("\n\n")) }
}

/// "and 3 errors and 1 warning more".
fn not_shown(rest: &[Group<'_>]) -> String {
    let of = |severity: Severity| -> usize {
        rest.iter().filter(|group| group.first.severity == severity).map(Group::count).sum()
    };
    let told = |count: usize, what: &str| match count {
        0 => None,
        1 => Some(format!("1 {what}")),
        _ => Some(format!("{count} {what}s")),
    };
    let counts = [told(of(Severity::Error), "error"), told(of(Severity::Warning), "warning")];
    let counts: Vec<String> = counts.into_iter().flatten().collect();
    format!("... and {} more; `--format json` lists them all", counts.join(" and "))
}

fn block(renderer: &Renderer, group: &Group<'_>, file: &str, source: &str, columns: Option<usize>) -> String {
    let finding = group.first;
    let (level, word) = match finding.severity {
        Severity::Error => (Level::ERROR, "error"),
        Severity::Warning => (Level::WARNING, "warning"),
    };
    let wrapped = |text: &str, taken: usize| match columns {
        Some(columns) => fill(&harmless(text), columns.saturating_sub(taken)),
        None => harmless(text),
    };
    let message = wrapped(&finding.message, word.len() + finding.code.len() + "[]: ".len());
    // Behind the gutter, which is as wide as the number of the line.
    let gutter = finding.place.map_or(0, |place| place.line.to_string().len());
    let hint = finding.help().map(|hint| wrapped(&hint, gutter + " = help: ".len()));
    let others = group.same_for().map(|same| {
        let lines = group.other_lines().map_or(String::new(), |lines| format!(" ({lines})"));
        wrapped(&format!("{same}{lines}"), gutter + " = note: ".len())
    });
    let title = level.primary_title(message.as_str()).id(finding.code);
    let mut report: Report<'_> =
        match finding.place.and_then(|place| line_at(source, place).map(|l| (place, l))) {
            Some((place, (line, span))) => title.element(
                Snippet::source(quoted(line))
                    .path(file)
                    .line_start(place.line)
                    .annotation(AnnotationKind::Primary.span(span)),
            ),
            None => title.element(Origin::path(file)),
        };
    if let Some(others) = &others {
        report = report.element(Level::NOTE.message(others.as_str()));
    }
    let other = other_run(group).map(|other| wrapped(&other, gutter + " = note: ".len()));
    if let Some(other) = &other {
        report = report.element(Level::NOTE.message(other.as_str()));
    }
    if let Some(hint) = &hint {
        report = report.element(Level::HELP.message(hint.as_str()));
    }
    renderer.render(&[report])
}

/// "run b is on line 9": the other run of a pair, where it is not on the line that is shown.
fn other_run(group: &Group<'_>) -> Option<String> {
    let Diagnostic { place, with, with_place, .. } = group.first;
    let (run, line) = (with.as_ref()?, with_place.as_ref()?.line);
    let apart = place.is_none_or(|place| place.line != line);
    (group.others.is_empty() && apart).then(|| format!("run {run} is on line {line}"))
}

/// The words in lines of so many columns; a longer word has a line of its own.
fn fill(words: &str, columns: usize) -> String {
    let options = textwrap::Options::new(columns)
        .break_words(false)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    textwrap::fill(words, options)
}

/// The line a place is on, and the part of it that is meant; a place over several lines is cut to its
/// first. `None` where the place is not in this text.
fn line_at(source: &str, place: Span) -> Option<(&str, std::ops::Range<usize>)> {
    if place.end < place.start || !source.is_char_boundary(place.start) || !source.is_char_boundary(place.end)
    {
        return None;
    }
    let start = source[..place.start].rfind('\n').map_or(0, |at| at + 1);
    let line = source[start..].lines().next().unwrap_or("");
    // The mark some editors put in front of a file has no width.
    let mark = if line.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 };
    let within = |offset: usize| offset.saturating_sub(start + mark).min(line.len() - mark);
    let (from, to) = (within(place.start), within(place.end));
    // A mapping or a syntax fault is a point: its first character stands for it.
    let to = if to > from { to } else { from + line[mark + from..].chars().next().map_or(0, char::len_utf8) };
    Some((&line[mark..], from..to))
}

/// A line of the spec as it is shown. The renderer itself shows signs for control characters, but for those above
/// U+007F, which some terminals obey: a dot, as long in UTF-8, stands for each, so that places stay.
fn quoted(line: &str) -> String {
    line.replace(|c: char| c.is_control() && !c.is_ascii(), "\u{b7}")
}

/// Text from outside, such as of a spec or a file's name, without anything that would steer a terminal:
/// control characters and marks that turn the direction of writing are escaped.
pub fn harmless(text: &str) -> String {
    let steers = |c: char| {
        c.is_control()
            || matches!(c, '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
    };
    text.chars().map(|c| if steers(c) { c.escape_default().to_string() } else { c.to_string() }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::Diagnostic;
    use proptest::prelude::*;

    fn place(source: &str, part: &str) -> Span {
        let start = source.find(part).expect(part);
        Span::in_text(source, start..start + part.len())
    }

    #[test]
    fn a_line_that_is_shown_steers_no_terminal() {
        let source = "format: 1\nname: \"\u{9b}31m\u{85}\u{1b}[2J\u{7f}\" # here\n";
        let mut findings = Diagnostics::new();
        findings.push(Diagnostic::error("yaml-syntax", "unexpected character").at(place(source, "here")));
        let shown = render_wrapped(&findings, "a.yaml", source, false, 80);
        assert!(!shown.contains(|c: char| c.is_control() && c != '\n'), "{shown:?}");
        // The mark is still under the word.
        let mark = shown.lines().find(|line| line.contains('^')).unwrap();
        let above = shown.lines().find(|line| line.contains("here")).unwrap();
        let column = |line: &str, what| line[..line.find(what).unwrap()].chars().count();
        assert_eq!(column(mark, "^^^^"), column(above, "here"), "{shown}");
    }

    #[test]
    fn shows_the_line_the_place_and_what_to_write() {
        let source = "format: 1\nruns:\n  a:\n    cornres: []\n";
        let mut findings = Diagnostics::new();
        findings.push(
            Diagnostic::error("unknown-key", "unknown key `cornres` in a run")
                .hint("did you mean `corners`?")
                .at(place(source, "cornres")),
        );
        findings.push(Diagnostic::warning("form-rim", "later"));
        assert_eq!(
            render(&findings, "specs/a.yaml", source, false),
            "\
error[unknown-key]: unknown key `cornres` in a run
 --> specs/a.yaml:4:5
  |
4 |     cornres: []
  |     ^^^^^^^
  |
  = help: did you mean `corners`?

warning[form-rim]: later
--> specs/a.yaml
"
        );
        assert!(render(&findings, "a", source, true).contains("\u{1b}["));
        assert_eq!(render(&Diagnostics::new(), "a", source, false), "");
    }

    #[test]
    fn the_same_of_several_bends_is_one_block_behind_the_clash() {
        let source = "runs:\n  a:\n    - bend\n    - bend\n    - bend\n";
        let tight = |bend: usize| {
            let start = 2 + source.match_indices("bend").nth(bend - 1).expect("there").0;
            let message = format!("run a: the radius of bend {bend} is 38 mm; the least is 55 mm");
            Diagnostic::warning("tight-radius", message)
                .hint("make it larger")
                .run("a")
                .bend(bend)
                .at(Span::in_text(source, start - 2..start + 2))
        };
        let mut findings = Diagnostics::new();
        findings.extend([1, 2, 3].map(tight));
        findings.push(Diagnostic::warning("clash", "run a overlaps run b").run("a").at(place(source, "a:")));
        assert_eq!(
            render(&findings, "a.yaml", source, false),
            "\
warning[clash]: run a overlaps run b
 --> a.yaml:2:3
  |
2 |   a:
  |   ^^

warning[tight-radius]: run a: the radius of bend 1 is 38 mm; the least is 55 mm
 --> a.yaml:3:7
  |
3 |     - bend
  |       ^^^^
  |
  = note: the same for bends 2 and 3 of run a (lines 4 and 5)
  = help: make it larger
"
        );
        let narrow = render_wrapped(&findings, "a.yaml", source, false, 50);
        assert!(narrow.lines().all(|line| line.chars().count() <= 50), "{narrow}");
        let words = |text: &str| {
            let words = text.split_whitespace().filter(|word| *word != "|");
            words.map(str::to_owned).collect::<Vec<_>>()
        };
        assert_eq!(words(&narrow), words(&render(&findings, "a.yaml", source, false)));
    }

    #[test]
    fn of_very_many_the_rest_is_counted_and_no_error_is_left_out_for_a_warning() {
        let mut findings = Diagnostics::new();
        findings.extend((0..150).map(|i| Diagnostic::warning("form-rim", format!("form {i}"))));
        findings.extend((0..98).map(|i| Diagnostic::error("bad-length", format!("length {i}"))));
        let text = render(&findings, "a.yaml", "", false);
        assert_eq!((text.matches("error[").count(), text.matches("warning[").count()), (98, 2));
        assert!(text.ends_with("\n\n... and 148 warnings more; `--format json` lists them all\n"), "{text}");
        findings.extend((0..3).map(|i| Diagnostic::error("bad-angle", format!("angle {i}"))));
        let text = render(&findings, "a.yaml", "", false);
        assert_eq!((text.matches("error[").count(), text.matches("warning[").count()), (100, 0));
        assert!(text.contains("... and 1 error and 150 warnings more"), "{text}");
    }

    #[test]
    fn columns_count_characters() {
        let source = "\u{feff}é: ü x\n";
        let mut findings = Diagnostics::new();
        let start = source.find('x').expect("there");
        findings.push(Diagnostic::error("e", "m").at(Span { line: 1, column: 6, start, end: start + 1 }));
        let text = render(&findings, "f", source, false);
        assert!(text.contains("f:1:6"), "{text}");
    }

    #[test]
    fn nothing_steers_the_terminal() {
        let mut findings = Diagnostics::new();
        findings.push(Diagnostic::error("e", "a\u{1b}[2Jb").hint("c\rd").at(Span {
            line: 1,
            column: 1,
            start: 0,
            end: 1,
        }));
        let text = render(&findings, "f\n\u{1b}[2J\u{202e}", "\u{1b}[31mred\u{7}\u{202e}\n", false);
        assert!(!text.contains(['\u{1b}', '\r', '\u{7}', '\u{202e}']), "{text:?}");
        assert!(text.contains("--> f\\n\\u{1b}[2J\\u{202e}:1:1"), "{text}");
    }

    proptest! {
        #[test]
        fn any_place_in_any_text_renders(source in "(\\PC|\n|\r|\t|\u{feff}){0,30}", start in 0usize..40, length in 0usize..40) {
            let mut findings = Diagnostics::new();
            let end = start + length;
            findings.push(Diagnostic::error("e", "m").at(Span { line: 1, column: 1, start, end }));
            prop_assert!(render(&findings, "f", &source, false).starts_with("error[e]: m\n"));
        }
    }
}
