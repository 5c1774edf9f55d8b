//! Solids, meshes and their files, through the library's public functions.

use crate::support;
use std::collections::{BTreeMap, BTreeSet};
use std::f64::consts::PI;
use std::io::{self, Write};

use proptest::prelude::*;
use truck_topology::shell::ShellCondition;
use tubewright::centreline::{Centreline, CornerPoint, Layout, TableRow, from_corners, from_table};
use tubewright::export::{Meta, step, stl};
use tubewright::geometry::{EuclideanSpace, Frame, MetricSpace, Point3, Vector3};
use tubewright::solid::{self, Tubes, mesh, verify};
use tubewright::spec::model::{Component, Shape, Tube};
use tubewright::tolerance::SMALLEST_BEND;

use crate::support::{copper, laid};

/// A planar U: two bends of 90° at R 38.1.
fn u_bend() -> Centreline {
    let corner = |x, y| CornerPoint { at: Point3::new(x, y, 0.0), radius: 38.1 };
    let (start, end) = (Point3::origin(), Point3::new(0.0, 120.0, 0.0));
    from_corners(start, &[corner(100.0, 0.0), corner(100.0, 120.0)], end).unwrap()
}

fn meta() -> Meta {
    Meta { title: "Builder's loop \\ Ø".into(), mark: "BCDFGH".into(), timestamp: 0 }
}

fn layout() -> Layout {
    let part = |name: &str, shape: Option<Shape>| Component::new(name, shape.into_iter().collect(), vec![]);
    let at = Point3::new;
    let components = vec![
        part("tank", Some(Shape::square(at(0.0, 0.0, 0.0), at(80.0, 60.0, 180.0)))),
        part(
            "pump",
            Some(Shape::Cylinder { from: at(9.0, 5.0, 0.0), to: at(9.0, 5.0, 70.0), diameter: 62.0 }),
        ),
        part("port-only", None),
    ];
    let runs =
        vec![laid(0, "tank", u_bend(), copper(15.0, 1.0)), laid(3, "return", u_bend(), copper(12.0, 0.8))];
    Layout { name: "loop".into(), title: "Builder's loop \\ Ø".into(), components, ..support::layout(runs) }
}

/// The entities of a STEP file by number, checked to be numbered once each.
fn entities(step: &[u8]) -> BTreeMap<u32, String> {
    let text = std::str::from_utf8(step).unwrap();
    assert!(text.is_ascii());
    let mut entities = BTreeMap::new();
    for line in text.lines().filter(|line| line.starts_with('#')) {
        let (number, body) = line[1..].strip_suffix(';').unwrap().split_once('=').unwrap();
        assert!(entities.insert(number.parse().unwrap(), body.to_owned()).is_none(), "#{number} twice");
    }
    entities
}

/// The entity numbers a body refers to; strings are passed over.
fn references(body: &str) -> Vec<u32> {
    let outside: String = body.split('\'').step_by(2).collect();
    outside
        .split('#')
        .skip(1)
        .map(|rest| rest.chars().take_while(char::is_ascii_digit).collect::<String>().parse().unwrap())
        .collect()
}

/// Every reference is defined; every edge is used twice, once in each sense.
fn assert_sound_step(step: &[u8]) -> BTreeMap<u32, String> {
    let entities = entities(step);
    let mut uses: BTreeMap<u32, Vec<bool>> = BTreeMap::new();
    for (number, body) in &entities {
        for to in references(body) {
            assert!(entities.contains_key(&to), "#{number} refers to #{to}, which is not there");
        }
        if body.starts_with("ORIENTED_EDGE") {
            uses.entry(references(body)[0]).or_default().push(body.ends_with(".T.)"));
        }
    }
    for (number, body) in entities.iter().filter(|(_, body)| body.starts_with("EDGE_CURVE")) {
        let mut senses = uses.remove(number).unwrap_or_default();
        senses.sort_unstable();
        assert_eq!(senses, [false, true], "#{number}={body}");
    }
    assert!(uses.is_empty());
    entities
}

fn count(entities: &BTreeMap<u32, String>, kind: &str) -> usize {
    entities.values().filter(|body| body.split('(').next() == Some(kind)).count()
}

#[test]
fn a_tube_file_holds_one_named_coloured_solid() {
    let bytes =
        step::tube_file(&laid(0, "feed", u_bend(), copper(15.875, 1.245)), &Tubes::default(), &meta())
            .unwrap();
    let entities = assert_sound_step(&bytes);
    for (kind, expected) in [
        ("MANIFOLD_SOLID_BREP", 1),
        ("CLOSED_SHELL", 1),
        ("ADVANCED_FACE", 22),
        ("FACE_OUTER_BOUND", 22),
        ("FACE_BOUND", 2),
        // Halves of one wall share their surface: three straights and two bends, inside and out.
        ("CYLINDRICAL_SURFACE", 6),
        ("TOROIDAL_SURFACE", 4),
        ("PLANE", 2),
        ("PRODUCT", 1),
        ("NEXT_ASSEMBLY_USAGE_OCCURRENCE", 0),
        ("STYLED_ITEM", 1),
    ] {
        assert_eq!(count(&entities, kind), expected, "{kind}");
    }
    let text = String::from_utf8(bytes).unwrap();
    for part in [
        "FILE_DESCRIPTION(('Builder''s loop \\\\ \\X2\\00D8\\X0\\','plan mark BCDFGH'),'2;1');",
        "'1970-01-01T00:00:00'",
        "FILE_SCHEMA(('AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }'));",
        "PRODUCT('feed','feed',",
        "MANIFOLD_SOLID_BREP('feed',",
        "LENGTH_MEASURE(1.E-7)",
        "SI_UNIT(.MILLI.,.METRE.)",
    ] {
        assert!(text.contains(part), "{part}");
    }
    assert!(!text.contains("NaN") && !text.contains("inf"), "{text}");
}

#[test]
fn the_time_stamp_is_the_one_given() {
    let meta = Meta { title: "t".into(), mark: "BCDFGH".into(), timestamp: 1_700_000_000 };
    let bytes =
        step::tube_file(&laid(0, "feed", u_bend(), copper(15.0, 1.0)), &Tubes::default(), &meta).unwrap();
    assert!(String::from_utf8(bytes).unwrap().contains("'2023-11-14T22:13:20'"));
}

#[test]
fn an_assembly_has_an_occurrence_of_every_run_and_shaped_component() {
    let bytes = step::assembly_file(&layout(), &Tubes::default(), &meta()).unwrap();
    let entities = assert_sound_step(&bytes);
    assert_eq!(count(&entities, "MANIFOLD_SOLID_BREP"), 4);
    assert_eq!(count(&entities, "NEXT_ASSEMBLY_USAGE_OCCURRENCE"), 4);
    assert_eq!(count(&entities, "CONTEXT_DEPENDENT_SHAPE_REPRESENTATION"), 4);
    let products: Vec<&String> = entities.values().filter(|b| b.starts_with("PRODUCT(")).collect();
    let ids: BTreeSet<&str> = products.iter().filter_map(|b| b.split('\'').nth(1)).collect();
    let expected = ["assembly:loop", "component:pump", "component:tank", "return", "tank"];
    assert_eq!(ids.into_iter().collect::<Vec<_>>(), expected);
    assert!(products.iter().any(|b| b.contains("'Builder''s loop \\\\ \\X2\\00D8\\X0\\'")));
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    let layout = layout();
    let bytes = step::assembly_file(&layout, &Tubes::default(), &meta()).unwrap();
    assert_eq!(bytes, step::assembly_file(&layout.clone(), &Tubes::default(), &meta()).unwrap());
    let run = &layout.runs[0];
    assert_eq!(
        step::tube_file(run, &Tubes::default(), &meta()).unwrap(),
        step::tube_file(&run.clone(), &Tubes::default(), &meta()).unwrap()
    );
    let stl =
        || stl::render(&mesh::tube(&run.centreline, &run.run.tube, 0.05).unwrap(), None, "tank", "BCDFGH");
    assert_eq!(stl(), stl());
}

#[test]
fn faults_name_the_run_or_component() {
    let tight = TableRow { length: 10.0, rotation: 0.0, angle: 1.0, radius: 7.0 };
    let line = from_table(Frame::default(), &[tight], 10.0).unwrap();
    let fault =
        step::tube_file(&laid(0, "feed", line, copper(15.0, 1.0)), &Tubes::default(), &meta()).unwrap_err();
    assert_eq!(
        fault.to_string(),
        "run feed: bend 1: a centreline radius of 7 mm is too small for a tube of 15 mm; \
         it must be more than half of it"
    );
    let mut layout = layout();
    let flat = Shape::square(Point3::origin(), Point3::new(1.0, 0.0, 1.0));
    layout.components[0].shapes = vec![flat];
    let fault = step::assembly_file(&layout, &Tubes::default(), &meta()).unwrap_err();
    assert!(
        matches!(fault, step::StepFault::Component { ref component, .. } if component == "tank"),
        "{fault}"
    );
}

/// Counts what it is given and keeps none of it.
struct Counting {
    bytes: usize,
    largest: usize,
}

impl Write for Counting {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.bytes += bytes.len();
        self.largest = self.largest.max(bytes.len());
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[test]
fn a_long_assembly_is_handed_on_piece_by_piece() {
    let mut layout = layout();
    layout.runs = (0..200).map(|i| laid(i, &format!("run-{i}"), u_bend(), copper(15.0, 1.0))).collect();
    let mut out = Counting { bytes: 0, largest: 0 };
    step::write_assembly(&layout, &Tubes::default(), &meta(), &mut out).unwrap();
    assert!(out.bytes > 2_000_000, "{}", out.bytes);
    assert!(out.largest < 200_000, "{}", out.largest);
}

#[test]
fn a_failing_sink_is_an_error() {
    struct Full;
    impl Write for Full {
        fn write(&mut self, _: &[u8]) -> io::Result<usize> {
            Err(io::Error::other("full"))
        }
        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }
    let fault = step::write_assembly(&layout(), &Tubes::default(), &meta(), &mut Full).unwrap_err();
    assert_eq!(fault.to_string(), "the STEP text could not be written: full");
}

/// Facets of a binary STL file: normal and corners.
fn facets(stl: &[u8]) -> Vec<[[f32; 3]; 4]> {
    assert!(!stl.starts_with(b"solid"));
    let number = u32::from_le_bytes(stl[80..84].try_into().unwrap()) as usize;
    assert_eq!(stl.len(), 84 + 50 * number);
    stl[84..]
        .chunks(50)
        .map(|facet| {
            assert_eq!(facet[48..], [0, 0]);
            let float = |i: usize| f32::from_le_bytes(facet[4 * i..4 * i + 4].try_into().unwrap());
            std::array::from_fn(|vector| std::array::from_fn(|axis| float(3 * vector + axis)))
        })
        .collect()
}

/// Every directed edge is met by as many of the opposite direction; right-hand normals.
fn assert_closed_stl(stl: &[u8]) {
    let mut balance: BTreeMap<[[u32; 3]; 2], i32> = BTreeMap::new();
    for [_, a, b, c] in facets(stl) {
        let key = |p: [f32; 3]| p.map(f32::to_bits);
        for (from, to) in [(a, b), (b, c), (c, a)] {
            assert_ne!(from, to);
            let (from, to) = (key(from), key(to));
            let (edge, way) = if from < to { ([from, to], 1) } else { ([to, from], -1) };
            *balance.entry(edge).or_default() += way;
        }
    }
    assert!(balance.values().all(|&sum| sum == 0));
}

#[test]
fn stl_normals_follow_the_right_hand() {
    let mesh = mesh::tube(&u_bend(), &copper(15.875, 1.245), 0.05).unwrap();
    let bytes = stl::render(&mesh, None, "feed", "BCDFGH");
    assert_closed_stl(&bytes);
    let vector = |p: [f32; 3]| Vector3::new(p[0].into(), p[1].into(), p[2].into());
    for [normal, a, b, c] in facets(&bytes) {
        let right = (vector(b) - vector(a)).cross(vector(c) - vector(a));
        let normal = vector(normal);
        let along = right.x * normal.x + right.y * normal.y + right.z * normal.z;
        let size = (right.x.powi(2) + right.y.powi(2) + right.z.powi(2)).sqrt();
        assert!((along / size - 1.0).abs() < 1e-3, "{normal:?} {right:?}");
    }
}

#[test]
fn the_mesh_fills_the_box_of_the_tube() {
    let chord = 0.05;
    let mesh = mesh::tube(&u_bend(), &copper(15.875, 1.245), chord).unwrap();
    let (mut low, mut high) = ([f64::MAX; 3], [f64::MIN; 3]);
    for vertex in &mesh.vertices {
        let at: [f64; 3] = (*vertex).into();
        for axis in 0..3 {
            low[axis] = low[axis].min(at[axis]);
            high[axis] = high[axis].max(at[axis]);
        }
    }
    let expected = ([0.0, -7.9375, -7.9375], [107.9375, 127.9375, 7.9375]);
    for axis in 0..3 {
        assert!((0.0..chord).contains(&(low[axis] - expected.0[axis] + 1e-9)), "{low:?}");
        assert!((0.0..chord).contains(&(expected.1[axis] - high[axis] + 1e-9)), "{high:?}");
    }
}

/// Straights of no length, of next to none, and usual ones.
fn straight() -> impl Strategy<Value = f64> {
    prop_oneof![Just(0.0), 1e-7..1e-2, 0.1..200.0]
}

/// Tubes and centrelines from the usual to the barely possible.
fn tubes() -> impl Strategy<Value = (Centreline, Tube)> {
    let angle = prop_oneof![Just(PI), SMALLEST_BEND..0.02, 0.02..PI];
    let tightness = prop_oneof![1.0005..1.05_f64, 1.05..20.0_f64];
    let row = (straight(), -PI..PI, angle, tightness);
    let rows = prop::collection::vec(row, 0..7);
    let origin = (-2000.0..2000.0, -2000.0..2000.0, -2000.0..2000.0);
    let direction = (-1.0..1.0, -1.0..1.0, 0.05..1.0);
    (rows, straight(), 2.0..60.0_f64, 0.01..0.98_f64, origin, direction).prop_map(
        |(rows, end, od, wall, origin, direction)| {
            let table: Vec<TableRow> = rows
                .into_iter()
                .map(|(length, rotation, angle, tightness)| {
                    // The inside of a bend keeps a radius of a few thousandths at least.
                    let radius = (od / 2.0 * tightness).max(od / 2.0 + 2e-3);
                    TableRow { length, rotation, angle, radius }
                })
                .collect();
            let end = if table.is_empty() { end.max(0.5) } else { end };
            let frame = Frame::new(origin.into(), direction.into());
            (from_table(frame, &table, end).unwrap(), copper(od, od / 2.0 * wall))
        },
    )
}

/// Every edge runs from its first vertex to its last, on the surface of every face it bounds.
fn assert_edges_on_surfaces(solid: &solid::Solid) {
    for face in solid.boundaries()[0].iter() {
        let surface = face.surface();
        for edge in face.absolute_boundaries().iter().flat_map(|wire| wire.iter()) {
            let curve = edge.curve();
            let ends = [(0.0, edge.absolute_front()), (1.0, edge.absolute_back())];
            for (fraction, vertex) in ends {
                assert!(curve.at(fraction).distance(vertex.point()) < 1e-8, "{curve:?}");
            }
            for fraction in [0.0, 0.3, 0.7, 1.0] {
                let point = curve.at(fraction);
                let (u, v) = surface.parameters(point);
                assert!(surface.at(u, v).distance(point) < 1e-8, "{curve:?} {surface:?}");
            }
        }
    }
}

fn shapes() -> impl Strategy<Value = (Shape, f64)> {
    let point = || (-2000.0..2000.0, -2000.0..2000.0, -2000.0..2000.0);
    let size = || 0.01..500.0_f64;
    prop_oneof![
        (point(), size(), size(), size()).prop_map(|(at, x, y, z)| {
            let min = Point3::from(at);
            let max = min + Vector3::new(x, y, z);
            let size = max - min;
            (Shape::square(min, max), size.x * size.y * size.z)
        }),
        (point(), (-1.0..1.0, -1.0..1.0, 0.1..1.0), size(), size()).prop_map(
            |(at, way, length, diameter)| {
                let from = Point3::from(at);
                let to = from + Vector3::from(way) * length;
                let volume = PI / 4.0 * diameter * diameter * from.distance(to);
                (Shape::Cylinder { from, to, diameter }, volume)
            }
        ),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_tube_is_sound((line, tube) in tubes()) {
        let solid = solid::tube(&line, &tube).unwrap();
        let shell = &solid.boundaries()[0];
        prop_assert_eq!(solid.boundaries().len(), 1);
        prop_assert_eq!(shell.shell_condition(), ShellCondition::Closed);
        assert_edges_on_surfaces(&solid);
        let measured = verify::measure(&solid);
        let (volume, area) = (verify::metal_volume(&line, &tube), verify::surface_area(&line, &tube));
        prop_assert!((measured.volume - volume).abs() < 1e-9 * volume, "{measured:?} {volume}");
        prop_assert!((measured.area - area).abs() < 1e-9 * area, "{measured:?} {area}");

        let text = step::tube_file(&laid(0, "run", line.clone(), tube.clone()), &Tubes::default(), &meta()).unwrap();
        let entities = assert_sound_step(&text);
        prop_assert_eq!(count(&entities, "ADVANCED_FACE"), shell.len());

        // Coarse chords keep this quick; the bound must hold for every one.
        let chord = tube.od() / 40.0;
        let mesh = mesh::tube(&line, &tube, chord).unwrap();
        let loss = (volume - mesh.volume()) / volume;
        let bound = mesh::volume_bound(&line, &tube, chord);
        prop_assert!(-1e-9 < loss && loss <= bound + 1e-9, "{loss} {bound}");
        assert_closed_stl(&stl::render(&mesh, None, "run", "BCDFGH"));
    }

    #[test]
    fn any_component_is_sound((shape, volume) in shapes()) {
        let solid = &solid::of_shape(&shape).unwrap().unwrap();
        prop_assert_eq!(solid.boundaries()[0].shell_condition(), ShellCondition::Closed);
        assert_edges_on_surfaces(solid);
        let measured = verify::measure(solid).volume;
        prop_assert!((measured - volume).abs() < 1e-9 * volume, "{measured} {volume}");
        let mut layout = layout();
        layout.components = vec![Component::new("part", vec![shape], vec![])];
        assert_sound_step(&step::assembly_file(&layout, &Tubes::default(), &meta()).unwrap());
    }

    #[test]
    fn any_numbers_at_all_give_a_solid_or_an_error(
        rows in prop::collection::vec((any::<f64>(), any::<f64>(), any::<f64>(), any::<f64>()), 0..4),
        end in any::<f64>(),
        chord in any::<f64>(),
    ) {
        let table: Vec<TableRow> = rows
            .into_iter()
            .map(|(length, rotation, angle, radius)| TableRow { length, rotation, angle: angle.abs() % PI, radius })
            .collect();
        if let Ok(line) = from_table(Frame::default(), &table, end) {
            let tube = copper(15.0, 1.0);
            if let Ok(bytes) = step::tube_file(&laid(0, "run", line.clone(), tube.clone()), &Tubes::default(), &meta()) {
                assert_sound_step(&bytes);
            }
            if let Ok(mesh) = mesh::tube(&line, &tube, chord) {
                prop_assert!(mesh.triangles.len() <= mesh::MOST_TRIANGLES);
            }
        }
    }
}
