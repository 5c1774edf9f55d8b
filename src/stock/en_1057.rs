//! EN 1057 seamless round copper tube for water and gas.
//!
//! Source: the combinations of EN 1057 commonly sold from 6 to 28 mm, from memory, except 12 x 0.6,
//! 15 x 0.7, 22 x 0.9, 28 x 0.9, 12 x 0.8, 15 x 1.0, 22 x 1.2 and 28 x 1.2, which were read in a data
//! sheet to the sister standard EN 13348. It has no printed masses here: none were read.

use super::material::EN_1057;
use super::{Size, Standard};
use crate::quantity::Unit;

pub(super) const STANDARD: Standard = Standard {
    name: NAME,
    title: "seamless round copper tube for water and gas, 6 to 28 mm",
    types: &[],
    unit: Unit::Millimetre,
    example: "size: 15 x 1.0",
    tempers: EN_1057,
    sizes: &SIZES,
};

const NAME: &str = "EN 1057";

/// Size, OD mm, wall mm.
const fn en(size: &'static str, od: f64, wall: f64) -> Size {
    Size::metric(NAME, size, None, od, wall, None)
}

const SIZES: [Size; 27] = [
    en("6 x 0.6", 6.0, 0.6),
    en("6 x 0.8", 6.0, 0.8),
    en("6 x 1.0", 6.0, 1.0),
    en("8 x 0.6", 8.0, 0.6),
    en("8 x 0.8", 8.0, 0.8),
    en("8 x 1.0", 8.0, 1.0),
    en("10 x 0.6", 10.0, 0.6),
    en("10 x 0.7", 10.0, 0.7),
    en("10 x 0.8", 10.0, 0.8),
    en("10 x 1.0", 10.0, 1.0),
    en("12 x 0.6", 12.0, 0.6),
    en("12 x 0.7", 12.0, 0.7),
    en("12 x 0.8", 12.0, 0.8),
    en("12 x 1.0", 12.0, 1.0),
    en("15 x 0.7", 15.0, 0.7),
    en("15 x 0.8", 15.0, 0.8),
    en("15 x 1.0", 15.0, 1.0),
    en("16 x 1.0", 16.0, 1.0),
    en("18 x 0.8", 18.0, 0.8),
    en("18 x 1.0", 18.0, 1.0),
    en("22 x 0.9", 22.0, 0.9),
    en("22 x 1.0", 22.0, 1.0),
    en("22 x 1.2", 22.0, 1.2),
    en("28 x 0.9", 28.0, 0.9),
    en("28 x 1.0", 28.0, 1.0),
    en("28 x 1.2", 28.0, 1.2),
    en("28 x 1.5", 28.0, 1.5),
];

#[cfg(test)]
mod tests {
    use super::*;

    /// kg/m in the order of the sizes, computed apart from this program with π(D − t)tρ, 8.94 g/cm³.
    const COMPUTED: [f64; 27] = [
        0.0910, 0.1168, 0.1404, 0.1247, 0.1618, 0.1966, 0.1584, 0.1828, 0.2067, 0.2528, 0.1921, 0.2222,
        0.2516, 0.3089, 0.2811, 0.3191, 0.3932, 0.4213, 0.3865, 0.4775, 0.5334, 0.5898, 0.7010, 0.6850,
        0.7583, 0.9032, 1.1164,
    ];

    #[test]
    fn masses_agree_with_a_table_computed_apart_to_its_rounding() {
        for (size, computed) in SIZES.iter().zip(COMPUTED) {
            assert!((size.kg_per_m() - computed).abs() <= 0.5001e-4, "{}", size.size);
        }
    }
}
