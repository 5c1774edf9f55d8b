//! `tubewright route`: ways of runs that have only ends, and one of them into the spec.

use std::fs;

use crate::run::{folder, json, stderr, tubewright};

const LOOP: &str = "\
format: 1   # two runs to find
tube: {standard: EN 1057, size: 15 x 1.0, temper: half-hard}
bender: {clr: 55, grip: 30, lead_out: 15}
fittings:
  collar: {tube_od: 15, insert: 12, straight: 8}
components:
  tank:
    box: {from: [0, 0, 0], to: [80, 60, 180]}
    ports:
      out: {at: [40, 60, 20], facing: [0, 1, 0], fitting: collar}
      in: {at: [40, 60, 150], facing: [0, 1, 0], fitting: collar}
  pump:
    cylinder: {from: [200, 250, 0], to: [200, 250, 70], diameter: 62}
    ports:
      in: {at: [200, 219, 30], facing: [0, -1, 0], fitting: collar}
      out: {at: [200, 250, 70], facing: [0, 0, 1], fitting: collar}
runs:
  supply: {from: tank.out, to: pump.in}   # found
  back:
    from: pump.out   # up
    to: tank.in
    route: {max_bends: 3}
  drain: {from: [0, 300, 20], to: [0, 500, 20], corners: []}
";

#[test]
fn ways_are_listed_in_order_and_the_best_is_built() {
    let folder = folder("loop.yaml", LOOP);
    let done = tubewright(&folder, &["route", "loop.yaml"]).code(0);
    let said = String::from_utf8_lossy(&done.get_output().stdout).into_owned();
    assert!(said.contains("back: the first way is proven best along these directions"), "{said}");
    assert!(!said.contains("drain"), "{said}");
    let report = json(&tubewright(&folder, &["route", "loop.yaml", "--format", "json"]).code(0));
    let checked = json(&tubewright(&folder, &["check", "loop.yaml", "--format", "json"]).code(0));
    for run in report["runs"].as_array().unwrap() {
        let ways = run["ways"].as_array().unwrap();
        assert!((1..=3).contains(&ways.len()), "{run}");
        let bends: Vec<usize> = ways.iter().map(|way| way["angles_deg"].as_array().unwrap().len()).collect();
        assert!(bends.is_sorted(), "{run}");
        assert!(ways.iter().all(|way| way["min_clearance_mm"].as_f64().unwrap() > 2.98), "{run}");
        // `check` and `build` take the first.
        let built = checked["specs"][0]["runs"].as_array().unwrap();
        let built = built.iter().find(|built| built["name"] == run["name"]).unwrap();
        assert_eq!(built["cut_length_mm"], ways[0]["cut_length_mm"]);
        assert_eq!(built["bends"].as_array().unwrap().len(), bends[0]);
    }
}

#[test]
fn a_way_that_is_taken_changes_nothing_else_and_is_the_same_way() {
    for text in [LOOP.to_owned(), LOOP.replace('\n', "\r\n")] {
        let folder = folder("loop.yaml", &text);
        let file = folder.path().join("loop.yaml");
        let report = json(&tubewright(&folder, &["route", "loop.yaml", "--format", "json"]).code(0));
        tubewright(&folder, &["route", "loop.yaml", "back", "--take", "1"]).code(0);
        let changed = fs::read_to_string(&file).unwrap();
        let end = if text.contains("\r\n") { "\r\n" } else { "\n" };
        let (before, after) = text.split_once("    route: {max_bends: 3}").unwrap();
        let corners = changed.strip_prefix(before).and_then(|rest| rest.strip_suffix(after)).unwrap();
        assert!(corners.starts_with(&format!("    corners:{end}      - [")), "{corners}");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1, "no file beside it is left");
        let checked = json(&tubewright(&folder, &["check", "loop.yaml", "--format", "json"]).code(0));
        let runs = checked["specs"][0]["runs"].as_array().unwrap();
        let back = runs.iter().find(|run| run["name"] == "back").unwrap();
        let way = &report["runs"][1]["ways"][0];
        assert_eq!(
            (&back["cut_length_mm"], &report["runs"][1]["name"]),
            (&way["cut_length_mm"], &"back".into())
        );
    }
}

#[test]
fn what_cannot_be_taken_is_left_as_it_is() {
    let shared = LOOP.replace("supply: {from", "supply: &s {from");
    let folder = folder("loop.yaml", &shared);
    for (arguments, code, words) in [
        (&["route", "loop.yaml", "--take", "1"][..], 2, "name one of `supply`, `back`"),
        (&["route", "loop.yaml", "suply"], 2, "the spec has no run `suply`"),
        (&["route", "loop.yaml", "drain"], 2, "has a way of its own"),
        (&["route", "loop.yaml", "back", "--take", "19"], 2, "has no way 19"),
        (&["route", "loop.yaml", "supply", "--take", "1"], 1, "shared with others"),
        (&["route", "loop.yaml", "--seconds", "0"], 2, "0.1 to 600"),
    ] {
        let said = stderr(&tubewright(&folder, arguments).code(code));
        assert!(said.contains(words), "{arguments:?}: {said}");
    }
    assert_eq!(fs::read_to_string(folder.path().join("loop.yaml")).unwrap(), shared);
}

#[test]
fn all_ways_stand_side_by_side() {
    let folder = folder("loop.yaml", LOOP);
    tubewright(&folder, &["route", "loop.yaml", "--ways", "2", "--svg", "ways.svg"]).code(0);
    let picture = fs::read_to_string(folder.path().join("ways.svg")).unwrap();
    for words in ["supply 1", "supply 2", "back 1", "bends of 90 ", "from the "] {
        assert!(picture.contains(words), "{words}");
    }
}
