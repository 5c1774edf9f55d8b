//! Lines that begin where they cannot.

use super::{Explained, Line, is_key, without_comment};

/// Explains what the parser says of a line by where it and those around it begin; `before` are the lines above,
/// nearest first.
pub(super) fn explain(message: &str, here: Line<'_>, before: &[Line<'_>]) -> Option<Explained> {
    if message.contains("did not find expected '-' indicator") {
        return beside_items(here, before);
    }
    if !["did not find expected key", "mapping values are not allowed"].iter().any(|m| message.contains(m)) {
        return None;
    }
    no_dash(here, before).or_else(|| out_of_step(here, before)).or_else(|| like_no_line(here, before))
}

fn is_item(line: &Line<'_>) -> bool {
    line.text.trim_start().starts_with('-')
}

/// Whether a line is a key without a value, so that the lines below belong to it.
fn opens(line: &Line<'_>) -> bool {
    without_comment(line.text).ends_with(':')
}

/// A key at the place of a list's dashes.
fn beside_items(here: Line<'_>, before: &[Line<'_>]) -> Option<Explained> {
    let indent = here.indent();
    let (start, words) = here.words();
    let key = words.split_once(':').map_or(words, |(key, _)| key);
    let block: Vec<&Line<'_>> = before.iter().take_while(|line| line.indent() >= indent).collect();
    let items: Vec<&&Line<'_>> =
        block.iter().filter(|line| line.indent() == indent && is_item(line)).collect();
    let first = items.last()?;
    let (_, item) = first.words();
    let has_key = item
        .split_once(':')
        .is_some_and(|(key, rest)| is_key(key) && (rest.is_empty() || rest.starts_with(' ')));
    let hint = match (items.as_slice(), item.strip_prefix("name: ")) {
        ([_], Some(name)) => {
            format!("write line {} as `{}:`, without a dash", first.number, without_comment(name))
        }
        ([_], None) if has_key => format!("write line {} without its dash: `{item}`", first.number),
        _ => like(before.get(block.len())?),
    };
    Some(Explained {
        message: format!("`{key}` stands among the items of a list, which begins on line {}", first.number),
        hint,
        at: here.at(start..start + key.len()),
    })
}

/// An item below a bracket that has no dash of its own.
fn no_dash(here: Line<'_>, before: &[Line<'_>]) -> Option<Explained> {
    let above = before.first().filter(|line| line.indent() == here.indent() && is_item(&here))?;
    let (start, words) = above.words();
    let bare = !is_item(above) && words.starts_with(['{', '[']);
    bare.then(|| Explained {
        message: "there is no dash in front of this item, as there is below".to_owned(),
        hint: format!("write `- {}`", without_comment(words)),
        at: above.at(start..start + words.len()),
    })
}

/// A line further out than those around it: the parser takes it for a key of an outer mapping, and complains about
/// the line that follows.
fn out_of_step(here: Line<'_>, before: &[Line<'_>]) -> Option<Explained> {
    let indent = here.indent();
    let position = before.iter().position(|line| line.indent() < indent)?;
    let (between, line) = (&before[..position], before[position]);
    let outer = before[position + 1..].iter().find(|line| line.indent() <= indent)?;
    if between.iter().any(|line| line.indent() == indent) || is_item(&line) != is_item(&here) {
        return None;
    }
    // Either it stands between two of the same level, or it is the first below a key that would else have nothing.
    let like = if outer.indent() == indent {
        outer
    } else if outer.indent() == line.indent() && opens(outer) && !opens(&line) {
        &here
    } else {
        return None;
    };
    let is = match line.indent() {
        0 => "begins in the first column".to_owned(),
        indent => format!("is indented by {}", spaces(indent)),
    };
    let (start, words) = line.words();
    Some(Explained {
        message: format!("this line {is}, those around it by {}", spaces(indent)),
        hint: format!("indent it by {} like line {}", spaces(indent), like.number),
        at: line.at(start..start + words.len()),
    })
}

/// A line that begins where no line above does.
fn like_no_line(here: Line<'_>, before: &[Line<'_>]) -> Option<Explained> {
    let indent = here.indent();
    // The lines this one may stand beside: each further out than the ones below it.
    let mut beside: Vec<Line<'_>> = Vec::new();
    for line in before {
        if beside.last().is_none_or(|last| line.indent() < last.indent()) {
            beside.push(*line);
        }
    }
    let is_above = |line: &Line<'_>| opens(line) && line.indent() < indent;
    let fits = |line: &Line<'_>| line.indent() == indent || line.words().0 == indent;
    if beside.first().is_some_and(is_above) || beside.iter().any(fits) {
        return None;
    }
    beside.retain(|line| is_item(line) == is_item(&here));
    let inner = beside.iter().rev().find(|line| line.indent() > indent);
    let outer = beside.iter().find(|line| line.indent() < indent);
    let hint = match (outer, inner) {
        (Some(outer), Some(inner)) => format!("{}, or {}", like(outer), like(inner)),
        (Some(line), None) | (None, Some(line)) => like(line),
        (None, None) => return None,
    };
    let message = format!("this line is indented by {}, like no line above it", spaces(indent));
    Some(Explained { message, hint, at: here.at(indent..here.text.trim_end().len().max(indent)) })
}

fn like(line: &Line<'_>) -> String {
    match line.indent() {
        0 => format!("begin it in the first column like line {}", line.number),
        indent => format!("indent it by {} like line {}", spaces(indent), line.number),
    }
}

fn spaces(count: usize) -> String {
    if count == 1 { "1 space".to_owned() } else { format!("{count} spaces") }
}
