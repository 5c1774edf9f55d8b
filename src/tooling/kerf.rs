//! Contours with the kerf taken up: the cutter's middle runs half a kerf outside a part and inside a hole.

use cavalier_contours::core::math::Vector2;
use cavalier_contours::polyline::PlineSource;

use super::{Opening, Part};
use crate::flat::{Edge, Line, Path, Point, path_of, polyline};
use crate::tolerance::COINCIDENT_MM;

/// A part's contours with the kerf taken up.
#[derive(Debug, Clone, PartialEq)]
pub struct Kerfed {
    /// The outline, grown. Notches that the cut does not go into are passed by.
    pub outline: Path,
    /// The holes, shrunk, in the part's order, but for those that are no wider than the cut.
    pub openings: Vec<Opening>,
    /// Notches and slots that are not cut for being too narrow. Round holes do not count: they can be drilled.
    pub lost: usize,
}

impl Part {
    /// The contours to run the middle of a cut of this width along (mm). `None` for an outline that bounds
    /// nothing.
    pub fn kerfed(&self, kerf: f64) -> Option<Kerfed> {
        let half = kerf / 2.0;
        let outline = moved_out(&self.outline, half)?;
        let mut lost = usize::from(passes_by(&outline, &self.outline, kerf));
        let mut openings = Vec::with_capacity(self.openings.len());
        for opening in &self.openings {
            match opening {
                Opening::Round { at, diameter, purpose } if *diameter > kerf => {
                    openings.push(Opening::Round { at: *at, diameter: diameter - kerf, purpose: *purpose });
                }
                Opening::Round { .. } => {}
                Opening::Slot(path) => match moved_in(path, half) {
                    Some(slot) => openings.push(Opening::Slot(slot)),
                    None => lost += 1,
                },
            }
        }
        Some(Kerfed { outline, openings, lost })
    }
}

/// The closed, counter-clockwise contour moved outwards by `distance` mm. Arcs stay arcs; corners the contour
/// is moved round are rounded, so that every point of the result is exactly `distance` away.
///
/// Of several contours, as when a narrow neck closes, the outer one. `None` when nothing is left.
pub fn moved_out(contour: &Path, distance: f64) -> Option<Path> {
    // Counter-clockwise, the outside is on the right: a negative offset.
    let moved = offset(contour, -distance);
    moved.into_iter().max_by(|a, b| a.area().total_cmp(&b.area()))
}

/// The closed, counter-clockwise contour moved inwards by `distance` mm; `None` when that leaves anything but
/// one contour.
fn moved_in(contour: &Path, distance: f64) -> Option<Path> {
    let mut moved = offset(contour, distance);
    if moved.len() == 1 { moved.pop() } else { None }
}

fn offset(contour: &Path, leftwards: f64) -> Vec<Path> {
    if leftwards == 0.0 {
        return vec![contour.clone()];
    }
    polyline(contour).parallel_offset(leftwards).iter().map(path_of).collect()
}

/// Whether some of the outline is further than a kerf from the path: a notch that the cut did not go into.
/// The path is half a kerf away, or where it goes round an inner corner that much over the sine of half its angle.
fn passes_by(path: &Path, outline: &Path, kerf: f64) -> bool {
    if kerf == 0.0 {
        return false;
    }
    let middle = |edge: &Edge| match edge {
        Edge::Line(Line { from, to }) => Point::new((from.x + to.x) / 2.0, (from.y + to.y) / 2.0),
        Edge::Arc(arc) => arc.centre.polar(arc.radius, arc.start + arc.sweep / 2.0),
    };
    let path = polyline(path);
    let near = |at: Point| path.closest_point(Vector2::new(at.x, at.y), COINCIDENT_MM);
    outline.edges.iter().any(|edge| near(middle(edge)).is_some_and(|found| found.distance > kerf))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tooling::Purpose;

    fn square(low: f64, high: f64) -> Path {
        polygon(&[(low, low), (high, low), (high, high), (low, high)])
    }

    fn polygon(corners: &[(f64, f64)]) -> Path {
        Path::polygon(corners.iter().map(|&(x, y)| Point::new(x, y)))
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
        assert_eq!(part.kerfed(0.0).map(|kerfed| kerfed.openings), Some(part.openings));
    }

    #[test]
    fn what_is_narrower_than_the_cut_is_left_out_and_counted() {
        // A plate with a notch 2 wide and 10 deep from above, a slot 2 x 10 and a hole of 2.
        let corners = [
            (0.0, 0.0),
            (40.0, 0.0),
            (40.0, 40.0),
            (21.0, 40.0),
            (21.0, 30.0),
            (19.0, 30.0),
            (19.0, 40.0),
            (0.0, 40.0),
        ];
        let slot = [(5.0, 5.0), (7.0, 5.0), (7.0, 15.0), (5.0, 15.0)];
        let hole = Opening::Round { at: Point::new(30.0, 10.0), diameter: 2.0, purpose: Purpose::Bolt };
        let part = Part {
            name: "a".to_owned(),
            outline: polygon(&corners),
            openings: vec![Opening::Slot(polygon(&slot)), hole],
            marks: vec![],
        };
        let fine = part.kerfed(1.9).unwrap();
        assert_eq!((fine.openings.len(), fine.lost), (2, 0));
        let coarse = part.kerfed(2.1).unwrap();
        assert_eq!((coarse.openings.len(), coarse.lost), (0, 2));
        // Around the notch nothing else changes.
        let whole = Part { outline: square(0.0, 40.0), ..part.clone() }.kerfed(2.1).unwrap();
        assert!((coarse.outline.area() - whole.outline.area()).abs() < 3.0);
        assert_eq!(whole.lost, 1);
    }
}
