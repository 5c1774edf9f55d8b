//! Drawings moved as a whole.

use super::item::{Arc, Drawing, Edge, Item, Line, Path, Shape, Text};

/// The item moved by (dx, dy) mm.
#[must_use]
pub fn shifted_item(item: &Item, dx: f64, dy: f64) -> Item {
    let path = |path: &Path| Path {
        edges: path
            .edges
            .iter()
            .map(|edge| match edge {
                Edge::Line(l) => Edge::Line(line(l, dx, dy)),
                Edge::Arc(a) => Edge::Arc(arc(a, dx, dy)),
            })
            .collect(),
        closed: path.closed,
    };
    let shape = match &item.shape {
        Shape::Line(l) => Shape::Line(line(l, dx, dy)),
        Shape::Arc(a) => Shape::Arc(arc(a, dx, dy)),
        Shape::Circle { centre, radius } => Shape::Circle { centre: centre.shifted(dx, dy), radius: *radius },
        Shape::Path(p) => Shape::Path(path(p)),
        Shape::Area { bound, fill } => Shape::Area { bound: path(bound), fill: *fill },
        Shape::Text(text) => Shape::Text(Text { at: text.at.shifted(dx, dy), ..text.clone() }),
    };
    Item { shape, role: item.role, colour: item.colour }
}

fn line(l: &Line, dx: f64, dy: f64) -> Line {
    Line { from: l.from.shifted(dx, dy), to: l.to.shifted(dx, dy) }
}

fn arc(a: &Arc, dx: f64, dy: f64) -> Arc {
    Arc { centre: a.centre.shifted(dx, dy), ..*a }
}

/// The drawing moved by (dx, dy) mm.
#[must_use]
pub fn shifted(drawing: &Drawing, dx: f64, dy: f64) -> Drawing {
    Drawing { items: drawing.items.iter().map(|item| shifted_item(item, dx, dy)).collect() }
}
