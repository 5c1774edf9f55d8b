use std::f64::consts::PI;

use super::{FitReport, Obstacle, check, coordinates};
use crate::centreline::Layout;
use crate::geometry::{MetricSpace, Point3, Vector3};
use crate::quantity::Unit;
use crate::spec::model::{Component, Fitting, FittingBody, Shape};
use crate::testing::{self, end, layout, port_end, run, table_run, tank, tube};
use crate::tolerance::CLEARANCE_MM;

fn codes(layout: &Layout) -> Vec<&'static str> {
    check(layout).1.iter().map(|d| d.code).collect()
}

fn report(layout: &Layout) -> FitReport {
    check(layout).0
}

fn near(found: Option<f64>, wanted: f64) {
    let found = found.unwrap();
    assert!((found - wanted).abs() <= CLEARANCE_MM, "found {found}, wanted {wanted}");
}

fn bar(name: &str, from: [f64; 3], to: [f64; 3], diameter: f64) -> Component {
    let shape = Shape::Cylinder { from: Point3::from(from), to: Point3::from(to), diameter };
    Component::new(name, vec![shape], vec![])
}

#[test]
fn alone_there_is_nothing_to_clear() {
    let found =
        report(&layout(vec![run("a", 55.0, &[[0.0; 3], [100.0, 0.0, 0.0], [100.0, 90.0, 0.0]])], vec![]));
    assert_eq!(found.nearest, [None]);
}

#[test]
fn parallel_bends_are_their_spacing_apart() {
    let a = run("a", 40.0, &[[0.0; 3], [100.0, 0.0, 0.0], [100.0, 100.0, 0.0]]);
    let b = run("b", 60.0, &[[0.0, -20.0, 0.0], [120.0, -20.0, 0.0], [120.0, 100.0, 0.0]]);
    let found = report(&layout(vec![a, b], vec![]));
    near(found.min_clearance(0), 5.0);
    near(found.min_clearance(1), 5.0);
    assert_eq!(found.nearest[0].unwrap().obstacle, Obstacle::Run(1));
}

#[test]
fn crossing_tubes_clash_each_by_the_others_name() {
    let a = run("a", 40.0, &[[0.0; 3], [100.0, 0.0, 0.0]]);
    let b = run("b", 40.0, &[[50.0, -50.0, 10.0], [50.0, 50.0, 10.0]]);
    let layout = layout(vec![a, b], vec![]);
    let (found, findings) = check(&layout);
    near(found.min_clearance(0), -5.0);
    near(found.min_clearance(1), -5.0);
    let messages: Vec<&str> = findings.iter().map(|d| d.message.as_str()).collect();
    assert_eq!(messages, ["run a overlaps run b by 5.00 mm, deepest at [50, 0, 5] mm"]);
    let found = findings.iter().next().unwrap();
    assert_eq!((found.run.as_deref(), found.with.as_deref()), (Some("a"), Some("b")));
    let at = found.at_mm.unwrap();
    assert!((0..3).all(|i| (at[i] - [50.0, 0.0, 5.0][i]).abs() < 0.02), "{at:?}");
}

#[test]
fn places_are_told_in_the_unit_of_the_spec() {
    assert_eq!(coordinates([25.4, -12.7, 3.0], Unit::Inch), "[1, -0.5, 0.118] in");
    assert_eq!(coordinates([25.4, -12.7, 0.04], Unit::Millimetre), "[25.4, -12.7, 0] mm");
    assert_eq!(coordinates([25.4, -12.7, 3.0], Unit::Centimetre), "[2.54, -1.27, 0.3] cm");
}

#[test]
fn tubes_drawn_touching_are_no_clash() {
    let a = run("a", 40.0, &[[0.0; 3], [100.0, 0.0, 0.0], [100.0, 100.0, 0.0]]);
    let b = run("b", 55.0, &[[0.0, -15.0, 0.0], [115.0, -15.0, 0.0], [115.0, 100.0, 0.0]]);
    let layout = layout(vec![a, b], vec![]);
    near(report(&layout).min_clearance(0), 0.0);
    assert_eq!(codes(&layout), ["too-near"]);
}

/// What is told of the clearance of two tubes side by side, with a gap between them, that want so much.
fn told_of(gap: f64, wanted: [Option<f64>; 2]) -> Vec<String> {
    let mut runs =
        [("a", 0.0), ("b", 15.0 + gap)].map(|(name, y)| run(name, 40.0, &[[0.0, y, 0.0], [100.0, y, 0.0]]));
    for (laid, wanted) in runs.iter_mut().zip(wanted) {
        laid.run.clearance = wanted;
    }
    check(&layout(runs.into(), vec![]))
        .1
        .iter()
        .map(|found| format!("{} {}", found.code, found.message))
        .collect()
}

#[test]
fn a_gap_that_is_smaller_than_wanted_is_told_once_and_one_of_nothing_whatever_is_wanted() {
    assert_eq!(told_of(5.0, [Some(5.0), None]), Vec::<String>::new());
    let near = "too-near run a comes within 4.50 mm of run b, nearest at [50, 9.8, 0] mm; 5 mm of clearance are wanted";
    let place = |told: Vec<String>| {
        told.into_iter()
            .map(|told| told.replace("[0, 9.8", "[50, 9.8").replace("[100, 9.8", "[50, 9.8"))
            .collect::<Vec<_>>()
    };
    for wanted in [[Some(5.0), None], [None, Some(5.0)], [Some(1.0), Some(5.0)]] {
        assert_eq!(place(told_of(4.5, wanted)), [near]);
    }
    for gap in [0.04, 0.0, -0.009] {
        let told = told_of(gap, [None, None]);
        assert!(
            told.len() == 1 && told[0].starts_with("too-near run a touches run b, nearest at ["),
            "{gap}: {told:?}"
        );
        assert_eq!(told_of(gap, [Some(0.0), None]), Vec::<String>::new(), "{gap}");
    }
    assert_eq!(told_of(0.06, [None, None]), Vec::<String>::new());
    assert!(told_of(-0.06, [Some(0.0), None])[0].starts_with("clash "));
}

#[test]
fn runs_that_meet_end_to_end_are_joined_and_not_too_near() {
    let first = run("first", 40.0, &[[0.0; 3], [100.0, 0.0, 0.0]]);
    let next = run("next", 40.0, &[[100.0, 0.0, 0.0], [200.0, 0.0, 0.0]]);
    assert_eq!(codes(&layout(vec![first.clone(), next], vec![])), Vec::<&str>::new());
    // Beside the end and not in front of it.
    let beside = run("beside", 40.0, &[[100.0, 15.0, 0.0], [200.0, 15.0, 0.0]]);
    assert_eq!(codes(&layout(vec![first, beside], vec![])), ["too-near"]);
}

#[test]
fn the_nearest_neighbour_has_a_name_and_a_place() {
    let a = run("a", 40.0, &[[0.0; 3], [200.0, 0.0, 0.0]]);
    let block = Shape::square(Point3::new(90.0, 20.0, -50.0), Point3::new(100.0, 40.0, 50.0));
    let found = report(&layout(vec![a], vec![Component::new("wall", vec![block], vec![])]));
    let neighbour = found.neighbour(0).unwrap();
    assert_eq!(neighbour.to, "component wall");
    near(Some(neighbour.distance), 12.5);
    assert!((neighbour.at.y - 7.5).abs() < 0.01 && (89.9..=100.1).contains(&neighbour.at.x), "{neighbour:?}");
}

#[test]
fn ends_are_flat() {
    // End to end, 4 mm apart: balls on the ends would overlap by 11 mm.
    let a = run("a", 40.0, &[[0.0; 3], [100.0, 0.0, 0.0]]);
    let b = run("b", 40.0, &[[104.0, 0.0, 0.0], [200.0, 0.0, 0.0]]);
    near(report(&layout(vec![a.clone(), b], vec![])).min_clearance(0), 4.0);
    // The end's rim against a side wall standing off at 3 mm.
    let c = run("c", 40.0, &[[110.5, -80.0, 0.0], [110.5, 80.0, 0.0]]);
    near(report(&layout(vec![a, c], vec![])).min_clearance(0), 3.0);
}

#[test]
fn a_run_that_ends_in_its_bend_is_flat_there_too() {
    // Quarter bend without end straight, finishing at (100, 40, 0) along +Y; a wall 2 mm beyond.
    let a = table_run("a", 40.0, &[(60.0, 0.0, 90.0)], 0.0);
    let block = Shape::square(Point3::new(50.0, 42.0, -50.0), Point3::new(150.0, 52.0, 50.0));
    let wall = Component::new("wall", vec![block], vec![]);
    near(report(&layout(vec![a], vec![wall])).min_clearance(0), 2.0);
}

#[test]
fn components_are_measured_to_their_surface() {
    let a = run("a", 40.0, &[[0.0; 3], [200.0, 0.0, 0.0]]);
    let bar_by = |y: f64| bar("bar", [100.0, y, -30.0], [100.0, y, 30.0], 20.0);
    near(report(&layout(vec![a.clone()], vec![bar_by(30.0)])).min_clearance(0), 12.5);
    // The wall of the bar 2.5 mm beside the axis, that of the tube 5 mm further on.
    let touching = layout(vec![a], vec![bar_by(12.5)]);
    let (found, findings) = check(&touching);
    near(found.min_clearance(0), -5.0);
    let told = "run a overlaps component bar by 5.00 mm, deepest at [100, 5, 0] mm";
    assert_eq!(findings.iter().next().unwrap().message, told);
}

#[test]
fn an_end_poked_into_a_component_is_a_clash() {
    let block = Shape::square(Point3::new(95.0, -50.0, -50.0), Point3::new(300.0, 50.0, 50.0));
    let wall = Component::new("wall", vec![block], vec![]);
    for (reach, overlap) in [(101.0, 6.0), (99.0, 4.0), (150.0, 55.0)] {
        let mut poked = run("a", 40.0, &[[0.0; 3], [reach, 0.0, 0.0]]);
        // The end's port is elsewhere, so that the wall is a foreign component.
        poked.run.to.as_mut().unwrap().port = Some("tank.out".into());
        let (found, findings) = check(&layout(vec![poked], vec![wall.clone()]));
        assert!(found.min_clearance(0).unwrap() < -overlap, "{reach}: {found:?}");
        assert_eq!(findings.iter().map(|d| d.code).collect::<Vec<_>>(), ["clash"], "{reach}");
    }
}

#[test]
fn an_end_flush_with_a_face_touches_it_and_is_no_clash() {
    let wall = |shape| Component::new("wall", vec![shape], vec![]);
    let min = Point3::new(95.0, -50.0, -50.0);
    let block = wall(Shape::square(min, Point3::new(300.0, 50.0, 50.0)));
    let (from, to) = (Point3::new(95.0, 0.0, 0.0), Point3::new(300.0, 0.0, 0.0));
    let bar = wall(Shape::Cylinder { from, to, diameter: 80.0 });
    for (component, lead) in [(&block, vec![]), (&bar, vec![]), (&block, vec![[0.0, 80.0, 0.0], [0.0; 3]])] {
        for (reach, apart) in [(95.0, 0.0), (94.0, 1.0)] {
            let mut points = lead.clone();
            points.extend([[if lead.is_empty() { -80.0 } else { 0.0 }, 0.0, 0.0], [reach, 0.0, 0.0]]);
            points.dedup();
            let mut laid = run("a", 40.0, &points);
            // The end's port is elsewhere, so that the wall is a foreign component.
            laid.run.to.as_mut().unwrap().port = Some("tank.out".into());
            let (found, findings) = check(&layout(vec![laid], vec![component.clone()]));
            let clearance = found.min_clearance(0).unwrap();
            assert!((clearance - apart).abs() < CLEARANCE_MM, "{reach}: {clearance}");
            let codes: Vec<&str> = findings.iter().map(|finding| finding.code).collect();
            assert_eq!(codes, if apart == 0.0 { vec!["too-near"] } else { vec![] });
        }
    }
}

fn from_tank(points: &[[f64; 3]]) -> Layout {
    let tank = tank([-100.0, -50.0, -50.0], [0.0, 50.0, 50.0], [0.0, 0.0, 0.0], [1.0, 0.0, 0.0]);
    let mut all = vec![[-12.0, 0.0, 0.0]];
    all.extend_from_slice(points);
    let mut laid = run("a", 30.0, &all);
    laid.run.from = Some(port_end(&tank));
    layout(vec![laid], vec![tank])
}

#[test]
fn the_component_a_run_starts_in_does_not_count_at_the_port() {
    let away = from_tank(&[[200.0, 0.0, 0.0]]);
    let (found, findings) = check(&away);
    assert_eq!(found.min_clearance(0), None);
    assert!(findings.is_empty(), "{findings:?}");
}

#[test]
fn an_end_given_by_a_point_on_a_component_belongs_to_it() {
    let mut away = from_tank(&[[200.0, 0.0, 0.0]]);
    away.runs = vec![run("b", 30.0, &[[-40.0, 0.0, 50.0], [-40.0, 0.0, 200.0]])];
    assert_eq!(report(&away).min_clearance(0), None);
    // A hand's width above it, the end is free and counts.
    away.runs = vec![run("b", 30.0, &[[-40.0, 0.0, 140.0], [-40.0, 0.0, 200.0]])];
    near(report(&away).min_clearance(0), 90.0);
}

#[test]
fn coming_back_to_its_own_component_counts() {
    // Out, up, and back over the tank's top at 10 mm from its surface.
    let back = from_tank(&[[60.0, 0.0, 0.0], [60.0, 0.0, 67.5], [-90.0, 0.0, 67.5]]);
    near(report(&back).min_clearance(0), 10.0);
    // Along the face it came out of: the wall is 60 − 7.5 mm away and stays so.
    let along = from_tank(&[[60.0, 0.0, 0.0], [60.0, 200.0, 0.0]]);
    near(report(&along).min_clearance(0), 52.5);
}

#[test]
fn cutting_through_its_own_component_is_found() {
    let through = from_tank(&[[60.0, 0.0, 0.0], [60.0, 0.0, 70.0], [-20.0, 0.0, 70.0], [-20.0, 0.0, -90.0]]);
    let (found, findings) = check(&through);
    assert!(found.min_clearance(0).unwrap() < -7.5);
    assert_eq!(findings.iter().map(|d| d.code).collect::<Vec<_>>(), ["clash"]);
    // A port that faces into its own component changes nothing, whether the tube is still on its
    // way in or already on its way out where the port's length of tube ends.
    for depth in [120.0, 30.0] {
        let mut inward = from_tank(&[[200.0, 0.0, 0.0]]);
        inward.components[0].shapes =
            vec![Shape::square(Point3::new(-5.0, -50.0, -50.0), Point3::new(depth, 50.0, 50.0))];
        assert_eq!(codes(&inward), ["clash"], "{depth}");
    }
}

#[test]
fn a_tube_that_comes_back_to_itself_is_found() {
    // A full loop that climbs by 12 mm per turn: 15 mm tube cannot pass over itself.
    let loop_of = |climb: f64| {
        run(
            "a",
            30.0,
            &[
                [0.0, 0.0, 0.0],
                [150.0, 0.0, 0.0],
                [150.0, 100.0, climb / 3.0],
                [50.0, 100.0, climb * 2.0 / 3.0],
                [50.0, -60.0, climb],
            ],
        )
    };
    let clash = layout(vec![loop_of(12.0)], vec![]);
    let (found, findings) = check(&clash);
    assert!(found.min_clearance(0).unwrap() < 0.0);
    assert!(findings.iter().next().unwrap().message.starts_with("run a overlaps itself by "));
    let clear = layout(vec![loop_of(40.0)], vec![]);
    assert_eq!(codes(&clear), Vec::<&str>::new());
    assert_eq!(report(&clear).nearest[0].unwrap().obstacle, Obstacle::Itself);
}

#[test]
fn a_tight_u_is_no_self_clash() {
    let u = table_run("u", 20.0, &[(80.0, 0.0, 180.0)], 80.0);
    assert_eq!(report(&layout(vec![u], vec![])).nearest, [None]);
    let serpentine: Vec<(f64, f64, f64)> =
        (0..8).map(|i| (80.0, if i == 0 { 0.0 } else { 180.0 }, 180.0)).collect();
    let found = report(&layout(vec![table_run("s", 20.0, &serpentine, 80.0)], vec![]));
    assert_eq!(found.nearest, [None]);
}

#[test]
fn nearly_closed_rings_are_found() {
    // Two bends of 170° leave the end beside the start.
    let ring = table_run("r", 30.0, &[(60.0, 0.0, 170.0), (0.0, 0.0, 170.0)], 60.0);
    assert_eq!(codes(&layout(vec![ring], vec![])), ["clash"]);
}

#[test]
fn ports_are_checked() {
    let tank = tank([-100.0, -50.0, -50.0], [0.0, 50.0, 50.0], [0.0, 0.0, 0.0], [1.0, 0.0, 0.0]);
    let starting = |to: [f64; 3], corner: [f64; 3]| {
        let mut laid = run("a", 20.0, &[[-12.0, 0.0, 0.0], corner, to]);
        laid.run.from = Some(port_end(&tank));
        laid
    };
    let good = starting([60.0, 100.0, 0.0], [60.0, 0.0, 0.0]);
    assert_eq!(codes(&layout(vec![good.clone()], vec![])), Vec::<&str>::new());
    let askew = starting([60.0, 100.0, 0.0], [60.0, 2.0, 0.0]);
    assert_eq!(codes(&layout(vec![askew], vec![])), ["port-angle"]);
    // 27 − 20 = 7 mm of straight outside the face where 8 are wanted.
    let short = starting([27.0, 100.0, 0.0], [27.0, 0.0, 0.0]);
    let findings = check(&layout(vec![short], vec![])).1;
    let found = findings.iter().next().unwrap();
    assert_eq!(found.code, "port-straight");
    assert_eq!(found.message, "run a: 7 mm of straight tube stand out of tank.out; collar-15 needs 8 mm");
    assert_eq!(found.place.unwrap().line, 8);
    let mut thick = good;
    thick.run.tube = tube(16.0, 1.0);
    assert_eq!(codes(&layout(vec![thick], vec![])), ["fitting-od"]);
}

#[test]
fn a_straight_piece_stands_out_between_both_ports() {
    let near = tank([-100.0, -50.0, -50.0], [0.0, 50.0, 50.0], [0.0, 0.0, 0.0], [1.0, 0.0, 0.0]);
    let far = |x: f64| tank([x, -50.0, -50.0], [x + 90.0, 50.0, 50.0], [x, 0.0, 0.0], [-1.0, 0.0, 0.0]);
    let between = |gap: f64| {
        let mut laid = run("a", 20.0, &[[-12.0, 0.0, 0.0], [gap + 12.0, 0.0, 0.0]]);
        laid.run.from = Some(port_end(&near));
        laid.run.to = Some(port_end(&far(gap)));
        codes(&layout(vec![laid], vec![]))
    };
    assert_eq!(between(7.0), ["port-straight", "port-straight"]);
    assert_eq!(between(8.0), Vec::<&str>::new());
}

#[test]
fn a_fitting_s_body_and_its_loose_part_need_straight_tube() {
    let mut tank = tank([-100.0, -50.0, -50.0], [0.0, 50.0, 50.0], [0.0, 0.0, 0.0], [1.0, 0.0, 0.0]);
    let mut with = |length: f64, slide_back: f64| {
        let body = FittingBody { diameter: 22.0, length };
        tank.ports[0].fitting = Some(Fitting { body: Some(body), slide_back, ..testing::fitting() });
        // 40 - 20 mm of straight outside the face.
        let mut laid = run("a", 20.0, &[[-12.0, 0.0, 0.0], [40.0, 0.0, 0.0], [40.0, 100.0, 0.0]]);
        laid.run.from = Some(port_end(&tank));
        let findings = check(&layout(vec![laid], vec![])).1;
        findings.iter().map(|found| format!("{}: {}", found.code, found.message)).collect::<Vec<_>>()
    };
    assert_eq!(with(20.0, 20.0), [""; 0]);
    assert_eq!(
        with(21.0, 0.0),
        ["port-straight: run a: 20 mm of straight tube stand out of tank.out; collar-15 needs 21 mm"]
    );
    assert_eq!(
        with(18.0, 26.0),
        [
            "slide-back: run a: 20 mm of straight tube stand out of tank.out; the loose part of collar-15 needs 26 mm to be drawn back while joining"
        ]
    );
}

#[test]
fn a_fitting_s_body_is_in_the_way_of_other_tubes_but_not_of_its_own() {
    let mut tank = tank([-100.0, -50.0, -50.0], [0.0, 50.0, 50.0], [0.0, 0.0, 0.0], [1.0, 0.0, 0.0]);
    let body = FittingBody { diameter: 30.0, length: 18.0 };
    tank.ports[0].fitting = Some(Fitting { body: Some(body), ..testing::fitting() });
    tank.shapes.extend(tank.ports[0].body());
    let mut own = run("own", 20.0, &[[-12.0, 0.0, 0.0], [60.0, 0.0, 0.0], [60.0, 0.0, 100.0]]);
    own.run.from = Some(port_end(&tank));
    // Its surface is 24 - 7.5 - 15 mm from the body.
    let other = run("other", 20.0, &[[9.0, 24.0, -80.0], [9.0, 24.0, 80.0]]);
    let (report, found) = check(&layout(vec![own.clone(), other], vec![tank.clone()]));
    assert_eq!(found.iter().count(), 0, "{found:?}");
    assert!((report.min_clearance(1).unwrap() - 1.5).abs() < 1e-3, "{report:?}");
    let through = run("through", 20.0, &[[9.0, 20.0, -80.0], [9.0, 20.0, 80.0]]);
    assert_eq!(codes(&layout(vec![own, through], vec![tank])), ["clash"]);
}

#[test]
fn a_bend_table_that_misses_its_port_says_by_how_much() {
    let mut laid = table_run("t", 40.0, &[(100.0, 0.0, 90.0)], 60.0);
    let mut goal = end([140.0, 100.0, 0.0]);
    goal.facing = Some(-Vector3::unit_y());
    laid.run.to = Some(goal.clone());
    assert!(laid.centreline.end().distance(goal.at) < 1e-9);
    assert_eq!(codes(&layout(vec![laid.clone()], vec![])), Vec::<&str>::new());
    goal.at = Point3::new(141.0, 98.0, 0.0);
    laid.run.to = Some(goal);
    let findings = check(&layout(vec![laid], vec![])).1;
    let found = findings.iter().next().unwrap();
    assert_eq!(found.code, "port-side");
    assert_eq!(
        found.message,
        "run t: the tube ends 2.00 mm beyond the point given for its end and 1.00 mm to the side; at most 0.50 mm off is allowed"
    );
}

/// Least distance between the surfaces of two runs by sampling their centrelines, first all along,
/// then again around the nearest pair.
fn sampled(layout: &Layout) -> f64 {
    let lines = [&layout.runs[0].centreline, &layout.runs[1].centreline];
    let mut spans = lines.map(|line| (0.0, line.length()));
    let mut best = f64::MAX;
    for _ in 0..3 {
        let stations = spans.map(|(from, to)| {
            (0..=1000).map(|k| from + (to - from) * f64::from(k) / 1000.0).collect::<Vec<_>>()
        });
        let points = [0, 1].map(|i| stations[i].iter().map(|s| lines[i].point_at(*s)).collect::<Vec<_>>());
        let mut nearest = (500, 500);
        for (i, p) in points[0].iter().enumerate() {
            for (j, q) in points[1].iter().enumerate() {
                if p.distance(*q) < best {
                    (best, nearest) = (p.distance(*q), (i, j));
                }
            }
        }
        let around = |i: usize, k: usize| {
            let step = (spans[i].1 - spans[i].0) / 1000.0;
            (stations[i][k] - 3.0 * step, stations[i][k] + 3.0 * step)
        };
        spans = [around(0, nearest.0), around(1, nearest.1)];
    }
    best - 15.0
}

#[test]
fn bends_in_space_agree_with_dense_sampling() {
    let mut lowest = f64::MAX;
    for k in 0..12 {
        let turn = f64::from(k) * PI / 6.0;
        let a = run("a", 40.0, &[[-300.0, 0.0, 0.0], [0.0, 0.0, 0.0], [0.0, 300.0, 0.0]]);
        let (y, z) = (60.0 * turn.cos(), 60.0 * turn.sin());
        let b = run(
            "b",
            35.0,
            &[[-300.0, y - 200.0, z], [20.0, y, z], [150.0, y + 40.0, z + 90.0], [400.0, y, z - 300.0]],
        );
        let layout = layout(vec![a, b], vec![]);
        let (found, wanted) = (report(&layout).min_clearance(0).unwrap(), sampled(&layout));
        assert!((found - wanted).abs() <= CLEARANCE_MM, "found {found}, sampled {wanted}");
        lowest = lowest.min(found);
    }
    assert!(lowest < 0.0, "one of the twelve should touch");
}

#[test]
fn a_thousand_runs_name_their_neighbours() {
    let runs = (0..1000)
        .map(|i| {
            let (x, y) = (f64::from(i % 40) * 400.0, f64::from(i / 40) * 30.0 * 8.0);
            let corners =
                [[x, y, 0.0], [x + 150.0, y, 0.0], [x + 150.0, y + 150.0, 0.0], [x + 300.0, y + 150.0, 80.0]];
            run(&format!("r{i}"), 40.0, &corners)
        })
        .collect();
    let found = report(&layout(runs, vec![]));
    assert!(found.nearest.iter().all(|n| n.is_some_and(|n| n.distance > 0.0)));
}

#[test]
fn a_run_across_very_many_is_told_of_the_first_and_of_the_limit() {
    let across = |n: u32| {
        let x = f64::from(n) * 20.0;
        run(&format!("r{n}"), 40.0, &[[x, -50.0, 10.0], [x, 50.0, 10.0]])
    };
    let along = run("a", 40.0, &[[-10.0, 0.0, 0.0], [1000.0, 0.0, 0.0]]);
    let told = |count: u32| -> Vec<(&'static str, String)> {
        let all = [along.clone()].into_iter().chain((0..count).map(across));
        let (_, findings) = check(&layout(all.collect(), vec![]));
        let own = findings.iter().filter(|d| d.run.as_deref() == Some("a"));
        own.map(|d| (d.code, d.message.clone())).collect()
    };
    let twenty = told(20);
    assert!(twenty.len() == 20 && twenty.iter().all(|(code, _)| *code == "clash"), "{twenty:?}");
    let more = told(21);
    assert_eq!(more.len(), 21);
    assert!(more[..20] == twenty[..]);
    assert_eq!(more[20].0, "clash-limit");
    assert!(more[20].1.contains("overlaps more than 20"), "{}", more[20].1);
}

#[test]
fn runs_that_are_the_same_are_as_deep_in_each_other_as_can_be() {
    let points =
        [[0.0; 3], [200.0, 0.0, 0.0], [200.0, 200.0, 0.0], [200.0, 200.0, 200.0], [0.0, 200.0, 300.0]];
    let same = (0..12).map(|n| run(&format!("r{n}"), 55.0, &points)).collect();
    let (found, findings) = check(&layout(same, vec![]));
    for n in 0..12 {
        near(found.min_clearance(n), -15.0);
    }
    assert_eq!(findings.iter().filter(|d| d.code == "clash").count(), 12 * 11 / 2, "each pair once");
}

#[test]
fn ten_thousand_runs_are_measured_no_longer_than_a_thousand() {
    use super::clearance::{most_clashes, most_pairs};
    assert_eq!([1, 1000, 10_000].map(most_pairs), [40_000, 40_000, 4_000]);
    assert_eq!([1, 1000, 10_000, 1_000_000].map(most_clashes), [20, 20, 2, 1]);
    assert_eq!(most_pairs(10_000) * 10_000, most_pairs(1000) * 1000);
}
