//! Whether the tube takes its bends, what to accept, and how to help it keep its shape.

use std::f64::consts::PI;

use super::accept::QualityPlan;
use super::limits::warning;
use super::model::{BendPlan, FromEnd, Operation, RunPlan, SpringbackSource};
use super::{anneal, metal};
use crate::centreline::LaidRun;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::formula::{flattening, wall};
use crate::quantity::{Unit, decimals, percent, trimmed};
use crate::spec::FURTHEST_PULL;
use crate::spec::model::{Run, Temper, Tube};
use crate::stock::{self, Basis, LeastRadius};
use crate::tolerance::{NO_STRAIGHT_MM, SMALLEST_BEND};

/// Ten turns, rad: a bend that would have to be pulled further is a slip in the numbers of its metal, or of
/// the unit of its radius.
const NO_PULL: f64 = 20.0 * PI;

/// Most pull at a lever, N, that one hand takes without a jerk (common practice, no source).
const HARD_PULL: f64 = 300.0;

/// What to accept and how to help.
pub(super) fn plan(laid: &LaidRun) -> QualityPlan {
    let od = laid.run.tube.od();
    let tightest = laid.centreline.tightest_radius();
    QualityPlan {
        smallest_diameter: flattening::smallest_diameter(od, flattening::GOOD),
        reject_diameter: flattening::smallest_diameter(od, flattening::USABLE),
        intrados_factor: tightest.map(|radius| wall::intrados_factor(od, radius)),
        extrados_factor: tightest.map(|radius| wall::extrados_factor(od, radius)),
        filler: tightest.and_then(|radius| filler(&laid.run, radius)),
    }
}

/// Advice on filling the tube for a bend of this radius, mm; none where it stays empty: at no less than its least
/// radius, with a wall that is bent without a mandrel. So every EN 1057 tube up to 22 mm stays empty at its published
/// radius; 28 x 0.9 is filled.
pub(super) fn filler(run: &Run, radius: f64) -> Option<String> {
    let (od, wall) = (run.tube.od(), run.tube.wall());
    let (slenderness, tightness) = (od / wall, radius / od);
    let least = least(run, radius);
    let why = if radius < least.radius - NO_STRAIGHT_MM {
        let published = match least.basis {
            Basis::Published => "published",
            Basis::Between | Basis::Practice => "usual",
        };
        format!("R {} mm is below the {published} {} mm", trimmed(radius), trimmed(least.radius))
    } else if slenderness > flattening::empty_limit(od, radius) {
        format!("OD/wall is {} at R/OD {}", decimals(slenderness, 1), decimals(tightness, 1))
    } else {
        return None;
    };
    Some(format!(
        "fill with bone-dry fine sand, tamped and plugged, or use a bending spring that fits: {why}"
    ))
}

/// The least radius for the tube in the state that a bend of this radius is made in.
fn least(run: &Run, radius: f64) -> LeastRadius {
    metal::least_radius(&run.tube, anneal::is_annealed(run, radius))
}

/// Adds a warning for every bend that the tube or the hand does not take, and one where nothing
/// is known of how the tube springs back.
pub(super) fn check(laid: &LaidRun, plan: &RunPlan, unit: Unit, findings: &mut Diagnostics) {
    let misspelt = is_misspelt(&laid.run.tube);
    for (bend, made) in plan.in_order(FromEnd::Datum) {
        findings.extend(strain(laid, bend, made));
        findings.extend(tight_radius(laid, bend, unit).filter(|_| !misspelt));
        findings.extend(pull_too_far(laid, bend, made));
        findings.extend(past_the_bender(laid, bend, made));
        findings.extend(heavy_pull(laid, bend, unit));
    }
    if !misspelt {
        findings.extend(no_springback(laid, plan));
        findings.extend(no_elongation(laid, plan));
    }
}

/// The run that has a bend's radius, where that is another.
fn radius_in<'r>(run: &'r Run, bend: &BendPlan) -> Option<&'r str> {
    run.written_in().filter(|_| run.path.own_clr(bend.number).is_some())
}

fn strain(laid: &LaidRun, bend: &BendPlan, made: &Operation) -> Option<Diagnostic> {
    let tube = &laid.run.tube;
    let annealed = made.anneal.is_some();
    let most = metal::elongation(tube, annealed)?;
    if bend.outer_strain <= most {
        return None;
    }
    let soft = annealed || tube.temper() == Temper::Soft;
    let state = if soft { "soft" } else { tube.temper().name() };
    let message = format!(
        "the back of bend {} stretches by {} %; {state} {} breaks at about {} %",
        bend.number,
        percent(bend.outer_strain),
        tube.material(),
        percent(most)
    );
    let hint = if soft { "make `clr` larger" } else { "make `clr` larger, or write `anneal: always`" };
    Some(warning(laid, bend.number, "strain", &message, hint).written_in(radius_in(&laid.run, bend)))
}

fn tight_radius(laid: &LaidRun, bend: &BendPlan, unit: Unit) -> Option<Diagnostic> {
    let tube = &laid.run.tube;
    let (radius, least) = (bend.clr, least(&laid.run, bend.clr));
    if radius >= least.radius - NO_STRAIGHT_MM {
        return None;
    }
    let which = match least.basis {
        Basis::Published => "the least published for this tube is",
        Basis::Between => "the least for this tube, between those published for its neighbours, is",
        Basis::Practice => "the least for this tube is",
    };
    let message = format!(
        "the radius of bend {} is {}; {which} {} ({}); its back would thin to \
         {}, and pressure would stress its inside {} times as much as straight tube",
        bend.number,
        unit.length(radius),
        unit.length(least.radius),
        least.source,
        unit.length_to(bend.outer_wall, 2),
        decimals(wall::intrados_factor(tube.od(), radius), 2),
    );
    let hint = format!(
        "make `clr` at least {}; else fill the tube, use a former with a close groove and a follower, and bend \
         a test piece first",
        unit.length_up(least.radius - NO_STRAIGHT_MM, 3)
    );
    Some(warning(laid, bend.number, "tight-radius", &message, hint).written_in(radius_in(&laid.run, bend)))
}

fn pull_too_far(laid: &LaidRun, bend: &BendPlan, made: &Operation) -> Option<Diagnostic> {
    let (pulled, angle) = (made.pull.angle, decimals(bend.angle.to_degrees(), 1));
    if pulled <= FURTHEST_PULL {
        return None;
    }
    if pulled > NO_PULL {
        let run = &laid.run;
        let message = format!(
            "run {}: bend {} would have to be pulled round more than ten times to keep {angle}°",
            run.name, bend.number
        );
        let hint = "check the tube's `modulus` (in GPa), `yield_strength` and `hardening` (in MPa), and the bend's `clr`";
        let place = run.path.place(bend.number).unwrap_or(run.place);
        let error = Diagnostic::error("pull-too-far", message).hint(hint).written_in(radius_in(run, bend));
        return Some(error.at(place).run(&run.name).bend(bend.number));
    }
    let message = format!(
        "bend {} would have to be pulled to {}° to keep {angle}°; past {}° the legs are in each other's way",
        bend.number,
        decimals(pulled.to_degrees(), 1),
        decimals(FURTHEST_PULL.to_degrees(), 0)
    );
    let hint = "make `clr` smaller, take softer tube, or make two bends of it";
    Some(warning(laid, bend.number, "pull-too-far", &message, hint).written_in(laid.run.written_in()))
}

/// A bend that its bender does not pull far enough, although its finished angle is within reach: an error where that
/// is sure, a warning where it depends on how exactly springback is predicted.
fn past_the_bender(laid: &LaidRun, bend: &BendPlan, made: &Operation) -> Option<Diagnostic> {
    let (run, bender, pulled) = (&laid.run, &laid.run.bender, made.pull.angle);
    if pulled <= bender.max_angle + SMALLEST_BEND || pulled > FURTHEST_PULL {
        return None;
    }
    let sure = pulled - bend.springback_band.unwrap_or_default() > bender.max_angle + SMALLEST_BEND;
    let most = decimals(bender.max_angle.to_degrees(), 1);
    let message = format!(
        "bend {} {} to be pulled to {}° to keep {}°, but `{}` pulls to {most}° at most",
        bend.number,
        if sure { "has" } else { "may have" },
        decimals(pulled.to_degrees(), 1),
        decimals(bend.angle.to_degrees(), 1),
        bender.name,
    );
    let hint = "split the bend, take softer tube, or raise the bender's `max_angle` if it pulls further";
    if !sure {
        let warning = warning(laid, bend.number, "over-max-angle", &message, hint);
        return Some(warning.written_in(run.written_in()));
    }
    let place = run.path.place(bend.number).unwrap_or(run.place);
    let error = Diagnostic::error("over-max-angle", message).hint(hint).written_in(run.written_in());
    Some(error.at(place).run(&run.name).bend(bend.number))
}

fn heavy_pull(laid: &LaidRun, bend: &BendPlan, unit: Unit) -> Option<Diagnostic> {
    let (moment, force, lever) = (bend.moment?, bend.lever_force?, laid.run.bender.lever?);
    if force <= HARD_PULL {
        return None;
    }
    let message = format!(
        "bend {} takes {} N m, a pull of {} N at a lever of {} and more with friction; {} N are hard to pull without a jerk",
        bend.number,
        decimals(moment, 0),
        decimals(force, 0),
        unit.length(lever),
        decimals(HARD_PULL, 0)
    );
    let longer = unit.length_up(lever * force / HARD_PULL, 0);
    let hint = format!("lengthen the lever to {longer}, clamp the bender well, or make the bend soft first");
    Some(warning(laid, bend.number, "heavy-pull", &message, hint).written_in(laid.run.written_in()))
}

/// Whether the metal's name is most likely a slip. That was told as one finding where it is written; nothing is
/// known of such a metal, and telling so for every run would bury the slip.
fn is_misspelt(tube: &Tube) -> bool {
    let name = tube.material();
    let is_unknown = tube.density().is_none() && stock::material(name).is_none();
    is_unknown && stock::material_meant(name).is_some()
}

fn no_springback(laid: &LaidRun, plan: &RunPlan) -> Option<Diagnostic> {
    let is_unknown = |(bend, _): &(&BendPlan, &Operation)| match bend.springback_source {
        SpringbackSource::TestBends | SpringbackSource::Predicted => false,
        SpringbackSource::Unknown => true,
    };
    let (_, made) = plan.in_order(FromEnd::Datum).find(is_unknown)?;
    let (run, tube) = (&laid.run, &laid.run.tube);
    let message = format!(
        "run {}: how far {} {} springs back is not known, so nothing is added to the angles to pull to",
        run.name,
        tube.temper().name(),
        tube.material()
    );
    let softened = made.anneal.is_some() && tube.temper() != Temper::Soft;
    let mut missing = Vec::new();
    if metal::modulus(tube).is_none() {
        missing.push("`modulus`");
    }
    if metal::law(tube, softened).is_none() {
        missing.push(if softened { "`hardening` when soft" } else { "`yield_strength`" });
    }
    let hint = format!("give the bender `test_bends`, or the tube its {}", missing.join(" and "));
    Some(Diagnostic::warning("no-springback", message).hint(hint).at(run.place).run(&run.name))
}

/// Silence would read as if the bends had been checked.
fn no_elongation(laid: &LaidRun, plan: &RunPlan) -> Option<Diagnostic> {
    let (run, tube) = (&laid.run, &laid.run.tube);
    let unknown = plan
        .in_order(FromEnd::Datum)
        .filter(|(_, made)| metal::elongation(tube, made.anneal.is_some()).is_none());
    let most = unknown.map(|(bend, _)| bend.outer_strain).max_by(f64::total_cmp)?;
    let message = format!(
        "run {}: how far {} {} stretches before it breaks is not known, so bends are not checked for it; \
         their backs stretch by up to {} %",
        run.name,
        tube.temper().name(),
        tube.material(),
        percent(most)
    );
    let hint = "give the tube its `elongation`, in percent, from its data sheet";
    Some(Diagnostic::warning("no-elongation", message).hint(hint).at(run.place).run(&run.name))
}

#[cfg(test)]
mod tests {
    use crate::centreline::LaidRun;
    use crate::fit::check;
    use crate::plan::{RunPlan, plan};
    use crate::spec::model::{Anneal, GivenMetal, Temper, Tube};
    use crate::testing::{layout, place, table_run};

    fn laid(od: f64, wall: f64, clr: f64, temper: Temper, anneal: Anneal) -> LaidRun {
        let mut laid = table_run("t", clr, &[(100.0, 0.0, 90.0), (100.0, 0.0, 30.0)], 100.0);
        laid.run.tube = Tube::new(od, wall, "copper", Some(8940.0), temper, "test tube").unwrap();
        laid.run.anneal = anneal;
        laid
    }

    fn planned(laid: LaidRun) -> (RunPlan, Vec<String>) {
        let layout = layout(vec![laid], vec![]);
        let (mut plan, found) = plan(&layout, &check(&layout).0);
        assert!(found.iter().all(|d| d.place == Some(place(6)) && d.hint.is_some()));
        let told = found.iter().map(|d| format!("{} {:?} {}", d.code, d.bend, d.message)).collect();
        (plan.runs.remove(0), told)
    }

    fn told(od: f64, wall: f64, clr: f64, temper: Temper, anneal: Anneal) -> Vec<String> {
        planned(laid(od, wall, clr, temper, anneal)).1
    }

    #[test]
    fn what_is_not_checked_for_stretch_is_said() {
        let codes = |elongation: Option<f64>| {
            let mut laid = table_run("t", 60.0, &[(100.0, 0.0, 90.0)], 100.0);
            let metal = GivenMetal { elongation, yield_strength: Some(235.0), ..GivenMetal::default() };
            laid.run.tube =
                Tube::new(15.0, 1.0, "steel", None, Temper::Hard, "15 x 1").unwrap().with_metal(metal);
            let layout = layout(vec![laid], vec![]);
            let findings = plan(&layout, &check(&layout).0).1;
            findings.iter().map(|finding| finding.code).collect::<Vec<_>>()
        };
        assert_eq!(codes(None), ["no-elongation"]);
        assert_eq!(codes(Some(0.25)), [""; 0]);
        assert_eq!(codes(Some(0.1)), ["strain"]);
    }

    #[test]
    fn a_radius_below_the_published_one_is_told_for_each_bend() {
        let of_bend = |number: usize| {
            format!(
                "tight-radius Some({number}) run t: the radius of bend {number} is 38 mm; the least published for this \
                 tube is 55 mm (EN 1057 / DVGW GW 392); its back would thin to 0.84 mm, and pressure would \
                 stress its inside 1.12 times as much as straight tube"
            )
        };
        assert_eq!(told(15.0, 1.0, 38.0, Temper::Soft, Anneal::Auto), [of_bend(1), of_bend(2)]);
        assert_eq!(told(15.0, 1.0, 55.0, Temper::HalfHard, Anneal::Auto), [""; 0]);
    }

    #[test]
    fn annealing_decides_which_row_of_the_handbook_counts() {
        let codes = |temper, anneal, clr| {
            let mut codes: Vec<String> = told(15.875, 1.2446, clr, temper, anneal)
                .iter()
                .map(|t| t.split(' ').next().unwrap().to_owned())
                .collect();
            codes.dedup();
            codes
        };
        // 57.15 mm annealed, 63.5 mm drawn.
        assert_eq!(codes(Temper::HalfHard, Anneal::Always, 58.0), [""; 0]);
        assert_eq!(codes(Temper::HalfHard, Anneal::Auto, 58.0), ["tight-radius"]);
        // Hard tube is annealed on its own account.
        assert_eq!(codes(Temper::Hard, Anneal::Auto, 58.0), [""; 0]);
        assert_eq!(codes(Temper::Hard, Anneal::Never, 64.0), ["strain"]);
    }

    #[test]
    fn tube_that_would_break_is_told() {
        assert_eq!(
            told(15.0, 1.0, 60.0, Temper::Hard, Anneal::Never),
            [1, 2].map(|bend| format!(
                "strain Some({bend}) run t: the back of bend {bend} stretches by 12.5 %; hard copper breaks at about 3 %"
            ))
        );
        // 15 % and more is annealed, if it may be; 20 % breaks.
        assert_eq!(told(15.0, 1.0, 37.6, Temper::HalfHard, Anneal::Never).len(), 2, "tight-radius");
        assert_eq!(told(15.0, 1.0, 37.4, Temper::HalfHard, Anneal::Never).len(), 4, "strain, too");
        let soft = told(15.0, 1.0, 18.7, Temper::Soft, Anneal::Auto);
        assert!(soft[0].contains("soft copper breaks at about 40 %"), "{soft:?}");
    }

    #[test]
    fn limits_of_flattening_are_those_of_the_diameter() {
        let quality = planned(laid(15.875, 1.245, 64.0, Temper::Soft, Anneal::Auto)).0.quality;
        // 8 % between largest and smallest diameter is 1.270 mm: 16.510 x 15.240.
        assert!((quality.smallest_diameter - 15.240).abs() < 1e-9);
        // 15 %: 2.381 mm between them, 14.684 x 17.066.
        assert!((quality.reject_diameter - 14.684).abs() < 5e-4);
        // ASME B31.3 by hand at R/D 4.031.
        assert!((quality.intrados_factor.unwrap() - 1.0708).abs() < 5e-5);
        assert!((quality.extrados_factor.unwrap() - 0.9448).abs() < 5e-5);
    }

    #[test]
    fn a_hard_pull_is_told_where_there_is_a_lever() {
        // 15 x 1 half hard at 55: 49.08 N·m, 163.6 N at 300 mm, 300 N at 163.6 mm.
        let with = |lever: Option<f64>| {
            let mut laid = laid(15.0, 1.0, 55.0, Temper::HalfHard, Anneal::Never);
            laid.run.bender.lever = lever;
            planned(laid)
        };
        let (run, told) = with(Some(300.0));
        assert_eq!(told, [""; 0]);
        assert!((run.bends[0].moment.unwrap() - 49.08).abs() < 0.01, "{:?}", run.bends[0].moment);
        assert!((run.bends[1].lever_force.unwrap() - 163.6).abs() < 0.05);
        let (run, told) = with(None);
        assert_eq!((run.bends[0].lever_force, told.len()), (None, 0));
        assert_eq!(with(Some(164.0)).1, [""; 0]);
        let told = with(Some(160.0)).1;
        assert_eq!(told.len(), 2, "one for each bend");
        assert_eq!(
            told[0],
            "heavy-pull Some(1) run t: bend 1 takes 49 N m, a pull of 307 N at a lever of 160 mm and more with friction; \
             300 N are hard to pull without a jerk"
        );
    }

    #[test]
    fn only_bends_that_need_it_are_filled() {
        let filler =
            |od, wall, clr| planned(laid(od, wall, clr, Temper::Soft, Anneal::Auto)).0.quality.filler;
        // Every EN 1057 tube up to 22 mm at its published radius stays empty, the thinnest of each size.
        for (od, wall, clr) in [
            (6.0, 0.6, 30.0),
            (8.0, 0.6, 35.0),
            (10.0, 0.6, 40.0),
            (12.0, 0.6, 45.0),
            (15.0, 0.7, 55.0),
            (22.0, 0.9, 77.0),
        ] {
            assert_eq!(filler(od, wall, clr), None, "{od}");
        }
        assert!(filler(28.0, 0.9, 114.0).unwrap().ends_with("OD/wall is 31.1 at R/OD 4.1"));
        assert!(filler(15.0, 1.0, 54.0).unwrap().ends_with("R 54 mm is below the published 55 mm"));
        let mut straight = table_run("t", 55.0, &[], 100.0);
        straight.run.tube = Tube::new(15.0, 0.7, "copper", None, Temper::Soft, "test tube").unwrap();
        let quality = planned(straight).0.quality;
        assert_eq!((quality.filler, quality.intrados_factor), (None, None));
    }
}
