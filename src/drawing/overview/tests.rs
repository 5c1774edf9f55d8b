//! Hidden parts against lines of sight worked out another way, words that keep apart, and crowds.

use super::arrange::Page;
use super::rays::{compare, painted_at};
use super::*;
use crate::centreline::{CornerPoint, LaidRun, from_corners};
use crate::diagnostic::Diagnostic;
use crate::drawing::item::{Edge, Item, ItemShape, Path, Role};
use crate::drawing::text::{text_box, weight};
use crate::geometry::{InnerSpace, Vector3};
use crate::palette::Rgb;
use crate::spec::model::{self, Component, Port};
use crate::testing::{self, layout, meshed, u_mesh};

type P = [f64; 3];

fn run(index: usize, od: f64, clr: f64, points: &[P]) -> LaidRun {
    let mut laid = testing::run(&format!("run-{index}"), clr, points);
    laid.run.tube = testing::tube(od, od / 12.0);
    LaidRun { index, ..laid }
}

fn solid(name: &str, shape: model::Shape) -> Component {
    Component::new(name, vec![shape], vec![])
}

fn cuboid(min: P, max: P) -> model::Shape {
    model::Shape::square(Point3::from(min), Point3::from(max))
}

/// Tubes that weave over and under each other and around a box and a bar.
fn weave() -> Layout {
    let runs = vec![
        run(0, 12.0, 30.0, &[[0.0, 0.0, 0.0], [200.0, 0.0, 0.0], [200.0, 150.0, 0.0], [0.0, 150.0, 40.0]]),
        run(1, 12.0, 30.0, &[[100.0, -60.0, 30.0], [100.0, 75.0, 30.0], [100.0, 210.0, -60.0]]),
        run(
            2,
            8.0,
            25.0,
            &[[40.0, -50.0, -40.0], [40.0, 75.0, -40.0], [160.0, 75.0, 40.0], [160.0, 200.0, 60.0]],
        ),
        run(
            3,
            15.0,
            40.0,
            &[[-60.0, 60.0, 0.0], [60.0, 110.0, 90.0], [260.0, 40.0, 60.0], [260.0, 40.0, -80.0]],
        ),
        run(
            4,
            10.0,
            30.0,
            &[[20.0, 20.0, 120.0], [20.0, 20.0, -90.0], [140.0, 20.0, -90.0], [140.0, 20.0, 100.0]],
        ),
    ];
    let components = vec![
        solid("block", cuboid([110.0, 90.0, -25.0], [150.0, 140.0, 15.0])),
        solid(
            "bar",
            model::Shape::Cylinder {
                from: Point3::new(215.0, -60.0, -30.0),
                to: Point3::new(300.0, 0.0, -50.0),
                diameter: 30.0,
            },
        ),
    ];
    layout(runs, components)
}

const ASPECTS: [fn() -> Aspect; 4] = [Aspect::front, Aspect::top, Aspect::left, Aspect::isometric];

#[test]
fn what_is_painted_last_is_what_is_seen_first() {
    for aspect in ASPECTS {
        let compared = compare(&weave(), aspect(), 60);
        assert!(compared > 500, "only {compared} points");
    }
}

#[test]
fn a_tube_in_the_hollow_of_a_mesh_and_one_behind_a_turned_box_are_hidden_where_they_should_be() {
    let turn = model::Rotation { axis: Vector3::unit_z(), angle: 0.5, about: Point3::new(160.0, 40.0, 0.0) };
    let turned = cuboid([140.0, 0.0, 0.0], [190.0, 60.0, 40.0]).turned(&turn);
    let runs = vec![
        run(0, 12.0, 25.0, &[[50.0, -40.0, 60.0], [50.0, 90.0, 60.0], [160.0, 90.0, 60.0]]),
        run(1, 10.0, 25.0, &[[-40.0, 75.0, 30.0], [250.0, 75.0, 30.0]]),
        run(2, 10.0, 25.0, &[[-40.0, -20.0, 10.0], [250.0, -20.0, 10.0], [250.0, 20.0, 80.0]]),
    ];
    let layout = layout(runs, vec![meshed("u", &u_mesh()), solid("crate", turned)]);
    for aspect in ASPECTS {
        let compared = compare(&layout, aspect(), 60);
        assert!(compared > 500, "only {compared} points");
    }
}

#[test]
fn a_tube_that_passes_over_another_covers_it() {
    let over = |height: f64| {
        layout(
            vec![
                run(0, 10.0, 30.0, &[[-100.0, 0.0, 0.0], [100.0, 0.0, 0.0]]),
                run(1, 10.0, 30.0, &[[0.0, -100.0, height], [0.0, 100.0, height]]),
            ],
            Vec::new(),
        )
    };
    let crossing = |layout: &Layout| {
        let view =
            View { aspect: Aspect::top(), centre: Point3::origin(), at: Point::new(0.0, 0.0), scale: 0.5 };
        let (bodies, known) = scene(layout, &view);
        let drawing = paint::paint(&bodies, &known, &view, &|run| colour(layout, run)).drawing;
        painted_at(&drawing, layout, Point::new(0.3, 0.2))
    };
    assert_eq!(crossing(&over(12.0)), Some(Owner::Run(1)));
    assert_eq!(crossing(&over(-12.0)), Some(Owner::Run(0)));
}

#[test]
fn bends_seen_from_their_edge_and_tubes_seen_end_on_are_right() {
    // A U that comes back towards the eye, an S that runs at the eye, a corkscrew.
    let runs = vec![
        run(0, 12.0, 25.0, &[[0.0, 0.0, 0.0], [80.0, 0.0, 0.0], [80.0, 60.0, 0.0], [0.0, 60.0, 0.0]]),
        run(1, 12.0, 25.0, &[[0.0, 0.0, 60.0], [60.0, 0.0, 60.0], [60.0, -80.0, 60.0], [130.0, -80.0, 60.0]]),
        run(
            2,
            10.0,
            20.0,
            &[
                [-40.0, 0.0, -40.0],
                [20.0, 0.0, -40.0],
                [20.0, 50.0, -45.0],
                [-40.0, 50.0, -50.0],
                [-40.0, 0.0, -62.0],
                [60.0, 0.0, -62.0],
            ],
        ),
    ];
    let layout = layout(runs, Vec::new());
    for aspect in ASPECTS {
        assert!(compare(&layout, aspect(), 45) > 150);
    }
}

#[test]
fn a_tube_inside_its_component_is_hidden_and_shows_outside() {
    let mut straight = run(0, 10.0, 30.0, &[[0.0, 0.0, 30.0], [0.0, 0.0, 100.0]]);
    if let Some(from) = &mut straight.run.from {
        from.face = Point3::new(0.0, 0.0, 40.0);
    }
    let layout = layout(vec![straight], vec![solid("box", cuboid([-30.0, -30.0, 0.0], [30.0, 30.0, 40.0]))]);
    for aspect in [Aspect::front(), Aspect::top(), Aspect::left()] {
        assert!(compare(&layout, aspect, 60) > 300);
    }
}

/// Everything with words and room: no word over another, none outside the frame.
fn check_words(layout: &Layout) {
    let drawing = overview(layout, &Diagnostics::new());
    let page =
        Rect::new(Point::new(FRAME_MM, FRAME_MM), Point::new(PAGE_WIDTH - FRAME_MM, PAGE_HEIGHT - FRAME_MM));
    let mut boxes: Vec<(String, Rect)> = Vec::new();
    for item in &drawing.items {
        let extents = crate::drawing::extents::shape_extents(&item.shape, item.role).unwrap();
        assert!(page.grown(1e-6).holds(&extents), "{item:?} leaves the page");
        let ItemShape::Text(text) = &item.shape else { continue };
        let words = Rect::around(text_box(text, weight(item.role))).unwrap();
        for (other, taken) in &boxes {
            assert!(!words.overlaps(taken), "{} over {other}", text.content);
        }
        boxes.push((text.content.clone(), words));
    }
}

fn loop_of(count: usize) -> Layout {
    let runs = (0..count)
        .map(|n| {
            let turn = n as f64 / count as f64 * std::f64::consts::TAU;
            let (sin, cos) = turn.sin_cos();
            let at = |r: f64, z: f64| [r * cos, r * sin, z];
            run(n, 12.0, 30.0, &[at(120.0, 0.0), at(300.0, 0.0), at(300.0, 200.0), at(420.0, 230.0)])
        })
        .collect();
    layout(runs, vec![solid("hub", cuboid([-80.0, -80.0, -40.0], [80.0, 80.0, 60.0]))])
}

#[test]
fn words_keep_apart_and_on_the_page() {
    let straight = layout(vec![run(0, 15.0, 30.0, &[[0.0, 0.0, 0.0], [500.0, 0.0, 0.0]])], Vec::new());
    let flat = layout(
        vec![run(
            0,
            15.0,
            40.0,
            &[[0.0, 0.0, 0.0], [900.0, 0.0, 0.0], [900.0, 400.0, 0.0], [0.0, 450.0, 0.0]],
        )],
        Vec::new(),
    );
    let huge = layout(vec![run(0, 15.0, 40.0, &[[0.0; 3], [9e6, 0.0, 0.0]])], Vec::new());
    let tiny = layout(vec![run(0, 0.5, 1.0, &[[0.0; 3], [3.0, 0.0, 0.0], [3.0, 2.0, 1.0]])], Vec::new());
    let mut named = weave();
    for run in &mut named.runs {
        run.run.name = format!("a.very.long.name-for_a-run-that-goes-on-{}", run.index);
    }
    for scene in
        [weave(), straight, flat, huge, tiny, named, layout(vec![], vec![]), loop_of(30), loop_of(60)]
    {
        check_words(&scene);
    }
}

#[test]
fn every_run_and_component_is_named() {
    let layout = weave();
    let drawing = overview(&layout, &Diagnostics::new());
    let names = layout.runs.iter().map(|r| r.run.name.clone());
    for name in names.chain(layout.components.iter().map(|c| c.name.clone())) {
        let shown = drawing.items.iter().any(|i| matches!(&i.shape, ItemShape::Text(t) if t.content == name));
        assert!(shown, "{name}");
    }
}

#[test]
fn labels_hide_nothing_of_the_picture() {
    let layout = weave();
    let aspects = [Aspect::front(), Aspect::top(), Aspect::left(), Aspect::isometric()];
    let seen = aspects.map(|aspect| extents(&layout, aspect));
    let names: Vec<&str> = layout.runs.iter().map(|r| r.run.name.as_str()).collect();
    let page = Page::new(seen, label::column(&names), furniture::band_height(&layout, &[]));
    for item in &overview(&layout, &Diagnostics::new()).items {
        let ItemShape::Text(text) = &item.shape else { continue };
        let words = Rect::around(text_box(text, weight(item.role))).unwrap();
        for place in &page.places {
            assert!(!words.overlaps(&place.seen), "{} over a picture", text.content);
        }
    }
}

#[test]
fn ports_are_marked_on_their_component() {
    let mut with_port = solid("box", cuboid([-30.0, -30.0, 0.0], [30.0, 30.0, 40.0]));
    let facing = Vector3::unit_z();
    with_port.ports.push(Port {
        name: "out".to_owned(),
        at: Point3::new(0.0, 0.0, 40.0),
        facing,
        fitting: None,
        slip: None,
    });
    let layout = layout(Vec::new(), vec![with_port]);
    let fills = |aspect: Aspect| {
        let view = View { aspect, centre: Point3::origin(), at: Point::new(0.0, 0.0), scale: 1.0 };
        let (bodies, known) = scene(&layout, &view);
        let painted = paint::paint(&bodies, &known, &view, &|_| Rgb(0, 0, 0));
        painted.order.last().map(|&i| bodies[i].look.clone())
    };
    assert_eq!(fills(Aspect::top()), Some(Look::Port), "seen from above, over its component");
}

#[test]
fn the_same_layout_gives_the_same_drawing() {
    assert_eq!(overview(&weave(), &Diagnostics::new()), overview(&weave(), &Diagnostics::new()));
}

#[test]
fn only_straight_edges_and_arcs_are_drawn() {
    let drawing = overview(&weave(), &Diagnostics::new());
    assert!(drawing.items.iter().all(|item| match &item.shape {
        ItemShape::Area { bound, .. } =>
            bound.closed && bound.edges.iter().all(|e| matches!(e, Edge::Line(_))),
        _ => item.role != Role::Cut,
    }));
}

/// Whether any two different tubes, or two far parts of one, touch.
fn touch(runs: &[LaidRun]) -> bool {
    let samples: Vec<(usize, f64, f64, Point3)> = runs
        .iter()
        .enumerate()
        .flat_map(|(n, run)| {
            let count = (run.centreline.length() / 3.0) as u32;
            (0..=count).map(move |k| {
                let station = f64::from(k) * 3.0;
                (n, station, run.run.tube.outer_radius(), run.centreline.point_at(station))
            })
        })
        .collect();
    samples.iter().enumerate().any(|(n, a)| {
        samples[..n].iter().any(|b| {
            let apart = a.0 != b.0 || (a.1 - b.1).abs() > 6.0 * a.2;
            apart && (a.3 - b.3).magnitude() < a.2 + b.2 + 3.0
        })
    })
}

/// A tube on the bench: its run has no ends.
fn on_the_bench(index: usize) -> LaidRun {
    let mut laid =
        testing::table_run(&format!("bench-{index}"), 30.0, &[(80.0, 0.0, 90.0), (60.0, 90.0, 45.0)], 70.0);
    laid.run.tube = testing::tube(12.0, 1.0);
    laid.run.from = None;
    LaidRun { index, ..laid }
}

#[test]
fn tubes_on_the_bench_lie_apart_from_the_loop_and_each_other() {
    let mut with_bench = weave();
    with_bench.runs.extend([on_the_bench(5), on_the_bench(6)]);
    let shown = with_bench.shown_together();
    for aspect in [Aspect::front(), Aspect::top(), Aspect::left()] {
        let view = View { aspect, centre: Point3::origin(), at: Point::new(0.0, 0.0), scale: 1.0 };
        let (bodies, _) = scene(&shown, &view);
        let bounds = |which: &dyn Fn(Owner) -> bool| {
            bodies
                .iter()
                .filter(|body| which(body.owner))
                .map(|body| body.bounds)
                .reduce(Rect::union)
                .unwrap()
        };
        let benches = [5, 6].map(|n| bounds(&|owner| owner == Owner::Run(n)));
        let others = bounds(&|owner| !matches!(owner, Owner::Run(5 | 6)));
        for (one, another) in [(benches[0], others), (benches[1], others), (benches[0], benches[1])] {
            assert!(!one.grown(10.0).overlaps(&another), "{}: {one:?} and {another:?}", aspect.name);
        }
    }
    // Only moved, not turned; what has a place keeps it.
    let (before, after) = (&with_bench.runs[6].centreline, &shown.runs[6].centreline);
    assert!((before.length() - after.length()).abs() < 1e-9);
    assert!((before.end() - before.start() - (after.end() - after.start())).magnitude() < 1e-9);
    assert_eq!(shown.runs[..5], with_bench.runs[..5]);
    let drawing = overview(&with_bench, &Diagnostics::new());
    let texts: Vec<&str> = (drawing.items.iter())
        .filter_map(
            |item| if let ItemShape::Text(text) = &item.shape { Some(text.content.as_str()) } else { None },
        )
        .collect();
    assert!(texts.contains(&"bench-5") && texts.contains(&"bench-6"), "{texts:?}");
    assert_eq!(texts.iter().filter(|text| text.ends_with(", bench")).count(), 2, "{texts:?}");
    check_words(&with_bench);
    // Very many stay near, and apart.
    let many = layout((0..120).map(on_the_bench).collect(), Vec::new()).shown_together();
    let view = View { aspect: Aspect::top(), centre: Point3::origin(), at: Point::new(0.0, 0.0), scale: 1.0 };
    let boxes: Vec<Rect> = (0..120)
        .map(|n| {
            let one = layout(vec![many.runs[n].clone()], Vec::new());
            let (bodies, _) = scene(&one, &view);
            bodies.iter().map(|body| body.bounds).reduce(Rect::union).unwrap()
        })
        .collect();
    for (n, own) in boxes.iter().enumerate() {
        assert!(own.min.y > -20_000.0 && own.max.x < 2_000.0, "{own:?}");
        assert!(boxes[..n].iter().all(|other| !own.grown(10.0).overlaps(other)), "{own:?}");
    }
    // Alone it stays where it is, and so does the first of several.
    let alone = layout(vec![on_the_bench(0), on_the_bench(1)], Vec::new()).shown_together();
    assert_eq!(alone.runs[0], on_the_bench(0));
    assert_ne!(alone.runs[1].centreline, on_the_bench(1).centreline);
}

#[test]
fn too_many_pieces_are_drawn_as_lines_and_said() {
    let across = |n: usize| run(n, 2.0, 5.0, &[[0.0, n as f64 * 5.0, 0.0], [900.0, n as f64 * 5.0, 0.0]]);
    let of = |count: usize| {
        layout((0..count).map(across).collect(), vec![solid("hub", cuboid([0.0; 3], [80.0; 3]))])
    };
    assert_eq!(too_large(&of(130)), None);
    let large = of(140);
    let said = too_large(&large).unwrap();
    assert_eq!(said.code, TOO_LARGE);
    assert!(
        said.message.contains("31501 pieces of tube") && said.message.contains("30000"),
        "{}",
        said.message
    );
    check_words(&large);
    let drawing = overview(&large, &Diagnostics::new());
    let lines = drawing
        .items
        .iter()
        .filter(|item| item.role == Role::Outline && matches!(item.shape, ItemShape::Path(_)));
    // Four pictures, and the legend's swatches.
    assert!(lines.count() >= 4 * 140);
    assert!(drawing.items.iter().any(
        |item| matches!(&item.shape, ItemShape::Text(text) if text.content.ends_with("in lines, nothing hidden"))
    ));
}

#[test]
fn a_crowd_is_painted_by_nearness_and_said() {
    // 1,500 pieces on one spot of the page: fifty upright tubes seen from above.
    let upright = |n: usize| run(n, 10.0, 30.0, &[[n as f64 * 0.1, 0.0, 0.0], [n as f64 * 0.1, 0.0, 600.0]]);
    let heap = layout((0..50).map(upright).collect(), Vec::new());
    let view = View { aspect: Aspect::top(), centre: Point3::origin(), at: Point::new(0.0, 0.0), scale: 1.0 };
    let (bodies, known) = scene(&heap, &view);
    let painted = paint::paint(&bodies, &known, &view, &|run| colour(&heap, run));
    assert!(!painted.exact);
    let middle = |index: usize| {
        let (near, far) = bodies[index].nearness(&view, bodies[index].bounds.centre());
        (near + far) / 2.0
    };
    assert!(painted.order.windows(2).all(|pair| middle(pair[0]) <= middle(pair[1])));
    let mut order = painted.order.clone();
    order.sort_unstable();
    assert_eq!(order, (0..bodies.len()).collect::<Vec<_>>());
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig { cases: 12, failure_persistence: None, ..Default::default() })]

    #[test]
    fn random_tubes_hide_each_other_as_they_should(
        points in proptest::collection::vec(proptest::collection::vec([-200.0..200.0f64, -200.0..200.0, -200.0..200.0], 3..6), 2..6),
        od in 6.0..20.0f64,
    ) {
        let runs: Vec<LaidRun> = points
            .iter()
            .enumerate()
            .filter_map(|(n, points)| {
                let at = |p: &P| Point3::new(p[0], p[1], p[2]);
                let corners: Vec<CornerPoint> = points[1..points.len() - 1]
                    .iter()
                    .map(|p| CornerPoint { at: at(p), radius: 1.5 * od })
                    .collect();
                let line = from_corners(at(&points[0]), &corners, at(&points[points.len() - 1]));
                line.is_ok().then(|| run(n, od, 1.5 * od, points))
            })
            .collect();
        proptest::prop_assume!(!runs.is_empty() && !touch(&runs));
        let layout = layout(runs, Vec::new());
        for aspect in ASPECTS {
            compare(&layout, aspect(), 40);
        }
        check_words(&layout);
    }
}

#[test]
fn a_clash_has_a_pin_in_every_view_and_a_line_of_the_legend() {
    let layout = weave();
    let place = [40.0, 25.0, 10.0];
    let mut findings = Diagnostics::new();
    findings.push(
        Diagnostic::warning("clash", "run a overlaps run b by 5.00 mm")
            .run(&layout.runs[0].run.name)
            .at_mm(place),
    );
    let without = overview(&layout, &Diagnostics::new());
    let drawing = overview(&layout, &findings);
    let red = |item: &&Item| matches!(&item.shape, ItemShape::Area { fill: Rgb(200, 0, 0), .. });
    assert_eq!(without.items.iter().filter(red).count(), 0);
    assert_eq!(drawing.items.iter().filter(red).count(), 5, "four views and the legend");
    let said = |drawing: &Drawing, words: &str| {
        drawing.items.iter().filter(|i| matches!(&i.shape, ItemShape::Text(t) if t.content == words)).count()
    };
    assert_eq!(said(&drawing, "run a overlaps run b by 5.00 mm"), 1);
    assert_eq!(said(&drawing, "1") - said(&without, "1"), 5);
    // The points of the pins lie where the views see the place.
    let names = layout.components.iter().map(|c| c.name.as_str());
    let labels: Vec<&str> = layout.runs.iter().map(|r| r.run.name.as_str()).chain(names).collect();
    let aspects = [Aspect::front(), Aspect::top(), Aspect::left(), Aspect::isometric()];
    let clashes = clash::clashes(&layout, &findings);
    let page = Page::new(
        aspects.map(|aspect| extents(&layout, aspect)),
        label::column(&labels),
        furniture::band_height(&layout, &clashes),
    );
    let tips: Vec<Point> = drawing
        .items
        .iter()
        .filter(red)
        .filter_map(|item| match &item.shape {
            ItemShape::Area { bound: Path { edges, .. }, .. } => match edges.first() {
                Some(Edge::Line(line)) => Some(line.from),
                _ => None,
            },
            _ => None,
        })
        .collect();
    for (aspect, at) in aspects.into_iter().zip(&page.places) {
        let view = View { aspect, centre: Point3::origin(), at: at.at, scale: at.scale };
        let seen = view.see(Point3::from(place)).0;
        assert!(tips.iter().any(|tip| tip.distance(seen) < 0.01), "{}: {tips:?} {seen:?}", aspect.name);
    }
}
