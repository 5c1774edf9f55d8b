//! A drawing is whole: its numbers are numbers, and what is on a page lies on the paper.

use tubewright::drawing::extents::shape_extents;
use tubewright::drawing::item::{Arc, Drawing, Edge, Item, ItemShape, Path, Point};
use tubewright::drawing::sheet::Sheet;

/// Rounding of places on a page, mm.
const ROUNDING_MM: f64 = 0.01;

/// # Panics
/// When a number of the drawing is none.
pub fn whole_drawing(drawing: &Drawing) {
    for item in &drawing.items {
        assert!(is_finite(&item.shape), "a number that is none: {item:?}");
    }
}

/// # Panics
/// When a number of the sheet is none, or something lies beside the paper.
pub fn whole_sheet(sheet: &Sheet) {
    whole_drawing(&sheet.drawing);
    sheet.stretched.iter().for_each(|part| whole_drawing(&part.drawing));
    let beside = |item: &&Item| {
        shape_extents(&item.shape, item.role).is_some_and(|room| {
            room.min.x < -ROUNDING_MM
                || room.min.y < -ROUNDING_MM
                || room.max.x > sheet.width + ROUNDING_MM
                || room.max.y > sheet.height + ROUNDING_MM
        })
    };
    let lost = sheet.drawing.items.iter().find(beside);
    assert!(lost.is_none(), "beside the paper of {} x {} mm: {lost:?}", sheet.width, sheet.height);
}

fn is_finite(shape: &ItemShape) -> bool {
    match shape {
        ItemShape::Line(line) => is_point(line.from) && is_point(line.to),
        ItemShape::Arc(arc) => is_arc(arc),
        ItemShape::Circle { centre, radius } => is_point(*centre) && radius.is_finite(),
        ItemShape::Path(path) | ItemShape::Area { bound: path, .. } => is_path(path),
        ItemShape::Text(text) => is_point(text.at) && text.height.is_finite() && text.angle.is_finite(),
    }
}

fn is_path(path: &Path) -> bool {
    path.edges.iter().all(|edge| match edge {
        Edge::Line(line) => is_point(line.from) && is_point(line.to),
        Edge::Arc(arc) => is_arc(arc),
    })
}

fn is_arc(arc: &Arc) -> bool {
    is_point(arc.centre) && [arc.radius, arc.start, arc.sweep].iter().all(|number| number.is_finite())
}

fn is_point(point: Point) -> bool {
    point.x.is_finite() && point.y.is_finite()
}
