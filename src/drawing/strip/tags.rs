//! Short words on the strip itself, where there is room: they stay when the rest is cut away.

use std::f64::consts::FRAC_PI_2;

use super::model::{Strip, StripBend};
use crate::drawing::extents::Rect;
use crate::drawing::item::{Across, Drawing, ItemShape, Point, Role, Text, Vertical};
use crate::drawing::numbers::{dial, tenths};
use crate::drawing::text::{Weight, text_box};

/// Height of capitals, mm.
const HEIGHT: f64 = 1.6;

/// From a line to the words beside it, mm: descenders and accents stay clear of it.
const OFF: f64 = 1.2;

/// From one place that is tried to the next, mm.
const STEP: f64 = 1.0;

/// The words along the whole strip come again after this, mm.
const AGAIN: f64 = 160.0;

/// The room taken on a part of the strip.
struct FreeRoom {
    bounds: Rect,
    taken: Vec<Rect>,
}

impl FreeRoom {
    fn free(&self, text: &Text) -> Option<Rect> {
        let bounds = Rect::around(text_box(text, Weight::Regular))?;
        let clear = bounds.grown(0.4);
        (self.bounds.holds(&bounds) && !self.taken.iter().any(|t| t.overlaps(&clear))).then_some(bounds)
    }

    /// Draws the first of the texts that has room.
    fn place(&mut self, drawing: &mut Drawing, texts: impl Iterator<Item = Text>) {
        let mut texts = texts;
        if let Some((text, bounds)) = texts.find_map(|text| self.free(&text).map(|bounds| (text, bounds))) {
            // Two texts side by side must not read as one.
            self.taken.push(bounds.grown(1.0));
            drawing.add(Role::Note, ItemShape::Text(text));
        }
    }
}

fn text(at: Point, angle: f64, content: &str) -> Text {
    let (across, upright) = (Across::Left, Vertical::Baseline);
    Text { at, height: HEIGHT, angle, across, upright, content: content.to_owned() }
}

/// Numbers from `from` to `to` in steps.
fn steps(from: f64, to: f64) -> impl Iterator<Item = f64> {
    let count = ((to - from) / STEP).floor().clamp(-1.0, 500.0);
    // 500 at most.
    std::iter::successors(Some(0.0), |n| Some(n + 1.0))
        .take_while(move |&n| n <= count)
        .map(move |n| from + n * STEP)
}

/// Places for words along a line from `from` to `to` at height `y`: above it, then below; the longest words
/// that find one are taken.
fn beside(words: Vec<String>, (from, to): (f64, f64), y: f64) -> impl Iterator<Item = Text> {
    words.into_iter().flat_map(move |words| {
        [y + OFF, y - OFF - HEIGHT].into_iter().flat_map(move |y| {
            let words = words.clone();
            steps(from + OFF, to).map(move |x| text(Point::new(x, y), 0.0, &words))
        })
    })
}

/// Words right before a line along the strip, level with it.
fn before(words: &str, from: f64, y: f64) -> Text {
    let text = text(Point::new(from - OFF, y), 0.0, words);
    Text { across: Across::Right, upright: Vertical::Middle, ..text }
}

/// Places for words up a line across the strip: to its right, then to its left, from the lower edge up.
fn up(words: &[String], x: f64, height: f64) -> impl Iterator<Item = Text> {
    words.iter().flat_map(move |words| {
        [x + OFF + HEIGHT, x - OFF]
            .into_iter()
            .flat_map(move |x| steps(0.6, height).map(move |y| text(Point::new(x, y), FRAC_PI_2, words)))
    })
}

/// The words on the part of a strip from `low` to `high`. `below` are the places where leaders cross the
/// glue flap.
pub(crate) fn tags(strip: &Strip, (low, high): (f64, f64), below: &[f64]) -> Drawing {
    let mut drawing = Drawing::new();
    let (from, to) = (low.max(0.0), high.min(strip.length));
    if from >= to {
        return drawing;
    }
    let bounds = Rect::new(Point::new(from, 0.0), Point::new(to, strip.height)).grown(-0.5);
    let mut room = FreeRoom { bounds, taken: taken(strip) };
    let seen: Vec<&StripBend> = strip
        .bends
        .iter()
        .filter(|b| b.made.arc.end().max(b.mark()) >= from && b.lead.min(b.mark()) <= to)
        .collect();
    for bend in &seen {
        room.place(
            &mut drawing,
            up(&[format!("{} MARK", bend.number()), format!("{}", bend.number())], bend.mark(), strip.height),
        );
    }
    side_up(&mut drawing, &mut room, strip, (from, to));
    for bend in &seen {
        let (number, clock) = (bend.number(), dial(bend.inside().degrees()));
        let full = format!("inside of bend {number}, {clock}");
        let short =
            vec![format!("inside {number}, {clock}"), format!("inside {number}"), format!("{number}")];
        let (part, y) = ((bend.lead.max(from), bend.made.arc.end().min(to)), strip.at_inside(bend));
        let ahead = before(&full, bend.lead, y);
        room.place(&mut drawing, beside(vec![full], part, y).chain([ahead]).chain(beside(short, part, y)));
    }
    for bend in &seen {
        for (x, words) in bend.stations().into_iter().zip(["start", "middle", "end"]) {
            room.place(&mut drawing, up(&[format!("{} {words}", bend.number())], x, strip.height));
        }
        if let Some(zone) = bend.made.anneal {
            let (number, a, b) = (bend.number(), zone.from, zone.to);
            let ways = vec![
                format!("anneal for bend {number}: {} to {}", tenths(a), tenths(b)),
                format!("anneal {number}"),
            ];
            let heights: Vec<f64> = steps(1.0, strip.height).collect();
            let places = heights.into_iter().flat_map(|y| beside(ways.clone(), (a.max(from), b.min(to)), y));
            room.place(&mut drawing, places);
        }
    }
    for (x, trim) in strip.cuts() {
        let words = if trim { "trim" } else { "insert to here" };
        room.place(&mut drawing, up(&[words.to_owned()], x, strip.height));
    }
    glue(&mut drawing, strip, (from, to), below);
    drawing
}

/// Lines that words on the strip keep off.
fn taken(strip: &Strip) -> Vec<Rect> {
    let line = |x: f64| Rect::new(Point::new(x, 0.0), Point::new(x, strip.height)).grown(0.2);
    let along = |from: f64, to: f64, y: f64| Rect::new(Point::new(from, y), Point::new(to, y)).grown(0.2);
    let mut taken = vec![along(0.0, strip.length, strip.at_clock(0.0))];
    for bend in &strip.bends {
        taken.extend(bend.stations().into_iter().chain([bend.mark()]).map(line));
        taken.push(along(bend.lead, bend.made.arc.end(), strip.at_inside(bend)));
        taken.extend(bend.made.anneal.into_iter().flat_map(|zone| [line(zone.from), line(zone.to)]));
    }
    taken.extend(strip.cuts().into_iter().map(|cut| line(cut.0)));
    let [near, far] = strip.ends;
    for (from, to) in [(0.0, near.waste), (strip.length - far.waste, strip.length)] {
        if to > from {
            taken.push(Rect::new(Point::new(from, 0.0), Point::new(to, strip.height)));
        }
    }
    taken
}

/// Says every now and then what the line along the whole strip is.
fn side_up(drawing: &mut Drawing, room: &mut FreeRoom, strip: &Strip, (from, to): (f64, f64)) {
    let mut ways = vec!["this side up".to_owned(), "up".to_owned()];
    if let Some(first) = strip.bends.first() {
        ways.insert(0, format!("this side up: inside of bend {}, 0°", first.number()));
    }
    let parts = ((to - from) / AGAIN).ceil().clamp(1.0, 1000.0);
    let mut done = 0.0;
    // 1000 parts at most.
    while done < parts {
        let at = |n: f64| from + (to - from) * n / parts;
        room.place(drawing, beside(ways.clone(), (at(done), at(done + 1.0)), strip.at_clock(0.0)));
        done += 1.0;
    }
}

/// Words on the glue flap, off the leaders that cross it.
fn glue(drawing: &mut Drawing, strip: &Strip, (from, to): (f64, f64), below: &[f64]) {
    let bounds = Rect::new(Point::new(from, -strip.flap), Point::new(to, 0.0)).grown(-0.3);
    let line = |&x: &f64| Rect::new(Point::new(x, -strip.flap), Point::new(x, 0.0)).grown(0.2);
    let mut room = FreeRoom { bounds, taken: below.iter().map(line).collect() };
    let ways = vec!["glue: goes under the other edge".to_owned(), "glue".to_owned()];
    let parts = ((to - from) / AGAIN).ceil().clamp(1.0, 1000.0);
    let mut done = 0.0;
    // 1000 parts at most.
    while done < parts {
        let at = |n: f64| from + (to - from) * n / parts;
        let y = -strip.flap / 2.0 - OFF - HEIGHT / 2.0;
        room.place(drawing, beside(ways.clone(), (at(done), at(done + 1.0)), y));
        done += 1.0;
    }
}
