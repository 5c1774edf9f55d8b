//! Findings speak in the unit of the spec: an author who thinks in inches is told inches.

use tubewright::build::{Format, Options, Project};
use tubewright::calibration::{benders, held};
use tubewright::diagnostic::{Diagnostic, Diagnostics};

const HEAD: &str = "format: 1
units: in
title: units
tube: {od: 0.25, wall: 0.035, material: copper, temper: soft}
";

/// Everything found of the spec, and of its meshes where it is sound.
fn found(spec: &str) -> Diagnostics {
    match Project::read(spec, "units.yaml") {
        Err(findings) => findings,
        Ok(project) => {
            let mut all = project.findings_of(&Options::default());
            let options = Options { formats: vec![Format::Stl], ..Options::default() };
            all.extend(project.render::<()>(&options, &|_| Ok(()), &|| {}).unwrap());
            all
        }
    }
}

fn told(finding: &Diagnostic) -> String {
    format!("{}: {}; {}", finding.code, finding.message, finding.hint.as_deref().unwrap_or_default())
}

/// Whether a number of millimetres stands in a text; but designations of tubes always show mm, and so do the
/// sentences about a key that stand in brackets and what is said of the mesh itself, which is in mm.
fn has_mm(text: &str) -> bool {
    text.match_indices(" mm").any(|(at, _)| {
        let (before, behind) = (&text[..at], &text[at..]);
        let bracketed = before.matches('(').count() > before.matches(')').count();
        let allowed =
            bracketed || behind.starts_with(" mm copper") || behind.starts_with(" mm to put it in place");
        before.ends_with(|c: char| c.is_ascii_digit()) && !allowed
    })
}

/// Of a spec that begins with the head: these words are among the findings, and no finding speaks of mm.
#[track_caller]
fn speaks_inches(body: &str, wanted: &[&str]) {
    let all: Vec<String> = found(&format!("{HEAD}{body}")).iter().map(told).collect();
    for words in wanted {
        assert!(all.iter().any(|one| one.contains(words)), "`{words}` is not in {all:#?}");
    }
    for one in &all {
        assert!(!has_mm(one), "{one}");
    }
}

#[test]
fn corners_too_near() {
    speaks_inches(
        "bender: {clr: 0.75}
runs:
  a: {from: [0, 0, 0], to: [3, 3, 0], corners: [[2, 0, 0], [2, 1, 0], [3, 1, 0]]}
",
        &["corners-too-close: run a: corners 1 and 2 are 1.000 in apart; the bends there need 1.500 in;"],
    );
}

#[test]
fn fits_and_clashes() {
    speaks_inches(
        "bender: {clr: 0.75}
fittings: {f: {tube_od: 0.252, insert: 0.5, straight: 2}, g: {tube_od: 0.26, insert: 0.4, seal: {section: 0.07, squeeze: 20}}}
components:
  c: {box: {from: [0, 0, 0], to: [1, 1, 1]}, ports: {p: {at: [1, 0.5, 0.5], facing: [1, 0, 0], fitting: f}, q: {at: [0.5, 1, 0.5], facing: [0, 1, 0], fitting: g}}}
runs:
  one: {from: c.p, to: [5, 3, 0.5], corners: [[2, 0.5, 0.5], [2, 3, 0.5]]}
  two: {from: [1.9, -1, 0.5], to: [1.9, 4, 0.5], corners: []}
  three: {from: {at: [6, 0, 0], facing: [1, 0, 0]}, to: [9, 1.4, 0.3], bends: [{length: 1, angle: 90}], end_length: 0.5}
  four: {from: c.q, to: [0.5, 5, 0.5], corners: []}
",
        &[
            "clash: run one overlaps run two by 0.2500 in, deepest at [1.9, 0.876, 0.5] in;",
            "port-straight: run one: 0.25 in of straight tube stand out of c.p; f needs 2 in; move the corner next to the port away from it by 1.75 in",
            "seal-squeeze: run one: the tube's OD is 0.25 in; f at c.p takes 0.252 in: the seal loses 0.001 in of squeeze on the radius, so a usual 0.0701 in ring",
            "port-side: run three: the tube ends 0.1500 in short of the point given for its end and 1.2855 in to the side; at most 0.0197 in off is allowed;",
        ],
    );
}

#[test]
fn what_the_bender_holds() {
    speaks_inches(
        "bender: {clr: 0.75, grip: 3, lead_out: 2, datum: 4}
runs:
  zed: {from: [0, 0, 0], to: [3, 3, 3], corners: [[3, 0, 0], [3, 3, 0]]}
  t: {bends: [{length: 1, angle: 90}, {length: 1, rotation: 90, angle: 90}], end_length: 1}
",
        &[
            "short-grip: run zed: from the datum end bend 1 has 2.250 in of straight before it, and the bender grips 3 in; from the other end bend 1 lacks 1.500 in: 1.500 in of straight before it, and the bender grips 3 in; move corner 1 at least 0.75 in further from the start, or give `allowance: {start: 0.75 in}`",
            "there are 1.500 in of straight between bends 1 and 2; the bender grips 3 in, from either end; move corners 1 and 2 apart by at least 1.5 in",
            "make `length` of bend 2 at least 3 in",
            "short-lead-out: run t: from the datum end bend 2 has 1.000 in of tube behind it, and the bender needs 2 in;",
            "make `end_length` at least 2 in, or give `allowance: {end: 1 in}`",
            "mark-off-tube: run zed: the mark of bend 1 falls 1.750 in in front of the cut tube; give `allowance: {start: 1.75 in}`",
        ],
    );
}

#[test]
fn tight_bends_and_what_the_shop_has() {
    speaks_inches(
        "bender: {clr: 0.14}
workshop: {sheet: {size: [4, 4], kerf: 0.2}, printer: {bed: [2, 2, 2]}}
runs:
  a: {bends: [{length: 3, angle: 90}, {length: 4, rotation: 30, angle: 40, clr: 5}], end_length: 3}
  b: {bends: [{length: 2, angle: 180}, {length: 2, angle: 20}], end_length: 2100}
",
        &[
            "tight-radius: run a: the radius of bend 1 is 0.14 in; the least for this tube is 0.875 in (common practice, no source: 3.5 diameters for soft and half-hard copper); its back would thin to 0.0185 in, and",
            "make `clr` at least 0.875 in; else",
            "printer-bed: form-a of form 6.35-r127 takes 3.644 x 3.284 x 0.494 in, the printer's bed is 2 x 2 x 2 in;",
            "sheet-size: part L1 of form 6.35-r127 needs a sheet of 6.462 x 4.58 in; the sheet is 4 x 4 in;",
            "wide-kerf: a cut 0.2 in wide does not go into every slot",
            "form-rim: a bend of radius 0.1392 in leaves no form inside a tube of 0.25 in;",
            "jig-limit: run b has no checking jig: it has 2104.49 in of tube; a jig is made for 1968.5 in at most;",
        ],
    );
}

#[test]
fn stock() {
    speaks_inches(
        "bender: {clr: 0.75}
stock: [{length: 10, count: 1}, {length: 60, od: 0.5, wall: 0.035}]
runs:
  long: {from: [0, 0, 0], to: [20, 0, 0], corners: []}
  b: {from: [0, 5, 0], to: [9, 5, 0], corners: []}
  c: {from: [0, 9, 0], to: [9, 9, 0], corners: []}
",
        &[
            "stock-short: there is not enough 6.35 x 0.889 mm copper soft tube: run c (9 in) lacks 9 in; 1 more new piece of 10 in would do",
            "unused-stock: no run is made of 0.5 x 0.035 in tube; delete this stock, or correct its `od` and `wall`: there is 0.25 x 0.035 in",
            "longer-than-stock: run long: its cut length of 20 in is 10 in longer than the longest piece of stock;",
        ],
    );
}

#[test]
fn test_bends() {
    speaks_inches(
        "bender: {clr: 0.75, test_bends: [{pulled: 46, got: 45}, {pulled: 92, got: 90, cut: 12, leg_a: 6.4, leg_b: 6.9, measured: centre}, {pulled: 183, got: 179.7, across: 1.75}]}
runs:
  t: {bends: [{length: 2, angle: 90}], end_length: 2}
  u: {tube: {od: 3.1, wall: 0.1}, bender: {clr: 1.6, name: other, test_bends: [{pulled: 183, got: 179.7, across: 6}]}, bends: [{length: 2, angle: 90}], end_length: 2}
  v: {bender: {clr: 1.6, name: third, test_bends: [{pulled: 183, got: 179.7, across: 9}]}, bends: [{length: 2, angle: 90}], end_length: 2}
",
        &[
            "clr-too-small: the test bends of `other` give a radius of 1.45 in, which is inside a tube of 3.1 in;",
            "bad-test-bends: the test bends of `third` give a radius of 4.375 in for a `clr` of 1.6 in;",
        ],
    );
}

#[test]
fn what_the_reader_refuses() {
    speaks_inches(
        "bender: {clr: 0.75}
stock: [{length: 0.1}, {length: 60, kerf: 61}, {length: 60, leftovers: [0.1], od: 0.25, wall: 0.2}, {length: 60, od: 0.25, wall: 0.035}, {length: 70, od: 0.25, wall: 0.035}]
workshop: {sheet: {thickness: 0.1, kerf: 0.2, slot_fit: -0.019}, dowel: 9, printer: {bed: [1, 1, 1]}}
fittings: {f: {tube_od: 0.25, insert: 0.4, seal: {section: 0.3, squeeze: 20}}}
runs:
  a: {tube: {od: 0.25, wall: 0.2}, bends: [{length: 3, angle: 90}], end_length: 3}
  b: {bender: {clr: 4000}, bends: [{length: 3, angle: 90}], end_length: 3}
  c: {tube: {od: 40, wall: 1}, bends: [{length: 3, angle: 90, clr: 60}], end_length: 3}
  d: {bends: [{length: 3, angle: 90, clr: 0.1}], end_length: 3}
  e: {tube: {standard: ASTM B88, size: 7/8, type: L}, bends: [{length: 3, angle: 90, clr: 4}], end_length: 3}
",
        &[
            "a piece of stock is 0.1 in long;",
            "a cut 61 in wide leaves nothing of a piece;",
            "a leftover is 0.1 in long; give the unit, such as 1.2 m; leave out pieces shorter than 0.394 in",
            "a wall of 0.2 in leaves no bore in a tube of 0.25 in; the wall must be less than half of 0.25 in",
            "there are two stocks of 0.25 x 0.035 in tube;",
            "`dowel` is 9 in; write a length from 0.0394 to 0.7874 in (",
            "`width` is 1 in; write a length from 1.9685 to 196.8504 in (",
            "a ring 0.3 in thick has no place around a tube of 0.25 in; `section` is the thickness of the ring itself, such as 0.0701 in",
            "a centreline radius of 4000 in is more than 100 m;",
            "an outside diameter of 40 in is more than 1 m;",
            "a centreline radius of 0.1 in is inside a tube of 0.25 in; write a `clr` of more than 0.125 in",
            "3/4 has an outside diameter of 0.875 in",
        ],
    );
}

#[test]
fn the_shop_of_sheets() {
    for (sheet, told) in [
        (
            "thickness: 0.1, kerf: 0.21",
            "a cut 0.21 in wide in a sheet of 0.1 in; `kerf` is the width of the cut, about 0.008 in for a laser;",
        ),
        (
            "thickness: 0.02, kerf: 0",
            "slots 0.019 in narrower than a sheet of 0.02 in; `slot_fit` is how much wider a slot is than the sheet, about 0.004 in, or -0.002 for a press fit;",
        ),
    ] {
        let spec = format!(
            "bender: {{clr: 0.75}}
workshop: {{sheet: {{{sheet}, slot_fit: -0.019}}}}
runs:
  a: {{bends: [{{length: 3, angle: 90}}], end_length: 3}}
"
        );
        speaks_inches(&spec, &[told]);
    }
}

#[test]
fn solids_and_meshes() {
    speaks_inches(
        "bender: {clr: 0.75}
runs:
  thin: {tube: {od: 0.012, wall: 0.000003}, bends: [{length: 0.2, angle: 90}], end_length: 0.2}
",
        &[
            "no-solid: run thin: a wall of 0.000003 in is too small for a solid; it takes at least 0.0000394 in;",
        ],
    );
    speaks_inches(
        "bender: {clr: 0.75}
runs:
  tiny: {tube: {od: 0.012, wall: 0.002}, from: {at: [39000, 0, 0], facing: [0, 1, 0]}, bends: [{length: 0.2, angle: 90, clr: 0.08}], end_length: 0.2}
  long: {tube: {od: 0.02, wall: 0.002}, bends: [{length: 1000, angle: 90}], end_length: 30000}
",
        &["the point 38999.8819, 0.1575, 0 of the spec is 0, 0, 0 in tube.stl", "the numbers of STL put its corners up to"],
    );
}

#[test]
fn what_test_bends_cannot_tell() {
    let spec = format!(
        "{HEAD}bender: {{clr: 0.75, test_bends: [{{pulled: 92, got: 90}}]}}
runs:
  a: {{bends: [{{length: 3, angle: 90}}], end_length: 3}}
"
    );
    let spec = tubewright::spec::read_partly(&spec, "units.yaml").spec;
    let benders = benders(&spec);
    let only = benders.first().unwrap();
    let said = held(only.calibration.as_ref().unwrap(), only.bender.clr, only.unit).join("\n");
    assert!(said.contains("so the radius stays 0.75 in as written"), "{said}");
}
