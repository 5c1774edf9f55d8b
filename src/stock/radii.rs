//! Least centreline radii for bending tube with hand tools.
//!
//! * Copper water tube, inch sizes: Copper Tube Handbook (CDA A4015), table of the least bend radii of
//!   mechanical benders, read in two copies. It does not say which radius it means; the centreline's is
//!   the usual one.
//! * Copper, metric sizes: EN 1057 / DVGW worksheet GW 392, radius of the neutral axis, as read in
//!   IKZ-Praxis 2/2000 up to 20 mm; 22 and 28 mm, half hard, from memory. A tube of these diameters
//!   counts whatever its wall and temper.
//! * Copper between two diameters of its table: by radius, in a straight line from neighbour to neighbour.
//! * Anything else: 3.5 diameters for soft and half-hard copper, 4 for hard copper and other metals (common
//!   practice, no source).

use super::astm_b88;

/// How hard a tube is when it is bent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hardness {
    /// Delivered soft, or annealed first.
    Soft,
    /// Half hard: R250, and H58, which is as strong.
    HalfHard,
    /// Hard.
    Hard,
}

/// A tube to be bent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bendable<'a> {
    /// Outside diameter, mm.
    pub od: f64,
    /// Wall, mm.
    pub wall: f64,
    /// Its metal.
    pub material: &'a str,
    /// The state it is bent in.
    pub hardness: Hardness,
}

/// What a least radius rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// It is published for this tube.
    Published,
    /// It lies between those published for the next smaller and larger tube.
    Between,
    /// It is common practice, without a source.
    Practice,
}

/// A least radius and where it is from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeastRadius {
    /// Centreline radius, mm.
    pub radius: f64,
    /// What it rests on.
    pub basis: Basis,
    /// Where it is published, or the rule of practice, as a message names it.
    pub source: &'static str,
}

const CDA: &str = "Copper Tube Handbook, CDA A4015";
const GW_392: &str = "EN 1057 / DVGW GW 392";
const SOFTER_PRACTICE: &str = "common practice, no source: 3.5 diameters for soft and half-hard copper";
const HARDER_PRACTICE: &str = "common practice, no source: 4 diameters for hard copper and other metals";

/// Inch sizes are multiples of this, mm (1/8 in): the outside diameters of ASTM B88 all are.
const EIGHTH_INCH: f64 = 25.4 / 8.0;

/// Diameters nearer than this are one size, mm: sizes are given to three decimals of an inch or a tenth of
/// a millimetre.
const SAME_SIZE: f64 = 0.02;

/// A wall thinner than this part of type L's is type M's: walls are held to about 10 %.
const TYPE_L_TOLERANCE: f64 = 0.9;

/// A row of the handbook's table.
struct Row {
    /// Outside diameter, mm.
    od: f64,
    /// Whether it is for annealed tube, else for drawn.
    annealed: bool,
    /// Whether it covers type M beside K and L.
    type_m: bool,
    /// Radius, mm.
    radius: f64,
}

/// A row as printed, in inches: outside diameter, radius.
const fn row(od: f64, annealed: bool, type_m: bool, radius: f64) -> Row {
    Row { od: od * 25.4, annealed, type_m, radius: radius * 25.4 }
}

const CDA_ROWS: [Row; 9] = [
    row(0.375, true, false, 0.75),
    row(0.500, true, false, 1.5),
    row(0.500, false, true, 1.75),
    row(0.625, true, false, 2.25),
    row(0.625, false, true, 2.5),
    row(0.875, true, false, 3.0),
    row(0.875, false, false, 3.0),
    row(1.125, true, false, 4.0),
    row(1.375, true, false, 9.0),
];

/// Outside diameter, radius, mm.
const GW_392_ROWS: [(f64, f64); 11] = [
    (6.0, 30.0),
    (8.0, 35.0),
    (10.0, 40.0),
    (12.0, 45.0),
    (14.0, 50.0),
    (15.0, 55.0),
    (16.0, 60.0),
    (18.0, 70.0),
    (20.0, 80.0),
    (22.0, 77.0),
    (28.0, 114.0),
];

/// The least radius for a tube: published, between its neighbours' or by common practice.
pub fn least_radius(tube: Bendable<'_>) -> LeastRadius {
    if !is_copper(tube.material) {
        return practice(tube);
    }
    let (eighths, inch) = (tube.od / EIGHTH_INCH, |od: f64| handbook(Bendable { od, ..tube }));
    if same_size(eighths.round() * EIGHTH_INCH, tube.od) {
        return in_table(&CDA_ROWS.iter().map(|row| (row.od, inch(row.od))), tube);
    }
    let published = |radius| LeastRadius { radius, basis: Basis::Published, source: GW_392 };
    in_table(&GW_392_ROWS.iter().map(|(od, radius)| (*od, published(*radius))), tube)
}

/// Whether a material is the metal of all built-in tube standards.
pub fn is_copper(material: &str) -> bool {
    super::material(material).is_some_and(|metal| metal.name == super::COPPER.name)
}

fn same_size(od: f64, other: f64) -> bool {
    (od - other).abs() < SAME_SIZE
}

/// The least radius where nothing is published.
fn practice(tube: Bendable<'_>) -> LeastRadius {
    let (diameters, source) = match tube.hardness {
        Hardness::Soft | Hardness::HalfHard if is_copper(tube.material) => (3.5, SOFTER_PRACTICE),
        Hardness::Soft | Hardness::HalfHard | Hardness::Hard => (4.0, HARDER_PRACTICE),
    };
    LeastRadius { radius: diameters * tube.od, basis: Basis::Practice, source }
}

/// The radius of a tube's own diameter in a table, in rising order, or of its place between two others.
fn in_table(rows: &(impl Iterator<Item = (f64, LeastRadius)> + Clone), tube: Bendable<'_>) -> LeastRadius {
    if let Some((_, own)) = rows.clone().find(|(od, _)| same_size(*od, tube.od)) {
        return own;
    }
    let below = rows.clone().take_while(|(od, _)| *od < tube.od).last();
    let above = rows.clone().find(|(od, _)| *od > tube.od);
    let Some(((low, less), (high, more))) = below.zip(above) else { return practice(tube) };
    let part = (tube.od - low) / (high - low);
    let radius = less.radius + part * (more.radius - less.radius);
    let published = [less, more].into_iter().find(|row| row.basis == Basis::Published).unwrap_or(more);
    LeastRadius { radius, basis: Basis::Between, source: published.source }
}

/// The handbook's radius for a diameter of its table, in this temper and type. Where it has no row for them, the widest
/// of the size or common practice: whichever is more.
fn handbook(tube: Bendable<'_>) -> LeastRadius {
    let published = |row: &Row| LeastRadius { radius: row.radius, basis: Basis::Published, source: CDA };
    let rows = || CDA_ROWS.iter().filter(|row| same_size(row.od, tube.od));
    let thin = astm_b88::type_l_wall(tube.od, SAME_SIZE).is_some_and(|l| tube.wall < TYPE_L_TOLERANCE * l);
    let soft = tube.hardness == Hardness::Soft;
    let own = rows().find(|row| row.annealed == soft && (row.type_m || !thin)).map(published);
    let others = rows().map(published).chain([practice(tube)]);
    own.or_else(|| others.max_by(|a, b| a.radius.total_cmp(&b.radius))).unwrap_or_else(|| practice(tube))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn copper(od: f64, wall: f64, hardness: Hardness) -> LeastRadius {
        least_radius(Bendable { od, wall, material: "copper", hardness })
    }

    fn near(found: LeastRadius, wanted: f64, basis: Basis) {
        assert!((found.radius - wanted).abs() < 1e-9, "found {found:?}, wanted {wanted}");
        assert_eq!(found.basis, basis);
    }

    use Basis::{Between, Practice, Published};
    use Hardness::{HalfHard, Hard, Soft};

    #[test]
    fn inch_sizes_go_by_temper_and_type() {
        near(copper(15.875, 1.2446, Soft), 57.15, Published);
        near(copper(15.875, 1.2446, HalfHard), 63.5, Published);
        near(copper(15.875, 0.7112, Hard), 63.5, Published);
        // Type M is not in the row for annealed tube, type L within its tolerance is.
        near(copper(15.875, 0.7112, Soft), 63.5, Published);
        near(copper(15.875, 0.92, Soft), 57.15, Published);
        // No row for drawn tube of this size: more than the annealed tube's 19.05.
        near(copper(9.525, 0.889, HalfHard), 3.5 * 9.525, Practice);
        near(copper(9.525, 0.889, Hard), 4.0 * 9.525, Practice);
        near(copper(28.575, 1.27, HalfHard), 101.6, Published);
        // Nor for drawn type M of this one, where types K and L have 76.2.
        near(copper(22.225, 0.8128, HalfHard), 3.5 * 22.225, Practice);
    }

    #[test]
    fn a_size_without_a_row_lies_between_its_neighbours() {
        // 5/8 water tube, half way between 1/2 and 3/4: annealed 57.15 and 76.2, drawn 63.5 and 76.2.
        near(copper(19.05, 1.0668, Soft), 66.675, Between);
        near(copper(19.05, 1.0668, HalfHard), 69.85, Between);
        // Type M, drawn: 63.5 and the 77.7875 of practice.
        near(copper(19.05, 0.762, HalfHard), 70.64375, Between);
        // 17 mm between 16 (60) and 18 (70), 21 between 20 (80) and 22 (77).
        near(copper(17.0, 1.0, Soft), 65.0, Between);
        near(copper(17.0, 1.0, Hard), 65.0, Between);
        near(copper(21.0, 1.0, HalfHard), 78.5, Between);
        assert_eq!(copper(17.0, 1.0, Soft).source, GW_392);
        assert_eq!(copper(19.05, 1.0668, Soft).source, CDA);
    }

    #[test]
    fn metric_sizes_go_by_diameter_and_the_rest_by_common_practice() {
        near(copper(15.0, 0.7, Soft), 55.0, Published);
        near(copper(15.01, 1.0, HalfHard), 55.0, Published);
        near(copper(5.0, 0.5, Soft), 17.5, Practice);
        near(copper(35.0, 1.5, HalfHard), 122.5, Practice);
        near(copper(35.0, 1.5, Hard), 140.0, Practice);
        near(copper(6.35, 0.8, Soft), 22.225, Practice);
        for material in ["Brass", "steel", "titanium"] {
            let other = |hardness| least_radius(Bendable { od: 15.0, wall: 1.0, material, hardness });
            near(other(Soft), 60.0, Practice);
            near(other(Hard), 60.0, Practice);
            assert_eq!(other(Soft).source, HARDER_PRACTICE);
        }
    }

    proptest::proptest! {
        #[test]
        fn no_radius_is_below_what_practice_asks_of_its_neighbours(od in 3.0..60.0f64, part in 0.02..0.2f64) {
            for hardness in [Soft, HalfHard, Hard] {
                let found = copper(od, part * od, hardness).radius / od;
                // The published rows lie between 2 (3/8 in, annealed) and 6.6 diameters (1-3/8 in); a tube may be a hair off them.
                proptest::prop_assert!((1.99..6.61).contains(&found), "{od} {found}");
            }
        }
    }
}
