//! A bend's card: everything to make one bend, the numbers that are worked by in large letters.

use super::bench::{Bench, BenchBend};
use super::pictures::{TURN_MM, turn, turn_words};
use crate::drawing::item::{Across, Role};
use crate::drawing::numbers::{degrees, dial, inches, mm, short, tenths};
use crate::drawing::page::flow::{BODY, Cell, FINE, HEAD, Ink, KEY, LEADING, PageBlock, TICK, lines, wide};
use crate::plan::SpringbackSource;

/// From this width on everything stands in one row, mm.
pub(super) const ONE_ROW: f64 = 170.0;
/// The smallest capitals of a mark, mm: it is read from where one bends.
const LEAST_KEY: f64 = 5.0;
/// Capitals of the angle to pull to, mm.
const PULL: f64 = 6.4;
/// Width of the bend's number, mm.
const NUMBER: f64 = 11.0;
/// Width of a cell with a mark, mm.
const MARK: f64 = 32.5;
/// Width of the cell with the turn, mm.
const TURNED: f64 = 56.5;
/// Width of the cell with the angle to pull to, mm.
const PULLED: f64 = 30.5;
/// Height of a row, mm.
const ROW: f64 = 22.8;
/// Height of a row with marks in inches as well, mm.
const INCH_ROW: f64 = 24.0;

/// The card of a bend. `alike`: what is known of how it comes out is said at the head, for all bends.
pub(super) fn card(
    bench: &Bench<'_>,
    bend: &BenchBend<'_>,
    width: f64,
    in_inches: bool,
    alike: bool,
) -> PageBlock {
    let mut ink = Ink::new();
    let one_row = width >= ONE_ROW;
    let high = if in_inches { INCH_ROW } else { ROW };
    let half = (width - NUMBER) / 2.0;
    let cell = if one_row { MARK } else { half };
    number_and_marks(&mut ink, bench, bend, in_inches, cell);
    let (left, top) = if one_row { (NUMBER + 2.0 * MARK, 0.0) } else { (NUMBER, high) };
    let down = top + high;
    turning(&mut ink, bend, left, top);
    pulling(&mut ink, bend, left + TURNED, top);
    checking(&mut ink, &bench.plan.name, bend, (left + TURNED + PULLED, width), top);
    for x in [left + TURNED, left + TURNED + PULLED] {
        ink.line(Role::Dimension, (x, top), (x, down));
    }
    if one_row {
        ink.line(Role::Dimension, (left, 0.0), (left, down));
    } else {
        ink.line(Role::Dimension, (NUMBER, high), (width, high));
    }
    ink.line(Role::Dimension, (NUMBER + cell, 0.0), (NUMBER + cell, high));
    ink.line(Role::Dimension, (NUMBER, down), (width, down));
    let down =
        pairs(&mut ink, &particulars(bench, bend, alike, in_inches), NUMBER + 2.0, down + 1.5, width - 1.0);
    ink.line(Role::Dimension, (NUMBER, 0.0), (NUMBER, down));
    ink.frame(Role::Tangent, 0.0, 0.0, width, down);
    PageBlock::new(ink, down + 1.5)
}

/// A box to tick in the upper right corner of a cell.
fn corner_tick(ink: &mut Ink, right: f64, top: f64) {
    ink.tick(right - TICK - 1.2, top + 1.2);
}

fn number_and_marks(ink: &mut Ink, bench: &Bench<'_>, bend: &BenchBend<'_>, in_inches: bool, cell: f64) {
    let number = bend.bend.number.to_string();
    ink.anchored(NUMBER / 2.0, 1.8, BODY, false, Across::Middle, "bend");
    let fits = |size: &f64| wide(&number, *size, true) <= NUMBER - 1.5;
    let size = [8.0, KEY].into_iter().find(fits).unwrap_or(HEAD);
    ink.anchored(NUMBER / 2.0, 8.0, size, true, Across::Middle, &number);
    let room = cell - 3.0;
    let mut mark = |x: f64, caption: &[&str], value: f64| {
        for (index, line) in caption.iter().enumerate() {
            ink.words(x, 1.8 + LEADING * BODY * index as f64, BODY, false, line);
        }
        let words = tenths(value);
        let long = |(size, unit): &(f64, f64)| wide(&words, *size, true) + 1.2 + wide("mm", *unit, false);
        let fits = |sizes: &(f64, f64)| long(sizes) <= room;
        // A coil's marks, beyond 10 m, leave no room for the unit.
        let sizes = [(KEY, BODY), (KEY, FINE), (LEAST_KEY, FINE)].into_iter().find(fits);
        let alone = if wide(&words, KEY, true) <= room { KEY } else { HEAD };
        let size = sizes.map_or(alone, |(size, _)| size);
        ink.words(x, 12.4, size, true, &words);
        if let Some((size, unit)) = sizes {
            ink.words(x + wide(&words, size, true) + 1.2, 12.4 + size - unit, unit, false, "mm");
        }
        if in_inches {
            ink.words(x, 19.8, BODY, false, &inches(value));
        }
    };
    mark(NUMBER + 2.0, &["mark, from", bench.end()], bend.made.feed.mark);
    let next = NUMBER + cell + 2.0;
    match bend.before {
        Some(before) => {
            mark(next, &["or from real", &format!("end of bend {before}")], bend.made.feed.from_last_end);
        }
        None => {
            ink.wrapped(next, 1.8, BODY, false, room, "first bend: none before it");
            ink.words(next, 12.4, KEY, true, "–");
        }
    }
    corner_tick(ink, NUMBER + cell, 0.0);
}

fn turning(ink: &mut Ink, bend: &BenchBend<'_>, x: f64, top: f64) {
    ink.put(&turn(bend).0, x + 0.5, top + 0.6);
    corner_tick(ink, x + TURNED, top);
    let at = x + TURN_MM + 1.5;
    let (amount, way) = turn_words(bend);
    if bend.before.is_none() {
        for (index, line) in ["first bend:", "any way up;", "dial to 0.0°"].iter().enumerate() {
            ink.words(at, top + 1.8 + 6.0 * index as f64, BODY, index == 2, line);
        }
        return;
    }
    ink.words(at, top + 1.8, BODY, false, "turn the tube");
    ink.words(at, top + 7.3, 5.0, true, &amount);
    ink.words(at, top + 13.9, BODY, true, way);
    ink.words(at, top + 18.7, BODY, true, &format!("dial to {}", dial(bend.made.turn.inside.degrees())));
}

fn pulling(ink: &mut Ink, bend: &BenchBend<'_>, left: f64, top: f64) {
    let x = left + 2.0;
    ink.words(x, top + 1.8, BODY, false, "pull to");
    corner_tick(ink, left + PULLED, top);
    let pulled = degrees(bend.made.pull.angle.to_degrees());
    ink.words(x, top + 8.0, PULL, true, &pulled);
    if let Some(band) = bend.bend.springback_band {
        let (words, at) = (format!("± {}", degrees(band.to_degrees())), wide("pull to", BODY, false) + 1.4);
        let room = PULLED - TICK - 1.6 - at - 2.0;
        let size = if wide(&words, BODY, true) <= room { BODY } else { FINE };
        ink.words(x + at, top + 1.8 + BODY - size, size, true, &words);
    }
    ink.words(x, top + 17.8, BODY, false, &format!("gives {}", degrees(bend.bend.angle.to_degrees())));
}

/// The advice on predicted angles, said once for a run; none where none is predicted.
pub(super) fn pulling_words(bench: &Bench<'_>) -> Option<&'static str> {
    bench
        .plan
        .is_predicted()
        .then_some("± is predicted: pull first to its low end, let go, look, pull on, never past the angle.")
}

/// The template to lay the bend on, and room for what came out.
fn checking(ink: &mut Ink, run: &str, bend: &BenchBend<'_>, (left, right): (f64, f64), top: f64) {
    let x = left + 2.0;
    corner_tick(ink, right, top);
    // Templates carry the run's name, and so does this page: what is left is the plane.
    let plane = bend.template.strip_prefix(run).map_or(bend.template.as_str(), str::trim);
    ink.words(x, top + 1.8, BODY, false, "template");
    let room = right - 1.5 - x;
    if let Some(plane) = lines(&short(plane), room, BODY, false).first() {
        ink.words(x, top + 6.4, BODY, false, plane);
    }
    for (words, unit, down) in [("got", "°", 12.4), ("ends", "", 17.6)] {
        let start = wide(words, BODY, false) + 1.0;
        let end = room - wide(unit, BODY, false) - 0.5;
        ink.words(x, top + down, BODY, false, words);
        ink.line(Role::Dimension, (x + start, top + down + 3.2), (x + end, top + down + 3.2));
        ink.words(x + end + 0.5, top + down, BODY, false, unit);
    }
}

/// Whether all bends share radius, wall and where their springback comes from: said once, at the head.
pub(super) fn all_alike(bench: &Bench<'_>) -> bool {
    bench.bends.windows(2).all(|two| outcome(&two[0]) == outcome(&two[1]))
}

/// Sizes of a finished bend: a word, and its number.
pub(super) fn outcome(bend: &BenchBend<'_>) -> Vec<(String, String)> {
    let plan = bend.bend;
    let springback = match plan.springback_source {
        SpringbackSource::Unknown => "not known, none added",
        SpringbackSource::Predicted => "predicted",
        SpringbackSource::TestBends => "by test bends",
    };
    let section = &plan.estimate;
    let mut estimate = format!(
        "{}, {} % oval (8 is good), wall {:.2} back {:.2} inside",
        if section.filled { "filled" } else { "empty" },
        tenths(section.ovality * 100.0),
        section.outer_wall,
        section.inner_wall
    );
    if let Some(moment) = plan.moment {
        estimate += &format!(", {moment:.0} Nm");
    }
    if let Some(force) = plan.lever_force {
        estimate += &format!(", pull {force:.0} N");
    }
    vec![
        ("radius".to_owned(), tenths(plan.clr)),
        ("springback".to_owned(), springback.to_owned()),
        ("outer strain".to_owned(), format!("{} %", tenths(plan.outer_strain * 100.0))),
        ("estimate:".to_owned(), estimate),
    ]
}

/// Other sizes of a bend: a word, and its number in bold.
fn particulars(
    bench: &Bench<'_>,
    bend: &BenchBend<'_>,
    alike: bool,
    in_inches: bool,
) -> Vec<(String, String)> {
    let arc = bend.made.arc;
    // A rule reads these: in inches where the marks are.
    let ruled =
        |value| if in_inches { format!("{} ({})", tenths(value), inches(value)) } else { tenths(value) };
    let mut all: Vec<(String, String)> = Vec::new();
    let mut add = |word: &str, value: String| all.push((word.to_owned(), value));
    add("starts", tenths(arc.start));
    add("middle", tenths(arc.middle()));
    add("ends", tenths(arc.end()));
    if let Some(zone) = bend.made.anneal {
        add("anneal", format!("{} to {}", ruled(zone.from), ruled(zone.to)));
    }
    add("included angle", degrees(180.0 - bend.bend.angle.to_degrees()));
    if let Some(centre) = bend.made.leg {
        let half = bench.plan.tube.od / 2.0;
        let (back, inside) = (centre + half, centre - half);
        let from = bend.before.map_or("tube's end".to_owned(), |number| format!("end of bend {number}"));
        add(&format!("leg, {from} to centre"), ruled(centre));
        add("back", ruled(back));
        add("inside", ruled(inside));
    }
    if let (Some(over), Some(before)) = (bend.made.back_to_back, bend.before) {
        all.push((format!("back of bend {before} to back of bend {}", bend.bend.number), ruled(over)));
    }
    if !alike {
        // The band beside the angle says that it is predicted.
        let told = |word: &str| word == "springback" && bend.bend.springback_band.is_some();
        all.extend(outcome(bend).into_iter().filter(|(word, _)| !told(word)));
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
            x += long + 4.0;
        } else {
            y = ink.wrapped(left, y, BODY, false, right - left, &format!("{word} {value}"));
            x = left;
        }
    }
    if x > left { y + LEADING * BODY } else { y }
}

/// A row of the other order's table: what a card would say.
pub(super) fn other_row(bend: &BenchBend<'_>, in_inches: bool) -> Vec<Cell> {
    let long = |value| {
        if in_inches { Cell::Both(tenths(value), inches(value)) } else { Cell::Words(tenths(value)) }
    };
    let (amount, way) = turn_words(bend);
    let turn = if bend.before.is_none() { "first, any way up".to_owned() } else { format!("{amount} {way}") };
    vec![
        Cell::Words(bend.bend.number.to_string()),
        long(bend.made.feed.mark),
        if bend.before.is_some() { long(bend.made.feed.from_last_end) } else { Cell::Blank },
        Cell::Words(turn),
        Cell::Words(dial(bend.made.turn.inside.degrees())),
        Cell::Words(format!("{} to {}", tenths(bend.made.arc.start), tenths(bend.made.arc.end()))),
        Cell::Words(degrees(bend.made.pull.angle.to_degrees())),
    ]
}

/// A length with what it is in inches where the spec is in inches.
pub(super) fn length(value: f64, in_inches: bool) -> String {
    if in_inches { format!("{} ({})", mm(value), inches(value)) } else { mm(value) }
}
