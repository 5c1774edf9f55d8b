//! Findings as text for a terminal: the line itself, the place under it, and what to write instead.

use annotate_snippets::{AnnotationKind, Group, Level, Origin, Renderer, Snippet};

use super::{Diagnostic, Diagnostics, Place, Severity};

/// Every finding as text, each with the line of `source` it concerns and what to do, separated by
/// empty lines and ending with one line end; empty for no findings. `file` is the path as the user
/// typed it. With `colour`, ANSI colours.
pub fn render(findings: &Diagnostics, file: &str, source: &str, colour: bool) -> String {
    let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
    let file = &harmless(file);
    let blocks: Vec<String> =
        findings.iter().map(|finding| render_one(&renderer, finding, file, source)).collect();
    if blocks.is_empty() { String::new() } else { format!("{}\n", blocks.join("\n\n")) }
}

fn render_one(renderer: &Renderer, finding: &Diagnostic, file: &str, source: &str) -> String {
    let level = match finding.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
    };
    let message = harmless(&finding.message);
    let hint = finding.hint.as_deref().map(harmless);
    let title = level.primary_title(message.as_str()).id(finding.code);
    let mut group: Group<'_> =
        match finding.place.and_then(|place| line_at(source, place).map(|l| (place, l))) {
            Some((place, (line, span))) => title.element(
                Snippet::source(line)
                    .path(file)
                    .line_start(place.line)
                    .annotation(AnnotationKind::Primary.span(span)),
            ),
            None => title.element(Origin::path(file)),
        };
    if let Some(hint) = &hint {
        group = group.element(Level::HELP.message(hint.as_str()));
    }
    renderer.render(&[group])
}

/// The line a place is on, and the part of it that is meant; a place over several lines is cut to its
/// first. `None` where the place is not in this text.
fn line_at(source: &str, place: Place) -> Option<(&str, std::ops::Range<usize>)> {
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
    use proptest::prelude::*;

    fn place(source: &str, part: &str) -> Place {
        let start = source.find(part).expect(part);
        Place::in_text(source, start..start + part.len())
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
        findings.push(Diagnostic::warning("not-yet", "later"));
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

warning[not-yet]: later
--> specs/a.yaml
"
        );
        assert!(render(&findings, "a", source, true).contains("\u{1b}["));
        assert_eq!(render(&Diagnostics::new(), "a", source, false), "");
    }

    #[test]
    fn columns_count_characters() {
        let source = "\u{feff}é: ü x\n";
        let mut findings = Diagnostics::new();
        let start = source.find('x').expect("there");
        findings.push(Diagnostic::error("e", "m").at(Place { line: 1, column: 6, start, end: start + 1 }));
        let text = render(&findings, "f", source, false);
        assert!(text.contains("f:1:6"), "{text}");
    }

    #[test]
    fn nothing_steers_the_terminal() {
        let mut findings = Diagnostics::new();
        findings.push(Diagnostic::error("e", "a\u{1b}[2Jb").hint("c\rd").at(Place {
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
            findings.push(Diagnostic::error("e", "m").at(Place { line: 1, column: 1, start, end }));
            prop_assert!(render(&findings, "f", &source, false).starts_with("error[e]: m\n"));
        }
    }
}
