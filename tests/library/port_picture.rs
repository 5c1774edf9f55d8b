//! The README's picture of a port: where a tube begins, in the plane of its first bend.

use tubewright::build::Project;
use tubewright::drawing::item::{
    Across, Arc, Drawing, Edge, ItemShape, Line, Path, Point, Role, Text, Vertical,
};
use tubewright::geometry::Point3;

/// A tank with one port and a tube that leaves it; seen from above.
const SPEC: &str = "\
format: 1
tube: {standard: EN 1057, size: 15 x 1.0, temper: soft}
bender: {clr: 55}
fittings: {collar-15: {tube_od: 15, insert: 12, straight: 8}}
components:
  tank:
    box: {from: [0, 0, 0], to: [40, 60, 60]}
    ports: {out: {at: [40, 30, 30], facing: [1, 0, 0], fitting: collar-15}}
runs:
  a: {from: tank.out, to: [140, 105, 30], corners: [[140, 30, 30]]}
";

/// Height of capitals, mm.
const LETTERS: f64 = 3.2;

fn seen(point: Point3) -> Point {
    Point::new(point.x, point.y)
}

fn words(drawing: &mut Drawing, x: f64, y: f64, content: &str) {
    let content = content.to_owned();
    let at = Point::new(x, y);
    let text =
        Text { at, height: LETTERS, angle: 0.0, across: Across::Left, upright: Vertical::Middle, content };
    drawing.add(Role::Note, ItemShape::Text(text));
}

/// A line with a head at its end.
fn arrow(drawing: &mut Drawing, role: Role, from: Point, to: Point) {
    let back = (from.y - to.y).atan2(from.x - to.x);
    drawing.line(role, from, to);
    for side in [-0.35, 0.35] {
        drawing.line(role, to, to.polar(3.0, back + side));
    }
}

/// A length between two places along x, its name beside it.
fn length(drawing: &mut Drawing, from: f64, to: f64, y: f64, axis: f64, name: (f64, &str)) {
    for x in [from, to] {
        drawing.line(Role::Dimension, Point::new(x, axis - 9.0), Point::new(x, y - 2.0));
    }
    arrow(drawing, Role::Dimension, Point::new(from - 8.0, y), Point::new(from, y));
    arrow(drawing, Role::Dimension, Point::new(to + 8.0, y), Point::new(to, y));
    words(drawing, name.0, y, name.1);
}

/// The picture, from what the program makes of [`SPEC`].
pub(crate) fn port_picture() -> Drawing {
    let project = Project::read(SPEC, "port.yaml").unwrap();
    let layout = project.layout();
    let laid = &layout.runs[0];
    let (line, radius) = (&laid.centreline, laid.run.tube.od() / 2.0);
    let bend = &line.bends()[0];
    let (start, end, centre) = (seen(line.start()), seen(line.end()), seen(bend.centre));
    let corner = seen(bend.corner.unwrap());
    let from = laid.run.from.as_ref().unwrap();
    let at = start.shifted(from.insert(), 0.0);
    let straight = from.fitting.as_ref().unwrap().straight;
    let mut drawing = Drawing::new();
    // The tank and its port.
    let sides =
        [(0.0, 0.0), (at.x, 0.0), (at.x, 60.0), (0.0, 60.0), (0.0, 0.0)].map(|(x, y)| Point::new(x, y));
    for pair in sides.windows(2) {
        drawing.line(Role::Component, pair[0], pair[1]);
    }
    words(&mut drawing, 6.0, 52.0, "tank");
    // The tube: both edges of its straights and its bend.
    for side in [-radius, radius] {
        let arc = Arc {
            centre,
            radius: bend.radius - side,
            start: -std::f64::consts::FRAC_PI_2,
            sweep: bend.angle,
        };
        let edges = vec![
            Edge::Line(Line { from: start.shifted(0.0, side), to: Point::new(centre.x, start.y + side) }),
            Edge::Arc(arc),
            Edge::Line(Line { from: Point::new(end.x - side, centre.y), to: end.shifted(-side, 0.0) }),
        ];
        drawing.add(Role::TubeEdge, ItemShape::Path(Path { edges, closed: false }));
    }
    drawing.line(Role::TubeEdge, start.shifted(0.0, -radius), start.shifted(0.0, radius));
    drawing.line(Role::TubeEdge, end.shifted(-radius, 0.0), end.shifted(radius, 0.0));
    // Its centreline's straights, to where they cross.
    drawing.line(Role::Centreline, start, corner);
    drawing.line(Role::Centreline, corner, end);
    drawing.add(Role::Corner, ItemShape::Circle { centre: corner, radius: 1.6 });
    drawing.add(Role::ToolMark, ItemShape::Circle { centre: at, radius: 1.2 });
    // `facing` points out of the port.
    arrow(&mut drawing, Role::ToolMark, at, at.shifted(24.0, 0.0));
    words(&mut drawing, 45.0, 54.0, "facing: [1, 0, 0]");
    drawing.line(Role::Dimension, Point::new(60.0, 51.0), at.shifted(20.0, 0.0));
    words(&mut drawing, 45.0, 62.0, "at: the middle of the port's face");
    drawing.line(Role::Dimension, Point::new(44.0, 60.0), at);
    words(&mut drawing, corner.x - 16.0, corner.y - 7.0, "first corner:");
    words(&mut drawing, corner.x - 16.0, corner.y - 12.0, "on the port's axis");
    length(
        &mut drawing,
        start.x,
        at.x,
        10.0,
        at.y,
        (at.x + 10.0, "insert: the tube begins that far behind the face"),
    );
    length(
        &mut drawing,
        at.x,
        at.x + straight,
        2.0,
        at.y,
        (at.x + straight + 10.0, "straight: unbent at least so far"),
    );
    drawing
}
