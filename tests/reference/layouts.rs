//! Layout examples P1 to P18 printed in texts, laid out as runs and planned by the program. Each is held
//! against elementary geometry to [`EXACT`], and against the printed number to what the printing allows:
//! the last digit where the text rounds its answer, the text's own constant where it rounds that. A rule of
//! thumb that is off by more than that is held to the amount by which it is off.

use std::f64::consts::{FRAC_PI_2, PI};

use tubewright::geometry::Point3;
use tubewright::solid::mesh;

use super::program::{self, Planned, Unit, bend, corners, offset, one, table};
use super::{EXACT, near};

/// A conduit of trade size 1/2 as texts on saddles and offsets use it, inches: OD by ANSI C80.3 (from
/// memory), R by NEC Chapter 9 Table 2. Only the radius enters the numbers held here.
const CONDUIT: (f64, f64) = (0.706, 4.0);

/// A printed rule of thumb: the program's number is `by` more.
fn off_by(found: f64, printed: f64, by: f64, what: &str) {
    near(found - printed, by, EXACT, what);
}

/// Three-bend saddle, inches: outer bends of `outer` degrees, corners `leg` apart.
fn saddle(outer: f64, leg: f64) -> Planned {
    let (od, clr) = CONDUIT;
    let setback = |angle: f64| clr * (angle.to_radians() / 2.0).tan();
    let straight = leg - setback(outer) - setback(2.0 * outer);
    let rows = [(20.0, 0.0, outer), (straight, 180.0, 2.0 * outer), (straight, 180.0, outer)];
    one(Unit::Inch, od, clr, table(&rows, 20.0))
}

#[test]
fn p1_city_and_guilds_plumbing_90() {
    // City & Guilds Plumbing Book 1 (2019), p. 97: 15 mm tube, R = 4 D.
    let arc = bend(Unit::Mm, 15.0, 60.0, 90.0).arc(0);
    near(arc, 94.248, EXACT, "P1 exact");
    // The text reckons with π = 3.142 and prints two decimals.
    near(arc * 3.142 / PI, 94.26, 0.005, "P1 printed");
}

#[test]
fn p2_city_and_guilds_end_to_centre() {
    // Same, p. 96, fig. 2.16: heat from 4 D back of the mark to 2 D forward of it, for R = 4 D.
    let (od, mark) = (15.0, 200.0);
    let run = one(Unit::Mm, od, 60.0, corners(&[[0.0; 3], [mark, 0.0, 0.0], [mark, 200.0, 0.0]]));
    near(mark - run.start(0), 4.0 * od, EXACT, "P2: back, printed and exact");
    near(run.end(0) - mark, 34.248, EXACT, "P2 exact, forward");
    // The text counts in whole diameters, which says no more than to half of one: 2.28 D is 2 D.
    near(run.end(0) - mark, 2.0 * od, od / 2.0, "P2 printed, forward");
}

#[test]
fn p3_city_and_guilds_parallel_bends() {
    // Same, fig. 2.18: two 22 mm tubes at 80 mm centres, R1 = 88, R2 = 168.
    let outer = corners(&[[0.0; 3], [400.0, 0.0, 0.0], [400.0, 400.0, 0.0]]);
    let inner = "{from: [0, 80, 0], to: [320, 400, 0], corners: [{at: [320, 80, 0], clr: 88}]}".to_owned();
    let runs = program::all(Unit::Mm, 22.0, 1.0, 168.0, &[outer, inner]);
    near(runs[0].arc(0), 263.894, EXACT, "P3 exact, outer");
    near(runs[1].arc(0), 138.230, EXACT, "P3 exact, inner");
    near(400.0 - runs[0].start(0), 168.0, EXACT, "P3: back of the outer mark, printed and exact");
    // With the printed radii the tubes stay 80 mm apart round the bend: 58 mm between walls.
    for run in &runs {
        near(run.plan.min_clearance().expect("two runs"), 80.0 - 22.0, 0.01, "P3: parallel");
    }
    // Heated as far forward as half the radius, 84: short of the end of the bend by (π/2 − 3/2)·R.
    off_by(runs[0].end(0) - 400.0, 84.0, 11.894, "P3 printed, forward");
}

#[test]
fn p4_p5_navy_plate_and_bar() {
    // NAVEDTRA 14119, figs 13-49 and 13-50, inches: the neutral axis is half the thickness in.
    let quarter = bend(Unit::Inch, 0.5, 3.0 + 0.25, 90.0).arc(0);
    near(quarter, 5.105, EXACT, "P4 exact");
    // Reckoned with 1.57 for π/2, printed to two decimals.
    near(quarter * 1.57 / FRAC_PI_2, 5.10, 0.005, "P4 printed");
    let half = bend(Unit::Inch, 0.5, 1.0 + 0.25, 180.0).arc(0);
    near(half, 3.927, EXACT, "P5 exact");
    // Reckoned with 3.14 for π, all its decimals printed.
    near(half * 3.14 / PI, 3.925, 1e-6, "P5 printed");
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
        let run = saddle(22.5, 2.613126 * depth);
        near(run.corner(2)[1], depth, EXACT, "P6 exact, depth");
        near(run.corner(4)[1], 0.0, EXACT, "P6 exact, back on the line");
        near(run.shrink(2), 0.198912 * depth, EXACT, "P6 exact, middle mark");
        // 3/16 of the depth for 0.1989 of it.
        off_by(run.shrink(2), ahead, 0.011412 * depth, "P6 printed, middle mark");
        // Corners 2.5 depths apart for 2.613 make a saddle 4.3 % too shallow.
        off_by(saddle(22.5, outer).corner(2)[1], depth, -0.043291 * depth, "P6 printed, outer marks");
    }
}

#[test]
fn p7_p8_conduit_saddles() {
    // A conduit tool's sheet, inches: 45° saddle over 2 in, obstacle's centre at 20 in.
    let run = saddle(22.5, 2.0 * 2.613126);
    let mark = 20.0 + run.shrink(2);
    near(mark, 20.398, EXACT, "P7 exact");
    // The rule is 3/16 in per inch, 5.7 % less than tan(a/2).
    off_by(mark, 20.375, 0.0228, "P7 printed");
    // Same sheet, 60° saddle with 30° outer bends, marks twice the depth apart, here of 3 in.
    let run = saddle(30.0, 2.0 * 3.0);
    near(run.corner(2)[1], 3.0, EXACT, "P8 distance, printed and exact");
    near(run.shrink(2), 3.0 * 0.267949, EXACT, "P8 exact, shrink");
    // The rule is 1/4 in per inch, 6.7 % less than tan(a/2).
    off_by(run.shrink(2), 3.0 * 0.25, 3.0 * 0.017949, "P8 printed, shrink");
}

#[test]
fn p9_p10_residential_wiring() {
    // Modern Residential Wiring (Goodheart-Willcox, 2021), p. 145, inches: 8 in at 30° and at 45°. The rules
    // are 1/4 and 3/8 in per inch, 6.7 % and 9.5 % less than tan(a/2).
    let (od, clr) = CONDUIT;
    for (angle, travel, printed, exact, by) in
        [(30.0, 16.0, 2.0, 2.1436, 0.1436), (45.0, 11.31371, 3.0, 3.3137, 0.3137)]
    {
        let run = offset(Unit::Inch, od, clr, travel, angle);
        near(run.corner(2)[1], 8.0, EXACT, "P9 exact, rise");
        near(run.shrink(2), exact, EXACT, "P9 exact");
        off_by(run.shrink(2), printed, by, "P9 printed");
    }
    // Same, p. 149: marks at 2 and 8 in, 5° bends. The text prints no rise.
    let run = offset(Unit::Inch, od, clr, 8.0 - 2.0, 5.0);
    near(run.corner(2)[1], 0.523, EXACT, "P10 exact");
}

#[test]
fn p11_residential_wiring_back_to_back() {
    // Same, p. 145: two bends of 90°, 40 in over their backs. Conduit of trade size 3/4: OD 0.922 in by
    // ANSI C80.3 (from memory), R 4-1/2 in by NEC Chapter 9 Table 2.
    let (od, clr, backs) = (0.922, 4.5, 40.0);
    let centres = backs - od;
    let u = corners(&[[0.0, 20.0, 0.0], [0.0; 3], [centres, 0.0, 0.0], [centres, 20.0, 0.0]]);
    let run = one(Unit::Inch, od, clr, u);
    near(run.straight(1), 30.078, EXACT, "P11 exact, straight between the bends");
    near(run.length(), 31.0 + 30.078 + 2.0 * 7.06858, EXACT, "P11 exact, length");
    // The skin itself measures what the text asks for; a mesh is within its chord height of it.
    let skin = mesh::tube(&run.laid.centreline, &run.laid.run.tube, 0.01).expect("a mesh");
    near(width(&skin.vertices) / 25.4, backs, 0.02 / 25.4, "P11 printed, over the backs");
}

/// How far points reach along X.
fn width(points: &[Point3]) -> f64 {
    let (low, high) =
        points.iter().fold((f64::MAX, f64::MIN), |(low, high), p| (low.min(p.x), high.max(p.x)));
    high - low
}

#[test]
fn p12_p13_pocket_card() {
    // A trade pocket card, inches: 15 in of offset at 25°, marks 2.37 × 15 = 35.55 apart.
    let (od, clr) = CONDUIT;
    near(offset(Unit::Inch, od, clr, 35.493, 25.0).corner(2)[1], 15.0, EXACT, "P12 exact");
    // csc 25° = 2.3662 is rounded to two decimals, so the rise may be off by 0.005/2.37 of 15 in.
    let rise = offset(Unit::Inch, od, clr, 35.55, 25.0).corner(2)[1];
    near(rise, 15.0, 15.0 * 0.005 / 2.37, "P12 printed");
    let arc = bend(Unit::Inch, 0.5, 8.0, 70.0).arc(0);
    near(arc, 9.774, EXACT, "P13 exact");
    // The card reckons with 0.0175 for π/180.
    near(arc * 0.0175 / 1f64.to_radians(), 9.8, 1e-6, "P13 printed");
}

#[test]
fn p14_p15_conduit_exam() {
    // A conduit exam, inches: boxes 47-1/2 apart, offset 8-1/4 at 22.5°.
    let (od, clr) = CONDUIT;
    let (far, rise) = (47.5, 8.25);
    let slope = rise / 22.5f64.to_radians().tan();
    let points = [[0.0; 3], [12.0, 0.0, 0.0], [12.0 + slope, rise, 0.0], [far, rise, 0.0]];
    let run = one(Unit::Inch, od, clr, corners(&points));
    near(run.angle(0), 22.5, EXACT, "P14 exact, angle");
    near(run.along(3), 49.141, EXACT, "P14 exact, cut without a radius");
    near(run.length(), 49.1000, EXACT, "P14 exact, cut: each bend takes 0.0205 in less");
    near(run.leg(1), 21.558, EXACT, "P14 exact, marks");
    // The rules: 3/16 in per inch for tan(a/2), 5.7 % less; 2.6 for csc a, 0.5 % less.
    off_by(run.along(3), 49.0 + 3.0 / 64.0, 0.0941, "P14 printed, cut");
    off_by(run.leg(1), 21.45, 0.1083, "P14 printed, marks");
    // Same: 45°, obstacle at 28-5/8, rise 6-1/4.
    let points = [[0.0; 3], [28.625 - 6.25, 0.0, 0.0], [28.625, 6.25, 0.0], [60.0, 6.25, 0.0]];
    let run = one(Unit::Inch, od, clr, corners(&points));
    near(run.angle(0), 45.0, EXACT, "P15 exact, angle");
    near(run.along(2), 31.214, EXACT, "P15 exact");
    // The rule is 3/8 in per inch, 9.5 % less than tan(a/2).
    off_by(run.along(2), 30.0 + 31.0 / 32.0, 0.2451, "P15 printed");
}

/// A rolled offset by 45°: `up` and `across`, its corners `run` apart along the tube's first direction.
fn rolled(up: f64, across: f64, run: f64) -> Planned {
    let points = [[0.0; 3], [60.0, 0.0, 0.0], [60.0 + run, across, up], [120.0 + run, across, up]];
    one(Unit::Inch, 0.5, 4.0, corners(&points))
}

#[test]
fn p16_p17_rolled_offsets() {
    // Home-trade text: rise 8, roll 12. The true offset makes 45° with a run of the same length.
    let run = rolled(8.0, 12.0, 14.42221);
    near(run.angle(0), 45.0, EXACT, "P16 exact");
    near(90.0 - run.rotation(0), 56.310, EXACT, "P16 exact, plane from vertical");
    // 14.42 is rounded to two decimals: 0.005 in of 14.42 turns the 45° by 0.01°.
    near(rolled(8.0, 12.0, 14.42).angle(0), 45.0, 0.01, "P16 printed");
    // Two pipefitter texts' rule: 12 up, 16 across, 45° fittings.
    let run = rolled(12.0, 16.0, 20.0);
    near(run.angle(0), 45.0, EXACT, "P17: true offset, printed and exact");
    near(90.0 - run.rotation(0), 53.130, EXACT, "P17 exact, plane from vertical");
    near(run.leg(1), 28.284, EXACT, "P17 exact, travel");
    // 1.414 is √2 to three decimals, so 20 in are off by up to 0.01.
    near(run.leg(1), 20.0 * 1.414, 0.01, "P17 printed rule");
}

#[test]
fn p18_instrument_tube_offset() {
    // An instrument tube guide: L = 2 F at 30°, 1.414 F at 45°; here F = 100 mm.
    let rise = |travel, angle| offset(Unit::Mm, 12.0, 36.0, travel, angle).corner(2)[1];
    near(rise(200.0, 30.0), 100.0, 1e-9, "P18 30°, printed and exact");
    near(rise(100.0 * 2f64.sqrt(), 45.0), 100.0, 1e-9, "P18 45° exact");
    // 1.414 is √2 to three decimals: off by up to 0.0005 in 1.414.
    near(rise(141.4, 45.0), 100.0, 100.0 * 0.0005 / 1.414, "P18 45° printed");
}
