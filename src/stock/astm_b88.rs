//! ASTM B88 seamless copper water tube, inch sizes.
//!
//! Source: ASTM B88 Table 1. Dimensions of types K and L were read in a published copy of the
//! standard's tables, those of type M in two independent size charts; weights of type K (except 1/4
//! and 1) and of type L up to 1/2 were read, all others are from memory. Every weight agrees with its
//! dimensions at 8.94 g/cm³ within 0.31 %. (Web copies that print 0.133 lb/ft for K 1/4 and 0.837 for
//! K 1 are wrong.) The outside diameter is the nominal size + 1/8 in.

use super::material::ASTM;
use super::{Size, Standard};
use crate::quantity::Unit;

pub(super) const STANDARD: Standard = Standard {
    name: NAME,
    title: "seamless copper water tube, inch sizes",
    types: &["K", "L", "M"],
    unit: Unit::Inch,
    example: "size: 1/2 with type: K",
    tempers: ASTM,
    sizes: &SIZES,
};

const NAME: &str = "ASTM B88";

/// Nominal size, OD in, type, wall in, lb/ft.
const fn b88(nominal: &'static str, od: f64, kind: &'static str, wall: f64, lb_per_ft: f64) -> Size {
    Size::inch(NAME, nominal, Some(kind), od, wall, Some(lb_per_ft))
}

const SIZES: [Size; 26] = [
    b88("1/4", 0.375, "K", 0.035, 0.145),
    b88("1/4", 0.375, "L", 0.030, 0.126),
    b88("3/8", 0.500, "K", 0.049, 0.269),
    b88("3/8", 0.500, "L", 0.035, 0.198),
    b88("3/8", 0.500, "M", 0.025, 0.145),
    b88("1/2", 0.625, "K", 0.049, 0.344),
    b88("1/2", 0.625, "L", 0.040, 0.285),
    b88("1/2", 0.625, "M", 0.028, 0.204),
    b88("5/8", 0.750, "K", 0.049, 0.418),
    b88("5/8", 0.750, "L", 0.042, 0.362),
    b88("5/8", 0.750, "M", 0.030, 0.263),
    b88("3/4", 0.875, "K", 0.065, 0.641),
    b88("3/4", 0.875, "L", 0.045, 0.455),
    b88("3/4", 0.875, "M", 0.032, 0.328),
    b88("1", 1.125, "K", 0.065, 0.839),
    b88("1", 1.125, "L", 0.050, 0.655),
    b88("1", 1.125, "M", 0.035, 0.465),
    b88("1-1/4", 1.375, "K", 0.065, 1.04),
    b88("1-1/4", 1.375, "L", 0.055, 0.884),
    b88("1-1/4", 1.375, "M", 0.042, 0.682),
    b88("1-1/2", 1.625, "K", 0.072, 1.36),
    b88("1-1/2", 1.625, "L", 0.060, 1.14),
    b88("1-1/2", 1.625, "M", 0.049, 0.940),
    b88("2", 2.125, "K", 0.083, 2.06),
    b88("2", 2.125, "L", 0.070, 1.75),
    b88("2", 2.125, "M", 0.058, 1.46),
];

/// Wall of type L, mm, at an outside diameter within `tolerance`, mm.
pub(super) fn type_l_wall(od: f64, tolerance: f64) -> Option<f64> {
    let is_l = |size: &&Size| size.kind == Some("L") && (size.od - od).abs() < tolerance;
    SIZES.iter().find(is_l).map(|size| size.wall)
}
