//! Drawings moved and enlarged as a whole.

use super::item::{Arc, Drawing, Edge, Item, ItemShape, Line, Path, Point};

/// The item moved by (dx, dy) mm.
#[must_use]
pub fn shifted_item(item: &Item, dx: f64, dy: f64) -> Item {
    let mut item = item.clone();
    for_points(&mut item, &|p| p.shifted(dx, dy));
    item
}

/// The drawing moved by (dx, dy) mm.
#[must_use]
pub fn shifted(drawing: &Drawing, dx: f64, dy: f64) -> Drawing {
    into_shifted(drawing.clone(), dx, dy)
}

/// The same of a drawing that is not needed where it was: large ones are moved several times on their way to a page.
#[must_use]
pub fn into_shifted(mut drawing: Drawing, dx: f64, dy: f64) -> Drawing {
    drawing.items.iter_mut().for_each(|item| for_points(item, &|p| p.shifted(dx, dy)));
    drawing
}

/// The drawing enlarged from the origin, letters and all; line widths stay.
#[must_use]
pub fn scaled(mut drawing: Drawing, by: f64) -> Drawing {
    if by == 1.0 {
        return drawing;
    }
    for item in &mut drawing.items {
        for_points(item, &|p| Point::new(p.x * by, p.y * by));
        match &mut item.shape {
            ItemShape::Arc(arc) => arc.radius *= by,
            ItemShape::Circle { radius, .. } => *radius *= by,
            ItemShape::Path(path) | ItemShape::Area { bound: path, .. } => {
                let arcs = path.edges.iter_mut().filter_map(|edge| match edge {
                    Edge::Arc(arc) => Some(arc),
                    Edge::Line(_) => None,
                });
                arcs.for_each(|arc| arc.radius *= by);
            }
            ItemShape::Text(text) => text.height *= by,
            ItemShape::Line(_) => {}
        }
    }
    drawing
}

/// Replaces every point of an item, arcs by their centres.
fn for_points(item: &mut Item, to: &impl Fn(Point) -> Point) {
    let line = |line: &mut Line| *line = Line { from: to(line.from), to: to(line.to) };
    let arc = |arc: &mut Arc| arc.centre = to(arc.centre);
    let path = |path: &mut Path| {
        for edge in &mut path.edges {
            match edge {
                Edge::Line(l) => line(l),
                Edge::Arc(a) => arc(a),
            }
        }
    };
    match &mut item.shape {
        ItemShape::Line(l) => line(l),
        ItemShape::Arc(a) => arc(a),
        ItemShape::Circle { centre, .. } => *centre = to(*centre),
        ItemShape::Path(bound) | ItemShape::Area { bound, .. } => path(bound),
        ItemShape::Text(text) => text.at = to(text.at),
    }
}
