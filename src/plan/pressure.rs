//! The pressure that a bent copper tube may hold, where the spec says that it carries something.

use super::model::AllowedPressure;
use crate::centreline::LaidRun;
use crate::formula::{pressure, wall};
use crate::spec::model::Carried;
use crate::stock;

/// Least wall of a tube as bought, as a part of the nominal one: walls are held to about 10 % (EN 1057 and ASTM B88,
/// from memory).
const LEAST_WALL: f64 = 0.9;

/// Allowed pressures of a run by temperature; empty where it carries nothing, or not copper. All copper is taken as
/// annealed: it is, where it was soldered or made soft.
pub(super) fn allowed(laid: &LaidRun, carries: Option<Carried>) -> Vec<AllowedPressure> {
    let tube = &laid.run.tube;
    let is_wanted = carries.is_some_and(|carried| carried != Carried::Nothing);
    if !stock::is_copper(tube.material()) || !is_wanted {
        return Vec::new();
    }
    let least = LEAST_WALL * tube.wall();
    let bent = laid.centreline.tightest_radius().map(|radius| wall::bent_wall(tube.od(), least, radius));
    let at = |&(celsius, stress): &(f64, f64)| AllowedPressure {
        celsius,
        straight: pressure::allowed(stress, least, tube.od()),
        tightest_bend: bent.map(|wall| pressure::allowed(stress, wall, tube.od())),
    };
    stock::permissible_stresses().iter().map(at).collect()
}

#[cfg(test)]
mod tests {
    use super::allowed;
    use crate::spec::model::Carried;
    use crate::testing::{run, table_run};

    #[test]
    fn copper_that_carries_something_has_its_pressures() {
        let laid = table_run("t", 55.0, &[(100.0, 0.0, 90.0)], 100.0);
        let found = allowed(&laid, Some(Carried::Coolant));
        // 15 x 1 with a wall of 0.9, worked apart: 20 x 41.2 x 0.9/(15 - 0.72); 0.9/(1 + 15/137.5) in its bend.
        let first = found[0];
        assert_eq!((found.len(), first.celsius), (4, 75.0));
        assert!((first.straight - 51.93).abs() < 5e-3, "{first:?}");
        assert!((first.tightest_bend.unwrap() - 46.594).abs() < 5e-3, "{first:?}");
        assert!(found.windows(2).all(|two| two[0].straight > two[1].straight));
        assert_eq!(allowed(&laid, None), []);
        assert_eq!(allowed(&laid, Some(Carried::Nothing)), []);
        let straight = run("s", 40.0, &[[0.0; 3], [100.0, 0.0, 0.0]]);
        assert_eq!(allowed(&straight, Some(Carried::Steam))[0].tightest_bend, None);
        let mut steel = laid;
        steel.run.tube =
            crate::spec::model::Tube::new(15.0, 1.0, "steel", None, crate::spec::model::Temper::Hard, "t")
                .unwrap();
        assert_eq!(allowed(&steel, Some(Carried::Oil)), []);
    }
}
