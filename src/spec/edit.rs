//! Changes to the text of a spec that leave every other byte of it as it is.

use thiserror::Error;

use super::node::{Key, Node, Value, parse};

/// Why a text cannot be changed.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum EditFault {
    /// It is no spec with such a run.
    #[error("the spec has no run of this name that could be read")]
    NoRun,
    /// The run stands elsewhere in the text, and others with it.
    #[error("its text is shared with others by an anchor, an alias or a merged key")]
    Shared,
}

/// The text of a spec with `corners` for a run, each a list of three numbers as the spec writes them, in place of its
/// `route`, or behind its ends where it has none.
///
/// # Errors
/// [`EditFault`], where the change would reach anything but this run's way.
pub fn with_corners(text: &str, run: &str, corners: &[String]) -> Result<String, EditFault> {
    let root = parse(text).ok().flatten().ok_or(EditFault::NoRun)?;
    let (key, node) = entry(root.get("runs").ok_or(EditFault::NoRun)?, run).ok_or(EditFault::NoRun)?;
    let Value::Map(entries) = &node.value else { return Err(EditFault::NoRun) };
    let begin = value_start(text, key).ok_or(EditFault::Shared)?;
    if text[begin..].starts_with(['*', '&']) {
        return Err(EditFault::Shared);
    }
    let is_way = |key: &Key| matches!(key.text.as_str(), "route" | "corners");
    if entries.iter().any(|(key, _)| is_way(key) && key.place.start < begin) {
        return Err(EditFault::Shared);
    }
    let own = |name: &str| entries.iter().find(|(key, _)| key.text == name && key.place.start >= begin);
    let is_flow = text[begin..].starts_with('{');
    let changed = match own("route") {
        Some((route, wishes)) => {
            let end = entry_end(text, route, wishes).ok_or(EditFault::Shared)?;
            let corners = if is_flow { in_one_line(corners) } else { in_lines(text, route, corners) };
            format!("{}{corners}{}", &text[..route.place.start], &text[end..])
        }
        None => {
            let ends = ["from", "to"].into_iter().filter_map(own);
            let (last, at) = ends.max_by_key(|(key, _)| key.place.start).ok_or(EditFault::Shared)?;
            let end = entry_end(text, last, at).ok_or(EditFault::Shared)?;
            if is_flow {
                format!("{}, {}{}", &text[..end], in_one_line(corners), &text[end..])
            } else {
                // Behind a remark on the same line.
                let end = text[end..].find(['\r', '\n']).map_or(text.len(), |more| end + more);
                let (newline, indent) = (newline(text), indent(text, last));
                let corners = in_lines(text, last, corners);
                format!("{}{newline}{indent}{corners}{}", &text[..end], &text[end..])
            }
        }
    };
    if reaches_only(&root, &changed, run) { Ok(changed) } else { Err(EditFault::Shared) }
}

fn entry<'n>(node: &'n Node, name: &str) -> Option<(&'n Key, &'n Node)> {
    let Value::Map(entries) = &node.value else { return None };
    entries.iter().find(|(key, _)| key.text == name).map(|(key, node)| (key, node))
}

/// `corners: [[40, 140, 20], [200, 140, 30]]`.
fn in_one_line(corners: &[String]) -> String {
    format!("corners: [{}]", corners.join(", "))
}

/// `corners:`, and a line for each below it.
fn in_lines(text: &str, beside: &Key, corners: &[String]) -> String {
    if corners.is_empty() {
        return "corners: []".to_owned();
    }
    let (newline, indent) = (newline(text), indent(text, beside));
    let lines: String = corners.iter().map(|corner| format!("{newline}{indent}  - {corner}")).collect();
    format!("corners:{lines}")
}

/// The line ends that a text has.
fn newline(text: &str) -> &'static str {
    if text.contains("\r\n") { "\r\n" } else { "\n" }
}

/// The white in front of a key.
fn indent<'t>(text: &'t str, key: &Key) -> &'t str {
    let line = text[..key.place.start].rfind('\n').map_or(0, |at| at + 1);
    &text[line..key.place.start]
}

/// Where the value of a key begins, behind its colon; none where it does not stand there.
fn value_start(text: &str, key: &Key) -> Option<usize> {
    let behind = text.get(key.place.start..)?;
    let name = after_scalar(behind, false);
    let colon = name + behind.get(name..)?.find(':')?;
    if !behind.get(name..colon)?.trim().is_empty() {
        return None;
    }
    let mut at = key.place.start + colon + 1;
    // White, remarks and ends of lines are skipped; each step goes on in the text.
    loop {
        let rest = text.get(at..)?;
        let white = rest.len() - rest.trim_start().len();
        at += white;
        if !text.get(at..)?.starts_with('#') {
            return (at < text.len()).then_some(at);
        }
        at += text.get(at..)?.find('\n')?;
    }
}

/// Where a key's value ends.
fn entry_end(text: &str, key: &Key, value: &Node) -> Option<usize> {
    let begin = value_start(text, key)?;
    let rest = text.get(begin..)?;
    match (&value.value, rest.chars().next()?) {
        (_, '{' | '[') => closed(rest).map(|end| begin + end),
        (Value::Map(entries), first) if first != '*' => {
            let (key, node) = entries.last()?;
            entry_end(text, key, node)
        }
        (Value::List(_), first) if first != '*' => None,
        _ => {
            let in_flow = text[..key.place.start].trim_end().ends_with(['{', ',']);
            Some(begin + after_scalar(rest, in_flow))
        }
    }
}

/// Bytes of a scalar at the beginning of a text, without white behind it.
fn after_scalar(rest: &str, in_flow: bool) -> usize {
    let quote = rest.chars().next().filter(|c| matches!(c, '"' | '\''));
    if let Some(quote) = quote {
        let mut escaped = false;
        for (at, letter) in rest.char_indices().skip(1) {
            if letter == quote && !escaped {
                return at + 1;
            }
            escaped = letter == '\\' && quote == '"' && !escaped;
        }
        return rest.len();
    }
    let mut end = rest.len();
    let mut before = ' ';
    for (at, letter) in rest.char_indices() {
        let is_end = matches!(letter, '\r' | '\n')
            || (letter == '#' && before.is_whitespace())
            || (letter == ':' && rest[at + 1..].starts_with(char::is_whitespace))
            || (in_flow && matches!(letter, ',' | '}' | ']'));
        if is_end {
            end = at;
            break;
        }
        before = letter;
    }
    rest[..end].trim_end().len()
}

/// Bytes up to the end of the brackets that a text begins with.
fn closed(rest: &str) -> Option<usize> {
    let (mut depth, mut quote, mut before, mut remark) = (0usize, None, ' ', false);
    for (at, letter) in rest.char_indices() {
        match (quote, letter) {
            _ if remark => remark = letter != '\n',
            (Some(open), _) if letter == open && before != '\\' => quote = None,
            (Some(_), _) => {}
            (None, '"' | '\'') if !before.is_alphanumeric() => quote = Some(letter),
            (None, '#') if before.is_whitespace() => remark = true,
            (None, '{' | '[') => depth += 1,
            (None, '}' | ']') => {
                depth = depth.checked_sub(1)?;
                if depth == 0 {
                    return Some(at + 1);
                }
            }
            _ => {}
        }
        before = letter;
    }
    None
}

/// Whether a changed text says the same as before but for the way of one run.
fn reaches_only(before: &Node, changed: &str, run: &str) -> bool {
    let Ok(Some(after)) = parse(changed) else { return false };
    let (Value::Map(before), Value::Map(after)) = (&before.value, &after.value) else { return false };
    let is_way = |key: &str| matches!(key, "route" | "corners");
    let same_run = |a: &Node, b: &Node| match (&a.value, &b.value) {
        (Value::Map(a), Value::Map(b)) => same_entries(
            a.iter().filter(|(key, _)| !is_way(&key.text)),
            b.iter().filter(|(key, _)| !is_way(&key.text)),
            &same,
        ),
        _ => false,
    };
    let same_runs = |a: &Node, b: &Node| match (&a.value, &b.value) {
        (Value::Map(a), Value::Map(b)) => {
            a.len() == b.len()
                && a.iter().zip(b).all(|((key, a), (other, b))| {
                    key.text == other.text && if key.text == run { same_run(a, b) } else { same(a, b) }
                })
        }
        _ => false,
    };
    before.len() == after.len()
        && before.iter().zip(after).all(|((key, a), (other, b))| {
            key.text == other.text && if key.text == "runs" { same_runs(a, b) } else { same(a, b) }
        })
}

fn same_entries<'n>(
    mut a: impl Iterator<Item = &'n (Key, Node)>,
    mut b: impl Iterator<Item = &'n (Key, Node)>,
    same: &dyn Fn(&Node, &Node) -> bool,
) -> bool {
    let is_same = |(key, a): &(Key, Node), (other, b): &(Key, Node)| key.text == other.text && same(a, b);
    let mut all = true;
    for a in a.by_ref() {
        all = all && b.next().is_some_and(|b| is_same(a, b));
    }
    all && b.next().is_none()
}

/// Whether two nodes say the same, wherever they stand.
fn same(a: &Node, b: &Node) -> bool {
    match (&a.value, &b.value) {
        (Value::Scalar(a), Value::Scalar(b)) => a == b,
        (Value::List(a), Value::List(b)) => a.len() == b.len() && a.iter().zip(b).all(|(a, b)| same(a, b)),
        (Value::Map(a), Value::Map(b)) => same_entries(a.iter(), b.iter(), &same),
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn corners() -> Vec<String> {
        vec!["[40, 140, 20]".to_owned(), "[200, 140.5, 30]".to_owned()]
    }

    fn changed(text: &str) -> String {
        with_corners(text, "a", &corners()).unwrap_or_else(|fault| panic!("{fault}: {text}"))
    }

    #[test]
    fn corners_stand_behind_the_ends_and_nothing_else_changes() {
        let block = "runs:\n  # first\n  a:\n    from: t.out   # here\n    to: 'p.in'  # there\n    anneal: auto\n  b: {from: x.y, to: z.w}\n";
        let expected = block
            .replace("# there\n", "# there\n    corners:\n      - [40, 140, 20]\n      - [200, 140.5, 30]\n");
        assert_eq!(changed(block), expected);
        assert_eq!(changed(&block.replace('\n', "\r\n")), expected.replace('\n', "\r\n"));
        let flow = "runs: {a: {to: p.in, from: {at: [0, 0, 0], facing: [1, 0, 0]}, anneal: auto}} # end";
        let expected =
            flow.replace("0, 0]}, anneal", "0, 0]}, corners: [[40, 140, 20], [200, 140.5, 30]], anneal");
        assert_eq!(changed(flow), expected);
        // No line end at the end of the text.
        assert!(changed("runs:\n  a:\n    from: t.out\n    to: p.in").ends_with("- [200, 140.5, 30]"));
    }

    #[test]
    fn a_route_gives_way_to_corners() {
        let text = "runs:\n  a:\n    from: t.out\n    route: {max_bends: 3, # few\n      angles: [45, 90]} # so\n    to: p.in\n";
        let expected = "runs:\n  a:\n    from: t.out\n    corners:\n      - [40, 140, 20]\n      - [200, 140.5, 30] # so\n    to: p.in\n";
        assert_eq!(changed(text), expected);
        let text = "runs:\n  a:\n    from: t.out\n    to: p.in\n    route:\n      max_bends: 3\n      clearance: 2 mm # so\n  b: {}\n";
        let expected = "runs:\n  a:\n    from: t.out\n    to: p.in\n    corners:\n      - [40, 140, 20]\n      - [200, 140.5, 30] # so\n  b: {}\n";
        assert_eq!(changed(text), expected);
    }

    #[test]
    fn text_that_others_share_is_left_alone() {
        for text in [
            "x: &x {from: t.out, to: p.in}\nruns:\n  a: *x\n",
            "runs:\n  b: &x {from: t.out, to: p.in}\n  a: {<<: *x}\n",
            "runs:\n  a: &x {from: t.out, to: p.in}\n  b: *x\n",
        ] {
            assert_eq!(with_corners(text, "a", &corners()), Err(EditFault::Shared), "{text}");
        }
        // Own ends beside a merged key are its own.
        let merged = "x: &x {anneal: auto}\nruns:\n  a: {<<: *x, from: t.out, to: p.in}\n";
        assert!(changed(merged).contains("to: p.in, corners: [[40"));
        assert_eq!(with_corners("runs: {}", "a", &corners()), Err(EditFault::NoRun));
        assert_eq!(with_corners("runs: {a: [}", "a", &corners()), Err(EditFault::NoRun));
    }

    #[test]
    fn a_route_that_comes_by_a_merged_key_is_left() {
        let text = "x-r: &r {route: {max_bends: 4}}\nruns:\n  a: {<<: *r, from: t.out, to: p.in}\n";
        assert_eq!(with_corners(text, "a", &corners()), Err(EditFault::Shared));
    }
}
