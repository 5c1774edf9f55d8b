//! A run in its bend planes: each group of bends that share a plane, flattened to paper.

use std::borrow::Cow;
use std::f64::consts::PI;
use std::ops::Range;

use crate::centreline::{Bend, Centreline, LaidRun, from_other_end};
use crate::drawing::item::{Arc, Edge, Line, Point};
use crate::geometry::{InnerSpace, Point3, Vector3};
use crate::plan::{FromEnd, Operation, Pull, RunPlan};
use crate::spec::model::{End, EndForm};
use crate::tolerance::NO_STRAIGHT_MM;

/// One bend plane of a run, seen from the side where its first bend turns left.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Plane {
    /// "sample" for a planar run, else "sample plane 1": the name on the worksheet.
    pub(crate) name: String,
    /// Outside diameter of the tube, mm.
    pub(crate) od: f64,
    /// Centreline: straights and arcs in the order they are made.
    pub(crate) pieces: Vec<Edge>,
    /// The bends among them.
    pub(crate) bends: Vec<FlatBend>,
    /// Where the drawn part starts (nearer the end that bending begins at).
    pub(crate) start: DrawnEnd,
    /// Where it ends.
    pub(crate) end: DrawnEnd,
    /// The run's end that bending begins at.
    pub(crate) from: FromEnd,
}

/// A bend in its own plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct FlatBend {
    /// Bend number from the datum end.
    pub(crate) number: usize,
    /// Bend angle, rad.
    pub(crate) angle: f64,
    /// Its centreline; the sweep is positive where the tube turns left.
    pub(crate) arc: Arc,
    /// Where the legs' centrelines cross; `None` at 180°.
    pub(crate) corner: Option<Point>,
    /// Whether the corner is left off the drawing, since it would lie on no sheet.
    pub(crate) off: bool,
    /// How it is held before it springs back, where that is known.
    pub(crate) pulled: Option<Pull>,
}

/// One end of the drawn part.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct DrawnEnd {
    /// On the centreline.
    pub(crate) at: Point,
    /// Direction out of the tube, rad.
    pub(crate) outward: f64,
    /// Its kind.
    pub(crate) kind: DrawnEndKind,
}

impl DrawnEnd {
    /// How far the tube goes in behind a port's face here, mm; 0 where there is none.
    pub(crate) fn insert(&self) -> f64 {
        match self.kind {
            DrawnEndKind::TubeEnd { insert, .. } => insert.max(0.0),
            DrawnEndKind::Break { .. } => 0.0,
        }
    }
}

/// Kinds of end of the drawn part.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum DrawnEndKind {
    /// The finished tube ends.
    TubeEnd {
        /// Whether it is the datum end.
        datum: bool,
        /// `component.port` it goes to.
        port: Option<String>,
        /// How far it goes in behind the port's face, mm.
        insert: f64,
        /// Extra tube to cut away, mm.
        waste: f64,
        /// Its form: a flare or bead takes tube, so nothing is cut off level with its end.
        form: EndForm,
    },
    /// The tube leaves the plane.
    Break {
        /// Two lines that say what to do.
        words: [String; 2],
    },
}

/// The bend planes of a run in the order they are made, named by their order from the datum end; a run
/// without bends has one.
pub(crate) fn planes(laid: &LaidRun, run: &RunPlan) -> Vec<Plane> {
    let travel = Travel::new(laid, run);
    let groups = travel.groups();
    if groups.is_empty() {
        return vec![straight_piece(laid)];
    }
    groups.iter().enumerate().filter_map(|(index, range)| flat(&travel, index, range, groups.len())).collect()
}

fn straight_piece(laid: &LaidRun) -> Plane {
    let (from, to) = (Point::new(0.0, 0.0), Point::new(laid.centreline.length(), 0.0));
    Plane {
        name: laid.run.name.clone(),
        od: laid.run.tube.od(),
        pieces: vec![Edge::Line(Line { from, to })],
        bends: Vec::new(),
        start: DrawnEnd { at: from, outward: PI, kind: tube_end(laid, FromEnd::Datum) },
        end: DrawnEnd { at: to, outward: 0.0, kind: tube_end(laid, FromEnd::Other) },
        from: FromEnd::Datum,
    }
}

/// A run walked from the end that bending begins at.
struct Travel<'l> {
    laid: &'l LaidRun,
    line: Cow<'l, Centreline>,
    /// Its bends in that order, numbered from the datum end.
    bends: Vec<Bend>,
    /// How each of them is made.
    operations: &'l [Operation],
    from: FromEnd,
}

impl<'l> Travel<'l> {
    fn new(laid: &'l LaidRun, run: &'l RunPlan) -> Self {
        let from = run.begins_at();
        let operations = run.operations(from);
        let line = match from {
            FromEnd::Datum => Cow::Borrowed(&laid.centreline),
            FromEnd::Other => Cow::Owned(laid.centreline.reversed()),
        };
        let numbered = |(bend, made): (&Bend, &Operation)| Bend { number: made.bend, ..*bend };
        let bends = line.bends().iter().zip(operations).map(numbered).collect();
        Travel { laid, line, bends, operations, from }
    }

    /// "turn -90.0°" before the bend at a position in the order they are made.
    fn turn(&self, position: usize) -> String {
        turn(self.operations.get(position).map_or(0.0, |made| made.turn.of_tube()))
    }

    /// Ranges of [`Travel::bends`] that share a plane: the same planes from either end.
    fn groups(&self) -> Vec<Range<usize>> {
        let groups = self.laid.centreline.plane_groups();
        let count = self.bends.len();
        match self.from {
            FromEnd::Datum => groups,
            FromEnd::Other => groups.iter().rev().map(|range| from_other_end(range, count)).collect(),
        }
    }
}

/// Plane coordinates: x along travel into the first bend, y to the side it turns to, origin where
/// the straight before it starts.
struct Sight {
    origin: Point3,
    x: Vector3,
    y: Vector3,
}

impl Sight {
    fn point(&self, p: Point3) -> Point {
        Point::new((p - self.origin).dot(self.x), (p - self.origin).dot(self.y))
    }

    fn angle(&self, v: Vector3) -> f64 {
        v.dot(self.y).atan2(v.dot(self.x))
    }
}

/// The plane at a position among `count` in the order they are made.
fn flat(travel: &Travel<'_>, index: usize, range: &Range<usize>, count: usize) -> Option<Plane> {
    let laid = travel.laid;
    let group = travel.bends.get(range.clone())?;
    let before = range.start.checked_sub(1).and_then(|i| travel.bends.get(i));
    let after = travel.bends.get(range.end);
    // By order from the datum end, as everywhere else.
    let number = |index: usize| match travel.from {
        FromEnd::Datum => index + 1,
        FromEnd::Other => count - index,
    };
    let name = match count {
        1 => laid.run.name.clone(),
        _ => format!("{} plane {}", laid.run.name, number(index)),
    };
    let (first, last) = (group.first()?, group.last()?);
    let frame = travel.line.plane_frame(range)?;
    let sight = Sight { origin: frame.origin, x: frame.direction, y: frame.normal.cross(frame.direction) };
    let pulls = travel.operations.iter().skip(range.start).map(|made| made.pull);
    let (mut pieces, bends) = laid_flat(group.iter().zip(pulls), &sight, first.axis);
    let heading = sight.angle(last.direction_out);
    let at = pieces.last().map_or(sight.point(sight.origin), Edge::to);
    let after_length = after.map_or(travel.line.end_straight(), |b| b.straight_before);
    let end = push_straight(&mut pieces, at, heading, after_length);
    let start = match before {
        None => tube_end(laid, travel.from),
        Some(bend) => DrawnEndKind::Break {
            words: [
                format!("bend {} ends here, in plane {};", bend.number, number(index - 1)),
                format!("{} into this plane", travel.turn(range.start)),
            ],
        },
    };
    let end_kind = match after {
        None => tube_end(laid, travel.from.opposite()),
        Some(bend) => DrawnEndKind::Break {
            words: [
                format!("bend {} starts here:", bend.number),
                format!("{} into plane {}", travel.turn(range.end), number(index + 1)),
            ],
        },
    };
    Some(Plane {
        name,
        od: laid.run.tube.od(),
        pieces,
        bends,
        start: DrawnEnd { at: Point::new(0.0, 0.0), outward: PI, kind: start },
        end: DrawnEnd { at: end, outward: heading, kind: end_kind },
        from: travel.from,
    })
}

/// Bends of one plane, each behind its straight, as they lie in it; the first turns left about `axis`.
fn laid_flat<'b>(
    bends: impl Iterator<Item = (&'b Bend, Pull)>,
    sight: &Sight,
    axis: Vector3,
) -> (Vec<Edge>, Vec<FlatBend>) {
    let (mut pieces, mut flat) = (Vec::new(), Vec::new());
    let mut at = sight.point(sight.origin);
    for (bend, pull) in bends {
        let heading = sight.angle(bend.direction_in);
        at = push_straight(&mut pieces, at, heading, bend.straight_before);
        let left = bend.axis.dot(axis).signum();
        let arc = Arc {
            centre: at.polar(bend.radius, heading + left * PI / 2.0),
            radius: bend.radius,
            start: heading - left * PI / 2.0,
            sweep: left * bend.angle,
        };
        at = arc.to();
        pieces.push(Edge::Arc(arc));
        let corner = bend.corner.map(|c| sight.point(c));
        let (number, angle) = (bend.number, bend.angle);
        flat.push(FlatBend { number, angle, arc, corner, off: false, pulled: Some(pull) });
    }
    (pieces, flat)
}

/// "turn -90.0°" of the tube, given in rad, clockwise positive; with more decimals where a tenth of a degree would
/// say nothing of the turn.
fn turn(of_tube: f64) -> String {
    let degrees = of_tube.to_degrees();
    let decimals = (1..6).find(|&n| degrees.abs() >= 0.5 * 10f64.powi(-n)).unwrap_or(6);
    format!("turn {degrees:+.*}°", usize::try_from(decimals).unwrap_or(1))
}

fn push_straight(pieces: &mut Vec<Edge>, from: Point, heading: f64, length: f64) -> Point {
    let to = from.polar(length, heading);
    if length > NO_STRAIGHT_MM {
        pieces.push(Edge::Line(Line { from, to }));
    }
    to
}

fn tube_end(laid: &LaidRun, which: FromEnd) -> DrawnEndKind {
    let run = &laid.run;
    let (end, waste) = match which {
        FromEnd::Datum => (&run.from, run.allowance_start),
        FromEnd::Other => (&run.to, run.allowance_end),
    };
    DrawnEndKind::TubeEnd {
        datum: which == FromEnd::Datum,
        port: end.as_ref().and_then(|e| e.port.clone()),
        insert: end.as_ref().map_or(0.0, End::insert),
        waste,
        form: end.as_ref().and_then(|e| e.fitting.as_ref()).map_or(EndForm::Plain, |fitting| fitting.end),
    }
}

impl Plane {
    /// The plane turned by `angle` rad about its origin.
    pub(crate) fn turned(&self, angle: f64) -> Plane {
        let (sin, cos) = angle.sin_cos();
        let point = |p: Point| Point::new(p.x * cos - p.y * sin, p.x * sin + p.y * cos);
        let arc = |a: &Arc| Arc { centre: point(a.centre), start: a.start + angle, ..*a };
        let stop =
            |s: &DrawnEnd| DrawnEnd { at: point(s.at), outward: s.outward + angle, kind: s.kind.clone() };
        Plane {
            name: self.name.clone(),
            od: self.od,
            pieces: self
                .pieces
                .iter()
                .map(|piece| match piece {
                    Edge::Line(l) => Edge::Line(Line { from: point(l.from), to: point(l.to) }),
                    Edge::Arc(a) => Edge::Arc(arc(a)),
                })
                .collect(),
            bends: self
                .bends
                .iter()
                .map(|b| FlatBend { arc: arc(&b.arc), corner: b.corner.map(point), ..*b })
                .collect(),
            start: stop(&self.start),
            end: stop(&self.end),
            from: self.from,
        }
    }

    /// Both ends of the drawn part, the one nearer the end that bending begins at first.
    pub(crate) fn stops(&self) -> [&DrawnEnd; 2] {
        [&self.start, &self.end]
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::centreline::{TableRow, from_table};
    use crate::fit::check;
    use crate::geometry::Frame;
    use crate::plan::{Better, plan};
    use crate::spec::model::{Bender, Fitting, RunPath};
    use crate::testing;

    /// A run by its table: (length, rotation °, angle °, radius), end straight; 15 x 1 tube, an
    /// inserted datum end with 10 mm of waste.
    pub(crate) fn laid(name: &str, rows: &[(f64, f64, f64, f64)], end_length: f64) -> LaidRun {
        let table: Vec<TableRow> = rows
            .iter()
            .map(|&(length, rotation, angle, radius)| TableRow {
                length,
                rotation: rotation.to_radians(),
                angle: angle.to_radians(),
                radius,
            })
            .collect();
        let centreline = from_table(Frame::default(), &table, end_length).expect("a sound table");
        let mut laid = testing::along(name, centreline, testing::tube(15.0, 1.0));
        let fitting = Fitting { name: "collar".into(), max_angle: 0.01, ..testing::fitting() };
        let from = End { port: Some("tank.out".into()), fitting: Some(fitting), ..testing::end([0.0; 3]) };
        let run = &mut laid.run;
        run.bender = Bender { grip: 30.0, lead_out: 15.0, ..testing::bender(55.0) };
        (run.from, run.to) = (Some(from), None);
        run.path = RunPath::Bends { rows: Vec::new(), end_length };
        run.allowance_start = 10.0;
        laid
    }

    /// The planes of a run bent from its datum end, drawn as if no bend sprang back.
    pub(crate) fn flat_planes(laid: &LaidRun) -> Vec<Plane> {
        planes_from(laid, FromEnd::Datum)
    }

    fn planes_from(laid: &LaidRun, from: FromEnd) -> Vec<Plane> {
        let layout = testing::layout(vec![laid.clone()], Vec::new());
        let mut run = plan(&layout, &check(&layout).0).0.runs.remove(0);
        run.order.better = Better::From(from);
        let mut planes = planes(laid, &run);
        planes.iter_mut().flat_map(|plane| plane.bends.iter_mut()).for_each(|bend| bend.pulled = None);
        planes
    }

    fn length(plane: &Plane) -> f64 {
        plane
            .pieces
            .iter()
            .map(|piece| match piece {
                Edge::Line(l) => l.from.distance(l.to),
                Edge::Arc(a) => a.radius * a.sweep.abs(),
            })
            .sum()
    }

    #[test]
    fn a_planar_run_is_one_plane_with_the_whole_tube() {
        let run = laid("z-offset", &[(80.0, 90.0, 45.0, 55.0), (60.0, 180.0, 45.0, 55.0)], 70.0);
        let flat = flat_planes(&run);
        assert_eq!(flat.len(), 1);
        assert_eq!(flat[0].name, "z-offset");
        assert!((length(&flat[0]) - run.centreline.length()).abs() < 1e-9);
        assert!(flat[0].bends[0].arc.sweep > 0.0 && flat[0].bends[1].arc.sweep < 0.0, "left, then right");
        let apart = flat[0].start.at.distance(flat[0].end.at);
        let in_space = (run.centreline.end() - run.centreline.start()).magnitude();
        assert!((apart - in_space).abs() < 1e-9);
    }

    #[test]
    fn a_run_in_space_shares_its_straights_and_says_how_to_turn() {
        let run = laid("dog-leg", &[(80.0, 0.0, 90.0, 55.0), (60.0, -90.0, 45.0, 40.0)], 70.0);
        let flat = flat_planes(&run);
        assert_eq!(
            flat.iter().map(|p| p.name.as_str()).collect::<Vec<_>>(),
            ["dog-leg plane 1", "dog-leg plane 2"]
        );
        assert!((length(&flat[0]) + length(&flat[1]) - 60.0 - run.centreline.length()).abs() < 1e-9);
        let DrawnEndKind::Break { words } = &flat[0].end.kind else { panic!("a break") };
        assert_eq!(words[1], "turn +90.0° into plane 2");
        assert!(matches!(flat[0].start.kind, DrawnEndKind::TubeEnd { datum: true, .. }));
        assert!(matches!(flat[1].end.kind, DrawnEndKind::TubeEnd { datum: false, .. }));
        assert!(flat.iter().all(|p| p.bends[0].arc.sweep > 0.0), "first bends turn left");
    }

    #[test]
    fn a_run_bent_from_the_other_end_is_told_from_there() {
        let run = laid("dog-leg", &[(80.0, 0.0, 90.0, 55.0), (60.0, -90.0, 45.0, 40.0)], 70.0);
        let flat = planes_from(&run, FromEnd::Other);
        assert_eq!(
            flat.iter().map(|p| (p.name.as_str(), p.bends[0].number)).collect::<Vec<_>>(),
            [("dog-leg plane 2", 2), ("dog-leg plane 1", 1)]
        );
        assert!(matches!(flat[0].start.kind, DrawnEndKind::TubeEnd { datum: false, .. }));
        // The datum end goes 12 mm into its port and has 10 mm to trim, whichever end is bent first.
        let DrawnEndKind::TubeEnd { datum: true, insert, waste, .. } = flat[1].end.kind else {
            panic!("an end")
        };
        assert_eq!((insert, waste), (12.0, 10.0));
        let DrawnEndKind::Break { words } = &flat[0].end.kind else { panic!("a break") };
        // From either end the next plane lies as far round to the same hand.
        assert_eq!(words, &["bend 1 starts here:", "turn +90.0° into plane 1"]);
        let DrawnEndKind::Break { words } = &flat[1].start.kind else { panic!("a break") };
        assert_eq!(words[0], "bend 2 ends here, in plane 2;");
        // The first straight is the run's last one.
        assert!(matches!(flat[0].pieces[0], Edge::Line(l) if (l.from.distance(l.to) - 70.0).abs() < 1e-9));
        assert!(flat.iter().all(|p| p.bends[0].arc.sweep > 0.0), "first bends turn left");
    }

    #[test]
    fn a_small_turn_is_not_said_to_be_none() {
        let words = [-90.0, 0.05, 0.04, -0.004, 12.34].map(|degrees: f64| turn(-degrees.to_radians()));
        assert_eq!(words, ["turn +90.0°", "turn -0.1°", "turn -0.04°", "turn +0.004°", "turn -12.3°"]);
    }

    #[test]
    fn turning_a_plane_keeps_its_shape() {
        let run = laid("u", &[(80.0, 0.0, 180.0, 55.0)], 70.0);
        let flat = &flat_planes(&run)[0];
        let turned = flat.turned(1.0);
        assert!((length(flat) - length(&turned)).abs() < 1e-9);
        assert!(turned.bends[0].corner.is_none());
        let chain = turned.pieces.windows(2).all(|w| w[0].to().distance(w[1].from()) < 1e-9);
        assert!(chain && turned.pieces.last().map(Edge::to).unwrap().distance(turned.end.at) < 1e-9);
    }
}
