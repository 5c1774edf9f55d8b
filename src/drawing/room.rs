//! The room on a sheet: what is drawn there and what labels have taken, filed by place.

use rustc_hash::FxHashMap;

use crate::drawing::clip::{clip_line, flattened};
use crate::drawing::extents::Rect;
use crate::drawing::item::{Edge, Line, Point};

/// Most squares along one side of all cells: on a sheet of kilometres they are larger.
const MOST_SQUARES: f64 = 10_000.0;

/// Side of the squares obstacles are filed under, mm: about the size of a label.
const SQUARE: f64 = 15.0;

/// Squares along one side of a taken box, above which it is not filed by squares.
const LARGE: f64 = 40.0;

/// Most that the chords of an obstacle cut off its arcs, mm.
const SAGITTA: f64 = 0.1;

/// A drawn thing labels keep off: a line with a thickness.
#[derive(Debug, Clone, Copy)]
struct Obstacle {
    line: Line,
    reach: f64,
    /// Whether a label that finds no other room may cross it.
    thin: bool,
}

/// Numbers of things near each square of the sheet, by column and row.
type Squares = FxHashMap<(i64, i64), Vec<usize>>;

/// Keeps account of what is drawn and of the room left.
#[derive(Debug, Clone)]
pub(super) struct Room {
    /// The sheet, or as much of it as matters.
    whole: Option<Rect>,
    obstacles: Vec<Obstacle>,
    /// Side of the squares, mm.
    square: f64,
    squares: Squares,
    boxes: Boxes,
}

/// Boxes that are taken, found by place.
#[derive(Debug, Clone)]
struct Boxes {
    all: Vec<Rect>,
    /// Side of the squares, mm.
    square: f64,
    squares: Squares,
    /// Numbers of boxes too large to be filed by squares.
    large: Vec<usize>,
}

impl Boxes {
    fn new(square: f64) -> Self {
        Boxes { all: Vec::new(), square, squares: Squares::default(), large: Vec::new() }
    }

    fn push(&mut self, bounds: Rect) {
        let number = self.all.len();
        self.all.push(bounds);
        if bounds.width().max(bounds.height()) > LARGE * self.square {
            self.large.push(number);
            return;
        }
        for square in squares(&bounds, self.square) {
            self.squares.entry(square).or_default().push(number);
        }
    }

    /// The taken boxes that overlap another.
    fn over(&self, bounds: &Rect) -> impl Iterator<Item = &Rect> {
        let filed = squares(bounds, self.square).filter_map(|square| self.squares.get(&square)).flatten();
        let taken = self.large.iter().chain(filed).filter_map(|&number| self.all.get(number));
        taken.filter(move |taken| taken.overlaps(bounds))
    }
}

impl Room {
    /// All free.
    pub(super) fn new(whole: Option<Rect>) -> Self {
        let square =
            whole.map_or(SQUARE, |whole| SQUARE.max(whole.width().max(whole.height()) / MOST_SQUARES));
        let boxes = Boxes::new(square);
        Room { whole, obstacles: Vec::new(), square, squares: Squares::default(), boxes }
    }

    /// Keeps labels `reach` mm off an edge; the tube's body is an edge with its radius as reach.
    pub(super) fn keep_off(&mut self, edge: &Edge, reach: f64, thin: bool) {
        match edge {
            Edge::Line(line) => self.add(Obstacle { line: *line, reach, thin }),
            Edge::Arc(arc) => {
                let reach = reach + SAGITTA;
                for pair in flattened(arc, SAGITTA).windows(2) {
                    if let &[from, to] = pair {
                        self.add(Obstacle { line: Line { from, to }, reach, thin });
                    }
                }
            }
        }
    }

    /// Files an obstacle under every square that its line comes near, piece by piece.
    fn add(&mut self, obstacle: Obstacle) {
        let Line { from, to } = obstacle.line;
        let number = self.obstacles.len();
        self.obstacles.push(obstacle);
        let Some(bounds) = self.whole else { return };
        let near = bounds.grown(self.square + obstacle.reach);
        let Some(line) = clip_line(&Line { from, to }, &near) else { return };
        let pieces = (line.from.distance(line.to) / self.square).ceil().max(1.0);
        let mut done = 0.0;
        // As the line is clipped, little more than MOST_SQUARES pieces.
        while done < pieces {
            let at = |share: f64| {
                let (dx, dy) = (line.to.x - line.from.x, line.to.y - line.from.y);
                line.from.shifted(dx * share, dy * share)
            };
            let piece = Rect::new(at(done / pieces), at((done + 1.0) / pieces)).grown(obstacle.reach);
            for square in squares(&piece, self.square) {
                let filed = self.squares.entry(square).or_default();
                if filed.last() != Some(&number) {
                    filed.push(number);
                }
            }
            done += 1.0;
        }
    }

    /// Keeps labels out of a box.
    pub(super) fn keep_out(&mut self, bounds: Rect) {
        self.boxes.push(bounds);
    }

    /// The right end, mm, of a thing in the way of a box at the box's height; none where the box is free. Thin lines
    /// count where `thin` says so.
    pub(super) fn taken_until(&self, kept: &Rect, thin: bool) -> Option<f64> {
        let taken = self.boxes.over(kept).next().map(|taken| taken.max.x);
        taken.or_else(|| {
            let minded = |o: &&Obstacle| thin || !o.thin;
            self.near(kept).filter(minded).find_map(|o| reach_over(o, kept))
        })
    }

    /// The obstacles filed under the squares of a box.
    fn near(&self, bounds: &Rect) -> impl Iterator<Item = &Obstacle> {
        squares(bounds, self.square)
            .filter_map(|square| self.squares.get(&square))
            .flatten()
            .filter_map(|&number| self.obstacles.get(number))
    }

    /// Whether a line crosses a taken box.
    pub(super) fn is_crossed(&self, line: &Line) -> bool {
        self.boxes.all.iter().any(|taken| clip_line(line, taken).is_some())
    }

    /// Squares that have something filed under them.
    #[cfg(test)]
    pub(super) fn filed(&self) -> usize {
        self.squares.len()
    }
}

/// Column and row of the squares of a `side` a box lies in.
#[allow(
    clippy::cast_possible_truncation,
    reason = "sheets are metres, not 2^63 squares, and a cast saturates"
)]
fn squares(bounds: &Rect, side: f64) -> impl Iterator<Item = (i64, i64)> + use<> {
    let index = |v: f64| (v / side).floor() as i64;
    let (columns, rows) =
        (index(bounds.min.x)..=index(bounds.max.x), index(bounds.min.y)..=index(bounds.max.y));
    columns.flat_map(move |column| rows.clone().map(move |row| (column, row)))
}

/// The right end, mm, of a thick line over the height of a box; none where the line does not come into the box. Its
/// ends count as square, which errs on the safe side.
fn reach_over(obstacle: &Obstacle, bounds: &Rect) -> Option<f64> {
    let grown = bounds.grown(obstacle.reach);
    clip_line(&obstacle.line, &grown)?;
    let right = obstacle.line.from.x.max(obstacle.line.to.x);
    let high = Rect { max: Point::new(right.max(grown.max.x), grown.max.y), ..grown };
    let over = clip_line(&obstacle.line, &high)?;
    Some(over.from.x.max(over.to.x) + obstacle.reach)
}
