//! One plane of a template in its final pose on the paper: lines, and labels still to be placed.

use std::f64::consts::{FRAC_PI_2, FRAC_PI_4, PI};

use super::arrows::arrows;
use super::checks::{CHECK_RANK, CheckSize};
use super::plane::{DrawnEnd, DrawnEndKind, FlatBend, Plane};
use crate::drawing::clip::clip_line;
use crate::drawing::extents::{Rect, arc_extents, extents};
use crate::drawing::hatch::hatching;
use crate::drawing::item::{Arc, Drawing, Edge, ItemShape, Line, Path, Point, Role};
use crate::drawing::labels::{Anchor, LABEL_HEIGHT, Label, Placer};
use crate::drawing::text::{Weight, shortened, width};
use crate::spec::model::EndForm;

/// How far ticks stick out of the tube, mm.
const TICK: f64 = 2.5;

/// How far trim and port-face lines stick out of the tube, mm.
const TRIM: f64 = 4.0;

/// Legs are drawn up to a corner no further than this many radii from the start of the bend
/// (bends up to about 127°); beyond, the corner would cost a sheet of paper for a cross.
const FAR_CORNER: f64 = 2.0;

/// How far legs run on beyond their corner, mm.
const LEG_BEYOND: f64 = 4.0;

/// Which labels choose their places first: those with the fewest places to choose from.
const END_RANK: u8 = 0;
const BEND_RANK: u8 = 2;
const STRAIGHT_RANK: u8 = 3;

/// Widest line of a label that names a port, mm: about half of the smallest window.
const LONGEST_NAME: f64 = 50.0;

/// Room for labels beside the drawing, mm.
const PAD: f64 = 6.0;

/// Items that are placed on the sheets once those are chosen.
#[derive(Debug, Clone)]
pub(crate) struct Placed {
    /// Labels, their leaders, arrows of travel.
    pub(crate) words: Drawing,
    /// The check sizes each cell shows, not cut to it.
    pub(crate) checks: Vec<Drawing>,
}

/// A plane's lines and the labels that belong to them.
#[derive(Debug, Clone)]
pub(crate) struct PlaneFigure {
    /// All lines but those of check sizes and arrows.
    pub(crate) drawing: Drawing,
    /// Check sizes that are drawn.
    pub(crate) sizes: Vec<CheckSize>,
    /// Beside each bend, the arc for the arrow that says which way the tube turns.
    pub(crate) turns: Vec<Arc>,
    /// Centreline of the tube.
    pub(super) pieces: Vec<Edge>,
    /// Outside diameter of the tube, mm.
    pub(super) od: f64,
    /// Labels; their ranks say which are placed first.
    pub(crate) labels: Vec<Label>,
    /// The room it wants, mm.
    pub(crate) extents: Rect,
    /// Distances between the ends in words; empty for a straight piece.
    pub(crate) checks: String,
    /// Edges labels keep off, how far, and whether they may be crossed at need.
    pub(super) solid: Vec<(Edge, f64, bool)>,
}

impl PlaneFigure {
    /// Draws a plane as it lies, with dimension lines for the check distances `room` mm beside it,
    /// or none.
    pub(crate) fn new(plane: &Plane, room: Option<f64>) -> Self {
        let start = Rect { min: plane.start.at, max: plane.start.at };
        let mut figure = PlaneFigure {
            drawing: Drawing::new(),
            sizes: Vec::new(),
            turns: Vec::new(),
            pieces: plane.pieces.clone(),
            od: plane.od,
            labels: Vec::new(),
            extents: start,
            checks: String::new(),
            solid: Vec::new(),
        };
        figure.tube(plane);
        for (stop, other) in [(&plane.start, &plane.end), (&plane.end, &plane.start)] {
            let before = figure.labels.len();
            figure.stop(stop, plane.od);
            // The first label names the end, the second the face of its port.
            let [insert, far_insert] = [stop, other].map(DrawnEnd::insert);
            let others = [across(other, 0.0, plane.od), across(other, far_insert, plane.od)].concat();
            let own = [across(stop, insert, plane.od), across(stop, 0.0, plane.od)];
            for (label, beside) in figure.labels.iter_mut().skip(before).zip(own) {
                label.mark = Some(stop.outward + FRAC_PI_2);
                label.rivals.clone_from(&others);
                if insert > 0.0 {
                    label.rivals.extend(beside);
                }
            }
        }
        for bend in &plane.bends {
            figure.bend(bend, plane.od);
        }
        for piece in &plane.pieces {
            if let Edge::Line(line) = piece {
                figure.straight(line, plane.od);
            }
        }
        let tight = extents(&figure.drawing).unwrap_or(start);
        // Not worth a sheet of paper: it lies beside the tube, and what is off the sheets is left out.
        for bend in &plane.bends {
            figure.pulled(plane, bend);
        }
        if !plane.bends.is_empty() {
            figure.check(plane, room.map(|room| tight.grown(room)));
        }
        let sizes = figure.sizes.iter().filter_map(|size| extents(&size.drawing()));
        figure.extents = sizes.fold(tight, Rect::union).grown(PAD);
        figure
    }

    /// Places labels and arrows of travel inside `cells`, which are in the drawing's coordinates, off
    /// the boxes `taken`.
    pub(crate) fn placed(&self, cells: &[Rect], taken: &[Rect]) -> Placed {
        let mut placer = Placer::new(cells.to_vec());
        for (edge, reach, thin) in &self.solid {
            placer.keep_off(edge, *reach, *thin);
        }
        for &bounds in taken {
            placer.keep_out(bounds);
        }
        let shown: Vec<Vec<Option<Label>>> =
            cells.iter().map(|cell| self.sizes.iter().map(|size| size.label(cell)).collect()).collect();
        let mut checks = Vec::with_capacity(cells.len());
        for (cell, labels) in cells.iter().zip(&shown) {
            let mut drawing = Drawing::new();
            for (size, _) in self.sizes.iter().zip(labels).filter(|pair| pair.1.is_some()) {
                drawing.append(size.drawing());
                for line in size.lines().filter_map(|line| clip_line(line, cell)) {
                    placer.keep_off(&Edge::Line(line), 0.0, true);
                }
            }
            checks.push(drawing);
        }
        let mut words = arrows(self, cells);
        let mut labels: Vec<&Label> = self.labels.iter().collect();
        labels.sort_by_key(|label| label.rank);
        let (first, last): (Vec<&Label>, Vec<&Label>) = labels.into_iter().partition(|l| l.rank < CHECK_RANK);
        for label in first {
            placer.place(label, &mut words);
        }
        for (cell, labels) in cells.iter().zip(&shown) {
            for label in labels.iter().flatten() {
                placer.place_within(*cell, label, &mut words);
            }
        }
        for label in last {
            placer.place(label, &mut words);
        }
        Placed { words, checks }
    }

    pub(super) fn line(&mut self, role: Role, from: Point, to: Point) {
        self.drawing.line(role, from, to);
        self.solid.push((Edge::Line(Line { from, to }), 0.0, true));
    }

    pub(super) fn label(&mut self, rank: u8, lines: Vec<String>, anchors: Vec<Anchor>) {
        self.labels.push(Label::new(rank, lines, anchors));
    }

    fn tube(&mut self, plane: &Plane) {
        let radius = plane.od / 2.0;
        for piece in &plane.pieces {
            for side in [radius, -radius] {
                if let Some(edge) = beside(piece, side) {
                    self.drawing.add(
                        Role::TubeEdge,
                        match edge {
                            Edge::Line(line) => ItemShape::Line(line),
                            Edge::Arc(arc) => ItemShape::Arc(arc),
                        },
                    );
                }
            }
            self.solid.push((*piece, radius, false));
        }
        // One path, so that the dashes run on from piece to piece.
        let path = Path { edges: plane.pieces.clone(), closed: false };
        self.drawing.add(Role::Centreline, ItemShape::Path(path));
    }

    fn bend(&mut self, bend: &FlatBend, od: f64) {
        let Arc { centre, radius, start, sweep } = bend.arc;
        for angle in [start, start + sweep] {
            let tick = |r: f64| centre.polar(r, angle);
            self.line(
                Role::Tangent,
                tick((radius - od / 2.0 - TICK).max(0.0)),
                tick(radius + od / 2.0 + TICK),
            );
        }
        let near = bend.corner.filter(|c| !bend.off && c.distance(bend.arc.from()) <= FAR_CORNER * radius);
        if let Some(corner) = near {
            for line in corner_lines(corner, &bend.arc) {
                self.line(Role::Corner, line.from, line.to);
            }
        }
        self.direction(&bend.arc, od);
        let middle = start + sweep / 2.0;
        let included = PI - bend.angle;
        let mut lines = vec![
            format!("bend {}", bend.number),
            format!("{}° (included {}°)", degrees(bend.angle), degrees(included)),
            format!("CLR {radius:.1}"),
        ];
        match bend.corner {
            None => lines.push("half turn: no corner".to_owned()),
            Some(corner) if near.is_none() => lines.push(format!(
                "corner {:.1} from the start, off the drawing",
                corner.distance(bend.arc.from())
            )),
            Some(_) => {}
        }
        let anchor = |r: f64, angle: f64, away: f64| Anchor { at: centre.polar(r, angle), away };
        let (throat, heel) = ((radius - od / 2.0).max(0.0), radius + od / 2.0);
        let anchors = vec![
            anchor(throat, middle, middle + PI),
            anchor(heel, middle, middle),
            anchor(heel, start + 0.25 * sweep, start + 0.25 * sweep),
            anchor(heel, start + 0.75 * sweep, start + 0.75 * sweep),
        ];
        self.label(BEND_RANK, lines, anchors);
    }

    /// Where the arrow goes that says which way the tube is bent: inside the bend, outside where there is no room.
    fn direction(&mut self, arc: &Arc, od: f64) {
        let inside = arc.radius - od / 2.0 - 3.5;
        let radius = if inside >= 5.0 { inside } else { arc.radius + od / 2.0 + 3.5 };
        let long = (arc.sweep.abs() * 0.6).max(9.0 / radius).min(4.0) * arc.sweep.signum();
        let curve = Arc { radius, start: arc.start + (arc.sweep - long) / 2.0, sweep: long, ..*arc };
        self.solid.push((Edge::Arc(curve), 0.0, true));
        self.turns.push(curve);
    }

    fn straight(&mut self, line: &Line, od: f64) {
        let long = line.from.distance(line.to);
        let along = heading(line.from, line.to);
        let at = |share: f64| line.from.polar(long * share, along);
        let anchors = [0.5, 0.3, 0.7]
            .iter()
            .flat_map(|&share| {
                [FRAC_PI_2, -FRAC_PI_2]
                    .map(|side| Anchor { at: at(share).polar(od / 2.0, along + side), away: along + side })
            })
            .collect();
        self.label(STRAIGHT_RANK, vec![format!("straight {long:.1}")], anchors);
    }

    fn stop(&mut self, stop: &DrawnEnd, od: f64) {
        match &stop.kind {
            DrawnEndKind::TubeEnd { datum, port, insert, waste, form } => {
                let formed = *form != EndForm::Plain;
                self.tube_end(stop, od, *insert, *waste, formed);
                let name = if *datum { "DATUM END" } else { "END" };
                let mut lines = named(name, port.as_deref());
                lines.push(match waste {
                    _ if formed => format!("{}: cut longer than this", form.name()),
                    w if *w > 0.0 => format!("trim line, waste {waste:.1} beyond"),
                    _ => "trim line".to_owned(),
                });
                let reach = od / 2.0 + TRIM;
                let mut anchors = tips(stop.at, stop.outward, reach, 0.5);
                anchors.push(Anchor { at: stop.at.polar(*waste, stop.outward), away: stop.outward });
                self.label(END_RANK, lines, anchors);
                if *insert > 0.0 {
                    let face = stop.at.polar(-insert, stop.outward);
                    let lines = vec!["port face".to_owned(), format!("insert {insert:.1}")];
                    self.label(END_RANK, lines, tips(face, stop.outward, reach, -0.6));
                }
            }
            DrawnEndKind::Break { words } => {
                self.break_mark(stop, od);
                let mut anchors = tips(stop.at, stop.outward, od / 2.0 + TRIM, 0.6);
                anchors.push(Anchor { at: stop.at.polar(2.0, stop.outward), away: stop.outward });
                self.label(END_RANK, words.to_vec(), anchors);
            }
        }
    }

    /// Trim line, port face and hatched waste.
    fn tube_end(&mut self, stop: &DrawnEnd, od: f64, insert: f64, waste: f64, formed: bool) {
        let local = |u: f64, v: f64| stop.at.polar(u, stop.outward).polar(v, stop.outward + FRAC_PI_2);
        let reach = od / 2.0 + TRIM;
        let role = if formed { Role::TubeEdge } else { Role::Trim };
        self.line(role, local(0.0, -reach), local(0.0, reach));
        if insert > 0.0 {
            self.line(Role::Component, local(-insert, -reach), local(-insert, reach));
        }
        if waste <= 0.0 {
            return;
        }
        let radius = od / 2.0;
        for (from, to) in [
            (local(0.0, radius), local(waste, radius)),
            (local(0.0, -radius), local(waste, -radius)),
            (local(waste, -radius), local(waste, radius)),
        ] {
            self.drawing.line(Role::Waste, from, to);
        }
        let body = Line { from: local(0.0, 0.0), to: local(waste, 0.0) };
        self.solid.push((Edge::Line(body), radius, false));
        let bound = Rect::new(Point::new(0.0, -radius), Point::new(waste, radius));
        for Line { from, to } in hatching(&bound) {
            self.drawing.line(Role::Waste, local(from.x, from.y), local(to.x, to.y));
        }
    }

    /// A zigzag across the tube where it leaves the plane.
    fn break_mark(&mut self, stop: &DrawnEnd, od: f64) {
        let reach = od / 2.0 + TRIM;
        let local =
            |u: f64, v: f64| stop.at.polar(u, stop.outward).polar(v * reach, stop.outward + FRAC_PI_2);
        let zigzag = [(0.0, -1.0), (0.0, -0.2), (2.0, -0.1), (-2.0, 0.1), (0.0, 0.2), (0.0, 1.0)];
        for pair in zigzag.windows(2) {
            if let &[(u, v), (w, x)] = pair {
                self.line(Role::Tangent, local(u, v), local(w, x));
            }
        }
    }
}

/// "DATUM END  tank.out"; a long name of a port goes on lines of its own, component and port.
fn named(end: &str, port: Option<&str>) -> Vec<String> {
    let wide = |words: &str| width(words, LABEL_HEIGHT, Weight::Regular);
    let Some(port) = port else { return vec![end.to_owned()] };
    let whole = format!("{end}  {port}");
    if wide(&whole) <= LONGEST_NAME {
        return vec![whole];
    }
    let parts = match port.split_once('.') {
        Some((component, port)) if wide(&format!("{component}.{port}")) > LONGEST_NAME => {
            vec![component.to_owned(), format!(".{port}")]
        }
        _ => vec![port.to_owned()],
    };
    let cut = |part: &String| shortened(part, LONGEST_NAME, LABEL_HEIGHT, Weight::Regular);
    std::iter::once(end.to_owned()).chain(parts.iter().map(cut)).collect()
}

/// Middle and ends of a line across the tube, `inside` mm before a stop.
fn across(stop: &DrawnEnd, inside: f64, od: f64) -> [Point; 3] {
    let reach = od / 2.0 + TRIM;
    let middle = stop.at.polar(-inside, stop.outward);
    [-reach, 0.0, reach].map(|v| middle.polar(v, stop.outward + FRAC_PI_2))
}

/// The two ends of a line across the tube; labels look outwards from them, leaning by `lean` rad
/// towards the direction `outward`.
fn tips(at: Point, outward: f64, reach: f64, lean: f64) -> Vec<Anchor> {
    [(FRAC_PI_2, -lean), (-FRAC_PI_2, lean)]
        .map(|(side, lean)| Anchor { at: at.polar(reach, outward + side), away: outward + side + lean })
        .to_vec()
}

/// The edge `side` mm to the left of a piece of centreline; `None` where an arc is too tight to have one.
pub(super) fn beside(piece: &Edge, side: f64) -> Option<Edge> {
    match piece {
        Edge::Line(line) => {
            let left = heading(line.from, line.to) + FRAC_PI_2;
            Some(Edge::Line(Line { from: line.from.polar(side, left), to: line.to.polar(side, left) }))
        }
        Edge::Arc(arc) => {
            // Left of a left turn is towards the centre.
            let radius = arc.radius - side * arc.sweep.signum();
            (radius > 0.0).then_some(Edge::Arc(Arc { radius, ..*arc }))
        }
    }
}

/// A cross at the corner, and the legs' centrelines from the tangent points to a little beyond it.
pub(crate) fn corner_lines(corner: Point, arc: &Arc) -> [Line; 4] {
    let leg = |from: Point| Line { from, to: corner.polar(LEG_BEYOND, heading(from, corner)) };
    let stroke = |angle: f64| Line { from: corner.polar(-1.6, angle), to: corner.polar(1.6, angle) };
    [leg(arc.from()), leg(arc.to()), stroke(FRAC_PI_4), stroke(-FRAC_PI_4)]
}

/// Direction from one point to another, rad.
pub(super) fn heading(from: Point, to: Point) -> f64 {
    (to.y - from.y).atan2(to.x - from.x)
}

/// Box around an edge.
pub(super) fn edge_extents(edge: &Edge) -> Rect {
    match edge {
        Edge::Line(line) => Rect::new(line.from, line.to),
        Edge::Arc(arc) => arc_extents(arc),
    }
}

/// Degrees with one decimal; never "-0.0".
fn degrees(angle: f64) -> String {
    format!("{:.1}", angle.to_degrees().max(0.0))
}

#[cfg(test)]
mod tests {
    use super::super::plane::tests::{flat_planes, laid};
    use super::*;

    fn figure(rows: &[(f64, f64, f64, f64)]) -> (Plane, PlaneFigure) {
        let plane = flat_planes(&laid("sample", rows, 70.0)).remove(0);
        let figure = PlaneFigure::new(&plane, Some(8.0));
        (plane, figure)
    }

    fn of(figure: &PlaneFigure, role: Role) -> Vec<&ItemShape> {
        figure.drawing.items.iter().filter(|i| i.role == role).map(|i| &i.shape).collect()
    }

    #[test]
    fn edges_lie_half_a_diameter_beside_the_centreline() {
        let (plane, figure) = figure(&[(80.0, 0.0, 90.0, 55.0)]);
        let radii: Vec<f64> = of(&figure, Role::TubeEdge)
            .into_iter()
            .filter_map(|s| if let ItemShape::Arc(arc) = s { Some(arc.radius) } else { None })
            .collect();
        assert_eq!(radii, [55.0 - 7.5, 55.0 + 7.5]);
        assert_eq!(of(&figure, Role::TubeEdge).len(), 2 * plane.pieces.len());
        assert_eq!(of(&figure, Role::Tangent).len(), 2);
        assert_eq!(of(&figure, Role::Trim).len(), 2);
        assert_eq!(of(&figure, Role::Component).len(), 1, "only the datum end has a port");
        assert!(of(&figure, Role::Waste).len() > 5);
    }

    #[test]
    fn labels_say_both_angles_and_the_checks() {
        let (_, figure) = figure(&[(80.0, 0.0, 60.0, 55.0)]);
        let all: Vec<&str> = figure.labels.iter().flat_map(|l| l.lines.iter().map(String::as_str)).collect();
        for words in [
            "bend 1",
            "60.0° (included 120.0°)",
            "CLR 55.0",
            "straight 80.0",
            "straight 70.0",
            "DATUM END  tank.out",
            "trim line, waste 10.0 beyond",
            "port face",
            "insert 12.0",
            "END",
        ] {
            assert!(all.contains(&words), "{words} is not in {all:?}");
        }
        // Worked by hand: tangent 80, arc to (80 + 55·sin 60°, 55·(1 − cos 60°)), 70 more at 60°.
        let (x, y) = (80.0 + 55.0 * 0.866_025_404 + 35.0, 27.5 + 70.0 * 0.866_025_404);
        assert_eq!(
            figure.checks,
            format!("ends {:.1} apart: {x:.1} across and {y:.1} up the sheet", f64::hypot(x, y))
        );
    }

    #[test]
    fn a_long_port_name_is_wrapped_then_shortened() {
        assert_eq!(named("END", Some("tank.out")), ["END  tank.out"]);
        assert_eq!(
            named("DATUM END", Some("a-rather-long-manifold.outlet-5")),
            ["DATUM END", "a-rather-long-manifold.outlet-5"]
        );
        let long = named("END", Some(&format!("{}.out", "component-".repeat(12))));
        assert_eq!(long.len(), 3);
        assert!(long[1].ends_with('…') && long[2] == ".out", "{long:?}");
    }

    #[test]
    fn a_half_turn_has_no_corner_and_says_so() {
        let (_, figure) = figure(&[(80.0, 0.0, 180.0, 55.0)]);
        assert!(of(&figure, Role::Corner).is_empty());
        assert!(figure.labels.iter().any(|l| l.lines.iter().any(|w| w == "half turn: no corner")));
    }

    #[test]
    fn hatching_stays_in_the_waste() {
        let (plane, figure) = figure(&[(80.0, 0.0, 90.0, 55.0)]);
        assert!(of(&figure, Role::Waste).len() > 10);
        for shape in of(&figure, Role::Waste) {
            let ItemShape::Line(line) = shape else { panic!("hatching is lines") };
            for end in [line.from, line.to] {
                assert!(end.x <= plane.start.at.x + 1e-9 && end.x >= plane.start.at.x - 10.0 - 1e-9);
                assert!(end.y.abs() <= 7.5 + 1e-9);
            }
        }
    }
}
