use super::*;
use crate::fit::Surroundings;
use crate::geometry::{InnerSpace, MetricSpace, Point3, Vector3};
use crate::spec::model::{Component, End, Run, Shape};
use crate::testing::{place, table_run};

/// A run of 15 mm tube with a grip of 30 mm and a lead-out of 15 mm between two points that face so.
fn run(from: ([f64; 3], [f64; 3]), to: ([f64; 3], [f64; 3])) -> Run {
    let mut run = table_run("r", 55.0, &[], 100.0).run;
    run.bender.grip = 30.0;
    run.bender.lead_out = 15.0;
    let end = |(at, facing): ([f64; 3], [f64; 3])| {
        Some(End {
            at: Point3::from(at),
            face: Point3::from(at),
            facing: Some(Vector3::from(facing)),
            port: None,
            image_of: None,
            fitting: None,
            slip: None,
            place: place(1),
        })
    };
    run.from = end(from);
    run.to = end(to);
    run
}

fn wishes(max_bends: usize, angles: &[f64]) -> Wishes {
    Wishes { max_bends, angles: angles.iter().map(|a| a.to_radians()).collect(), clearance: 0.0 }
}

fn boxes(all: &[([f64; 3], [f64; 3])]) -> Vec<Component> {
    let shape = |(min, max): &([f64; 3], [f64; 3])| Shape::square(Point3::from(*min), Point3::from(*max));
    all.iter()
        .enumerate()
        .map(|(index, corners)| Component::new(format!("b{index}"), vec![shape(corners)], vec![]))
        .collect()
}

fn ways(run: &Run, wishes: Wishes, components: &[Component], count: usize) -> Answer {
    let problem = Problem::new(run, run.bender.clr, wishes).unwrap();
    let surroundings = Surroundings::new(components, &[]);
    search(&problem, &surroundings, &Asked { ways: count, effort: 20_000, order: &[], kin: &[] })
}

#[test]
fn one_bend_where_the_lines_of_the_ports_meet() {
    let run = run(([0.0; 3], [1.0, 0.0, 0.0]), ([200.0, 150.0, 0.0], [0.0, -1.0, 0.0]));
    let answer = ways(&run, wishes(4, &[90.0]), &[], 1);
    assert_eq!((answer.ways.len(), answer.proof), (1, Proof::Proven));
    let way = &answer.ways[0];
    assert_eq!(way.corners.len(), 1);
    assert!(way.corners[0].distance(Point3::new(200.0, 0.0, 0.0)) < 1e-6, "{:?}", way.corners);
    // 350 mm of legs, less twice the setback of 55 mm, and a quarter turn of 55 mm.
    assert!((way.line.length() - (350.0 - 110.0 + 55.0 * std::f64::consts::FRAC_PI_2)).abs() < 1e-6);
}

#[test]
fn a_box_on_the_way_is_passed_with_more_bends_and_the_shortest_detour() {
    let run = run(([0.0; 3], [1.0, 0.0, 0.0]), ([400.0, 0.0, 0.0], [-1.0, 0.0, 0.0]));
    let free = ways(&run, wishes(4, &[90.0]), &[], 1);
    assert_eq!(free.ways[0].corners.len(), 0);
    // The tube passes over the box, which reaches 30 mm up, 100 mm down and 200 mm to either side.
    let wall = boxes(&[([190.0, -200.0, -100.0], [210.0, 200.0, 30.0])]);
    let answer = ways(&run, wishes(4, &[90.0]), &wall, 1);
    assert_eq!(answer.proof, Proof::Proven);
    let way = &answer.ways[0];
    assert_eq!((way.corners.len(), way.planes), (4, 1));
    // Two bends of 90° need 110 mm and the grip; that is more than the 37.5 mm that would clear the box.
    let height = way.corners[1].z;
    assert!((height - 140.005).abs() < 1e-3, "{:?}", way.corners);
    // With bends of 45°, too, it is lower: the leg up has both setbacks and the grip.
    let with_45 = ways(&run, wishes(4, &[45.0, 90.0]), &wall, 1);
    let lower = &with_45.ways[0];
    assert!(lower.line.length() < way.line.length() - 50.0, "{} {}", lower.line.length(), way.line.length());
    assert!(lower.corners.iter().all(|corner| corner.y.abs() < 1e-9), "{:?}", lower.corners);
}

#[test]
fn no_way_is_proven() {
    let run = run(([0.0; 3], [1.0, 0.0, 0.0]), ([200.0, 150.0, 0.0], [0.0, -1.0, 0.0]));
    // The port looks at a wall that is nearer than any bend.
    let wall = boxes(&[([60.0, -500.0, -500.0], [70.0, 500.0, 500.0])]);
    let answer = ways(&run, wishes(3, &[90.0]), &wall, 1);
    assert_eq!((answer.ways.len(), answer.proof), (0, Proof::Proven));
    assert!(answer.in_the_way.len() == 1);
}

#[test]
fn several_ways_are_different_and_in_order() {
    let run = run(([0.0; 3], [0.0, 0.0, 1.0]), ([300.0, 200.0, 0.0], [0.0, 0.0, 1.0]));
    let answer = ways(&run, wishes(4, &[45.0, 90.0]), &[], 5);
    assert_eq!(answer.ways.len(), 5);
    for pair in answer.ways.windows(2) {
        assert!(pair[0].corners.len() <= pair[1].corners.len());
    }
    for (index, way) in answer.ways.iter().enumerate() {
        for other in &answer.ways[..index] {
            let same = way.corners.len() == other.corners.len()
                && way.corners.iter().zip(&other.corners).all(|(a, b)| a.distance(*b) < 15.0);
            assert!(!same, "{way:?} {other:?}");
        }
        // Every leg has room for its bends and the grip.
        let straights = way.line.straights();
        assert!(straights[1..straights.len() - 1].iter().all(|straight| *straight > 30.0 - 1e-6));
    }
}

#[test]
fn a_port_that_faces_askew_is_reached() {
    let askew = Vector3::new(1.0, 0.4, 0.2).normalize();
    let run = run(([0.0; 3], askew.into()), ([400.0, 300.0, 200.0], [0.0, 0.0, 1.0]));
    let answer = ways(&run, wishes(4, &[]), &[], 1);
    assert_eq!(answer.proof, Proof::Proven, "{}", answer.effort);
    let way = &answer.ways[0];
    assert!(way.line.end().distance(Point3::new(400.0, 300.0, 200.0)) < 1e-6);
    assert!((way.line.start_direction() - askew).magnitude() < 1e-9);
}
