//! Which known word was probably meant by one that is not known.

/// The candidate that was probably meant by `word`: one that differs in case, spaces, hyphens and other
/// marks only, or else the nearest by typing slips, if it is near, or else the only one that it shortens.
///
/// ```
/// use tubewright::spelling::nearest;
/// assert_eq!(nearest("Half hard", ["soft", "half-hard"]), Some("half-hard"));
/// assert_eq!(nearest("cornres", ["corners", "bends"]), Some("corners"));
/// assert_eq!(nearest("letr", ["letter", "legal"]), Some("letter"));
/// assert_eq!(nearest("colour", ["corners", "bends"]), None);
/// ```
pub fn nearest<'c>(word: &str, candidates: impl IntoIterator<Item = &'c str>) -> Option<&'c str> {
    let word = word.to_lowercase();
    let letters = letters_of(&word);
    let near = (word.chars().count() / 3).max(1);
    let candidates: Vec<&str> = candidates.into_iter().collect();
    let by_slips = candidates
        .iter()
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
        .map(|(_, candidate)| *candidate);
    by_slips.or_else(|| {
        let mut shortened = candidates.iter().copied().filter(|known| shortens(&letters, &letters_of(known)));
        shortened.next().filter(|_| shortened.next().is_none())
    })
}

/// Fewest letters of a word that is short for another.
const SHORTEST: usize = 3;

/// Whether a word is another with letters left out behind the first: at least half of them are there.
fn shortens(short: &str, whole: &str) -> bool {
    let (count, of) = (short.chars().count(), whole.chars().count());
    let mut left = whole.chars();
    count >= SHORTEST
        && 2 * count >= of
        && short.chars().next() == whole.chars().next()
        && short.chars().all(|letter| left.any(|other| other == letter))
}

fn letters_of(word: &str) -> String {
    word.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect()
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
    fn a_word_with_letters_left_out_is_recognised() {
        let papers = ["a4", "letter", "legal", "tabloid"];
        for (typed, meant) in [("letr", "letter"), ("Ltter", "letter"), ("tbld", "tabloid"), ("lgl", "legal")]
        {
            assert_eq!(nearest(typed, papers), Some(meant), "{typed}");
        }
        // Two letters say too little, and so do three of eight.
        for typed in ["le", "ta", "tab"] {
            assert_eq!(nearest(typed, papers), None, "{typed}");
        }
        assert_eq!(nearest("tnk", ["tank-a", "tink-b"]), None, "either may be meant");
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
