//! Brackets and commas: one that is missing, and one too many.

use super::{Explained, Line, has_content, is_key, without_comment};

/// A bracket that is open.
#[derive(Clone, Copy)]
struct Open<'t> {
    line: Line<'t>,
    /// Bytes in front of it on the line.
    at: usize,
    bracket: char,
}

impl Open<'_> {
    fn closing(self) -> char {
        closing(self.bracket)
    }
}

fn closing(bracket: char) -> char {
    if bracket == '{' { '}' } else { ']' }
}

/// Follows the brackets of a line from those open before it. Calls `mismatch` with the place of a bracket that does
/// not close the last one open, which stays open.
fn follow<'t>(line: Line<'t>, open: &mut Vec<Open<'t>>, mut mismatch: impl FnMut(usize, &[Open<'t>])) {
    let mut quote = None;
    let mut before = None;
    let mut after_space = true;
    for (at, c) in line.text.char_indices() {
        let begins = matches!(before, None | Some(':' | '-' | ',' | '[' | '{'));
        match c {
            _ if quote.is_some() => quote = quote.filter(|quote| *quote != c),
            '#' if after_space => return,
            '"' | '\'' if begins => quote = Some(c),
            // Within plain words a bracket is a character like others.
            '[' | '{' if !open.is_empty() || begins => open.push(Open { line, at, bracket: c }),
            ']' | '}' => match open.last() {
                Some(last) if last.closing() == c => drop(open.pop()),
                Some(_) => mismatch(at, open),
                None => {}
            },
            _ => {}
        }
        after_space = c.is_whitespace();
        before = if after_space { before } else { Some(c) };
    }
}

/// A bracket that is still open where a line begins that does not lie within it. The parser goes on to the end of
/// the text for some of these.
pub(super) fn not_closed(message: &str, lines: &[Line<'_>], here: Line<'_>) -> Option<Explained> {
    let end = if message.contains("bracket") { lines.len() } else { here.number };
    let mut open = Vec::new();
    let mut last: Option<Line<'_>> = None;
    for line in lines.iter().take(end).copied().filter(has_content) {
        if let (Some(first), Some(last)) = (open.first(), last)
            && lies_outside(line, *first, last)
        {
            return still_open(&open, last);
        }
        let mut sound = true;
        follow(line, &mut open, |_, _| sound = false);
        if !sound {
            return None;
        }
        last = Some(line);
    }
    None
}

/// Whether a line is a key or an item beside or outside the line of an open bracket. `last` is the line above it.
fn lies_outside(line: Line<'_>, open: Open<'_>, last: Line<'_>) -> bool {
    let text = line.text.trim_start();
    let begins = text.starts_with("- ") || text.split_once(':').is_some_and(|(key, _)| is_key(key));
    // Behind these, the next line goes on within the brackets.
    let goes_on = without_comment(last.text).ends_with([',', '[', '{']);
    begins && !goes_on && line.indent() <= open.line.indent()
}

fn still_open(open: &[Open<'_>], last: Line<'_>) -> Option<Explained> {
    let innermost = open.last()?;
    let message = match open {
        [only] => format!("the bracket `{}` is not closed", only.bracket),
        all => format!("{} brackets are not closed", all.len()),
    };
    let closing: String = open.iter().rev().map(|open| open.closing()).collect();
    let words = without_comment(last.text);
    let place = if last.text.trim() == words { "at the end of" } else { "before the comment in" };
    Some(Explained {
        message,
        hint: format!("write `{closing}` {place} line {}", last.number),
        at: innermost.line.at(innermost.at..innermost.at + 1),
    })
}

/// Explains what the parser says of brackets and commas.
pub(super) fn explain(
    message: &str,
    here: Line<'_>,
    above: Option<Line<'_>>,
    column: usize,
) -> Option<Explained> {
    if message.contains("expected ',' or") {
        return no_comma(here, above, column);
    }
    if message.contains("misplaced bracket") {
        return none_open(here, column);
    }
    if message.contains("mismatched bracket") {
        return mismatched(here);
    }
    let open = message.strip_prefix("unclosed bracket '").and_then(|rest| rest.chars().next());
    let (open, at) = match open {
        Some(open) => (open, None),
        None => {
            let line = above.filter(|_| message.contains("illegal placement of ':'"))?;
            let mut open = Vec::new();
            follow(line, &mut open, |_, _| ());
            let last = open.pop()?;
            (last.bracket, line.at(last.at..last.at + 1))
        }
    };
    let close = closing(open);
    Some(Explained {
        message: format!("the bracket `{open}` is not closed"),
        hint: format!("write the `{close}` that belongs to it"),
        at,
    })
}

/// A closing bracket where none is open.
fn none_open(here: Line<'_>, column: usize) -> Option<Explained> {
    let bracket = here.text.get(column..)?.chars().next()?;
    let before = here.text.get(..column)?.trim_end();
    let hint = if before.is_empty() || before.ends_with([':', '-']) {
        format!("delete it, or put the value in quotes: \"{}\"", without_comment(&here.text[column..]))
    } else {
        "delete it".to_owned()
    };
    Some(Explained {
        message: format!("there is one `{bracket}` too many"),
        hint,
        at: here.at(column..column + bracket.len_utf8()),
    })
}

/// A closing bracket that does not belong to the one open, of a line.
fn mismatched(here: Line<'_>) -> Option<Explained> {
    let mut found = None;
    follow(here, &mut Vec::new(), |at, open| {
        if found.is_none() {
            found = open.last().map(|last| (at, *last, open.len()));
        }
    });
    let (at, open, depth) = found?;
    let (before, close) = (here.text[..at].trim_end(), here.text[at..].chars().next()?);
    if open.bracket == '{' {
        if before.ends_with([']', '}']) {
            let message = format!("there is one `{close}` too many");
            return Some(Explained { message, hint: "delete it".to_owned(), at: here.at(at..at + 1) });
        }
        let (key, numbers) = before.rsplit_once(": ")?;
        let key = key.rsplit([' ', '{', ',']).next()?;
        let start = before.len() - numbers.len();
        let numbers = numbers.trim_start_matches('(');
        return Some(Explained {
            message: format!("a `[` is missing behind `{key}:`"),
            hint: format!("write `{key}: [{numbers}]`"),
            at: here.at(start..at + 1),
        });
    }
    // The key that follows the list stands within it.
    let inside = &here.text[open.at..at];
    let key = inside.split(',').find_map(|part| part.split_once(':').map(|(key, _)| key.trim()));
    let hint = match key.filter(|key| is_key(key)) {
        Some(key) => format!("write `]` in front of `, {key}:`"),
        None if depth > 1 => format!("write `]` in front of `{close}`"),
        None => format!("write `]` for `{close}`"),
    };
    let message = format!("the bracket `{}` is not closed", open.bracket);
    Some(Explained { message, hint, at: here.at(open.at..open.at + 1) })
}

/// Whether a value closes a bracket that it does not open.
pub(super) fn lacks_first(value: &str, bracket: char) -> bool {
    let close = closing(bracket);
    value.ends_with(close) && value.matches(close).count() > value.matches(bracket).count()
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
