//! Marks sunk into the top of a block.

use super::block::OFF_CUT_MM;
use super::body::Body;
use super::digits;
use super::job::FormJob;
use super::room::{Hole, Room, TurnedRect};
use crate::flat::{Path, Point};
use crate::quantity::decimals;

/// Ticks every so many degrees.
pub(super) const TICK_DEGREES: u32 = 15;

/// Width of a sunk mark, mm: two lines of a 0.4 mm nozzle.
const STROKE_MM: f64 = 0.8;
/// Width of the mark for the start of bend, mm.
const START_MM: f64 = 1.6;
/// Gap between the two strokes of an end mark, mm: wide enough to be printed.
const DOUBLE_GAP_MM: f64 = 1.0;
/// Distance of marks from the rim, mm.
const FROM_RIM_MM: f64 = 1.0;
/// Room kept between marks and edges or holes, mm; a hair less than their distance from the rim, whose arc
/// falls away from a mark's corners.
const EDGE_MM: f64 = 0.9;
/// Gap between a mark and its number, mm.
const NUMBER_GAP_MM: f64 = 1.6;
/// Greatest depth of the band of ticks behind the rim, mm.
const BAND_MM: f64 = 10.0;

/// Depth of the band of ticks behind the rim, mm; kept small on a small rim.
pub(super) fn band(body: &Body) -> f64 {
    BAND_MM.min(0.4 * body.rim)
}

/// The marks: start of bend, the end of each bend (a double stroke, with the angle it finishes at) and ticks
/// every 15°, those at 45° with their degrees, as far as there is room for them; none on the axis of symmetry where the form is to be `split` there.
pub(super) fn marks(
    job: &FormJob,
    body: &Body,
    holes: &[Hole],
    slot: Option<TurnedRect>,
    split: bool,
) -> Vec<Path> {
    let mut room = Room::new(body, body.rim, holes, slot, EDGE_MM);
    if split {
        room.take(cut(body));
    }
    let band = band(body);
    let mut found = Vec::new();
    let start = spoke(body, 0.0, 0.0, START_MM, 1.1 * band);
    put(&mut room, &mut found, &[start]);
    // Numbers to write once all marks stand: the number, the angle where, how far behind the rim.
    let mut numbers = Vec::new();
    for bend in &job.bends {
        if let Some(below) = end_mark(body, &mut room, &mut found, bend.pull_to) {
            numbers.push((decimals(bend.angle.to_degrees(), 1), bend.pull_to, below));
        }
    }
    // The coarser ones first: on a small rim they are the ones that find room.
    for (step, share) in [(90, 0.6), (45, 0.6), (30, 0.4), (TICK_DEGREES, 0.4)] {
        let coarser = |d: u32| [90, 45, 30].iter().any(|&c| c > step && d.is_multiple_of(c));
        let last = body.arc.to_degrees() as u32;
        for d in (1..).map(|n| n * step).take_while(|d| *d <= last).filter(|d| !coarser(*d)) {
            let at = f64::from(d).to_radians();
            let tick = spoke(body, at, 0.0, STROKE_MM, share * band);
            if put(&mut room, &mut found, &[tick]) && d.is_multiple_of(45) {
                numbers.push((d.to_string(), at, FROM_RIM_MM + share * band));
            }
        }
    }
    for (number, at, below) in &numbers {
        let centre = body.on_spoke(*at, body.rim - below - NUMBER_GAP_MM - digits::HEIGHT_MM / 2.0);
        let frame = digits::frame(number, centre, -at);
        if room.try_take(&[frame]) {
            found.extend(digits::pockets(number, &frame));
        }
    }
    found.iter().map(TurnedRect::path).collect()
}

/// The strip on the axis of symmetry that a form is cut along.
fn cut(body: &Body) -> TurnedRect {
    let far = 3.0 * (body.rim + body.lead);
    let [one, other] = [far, -far].map(|along| body.point(Point::new(along, 0.0)));
    // Boxes keep a gap to each other of their own.
    TurnedRect::along(one, other, 2.0 * (OFF_CUT_MM - super::room::GAP_MM))
}

/// Two strokes side by side, further in where the rim is taken; tells how far behind the rim they end.
fn end_mark(body: &Body, room: &mut Room<'_>, found: &mut Vec<TurnedRect>, angle: f64) -> Option<f64> {
    let length = 0.8 * band(body);
    let off = (STROKE_MM + DOUBLE_GAP_MM) / 2.0;
    for deeper in [0.0, 1.2, 2.4] {
        let stroke = |side: f64| {
            let label = spoke(body, angle, deeper * band(body), STROKE_MM, length);
            TurnedRect { centre: label.centre.polar(side * off, -angle), ..label }
        };
        if put(room, found, &[stroke(1.0), stroke(-1.0)]) {
            return Some(FROM_RIM_MM + deeper * band(body) + length);
        }
    }
    None
}

/// A stroke on the spoke of a bend angle, `deep` mm behind where marks begin.
fn spoke(body: &Body, angle: f64, deep: f64, width: f64, length: f64) -> TurnedRect {
    let out = body.rim - FROM_RIM_MM - deep;
    // The corners of a wide mark would come nearer to the arc than its middle.
    let out = (out * out - width * width).max(0.0).sqrt();
    TurnedRect::along(body.on_spoke(angle, out), body.on_spoke(angle, out - length), width)
}

fn put(room: &mut Room<'_>, found: &mut Vec<TurnedRect>, labels: &[TurnedRect]) -> bool {
    let free = room.try_take(labels);
    if free {
        found.extend(labels);
    }
    free
}
