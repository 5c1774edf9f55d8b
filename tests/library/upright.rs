//! Jigs and tubes as plain geometry: parts by their contours and poses alone, tubes by their centrelines.
//! Nothing here knows how a jig is designed.

use tubewright::centreline::Centreline;
use tubewright::flat::{Edge, Path, Point, Rect, path_extents};
use tubewright::geometry::{InnerSpace, Placement, Point3, Vector3};
use tubewright::tooling::jig::Jig;
use tubewright::tooling::{Opening, Part};

/// Distance of two samples along a tube, mm.
const STEP_MM: f64 = 0.4;

/// So far off a part is not looked at closely, mm.
const FAR_MM: f64 = 3.5;

/// Points round an end's rim, and rings between its middle and the rim.
const ROUND: usize = 32;
const RINGS: usize = 3;

/// A part standing in the jig.
pub(crate) struct Plate<'a> {
    pub(crate) part: &'a Part,
    pub(crate) at: Placement,
    thickness: f64,
    /// Outline and holes, arcs as chords, to tell inside from outside.
    polygons: Vec<Vec<Point>>,
    bounds: Rect,
}

/// The parts of a jig where they stand, in the order of its work.
pub(crate) fn plates(jig: &Jig) -> Vec<Plate<'_>> {
    let plate = |posed: &tubewright::tooling::Posed| {
        let part = &jig.work.parts[posed.part];
        let polygons = contours(part).map(polygon).collect();
        let bounds = path_extents(&part.outline).unwrap();
        Plate { part, at: posed.at, thickness: jig.work.thickness, polygons, bounds }
    };
    jig.work.posed.iter().map(plate).collect()
}

fn contours(part: &Part) -> impl Iterator<Item = &Path> {
    let slots = part.openings.iter().map(|opening| match opening {
        Opening::Slot(path) => path,
        Opening::Round { .. } => panic!("a jig has no round holes"),
    });
    std::iter::once(&part.outline).chain(slots)
}

fn polygon(path: &Path) -> Vec<Point> {
    let points = |edge: &Edge| match edge {
        Edge::Line(line) => vec![line.from],
        Edge::Arc(arc) => (0..200)
            .map(|k| arc.centre.polar(arc.radius, arc.start + arc.sweep * f64::from(k) / 200.0))
            .collect(),
    };
    path.edges.iter().flat_map(points).collect()
}

fn inside(polygon: &[Point], p: Point) -> bool {
    let next = polygon.iter().cycle().skip(1);
    let crossed = |(a, b): &(&Point, &Point)| {
        (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x)
    };
    polygon.iter().zip(next).filter(crossed).count() % 2 == 1
}

/// Distance of a point from an edge, mm.
pub(crate) fn to_edge(edge: &Edge, p: Point) -> f64 {
    match edge {
        Edge::Line(line) => {
            let (dx, dy) = (line.to.x - line.from.x, line.to.y - line.from.y);
            let part = ((p.x - line.from.x) * dx + (p.y - line.from.y) * dy) / (dx * dx + dy * dy);
            let part = part.clamp(0.0, 1.0);
            p.distance(line.from.shifted(part * dx, part * dy))
        }
        Edge::Arc(arc) => {
            let angle = (p.y - arc.centre.y).atan2(p.x - arc.centre.x);
            let past = ((angle - arc.start) * arc.sweep.signum()).rem_euclid(std::f64::consts::TAU);
            if past <= arc.sweep.abs() {
                (p.distance(arc.centre) - arc.radius).abs()
            } else {
                p.distance(arc.from()).min(p.distance(arc.to()))
            }
        }
    }
}

impl Plate<'_> {
    /// A point in the part's own axes, and how far it is beyond the nearer face (negative between them).
    pub(crate) fn local(&self, p: Point3) -> (Point, f64) {
        let from = p - self.at.origin;
        let up = from.dot(self.at.axis);
        (Point::new(from.dot(self.at.x), from.dot(self.at.y())), (-up).max(up - self.thickness))
    }

    /// Signed distance of a point from the part, mm; negative within.
    pub(crate) fn distance(&self, p: Point3) -> f64 {
        let (flat, beyond) = self.local(p);
        let edges = contours(self.part).flat_map(|path| &path.edges);
        let away = edges.map(|edge| to_edge(edge, flat)).fold(f64::INFINITY, f64::min);
        let within = self.polygons.iter().filter(|polygon| inside(polygon, flat)).count() == 1;
        let away = if within { -away } else { away };
        if away > 0.0 && beyond > 0.0 { away.hypot(beyond) } else { away.max(beyond) }
    }
}

/// A tube as points: balls round its inner samples, and the points of its two ends' faces and rims.
pub(crate) struct Rod {
    radius: f64,
    /// Centreline points at least a radius from both ends: all round them within a radius is the tube's.
    inner: Vec<Point3>,
    /// Points on the end faces and on the walls next to them.
    skin: Vec<Point3>,
}

pub(crate) fn rod(line: &Centreline, radius: f64) -> Rod {
    let mut rod = Rod { radius, inner: Vec::new(), skin: Vec::new() };
    let (mut station, length) = (0.0, line.length());
    for segment in line.segments() {
        let steps = (segment.length() / STEP_MM).ceil() as usize;
        for step in 0..=steps {
            let along = segment.length() * step as f64 / steps as f64;
            let (at, from_end) = (segment.point_at(along), (station + along).min(length - station - along));
            if from_end >= radius {
                rod.inner.push(at);
            } else {
                let rings = if from_end < 1e-9 { 1..=RINGS } else { RINGS..=RINGS };
                rings.for_each(|ring| {
                    let size = radius * ring as f64 / RINGS as f64;
                    rod.skin.extend(circle(at, segment.direction_at(along), size));
                });
            }
        }
        station += segment.length();
    }
    rod
}

fn circle(at: Point3, direction: Vector3, radius: f64) -> impl Iterator<Item = Point3> {
    let x = tubewright::geometry::reference_normal(direction);
    let plane = Placement { origin: at, axis: direction, x };
    (0..ROUND).map(move |k| at + plane.spoke(std::f64::consts::TAU * k as f64 / ROUND as f64) * radius)
}

impl Rod {
    /// Least distance between the tube, lifted by so much, and a part, mm; negative by how deep it is in it.
    /// Where it is [`FAR_MM`] or more it may be any larger number.
    pub(crate) fn gap(&self, plate: &Plate<'_>, lift: f64) -> f64 {
        let lifted = |p: &Point3| *p + Vector3::unit_z() * lift;
        let gap = |p: Point3, radius: f64| {
            let (flat, beyond) = plate.local(p);
            let far = beyond > radius + FAR_MM || !plate.bounds.grown(radius + FAR_MM).has(flat);
            if far { FAR_MM.max(beyond - radius) } else { plate.distance(p) - radius }
        };
        let inner = self.inner.iter().map(|p| gap(lifted(p), self.radius));
        let skin = self.skin.iter().map(|p| gap(lifted(p), 0.0));
        inner.chain(skin).fold(f64::INFINITY, f64::min)
    }
}
