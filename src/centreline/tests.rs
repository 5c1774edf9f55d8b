use std::f64::consts::{FRAC_PI_2, PI};

use super::{CornerPoint, TableFault, TableRow, from_corners, from_table};
use crate::geometry::{Frame, InnerSpace, MetricSpace, Point3, Vector3};
use crate::tolerance::SMALLEST_BEND;

fn corners(points: &[[f64; 3]], radius: f64) -> Vec<CornerPoint> {
    points.iter().map(|p| CornerPoint { at: Point3::from(*p), radius }).collect()
}

/// What is wrong with a run through `points`, bends of R 40.
fn faults(points: &[[f64; 3]]) -> Vec<String> {
    let (first, last) = (points[0], points[points.len() - 1]);
    let inner = corners(&points[1..points.len() - 1], 40.0);
    match from_corners(Point3::from(first), &inner, Point3::from(last)) {
        Ok(_) => Vec::new(),
        Err(faults) => faults.iter().map(ToString::to_string).collect(),
    }
}

fn row(length: f64, rotation: f64, angle: f64) -> TableRow {
    TableRow { length, rotation, angle, radius: 40.0 }
}

#[test]
fn bends_that_need_more_room_name_their_corners() {
    let found =
        faults(&[[0.0; 3], [30.0, 0.0, 0.0], [30.0, 70.0, 0.0], [100.0, 70.0, 0.0], [100.0, 80.0, 0.0]]);
    assert_eq!(
        found,
        [
            "the start and corner 1 are 30.0 mm apart; the bend there needs 40.0 mm",
            "corners 1 and 2 are 70.0 mm apart; the bends there need 80.0 mm",
            "corners 2 and 3 are 70.0 mm apart; the bends there need 80.0 mm",
            "corner 3 and the end are 10.0 mm apart; the bend there needs 40.0 mm",
        ]
    );
}

#[test]
fn a_hair_too_close_is_told_apart() {
    let found = faults(&[[0.0; 3], [39.998, 0.0, 0.0], [39.998, 90.0, 0.0]]);
    assert_eq!(found, ["the start and corner 1 are 39.998 mm apart; the bend there needs 40.000 mm"]);
}

#[test]
fn bends_may_touch() {
    let line = from_corners(
        Point3::new(0.0, 0.0, 0.0),
        &corners(&[[40.0, 0.0, 0.0], [40.0, 80.0, 0.0]], 40.0),
        Point3::new(80.0, 80.0, 0.0),
    )
    .unwrap();
    assert_eq!(line.straights(), [0.0; 3]);
    assert_eq!(line.segments().len(), 2);
    assert!((line.length() - 40.0 * PI).abs() < 1e-12);
    assert_eq!(line.start_direction(), Vector3::unit_x());
}

#[test]
fn points_in_line_and_points_turning_back_are_told_apart() {
    assert_eq!(
        faults(&[[0.0; 3], [100.0, 0.0, 0.0], [200.0, 0.05, 0.0], [200.0, 200.0, 0.0], [200.0, 20.0, 0.0]]),
        [
            "corner 1 lies in line with its neighbours, so there is nothing to bend",
            "the run turns back on itself at corner 3; a bend of 180° has no corner",
        ]
    );
}

#[test]
fn coinciding_points_are_named() {
    assert_eq!(
        faults(&[[0.0; 3], [0.0; 3], [100.0, 0.0, 0.0], [100.0, 0.0, 0.0], [100.0, 0.0, 0.0]]),
        [
            "the start and corner 1 are the same point",
            "corners 2 and 3 are the same point",
            "corner 3 and the end are the same point",
        ]
    );
    assert_eq!(faults(&[[5.0; 3], [5.0; 3]]), ["the start and the end are the same point"]);
}

#[test]
fn faults_point_at_a_corner_and_say_what_to_do() {
    let start = Point3::new(0.0, 0.0, 0.0);
    let found =
        from_corners(start, &corners(&[[30.0, 0.0, 0.0]], 40.0), Point3::new(30.0, 90.0, 0.0)).unwrap_err();
    assert_eq!(found[0].code(), "corners-too-close");
    assert_eq!(found[0].corner(), Some(1));
    assert!(found[0].advice().contains("smaller `clr`"));
    let ends = from_corners(start, &[], start).unwrap_err();
    assert_eq!((ends[0].corner(), ends[0].advice()), (None, "move one of the two ends"));
    let back =
        from_corners(start, &corners(&[[90.0, 0.0, 0.0]], 40.0), Point3::new(10.0, 0.0, 0.0)).unwrap_err();
    assert_eq!(back.len(), 1);
    assert!(back[0].advice().contains("bend table"));
}

#[test]
fn the_smallest_bend_is_a_bend() {
    let to = |angle: f64| Point3::new(100.0 + 100.0 * angle.cos(), 100.0 * angle.sin(), 0.0);
    let corner = corners(&[[100.0, 0.0, 0.0]], 40.0);
    let start = Point3::new(0.0, 0.0, 0.0);
    let line = from_corners(start, &corner, to(SMALLEST_BEND * 1.001)).unwrap();
    assert!((line.bends()[0].angle / SMALLEST_BEND - 1.001).abs() < 1e-9);
    assert!(line.end().distance(to(SMALLEST_BEND * 1.001)) < 1e-9);
    assert!(from_corners(start, &corner, to(SMALLEST_BEND * 0.999)).is_err());
}

#[test]
fn a_table_reports_every_bad_row() {
    let rows = [row(-5.0, 0.0, 1.0), row(5.0, 0.0, 0.0), row(5.0, 0.0, 3.5)];
    let found = from_table(Frame::default(), &rows, -1.0).unwrap_err();
    let said: Vec<String> = found.iter().map(ToString::to_string).collect();
    assert_eq!(
        said,
        [
            "the straight before bend 1 is -5.0 mm long",
            "bend 2 turns by 0.00°; a bend turns by 0.05° to 180°",
            "bend 3 turns by 200.54°; a bend turns by 0.05° to 180°",
            "the straight after the last bend is -1.0 mm long",
        ]
    );
    assert_eq!(found.iter().map(TableFault::row).collect::<Vec<_>>(), [Some(1), Some(2), Some(3), None]);
    assert_eq!(from_table(Frame::default(), &[], 0.0).unwrap_err(), [TableFault::Empty]);
}

#[test]
fn rotation_is_clockwise_seen_along_the_tube() {
    // From +X, looking along it: y is left, z is up, so clockwise from left is up.
    let along = |rotation: f64| {
        from_table(Frame::default(), &[row(50.0, rotation, FRAC_PI_2)], 50.0).unwrap().end_direction()
    };
    for (rotation, wanted) in [
        (0.0, Vector3::unit_y()),
        (FRAC_PI_2, Vector3::unit_z()),
        (PI, -Vector3::unit_y()),
        (-FRAC_PI_2, -Vector3::unit_z()),
    ] {
        assert!((along(rotation) - wanted).magnitude() < 1e-15, "{rotation}");
    }
}

#[test]
fn along_z_rotation_zero_turns_about_world_x() {
    let up = Frame::new(Point3::new(0.0, 0.0, 0.0), Vector3::unit_z());
    let line = from_table(up, &[row(50.0, 0.0, FRAC_PI_2)], 50.0).unwrap();
    assert!((line.end_direction() + Vector3::unit_y()).magnitude() < 1e-15);
    let down = Frame::new(Point3::new(0.0, 0.0, 0.0), -Vector3::unit_z());
    let line = from_table(down, &[row(50.0, 0.0, FRAC_PI_2)], 50.0).unwrap();
    assert!((line.end_direction() - Vector3::unit_y()).magnitude() < 1e-15);
}

#[test]
fn bends_that_share_a_plane_are_grouped() {
    let groups = |rotations: &[f64]| -> Vec<(usize, usize)> {
        let rows: Vec<TableRow> = rotations.iter().map(|r| row(60.0, r.to_radians(), 0.6)).collect();
        let line = from_table(Frame::default(), &rows, 60.0).unwrap();
        line.plane_groups().into_iter().map(|group| (group.start, group.end)).collect()
    };
    assert_eq!(groups(&[]), []);
    assert_eq!(groups(&[37.0]), [(0, 1)]);
    assert_eq!(groups(&[37.0, 0.0, 180.0, -180.0]), [(0, 4)]);
    assert_eq!(groups(&[0.0, 180.0, 90.0, 0.0, 30.0]), [(0, 2), (2, 4), (4, 5)]);
    assert_eq!(groups(&[0.0, 0.02, 0.06]), [(0, 2), (2, 3)]);
    // Small turns add up: the third bend is 0.06° out of the first one's plane.
    assert_eq!(groups(&[0.0, 0.03, 0.03]), [(0, 2), (2, 3)]);
}

#[test]
fn stations_beyond_the_ends_are_the_ends() {
    let line = from_table(Frame::default(), &[row(60.0, 0.0, 1.0)], 60.0).unwrap();
    assert_eq!(line.point_at(-5.0), line.start());
    assert_eq!(line.point_at(f64::NAN), line.start());
    assert_eq!(line.point_at(1e9), line.end());
}

#[test]
fn a_run_reversed_twice_is_the_run() {
    let rows = [row(60.0, 0.3, 1.0), row(0.0, PI, PI), row(20.0, -2.0, 2.0)];
    let line = from_table(Frame::default(), &rows, 45.0).unwrap();
    let again = line.reversed().reversed();
    assert!(again.end().distance(line.end()) < 1e-9);
    for (found, wanted) in again.table().iter().zip(line.table()) {
        assert!((found.length - wanted.length).abs() < 1e-9);
        let turn = (found.rotation - wanted.rotation).rem_euclid(2.0 * PI);
        assert!(turn.min(2.0 * PI - turn) < 1e-9, "{found:?} {wanted:?}");
        assert_eq!((found.angle, found.radius), (wanted.angle, wanted.radius));
    }
}
