//! Uprights and the board they stand in as parts of a sheet.

use std::f64::consts::PI;

use super::Duty;
use super::marks;
use super::quad::Quad;
use super::stand::Stand;
use super::tube::TubeInJig;
use crate::flat::{Arc, Edge, Line, Path, Point, Rect};
use crate::geometry::{Placement, Point3, Vector3};
use crate::spec::model::SheetStock;
use crate::tooling::{Opening, Part, Posed, SheetWork};

/// Board around the outermost feet, mm.
const MARGIN_MM: f64 = 12.0;

/// Board and uprights of a run, put together: the board is part 0, the uprights follow in their order.
pub(super) fn work(run: &str, stands: &[Stand], tube: &TubeInJig, stock: &SheetStock) -> SheetWork {
    let thickness = stock.thickness;
    let names = names(stands);
    let (board, bounds) = board(run, stands, &names, tube, stock);
    let mut parts = vec![board];
    let base = Point3::new(bounds.min.x, bounds.min.y, -thickness);
    let mut posed = vec![Posed {
        part: 0,
        at: Placement { origin: base, axis: Vector3::unit_z(), x: Vector3::unit_x() },
    }];
    for (stand, name) in stands.iter().zip(&names) {
        let origin = stand.middle + stand.ahead * (thickness / 2.0);
        // Its upper face, which is engraved, looks towards the datum end.
        let at = Placement { origin, axis: -stand.ahead, x: stand.across };
        posed.push(Posed { part: parts.len(), at });
        parts.push(Part {
            name: name.clone(),
            outline: outline(stand),
            openings: Vec::new(),
            marks: marks::upright(stand, name, run),
        });
    }
    SheetWork { name: run.to_owned(), thickness, parts, posed }
}

/// "stop", "c1", "c2" ..., "g1" ..., "gate".
fn names(stands: &[Stand]) -> Vec<String> {
    let (mut cradles, mut guards) = (0, 0);
    let mut name = |stand: &Stand| match stand.duty {
        Duty::Stop => "stop".to_owned(),
        Duty::Gate => "gate".to_owned(),
        Duty::Cradle => {
            cradles += 1;
            format!("c{cradles}")
        }
        Duty::Guard => {
            guards += 1;
            format!("g{guards}")
        }
    };
    stands.iter().map(&mut name).collect()
}

/// The base board with a slot for every tab, in axes from its lower left corner, and where it lies.
fn board(
    run: &str,
    stands: &[Stand],
    names: &[String],
    tube: &TubeInJig,
    stock: &SheetStock,
) -> (Part, Rect) {
    let feet = stands.iter().flat_map(|stand| stand.footprint().corners);
    let origin = Point::new(0.0, 0.0);
    let bounds = Rect::around(feet).unwrap_or(Rect::new(origin, origin)).grown(MARGIN_MM);
    let slots: Vec<Quad> = stands.iter().flat_map(|stand| stand.slots(stock.slot_fit)).collect();
    let own = |p: Point| p.shifted(-bounds.min.x, -bounds.min.y);
    let openings = slots.iter().map(|slot| Opening::Slot(Path::polygon(slot.corners.map(own)))).collect();
    let marks = marks::board(run, stands, names, tube, &slots, &bounds);
    let outline = Path::polygon(bounds.corners().map(own));
    (Part { name: "base".to_owned(), outline, openings, marks }, bounds)
}

/// An upright's contour, counter-clockwise from its foot's left: tabs as deep as the board is thick, sides that
/// narrow above the foot, the saddle from the right. Inner corners are as sharp as the cut makes them, as laser
/// and slot-together work goes (common practice, no source).
fn outline(stand: &Stand) -> Path {
    let Stand { arms, foot, foot_top, top, thickness, .. } = *stand;
    let mut corners = vec![Point::new(-foot[0], 0.0)];
    for &(middle, width) in &stand.tabs {
        let (from, to) = (middle - width / 2.0, middle + width / 2.0);
        corners.extend(
            [(from, 0.0), (from, -thickness), (to, -thickness), (to, 0.0)].map(|(x, y)| Point::new(x, y)),
        );
    }
    corners.push(Point::new(foot[1], 0.0));
    if foot_top > 0.0 {
        corners.extend([Point::new(foot[1], foot_top / 2.0), Point::new(arms[1], foot_top)]);
    }
    corners.push(Point::new(arms[1], top));
    let mut left = vec![Point::new(-arms[0], top)];
    if foot_top > 0.0 {
        left.extend([Point::new(-arms[0], foot_top), Point::new(-foot[0], foot_top / 2.0)]);
    }
    let mut bottom = None;
    if let Some(saddle) = stand.saddle {
        let (a, c) = (saddle.radius, saddle.chamfer);
        corners.extend([(a + c, top), (a, top - c), (a, saddle.centre)].map(|(x, y)| Point::new(x, y)));
        let centre = Point::new(0.0, saddle.centre);
        bottom = Some(Arc { centre, radius: a, start: 0.0, sweep: -PI });
        left.splice(0..0, [(-a, saddle.centre), (-a, top - c), (-a - c, top)].map(|(x, y)| Point::new(x, y)));
    }
    let lines = |points: &[Point]| -> Vec<Edge> {
        let pairs = points.windows(2);
        // A flare of one side only leaves the other's two corners in one place.
        let pairs = pairs.filter(|pair| pair[0].distance(pair[1]) > 1e-9);
        pairs.map(|pair| Edge::Line(Line { from: pair[0], to: pair[1] })).collect()
    };
    let start = corners[0];
    let mut edges;
    if let Some(bottom) = bottom {
        edges = lines(&corners);
        edges.push(Edge::Arc(bottom));
    } else {
        corners.append(&mut left);
        edges = lines(&corners);
        left = corners.last().copied().into_iter().collect();
    }
    left.push(start);
    edges.extend(lines(&left));
    Path { edges, closed: true }
}
