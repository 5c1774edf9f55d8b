//! How round a bend is likely to come out, and how thick its wall.

use super::accept::{QualityPlan, SectionEstimate};
use super::quality;
use crate::formula::{flattening, wall};
use crate::spec::model::Run;

/// The estimate for a bend of a radius, mm.
pub(super) fn estimate(run: &Run, quality: &QualityPlan, radius: f64) -> SectionEstimate {
    let (od, thickness) = (run.tube.od(), run.tube.wall());
    let ovality = flattening::ovality(od, thickness, radius);
    let smallest_diameter = flattening::smallest_diameter(od, ovality);
    SectionEstimate {
        ovality,
        smallest_diameter,
        verdict: quality.verdict(smallest_diameter),
        outer_wall: wall::bent_wall(od, thickness, radius),
        inner_wall: wall::thickened(od, thickness, radius),
        filled: quality::filler(run, radius).is_some(),
        empty_limit: flattening::empty_limit(od, radius),
        wall_before_bending: wall::before_bending(od, radius),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fit::check;
    use crate::plan::{BendPlan, RunPlan, Verdict, plan};
    use crate::spec::model::{Anneal, Temper, Tube};
    use crate::testing::{layout, table_run};

    fn planned(od: f64, wall: f64, clr: f64) -> RunPlan {
        let mut laid = table_run("t", clr, &[(100.0, 0.0, 90.0)], 100.0);
        laid.run.tube = Tube::new(od, wall, "copper", Some(8940.0), Temper::Soft, "test tube").unwrap();
        laid.run.anneal = Anneal::Never;
        let layout = layout(vec![laid], vec![]);
        plan(&layout, &check(&layout).0).0.runs.remove(0)
    }

    #[test]
    fn every_diameter_has_one_verdict_and_there_is_no_gap() {
        let quality = planned(15.0, 1.0, 55.0).quality;
        // 8 % of 15 mm are 1.2 mm between the diameters: 14.4 x 15.6; 15 % are 2.25 mm: 13.875 x 16.125.
        let mut seen = Vec::new();
        for hundredth in (0..=1600).rev() {
            let measured = f64::from(hundredth) / 100.0;
            let wanted = match measured {
                _ if measured >= 14.4 => Verdict::Good,
                _ if measured >= 13.875 => Verdict::NothingSeals,
                _ => Verdict::Scrap,
            };
            assert_eq!(quality.verdict(measured), wanted, "{measured}");
            seen.push(wanted);
        }
        seen.dedup();
        assert_eq!(seen, [Verdict::Good, Verdict::NothingSeals, Verdict::Scrap]);
        assert_eq!(quality.verdict(f64::NAN), Verdict::Scrap);
        assert_eq!(
            quality.flattening(),
            "Measure each bend from its inside to its back: 14.4 mm or more is good; less, down to 13.9 mm, is usable where \
             nothing seals on it; below 13.9 mm it is scrap, and so is a kink."
        );
    }

    fn estimated(od: f64, wall: f64, clr: f64) -> SectionEstimate {
        let BendPlan { estimate, .. } = planned(od, wall, clr).bends.remove(0);
        estimate
    }

    #[test]
    fn a_bend_is_estimated_by_its_radius_and_wall() {
        let near = |found: f64, wanted: f64| assert!((found - wanted).abs() < 6e-4, "{found} {wanted}");
        let bend = estimated(15.0, 1.0, 55.0);
        near(bend.ovality, 0.0436);
        near(bend.smallest_diameter, 14.673);
        near(bend.outer_wall, 0.9016);
        near(bend.inner_wall, 1.1091);
        near(bend.empty_limit, 27.5);
        near(bend.wall_before_bending.unwrap(), 1.1767);
        assert_eq!((bend.verdict, bend.filled), (Verdict::Good, false));
        // 28 x 0.9 at 114: OD/wall 31.1 of 30.5.
        let thin = estimated(28.0, 0.9, 114.0);
        near(thin.ovality, 0.0815);
        assert_eq!((thin.verdict, thin.filled), (Verdict::NothingSeals, true));
        // 22 x 0.5 at 33: 44 of 11.25, flat; no published wall for a bend of 1.5 diameters.
        let flat = estimated(22.0, 0.5, 33.0);
        assert_eq!((flat.verdict, flat.filled, flat.wall_before_bending), (Verdict::Scrap, true, None));
        assert!(estimated(15.0, 0.05, 16.0).ovality <= 1.0);
    }
}
