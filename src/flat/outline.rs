//! Contours as the offsetting library takes and gives them.

use cavalier_contours::polyline::{PlineSource, PlineSourceMut, PlineVertex, Polyline};

use super::{Arc, Edge, Line, Path, Point};

/// A closed contour as the offsetting library takes it.
pub(crate) fn polyline(contour: &Path) -> Polyline<f64> {
    let mut outline = Polyline::new_closed();
    for edge in contour.edges.iter().flat_map(Edge::in_half_turns) {
        let bulge = match edge {
            Edge::Line(_) => 0.0,
            Edge::Arc(arc) => (arc.sweep / 4.0).tan(),
        };
        outline.add(edge.from().x, edge.from().y, bulge);
    }
    outline
}

/// A contour of the offsetting library, as ours.
pub(crate) fn path_of(outline: &Polyline<f64>) -> Path {
    let vertices = &outline.vertex_data;
    let next = vertices.iter().skip(1).chain(vertices.first());
    let edges = vertices.iter().zip(next).map(|(from, to)| edge(from, to)).collect();
    Path { edges, closed: outline.is_closed() }
}

/// The edge from one vertex to the next: bulge = tan(sweep/4).
fn edge(from: &PlineVertex<f64>, to: &PlineVertex<f64>) -> Edge {
    let (a, b) = (Point::new(from.x, from.y), Point::new(to.x, to.y));
    if from.bulge == 0.0 {
        return Edge::Line(Line { from: a, to: b });
    }
    let sweep = 4.0 * from.bulge.atan();
    let chord = a.distance(b);
    let radius = chord / 2.0 / (sweep / 2.0).sin().abs();
    // The centre lies on the chord's perpendicular, on the left for a counter-clockwise arc below
    // half a turn; the cotangent carries both signs.
    let away = chord / 2.0 / (sweep / 2.0).tan();
    let middle = Point::new((a.x + b.x) / 2.0, (a.y + b.y) / 2.0);
    let centre = middle.shifted(-(b.y - a.y) / chord * away, (b.x - a.x) / chord * away);
    Edge::Arc(Arc { centre, radius, start: (a.y - centre.y).atan2(a.x - centre.x), sweep })
}
