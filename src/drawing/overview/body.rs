//! The bodies a picture is painted from: pieces of tube, tube ends, components and port faces, each with a
//! convex outline on the page and its nearness to the eye wherever a line of sight meets it.

use super::view::View;
use super::{convex, facet};
use crate::drawing::extents::Rect;
use crate::drawing::item::Point;
use crate::geometry::{InnerSpace, Placement, Point3, Vector3};
use crate::spec::model::Shape;

/// Corners of a drawn circle or ellipse.
pub(super) const ROUND: usize = 36;

/// The owner of a body.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Owner {
    /// The run at this position in the layout.
    Run(usize),
    /// The component at this position.
    Component(usize),
}

/// A piece of tube between two neighbouring samples of its centreline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Piece {
    /// Ends of the centreline on the page.
    pub(super) ends: [Point; 2],
    /// Unit normals on the page at the ends, to the left of travel.
    pub(super) normals: [Point; 2],
    /// Radius on the page, mm.
    pub(super) radius: f64,
    /// Whether the next body is the piece that goes on from here without a fold.
    pub(super) goes_on: bool,
    /// Whether the tube ends here, seen from the end's edge, at either end of the piece.
    pub(super) cut: [bool; 2],
}

/// How a body is painted.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Look {
    /// A piece of tube seen from its side.
    Piece(Piece),
    /// A straight tube seen along its axis.
    EndOn {
        /// Radius on the page, mm.
        radius: f64,
    },
    /// Where the tube folds over on the page: a round end, `sweep` rad from direction `start`.
    Fold {
        /// Direction at which the outline starts, rad.
        start: f64,
        /// Angle over which it is drawn, rad.
        sweep: f64,
        /// Radius on the page, mm.
        radius: f64,
    },
    /// A tube's end: its rim and, if it faces the eye, its bore.
    End {
        /// The bore's outline; `None` if the end faces away.
        bore: Option<Vec<Point>>,
    },
    /// A port's face.
    Port,
    /// A component: its faces towards the eye, each with a lightness 0 ..= 1.
    Solid(Vec<(Vec<Point>, f64)>),
    /// One triangle of a component's skin.
    Facet {
        /// Lightness 0 ..= 1.
        light: f64,
        /// The sides of it that are edges of the component.
        edges: Vec<[Point; 2]>,
    },
}

/// Where lines of sight meet a body.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Depth {
    /// A round bar about an axis from one page point and nearness to another.
    Axis { from: (Point, f64), to: (Point, f64), radius: f64 },
    /// A flat thing: nearness at a point and its change per mm to the right and up.
    Plane { at: Point, near: f64, slope: (f64, f64) },
    /// A box or a round bar.
    Solid(Shape),
}

/// Something to be painted.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Body {
    /// Its owner.
    pub(super) owner: Owner,
    /// Convex outline on the page, counter-clockwise.
    pub(super) outline: Vec<Point>,
    /// Box around the outline.
    pub(super) bounds: Rect,
    /// How it is painted.
    pub(super) look: Look,
    /// Where lines of sight meet it.
    pub(super) depth: Depth,
}

impl Body {
    /// A body; `None` if it is seen from its edge, for what has no area hides nothing and could not
    /// be put in order.
    pub(super) fn new(owner: Owner, points: &[Point], look: Look, depth: Depth) -> Option<Self> {
        let outline = convex::hull(points);
        let bounds = Rect::around(outline.iter().copied()).filter(|_| outline.len() > 2)?;
        Some(Body { owner, outline, bounds, look, depth })
    }

    /// Whether it is a component's body.
    pub(super) fn is_solid(&self) -> bool {
        matches!(self.look, Look::Solid(_))
    }

    /// Nearness to the eye of its near and its far side on the line of sight through `at`.
    pub(super) fn nearness(&self, view: &View, at: Point) -> (f64, f64) {
        match &self.depth {
            &Depth::Axis { from, to, radius } => {
                let (dx, dy) = (to.0.x - from.0.x, to.0.y - from.0.y);
                let length = dx.hypot(dy);
                if length < 1e-6 {
                    return (from.1.max(to.1), from.1.min(to.1));
                }
                let along = ((at.x - from.0.x) * dx + (at.y - from.0.y) * dy) / (length * length);
                let aside = ((at.y - from.0.y) * dx - (at.x - from.0.x) * dy) / length;
                let middle = from.1 + (to.1 - from.1) * along.clamp(0.0, 1.0);
                let half = (radius * radius - aside * aside).max(0.0).sqrt();
                (middle + half, middle - half)
            }
            &Depth::Plane { at: origin, near, slope } => {
                let near = near + slope.0 * (at.x - origin.x) + slope.1 * (at.y - origin.y);
                (near, near)
            }
            Depth::Solid(shape) => {
                let (far, near) = through(shape, view.behind(at), view.aspect.toward());
                (near * view.scale, far * view.scale)
            }
        }
    }
}

/// Distances (mm, from `origin` along `direction`) at which a line enters and leaves a component's
/// shape. A line that just misses is taken to graze it at the nearest place.
fn through(shape: &Shape, origin: Point3, direction: Vector3) -> (f64, f64) {
    match *shape {
        Shape::Box { place, size } => {
            let start = origin - place.origin;
            let edges = [(place.x, size.x), (place.y(), size.y), (place.axis, size.z)];
            edges.iter().fold((f64::NEG_INFINITY, f64::INFINITY), |span, &(edge, length)| {
                let (o, d) = (start.dot(edge), direction.dot(edge));
                if d.abs() < 1e-12 {
                    return span;
                }
                let (a, b) = (-o / d, (length - o) / d);
                (span.0.max(a.min(b)), span.1.min(a.max(b)))
            })
        }
        // Its triangles are bodies of their own.
        Shape::Mesh(_) => (f64::NEG_INFINITY, f64::NEG_INFINITY),
        Shape::Cylinder { from, to, diameter } => {
            let axis = (to - from).normalize();
            let length = (to - from).magnitude();
            let mut span = (f64::NEG_INFINITY, f64::INFINITY);
            let foot = origin - from;
            let (rise, level) = (direction.dot(axis), foot.dot(axis));
            if rise.abs() > 1e-12 {
                let (a, b) = (-level / rise, (length - level) / rise);
                span = (a.min(b), a.max(b));
            }
            // Distance from the axis, squared: a t² + 2 b t + c.
            let (d, f) = (direction - axis * rise, foot - axis * level);
            let (a, b, c) = (d.dot(d), d.dot(f), f.dot(f) - diameter * diameter / 4.0);
            if a > 1e-12 {
                let root = (b * b - a * c).max(0.0).sqrt();
                span = (span.0.max((-b - root) / a), span.1.min((-b + root) / a));
            }
            span
        }
    }
}

/// The corners of a circle of `radius` mm about `centre`, square to the unit `axis`.
pub(super) fn ring(centre: Point3, axis: Vector3, radius: f64) -> Vec<Point3> {
    let u = crate::geometry::reference_normal(axis);
    let v = axis.cross(u);
    (0..ROUND)
        .map(|n| {
            let (sin, cos) = (n as f64 / ROUND as f64 * std::f64::consts::TAU).sin_cos();
            centre + u * (radius * cos) + v * (radius * sin)
        })
        .collect()
}

/// A flat round thing of `radius` mm: its outline on the page and where lines of sight meet it.
pub(super) fn disc(view: &View, centre: Point3, axis: Vector3, radius: f64) -> (Vec<Point>, Depth) {
    let outline: Vec<Point> = ring(centre, axis, radius).into_iter().map(|p| view.see(p).0).collect();
    (outline, plane(view, view.see(centre), axis))
}

/// A component's shape as seen.
pub(super) fn shape(view: &View, owner: Owner, shape: &Shape) -> Vec<Body> {
    match shape {
        Shape::Box { place, size } => solid(view, owner, shape, &box_faces(place, *size)),
        Shape::Cylinder { from, to, diameter } => {
            solid(view, owner, shape, &cylinder_faces(*from, *to, diameter / 2.0))
        }
        Shape::Mesh(mesh) => return facet::bodies(view, owner, mesh),
    }
    .into_iter()
    .collect()
}

fn solid(view: &View, owner: Owner, shape: &Shape, faces: &[Face]) -> Option<Body> {
    let all: Vec<Point> = faces.iter().flat_map(|(face, _)| face.iter().map(|&p| view.see(p).0)).collect();
    let shown = faces
        .iter()
        .filter(|(_, normal)| normal.is_none_or(|n| view.turn(n).1 > 1e-6))
        .map(|(face, normal)| {
            let face: Vec<Point> = face.iter().map(|&p| view.see(p).0).collect();
            (convex::hull(&face), normal.map_or(0.6, lightness))
        })
        .collect();
    Body::new(owner, &all, Look::Solid(shown), Depth::Solid(shape.clone()))
}

/// Where lines of sight meet the plane square to `axis` through a point that is seen at `at` with nearness `near`.
pub(super) fn plane(view: &View, (at, near): (Point, f64), axis: Vector3) -> Depth {
    let (across, toward) = view.turn(axis);
    // On the plane axis · (p − centre) = 0. Seen edge-on it has no nearness of its own but the centre's.
    let slope = if toward.abs() > 0.02 { (-across.x / toward, -across.y / toward) } else { (0.0, 0.0) };
    Depth::Plane { at, near, slope }
}

/// Light from above, from the front and a little from the right.
pub(super) fn lightness(normal: Vector3) -> f64 {
    let light = Vector3::new(0.25, -0.45, 0.86);
    (0.55 + 0.45 * normal.dot(light)).clamp(0.0, 1.0)
}

/// Corners of a face and its outward normal; a cylinder's wall has none and lies under its end.
type Face = (Vec<Point3>, Option<Vector3>);

fn box_faces(place: &Placement, size: Vector3) -> Vec<Face> {
    let corners = Shape::box_corners(place, size);
    let edges = [place.x, place.y(), place.axis];
    let mut faces = Vec::with_capacity(6);
    for (axis, edge) in edges.into_iter().enumerate() {
        // Bits of the corners' positions along the other two edges.
        let (a, b) = (1 << ((axis + 1) % 3), 1 << ((axis + 2) % 3));
        for (high, sense) in [(0, -1.0), (1 << axis, 1.0)] {
            let around = [0, a, a | b, b].map(|beside| corners[high | beside]);
            faces.push((around.to_vec(), Some(edge * sense)));
        }
    }
    faces
}

fn cylinder_faces(from: Point3, to: Point3, radius: f64) -> Vec<Face> {
    let axis = (to - from).normalize();
    let (start, end) = (ring(from, axis, radius), ring(to, axis, radius));
    let wall = start.iter().chain(&end).copied().collect();
    vec![(wall, None), (start, Some(-axis)), (end, Some(axis))]
}
