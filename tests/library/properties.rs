//! Properties that hold for every run: 1 to 8 bends of 5° to 179°, anywhere in space, and up to 200
//! bends of 5° to 170°.

use crate::support;
use std::f64::consts::PI;

use proptest::prelude::*;
use tubewright::centreline::{Centreline, CornerPoint, Segment, TableRow, from_corners, from_table};
use tubewright::fit;
use tubewright::formula::{bend, section};
use tubewright::geometry::{Frame, InnerSpace, MetricSpace, Point3, Vector3, turned};
use tubewright::tolerance::CLEARANCE_MM;

/// Rounding of runs of up to eight bends; the corner of a 179° bend is 115 radii away.
const ROUNDING_MM: f64 = 1e-6;
const ROUNDING_RAD: f64 = 1e-9;

const ORIGIN: Point3 = Point3::new(0.0, 0.0, 0.0);

fn unit() -> impl Strategy<Value = Vector3> {
    (-1.0..1.0f64, 0.0..2.0 * PI).prop_map(|(z, around)| {
        let flat = (1.0 - z * z).sqrt();
        Vector3::new(flat * around.cos(), flat * around.sin(), z)
    })
}

fn point() -> impl Strategy<Value = Point3> {
    [-1000.0..1000.0f64, -1000.0..1000.0, -1000.0..1000.0].prop_map(Point3::from)
}

fn frame() -> impl Strategy<Value = Frame> {
    (point(), unit()).prop_map(|(origin, direction)| Frame::new(origin, direction))
}

fn row() -> impl Strategy<Value = TableRow> {
    let length = prop_oneof![1 => Just(0.0), 5 => 1e-3..250.0f64];
    // 180° to either side of the plane is one rotation, so it gets a margin of rounding.
    let rotation = prop_oneof![1 => Just(0.0), 1 => Just(PI), 4 => -0.9999 * PI..0.9999 * PI];
    (length, rotation, 5.0..179.0f64, 15.0..150.0f64).prop_map(|(length, rotation, angle, radius)| TableRow {
        length,
        rotation,
        angle: angle.to_radians(),
        radius,
    })
}

fn line() -> impl Strategy<Value = Centreline> {
    let end = prop_oneof![1 => Just(0.0), 5 => 1e-3..250.0f64];
    (frame(), prop::collection::vec(row(), 1..=8), end)
        .prop_map(|(frame, rows, end)| from_table(frame, &rows, end).expect("rows are sound"))
}

fn corners(line: &Centreline) -> Vec<CornerPoint> {
    line.bends()
        .iter()
        .map(|b| CornerPoint { at: b.corner.expect("below 180° there is a corner"), radius: b.radius })
        .collect()
}

/// How far apart two angles are on the circle, rad.
fn turn_between(a: f64, b: f64) -> f64 {
    let turn = (a - b).rem_euclid(2.0 * PI);
    turn.min(2.0 * PI - turn)
}

fn same_rows(found: &[TableRow], wanted: &[TableRow], first_rotation: bool) -> Result<(), TestCaseError> {
    prop_assert_eq!(found.len(), wanted.len());
    for (index, (found, wanted)) in found.iter().zip(wanted).enumerate() {
        prop_assert!((found.length - wanted.length).abs() < ROUNDING_MM, "{found:?} {wanted:?}");
        prop_assert!((found.angle - wanted.angle).abs() < ROUNDING_RAD, "{found:?} {wanted:?}");
        prop_assert_eq!(found.radius, wanted.radius);
        prop_assert!(-PI < found.rotation && found.rotation <= PI);
        if index > 0 || first_rotation {
            // Next to a bend of 5° the plane is known ten times less well than the angle.
            let turn = turn_between(found.rotation, wanted.rotation);
            prop_assert!(turn < 20.0 * ROUNDING_RAD, "{found:?} {wanted:?}");
        }
    }
    Ok(())
}

/// Clearance of the first of two tubes, from the other or from itself.
fn clearance(a: &Centreline, b: &Centreline, ods: [f64; 2]) -> f64 {
    let laid = |index, line: &Centreline, od| {
        support::laid(index, &format!("r{index}"), line.clone(), support::copper(od, 1.0))
    };
    let layout = support::layout(vec![laid(0, a, ods[0]), laid(1, b, ods[1])]);
    fit::check(&layout).0.min_clearance(0).expect("there is another run")
}

/// A run of up to three bends near the origin, so that two of them are often near each other.
fn crowded() -> impl Strategy<Value = Centreline> {
    let frame = ([-150.0..150.0f64, -150.0..150.0, -150.0..150.0], unit())
        .prop_map(|(at, direction)| Frame::new(Point3::from(at), direction));
    (frame, prop::collection::vec(row(), 1..=3), 1.0..100.0f64)
        .prop_map(|(frame, rows, end)| from_table(frame, &rows, end).expect("rows are sound"))
}

/// The same run a kilometre away.
fn far_away(line: &Centreline) -> Centreline {
    let frame = line.frame();
    let there = Frame { origin: frame.origin + Vector3::new(1e6, 0.0, 0.0), ..frame };
    from_table(there, &line.table(), line.end_straight()).expect("it was a run")
}

const SAMPLES: i32 = 400;

/// Nearest distance of two centrelines by samples that are `rim` mm or more from their ends.
fn sampled(a: &Centreline, b: &Centreline, rim: f64) -> f64 {
    let points = |line: &Centreline| -> Vec<Point3> {
        (0..=SAMPLES)
            .map(|k| line.length() * f64::from(k) / f64::from(SAMPLES))
            .filter(|station| (rim..=line.length() - rim).contains(station))
            .map(|station| line.point_at(station))
            .collect()
    };
    let (a, b) = (points(a), points(b));
    a.iter().flat_map(|p| b.iter().map(move |q| p.distance(*q))).fold(f64::MAX, f64::min)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 100, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn clearance_does_not_depend_on_where_or_in_what_order(
        a in crowded(), b in crowded(), ods in [6.0..14.0f64, 6.0..14.0], axis in unit(), angle in 0.0..6.0f64
    ) {
        let here = clearance(&a, &b, ods);
        let moved = |line: &Centreline| {
            let spun = |v: Vector3| turned(v, axis, angle);
            let frame = line.frame();
            let there = Frame {
                origin: ORIGIN + spun(frame.origin - ORIGIN) + Vector3::new(300.0, -200.0, 100.0),
                direction: spun(frame.direction),
                normal: spun(frame.normal),
            };
            from_table(there, &line.table(), line.end_straight()).expect("it was a run")
        };
        prop_assert!((clearance(&moved(&a), &moved(&b), ods) - here).abs() <= CLEARANCE_MM);
        prop_assert!((clearance(&a.reversed(), &b.reversed(), ods) - here).abs() <= CLEARANCE_MM);
    }

    #[test]
    fn clearance_is_what_samples_show(a in crowded(), b in crowded(), ods in [6.0..14.0f64, 6.0..14.0]) {
        let found = clearance(&a, &b, ods);
        let around = (ods[0] + ods[1]) / 2.0;
        // Away from its flat ends a tube holds a ball around each point of its centreline.
        let rim = ods[0].max(ods[1]) / 2.0;
        let walls = sampled(&a, &b, rim) - around;
        prop_assert!(found <= walls + CLEARANCE_MM, "{found} {walls}");
        // Nowhere does it reach out of such a ball. Between samples it may be nearer by half a step;
        // and the run may be nearer to itself.
        let step = (a.length() + b.length()) / f64::from(2 * SAMPLES);
        let balls = sampled(&a, &b, 0.0) - around - step;
        let alone = clearance(&a, &far_away(&b), ods);
        prop_assert!(found >= balls.min(alone) - CLEARANCE_MM, "{found} {balls} {alone}");
    }
}

/// A run of many tight bends, which often comes back to itself.
fn tangled() -> impl Strategy<Value = Centreline> {
    let row = (0.0..60.0f64, -PI..PI, 60.0..179.0f64, 18.0..30.0f64).prop_map(
        |(length, rotation, angle, radius)| TableRow { length, rotation, angle: angle.to_radians(), radius },
    );
    prop::collection::vec(row, 3..=8)
        .prop_map(|rows| from_table(Frame::default(), &rows, 40.0).expect("rows are sound"))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 100, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_run_is_as_near_to_itself_as_samples_show(line in tangled(), od in 6.0..14.0f64) {
        let tightest = line.bends().iter().map(|b| b.radius).fold(f64::MAX, f64::min);
        let count = 1500;
        let step = line.length() / f64::from(count);
        let points: Vec<Point3> = (0..=count).map(|k| line.point_at(step * f64::from(k))).collect();
        // Places at least half a turn of the tightest bend apart along the tube.
        let skip = (PI * tightest / step).ceil() as usize;
        let nearest = |rim: usize| {
            let inner = &points[rim..points.len() - rim];
            (0..inner.len())
                .flat_map(|i| (i + skip..inner.len()).map(move |j| inner[i].distance(inner[j])))
                .fold(f64::MAX, f64::min)
        };
        let found = clearance(&line, &far_away(&line), [od, od]);
        let comes_back = found < 1e5;
        let legs_of_a_u = 2.0 * tightest - CLEARANCE_MM;
        let (walls, balls) = (nearest((od / 2.0 / step).ceil() as usize), nearest(0));
        if walls < legs_of_a_u - CLEARANCE_MM {
            prop_assert!(comes_back && found <= walls - od + CLEARANCE_MM, "{found} {walls}");
        }
        if comes_back {
            prop_assert!(found >= balls - od - step - CLEARANCE_MM, "{found} {balls}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn table_to_corners_to_table_is_the_identity(line in line()) {
        let back = from_corners(line.start(), &corners(&line), line.end());
        let back = match back {
            Ok(back) => back,
            Err(faults) => return Err(TestCaseError::fail(format!("{faults:?}"))),
        };
        same_rows(&back.table(), &line.table(), true)?;
        prop_assert!((back.end_straight() - line.end_straight()).abs() < ROUNDING_MM);
        prop_assert!(back.end().distance(line.end()) < ROUNDING_MM);
    }

    #[test]
    fn corners_to_table_to_corners_is_the_identity(line in line()) {
        let laid = from_corners(line.start(), &corners(&line), line.end()).expect("they were corners of a run");
        let again = from_table(laid.frame(), &laid.table(), laid.end_straight()).expect("it was a table");
        prop_assert!(again.start().distance(line.start()) < ROUNDING_MM);
        prop_assert!(again.end().distance(line.end()) < ROUNDING_MM);
        for (found, wanted) in again.corner_points().iter().zip(line.corner_points()) {
            // A corner 115 radii away moves by that much of the angle's rounding.
            prop_assert!(found.distance(wanted) < 10.0 * ROUNDING_MM, "{found:?} {wanted:?}");
        }
    }

    #[test]
    fn reversing_mirrors_the_table(line in line()) {
        let back = line.reversed();
        let mut straights = line.straights();
        straights.reverse();
        for (found, wanted) in back.straights().iter().zip(&straights) {
            prop_assert!((found - wanted).abs() < ROUNDING_MM);
        }
        let count = line.bends().len();
        for (index, bend) in back.bends().iter().enumerate() {
            let twin = &line.bends()[count - 1 - index];
            prop_assert!((bend.angle - twin.angle).abs() < ROUNDING_RAD);
            prop_assert_eq!(bend.radius, twin.radius);
            prop_assert!((line.length() - bend.end() - twin.start).abs() < ROUNDING_MM);
            if index > 0 {
                // Between the same two bends the tube turns the same way seen from either end.
                let between = line.bends()[count - index].rotation;
                prop_assert!(turn_between(bend.rotation, between) < ROUNDING_RAD);
            }
        }
        prop_assert!(back.start().distance(line.end()) < ROUNDING_MM);
        prop_assert!(back.end().distance(line.start()) < ROUNDING_MM);
        for share in [0.1, 0.37, 0.5, 0.93] {
            let station = share * line.length();
            let there = back.point_at(line.length() - station);
            prop_assert!(there.distance(line.point_at(station)) < ROUNDING_MM);
        }
    }

    #[test]
    fn a_rigid_motion_changes_only_coordinates(
        line in line(), axis in unit(), angle in 0.0..2.0 * PI, shift in unit(), by in 0.0..500.0f64
    ) {
        let moved = |p: Point3| ORIGIN + turned(p - ORIGIN, axis, angle) + shift * by;
        let at: Vec<CornerPoint> =
            corners(&line).iter().map(|c| CornerPoint { at: moved(c.at), radius: c.radius }).collect();
        let there = from_corners(moved(line.start()), &at, moved(line.end())).expect("it was a run");
        same_rows(&there.table(), &line.table(), false)?;
        prop_assert!((there.length() - line.length()).abs() < 10.0 * ROUNDING_MM);
        for share in [0.0, 0.21, 0.5, 0.77, 1.0] {
            let station = share * line.length();
            prop_assert!(there.point_at(station).distance(moved(line.point_at(station))) < 10.0 * ROUNDING_MM);
        }
    }

    #[test]
    fn length_is_straights_and_arcs(line in line()) {
        let straights: f64 = line.straights().iter().sum();
        let arcs: f64 = line.bends().iter().map(|b| bend::arc_length(b.radius, b.angle)).sum();
        prop_assert!((line.length() - straights - arcs).abs() < ROUNDING_MM);
        let segments: f64 = line.segments().iter().map(Segment::length).sum();
        prop_assert!((line.length() - segments).abs() < ROUNDING_MM);
        // Walked in steps, the path is as long, less what the steps cut off the bends.
        let steps = 4000;
        let at = |k: i32| line.point_at(line.length() * f64::from(k) / f64::from(steps));
        let walked: f64 = (0..steps).map(|k| at(k).distance(at(k + 1))).sum();
        prop_assert!(walked <= line.length() + ROUNDING_MM);
        let step = line.length() / f64::from(steps);
        let tightest = line.bends().iter().map(|b| b.radius).fold(f64::MAX, f64::min);
        // A chord of a bend is short by step³/24R²; a step over a tangent point by less than as much again.
        let lost = f64::from(steps) * step.powi(3) / (24.0 * tightest * tightest);
        prop_assert!(line.length() - walked <= lost * 1.01 + ROUNDING_MM);
    }

    #[test]
    fn segments_follow_each_other_without_a_kink(line in line()) {
        let ends: Vec<(Point3, Vector3, Point3, Vector3)> = line
            .segments()
            .iter()
            .map(|s| (s.start(), s.direction_at(0.0), s.end(), s.direction_at(s.length())))
            .collect();
        for pair in ends.windows(2) {
            prop_assert!(pair[0].2.distance(pair[1].0) < 1e-9);
            prop_assert!((pair[0].3 - pair[1].1).magnitude() < 1e-9);
        }
        let (first, last) = (ends[0], ends[ends.len() - 1]);
        prop_assert!(first.0.distance(line.start()) < 1e-9);
        prop_assert!((first.1 - line.start_direction()).magnitude() < 1e-9);
        prop_assert!(last.2.distance(line.end()) < 1e-9);
        prop_assert!((last.3 - line.end_direction()).magnitude() < 1e-9);
    }

    #[test]
    fn points_are_on_the_path(line in line(), share in 0.0..1.0f64) {
        let station = share * line.length();
        let point = line.point_at(station);
        let mut left = station;
        let here = line.segments().iter().find(|s| {
            let inside = left <= s.length();
            if !inside {
                left -= s.length();
            }
            inside
        });
        match *here.expect("a station of the run is on a segment") {
            Segment::Straight { from, direction, length } => {
                prop_assert!((point - from).cross(direction).magnitude() < 1e-9);
                prop_assert!((-1e-9..=length + 1e-9).contains(&(point - from).dot(direction)));
            }
            Segment::Arc { centre, axis, from, .. } => {
                let radius = centre.distance(from);
                prop_assert!((point.distance(centre) - radius).abs() < 1e-9);
                prop_assert!((point - centre).dot(axis).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn bends_turn_between_their_tangents(line in line()) {
        for bend in line.bends() {
            let (at, to) = (line.point_at(bend.start), line.point_at(bend.end()));
            let setback = bend::setback(bend.radius, bend.angle);
            let corner = bend.corner.expect("below 180° there is a corner");
            let slack = 1e-9 * (1.0 + setback);
            prop_assert!((at + bend.direction_in * setback).distance(corner) < slack);
            prop_assert!((to - bend.direction_out * setback).distance(corner) < slack);
            prop_assert!((bend.axis.magnitude() - 1.0).abs() < 1e-12);
            prop_assert!(bend.axis.dot(bend.direction_in).abs() < 1e-12);
            prop_assert!((bend.direction_in.dot(bend.direction_out) - bend.angle.cos()).abs() < 1e-12);
        }
    }

    #[test]
    fn metal_follows_pappus(line in line(), od in 4.0..29.0f64, share in 0.02..0.98f64) {
        let wall = od / 2.0 * share;
        // Midpoint sums over the ring of each section, in cylindrical coordinates about the bend's
        // axis: dV = (R + r·cos q)·r dr dq da.
        let (rings, spokes) = (200, 24);
        let ring_sum = |radius: Option<f64>, length: f64| {
            let (dr, dq) = (wall / f64::from(rings), 2.0 * PI / f64::from(spokes));
            let mut sum = 0.0;
            for i in 0..rings {
                let r = od / 2.0 - wall + dr * (f64::from(i) + 0.5);
                for k in 0..spokes {
                    let outward = r * (dq * (f64::from(k) + 0.5)).cos();
                    sum += r * dr * dq * radius.map_or(length, |bend| (bend + outward) * length / bend);
                }
            }
            sum
        };
        let summed: f64 = line.segments().iter().map(|s| ring_sum(s.radius(), s.length())).sum();
        let closed = section::metal_volume(od, wall, line.length());
        prop_assert!((summed / closed - 1.0).abs() < 1e-9, "{summed} {closed}");
    }
}

/// A run of many bends, no corner of which is far out.
fn long_line() -> impl Strategy<Value = Centreline> {
    let row = (0.0..120.0f64, -0.9999 * PI..0.9999 * PI, 5.0..170.0f64, 15.0..60.0f64).prop_map(
        |(length, rotation, angle, radius)| TableRow { length, rotation, angle: angle.to_radians(), radius },
    );
    (frame(), prop::collection::vec(row, 9..=200), 1.0..100.0f64)
        .prop_map(|(frame, rows, end)| from_table(frame, &rows, end).expect("rows are sound"))
}

/// Every direction and axis is a unit, square to each other, and no straight or arc leaves a gap.
fn keeps_its_shape(line: &Centreline) -> Result<(), TestCaseError> {
    for bend in line.bends() {
        for unit in [bend.direction_in, bend.direction_out, bend.axis] {
            prop_assert!((unit.magnitude() - 1.0).abs() < 1e-12, "bend {}", bend.number);
        }
        prop_assert!(bend.axis.dot(bend.direction_in).abs() < 1e-12, "bend {}", bend.number);
        prop_assert!(bend.axis.dot(bend.direction_out).abs() < 1e-12, "bend {}", bend.number);
    }
    for segment in line.segments() {
        let along = segment.direction_at(segment.length() / 2.0);
        prop_assert!((along.magnitude() - 1.0).abs() < 1e-12);
        if let Some(radius) = segment.radius() {
            let nearest = line.bends().iter().map(|b| (b.radius - radius).abs()).fold(f64::MAX, f64::min);
            prop_assert!(nearest < 1e-9, "an arc of radius {radius}");
        }
    }
    for pair in line.segments().windows(2) {
        prop_assert!(pair[0].end().distance(pair[1].start()) < 1e-9);
    }
    prop_assert!((line.end_direction().magnitude() - 1.0).abs() < 1e-12);
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn two_hundred_bends_through_corners_meet_their_end(line in long_line()) {
        let laid = from_corners(line.start(), &corners(&line), line.end()).expect("they were corners of a run");
        prop_assert!(laid.start().distance(line.start()) < ROUNDING_MM);
        prop_assert!(laid.end().distance(line.end()) < ROUNDING_MM);
        let walked = laid.segments().last().expect("a long run").end();
        prop_assert!(walked.distance(line.end()) < ROUNDING_MM, "{}", walked.distance(line.end()));
        for (found, wanted) in laid.corner_points().iter().zip(line.corner_points()) {
            prop_assert!(found.distance(wanted) < ROUNDING_MM);
        }
        keeps_its_shape(&laid)?;
    }

    #[test]
    fn two_hundred_bends_of_a_table_lead_back_to_their_start(line in long_line()) {
        keeps_its_shape(&line)?;
        let back = line.reversed();
        keeps_its_shape(&back)?;
        prop_assert!(back.end().distance(line.start()) < ROUNDING_MM, "{}", back.end().distance(line.start()));
        prop_assert!((back.end_direction() + line.start_direction()).magnitude() < ROUNDING_RAD);
        prop_assert!((back.length() - line.length()).abs() < ROUNDING_MM);
    }
}

#[test]
fn a_half_turn_is_legal_in_a_table_and_has_no_corner() {
    let row = TableRow { length: 50.0, rotation: 0.0, angle: PI, radius: 30.0 };
    let line = from_table(Frame::default(), &[row], 70.0).expect("180° is legal in a table");
    assert_eq!(line.bends()[0].corner, None);
    assert_eq!(line.corner_points().len(), 2);
    assert!(line.end().distance(Point3::new(-20.0, 60.0, 0.0)) < 1e-12);
    assert!((line.length() - 120.0 - 30.0 * PI).abs() < 1e-12);
}

#[test]
fn a_straight_of_rounding_leaves_no_gap() {
    let row = |length| TableRow { length, rotation: 0.0, angle: 1.0, radius: 30.0 };
    let line = from_table(Frame::default(), &[row(5e-7), row(9e-7)], 3e-7).expect("a sound table");
    let gaps: Vec<f64> = line.segments().windows(2).map(|s| s[0].end().distance(s[1].start())).collect();
    assert_eq!(line.segments().len(), 2);
    assert!(gaps.iter().all(|gap| *gap < 1e-12), "{gaps:?}");
    assert!(line.segments()[1].end().distance(line.end()) < 1e-12);
    assert_eq!(line.straights(), [0.0; 3]);
}
