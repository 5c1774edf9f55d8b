//! A jig and its tube seen from one side, painted from back to front.

use crate::centreline::{Centreline, Segment};
use crate::drawing::clip::flattened;
use crate::drawing::extents::Rect;
use crate::drawing::item::{Drawing, Edge, Item, ItemShape, Line, Point, Role};
use crate::flat::Path;
use crate::geometry::{InnerSpace, Placement, Point3, Vector3};
use crate::palette::{Rgb, TOOL};
use crate::tooling::jig::Jig;
use crate::tooling::{Opening, Part};

/// Sides of plates that are seen slantwise.
const SIDE: Rgb = Rgb(199, 175, 128);

/// The base board.
const BASE: Rgb = Rgb(243, 233, 208);

/// How far arcs may be cut short, mm.
const SAGITTA: f64 = 0.1;

/// Most pieces the tube is painted in.
const MOST_PIECES: f64 = 300.0;

/// Cosine below which a face is seen edge-on.
const EDGE_ON: f64 = 1e-6;

/// A direction of looking: unit vectors to the right, upwards and towards the viewer.
#[derive(Debug, Clone, Copy)]
pub(super) struct LookFrom {
    right: Vector3,
    up: Vector3,
    towards: Vector3,
}

impl LookFrom {
    /// From above, x to the right.
    pub(super) fn above() -> Self {
        LookFrom { right: Vector3::unit_x(), up: Vector3::unit_y(), towards: Vector3::unit_z() }
    }

    /// From the front, along +y, z upwards.
    pub(super) fn front() -> Self {
        LookFrom::level(-Vector3::unit_y())
    }

    /// From the right, along −x, z upwards.
    pub(super) fn right() -> Self {
        LookFrom::level(Vector3::unit_x())
    }

    /// From the front, a little from the right and from above.
    pub(super) fn slanted() -> Self {
        LookFrom::level(Vector3::new(0.45, -0.75, 0.55).normalize())
    }

    fn level(towards: Vector3) -> Self {
        let right = Vector3::unit_z().cross(towards).normalize();
        LookFrom { right, up: towards.cross(right), towards }
    }

    /// Where a point of the jig's space is seen, mm.
    pub(super) fn point(&self, p: Point3) -> Point {
        let from = Vector3::new(p.x, p.y, p.z);
        Point::new(from.dot(self.right), from.dot(self.up))
    }

    fn depth(&self, p: Point3) -> f64 {
        Vector3::new(p.x, p.y, p.z).dot(self.towards)
    }
}

/// Something painted as a whole.
struct Body {
    drawing: Drawing,
    bounds: Rect,
    depth: f64,
    /// A plate's plane, which other faces lie on one side of.
    plane: Option<Placement>,
    /// Points that tell on which side of a plane it lies.
    points: Vec<Point3>,
}

/// The jig with its tube, whose colour is given, mm.
pub(super) fn scene(jig: &Jig, tube: Option<(&Centreline, f64, Rgb)>, view: &LookFrom) -> Drawing {
    let mut drawing = Drawing::new();
    let mut bodies = Vec::new();
    for posed in &jig.work.posed {
        let Some(part) = jig.work.parts.get(posed.part) else { continue };
        let base = posed.part == 0;
        let body = plate(part, &posed.at, jig.work.thickness, view, base);
        // The board lies under everything else.
        match base {
            true => drawing.append(body.drawing),
            false => bodies.push(body),
        }
    }
    if let Some((line, od, colour)) = tube {
        bodies.extend(pieces(line, od, colour, view));
    }
    for index in order(&bodies, view) {
        if let Some(body) = bodies.get(index) {
            drawing.append(body.drawing.clone());
        }
    }
    drawing
}

/// A contour as points, arcs cut short.
fn chopped(path: &Path) -> Vec<Point> {
    let mut points = Vec::new();
    for edge in &path.edges {
        match edge {
            Edge::Line(line) => points.push(line.from),
            Edge::Arc(arc) => {
                let all = flattened(arc, SAGITTA);
                points.extend(all.iter().take(all.len().saturating_sub(1)));
            }
        }
    }
    points
}

fn plate(part: &Part, at: &Placement, thickness: f64, view: &LookFrom, base: bool) -> Body {
    let outline = chopped(&part.outline);
    // Tabs are inside the board.
    let place = |p: Point, z: f64| {
        let at = at.point(Point3::new(p.x, p.y, z));
        if base { at } else { Point3::new(at.x, at.y, at.z.max(0.0)) }
    };
    let facing = at.axis.dot(view.towards);
    let mut drawing = Drawing::new();
    let mut loops = vec![outline.clone()];
    loops.extend(part.openings.iter().filter_map(|opening| match opening {
        Opening::Slot(path) => {
            let mut points = chopped(path);
            points.reverse();
            Some(points)
        }
        Opening::Round { .. } => None,
    }));
    let (near, fill) = if facing >= 0.0 { (thickness, TOOL) } else { (0.0, TOOL) };
    for (index, points) in loops.iter().enumerate() {
        // Of a hole's walls nothing is seen that matters.
        if index == 0 {
            sides(&mut drawing, points, thickness, view, &place);
        }
    }
    if facing.abs() > EDGE_ON {
        for (index, points) in loops.iter().enumerate() {
            let seen: Vec<Point> = points.iter().map(|p| view.point(place(*p, near))).collect();
            let fill = match (index, base) {
                (0, false) => fill,
                (0, true) => BASE,
                _ => Rgb(255, 255, 255),
            };
            face(&mut drawing, &seen, fill);
        }
    }
    let points: Vec<Point3> = outline.iter().flat_map(|p| [place(*p, 0.0), place(*p, thickness)]).collect();
    let bounds = Rect::around(points.iter().map(|p| view.point(*p)))
        .unwrap_or(Rect::new(Point::new(0.0, 0.0), Point::new(0.0, 0.0)));
    let depth = points.iter().map(|p| view.depth(*p)).sum::<f64>() / points.len().max(1) as f64;
    let middle = Placement { origin: at.origin + at.axis * (thickness / 2.0), ..*at };
    Body { drawing, bounds, depth, plane: Some(middle), points }
}

/// The walls of a plate that look at the viewer.
fn sides(
    drawing: &mut Drawing,
    points: &[Point],
    thickness: f64,
    view: &LookFrom,
    place: &dyn Fn(Point, f64) -> Point3,
) {
    let next = points.iter().cycle().skip(1);
    let mut walls: Vec<(f64, [Point; 4])> = Vec::new();
    for (a, b) in points.iter().zip(next) {
        let corners = [place(*a, 0.0), place(*b, 0.0), place(*b, thickness), place(*a, thickness)];
        let normal = (corners[1] - corners[0]).cross(corners[2] - corners[1]);
        if normal.dot(view.towards) > EDGE_ON * normal.magnitude() {
            let depth = corners.iter().map(|p| view.depth(*p)).sum::<f64>();
            walls.push((depth, corners.map(|p| view.point(p))));
        }
    }
    walls.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (_, corners) in walls {
        drawing.items.push(Item {
            shape: ItemShape::Area { bound: Path::polygon(corners), fill: SIDE },
            role: Role::Outline,
            colour: None,
        });
        // The long edges; the short ones between the chords of an arc would only blacken it.
        drawing.line(Role::Outline, corners[0], corners[1]);
        drawing.line(Role::Outline, corners[2], corners[3]);
    }
}

fn face(drawing: &mut Drawing, points: &[Point], fill: Rgb) {
    let bound = Path::polygon(points.iter().copied());
    let area = ItemShape::Area { bound: bound.clone(), fill };
    drawing.items.push(Item { shape: area, role: Role::Outline, colour: None });
    drawing.add(Role::Outline, ItemShape::Path(bound));
}

/// The tube in short pieces.
fn pieces(line: &Centreline, od: f64, colour: Rgb, view: &LookFrom) -> Vec<Body> {
    let step = (od / 3.0).max(line.length() / MOST_PIECES);
    let mut bodies = Vec::new();
    for segment in line.segments() {
        let count = (segment.length() / step).ceil().max(1.0);
        let mut index = 0.0;
        // MOST_PIECES and one for each segment at most.
        while index < count {
            let [from, to] = [index, index + 1.0].map(|i| segment.length() * i / count);
            bodies.push(piece(segment, (from, to), od / 2.0, colour, view));
            index += 1.0;
        }
    }
    bodies
}

fn piece(segment: &Segment, (from, to): (f64, f64), radius: f64, colour: Rgb, view: &LookFrom) -> Body {
    let ends = [segment.point_at(from), segment.point_at(to)];
    let mut drawing = Drawing::new();
    // Each end half a ring as seen, the half that is turned away from the other end, from its outermost point on
    // one side to the one on the other; between the ends the skin.
    let half_ring = |at: f64, p: Point3, ahead: bool| -> Vec<Point> {
        let along = segment.direction_at(at);
        let side = along.cross(view.towards);
        let side = if side.magnitude() > EDGE_ON { side.normalize() } else { view.right };
        let other = along.cross(side);
        let outward = if (along.dot(view.towards) >= 0.0) == ahead { 1.0 } else { -1.0 };
        let spoke = |n: i32| {
            let (sin, cos) = (f64::from(n) * std::f64::consts::TAU / 24.0).sin_cos();
            view.point(p + side * (radius * cos) + other * (radius * sin * outward))
        };
        (0..=12).map(spoke).collect()
    };
    let [back, front] = [half_ring(from, ends[0], false), half_ring(to, ends[1], true)];
    let outline: Vec<Point> = front.iter().chain(back.iter().rev()).copied().collect();
    drawing.items.push(Item {
        shape: ItemShape::Area { bound: Path::polygon(outline.iter().copied()), fill: colour },
        role: Role::TubeEdge,
        colour: None,
    });
    for side in [0, 12] {
        drawing.add(Role::Outline, ItemShape::Line(Line { from: back[side], to: front[side] }));
    }
    let bounds = Rect::around(outline.iter().copied()).unwrap_or(Rect::new(back[0], back[0]));
    let middle = segment.point_at((from + to) / 2.0);
    Body { drawing, bounds, depth: view.depth(middle), plane: None, points: vec![middle] }
}

/// Which of two bodies is painted first: `Some(true)` for the first, none where it does not matter.
fn first_behind(a: &Body, b: &Body, view: &LookFrom) -> Option<bool> {
    if !a.bounds.overlaps(&b.bounds) {
        return None;
    }
    for (plate, other, swapped) in [(a, b, false), (b, a, true)] {
        let Some(plane) = plate.plane else { continue };
        let facing = plane.axis.dot(view.towards);
        if facing.abs() <= EDGE_ON {
            continue;
        }
        let heights = other.points.iter().map(|p| (p - plane.origin).dot(plane.axis) * facing.signum());
        let (low, high) = heights.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        if low >= 0.0 || high <= 0.0 {
            // The other lies before the plate where its heights are positive.
            return Some((low >= 0.0) != swapped);
        }
    }
    Some(a.depth <= b.depth)
}

/// An order in which to paint bodies; where three hide each other in a ring, the one that is furthest goes first.
fn order(bodies: &[Body], view: &LookFrom) -> Vec<usize> {
    let count = bodies.len();
    let mut before = vec![0_usize; count];
    let mut after: Vec<Vec<usize>> = vec![Vec::new(); count];
    for (i, a) in bodies.iter().enumerate() {
        for (j, b) in bodies.iter().enumerate().skip(i + 1) {
            match first_behind(a, b, view) {
                Some(true) => {
                    after[i].push(j);
                    before[j] += 1;
                }
                Some(false) => {
                    after[j].push(i);
                    before[i] += 1;
                }
                None => {}
            }
        }
    }
    let mut left: Vec<usize> = (0..count).collect();
    left.sort_by(|&a, &b| bodies[a].depth.total_cmp(&bodies[b].depth));
    let mut painted = Vec::with_capacity(count);
    // A body less each time.
    while !left.is_empty() {
        let position = left.iter().position(|&index| before[index] == 0).unwrap_or(0);
        let index = left.remove(position);
        for &next in &after[index] {
            before[next] = before[next].saturating_sub(1);
        }
        painted.push(index);
    }
    painted
}
