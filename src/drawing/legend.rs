//! Line styles beside what they mean.

use super::item::{Across, Drawing, ItemShape, Point, Role, Text, Vertical};
use super::shift::shifted;

/// Height of capitals, mm.
const HEIGHT: f64 = 1.8;

/// From line to line, mm.
const PITCH: f64 = 3.3;

/// Lines of words, then samples beside their words, with the upper left corner at `at`. A sample lies around
/// the line from its origin to 9.6 mm right of it.
pub(crate) fn table(at: Point, heads: &[&str], rows: &[(Drawing, &str)]) -> Drawing {
    let mut drawing = Drawing::new();
    let mut y = at.y - PITCH * 0.5;
    for (index, head) in heads.iter().enumerate() {
        y -= if index > 0 { PITCH * 0.8 } else { 0.0 };
        words(&mut drawing, Point::new(at.x, y), head);
    }
    for (sample, meaning) in rows {
        y -= PITCH;
        drawing.append(shifted(sample, at.x, y));
        words(&mut drawing, Point::new(at.x + 11.5, y), meaning);
    }
    drawing
}

fn words(drawing: &mut Drawing, at: Point, words: &str) {
    let text = Text {
        at,
        height: HEIGHT,
        angle: 0.0,
        across: Across::Left,
        upright: Vertical::Middle,
        content: words.to_owned(),
    };
    drawing.add(Role::Note, ItemShape::Text(text));
}
