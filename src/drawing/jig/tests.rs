//! The pages of jigs of several shapes: nothing off the page, no words over words, every part named.

use super::*;
use crate::drawing::page::fixture::clean_words;
use crate::drawing::page::flow::FINE;
use crate::fit::check;
use crate::plan::plan;
use crate::testing;
use crate::tooling::tooling;

/// A run in a plane, one in space, a straight one.
fn jigs() -> (Layout, Vec<Jig>) {
    let runs = vec![
        testing::table_run("flat", 40.0, &[(80.0, 0.0, 90.0), (90.0, 180.0, 45.0)], 90.0),
        testing::table_run(
            "steep",
            40.0,
            &[(80.0, 0.0, 90.0), (90.0, 90.0, 60.0), (70.0, -60.0, 90.0)],
            90.0,
        ),
        testing::table_run("straight", 40.0, &[], 200.0),
    ];
    let layout = testing::layout(runs, vec![]);
    let (plan, _) = plan(&layout, &check(&layout).0);
    let jigs = tooling(&layout, &plan).0.jigs;
    (layout, jigs)
}

#[test]
fn pages_are_clean_and_name_every_part() {
    let (layout, jigs) = jigs();
    assert_eq!(jigs.len(), 3);
    for paper in ["a4", "a3", "letter", "148x210"] {
        let paper = Paper::parse(paper).unwrap();
        for jig in &jigs {
            let sheets = sheets(jig, &layout, &paper);
            // A5 is a page for wider paper, reduced.
            let words =
                sheets.iter().flat_map(|sheet| clean_words(sheet, 0.95 * FINE)).collect::<Vec<_>>().join(" ");
            for part in &jig.work.parts {
                assert!(words.contains(&part.name.to_uppercase()), "{}: {}", jig.run, part.name);
            }
            let most = if paper.width() < 200.0 { 5 } else { 3 };
            assert!(sheets.len() <= most, "{}: {} pages of {}", jig.run, sheets.len(), paper.name());
        }
    }
}

#[test]
fn the_jig_of_a_long_run_is_drawn_within_a_small_page() {
    let bends = [(1200.0, 0.0, 45.0), (2000.0, 90.0, 30.0), (1500.0, 90.0, 60.0)];
    let layout = testing::layout(vec![testing::table_run("long", 400.0, &bends, 1300.0)], vec![]);
    let (plan, _) = plan(&layout, &check(&layout).0);
    let jigs = tooling(&layout, &plan).0.jigs;
    let sheets = sheets(&jigs[0], &layout, &Paper::parse("148x210").unwrap());
    let words: Vec<String> = sheets.iter().flat_map(|sheet| clean_words(sheet, 0.95 * FINE)).collect();
    let scale =
        words.iter().filter_map(|words| words.strip_prefix("Scale 1 : ")?.split_once(". ")?.0.parse().ok());
    assert!(scale.clone().any(|by: f64| by > 50.0), "{words:?}");
}
