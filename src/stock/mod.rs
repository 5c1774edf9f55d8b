//! Tube as it is sold: sizes of the tube standards and the metals tubes are made of.
//!
//! One file per standard, each a table with its source. Lengths are mm, masses kg/m; inch sizes are
//! written in inches and converted where the table is built.

mod astm_b280;
mod astm_b88;
mod astm_b88m;
mod en_1057;
mod find;
mod material;
mod permissible;
mod radii;
mod search;
mod size;

pub use find::{Asked, StockFault, Subject, find, find_standard};
pub use material::{Annealing, COPPER, Material, Strength, Tempers, material, material_meant, materials};
pub use permissible::permissible_stresses;
pub use radii::{Basis, Bendable, Hardness, LeastRadius, is_copper, least_radius};
pub use search::{Found, Hit, Match, search};
pub use size::{Size, SoldAs, Wording};

use crate::quantity::Unit;

/// A tube standard and the sizes of it that are built in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Standard {
    /// Name, as a spec writes it.
    pub name: &'static str,
    /// Its scope.
    pub title: &'static str,
    /// Types of wall, where a size alone does not say which.
    pub types: &'static [&'static str],
    /// Unit of bare numbers in its sizes.
    pub unit: Unit,
    /// How to write a size, as examples.
    pub example: &'static str,
    /// Strengths of its tempers.
    pub tempers: Tempers,
    /// Every built-in size, small to large.
    pub sizes: &'static [Size],
}

/// Every built-in tube standard.
pub fn standards() -> &'static [Standard] {
    static STANDARDS: [Standard; 4] =
        [en_1057::STANDARD, astm_b88::STANDARD, astm_b88m::STANDARD, astm_b280::STANDARD];
    &STANDARDS
}

/// Strengths of a metal's tempers, where they are known; `standard` is the name of the one that the tube is of.
pub fn tempers(metal: &str, standard: Option<&str>) -> Option<Tempers> {
    let of_standard = standards().iter().find(|known| Some(known.name) == standard);
    of_standard.map(|known| known.tempers).or_else(|| material(metal)?.tempers)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_size_of_the_standards_is_there() {
        let count = |name: &str| find_standard(name).expect("known").sizes.len();
        assert_eq!(count("ASTM B88"), 26);
        assert_eq!(count("ASTM B88M"), 24);
        assert_eq!(count("EN 1057"), 27);
        assert_eq!(count("ASTM B280"), 14);
    }

    #[test]
    fn printed_weights_agree_with_the_dimensions() {
        let mut checked = 0;
        for size in standards().iter().flat_map(|s| s.sizes) {
            let Some(printed) = size.printed_kg_per_m else { continue };
            let off = size.kg_per_m() / printed - 1.0;
            assert!(off.abs() < 0.0035, "{}: {:+.2} %", size.designation(), off * 100.0);
            checked += 1;
        }
        // All of B88 and B88M; of B280 the eleven sold as coils; of EN 1057 none.
        assert_eq!(checked, 26 + 24 + 11);
    }

    #[test]
    fn sizes_are_tubes_and_unique() {
        for standard in standards() {
            for (index, size) in standard.sizes.iter().enumerate() {
                assert!(size.wall > 0.0 && size.bore() > 0.0, "{}", size.designation());
                assert!(size.kind.is_none_or(|k| standard.types.contains(&k)));
                assert!(
                    standard.sizes[index + 1..].iter().all(|s| s.designation() != size.designation()),
                    "{} is there twice",
                    size.designation()
                );
            }
        }
    }

    #[test]
    fn half_inch_type_k_is_as_published() {
        let standard = find_standard("ASTM B88").expect("known");
        let size = standard.sizes.iter().find(|s| s.size == "1/2" && s.kind == Some("K")).expect("there");
        assert_eq!(size.designation(), "ASTM B88 type K 1/2 (15.875 x 1.245 mm)");
        assert_eq!(size.od, 15.875);
        assert!((size.wall - 1.2446).abs() < 1e-12 && (size.bore() - 13.3858).abs() < 1e-12);
        // 0.5114 kg/m, worked by hand from π(D − t)tρ.
        assert!((size.kg_per_m() - 0.5114).abs() < 5e-5);
    }
}
