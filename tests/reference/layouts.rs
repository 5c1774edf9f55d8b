//! Layout examples P1 to P18 printed in texts: what is printed, within the text's own rounding, and
//! what elementary geometry gives.

use tubewright::formula::{bend, offset};
use tubewright::geometry::InnerSpace;

use super::{EXACT, deg, near, through};

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
