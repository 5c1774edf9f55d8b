//! How much room things take: boxes of lines, arcs and text.

use super::item::{Drawing, ItemShape, Role};
use super::text;
use crate::flat::path_extents;
pub use crate::flat::{Rect, arc_extents};

/// Box of a shape in the pen of `role`, which decides how bold its text is; line widths do not
/// count. `None` for an empty path.
pub fn shape_extents(shape: &ItemShape, role: Role) -> Option<Rect> {
    match shape {
        ItemShape::Line(line) => Some(Rect::new(line.from, line.to)),
        ItemShape::Arc(arc) => Some(arc_extents(arc)),
        ItemShape::Circle { centre, radius } => Some(Rect { min: *centre, max: *centre }.grown(*radius)),
        ItemShape::Path(path) | ItemShape::Area { bound: path, .. } => path_extents(path),
        ItemShape::Text(words) => Rect::around(text::text_box(words, text::weight(role))),
    }
}

/// Box of a whole drawing; `None` if it is empty.
pub fn extents(drawing: &Drawing) -> Option<Rect> {
    drawing.items.iter().filter_map(|item| shape_extents(&item.shape, item.role)).reduce(Rect::union)
}
