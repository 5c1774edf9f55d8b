//! Numbers, names and lists as they stand on paper: tenths of a millimetre and of a degree.

use crate::quantity::fixed;

/// A number with one decimal, never "-0.0".
pub(crate) fn tenths(value: f64) -> String {
    fixed(value, 1)
}

/// A length, mm, with its unit.
pub(crate) fn mm(value: f64) -> String {
    format!("{} mm", tenths(value))
}

/// An angle given in degrees.
pub(crate) fn degrees(value: f64) -> String {
    format!("{}°", tenths(value))
}

/// A signed angle given in degrees.
pub(crate) fn signed(value: f64) -> String {
    let words = degrees(value);
    if words.starts_with('-') || words == "0.0°" { words } else { format!("+{words}") }
}

/// A dial's reading, degrees: 0.0 up to 359.9.
pub(crate) fn dial(value: f64) -> String {
    let words = degrees(value);
    if words == "360.0°" { "0.0°".to_owned() } else { words }
}

/// A length in mm as inches and the nearest 64th: "4-1/16 in".
pub(crate) fn inches(value: f64) -> String {
    let total = (value / crate::quantity::MM_PER_INCH * 64.0).round();
    let sign = if total < 0.0 { "-" } else { "" };
    let (whole, mut part, mut of) = ((total.abs() / 64.0).floor(), total.abs() % 64.0, 64.0);
    // Six times at most: `part` is below 64.
    while part > 0.0 && part % 2.0 == 0.0 {
        part /= 2.0;
        of /= 2.0;
    }
    match (whole > 0.0, part > 0.0) {
        (_, false) => format!("{sign}{whole:.0} in"),
        (true, true) => format!("{sign}{whole:.0}-{part:.0}/{of:.0} in"),
        (false, true) => format!("{sign}{part:.0}/{of:.0} in"),
    }
}

/// A name cut to what a line of prose can bear.
pub(crate) fn short(name: &str) -> String {
    limited(name, 40)
}

/// A name cut to so many characters.
pub(crate) fn limited(name: &str, most: usize) -> String {
    if name.chars().count() <= most {
        return name.to_owned();
    }
    name.chars().take(most.saturating_sub(1)).chain(['…']).collect()
}

/// "1 bend", "2 bends".
pub(crate) fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// "1, 2 and 3".
pub(crate) fn list(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [all @ .., last] => format!("{} and {last}", all.join(", ")),
    }
}

/// Words with a capital first and a full stop last.
pub(crate) fn sentence(words: &str) -> String {
    let mut chars = words.chars();
    let Some(first) = chars.next() else { return String::new() };
    let end = if words.ends_with(['.', '!', '?']) { "" } else { "." };
    format!("{}{}{end}", first.to_uppercase(), chars.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_one_decimal_and_no_minus_nothing() {
        assert_eq!([tenths(-0.04), tenths(103.26), tenths(-0.06)], ["0.0", "103.3", "-0.1"]);
        assert_eq!([signed(90.0), signed(-0.01), signed(-135.0)], ["+90.0°", "0.0°", "-135.0°"]);
        assert_eq!([dial(359.96), dial(270.0)], ["0.0°", "270.0°"]);
    }

    #[test]
    fn inches_are_the_nearest_sixty_fourth() {
        // 5/8 in is 15.875 mm; 12-1/2 in is 317.5 mm; a hair under 3 in is 3 in.
        assert_eq!(inches(15.875), "5/8 in");
        assert_eq!(inches(317.5), "12-1/2 in");
        assert_eq!(inches(76.1), "3 in");
        assert_eq!(inches(0.1), "0 in");
        assert_eq!(inches(-25.4 / 64.0), "-1/64 in");
    }

    #[test]
    fn lists_read_as_spoken() {
        let words = |n: usize| (1..=n).map(|k| k.to_string()).collect::<Vec<_>>();
        assert_eq!([list(&words(0)), list(&words(1)), list(&words(3))], ["", "1", "1, 2 and 3"]);
        assert_eq!([sentence("fill it"), sentence("Stop!"), sentence("")], ["Fill it.", "Stop!", ""]);
        assert_eq!(short(&"n".repeat(99)).chars().count(), 40);
    }
}
