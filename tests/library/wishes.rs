//! Ways that are found by the wishes of `route`: through points, clear of rooms, beside another run, and along free
//! directions.

use std::fs;
use std::path::Path;

use tubewright::build::Unrouted;
use tubewright::geometry::{InnerSpace, MetricSpace, Point3, Vector3};
use tubewright::route::{EFFORT, Found, Proof, Way};
use tubewright::spec::model::RunPath;
use tubewright::spec::no_files;

/// Two units with two ports each, a step apart in every direction.
const UNITS: &str = "format: 1
tube: {od: 12, wall: 1, material: copper, temper: soft}
bender: {clr: 38, grip: 20, lead_out: 12}
components:
  a: {box: {from: [0, 0, 0], to: [60, 400, 200]}, ports: {one: {at: [60, 50, 60], facing: [1, 0, 0]}, two: {at: [60, 90, 60], facing: [1, 0, 0]}}}
  b: {box: {from: [400, 100, 200], to: [460, 500, 300]}, ports: {one: {at: [400, 250, 260], facing: [-1, 0, 0]}, two: {at: [400, 290, 260], facing: [-1, 0, 0]}}}
runs:
";

fn found(spec: &str) -> Vec<Found> {
    let unrouted = Unrouted::read_with(spec, "wishes.yaml", &no_files);
    assert!(unrouted.findings().is_empty(), "{:?}", unrouted.findings());
    unrouted.ways(1, EFFORT).found
}

fn best<'f>(found: &'f [Found], run: &str) -> &'f Way {
    let found = found.iter().find(|found| found.name == run).unwrap();
    found.answer.ways.first().unwrap_or_else(|| panic!("{run}: {:?}", found.answer.proof))
}

/// The least distance of a point from the straights of a way, mm.
fn off_the_straights(way: &Way, at: Point3) -> f64 {
    let line = &way.line;
    let mut station = 0.0;
    let mut least = f64::MAX;
    for segment in line.segments() {
        if segment.radius().is_none() {
            let (from, to) = (segment.start(), segment.end());
            let length = from.distance(to);
            let share = ((at - from).dot(to - from) / (length * length)).clamp(0.0, 1.0);
            least = least.min(at.distance(from + (to - from) * share));
        }
        station += segment.length();
    }
    assert!((station - line.length()).abs() < 1e-9);
    least
}

#[test]
fn a_way_leads_through_points() {
    let points = [Point3::new(150.0, 90.0, 60.0), Point3::new(220.0, 170.0, 140.0)];
    let spec = format!(
        "{UNITS}  r: {{from: a.two, to: b.two, route: {{through: [[150, 90, 60], [220, 170, 140]]}}}}\n"
    );
    let all = found(&spec);
    let way = best(&all, "r");
    for point in points {
        assert!(off_the_straights(way, point) < 0.01, "{point:?}: {:?}", way.corners);
    }
    let free = format!("{UNITS}  r: {{from: a.two, to: b.two}}\n");
    let free = found(&free);
    assert!(off_the_straights(best(&free, "r"), points[1]) > 10.0);
}

#[test]
fn a_way_keeps_clear_of_rooms() {
    let free = format!("{UNITS}  r: {{from: a.two, to: b.two}}\n");
    let free = found(&free);
    let way = best(&free, "r");
    let middle = way.line.point_at(way.line.length() / 2.0);
    // A room about the middle of that way.
    let [from, to] = [-20.0, 20.0].map(|off| [middle.x + off, middle.y + off, middle.z + off]);
    let spec = format!(
        "{UNITS}  r: {{from: a.two, to: b.two, route: {{avoid: [{{from: {from:?}, to: {to:?}}}]}}}}\n"
    );
    let all = found(&spec);
    let round = best(&all, "r");
    let steps = (round.line.length() / 0.5) as usize;
    let outside = |at: Point3| (0..3).map(|k| (at[k] - middle[k]).abs() - 20.0).fold(f64::MIN, f64::max);
    for step in 0..=steps {
        // The tube's radius and the clearance of 3 mm, but at an edge, where the box is farther than its faces.
        let at = round.line.point_at(step as f64 * 0.5);
        let past: f64 = (0..3).map(|k| ((at[k] - middle[k]).abs() - 20.0).max(0.0).powi(2)).sum();
        assert!(outside(at) > 0.0 && past.sqrt() > 9.0 - 1e-3, "{at:?}");
    }
}

#[test]
fn a_run_leads_beside_another_at_the_spacing() {
    let spec = format!(
        "{UNITS}  second: {{from: a.two, to: b.two, route: {{like: first, spacing: 30}}}}\n  first: {{from: a.one, to: b.one}}\n"
    );
    let all = found(&spec);
    let (first, second) = (best(&all, "first"), best(&all, "second"));
    assert_eq!(first.corners.len(), second.corners.len());
    // Of two parallel lines, the distance is that of any point of one from the other.
    for bends in first.line.bends().windows(2).zip(second.line.bends().windows(2)) {
        let (one, two) = bends;
        let way = one[0].direction_out;
        assert!((way - two[0].direction_out).magnitude() < 1e-9);
        let apart: Vector3 = two[0].corner.unwrap() - one[0].corner.unwrap();
        let apart = (apart - way * apart.dot(way)).magnitude();
        assert!((apart - 30.0).abs() < 0.01, "{apart}");
    }
}

#[test]
fn free_ways_are_as_short_as_a_grid_of_all_ways_of_two_bends() {
    let spec = "format: 1
tube: {od: 12, wall: 1, material: copper, temper: soft}
bender: {clr: 38, grip: 20, lead_out: 12}
runs:
  r: {from: {at: [0, 0, 0], facing: [1, 0.4, 0.2]}, to: {at: [300, 220, 150], facing: [-0.3, -1, 0.1]}, route: {directions: any, max_bends: 2, prefer: [bends, length]}, bend_from: datum}
";
    let all = found(spec);
    let way = best(&all, "r");
    assert_eq!(way.corners.len(), 2);
    assert!(matches!(all[0].answer.proof, Proof::Open { bends: 2, .. }));
    // Every first and last leg by the half millimetre, with the length by its formula: a leg from corner to corner,
    // less twice the setback R tan(angle / 2), and arcs of R times the angle.
    let (start, end) = (Point3::new(0.0, 0.0, 0.0), Point3::new(300.0, 220.0, 150.0));
    let [out, into] = [Vector3::new(1.0, 0.4, 0.2), Vector3::new(-0.3, -1.0, 0.1)].map(InnerSpace::normalize);
    let mut least = f64::MAX;
    for a in 0..600 {
        for b in 0..600 {
            let (a, b) = (f64::from(a) * 0.5, f64::from(b) * 0.5);
            let between = (end + into * b) - (start + out * a);
            let middle = between.magnitude();
            let turn = |from: Vector3, to: Vector3| from.dot(to).clamp(-1.0, 1.0).acos();
            let angles = [turn(out, between / middle), turn(between / middle, -into)];
            let back = angles.map(|angle| 38.0 * (angle / 2.0).tan());
            if a < 20.0 + back[0] || b < 12.0 + back[1] || middle < 20.0 + back[0] + back[1] {
                continue;
            }
            let arcs: f64 = angles.iter().map(|angle| 38.0 * angle).sum();
            least = least.min(a + b + middle - 2.0 * (back[0] + back[1]) + arcs);
        }
    }
    assert!(way.line.length() < least + 0.3, "{} {least}", way.line.length());
    assert!(way.line.length() > least - 1.0, "{} {least}", way.line.length());
}

#[test]
fn the_mirror_image_of_a_run_that_is_found_has_its_corners_mirrored() {
    let spec = format!(
        "{UNITS}  image: {{mirror: {{run: r, plane: y, at: -40}}}}\n  r: {{from: a.one, to: b.one}}\n"
    );
    let unrouted = Unrouted::read_with(&spec, "wishes.yaml", &no_files);
    for way in 0..2 {
        let routed = unrouted.ways(2, EFFORT);
        let routed = routed.with_way("r", way).unwrap();
        let corners = |name: &str| -> Vec<Point3> {
            let run = routed.spec.runs().iter().find(|run| run.name == name).unwrap();
            let RunPath::Corners(corners) = &run.path else { panic!("{:?}", run.path) };
            corners.iter().map(|corner| corner.at).collect()
        };
        let (found, image) = (corners("r"), corners("image"));
        assert!(!found.is_empty() && found.len() == image.len());
        for (one, other) in found.iter().zip(&image) {
            assert!(other.distance(Point3::new(one.x, -80.0 - one.y, one.z)) < 1e-9, "{one:?} {other:?}");
        }
    }
}

#[test]
fn a_run_leaves_room_for_the_one_that_leads_beside_it() {
    // Between the units there is room for both risers, if the first does not stand in the middle. The ports of the pair
    // lie one above the other.
    let spec = "format: 1
tube: {od: 12, wall: 1, material: copper, temper: soft}
bender: {clr: 45, grip: 20, lead_out: 12}
runs:
  up: {from: {at: [0, 0, 80], facing: [1, 0, 0]}, to: {at: [170, 0, 290], facing: [-1, 0, 0]}}
  down: {from: {at: [170, 0, 250], facing: [-1, 0, 0]}, to: {at: [0, 0, 40], facing: [1, 0, 0]}, route: {like: up}}
";
    let all = found(spec);
    let (up, down) = (best(&all, "up"), best(&all, "down"));
    let riser = |way: &Way| way.corners[0].x;
    assert!((riser(down) - riser(up) - 40.0).abs() < 0.01, "{} {}", riser(up), riser(down));
    // Alone, it has more straight to spare in the middle.
    let alone = found(&spec.replace(", route: {like: up}", ", route: {max_bends: 2}"));
    assert!((riser(best(&alone, "up")) - riser(up)).abs() > 1.0);
}

#[test]
fn the_first_way_is_the_one_that_is_built_and_the_others_fit_beside_the_rest() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("specs");
    let text = fs::read_to_string(root.join("shelf-server.yaml")).unwrap();
    let resolver = |name: &str| fs::read(root.join(name)).map_err(|error| error.to_string());
    let unrouted = Unrouted::read_with(&text, "shelf-server.yaml", &resolver);
    let (one, three) = (unrouted.ways(1, EFFORT), unrouted.ways(3, EFFORT));
    let mut others = 0;
    for (built, listed) in one.found.iter().zip(&three.found) {
        assert_eq!(built.answer.ways.first(), listed.answer.ways.first(), "{}", built.name);
        for way in 0..listed.answer.ways.len() {
            let routed = three.with_way(&listed.name, way).unwrap();
            let project = unrouted.checked_in_place(routed).plan().unwrap();
            let clearance = project.plan().run(&listed.name).unwrap().min_clearance().unwrap();
            assert!(clearance > 5.0 - 0.01, "{} {way}: {clearance}", listed.name);
            others += 1;
        }
    }
    assert!(others >= 12, "{others}");
}
