//! Solids and meshes of blocks (forms, followers) and plates (sheet parts, gauges), through the library's
//! public functions.

use std::collections::BTreeMap;
use std::f64::consts::{FRAC_PI_2, PI};

use proptest::prelude::*;
use truck_topology::shell::ShellCondition;
use tubewright::centreline::{TableRow, from_table};
use tubewright::flat::{Arc, Edge, Path, Point};
use tubewright::geometry::{Frame, InnerSpace, Placement, Point3, Vector3};
use tubewright::solid::mesh::{Mesh, of_solid};
use tubewright::solid::{Solid, SolidFault, Surface, block, gauge, plate, verify};
use tubewright::tooling::trial::GrooveGauge;
use tubewright::tooling::{Block, Groove, Opening, Part, Purpose};

use crate::grooved::{PLAIN, Shape, line, polygon, rectangle};
use crate::support::copper;

fn kinds(solid: &Solid) -> [usize; 3] {
    let mut kinds = [0; 3];
    for face in solid.boundaries()[0].iter() {
        kinds[match face.surface() {
            Surface::Plane(_) => 0,
            Surface::Cylinder { .. } => 1,
            Surface::Torus { .. } => 2,
        }] += 1;
    }
    kinds
}

fn assert_closed(solid: &Solid) {
    assert_eq!(solid.boundaries().len(), 1);
    assert_eq!(solid.boundaries()[0].shell_condition(), ShellCondition::Closed);
}

/// Area of the faces that are not flat, mm².
fn curved_area(solid: &Solid) -> f64 {
    let flat = |face: &&tubewright::solid::Face| matches!(face.surface(), Surface::Plane(_));
    let faces: Vec<_> = solid.boundaries()[0].iter().filter(|face| !flat(face)).cloned().collect();
    verify::measure(&Solid::new_unchecked(vec![faces.into()])).area
}

/// Every directed edge once, and its opposite once; every vertex used; one body of the genus given.
fn assert_watertight(mesh: &Mesh, through_holes: usize) {
    let mut edges: BTreeMap<(u32, u32), usize> = BTreeMap::new();
    for [a, b, c] in &mesh.triangles {
        for edge in [(*a, *b), (*b, *c), (*c, *a)] {
            *edges.entry(edge).or_default() += 1;
        }
    }
    for (&(a, b), &count) in &edges {
        assert_eq!(count, 1, "{a}-{b}");
        assert!(edges.contains_key(&(b, a)), "{b}-{a}");
    }
    let euler = (mesh.vertices.len() + mesh.triangles.len()) as isize - (edges.len() / 2) as isize;
    assert_eq!(euler, 2 - 2 * through_holes as isize);
}

fn mesh_area(mesh: &Mesh) -> f64 {
    let area = |t: &[u32; 3]| {
        let [a, b, c] = t.map(|i| mesh.vertices[i as usize]);
        (b - a).cross(c - a).magnitude() / 2.0
    };
    mesh.triangles.iter().map(area).sum()
}

/// The mesh is closed, as near as its chord height says, and nowhere folded.
fn assert_mesh(solid: &Solid, chord: f64, through_holes: usize) {
    let mesh = of_solid(solid, chord).unwrap();
    assert_watertight(&mesh, through_holes);
    let exact = verify::measure(solid);
    let bound = chord * curved_area(solid) + 1e-9 * exact.volume;
    assert!((mesh.volume() - exact.volume).abs() <= bound, "{} {exact:?} {bound}", mesh.volume());
    let area = mesh_area(&mesh);
    assert!((area / exact.area - 1.0).abs() < 0.05, "{area} {exact:?}");
}

#[test]
fn a_form_is_closed_exact_and_of_the_right_faces() {
    let solid = block(&PLAIN.block()).unwrap();
    assert_closed(&solid);
    // Rim strips: 2 x (plane, cylinder, plane); groove: 2 cylinders, 1 torus; 3 sides, top, bottom; bolt hole
    // and side hole: 2 half cylinders each, and a disc; slot 4; marks 3 x (4 + 1). The groove is a hair less
    // than half round: centre 0.1 outside the rim.
    assert_eq!(kinds(&solid), [4 + 3 + 2 + 1 + 4 + 15, 2 + 2 + 2 + 2, 1]);
    assert_mesh(&solid, 0.05, 2);
}

/// 15 mm tube, no clearance, half round; clr 53, leads 30, 90°; sides 30 deep. By hand: the contour is the
/// hexagon of its straights and the arc's chord, and the segment between chord and arc.
#[test]
fn a_plain_form_has_the_volume_worked_by_hand() {
    let shape = Shape { clearance: 0.0, openings: false, ..PLAIN };
    // Twice the hexagon, term by term: 1590 + 900 + 371 + 900 + 1590 + 2809 = 8160.
    let contour = 8160.0 / 2.0 + 53.0 * 53.0 / 2.0 * (FRAC_PI_2 - 1.0);
    // Pappus: half disc r 7.5, centroid 4 r / 3 π inside the rim.
    let half_disc = PI / 2.0 * 7.5 * 7.5;
    let groove = half_disc * (60.0 + FRAC_PI_2 * (53.0 - 4.0 * 7.5 / (3.0 * PI)));
    let expected = contour * 21.0 - groove;
    let measured = verify::measure(&block(&shape.block()).unwrap()).volume;
    assert!((measured / expected - 1.0).abs() < 1e-12, "{measured} {expected}");
}

#[test]
fn arcs_beyond_half_a_turn_are_split() {
    let solid = block(&Shape { arc: 3.4, openings: false, ..PLAIN }.block()).unwrap();
    assert_closed(&solid);
    assert_eq!(kinds(&solid)[2], 2);
    assert_mesh(&solid, 0.05, 0);
}

/// A follower: one straight.
#[test]
fn a_follower_is_a_block_with_a_straight_rim() {
    let at = Point::new;
    let follower = Block {
        rim: vec![line(at(-40.0, 0.0), at(40.0, 0.0))],
        back: vec![at(40.0, 0.0), at(40.0, -25.0), at(-40.0, -25.0), at(-40.0, 0.0)],
        holes: vec![(at(0.0, -17.0), 5.0, Purpose::Bolt)],
        ..Shape { openings: false, depth: 0.55, ..PLAIN }.block()
    };
    let solid = block(&follower).unwrap();
    assert_closed(&solid);
    // Deeper than half: two flat walls.
    assert_eq!(kinds(&solid), [2 + 2 + 3 + 2, 1 + 2, 0]);
    assert_mesh(&solid, 0.05, 1);
}

#[test]
fn what_would_cross_or_break_through_is_refused() {
    let sound = PLAIN.block();
    let refused = |change: &dyn Fn(&mut Block)| {
        let mut changed = sound.clone();
        change(&mut changed);
        block(&changed).map(|_| ()).unwrap_err()
    };
    let contours = |change: &dyn Fn(&mut Block), told: &str| {
        let fault = refused(change);
        assert!(
            matches!(fault, SolidFault::Contours(_)) && fault.to_string().contains(told),
            "{fault}: {told}"
        );
        assert!(!fault.advice().is_empty());
    };
    let small = |change: &dyn Fn(&mut Block), told: &str| {
        let fault = refused(change);
        let says = fault.to_string().contains(told);
        assert!(matches!(fault, SolidFault::TooSmall { .. }) && says, "{fault}: {told}");
    };
    small(&|b| b.height = 2.0 * b.groove.radius, "lip");
    small(&|b| b.groove.radius = 0.0, "depth");
    small(&|b| b.groove.offset = b.groove.radius, "depth");
    small(&|b| b.sunk_depth = 4.0, "under a mark");
    small(&|b| b.sunk_depth = 0.0, "mark's depth");
    small(&|b| b.side_holes[0].diameter = b.height, "beside a side hole");
    small(&|b| b.side_holes[0].depth = 0.0, "side hole's depth");
    small(&|b| b.groove = Groove { radius: 7.6, offset: -60.0 }, "inside of a groove's arc");
    contours(&|b| b.holes[0].1 = 200.0, "edge");
    contours(&|b| b.holes.push(b.holes[0]), "meet");
    // Clear of the rim, but not of the groove.
    contours(&|b| b.holes[0].0 = Point::new(0.0, 53.0 - 6.0), "edge");
    contours(&|b| b.slots.push(b.slots[0].clone()), "meet");
    contours(&|b| b.sunk.push(b.sunk[0].clone()), "meet");
    contours(&|b| b.sunk[0] = b.slots[0].clone(), "meet");
    contours(&|b| b.side_holes[0].along = 9.0, "edge");
    contours(&|b| b.side_holes[0].side = 3, "no side");
    contours(&|b| b.side_holes.push(b.side_holes[0]), "meet");
    contours(&|b| b.back.reverse(), "meet its rim");
    contours(&|b| b.back.truncate(2), "back");
    contours(&|b| b.rim.clear(), "no rim");
    contours(
        &|b| {
            b.rim.remove(1);
        },
        "kink",
    );
    contours(&|b| b.back[1] = b.back[1].shifted(0.1, 0.1), "square");
    contours(&|b| b.back[1] = Point::new(80.0, 30.0), "square");
    contours(&|b| b.slots[0].edges.reverse(), "");
    for value in [f64::NAN, f64::INFINITY] {
        assert!(matches!(refused(&|b| b.height = value), SolidFault::TooFar(_)));
        assert!(matches!(refused(&|b| b.groove.radius = value), SolidFault::TooFar(_)));
        assert!(matches!(refused(&|b| b.holes[0].1 = value), SolidFault::TooFar(_)));
        refused(&|b| b.sunk_depth = value);
        refused(&|b| b.side_holes[0].along = value);
    }
}

/// Largest distance of facets from the curved surfaces that their corners lie on and their normals fit.
fn worst_deviation(solid: &Solid, mesh: &Mesh) -> f64 {
    let off = |surface: &Surface, p: Point3| match *surface {
        Surface::Plane(_) => f64::INFINITY,
        Surface::Cylinder { placement, radius } => {
            let from = p - placement.origin;
            (from - placement.axis * from.dot(placement.axis)).magnitude() - radius
        }
        Surface::Torus { placement, major, minor } => {
            let from = p - placement.origin;
            let height = from.dot(placement.axis);
            ((from - placement.axis * height).magnitude() - major).hypot(height) - minor
        }
    };
    let mut worst = 0.0_f64;
    for surface in solid.boundaries()[0].iter().map(tubewright::solid::Face::surface) {
        for facet in &mesh.triangles {
            let [a, b, c] = facet.map(|i| mesh.vertices[i as usize]);
            if [a, b, c].into_iter().any(|p| off(&surface, p).abs() > 1e-9) {
                continue;
            }
            let middles =
                [a + (b - a) / 2.0, b + (c - b) / 2.0, c + (a - c) / 2.0, a + ((b - a) + (c - a)) / 3.0];
            let (u, v) = surface.parameters(middles[3]);
            let normal = (b - a).cross(c - a).normalize();
            // Flat facets between corners of one curved surface, as in a hole's mouth, stand square to it.
            if normal.dot(surface.normal(u, v)).abs() > 0.5 {
                worst = middles.into_iter().map(|p| off(&surface, p).abs()).fold(worst, f64::max);
            }
        }
    }
    worst
}

#[test]
fn no_facet_strays_further_than_the_chord_height() {
    for arc in [0.3, FRAC_PI_2, 3.3] {
        let solid = block(&Shape { arc, openings: arc < 2.0, ..PLAIN }.block()).unwrap();
        for chord in [0.5, 0.05, 0.01] {
            let worst = worst_deviation(&solid, &of_solid(&solid, chord).unwrap());
            assert!(worst <= chord * (1.0 + 1e-9), "{worst} {chord}");
            // The height is not wasted on far too many facets; at 0.5 the least number of pieces rules.
            assert!(worst > chord / 4.0 || chord > 0.1, "{worst} {chord}");
        }
    }
}

/// The general mesh of a tube's solid is the same body as the tube's own mesh.
#[test]
fn a_tube_is_meshed_like_any_solid() {
    let row = |rotation, angle| TableRow { length: 20.0, rotation, angle, radius: 30.0 };
    let line = from_table(Frame::default(), &[row(0.4, 1.0), row(-1.0, PI)], 20.0).unwrap();
    let tube = tubewright::solid::tube(&line, &copper(15.0, 1.0)).unwrap();
    assert_mesh(&tube, 0.05, 1);
    let worst = worst_deviation(&tube, &of_solid(&tube, 0.05).unwrap());
    assert!(worst <= 0.05 * (1.0 + 1e-9) && worst > 0.02, "{worst}");
}

#[test]
fn absurd_chord_heights_are_errors() {
    let solid = block(&PLAIN.block()).unwrap();
    for chord in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(matches!(of_solid(&solid, chord), Err(SolidFault::Chord(_))), "{chord}");
    }
    for chord in [1e-9, 1e-300] {
        assert!(matches!(of_solid(&solid, chord), Err(SolidFault::TooManyTriangles { .. })), "{chord}");
    }
    assert_mesh(&solid, 1e9, 2);
}

/// A plate with rounded corners, a round hole, a square one, and a slot with round ends.
fn part(width: f64, height: f64, corner: f64) -> Part {
    let at = Point::new;
    let round = |centre, start| Edge::Arc(Arc { centre, radius: corner, start, sweep: FRAC_PI_2 });
    let (w, h, r) = (width, height, corner);
    let outline = vec![
        line(at(r, 0.0), at(w - r, 0.0)),
        round(at(w - r, r), -FRAC_PI_2),
        line(at(w, r), at(w, h - r)),
        round(at(w - r, h - r), 0.0),
        line(at(w - r, h), at(r, h)),
        round(at(r, h - r), FRAC_PI_2),
        line(at(0.0, h - r), at(0.0, r)),
        round(at(r, r), PI),
    ];
    let (c, q) = (w / 2.0, h / 8.0);
    let cap = |centre, start| Edge::Arc(Arc { centre, radius: q, start, sweep: PI });
    let slot = vec![
        line(at(c - q, h / 2.0 - q), at(c + q, h / 2.0 - q)),
        cap(at(c + q, h / 2.0), -FRAC_PI_2),
        line(at(c + q, h / 2.0 + q), at(c - q, h / 2.0 + q)),
        cap(at(c - q, h / 2.0), FRAC_PI_2),
    ];
    Part {
        name: "C1".to_owned(),
        outline: Path { edges: outline, closed: true },
        openings: vec![
            Opening::Slot(Path { edges: slot, closed: true }),
            Opening::Round { at: at(w * 0.15, h / 2.0), diameter: w / 10.0, purpose: Purpose::Dowel },
            Opening::Slot(rectangle(at(w * 0.85, h / 2.0), w / 10.0, h / 3.0, 0.3)),
        ],
        marks: vec![],
    }
}

#[test]
fn a_cradle_with_a_saddle_of_more_than_half_a_turn_is_sound() {
    // A keyhole: an arc of 5 rad, clockwise along the outline.
    let half = PI - 2.5;
    let (centre, r) = (Point::new(20.0, 22.0), 6.0);
    let saddle = Arc { centre, radius: r, start: FRAC_PI_2 - half, sweep: -5.0 };
    let (right, left) = (saddle.from(), saddle.to());
    let corners = [
        Point::new(0.0, 0.0),
        Point::new(40.0, 0.0),
        Point::new(40.0, 40.0),
        Point::new(right.x, 40.0),
        right,
    ];
    let mut edges: Vec<Edge> = corners.windows(2).map(|pair| line(pair[0], pair[1])).collect();
    edges.push(Edge::Arc(saddle));
    let rest = [left, Point::new(left.x, 40.0), Point::new(0.0, 40.0), corners[0]];
    edges.extend(rest.windows(2).map(|pair| line(pair[0], pair[1])));
    let part = Part {
        name: "C2".to_owned(),
        outline: Path { edges, closed: true },
        openings: vec![],
        marks: vec![],
    };
    let at = Placement { origin: Point3::new(9.0, -4.0, 2.0), axis: Vector3::unit_y(), x: Vector3::unit_z() };
    let solid = plate(&part, 6.0, &at).unwrap();
    assert_closed(&solid);
    assert_eq!(kinds(&solid), [7 + 2, 2, 0]);
    // 40 x 40 less the saddle: a segment of 5 rad and the way in above the chord.
    let segment = r * r / 2.0 * (5.0 - 5.0_f64.sin());
    let way = 2.0 * r * half.sin() * (40.0 - 22.0 - r * half.cos());
    let measured = verify::measure(&solid);
    assert!((measured.volume / (6.0 * (1600.0 - segment - way)) - 1.0).abs() < 1e-12, "{measured:?}");
    assert_mesh(&solid, 0.05, 0);
}

#[test]
fn parts_that_are_no_plate_are_refused() {
    let at = Placement { origin: Point3::new(0.0, 0.0, 0.0), axis: Vector3::unit_z(), x: Vector3::unit_x() };
    let sound = part(80.0, 40.0, 5.0);
    plate(&sound, 6.0, &at).unwrap();
    for thickness in [0.0, -1.0, 1e-9] {
        assert!(matches!(plate(&sound, thickness, &at), Err(SolidFault::TooSmall { .. })));
    }
    for thickness in [f64::NAN, f64::INFINITY] {
        assert!(matches!(plate(&sound, thickness, &at), Err(SolidFault::TooFar(_))));
    }
    let mut clockwise = sound.clone();
    let Opening::Slot(slot) = &mut clockwise.openings[2] else { unreachable!("a slot") };
    let corners: Vec<Point> = slot.edges.iter().rev().map(Edge::from).collect();
    *slot = polygon(&corners);
    let mut out = sound.clone();
    out.openings.push(Opening::Round { at: Point::new(0.0, 20.0), diameter: 4.0, purpose: Purpose::Bolt });
    for part in [clockwise, out] {
        assert!(matches!(plate(&part, 6.0, &at), Err(SolidFault::Contours(_))));
    }
}

#[test]
fn a_gauge_stands_upright_and_runs_along_y() {
    let at = Point::new;
    let section = polygon(&[at(0.0, 0.0), at(20.0, 0.0), at(20.0, 30.0), at(0.0, 30.0)]);
    let bar =
        GrooveGauge { name: "groove-15".to_owned(), od: 15.0, clearances: vec![], section, length: 25.0 };
    let solid = gauge(&bar).unwrap();
    let mesh = of_solid(&solid, 0.05).unwrap();
    let reach = |pick: fn(&Point3) -> f64| {
        let all = mesh.vertices.iter().map(pick);
        (all.clone().fold(f64::INFINITY, f64::min), all.fold(f64::NEG_INFINITY, f64::max))
    };
    assert_eq!([reach(|p| p.x), reach(|p| p.y), reach(|p| p.z)], [(0.0, 20.0), (0.0, 25.0), (0.0, 30.0)]);
    assert!((mesh.volume() - 15_000.0).abs() < 1e-9);
    assert_watertight(&mesh, 0);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn blocks_of_any_size_are_closed_exact_and_meshed(
        od in 3.0..60.0_f64,
        clearance in 0.0..0.5_f64,
        depth in 0.3..0.7_f64,
        radius in 1.3..8.0_f64,
        degrees in 5.0..195.0_f64,
        lead in 0.5..1.5_f64,
        deep in 0.0..1.0_f64,
        openings in any::<bool>(),
        chord in 0.02..0.5_f64,
    ) {
        let clr = od * radius;
        // Sides from a little more than the groove's depth to nearly the rim's radius; beyond half a turn
        // the leads run towards each other.
        let groove = depth * od;
        let rim = clr - (od / 2.0 + clearance - groove);
        let shape = Shape {
            od,
            clearance,
            depth,
            clr,
            arc: degrees.to_radians(),
            lead: lead * rim,
            deep: groove + (rim - groove) * (0.3 + 0.5 * deep),
            openings: openings && rim > 1.6 * groove,
        };
        let solid = block(&shape.block()).map_err(|fault| TestCaseError::fail(format!("{fault} {shape:?}")))?;
        assert_closed(&solid);
        let [_, cylinders, tori] = kinds(&solid);
        prop_assert_eq!(tori, if degrees > 180.0 { 2 } else { 1 });
        prop_assert!(cylinders >= 4);
        assert_mesh(&solid, chord, if shape.openings { 2 } else { 0 });
    }

    #[test]
    fn plates_of_any_size_and_place_are_closed_exact_and_meshed(
        height in 5.0..300.0_f64,
        slender in 1.0..3.0_f64,
        corner in 0.01..0.45_f64,
        thickness in 0.5..20.0_f64,
        turn in -PI..PI,
        tilt in -PI..PI,
        (x, y, z) in (-1e3..1e3_f64, -1e3..1e3_f64, -1e3..1e3_f64),
        chord in 0.02..0.5_f64,
    ) {
        let (sin, cos) = tilt.sin_cos();
        let axis = Vector3::new(sin, 0.0, cos);
        let level = Placement { origin: Point3::new(x, y, z), axis, x: Vector3::unit_y() };
        let at = Placement { x: level.spoke(turn), ..level };
        let part = part(height * slender, height, corner * height);
        let solid = plate(&part, thickness, &at).map_err(|fault| TestCaseError::fail(fault.to_string()))?;
        assert_closed(&solid);
        prop_assert_eq!(kinds(&solid)[2], 0);
        assert_mesh(&solid, chord, 3);
    }
}
