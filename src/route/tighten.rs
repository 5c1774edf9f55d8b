//! The last of a way's length: past edges as closely as it goes.
//!
//! The search keeps every piece beyond a plane of few directions. Where a way is found, the planes that part it from
//! what is near are known: square to the shortest line between the two. With these for demands, and nothing else, the
//! programme is solved again, for as long as that saves something.

use super::barrier::{between, between_each_other};
use super::probe::{Fault, Probe};
use super::programme::{Legs, Row};
use super::shape::Shape;

/// Most times that the planes are made anew.
const ROUNDS: usize = 8;

/// Most programmes in one of them.
const PROGRAMMES: usize = 40;

/// Bends are looked at in so many times as many parts as in the search: their hulls are then the bends but for 0.02 mm.
const FINER: f64 = 4.0;

/// A saving that is not worth another round, mm.
const LITTLE_MM: f64 = 0.01;

/// A demand is missed by this at most where the way meets it, mm: rounding.
const MET_MM: f64 = 1e-6;

/// Lengths of legs that are clear of everything, and demands that they meet.
pub(super) struct Tight {
    pub(super) lengths: Vec<f64>,
    pub(super) rows: Vec<Row>,
}

/// Shorter lengths than those of a way that is clear of everything; `None` where there are none. What it costs is added
/// to `effort`.
pub(super) fn tighten(
    probe: &Probe<'_>,
    way: (&Shape, &Legs),
    found: &Tight,
    caps: [f64; 2],
    effort: &mut usize,
) -> Option<Tight> {
    let shape = way.0.finer(FINER);
    let way = (&shape, way.1);
    let mut best: Option<Tight> = None;
    for _ in 0..ROUNDS {
        let from = &best.as_ref().unwrap_or(found).lengths;
        let Some(next) = round(probe, way, from, caps, effort) else { break };
        let saved = way.1.cost(from) - way.1.cost(&next.lengths);
        if saved < LITTLE_MM {
            break;
        }
        best = Some(next);
    }
    best
}

/// The shortest lengths beyond the planes that part the tube from everything where its legs have the lengths `from`.
fn round(
    probe: &Probe<'_>,
    (shape, legs): (&Shape, &Legs),
    from: &[f64],
    caps: [f64; 2],
    effort: &mut usize,
) -> Option<Tight> {
    let mut rows: Vec<Row> = Vec::new();
    for _ in 0..PROGRAMMES {
        *effort += 1;
        let lengths = legs.shortest(&rows.iter().collect::<Vec<_>>(), caps)?;
        let new = match probe.fault(shape, &lengths) {
            None => return Some(Tight { lengths, rows }),
            Some(Fault::NoRoom) => return None,
            Some(Fault::Itself([first, second])) => {
                let apart = probe.apart_from_itself();
                vec![between_each_other(shape, [&first, &second], apart, from)?]
            }
            Some(Fault::Breach(breach)) => {
                let pieces = probe.pieces(shape, &lengths, &breach).into_iter();
                let row = |piece| between(shape, &piece, &breach.hull, probe.apart(), from);
                pieces.map(row).collect::<Option<Vec<Row>>>()?
            }
        };
        let is_new = |row: &Row| row.spare(&lengths) < -MET_MM;
        let new: Vec<Row> = new.into_iter().filter(is_new).collect();
        if new.is_empty() || new.iter().any(|row| row.spare(from) < -MET_MM) {
            return None;
        }
        rows.extend(new);
    }
    None
}
