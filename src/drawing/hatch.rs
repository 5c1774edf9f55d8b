//! Hatching of what is cut away.

use super::clip::clip_line;
use super::extents::Rect;
use super::item::{Line, Point};

/// Distance between the lines along the box, mm.
const APART: f64 = 2.0;

/// A full sheet of lines is the most that can be seen; more would only cost time.
const MOST: f64 = 2000.0;

/// Slanted lines over a box; none over one without width.
pub(crate) fn hatching(bound: &Rect) -> Vec<Line> {
    let (high, left) = (bound.height(), bound.min.x);
    let most = ((bound.width() + high) / APART).min(MOST);
    let mut lines = Vec::new();
    let mut count = 1.0;
    // MOST lines at most.
    while bound.width() > 0.0 && count < most {
        let top = left + count * APART;
        let slant = Line { from: Point::new(top - high, bound.min.y), to: Point::new(top, bound.max.y) };
        lines.extend(clip_line(&slant, bound));
        count += 1.0;
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_stay_in_their_box_and_fill_it() {
        let bound = Rect::new(Point::new(5.0, -3.0), Point::new(25.0, 7.0));
        let lines = hatching(&bound);
        // Their tops lie 2 mm apart, from 2 mm right of the left edge to 10 mm beyond the right one.
        assert_eq!(lines.len(), 14);
        for end in lines.iter().flat_map(|line| [line.from, line.to]) {
            assert!(bound.grown(1e-9).has(end), "{end:?}");
        }
        for x in [6.0, 15.0, 24.0] {
            assert!(lines.iter().any(|line| (line.from.x..=line.to.x).contains(&x)), "{x}");
        }
        assert!(hatching(&Rect::new(bound.min, Point::new(5.0, 7.0))).is_empty());
        assert!(hatching(&Rect::new(bound.min, Point::new(1e9, 7.0))).len() <= 2000);
    }
}
