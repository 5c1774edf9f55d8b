//! A solid's volume and area from its own faces, held against the closed form.
//!
//! The faces are integrated exactly, each over the parameter range its boundary loop spans, so a
//! face that is missing, turned inside out, or trimmed wrongly shows as a wrong volume.

use std::f64::consts::PI;

use super::{Curve, Edge, Face, Placement, Shell, Solid, SolidFault, Surface};
use crate::centreline::Centreline;
use crate::formula::section;
use crate::geometry::{EuclideanSpace, InnerSpace, Point3, Vector3};
use crate::spec::model::Tube;

/// Largest relative difference between the volume of the faces and the closed form. Rounding of
/// metre-long runs stays a hundred times below it; a face trimmed 0.001 mm wrongly lies far above.
const VOLUME_AGREES: f64 = 1e-9;

/// Roundings of a coordinate that add up on the way along a run, generously.
const ROUNDINGS: f64 = 64.0;

/// From a corner of a solid to the point moments are taken about, mm; skew, so that it lies in no
/// plane that a draughtsman would draw.
const NEARBY: Vector3 = Vector3::new(3.1, 5.3, 7.7);

/// Volume and area within the faces of a solid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measure {
    /// Enclosed volume, mm³; negative if the faces look inwards.
    pub volume: f64,
    /// Area of all faces, mm².
    pub area: f64,
}

/// Volume of the tube's metal by the closed form, mm³.
pub fn metal_volume(centreline: &Centreline, tube: &Tube) -> f64 {
    section::metal_volume(tube.od(), tube.wall(), centreline.length())
}

/// Area of the tube's whole surface by the closed form, mm²: skin, bore and both ends.
pub fn surface_area(centreline: &Centreline, tube: &Tube) -> f64 {
    let walls = [tube.od(), tube.bore()].map(|diameter| section::outer_area(diameter, centreline.length()));
    walls.iter().sum::<f64>() + 2.0 * section::metal_area(tube.od(), tube.wall())
}

/// Integrates all faces of a solid.
pub fn measure(solid: &Solid) -> Measure {
    let shells = solid.boundaries();
    // Moments about a point near the solid keep rounding small far from the origin; off its corners,
    // since a face in a plane through the point would count for nothing, missing or turned.
    let corner = shells.iter().flat_map(Shell::vertex_iter).next().map_or(Point3::origin(), |v| v.point());
    let about = corner + NEARBY;
    let mut total = Measure { volume: 0.0, area: 0.0 };
    for face in shells.iter().flat_map(|shell| shell.iter()) {
        let (area, moment) = match face.surface() {
            Surface::Plane(at) => plane(face, &at, about),
            Surface::Cylinder { placement, radius } => cylinder(face, &placement, radius, about),
            Surface::Torus { placement, major, minor } => torus(face, &placement, major, minor, about),
        };
        total.area += area;
        total.volume += if face.orientation() { moment / 3.0 } else { -moment / 3.0 };
    }
    total
}

/// Makes a tube's solid and checks the volume its faces enclose: the gate every run passes before
/// any file of it is written.
///
/// # Errors
/// What [`super::tube()`] cannot make; [`SolidFault::Volume`] would be a fault of this program.
pub fn tube(centreline: &Centreline, tube: &Tube) -> Result<Solid, SolidFault> {
    let solid = super::tube(centreline, tube)?;
    volume_agrees(&solid, metal_volume(centreline, tube))?;
    Ok(solid)
}

/// Checks the volume of the faces against the closed form.
///
/// # Errors
/// [`SolidFault::Volume`] when they differ by more than rounding: a share of the volume, and what
/// faces shifted by the rounding of their coordinates enclose, which counts for tiny solids far out.
pub(super) fn volume_agrees(solid: &Solid, expected: f64) -> Result<(), SolidFault> {
    let Measure { volume: measured, area } = measure(solid);
    let vertices = solid.boundaries().iter().flat_map(Shell::vertex_iter);
    let reach = vertices.map(|v| v.point().to_vec().magnitude()).fold(0.0, f64::max);
    let rounding = ROUNDINGS * f64::EPSILON * reach;
    if (measured - expected).abs() <= VOLUME_AGREES * expected + rounding * area {
        Ok(())
    } else {
        Err(SolidFault::Volume { measured, expected })
    }
}

/// Area of a plane face and ∫ (x − about)·n dA over it, n its natural normal.
fn plane(face: &Face, at: &Placement, about: Point3) -> (f64, f64) {
    let area: f64 =
        face.absolute_boundaries().iter().flat_map(|w| w.iter()).map(|edge| under_edge(edge, at)).sum();
    (area, area * (at.origin - about).dot(at.axis))
}

/// ½ ∫ (x dy − y dx) along an edge in a plane's coordinates: summed over a loop, the area within.
fn under_edge(edge: &Edge, plane: &Placement) -> f64 {
    let flat = |v: Vector3| (v.dot(plane.x), v.dot(plane.y()));
    let cross = |(ax, ay): (f64, f64), (bx, by): (f64, f64)| ax * by - ay * bx;
    let curve = edge.curve();
    let [from, to] = [curve.at(0.0), curve.at(1.0)].map(|p| flat(p - plane.origin));
    let forward = match curve {
        Curve::Line(_) => cross(from, to) / 2.0,
        Curve::Arc(arc) => {
            let centre = flat(arc.circle.origin - plane.origin);
            let sweep = arc.sweep * arc.circle.axis.dot(plane.axis).signum();
            (arc.radius * arc.radius * sweep + cross(centre, (to.0 - from.0, to.1 - from.1))) / 2.0
        }
    };
    if edge.orientation() { forward } else { -forward }
}

fn cylinder(face: &Face, at: &Placement, radius: f64, about: Point3) -> (f64, f64) {
    let points: Vec<(f64, f64)> = walk(face).into_iter().flatten().collect();
    let spans = (span(points.iter().map(|p| p.0)), span(points.iter().map(|p| p.1)));
    let (Some(u), Some(v)) = spans else {
        return (0.0, 0.0);
    };
    let height = v.length();
    let centre = at.origin - about;
    let (u_cos, u_sin) = u.integrals();
    let over_u = centre.dot(at.x) * u_cos + centre.dot(at.y()) * u_sin + radius * u.length();
    (radius * u.length() * height, radius * height * over_u)
}

fn torus(face: &Face, at: &Placement, major: f64, minor: f64, about: Point3) -> (f64, f64) {
    let edges = walk(face);
    // Where the inside of a bend nearly touches its axis, the rounding of a coordinate is a large
    // angle; so each ring's angle about the axis is taken where the ring is furthest from it.
    let rings = edges.iter().filter(|[from, _, to]| (to.1 - from.1).abs() > (to.0 - from.0).abs());
    let furthest =
        |ring: &[(f64, f64); 3]| ring.iter().copied().max_by(|a, b| a.1.cos().total_cmp(&b.1.cos()));
    let (Some(u), Some(v)) =
        (span(rings.filter_map(furthest).map(|p| p.0)), span(edges.iter().flatten().map(|p| p.1)))
    else {
        return (0.0, 0.0);
    };
    let centre = at.origin - about;
    // ∫ over v of (major + minor cos v) · {1, cos v, sin v}; cos² v integrates to (v + sin v cos v) / 2.
    let [(sin_from, cos_from), (sin_to, cos_to)] = v.ends();
    let cos_cos = (v.length() + sin_to * cos_to - sin_from * cos_from) / 2.0;
    let sin_cos = (sin_to * sin_to - sin_from * sin_from) / 2.0;
    let (v_cos, v_sin) = v.integrals();
    let one = major * v.length() + minor * v_cos;
    let cos = major * v_cos + minor * cos_cos;
    let sin = major * v_sin + minor * sin_cos;
    let (u_cos, u_sin) = u.integrals();
    let radial = centre.dot(at.x) * u_cos + centre.dot(at.y()) * u_sin;
    let axial = centre.dot(at.axis) * u.length();
    let moment = minor * (radial * cos + axial * sin + u.length() * (major * cos + minor * one));
    (minor * u.length() * one, moment)
}

/// A range of one surface parameter.
#[derive(Debug, Clone, Copy)]
struct Interval {
    from: f64,
    to: f64,
}

impl Interval {
    fn length(self) -> f64 {
        self.to - self.from
    }

    /// Sine and cosine at either end.
    fn ends(self) -> [(f64, f64); 2] {
        [self.from, self.to].map(f64::sin_cos)
    }

    /// ∫ cos and ∫ sin over the range.
    fn integrals(self) -> (f64, f64) {
        let [(sin_from, cos_from), (sin_to, cos_to)] = self.ends();
        (sin_to - sin_from, cos_from - cos_to)
    }
}

/// The range of some values.
fn span(values: impl Iterator<Item = f64>) -> Option<Interval> {
    values.fold(None, |span, value| {
        let Interval { from, to } = span.unwrap_or(Interval { from: value, to: value });
        Some(Interval { from: from.min(value), to: to.max(value) })
    })
}

/// Parameters at the start, middle and end of each edge of a face's loop, followed round the loop so
/// that angles do not jump by a full turn. The loop then spans the face's parameters, since all our
/// curved faces are bounded by parameter lines.
pub(super) fn walk(face: &Face) -> Vec<[(f64, f64); 3]> {
    let surface = face.surface();
    let v_is_angle = matches!(surface, Surface::Torus { .. });
    let mut last = None;
    let mut follow = |point: Point3| {
        let (u, v) = surface.parameters(point);
        let before = *last.get_or_insert((u, v));
        let here = (near(u, before.0), if v_is_angle { near(v, before.1) } else { v });
        last = Some(here);
        here
    };
    // Half circles in quarter turns: less than half a turn a step, so following is unambiguous.
    let halves: Vec<[(f64, f64); 2]> = face
        .absolute_boundaries()
        .iter()
        .take(1)
        .flat_map(|wire| wire.iter())
        .map(|edge| {
            let curve = edge.curve();
            [if edge.orientation() { 0.0 } else { 1.0 }, 0.5].map(|fraction| follow(curve.at(fraction)))
        })
        .collect();
    // Each edge ends where the next begins.
    let ends = halves.iter().cycle().skip(1).map(|[start, _]| *start);
    halves.iter().zip(ends).map(|([start, middle], end)| [*start, *middle, end]).collect()
}

/// `angle` plus the whole turns that bring it nearest to `last`.
fn near(angle: f64, last: f64) -> f64 {
    angle + 2.0 * PI * ((last - angle) / (2.0 * PI)).round()
}

#[cfg(test)]
mod tests {
    use super::super::{component, tube};
    use super::*;
    use crate::centreline::{CornerPoint, TableRow, from_corners, from_table};
    use crate::geometry::Frame;
    use crate::spec::model::{Component, Shape, Temper};

    fn relative(a: f64, b: f64) -> f64 {
        ((a - b) / b).abs()
    }

    fn copper(od: f64, wall: f64) -> Tube {
        Tube::new(od, wall, "copper", None, Temper::Soft, "test").unwrap()
    }

    /// Regression numbers of a planar U, 15.875 x 1.245, R 38.1, worked by hand from Pappus.
    #[test]
    fn u_bend_measures_what_pappus_says() {
        let corner = |x, y| CornerPoint { at: Point3::new(x, y, 0.0), radius: 38.1 };
        let start = Point3::new(0.0, 0.0, 0.0);
        let line =
            from_corners(start, &[corner(100.0, 0.0), corner(100.0, 120.0)], Point3::new(0.0, 120.0, 0.0))
                .unwrap();
        let copper = copper(15.875, 1.245);
        let measured = measure(&tube(&line, &copper).unwrap());
        assert!((measured.volume - 16_439.6).abs() < 0.05, "{measured:?}");
        assert!(relative(measured.volume, metal_volume(&line, &copper)) < 1e-13);
        assert!(relative(measured.area, surface_area(&line, &copper)) < 1e-13);
        // Skin alone: the whole surface without the bore and the ends.
        let (outer, inner) = (copper.outer_radius(), copper.inner_radius());
        let ends = 2.0 * PI * (outer * outer - inner * inner);
        let skin = measured.area - 2.0 * PI * inner * line.length() - ends;
        assert!((skin - 14_328.2).abs() < 0.05, "{skin}");
    }

    #[test]
    fn one_bend_of_metal() {
        let row = TableRow { length: 0.0, rotation: 0.4, angle: PI / 2.0, radius: 38.1 };
        let line = from_table(Frame::default(), &[row], 0.0).unwrap();
        let measured = measure(&tube(&line, &copper(15.875, 1.245)).unwrap());
        assert!((measured.volume - 3_424.59).abs() < 0.005, "{measured:?}");
    }

    #[test]
    fn an_inverted_or_missing_face_shows() {
        let row = TableRow { length: 30.0, rotation: 0.4, angle: 1.0, radius: 30.0 };
        let line = from_table(Frame::default(), &[row], 20.0).unwrap();
        let copper = copper(10.0, 1.0);
        let expected = metal_volume(&line, &copper);
        let sound = tube(&line, &copper).unwrap();
        volume_agrees(&sound, expected).unwrap();
        let faces: Vec<Face> = sound.boundaries()[0].iter().cloned().collect();
        for index in 0..faces.len() {
            let mut turned = faces.clone();
            turned[index].invert();
            let broken = Solid::new_unchecked(vec![turned.into()]);
            assert!(volume_agrees(&broken, expected).is_err(), "face {index} turned");
            let mut fewer = faces.clone();
            fewer.remove(index);
            let broken = Solid::new_unchecked(vec![fewer.into()]);
            assert!(volume_agrees(&broken, expected).is_err(), "face {index} missing");
        }
    }

    #[test]
    fn boxes_and_round_bars_measure_right() {
        let part = |shape| Component::new("part", vec![shape], vec![]);
        let solid =
            component(&part(Shape::square(Point3::new(-10.0, 20.0, 5.0), Point3::new(30.0, 50.0, 25.0))));
        let measured = measure(&solid.unwrap()[0]);
        assert!(relative(measured.volume, 40.0 * 30.0 * 20.0) < 1e-14);
        assert!(relative(measured.area, 2.0 * (40.0 * 30.0 + 40.0 * 20.0 + 30.0 * 20.0)) < 1e-14);
        // Cylinder r 2, h 10: 125.6637.
        let (from, to) = (Point3::new(200.0, 250.0, 0.0), Point3::new(200.0, 256.0, 8.0));
        let solid = component(&part(Shape::Cylinder { from, to, diameter: 4.0 }));
        let measured = measure(&solid.unwrap()[0]);
        assert!((measured.volume - 125.6637).abs() < 5e-5, "{measured:?}");
        assert!(relative(measured.area, 2.0 * PI * 2.0 * 12.0) < 1e-12);
    }
}
