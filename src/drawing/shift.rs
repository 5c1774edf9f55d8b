//! Drawings moved and enlarged as a whole.

use super::item::{Arc, Drawing, Edge, Item, Line, Path, Point, Shape, Text};

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

/// The drawing enlarged from the origin, letters and all; line widths stay.
#[must_use]
pub fn scaled(drawing: &Drawing, by: f64) -> Drawing {
    let point = |p: Point| Point::new(p.x * by, p.y * by);
    let line = |l: &Line| Line { from: point(l.from), to: point(l.to) };
    let arc = |a: &Arc| Arc { centre: point(a.centre), radius: a.radius * by, ..*a };
    let path = |path: &Path| Path {
        edges: path
            .edges
            .iter()
            .map(|edge| match edge {
                Edge::Line(l) => Edge::Line(line(l)),
                Edge::Arc(a) => Edge::Arc(arc(a)),
            })
            .collect(),
        closed: path.closed,
    };
    let shape = |shape: &Shape| match shape {
        Shape::Line(l) => Shape::Line(line(l)),
        Shape::Arc(a) => Shape::Arc(arc(a)),
        Shape::Circle { centre, radius } => Shape::Circle { centre: point(*centre), radius: radius * by },
        Shape::Path(p) => Shape::Path(path(p)),
        Shape::Area { bound, fill } => Shape::Area { bound: path(bound), fill: *fill },
        Shape::Text(text) => {
            Shape::Text(Text { at: point(text.at), height: text.height * by, ..text.clone() })
        }
    };
    let items = drawing.items.iter();
    Drawing { items: items.map(|item| Item { shape: shape(&item.shape), ..item.clone() }).collect() }
}
