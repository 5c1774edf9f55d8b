//! The mark of a plan: six letters in every file, by which files of one plan are told from those of another.

use sha2::{Digest, Sha256};

/// Letters of a mark: no vowels, so that it is no word, and none that is taken for another.
const LETTERS: &[u8; 20] = b"BCDFGHJKLMNPRSTVWXYZ";

/// How many letters a mark has: two of sixty-four million are alike by chance only.
const LENGTH: usize = 6;

/// Endings of files that have a mark.
pub const ENDINGS: [&str; 7] = ["csv", "dxf", "json", "pdf", "step", "stl", "svg"];

/// Stands in front of the mark where a format has no place of its own for it.
const WORDS: &str = "plan mark ";

/// The mark of what a plan is made from: the spec's text, then the contents of files it names; and of this
/// version of the program.
pub fn of<'p>(parts: impl IntoIterator<Item = &'p [u8]>) -> String {
    let mut hash = Sha256::new();
    hash.update(concat!(env!("CARGO_PKG_NAME"), " ", env!("CARGO_PKG_VERSION")));
    for part in parts {
        // With its length, so that no two lists of parts are one text.
        hash.update((part.len() as u64).to_le_bytes());
        hash.update(part);
    }
    let mut number =
        hash.finalize().iter().take(8).fold(0_u64, |number, byte| number << 8 | u64::from(*byte));
    let letters = LETTERS.len() as u64;
    let letter = |_| {
        let letter = LETTERS[(number % letters) as usize];
        number /= letters;
        char::from(letter)
    };
    (0..LENGTH).map(letter).collect()
}

/// The mark in words, as files have it.
pub(super) fn words(mark: &str) -> String {
    format!("{WORDS}{mark}")
}

/// The mark of a file of this program, by its name and its first and last bytes (64 KiB are enough); none of
/// any other file.
pub fn found(name: &str, first: &[u8], last: &[u8]) -> Option<String> {
    match name.rsplit_once('.').map(|(_, ending)| ending) {
        Some("csv") => in_column(first),
        Some("json") => behind(first, "\"mark\": \""),
        Some(ending) if ENDINGS.contains(&ending) => behind(first, WORDS).or_else(|| behind(last, WORDS)),
        _ => None,
    }
}

/// The first mark that stands behind these words.
fn behind(bytes: &[u8], words: &str) -> Option<String> {
    let words = words.as_bytes();
    let at =
        |at: usize| bytes.get(at..at + LENGTH).filter(|letters| letters.iter().all(|l| LETTERS.contains(l)));
    bytes
        .windows(words.len())
        .enumerate()
        .filter(|(_, window)| *window == words)
        .find_map(|(start, _)| at(start + words.len()))
        .map(|letters| String::from_utf8_lossy(letters).into_owned())
}

/// The mark in the first row of a table.
fn in_column(bytes: &[u8]) -> Option<String> {
    let mut rows = csv::ReaderBuilder::new().from_reader(bytes);
    let column = rows.headers().ok()?.iter().position(|name| name == super::csv::MARK)?;
    rows.records().next()?.ok()?.get(column).map(str::to_owned)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn six_letters_that_change_with_what_is_marked() {
        let mark = of([&b"format: 1"[..]]);
        assert!(mark.len() == 6 && mark.bytes().all(|l| LETTERS.contains(&l)), "{mark}");
        assert_eq!(of([&b"format: 1"[..]]), mark);
        let others = [of([&b"format: 1\n"[..]]), of([&b"format: 1"[..], b""]), of([&b"format"[..], b": 1"])];
        assert!(others.iter().all(|other| *other != mark), "{mark} {others:?}");
        // Worked apart: the first eight bytes of the SHA-256 of the program's words, the length and the text.
        assert_eq!(mark, "RLNLWZ");
    }

    #[test]
    fn only_six_of_the_letters_are_a_mark() {
        let first = b"plan mark middle, plan mark BCDFGA, plan mark ZZZZZZ, plan mark BCDFGH";
        assert_eq!(found("a.step", first, b""), Some("ZZZZZZ".to_owned()));
        assert_eq!(found("a.pdf", b"", b"(plan mark BCDFGH)"), Some("BCDFGH".to_owned()));
        assert_eq!(found("a.txt", first, b""), None);
        assert_eq!(
            found("a.json", b"{\"mark\": \"middle\", \"mark\": \"BCDFGH\"}", b""),
            Some("BCDFGH".to_owned())
        );
        assert_eq!(found("a.csv", b"run,plan_mark\r\na,BCDFGH\r\n", b""), Some("BCDFGH".to_owned()));
        assert_eq!(found("a.csv", b"run\r\na\r\n", b""), None);
        assert_eq!(found("a.stl", b"plan mark BCD", b""), None);
    }
}
