//! How a tube lies in its jig: which way is up, and how it is turned on the board.

use std::f64::consts::TAU;

use super::sense::{SHOWN_DEG, SHOWN_MM};
use super::tube::{Leg, TubeInJig};
use crate::centreline::{Bend, Centreline};
use crate::flat::Point;
use crate::geometry::{InnerSpace, Placement, Point3, Vector3, reference_normal};
use crate::spec::model::JigOptions;
use crate::tolerance::SAME_PLANE;

/// Directions tried as "up" of a run in space: about 4° apart over half a sphere.
const DIRECTIONS: usize = 1000;

/// Poses of a run in space that are worked out in full until one is without fault.
const POSES: usize = 14;

/// Two poses nearer than this are one, cosine of 10°.
const ALIKE: f64 = 0.985;

/// Steepest slope of a straight that an upright stands at, and the steepest that costs nothing: sines of 60°
/// and 45°. Beyond, saddles grow deep and a plate's thickness asks for much room along the tube.
const STEEPEST: f64 = 0.866;
const STEEP: f64 = 0.707;

/// Steepest slope of the tube's last straight: sine of 55°. A tube that is 2 mm too long must go on by more
/// than the gate's 1 mm, seen from above.
const STEEPEST_END: f64 = 0.82;

/// Every error should move the tube by this much more than its clearances let pass, mm.
const SURE_MM: f64 = 0.25;

/// An error that moves the tube by so much more than is needed to feel it costs nothing.
const SURELY_FELT: f64 = 1.5;

/// Points at which a tube's height is looked at, or a few more.
const MOST_POINTS: usize = 500;

/// Whether a straight of this direction in the jig's space is too steep for a cradle.
pub(super) fn too_steep(direction: Vector3) -> bool {
    direction.z.abs() > STEEPEST
}

/// Unit vectors of the run's space to be tried as the jig's "up", best first.
///
/// A planar run lies flat; after that, and for a run in space, a sphere of directions is searched for one in
/// which every bend is felt sideways: an error that lifts the tube out of its cradles touches nothing.
pub(super) fn ups(
    centreline: &Centreline,
    tube: &TubeInJig,
    options: &JigOptions,
    thickness: f64,
) -> Vec<Vector3> {
    let bends = centreline.bends();
    let Some(first) = bends.first() else { return vec![reference_normal(centreline.start_direction())] };
    let planar = bends.iter().all(|bend| bend.axis.cross(first.axis).magnitude() < SAME_PLANE.sin());
    let mut chosen = if planar { vec![first.axis, -first.axis] } else { Vec::new() };
    let scale = Scale::new(centreline, tube, options, thickness);
    let special = bends.iter().map(|bend| bend.axis);
    let corners = bends.windows(2).map(|pair| pair[0].axis + pair[1].axis).filter(|v| v.magnitude() > 0.1);
    let all = sphere().chain(special).chain(corners.map(InnerSpace::normalize));
    let mut rated: Vec<(f64, Vector3)> = all.map(|up| (scale.cost(up), up)).collect();
    rated.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (_, up) in rated {
        if chosen.len() >= 2 * POSES {
            break;
        }
        if chosen.iter().all(|known| known.dot(up).abs() < ALIKE) {
            // From above and from below.
            chosen.extend([up, -up]);
        }
    }
    chosen
}

/// A Fibonacci lattice over half a sphere.
fn sphere() -> impl Iterator<Item = Vector3> {
    let golden = (5.0_f64.sqrt() - 1.0) / 2.0;
    (0..DIRECTIONS).map(move |i| {
        let z = (i as f64 + 0.5) / DIRECTIONS as f64;
        let (sin, cos) = (TAU * (i as f64 * golden).fract()).sin_cos();
        let flat = (1.0 - z * z).sqrt();
        Vector3::new(flat * cos, flat * sin, z)
    })
}

/// The merit of a way up.
struct Scale {
    legs: Vec<Leg>,
    bends: Vec<Bend>,
    /// For each bend, the number of its arc among straights and arcs.
    arcs: Vec<usize>,
    end: Vector3,
    points: Vec<Point3>,
    size: f64,
    least_leg: f64,
    need: f64,
    gate: f64,
}

impl Scale {
    fn new(centreline: &Centreline, tube: &TubeInJig, options: &JigOptions, thickness: f64) -> Scale {
        // So many points tell how high a tube stands.
        let nth = (tube.samples() / MOST_POINTS).max(10);
        Scale {
            legs: tube.legs.clone(),
            bends: tube.bends.clone(),
            arcs: tube.arcs.clone(),
            end: centreline.end_direction(),
            points: tube.points(nth).collect(),
            size: tube.length,
            least_leg: thickness + 2.0,
            need: options.clearance + SURE_MM,
            gate: options.gate + SURE_MM,
        }
    }

    /// Low is good: errors that go unfelt weigh most, then steep straights, then height.
    fn cost(&self, up: Vector3) -> f64 {
        let slope = |leg: &Leg| leg.direction.dot(up).abs();
        let mut cost = 0.0;
        if self.legs.first().is_some_and(|leg| slope(leg) > STEEPEST_END) {
            cost += 20.0;
        }
        if self.legs.last().is_some_and(|leg| slope(leg) > STEEPEST_END) {
            cost += 20.0;
        }
        cost += self.legs.iter().map(|leg| (slope(leg) - STEEP).max(0.0)).sum::<f64>();
        let holds: Vec<Hold> = self.legs.iter().filter_map(|leg| self.hold(leg, up)).collect();
        let by = SHOWN_DEG.to_radians();
        for (bend, &piece) in self.bends.iter().zip(&self.arcs) {
            let most = self.sideways(&holds, piece, |p| bend.axis.cross(p - bend.centre) * by);
            cost += blind(most / self.need);
        }
        let end_ahead = (self.end - up * self.end.dot(up)).normalize();
        for leg in &self.legs {
            let by = leg.direction * SHOWN_MM;
            let most = self.sideways(&holds, leg.piece, |_| by) / self.need;
            cost += blind(most.max(by.dot(end_ahead) / self.gate));
        }
        let heights = self.points.iter().map(|p| up.dot(p - self.points[0]));
        let (low, high) = heights.fold((0.0_f64, 0.0_f64), |(low, high), h| (low.min(h), high.max(h)));
        cost + (high - low) / self.size
    }

    /// A leg that cradles can hold, this way up.
    fn hold(&self, leg: &Leg, up: Vector3) -> Option<Hold> {
        let aside = up.cross(leg.direction);
        let level = aside.magnitude();
        let held = leg.length > self.least_leg && level * level >= 1.0 - STEEPEST * STEEPEST;
        held.then(|| Hold {
            piece: leg.piece,
            aside,
            level,
            ends: [leg.point(1.0), leg.point(leg.length - 1.0)],
        })
    }

    /// The furthest that a shift moves a leg after this piece sideways in its cradles, mm; or less, where that is
    /// already more than any cost asks for.
    fn sideways(&self, holds: &[Hold], after: usize, shift: impl Fn(Point3) -> Vector3) -> f64 {
        let mut most: f64 = 0.0;
        // The last first: an error moves them most.
        for hold in holds.iter().rev().take_while(|hold| hold.piece > after) {
            for p in hold.ends {
                most = most.max(shift(p).dot(hold.aside).abs() / hold.level);
            }
            if most > SURELY_FELT * self.need {
                break;
            }
        }
        most
    }
}

/// A leg where cradles can hold it.
struct Hold {
    piece: usize,
    /// Horizontal vector square to it, of length `level`.
    aside: Vector3,
    level: f64,
    /// Where a cradle would end.
    ends: [Point3; 2],
}

/// Cost of an error that moves the tube by `part` of what is needed to feel it.
fn blind(part: f64) -> f64 {
    if part < 1.0 { 3.0 + 3.0 * (1.0 - part) } else { 0.3 * (SURELY_FELT - part).max(0.0) }
}

/// The placement of a tube of the run's space that brings `up` to the z axis, the least box of the footprint along x and y with its long
/// side along x, and the tube's lowest point to `lift` mm above the board.
pub(super) fn placed(centreline: &Centreline, tube: &TubeInJig, up: Vector3, lift: f64) -> Placement {
    let e1 = reference_normal(up);
    let e2 = up.cross(e1);
    let last = tube.ends().map(|[_, last]| last.at);
    let flat: Vec<Point> = tube
        .points(4)
        .chain(last)
        .map(|at| {
            let from = at - centreline.start();
            Point::new(from.dot(e1), from.dot(e2))
        })
        .collect();
    let (sin, cos) = least_box(&flat).sin_cos();
    let (ex, ey) = (e1 * cos + e2 * sin, e2 * cos - e1 * sin);
    let column = |v: fn(&Vector3) -> f64| Vector3::new(v(&ex), v(&ey), v(&up));
    let mut to = Placement { origin: Point3::new(0.0, 0.0, 0.0), axis: column(|v| v.z), x: column(|v| v.x) };
    let tube = TubeInJig::new(&centreline.moved(&to), tube.radius);
    let least = |f: fn(&Point3) -> f64| tube.points(1).map(|p| f(&p)).fold(f64::INFINITY, f64::min);
    to.origin = Point3::new(-least(|p| p.x), -least(|p| p.y), lift - tube.lowest());
    to
}

/// By how much to turn the axes, rad, so that the box round the points is smallest, longer along x.
fn least_box(points: &[Point]) -> f64 {
    let hull = hull(points);
    let sides = hull.iter().zip(hull.iter().cycle().skip(1));
    let angles = sides.map(|(a, b)| (b.y - a.y).atan2(b.x - a.x));
    let mut best = (f64::INFINITY, 0.0);
    for angle in angles {
        let (sin, cos) = angle.sin_cos();
        let extent = |f: &dyn Fn(&Point) -> f64| {
            let (low, high) = hull
                .iter()
                .map(f)
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
            high - low
        };
        let wide = extent(&|p: &Point| p.x * cos + p.y * sin);
        let high = extent(&|p: &Point| p.y * cos - p.x * sin);
        // Tubes have a width: a box of no height is not better than one of a little.
        let area = (wide + 1.0) * (high + 1.0);
        if area < best.0 * (1.0 - 1e-9) {
            best = (area, if high > wide { angle + TAU / 4.0 } else { angle });
        }
    }
    best.1
}

/// Convex hull, counter-clockwise (monotone chain).
fn hull(points: &[Point]) -> Vec<Point> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let chain = |points: &mut dyn Iterator<Item = Point>| {
        let mut chain: Vec<Point> = Vec::new();
        for p in points {
            // Takes off at most as many points as were put on.
            while let [.., a, b] = chain.as_slice() {
                if (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x) > 1e-9 {
                    break;
                }
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    let mut lower = chain(&mut sorted.iter().copied());
    lower.extend(chain(&mut sorted.iter().rev().copied()));
    lower
}
