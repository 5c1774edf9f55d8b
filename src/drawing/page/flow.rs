//! Blocks that are set below each other and flow over pages: words, boxes to tick, tables.
//!
//! A block's drawing has its origin at its top left corner; distances down are given as positive numbers.

use std::rc::Rc;

use crate::drawing::item::{Across, Drawing, Edge, Item, ItemShape, Line, Path, Point, Role, Text, Vertical};
use crate::drawing::shift::shifted;
use crate::drawing::text::{Weight, weight, width, wrapped};
use crate::palette::Rgb;

/// Capitals of labels in pictures and of the page's foot, mm.
pub(crate) const FINE: f64 = 2.4;
/// Capitals of tables and steps, mm: read at arm's length.
pub(crate) const BODY: f64 = 3.0;
/// Capitals of headings, mm.
pub(crate) const HEAD: f64 = 4.0;
/// Capitals of the numbers that are worked by, mm.
pub(crate) const KEY: f64 = 5.5;
/// Capitals of the cut length, mm.
pub(crate) const BIG: f64 = 9.0;
/// From one line of text to the next, over the height of capitals: accents and descenders clear each other.
pub(crate) const LEADING: f64 = 1.57;
/// Side of a box to tick, mm.
pub(crate) const TICK: f64 = 4.6;
/// White around the words of a table's cell, mm.
const CELL: f64 = 1.4;

/// Black, for solid areas.
pub(crate) const BLACK: Rgb = Rgb(0, 0, 0);

/// The role that gives words this weight.
pub(crate) fn role(bold: bool) -> Role {
    if bold { Role::Title } else { Role::Note }
}

/// Width of words, mm.
pub(crate) fn wide(words: &str, height: f64, bold: bool) -> f64 {
    width(words, height, weight(role(bold)))
}

/// Words in lines no wider than `room` mm; words longer than a line are broken.
pub(crate) fn lines(words: &str, room: f64, height: f64, bold: bool) -> Vec<String> {
    let face = weight(role(bold));
    wrapped(words, room, height, face).into_iter().flat_map(|line| broken(line, room, height, face)).collect()
}

fn broken(line: String, room: f64, height: f64, face: Weight) -> Vec<String> {
    if width(&line, height, face) <= room {
        return vec![line];
    }
    let mut parts = vec![String::new()];
    for c in line.chars() {
        if let Some(last) = parts.last_mut() {
            let longer = format!("{last}{c}");
            if last.is_empty() || width(&longer, height, face) <= room {
                *last = longer;
                continue;
            }
        }
        parts.push(c.to_string());
    }
    parts
}

/// Lines and words set from a top left corner, `x` mm to the right and `down` mm below it.
pub(crate) struct Ink(pub(crate) Drawing);

impl Ink {
    /// An empty one.
    pub(crate) fn new() -> Self {
        Ink(Drawing::new())
    }

    /// Words with the top of their capitals `down`.
    pub(crate) fn words(&mut self, x: f64, down: f64, height: f64, bold: bool, content: &str) {
        self.anchored(x, down, height, bold, Across::Left, content);
    }

    /// Words with their anchor across as said.
    pub(crate) fn anchored(
        &mut self,
        x: f64,
        down: f64,
        height: f64,
        bold: bool,
        across: Across,
        content: &str,
    ) {
        let at = Point::new(x, -down);
        let content = content.to_owned();
        let text = Text { at, height, angle: 0.0, across, upright: Vertical::Top, content };
        self.0.add(role(bold), ItemShape::Text(text));
    }

    /// Wrapped words; how far down they reach.
    pub(crate) fn wrapped(
        &mut self,
        x: f64,
        down: f64,
        height: f64,
        bold: bool,
        room: f64,
        content: &str,
    ) -> f64 {
        let mut at = down;
        for line in lines(content, room, height, bold) {
            self.words(x, at, height, bold, &line);
            at += LEADING * height;
        }
        at
    }

    /// A straight line.
    pub(crate) fn line(&mut self, role: Role, from: (f64, f64), to: (f64, f64)) {
        self.0.line(role, Point::new(from.0, -from.1), Point::new(to.0, -to.1));
    }

    /// A box.
    pub(crate) fn frame(&mut self, role: Role, left: f64, top: f64, right: f64, bottom: f64) {
        let corners = [(left, top), (right, top), (right, bottom), (left, bottom)];
        for (index, &corner) in corners.iter().enumerate() {
            self.line(role, corner, corners[(index + 1) % 4]);
        }
    }

    /// A box to tick with its upper left corner there.
    pub(crate) fn tick(&mut self, x: f64, down: f64) {
        self.frame(Role::Tangent, x, down, x + TICK, down + TICK);
    }

    /// A filled area.
    pub(crate) fn area(&mut self, points: &[(f64, f64)], fill: Rgb) {
        let at = |index: usize| points.get(index % points.len().max(1)).copied().unwrap_or_default();
        let edges = (0..points.len())
            .map(|index| {
                let (from, to) = (at(index), at(index + 1));
                Edge::Line(Line { from: Point::new(from.0, -from.1), to: Point::new(to.0, -to.1) })
            })
            .collect();
        let shape = ItemShape::Area { bound: Path { edges, closed: true }, fill };
        self.0.items.push(Item { shape, role: Role::Outline, colour: None });
    }

    /// An arrow's head: its point and the direction it points in (rad, counter-clockwise from the right).
    pub(crate) fn head(&mut self, point: (f64, f64), angle: f64, long: f64) {
        let tip = Point::new(point.0, -point.1);
        let back = tip.polar(-long, angle);
        let side = angle + std::f64::consts::FRAC_PI_2;
        let corners = [tip, back.polar(long * 0.38, side), back.polar(-long * 0.38, side)];
        self.area(&corners.map(|p| (p.x, -p.y)), BLACK);
    }

    /// Another drawing with its top left corner there.
    pub(crate) fn put(&mut self, drawing: &Drawing, x: f64, down: f64) {
        self.0.append(shifted(drawing, x, -down));
    }
}

/// Something that stays together on a page.
#[derive(Debug, Clone)]
pub(crate) struct PageBlock {
    /// The drawing, origin at the top left corner.
    pub(crate) drawing: Drawing,
    /// Height, mm.
    pub(crate) high: f64,
}

impl PageBlock {
    /// The ink, with a height.
    pub(crate) fn new(ink: Ink, high: f64) -> Self {
        PageBlock { drawing: ink.0, high }
    }
}

struct Entry {
    block: PageBlock,
    /// Stays on one page with the next part, where there is room for both.
    keep: bool,
    /// Comes first again on a new page.
    head: Option<Rc<PageBlock>>,
    /// White that is left out at the top of a page.
    gap: bool,
}

/// Blocks of one width, below each other.
pub(crate) struct Flow {
    /// Their width, mm.
    pub(crate) wide: f64,
    parts: Vec<Entry>,
}

impl Flow {
    /// No blocks yet.
    pub(crate) fn new(wide: f64) -> Self {
        Flow { wide, parts: Vec::new() }
    }

    fn push(&mut self, block: PageBlock, keep: bool) {
        self.parts.push(Entry { block, keep, head: None, gap: false });
    }

    /// Adds a block.
    pub(crate) fn add(&mut self, block: PageBlock) {
        self.push(block, false);
    }

    /// Adds a block that stays with the next.
    pub(crate) fn add_kept(&mut self, block: PageBlock) {
        self.push(block, true);
    }

    /// White, mm.
    pub(crate) fn gap(&mut self, high: f64) {
        let block = PageBlock::new(Ink::new(), high);
        self.parts.push(Entry { block, keep: true, head: None, gap: true });
    }

    /// A heading that stays with what follows.
    pub(crate) fn heading(&mut self, words: &str) {
        self.gap(0.8);
        let mut ink = Ink::new();
        let end = ink.wrapped(0.0, 0.6, HEAD, true, self.wide, words);
        ink.line(Role::Component, (0.0, end - 0.6), (self.wide, end - 0.6));
        self.add_kept(PageBlock::new(ink, end + 0.6));
    }

    /// A paragraph, kept with the next part where `keep` says so.
    pub(crate) fn paragraph(&mut self, words: &str, bold: bool, keep: bool) {
        let all = lines(words, self.wide, BODY, bold);
        // A long paragraph may run on to the next page.
        for group in all.chunks(12) {
            let mut ink = Ink::new();
            for (index, line) in group.iter().enumerate() {
                ink.words(0.0, 0.6 + LEADING * BODY * index as f64, BODY, bold, line);
            }
            self.push(PageBlock::new(ink, LEADING * BODY * group.len() as f64 + 0.6), keep);
        }
    }

    /// A table; its head comes again on every page.
    pub(crate) fn table(&mut self, table: &Table) {
        let widths = table.widths(self.wide);
        let head = Rc::new(table.head(&widths));
        self.add_kept(PageBlock::clone(&head));
        for (index, row) in table.rows.iter().enumerate() {
            let block = table.row(&widths, row);
            let keep = table.together && index + 1 < table.rows.len();
            self.parts.push(Entry { block, keep, head: Some(Rc::clone(&head)), gap: false });
        }
        self.gap(1.6);
    }

    /// The blocks on pages of a height, mm. A block higher than a page sticks out; none is that high.
    pub(crate) fn pages(&self, high: f64) -> Vec<Drawing> {
        let mut pages = vec![Drawing::new()];
        let mut used = 0.0;
        let mut index = 0;
        // `index` moves behind the group each time.
        while index < self.parts.len() {
            let mut last = index;
            // Up to the last part.
            while last + 1 < self.parts.len() && self.parts[last].keep {
                last += 1;
            }
            let group = &self.parts[index..=last];
            let need: f64 = group.iter().map(|part| part.block.high).sum();
            if used > 0.0 && used + need > high && need <= high {
                pages.push(Drawing::new());
                used = 0.0;
            }
            for part in group {
                place(&mut pages, &mut used, part, high);
            }
            index = last + 1;
        }
        if pages.len() > 1 && pages.last().is_some_and(|page| page.items.is_empty()) {
            pages.pop();
        }
        pages
    }
}

fn place(pages: &mut Vec<Drawing>, used: &mut f64, part: &Entry, high: f64) {
    if part.gap && (*used == 0.0 || *used + part.block.high > high) {
        return;
    }
    if *used > 0.0 && *used + part.block.high > high {
        pages.push(Drawing::new());
        *used = 0.0;
    }
    let head = part.head.as_ref().filter(|_| *used == 0.0);
    for block in head.map(Rc::as_ref).into_iter().chain([&part.block]) {
        if let Some(page) = pages.last_mut() {
            page.append(shifted(&block.drawing, 0.0, -*used));
        }
        *used += block.high;
    }
}

/// The contents of a table's cell.
pub(crate) enum Cell {
    /// Words.
    Words(String),
    /// Bold words.
    Bold(String),
    /// Bold words and ordinary ones below.
    Both(String, String),
    /// A box to tick.
    Tick,
    /// Room to write.
    Blank,
}

/// A column of a table.
pub(crate) struct Column {
    /// Its head.
    pub(crate) title: String,
    /// Width, mm; none for an equal share of what is left.
    pub(crate) wide: Option<f64>,
    /// Whether it holds numbers: set to the right.
    pub(crate) number: bool,
}

impl Column {
    /// A column of words.
    pub(crate) fn words(title: &str, wide: Option<f64>) -> Self {
        Column { title: title.to_owned(), wide, number: false }
    }

    /// A column of numbers.
    pub(crate) fn numbers(title: &str, wide: Option<f64>) -> Self {
        Column { title: title.to_owned(), wide, number: true }
    }
}

/// Rows under a head.
pub(crate) struct Table {
    /// The columns.
    pub(crate) columns: Vec<Column>,
    /// The rows.
    pub(crate) rows: Vec<Vec<Cell>>,
    /// Least height of a row, mm.
    pub(crate) least: f64,
    /// Whether it stays on one page where it can.
    pub(crate) together: bool,
}

impl Table {
    /// A table without rows yet.
    pub(crate) fn new(columns: Vec<Column>) -> Self {
        Table { columns, rows: Vec::new(), least: 0.0, together: false }
    }

    fn widths(&self, room: f64) -> Vec<f64> {
        let fixed: f64 = self.columns.iter().filter_map(|c| c.wide).sum();
        let open = self.columns.iter().filter(|c| c.wide.is_none()).count();
        // Open columns get at least a fifth of the room, or all where nothing else is there.
        let least = if open > 0 { 0.2 * room } else { 0.0 };
        let shrink = if open == 0 || fixed > room - least { (room - least) / fixed.max(1e-9) } else { 1.0 };
        let share = (room - fixed * shrink) / open.max(1) as f64;
        let widths = self.columns.iter().map(|c| c.wide.map_or(share, |wide| wide * shrink)).collect();
        if shrink < 1.0 { self.with_whole_words(widths) } else { widths }
    }

    /// The same widths in all, shared so that no word need be broken; as they were where there is no room.
    fn with_whole_words(&self, widths: Vec<f64>) -> Vec<f64> {
        let least: Vec<f64> =
            (0..widths.len()).map(|column| self.longest_word(column) + 2.0 * CELL).collect();
        let over = |sign: f64| -> f64 {
            widths.iter().zip(&least).map(|(width, least)| (sign * (width - least)).max(0.0)).sum()
        };
        let (lacking, spare) = (over(-1.0), over(1.0));
        if lacking > spare {
            return widths;
        }
        // Rounding must not break a word that just fits.
        let kept = |(width, least): (&f64, &f64)| {
            if width < least { least + 1e-9 } else { width - (width - least) * lacking / spare.max(1e-9) }
        };
        widths.iter().zip(&least).map(kept).collect()
    }

    /// Width of the longest word of a column, mm.
    fn longest_word(&self, column: usize) -> f64 {
        let longest = |words: &str, bold| {
            words.split_whitespace().map(|word| wide(word, BODY, bold)).fold(0.0, f64::max)
        };
        let cell = |row: &Vec<Cell>| match row.get(column) {
            Some(Cell::Words(words)) => longest(words, false),
            Some(Cell::Bold(words)) => longest(words, true),
            Some(Cell::Both(bold, words)) => longest(bold, true).max(longest(words, false)),
            Some(Cell::Tick | Cell::Blank) | None => 0.0,
        };
        let title = self.columns.get(column).map_or(0.0, |column| longest(&column.title, true));
        self.rows.iter().map(cell).fold(title, f64::max)
    }

    fn head(&self, widths: &[f64]) -> PageBlock {
        let mut ink = Ink::new();
        let cells = self.columns.iter().zip(widths);
        let set: Vec<Vec<String>> =
            cells.map(|(c, &w)| lines(&c.title, w - 2.0 * CELL, BODY, true)).collect();
        let most = set.iter().map(Vec::len).max().unwrap_or(0) as f64;
        let high = most * LEADING * BODY + 1.4;
        let mut x = 0.0;
        for ((column, &w), words) in self.columns.iter().zip(widths).zip(&set) {
            // Heads stand at the bottom of their cell.
            let down = high - 0.8 - words.len() as f64 * LEADING * BODY;
            for (index, line) in words.iter().enumerate() {
                put(&mut ink, (x, w), down + LEADING * BODY * index as f64, true, column.number, line);
            }
            x += w;
        }
        let right: f64 = widths.iter().sum();
        ink.line(Role::Trim, (0.0, high), (right, high));
        PageBlock::new(ink, high)
    }

    fn row(&self, widths: &[f64], cells: &[Cell]) -> PageBlock {
        let mut ink = Ink::new();
        let mut high = self.least.max(LEADING * BODY + 1.2);
        let mut x = 0.0;
        for ((column, &w), cell) in self.columns.iter().zip(widths).zip(cells) {
            let parts: Vec<(&str, bool)> = match cell {
                Cell::Words(words) => vec![(words, false)],
                Cell::Bold(words) => vec![(words, true)],
                Cell::Both(bold, words) => vec![(bold, true), (words, false)],
                Cell::Tick => {
                    ink.tick(x + 1.0, 0.8);
                    high = high.max(TICK + 1.6);
                    vec![]
                }
                Cell::Blank => vec![],
            };
            let mut down = 1.4;
            for (words, bold) in parts {
                for line in lines(words, w - 2.0 * CELL, BODY, bold) {
                    put(&mut ink, (x, w), down, bold, column.number, &line);
                    down += LEADING * BODY;
                }
            }
            high = high.max(down);
            x += w;
        }
        ink.line(Role::Dimension, (0.0, high), (x, high));
        if self.columns.iter().any(|_| cells.iter().any(|cell| matches!(cell, Cell::Blank))) {
            let mut edge = 0.0;
            for &w in widths {
                ink.line(Role::Dimension, (edge, 0.0), (edge, high));
                edge += w;
            }
            ink.line(Role::Dimension, (edge, 0.0), (edge, high));
        }
        PageBlock::new(ink, high)
    }
}

fn put(ink: &mut Ink, (x, w): (f64, f64), down: f64, bold: bool, right: bool, words: &str) {
    if right {
        ink.anchored(x + w - CELL, down, BODY, bold, Across::Right, words);
    } else {
        ink.words(x + CELL, down, BODY, bold, words);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_narrow_table_keeps_its_words_whole() {
        let mut table = Table::new(vec![
            Column::numbers("bend", Some(14.0)),
            Column::words("turn the tube", None),
            Column::numbers("dial", Some(18.0)),
            Column::numbers("bend lies at", Some(39.0)),
        ]);
        let row = ["1", "90.0° anticlockwise", "270.0°", "297.4 to 383.8"];
        table.rows.push(row.map(|words| Cell::Words(words.to_owned())).into());
        let least: Vec<f64> = (0..4).map(|column| table.longest_word(column) + 2.0 * CELL).collect();
        let whole: f64 = least.iter().sum();
        for (room, fits) in [(400.0, true), (whole + 5.0, true), (whole + 0.1, true), (whole - 1.0, false)] {
            let widths = table.widths(room);
            assert!((widths.iter().sum::<f64>() - room).abs() < 1e-6, "{room}: {widths:?}");
            let kept = widths.iter().zip(&least).all(|(width, least)| width >= least);
            assert_eq!(kept, fits, "{room}: {widths:?}, {least:?}");
        }
    }
}
