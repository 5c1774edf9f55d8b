//! A bend's card: everything to make one bend, the numbers that are worked by in large letters.

use super::bench::{Bench, BenchBend};
use super::layout::{BODY, Block, HEAD, Ink, KEY, LEADING, TICK, lines, wide};
use super::pictures::{TURN_MM, turn, turn_words};
use crate::drawing::item::{Across, Role};
use crate::drawing::numbers::{degrees, dial, inches, mm, short, signed, tenths};

/// From this width on everything stands in one row, mm.
pub(super) const ONE_ROW: f64 = 170.0;
/// Capitals of the angle to pull to, mm.
const PULL: f64 = 7.0;
/// Width of the bend's number, mm.
const NUMBER: f64 = 15.0;
/// Height of a row with marks alone, mm.
const MARKS_HIGH: f64 = 25.0;
/// Height of a row with the picture of the turn, mm.
const TURN_HIGH: f64 = 29.4;

/// The card of a bend.
pub(super) fn card(bench: &Bench<'_>, bend: &BenchBend<'_>, width: f64, in_inches: bool) -> Block {
    let mut ink = Ink::new();
    let one_row = width >= ONE_ROW;
    let high = if one_row { TURN_HIGH } else { MARKS_HIGH + TURN_HIGH };
    let mut down = number_and_marks(&mut ink, bench, bend, in_inches, (width, one_row, high));
    let (x, top) = if one_row { (84.5, 0.0) } else { (NUMBER + 2.0, MARKS_HIGH) };
    turning(&mut ink, bench, bend, x, top);
    let pull = if one_row { 146.0 } else { NUMBER + 66.0 };
    pulling(&mut ink, bend, pull, top);
    for x in if one_row { vec![48.0, 83.0, 144.0] } else { vec![] } {
        ink.line(Role::Dimension, (x, 0.0), (x, down));
    }
    if !one_row {
        ink.line(Role::Dimension, (NUMBER, MARKS_HIGH), (width, MARKS_HIGH));
    }
    ink.line(Role::Dimension, (NUMBER, down), (width, down));
    down = pairs(&mut ink, &particulars(bench, bend), NUMBER + 2.0, down + 1.6, width - 2.0);
    down = ticks(&mut ink, &bench.plan.name, bend, NUMBER + 2.0, down + 1.2, width - 2.0);
    ink.line(Role::Dimension, (NUMBER, 0.0), (NUMBER, down));
    ink.frame(Role::Tangent, 0.0, 0.0, width, down);
    Block::new(ink, down + 2.6)
}

fn number_and_marks(
    ink: &mut Ink,
    bench: &Bench<'_>,
    bend: &BenchBend<'_>,
    in_inches: bool,
    (width, one_row, high): (f64, bool, f64),
) -> f64 {
    let number = bend.bend.number.to_string();
    ink.anchored(NUMBER / 2.0, 2.4, BODY, false, Across::Middle, "bend");
    let size = if number.len() > 2 { HEAD } else { 8.0 };
    ink.anchored(NUMBER / 2.0, 8.6, size, true, Across::Middle, &number);
    let columns = if one_row {
        (NUMBER + 2.0, 50.0, 31.5)
    } else {
        let half = (width - NUMBER) / 2.0;
        (NUMBER + 2.0, NUMBER + half + 2.0, half - 4.0)
    };
    let mut mark = |x: f64, caption: &str, value: f64| {
        ink.wrapped(x, 2.4, BODY, false, columns.2, caption);
        let words = tenths(value);
        // A coil's marks, beyond 10 m, leave no room for the unit.
        let size = if wide(&words, KEY, true) <= columns.2 { KEY } else { HEAD };
        ink.words(x, 13.0, size, true, &words);
        let unit = wide(&words, size, true) + 1.2;
        if unit + wide("mm", BODY, false) <= columns.2 {
            ink.words(x + unit, 13.0 + size - BODY, BODY, false, "mm");
        }
        if in_inches {
            ink.words(x, 20.6, BODY, false, &inches(value));
        }
    };
    mark(columns.0, &format!("mark, from the {}", bench.end()), bend.marks.mark_mm);
    match bend.before {
        Some(before) => {
            let caption = format!("or from the real end of bend {before}");
            mark(columns.1, &caption, bend.marks.from_last_end_mm);
        }
        None => {
            ink.wrapped(columns.1, 2.4, BODY, false, columns.2, "first bend: measure from the tube's end");
        }
    }
    high
}

fn turning(ink: &mut Ink, bench: &Bench<'_>, bend: &BenchBend<'_>, x: f64, top: f64) {
    ink.put(&turn(bend).0, x - 1.0, top + 0.8);
    let at = x + TURN_MM - 2.4;
    let (amount, way) = turn_words(bend);
    let Some(_) = bend.before else {
        for (index, line) in ["first bend:", "any way up;", "dial to 0.0°"].iter().enumerate() {
            ink.words(at, top + 7.0 + LEADING * BODY * index as f64, BODY, index == 2, line);
        }
        return;
    };
    ink.words(at, top + 2.4, BODY, false, "turn the tube");
    ink.words(at, top + 8.0, 5.0, true, &amount);
    ink.words(at, top + 15.2, BODY, true, way);
    let seen = if bench.other { "from other end" } else { "from datum end" };
    ink.words(at, top + 20.1, BODY, false, seen);
    ink.words(at, top + 25.4, BODY, true, &format!("dial to {}", dial(bend.dial)));
}

fn pulling(ink: &mut Ink, bend: &BenchBend<'_>, x: f64, top: f64) {
    ink.words(x, top + 2.4, BODY, false, "pull to");
    ink.words(x, top + 9.0, PULL, true, &degrees(bend.bend.pull_to_deg));
    let rest = [
        format!("gives {}", degrees(bend.bend.angle_deg)),
        format!("(included {})", degrees(bend.bend.included_angle_deg)),
    ];
    for (index, line) in rest.iter().enumerate() {
        ink.words(x, top + 20.0 + LEADING * BODY * index as f64, BODY, false, line);
    }
}

/// What else is known of a bend: a word, and its number in bold.
fn particulars(bench: &Bench<'_>, bend: &BenchBend<'_>) -> Vec<(String, String)> {
    let (plan, marks) = (bend.bend, bend.marks);
    let mut all: Vec<(String, String)> = Vec::new();
    let mut add = |word: &str, value: String| all.push((word.to_owned(), value));
    add("bend starts", tenths(marks.start_mm));
    add("middle", tenths(marks.middle_mm));
    add("ends", tenths(marks.end_mm));
    if let Some((from, to)) = bend.anneal {
        add("anneal", format!("{} to {}", tenths(from), tenths(to)));
    }
    if let Some([centre, back, inside]) = bend.square {
        let from =
            bend.before.map_or("leg, tube's end to".to_owned(), |n| format!("leg, end of bend {n} to"));
        add(&from, format!("centre {}, back {}, inside {}", tenths(centre), tenths(back), tenths(inside)));
    }
    add("radius", tenths(plan.clr_mm));
    if plan.springback_source == "unknown" {
        add("springback", "not known, none added".to_owned());
    } else {
        let source = if plan.springback_source == "predicted" { "predicted" } else { "by test bends" };
        add("springback", format!("{} {source}", degrees(plan.springback_deg)));
    }
    add("outer strain", format!("{} %", tenths(plan.outer_strain * 100.0)));
    add("wall there", format!("{:.2}", plan.outer_wall_mm));
    if bend.before.is_some() || !bench.other {
        add("table rotation", signed(marks.rotation_deg));
    }
    all
}

/// Words and numbers in lines, none of them parted where it fits a line.
fn pairs(ink: &mut Ink, all: &[(String, String)], left: f64, down: f64, right: f64) -> f64 {
    let (mut x, mut y) = (left, down);
    for (word, value) in all {
        let gap = 1.4;
        let long = wide(word, BODY, false) + gap + wide(value, BODY, true);
        if x > left && x + long > right {
            (x, y) = (left, y + LEADING * BODY);
        }
        if left + long <= right {
            ink.words(x, y, BODY, false, word);
            ink.words(x + wide(word, BODY, false) + gap, y, BODY, true, value);
            x += long + 5.0;
        } else {
            y = ink.wrapped(left, y, BODY, false, right - left, &format!("{word} {value}"));
            x = left;
        }
    }
    if x > left { y + LEADING * BODY } else { y }
}

/// Boxes to tick while the bend is made, and room for what came out.
fn ticks(ink: &mut Ink, run: &str, bend: &BenchBend<'_>, left: f64, down: f64, right: f64) -> f64 {
    // Templates carry the run's name, and so does this page: what is left is the plane.
    let plane = bend.template.strip_prefix(run).map_or(bend.template.as_str(), str::trim);
    let on = if plane.is_empty() {
        "on the template".to_owned()
    } else {
        format!("on template, {}", short(plane))
    };
    let mut x = left;
    let mut y = down;
    let line = TICK + 1.8;
    for words in ["set", "turned", "pulled", on.as_str()] {
        let room = right - left - TICK - 1.4;
        let set = lines(words, room, BODY, false);
        let long = TICK + 1.2 + set.iter().map(|l| wide(l, BODY, false)).fold(0.0, f64::max);
        if x > left && x + long > right {
            (x, y) = (left, y + line);
        }
        ink.tick(x, y);
        for (index, words) in set.iter().enumerate() {
            ink.words(x + TICK + 1.2, y + 0.9 + LEADING * BODY * index as f64, BODY, false, words);
        }
        y += LEADING * BODY * (set.len() - 1) as f64;
        x += long + 3.0;
    }
    for (words, room) in [("got", 11.0), ("ends at", 14.0)] {
        let unit = if words == "got" { "°" } else { "mm" };
        let start = wide(words, BODY, false) + 1.0;
        let long = start + room + 1.0 + wide(unit, BODY, false);
        if x > left && x + long > right {
            (x, y) = (left, y + line);
        }
        ink.words(x, y + 0.9, BODY, false, words);
        ink.line(Role::Dimension, (x + start, y + 4.4), (x + start + room, y + 4.4));
        ink.words(x + start + room + 1.0, y + 0.9, BODY, false, unit);
        x += long + 3.0;
    }
    y + line
}

/// Heads the other order's table, and says in it what a card would.
pub(super) fn other_row(bend: &BenchBend<'_>) -> [String; 7] {
    let (amount, way) = turn_words(bend);
    let turn = if bend.before.is_none() { "first, any way up".to_owned() } else { format!("{amount} {way}") };
    [
        bend.bend.number.to_string(),
        tenths(bend.marks.mark_mm),
        if bend.before.is_some() { tenths(bend.marks.from_last_end_mm) } else { String::new() },
        turn,
        dial(bend.dial),
        format!("{} to {}", tenths(bend.marks.start_mm), tenths(bend.marks.end_mm)),
        degrees(bend.bend.pull_to_deg),
    ]
}

/// A length with what it is in inches where the spec is in inches.
pub(super) fn length(value: f64, in_inches: bool) -> String {
    if in_inches { format!("{} ({})", mm(value), inches(value)) } else { mm(value) }
}
