//! Jigs of runs whose numbers can be worked out by hand.

use super::*;
use crate::diagnostic::Diagnostic;
use crate::flat::{Edge, Point, path_extents};
use crate::testing::{layout, table_run};
use crate::tooling::{Engraving, Opening, Words};

/// The jig of a run of a tube of 10 mm (bends of radius 30) by its table, and what is found.
fn made(rows: &[(f64, f64, f64)], end_length: f64) -> (Option<Jig>, Vec<Diagnostic>) {
    made_with(rows, end_length, Workshop::default())
}

fn made_with(rows: &[(f64, f64, f64)], end: f64, shop: Workshop) -> (Option<Jig>, Vec<Diagnostic>) {
    let mut laid = layout(vec![table_run("a", 30.0, rows, end)], vec![]);
    laid.workshop = shop;
    let mut findings = Diagnostics::new();
    let jig = jigs(&laid, &mut findings).pop();
    (jig, findings.into_iter().collect())
}

fn duties(jig: &Jig) -> Vec<Duty> {
    jig.uprights.iter().map(|upright| upright.duty).collect()
}

fn words(jig: &Jig, part: usize) -> Vec<&Words> {
    let marks = jig.work.parts[part].marks.iter();
    marks.filter_map(|mark| if let Engraving::Words(words) = mark { Some(words) } else { None }).collect()
}

#[test]
fn a_straight_piece_has_two_cradles_a_stop_and_a_gate() {
    let (jig, findings) = made(&[], 120.0);
    let jig = jig.unwrap();
    assert!(findings.is_empty(), "{findings:?}");
    assert_eq!(duties(&jig), [Duty::Stop, Duty::Cradle, Duty::Cradle, Duty::Gate]);
    let stations: Vec<f64> = jig.uprights.iter().map(|upright| upright.station).collect();
    // The first 2 mm from the stop; the last, 6 mm thick, ends with the tube.
    let expected = [0.0, 5.0, 117.0, 120.0];
    assert!(stations.iter().zip(expected).all(|(a, b)| (a - b).abs() < 1e-9), "{stations:?}");
    // It lies level, 20 mm above the board.
    let od = table_run("a", 30.0, &[], 120.0).run.tube.od();
    assert!(jig.uprights.iter().all(|upright| (upright.at.z - 20.0 - od / 2.0).abs() < 1e-9));
}

#[test]
fn a_planar_run_lies_flat_and_shows_its_bends() {
    let (jig, findings) = made(&[(60.0, 0.0, 90.0), (70.0, 180.0, 45.0)], 80.0);
    let jig = jig.unwrap();
    assert!(findings.is_empty(), "{findings:?}");
    assert!(jig.uprights.iter().all(|upright| upright.direction.z.abs() < 1e-12));
    // The last cradle's far side is 80 mm from the second bend: there the tube leaves its 0.5 mm at
    // atan(0.53 / 80) = 0.38 degrees, 0.03 mm being what counts as a touch.
    let least = jig.senses[1].least_error.unwrap().to_degrees();
    assert!((least - (0.53_f64 / 80.0).atan().to_degrees()).abs() < 0.01, "{least}");
    assert!(jig.senses[0].least_error.unwrap().to_degrees() < least);
}

#[test]
fn a_u_turn_gets_a_guard_and_nothing_else_does() {
    let (jig, findings) = made(&[(80.0, 0.0, 180.0)], 60.0);
    let jig = jig.unwrap();
    assert!(findings.is_empty(), "{findings:?}");
    let guards: Vec<&Upright> = jig.uprights.iter().filter(|upright| upright.duty == Duty::Guard).collect();
    assert_eq!(guards.len(), 1);
    // At the middle of the bend, to a sample.
    assert!((guards[0].station - (80.0 + 15.0 * std::f64::consts::PI)).abs() < 1.0);
    assert_eq!(jig.work.parts[guards[0].part].name, "g1");
    let (jig, _) = made(&[(80.0, 0.0, 90.0)], 60.0);
    assert!(!duties(&jig.unwrap()).contains(&Duty::Guard));
}

#[test]
fn what_a_jig_cannot_do_is_said() {
    let (jig, findings) = made(&[(60.0, 0.0, 90.0)], 0.0);
    assert!(jig.is_none());
    assert_eq!(findings.len(), 1);
    assert_eq!((findings[0].code, findings[0].run.as_deref()), ("no-jig", Some("a")));
    assert!(findings[0].message.contains("begins or ends within a bend"), "{}", findings[0].message);
    // A cradle 5 mm wide of the tube feels no error of 2 degrees over 60 mm.
    let mut shop = Workshop::default();
    shop.jig.clearance = 5.0;
    let (jig, findings) = made_with(&[(60.0, 0.0, 90.0)], 60.0, shop);
    assert!(jig.is_some_and(|jig| jig.senses[0].least_error.is_none_or(|by| by > 2.0_f64.to_radians())));
    let blind: Vec<_> = findings.iter().filter(|finding| finding.code == "jig-blind").collect();
    assert_eq!(blind.iter().filter_map(|finding| finding.bend).collect::<Vec<_>>(), [1], "{findings:?}");
}

#[test]
fn tabs_are_as_deep_as_the_board_and_slots_wider_by_the_fit() {
    let (jig, _) = made(&[(60.0, 0.0, 90.0), (70.0, 60.0, 45.0)], 80.0);
    let jig = jig.unwrap();
    let mut tabs = 0;
    let mut widths = Vec::new();
    for part in &jig.work.parts[1..] {
        let extents = path_extents(&part.outline).unwrap();
        assert!((extents.min.y + 6.0).abs() < 1e-12 && part.outline.area() > 0.0);
        let level = |edge: &&Edge| edge.from().y == -6.0 && edge.to().y == -6.0;
        for edge in part.outline.edges.iter().filter(level) {
            tabs += 1;
            widths.push(edge.from().distance(edge.to()) + 0.1);
        }
    }
    let slots = &jig.work.parts[0].openings;
    assert_eq!(slots.len(), tabs);
    for (slot, width) in slots.iter().zip(widths) {
        let Opening::Slot(path) = slot else { panic!("a slot") };
        assert!((path.area() - width * 6.1).abs() < 1e-9);
    }
}

#[test]
fn every_part_bears_its_name_clear_of_its_edges() {
    let (jig, _) = made(&[(60.0, 0.0, 90.0), (40.0, 60.0, 45.0), (40.0, -100.0, 70.0)], 50.0);
    let jig = jig.unwrap();
    for (index, part) in jig.work.parts.iter().enumerate() {
        let extents = path_extents(&part.outline).unwrap();
        let on_it = words(&jig, index);
        let name = if index == 0 { "BASE a".to_owned() } else { part.name.to_uppercase() };
        assert!(on_it.iter().any(|words| words.content == name), "{name}");
        for words in on_it {
            let half = words.content.chars().count() as f64 * words.height * 0.4;
            let (sin, cos) = words.angle.sin_cos();
            for part in [-1.0, 1.0] {
                let end = Point::new(words.at.x + part * half * cos, words.at.y + part * half * sin);
                assert!(extents.grown(-0.5).has(end), "{name}: {words:?}");
            }
        }
    }
    let board: Vec<&str> = words(&jig, 0).iter().map(|words| words.content.as_str()).collect();
    for name in jig.work.parts[1..].iter().map(|part| part.name.to_uppercase()) {
        assert!(board.contains(&name.as_str()), "{name} is not on the board");
    }
    assert!(board.contains(&"DATUM END") && board.contains(&"TRIM"));
}

#[test]
fn a_run_beyond_the_limits_has_no_jig_and_is_told_why() {
    // A staircase, its steps in turn upwards and along.
    let steps = |count: usize| -> Vec<(f64, f64, f64)> {
        (0..count).map(|n| (60.0, if n == 0 { 0.0 } else { 180.0 }, 90.0)).collect()
    };
    let (jig, findings) = made(&steps(MOST_BENDS), 60.0);
    assert!(jig.is_some_and(|jig| jig.senses.len() == MOST_BENDS));
    assert!(findings.iter().all(|finding| finding.code != "jig-limit"), "{findings:?}");
    let (jig, findings) = made(&steps(MOST_BENDS + 1), 60.0);
    assert!(jig.is_none() && findings.len() == 1);
    assert_eq!((findings[0].code, findings[0].run.as_deref()), ("jig-limit", Some("a")));
    assert!(
        findings[0].message.contains("101 bends; a jig is made for 100 at most"),
        "{}",
        findings[0].message
    );
    let (jig, findings) = made(&[(60.0, 0.0, 90.0)], 50_000.0);
    assert!(jig.is_none() && findings.len() == 1);
    let said = &findings[0].message;
    assert!(said.contains("50.1 m of tube; a jig is made for 50 m at most"), "{said}");
}

#[test]
fn jigs_are_made_for_so_many_bends_in_all() {
    let laid = table_run("a", 30.0, &[(60.0, 0.0, 90.0)], 60.0);
    assert!(beyond(&laid, MOST_BENDS_IN_ALL, Unit::Millimetre).is_none());
    let why = beyond(&laid, MOST_BENDS_IN_ALL + 1, Unit::Millimetre).unwrap();
    assert_eq!((why.code, why.hint.as_deref()), ("jig-limit", Some("build it by itself: --run a")));
}

#[test]
fn when_the_effort_is_spent_no_more_cradles_are_looked_for() {
    let laid = table_run("a", 30.0, &[(60.0, 0.0, 90.0)], 60.0);
    let up = Placement { origin: Point3::new(0.0, 0.0, 40.0), axis: Vector3::unit_z(), x: Vector3::unit_x() };
    let tube = TubeInJig::new(&laid.centreline.moved(&up), 5.0);
    let effort = Effort::default();
    assert!(place::place(&tube, &Workshop::default(), &effort).is_ok_and(|placed| placed.dropped == 0));
    assert!(!effort.is_spent());
    while !effort.is_spent() {
        effort.one_more();
    }
    let placed = place::place(&tube, &Workshop::default(), &effort);
    assert_eq!(placed.err(), Some("there is room for fewer than two cradles"));
}

#[test]
fn what_a_plate_covers_is_no_distance_from_it() {
    let laid = table_run("a", 30.0, &[(60.0, 0.0, 90.0), (70.0, 60.0, 45.0)], 80.0);
    let tube = TubeInJig::new(&laid.centreline, 5.0);
    let up = pose::ups(&laid.centreline, &tube, &Workshop::default().jig, 6.0)[0];
    let to = pose::placed(&laid.centreline, &tube, up, 40.0);
    let tube = TubeInJig::new(&laid.centreline.moved(&to), 5.0);
    let placed =
        place::place(&tube, &Workshop::default(), &Effort::default()).unwrap_or_else(|why| panic!("{why}"));
    let (mut covered, mut all) = (0, 0);
    for stand in &placed.stands {
        for (u, z) in (0..1600).map(|n| (f64::from(n % 40) - 20.0, f64::from(n / 40) * 2.0 - 5.0)) {
            assert_eq!(
                stand.covers(u, z, stand.top),
                stand.flat_distance(u, z, stand.top) <= 0.0,
                "{u} {z} {stand:?}"
            );
            covered += usize::from(stand.covers(u, z, stand.top));
            all += 1;
        }
    }
    assert!(covered > all / 20 && covered < all, "{covered} of {all}");
}
