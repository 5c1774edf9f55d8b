//! Made tubes against the bench and the drawn templates, and readings against numbers worked by hand.

use std::f64::consts::{FRAC_PI_2, PI};

use super::*;
use crate::bench::{Tool, follow};
use crate::calibration::Formed;
use crate::centreline::{LaidRun, TableRow, from_table};
use crate::chance::Chance;
use crate::drawing::template::plane::{DrawnEnd, DrawnEndKind, planes};
use crate::fit::check;
use crate::geometry::{Frame, InnerSpace, MetricSpace, Point3};
use crate::plan::{Better, FromEnd, Quantity, RunPlan, plan};
use crate::spec::model::{BendRow, LegMeasure, MarkPoint, Off, OwnClr, Readings, RunPath, Uncertainty, What};
use crate::testing::{along, bender, layout, place, table_run, tube};

fn between(chance: &mut Chance, low: f64, high: f64) -> f64 {
    low + (high - low) * chance.even()
}

/// A run of random rows, some of them of a radius of their own, on a random tool, and its plan.
fn random(chance: &mut Chance, number: usize) -> (LaidRun, RunPlan) {
    let rows: Vec<TableRow> = (0..1 + number % 6)
        .map(|index| TableRow {
            length: between(chance, 40.0, 150.0),
            // Every third bend lies in the plane of the one before.
            rotation: if index % 3 == 2 { PI } else { between(chance, -3.0, 3.0) },
            angle: between(chance, 0.3, 2.3),
            radius: if chance.even() < 0.3 { 60.0 } else { 45.0 },
        })
        .collect();
    let line = from_table(Frame::default(), &rows, 90.0).unwrap();
    let mut laid = along("r", line, tube(12.0, 1.0));
    laid.run.bender = bender(45.0);
    laid.run.bender.mark = [MarkPoint::Start, MarkPoint::Middle, MarkPoint::End][number % 3];
    laid.run.bender.datum = between(chance, -5.0, 5.0);
    (laid.run.allowance_start, laid.run.allowance_end) = (7.0, 4.0);
    let own = |row: &TableRow| (row.radius > 50.0).then_some(OwnClr { mm: row.radius, place: place(6) });
    let row = |row: &TableRow| BendRow {
        length: row.length,
        rotation: row.rotation,
        angle: row.angle,
        clr: own(row),
        place: place(6),
    };
    laid.run.path = RunPath::Bends { rows: rows.iter().map(row).collect(), end_length: 90.0 };
    if number % 2 == 0 {
        let (springback_fixed, springback_rate) = (between(chance, 0.0, 0.03), between(chance, 0.01, 0.05));
        let stretch = between(chance, -0.01, 0.05);
        laid.formed = Some(Formed { springback_fixed, springback_rate, clr: 45.0, stretch });
    }
    let from = if number % 4 < 2 { FromEnd::Datum } else { FromEnd::Other };
    let planned = planned(&laid, from);
    (laid, planned)
}

fn planned(laid: &LaidRun, from: FromEnd) -> RunPlan {
    let layout = layout(vec![laid.clone()], vec![]);
    let mut run = plan(&layout, &check(&layout).0).0.runs.remove(0);
    run.order.better = Better::From(from);
    run
}

fn making(laid: &LaidRun, run: &RunPlan, done: usize) -> Making {
    let readings = Readings { done, pulled: Vec::new(), all: Vec::new() };
    Making::new(laid, run, &Uncertainty::default(), &readings)
}

#[test]
fn a_made_tube_is_the_one_that_the_bench_makes() {
    let mut chance = Chance::new(3);
    for number in 0..240 {
        let (laid, run) = random(&mut chance, number);
        let from = run.begins_at();
        let done = run.bends.len() - usize::from(number % 5 == 0 && run.bends.len() > 1);
        let making = making(&laid, &run, done);
        let off: Vec<f64> = making
            .spreads()
            .iter()
            .map(|of| match of.quantity {
                Quantity::Angle(_) | Quantity::Turn(_) => between(&mut chance, -0.1, 0.1),
                _ => between(&mut chance, -3.0, 3.0),
            })
            .collect();
        let by = |quantity: Quantity| -> f64 {
            making
                .spreads()
                .iter()
                .zip(&off)
                .filter(|(of, _)| of.quantity == quantity)
                .map(|(_, by)| by)
                .sum()
        };
        let mut tool = Tool::as_planned(&run);
        let mut operations = run.operations(from)[..done].to_vec();
        for made in &mut operations {
            let form = &mut tool.forms[made.bend - 1];
            // What is left after letting go is off by so much.
            made.pull.angle += by(Quantity::Angle(made.bend)) / (1.0 - form.springback_rate);
            made.feed.mark += by(Quantity::Mark(made.bend));
            // Plans have turns of −180° to 180°.
            let rotation = made.turn.rotation + by(Quantity::Turn(made.bend));
            made.turn.rotation = rotation - 2.0 * PI * (rotation / (2.0 * PI)).round();
            form.clr += by(Quantity::Radius(run.bends[made.bend - 1].clr));
        }
        let length = run.cut_length + by(Quantity::Length);
        let bench = follow(&operations, length, &tool).last().unwrap().unwrap().tube;
        let made = making.made(&off);
        assert_eq!(made.rows.len(), done);
        for (ours, theirs) in made.rows.iter().zip(bench.rows()) {
            let turn = (ours.rotation - theirs.rotation).rem_euclid(2.0 * PI);
            let parts = [
                ours.length - theirs.length,
                turn.min(2.0 * PI - turn),
                ours.angle - theirs.angle,
                ours.radius - theirs.radius,
            ];
            assert!(parts.iter().all(|part| part.abs() < 1e-9), "{number}: {ours:?} {theirs:?}");
        }
        assert!((made.rest - bench.rest()).abs() < 1e-9);
        let line = bench.laid_at(making.frame());
        let (ours, laid_out) = (made.end(making.frame()), made.laid_at(making.frame()));
        assert!(ours.origin.distance(line.end()) < 1e-9 && laid_out.end().distance(line.end()) < 1e-9);
        assert!((ours.direction - line.end_direction()).magnitude() < 1e-12);
        // As planned it is the run, whose finished end lies an allowance before that of the tube.
        if done == run.bends.len() {
            let finished =
                if from == FromEnd::Datum { laid.centreline.end() } else { laid.centreline.start() };
            let end = making.planned().end(making.frame());
            let end = end.origin - end.direction * run.allowances(from)[1];
            assert!(end.distance(finished) < 1e-8, "{number}: {end:?} {finished:?}");
        }
    }
}

#[test]
fn an_overlap_is_a_negative_straight() {
    let laid = table_run("r", 50.0, &[(60.0, 0.0, 90.0), (3.0, 90.0, 90.0)], 70.0);
    let run = planned(&laid, FromEnd::Datum);
    let making = making(&laid, &run, 2);
    let at = making.spreads().iter().position(|of| of.quantity == Quantity::Mark(2)).unwrap();
    let mut off = vec![0.0; making.spreads().len()];
    off[at] = -5.0;
    let made = making.made(&off);
    assert!((made.rows[1].length + 2.0).abs() < 1e-9 && (made.rest - 75.0).abs() < 1e-9);
}

#[test]
fn a_bend_that_was_pulled_otherwise_is_another_bend() {
    let mut laid = table_run("r", 50.0, &[(60.0, 0.0, 90.0)], 70.0);
    laid.formed = Some(Formed { springback_fixed: 0.01, springback_rate: 0.04, clr: 50.0, stretch: 0.0 });
    let run = planned(&laid, FromEnd::Datum);
    let readings = Readings { done: 1, pulled: vec![(1, 1.5)], all: vec![] };
    let making = Making::new(&laid, &run, &Uncertainty::default(), &readings);
    assert!((making.planned().rows[0].angle - (1.5 - 0.01 - 0.06)).abs() < 1e-12);
}

#[test]
fn templates_lie_as_they_are_drawn() {
    let mut chance = Chance::new(5);
    let mut bends = 0;
    for number in 0..120 {
        let (laid, run) = random(&mut chance, number);
        let making = making(&laid, &run, run.bends.len());
        let planes = planes(&laid, &run);
        assert_eq!(planes.len(), making.templates.len());
        for (plane, template) in planes.iter().zip(&making.templates) {
            assert_eq!(plane.bends.len(), template.bends.len());
            bends += plane.bends.len();
            let waste = |stop: &DrawnEnd| match stop.kind {
                DrawnEndKind::TubeEnd { waste, .. } => waste,
                DrawnEndKind::Break { .. } => 0.0,
            };
            for (stop, ours, out) in
                [(&plane.start, template.drawn()[0], -1.0), (&plane.end, template.drawn()[1], 1.0)]
            {
                let at = stop.at.polar(waste(stop), stop.outward);
                assert!(ours.origin.distance(Point3::new(at.x, at.y, 0.0)) < 1e-6, "{stop:?} {ours:?}");
                let (sin, cos) = stop.outward.sin_cos();
                let way = ours.direction * out;
                assert!((way.x - cos).abs() < 1e-9 && (way.y - sin).abs() < 1e-9, "{stop:?} {ours:?}");
            }
        }
        // The planned tube lies on them.
        let tube = making.planned();
        for template in 1..=making.templates.len() {
            for off in [Off::Beyond, Off::Left, Off::Above] {
                let off = making.reading(&tube, What::FarEnd(template, off)).unwrap();
                assert!(off.abs() < 1e-6, "{number}: {off}");
            }
        }
        for bend in &run.bends {
            let off = making.reading(&tube, What::OnTemplate(bend.number, Off::Left)).unwrap();
            assert!(off.abs() < 1e-6);
        }
    }
    assert!(bends > 200);
}

/// A leg of 60 mm, two square bends of R 50 with 40 mm between them, the second to the other side, 70 mm behind; 15 x 1.
fn z_bend() -> (LaidRun, RunPlan) {
    let laid = table_run("z", 50.0, &[(60.0, 0.0, 90.0), (40.0, 180.0, 90.0)], 70.0);
    let run = planned(&laid, FromEnd::Datum);
    (laid, run)
}

#[test]
fn readings_are_those_of_a_rule_and_a_protractor() {
    let (laid, run) = z_bend();
    let making = making(&laid, &run, 2);
    let tube = making.planned();
    let arc = 50.0 * FRAC_PI_2;
    let wanted = [
        (What::Angle(2), FRAC_PI_2),
        (What::Turn(2), PI),
        (What::Starts(1), 60.0),
        (What::Ends(1), 60.0 + arc),
        (What::Starts(2), 100.0 + arc),
        (What::Leg(1, LegMeasure::Centre), 110.0),
        (What::Leg(1, LegMeasure::Outside), 117.5),
        (What::Leg(2, LegMeasure::Inside), 82.5),
        (What::Between(2, LegMeasure::Centre), 140.0),
        // Over both backs a rule has a whole diameter more.
        (What::Between(2, LegMeasure::Outside), 155.0),
        (What::Between(1, LegMeasure::Centre), 110.0),
        (What::LastLeg(LegMeasure::Centre), 120.0),
        (What::LastLeg(LegMeasure::Outside), 127.5),
        (What::Cut, 170.0 + 2.0 * arc),
        // 110 + 120 mm along, 140 mm to the side.
        (What::EndToEnd(1), 230f64.hypot(140.0)),
    ];
    for (what, wanted) in wanted {
        let found = making.reading(&tube, what).unwrap();
        let off = readings::more(what, found, wanted);
        assert!(off.abs() < 1e-9, "{what:?}: {found} {wanted}");
    }
    let none = [
        What::Turn(1),
        What::Angle(3),
        What::Angle(0),
        What::EndToEnd(2),
        What::EndToEnd(0),
        What::OnTemplate(3, Off::Left),
    ];
    assert!(none.iter().all(|what| making.reading(&tube, *what).is_none()));
}

#[test]
fn a_tube_lies_off_its_template_by_what_went_wrong() {
    let (laid, run) = z_bend();
    let whole = making(&laid, &run, 2);
    let off = |making: &Making, of: &[(Quantity, f64)], what: What| {
        let by = |quantity| of.iter().filter(|(other, _)| *other == quantity).map(|(_, by)| by).sum();
        let off: Vec<f64> = making.spreads().iter().map(|of| by(of.quantity)).collect();
        making.reading(&making.made(&off), what)
    };
    let near = |found: Option<f64>, wanted: f64| {
        assert!((found.unwrap() - wanted).abs() < 1e-6, "{found:?} {wanted}");
    };
    // Cut 2 mm long.
    near(off(&whole, &[(Quantity::Length, 2.0)], What::FarEnd(1, Off::Beyond)), 2.0);
    // The mark of the first bend 3 mm on: the leg between is as much shorter, the last one as it was. It runs along x.
    let mark = [(Quantity::Mark(1), 3.0)];
    near(off(&whole, &mark, What::FarEnd(1, Off::Beyond)), 3.0);
    // The second leg runs along y, which is to the left of where the tube points.
    near(off(&whole, &mark, What::FarEnd(1, Off::Left)), -3.0);
    near(off(&whole, &mark, What::FarEnd(1, Off::Above)), 0.0);
    // The first bend turns left; the tube's way behind it is y, and its left is −x.
    near(off(&whole, &mark, What::OnTemplate(1, Off::Left)), -3.0);
    // A quarter more of a turn. The first bend's axis is z: half a turn about y makes it −z, a quarter more −x. About −x
    // the tube turns from y to −z, into the paper, by the radius and the last straight.
    let turn = [(Quantity::Turn(2), FRAC_PI_2)];
    near(off(&whole, &turn, What::FarEnd(1, Off::Above)), -120.0);
    // A first bend of 1° less: the tube swings clockwise about its centre (60, 50), seen from above.
    let angle = [(Quantity::Angle(1), -1f64.to_radians())];
    let (sin, cos) = 1f64.to_radians().sin_cos();
    // The tool is marked for the start: the arc takes less, and the straight between is as much longer.
    let between = 40.0 + 50.0 * 1f64.to_radians();
    let end = |straight: f64| (50.0 + 50.0 + 70.0, straight + 50.0);
    let (x, y) = end(between);
    // From the centre, turned clockwise by 1°.
    let found = (x * cos + y * sin, -x * sin + y * cos);
    let drawn = end(40.0);
    near(off(&whole, &angle, What::FarEnd(1, Off::Beyond)), found.0 - drawn.0);
    near(off(&whole, &angle, What::FarEnd(1, Off::Left)), found.1 - drawn.1);
    // With the second bend still to be made, the first one's end can be read, and nothing behind it.
    let half = making(&laid, &run, 1);
    near(off(&half, &mark, What::OnTemplate(1, Off::Left)), -3.0);
    assert_eq!(off(&half, &mark, What::FarEnd(1, Off::Left)), None);
    assert_eq!(off(&half, &mark, What::EndToEnd(1)), None);
}

#[test]
fn a_half_bent_tube_lies_on_the_whole_template_of_its_first_plane() {
    let laid = table_run("r", 50.0, &[(60.0, 0.0, 90.0), (40.0, 90.0, 45.0)], 70.0);
    let run = planned(&laid, FromEnd::Datum);
    let half = making(&laid, &run, 1);
    let tube = half.planned();
    assert_eq!(half.templates.len(), 2);
    assert!(half.reading(&tube, What::FarEnd(1, Off::Left)).unwrap().abs() < 1e-9);
    let none = [What::FarEnd(1, Off::Beyond), What::EndToEnd(1), What::EndToEnd(2)];
    assert!(none.iter().all(|what| half.reading(&tube, *what).is_none()));
    let whole = making(&laid, &run, 2);
    assert!((whole.reading(&whole.planned(), What::EndToEnd(1)).unwrap() - 110f64.hypot(90.0)).abs() < 1e-9);
    // A straight run has one template, its whole length.
    let laid = table_run("s", 50.0, &[], 300.0);
    let run = planned(&laid, FromEnd::Datum);
    let straight = making(&laid, &run, 0);
    assert_eq!(straight.reading(&straight.planned(), What::EndToEnd(1)), Some(300.0));
}

#[test]
fn legs_that_do_not_cross_are_no_reading() {
    let laid = table_run("u", 50.0, &[(60.0, 0.0, 180.0)], 70.0);
    let run = planned(&laid, FromEnd::Datum);
    let u = making(&laid, &run, 1);
    let tube = u.planned();
    for what in [
        What::Leg(1, LegMeasure::Centre),
        What::Between(1, LegMeasure::Inside),
        What::LastLeg(LegMeasure::Outside),
    ] {
        assert_eq!(u.reading(&tube, what), None);
    }
    assert!((u.reading(&tube, What::EndToEnd(1)).unwrap() - 10f64.hypot(100.0)).abs() < 1e-9);
}
