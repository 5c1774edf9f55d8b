//! Which known word was probably meant by one that is not known.

/// The candidate that was probably meant by `word`: one that differs in case, spaces, hyphens and other
/// marks only, or else the nearest by typing slips, if it is near.
///
/// ```
/// use tubewright::spelling::nearest;
/// assert_eq!(nearest("Half hard", ["soft", "half-hard"]), Some("half-hard"));
/// assert_eq!(nearest("cornres", ["corners", "bends"]), Some("corners"));
/// assert_eq!(nearest("colour", ["corners", "bends"]), None);
/// ```
pub fn nearest<'c>(word: &str, candidates: impl IntoIterator<Item = &'c str>) -> Option<&'c str> {
    let word = word.to_lowercase();
    let letters = letters_of(&word);
    let near = (word.chars().count() / 3).max(1);
    candidates
        .into_iter()
        .map(|candidate| {
            let known = candidate.to_lowercase();
            let same = !letters.is_empty() && letters == letters_of(&known);
            let distance = if same { 0 } else { strsim::damerau_levenshtein(&word, &known) };
            // Where no letter is the same there is nothing to guess by.
            let other = distance > 0 && distance >= word.chars().count().max(known.chars().count());
            (if other { usize::MAX } else { distance }, candidate)
        })
        .filter(|(distance, _)| *distance <= near)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}

fn letters_of(word: &str) -> String {
    word.chars().filter(|c| c.is_alphanumeric()).collect()
}

/// "did you mean …?", or the list of the `what` there are.
pub fn advice<'c>(word: &str, what: &str, candidates: impl IntoIterator<Item = &'c str> + Clone) -> String {
    if let Some(meant) = nearest(word, candidates.clone()) {
        return format!("did you mean `{meant}`?");
    }
    // A long list helps nobody at the bench.
    const MOST: usize = 12;
    let all: Vec<&str> = candidates.into_iter().collect();
    match all.len() {
        0 => format!("there are no {what} here"),
        n if n > MOST => format!("{what} here are {} and {} more", all[..MOST].join(", "), n - MOST),
        _ => format!("{what} here are {}", all.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_are_recognised_and_strangers_are_not() {
        let keys = ["corners", "bends", "route"];
        assert_eq!(nearest("cornres", keys), Some("corners"));
        assert_eq!(nearest("Bend", keys), Some("bends"));
        assert_eq!(nearest("colour", keys), None);
        assert_eq!(nearest("w", ["x", "y", "z"]), None);
        assert_eq!(nearest("m", ["mm", "cm", "in"]), Some("mm"));
        assert_eq!(advice("colour", "keys", keys), "keys here are corners, bends, route");
        assert_eq!(advice("bend", "keys", keys), "did you mean `bends`?");
    }

    #[test]
    fn marks_and_case_do_not_count() {
        let names = ["tank-to-pump", "pump-to-tank"];
        for typed in ["tank to pump", "Tank_To_Pump", "tanktopump", "TANK-TO-PUMP"] {
            assert_eq!(nearest(typed, names), Some("tank-to-pump"), "{typed}");
        }
        assert_eq!(nearest("EN1057", ["ASTM B88", "EN 1057"]), Some("EN 1057"));
        assert_eq!(nearest("--", ["-"]), Some("-"));
        assert_eq!(nearest("", ["..."]), None);
    }
}
