//! Text that is no YAML, explained by the slip that most likely made it so: the parser says where it
//! gave up, which is often a line further on.

mod brackets;
mod indent;

use std::ops::Range;

/// The fault of a text that the parser refused.
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
        .or_else(|| brackets::not_closed(message, &lines, here))
        .or_else(|| key_below_list(message, here, above))
        .or_else(|| structure(message, here, above))
        .or_else(|| brackets::explain(message, here, above, column))
        .or_else(|| second_colon(message, here, column))
        .or_else(|| indent::explain(message, here, &before))
        .or_else(|| unquoted(message, here, column))
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
        .find_map(equals_sign)
        .or_else(|| lines().find_map(colon_without_space))
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

/// `clr = 55`.
fn equals_sign(line: Line<'_>) -> Option<Explained> {
    let (start, words) = line.words();
    let (key, value) = words.split_once('=')?;
    let key = key.trim_end();
    is_key(key).then(|| Explained {
        message: format!("there is `=` behind `{key}`, where a colon belongs"),
        hint: format!("write `{key}: {}`", without_comment(value)),
        at: line.at(start..start + words.len()),
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
    let text = without_comment(text);
    if second && brackets::lacks_first(text, '{') {
        return Some(Explained {
            message: format!("a `{{` is missing behind `{key}:`"),
            hint: format!("write `{key}: {{{text}`"),
            at: here.at(start..start + key.len() + 1),
        });
    }
    second.then(|| Explained {
        message: format!("there is a second colon in the value of `{key}`"),
        hint: format!("put it in quotes: `{key}: \"{text}\"`"),
        at: None,
    })
}

/// The number and the key of a value that is both: `12 angle: 90`.
fn two_keys(value: &str) -> Option<(&str, &str)> {
    let (number, rest) = value.trim().split_once(' ')?;
    let (key, _) = rest.trim_start().split_once(':')?;
    (is_key(key) && number.starts_with(|c: char| c.is_ascii_digit())).then_some((number, key))
}

/// A value that begins with a character that YAML keeps for itself.
fn unquoted(message: &str, here: Line<'_>, column: usize) -> Option<Explained> {
    let rest = here.text.get(column..).filter(|_| message.contains("unexpected character"))?;
    let kept = rest.chars().next().filter(|c| matches!(c, '@' | '%' | '`'))?;
    let value = without_comment(rest);
    // In brackets the value ends before the next of its neighbours.
    let in_brackets = here.text[..column].contains(['{', '[']);
    let value = value.split([',', '}', ']']).next().filter(|_| in_brackets).unwrap_or(value).trim_end();
    Some(Explained {
        message: match kept {
            '`' => "a value without quotes cannot begin with a backtick".to_owned(),
            kept => format!("a value without quotes cannot begin with `{kept}`"),
        },
        hint: format!("put it in quotes: \"{value}\""),
        at: here.at(column..column + value.len().max(kept.len_utf8())),
    })
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
        let open = "the bracket `[` is not closed; write";
        assert_eq!(fault("from: [0, 0, 0\nto: [1, 2, 3]\n"), format!("1:7 {open} `]` at the end of line 1"));
        assert_eq!(fault("from: [0, 0, 0"), format!("1:7 {open} the `]` that belongs to it"));
    }

    #[test]
    fn a_bracket_that_is_open_where_another_key_begins() {
        let open = "the bracket `{` is not closed; write `}`";
        assert_eq!(fault("a: {x: 1, y: 2\nb: 3\n"), format!("1:4 {open} at the end of line 1"));
        assert_eq!(
            fault("a: {x: 1,\n  y: 2 # words\nb: 3\n"),
            format!("1:4 {open} before the comment in line 2")
        );
        assert_eq!(fault("a:\n  - {x: 1\n  - {x: 2}\n"), format!("2:5 {open} at the end of line 2"));
        assert_eq!(fault("a:\n  - {x: 1}\n  - {x: 2\nb: 1\n"), format!("3:5 {open} at the end of line 3"));
        assert_eq!(
            fault("a: [[1, 2], [3, 4\nb: 1\n"),
            "1:13 2 brackets are not closed; write `]]` at the end of line 1"
        );
        // Brackets in quotes, in comments and within words are none.
        assert_eq!(
            fault("a: {x: \"{\", y: 2}  # {\nc: d [e\nb: 3: 4\n"),
            "3:5 there is a second colon in the value of `b`; put it in quotes: `b: \"3: 4\"`"
        );
    }

    #[test]
    fn brackets_too_many_and_missing_in_front() {
        assert_eq!(fault("a: [[1, 2]]]\n"), "1:12 there is one `]` too many; delete it");
        assert_eq!(fault("a: {x: [1, 2]]}\n"), "1:14 there is one `]` too many; delete it");
        assert_eq!(
            fault("a: {x: 1, y: 2, 3], z: 4}\n"),
            "1:14 a `[` is missing behind `y:`; write `y: [2, 3]`"
        );
        assert_eq!(
            fault("a: {x: [1, 2, y: 3}\n"),
            "1:8 the bracket `[` is not closed; write `]` in front of `, y:`"
        );
        assert_eq!(
            fault("a:\n  b: x: [1, 2], y: 3}\n"),
            "2:3 a `{` is missing behind `b:`; write `b: {x: [1, 2], y: 3}`"
        );
    }

    #[test]
    fn an_equals_sign_and_characters_kept_by_yaml() {
        for text in ["a:\n  x = 5\n  y: 1\n", "a:\n  x: 1\n  x = 5\n  y: 1\n", "a:\n  x=5\n  y: 1\n"] {
            let told = fault(text);
            assert!(told.ends_with("there is `=` behind `x`, where a colon belongs; write `x: 5`"), "{told}");
        }
        assert_eq!(
            fault("a: @home\n"),
            "1:4 a value without quotes cannot begin with `@`; put it in quotes: \"@home\""
        );
        assert_eq!(
            fault("a: {x: %50, y: 1}\n"),
            "1:8 a value without quotes cannot begin with `%`; put it in quotes: \"%50\""
        );
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
    fn the_line_out_of_step_is_blamed_and_not_the_line_after_it() {
        let told = |line: usize, by: &str, like: usize| {
            format!(
                "{line}:3 this line is indented by 2 spaces, those around it by {by}; indent it by {by} like line {like}"
            )
        };
        assert_eq!(fault("r:\n  a:\n    x: 1\n  y: 2\n    z: 3\n"), told(4, "4 spaces", 3));
        assert_eq!(fault("r:\n  a:\n  y: 2\n    z: 3\n"), told(3, "4 spaces", 4));
        let first =
            "begins in the first column, those around it by 2 spaces; indent it by 2 spaces like line 2";
        assert_eq!(fault("b:\n  x: 1\ny: 2\n  z: 3\n"), format!("3:1 this line {first}"));
        assert_eq!(
            fault("r:\n  a:\n    x: 1\nb:\n    x: 1\n  c:\n    x: 1\n"),
            format!("4:1 this line {first}")
        );
    }

    #[test]
    fn lists_where_keys_belong() {
        let told = |key: &str, line: usize| {
            format!("`{key}` stands among the items of a list, which begins on line {line}")
        };
        assert_eq!(
            fault("a:\n  - x: 1\n  y: 2\n"),
            format!("3:3 {}; write line 2 without its dash: `x: 1`", told("y", 2))
        );
        assert_eq!(
            fault("a:\n  - name: b\n    x: 1\n  c:\n    x: 2\n"),
            format!("4:3 {}; write line 2 as `b:`, without a dash", told("c", 2))
        );
        assert_eq!(
            fault("a:\n  b:\n    - [1]\n    - [2]\n    c: 3\n"),
            format!("5:5 {}; indent it by 2 spaces like line 2", told("c", 3))
        );
        assert_eq!(
            fault("a:\n  {x: 1}\n  - {x: 2}\n"),
            "2:3 there is no dash in front of this item, as there is below; write `- {x: 1}`"
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
