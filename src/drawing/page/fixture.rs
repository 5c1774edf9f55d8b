//! Rules that the tests of all pages hold a sheet to.

use crate::drawing::extents::{Rect, shape_extents};
use crate::drawing::item::{ItemShape, Point};
use crate::drawing::sheet::{MARGIN, Sheet};

/// Nothing in the margin, no words over words, capitals of at least a height (mm); all words of the sheet.
pub(crate) fn clean_words(sheet: &Sheet, least: f64) -> Vec<String> {
    let paper = Rect::new(Point::new(0.0, 0.0), Point::new(sheet.width, sheet.height));
    let inside = paper.grown(-MARGIN + 1e-6);
    let mut boxes: Vec<(Rect, &str)> = Vec::new();
    for item in &sheet.drawing.items {
        let Some(bounds) = shape_extents(&item.shape, item.role) else { continue };
        assert!(inside.holds(&bounds), "{}: {item:?} leaves the page", sheet.name);
        let ItemShape::Text(text) = &item.shape else { continue };
        assert!(text.height > least - 1e-9, "{}: {text:?} is small", sheet.name);
        // The metrics are rounded to a fiftieth of the height.
        let bounds = bounds.grown(-text.height / 50.0);
        for (other, words) in &boxes {
            assert!(!bounds.overlaps(other), "{}: {} over {words}", sheet.name, text.content);
        }
        boxes.push((bounds, &text.content));
    }
    assert!(boxes.len() > 3, "{} is empty", sheet.name);
    boxes.into_iter().map(|(_, words)| words.to_owned()).collect()
}
