//! Whole specs through the reader.

use super::model::{
    Anneal, FormOptions, Hardening, MarkPoint, RunPath, Seal, Shape, SheetStock, StockForm, Strap, Temper,
    Workshop,
};
use super::{STARTER, read, read_partly};

/// One spec that uses every part of the format.
const EVERYTHING: &str = r#"
format: 1
title: Reading-room loop
units: mm            # unit of bare numbers: mm | cm | in. Any length may carry its own unit.

tube:                # from a standard …
  standard: EN 1057  # EN 1057 | ASTM B88 | ASTM B88M | ASTM B280
  size: 15 x 1.0     # EN 1057: OD x wall.  ASTM B88: size: 1/2 with type: K | L | M
  temper: half-hard  # soft | half-hard | hard
  modulus: 117       # GPa
  yield_strength: 250            # MPa
  elongation: 12                 # %
  hardening: {strength: 450, exponent: 0.1}

anneal: never

bender:
  name: bench bender
  clr: 55            # centreline radius it forms
  grip: 30           # straight it must hold before the start of a bend
  lead_out: 15       # straight it needs after the end of a bend
  mark: start        # which point of the bend its reference line meets: start | middle | end
  datum: 0           # signed distance from the reference line to the real start of bend
  max_angle: 180
  lever: 300
  test_bends:        # optional; replace the predicted springback, radius and stretch
    - {pulled: 45, got: 43.9}
    - {pulled: 90, got: 88.2, cut: 300, leg_a: 161.0, leg_b: 158.6, measured: outside}

stock:
  - {length: 3 m, kerf: 1.2, count: 2, leftovers: [820, 1.2 m]}
  - {length: 25 m, count: 0, form: coil, od: 12, wall: 1}

workshop:
  sheet: {thickness: 1/4 in, size: [1.2 m, 600], spacing: 4, kerf: 0.15, slot_fit: -0.05}
  printer: {bed: [180, 181, 18.2 cm], hole_fit: 0.3}
  dowel: 4
  bolt_hole: 5.5
  form: {clearance: 0.15, depth: 0.45, over_bend: 5, strap: {width: 10, thickness: 2}}
  jig: {clearance: 0.4, lift: 25, gate: 0.8}

fittings:
  collar-15: {tube_od: 15, insert: 12, straight: 8, max_angle: 1, max_side: 0.5, seal: {section: 1.78, squeeze: 20}}

components:          # what the tube must reach and must miss
  tank:
    box: {from: [0, 0, 0], to: [80, 60, 180]}
    ports:
      out: {at: [40, 60, 20], facing: [0, 1, 0], fitting: collar-15}
  pump:
    cylinder: {from: [200, 250, 0], to: [200, 250, 70], diameter: 62}
    ports:
      in: {at: [200, 219, 30], facing: [0, -1, 0], fitting: collar-15}

runs:
  tank-to-pump:      # exactly one of corners, bends, route
    from: tank.out
    to: pump.in
    corners: [[40, 140, 20], [200, 140, 30]]
  sample:
    bends:           # a bend table in the trade's order: length, rotation, angle
      - {length: 80, rotation: 0, angle: 90}
      - {length: 60, rotation: 90, angle: 45, clr: 40}
    end_length: 70
    anneal: always
    tube: {od: 12, wall: 1, temper: soft}
  auto-run:
    from: tank.out
    to: pump.in
    route: {max_bends: 3, angles: [45, 90], clearance: 5}
    allowance: {start: 10, end: 10}   # extra tube to trim away after fitting
"#;

/// `code line:column message` of each finding.
fn findings(text: &str) -> Vec<String> {
    read_partly(text, "test.yaml")
        .findings
        .iter()
        .map(|d| {
            let place = d.place.map_or("-".to_owned(), |p| format!("{}:{}", p.line, p.column));
            format!("{} {place} {}", d.code, d.message)
        })
        .collect()
}

#[test]
fn every_part_of_the_format_is_read() {
    let (spec, warnings) = read(EVERYTHING, "specs/reading-room.yaml").expect("sound");
    assert_eq!((spec.name(), spec.file_name()), ("reading-room", "reading-room.yaml"));
    assert_eq!(spec.title(), "Reading-room loop");
    let codes: Vec<_> = warnings.iter().map(|w| (w.code, w.run.as_deref())).collect();
    assert_eq!(codes, [("tests-of-another-tube", Some("sample"))]);

    let [run, sample, auto] = spec.runs() else { panic!("three runs") };
    assert_eq!(run.tube.designation(), "EN 1057 15 x 1.0 half-hard");
    assert_eq!((run.tube.od(), run.tube.wall(), run.tube.temper()), (15.0, 1.0, Temper::HalfHard));
    let bender = &run.bender;
    assert_eq!((bender.clr, bender.grip, bender.lead_out, bender.mark), (55.0, 30.0, 15.0, MarkPoint::Start));
    assert_eq!(bender.lever, Some(300.0));
    assert_eq!(bender.test_bends.len(), 2);
    assert_eq!(bender.test_bends[1].leg_b, Some(158.6));
    let (from, to) = (run.from.as_ref().expect("from"), run.to.as_ref().expect("to"));
    assert_eq!([from.face.y, from.at.y], [60.0, 48.0], "the tube ends the insertion deeper");
    assert_eq!([to.face.y, to.at.y], [219.0, 231.0]);
    assert_eq!(from.port.as_deref(), Some("tank.out"));
    let RunPath::Corners(corners) = &run.path else { panic!("corners") };
    assert_eq!(corners[1].at.z, 30.0);
    assert_eq!((corners[0].clr, corners[0].place.line), (None, 59));

    let RunPath::Bends { rows, end_length } = &sample.path else { panic!("bends") };
    assert_eq!((rows[0].clr, rows[1].clr.map(|own| own.mm), *end_length), (None, Some(40.0), 70.0));
    assert_eq!(rows[1].rotation, 90f64.to_radians());
    assert!(matches!(&auto.path, RunPath::Route(r) if r.max_bends == 3 && r.angles.len() == 2));
    assert_eq!((auto.allowance_start, auto.allowance_end), (10.0, 10.0));
    assert!(
        matches!(spec.components()[0].shapes.as_slice(), [Shape::Box { size, place }] if place.origin.z + size.z == 180.0)
    );

    let [sticks, coil] = spec.stock() else { panic!("two stocks") };
    assert_eq!((sticks.length, sticks.kerf, sticks.count, sticks.section), (3000.0, 1.2, Some(2), None));
    assert_eq!((sticks.form, &sticks.leftovers[..]), (StockForm::Stick, &[820.0, 1200.0][..]));
    assert_eq!((coil.form, coil.count, coil.section), (StockForm::Coil, Some(0), Some((12.0, 1.0))));
    let metal = run.tube.metal();
    assert_eq!(
        (metal.modulus, metal.yield_strength, metal.elongation),
        (Some(117e3), Some(250.0), Some(0.12))
    );
    assert_eq!(metal.hardening, Some(Hardening { strength: 450.0, exponent: 0.1 }));
    assert_eq!([run.anneal, sample.anneal, auto.anneal], [Anneal::Never, Anneal::Always, Anneal::Never]);
    let seal = from.fitting.as_ref().and_then(|fitting| fitting.seal);
    assert_eq!(seal, Some(Seal { section: 1.78, squeeze: 0.2 }));

    let shop = spec.workshop();
    let sheet = &shop.sheet;
    assert_eq!((sheet.thickness, sheet.width, sheet.height), (6.35, 1200.0, 600.0));
    assert_eq!((sheet.spacing, sheet.kerf, sheet.slot_fit), (4.0, 0.15, -0.05));
    assert_eq!((shop.printer.bed, shop.printer.hole_fit), ([180.0, 181.0, 182.0], 0.3));
    assert_eq!((shop.dowel, shop.bolt_hole), (Some(4.0), Some(5.5)));
    let form = &shop.form;
    assert_eq!((form.clearance, form.depth, form.over_bend), (0.15, 0.45, 5f64.to_radians()));
    assert_eq!(form.strap, Some(Strap { width: 10.0, thickness: 2.0 }));
    assert_eq!((shop.jig.clearance, shop.jig.lift, shop.jig.gate), (0.4, 25.0, 0.8));
}

#[test]
fn what_a_workshop_leaves_out_is_as_usual() {
    let shop = |keys: &str| {
        let text = format!(
            "format: 1\n{keys}\ntube: {{od: 15, wall: 1, material: copper, temper: soft}}\nbender: {{clr: 55}}\n\
             runs: {{a: {{bends: [], end_length: 90}}}}\n"
        );
        let shop = *read(&text, "x.yaml").expect("sound").0.workshop();
        assert_eq!(shop.place.map(|place| place.line), (!keys.is_empty()).then_some(2));
        Workshop { place: None, ..shop }
    };
    let usual = Workshop::default();
    assert_eq!(shop(""), usual);
    assert_eq!(shop("workshop: {}"), usual);
    assert_eq!(shop("workshop: {sheet: {}, printer: {}, form: {}, jig: {}}"), usual);
    let sheet = SheetStock { kerf: 0.0, ..usual.sheet };
    assert_eq!(shop("workshop: {sheet: {kerf: 0}}"), Workshop { sheet, ..usual });
    let form = FormOptions { strap: None, ..usual.form };
    assert_eq!(shop("workshop: {form: {strap: none}}"), Workshop { form, ..usual });
}

#[test]
fn the_starter_reads_without_a_finding() {
    let (spec, findings) = read(STARTER, "starter.yaml").expect("sound");
    assert!(findings.is_empty(), "{findings:?}");
    assert_eq!((spec.runs().len(), spec.components().len()), (2, 2));
}

#[test]
fn inches_and_named_types() {
    let text = r#"
format: 1
units: in
tube: {standard: ASTM B88, size: 1/2, type: K, temper: hard}
bender: {clr: 1-1/2}
runs:
  arm: {from: [0, 0, 0], to: [-10 cm, 5, 0], corners: [[0, 5, 0]]}
"#;
    let (spec, _) = read(text, "arm.yaml").expect("sound");
    let run = &spec.runs()[0];
    assert_eq!(run.tube.designation(), "ASTM B88 type K 1/2 (15.875 x 1.245 mm) hard");
    assert!((run.bender.clr - 38.1).abs() < 1e-12);
    let end = run.to.as_ref().expect("to").at;
    assert_eq!((end.x, end.y), (-100.0, 127.0));
}

#[test]
fn anchors_aliases_and_merge_keys() {
    let text = r#"
format: 1
x-shared:
  small: &small {standard: EN 1057, size: 8 x 1.0, temper: soft}
tube: *small
bender: &bender {name: hand, clr: 35, grip: 20, test_bends: [{pulled: 90, got: 88}]}
runs:
  a: &a {from: [0, 0, 0], to: [100, 100, 0], corners: [[100, 0, 0]]}
  b: {<<: *a, bender: {<<: *bender, clr: 40}}
  c: {<<: *a, bender: {grip: 25}}
  d: {<<: *a, tube: {temper: hard}, bender: {name: other}}
  e: {<<: *a, tube: {od: 6, wall: 1, material: brass, temper: hard}}
"#;
    let (spec, _) = read(text, "x.yaml").expect("sound");
    let [a, b, c, d, e] = spec.runs() else { panic!("five runs") };
    assert_eq!(a.tube.od(), 8.0);
    assert_eq!((b.bender.clr, b.bender.grip, b.bender.test_bends.len()), (40.0, 20.0, 1), "merged by YAML");
    assert_eq!((c.bender.clr, c.bender.grip, c.bender.test_bends.len()), (35.0, 25.0, 1), "laid over");
    assert_eq!((d.bender.clr, d.bender.test_bends.len()), (35.0, 0), "test bends stay with their bender");
    assert_eq!((d.tube.od(), d.tube.temper()), (8.0, Temper::Hard));
    assert_eq!((e.tube.od(), e.tube.density()), (6.0, Some(8440.0)));
}

#[test]
fn a_runs_own_section_keeps_the_metal_of_the_specs_tube() {
    let own = |base: &str, own: &str| {
        let text = format!(
            "format: 1\ntube: {base}\nbender: {{clr: 55}}\nruns: {{a: {{tube: {own}, bends: [], end_length: 9}}}}\n"
        );
        let tube = read(&text, "x.yaml").expect("sound").0.runs()[0].tube.clone();
        (tube.designation().to_owned(), tube.density())
    };
    let standard = "{standard: ASTM B88, size: 1/2, type: K, temper: hard}";
    assert_eq!(own(standard, "{od: 12, wall: 1}"), ("12 x 1 mm copper hard".to_owned(), Some(8940.0)));
    assert_eq!(
        own(standard, "{od: 12, wall: 1, material: steel, temper: soft}"),
        ("12 x 1 mm steel soft".to_owned(), Some(7850.0))
    );
    assert_eq!(own(standard, "{standard: EN 1057, size: 15 x 1}").0, "EN 1057 15 x 1.0 hard");
    let outright = "{od: 16, wall: 1.5, material: titanium, density: 4506, temper: hard}";
    assert_eq!(own(outright, "{od: 12, wall: 1}"), ("12 x 1 mm titanium hard".to_owned(), Some(4506.0)));
    assert_eq!(
        own(outright, "{od: 12, wall: 1, material: brass}"),
        ("12 x 1 mm brass hard".to_owned(), Some(8440.0)),
        "the density belongs to the metal that was replaced"
    );
    assert_eq!(own(outright, "{standard: EN 1057, size: 15 x 1}").0, "EN 1057 15 x 1.0 hard");
}

#[test]
fn what_is_said_of_a_metal_stays_with_it() {
    let own = |own: &str| {
        let text = format!(
            "format: 1\ntube: {{od: 16, wall: 1.5, material: brass, temper: hard, density: 8500, modulus: 105, \
             yield_strength: 400, elongation: 9, hardening: {{strength: 700, exponent: 0.1}}}}\n\
             bender: {{clr: 55}}\nruns: {{a: {{tube: {own}, bends: [], end_length: 9}}}}\n"
        );
        let tube = read(&text, "x.yaml").expect("sound").0.runs()[0].tube.clone();
        let metal = *tube.metal();
        let of_temper = [metal.yield_strength, metal.elongation, metal.hardening.map(|law| law.strength)];
        (tube.density(), metal.modulus, of_temper)
    };
    let (hard, none) = ([Some(400.0), Some(0.09), Some(700.0)], [None; 3]);
    assert_eq!(own("{wall: 1}"), (Some(8500.0), Some(105e3), hard));
    assert_eq!(own("{od: 12, wall: 1}"), (Some(8500.0), Some(105e3), hard));
    assert_eq!(own("{temper: soft}"), (Some(8500.0), Some(105e3), none), "it is softer");
    assert_eq!(own("{od: 12, wall: 1, temper: soft}"), (Some(8500.0), Some(105e3), none));
    assert_eq!(own("{material: steel}"), (Some(7850.0), None, none), "another metal");
    assert_eq!(own("{od: 12, wall: 1, material: steel}"), (Some(7850.0), None, none));
    assert_eq!(own("{standard: EN 1057, size: 15 x 1}"), (Some(8940.0), None, none), "copper");
    assert_eq!(
        own("{standard: EN 1057, size: 15 x 1, modulus: 120, elongation: 40}"),
        (Some(8940.0), Some(120e3), [None, Some(0.4), None])
    );
}

#[test]
fn stock_that_no_run_is_made_of_is_a_warning() {
    let text = r#"
format: 1
tube: {standard: ASTM B88, size: 1/2, type: K, temper: hard}
bender: {clr: 55}
stock:
  - {length: 20 m, od: 5/8 in, wall: 1.24}
  - {length: 3 m, od: 15.875, wall: 1.2}
runs:
  a: {bends: [], end_length: 9}
"#;
    let reading = read_partly(text, "x.yaml");
    let told: Vec<_> =
        reading.findings.iter().map(|d| (d.code, d.message.as_str(), d.hint.as_deref())).collect();
    assert_eq!(
        told,
        [(
            "unused-stock",
            "no run is made of 15.875 x 1.2 mm tube",
            Some("delete this stock, or correct its `od` and `wall`: there is 15.875 x 1.245 mm")
        )],
        "walls a hundredth apart are one"
    );
}

#[test]
fn all_errors_are_reported_at_once_in_the_order_of_the_file() {
    let text = r#"
format: 1
tube: {standard: EN 1057, size: 15 x 1.1, temper: medium}
bender: {clr: 55 mn}
runs:
  a b:
    from: tank.out
    cornres: [[1, 2]]
    corners: [[1, 2]]
"#;
    assert_eq!(
        findings(text),
        [
            "unknown-size 3:33 EN 1057 has no size 15 x 1.1",
            "bad-choice 3:51 `temper` cannot be `medium`",
            "bad-length 4:15 `mn` is not a unit of length",
            "bad-name 6:3 the name `a b` has a space in it",
            "missing-key 6:3 `to` is missing from a run",
            "unknown-port 7:11 there is no port `tank.out`",
            "unknown-key 8:5 unknown key `cornres` in a run",
            "bad-point 9:15 2 numbers where three belong",
        ]
    );
}

#[test]
fn a_fault_in_a_default_is_reported_once() {
    let text = r#"
format: 1
tube: {od: 15, wall: 8, material: copper, temper: soft}
bender: {clr: 55}
runs:
  a: {from: [0, 0, 0], to: [100, 100, 0], corners: [[100, 0, 0]]}
  b: {from: [0, 0, 0], to: [100, 100, 0], corners: [[100, 0, 0]]}
"#;
    assert_eq!(findings(text), ["wall-too-thick 3:22 a wall of 8 mm leaves no bore in a tube of 15 mm"]);
    let reading = read_partly(text, "x.yaml");
    assert_eq!(reading.findings.iter().next().and_then(|d| d.run.clone()), None, "it concerns all runs");
}

#[test]
fn healthy_runs_survive_the_faults_of_others() {
    let text = r#"
format: 1
tube: {od: 15, wall: 1, material: copper, temper: soft}
bender: {clr: 55}
runs:
  broken: {from: [0, 0, 0], corners: [[100, 0, 0]]}
  tight: {from: [0, 0, 0], to: [100, 40, 0], corners: [[100, 0, 0]]}
"#;
    let reading = read_partly(text, "x.yaml");
    assert!(reading.findings.has_errors());
    let left: Vec<&str> = reading.spec.runs().iter().map(|run| run.name.as_str()).collect();
    assert_eq!(left, ["tight"]);
}

#[test]
fn what_is_left_out_or_not_shown_is_a_warning() {
    let text = r#"
format: 1
title: Loop Ω → ∞ “ü”
tube: {od: 16, wall: 1.5, material: titanium, temper: soft}
bender: {clr: 55}
stock: {length: 3 m}
runs:
  a: {from: [0, 0, 0], to: [200, 200, 0], route: {max_bends: 3}}
  b: {from: [0, 0, 0], to: [200, 200, 0], corners: [[200, 0, 0]]}
"#;
    assert_eq!(
        findings(text),
        [
            "title-characters 3:8 PDF files cannot show `Ω`, `→`, `∞` of this text",
            "unknown-density 4:37 the density of `titanium` is not known, so masses are left out",
        ]
    );
    let (spec, _) = read(text, "x.yaml").expect("warnings only");
    assert_eq!(spec.runs()[0].tube.density(), None);
    assert_eq!(spec.runs()[0].tube.designation(), "16 x 1.5 mm titanium soft");
    let known = text.replace("titanium", "titanium, density: 4506");
    assert_eq!(read(&known, "x.yaml").expect("sound").0.runs()[1].tube.density(), Some(4506.0));
}

#[test]
fn designations_always_show_millimetres() {
    let tube = |tube: &str| {
        let text = format!(
            "format: 1\ntube: {tube}\nbender: {{clr: 55}}\nruns: {{a: {{bends: [], end_length: 9}}}}\n"
        );
        read(&text, "x.yaml").expect("sound").0.runs()[0].tube.designation().to_owned()
    };
    assert_eq!(tube("{standard: EN1057, size: 15x1, temper: hard}"), "EN 1057 15 x 1.0 hard");
    assert_eq!(
        tube("{standard: B88, size: L 1-1/2, temper: hard}"),
        "ASTM B88 type L 1-1/2 (41.275 x 1.524 mm) hard"
    );
    assert_eq!(
        tube("{standard: ASTM B280, size: 3/8, temper: soft}"),
        "ASTM B280 3/8 x 0.032 in (9.525 x 0.813 mm) soft"
    );
    assert_eq!(
        tube("{od: 5/8 in, wall: 0.035 in, material: Brass, temper: hard}"),
        "15.875 x 0.889 mm Brass hard"
    );
}

#[test]
fn a_run_has_the_bender_for_its_tube_and_its_own_laid_over_it() {
    let text = "
format: 1
tube: {od: 15, wall: 1, material: copper, temper: half-hard}
bender:
  - {name: large, od: 15, clr: 55, grip: 30, test_bends: [{pulled: 90, got: 88}]}
  - {name: small, od: 12, clr: 38, grip: 20, test_bends: [{pulled: 90, got: 87}]}
runs:
  a: {bends: [{length: 100, angle: 90}], end_length: 100}
  b: {bends: [{length: 100, angle: 90}], end_length: 100, tube: {od: 12.005, wall: 1}}
  c: {bends: [{length: 100, angle: 90}], end_length: 100, tube: {od: 12, wall: 1}, bender: {grip: 25}}
  d: {bends: [{length: 100, angle: 90}], end_length: 100, tube: {od: 22, wall: 1}, bender: {clr: 88}}
  e: {same_as: a, tube: {od: 12, wall: 1}}
  f: {same_as: c}
";
    let (spec, findings) = read(text, "benders.yaml").expect("a sound spec");
    assert!(findings.is_empty(), "{findings:?}");
    let found: Vec<(&str, f64, f64, usize)> = spec
        .runs()
        .iter()
        .map(|run| (run.bender.name.as_str(), run.bender.clr, run.bender.grip, run.bender.test_bends.len()))
        .collect();
    assert_eq!(
        found,
        [
            ("large", 55.0, 30.0, 1),
            ("small", 38.0, 20.0, 1),
            ("small", 38.0, 25.0, 1),
            ("bender", 88.0, 0.0, 0),
            ("small", 38.0, 20.0, 1),
            ("small", 38.0, 25.0, 1)
        ]
    );
}
