//! The jig from several sides, its parts named.

use super::Shown;
use super::scene::{LookFrom, scene};
use crate::drawing::extents::{Rect, extents};
use crate::drawing::item::{Across, Drawing, Edge, Line, Point, Role};
use crate::drawing::labels::{Anchor, Label, Placer};
use crate::drawing::page::flow::{FINE, Ink, PageBlock};
use crate::drawing::scale;
use crate::drawing::shift::{into_shifted, scaled, shifted};
use crate::flat::path_extents;
use crate::geometry::Point3;
use crate::quantity::decimals;
use crate::tooling::jig::Duty;

/// Room for words around a picture, mm.
const AROUND: f64 = 10.0;

/// Scales of ISO 5455, its in-between steps, and the rest of the way down for long runs.
const SCALES: [f64; 11] = [2.0, 1.0, 0.5, 0.4, 1.0 / 3.0, 0.25, 0.2, 0.1, 0.05, 0.02, 0.01];

/// Most uprights that are all named in a picture: more names hide what they name.
const MOST_NAMED: usize = 40;

/// A picture, its scale and where points of the jig's space lie on it.
struct JigPicture {
    drawing: Drawing,
    by: f64,
    /// Enlargement of the page after this.
    enlarged: f64,
    bounds: Rect,
    view: LookFrom,
}

impl JigPicture {
    /// At the largest scale that fits, or filling the room where the scale does not matter.
    fn new(shown: &Shown<'_>, view: LookFrom, room: (f64, f64), filling: bool) -> Option<Self> {
        let tube = shown.tube.as_ref().map(|(line, od, colour)| (line, *od, *colour));
        let real = scene(shown.jig, tube, &view);
        let bounds = extents(&real)?;
        let scales: &[f64] = if filling { &[] } else { &SCALES };
        let by = scale::fitting(scales, (bounds.width(), bounds.height()), room, shown.enlarged);
        Some(JigPicture { drawing: scaled(real, by), by, enlarged: shown.enlarged, bounds, view })
    }

    /// The same at another scale.
    fn at_scale(self, by: f64) -> Self {
        JigPicture { drawing: scaled(self.drawing, by / self.by), by, ..self }
    }

    fn size(&self) -> (f64, f64) {
        (self.bounds.width() * self.by, self.bounds.height() * self.by)
    }

    /// Where a point of the jig's space lies, from the picture's upper left corner, y up.
    fn at(&self, p: Point3) -> Point {
        let seen = self.view.point(p);
        Point::new((seen.x - self.bounds.min.x) * self.by, (seen.y - self.bounds.max.y) * self.by)
    }

    fn placed(&self) -> Drawing {
        shifted(&self.drawing, -self.bounds.min.x * self.by, -self.bounds.max.y * self.by)
    }

    /// "Scale 1 : 2."
    fn scale(&self) -> String {
        scale::words(self.by * self.enlarged)
    }
}

/// The whole jig with its tube, seen slantwise.
pub(super) fn assembled(shown: &Shown<'_>, wide: f64, high: f64) -> PageBlock {
    let room = (wide - 2.0 * AROUND, high - 2.0 * AROUND);
    let Some(picture) = JigPicture::new(shown, LookFrom::slanted(), room, true) else { return empty() };
    let mut drawing = Drawing::new();
    let left = (wide - picture.size().0) / 2.0;
    let tall = picture.size().1 + 2.0 * AROUND;
    drawing.append(into_shifted(picture.placed(), left, -AROUND));
    let cell = Rect::new(Point::new(0.0, -tall), Point::new(wide, 0.0));
    let all = named(&mut drawing, shown, &picture, (left, cell), true);
    captioned(drawing, tall, &format!("Put together, with the tube in it. Not to scale.{}", unnamed(all)))
}

/// From above, with sizes.
pub(super) fn above(shown: &Shown<'_>, wide: f64, high: f64) -> PageBlock {
    let room = (wide - 2.0 * AROUND - 8.0, high - 2.0 * AROUND - 8.0);
    let Some(picture) = JigPicture::new(shown, LookFrom::above(), room, false) else { return empty() };
    let mut drawing = Drawing::new();
    let left = AROUND + 8.0;
    let tall = picture.size().1 + 2.0 * AROUND + 4.0;
    drawing.append(into_shifted(picture.placed(), left, -AROUND));
    let (w, h) = picture.size();
    // Left of it and below it stand the sizes.
    let cell = Rect::new(Point::new(left - 3.0, -(AROUND + h + 1.5)), Point::new(wide, 0.0));
    let all = named(&mut drawing, shown, &picture, (left, cell), false);
    let mut ink = Ink(drawing);
    across(&mut ink, left, AROUND + h + 4.0, w, &sized(picture.bounds.width()));
    upright(&mut ink, left - 5.0, AROUND, h, &sized(picture.bounds.height()));
    captioned(ink.0, tall, &format!("{} Sizes over all, mm.{}", picture.scale(), unnamed(all)))
}

/// From the front and from the right, side by side or below each other.
pub(super) fn front(shown: &Shown<'_>, wide: f64, high: f64) -> PageBlock {
    let room = (wide - 16.0, high - 10.0);
    let Some(front) = JigPicture::new(shown, LookFrom::front(), room, false) else { return empty() };
    let Some(side) = JigPicture::new(shown, LookFrom::right(), room, false) else { return empty() };
    // One scale for both, so that heights can be compared.
    let by = front.by.min(side.by);
    let (front, side) = (front.at_scale(by), side.at_scale(by));
    let mut ink = Ink::new();
    let left = 12.0;
    let beside = left + front.size().0 + 14.0 + side.size().0 <= wide;
    ink.put(&front.placed(), left, 3.0);
    upright(&mut ink, left - 5.0, 3.0, front.size().1, &sized(front.bounds.height()));
    let (x, down) = if beside { (left + front.size().0 + 14.0, 3.0) } else { (left, front.size().1 + 12.0) };
    ink.put(&side.placed(), x, down);
    let tall = (3.0 + front.size().1).max(down + side.size().1);
    captioned(ink.0, tall + 2.0, &format!("{} Height over all, mm.", front.scale()))
}

fn empty() -> PageBlock {
    PageBlock::new(Ink::new(), 0.0)
}

/// Where names that a picture has no room for are found.
fn unnamed(all: bool) -> &'static str {
    if all { "" } else { " Parts without a name here: see the names cut into the base board." }
}

fn sized(mm: f64) -> String {
    decimals(mm, 1)
}

fn captioned(drawing: Drawing, high: f64, words: &str) -> PageBlock {
    let mut ink = Ink(drawing);
    ink.words(0.0, high + 1.0, FINE, false, words);
    PageBlock::new(ink, high + 1.0 + 2.2 * FINE)
}

/// A size below a picture.
fn across(ink: &mut Ink, x: f64, down: f64, long: f64, words: &str) {
    ink.line(Role::Dimension, (x, down), (x + long, down));
    for end in [x, x + long] {
        ink.line(Role::Dimension, (end, down - 2.0), (end, down + 1.2));
    }
    ink.anchored(x + long / 2.0, down + 1.4, FINE, false, Across::Middle, words);
}

/// A size on the left of a picture, its words reading upwards.
fn upright(ink: &mut Ink, x: f64, down: f64, long: f64, words: &str) {
    ink.line(Role::Dimension, (x, down), (x, down + long));
    for end in [down, down + long] {
        ink.line(Role::Dimension, (x - 1.2, end), (x + 2.0, end));
    }
    let text = crate::drawing::item::Text {
        at: Point::new(x - 1.2, -(down + long / 2.0)),
        height: FINE,
        angle: std::f64::consts::FRAC_PI_2,
        across: Across::Middle,
        upright: crate::drawing::item::Vertical::Baseline,
        content: words.to_owned(),
    };
    ink.0.add(Role::Note, crate::drawing::item::ItemShape::Text(text));
}

/// Names of all uprights and of both ends of the tube, each with room of its own; of very many uprights only where
/// there is room beside them. Whether all are named.
fn named(
    drawing: &mut Drawing,
    shown: &Shown<'_>,
    picture: &JigPicture,
    (left, cell): (f64, Rect),
    from_top: bool,
) -> bool {
    let mut placer = Placer::new(vec![cell]);
    let on_page = |p: Point3| picture.at(p).shifted(left, -AROUND);
    if let Some((line, od, _)) = &shown.tube {
        for segment in line.segments() {
            let steps = if segment.radius().is_some() { 8 } else { 1 };
            let at = |i: i32| on_page(segment.point_at(segment.length() * f64::from(i) / f64::from(steps)));
            for i in 0..steps {
                let edge = Edge::Line(Line { from: at(i), to: at(i + 1) });
                placer.keep_off(&edge, od / 2.0 * picture.by, false);
            }
        }
    }
    for side in on_board(shown).map(on_page).windows(2) {
        placer.keep_off(&Edge::Line(Line { from: side[0], to: side[1] }), 0.0, true);
    }
    let mut labels: Vec<Label> = Vec::new();
    for upright in &shown.jig.uprights {
        let corners: Vec<Point> = upper_corners(shown, upright.part).map(on_page).collect();
        let half = shown.jig.work.thickness * picture.by * 0.6;
        for pair in corners.windows(2) {
            if let &[from, to] = pair {
                placer.keep_off(&Edge::Line(Line { from, to }), half, true);
            }
        }
        labels.extend(
            name_at(corners, from_top).map(|anchors| Label::new(1, vec![shown.name(upright)], anchors)),
        );
    }
    if labels.len() <= MOST_NAMED {
        labels.extend(ends(shown, &on_page));
        for label in &labels {
            placer.place(label, drawing);
        }
        return true;
    }
    for label in &ends(shown, &on_page) {
        placer.place(label, drawing);
    }
    let missing = labels.iter().filter(|label| !placer.place_beside(label, drawing)).count();
    missing == 0
}

/// The upper corners of an upright, or from above both ends of its foot.
fn upper_corners(shown: &Shown<'_>, upright: usize) -> impl Iterator<Item = Point3> {
    let work = &shown.jig.work;
    let posed = work.posed.iter().find(|posed| posed.part == upright);
    let part = posed.and_then(|posed| Some((posed, work.parts.get(upright)?)));
    let half = work.thickness / 2.0;
    let corners = part.into_iter().flat_map(move |(posed, part)| {
        part.outline.edges.iter().map(move |edge| {
            let at = edge.from();
            posed.at.point(Point3::new(at.x, at.y, half))
        })
    });
    corners.filter(|corner| corner.z >= 0.0)
}

/// Where the name of an upright may stand: at the three of its corners that are furthest out, or from above highest.
fn name_at(mut corners: Vec<Point>, from_top: bool) -> Option<Vec<Anchor>> {
    let middle = Rect::around(corners.iter().copied())?.centre();
    corners.sort_by(|a, b| {
        let key = |p: &Point| if from_top { p.y } else { p.distance(middle) };
        key(b).total_cmp(&key(a))
    });
    let away = |at: Point| (at.y - middle.y).atan2(at.x - middle.x);
    Some(corners.into_iter().take(3).map(|at| Anchor { at, away: away(at) }).collect())
}

/// Corners of the board's upper face, the first again at the end.
fn on_board(shown: &Shown<'_>) -> [Point3; 5] {
    let board = shown.jig.work.posed.iter().find(|posed| posed.part == 0);
    let outline = shown.jig.work.parts.first().and_then(|part| path_extents(&part.outline));
    let (Some(board), Some(bounds)) = (board, outline) else { return [Point3::new(0.0, 0.0, 0.0); 5] };
    let [a, b, c, d] = bounds.corners();
    [a, b, c, d, a].map(|p| board.at.point(Point3::new(p.x, p.y, shown.jig.work.thickness)))
}

/// "datum end" and "finished end", beside the tube's ends.
fn ends(shown: &Shown<'_>, on_page: &dyn Fn(Point3) -> Point) -> Vec<Label> {
    let Some((line, ..)) = &shown.tube else { return Vec::new() };
    let gate = shown.jig.uprights.iter().any(|upright| upright.duty == Duty::Gate);
    let words = [(line.start(), "datum end"), (line.end(), if gate { "trim here" } else { "other end" })];
    let label = |(at, words): (Point3, &str)| {
        let at = on_page(at);
        let anchors = [0.8, 2.4, -0.8, -2.4].map(|away| Anchor { at, away });
        Label::new(0, vec![words.to_owned()], anchors.to_vec())
    };
    words.map(label).to_vec()
}
