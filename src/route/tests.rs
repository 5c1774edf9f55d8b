use super::*;
use crate::fit::Surroundings;
use crate::geometry::{InnerSpace, MetricSpace, Point3, Vector3};
use crate::spec::model::{Component, Directions, End, Run, Shape};
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
    Wishes {
        max_bends,
        angles: angles.iter().map(|a| a.to_radians()).collect(),
        clearance: 0.0,
        directions: Directions::Axes,
        through: Vec::new(),
    }
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
    search(&problem, &surroundings, &Asked::new(count, 20_000, &[]))
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

/// Numbers that look random and are the same every time.
struct Chance(u64);

impl Chance {
    /// Between 0 and 1.
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }

    fn pick(&mut self, count: usize) -> usize {
        ((self.next() * count as f64) as usize).min(count - 1)
    }
}

const AXES: [[f64; 3]; 6] =
    [[1.0, 0.0, 0.0], [-1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, -1.0, 0.0], [0.0, 0.0, 1.0], [0.0, 0.0, -1.0]];

/// Legs along the axes with bends of 90° between, each with room for its bends and the grip.
fn random_legs(chance: &mut Chance, bends: usize, first: Option<usize>) -> Vec<(usize, f64)> {
    let mut legs: Vec<(usize, f64)> = Vec::new();
    for index in 0..=bends {
        let way = match (index, first) {
            (0, Some(first)) => first,
            _ => {
                let choices: Vec<usize> =
                    (0..6).filter(|way| legs.last().is_none_or(|(last, _)| last / 2 != way / 2)).collect();
                choices[chance.pick(choices.len())]
            }
        };
        let ends = if index == 0 || index == bends { 1.0 } else { 2.0 };
        legs.push((way, ends * 55.0 + 31.0 + chance.between(0.0, 200.0)));
    }
    legs
}

/// The points along some legs from the origin.
fn points(legs: &[(usize, f64)]) -> Vec<Point3> {
    let mut all = vec![Point3::new(0.0, 0.0, 0.0)];
    for (way, long) in legs {
        all.push(all[all.len() - 1] + Vector3::from(AXES[*way]) * *long);
    }
    all
}

fn line_along(points: &[Point3]) -> Option<crate::centreline::Centreline> {
    let corners: Vec<crate::centreline::CornerPoint> = points[1..points.len() - 1]
        .iter()
        .map(|at| crate::centreline::CornerPoint { at: *at, radius: 55.0 })
        .collect();
    crate::centreline::from_corners(points[0], &corners, points[points.len() - 1]).ok()
}

/// Bends, planes and length of a line: bends of 90° are all usual.
fn merit(line: &crate::centreline::Centreline) -> (usize, usize, f64) {
    (line.bends().len(), line.plane_groups().len(), line.length())
}

fn is_worse(a: (usize, usize, f64), b: (usize, usize, f64)) -> bool {
    (a.0, a.1) > (b.0, b.1) || ((a.0, a.1) == (b.0, b.1) && a.2 > b.2 + 0.05)
}

/// A scene about a run that is known to be free: its ends, the boxes, and its line.
fn scene(
    chance: &mut Chance,
    boxes_wanted: usize,
) -> Option<(Run, Vec<Component>, crate::centreline::Centreline)> {
    let bends = 1 + chance.pick(3);
    let legs = random_legs(chance, bends, Some(0));
    let points = points(&legs);
    let line = line_along(&points)?;
    let end = points[points.len() - 1];
    let facing = Vector3::from(AXES[legs[legs.len() - 1].0]) * -1.0;
    let run = run(([0.0; 3], [1.0, 0.0, 0.0]), (end.into(), facing.into()));
    if Surroundings::to_itself(&line, 15.0).is_some_and(|near| near < 0.0) {
        return None;
    }
    let mut all = Vec::new();
    for _ in 0..boxes_wanted {
        let middle = [0, 1, 2].map(|_| chance.between(-300.0, 500.0));
        let half = [0, 1, 2].map(|_| chance.between(10.0, 80.0));
        let corner = |sign: f64| [0, 1, 2].map(|k| middle[k] + sign * half[k]);
        let one = boxes(&[(corner(-1.0), corner(1.0))]);
        let surroundings = Surroundings::new(&one, &[]);
        // Clear of the corners of its room, too: planes do not go round edges.
        if surroundings.breaches(&run, &line, &[], 4.0).is_empty() {
            all.extend(one);
        }
    }
    Some((run, all, line))
}

#[test]
fn scenes_about_a_known_run_are_solved_and_no_worse() {
    let mut chance = Chance(7);
    let mut solved = 0;
    // Some draws turn back on themselves; each draw goes on in the numbers.
    while solved < 40 {
        let Some((run, components, known)) = scene(&mut chance, 12) else { continue };
        let answer = ways(&run, wishes(4, &[90.0]), &components, 1);
        let way = answer.ways.first().unwrap_or_else(|| panic!("scene {solved}: {:?}", answer.proof));
        assert!(
            !is_worse(merit(&way.line), merit(&known)),
            "scene {solved}: {:?} {:?}",
            merit(&way.line),
            merit(&known)
        );
        let surroundings = Surroundings::new(&components, &[]);
        assert!(surroundings.breaches(&run, &way.line, &[], 0.0).is_empty(), "scene {solved}");
        solved += 1;
    }
}

#[test]
fn a_bend_may_begin_beside_an_edge() {
    // Drawn at random: the last bend begins 4 mm beside the edge of the box. No face of the box has a half of this bend
    // beyond it, and there is no other way.
    let run = run(([0.0; 3], [0.0, 1.0, 0.0]), ([-66.0, 286.0, 253.0], [0.0, 0.0, -1.0]));
    let wall = boxes(&[([-141.0, 194.0, 107.0], [-70.0, 299.0, 201.0])]);
    let answer = ways(&run, wishes(4, &[90.0]), &wall, 1);
    assert_eq!((answer.ways.len(), answer.proof), (1, Proof::Proven));
}
