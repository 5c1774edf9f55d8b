//! The most likely tube: errors and readings drawn at random, the estimate held against what was drawn.
//!
//! `TUBEWRIGHT_TUBES` is the number of tubes of each kind: 2000 take a minute or two.

use std::f64::consts::PI;

use rayon::prelude::*;
use tubewright::centreline::LaidRun;
use tubewright::correct::{Estimate, Making, estimate};
use tubewright::fit::check;
use tubewright::formula::normal::REACH_95;
use tubewright::geometry::MetricSpace;
use tubewright::plan::{Quantity, RunPlan, plan};
use tubewright::spec::model::{LegMeasure, Off, Reading, Readings, Uncertainty, What};

use crate::support::Chance;
use crate::support::testing::{layout, table_run};

fn tubes(usual: usize) -> usize {
    std::env::var("TUBEWRIGHT_TUBES").ok().map_or(usual, |text| text.parse().unwrap())
}

fn normal(chance: &mut Chance) -> f64 {
    (-2.0 * (1.0 - chance.next()).ln()).sqrt() * (2.0 * PI * chance.next()).cos()
}

/// What the library takes slips and wrong readings to be, written out once more: probabilities, and half-widths in mm
/// and degrees.
const SLIP: f64 = 0.1;
const WRONG: f64 = 0.003;

fn slip(quantity: Quantity) -> Option<f64> {
    match quantity {
        Quantity::Mark(_) | Quantity::Length => Some(3.0),
        Quantity::Angle(_) => Some(3f64.to_radians()),
        Quantity::Turn(_) => Some(5f64.to_radians()),
        Quantity::Radius(_) | Quantity::Ports => None,
    }
}

fn is_angle(what: What) -> bool {
    matches!(what, What::Angle(_) | What::Turn(_))
}

/// A run of so many bends in space and its plan. `planar` keeps every second bend in the plane of the one before.
fn run(chance: &mut Chance, count: usize, planar: bool) -> (LaidRun, RunPlan) {
    let rows: Vec<(f64, f64, f64)> = (0..count)
        .map(|index| {
            let rotation =
                if planar && index % 2 == 1 { 180.0 } else { chance.between(-170.0, 170.0).round() };
            (chance.between(40.0, 200.0).round(), rotation, chance.between(20.0, 110.0).round())
        })
        .collect();
    let laid = table_run("r", 55.0, &rows, 120.0);
    let layout = layout(vec![laid.clone()], vec![]);
    let run = plan(&layout, &check(&layout).0).0.runs.remove(0);
    (laid, run)
}

fn making(laid: &LaidRun, run: &RunPlan) -> Making {
    let readings = Readings { done: run.bends.len(), pulled: vec![], all: vec![] };
    Making::new(laid, run, &Uncertainty::default(), &readings)
}

/// Half the width of a range, 95 % of the readings of a rule and a protractor: lengths to 0.3 and angles to 0.3°, standard
/// deviations.
fn usual(what: What) -> f64 {
    if is_angle(what) { 0.6f64.to_radians() } else { 0.6 }
}

fn read(chance: &mut Chance, value: f64, what: What, accuracy: f64) -> Reading {
    Reading { what, value: value + normal(chance) * accuracy / REACH_95, accuracy, place: None }
}

/// Every reading that a tube of so many bends may give, the templates' among them.
fn all_readings(making: &Making) -> Vec<What> {
    let bends: Vec<usize> = making.bends().collect();
    let of_bends = bends.iter().flat_map(|&bend| {
        [
            What::Angle(bend),
            What::Turn(bend),
            What::Starts(bend),
            What::Ends(bend),
            What::Leg(bend, LegMeasure::Outside),
            What::Between(bend, LegMeasure::Centre),
            What::OnTemplate(bend, Off::Left),
        ]
    });
    let of_templates = (1..=bends.len()).flat_map(|template| {
        [
            What::EndToEnd(template),
            What::FarEnd(template, Off::Beyond),
            What::FarEnd(template, Off::Left),
            What::FarEnd(template, Off::Above),
        ]
    });
    let planned = making.planned();
    let all = of_bends.chain(of_templates).chain([What::Cut, What::LastLeg(LegMeasure::Inside)]);
    all.filter(|what| making.reading(&planned, *what).is_some()).collect()
}

/// Whether an error lies in its range: of deviations by their kinds, of the end's place along its axes.
#[derive(Default, Clone, Copy)]
struct Count {
    held: usize,
    of: usize,
}

impl Count {
    fn add(&mut self, is_held: bool) {
        self.held += usize::from(is_held);
        self.of += 1;
    }

    fn part(&self) -> f64 {
        self.held as f64 / self.of.max(1) as f64
    }
}

/// Marks, turns, angles, radii, cuts; the end along, to the left, up, and its direction to the left and up; deviations that
/// slipped where the readings determine them.
const KINDS: usize = 11;

fn kind(quantity: Quantity) -> usize {
    match quantity {
        Quantity::Mark(_) => 0,
        Quantity::Turn(_) => 1,
        Quantity::Angle(_) => 2,
        Quantity::Radius(_) => 3,
        Quantity::Length | Quantity::Ports => 4,
    }
}

/// One tube drawn as the library believes tubes to be: which ranges hold its errors.
fn covered(number: usize) -> [Count; KINDS] {
    let mut chance = Chance(number as u64 * 7919 + 1);
    chance.next();
    let (laid, run) = run(&mut chance, 1 + number % 6, number % 2 == 0);
    let making = making(&laid, &run);
    let mut slipped = Vec::new();
    let off: Vec<f64> = (making.spreads().iter())
        .map(|spread| {
            let slips = slip(spread.quantity).filter(|_| chance.next() < SLIP);
            slipped.push(slips.is_some());
            normal(&mut chance) * slips.unwrap_or(spread.half_width) / REACH_95
        })
        .collect();
    let truth = making.made(&off);
    let part = chance.between(0.1, 0.9);
    let mut readings = Vec::new();
    for what in all_readings(&making) {
        if chance.next() > part {
            continue;
        }
        let accuracy = usual(what) * chance.between(0.3, 2.0);
        let wrong = if is_angle(what) { 10f64.to_radians() } else { 10.0 };
        let mut reading = read(&mut chance, making.reading(&truth, what).unwrap(), what, accuracy);
        if chance.next() < WRONG {
            reading = read(&mut chance, making.reading(&truth, what).unwrap(), what, wrong);
        }
        readings.push(Reading { accuracy, ..reading });
    }
    let found = estimate(&making, &readings);
    let mut counts = [Count::default(); KINDS];
    for ((deviation, truth), slipped) in found.deviations.iter().zip(&off).zip(slipped) {
        let is_held = (deviation.value - truth).abs() <= deviation.half_width;
        counts[kind(deviation.quantity)].add(is_held);
        // Told: of a slip no larger than a usual error nobody can tell.
        if slipped && deviation.slipped > 0.9 {
            counts[10].add(is_held);
        }
    }
    let end = truth.end(making.frame());
    let apart = end.origin - found.end.found.origin;
    let turned = end.direction - found.end.found.direction;
    let [along, left, up] = found.end.axes;
    let dot = |a: tubewright::geometry::Vector3, b| tubewright::geometry::InnerSpace::dot(a, b);
    let errors = [dot(apart, along), dot(apart, left), dot(apart, up), dot(turned, left), dot(turned, up)];
    for (index, error) in errors.into_iter().enumerate() {
        counts[5 + index].add(error.abs() <= found.end.half_widths[index]);
    }
    counts
}

#[test]
fn stated_ranges_hold_the_truth_in_95_of_100_tubes() {
    let count = tubes(120);
    let all = (0..count).into_par_iter().map(covered).reduce(
        || [Count::default(); KINDS],
        |mut a, b| {
            a.iter_mut().zip(b).for_each(|(a, b)| {
                a.held += b.held;
                a.of += b.of;
            });
            a
        },
    );
    let names = [
        "marks",
        "turns",
        "angles",
        "radii",
        "cuts",
        "along",
        "left",
        "up",
        "to left",
        "to up",
        "slipped and told",
    ];
    for (name, count) in names.iter().zip(&all) {
        println!("{name}: {:.1} % of {}", 100.0 * count.part(), count.of);
    }
    for (name, found) in names.iter().zip(&all) {
        // Three standard deviations of so many, and the two percent that are allowed.
        let room = 0.02 + if count < 2000 { 3.0 * (0.95 * 0.05 / found.of as f64).sqrt() } else { 0.0 };
        assert!((found.part() - 0.95).abs() <= room, "{name}: {} of {}", found.held, found.of);
    }
}

/// Angle and turn of each bend, where it ends, and the cut.
fn usual_set(making: &Making) -> Vec<What> {
    let of_bends = making.bends().flat_map(|bend| [What::Angle(bend), What::Turn(bend), What::Ends(bend)]);
    let planned = making.planned();
    of_bends.chain([What::Cut]).filter(|what| making.reading(&planned, *what).is_some()).collect()
}

/// A tube with one or two slips and readings of a usual set: how far its end is from where the estimate has it, from where
/// readings taken at their word have it, and from the plan, mm.
fn slipped(number: usize) -> [f64; 3] {
    let mut chance = Chance(number as u64 * 104_729 + 5);
    chance.next();
    let (laid, run) = run(&mut chance, 1 + number % 5, false);
    let making = making(&laid, &run);
    let mut off = vec![0.0; making.spreads().len()];
    let able: Vec<usize> =
        (0..off.len()).filter(|at| slip(making.spreads()[*at].quantity).is_some()).collect();
    for _ in 0..1 + number % 2 {
        let at = *chance.pick(&able);
        let most = slip(making.spreads()[at].quantity).unwrap();
        off[at] = chance.between(-most, most);
    }
    let truth = making.made(&off);
    let readings: Vec<Reading> = usual_set(&making)
        .into_iter()
        .map(|what| {
            let accuracy = usual(what);
            let value = making.reading(&truth, what).unwrap();
            let deviation = if is_angle(what) { 0.3f64.to_radians() } else { 0.3 };
            Reading { value: value + deviation * normal(&mut chance), what, accuracy, place: None }
        })
        .collect();
    let found = estimate(&making, &readings);
    let end = truth.end(making.frame()).origin;
    let word = at_their_word(&making, &readings).end(making.frame()).origin;
    let plan = making.planned().end(making.frame()).origin;
    [found.end.found.origin, word, plan].map(|at| at.distance(end))
}

/// The tube of a usual set of readings taken at their word.
fn at_their_word(making: &Making, readings: &[Reading]) -> tubewright::correct::Made {
    let planned = making.planned();
    let more = |what: What| {
        let reading = readings.iter().find(|reading| reading.what == what);
        reading.map_or(0.0, |reading| {
            let more = reading.value - making.reading(&planned, what).unwrap();
            if let What::Turn(_) = what { more - 2.0 * PI * (more / (2.0 * PI)).round() } else { more }
        })
    };
    let off: Vec<f64> = (making.spreads().iter())
        .map(|spread| match spread.quantity {
            // The tool is marked for the start: the end is behind by what the angle takes more.
            Quantity::Mark(bend) => more(What::Ends(bend)) - 55.0 * more(What::Angle(bend)),
            Quantity::Turn(bend) => more(What::Turn(bend)),
            Quantity::Angle(bend) => more(What::Angle(bend)),
            Quantity::Length => more(What::Cut),
            Quantity::Radius(_) | Quantity::Ports => 0.0,
        })
        .collect();
    making.made(&off)
}

fn rms(all: impl Iterator<Item = f64>, count: usize) -> f64 {
    (all.map(|mm| mm * mm).sum::<f64>() / count as f64).sqrt()
}

#[test]
fn the_end_of_a_tube_with_one_or_two_slips_is_known_better_than_by_its_readings_alone() {
    let count = tubes(100);
    let all: Vec<[f64; 3]> = (0..count).into_par_iter().map(slipped).collect();
    let [found, word, plan] = [0, 1, 2].map(|which| rms(all.iter().map(|of| of[which]), count));
    println!(
        "end: {found:.2} mm rms by the estimate, {word:.2} by readings at their word, {plan:.2} by the plan"
    );
    // Of so few tubes the ratio is not known better than to a tenth.
    assert!(found < 0.95 * word && found < 0.5 * plan, "{found} {word} {plan}");
}

/// Readings that check each other: every slip shows in two of them or more, so that what one wrong reading looks like takes
/// a slip and a wrong reading otherwise. Of one bend six suffice, its angle, mark and the cut being what may slip. Two bends
/// have five of these, and take eight.
const SETS: [(usize, &[What]); 3] = [
    (
        1,
        &[
            What::Angle(1),
            What::Starts(1),
            What::Ends(1),
            What::LastLeg(LegMeasure::Centre),
            What::Cut,
            What::EndToEnd(1),
        ],
    ),
    (
        1,
        &[
            What::Angle(1),
            What::Leg(1, LegMeasure::Outside),
            What::LastLeg(LegMeasure::Outside),
            What::Cut,
            What::FarEnd(1, Off::Beyond),
            What::FarEnd(1, Off::Left),
        ],
    ),
    (
        2,
        &[
            What::Angle(1),
            What::Angle(2),
            What::Starts(1),
            What::Ends(2),
            What::LastLeg(LegMeasure::Centre),
            What::Cut,
            What::FarEnd(1, Off::Beyond),
            What::FarEnd(1, Off::Left),
        ],
    ),
];

/// A tube with the usual errors and a slip in every second one; a set of readings of it, one of them wrong by 5 mm or 5°
/// where `is_wrong`. Whether the wrong one is named, and how many right ones are.
fn named(number: usize, is_wrong: bool) -> (Option<bool>, usize) {
    let mut chance = Chance(number as u64 * 15_485_863 + 11);
    chance.next();
    let (bends, whats) = SETS[number % SETS.len()];
    let (laid, run) = run(&mut chance, bends, true);
    let making = making(&laid, &run);
    let mut off: Vec<f64> =
        (making.spreads().iter()).map(|spread| normal(&mut chance) * spread.half_width / REACH_95).collect();
    if number / SETS.len() % 2 == 1 {
        let able: Vec<usize> =
            (0..off.len()).filter(|at| slip(making.spreads()[*at].quantity).is_some()).collect();
        let at = *chance.pick(&able);
        let most = slip(making.spreads()[at].quantity).unwrap();
        off[at] = chance.between(-most, most);
    }
    let truth = making.made(&off);
    let mut readings: Vec<Reading> = (whats.iter())
        .map(|&what| read(&mut chance, making.reading(&truth, what).unwrap(), what, usual(what)))
        .collect();
    let wrong = (chance.next() * whats.len() as f64) as usize;
    if is_wrong {
        let by = if is_angle(readings[wrong].what) { 5f64.to_radians() } else { 5.0 };
        readings[wrong].value += if chance.next() < 0.5 { by } else { -by };
    }
    let found: Estimate = estimate(&making, &readings);
    let largest = found.readings.iter().map(|reading| reading.wrong).fold(0.0, f64::max);
    let right = found.readings.iter().enumerate().filter(|(at, _)| !is_wrong || *at != wrong);
    let falsely = right.filter(|(_, reading)| reading.is_wrong()).count();
    let hit = &found.readings[wrong];
    (is_wrong.then(|| hit.is_wrong() && hit.wrong == largest), falsely)
}

#[test]
fn a_wrong_reading_among_six_is_named_and_a_right_one_is_not() {
    let count = tubes(180);
    let all: Vec<_> = (0..count).into_par_iter().map(|number| named(number, true)).collect();
    let hits = |set: usize| {
        let of = all.iter().skip(set).step_by(SETS.len());
        let (hits, of) =
            of.fold((0, 0), |(hits, of), (hit, _)| (hits + usize::from(*hit == Some(true)), of + 1));
        hits as f64 / f64::from(of)
    };
    let hits = [0, 1, 2].map(hits);
    let sound: Vec<_> = (0..count).into_par_iter().map(|number| named(number, false)).collect();
    let readings: usize = (0..count).map(|number| SETS[number % SETS.len()].1.len()).sum();
    let falsely = |all: &[(Option<bool>, usize)], of: usize| {
        all.iter().map(|(_, falsely)| *falsely).sum::<usize>() as f64 / of as f64
    };
    let (sound, beside) = (falsely(&sound, readings), falsely(&all, readings - count));
    println!(
        "named: {:.1}, {:.1} and {:.1} % by sets; right ones {:.2} % beside a wrong one, {:.2} % without one",
        100.0 * hits[0],
        100.0 * hits[1],
        100.0 * hits[2],
        100.0 * beside,
        100.0 * sound
    );
    assert!(hits.iter().all(|part| *part >= 0.9), "{hits:?}");
    assert!(sound < 0.01 && beside < 0.01, "{sound} {beside}");
}

/// A tube of these deviations, with exact readings of a usual set.
fn told(
    making: &Making,
    off: &[(Quantity, f64)],
    whats: &[What],
) -> (Vec<Reading>, tubewright::correct::Made) {
    let by = |quantity| off.iter().filter(|(other, _)| *other == quantity).map(|(_, by)| *by).sum::<f64>();
    let off: Vec<f64> = making.spreads().iter().map(|spread| by(spread.quantity)).collect();
    let truth = making.made(&off);
    let exact = |what: &What| {
        let value = making.reading(&truth, *what).unwrap();
        Reading { what: *what, value, accuracy: usual(*what), place: None }
    };
    (whats.iter().map(exact).collect(), truth)
}

fn of(found: &Estimate, quantity: Quantity) -> tubewright::correct::Deviation {
    *found.deviations.iter().find(|found| found.quantity == quantity).unwrap()
}

/// Three bends in space.
fn three() -> Making {
    let rows = [(80.0, 0.0, 90.0), (100.0, 90.0, 45.0), (60.0, -90.0, 60.0)];
    let laid = table_run("r", 55.0, &rows, 120.0);
    let layout = layout(vec![laid.clone()], vec![]);
    let run = plan(&layout, &check(&layout).0).0.runs.remove(0);
    making(&laid, &run)
}

#[test]
fn the_bend_that_came_out_short_is_what_the_end_is_off_by() {
    let making = three();
    let (readings, truth) = told(&making, &[(Quantity::Angle(2), -2.5f64.to_radians())], &usual_set(&making));
    let found = estimate(&making, &readings);
    let dominant = found.dominant.unwrap();
    assert_eq!(dominant.quantity, Quantity::Angle(2));
    assert!((dominant.value.to_degrees() + 2.5).abs() < 0.2 && dominant.share > 0.9, "{dominant:?}");
    let angle = of(&found, Quantity::Angle(2));
    assert!(angle.slipped > 0.8 && of(&found, Quantity::Angle(1)).slipped < 0.1, "{angle:?}");
    // What is told of the end is what can be asked of the tube, and the truth is within it.
    let along = found.end.axes[0];
    let place = |tube: &tubewright::correct::Made| {
        tubewright::geometry::InnerSpace::dot(
            tube.end(making.frame()).origin - found.end.planned.origin,
            along,
        )
    };
    let sure = found.sure(&making, place);
    assert!((sure.value - found.end.error[0]).abs() < 1e-9);
    assert!((sure.half_width / found.end.half_widths[0] - 1.0).abs() < 1e-6);
    assert!((place(&truth) - sure.value).abs() < sure.half_width);
    let deviations = found.deviations.iter().enumerate();
    for (at, deviation) in deviations {
        // No mixture's 95 % lie further out than √20 deviations (Chebyshev).
        let standard = found.covariance(at, at).sqrt();
        assert!(deviation.half_width > standard && deviation.half_width < 20f64.sqrt() * standard);
    }
    assert!((found.line.end().distance(truth.end(making.frame()).origin)) < 1.0);
}

#[test]
fn a_turn_made_the_wrong_way_round_is_believed() {
    let making = three();
    let off = [(Quantity::Turn(2), PI)];
    let (readings, truth) = told(&making, &off, &usual_set(&making));
    let found = estimate(&making, &readings);
    let turn = of(&found, Quantity::Turn(2));
    assert!((turn.value.abs() - PI).abs() < 0.02 && turn.slipped > 0.9, "{turn:?}");
    assert!(found.readings.iter().all(|reading| !reading.is_doubtful()));
    assert!(found.end.found.origin.distance(truth.end(making.frame()).origin) < 2.0);
    // A mark a decimetre off, seen by where its bend starts and ends.
    let whats: Vec<What> = usual_set(&making).into_iter().chain([What::Starts(3)]).collect();
    let (readings, _) = told(&making, &[(Quantity::Mark(3), 30.0)], &whats);
    let found = estimate(&making, &readings);
    let mark = of(&found, Quantity::Mark(3));
    assert!((mark.value - 30.0).abs() < 0.5 && mark.slipped > 0.9, "{mark:?}");
    assert!(found.readings.iter().all(|reading| !reading.is_doubtful()));
}

#[test]
fn a_rule_read_from_its_second_decimetre_is_named() {
    let making = three();
    let whats: Vec<What> = usual_set(&making)
        .into_iter()
        .chain([What::Starts(1), What::Leg(1, LegMeasure::Outside), What::EndToEnd(1)])
        .collect();
    let (mut readings, _) = told(&making, &[], &whats);
    let at = readings.iter().position(|reading| reading.what == What::Ends(1)).unwrap();
    readings[at].value += 100.0;
    let found = estimate(&making, &readings);
    for (index, reading) in found.readings.iter().enumerate() {
        assert_eq!(reading.is_wrong(), index == at, "{reading:?}");
        assert_eq!(reading.is_doubtful(), index == at, "{reading:?}");
    }
    assert!((found.readings[at].more.unwrap() - 100.0).abs() < 0.5);
    assert!(found.end.distance() < 1.0, "{:?}", found.end.error);
}

#[test]
fn of_nothing_read_the_plan_is_told_and_what_tells_nothing_is_passed_over() {
    let making = three();
    let planned = making.planned();
    let angle = |what, value| Reading { what, value, accuracy: 0.01, place: None };
    let useless = [
        angle(What::Turn(1), 0.3),
        angle(What::Angle(9), 0.3),
        angle(What::EndToEnd(7), 0.3),
        angle(What::Angle(1), f64::NAN),
    ];
    for readings in [&[][..], &useless[..]] {
        let found = estimate(&making, readings);
        assert_eq!(found.readings.len(), readings.len());
        assert!(found.readings.iter().all(|reading| reading.more.is_none() && reading.wrong == 0.0));
        assert_eq!((found.made, found.dominant), (planned.clone(), None));
        for (deviation, spread) in found.deviations.iter().zip(making.spreads()) {
            // A slip in ten makes the range wider; without slips it is the plan's.
            let part = deviation.half_width / spread.half_width;
            let slips = slip(spread.quantity).is_some();
            assert!(
                if slips { (1.2..3.5).contains(&part) } else { (part - 1.0).abs() < 1e-6 },
                "{deviation:?}"
            );
        }
    }
    // An accuracy of nothing divides by nothing; two readings of one thing that differ are no reason to stop.
    let twice = [angle(What::Cut, 500.0), Reading { accuracy: 0.0, ..angle(What::Cut, 503.0) }];
    let found = estimate(&making, &twice);
    assert!(found.made.cut.is_finite() && found.end.half_widths.iter().all(|width| width.is_finite()));
}

#[test]
fn of_a_half_bent_tube_the_end_of_its_last_bend_is_told() {
    let rows = [(80.0, 0.0, 90.0), (100.0, 90.0, 45.0), (60.0, -90.0, 60.0)];
    let laid = table_run("r", 55.0, &rows, 120.0);
    let layout = layout(vec![laid.clone()], vec![]);
    let run = plan(&layout, &check(&layout).0).0.runs.remove(0);
    let readings = Readings { done: 2, pulled: vec![], all: vec![] };
    let making = Making::new(&laid, &run, &Uncertainty::default(), &readings);
    assert!(!making.is_whole() && making.bends().eq([1, 2]));
    let off = [(Quantity::Angle(1), 2f64.to_radians()), (Quantity::Turn(2), 3f64.to_radians())];
    let (readings, truth) = told(&making, &off, &usual_set(&making));
    let found = estimate(&making, &readings);
    let (planned, bent) = (making.planned().last_bend(making.frame()), truth.last_bend(making.frame()));
    assert!(found.end.planned.origin.distance(planned.origin) < 1e-9);
    assert!(found.end.found.origin.distance(bent.origin) < 0.6, "{:?} {bent:?}", found.end.found);
    // The bends' directions: about z by 92°, so that much of the turn is a roll, and what the second bend makes of it.
    let way = bent.direction - planned.direction;
    let [_, left, up] = found.end.axes;
    let dot = |a: tubewright::geometry::Vector3, b| tubewright::geometry::InnerSpace::dot(a, b);
    assert!((found.end.error[3] - dot(way, left)).abs() < 0.01, "{:?}", found.end.error);
    assert!((found.end.error[4] - dot(way, up)).abs() < 0.01, "{:?}", found.end.error);
    // The tube that is still straight lies behind.
    assert!(found.line.bends().len() == 2 && found.made.rest > 200.0);
    // No bend done: a straight tube, of which its length alone is known.
    let readings = Readings { done: 0, pulled: vec![], all: vec![] };
    let making = Making::new(&laid, &run, &Uncertainty::default(), &readings);
    let found = estimate(&making, &[]);
    assert_eq!((found.deviations.len(), found.end.error), (1, [0.0; 6]));
}

#[test]
fn the_ranges_of_sixty_bends_hold_as_well() {
    let mut chance = Chance(60);
    let (laid, run) = run(&mut chance, 60, false);
    let making = making(&laid, &run);
    let whats: Vec<What> = usual_set(&making).into_iter().chain(making.bends().map(What::Starts)).collect();
    let off: Vec<(Quantity, f64)> = (making.spreads().iter())
        .map(|spread| {
            let slips = slip(spread.quantity).filter(|_| chance.next() < SLIP);
            (spread.quantity, normal(&mut chance) * slips.unwrap_or(spread.half_width) / REACH_95)
        })
        .collect();
    let (mut readings, _) = told(&making, &off, &whats);
    for reading in &mut readings {
        reading.value += normal(&mut chance) * reading.accuracy / REACH_95;
    }
    let before = std::time::Instant::now();
    let found = estimate(&making, &readings);
    println!("60 bends, {} readings: {:.1} s", readings.len(), before.elapsed().as_secs_f64());
    let held = found
        .deviations
        .iter()
        .zip(&off)
        .filter(|(found, (_, off))| (found.value - off).abs() <= found.half_width);
    // Of 181 some 172, give or take 3.
    assert!((163..=180).contains(&held.count()));
}
