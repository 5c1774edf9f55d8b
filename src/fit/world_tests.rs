use proptest::prelude::*;

use super::{Clearance, Obstacle, World, check};
use crate::centreline::{Centreline, LaidRun};
use crate::geometry::{MetricSpace, Placement, Point3, Vector3};
use crate::spec::model::{Component, Rotation, Shape};
use crate::testing::{layout, meshed, run, table_run, tank, u_mesh};
use crate::tolerance::CLEARANCE_MM;

const OD: f64 = 15.0;

fn straight(from: [f64; 3], to: [f64; 3]) -> LaidRun {
    run("line", 40.0, &[from, to])
}

fn near(found: Point3, wanted: [f64; 3]) {
    assert!(found.distance(Point3::from(wanted)) <= 0.02, "{found:?} is not {wanted:?}");
}

fn cylinder(from: [f64; 3], to: [f64; 3], diameter: f64) -> Component {
    let shape = Shape::Cylinder { from: Point3::from(from), to: Point3::from(to), diameter };
    Component::new("bar", vec![shape], vec![])
}

#[test]
fn the_nearest_places_lie_on_both_surfaces() {
    // Over a run along x, 40 mm higher: 25 mm between surfaces.
    let world = World::new(&[], &[straight([0.0; 3], [100.0, 0.0, 0.0])]);
    let over = straight([50.0, -50.0, 40.0], [50.0, 50.0, 40.0]).centreline;
    let found = world.clearance(&over, OD, &[]).unwrap();
    assert!((found.distance - 25.0).abs() < CLEARANCE_MM && found.obstacle == Obstacle::Run(0));
    near(found.on_run, [50.0, 0.0, 32.5]);
    near(found.on_obstacle, [50.0, 0.0, 7.5]);
    // A thinner tube on the same line.
    assert!((world.clearance(&over, 5.0, &[]).unwrap().distance - 30.0).abs() < CLEARANCE_MM);

    // A flat end 30 mm in front of a box.
    let block = tank([100.0, -50.0, -50.0], [200.0, 50.0, 50.0], [100.0, 0.0, 0.0], [-1.0, 0.0, 0.0]);
    let world = World::new(&[block], &[]);
    let before = straight([0.0; 3], [70.0, 0.0, 0.0]).centreline;
    let found = world.clearance(&before, OD, &[]).unwrap();
    assert!((found.distance - 30.0).abs() < CLEARANCE_MM && found.obstacle == Obstacle::Component(0));
    assert!((found.on_run.x - 70.0).abs() < 0.02 && (found.on_obstacle.x - 100.0).abs() < 0.02, "{found:?}");

    // 2 mm into the side of a bar: the deepest places, each inside the other.
    let world = World::new(&[cylinder([0.0, 0.0, -50.0], [0.0, 0.0, 50.0], 20.0)], &[]);
    let into = straight([15.5, -50.0, 0.0], [15.5, 50.0, 0.0]).centreline;
    let found = world.clearance(&into, OD, &[]).unwrap();
    assert!((found.distance + 2.0).abs() < CLEARANCE_MM, "{found:?}");
    near(found.on_run, [8.0, 0.0, 0.0]);
    near(found.on_obstacle, [10.0, 0.0, 0.0]);
}

/// A flat end that lies in another tube reaches less deep than a ball there would.
#[test]
fn places_at_a_flat_end_within_a_tube_are_as_far_apart_as_the_overlap_is_deep() {
    let end = run("end", 55.0, &[[-107.227, -69.741, 0.0], [42.773, -69.741, 0.0], [42.773, -219.741, 0.0]]);
    let corners = [[41.523, -73.526, -77.179], [-108.477, -73.526, -77.179], [-108.477, -73.526, 72.821]];
    let world = World::new(&[], &[run("across", 55.0, &corners)]);
    let found = world.clearance(&end.centreline, OD, &[]).unwrap();
    // The end is 1.25 mm in front of the other's axis, which is 7.5 mm from its surface.
    assert!((found.distance + 6.25).abs() < CLEARANCE_MM, "{found:?}");
    assert!(
        (found.on_run.x + 107.227).abs() < 0.02 && (found.on_obstacle.x + 100.977).abs() < 0.02,
        "{found:?}"
    );
    assert!((found.on_run.distance(found.on_obstacle) - 6.25).abs() < 0.02, "{found:?}");
}

#[test]
fn ignored_obstacles_and_empty_worlds_are_no_answer() {
    let runs = [straight([0.0; 3], [100.0, 0.0, 0.0]), straight([0.0, 0.0, 100.0], [100.0, 0.0, 100.0])];
    let line = straight([0.0, 0.0, 30.0], [100.0, 0.0, 30.0]).centreline;
    let world = World::new(&[], &runs);
    let of = |ignoring: &[Obstacle]| world.clearance(&line, OD, ignoring).map(|found| found.obstacle);
    assert_eq!(of(&[]), Some(Obstacle::Run(0)));
    assert_eq!(of(&[Obstacle::Run(0)]), Some(Obstacle::Run(1)));
    assert_eq!(of(&[Obstacle::Run(0), Obstacle::Run(1)]), None);
    assert_eq!(World::new(&[], &[]).clearance(&line, OD, &[]), None);
    // A bend table without ends has no place.
    let mut bench = table_run("bench", 40.0, &[(50.0, 0.0, 90.0)], 50.0);
    (bench.run.from, bench.run.to) = (None, None);
    assert_eq!(World::new(&[], &[bench]).clearance(&line, OD, &[]), None);
}

fn corners() -> impl Strategy<Value = Vec<[f64; 3]>> {
    let step = prop_oneof![Just(-150.0), Just(150.0), 130.0..200.0f64];
    let axes = proptest::collection::vec((0..3usize, step), 2..5);
    (proptest::array::uniform3(-200.0..200.0f64), axes).prop_map(|(start, steps)| {
        let mut corners = vec![start];
        let mut last = 3;
        for (axis, by) in steps {
            // Two legs on one axis would be no corner.
            let axis = if axis == last { (axis + 1) % 3 } else { axis };
            last = axis;
            let mut next = corners[corners.len() - 1];
            next[axis] += by;
            corners.push(next);
        }
        corners
    })
}

/// Distance of a point from the axis of a tube with flat ends, tried every 0.5 mm.
fn to_axis(line: &Centreline, at: Point3) -> f64 {
    let steps = (line.length() / 0.5).ceil();
    (0..=steps as u32)
        .map(|step| line.point_at(line.length() * f64::from(step) / steps).distance(at))
        .fold(f64::INFINITY, f64::min)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    /// A world asked about a run's line answers as the check of a layout with that run, and its places are as far
    /// apart as it says and lie on the two tubes.
    #[test]
    fn a_world_answers_as_a_layout_does(a in corners(), b in corners(), low in proptest::array::uniform3(-300.0..300.0f64)) {
        let (one, other) = (run("one", 55.0, &a), run("other", 55.0, &b));
        let high = low.map(|at| at + 60.0);
        let block = tank(low, high, low, [-1.0, 0.0, 0.0]);
        let layout = layout(vec![one.clone(), other.clone()], vec![block.clone()]);
        let world = World::new(&[block], std::slice::from_ref(&other));
        let Clearance { distance, obstacle, on_run, on_obstacle } = world.clearance(&one.centreline, OD, &[]).unwrap();
        // The layout's answer counts the run itself, and passes over a component that the run begins in.
        let whole = check(&layout).0.nearest[0].unwrap();
        if matches!(whole.obstacle, Obstacle::Run(1)) && obstacle == Obstacle::Run(0) {
            prop_assert!((whole.distance - distance).abs() <= 2.0 * CLEARANCE_MM, "{} {}", whole.distance, distance);
        }
        prop_assert!((on_run.distance(on_obstacle) - distance.abs()).abs() < 0.05, "{on_run:?} {on_obstacle:?} {distance}");
        if distance > 0.0 {
            prop_assert!(to_axis(&one.centreline, on_run) < OD / 2.0 + 0.05);
            if obstacle == Obstacle::Run(0) {
                prop_assert!(to_axis(&other.centreline, on_obstacle) < OD / 2.0 + 0.05);
            } else {
                let outside = |axis: usize| (on_obstacle[axis] - high[axis]).max(low[axis] - on_obstacle[axis]);
                prop_assert!((0..3).map(outside).fold(f64::MIN, f64::max).abs() < 0.02, "{on_obstacle:?}");
            }
        }
    }
}

/// A box turned twice, as a box and as the triangles of its faces.
fn turned_box(size: Vector3, angles: [f64; 2]) -> [Component; 2] {
    let min = Point3::new(60.0, -30.0, -20.0);
    let mut shape = Shape::square(min, min + size);
    for (axis, angle) in [Vector3::unit_z(), Vector3::unit_x()].into_iter().zip(angles) {
        shape = shape.turned(&Rotation { axis, angle, about: Point3::new(80.0, 0.0, 0.0) });
    }
    let Shape::Box { place, .. } = shape else { panic!("a box stays one") };
    let part = Component::new("box", vec![shape], vec![]);
    // Faces of the corners by their bits: low and high along each edge, counter-clockwise seen from outside.
    let quads = [[0, 4, 6, 2], [1, 3, 7, 5], [0, 1, 5, 4], [2, 6, 7, 3], [0, 2, 3, 1], [4, 5, 7, 6]];
    let faces = quads.iter().flat_map(|&[a, b, c, d]| [[a, b, c], [a, c, d]]).collect();
    [part, meshed("mesh", &(Shape::box_corners(&place, size).to_vec(), faces))]
}

#[test]
fn a_tube_between_the_legs_of_a_u_is_clear_of_both() {
    let world = World::new(&[meshed("u", &u_mesh())], &[]);
    let between = straight([50.0, -20.0, 60.0], [50.0, 70.0, 60.0]).centreline;
    let found = world.clearance(&between, OD, &[]).unwrap();
    assert!((found.distance - 22.5).abs() < CLEARANCE_MM, "{found:?}");
    // 10 mm off the middle, and 12 mm over the floor: nearest to the floor.
    let low = straight([60.0, -20.0, 32.0], [60.0, 70.0, 32.0]).centreline;
    let found = world.clearance(&low, OD, &[]).unwrap();
    assert!((found.distance - 4.5).abs() < CLEARANCE_MM, "{found:?}");
    assert!((found.on_run.z - 24.5).abs() < 0.02 && (found.on_obstacle.z - 20.0).abs() < 0.02, "{found:?}");
    // Into the gap from above, its flat end 5 mm over the floor.
    let down = straight([50.0, 25.0, 150.0], [50.0, 25.0, 25.0]).centreline;
    let found = world.clearance(&down, OD, &[]).unwrap();
    assert!((found.distance - 5.0).abs() < CLEARANCE_MM, "{found:?}");
    // Through both legs: as deep as the middle of a leg is from its sides, and the radius.
    let through = straight([-20.0, 25.0, 60.0], [120.0, 25.0, 60.0]).centreline;
    let found = world.clearance(&through, OD, &[]).unwrap();
    assert!((found.distance + 17.5).abs() < CLEARANCE_MM, "{found:?}");
    // Wholly inside a leg, along it.
    let inside = straight([8.0, 20.0, 30.0], [8.0, 20.0, 70.0]).centreline;
    let found = world.clearance(&inside, OD, &[]).unwrap();
    assert!((found.distance + 15.5).abs() < CLEARANCE_MM, "{found:?}");
}

proptest! {
    /// The triangles of a box are as far from a tube as the box, which the library knows as a convex body.
    #[test]
    fn a_mesh_is_as_far_as_the_box_it_is_made_of(
        size in (5.0..120.0f64, 5.0..120.0f64, 5.0..120.0f64),
        angles in [-3.1..3.1f64, -3.1..3.1f64],
        shift in (-60.0..60.0f64, -90.0..30.0f64, -60.0..60.0f64),
        bend in 20.0..150.0f64,
    ) {
        let [part, mesh] = turned_box(Vector3::new(size.0, size.1, size.2), angles);
        let mut line = table_run("t", 40.0, &[(60.0, 0.0, bend), (30.0, 70.0, 60.0)], 50.0);
        let origin = Point3::new(shift.0, shift.1, shift.2);
        line.centreline =
            line.centreline.moved(&Placement { origin, axis: Vector3::unit_z(), x: Vector3::unit_x() });
        let by = |part| World::new(&[part], &[]).clearance(&line.centreline, OD, &[]).unwrap();
        let (of_box, of_mesh) = (by(part), by(mesh));
        prop_assert!(
            (of_box.distance - of_mesh.distance).abs() < 2.0 * CLEARANCE_MM,
            "{of_box:?} {of_mesh:?}"
        );
        if of_box.distance > 0.1 {
            let apart = of_mesh.on_run.distance(of_mesh.on_obstacle);
            prop_assert!((apart - of_mesh.distance).abs() < 0.05, "{of_mesh:?}");
        }
    }
}
