//! How a sheet of templates is divided: margin, drawing window, scale bars, title strip.

use super::paper::Paper;
use crate::drawing::extents::Rect;
use crate::drawing::item::Point;
use crate::drawing::scale::BARS_LONG;

/// Border that common printers cannot print on, mm (common practice: 3 to 6 mm; 10 leaves a hand's room).
pub const MARGIN: f64 = 10.0;

/// Width of the column with the upright scale bars, mm.
const COLUMN: f64 = 10.0;

/// Height of a row of the title strip, mm.
const ROW: f64 = 45.0;

/// Between the title strip and the window, mm.
const GAP: f64 = 1.0;

/// Widths of title block, legend and page map, mm.
const BLOCKS: [f64; 3] = [106.0, 44.0, 28.0];

/// The least window worth printing into, mm.
const LEAST_WINDOW: (f64, f64) = (90.0, 90.0);

/// One way of using a sheet of paper. All boxes are in page coordinates, mm.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct PageFrame {
    /// Width of the page.
    pub(crate) width: f64,
    /// Height of the page.
    pub(crate) height: f64,
    /// Where the drawing goes.
    pub(crate) window: Rect,
    /// Lower right end of the upright scale bars.
    pub(crate) upright_bars: Point,
    /// Title block.
    pub(crate) title: Rect,
    /// Legend of line styles.
    pub(crate) legend: Rect,
    /// Page map.
    pub(crate) map: Rect,
}

impl PageFrame {
    /// Upright and lengthwise use of a paper, those that leave a window.
    pub(crate) fn all(paper: &Paper) -> Vec<PageFrame> {
        let mut frames: Vec<PageFrame> = PageFrame::new(paper.width(), paper.height()).into_iter().collect();
        if paper.width() < paper.height() {
            frames.extend(PageFrame::new(paper.height(), paper.width()));
        }
        frames
    }

    fn new(width: f64, height: f64) -> Option<PageFrame> {
        let left = MARGIN + COLUMN;
        let (right, top) = (width - MARGIN, height - MARGIN);
        // Blocks flow from left to right and on into further rows, the first row on top.
        let mut rows: Vec<Vec<f64>> = vec![Vec::new()];
        let mut x = left;
        for block in BLOCKS {
            if x + block > right + 1e-9 {
                rows.push(Vec::new());
                x = left;
            }
            if let Some(row) = rows.last_mut() {
                row.push(x);
            }
            x += block;
        }
        let mut places = Vec::with_capacity(BLOCKS.len());
        for (up, row) in rows.iter().rev().enumerate() {
            let low = (0..up).fold(MARGIN, |y, _| y + ROW);
            places.push(row.iter().map(|&x| Point::new(x, low)).collect::<Vec<_>>());
        }
        let flat: Vec<Point> = places.into_iter().rev().flatten().collect();
        let strip = rows.iter().fold(0.0, |sum, _| sum + ROW);
        let block = |index: usize| -> Option<Rect> {
            let (at, wide) = (flat.get(index)?, BLOCKS.get(index)?);
            Some(Rect::new(*at, at.shifted(*wide, ROW)))
        };
        let window = Rect { min: Point::new(left, MARGIN + strip + GAP), max: Point::new(right, top) };
        let enough = window.width() >= LEAST_WINDOW.0
            && window.height() >= LEAST_WINDOW.1
            && top - MARGIN >= BARS_LONG
            && right - left >= BLOCKS[0];
        enough.then_some(())?;
        Some(PageFrame {
            width,
            height,
            window,
            upright_bars: Point::new(left - 0.8, MARGIN),
            title: block(0)?,
            legend: block(1)?,
            // The map takes what is left of its row.
            map: block(2).map(|map| Rect { max: Point::new(right, map.max.y), ..map })?,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blocks_and_window_lie_apart_inside_the_margin() {
        for size in ["a4", "a3", "a2", "letter", "legal", "tabloid", "148x210", "330x330"] {
            let paper = Paper::parse(size).unwrap_or_else(|fault| panic!("{size}: {fault}"));
            for frame in PageFrame::all(&paper) {
                let printable = Rect::new(
                    Point::new(MARGIN, MARGIN),
                    Point::new(frame.width - MARGIN, frame.height - MARGIN),
                );
                let boxes = [frame.window, frame.title, frame.legend, frame.map];
                for (index, a) in boxes.iter().enumerate() {
                    assert!(printable.grown(1e-9).holds(a), "{size} {a:?}");
                    assert!(
                        a.min.x >= frame.upright_bars.x,
                        "{size}: the scale bars have a column of their own"
                    );
                    assert!(
                        boxes.iter().skip(index + 1).all(|b| !a.grown(-1e-9).overlaps(b)),
                        "{size} {a:?}"
                    );
                }
            }
        }
    }
}
