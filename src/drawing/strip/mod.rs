//! Wrap strips: full-size paper that goes once round the straight tube and carries every mark of a run along
//! the tube and around it. Printed side out; x from the end that bending begins at; clockwise turns go down.
//!
//! A straight run has a strip only where something is to be trimmed or inserted.

mod columns;
pub(crate) mod figure;
pub(crate) mod legend;
pub(crate) mod model;
mod sheets;
mod tags;
#[cfg(test)]
pub(crate) mod tests;

pub use sheets::{Strips, strip_sheets};

use self::columns::WordColumn;
use self::figure::{BEFORE, BEHIND, lines};
use self::model::{Strip, StripBend};
use super::extents::{Rect, extents};
use super::item::{Drawing, Point, Role};
use super::numbers::{degrees, dial, signed, tenths};
use super::scale::foot;
use super::sheet::furniture::{TitleWords, title_block};
use super::shift::shifted;
use crate::plan::{Plan, RunPlan};
use crate::quantity::trimmed;

/// Room between the words of the whole drawing and the strip, mm.
const BETWEEN: f64 = 6.0;

/// The strip of a run in one piece, with scale bars along both axes and the legend at the foot; `paper` is
/// the paper's thickness, mm. `None` where there is nothing to mark.
pub fn strip_drawing(plan: &Plan, run: &RunPlan, paper: f64) -> Option<Drawing> {
    let strip = Strip::new(run, paper)?;
    let figure = StripFigure::new(&strip, false);
    let mut part = figure.drawing.clone();
    let whole = (-BEFORE, strip.length + BEHIND);
    let (words, left_out) = figure.words(whole, whole);
    part.append(words);
    let room = extents(&part)?;
    let mut drawing = Drawing::new();
    let block = Rect::new(Point::new(0.0, -42.0), Point::new(160.0, 0.0));
    let mut notes = notes(&strip);
    notes.extend(missing(left_out));
    let label = format!("{}: wrap strip", run.name);
    let words = TitleWords { title: &plan.title, label: &label, notes: &notes };
    drawing.append(title_block(block, block.min.y, &words));
    let top = block.min.y - BETWEEN;
    drawing.append(shifted(&part, -room.min.x, top - room.max.y));
    let rows = legend::rows(&part);
    foot(&mut drawing, top - room.height() - 2.0 * BETWEEN, |at| legend::legend(at, &rows));
    Some(drawing)
}

/// A strip's lines, and the words that belong to them.
#[derive(Debug, Clone)]
pub(crate) struct StripFigure<'a> {
    strip: &'a Strip,
    /// All lines.
    pub(crate) drawing: Drawing,
    above: Vec<WordColumn>,
    below: Vec<WordColumn>,
}

impl StripFigure<'_> {
    /// Draws a strip; `low` keeps the words beside it short, for low paper.
    pub(crate) fn new(strip: &Strip, low: bool) -> StripFigure<'_> {
        let (above, mut below) = (above(strip, low), below(strip));
        if low {
            below.iter_mut().for_each(|column| drop(column.ways.remove(0)));
        }
        StripFigure { strip, drawing: lines(strip), above, below }
    }

    /// From where to where it reaches up and down, words included, mm.
    pub(crate) fn upright(&self) -> (f64, f64) {
        let own = extents(&self.drawing).map_or((0.0, self.strip.height), |e| (e.min.y, e.max.y));
        let low = -self.strip.flap - columns::reach(&self.below);
        (low.min(own.0), (self.strip.height + columns::reach(&self.above)).max(own.1))
    }

    /// Words for the lines of a `cell` (from, to), all of them within `own` (from, to), and how many found
    /// no room.
    pub(crate) fn words(&self, cell: (f64, f64), own: (f64, f64)) -> (Drawing, usize) {
        let strip = self.strip;
        // Words keep off those before the first edge; a part without tube has room for none.
        let low = own.0.max(0.0);
        let own = (low, own.1.max(low));
        let mut drawing = Drawing::new();
        let mut left_out = columns::draw(&mut drawing, &self.above, cell, own, (strip.height, 1.0));
        left_out += columns::draw(&mut drawing, &self.below, cell, own, (-strip.flap, -1.0));
        let leaders: Vec<f64> =
            self.below.iter().map(|c| c.x).filter(|&x| x >= cell.0 && x < cell.1).collect();
        for &x in &leaders {
            drawing.line(Role::Dimension, Point::new(x, -strip.flap), Point::new(x, 0.0));
        }
        drawing.append(tags::tags(strip, own, &leaders));
        (drawing, left_out)
    }

    /// Lines across the strip: joints keep off them.
    pub(crate) fn stations(&self) -> impl Iterator<Item = f64> {
        self.above.iter().chain(&self.below).map(|column| column.x)
    }
}

/// Settings of the tool, for each bend whose mark is on the tube.
fn above(strip: &Strip, low: bool) -> Vec<WordColumn> {
    strip
        .bends
        .iter()
        .filter(|bend| strip.has(bend.mark()))
        .map(|bend| set_column(bend, strip, low))
        .collect()
}

fn set_column(bend: &StripBend, strip: &Strip, low: bool) -> WordColumn {
    let (number, turn) = (bend.number(), bend.made.turn.of_tube().to_degrees());
    let (mark, pull_to) = (tenths(bend.mark()), degrees(bend.made.pull.angle.to_degrees()));
    let clock = dial(bend.inside().degrees());
    let mut full = match low {
        false => vec![
            format!("bend {number}: set this line"),
            "on the tool's reference".to_owned(),
            format!("line: {mark}"),
        ],
        true => vec![
            format!("bend {number} MARK {mark}"),
            "set on the tool's".to_owned(),
            "reference line".to_owned(),
        ],
    };
    if strip.bends.first().is_some_and(|first| first.number() != number) {
        full.push(match turn.abs() < 0.05 {
            true => "do not turn it".to_owned(),
            false => format!("turn it {}", signed(turn)),
        });
    }
    full.push(format!("its inside at {clock}"));
    full.push(format!("pull to {pull_to}"));
    let mut ways = vec![
        full,
        vec![format!("bend {number}: set this line on"), format!("tool's reference line: {mark}")],
        vec![format!("bend {number} MARK {mark}")],
    ];
    if low {
        ways.remove(1);
    }
    WordColumn { x: bend.mark(), ways, bold: true }
}

/// Where bends and the stretches to anneal start and end, where to trim and how far to insert.
fn below(strip: &Strip) -> Vec<WordColumn> {
    let mut columns = Vec::new();
    let mut add = |x: f64, words: String, short: String| {
        if strip.has(x) {
            columns.push(WordColumn { x, ways: vec![vec![words], vec![short]], bold: false });
        }
    };
    for bend in &strip.bends {
        let number = bend.number();
        for (x, point) in bend.stations().into_iter().zip(["start", "middle", "end"]) {
            let shown = tenths(x);
            add(x, format!("bend {number} {point} {shown}"), format!("{number} {point} {shown}"));
        }
        if let Some(zone) = bend.made.anneal {
            for (x, word) in [(zone.from, "from"), (zone.to, "to")] {
                let shown = tenths(x);
                add(x, format!("anneal for {number} {word} {shown}"), format!("{number} anneal {shown}"));
            }
        }
    }
    for (x, trim) in strip.cuts() {
        let what = if trim { "trim, cut here" } else { "insert to here" };
        let words = format!("{what} {}", tenths(x));
        add(x, words.clone(), words);
    }
    columns
}

/// Notes of a strip about its run, most important first.
fn notes(strip: &Strip) -> Vec<String> {
    let end = strip.from.name();
    let mut notes = vec![
        size(strip),
        format!(
            "All marks are measured from the {end}. Clock angles and turns of the tube (the tool stays): clockwise + seen along the straight being bent, from there."
        ),
        format!(
            "Cut out along the outline, wrap it printed side out with its first edge at the tube's {end}, glue the flap under the other edge."
        ),
    ];
    notes.extend(caution(strip).map(str::to_owned));
    notes.extend(off_the_tube(strip));
    notes
}

/// A caution where a run is annealed.
pub(crate) fn caution(strip: &Strip) -> Option<&'static str> {
    strip
        .bends
        .iter()
        .any(|bend| bend.made.anneal.is_some())
        .then_some("Paper burns: the torch comes first, with the bare tube beside a rule. Wrap the strip round it once it is cold and clean.")
}

/// "OD 15: once round is 47.4 (paper 0.1)."
pub(crate) fn size(strip: &Strip) -> String {
    let Strip { od, height, paper, length, .. } = strip;
    format!(
        "OD {}: once round is {height:.1} with paper of {}; cut length {length:.1}.",
        trimmed(*od),
        trimmed(*paper)
    )
}

/// Marks that lie beyond the ends of the tube.
pub(crate) fn off_the_tube(strip: &Strip) -> Vec<String> {
    let off = strip.bends.iter().filter(|bend| !strip.has(bend.mark()));
    off.map(|bend| {
        let (number, mark) = (bend.number(), bend.mark());
        match mark < 0.0 {
            true => {
                format!("Bend {number}: its mark lies {:.1} before the tube's end, off the strip.", -mark)
            }
            false => {
                let off = mark - strip.length;
                format!("Bend {number}: its mark lies {off:.1} beyond the tube, off the strip.")
            }
        }
    })
    .collect()
}

/// Says that lines stand without their words.
pub(crate) fn missing(left_out: usize) -> Option<String> {
    (left_out > 0).then(|| format!("{left_out} lines found no room for their words: see bends.csv."))
}
