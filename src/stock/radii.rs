//! Least centreline radii published for bending tube with hand tools.
//!
//! * Copper water tube, inch sizes: Copper Tube Handbook (CDA A4015), table of the least bend radii of
//!   mechanical benders, read in two copies. It does not say which radius it means; the centreline's is
//!   the usual one.
//! * Copper, metric sizes: EN 1057 / DVGW worksheet GW 392, radius of the neutral axis, as read in
//!   IKZ-Praxis 2/2000 up to 20 mm; 22 and 28 mm, half hard, from memory. A tube of these diameters
//!   counts whatever its wall and temper.
//! * Anything else: US Navy training manual NAVEDTRA 14119 (Hull Maintenance Technician), p. 16-11: 1.5
//!   diameters for copper and brass, 2 for other metals.

use super::astm_b88;

/// A tube to be bent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bendable<'a> {
    /// Outside diameter, mm.
    pub od: f64,
    /// Wall, mm.
    pub wall: f64,
    /// Its metal.
    pub material: &'a str,
    /// Whether it is bent soft: delivered so, or annealed first.
    pub soft: bool,
}

/// A least radius and where it is from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeastRadius {
    /// Centreline radius, mm.
    pub radius: f64,
    /// Where it is published, as a message names it.
    pub source: &'static str,
}

const CDA: &str = "Copper Tube Handbook, CDA A4015";
const GW_392: &str = "EN 1057 / DVGW GW 392";
const NAVY_COPPER: &str = "NAVEDTRA 14119: 1.5 diameters for copper and brass";
const NAVY_OTHERS: &str = "NAVEDTRA 14119: 2 diameters for metals other than copper and brass";

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

/// The least radius published for a tube.
pub fn least_radius(tube: Bendable<'_>) -> LeastRadius {
    let is = |name: &str| super::material(tube.material).is_some_and(|metal| metal.name == name);
    if !is("copper") {
        let (diameters, source) = if is("brass") { (1.5, NAVY_COPPER) } else { (2.0, NAVY_OTHERS) };
        return LeastRadius { radius: diameters * tube.od, source };
    }
    let same = |od: f64| (od - tube.od).abs() < SAME_SIZE;
    let metric = GW_392_ROWS.iter().find(|(od, _)| same(*od));
    let published = metric.map(|(_, radius)| LeastRadius { radius: *radius, source: GW_392 });
    published.or_else(|| handbook(tube)).unwrap_or(LeastRadius { radius: 1.5 * tube.od, source: NAVY_COPPER })
}

/// The handbook's row for this temper and type; the widest of the size where it has none.
fn handbook(tube: Bendable<'_>) -> Option<LeastRadius> {
    let rows = || CDA_ROWS.iter().filter(|row| (row.od - tube.od).abs() < SAME_SIZE);
    let thin = astm_b88::type_l_wall(tube.od, SAME_SIZE).is_some_and(|l| tube.wall < TYPE_L_TOLERANCE * l);
    let own = rows().find(|row| row.annealed == tube.soft && (row.type_m || !thin));
    let widest = || rows().max_by(|a, b| a.radius.total_cmp(&b.radius));
    own.or_else(widest).map(|row| LeastRadius { radius: row.radius, source: CDA })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn copper(od: f64, wall: f64, soft: bool) -> f64 {
        least_radius(Bendable { od, wall, material: "copper", soft }).radius
    }

    fn near(found: f64, wanted: f64) {
        assert!((found - wanted).abs() < 1e-9, "found {found}, wanted {wanted}");
    }

    #[test]
    fn inch_sizes_go_by_temper_and_type() {
        near(copper(15.875, 1.2446, true), 57.15);
        near(copper(15.875, 1.2446, false), 63.5);
        near(copper(15.875, 0.7112, false), 63.5);
        // Type M is not in the row for annealed tube, type L within its tolerance is.
        near(copper(15.875, 0.7112, true), 63.5);
        near(copper(15.875, 0.92, true), 57.15);
        // No row for drawn tube of this size.
        near(copper(9.525, 0.889, false), 19.05);
        near(copper(22.225, 0.8128, false), 76.2);
    }

    #[test]
    fn metric_sizes_go_by_diameter_and_the_rest_by_the_general_rule() {
        near(copper(15.0, 0.7, true), 55.0);
        near(copper(15.01, 1.0, false), 55.0);
        near(copper(17.0, 1.0, false), 25.5);
        let other = |material| least_radius(Bendable { od: 15.0, wall: 1.0, material, soft: true });
        near(other("Brass").radius, 22.5);
        assert_eq!(other("brass").source, NAVY_COPPER);
        near(other("steel").radius, 30.0);
        near(other("titanium").radius, 30.0);
    }
}
