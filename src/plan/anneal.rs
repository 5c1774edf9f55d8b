//! Which bends are made soft with the torch first, over what length, what heat that takes, and which seats it comes to.

use super::limits::warning;
use super::metal;
use super::model::{ArcOnTube, FromEnd, Operation, RunPlan, Zone};
use crate::centreline::LaidRun;
use crate::diagnostic::Diagnostics;
use crate::formula::{heat, section, wall};
use crate::quantity::Unit;
use crate::spec::model::{Anneal, End, Run, Temper};
use crate::tolerance::NO_STRAIGHT_MM;

/// Part of its elongation that a tube is bent to without annealing: three quarters. A quarter is kept for
/// uneven walls and hand pulls. It leaves every half-hard copper tube as it is down to the least radii
/// published for it (14.6 % strain at most in the Copper Tube Handbook, CDA A4015, against 15 %).
const USABLE: f64 = 0.75;

/// Tube made soft on either side of a bend, in outside diameters: heat runs along the tube, and the
/// bend must not end where it is still hard (common practice, no source).
const MARGIN_DIAMETERS: f64 = 1.0;

/// Temperature the heat is counted from, °C.
const ROOM: f64 = 20.0;

const KG_PER_M_MM: f64 = 1e-3;

/// Whether a bend of this centreline radius, mm, is annealed. Left to the program, tube that is soft
/// stays as it is, and so does metal that is not known to be made soft by a torch.
pub(super) fn is_annealed(run: &Run, radius: f64) -> bool {
    let tube = &run.tube;
    match run.anneal {
        Anneal::Always => true,
        Anneal::Never => false,
        Anneal::Auto => {
            let strain = wall::outer_strain(tube.od(), radius);
            tube.temper() != Temper::Soft
                && metal::annealing(tube).is_some()
                && metal::elongation(tube, false).is_some_and(|most| strain > USABLE * most)
        }
    }
}

/// The anneal zone of a bend made of the `arc` of a cut tube of the outside diameter `od`, mm.
pub(super) fn zone(od: f64, arc: &ArcOnTube, cut_length: f64) -> Zone {
    let margin = MARGIN_DIAMETERS * od;
    Zone { from: (arc.start - margin).max(0.0), to: (arc.end() + margin).min(cut_length) }
}

/// Tube beside a seat that must stay cool too, mm (common practice, no source).
const COOL_MM: f64 = 5.0;

/// How far an anneal zone reaches into a seat and the tube that must stay cool beside it, mm, at the datum end and at
/// the other; `None` where none does. A seat is the tube that goes into a fitting.
pub(super) fn heated_seats(laid: &LaidRun, operations: &[Operation], cut_length: f64) -> [Option<f64>; 2] {
    let run = &laid.run;
    let cool = |end: Option<&End>, allowance: f64| {
        let fitting = end?.fitting.as_ref()?;
        Some(allowance + fitting.insert + COOL_MM)
    };
    let zones = || operations.iter().filter_map(|made| made.anneal);
    let first = zones().map(|zone| zone.from).reduce(f64::min);
    let last = zones().map(|zone| cut_length - zone.to).reduce(f64::min);
    let reach =
        |cool: Option<f64>, zone: Option<f64>| Some(cool? - zone?).filter(|reach| *reach > NO_STRAIGHT_MM);
    [
        reach(cool(run.from.as_ref(), run.allowance_start), first),
        reach(cool(run.to.as_ref(), run.allowance_end), last),
    ]
}

/// Adds a warning for each seat that the torch comes to.
pub(super) fn check(laid: &LaidRun, plan: &RunPlan, unit: Unit, findings: &mut Diagnostics) {
    let bends = [plan.from_datum_end.first(), plan.from_datum_end.last()];
    let ends = plan.ends.iter().zip([FromEnd::Datum, FromEnd::Other]);
    for ((end, which), made) in ends.zip(bends) {
        let (Some(reach), Some(made)) = (end.heated, made) else { continue };
        let seat = end.port.as_ref().map_or(which.name().to_owned(), |port| format!("port {port}"));
        let by = unit.length_with((reach - COOL_MM).abs(), 1);
        let place = if reach >= COOL_MM {
            format!("{by} into the seat at {seat}")
        } else {
            format!("to {by} from the seat at {seat}")
        };
        let message = format!("the anneal zone of bend {} reaches {place}", made.bend);
        let hint = format!(
            "keep the seat cool with a wet rag, re-round it before fitting, and inspect it; or make the straight there {} longer",
            unit.length_up(reach, 1)
        );
        findings.push(warning(laid, made.bend, "heat-near-seal", &message, hint));
    }
}

/// Heat that brings the zones of all bends to the annealing temperature, kJ; tube in two zones counts once.
pub(super) fn heat(run: &Run, operations: &[Operation]) -> Option<f64> {
    let tube = &run.tube;
    let (annealing, density) = (metal::annealing(tube)?, tube.density()?);
    let length = covered(operations.iter().filter_map(|made| made.anneal));
    let mass = section::mass_per_metre(tube.od(), tube.wall(), density) * KG_PER_M_MM * length;
    (length > 0.0).then(|| heat::heat(mass, annealing.specific_heat, annealing.temperature - ROOM))
}

/// Length of the union of zones that follow each other along the tube, mm.
fn covered(zones: impl Iterator<Item = Zone>) -> f64 {
    let (length, _) = zones.fold((0.0, 0.0), |(length, reached): (f64, f64), Zone { from, to }| {
        (length + (to - from.max(reached)).max(0.0), reached.max(to))
    });
    length
}

#[cfg(test)]
mod tests {
    use super::{Zone, covered, is_annealed};
    use crate::fit::check;
    use crate::plan::plan;
    use crate::spec::model::{Anneal, Run, Temper, Tube};
    use crate::testing::{layout, port_end, table_run, tank, tube};

    fn run(temper: Temper, anneal: Anneal) -> Run {
        let mut run = table_run("t", 60.0, &[(100.0, 0.0, 90.0)], 100.0).run;
        run.tube = Tube::new(15.0, 1.0, "copper", Some(8940.0), temper, "15 x 1").unwrap();
        run.anneal = anneal;
        run
    }

    #[test]
    fn tube_is_annealed_where_it_would_be_stretched_too_far() {
        // 15 mm half hard: 15 % at 50 mm; the least radius published for it, 55 mm, is made as it is.
        assert!(!is_annealed(&run(Temper::HalfHard, Anneal::Auto), 50.001));
        assert!(is_annealed(&run(Temper::HalfHard, Anneal::Auto), 49.999));
        // Hard tube takes 2.25 %: 333 mm.
        assert!(!is_annealed(&run(Temper::Hard, Anneal::Auto), 334.0));
        assert!(is_annealed(&run(Temper::Hard, Anneal::Auto), 333.0));
        assert!(!is_annealed(&run(Temper::Soft, Anneal::Auto), 10.0));
        assert!(is_annealed(&run(Temper::Soft, Anneal::Always), 500.0));
        assert!(!is_annealed(&run(Temper::Hard, Anneal::Never), 10.0));
        let mut given = run(Temper::HalfHard, Anneal::Auto);
        given.tube = given.tube.with_metal(crate::spec::model::GivenMetal {
            elongation: Some(0.1),
            ..crate::spec::model::GivenMetal::default()
        });
        // 7.5 %.
        assert!(is_annealed(&given, 99.0) && !is_annealed(&given, 101.0));
        let mut steel = run(Temper::Hard, Anneal::Auto);
        steel.tube = Tube::new(15.0, 1.0, "steel", Some(7850.0), Temper::Hard, "15 x 1").unwrap();
        assert!(!is_annealed(&steel, 10.0));
    }

    #[test]
    fn tube_in_two_zones_is_heated_once() {
        let length = |zones: &[(f64, f64)]| covered(zones.iter().map(|&(from, to)| Zone { from, to }));
        assert_eq!(length(&[]), 0.0);
        assert_eq!(length(&[(0.0, 10.0), (20.0, 30.0)]), 20.0);
        assert_eq!(length(&[(0.0, 10.0), (5.0, 30.0)]), 30.0);
        assert_eq!(length(&[(0.0, 40.0), (5.0, 30.0), (35.0, 50.0)]), 50.0);
    }

    #[test]
    fn a_torch_near_a_seat_is_told_with_what_keeps_it_off() {
        // The zone begins 15 mm before the bend: 35 mm of straight leave 20, the seat 12 and 5 beside it.
        let found = |straight: f64, allowance: f64| {
            let mut laid = table_run("t", 60.0, &[(straight, 0.0, 90.0)], 100.0);
            laid.run.anneal = Anneal::Always;
            laid.run.allowance_start = allowance;
            laid.run.from =
                Some(port_end(&tank([-9.0, -9.0, -9.0], [0.0, 9.0, 9.0], [0.0; 3], [1.0, 0.0, 0.0])));
            let layout = layout(vec![laid], vec![]);
            let (plan, found) = plan(&layout, &check(&layout).0);
            let of_seat = found.iter().filter(|finding| finding.code == "heat-near-seal");
            let told: Vec<String> =
                of_seat.map(|f| format!("{}; {}", f.message, f.hint.clone().unwrap_or_default())).collect();
            assert_eq!(
                [told.len() == 1, false],
                plan.runs[0].ends.each_ref().map(|end| end.heated.is_some())
            );
            told.join("")
        };
        assert_eq!(found(32.0, 0.0), "");
        assert_eq!(
            found(31.0, 0.0),
            "run t: the anneal zone of bend 1 reaches to 4.0 mm from the seat at port tank.out; keep the seat cool \
             with a wet rag, re-round it before fitting, and inspect it; or make the straight there 1 mm longer"
        );
        assert!(
            found(25.0, 0.0).contains("reaches 2.0 mm into the seat at port tank.out"),
            "{}",
            found(25.0, 0.0)
        );
        // Tube to trim away is no seat, and moves it as much as the zone.
        assert_eq!((found(32.0, 9.0), found(31.0, 9.0)), (String::new(), found(31.0, 0.0)));
    }

    #[test]
    fn zones_reach_beyond_the_bend_but_not_off_the_tube() {
        let mut laid = table_run("t", 38.1, &[(5.0, 0.0, 90.0), (10.0, 0.0, 90.0)], 60.0);
        laid.run.tube = tube(15.875, 1.2446);
        laid.run.allowance_start = 4.0;
        let layout = layout(vec![laid], vec![]);
        let (mut plan, _) = plan(&layout, &check(&layout).0);
        let run = plan.runs.remove(0);
        let zone = |bend: usize| run.from_datum_end[bend].anneal.unwrap();
        let quarter = 38.1 * std::f64::consts::FRAC_PI_2;
        let near = |found: f64, wanted: f64| assert!((found - wanted).abs() < 1e-9, "{found}, {wanted}");
        near(zone(0).from, 0.0);
        near(zone(0).to, 9.0 + quarter + 15.875);
        near(zone(1).from, 19.0 + quarter - 15.875);
        near(zone(1).to, 19.0 + 2.0 * quarter + 15.875);
        // 12.3 kJ for 100 mm of this tube from 20 to 600 °C, worked apart: 240 kJ/kg.
        let heat = run.anneal_heat.unwrap();
        assert!((heat / (zone(1).to / 100.0) - 12.28).abs() < 5e-3, "{heat}");
    }
}
