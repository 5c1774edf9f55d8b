//! Text that is no YAML, explained by the slip that most likely made it so: the parser says where it
//! gave up, which is often a line further on.

use std::ops::Range;

/// What is wrong with a text that the parser refused.
#[derive(Debug, PartialEq)]
pub(super) struct Explained {
    /// What is wrong.
    pub(super) message: String,
    /// What to write instead.
    pub(super) hint: String,
    /// Line (from 1) and bytes within it, where that is not where the parser gave up.
    pub(super) at: Option<(usize, Range<usize>)>,
}

/// A line of the text.
#[derive(Clone, Copy)]
struct Line<'t> {
    /// From 1.
    number: usize,
    text: &'t str,
}

/// Explains `message`, which the parser gave at this byte `column` (from 0) of a line (from 1).
pub(super) fn explain(message: &str, text: &str, line: usize, column: usize) -> Explained {
    let lines: Vec<Line<'_>> =
        text.lines().enumerate().map(|(index, text)| Line { number: index + 1, text }).collect();
    let here = lines.get(line.saturating_sub(1)).copied().unwrap_or(Line { number: line, text: "" });
    let before: Vec<Line<'_>> =
        lines.iter().take(line.saturating_sub(1)).rev().copied().filter(has_content).collect();
    let above = before.first().copied();
    tab(here)
        .or_else(|| key_below_list(message, here, above))
        .or_else(|| structure(message, here, above))
        .or_else(|| brackets(message, here, above, column))
        .or_else(|| second_colon(message, here, column))
        .or_else(|| misindented(message, here, &before))
        .or_else(|| quotes(message))
        .unwrap_or_else(|| Explained {
            message: message.to_owned(),
            hint: "check indentation, brackets and quotes; quote text that has `: ` or ` #` in it".to_owned(),
            at: None,
        })
}

fn has_content(line: &Line<'_>) -> bool {
    let text = line.text.trim_start();
    !text.is_empty() && !text.starts_with('#')
}

impl<'t> Line<'t> {
    fn indent(self) -> usize {
        self.text.len() - self.text.trim_start().len()
    }

    /// The words behind the indentation and the dashes of a list, and where they start.
    fn words(self) -> (usize, &'t str) {
        let mut start = self.indent();
        // `start` moves on by a dash each time.
        while let Some(rest) = self.text[start..].strip_prefix("- ") {
            start = self.text.len() - rest.trim_start().len();
        }
        (start, self.text[start..].trim_end())
    }

    fn at(self, range: Range<usize>) -> Option<(usize, Range<usize>)> {
        Some((self.number, range))
    }
}

fn tab(line: Line<'_>) -> Option<Explained> {
    let indentation = &line.text[..line.indent()];
    let at = indentation.find('\t')?;
    Some(Explained {
        message: "this line is indented with a tab".to_owned(),
        hint: "indent with spaces, not tabs".to_owned(),
        at: line.at(at..at + 1),
    })
}

/// `length:100`, `-{...}` and a key without its colon, on the line or on the one above, which the
/// parser joins to it.
fn structure(message: &str, here: Line<'_>, above: Option<Line<'_>>) -> Option<Explained> {
    let joined =
        ["mapping values are not allowed", "simple key expected", "did not find expected", "multiline text"];
    if !joined.iter().any(|start| message.contains(start)) {
        return None;
    }
    let lines = [Some(here), above];
    let lines = || lines.iter().copied().flatten();
    lines()
        .find_map(colon_without_space)
        .or_else(|| lines().find_map(dash_without_space))
        .or_else(|| above.filter(|_| message.contains("mapping values")).and_then(no_colon))
}

/// A list as an item, and below it a key that belongs beside it.
fn key_below_list(message: &str, here: Line<'_>, above: Option<Line<'_>>) -> Option<Explained> {
    let list = above.filter(|_| message.contains("did not find expected '-' indicator"))?;
    let item = list.text.trim_start().strip_prefix("- ")?;
    let list = without_comment(item);
    let (start, words) = here.words();
    let (key, value) = words.split_once(':').filter(|(key, _)| *key == "clr")?;
    list.starts_with('[').then(|| Explained {
        message: format!("`{key}` stands below a corner that is a list"),
        hint: format!("write `- {{at: {list}, {key}: {}}}`", without_comment(value)),
        at: here.at(start..start + key.len()),
    })
}

fn colon_without_space(line: Line<'_>) -> Option<Explained> {
    let (start, words) = line.words();
    let (key, value) = words.split_once(':')?;
    let close = is_key(key) && value.starts_with(|c: char| !c.is_whitespace());
    close.then(|| Explained {
        message: format!("there is no space after the colon of `{key}:`"),
        hint: format!("write `{key}: {}`", without_comment(value)),
        at: line.at(start..start + words.len()),
    })
}

fn dash_without_space(line: Line<'_>) -> Option<Explained> {
    let start = line.indent();
    let rest = line.text[start..].trim_end().strip_prefix('-')?;
    let close = rest.starts_with(['{', '[']) || rest.starts_with(char::is_alphabetic);
    close.then(|| Explained {
        message: "there is no space after the dash".to_owned(),
        hint: format!("write `- {}`", without_comment(rest)),
        at: line.at(start..start + 1),
    })
}

fn no_colon(line: Line<'_>) -> Option<Explained> {
    let (start, words) = line.words();
    let (key, rest) = words.split_once(' ').unwrap_or((words, ""));
    let (key, rest) = (key.trim(), without_comment(rest));
    let bare = is_key(key) && !words.contains(':');
    bare.then(|| Explained {
        message: format!("there is no colon after `{key}`"),
        hint: if rest.is_empty() { format!("write `{key}:`") } else { format!("write `{key}: {rest}`") },
        at: line.at(start..start + key.len()),
    })
}

fn is_key(word: &str) -> bool {
    word.starts_with(char::is_alphabetic)
        && word.chars().all(|c| c.is_alphanumeric() || matches!(c, '_' | '-' | '.'))
}

fn without_comment(text: &str) -> &str {
    text.split(" #").next().unwrap_or(text).trim()
}

fn brackets(message: &str, here: Line<'_>, above: Option<Line<'_>>, column: usize) -> Option<Explained> {
    if message.contains("expected ',' or") {
        return no_comma(here, above, column);
    }
    if let Some(open) = message.strip_prefix("unclosed bracket '").and_then(|rest| rest.chars().next()) {
        let close = if open == '{' { '}' } else { ']' };
        return Some(Explained {
            message: format!("the bracket `{open}` is not closed"),
            hint: format!("write the `{close}` that belongs to it"),
            at: None,
        });
    }
    let line = above.filter(|_| message.contains("illegal placement of ':'"))?;
    let (at, open) = unclosed(line.text)?;
    let close = if open == '{' { '}' } else { ']' };
    Some(Explained {
        message: format!("the bracket `{open}` is not closed"),
        hint: format!("write the `{close}` that belongs to it"),
        at: line.at(at..at + 1),
    })
}

/// The parser stands at the colon of a key that has no comma in front, or at what has none.
fn no_comma(here: Line<'_>, above: Option<Line<'_>>, column: usize) -> Option<Explained> {
    let (before, rest) = (here.text.get(..column)?, here.text.get(column..)?);
    let is_letter = |c: char| c.is_alphanumeric() || c == '_';
    let start = before.rfind(|c: char| !is_letter(c)).map_or(0, |at| at + 1);
    let end = rest.find(|c: char| !is_letter(c)).unwrap_or(rest.len());
    // The character in front may be longer than a byte.
    let behind = before.get(start..).filter(|key| is_key(key)).map(|key| (key, start..column));
    let ahead = || {
        let key = rest.get(..end).filter(|key| is_key(key) && rest[end..].starts_with(':'))?;
        Some((key, column..column + end))
    };
    if let Some((key, range)) = behind.or_else(ahead) {
        return Some(Explained {
            message: format!("a comma is missing in front of `{key}`"),
            hint: format!("write `, {key}:`"),
            at: here.at(range),
        });
    }
    let open = rest.chars().next().filter(|c| matches!(c, '[' | '{' | '"' | '\''))?;
    let message = format!("a comma is missing in front of `{open}`");
    let at = here.at(column..column + open.len_utf8());
    let hint = match before.trim_end().chars().next_back() {
        Some(last) => format!("write `{last}, {open}`"),
        None => format!("end line {} with a comma", above?.number),
    };
    Some(Explained { message, hint, at })
}

/// The last bracket of a line that is not closed on it.
fn unclosed(text: &str) -> Option<(usize, char)> {
    let mut open = Vec::new();
    for (at, c) in text.char_indices() {
        match c {
            '[' | '{' => open.push((at, c)),
            ']' | '}' => drop(open.pop()),
            _ => {}
        }
    }
    open.pop()
}

/// A line that begins where no line above does; `before` are the lines above, nearest first.
fn misindented(message: &str, here: Line<'_>, before: &[Line<'_>]) -> Option<Explained> {
    if !["did not find expected key", "mapping values are not allowed"].iter().any(|m| message.contains(m)) {
        return None;
    }
    let is_item = |line: &Line<'_>| line.text.trim_start().starts_with('-');
    let indent = here.indent();
    // The lines this one may stand beside: each further out than the ones below it.
    let mut beside: Vec<Line<'_>> = Vec::new();
    for line in before {
        if beside.last().is_none_or(|last| line.indent() < last.indent()) {
            beside.push(*line);
        }
    }
    let opens = |line: &Line<'_>| without_comment(line.text).ends_with(':') && line.indent() < indent;
    let fits = |line: &Line<'_>| line.indent() == indent || line.words().0 == indent;
    if beside.first().is_some_and(opens) || beside.iter().any(fits) {
        return None;
    }
    beside.retain(|line| is_item(line) == is_item(&here));
    let inner = beside.iter().rev().find(|line| line.indent() > indent);
    let outer = beside.iter().find(|line| line.indent() < indent);
    let like = |line: &Line<'_>| match line.indent() {
        0 => format!("begin it in the first column like line {}", line.number),
        indent => format!("indent it by {} like line {}", spaces(indent), line.number),
    };
    let hint = match (outer, inner) {
        (Some(outer), Some(inner)) => format!("{}, or {}", like(outer), like(inner)),
        (Some(line), None) | (None, Some(line)) => like(line),
        (None, None) => return None,
    };
    let message = format!("this line is indented by {}, like no line above it", spaces(indent));
    Some(Explained { message, hint, at: here.at(indent..here.text.trim_end().len().max(indent)) })
}

fn spaces(count: usize) -> String {
    if count == 1 { "1 space".to_owned() } else { format!("{count} spaces") }
}

/// `title: before: after`.
fn second_colon(message: &str, here: Line<'_>, column: usize) -> Option<Explained> {
    let (start, words) = here.words();
    let (key, text) = words.split_once(": ")?;
    let second = message.contains("mapping values are not allowed") && column > start + key.len();
    if let Some((number, other)) = second.then(|| two_keys(text)).flatten() {
        let item = if here.text[..start].trim_end().ends_with('-') { "- " } else { "" };
        return Some(Explained {
            message: format!("`{key}` and `{other}` are on one line"),
            hint: format!(
                "write `{other}:` on a line of its own, or `{item}{{{key}: {number}, {other}: ...}}`"
            ),
            at: None,
        });
    }
    second.then(|| Explained {
        message: format!("there is a second colon in the value of `{key}`"),
        hint: format!("put it in quotes: `{key}: \"{}\"`", without_comment(text)),
        at: None,
    })
}

/// The number and the key of a value that is both: `12 angle: 90`.
fn two_keys(value: &str) -> Option<(&str, &str)> {
    let (number, rest) = value.trim().split_once(' ')?;
    let (key, _) = rest.trim_start().split_once(':')?;
    (is_key(key) && number.starts_with(|c: char| c.is_ascii_digit())).then_some((number, key))
}

fn quotes(message: &str) -> Option<Explained> {
    let (message, hint) = if message.contains("unclosed quote") {
        ("the quote is not closed", "write the quote that ends it; a length such as 2.5\" needs no other")
    } else if message.contains("trailing content after") {
        (
            "there is more behind the closing quote",
            "put all of it between the quotes, or write it without quotes",
        )
    } else {
        return None;
    };
    Some(Explained { message: message.to_owned(), hint: hint.to_owned(), at: None })
}

#[cfg(test)]
mod tests {
    use super::super::node::parse;
    use proptest::prelude::*;

    /// `line:column message; hint` of a text that is not YAML.
    fn fault(text: &str) -> String {
        let fault = parse(text).expect_err(text);
        let place = fault.place.expect("has a place");
        format!("{}:{} {}; {}", place.line, place.column, fault.message, fault.hint.unwrap_or_default())
    }

    #[test]
    fn tabs() {
        assert_eq!(
            fault("a:\n\tb: 1\n"),
            "2:1 this line is indented with a tab; indent with spaces, not tabs"
        );
    }

    #[test]
    fn a_colon_or_dash_without_its_space_is_blamed_and_not_the_line_below() {
        let wanted = "there is no space after the colon of `length:`; write `length: 100`";
        assert_eq!(fault("bends:\n  - length:100  # mm\n    angle: 90\n"), format!("2:5 {wanted}"));
        assert_eq!(fault("a:\n  x: 1\n  length:100\n"), format!("3:3 {wanted}"));
        assert_eq!(fault("a:\n  length:100\n\n  # words\n  x: 1\n"), format!("2:3 {wanted}"));
        assert_eq!(
            fault("a:\n  -{x: 1, y: 2}\n"),
            "2:3 there is no space after the dash; write `- {x: 1, y: 2}`"
        );
    }

    #[test]
    fn a_key_without_a_colon() {
        assert_eq!(fault("a\n  b: 1\n"), "1:1 there is no colon after `a`; write `a:`");
        assert_eq!(
            fault("a:\n  from [0, 0, 0]\n  to: 1\n"),
            "2:3 there is no colon after `from`; write `from: [0, 0, 0]`"
        );
    }

    #[test]
    fn commas_and_brackets() {
        assert_eq!(
            fault("a: {length: 100 angle: 90}\n"),
            "1:17 a comma is missing in front of `angle`; write `, angle:`"
        );
        assert_eq!(
            fault("a: {from: [0, 0, 0] to: [1, 2, 3]}\n"),
            "1:21 a comma is missing in front of `to`; write `, to:`"
        );
        assert_eq!(
            fault("a: [[0, 0, 0] [1, 2, 3]]\n"),
            "1:15 a comma is missing in front of `[`; write `], [`"
        );
        assert_eq!(
            fault("a: [{x: 1},\n  {x: 2}\n  {x: 3}]\n"),
            "3:3 a comma is missing in front of `{`; end line 2 with a comma"
        );
        assert_eq!(
            fault("a:\n  - length: 12 angle: 90\n"),
            "2:21 `length` and `angle` are on one line; write `angle:` on a line of its own, or \
             `- {length: 12, angle: ...}`"
        );
        assert_eq!(
            fault("corners:\n  - [1, 2, 3]  # words\n    clr: 40\n"),
            "3:5 `clr` stands below a corner that is a list; write `- {at: [1, 2, 3], clr: 40}`"
        );
        let open = "the bracket `[` is not closed; write the `]` that belongs to it";
        assert_eq!(fault("from: [0, 0, 0\nto: [1, 2, 3]\n"), format!("1:7 {open}"));
        assert_eq!(fault("from: [0, 0, 0"), format!("1:7 {open}"));
    }

    #[test]
    fn indentation() {
        assert_eq!(
            fault("runs:\n  a:\n    x: 1\n   b:\n    y: 2\n"),
            "4:4 this line is indented by 3 spaces, like no line above it; \
             indent it by 2 spaces like line 2, or indent it by 4 spaces like line 3"
        );
        assert_eq!(
            fault("a:\n  from: [0, 0]\n    to: [1, 2]\n"),
            "3:5 this line is indented by 4 spaces, like no line above it; indent it by 2 spaces like line 2"
        );
    }

    #[test]
    fn quotes() {
        assert!(fault("a: \"b\nc: 1\n").contains("the quote is not closed"));
        assert!(fault("a: \"5\" in\n").contains("there is more behind the closing quote"));
        assert_eq!(
            fault("x:\n  title: Loop: two  # words\n"),
            "2:14 there is a second colon in the value of `title`; put it in quotes: `title: \"Loop: two\"`"
        );
    }

    proptest! {
        #[test]
        fn no_slip_panics(text in "([a-zé]{1,3}|[-:{}\\[\\], \"'\t\n#]){0,40}") {
            if let Err(fault) = parse(&text) {
                let place = fault.place.expect("has a place");
                prop_assert!(text.is_char_boundary(place.start) && text.is_char_boundary(place.end));
            }
        }
    }
}
