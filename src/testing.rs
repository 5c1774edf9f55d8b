//! Runs, components and layouts built by hand, for tests that bring centrelines of their own: those beside the code,
//! and those in `tests/`, which take this file in.

#![allow(dead_code, reason = "each test crate takes what it needs")]
#![allow(clippy::unwrap_used, reason = "a test that cannot go on must stop")]

use tubewright::centreline::{Centreline, CornerPoint, LaidRun, Layout, TableRow, from_corners, from_table};
use tubewright::diagnostic::Span;
use tubewright::geometry::{Frame, InnerSpace, Point3, Vector3};
use tubewright::spec::model::{
    Anneal, BendFrom, BendRow, Bender, Component, Corner, End, EndForm, Fitting, MarkPoint, Placed, Port,
    Run, RunPath, Shape, Temper, TriangleMesh, Tube,
};

pub(crate) fn place(line: usize) -> Span {
    Span { line, column: 1, start: line * 10, end: line * 10 + 1 }
}

pub(crate) fn bender(clr: f64) -> Bender {
    Bender {
        name: "bench bender".into(),
        clr,
        clr_place: place(4),
        grip: 0.0,
        lead_out: 0.0,
        mark: MarkPoint::Start,
        datum: 0.0,
        max_angle: 200f64.to_radians(),
        lever: None,
        test_bends: Vec::new(),
    }
}

pub(crate) fn tube(od: f64, wall: f64) -> Tube {
    Tube::new(od, wall, "copper", Some(8940.0), Temper::HalfHard, "test tube").unwrap()
}

pub(crate) fn end(at: [f64; 3]) -> End {
    let at = Point3::from(at);
    End { at, face: at, facing: None, port: None, image_of: None, fitting: None, slip: None, place: place(7) }
}

/// A run along `centreline`, which takes the place of its path; its bender asks for nothing.
pub(crate) fn along(name: &str, centreline: Centreline, tube: Tube) -> LaidRun {
    LaidRun {
        index: 0,
        run: Run {
            name: name.into(),
            tube,
            bender: bender(50.0),
            from: Some(end(centreline.start().into())),
            to: Some(end(centreline.end().into())),
            path: RunPath::Corners(Vec::new()),
            copy: None,
            parallels: Vec::new(),
            anneal: Anneal::Auto,
            bend_from: BendFrom::Better,
            clearance: None,
            allowance_start: 0.0,
            allowance_end: 0.0,
            place: place(5),
        },
        formed: None,
        centreline,
    }
}

/// A run through `points`, 15 x 1.
pub(crate) fn run(name: &str, clr: f64, points: &[[f64; 3]]) -> LaidRun {
    let (first, rest) = points.split_first().unwrap();
    let (last, corners) = rest.split_last().unwrap();
    let points: Vec<CornerPoint> =
        corners.iter().map(|c| CornerPoint { at: Point3::from(*c), radius: clr }).collect();
    let centreline = from_corners(Point3::from(*first), &points, Point3::from(*last)).unwrap();
    let mut laid = along(name, centreline, tube(15.0, 1.0));
    laid.run.bender = bender(clr);
    let corner = |point: &CornerPoint| Corner { at: point.at, by: Placed::Point, clr: None, place: place(6) };
    laid.run.path = RunPath::Corners(points.iter().map(corner).collect());
    laid
}

/// A run by a table of (length, rotation, angle in degrees), all of one radius, from the origin along +X.
pub(crate) fn table_run(name: &str, clr: f64, rows: &[(f64, f64, f64)], end_length: f64) -> LaidRun {
    let table: Vec<TableRow> = rows
        .iter()
        .map(|&(length, rotation, angle)| TableRow {
            length,
            rotation: rotation.to_radians(),
            angle: angle.to_radians(),
            radius: clr,
        })
        .collect();
    let centreline = from_table(Frame::default(), &table, end_length).unwrap();
    let mut laid = along(name, centreline, tube(15.0, 1.0));
    laid.run.bender = bender(clr);
    let row = |row: &TableRow| BendRow {
        length: row.length,
        rotation: row.rotation,
        angle: row.angle,
        clr: None,
        place: place(6),
    };
    laid.run.path = RunPath::Bends { rows: table.iter().map(row).collect(), end_length };
    laid.run.to = None;
    laid
}

pub(crate) fn layout(runs: Vec<LaidRun>, components: Vec<Component>) -> Layout {
    Layout {
        name: "bench".into(),
        file_name: "bench.yaml".into(),
        title: "Bench".into(),
        units: tubewright::quantity::Unit::Millimetre,
        carries: None,
        stock: Vec::new(),
        workshop: Default::default(),
        uncertainty: Default::default(),
        components,
        runs: runs.into_iter().enumerate().map(|(index, laid)| LaidRun { index, ..laid }).collect(),
    }
}

pub(crate) fn fitting() -> Fitting {
    Fitting {
        name: "collar-15".into(),
        tube_od: 15.0,
        insert: 12.0,
        deep: 12.0,
        straight: 8.0,
        max_angle: 1f64.to_radians(),
        max_side: 0.5,
        seal: None,
        end: EndForm::Plain,
        body: None,
        slide_back: 0.0,
    }
}

/// A box with one port named `out`.
pub(crate) fn tank(min: [f64; 3], max: [f64; 3], at: [f64; 3], facing: [f64; 3]) -> Component {
    let out = Port {
        name: "out".into(),
        at: Point3::from(at),
        facing: Vector3::from(facing).normalize(),
        fitting: Some(fitting()),
        slip: None,
    };
    Component::new("tank", vec![Shape::square(Point3::from(min), Point3::from(max))], vec![out])
}

/// The end of a tube put into the port of a component from [`tank`].
pub(crate) fn port_end(component: &Component) -> End {
    let port = &component.ports[0];
    End::in_port(port, format!("{}.{}", component.name, port.name), place(8))
}

/// Corners and triangles of a body between two copies of an outline (x and z, counter-clockwise seen against y), at
/// y = 0 and `depth` mm further, whose triangles are given.
pub(crate) fn extruded(
    outline: &[[f64; 2]],
    triangles: &[[u32; 3]],
    depth: f64,
) -> (Vec<Point3>, Vec<[u32; 3]>) {
    let level = |y: f64| outline.iter().map(move |[x, z]| Point3::new(*x, y, *z));
    let corners = level(0.0).chain(level(depth)).collect();
    let count = outline.len() as u32;
    let front = triangles.iter().copied();
    let back = triangles.iter().map(|[a, b, c]| [a + count, c + count, b + count]);
    let sides = (0..count).flat_map(|a| {
        let b = (a + 1) % count;
        [[a, a + count, b], [b, a + count, b + count]]
    });
    (corners, front.chain(back).chain(sides).collect())
}

/// Corners and triangles of a box square to the axes.
pub(crate) fn box_mesh(min: Point3, size: Vector3) -> (Vec<Point3>, Vec<[u32; 3]>) {
    let outline = [[0.0, 0.0], [size.x, 0.0], [size.x, size.z], [0.0, size.z]];
    let (corners, faces) = extruded(&outline, &[[0, 1, 2], [0, 2, 3]], size.y);
    (corners.into_iter().map(|at| at + Vector3::new(min.x, min.y, min.z)).collect(), faces)
}

/// Corners and triangles of a U: 100 mm wide, 80 high, 50 deep, its legs and floor 20 thick, open at the top.
pub(crate) fn u_mesh() -> (Vec<Point3>, Vec<[u32; 3]>) {
    let outline = [[0, 0], [100, 0], [100, 80], [80, 80], [80, 20], [20, 20], [20, 80], [0, 80]];
    let faces = [[0, 5, 6], [0, 6, 7], [0, 1, 4], [0, 4, 5], [1, 2, 3], [1, 3, 4]];
    extruded(&outline.map(|at| at.map(f64::from)), &faces, 50.0)
}

/// A component with a mesh for its shape.
pub(crate) fn meshed(name: &str, (corners, faces): &(Vec<Point3>, Vec<[u32; 3]>)) -> Component {
    let bodies = TriangleMesh::all(corners, faces).unwrap();
    Component::new(name, bodies.into_iter().map(|body| Shape::Mesh(body.into())).collect(), vec![])
}

/// The text of an ASCII STL file.
pub(crate) fn stl((corners, faces): &(Vec<Point3>, Vec<[u32; 3]>)) -> String {
    let corner = |index: &u32| {
        let at = corners[*index as usize];
        format!("vertex {} {} {}\n", at.x, at.y, at.z)
    };
    let face = |face: &[u32; 3]| {
        let loop_ = face.iter().map(corner).collect::<String>();
        format!("facet normal 0 0 0\nouter loop\n{loop_}endloop\nendfacet\n")
    };
    format!("solid part\n{}endsolid part\n", faces.iter().map(face).collect::<String>())
}
