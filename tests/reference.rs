//! Published and computed reference values, with their sources. A value printed in a text is compared
//! with what the text prints *and*, separately, with elementary geometry, for texts round.

#![allow(clippy::expect_used, reason = "a test that cannot go on must stop")]
#![allow(clippy::approx_constant, reason = "the tables are kept as they are printed")]

use tubewright::centreline::{Centreline, CornerPoint, LaidRun, Layout, TableRow, from_corners, from_table};
use tubewright::diagnostic::Place;
use tubewright::fit::FitReport;
use tubewright::formula::{bend, offset, section, wall};
use tubewright::geometry::{Frame, InnerSpace, MetricSpace, Point3};
use tubewright::plan::{RunPlan, plan};
use tubewright::solid::mesh;
use tubewright::spec::model::{Bender, End, MarkPoint, Path, Run, Temper, Tube};

/// Geometry agrees to a thousandth of a millimetre or degree.
const EXACT: f64 = 1e-3;

fn near(found: f64, wanted: f64, tolerance: f64, what: &str) {
    assert!((found - wanted).abs() <= tolerance, "{what}: found {found}, wanted {wanted} ± {tolerance}");
}

fn deg(angle: f64) -> f64 {
    angle.to_radians()
}

fn through(radius: f64, points: &[[f64; 3]]) -> Centreline {
    let corners: Vec<CornerPoint> =
        points[1..points.len() - 1].iter().map(|p| CornerPoint { at: Point3::from(*p), radius }).collect();
    let end = points[points.len() - 1];
    from_corners(Point3::from(points[0]), &corners, Point3::from(end)).expect("corners leave room")
}

/// A run computed from elementary geometry.
struct Reference<'a> {
    name: &'a str,
    radius: f64,
    points: &'a [[f64; 3]],
    straights: &'a [f64],
    angles: &'a [f64],
    /// Between bends, degrees, right-handed about the direction of travel.
    rotations: &'a [f64],
    length: f64,
    /// Start and end of each bend along the tube.
    stations: &'a [(f64, f64)],
}

impl Reference<'_> {
    fn check(&self) {
        let name = self.name;
        let line = through(self.radius, self.points);
        let straights = line.straights();
        assert_eq!(straights.len(), self.straights.len(), "{name}");
        for (found, wanted) in straights.iter().zip(self.straights) {
            near(*found, *wanted, EXACT, &format!("{name}: straight"));
        }
        assert_eq!(line.bends().len(), self.angles.len(), "{name}");
        for (found, wanted) in line.bends().iter().zip(self.angles) {
            near(found.angle.to_degrees(), *wanted, EXACT, &format!("{name}: angle"));
        }
        assert_eq!(line.bends().len() - 1, self.rotations.len(), "{name}");
        for (found, wanted) in line.bends()[1..].iter().zip(self.rotations) {
            near(found.rotation.to_degrees(), *wanted, EXACT, &format!("{name}: rotation"));
        }
        near(line.length(), self.length, EXACT, &format!("{name}: length"));
        for (found, wanted) in line.bends().iter().zip(self.stations) {
            near(found.start, wanted.0, EXACT, &format!("{name}: start of bend"));
            near(found.end(), wanted.1, EXACT, &format!("{name}: end of bend"));
        }
        let end = self.points[self.points.len() - 1];
        assert!(line.end().distance(Point3::from(end)) < 1e-9, "{name}: ends where it was told to");
    }
}

// Runs T1 to T11: computed from elementary geometry.

#[test]
fn t1_one_right_angle() {
    Reference {
        name: "T1",
        radius: 60.0,
        points: &[[0.0, 0.0, 0.0], [150.0, 0.0, 0.0], [150.0, 125.0, 0.0]],
        straights: &[90.0, 65.0],
        angles: &[90.0],
        rotations: &[],
        length: 249.248,
        stations: &[(90.0, 184.248)],
    }
    .check();
}

#[test]
fn t2_a_u_of_two_bends() {
    Reference {
        name: "T2",
        radius: 38.1,
        points: &[[0.0, 0.0, 0.0], [100.0, 0.0, 0.0], [100.0, 120.0, 0.0], [0.0, 120.0, 0.0]],
        straights: &[61.9, 43.8, 61.9],
        angles: &[90.0, 90.0],
        rotations: &[0.0],
        length: 287.295,
        stations: &[(61.9, 121.747), (165.547, 225.395)],
    }
    .check();
}

#[test]
fn t3_out_of_plane_either_way() {
    for (z, rotation) in [(60.0, 90.0), (-60.0, -90.0)] {
        Reference {
            name: if z > 0.0 { "T3" } else { "T3m" },
            radius: 38.1,
            points: &[[0.0, 0.0, 0.0], [100.0, 0.0, 0.0], [100.0, 80.0, 0.0], [100.0, 80.0, z]],
            straights: &[61.9, 3.8, 21.9],
            angles: &[90.0, 90.0],
            rotations: &[rotation],
            length: 207.295,
            stations: &[(61.9, 121.747), (125.547, 185.395)],
        }
        .check();
    }
}

#[test]
fn t4_an_offset_of_45_degrees() {
    Reference {
        name: "T4",
        radius: 50.0,
        points: &[[0.0, 0.0, 0.0], [100.0, 0.0, 0.0], [150.0, 50.0, 0.0], [250.0, 50.0, 0.0]],
        straights: &[79.289, 29.289, 79.289],
        angles: &[45.0, 45.0],
        rotations: &[180.0],
        length: 266.408,
        stations: &[(79.289, 118.559), (147.849, 187.118)],
    }
    .check();
}

#[test]
fn t5_an_offset_of_30_degrees() {
    Reference {
        name: "T5",
        radius: 50.0,
        points: &[
            [0.0, 0.0, 0.0],
            [100.0, 0.0, 0.0],
            [100.0 + 40.0 * 3f64.sqrt(), 40.0, 0.0],
            [300.0, 40.0, 0.0],
        ],
        straights: &[86.603, 53.205, 117.321],
        angles: &[30.0, 30.0],
        rotations: &[180.0],
        length: 309.488,
        stations: &[(86.603, 112.782), (165.988, 192.167)],
    }
    .check();
}

#[test]
fn t6_a_rolled_offset() {
    let points = [[0.0, 0.0, 0.0], [100.0, 0.0, 0.0], [150.0, 30.0, 40.0], [250.0, 30.0, 40.0]];
    Reference {
        name: "T6",
        radius: 50.0,
        points: &points,
        straights: &[79.289, 29.289, 79.289],
        angles: &[45.0, 45.0],
        rotations: &[180.0],
        length: 266.408,
        stations: &[(79.289, 118.559), (147.849, 187.118)],
    }
    .check();
    // The first rotation is the roll of the offset's plane: atan2(40, 30).
    near(through(50.0, &points).bends()[0].rotation.to_degrees(), 53.130, EXACT, "roll of the plane");
}

#[test]
fn t7_a_three_bend_saddle() {
    let run = 60.0 / deg(22.5).tan();
    Reference {
        name: "T7",
        radius: 50.0,
        points: &[
            [0.0, 0.0, 0.0],
            [200.0 - run, 0.0, 0.0],
            [200.0, 60.0, 0.0],
            [200.0 + run, 0.0, 0.0],
            [400.0, 0.0, 0.0],
        ],
        straights: &[45.202, 126.131, 126.131, 45.202],
        angles: &[22.5, 45.0, 22.5],
        rotations: &[180.0, 180.0],
        length: 421.205,
        stations: &[(45.202, 64.837), (190.968, 230.238), (356.369, 376.004)],
    }
    .check();
}

#[test]
fn t8_a_four_bend_saddle() {
    let run = 40.0 * 3f64.sqrt();
    Reference {
        name: "T8",
        radius: 38.1,
        points: &[
            [0.0, 0.0, 0.0],
            [100.0, 0.0, 0.0],
            [100.0 + run, 40.0, 0.0],
            [180.0 + run, 40.0, 0.0],
            [180.0 + 2.0 * run, 0.0, 0.0],
            [420.0, 0.0, 0.0],
        ],
        straights: &[89.791, 59.582, 59.582, 59.582, 91.227],
        angles: &[30.0, 30.0, 30.0, 30.0],
        rotations: &[180.0, 0.0, 180.0],
        length: 439.561,
        stations: &[(89.791, 109.740), (169.323, 189.272), (248.854, 268.803), (328.385, 348.334)],
    }
    .check();
}

#[test]
fn t9_a_run_in_space() {
    Reference {
        name: "T9",
        radius: 38.1,
        points: &[
            [0.0, 0.0, 0.0],
            [120.0, 0.0, 0.0],
            [120.0, 90.0, 0.0],
            [200.0, 150.0, 60.0],
            [200.0, 150.0, 160.0],
        ],
        straights: &[81.9, 30.328, 73.475, 78.428],
        angles: &[90.0, 59.0362, 59.0362],
        rotations: &[143.1301, -68.8998],
        length: 402.494,
        stations: &[(81.9, 141.747), (172.075, 211.333), (284.808, 324.066)],
    }
    .check();
}

#[test]
fn t10_one_bend_from_outside_legs() {
    near(bend::length_from_backs(150.0, 125.0, 15.875, 50.0, deg(90.0)), 237.665, EXACT, "T10");
    // The same tube laid out: the backs are OD/2 beyond the corner.
    let line =
        through(50.0, &[[0.0, 0.0, 0.0], [150.0 - 7.9375, 0.0, 0.0], [150.0 - 7.9375, 125.0 - 7.9375, 0.0]]);
    near(line.length(), 237.665, EXACT, "T10 laid out");
}

#[test]
fn t11_back_to_back() {
    let straight = offset::straight_between_backs(150.0, 15.875, 50.0);
    near(straight, 34.125, EXACT, "T11: middle straight");
    let row = |length| TableRow { length, rotation: 0.0, angle: deg(90.0), radius: 50.0 };
    let line = from_table(Frame::default(), &[row(80.0), row(straight)], 80.0).expect("a sound table");
    // The legs are 134.125 between centres: 150 between their backs.
    near(line.end().distance(line.start()), 134.125, EXACT, "T11: centres");
    near(line.bends()[1].rotation, 0.0, 1e-12, "T11: same plane");
}

#[test]
fn t2_volumes_and_box() {
    let points = [[0.0, 0.0, 0.0], [100.0, 0.0, 0.0], [100.0, 120.0, 0.0], [0.0, 120.0, 0.0]];
    let laid = laid_run(
        through(38.1, &points),
        Tube::new(15.875, 1.245, "copper", Some(8940.0), Temper::Soft, "K 1/2").expect("a tube"),
    );
    let run = planned(&laid);
    near(run.metal_volume_mm3, 16_439.6, 0.05, "metal (Pappus)");
    near(run.metal_volume_mm3 + run.bore_volume_ml * 1000.0, 56_865.0, 0.05, "outer solid");
    near(run.outer_area_mm2, 14_328.2, 0.05, "outer skin");
    near(run.mass_g.expect("copper has a density"), 146.97, 0.01, "mass");
    near(run.bore_volume_ml, 40.43, 0.005, "bore");
    let quarter = section::metal_volume(15.875, 1.245, bend::arc_length(38.1, deg(90.0)));
    near(quarter, 3_424.59, 0.01, "one 90° bend");

    let skin = mesh::tube(&laid.centreline, &laid.run.tube, 2e-4).expect("a mesh");
    let bounds = |pick: fn(&Point3) -> f64| {
        skin.vertices.iter().map(pick).fold((f64::MAX, f64::MIN), |(low, high), v| (low.min(v), high.max(v)))
    };
    for (found, wanted) in [
        (bounds(|p| p.x), (0.0, 107.9375)),
        (bounds(|p| p.y), (-7.9375, 127.9375)),
        (bounds(|p| p.z), (-7.9375, 7.9375)),
    ] {
        near(found.0, wanted.0, EXACT, "box");
        near(found.1, wanted.1, EXACT, "box");
    }
}

fn laid_run(centreline: Centreline, tube: Tube) -> LaidRun {
    let end = |at| End { at, face: at, facing: None, port: None, fitting: None, place: Place::default() };
    let bender = Bender {
        name: "bench bender".into(),
        clr: 38.1,
        grip: 0.0,
        lead_out: 0.0,
        mark: MarkPoint::Start,
        datum: 0.0,
        max_angle: deg(180.0),
        test_bends: Vec::new(),
    };
    let run = Run {
        name: "run".into(),
        tube,
        bender,
        from: Some(end(centreline.start())),
        to: Some(end(centreline.end())),
        path: Path::Corners(Vec::new()),
        allowance_start: 0.0,
        allowance_end: 0.0,
        place: Place::default(),
    };
    LaidRun { index: 0, run, centreline }
}

fn planned(laid: &LaidRun) -> RunPlan {
    let layout = Layout {
        name: "reference".into(),
        file_name: "reference.yaml".into(),
        title: "Reference".into(),
        components: Vec::new(),
        runs: vec![laid.clone()],
    };
    plan(&layout, &FitReport::default()).0.runs.remove(0)
}

// Bend tables of any trade textbook, computed from elementary geometry.

#[test]
fn arc_setback_and_gain_per_radius() {
    let rows = [
        (15.0, 0.261799, 0.131652, 0.001506),
        (22.5, 0.392699, 0.198912, 0.005126),
        (30.0, 0.523599, 0.267949, 0.012300),
        (45.0, 0.785398, 0.414214, 0.043029),
        (60.0, 1.047198, 0.577350, 0.107503),
        (90.0, 1.570796, 1.000000, 0.429204),
        (120.0, 2.094395, 1.732051, 1.369707),
        (135.0, 2.356194, 2.414214, 2.472233),
    ];
    for (angle, arc, setback, gain) in rows {
        near(bend::arc_length(1.0, deg(angle)), arc, 6e-7, "arc/R");
        near(bend::setback(1.0, deg(angle)), setback, 6e-7, "setback/R");
        near(bend::gain(1.0, deg(angle)), gain, 6e-7, "gain/R");
    }
}

#[test]
fn arc_setback_and_gain_of_common_radii() {
    let rows = [
        (38.0, 59.690, 16.310, 29.845, 15.740, 1.635),
        (38.1, 59.847, 16.353, 29.924, 15.782, 1.639),
        (50.0, 78.540, 21.460, 39.270, 20.711, 2.151),
        (57.15, 89.771, 24.529, 44.886, 23.672, 2.459),
        (60.0, 94.248, 25.752, 47.124, 24.853, 2.582),
        (63.5, 99.746, 27.254, 49.873, 26.303, 2.732),
        (64.0, 100.531, 27.469, 50.265, 26.510, 2.754),
    ];
    for (radius, arc90, gain90, arc45, setback45, gain45) in rows {
        near(bend::arc_length(radius, deg(90.0)), arc90, 6e-4, "arc of 90°");
        near(bend::gain(radius, deg(90.0)), gain90, 6e-4, "gain of 90°");
        near(bend::arc_length(radius, deg(45.0)), arc45, 6e-4, "arc of 45°");
        near(bend::setback(radius, deg(45.0)), setback45, 6e-4, "setback of 45°");
        near(bend::gain(radius, deg(45.0)), gain45, 6e-4, "gain of 45°");
    }
}

#[test]
fn segments_of_a_right_angle() {
    // Ticks that divide a 90° bend of R 50: angle, step along the arc, step across.
    for (count, angle, arc, chord) in [(9.0, 10.0, 8.7266, 8.7156), (3.0, 30.0, 26.180, 25.882)] {
        near(90.0 / count, angle, 1e-12, "angle of a segment");
        near(bend::arc_length(50.0, deg(angle)), arc, 5e-4, "arc of a segment");
        near(bend::chord(50.0, deg(angle)), chord, 5e-4, "chord of a segment");
    }
}

/// Angle, csc a, trade multiplier and its deviation in %, tan(a/2), trade shrink per unit of rise and
/// its deviation in %.
type OffsetRow = (f64, f64, Option<(f64, f64)>, f64, Option<(f64, f64)>);

const OFFSETS: [OffsetRow; 7] = [
    (5.0, 11.4737, None, 0.04366, None),
    (10.0, 5.7588, Some((6.0, 4.2)), 0.08749, Some((1.0 / 16.0, -28.6))),
    (15.0, 3.8637, Some((3.9, 0.9)), 0.13165, Some((1.0 / 8.0, -5.1))),
    (22.5, 2.6131, Some((2.6, -0.5)), 0.19891, Some((3.0 / 16.0, -5.7))),
    (30.0, 2.0, Some((2.0, 0.0)), 0.26795, Some((1.0 / 4.0, -6.7))),
    (45.0, 1.4142, Some((1.4, -1.0)), 0.41421, Some((3.0 / 8.0, -9.5))),
    (60.0, 1.1547, Some((1.2, 3.9)), 0.57735, Some((1.0 / 2.0, -13.4))),
];

#[test]
fn offset_multiplier_and_shrink_are_exact() {
    for (angle, multiplier, _, shrink, _) in OFFSETS {
        near(offset::travel(1.0, deg(angle)), multiplier, 6e-5, "csc a");
        near(offset::shrink(1.0, deg(angle)), shrink, 6e-6, "tan(a/2)");
    }
}

#[test]
fn trade_multiplier_and_shrink_deviate_as_stated() {
    // Rounded columns printed alike in several conduit-bending texts.
    let percent = |trade: f64, exact: f64| (trade / exact - 1.0) * 100.0;
    for (angle, _, multiplier, _, shrink) in OFFSETS {
        if let Some((trade, deviation)) = multiplier {
            near(percent(trade, offset::travel(1.0, deg(angle))), deviation, 0.06, "trade multiplier");
        }
        if let Some((trade, deviation)) = shrink {
            near(percent(trade, offset::shrink(1.0, deg(angle))), deviation, 0.06, "trade shrink");
        }
    }
}

#[test]
fn an_offset_of_real_bends() {
    // 45°, rise 50, R 50, elementary geometry; and the same offset laid out as T4.
    near(offset::shortening(50.0, 50.0, deg(45.0)), 16.408, EXACT, "shortening");
    near(offset::between_middles(50.0, 50.0, deg(45.0)), 68.559, EXACT, "between middles");
    near(offset::smallest_rise(50.0, deg(45.0)), 29.289, EXACT, "smallest rise");
    let line = through(50.0, &[[0.0, 0.0, 0.0], [100.0, 0.0, 0.0], [150.0, 50.0, 0.0], [250.0, 50.0, 0.0]]);
    near(line.length() - 250.0, 16.408, EXACT, "T4 is that much longer than its run");
    near(line.bends()[1].middle() - line.bends()[0].middle(), 68.559, EXACT, "T4's middles");
}

// Layout examples printed in texts. `published` tests allow the text's own rounding.

#[test]
fn p1_city_and_guilds_plumbing_90() {
    // City & Guilds Plumbing Book 1 (2019), p. 97: 15 mm tube, R = 4 D, with π = 3.142.
    let arc = bend::arc_length(60.0, deg(90.0));
    near(arc, 94.26, 0.02, "P1 published");
    near(arc, 94.248, EXACT, "P1 exact");
}

#[test]
fn p2_city_and_guilds_end_to_centre() {
    // Same, p. 96, fig. 2.16: back 4 D and forward 2 D of the mark, 6 D = 90 mm in all, for R = 4 D.
    let (setback, arc) = (bend::setback(60.0, deg(90.0)), bend::arc_length(60.0, deg(90.0)));
    near(setback, 60.0, EXACT, "P2: back of the mark, published and exact");
    near(arc, 90.0, 4.3, "P2 published, heated length");
    near(arc - setback, 34.248, EXACT, "P2 exact, forward of the mark");
}

#[test]
fn p3_city_and_guilds_parallel_bends() {
    // Same, fig. 2.18: two 22 mm tubes at 80 mm centres, R = 4 D inside.
    let (inner, outer) = (4.0 * 22.0, 4.0 * 22.0 + 80.0);
    near(bend::setback(outer, deg(90.0)), 168.0, EXACT, "P3: back of the outer mark, published and exact");
    near(bend::arc_length(inner, deg(90.0)), 138.230, EXACT, "P3 exact, inner");
    near(bend::arc_length(outer, deg(90.0)), 263.894, EXACT, "P3 exact, outer");
    near(bend::arc_length(outer, deg(90.0)), 168.0 + 84.0, 12.0, "P3 published, back and forward");
}

#[test]
fn p4_p5_navy_plate_and_bar() {
    // NAVEDTRA 14119, figs 13-49 and 13-50, inches: the neutral axis is half the thickness in.
    let quarter = bend::arc_length(3.0 + 0.25, deg(90.0));
    near(quarter, 5.10, 0.006, "P4 published");
    near(quarter, 5.105, EXACT, "P4 exact");
    let half = bend::arc_length(1.0 + 0.25, deg(180.0));
    near(half, 3.925, 0.003, "P5 published");
    near(half, 3.927, EXACT, "P5 exact");
}

#[test]
fn p6_navy_three_bend_saddle() {
    // NAVEDTRA 14026, p. 5-26, table 5-4: middle 45°, outer 22.5°, depth 1 to 6 in.
    let rows = [
        (1.0, 3.0 / 16.0, 2.5),
        (2.0, 3.0 / 8.0, 5.0),
        (3.0, 9.0 / 16.0, 7.5),
        (4.0, 3.0 / 4.0, 10.0),
        (5.0, 15.0 / 16.0, 12.5),
        (6.0, 1.125, 15.0),
    ];
    for (depth, ahead, outer) in rows {
        let (shift, distance) = (offset::shrink(depth, deg(22.5)), offset::travel(depth, deg(22.5)));
        near(shift, ahead, 0.06 * shift, "P6 published, middle mark");
        near(distance, outer, 0.045 * distance, "P6 published, outer marks");
        near(shift, 0.198912 * depth, 1e-5 * depth, "P6 exact, middle mark");
        near(distance, 2.613126 * depth, 1e-5 * depth, "P6 exact, outer marks");
    }
}

#[test]
fn p7_p8_conduit_saddles() {
    // A conduit tool's sheet, inches: 45° saddle over 2 in, obstacle's centre at 20 in.
    let mark = 20.0 + offset::shrink(2.0, deg(22.5));
    near(mark, 20.375, 0.025, "P7 published");
    near(mark, 20.398, EXACT, "P7 exact");
    // Same sheet, 60° saddle with 30° outer bends.
    near(offset::shrink(1.0, deg(30.0)), 0.25, 0.02, "P8 published, shrink");
    near(offset::shrink(1.0, deg(30.0)), 0.2679, 6e-5, "P8 exact, shrink");
    near(offset::travel(1.0, deg(30.0)), 2.0, 1e-12, "P8 distance, published and exact");
}

#[test]
fn p9_p10_p11_residential_wiring() {
    // Modern Residential Wiring (Goodheart-Willcox, 2021), pp. 145 and 149, inches.
    for (angle, published, exact) in [(30.0, 2.0, 2.144), (45.0, 3.0, 3.314)] {
        let shrink = offset::shrink(8.0, deg(angle));
        near(shrink, published, 0.32, "P9 published");
        near(shrink, exact, EXACT, "P9 exact");
    }
    near(offset::rise(8.0 - 2.0, deg(5.0)), 0.523, EXACT, "P10 exact");
    // Back to back: 40 in over the backs of a 3/4 in (0.922 in) conduit.
    let (od, radius) = (0.922, 4.5);
    let straight = offset::straight_between_backs(40.0, od, radius);
    near(straight + 2.0 * radius, 40.0 - od, 1e-9, "P11 exact, centres");
}

#[test]
fn p12_p13_pocket_card() {
    // A trade pocket card, inches.
    let travel = offset::travel(15.0, deg(25.0));
    near(travel, 35.55, 0.06, "P12 published");
    near(travel, 35.493, EXACT, "P12 exact");
    let arc = bend::arc_length(8.0, deg(70.0));
    near(arc, 9.8, 0.03, "P13 published");
    near(arc, 9.774, EXACT, "P13 exact");
}

#[test]
fn p14_p15_conduit_exam() {
    // A conduit exam, inches: boxes 47-1/2 apart, offset 8-1/4 at 22.5°.
    let cut = 47.5 + offset::shrink(8.25, deg(22.5));
    near(cut, 49.0 + 3.0 / 64.0, 0.1, "P14 published, cut");
    near(cut, 49.141, EXACT, "P14 exact, cut");
    let marks = offset::travel(8.25, deg(22.5));
    near(marks, 21.45, 0.11, "P14 published, marks");
    near(marks, 21.558, EXACT, "P14 exact, marks");
    // Same: 45°, obstacle at 28-5/8, rise 6-1/4.
    let mark = 28.625 + offset::shrink(6.25, deg(45.0));
    near(mark, 30.0 + 31.0 / 32.0, 0.25, "P15 published");
    near(mark, 31.214, EXACT, "P15 exact");
}

#[test]
fn p16_p17_rolled_offsets() {
    // Home-trade text: rise 8, roll 12.
    let (true_offset, from_vertical) = offset::rolled(8.0, 12.0);
    near(true_offset, 14.42, 0.005, "P16 published");
    near(true_offset, 14.4222, 1e-4, "P16 exact");
    near(from_vertical.to_degrees(), 56.310, EXACT, "P16 exact, plane from vertical");
    // Two pipefitter texts' rule: 12 up, 16 across, 45° fittings.
    let (true_offset, from_vertical) = offset::rolled(12.0, 16.0);
    near(true_offset, 20.0, 1e-12, "P17 exact");
    let travel = offset::travel(true_offset, deg(45.0));
    near(travel, 20.0 * 1.414, 0.005, "P17 published rule");
    near(travel, 28.284, EXACT, "P17 exact, travel");
    near(from_vertical.to_degrees(), 53.130, EXACT, "P17 exact, plane from vertical");
    // The same offset laid out: its plane is the first bend's rotation, its travel the middle leg.
    let line = through(4.0, &[[0.0, 0.0, 0.0], [60.0, 0.0, 0.0], [80.0, 12.0, 16.0], [140.0, 12.0, 16.0]]);
    near(line.bends()[0].rotation.to_degrees(), 53.130, EXACT, "P17 laid out, plane");
    let corners = line.corner_points();
    near((corners[2] - corners[1]).magnitude(), 28.284, EXACT, "P17 laid out, travel");
}

#[test]
fn p18_instrument_tube_offset() {
    // An instrument tube guide: L = 2 F at 30°, 1.414 F at 45°.
    near(offset::travel(1.0, deg(30.0)), 2.0, 1e-12, "P18 30°, published and exact");
    near(offset::travel(1.0, deg(45.0)), 1.414, 3e-4, "P18 45° published");
    near(offset::travel(1.0, deg(45.0)), 2f64.sqrt(), 1e-12, "P18 45° exact");
}

// What a bend does to the wall, computed from the stated formulas.

#[test]
fn strain_and_thinning_by_radius() {
    let rows = [
        (1.5, 0.3333, 25.00),
        (2.0, 0.2500, 20.00),
        (2.5, 0.2000, 16.67),
        (3.0, 0.1667, 14.29),
        (4.0, 0.1250, 11.11),
        (5.0, 0.1000, 9.09),
        (6.0, 0.0833, 7.69),
    ];
    for (ratio, strain, thinning) in rows {
        near(wall::outer_strain(10.0, 10.0 * ratio), strain, 6e-5, "D/2R");
        let thinned = (1.0 - wall::outer_wall(10.0, 1.0, 10.0 * ratio)) * 100.0;
        near(thinned, thinning, 6e-3, "thinning in %");
    }
}

#[test]
fn strain_at_published_least_radii() {
    // Copper Tube Handbook (CDA A4015), table of least bend radii of mechanical benders: OD, R, D/2R in %.
    for (od, radius, percent) in [
        (9.525, 19.05, 25.0),
        (12.7, 38.1, 16.7),
        (12.7, 44.45, 14.3),
        (15.875, 57.15, 13.9),
        (15.875, 63.5, 12.5),
        (22.225, 76.2, 14.6),
        (28.575, 101.6, 14.1),
        (34.925, 228.6, 7.6),
    ] {
        near(wall::outer_strain(od, radius) * 100.0, percent, 0.06, "strain in %");
    }
}

#[test]
fn the_bore_and_mass_of_common_copper_tubes() {
    // ASTM B88 1/2 by OD and wall, 8940 kg/m³: bore mm, kg/m, ml/m. Walls in inches are exact.
    for (wall_in, bore, mass, volume) in
        [(0.049, 13.386, 0.5114, 140.7), (0.040, 13.843, 0.4240, 150.5), (0.028, 14.453, 0.3029, 164.1)]
    {
        let wall = wall_in * 25.4;
        near(15.875 - 2.0 * wall, bore, 6e-4, "bore");
        near(section::mass_per_metre(15.875, wall, 8940.0), mass, 6e-5, "kg/m");
        near(section::bore_area(15.875, wall), volume, 0.06, "ml/m");
    }
}
