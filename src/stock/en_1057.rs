//! EN 1057 seamless round copper tube for water and gas.
//!
//! Source: the combinations of EN 1057 commonly sold from 6 to 28 mm, from memory, except 12 x 0.6,
//! 15 x 0.7, 22 x 0.9, 28 x 0.9, 12 x 0.8, 15 x 1.0, 22 x 1.2 and 28 x 1.2, which were read in a data
//! sheet to the sister standard EN 13348. Masses are calculated with 8.94 g/cm³, not printed by the
//! standard.

use super::{Size, Standard};
use crate::quantity::Unit;

pub(super) const STANDARD: Standard = Standard {
    name: NAME,
    title: "seamless round copper tube for water and gas, 6 to 28 mm",
    types: &[],
    unit: Unit::Millimetre,
    example: "size: 15 x 1.0",
    sizes: &SIZES,
};

const NAME: &str = "EN 1057";

/// Size, OD mm, wall mm, kg/m.
const fn en(size: &'static str, od: f64, wall: f64, kg_per_m: f64) -> Size {
    Size::metric(NAME, size, None, od, wall, kg_per_m)
}

const SIZES: [Size; 27] = [
    en("6 x 0.6", 6.0, 0.6, 0.0910),
    en("6 x 0.8", 6.0, 0.8, 0.1168),
    en("6 x 1.0", 6.0, 1.0, 0.1404),
    en("8 x 0.6", 8.0, 0.6, 0.1247),
    en("8 x 0.8", 8.0, 0.8, 0.1618),
    en("8 x 1.0", 8.0, 1.0, 0.1966),
    en("10 x 0.6", 10.0, 0.6, 0.1584),
    en("10 x 0.7", 10.0, 0.7, 0.1828),
    en("10 x 0.8", 10.0, 0.8, 0.2067),
    en("10 x 1.0", 10.0, 1.0, 0.2528),
    en("12 x 0.6", 12.0, 0.6, 0.1921),
    en("12 x 0.7", 12.0, 0.7, 0.2222),
    en("12 x 0.8", 12.0, 0.8, 0.2516),
    en("12 x 1.0", 12.0, 1.0, 0.3089),
    en("15 x 0.7", 15.0, 0.7, 0.2811),
    en("15 x 0.8", 15.0, 0.8, 0.3191),
    en("15 x 1.0", 15.0, 1.0, 0.3932),
    en("16 x 1.0", 16.0, 1.0, 0.4213),
    en("18 x 0.8", 18.0, 0.8, 0.3865),
    en("18 x 1.0", 18.0, 1.0, 0.4775),
    en("22 x 0.9", 22.0, 0.9, 0.5334),
    en("22 x 1.0", 22.0, 1.0, 0.5898),
    en("22 x 1.2", 22.0, 1.2, 0.7010),
    en("28 x 0.9", 28.0, 0.9, 0.6850),
    en("28 x 1.0", 28.0, 1.0, 0.7583),
    en("28 x 1.2", 28.0, 1.2, 0.9032),
    en("28 x 1.5", 28.0, 1.5, 1.1164),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn masses_are_calculated_to_their_last_digit() {
        for size in &SIZES {
            let printed = size.printed_kg_per_m.expect("all have one");
            assert!((size.kg_per_m() - printed).abs() <= 0.5001e-4, "{}", size.size);
        }
    }
}
