//! How much room things take: boxes of lines, arcs and text.

use super::item::{Drawing, Role, Shape};
use super::text;
use crate::flat::path_extents;
pub use crate::flat::{Rect, arc_extents};

/// Box of a shape in the pen of `role`, which decides how bold its text is; line widths do not
/// count. `None` for an empty path.
pub fn shape_extents(shape: &Shape, role: Role) -> Option<Rect> {
    match shape {
        Shape::Line(line) => Some(Rect::new(line.from, line.to)),
        Shape::Arc(arc) => Some(arc_extents(arc)),
        Shape::Circle { centre, radius } => Some(Rect { min: *centre, max: *centre }.grown(*radius)),
        Shape::Path(path) | Shape::Area { bound: path, .. } => path_extents(path),
        Shape::Text(words) => Rect::around(text::text_box(words, text::weight(role))),
    }
}

/// Box of a whole drawing; `None` if it is empty.
pub fn extents(drawing: &Drawing) -> Option<Rect> {
    drawing.items.iter().filter_map(|item| shape_extents(&item.shape, item.role)).reduce(Rect::union)
}
