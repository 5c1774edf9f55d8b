//! A run cut into bodies: short pieces of tube, folds, ends.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use super::body::{Body, Depth, Look, Owner, Piece, disc};
use super::view::View;
use crate::centreline::{LaidRun, Segment};
use crate::drawing::item::Point;
use crate::geometry::{Point3, Vector3};
use crate::spec::model::End;

/// Straights are cut into pieces of this many tube diameters, short enough that one nearness decides.
const PIECE_DIAMETERS: f64 = 2.0;

/// Arcs are cut at least so often, rad (7.5°), …
const ARC_STEP: f64 = PI / 24.0;
/// … and as often as it takes to keep the drawn outline this near to the true one, page mm.
const ARC_CHORD: f64 = 0.01;

/// Between samples the tube turns on the page by no more than this, rad (20°), …
const PAGE_TURN: f64 = PI / 9.0;
/// … unless the samples are as near as this on the arc, rad: then the page sees a fold.
const FINEST: f64 = ARC_STEP / 64.0;

/// A turn on the page between two pieces that counts as a fold, rad (30°).
const FOLD: f64 = PI / 6.0;

/// A straight whose direction is shorter than this on the page (1 is square to the line of sight)
/// is seen end-on.
const END_ON: f64 = 0.02;

/// A place on the centreline.
#[derive(Clone, Copy)]
struct Sample {
    at: Point3,
    direction: Vector3,
}

/// The bodies of a run, in order along it, and which of them touch: pairs of positions with the one
/// to be painted first in front.
pub(super) fn bodies(view: &View, owner: Owner, run: &LaidRun) -> (Vec<Body>, Vec<(usize, usize)>) {
    let radius = run.run.tube.outer_radius();
    let mut bodies: Vec<Body> = Vec::new();
    let mut before = Vec::new();
    // The end of the last piece: its direction on the page and its nearness in the middle.
    let mut last: Option<(usize, Option<Point>, f64)> = None;
    for segment in run.centreline.segments() {
        for pair in samples(view, run, segment).windows(2) {
            let Some((body, dirs, middle)) = piece(view, owner, pair[0], pair[1], radius) else { continue };
            let mut index = bodies.len();
            if let Some((previous, direction, nearness)) = last {
                let (joint, smooth) = join(view, owner, pair[0].at, (direction, dirs.0), radius);
                let deeper_first = |a: usize, b: usize| if nearness <= middle { (a, b) } else { (b, a) };
                if let Some(joint) = joint {
                    before.push(deeper_first(previous, index));
                    bodies.push(joint);
                    index += 1;
                    before.push(deeper_first(index - 1, index));
                } else if smooth {
                    if let Look::Piece(piece) = &mut bodies[previous].look {
                        piece.goes_on = true;
                    }
                } else {
                    before.push(deeper_first(previous, index));
                }
            }
            bodies.push(body);
            last = Some((index, dirs.1, middle));
        }
    }
    ends(view, owner, run, &mut bodies, &mut before);
    (bodies, before)
}

/// Samples along a segment, its ends included; straights are cut at port faces too.
fn samples(view: &View, run: &LaidRun, segment: &Segment) -> Vec<Sample> {
    let length = segment.length();
    let mut stations = vec![0.0, length];
    match *segment {
        Segment::Straight { .. } => {
            let step = PIECE_DIAMETERS * run.run.tube.od();
            let pieces = (length / step).ceil().clamp(1.0, 400.0) as u32;
            stations.extend((1..pieces).map(|n| length * f64::from(n) / f64::from(pieces)));
            let insert = |end: &Option<End>| end.as_ref().map_or(0.0, End::insert);
            let first = run.centreline.segments().first() == Some(segment);
            let last = run.centreline.segments().last() == Some(segment);
            let inside = |s: &f64| *s > 1e-6 && *s < length - 1e-6;
            stations.extend(first.then(|| insert(&run.run.from)).filter(inside));
            stations.extend(last.then(|| length - insert(&run.run.to)).filter(inside));
        }
        Segment::Arc { centre, axis, from, angle } => {
            let radius = length / angle;
            let outer = (radius + run.run.tube.outer_radius()) * view.scale;
            let step = (8.0 * ARC_CHORD / outer).sqrt().min(ARC_STEP);
            let pieces = (angle / step).ceil().clamp(1.0, 400.0) as u32;
            let mut angles: Vec<f64> =
                (0..=pieces).map(|n| angle * f64::from(n) / f64::from(pieces)).collect();
            // Where the tube runs most directly towards or away from the eye.
            let spoke = from - centre;
            let (cos, sin) = (view.turn(axis.cross(spoke)).1, view.turn(-spoke).1);
            let steepest = sin.atan2(cos);
            let steepest = if steepest > 0.0 { steepest } else { steepest + PI };
            angles.extend(Some(steepest).filter(|a| *a > 1e-6 && *a < angle - 1e-6));
            angles.sort_by(f64::total_cmp);
            angles.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
            stations = refined(&angles, &|a| view.turn(segment.direction_at(a * radius)).0)
                .into_iter()
                .map(|a| a * radius)
                .collect();
        }
    }
    stations.sort_by(f64::total_cmp);
    stations.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
    stations.iter().map(|&s| Sample { at: segment.point_at(s), direction: segment.direction_at(s) }).collect()
}

/// Angles along an arc with more of them where its picture turns sharply.
fn refined(angles: &[f64], page_direction: &impl Fn(f64) -> Point) -> Vec<f64> {
    let mut fine: Vec<f64> = angles.first().copied().into_iter().collect();
    for pair in angles.windows(2) {
        let turned = page_turn(page_direction(pair[0]), page_direction(pair[1])).abs();
        let span = pair[1] - pair[0];
        if turned > PAGE_TURN && span > FINEST {
            let middle = (pair[0] + pair[1]) / 2.0;
            fine.extend(refined(&[pair[0], middle, pair[1]], page_direction).into_iter().skip(1));
        } else {
            fine.push(pair[1]);
        }
    }
    fine
}

/// Signed angle from one page vector to another, rad.
fn page_turn(a: Point, b: Point) -> f64 {
    (a.x * b.y - a.y * b.x).atan2(a.x * b.x + a.y * b.y)
}

fn unit(v: Point) -> Option<Point> {
    let length = v.x.hypot(v.y);
    (length > 1e-4).then(|| Point::new(v.x / length, v.y / length))
}

fn left(direction: Point) -> Point {
    Point::new(-direction.y, direction.x)
}

type Directions = (Option<Point>, Option<Point>);

/// The body between two samples, its page directions at both ends and its nearness in the middle.
fn piece(view: &View, owner: Owner, a: Sample, b: Sample, radius: f64) -> Option<(Body, Directions, f64)> {
    let radius = radius * view.scale;
    let ((pa, za), (pb, zb)) = (view.see(a.at), view.see(b.at));
    let chord = Point::new(pb.x - pa.x, pb.y - pa.y);
    let depth = Depth::Axis { from: (pa, za), to: (pb, zb), radius };
    let middle = (za + zb) / 2.0;
    let long = chord.x.hypot(chord.y);
    let Some(along) = unit(chord).filter(|_| long >= END_ON * (long.hypot(zb - za))) else {
        let points: Vec<Point> = (0..24).map(|n| pa.polar(radius, f64::from(n) * TAU / 24.0)).collect();
        return Some((Body::new(owner, &points, Look::EndOn { radius }, depth)?, (None, None), middle));
    };
    // At a fold the direction at an end has no length; the piece's own stands in.
    let direction = |sample: Sample| {
        unit(view.turn(sample.direction).0)
            .filter(|d| page_turn(*d, along).abs() < FRAC_PI_2)
            .unwrap_or(along)
    };
    let (da, db) = (direction(a), direction(b));
    let normals = [left(da), left(db)];
    let corner = |p: Point, n: Point, side: f64| p.shifted(n.x * side * radius, n.y * side * radius);
    let points = [
        corner(pa, normals[0], 1.0),
        corner(pa, normals[0], -1.0),
        corner(pb, normals[1], -1.0),
        corner(pb, normals[1], 1.0),
    ];
    let look = Look::Piece(Piece { ends: [pa, pb], normals, radius, goes_on: false, cut: [false; 2] });
    Some((Body::new(owner, &points, look, depth)?, (Some(da), Some(db)), middle))
}

/// The joint of two pieces that meet at `at`: a fold, and whether they go on smoothly.
fn join(view: &View, owner: Owner, at: Point3, directions: Directions, radius: f64) -> (Option<Body>, bool) {
    let (Some(a), Some(b)) = directions else { return (None, false) };
    let turned = page_turn(a, b);
    if turned.abs() <= FOLD {
        return (None, true);
    }
    let radius = radius * view.scale;
    let (at, near) = view.see(at);
    let side = if turned > 0.0 { -1.0 } else { 1.0 };
    let start = (left(a).y * side).atan2(left(a).x * side);
    let points: Vec<Point> = (0..24).map(|n| at.polar(radius, f64::from(n) * TAU / 24.0)).collect();
    let look = Look::Fold { start, sweep: turned, radius };
    let depth = Depth::Axis { from: (at, near), to: (at, near), radius };
    (Body::new(owner, &points, look, depth), false)
}

/// Adds the two ends.
fn ends(view: &View, owner: Owner, run: &LaidRun, bodies: &mut Vec<Body>, before: &mut Vec<(usize, usize)>) {
    let Some(last) = bodies.len().checked_sub(1) else { return };
    let line = &run.centreline;
    let tube = &run.run.tube;
    let both = [(line.start(), -line.start_direction(), 0), (line.end(), line.end_direction(), last)];
    for (which, (at, outward, neighbour)) in both.into_iter().enumerate() {
        let toward = view.turn(outward).1;
        if toward.abs() <= END_ON {
            // Seen from its edge it is the line that closes the piece.
            if let Look::Piece(piece) = &mut bodies[neighbour].look {
                piece.cut[which] = true;
            }
            continue;
        }
        let (rim, depth) = disc(view, at, outward, tube.outer_radius());
        let bore = (toward > 0.0).then(|| disc(view, at, outward, tube.inner_radius()).0);
        let Some(end) = Body::new(owner, &rim, Look::End { bore }, depth) else { continue };
        let index = bodies.len();
        before.push(if toward > 0.0 { (neighbour, index) } else { (index, neighbour) });
        bodies.push(end);
    }
}
