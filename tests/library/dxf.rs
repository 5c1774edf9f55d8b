//! DXF files through the library's public face: shapes over whole ranges, the text read back by a library
//! that did not write it.

use std::f64::consts::PI;
use std::io::Cursor;

use dxf::entities::EntityType;
use proptest::prelude::*;
use tubewright::drawing::item::{
    Across, Arc, Drawing, Edge, ItemShape, Line, Path, Point, Role, Text, Vertical,
};
use tubewright::export::{Meta, dxf as writer};
use tubewright::palette::Rgb;

fn meta() -> Meta {
    Meta { title: "Test".to_owned(), mark: "BCDFGH".into(), timestamp: 0 }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]

    #[test]
    fn a_bulge_gives_its_arc_back(
        x in -500.0..500.0f64, radius in 0.5..800.0f64, start in -10.0..10.0f64, sweep in -6.2..6.2f64,
    ) {
        prop_assume!(sweep.abs() > 1e-3);
        let arc = Arc { centre: Point::new(x, -x / 3.0), radius, start, sweep };
        let mut drawing = Drawing::new();
        drawing.add(Role::Cut, ItemShape::Path(Path { edges: vec![Edge::Arc(arc)], closed: false }));
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
            drawing.add(Role::Engrave, ItemShape::Arc(arc));
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
    let mut drawing = Drawing::new();
    let arc = Arc { centre: Point::new(0.0, 0.0), radius: 5.0, start: 0.0, sweep: PI };
    let back = Line { from: arc.to(), to: arc.from() };
    drawing.add(
        Role::Cut,
        ItemShape::Path(Path { edges: vec![Edge::Arc(arc), Edge::Line(back)], closed: true }),
    );
    drawing.add(Role::Drill, ItemShape::Circle { centre: Point::new(0.0, 2.0), radius: 1.0 });
    let bytes = writer::render(&drawing, &meta()).unwrap();
    assert_eq!(bytes, writer::render(&drawing, &meta()).unwrap());
    let file = dxf::Drawing::load(&mut Cursor::new(bytes)).unwrap();
    assert_eq!(file.header.version, dxf::enums::AcadVersion::R2010);
    assert_eq!(file.header.default_drawing_units, dxf::enums::Units::Millimeters);
    assert_eq!(file.header.drawing_units, dxf::enums::DrawingUnits::Metric);
    assert_eq!(file.entities().count(), 2);
    let closed =
        file.entities().filter(|e| matches!(&e.specific, EntityType::LwPolyline(p) if p.is_closed()));
    assert_eq!(closed.count(), 1);
}

#[test]
fn the_time_stamp_is_the_one_given() {
    let at = |timestamp| {
        writer::render(&Drawing::new(), &Meta { title: String::new(), mark: "BCDFGH".into(), timestamp })
            .map(|b| String::from_utf8(b).unwrap())
    };
    assert!(at(0).unwrap().contains("$TDCREATE\n 40\n2440587.5\n"));
    assert!(at(86_400 * 3).unwrap().contains("$TDCREATE\n 40\n2440590.5\n"));
}

#[test]
fn every_role_has_a_layer() {
    for &role in Role::ALL {
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
    assert_eq!(render(ItemShape::Path(gap.clone())), Err(writer::DxfError::Gap { gap: 0.5, x: 1.5, y: 0.0 }));
    let open = Path { edges: vec![line(0.0, 1.0)], closed: true };
    assert!(matches!(render(ItemShape::Path(open)), Err(writer::DxfError::Gap { .. })));
    assert_eq!(render(ItemShape::Area { bound: gap, fill: Rgb(0, 0, 0) }), Err(writer::DxfError::Area));
    let nowhere = ItemShape::Circle { centre: Point::new(f64::NAN, 0.0), radius: 1.0 };
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
        upright: Vertical::Middle,
        content: "é 45° 'a'\n0\nEOF 50 %% ^J".to_owned(),
    };
    drawing.add(Role::Note, ItemShape::Text(text));
    let bytes = writer::render(&drawing, &meta()).unwrap();
    let raw = String::from_utf8(bytes).unwrap();
    assert!(raw.contains("\n  1\né 45° 'a' 0 EOF 50 %%%%%% ^ J\n"), "{raw}");
}
