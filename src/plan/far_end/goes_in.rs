//! How likely a rigid tube goes into both of its ports.
//!
//! The errors are drawn at random, by a generator that always begins alike. Of each tube it is asked whether a [`Seating`]
//! takes it.

use std::f64::consts::SQRT_2;

use super::causes::Cause;
use super::seating::Seating;
use crate::chance::Chance;
use crate::geometry::Vector3;

/// The part of all tubes that go in, of so many that are tried. `port` is the standard deviation of each coordinate of a
/// port, mm, and the pair behind it how far the far end is off as it is drawn.
pub(super) fn goes_in(
    seating: &Seating,
    causes: &[Cause],
    (port, (off, turned_off)): (f64, (Vector3, Vector3)),
    tried: usize,
) -> f64 {
    let mut chance = Chance::new(0x9E37_79B9_7F4A_7C15);
    let is_in = |_: &usize| {
        // Of the two ports' places only the difference counts.
        let ports = Vector3::new(chance.normal(), chance.normal(), chance.normal()) * (port * SQRT_2);
        let (moved, turned) = causes.iter().fold((off + ports, turned_off), |(moved, turned), cause| {
            let by = chance.normal() * cause.deviation;
            (moved + cause.moves * by, turned + cause.turns * by)
        });
        seating.takes(moved, turned)
    };
    (0..tried).filter(is_in).count() as f64 / tried.max(1) as f64
}
