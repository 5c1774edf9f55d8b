//! Tables of bends, offsets, strain and section: of any trade textbook, computed from elementary
//! geometry, unless a source is named.

use tubewright::centreline::{CornerPoint, from_corners};
use tubewright::formula::{section, wall};
use tubewright::geometry::{MetricSpace, Point3};

use super::program::{Unit, bend, corners, offset, one};
use super::{EXACT, near};

/// Arc, setback and gain of a bend the program lays out. The gain is what the two legs are longer than
/// the tube.
fn parts(radius: f64, angle: f64) -> [f64; 3] {
    let run = bend(Unit::Mm, radius / 4.0, radius, angle);
    [run.arc(0), run.leg(0) - run.straight(0), run.along(2) - run.length()]
}

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
        let [found_arc, found_setback, found_gain] = parts(100.0, angle).map(|length| length / 100.0);
        near(found_arc, arc, 6e-7, "arc/R");
        near(found_setback, setback, 6e-7, "setback/R");
        near(found_gain, gain, 6e-7, "gain/R");
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
        let ([right_arc, _, right_gain], half) = (parts(radius, 90.0), parts(radius, 45.0));
        near(right_arc, arc90, 6e-4, "arc of 90°");
        near(right_gain, gain90, 6e-4, "gain of 90°");
        near(half[0], arc45, 6e-4, "arc of 45°");
        near(half[1], setback45, 6e-4, "setback of 45°");
        near(half[2], gain45, 6e-4, "gain of 45°");
    }
}

#[test]
fn segments_of_a_right_angle() {
    // Ticks that divide a 90° bend of R 50: step along the arc, step across.
    let run = bend(Unit::Mm, 12.0, 50.0, 90.0);
    for (count, arc, chord) in [(9.0, 8.7266, 8.7156), (3.0, 26.180, 25.882)] {
        let step = run.arc(0) / count;
        near(step, arc, 5e-4, "arc of a segment");
        let (from, to) = (run.point(run.start(0) + step), run.point(run.start(0) + 2.0 * step));
        near(from.distance(to), chord, 5e-4, "chord of a segment");
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

/// Travel and shrink per unit of rise of an offset the program lays out.
fn multiplier_and_shrink(angle: f64) -> (f64, f64) {
    let run = offset(Unit::Mm, 2.0, 10.0, 200.0, angle);
    let rise = run.corner(2)[1];
    (run.leg(1) / rise, run.shrink(2) / rise)
}

#[test]
fn offset_multiplier_and_shrink_are_exact() {
    for (angle, multiplier, _, shrink, _) in OFFSETS {
        let (found_multiplier, found_shrink) = multiplier_and_shrink(angle);
        near(found_multiplier, multiplier, 6e-5, "csc a");
        near(found_shrink, shrink, 6e-6, "tan(a/2)");
    }
}

#[test]
fn trade_multiplier_and_shrink_deviate_as_stated() {
    // Rounded columns printed alike in several conduit-bending texts.
    let percent = |trade: f64, exact: f64| (trade / exact - 1.0) * 100.0;
    for (angle, _, multiplier, _, shrink) in OFFSETS {
        let (exact_multiplier, exact_shrink) = multiplier_and_shrink(angle);
        if let Some((trade, deviation)) = multiplier {
            near(percent(trade, exact_multiplier), deviation, 0.06, "trade multiplier");
        }
        if let Some((trade, deviation)) = shrink {
            near(percent(trade, exact_shrink), deviation, 0.06, "trade shrink");
        }
    }
}

#[test]
fn an_offset_of_real_bends() {
    // 45°, rise 50, R 50, elementary geometry: the tube is h·tan(a/2) less two gains longer than its run.
    let points = [[0.0; 3], [100.0, 0.0, 0.0], [150.0, 50.0, 0.0], [250.0, 50.0, 0.0]];
    let run = one(Unit::Mm, 12.0, 50.0, corners(&points));
    near(run.length() - 250.0, 16.408, EXACT, "shortening");
    near(run.middle(1) - run.middle(0), 68.559, EXACT, "between middles");
    // Its bends touch at a rise of 2R·(1 − cos a) = 29.289.
    let fits = |rise: f64| {
        let corner = |x, y| CornerPoint { at: Point3::new(x, y, 0.0), radius: 50.0 };
        let corners = [corner(100.0, 0.0), corner(100.0 + rise, rise)];
        from_corners(Point3::new(0.0, 0.0, 0.0), &corners, Point3::new(250.0, rise, 0.0)).is_ok()
    };
    assert!(fits(29.290) && !fits(29.288), "smallest rise");
}

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
