//! Names: what may be one.

/// Longest name, characters: folder names of any system take it.
const LONGEST: usize = 64;

/// Names some systems reserve for devices, whatever follows a point in them.
const RESERVED: [&str; 4] = ["con", "prn", "aux", "nul"];

/// Whether a name can be a folder on every system. Names become file names.
pub(super) fn fault(name: &str) -> Option<(String, String)> {
    let wrong = name.chars().find(|c| !allowed(*c));
    let rule = "names are letters, digits, `.`, `_` and `-`";
    if name.is_empty() {
        return Some(("a name is missing".to_owned(), rule.to_owned()));
    }
    if let Some(c) = wrong {
        let shown = if c == ' ' { "a space".to_owned() } else { format!("`{c}`") };
        let hint = match tidied(name) {
            Some(fixed) => format!("{rule}: write `{fixed}`"),
            None => rule.to_owned(),
        };
        return Some((format!("the name `{name}` has {shown} in it"), hint));
    }
    if name.starts_with('.') || name.ends_with('.') {
        let hint = format!("write `{}`", name.trim_matches('.'));
        let hint = if name.trim_matches('.').is_empty() { rule.to_owned() } else { hint };
        return Some((format!("the name `{name}` starts or ends with a point"), hint));
    }
    let stem = name.split('.').next().unwrap_or(name).to_ascii_lowercase();
    let numbered = (stem.starts_with("com") || stem.starts_with("lpt"))
        && stem.len() == 4
        && stem.ends_with(|c: char| c.is_ascii_digit());
    if RESERVED.contains(&stem.as_str()) || numbered {
        return Some((
            format!("the name `{name}` is reserved on some systems"),
            format!("write another, such as `the-{stem}`"),
        ));
    }
    if name.len() > LONGEST {
        return Some((
            format!("the name is {} characters long", name.len()),
            format!("use at most {LONGEST}"),
        ));
    }
    None
}

fn allowed(c: char) -> bool {
    c.is_ascii_alphanumeric() || matches!(c, '.' | '_' | '-')
}

/// The name with spaces and slashes replaced, if that makes it one.
fn tidied(name: &str) -> Option<String> {
    let dashed = name.trim().replace([' ', '/', '\\'], "-");
    let kept = dashed.trim_matches(['.', '-']);
    (!kept.is_empty() && kept.chars().all(allowed)).then(|| kept.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_that_are_no_folders_are_refused() {
        for name in
            ["", "a b", "a/b", "../up", ".hidden", "con", "NUL.txt", "com1", "ends.", "größe", "a\\b", ".."]
        {
            assert!(fault(name).is_some(), "{name}");
        }
        for name in ["tank-to-pump", "run_2.b", "1", "console", "com", "-x"] {
            assert_eq!(fault(name), None, "{name}");
        }
        assert!(fault(&"a".repeat(65)).is_some());
        let (message, hint) = fault("tank to pump").expect("has spaces");
        assert_eq!(message, "the name `tank to pump` has a space in it");
        assert!(hint.ends_with("write `tank-to-pump`"), "{hint}");
        assert_eq!(fault("con").expect("reserved").1, "write another, such as `the-con`");
    }
}
