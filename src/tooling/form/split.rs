//! A form too large for the printer, cut in two along its axis of symmetry.

use std::f64::consts::FRAC_PI_2;

use super::body::Body;
use super::holes::PITCH_DIAMETERS;
use super::room::TurnedRect;
use crate::flat::{Arc, Edge, Path, Point};
use crate::spec::model::Workshop;
use crate::tooling::{Block, SideHole};

/// Steps in which a block is turned on the bed: of half a turn, whole degrees.
const TURNS: u32 = 180;

/// Diameters of dowels tried, mm.
const DOWELS: [f64; 3] = [6.0, 4.0, 3.0];
/// How deep a dowel goes into either half, mm.
const DOWEL_DEPTHS: [f64; 3] = [12.0, 9.0, 6.0];
/// Material around a dowel's hole, mm.
const DOWEL_WEB_MM: f64 = 3.0;
/// Places tried along the cut.
const STEPS: i32 = 128;

/// Width, depth and height of a block, turned so that it fits the bed or, where it fits no way, comes nearest
/// to it; and whether it fits.
pub(super) fn on_bed(block: &Block, bed: [f64; 3]) -> ([f64; 3], bool) {
    let over = |size: &[f64; 3]| size.iter().zip(bed).map(|(a, b)| a - b).fold(f64::NEG_INFINITY, f64::max);
    let turned = (0..TURNS).map(|step| {
        let angle = f64::from(step) * std::f64::consts::PI / f64::from(TURNS);
        [extent(block, angle), extent(block, angle + FRAC_PI_2), block.height]
    });
    let best = turned.min_by(|a, b| over(a).total_cmp(&over(b))).unwrap_or([0.0, 0.0, block.height]);
    (best, over(&best) <= 0.0)
}

/// Size of a block's contour along a direction, mm.
fn extent(block: &Block, angle: f64) -> f64 {
    let (sin, cos) = angle.sin_cos();
    let along = |at: Point| at.x * cos + at.y * sin;
    let mut reached: Vec<f64> = block.back.iter().map(|&at| along(at)).collect();
    for edge in &block.rim {
        reached.extend([along(edge.from()), along(edge.to())]);
        if let Edge::Arc(arc) = edge {
            for way in [angle, angle + std::f64::consts::PI] {
                let turned = ((way - arc.start) * arc.sweep.signum()).rem_euclid(std::f64::consts::TAU);
                if turned <= arc.sweep.abs() {
                    reached.push(along(arc.centre.polar(arc.radius, way)));
                }
            }
        }
    }
    let low = reached.iter().copied().fold(f64::INFINITY, f64::min);
    reached.iter().copied().fold(f64::NEG_INFINITY, f64::max) - low
}

/// The two halves of a form whose openings and marks all keep off its axis, the lead-in's first.
pub(super) fn halves(whole: &Block, body: &Body, workshop: &Workshop) -> [Block; 2] {
    let middle = body.point(Point::new(body.rim, 0.0));
    let corners = whole.back.as_slice();
    let count = corners.len();
    // The back is its own mirror image: its middle corner, or the middle of its middle side, is on the axis.
    let (one, other) = (corners[(count - 1) / 2], corners[count / 2]);
    let rear = Point::new((one.x + other.x) / 2.0, (one.y + other.y) / 2.0);
    let rear = body.point(Point::new(rear.x * body.axis().x + rear.y * body.axis().y, 0.0));
    let [first_rim, second_rim] = rims(whole);
    let first_back = [middle, rear].into_iter().chain(corners[count.div_ceil(2)..].iter().copied());
    let second_back = corners[..count / 2].iter().copied().chain([rear, middle]);
    let first_back: Vec<Point> = first_back.collect();
    let second_back: Vec<Point> = second_back.collect();
    let (first_holes, second_holes) = side_holes(whole, body, rear, second_back.len(), workshop);
    let half = |name: &str, first: bool, rim: Vec<Edge>, back: Vec<Point>, side_holes: Vec<SideHole>| {
        let here = |at: Point| (body.across(at) > 0.0) == first;
        let paths = |all: &[Path]| -> Vec<Path> {
            all.iter().filter(|path| path.edges.first().is_some_and(|e| here(e.from()))).cloned().collect()
        };
        Block {
            name: name.to_owned(),
            rim,
            back,
            holes: whole.holes.iter().filter(|(at, ..)| here(*at)).copied().collect(),
            slots: paths(&whole.slots),
            sunk: paths(&whole.sunk),
            side_holes,
            ..whole.clone()
        }
    };
    [
        half("form-a", true, first_rim, first_back, first_holes),
        half("form-b", false, second_rim, second_back, second_holes),
    ]
}

/// The rims of both halves: a lead and half the arc each.
fn rims(whole: &Block) -> [Vec<Edge>; 2] {
    let mut rims = [Vec::new(), Vec::new()];
    for (index, edge) in whole.rim.iter().enumerate() {
        match *edge {
            Edge::Arc(arc) => {
                let sweep = arc.sweep / 2.0;
                rims[0].push(Edge::Arc(Arc { sweep, ..arc }));
                rims[1].push(Edge::Arc(Arc { start: arc.start + sweep, sweep, ..arc }));
            }
            Edge::Line(_) => rims[usize::from(index > 0)].push(*edge),
        }
    }
    rims
}

/// Two dowel holes in the cut, the same in both halves, as far apart as there is room.
fn side_holes(
    whole: &Block,
    body: &Body,
    rear: Point,
    corners: usize,
    workshop: &Workshop,
) -> (Vec<SideHole>, Vec<SideHole>) {
    let length = body.rim - (rear.x * body.axis().x + rear.y * body.axis().y);
    let mut sizes: Vec<f64> = DOWELS.iter().map(|dowel| workshop.dowel.unwrap_or(*dowel)).collect();
    sizes.dedup();
    for (dowel, depth) in sizes.iter().flat_map(|dowel| DOWEL_DEPTHS.map(|depth| (*dowel, depth))) {
        let diameter = dowel + workshop.printer.hole_fit;
        if diameter > whole.height / 2.0 {
            continue;
        }
        let mut places = (0..=STEPS)
            .map(|step| length * f64::from(step) / f64::from(STEPS))
            .filter(|&along| has_room(whole, body, along, diameter, depth));
        let (Some(near), Some(far)) = (places.next(), places.next_back()) else { continue };
        if far - near < PITCH_DIAMETERS * diameter {
            continue;
        }
        let hole = |side: usize, along: f64| SideHole { side, along, diameter, depth };
        let first = [near, far].map(|along| hole(0, along)).to_vec();
        let second = [near, far].map(|along| hole(corners.saturating_sub(2), length - along)).to_vec();
        return (first, second);
    }
    (Vec::new(), Vec::new())
}

/// Whether a dowel may cross the cut `along` mm behind the rim.
fn has_room(whole: &Block, body: &Body, along: f64, diameter: f64, depth: f64) -> bool {
    let out = body.rim - along;
    let [one, other] = [depth, -depth].map(|across| body.point(Point::new(out, across)));
    let pin = TurnedRect::along(one, other, diameter);
    let inside = body.inside(body.root);
    let off = |at: &Point| inside.keeps(*at, DOWEL_WEB_MM);
    let corners = |path: &Path| -> Vec<Point> { path.edges.iter().map(Edge::from).collect() };
    pin.corners().iter().all(off)
        && off(&pin.centre)
        && whole.holes.iter().all(|(at, hole, _)| pin.distance(*at) >= hole / 2.0 + DOWEL_WEB_MM)
        && whole.slots.iter().all(|slot| !meets(&pin, &corners(slot)))
}

/// Whether a slot comes near a pin, by the pin's own axes.
fn meets(pin: &TurnedRect, corners: &[Point]) -> bool {
    [pin.angle, pin.angle + FRAC_PI_2].iter().zip([pin.width, pin.height]).all(|(angle, size)| {
        let (sin, cos) = angle.sin_cos();
        let along = corners.iter().map(|at| (at.x - pin.centre.x) * cos + (at.y - pin.centre.y) * sin);
        let (low, high) = along
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)));
        low < size / 2.0 + DOWEL_WEB_MM && high > -size / 2.0 - DOWEL_WEB_MM
    })
}
