//! Checking jigs of random runs, held against the tube by distances that know nothing of how a jig is
//! designed: parts by their contours and poses, tubes by their centrelines.

use std::f64::consts::PI;

use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
use rayon::prelude::*;
use tubewright::centreline::{Centreline, LaidRun, Layout, TableRow, from_table};
use tubewright::diagnostic::{Diagnostic, Diagnostics};
use tubewright::flat::{Edge, Point};
use tubewright::geometry::{Frame, MetricSpace, Point3, Vector3};
use tubewright::spec::model::{JigOptions, SheetStock, Workshop};
use tubewright::tooling::Opening;
use tubewright::tooling::jig::{Duty, Jig, Upright, jigs};

use crate::support::{copper, laid, layout};
use crate::upright::{Plate, Rod, plates, rod, to_edge};

/// Rounding in a jig's numbers, mm.
const ROUNDING_MM: f64 = 1e-6;

/// How deep a wrong tube must be in an upright to have been stopped, mm.
const DEEP_MM: f64 = 0.005;

/// Errors a jig ought to show: degrees of a bend, mm of a straight.
const WRONG_DEG: f64 = 2.0;
const TOO_LONG_MM: f64 = 2.0;

fn row(od: f64) -> impl Strategy<Value = TableRow> {
    let angle = prop_oneof![4 => Just(90.0), 2 => Just(45.0), 1 => Just(180.0), 6 => 10.0..150.0f64];
    (20.0..200.0f64, -179.0..180.0f64, angle, 1.5..5.0f64).prop_map(move |(length, turn, angle, ratio)| {
        TableRow { length, rotation: turn.to_radians(), angle: angle.to_radians(), radius: ratio * od }
    })
}

/// A run in space: 1 to 5 bends, legs of 20 to 200 mm, radii of 1.5 to 5 OD, OD of 6 to 22 mm.
fn run() -> impl Strategy<Value = LaidRun> {
    let shape = (6.0..22.0f64)
        .prop_flat_map(|od| (Just(od), prop::collection::vec(row(od), 1..=5), 20.0..200.0f64, any::<bool>()));
    let run = shape.prop_map(|(od, mut rows, end, planar)| {
        if planar {
            rows.iter_mut().for_each(|row| row.rotation = if row.rotation < 0.0 { 0.0 } else { PI });
        }
        let line = from_table(Frame::default(), &rows, end).expect("rows are sound");
        laid(0, "run", line, copper(od, 0.6))
    });
    run.prop_filter("no tube meets itself", |run| clear_of_itself(&run.centreline, run.run.tube.od()))
}

/// Whether no two places of a tube come nearer than a diameter to each other but by following it.
fn clear_of_itself(line: &Centreline, od: f64) -> bool {
    let count = (line.length() / (od / 4.0)).ceil() as usize;
    let at = |k: usize| line.length() * k as f64 / count as f64;
    let points: Vec<(f64, Point3)> = (0..=count).map(|k| (at(k), line.point_at(at(k)))).collect();
    points.iter().enumerate().all(|(k, (s, p))| {
        points[..k].iter().all(|(before, q)| s - before < 6.0 * od || p.distance(*q) > 1.5 * od)
    })
}

fn designed(run: &LaidRun, shop: &Workshop) -> (Option<Jig>, Vec<Diagnostic>) {
    let layout = Layout { workshop: *shop, ..layout(vec![run.clone()]) };
    let mut findings = Diagnostics::new();
    let jig = jigs(&layout, &mut findings).pop();
    (jig, findings.into_iter().collect())
}

/// Everything that is wrong with a jig's shape and with how the right tube lies in it.
fn faults(run: &LaidRun, jig: &Jig, shop: &Workshop) -> Vec<String> {
    let radius = run.run.tube.od() / 2.0;
    let line = run.centreline.moved(&jig.tube);
    let (tube, plates) = (rod(&line, radius), plates(jig));
    let mut faults = Vec::new();
    for (plate, lift) in plates.iter().flat_map(|p| [0.0, 1.0, 5.0, 15.0, 40.0, 100.0].map(|lift| (p, lift)))
    {
        let gap = tube.gap(plate, lift);
        if gap < -ROUNDING_MM {
            faults.push(format!("lifted by {lift} mm the tube is {:.4} mm in {}", -gap, plate.part.name));
        }
    }
    if tube.gap(&plates[0], 0.0) < shop.jig.lift - ROUNDING_MM {
        faults.push("the board is too near".to_owned());
    }
    for upright in &jig.uprights {
        let plate = &plates[upright.part];
        faults.extend(
            held(upright, plate, &tube, radius, shop)
                .into_iter()
                .map(|f| format!("{}: {f}", plate.part.name)),
        );
        if line.point_at(upright.station).distance(upright.at) > ROUNDING_MM {
            faults.push(format!("{} is not where it says", plate.part.name));
        }
    }
    faults.extend(tabs_and_slots(&plates, shop));
    faults
}

/// How an upright stands off the place that it is there for.
fn held(upright: &Upright, plate: &Plate<'_>, tube: &Rod, radius: f64, shop: &Workshop) -> Option<String> {
    let Upright { at, direction, .. } = *upright;
    let level = direction.x.hypot(direction.y);
    if upright.duty == Duty::Guard {
        let gap = tube.gap(plate, 0.0);
        // It may be nearer to a bend than to the samples of it that it was stood by.
        return ((gap - shop.jig.gate).abs() > 0.02).then(|| format!("stands {gap} mm off the bend"));
    }
    if upright.duty != Duty::Cradle {
        // The end's rim is as near to the nearer face as it should be.
        let (_, beyond) = plate.local(at);
        let gap = beyond - radius * direction.z.abs();
        let want = if upright.duty == Duty::Gate { shop.jig.gate } else { 0.02 };
        return ((gap - want).abs() > ROUNDING_MM).then(|| format!("stands {gap} mm off the end"));
    }
    // Beside and below the axis, wherever within the plate's thickness it passes nearest.
    let reach = (shop.sheet.thickness / 2.0 + radius) / level;
    let steps = 4000;
    let path = (0..=steps).map(|k| at + direction * (reach * (2.0 * f64::from(k) / f64::from(steps) - 1.0)));
    let (mut bottom, mut side) = (f64::INFINITY, [f64::INFINITY; 2]);
    for p in path {
        let (flat, beyond) = plate.local(p);
        for edge in &plate.part.outline.edges {
            let gap = to_edge(edge, flat).hypot(beyond.max(0.0)) - radius;
            let (from, to) = (edge.from(), edge.to());
            match edge {
                Edge::Arc(_) => bottom = bottom.min(gap),
                Edge::Line(_) if (from.x - to.x).abs() < 1e-9 && (from.x.abs() - radius).abs() < 2.0 => {
                    let which = usize::from(from.x > 0.0);
                    side[which] = side[which].min(gap);
                }
                Edge::Line(_) => {}
            }
        }
    }
    let clearance = shop.jig.clearance;
    // The bottom is met at a point between two steps of the search: off by less than step² / radius.
    let close = |gap: f64, by: f64| (gap - clearance).abs() < by;
    let right = close(bottom, 1e-4) && side.iter().all(|gap| close(*gap, ROUNDING_MM));
    (!right).then(|| format!("is {bottom} below and {side:?} beside the tube"))
}

/// Tabs and slots that do not belong together with the fit between them.
fn tabs_and_slots(plates: &[Plate<'_>], shop: &Workshop) -> Vec<String> {
    let (t, fit) = (shop.sheet.thickness, shop.sheet.slot_fit);
    let base = &plates[0];
    let on_board = |plate: &Plate<'_>, x: f64, z: f64| {
        base.local(plate.at.origin + plate.at.x * x + plate.at.axis * z).0
    };
    let mut faults = Vec::new();
    let mut free: Vec<Vec<Point>> = base.part.openings.iter().map(corners).collect();
    for plate in &plates[1..] {
        let tabs = plate.part.outline.edges.iter().filter(|e| e.from().y.max(e.to().y) < -t + 1e-9);
        let mut count = 0;
        for tab in tabs {
            count += 1;
            let (low, high) =
                (tab.from().x.min(tab.to().x) - fit / 2.0, tab.from().x.max(tab.to().x) + fit / 2.0);
            let want = [(low, -fit / 2.0), (high, -fit / 2.0), (high, t + fit / 2.0), (low, t + fit / 2.0)];
            let want = want.map(|(x, z)| on_board(plate, x, z));
            let same = |slot: &Vec<Point>| {
                slot.len() == 4 && slot.iter().all(|p| want.iter().any(|q| p.distance(*q) < ROUNDING_MM))
            };
            match free.iter().position(same) {
                Some(slot) => drop(free.swap_remove(slot)),
                None => faults.push(format!("a tab of {} has no slot", plate.part.name)),
            }
        }
        if count == 0 || (plate.at.origin.z).abs() > ROUNDING_MM || plate.at.axis.z.abs() > ROUNDING_MM {
            faults.push(format!("{} does not stand on the board by its tabs", plate.part.name));
        }
    }
    if !free.is_empty() {
        faults.push(format!("{} slots have no tab", free.len()));
    }
    faults
}

fn corners(opening: &Opening) -> Vec<Point> {
    let Opening::Slot(path) = opening else { return Vec::new() };
    path.edges.iter().map(Edge::from).collect()
}

/// Whether a tube with this bend table, held at the datum end, runs into an upright.
fn stopped(run: &LaidRun, jig: &Jig, rows: &[TableRow], end: f64) -> bool {
    let line = from_table(run.centreline.frame(), rows, end).expect("still sound").moved(&jig.tube);
    let tube = rod(&line, run.run.tube.od() / 2.0);
    plates(jig).iter().any(|plate| tube.gap(plate, 0.0) < -DEEP_MM)
}

/// Whether a bend (from 0) that is wrong by so many degrees is stopped whichever way it is wrong. A bend table
/// cannot go beyond 180°, so of a U-turn only the error that opens it is tried.
fn felt(run: &LaidRun, jig: &Jig, bend: usize, degrees: f64) -> bool {
    let angle = run.centreline.bends()[bend].angle;
    let errors = [degrees.to_radians(), -degrees.to_radians()];
    errors.iter().filter(|by| angle + *by <= PI).all(|by| {
        let mut rows = run.centreline.table();
        rows[bend].angle += by;
        stopped(run, jig, &rows, run.centreline.end_straight())
    })
}

/// Numbers of straights, as the bends they lead to, that may be too long.
fn unfelt_straights(run: &LaidRun, jig: &Jig) -> Vec<usize> {
    let line = &run.centreline;
    let unfelt = |number: &usize| {
        let (mut rows, mut end) = (line.table(), line.end_straight());
        *rows.get_mut(*number).map_or(&mut end, |row| &mut row.length) += TOO_LONG_MM;
        !stopped(run, jig, &rows, end)
    };
    (0..=line.bends().len()).filter(unfelt).map(|number| number + 1).collect()
}

/// The same runs every time.
fn many(count: usize) -> Vec<LaidRun> {
    let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &[7; 32]);
    let mut runner = TestRunner::new_with_rng(Config::default(), rng);
    let strategy = run();
    (0..count).map(|_| strategy.new_tree(&mut runner).unwrap().current()).collect()
}

/// What is wrong with the jig of a run, if it has one.
fn judged(run: &LaidRun, shop: &Workshop) -> Judged {
    let (jig, findings) = designed(run, shop);
    let Some(jig) = jig else {
        assert!(findings.iter().all(|f| f.code == "no-jig") && findings.len() == 1);
        return Judged { made: false, warned: true, faults: Vec::new() };
    };
    assert!(findings.iter().all(|f| f.code == "jig-blind"));
    let mut faults = faults(run, &jig, shop);
    // What is said to be felt is felt, at the error said (and a little) and at the one a jig ought to show.
    for (bend, sense) in jig.senses.iter().enumerate() {
        assert_eq!(sense.bend, bend + 1);
        let Some(least) = sense.least_error.map(f64::to_degrees) else { continue };
        for by in [1.02 * least + 0.02, WRONG_DEG].into_iter().filter(|by| *by >= least) {
            if !felt(run, &jig, bend, by) {
                faults.push(format!("bend {} by {by}°: {least}° are said to be felt", bend + 1));
            }
        }
        // Nor is less than half of it felt, both ways.
        let both = run.centreline.bends()[bend].angle.to_degrees() + least / 2.0 < 180.0;
        if both && felt(run, &jig, bend, least / 2.0) {
            faults.push(format!("bend {}: half of {least}° is felt", bend + 1));
        }
    }
    let straights = unfelt_straights(run, &jig);
    if findings.is_empty() && !straights.is_empty() {
        faults.push(format!("straights {straights:?} are not felt"));
    }
    Judged { made: true, warned: !findings.is_empty(), faults }
}

struct Judged {
    made: bool,
    warned: bool,
    faults: Vec<String>,
}

#[test]
fn jigs_of_many_runs_hold_them_and_show_errors() {
    let runs = many(240);
    let judged: Vec<Judged> = runs.par_iter().map(|run| judged(run, &Workshop::default())).collect();
    let told = runs.iter().zip(&judged).filter(|(_, j)| !j.faults.is_empty());
    let told: Vec<String> =
        told.map(|(run, j)| format!("{:#?}\n{:?}", j.faults, run.centreline.table())).collect();
    assert!(told.is_empty(), "{}", told.join("\n"));
    let without = judged.iter().filter(|j| !j.made).count();
    let blind = judged.iter().filter(|j| j.made && j.warned).count();
    println!(
        "{} runs: {without} without a jig, {blind} with a jig that does not show every error",
        runs.len()
    );
    assert!(100 * without <= 3 * runs.len() && 100 * blind <= 3 * runs.len(), "{without} {blind}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn jigs_keep_to_the_shop_s_sizes(run in run(), shop in shop()) {
        let judged = judged(&run, &shop);
        prop_assert!(judged.faults.is_empty(), "{:#?}", judged.faults);
    }
}

/// Shops with other sheets and fits than most.
fn shop() -> impl Strategy<Value = Workshop> {
    let sheet = (2.5..13.0f64, -0.1..0.3f64);
    let jig = (0.1..1.2f64, 5.0..60.0f64, 0.2..3.0f64);
    (sheet, jig).prop_map(|((thickness, slot_fit), (clearance, lift, gate))| {
        let shop = Workshop::default();
        Workshop {
            sheet: SheetStock { thickness, slot_fit, ..shop.sheet },
            jig: JigOptions { clearance, lift, gate },
            ..shop
        }
    })
}

#[test]
fn a_jig_out_of_place_is_seen() {
    let run = &many(3)[2];
    let shop = Workshop::default();
    let jig = designed(run, &shop).0.unwrap();
    assert_eq!(faults(run, &jig, &shop), Vec::<String>::new());
    let moved = |by: Vector3| {
        let mut wrong = jig.clone();
        wrong.work.posed[2].at.origin += by;
        faults(run, &wrong, &shop)
    };
    let posed = jig.work.posed[2].at;
    for by in [posed.x * 0.6, posed.x * -0.6, posed.y() * 1.5, posed.x * 1e-4, posed.y() * -0.01] {
        assert!(!moved(by).is_empty(), "{by:?}");
    }
    // A thicker tube does not fit, and nor does one that starts elsewhere.
    let mut thick = run.clone();
    thick.run.tube = copper(run.run.tube.od() + 1.1, 0.6);
    assert!(!faults(&thick, &jig, &shop).is_empty());
}
