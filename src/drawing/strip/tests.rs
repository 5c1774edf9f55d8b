//! Strips wrapped round a tube in thought, and strips of random runs.

use std::f64::consts::{PI, TAU};

use proptest::prelude::*;

use super::model::Strip;
use super::*;
use crate::centreline::Layout;
use crate::drawing::extents::shape_extents;
use crate::drawing::item::{ItemShape, Line};
use crate::drawing::sheet::{MARGIN, Paper, PrintSetup};
use crate::drawing::strip::strip_sheets;
use crate::drawing::template::plane::tests::laid;
use crate::fit;
use crate::plan::{Better, FromEnd, Operation, Zone};

/// The plan of a run (length, rotation °, angle °, radius), with some springback made up.
pub(crate) fn planned(rows: &[(f64, f64, f64, f64)], end: f64) -> Plan {
    let layout = Layout {
        name: "x".into(),
        file_name: "x.yaml".into(),
        title: "Sample".into(),
        units: crate::quantity::Unit::Millimetre,
        carries: None,
        stock: Vec::new(),
        workshop: Default::default(),
        uncertainty: Default::default(),
        components: Vec::new(),
        runs: vec![laid("sample", rows, end)],
    };
    let (mut plan, _) = crate::plan::plan(&layout, &fit::check(&layout).0);
    let angles: Vec<f64> = plan.runs[0].bends.iter().map(|bend| bend.angle).collect();
    for made in operations(&mut plan) {
        made.pull.angle = angles[made.bend - 1] + 2.3f64.to_radians();
        made.anneal = Some(Zone { from: made.arc.start - 5.0, to: made.arc.end() + 5.0 });
    }
    plan
}

/// All operations of the first run, from both ends.
fn operations(plan: &mut Plan) -> impl Iterator<Item = &mut Operation> {
    let run = &mut plan.runs[0];
    run.from_datum_end.iter_mut().chain(&mut run.from_other_end)
}

fn lines(drawing: &Drawing, role: Role) -> Vec<Line> {
    let of = drawing.items.iter().filter(|item| item.role == role);
    of.filter_map(|item| if let ItemShape::Line(line) = item.shape { Some(line) } else { None }).collect()
}

const ROWS: [(f64, f64, f64, f64); 3] =
    [(80.0, 0.0, 90.0, 55.0), (60.0, 90.0, 45.0, 55.0), (70.0, -135.0, 30.0, 55.0)];

#[test]
fn marks_lie_where_the_plan_says() {
    let plan = planned(&ROWS, 70.0);
    let run = &plan.runs[0];
    let strip = Strip::new(run, 0.1).expect("bends");
    // Worked by hand: π·15.1.
    assert!((strip.height - 47.438).abs() < 5e-4);
    let figure = StripFigure::new(&strip, false);
    let at = |role: Role| -> Vec<f64> {
        lines(&figure.drawing, role).iter().filter(|l| l.from.x == l.to.x).map(|l| l.from.x).collect()
    };
    let of = |pick: fn(&Operation) -> f64| -> Vec<f64> { run.from_datum_end.iter().map(pick).collect() };
    assert_eq!(at(Role::ToolMark), of(|made| made.feed.mark));
    assert_eq!(at(Role::Middle), of(|made| made.arc.middle()));
    let starts_and_ends: Vec<f64> =
        run.from_datum_end.iter().flat_map(|made| [made.arc.start, made.arc.end()]).collect();
    assert_eq!(at(Role::Tangent), starts_and_ends);
    // The datum end's 10 mm of waste; 12 mm of the finished tube go into the port.
    assert_eq!(at(Role::Trim), [10.0]);
    assert_eq!(at(Role::Component), [22.0]);
    let anneal: Vec<f64> = run
        .from_datum_end
        .iter()
        .filter_map(|made| made.anneal)
        .flat_map(|zone| [zone.from, zone.to])
        .collect();
    assert_eq!(at(Role::Anneal), anneal);
}

#[test]
fn the_strip_wrapped_round_the_tube_shows_the_insides_of_the_bends() {
    let run = laid("sample", &ROWS, 70.0);
    let plan = planned(&ROWS, 70.0);
    let strip = Strip::new(&plan.runs[0], 0.0).expect("bends");
    let drawing = StripFigure::new(&strip, false).drawing;
    // The tube's axis is x, away from the datum end. Going up the paper by an arc turns the outward
    // direction (y, z) by that arc from z towards -y or y; only one of the two has the printed side, from
    // which x is to the right and up is up, outside.
    let point = |x: f64, y: f64, sense: f64| {
        let turned = sense * y / 7.5;
        [x, 7.5 * turned.sin(), 7.5 * turned.cos()]
    };
    let printed_side_out = |sense: f64| {
        let (at, up) = (point(0.0, 0.3, sense), point(0.0, 0.3 + 1e-6, sense));
        let up = [0.0, up[1] - at[1], up[2] - at[2]];
        // x × up, against the outward direction.
        let normal = [0.0, -up[2], up[1]];
        normal[1] * at[1] + normal[2] * at[2] > 0.0
    };
    let sense = if printed_side_out(1.0) { 1.0 } else { -1.0 };
    assert!(printed_side_out(sense) && !printed_side_out(-sense));
    let zero = strip.at_clock(0.0) / 7.5 * sense;
    // On the straight tube, the insides of the bends lie where undoing each bend in turn leaves them: each is
    // turned from the one before about the direction of travel, by the angle between their planes.
    let bends = run.centreline.bends();
    let mut turned = 0.0;
    for (index, bend) in bends.iter().enumerate() {
        if let Some(before) = index.checked_sub(1).and_then(|i| bends.get(i)) {
            use crate::geometry::InnerSpace;
            // Right-handed about the direction of travel, from the plane of the bend before to this one's.
            let d = bend.direction_in;
            turned += before.axis.cross(bend.axis).dot(d).atan2(before.axis.dot(bend.axis));
        }
        let line = lines(&drawing, Role::Inside)[index];
        assert!((line.to.x - plan.runs[0].from_datum_end[index].arc.end()).abs() < 1e-9);
        let around = line.from.y / 7.5 * sense - zero;
        // (sin, cos) is (y, z): from z to y is left-handed about x.
        let off = (-around - turned).rem_euclid(TAU);
        assert!(off.min(TAU - off) < 1e-6, "bend {}: {off}", bend.number);
    }
    assert!((turned.to_degrees() + 45.0).abs() < 1e-6, "90° one way, 135° back");
    let down = strip.at_clock(0.0) - strip.at_clock(30f64.to_radians());
    assert!((down - 30.0 / 360.0 * PI * 15.0).abs() < 1e-9, "clockwise goes down the strip");
}

#[test]
fn a_strip_for_the_other_end_begins_there() {
    let mut plan = planned(&ROWS, 70.0);
    plan.runs[0].order.better = Better::From(FromEnd::Other);
    let strip = Strip::new(&plan.runs[0], 0.1).expect("bends");
    assert_eq!(strip.bends.iter().map(StripBend::number).collect::<Vec<_>>(), [3, 2, 1]);
    let length = plan.runs[0].cut_length;
    let first = &plan.runs[0].from_datum_end[0];
    let last = strip.bends[2].made;
    assert!((last.arc.end() - (length - first.arc.start)).abs() < 1e-9);
    let zone = last.anneal.expect("annealed");
    assert!((zone.from - (last.arc.start - 5.0)).abs() < 1e-9);
    assert!((zone.to - (last.arc.end() + 5.0)).abs() < 1e-9);
    let cuts = strip.cuts();
    assert!(cuts.contains(&(length - 10.0, true)) && cuts.contains(&(length - 22.0, false)));
    let texts = words(&strip_drawing(&plan, &plan.runs[0], 0.1).expect("a strip"));
    assert!(texts.iter().any(|t| t == "OTHER END") && texts.iter().any(|t| t.contains("from the other end")));
}

#[test]
fn a_straight_run_has_a_strip_only_for_something_to_mark() {
    let mut plan = planned(&[], 200.0);
    assert!(strip_drawing(&plan, &plan.runs[0], 0.1).is_some(), "waste and insertion at the datum end");
    plan.runs[0].allowance_start = 0.0;
    plan.runs[0].ends[0].insert = 0.0;
    assert!(strip_drawing(&plan, &plan.runs[0], 0.1).is_none());
    assert!(strip_sheets(&plan, &PrintSetup::default()).expect("none").sheets.is_empty());
}

#[test]
fn paper_is_taken_off_before_the_torch() {
    let mut plan = planned(&ROWS, 70.0);
    let warned = |plan: &Plan| {
        let sheets = strip_sheets(plan, &PrintSetup::default()).expect("fits").sheets;
        let untiled = strip_drawing(plan, &plan.runs[0], 0.1).expect("a strip");
        let all = sheets.iter().map(|sheet| &sheet.drawing).chain([&untiled]);
        all.map(|drawing| words(drawing).join(" ").contains("Paper burns")).collect::<Vec<_>>()
    };
    assert!(warned(&plan).iter().all(|&told| told));
    operations(&mut plan).for_each(|made| made.anneal = None);
    assert!(!warned(&plan).contains(&true));
}

#[test]
fn a_mark_off_the_tube_is_told() {
    let mut plan = planned(&ROWS, 70.0);
    plan.runs[0].from_datum_end[0].feed.mark = -4.0;
    let texts = words(&strip_drawing(&plan, &plan.runs[0], 0.1).expect("a strip"));
    assert!(texts.iter().any(|t| t.contains("its mark lies 4.0 before the tube's end")), "{texts:?}");
}

#[test]
fn endless_strips_are_an_error_and_what_is_too_large_is_told() {
    let plan = planned(&ROWS, 5e8);
    let fault = strip_sheets(&plan, &PrintSetup::default()).expect_err("too long");
    assert_eq!(fault.code, "too-many-sheets");
    let mut plan = planned(&ROWS, 70.0);
    plan.runs[0].tube.od = 108.0;
    let fault = strip_sheets(&plan, &PrintSetup::default()).expect_err("too high");
    assert_eq!(fault.code, "strip-too-high");
    let long = "a-name-that-goes-on-".repeat(20);
    let mut named = planned(&ROWS, 200.0);
    named.runs[0].name.clone_from(&long);
    let texts: Vec<String> = strip_sheets(&named, &PrintSetup::default())
        .expect("fits")
        .sheets
        .iter()
        .flat_map(|s| words(&s.drawing))
        .collect();
    assert!(
        texts.iter().any(|t| t.ends_with("…: piece B of 4") || t.ends_with("…: piece B of 3")),
        "{texts:?}"
    );
}

#[test]
fn runs_whose_strip_is_too_high_are_named() {
    let mut plan = planned(&ROWS, 70.0);
    let mut wide = planned(&ROWS, 70.0).runs;
    wide[0].name = "wide".to_owned();
    wide[0].tube.od = 108.0;
    plan.runs.append(&mut wide);
    let strips = strip_sheets(&plan, &PrintSetup::default()).expect("one fits");
    let told = strips.sheets.iter().flat_map(|sheet| words(&sheet.drawing));
    assert_eq!(told.filter(|words| words.contains("too high for this paper")).count(), 1);
    let warning = strips.too_high.expect("a warning");
    assert_eq!(warning.code, "strip-too-high");
    assert!(warning.message.ends_with("too high for a4 paper with their words: wide"), "{}", warning.message);
    let hint = warning.hint.expect("a hint");
    assert!(hint.contains("--paper a2") && hint.contains("runs/<run>/strip.svg"), "{hint}");
    // The smallest that takes it.
    for (paper, takes) in [("a3", false), ("a2", true)] {
        let setup = PrintSetup { paper: Paper::parse(paper).expect("is paper"), ..PrintSetup::default() };
        assert_eq!(strip_sheets(&plan, &setup).expect("one fits").too_high.is_none(), takes, "{paper}");
    }
    plan.runs.truncate(1);
    assert!(strip_sheets(&plan, &PrintSetup::default()).expect("fits").too_high.is_none());
}

fn words(drawing: &Drawing) -> Vec<String> {
    let of = drawing.items.iter();
    of.filter_map(|item| if let ItemShape::Text(t) = &item.shape { Some(t.content.clone()) } else { None })
        .collect()
}

fn boxes(drawing: &Drawing) -> Vec<(String, Rect)> {
    let of = drawing.items.iter();
    of.filter_map(|item| match &item.shape {
        ItemShape::Text(t) => Some((t.content.clone(), shape_extents(&item.shape, item.role)?)),
        _ => None,
    })
    .collect()
}

/// The stretch that each piece of a strip shows: "from … to …" over each of them, mm.
fn shown(sheets: &[crate::drawing::sheet::Sheet]) -> Vec<(f64, f64)> {
    let all = sheets.iter().flat_map(|sheet| words(&sheet.drawing));
    all.filter_map(|line| {
        let (from, rest) = line.split_once(" to ")?;
        let (to, _) = rest.split_once(" from the datum end.")?;
        Some((from.parse().ok()?, to.parse().ok()?))
    })
    .collect()
}

#[test]
fn a_short_run_of_small_tube_with_many_bends_is_drawn() {
    // Upright the sheet is too narrow: a joint must find its place between bends all over the tube.
    let rows =
        [(12.0, 0.0, 90.0, 15.0), (12.0, 0.0, 90.0, 15.0), (12.0, 90.0, 90.0, 15.0), (12.0, 0.0, 90.0, 15.0)];
    let mut plan = planned(&rows, 12.0);
    plan.runs[0].tube.od = 6.0;
    let sheets = strip_sheets(&plan, &PrintSetup::default()).expect("fits").sheets;
    let texts = words(&sheets[0].drawing);
    for bend in ["bend 1:", "bend 2:", "bend 3:", "bend 4:"] {
        assert!(texts.iter().any(|t| t.starts_with(bend)), "{bend} {texts:?}");
    }
    assert!(sheets.len() == 1 && !texts.iter().any(|t| t.contains("found no room")), "{texts:?}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn every_piece_shows_tube(
        bends in 1..9_usize,
        straight in 4.0..20.0_f64,
        end in 4.0..60.0_f64,
        clr in 8.0..25.0_f64,
        paper in prop::sample::select(vec!["a4", "letter", "148x210", "200x330"]),
    ) {
        let rows: Vec<_> = (0..bends).map(|_| (straight, 90.0, 90.0, clr)).collect();
        let mut plan = planned(&rows, end);
        plan.runs[0].tube.od = 6.0;
        let setup = PrintSetup { paper: Paper::parse(paper).unwrap(), ..PrintSetup::default() };
        let strips = strip_sheets(&plan, &setup);
        prop_assert!(strips.as_ref().err().is_none_or(|fault| fault.code == "strip-too-high"));
        let pieces = strips.map_or_else(|_| Vec::new(), |strips| shown(&strips.sheets));
        prop_assert!(pieces.iter().all(|&(from, to)| to - from > 20.0), "{pieces:?}");
    }

    #[test]
    fn on_sheets_every_bend_is_named_once_and_no_words_meet(
        rows in prop::collection::vec((0.3..220.0_f64, -180.0..180.0_f64, 2.0..170.0_f64, 20.0..90.0_f64), 1..9),
        end in 1.0..300.0_f64,
        od in 3.0..30.0_f64,
        paper in prop::sample::select(vec!["a4", "letter", "a3", "148x210", "330x330"]),
        other_end in any::<bool>(),
    ) {
        let mut plan = planned(&rows, end);
        plan.runs[0].tube.od = od;
        if other_end {
            plan.runs[0].order.better = Better::From(FromEnd::Other);
        }
        let setup = PrintSetup { paper: Paper::parse(paper).unwrap(), ..PrintSetup::default() };
        let sheets = match strip_sheets(&plan, &setup) {
            Ok(strips) => strips.sheets,
            Err(fault) => {
                let small = od < 5.0 && off_the_tube(&Strip::new(&plan.runs[0], 0.1).unwrap()).is_empty();
                prop_assert!(!(small && paper == "148x210" && fault.code == "strip-too-high"), "A5 takes small tubes");
                return Ok(());
            }
        };
        let mut named = Vec::new();
        for sheet in &sheets {
            let printable = Rect::new(
                Point::new(MARGIN, MARGIN),
                Point::new(sheet.width - MARGIN, sheet.height - MARGIN),
            )
            .grown(1e-6);
            for item in &sheet.drawing.items {
                let Some(bounds) = shape_extents(&item.shape, item.role) else { continue };
                // Only an accent's room may stick out, by what no print shows.
                prop_assert!(printable.grown(0.3).holds(&bounds), "{:?} at {bounds:?}", item.shape);
            }
            let all = boxes(&sheet.drawing);
            for (index, (words, bounds)) in all.iter().enumerate() {
                for (others, other) in all.iter().skip(index + 1) {
                    prop_assert!(!bounds.grown(-0.3).overlaps(&other.grown(-0.3)), "{words} and {others}");
                }
                named.extend(words.strip_prefix("bend ").and_then(|w| w.split([':', ' ']).next()).map(|n| (n.to_owned(), words.clone())));
            }
        }
        let short = sheets.iter().any(|s| words(&s.drawing).iter().any(|t| t.contains("found no room")));
        if short {
            return Ok(());
        }
        for bend in &plan.runs[0].bends {
            let set: Vec<&(String, String)> = named
                .iter()
                .filter(|(n, w)| *n == bend.number.to_string() && (w.contains(": set this line") || w.contains("MARK")))
                .collect();
            let from = if other_end { FromEnd::Other } else { FromEnd::Datum };
            let made = plan.runs[0].operations(from).iter().find(|made| made.bend == bend.number).unwrap();
            let there = made.feed.mark >= 0.0 && made.feed.mark <= plan.runs[0].cut_length;
            prop_assert_eq!(set.len(), usize::from(there), "{:?}", set);
        }
    }
}
