//! Forms and DXF files through the library's public face: shapes over whole ranges, and the DXF text
//! read back by a library that did not write it.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop")]

mod support;

use std::f64::consts::{PI, TAU};
use std::io::Cursor;

use cavalier_contours::polyline::{PlineSource, PlineSourceMut, Polyline};
use dxf::entities::EntityType;
use proptest::prelude::*;
use tubewright::centreline::{LaidRun, TableRow, from_table};
use tubewright::drawing::form::{self, Form};
use tubewright::drawing::item::{Across, Arc, Drawing, Edge, Line, Path, Point, Role, Shape, Text, Upright};
use tubewright::export::{Meta, dxf as writer};
use tubewright::geometry::Frame;
use tubewright::palette::Rgb;

use support::layout;

fn meta() -> Meta {
    Meta { title: "Test".to_owned(), timestamp: 0 }
}

/// A run of one tube with bends (angle in degrees, radius in mm) in a plane.
fn run(index: usize, od: f64, bends: &[(f64, f64)]) -> LaidRun {
    let row = |&(angle, radius): &(f64, f64)| TableRow {
        length: 60.0,
        rotation: 0.0,
        angle: angle.to_radians(),
        radius,
    };
    let table: Vec<TableRow> = bends.iter().map(row).collect();
    let centreline = from_table(Frame::default(), &table, 60.0).unwrap();
    support::laid(index, &format!("run-{index}"), centreline, support::copper(od, od * 0.08))
}

fn single_form(od: f64, bends: &[(f64, f64)]) -> Form {
    let mut forms = form::forms(&layout(vec![run(0, od, bends)])).unwrap();
    assert_eq!(forms.len(), 1);
    forms.remove(0)
}

fn contour(form: &Form, role: Role) -> Path {
    let mut paths = form.drawing.items.iter().filter(|i| i.role == role).filter_map(|i| match &i.shape {
        Shape::Path(path) => Some(path.clone()),
        _ => None,
    });
    let path = paths.next().expect("a contour");
    assert!(paths.next().is_none(), "one contour per layer");
    path
}

fn circles(form: &Form, role: Role) -> Vec<(Point, f64)> {
    let circle = |shape: &Shape| match *shape {
        Shape::Circle { centre, radius } => Some((centre, radius)),
        _ => None,
    };
    form.drawing.items.iter().filter(|i| i.role == role).filter_map(|i| circle(&i.shape)).collect()
}

fn distance_to_edge(edge: &Edge, at: Point) -> f64 {
    match edge {
        Edge::Line(Line { from, to }) => {
            let (dx, dy) = (to.x - from.x, to.y - from.y);
            let t = ((at.x - from.x) * dx + (at.y - from.y) * dy) / (dx * dx + dy * dy);
            at.distance(from.shifted(dx * t.clamp(0.0, 1.0), dy * t.clamp(0.0, 1.0)))
        }
        Edge::Arc(arc) => {
            let angle = (at.y - arc.centre.y).atan2(at.x - arc.centre.x);
            let turned = ((angle - arc.start) * arc.sweep.signum()).rem_euclid(TAU);
            if turned <= arc.sweep.abs() {
                (at.distance(arc.centre) - arc.radius).abs()
            } else {
                at.distance(arc.from()).min(at.distance(arc.to()))
            }
        }
    }
}

fn distance(path: &Path, at: Point) -> f64 {
    path.edges.iter().map(|edge| distance_to_edge(edge, at)).fold(f64::INFINITY, f64::min)
}

/// Points spread over every edge.
fn samples(path: &Path) -> Vec<Point> {
    let along = |edge: &Edge, t: f64| match edge {
        Edge::Line(l) => l.from.shifted((l.to.x - l.from.x) * t, (l.to.y - l.from.y) * t),
        Edge::Arc(a) => a.centre.polar(a.radius, a.start + a.sweep * t),
    };
    path.edges.iter().flat_map(|edge| (0..20).map(move |n| along(edge, f64::from(n) / 19.0))).collect()
}

/// Whether a point lies inside, by turns of a polygon of samples around it.
fn inside(path: &Path, at: Point) -> bool {
    let around = samples(path);
    let angle = |p: &Point| (p.y - at.y).atan2(p.x - at.x);
    let turns: f64 = around
        .iter()
        .zip(around.iter().skip(1).chain(around.first()))
        .map(|(a, b)| (angle(b) - angle(a) + PI).rem_euclid(TAU) - PI)
        .sum();
    turns.abs() > PI
}

fn as_polyline(path: &Path) -> Polyline<f64> {
    let mut outline = Polyline::new_closed();
    for edge in &path.edges {
        let bulge = if let Edge::Arc(arc) = edge { (arc.sweep / 4.0).tan() } else { 0.0 };
        outline.add(edge.from().x, edge.from().y, bulge);
    }
    outline
}

/// Corners of a text's box: one height of capitals per character, the widest that counts.
fn text_corners(text: &Text) -> Vec<Point> {
    let (w, h) = (text.content.chars().count() as f64 * text.height / 2.0, text.height / 2.0);
    let at = |x: f64, y: f64| text.at.polar(x, text.angle).polar(y, text.angle + PI / 2.0);
    let mut corners = Vec::new();
    for n in 0..=10 {
        let x = w * (f64::from(n) / 5.0 - 1.0);
        corners.extend([at(x, -h), at(x, h)]);
    }
    corners
}

fn check_form(od: f64, clr: f64, angle: f64) -> Result<(), TestCaseError> {
    let form = single_form(od, &[(angle, clr)]);
    let rim = clr - od / 2.0;
    let nominal = contour(&form, Role::Cut);
    let grown = contour(&form, Role::CutKerf);
    for path in [&nominal, &grown] {
        prop_assert!(path.closed);
        for (edge, next) in path.edges.iter().zip(path.edges.iter().skip(1).chain(path.edges.first())) {
            prop_assert!(edge.to().distance(next.from()) < 1e-6);
        }
        prop_assert!(!as_polyline(path).scan_for_self_intersect());
    }

    // The rim: one arc of the tube's inner radius, long enough for the bend, tangent to both leads.
    let arcs: Vec<Arc> =
        nominal.edges.iter().filter_map(|e| if let Edge::Arc(a) = e { Some(*a) } else { None }).collect();
    prop_assert_eq!(arcs.len(), 1);
    let arc = arcs[0];
    prop_assert!((arc.radius - rim).abs() < 1e-9);
    let enough = (angle.to_radians() + form::OVER_BEND).min(form::LARGEST_ARC);
    prop_assert!((arc.sweep.abs() - enough).abs() < 1e-9);
    for end in [arc.from(), arc.to()] {
        let lead = nominal.edges.iter().find_map(|e| match e {
            Edge::Line(l) if l.from.distance(end) < 1e-6 => Some((l.to.x - end.x, l.to.y - end.y)),
            Edge::Line(l) if l.to.distance(end) < 1e-6 => Some((l.from.x - end.x, l.from.y - end.y)),
            _ => None,
        });
        let (dx, dy) = lead.expect("a lead at each end of the arc");
        let out_of_square = ((end.x - arc.centre.x) * dx + (end.y - arc.centre.y) * dy) / rim / dx.hypot(dy);
        prop_assert!(out_of_square.abs() < 1e-9, "lead not tangent: {}", out_of_square);
    }

    // The kerf: every point of the grown contour lies half a kerf outside the nominal one.
    for at in samples(&grown) {
        prop_assert!((distance(&nominal, at) - form::KERF_MM / 2.0).abs() < 1e-6);
        prop_assert!(!inside(&nominal, at));
    }
    check_holes(&form, &nominal)?;
    check_words(&form, &nominal)
}

fn check_holes(form: &Form, nominal: &Path) -> Result<(), TestCaseError> {
    let drilled = circles(form, Role::Drill);
    prop_assert_eq!(&circles(form, Role::Cut), &drilled);
    let shrunk: Vec<_> = drilled.iter().map(|&(at, r)| (at, r - form::KERF_MM / 2.0)).collect();
    let kerf = circles(form, Role::CutKerf);
    prop_assert_eq!(kerf.len(), shrunk.len());
    for (a, b) in kerf.iter().zip(&shrunk) {
        prop_assert!(a.0 == b.0 && (a.1 - b.1).abs() < 1e-12);
    }
    for (n, &(at, radius)) in drilled.iter().enumerate() {
        prop_assert!(inside(nominal, at));
        prop_assert!(distance(nominal, at) >= 3.0 * radius - 1e-9, "a web as wide as the hole");
        for &(other, other_radius) in &drilled[..n] {
            prop_assert!(at.distance(other) >= 2.0 * (radius + other_radius));
        }
    }
    Ok(())
}

fn check_words(form: &Form, nominal: &Path) -> Result<(), TestCaseError> {
    let holes = circles(form, Role::Drill);
    for item in form.drawing.items.iter().filter(|i| i.role == Role::Engrave) {
        let Shape::Text(text) = &item.shape else { continue };
        for corner in text_corners(text) {
            prop_assert!(inside(nominal, corner), "{} leaves the plate", text.content);
            prop_assert!(distance(nominal, corner) > 1.0, "{} is too near the edge", text.content);
            for &(at, radius) in &holes {
                prop_assert!(at.distance(corner) > radius + 1.0, "{} is too near a hole", text.content);
            }
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]

    #[test]
    fn forms_of_every_size_are_sound(od in 3.0..60.0f64, diameters in 0.7..10.0f64, angle in 1.0..180.0f64) {
        check_form(od, od * diameters, angle)?;
    }

    #[test]
    fn forms_for_u_bends_are_sound(od in 3.0..30.0f64, diameters in 0.7..10.0f64, angle in 170.0..=180.0f64) {
        check_form(od, od * diameters, angle)?;
    }

    #[test]
    fn a_bulge_gives_its_arc_back(
        x in -500.0..500.0f64, radius in 0.5..800.0f64, start in -10.0..10.0f64, sweep in -6.2..6.2f64,
    ) {
        prop_assume!(sweep.abs() > 1e-3);
        let arc = Arc { centre: Point::new(x, -x / 3.0), radius, start, sweep };
        let mut drawing = Drawing::new();
        drawing.add(Role::Cut, Shape::Path(Path { edges: vec![Edge::Arc(arc)], closed: false }));
        let file = read(&drawing);
        let EntityType::LwPolyline(polyline) = &file.entities().next().unwrap().specific else {
            panic!("a polyline");
        };
        let mut swept = 0.0;
        for pair in polyline.vertices.windows(2) {
            let part = 4.0 * pair[0].bulge.atan();
            let chord = (pair[1].x - pair[0].x).hypot(pair[1].y - pair[0].y);
            prop_assert!((chord / 2.0 / (part / 2.0).sin().abs() - radius).abs() < 1e-5);
            swept += part;
        }
        prop_assert!((swept - sweep).abs() < 1e-9);
        let last = polyline.vertices.last().unwrap();
        prop_assert!(arc.to().distance(Point::new(last.x, last.y)) < 1e-8);
    }
}

fn read(drawing: &Drawing) -> dxf::Drawing {
    let bytes = writer::render(drawing, &meta()).unwrap();
    dxf::Drawing::load(&mut Cursor::new(bytes)).unwrap()
}

#[test]
fn arcs_over_all_quadrants_run_counter_clockwise() {
    for quarter in 0..8 {
        for sweep in [0.3, -0.3, 1.6, -1.6, 3.0, -3.0, 4.5, -4.5, 6.2, -6.2] {
            let start = f64::from(quarter) * PI / 4.0 - PI;
            let arc = Arc { centre: Point::new(5.0, -7.0), radius: 12.0, start, sweep };
            let mut drawing = Drawing::new();
            drawing.add(Role::Engrave, Shape::Arc(arc));
            let file = read(&drawing);
            let EntityType::Arc(read) = &file.entities().next().unwrap().specific else { panic!("an arc") };
            assert!((0.0..360.0).contains(&read.start_angle) && (0.0..360.0).contains(&read.end_angle));
            let turned = (read.end_angle - read.start_angle).rem_euclid(360.0);
            assert!((turned - sweep.abs().to_degrees()).abs() < 1e-7, "{start} {sweep}");
            let first = if sweep > 0.0 { arc.from() } else { arc.to() };
            let at = Point::new(5.0, -7.0).polar(12.0, read.start_angle.to_radians());
            assert!(at.distance(first) < 1e-7, "{start} {sweep}");
            assert_eq!((read.normal.x, read.normal.y, read.normal.z), (0.0, 0.0, 1.0));

            // The extents: an arc's own, not its circle's.
            let points = (0..=2000).map(|n| arc.centre.polar(12.0, start + sweep * f64::from(n) / 2000.0));
            let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
            for p in points {
                (low, high) = (low.min(p.x), high.max(p.x));
            }
            assert!((file.header.minimum_drawing_extents.x - low).abs() < 1e-4);
            assert!((file.header.maximum_drawing_extents.x - high).abs() < 1e-4);
        }
    }
}

#[test]
fn a_dxf_file_says_millimetres_and_is_the_same_every_time() {
    let form = single_form(15.0, &[(90.0, 55.0), (45.0, 55.0)]);
    let bytes = writer::render(&form.drawing, &meta()).unwrap();
    assert_eq!(bytes, writer::render(&form.drawing, &meta()).unwrap());
    let file = dxf::Drawing::load(&mut Cursor::new(bytes)).unwrap();
    assert_eq!(file.header.version, dxf::enums::AcadVersion::R2010);
    assert_eq!(file.header.default_drawing_units, dxf::enums::Units::Millimeters);
    assert_eq!(file.header.drawing_units, dxf::enums::DrawingUnits::Metric);
    assert_eq!(file.entities().count(), form.drawing.items.len());
    let closed =
        file.entities().filter(|e| matches!(&e.specific, EntityType::LwPolyline(p) if p.is_closed()));
    assert_eq!(closed.count(), 2, "the nominal contour and the one with the kerf taken up");
}

#[test]
fn the_time_stamp_is_the_one_given() {
    let at = |timestamp| {
        writer::render(&Drawing::new(), &Meta { title: String::new(), timestamp })
            .map(|b| String::from_utf8(b).unwrap())
    };
    assert!(at(0).unwrap().contains("$TDCREATE\n 40\n2440587.5\n"));
    assert!(at(86_400 * 3).unwrap().contains("$TDCREATE\n 40\n2440590.5\n"));
}

#[test]
fn every_role_has_a_layer() {
    for role in Role::ALL {
        assert!(writer::LAYERS.iter().any(|l| l.name == writer::layer(role)), "{role:?}");
    }
    assert_eq!(writer::layer(Role::CutKerf), "CUT-KERF");
}

#[test]
fn what_a_cutter_cannot_follow_is_refused() {
    let line = |x0: f64, x1: f64| Edge::Line(Line { from: Point::new(x0, 0.0), to: Point::new(x1, 0.0) });
    let render = |shape| {
        let mut drawing = Drawing::new();
        drawing.add(Role::Cut, shape);
        writer::render(&drawing, &meta())
    };
    let gap = Path { edges: vec![line(0.0, 1.0), line(1.5, 2.0)], closed: false };
    assert_eq!(render(Shape::Path(gap.clone())), Err(writer::DxfError::Gap { gap: 0.5, x: 1.5, y: 0.0 }));
    let open = Path { edges: vec![line(0.0, 1.0)], closed: true };
    assert!(matches!(render(Shape::Path(open)), Err(writer::DxfError::Gap { .. })));
    assert_eq!(render(Shape::Area { bound: gap, fill: Rgb(0, 0, 0) }), Err(writer::DxfError::Area));
    let nowhere = Shape::Circle { centre: Point::new(f64::NAN, 0.0), radius: 1.0 };
    assert_eq!(render(nowhere), Err(writer::DxfError::NotFinite));
}

#[test]
fn text_stays_one_line_of_text() {
    let mut drawing = Drawing::new();
    let text = Text {
        at: Point::new(0.0, 0.0),
        height: 3.0,
        angle: 0.0,
        across: Across::Middle,
        upright: Upright::Middle,
        content: "é 45° 'a'\n0\nEOF 50 %% ^J".to_owned(),
    };
    drawing.add(Role::Note, Shape::Text(text));
    let bytes = writer::render(&drawing, &meta()).unwrap();
    let raw = String::from_utf8(bytes).unwrap();
    assert!(raw.contains("\n  1\né 45° 'a' 0 EOF 50 %%%%%% ^ J\n"), "{raw}");
}

#[test]
fn one_form_for_each_tube_and_radius() {
    let runs = vec![
        run(0, 15.0, &[(90.0, 55.0), (30.0, 40.0)]),
        run(1, 15.875, &[(45.0, 38.0)]),
        run(2, 15.0, &[(120.0, 55.0), (90.0, 55.0)]),
        run(3, 8.0, &[]),
    ];
    let forms = form::forms(&layout(runs)).unwrap();
    let names: Vec<&str> = forms.iter().map(|f| f.name.as_str()).collect();
    assert_eq!(names, ["15-r40", "15-r55", "15.875-r38"]);
    let words: Vec<&str> = forms[1]
        .drawing
        .items
        .iter()
        .filter_map(|i| if let Shape::Text(t) = &i.shape { Some(t.content.as_str()) } else { None })
        .collect();
    assert!(words.contains(&"Bends (degrees): 90, 120."), "{words:?}");
    assert!(words.contains(&"The rim goes on to 130 degrees, for over-bend."), "{words:?}");
    assert!(words.contains(&"start") && words.contains(&"90°") && words.contains(&"120°"), "{words:?}");
}

#[test]
fn a_bend_without_an_inside_has_no_form() {
    let error = form::forms(&layout(vec![run(0, 20.0, &[(90.0, 10.0)])])).unwrap_err();
    assert_eq!(error.code, "form-rim");
}

#[test]
fn a_layout_of_straights_has_no_forms() {
    assert_eq!(form::forms(&layout(vec![run(0, 20.0, &[])])).unwrap(), []);
}
