//! How round a bent tube stays.
//!
//! D outside diameter before bending, t wall, R centreline radius, mm. Ovality is (D_max − D_min)/D, D_min measured
//! from the inside of the bend to its back and D_max across the bend's plane. An oval is taken as grown to one side by
//! what it lost on the other.

/// Most ovality of a good bend, 1: 8 % under internal pressure (ASME B31.3, 332.2.1, from memory; a federal guide
/// specification for pipe prints it for R ≥ 5 D, table 5-4, read).
pub const GOOD: f64 = 0.08;

/// Most ovality of a bend that is used at all, 1: 15 %, where nothing seals (common practice, no source).
pub const USABLE: f64 = 0.15;

/// Smallest diameter at an ovality, mm: D·(1 − ovality/2).
///
/// ```
/// # use tubewright::formula::flattening::smallest_diameter;
/// assert!((smallest_diameter(15.875, 0.08) - 15.240).abs() < 1e-9);
/// ```
pub fn smallest_diameter(od: f64, ovality: f64) -> f64 {
    od * (1.0 - ovality / 2.0)
}

/// Most OD/wall of a tube that is bent empty, without a mandrel, 1: 15 at R = 2 D (a trade article on tube bending by
/// Winton, read), in proportion to R/D at other radii (own reckoning: what presses the tube flat goes with D²/(t·R)).
///
/// ```
/// # use tubewright::formula::flattening::empty_limit;
/// assert_eq!((empty_limit(10.0, 20.0), empty_limit(10.0, 40.0)), (15.0, 30.0));
/// ```
pub fn empty_limit(od: f64, radius: f64) -> f64 {
    7.5 * radius / od
}

/// Ovality to expect of a tube bent empty, 1, at most 1. Own estimate, not a published formula: a straight line from
/// none to the 8 % of a good bend at the published limit of bending without a mandrel, [`empty_limit`].
///
/// ```
/// # use tubewright::formula::flattening::ovality;
/// // 15 x 1 at 55: OD/wall 15 of 27.5.
/// assert!((ovality(15.0, 1.0, 55.0) - 0.0436).abs() < 5e-5);
/// ```
pub fn ovality(od: f64, wall: f64, radius: f64) -> f64 {
    (GOOD * od / wall / empty_limit(od, radius)).min(1.0)
}
