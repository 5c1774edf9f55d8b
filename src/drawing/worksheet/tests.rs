//! The sheet held against plans made by hand and by chance: nothing off the page, no words over words,
//! and a tube turned by the sheet's own words comes out as laid out.

use proptest::prelude::*;

use super::bench::Bench;
use super::pictures::turn_words;
use super::*;
use crate::centreline::LaidRun;
use crate::diagnostic::Diagnostic;
use crate::drawing::item::ItemShape;
use crate::drawing::numbers;
use crate::drawing::page::fixture::clean_words;
use crate::drawing::page::flow::{self, FINE};
use crate::geometry::{InnerSpace, Vector3};
use crate::plan::{self, Better, Cut, FromEnd, MissingPiece, OrderFit, StockPiece, StockPlan, Zone};
use crate::quantity::Unit;
use crate::spec::model::{Carried, StockForm, Straighten};
use crate::testing;

/// The plan of some runs.
fn planned(runs: Vec<LaidRun>) -> (Layout, Plan) {
    let layout = testing::layout(runs, Vec::new());
    let (fits, _) = crate::fit::check(&layout);
    let (plan, _) = plan::plan(&layout, &fits);
    (layout, plan)
}

fn pages(layout: &Layout, plan: &Plan, paper: &str) -> Vec<Sheet> {
    worksheet(layout, plan, &Diagnostics::new(), &Paper::parse(paper).unwrap()).collect()
}

/// All words on a sheet.
fn words(sheet: &Sheet) -> Vec<String> {
    let texts = sheet.drawing.items.iter().filter_map(|item| match &item.shape {
        ItemShape::Text(text) => Some(text.content.clone()),
        _ => None,
    });
    texts.collect()
}

fn joined(sheets: &[Sheet]) -> String {
    sheets.iter().flat_map(words).collect::<Vec<_>>().join(" ")
}

/// A page is as clean as all must be, its capitals as high as promised.
fn is_clean(sheet: &Sheet) {
    clean_words(sheet, FINE);
}

/// A tube bent step by step on a tool that always bends upwards (+z), turned by the words of the sheet
/// and nothing else; its corners. The tube lies along +x with its first end behind.
fn bent_by_the_words(bench: &Bench<'_>) -> Vec<Vector3> {
    // Legs behind the tool, as vectors along the travel, the last one lying along +x.
    let mut legs: Vec<Vector3> = Vec::new();
    let up = Vector3::unit_z();
    for bend in &bench.bends {
        let (amount, way) = turn_words(bend);
        let degrees: f64 = amount.trim_end_matches('°').parse().unwrap_or(0.0);
        // Looking along +x with z up, clockwise is from +y to +z: a right-handed turn.
        let turned = match way {
            "clockwise" | "half a turn" => degrees,
            "anticlockwise" => -degrees,
            _ => 0.0,
        }
        .to_radians();
        let about_x = |v: Vector3| {
            Vector3::new(
                v.x,
                v.y * turned.cos() - v.z * turned.sin(),
                v.y * turned.sin() + v.z * turned.cos(),
            )
        };
        let setback = bend.bend.clr * (bend.bend.angle / 2.0).tan();
        let before = bench.bends.iter().find(|b| Some(b.bend.number) == bend.before);
        let last = before.map_or(0.0, |b| b.bend.clr * (b.bend.angle / 2.0).tan());
        for leg in &mut legs {
            *leg = about_x(*leg);
        }
        legs.push(Vector3::unit_x() * (last + bend.made.feed.straight_before + setback));
        // The free end goes from +x towards +z; seen from it, all that was made turns the other way.
        let (sin, cos) = bend.bend.angle.sin_cos();
        for leg in &mut legs {
            let (along, high) = (leg.x, leg.dot(up));
            *leg = Vector3::new(along * cos + high * sin, leg.y, -along * sin + high * cos);
        }
    }
    let mut at = Vector3::new(0.0, 0.0, 0.0);
    let mut corners = vec![at];
    for leg in legs {
        at += leg;
        corners.push(at);
    }
    corners
}

/// The same corners as laid out, from the end the work begins at.
fn laid_corners(bench: &Bench<'_>) -> Vec<Vector3> {
    let mut corners: Vec<Vector3> =
        bench.laid.centreline.corner_points().iter().map(|p| Vector3::new(p.x, p.y, p.z)).collect();
    if bench.from == FromEnd::Other {
        corners.reverse();
    }
    corners.truncate(bench.bends.len() + 1);
    corners
}

/// Two sets of corners are the same shape, and not each other's mirror image.
fn same_shape(a: &[Vector3], b: &[Vector3]) {
    assert_eq!(a.len(), b.len());
    for i in 0..a.len() {
        for j in 0..i {
            let gap = (a[i] - a[j]).magnitude() - (b[i] - b[j]).magnitude();
            // The sheet gives turns to a tenth of a degree.
            assert!(gap.abs() < 1.0, "corners {j} and {i}: {gap} mm");
        }
    }
    let hand =
        |c: &[Vector3], i: usize| (c[i + 1] - c[i]).cross(c[i + 2] - c[i + 1]).dot(c[i + 3] - c[i + 2]);
    for i in 0..a.len().saturating_sub(3) {
        let (ours, theirs) = (hand(a, i), hand(b, i));
        let size = ours.abs().max(theirs.abs());
        assert!((ours - theirs).abs() < 0.02 * size + 2e4, "corner {i}: {ours} against {theirs}");
    }
}

#[test]
fn a_tube_turned_by_the_words_comes_out_as_laid_out() {
    let rows = [(90.0, 0.0, 90.0), (80.0, 90.0, 45.0), (70.0, -135.0, 60.0), (80.0, 30.0, 100.0)];
    let (layout, plan) = planned(vec![testing::table_run("sample", 40.0, &rows, 90.0)]);
    for from in FromEnd::BOTH {
        let bench = Bench::from(&plan.runs[0], &layout.runs[0], from);
        same_shape(&bent_by_the_words(&bench), &laid_corners(&bench));
    }
    // The check can fail: turned the other way, the tube is a mirror image.
    let bench = Bench::from(&plan.runs[0], &layout.runs[0], FromEnd::Datum);
    let mut wrong = bent_by_the_words(&bench);
    for corner in &mut wrong {
        corner.y = -corner.y;
    }
    let caught = std::panic::catch_unwind(|| same_shape(&wrong, &laid_corners(&bench)));
    assert!(caught.is_err(), "a mirror image goes unnoticed");
}

#[test]
fn the_better_end_leads_and_the_other_follows() {
    let rows = [(90.0, 0.0, 90.0), (80.0, 90.0, 45.0)];
    let (layout, mut plan) = planned(vec![testing::table_run("sample", 40.0, &rows, 90.0)]);
    for (better, from, first) in [
        (Better::From(FromEnd::Datum), FromEnd::Datum, 1),
        (Better::From(FromEnd::Other), FromEnd::Other, 2),
        (Better::Either, FromEnd::Datum, 1),
        (Better::Neither, FromEnd::Datum, 1),
    ] {
        plan.runs[0].order.better = better;
        let bench = Bench::best(&plan.runs[0], &layout.runs[0]);
        assert_eq!(bench.bends[0].bend.number, first, "{better:?}");
        assert_eq!(bench.from, from);
        assert_eq!(bench.bends[0].made, &plan.runs[0].operations(from)[0]);
        let all = joined(&pages(&layout, &plan, "a4"));
        let big = format!("Bend from the {}", bench.end().to_uppercase());
        assert_eq!(all.contains(&big), better != Better::Neither, "{better:?}");
    }
}

#[test]
fn an_anneal_zone_is_given_from_the_end_the_work_begins_at() {
    let rows = [(90.0, 0.0, 90.0), (80.0, 90.0, 45.0)];
    let (layout, mut plan) = planned(vec![testing::table_run("sample", 40.0, &rows, 90.0)]);
    let run = &mut plan.runs[0];
    // Of 15 mm tube: bend 2 lies 90 to 121.416 mm from the other end, and is soft for an OD on either side.
    run.from_other_end[0].anneal = Some(Zone { from: 75.0, to: 136.416 });
    run.from_other_end[1].anneal = None;
    run.order.better = Better::From(FromEnd::Other);
    let all = joined(&pages(&layout, &plan, "a4"));
    assert!(all.contains("75.0 to 136.4"), "{all}");
    assert!(all.contains("anneal zones: bend 2 from 75.0 to 136.4 (mm from the other end)."), "{all}");
}

#[test]
fn cautions_stand_where_they_apply_and_nowhere_else() {
    const DEPENDING: [&str; 12] = [
        "anneal zones",
        "Flame",
        "Gas bottle",
        "Black heat",
        "Steam",
        "Pickling acid",
        "sand bursts",
        "P3 or N100",
        "Compressed air",
        "Water and electricity",
        "Dissimilar metals",
        "Trim at",
    ];
    let rows = [(90.0, 0.0, 90.0)];
    let (layout, mut plan) = planned(vec![testing::table_run("sample", 60.0, &rows, 90.0)]);
    let run = &mut plan.runs[0];
    run.from_datum_end[0].anneal = None;
    run.quality.filler = None;
    let plain = joined(&pages(&layout, &plan, "a4"));
    for word in DEPENDING {
        assert!(!plain.contains(word), "{word} on a sheet that has no use for it");
    }
    let run = &mut plan.runs[0];
    run.from_datum_end[0].anneal = Some(Zone { from: 70.0, to: 200.0 });
    run.quality.filler = Some("dry sand, tamped, both ends plugged".into());
    run.ends[0].port = Some("tank.out".into());
    run.allowance_end = 5.0;
    plan.carries = Some(Carried::Coolant);
    let all = joined(&pages(&layout, &plan, "a4"));
    for word in DEPENDING {
        assert!(all.contains(word), "{word} is missing");
    }
    // The colours are copper's: no other metal is heated by them, or quenched.
    plan.runs[0].tube.material = "aluminium".into();
    let other = joined(&pages(&layout, &plan, "a4"));
    assert!(!other.contains("dull red") && !other.contains("quench it") && other.contains("data sheet"));
}

#[test]
fn a_spec_in_inches_has_inches_beside_the_millimetres() {
    let rows = [(203.2, 0.0, 90.0)];
    let (mut layout, plan) = planned(vec![testing::table_run("sample", 63.5, &rows, 90.0)]);
    assert!(!joined(&pages(&layout, &plan, "letter")).contains("8 in"));
    layout.units = Unit::Inch;
    let all = joined(&pages(&layout, &plan, "letter"));
    assert!(all.contains("203.2") && all.contains("8 in"), "{all}");
}

#[test]
fn letters_grow_with_the_paper() {
    let (layout, plan) = planned(vec![testing::table_run("sample", 60.0, &[(90.0, 0.0, 90.0)], 90.0)]);
    let highest = |paper: &str| {
        let sheets = pages(&layout, &plan, paper);
        let run = sheets.iter().find(|sheet| sheet.name.starts_with("sample: run")).expect("the run's page");
        let heights = run.drawing.items.iter().filter_map(|item| match &item.shape {
            ItemShape::Text(text) => Some(text.height),
            _ => None,
        });
        heights.fold(0.0, f64::max)
    };
    assert!((highest("a4") - flow::BIG).abs() < 1e-9);
    assert!((highest("a3") / highest("a4") - 297.0 / 216.0).abs() < 1e-9);
    assert!((highest("148x210") - flow::BIG).abs() < 1e-9);
}

#[test]
fn many_runs_and_long_runs_flow_to_more_pages() {
    let rows: Vec<(f64, f64, f64)> = (0..50).map(|n| (60.0, f64::from(n % 7) * 40.0 - 120.0, 35.0)).collect();
    let mut runs: Vec<LaidRun> = (0..30)
        .map(|n| {
            testing::run(
                &format!("run-{n}"),
                40.0,
                &[[0.0, f64::from(n) * 30.0, 0.0], [300.0, f64::from(n) * 30.0, 0.0]],
            )
        })
        .collect();
    runs.push(testing::table_run("long", 40.0, &rows, 80.0));
    let (layout, plan) = planned(runs);
    for paper in ["a4", "148x210", "letter", "a3"] {
        let sheets = pages(&layout, &plan, paper);
        sheets.iter().for_each(is_clean);
        let long: Vec<&Sheet> = sheets.iter().filter(|s| s.name.starts_with("long: run")).collect();
        assert!(long.len() > 5, "{paper}: {}", long.len());
        let last = format!("page {0} of {0}", long.len());
        assert!(long.last().unwrap().name.ends_with(&last));
        let all = joined(&sheets);
        for made in plan.runs[30].operations(plan.runs[30].begins_at()) {
            assert!(all.contains(&numbers::tenths(made.feed.mark)), "{paper}: bend {}", made.bend);
        }
    }
}

/// A cut plan with everything that can be on one.
fn stock(runs: &[&str], length: f64) -> StockPlan {
    let cut = |(index, run): (usize, &&str)| {
        let from = index as f64 * (length / runs.len().max(1) as f64);
        Cut {
            run: (*run).to_owned(),
            from,
            to: from + 0.7 * length / runs.len().max(1) as f64,
            straighten: 0.0,
            allowance_start: 5.0,
            allowance_end: 10.0,
        }
    };
    let piece = |number: usize, leftover: bool| StockPiece {
        number,
        leftover,
        length,
        tests: Vec::new(),
        cuts: runs.iter().enumerate().map(cut).collect(),
        rest: 0.3 * length / runs.len().max(1) as f64,
    };
    StockPlan {
        tube: "EN 1057 15 x 1.0 half-hard".into(),
        od: 15.0,
        wall: 1.0,
        form: StockForm::Stick,
        new_length: length,
        kerf: 1.0,
        straighten: Straighten::Length(0.0),
        new_count: Some(1),
        pieces: vec![piece(1, true), piece(2, false)],
        new_used: 1,
        new_for_tests: 0,
        longest_rest: 0.3 * length / runs.len().max(1) as f64,
        new_lower_bound: 1,
        proven: true,
        missing: vec![MissingPiece { run: "lost".into(), length: 4000.0 }],
        missing_tests: Vec::new(),
    }
}

#[test]
fn the_cut_plan_names_every_cut_and_what_is_missing() {
    let (layout, mut plan) = planned(vec![testing::table_run("sample", 60.0, &[(90.0, 0.0, 90.0)], 90.0)]);
    plan.cut_plan.stocks = vec![stock(&["sample", "other"], 1000.0)];
    let sheets = pages(&layout, &plan, "a4");
    sheets.iter().for_each(is_clean);
    let all = joined(&sheets);
    for part in [
        "piece 1, leftover, 1000.0 mm",
        "piece 2, new, 1000.0 mm",
        "350.0",
        "850.0",
        "lost, 4000.0 mm",
        "no plan needs fewer",
        "too short to make the longest run once more",
    ] {
        assert!(all.contains(part), "{part} is missing from {all}");
    }
}

#[derive(Debug, Clone)]
struct Case {
    name: String,
    rows: Vec<(f64, f64, f64)>,
    od: f64,
    datum: f64,
    paper: &'static str,
    better: Better,
    inches: bool,
    ends: (bool, bool),
}

fn case() -> impl Strategy<Value = Case> {
    let row = (40.0..900.0f64, -180.0..180.0f64, 1.0..179.0f64);
    let rows = prop::collection::vec(row, 0..20);
    let paper = prop::sample::select(vec!["a4", "letter", "a3", "tabloid", "148x210", "160x300", "a2"]);
    let better = prop::sample::select(vec![
        Better::From(FromEnd::Datum),
        Better::From(FromEnd::Other),
        Better::Either,
        Better::Neither,
    ]);
    let name = prop::sample::select(vec![
        "r",
        "tank-to-pump",
        "Rücklauf.links_2",
        "a-very-long-name-that-goes-on-and-on-until-nobody-wants-to-read-it-any-more-and-then-a-bit",
    ]);
    (name, rows, 4.0..40.0f64, -40.0..40.0f64, paper, better, any::<bool>(), (any::<bool>(), any::<bool>()))
        .prop_map(|(name, rows, od, datum, paper, better, inches, ends)| Case {
            name: name.to_owned(),
            rows,
            od,
            datum,
            paper,
            better,
            inches,
            ends,
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    #[test]
    fn nothing_overlaps_or_leaves_the_page(case in case()) {
        let mut laid = testing::table_run(&case.name, 45.0, &case.rows, 60.0);
        laid.run.tube = testing::tube(case.od, case.od / 12.0);
        laid.run.bender.datum = case.datum;
        laid.run.bender.mark = [crate::spec::model::MarkPoint::Start, crate::spec::model::MarkPoint::Middle, crate::spec::model::MarkPoint::End][case.rows.len() % 3];
        let mut end = testing::end([0.0; 3]);
        end.port = Some(format!("{}.{}", case.name, case.name));
        end.fitting = Some(testing::fitting());
        laid.run.from = case.ends.0.then(|| end.clone());
        laid.run.to = case.ends.1.then_some(end);
        let (mut layout, mut plan) = planned(vec![laid]);
        if case.inches {
            layout.units = Unit::Inch;
        }
        layout.title = format!("{} {}", case.name, case.name);
        let run = &mut plan.runs[0];
        run.order.better = case.better;
        run.order.other_end = OrderFit { possible: false, spare: Some(-12.0), tightest_bend: Some(1) };
        run.order.reason = "from the datum end bend 3 lacks 12.0 mm of straight; from the other end it has 4.0 mm to spare".into();
        run.quality.filler = case.ends.0.then(|| "dry sand, tamped".into());
        for made in run.from_datum_end.iter_mut().chain(&mut run.from_other_end).filter(|made| made.bend > 1) {
            made.anneal = Some(Zone { from: made.arc.start, to: made.arc.end() });
        }
        plan.cut_plan.stocks = vec![stock(&[&case.name, "b"], 800.0)];
        let sheets = pages(&layout, &plan, case.paper);
        for sheet in &sheets {
            is_clean(sheet);
        }
        let all = joined(&sheets);
        let bench = Bench::best(&plan.runs[0], &layout.runs[0]);
        for bend in &bench.bends {
            prop_assert!(all.contains(&numbers::tenths(bend.made.feed.mark)));
            prop_assert!(all.contains(&numbers::degrees(bend.made.pull.angle.to_degrees())));
        }
        prop_assert!(all.contains(&numbers::tenths(plan.runs[0].cut_length)));
    }
}

#[test]
fn a_finding_of_many_bends_is_written_once_behind_the_clash() {
    let (layout, plan) = planned(vec![testing::table_run("t", 60.0, &[(80.0, 0.0, 90.0)], 80.0)]);
    let tight = |bend: usize| {
        Diagnostic::warning("tight-radius", format!("run t: the radius of bend {bend} is 38 mm"))
            .hint("make it larger")
            .run("t")
            .bend(bend)
    };
    let mut findings = Diagnostics::new();
    findings.extend((1..=6).map(tight));
    findings.push(Diagnostic::warning("clash", "run t overlaps itself").run("t"));
    let said =
        joined(&worksheet(&layout, &plan, &findings, &Paper::parse("a4").unwrap()).collect::<Vec<_>>());
    assert_eq!(said.matches("the radius of bend").count(), 1, "{said}");
    assert!(
        said.contains(
            "• run t: the radius of bend 1 is 38 mm; make it larger; the same for bends 2 to 6 of run t"
        ),
        "{said}"
    );
    assert!(said.find("overlaps itself") < said.find("the radius of bend"), "{said}");
}
