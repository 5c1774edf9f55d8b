//! ASTM B280 seamless copper tube for air conditioning and refrigeration service.
//!
//! Source: ASTM B280, dimensions read in published tables; lb/ft of the coils from memory, within
//! 0.27 % of the dimensions at 8.94 g/cm³. Drawn straight lengths have their own walls and no printed
//! weight. The size is the outside diameter; 3/4 coils are sold with two walls.

use super::material::ASTM;
use super::{Size, SoldAs, Standard};
use crate::quantity::Unit;

pub(super) const STANDARD: Standard = Standard {
    name: NAME,
    title: "seamless copper tube for air conditioning and refrigeration",
    types: &[],
    unit: Unit::Inch,
    example: "size: 3/8 or size: 3/4 x 0.042",
    tempers: ASTM,
    sizes: &SIZES,
};

const NAME: &str = "ASTM B280";

/// Size, OD in, wall in, lb/ft.
const fn coil(size: &'static str, od: f64, wall: f64, lb_per_ft: f64) -> Size {
    Size::inch(NAME, size, None, od, wall, Some(lb_per_ft)).sold_as(SoldAs::Coil)
}

const fn drawn(size: &'static str, od: f64, wall: f64) -> Size {
    Size::inch(NAME, size, None, od, wall, None).sold_as(SoldAs::Drawn)
}

const fn both(size: &'static str, od: f64, wall: f64, lb_per_ft: f64) -> Size {
    Size::inch(NAME, size, None, od, wall, Some(lb_per_ft))
}

const SIZES: [Size; 14] = [
    coil("1/8 x 0.030", 0.125, 0.030, 0.0347),
    coil("3/16 x 0.030", 0.187, 0.030, 0.0575),
    coil("1/4 x 0.030", 0.250, 0.030, 0.0804),
    coil("5/16 x 0.032", 0.312, 0.032, 0.109),
    drawn("3/8 x 0.030", 0.375, 0.030),
    coil("3/8 x 0.032", 0.375, 0.032, 0.134),
    coil("1/2 x 0.032", 0.500, 0.032, 0.182),
    drawn("1/2 x 0.035", 0.500, 0.035),
    coil("5/8 x 0.035", 0.625, 0.035, 0.251),
    drawn("5/8 x 0.040", 0.625, 0.040),
    coil("3/4 x 0.035", 0.750, 0.035, 0.305),
    both("3/4 x 0.042", 0.750, 0.042, 0.362),
    both("7/8 x 0.045", 0.875, 0.045, 0.455),
    both("1-1/8 x 0.050", 1.125, 0.050, 0.655),
];
