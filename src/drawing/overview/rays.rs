//! Pictures held against lines of sight: on a raster of page points, the colour painted last must be that of the body a
//! line of sight meets first.

use super::*;
use crate::centreline::Segment;
use crate::drawing::item::{ItemShape, Path};
use crate::geometry::{InnerSpace, Vector3};
use crate::palette::Rgb;
use crate::spec::model;

/// Nearness (mm of the scene) at which a line of sight first meets a straight round bar; `None` if it
/// passes.
fn meets_bar(origin: Point3, toward: Vector3, from: Point3, to: Point3, radius: f64) -> Option<f64> {
    let axis = (to - from).normalize();
    let length = (to - from).magnitude();
    let mut best: Option<f64> = None;
    let mut keep = |t: f64| best = Some(best.map_or(t, |b| b.max(t)));
    let (d, f) = (toward - axis * toward.dot(axis), origin - from);
    let f_flat = f - axis * f.dot(axis);
    let (a, b, c) = (d.dot(d), d.dot(f_flat), f_flat.dot(f_flat) - radius * radius);
    let disc = b * b - a * c;
    if a > 1e-12 && disc >= 0.0 {
        for t in [(-b + disc.sqrt()) / a, (-b - disc.sqrt()) / a] {
            let along = (f + toward * t).dot(axis);
            if (-1e-9..=length + 1e-9).contains(&along) {
                keep(t);
            }
        }
    }
    let rise = toward.dot(axis);
    if rise.abs() > 1e-9 {
        for cap in [0.0, length] {
            let t = (cap - f.dot(axis)) / rise;
            let at = f + toward * t - axis * cap;
            if at.dot(at) <= radius * radius {
                keep(t);
            }
        }
    }
    best
}

fn meets_ball(origin: Point3, toward: Vector3, centre: Point3, radius: f64) -> Option<f64> {
    let to = centre - origin;
    let along = to.dot(toward);
    let aside = to.dot(to) - along * along;
    (aside <= radius * radius).then(|| along + (radius * radius - aside).sqrt())
}

/// Nearness of everything a line of sight meets: owner and nearness, the nearest first.
fn met(layout: &Layout, view: &View, at: Point) -> Vec<(Owner, f64)> {
    let (origin, toward) = (view.behind(at), view.aspect.toward());
    let mut met = Vec::new();
    for (position, run) in layout.runs.iter().enumerate() {
        let radius = run.run.tube.outer_radius();
        let mut nearest: Option<f64> = None;
        for segment in run.centreline.segments() {
            // A ball around the segment, to pass by most of them quickly.
            let aside = segment.point_at(segment.length() / 2.0) - origin;
            let aside = (aside - toward * aside.dot(toward)).magnitude();
            if aside > segment.length() / 2.0 + radius {
                continue;
            }
            let steps = if matches!(segment, Segment::Arc { .. }) { 60 } else { 1 };
            for step in 0..steps {
                let at = |n: i32| segment.point_at(segment.length() * f64::from(n) / f64::from(steps));
                let bar = meets_bar(origin, toward, at(step), at(step + 1), radius);
                // A ball fills the gap that straight bars leave on the outside of a bend. What of it lies
                // within the bars' length is theirs: near a flat end it would stick out of the tube.
                let ball = if step > 0 { meets_ball(origin, toward, at(step), radius) } else { None };
                let ball = ball.filter(|t| {
                    let spoke = origin + toward * *t - at(step);
                    spoke.dot(at(step) - at(step - 1)) >= 0.0 && spoke.dot(at(step + 1) - at(step)) <= 0.0
                });
                for t in bar.into_iter().chain(ball) {
                    nearest = Some(nearest.map_or(t, |n| n.max(t)));
                }
            }
        }
        met.extend(nearest.map(|n| (Owner::Run(position), n)));
    }
    for (position, component) in layout.components.iter().enumerate() {
        let nearest =
            component.shapes.iter().filter_map(|shape| meets(origin, toward, shape)).reduce(f64::max);
        met.extend(nearest.map(|n| (Owner::Component(position), n)));
    }
    met.sort_by(|a, b| b.1.total_cmp(&a.1));
    met
}

fn meets_box(origin: Point3, toward: Vector3, min: Point3, max: Point3) -> Option<f64> {
    // Every face's plane, and whether the point met lies on the face.
    let mut best: Option<f64> = None;
    for axis in 0..3 {
        for plane in [min[axis], max[axis]] {
            if toward[axis].abs() < 1e-12 {
                continue;
            }
            let t = (plane - origin[axis]) / toward[axis];
            let p = origin + toward * t;
            let on = (0..3).all(|i| i == axis || (p[i] >= min[i] - 1e-9 && p[i] <= max[i] + 1e-9));
            if on {
                best = Some(best.map_or(t, |b| b.max(t)));
            }
        }
    }
    best
}

fn meets(origin: Point3, toward: Vector3, shape: &model::Shape) -> Option<f64> {
    match shape {
        model::Shape::Cylinder { from, to, diameter } => {
            meets_bar(origin, toward, *from, *to, diameter / 2.0)
        }
        model::Shape::Box { place, size } => {
            // In the box's own axes.
            let own = |v: Vector3| Vector3::new(v.dot(place.x), v.dot(place.y()), v.dot(place.axis));
            let start = Point3::from_vec(own(origin - place.origin));
            meets_box(start, own(toward), Point3::origin(), Point3::from_vec(*size))
        }
        model::Shape::Mesh(mesh) => meets_triangles(origin, toward, mesh),
    }
}

fn meets_triangles(origin: Point3, toward: Vector3, mesh: &model::TriangleMesh) -> Option<f64> {
    let corners: Vec<Point3> = mesh.corners().collect();
    let meets = |face: &[u32; 3]| {
        let [a, b, c] = face.map(|corner| corners[corner as usize]);
        let normal = (b - a).cross(c - a);
        let t = (a - origin).dot(normal) / toward.dot(normal);
        let at = origin + toward * t;
        let left = |from: Point3, to: Point3| (to - from).cross(at - from).dot(normal) >= 0.0;
        (t.is_finite() && left(a, b) && left(b, c) && left(c, a)).then_some(t)
    };
    mesh.triangles().iter().filter_map(meets).reduce(f64::max)
}

/// How often a closed path of straights turns around a point.
fn winding(path: &Path, at: Point) -> i32 {
    let mut turns = 0;
    for edge in &path.edges {
        let (a, b) = (edge.from(), edge.to());
        let left = (b.x - a.x) * (at.y - a.y) - (b.y - a.y) * (at.x - a.x);
        if a.y <= at.y && b.y > at.y && left > 0.0 {
            turns += 1;
        } else if a.y > at.y && b.y <= at.y && left < 0.0 {
            turns -= 1;
        }
    }
    turns
}

/// The owner of the fill painted last over a point.
pub(super) fn painted_at(drawing: &Drawing, layout: &Layout, at: Point) -> Option<Owner> {
    let fill = drawing.items.iter().rev().find_map(|item| match &item.shape {
        ItemShape::Area { bound, fill } if winding(bound, at) != 0 => Some(*fill),
        _ => None,
    })?;
    let tints = |tint: Rgb| [0.0, 0.3, 0.45, -0.55].map(|part| paint::shade(tint, part));
    let run = (0..layout.runs.len()).find(|&run| tints(colour(layout, run)).contains(&fill));
    // Tints of grey are components; the test scenes have no two that overlap.
    Some(run.map_or(Owner::Component(usize::MAX), Owner::Run))
}

/// Compares a picture with lines of sight on a raster; returns how many points were compared.
pub(super) fn compare(layout: &Layout, aspect: Aspect, steps: u32) -> usize {
    let seen = extents(layout, aspect);
    let view = View { aspect, centre: Point3::origin(), at: Point::new(0.0, 0.0), scale: 0.4 };
    let (bodies, known) = scene(layout, &view);
    let drawing = paint::paint(&bodies, &known, &view, &|run| colour(layout, run)).drawing;
    // The outline is drawn within 0.01 mm of the true one; points nearer to an edge than this are left out.
    let margin = 0.06;
    let kind = |owner: Option<&(Owner, f64)>| match owner {
        Some((Owner::Component(_), _)) => Some(Owner::Component(usize::MAX)),
        other => other.map(|(owner, _)| *owner),
    };
    let mut compared = 0;
    for column in 0..steps {
        for row in 0..steps {
            let part = |n: u32, offset: f64| (f64::from(n) + offset) / f64::from(steps);
            let at = Point::new(
                (seen.min.x + seen.width() * part(column, 0.37)) * view.scale,
                (seen.min.y + seen.height() * part(row, 0.61)) * view.scale,
            );
            let expected = met(layout, &view, at);
            let first = kind(expected.first());
            let around = [(margin, 0.0), (-margin, 0.0), (0.0, margin), (0.0, -margin)];
            let clear =
                around.iter().all(|&(dx, dy)| kind(met(layout, &view, at.shifted(dx, dy)).first()) == first);
            let Some(expected_owner) = first.filter(|_| clear) else { continue };
            assert_eq!(
                painted_at(&drawing, layout, at),
                Some(expected_owner),
                "{} view at {at:?}: a line of sight meets {expected:?}",
                aspect.name
            );
            compared += 1;
        }
    }
    compared
}
