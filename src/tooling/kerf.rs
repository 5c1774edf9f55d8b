//! Contours with the kerf taken up: the cutter's middle runs half a kerf outside a part and inside a hole.

use cavalier_contours::polyline::{PlineSource, PlineSourceMut, PlineVertex, Polyline};

use super::{Opening, Part};
use crate::flat::{Arc, Edge, Line, Path, Point};

/// A part's contours with the kerf taken up.
#[derive(Debug, Clone, PartialEq)]
pub struct Kerfed {
    /// The outline, grown.
    pub outline: Path,
    /// The holes, shrunk, in the part's order.
    pub openings: Vec<Opening>,
}

impl Part {
    /// The contours to run the middle of a cut of this width along (mm). `None` where a hole is narrower than
    /// the cut, or a contour falls apart.
    pub fn kerfed(&self, kerf: f64) -> Option<Kerfed> {
        let half = kerf / 2.0;
        let shrunk = |opening: &Opening| match opening {
            Opening::Round { at, diameter, purpose } => (*diameter > kerf).then_some(Opening::Round {
                at: *at,
                diameter: diameter - kerf,
                purpose: *purpose,
            }),
            Opening::Slot(path) => moved_out(path, -half).map(Opening::Slot),
        };
        let openings = self.openings.iter().map(shrunk).collect::<Option<_>>()?;
        Some(Kerfed { outline: moved_out(&self.outline, half)?, openings })
    }
}

/// The closed, counter-clockwise contour moved outwards by `distance` mm, or inwards where that is negative.
/// Arcs stay arcs; corners the contour is moved round are rounded, so that every point of the result is
/// exactly `distance` away.
///
/// `None` when that leaves anything but one contour.
pub fn moved_out(contour: &Path, distance: f64) -> Option<Path> {
    if distance == 0.0 {
        return Some(contour.clone());
    }
    let outline = polyline(contour);
    // Counter-clockwise, the outside is on the right: a negative offset.
    let moved = outline.parallel_offset(-distance);
    let [only] = moved.as_slice() else { return None };
    Some(path(only))
}

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

fn path(outline: &Polyline<f64>) -> Path {
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tooling::Purpose;

    fn square(low: f64, high: f64) -> Path {
        let corners = [(low, low), (high, low), (high, high), (low, high)].map(|(x, y)| Point::new(x, y));
        let edges = (0..4).map(|i| Edge::Line(Line { from: corners[i], to: corners[(i + 1) % 4] })).collect();
        Path { edges, closed: true }
    }

    #[test]
    fn outlines_grow_and_holes_shrink_by_half_a_kerf() {
        let round = Opening::Round { at: Point::new(4.0, 4.0), diameter: 3.0, purpose: Purpose::Bolt };
        let part = Part {
            name: "a".to_owned(),
            outline: square(0.0, 40.0),
            openings: vec![Opening::Slot(square(10.0, 20.0)), round],
            marks: vec![],
        };
        let kerfed = part.kerfed(0.2).unwrap();
        let low = kerfed.outline.edges.iter().map(|e| e.from().x).fold(f64::INFINITY, f64::min);
        assert!((low + 0.1).abs() < 1e-12);
        let Opening::Slot(slot) = &kerfed.openings[0] else { panic!("a slot") };
        let low = slot.edges.iter().map(|e| e.from().x).fold(f64::INFINITY, f64::min);
        assert!((low - 10.1).abs() < 1e-12);
        assert!(
            matches!(kerfed.openings[1], Opening::Round { diameter, .. } if (diameter - 2.8).abs() < 1e-12)
        );
        assert!(part.kerfed(3.0).is_none() && part.kerfed(0.0).is_some());
    }
}
