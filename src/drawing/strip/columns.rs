//! Words beside a strip, in columns that read up the sheet: one for each line across the strip, side by
//! side in the order of the lines, each as near to its line as the others let it.

use std::f64::consts::FRAC_PI_2;

use crate::drawing::item::{Across, Drawing, ItemShape, Point, Role, Text, Vertical};
use crate::drawing::text::{weight, width};

/// Height of capitals, mm.
const HEIGHT: f64 = 1.8;

/// From line to line of words, mm, and room between columns.
const PITCH: f64 = 3.0;
const GAP: f64 = 1.0;

/// From the strip to where a leader turns aside, to where it ends, and to the words, mm.
const TURN: f64 = 3.2;
const REACH: f64 = 6.4;
const WORDS: f64 = 7.0;

/// A column of words for the line at `x`: shorter and shorter ways to say it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct WordColumn {
    /// Where the line lies along the strip, mm.
    pub(crate) x: f64,
    /// Ways to say it, the fullest first; the same number in every column of a side.
    pub(crate) ways: Vec<Vec<String>>,
    /// Whether its first line is bold.
    pub(crate) bold: bool,
}

impl WordColumn {
    fn role(&self, line: usize) -> Role {
        if self.bold && line == 0 { Role::Title } else { Role::Note }
    }

    fn lines(&self, way: usize) -> &[String] {
        self.ways.get(way).or(self.ways.last()).map_or(&[], Vec::as_slice)
    }

    fn wide(&self, way: usize) -> f64 {
        self.lines(way).iter().fold(GAP, |sum, _| sum + PITCH)
    }

    /// How far its words reach in their fullest way, mm.
    fn long(&self) -> f64 {
        let lines = self.ways.iter().flatten().enumerate();
        lines.map(|(i, words)| width(words, HEIGHT, weight(self.role(i)))).fold(0.0, f64::max)
    }
}

/// How far columns reach from the strip, mm.
pub(crate) fn reach(columns: &[WordColumn]) -> f64 {
    columns.iter().map(WordColumn::long).fold(0.0, f64::max) + WORDS + 0.5
}

/// Draws the columns whose lines lie in a `cell` (from, to) of the strip, their words from `low` to `high`,
/// and says how many found no room. They lead from the edge of the strip at `foot`, upwards where `sense`
/// is 1, downwards where it is -1.
pub(crate) fn draw(
    drawing: &mut Drawing,
    columns: &[WordColumn],
    cell: (f64, f64),
    (low, high): (f64, f64),
    (foot, sense): (f64, f64),
) -> usize {
    let mut own: Vec<&WordColumn> = columns.iter().filter(|c| c.x >= cell.0 && c.x < cell.1).collect();
    own.sort_by(|a, b| a.x.total_cmp(&b.x));
    let ways = own.iter().map(|c| c.ways.len()).max().unwrap_or(1);
    let room = high - low;
    let needed = |way: usize, own: &[&WordColumn]| own.iter().map(|c| c.wide(way)).sum::<f64>();
    let way = (0..ways).find(|&way| needed(way, &own) <= room).unwrap_or(ways.saturating_sub(1));
    let all = own.len();
    let mut filled = 0.0;
    let fits = |column: &&&WordColumn| {
        filled += column.wide(way);
        filled <= room
    };
    own.truncate(own.iter().take_while(fits).count());
    for (column, left) in own.iter().zip(spread(&own, way, low, high)) {
        let middle = left + column.wide(way) / 2.0;
        let at = |x: f64, off: f64| Point::new(x, foot + sense * off);
        drawing.line(Role::Dimension, at(column.x, 0.0), at(column.x, TURN));
        drawing.line(Role::Dimension, at(column.x, TURN), at(middle, REACH));
        for (index, words) in column.lines(way).iter().enumerate() {
            let text = Text {
                at: at(left + GAP / 2.0 + PITCH * (index as f64 + 0.5), WORDS),
                height: HEIGHT,
                angle: FRAC_PI_2,
                across: if sense > 0.0 { Across::Left } else { Across::Right },
                upright: Vertical::Middle,
                content: words.clone(),
            };
            drawing.add(column.role(index), ItemShape::Text(text));
        }
    }
    all - own.len()
}

/// Left sides of the columns: side by side without overlap, with the least sum of squared distances from
/// their lines (pool-adjacent-violators on the sides less the widths before them), then moved into bounds.
fn spread(columns: &[&WordColumn], way: usize, low: f64, high: f64) -> Vec<f64> {
    let widths: Vec<f64> = columns.iter().map(|c| c.wide(way)).collect();
    let total: f64 = widths.iter().sum();
    let mut before = 0.0;
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for (column, wide) in columns.iter().zip(&widths) {
        let mut pool = (column.x - wide / 2.0 - before, 1);
        // A pool less each time.
        while let Some(last) = pools.last().copied().filter(|last| last.0 > pool.0) {
            pools.pop();
            let (a, b) = (last.1 as f64, pool.1 as f64);
            pool = ((last.0 * a + pool.0 * b) / (a + b), last.1 + pool.1);
        }
        pools.push(pool);
        before += wide;
    }
    let sides = pools.iter().flat_map(|&(side, count)| std::iter::repeat_n(side, count));
    let mut before = 0.0;
    sides
        .zip(&widths)
        .map(|(side, wide)| {
            let left = side.clamp(low, (high - total).max(low)) + before;
            before += wide;
            left
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn column(x: f64, lines: usize) -> WordColumn {
        WordColumn { x, ways: vec![vec!["words".to_owned(); lines], vec!["w".to_owned()]], bold: false }
    }

    #[test]
    fn a_column_alone_stands_over_its_line() {
        let one = column(50.0, 3);
        let left = spread(&[&one], 0, 0.0, 100.0)[0];
        assert!((left + one.wide(0) / 2.0 - 50.0).abs() < 1e-9);
    }

    #[test]
    fn those_that_find_no_room_are_counted() {
        let many: Vec<WordColumn> = (0..40).map(|i| column(f64::from(i), 1)).collect();
        let mut drawing = Drawing::new();
        let out = draw(&mut drawing, &many, (0.0, 40.0), (0.0, 40.0), (0.0, 1.0));
        let texts = drawing.items.iter().filter(|i| matches!(i.shape, ItemShape::Text(_))).count();
        assert!(out > 0 && texts == 40 - out);
    }

    #[test]
    fn a_part_without_room_takes_no_words() {
        for (low, high) in [(10.0, 10.0), (10.0, 4.0), (0.0, -12.0)] {
            for many in [0, 1, 12] {
                let columns: Vec<WordColumn> = (0..many).map(|i| column(f64::from(i), 2)).collect();
                let mut drawing = Drawing::new();
                let out = draw(&mut drawing, &columns, (0.0, 40.0), (low, high), (0.0, 1.0));
                assert!(
                    out == columns.len() && drawing.items.is_empty(),
                    "{many} columns in {low} to {high}"
                );
            }
        }
    }

    proptest! {
        #[test]
        fn columns_keep_their_order_and_do_not_overlap(
            mut xs in prop::collection::vec(0.0..200.0_f64, 1..12),
        ) {
            xs.sort_by(f64::total_cmp);
            let columns: Vec<WordColumn> = xs.iter().map(|&x| column(x, 4)).collect();
            let refs: Vec<&WordColumn> = columns.iter().collect();
            let lefts = spread(&refs, 0, -20.0, 220.0);
            for pair in lefts.windows(2) {
                prop_assert!(pair[1] - pair[0] >= columns[0].wide(0) - 1e-9);
            }
            prop_assert!(lefts[0] >= -20.0 - 1e-9);
            prop_assert!(lefts[lefts.len() - 1] + columns[0].wide(0) <= 220.0 + 1e-9);
        }
    }
}
