//! Flat contours of plates and blocks: whether they bound a body, and their loops in space.

use std::f64::consts::PI;

use cavalier_contours::polyline::{PlineContainsResult, PlineSource, Polyline};

use super::sweep::closed;
use super::{Arc3, Curve, Line3, Placement, SolidFault, Wire, in_reach};
use crate::flat::{self, Edge, Path, Point, polyline};
use crate::geometry::Point3;
use crate::tolerance::COINCIDENT_MM;

/// Shortest edge of a contour, mm: twice the distance at which the library that finds crossings takes two points
/// for one.
const SHORTEST_MM: f64 = 2e-5;

/// A contour that has been checked to bound one area.
pub(super) struct Bounds {
    outline: Polyline<f64>,
    /// Low and high corner of its box, mm.
    extents: [f64; 4],
}

impl Bounds {
    /// Checks that a contour is closed, made of finite edges that meet, and does not cross itself.
    ///
    /// # Errors
    /// [`SolidFault::TooFar`] or [`SolidFault::Contours`].
    pub(super) fn of(path: &Path) -> Result<Bounds, SolidFault> {
        path.edges.iter().try_for_each(sound)?;
        let next = path.edges.iter().cycle().skip(1);
        let open = path.edges.iter().zip(next).any(|(a, b)| a.to().distance(b.from()) > COINCIDENT_MM);
        if !path.closed || open || path.edges.is_empty() {
            return Err(SolidFault::Contours("a contour is not closed"));
        }
        let outline = polyline(path);
        if outline.scan_for_self_intersect() {
            return Err(SolidFault::Contours("a contour crosses itself"));
        }
        let Some(extents) = outline.extents() else {
            return Err(SolidFault::Contours("a contour has no area"));
        };
        let extents = [extents.min_x, extents.min_y, extents.max_x, extents.max_y];
        Ok(Bounds { outline, extents })
    }

    /// Whether another contour lies within, touching nowhere.
    pub(super) fn hold(&self, inner: &Bounds) -> bool {
        self.outline.contains(&inner.outline) == PlineContainsResult::Pline2InsidePline1
    }

    /// Whether two contours neither touch nor hold each other.
    pub(super) fn apart(&self, other: &Bounds) -> bool {
        let ([a_x, a_y, a_right, a_top], [b_x, b_y, b_right, b_top]) = (self.extents, other.extents);
        let beside = a_right < b_x || b_right < a_x || a_top < b_y || b_top < a_y;
        beside || self.outline.contains(&other.outline) == PlineContainsResult::Disjoint
    }
}

/// Checks that openings lie within a body and apart from each other.
///
/// # Errors
/// [`SolidFault::Contours`].
pub(super) fn clear(body: &Bounds, openings: &[Bounds]) -> Result<(), SolidFault> {
    for (index, opening) in openings.iter().enumerate() {
        if !body.hold(opening) {
            return Err(SolidFault::Contours("an opening reaches the edge"));
        }
        if !openings.iter().skip(index + 1).all(|other| other.apart(opening)) {
            return Err(SolidFault::Contours("two openings meet"));
        }
    }
    Ok(())
}

/// An edge that is long enough for CAD programs, in reach, and less than a full turn.
pub(super) fn sound(edge: &Edge) -> Result<(), SolidFault> {
    let length = match edge {
        Edge::Line(line) => line.from.distance(line.to),
        Edge::Arc(arc) => {
            in_reach(arc.radius)?;
            if !(arc.radius > 0.0 && arc.sweep.abs() < 2.0 * PI) {
                return Err(SolidFault::Contours("an arc has no radius or goes all the way round"));
            }
            arc.radius * arc.sweep.abs()
        }
    };
    let (from, to) = (edge.from(), edge.to());
    [from.x, from.y, to.x, to.y].into_iter().try_for_each(in_reach)?;
    if length < SHORTEST_MM {
        return Err(SolidFault::Contours("an edge has no length"));
    }
    Ok(())
}

/// A round contour, counter-clockwise.
pub(super) fn circle(at: Point, diameter: f64) -> Path {
    let half = |start| Edge::Arc(flat::Arc { centre: at, radius: diameter / 2.0, start, sweep: PI });
    Path { edges: vec![half(0.0), half(PI)], closed: true }
}

/// A contour run the other way.
pub(super) fn reversed(path: &Path) -> Path {
    let back = |edge: &Edge| match *edge {
        Edge::Line(line) => Edge::Line(flat::Line { from: line.to, to: line.from }),
        Edge::Arc(arc) => Edge::Arc(flat::Arc { start: arc.start + arc.sweep, sweep: -arc.sweep, ..arc }),
    };
    Path { edges: path.edges.iter().rev().map(back).collect(), closed: path.closed }
}

/// The closed contour as a loop in the plane of a placement.
pub(super) fn wire(path: &Path, at: &Placement) -> Wire {
    let curves: Vec<Curve> =
        path.edges.iter().flat_map(Edge::in_half_turns).map(|edge| curve(&edge, at)).collect();
    closed(&curves)
}

fn curve(edge: &Edge, at: &Placement) -> Curve {
    let place = |p: Point| at.point(Point3::new(p.x, p.y, 0.0));
    match *edge {
        Edge::Line(line) => Curve::Line(Line3 { from: place(line.from), to: place(line.to) }),
        Edge::Arc(arc) => {
            let circle = Placement { origin: place(arc.centre), ..*at };
            let (circle, start) =
                if arc.sweep < 0.0 { (circle.flipped(), -arc.start) } else { (circle, arc.start) };
            Curve::Arc(Arc3 { circle, radius: arc.radius, start, sweep: arc.sweep.abs() })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(x: f64, y: f64, side: f64) -> Path {
        Path::polygon(
            [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)].map(|(dx, dy)| Point::new(x + dx, y + dy)),
        )
    }

    #[test]
    fn openings_must_keep_clear() {
        let body = Bounds::of(&square(0.0, 0.0, 50.0)).unwrap();
        let openings = |paths: &[Path]| paths.iter().map(|p| Bounds::of(p).unwrap()).collect::<Vec<_>>();
        let round = |x, y| circle(Point::new(x, y), 6.0);
        clear(&body, &openings(&[square(10.0, 10.0, 10.0), round(25.0, 25.0), round(3.1, 40.0)])).unwrap();
        for (paths, told) in [
            (vec![round(2.9, 40.0)], "edge"),
            (vec![round(60.0, 40.0)], "edge"),
            (vec![square(10.0, 10.0, 10.0), round(22.9, 15.0)], "meet"),
            // One within the other.
            (vec![square(10.0, 10.0, 10.0), round(15.0, 15.0)], "meet"),
        ] {
            let fault = clear(&body, &openings(&paths)).unwrap_err().to_string();
            assert!(fault.contains(told), "{fault}");
        }
    }

    #[test]
    fn contours_that_bound_nothing_are_refused() {
        let point = Point::new;
        let bow = Path::polygon([point(0.0, 0.0), point(10.0, 10.0), point(10.0, 0.0), point(0.0, 10.0)]);
        let open = Path { edges: square(0.0, 0.0, 9.0).edges[..3].to_vec(), closed: true };
        let flagged = Path { closed: false, ..square(0.0, 0.0, 9.0) };
        let flat = Path::polygon([point(0.0, 0.0), point(0.0, 0.0), point(1.0, 1.0)]);
        let none = Path { edges: vec![], closed: true };
        for path in [bow, open, flagged, flat, none, circle(point(0.0, 0.0), 0.0)] {
            assert!(matches!(Bounds::of(&path), Err(SolidFault::Contours(_))), "{path:?}");
        }
        for far in [f64::NAN, f64::INFINITY, 2e6] {
            assert!(matches!(Bounds::of(&square(far, 0.0, 9.0)), Err(SolidFault::TooFar(_))), "{far}");
            assert!(Bounds::of(&circle(point(0.0, 0.0), 2.0 * far)).is_err());
        }
    }

    #[test]
    fn a_reversed_contour_runs_the_other_way() {
        let round = circle(Point::new(3.0, 4.0), 2.0);
        assert!((reversed(&round).area() + PI).abs() < 1e-12);
        Bounds::of(&reversed(&square(0.0, 0.0, 3.0))).unwrap();
    }
}
