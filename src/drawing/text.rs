//! How wide words are: the advance widths of the two faces every writer uses, so that a layout can
//! keep texts apart without drawing them.
//!
//! The faces are Helvetica and Helvetica-Bold, two of the standard 14 fonts that a PDF reader must
//! have (ISO 32000-1, 9.6.2.2), in WinAnsi encoding (its annex D.2).

use super::item::{Across, Point, Role, Text, Vertical};

/// Height of capitals over font size, both faces (Helvetica font metrics: CapHeight 718).
pub const CAP_HEIGHT: f64 = 0.718;

/// How far letters such as g and brackets reach below the baseline, over font size (Descender −207).
pub const DESCENT: f64 = 0.207;

/// Which of the two faces.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    /// Helvetica.
    Regular,
    /// Helvetica-Bold.
    Bold,
}

/// The face of a role's text: titles are bold.
pub fn weight(role: Role) -> Weight {
    if role == Role::Title { Weight::Bold } else { Weight::Regular }
}

/// Font size (mm) that gives capitals of this height (mm).
pub fn font_size(cap_height: f64) -> f64 {
    cap_height / CAP_HEIGHT
}

/// The characters of codes 128 to 159; the other codes from 32 to 255 are those of Latin-1.
#[rustfmt::skip]
const HIGH: [Option<char>; 32] = [
    Some('€'), None, Some('‚'), Some('ƒ'), Some('„'), Some('…'), Some('†'), Some('‡'),
    Some('ˆ'), Some('‰'), Some('Š'), Some('‹'), Some('Œ'), None, Some('Ž'), None,
    None, Some('‘'), Some('’'), Some('“'), Some('”'), Some('•'), Some('–'), Some('—'),
    Some('˜'), Some('™'), Some('š'), Some('›'), Some('œ'), None, Some('ž'), Some('Ÿ'),
];

/// WinAnsi code of a character; `None` if it has none.
pub fn win_ansi(character: char) -> Option<u8> {
    match u32::from(character) {
        code @ (32..=126 | 160..=255) => u8::try_from(code).ok(),
        _ => HIGH.iter().position(|&c| c == Some(character)).and_then(|index| u8::try_from(index + 128).ok()),
    }
}

/// The substitute for a character the faces lack: a plain equivalent where one is common
/// (≤ becomes <=), nothing but a space for a control character, else the code point in brackets,
/// `[U+4E2D]`, which is ugly but neither silent nor ambiguous.
fn substitute(character: char) -> String {
    let plain = match character {
        '≤' => "<=",
        '≥' => ">=",
        '≠' => "<>",
        '≈' => "~",
        '−' | '‐' | '‑' | '‒' => "-",
        '→' => "->",
        '←' => "<-",
        '⌀' => "Ø",
        'π' => "pi",
        'Δ' => "delta ",
        '′' => "'",
        '″' => "\"",
        '\u{2002}'..='\u{200a}' | '\u{202f}' => " ",
        c if c.is_control() => " ",
        c => return format!("[U+{:04X}]", u32::from(c)),
    };
    plain.to_owned()
}

/// The words as the faces can show them; see the module's note on what is replaced.
pub fn printable(words: &str) -> String {
    words.chars().fold(String::with_capacity(words.len()), |mut out, c| {
        if win_ansi(c).is_some() {
            out.push(c);
        } else {
            out.push_str(&substitute(c));
        }
        out
    })
}

/// The words as bytes in WinAnsi encoding.
pub fn encoded(words: &str) -> Vec<u8> {
    printable(words).chars().filter_map(win_ansi).collect()
}

/// Width (mm) of words with capitals of `cap_height` (mm).
pub fn width(words: &str, cap_height: f64, weight: Weight) -> f64 {
    let table = match weight {
        Weight::Regular => &REGULAR,
        Weight::Bold => &BOLD,
    };
    let thousandths: u32 = encoded(words)
        .iter()
        .filter_map(|&code| table.get(usize::from(code).checked_sub(32)?))
        .map(|&w| u32::from(w))
        .sum();
    f64::from(thousandths) / 1000.0 * font_size(cap_height)
}

/// Where the baseline starts, with the words' width taken from the faces' metrics, mm.
pub fn baseline_start(text: &Text, weight: Weight) -> Point {
    let share = match text.across {
        Across::Left => 0.0,
        Across::Middle => 0.5,
        Across::Right => 1.0,
    };
    let back = share * width(&text.content, text.height, weight);
    text.at.polar(-back, text.angle).polar(baseline_rise(text), text.angle + std::f64::consts::FRAC_PI_2)
}

/// How far above the anchor the baseline lies (never positive), mm.
pub fn baseline_rise(text: &Text) -> f64 {
    match text.upright {
        Vertical::Baseline => 0.0,
        Vertical::Middle => -text.height / 2.0,
        Vertical::Top => -text.height,
    }
}

/// The four corners of a text, counter-clockwise from the start of its lower side, descenders and
/// accents on capitals included.
pub fn text_box(text: &Text, weight: Weight) -> [Point; 4] {
    let start = baseline_start(text, weight);
    let up = text.angle + std::f64::consts::FRAC_PI_2;
    let size = font_size(text.height);
    let low = start.polar(-DESCENT * size, up);
    // An accent on a capital reaches to 0.93 of the font size.
    let tall = if text.content.is_ascii() { text.height } else { 0.93 * size } + DESCENT * size;
    let long = width(&text.content, text.height, weight);
    let end = low.polar(long, text.angle);
    [low, end, end.polar(tall, up), low.polar(tall, up)]
}

/// Breaks words into lines no wider than `room` (mm); a single longer word stands alone and may stick out.
pub fn wrapped(words: &str, room: f64, cap_height: f64, weight: Weight) -> Vec<String> {
    wrapped_by(words, |line| width(line, cap_height, weight) <= room)
}

/// The same in lines of at most `most` letters, where all letters are of one width.
pub fn wrapped_letters(words: &str, most: usize) -> Vec<String> {
    wrapped_by(words, |line| line.chars().count() <= most)
}

fn wrapped_by(words: &str, fits: impl Fn(&str) -> bool) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words.split_whitespace() {
        let longer = lines.last().map(|line| format!("{line} {word}")).filter(|line| fits(line));
        match (longer, lines.last_mut()) {
            (Some(longer), Some(line)) => *line = longer,
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// The words cut to `room` (mm) with "…" where something is missing.
pub fn shortened(words: &str, room: f64, cap_height: f64, weight: Weight) -> String {
    if width(words, cap_height, weight) <= room {
        return words.to_owned();
    }
    let ends: Vec<usize> = words.char_indices().map(|(end, _)| end).collect();
    let cut = |end: usize| format!("{}…", words.get(..end).unwrap_or("").trim_end());
    // More letters are never narrower, so the most that fit are found by halving.
    let fitting = ends.partition_point(|&end| width(&cut(end), cap_height, weight) <= room);
    fitting.checked_sub(1).and_then(|last| ends.get(last)).map_or_else(String::new, |&end| cut(end))
}

// Advance widths in thousandths of the font size, codes 32 to 255 in WinAnsi order; 0 where the
// encoding has no character. Adobe's font metrics of the standard 14 fonts; the readers' own copies
// of the faces agree (tests/readback/test_paper.py measures them).
#[rustfmt::skip]
const REGULAR: [u16; 224] = [
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278,
    556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556,
    1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722, 778,
    667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556,
    333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556,
    556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584, 0,
    556, 0, 222, 556, 333, 1000, 556, 556, 333, 1000, 667, 333, 1000, 0, 611, 0,
    0, 222, 222, 333, 333, 350, 556, 1000, 333, 1000, 500, 333, 944, 0, 500, 667,
    278, 333, 556, 556, 556, 556, 260, 556, 333, 737, 370, 556, 584, 333, 737, 333,
    400, 584, 333, 333, 333, 556, 537, 278, 333, 333, 365, 556, 834, 834, 834, 611,
    667, 667, 667, 667, 667, 667, 1000, 722, 667, 667, 667, 667, 278, 278, 278, 278,
    722, 722, 778, 778, 778, 778, 778, 584, 778, 722, 722, 722, 722, 667, 667, 611,
    556, 556, 556, 556, 556, 556, 889, 500, 556, 556, 556, 556, 278, 278, 278, 278,
    556, 556, 556, 556, 556, 556, 556, 584, 611, 556, 556, 556, 556, 500, 556, 500,
];

#[rustfmt::skip]
const BOLD: [u16; 224] = [
    278, 333, 474, 556, 556, 889, 722, 238, 333, 333, 389, 584, 278, 333, 278, 278,
    556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 333, 333, 584, 584, 584, 611,
    975, 722, 722, 722, 722, 667, 611, 778, 722, 278, 556, 722, 611, 833, 722, 778,
    667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 333, 278, 333, 584, 556,
    333, 556, 611, 556, 611, 556, 333, 611, 611, 278, 278, 556, 278, 889, 611, 611,
    611, 611, 389, 556, 333, 611, 556, 778, 556, 556, 500, 389, 280, 389, 584, 0,
    556, 0, 278, 556, 500, 1000, 556, 556, 333, 1000, 667, 333, 1000, 0, 611, 0,
    0, 278, 278, 500, 500, 350, 556, 1000, 333, 1000, 556, 333, 944, 0, 500, 667,
    278, 333, 556, 556, 556, 556, 280, 556, 333, 737, 370, 556, 584, 333, 737, 333,
    400, 584, 333, 333, 333, 611, 556, 278, 333, 333, 365, 556, 834, 834, 834, 611,
    722, 722, 722, 722, 722, 722, 1000, 722, 667, 667, 667, 667, 278, 278, 278, 278,
    722, 722, 778, 778, 778, 778, 778, 584, 778, 722, 722, 722, 722, 667, 667, 611,
    556, 556, 556, 556, 556, 556, 889, 556, 556, 556, 556, 556, 278, 278, 278, 278,
    611, 611, 611, 611, 611, 611, 611, 584, 611, 611, 611, 611, 611, 556, 611, 556,
];

#[cfg(test)]
mod tests {
    use super::*;

    fn words(content: &str, across: Across, upright: Vertical, angle: f64) -> Text {
        Text {
            at: Point::new(100.0, 50.0),
            height: 7.18,
            angle,
            across,
            upright,
            content: content.to_owned(),
        }
    }

    #[test]
    fn widths_are_those_of_the_metrics() {
        // T 611, u 556, b 556, e 556: 2279 thousandths of a 10 mm font.
        assert!((width("Tube", 7.18, Weight::Regular) - 22.79).abs() < 1e-9);
        assert!((width("Tube", 7.18, Weight::Bold) - (6.11 + 6.11 + 6.11 + 5.56)).abs() < 1e-9);
        assert!((width("90°", 7.18, Weight::Regular) - 15.12).abs() < 1e-9);
    }

    #[test]
    fn anchors_put_the_box_where_they_say() {
        let right = text_box(&words("Tube", Across::Right, Vertical::Top, 0.0), Weight::Regular);
        assert!((right[1].x - 100.0).abs() < 1e-9);
        assert!((right[2].y - 50.0).abs() < 1e-9);
        let middle = text_box(&words("Tube", Across::Middle, Vertical::Middle, 0.0), Weight::Regular);
        assert!((middle[0].x - (100.0 - 11.395)).abs() < 1e-9);
        let up = text_box(
            &words("Tube", Across::Left, Vertical::Baseline, std::f64::consts::FRAC_PI_2),
            Weight::Regular,
        );
        assert!((up[1].y - 72.79).abs() < 1e-9);
        assert!((up[3].x - (100.0 - 7.18)).abs() < 1e-9);
    }

    #[test]
    fn what_the_faces_lack_is_shown_not_dropped() {
        assert_eq!(printable("Ø 15 ≤ 16 – Grün 中"), "Ø 15 <= 16 – Grün [U+4E2D]");
        assert_eq!(encoded("°–€"), [0xB0, 0x96, 0x80]);
        assert_eq!(printable("a\u{7}b"), "a b");
        assert!(!encoded("\u{1F600}").contains(&b'?'));
    }

    #[test]
    fn every_code_with_a_character_has_a_width() {
        for code in 32..=255u8 {
            let character = (0..=0xFFFF_u32).filter_map(char::from_u32).find(|&c| win_ansi(c) == Some(code));
            let index = usize::from(code) - 32;
            assert_eq!(character.is_some(), REGULAR[index] > 0, "code {code}");
            assert_eq!(character.is_some(), BOLD[index] > 0, "code {code}");
        }
    }

    #[test]
    fn long_words_are_cut_with_a_sign_and_lines_keep_their_room() {
        let short = shortened("a very long run name indeed", 30.0, 3.0, Weight::Regular);
        assert!(short.ends_with('…') && width(&short, 3.0, Weight::Regular) <= 30.0);
        assert_eq!(shortened("run", 30.0, 3.0, Weight::Regular), "run");
        // As many letters are kept as fit, of 100,000, too: the first that fits of ever fewer.
        let long = "a word, ".repeat(12_500);
        for room in [0.5, 2.0, 7.0, 30.0, 30.7] {
            let fewer = (0..=60).rev().map(|kept| long[..kept].trim_end().to_owned() + "…");
            let fits = |tried: &String| width(tried, 3.0, Weight::Bold) <= room;
            let expected = fewer.into_iter().find(fits).unwrap_or_default();
            assert_eq!(shortened(&long, room, 3.0, Weight::Bold), expected);
        }
        let lines = wrapped("one two three four five six", 20.0, 3.0, Weight::Regular);
        assert!(lines.len() > 1);
        assert!(lines.iter().all(|l| width(l, 3.0, Weight::Regular) <= 20.0));
        assert_eq!(lines.join(" "), "one two three four five six");
    }
}
