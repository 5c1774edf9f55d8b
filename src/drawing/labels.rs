//! Finding room for labels: near what they name, clear of the tube, of lines and of each other.

use std::f64::consts::FRAC_PI_2;

use super::room::Room;
use crate::drawing::extents::Rect;
use crate::drawing::item::{Across, Drawing, Edge, ItemShape, Line, Point, Role, Text, Vertical};
use crate::drawing::text::{DESCENT, font_size, weight, width};

/// Height of capitals of a label, mm.
pub(crate) const LABEL_HEIGHT: f64 = 2.3;

/// From one line of a label to the next, as a multiple of the height of capitals.
const LEADING: f64 = 1.65;

/// Room kept above and below a label, mm.
const ROOM: f64 = 0.9;

/// Room kept on either side of a label, mm: enough that two side by side do not read as one.
const SIDE: f64 = 2.0;

/// A label that is only wanted near its place lies no further off, mm.
const BESIDE: f64 = 9.0;

/// A label further than this from its place gets a leader line, mm.
const LEADER: f64 = 3.0;

/// Grids on which free room is looked for, mm: quickly, and where that finds none, closely.
const COARSE: f64 = 4.0;
const FINE: f64 = 0.5;

/// Most places tried in a cell along one axis: on a sheet of kilometres the grid is coarser.
const MOST_PLACES: f64 = 2000.0;

/// A leader longer than this is broken into dashes, mm: a long full line reads as an edge of the tube.
const LONG_LEADER: f64 = 40.0;

/// Length of a dash of a long leader and of the gap after it, mm.
const LEADER_DASH: (f64, f64) = (4.0, 2.0);

/// Most dashes of a leader: a longer one has longer dashes.
const MOST_DASHES: f64 = 500.0;

/// A label whose place is not this much nearer than another it may be taken for gets one too, mm.
const DOUBT: f64 = 5.0;

/// Where a label may point to, and which way it would rather lie from there.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Anchor {
    /// The place it names.
    pub(crate) at: Point,
    /// Direction, rad, in which to look for room first.
    pub(crate) away: f64,
}

/// A label to be placed.
#[derive(Debug, Clone)]
pub(crate) struct Label {
    /// Labels of lower rank choose their places first.
    pub(crate) rank: u8,
    /// Its lines.
    pub(crate) lines: Vec<String>,
    /// Role of its words.
    pub(crate) role: Role,
    /// Places it may point to, best first.
    pub(crate) anchors: Vec<Anchor>,
    /// Direction, rad, of the line across the tube that it names; a leader does not run on along it.
    pub(crate) mark: Option<f64>,
    /// Places it might be taken to name, were it nearer to them.
    pub(crate) rivals: Vec<Point>,
}

impl Label {
    /// A label in the role of notes.
    pub(crate) fn new(rank: u8, lines: Vec<String>, anchors: Vec<Anchor>) -> Self {
        Label { rank, lines, role: Role::Note, anchors, mark: None, rivals: Vec::new() }
    }

    /// Whether a box is about as near to something else as it is to the label's own place.
    fn doubtful(&self, bounds: &Rect, gap: f64) -> bool {
        self.rivals.iter().any(|&rival| distance(rival, bounds) < gap + DOUBT)
    }

    /// Cost of a place in a box beyond its distance: doubt that no leader can lift, and a leader
    /// that looks like a part of the mark it leads to.
    fn disorder(&self, anchor: Point, bounds: &Rect) -> f64 {
        let gap = distance(anchor, bounds);
        let doubtful = self.doubtful(bounds, gap);
        let led = gap > LEADER || doubtful;
        let to = nearest(anchor, bounds);
        let leader = (to.y - anchor.y).atan2(to.x - anchor.x);
        let along = led && self.mark.is_some_and(|mark| (leader - mark).sin().abs() < 0.35);
        f64::from(u8::from(doubtful && gap < LEADER)) * 30.0 + f64::from(u8::from(along)) * 15.0
    }
}

/// Keeps account of what is drawn and of the room left.
#[derive(Debug, Clone)]
pub(crate) struct Placer {
    /// Labels lie wholly inside one of these.
    cells: Vec<Rect>,
    room: Room,
}

#[derive(Debug, Clone)]
struct Candidate {
    bounds: Rect,
    /// Whether the words run up the sheet.
    turned: bool,
    anchor: Point,
    away: f64,
    cost: f64,
}

impl Placer {
    /// Room inside `cells`.
    pub(crate) fn new(cells: Vec<Rect>) -> Self {
        let room = Room::new(cells.iter().copied().reduce(Rect::union));
        Placer { cells, room }
    }

    /// Keeps labels `reach` mm off an edge; the tube's body is an edge with its radius as reach.
    pub(crate) fn keep_off(&mut self, edge: &Edge, reach: f64, thin: bool) {
        self.room.keep_off(edge, reach, thin);
    }

    /// Keeps labels out of a box.
    pub(crate) fn keep_out(&mut self, bounds: Rect) {
        self.room.keep_out(bounds);
    }

    /// Draws the label where there is room, with a leader line if that is not right beside its
    /// place. Without any room left it crosses thin lines, at worst whatever is there.
    pub(crate) fn place(&mut self, label: &Label, drawing: &mut Drawing) {
        let size = label_size(label);
        let found = [Care::Full, Care::Lines]
            .into_iter()
            .find_map(|care| self.beside(label, size, care, f64::INFINITY))
            .or_else(|| self.anywhere(label, size, Care::Lines, COARSE))
            .or_else(|| self.anywhere(label, size, Care::Words, COARSE))
            .or_else(|| self.anywhere(label, size, Care::Words, FINE))
            .or_else(|| best(label, size, f64::INFINITY, |_| true));
        if let Some(place) = found {
            self.put(label, &place, drawing);
        }
    }

    /// Draws the label only where there is room near its place; whether there was.
    pub(crate) fn place_beside(&mut self, label: &Label, drawing: &mut Drawing) -> bool {
        let found = self.beside(label, label_size(label), Care::Full, BESIDE);
        found.is_some_and(|place| {
            self.put(label, &place, drawing);
            true
        })
    }

    /// The best free place beside an anchor, no further off than that, mm.
    fn beside(&self, label: &Label, size: (f64, f64), care: Care, furthest: f64) -> Option<Candidate> {
        best(label, size, furthest, |candidate| self.fits(candidate, care))
    }

    /// Draws a label in its place and keeps that place.
    fn put(&mut self, label: &Label, place: &Candidate, drawing: &mut Drawing) {
        let Candidate { bounds, anchor, .. } = *place;
        let gap = distance(anchor, &bounds);
        if gap > LEADER || (gap > 0.5 && label.doubtful(&bounds, gap)) {
            let leader = Line { from: anchor, to: nearest(anchor, &bounds.grown(0.4)) };
            draw_leader(drawing, leader);
            self.keep_off(&Edge::Line(leader), 0.0, true);
        }
        self.room.keep_out(roomy(&bounds));
        draw(label, place, drawing);
    }

    /// The same inside one box instead of any cell.
    pub(crate) fn place_within(&mut self, cell: Rect, label: &Label, drawing: &mut Drawing) {
        let all = std::mem::replace(&mut self.cells, vec![cell]);
        self.place(label, drawing);
        self.cells = all;
    }

    fn fits(&self, candidate: &Candidate, care: Care) -> bool {
        self.taken_until(candidate, care).is_none() && self.may_stand(candidate, care)
    }

    /// Whether a candidate that nothing lies in the way of is inside a cell and led to rightly.
    fn may_stand(&self, candidate: &Candidate, care: Care) -> bool {
        let kept = roomy(&candidate.bounds);
        self.cells.iter().any(|cell| cell.holds(&kept))
            && (care == Care::Words || self.leader_is_clear(candidate))
    }

    /// The right end, mm, of a thing in the way of a candidate at its height; none where the candidate is free.
    fn taken_until(&self, candidate: &Candidate, care: Care) -> Option<f64> {
        self.room.taken_until(&roomy(&candidate.bounds), care == Care::Full)
    }

    /// A leader line crosses no other label.
    fn leader_is_clear(&self, candidate: &Candidate) -> bool {
        let leader = Line { from: candidate.anchor, to: nearest(candidate.anchor, &candidate.bounds) };
        distance(candidate.anchor, &candidate.bounds) <= LEADER || !self.room.is_crossed(&leader)
    }

    /// The free place nearest to the first anchor on a grid of `step` mm over all cells.
    fn anywhere(&self, label: &Label, size: (f64, f64), care: Care, step: f64) -> Option<Candidate> {
        let anchor = label.anchors.first()?;
        let whole = self.cells.iter().copied().reduce(Rect::union)?;
        let far = [anchor.at.x - whole.min.x, whole.max.x - anchor.at.x];
        let high = [anchor.at.y - whole.min.y, whole.max.y - anchor.at.y];
        let furthest = far.into_iter().chain(high).fold(0.0, f64::max);
        // Near the anchor first: a sheet of metres has a hundred thousand places.
        let looks = [(0.0, 80.0), (80.0, 250.0), (250.0, f64::INFINITY)];
        // Where all was seen already, a wider look would see the same places again.
        let mut wider = looks.into_iter().filter(|&(seen, _)| seen < furthest);
        wider.find_map(|(_, reach)| self.within(anchor, (reach, step), size, care))
    }

    /// The same no further than `reach` mm from the anchor along either axis.
    fn within(
        &self,
        anchor: &Anchor,
        (reach, step): (f64, f64),
        (wide, high): (f64, f64),
        care: Care,
    ) -> Option<Candidate> {
        let Anchor { at, away } = *anchor;
        let mut best: Option<Candidate> = None;
        for cell in &self.cells {
            let grid = |long: f64| step.max(long.min(2.0 * reach) / MOST_PLACES);
            let (across, up) = (grid(cell.width()), grid(cell.height()));
            let mut y = (cell.min.y + ROOM).max(at.y - reach);
            // MOST_PLACES at most, as along x.
            while y + high < cell.max.y.min(at.y + reach) {
                let mut x = (cell.min.x + SIDE).max(at.x - reach);
                // MOST_PLACES at most, as every step is `across` or a multiple of it.
                while x + wide < cell.max.x.min(at.x + reach) {
                    let bounds = Rect::new(Point::new(x, y), Point::new(x + wide, y + high));
                    let cost = distance(at, &bounds);
                    let candidate = Candidate { bounds, turned: false, anchor: at, away, cost };
                    let mut steps = 1.0;
                    if best.as_ref().is_some_and(|b| cost >= b.cost) {
                        if x >= at.x {
                            // Further right is further off.
                            break;
                        }
                    } else if let Some(until) = self.taken_until(&candidate, care) {
                        // Up to there the row is taken at every step.
                        steps = ((until - (x - SIDE)) / across).floor().max(1.0);
                    } else if self.may_stand(&candidate, care) {
                        best = Some(candidate);
                    }
                    x += across * steps;
                }
                y += up;
            }
        }
        best
    }
}

/// Rooms that a label keeps off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Care {
    /// Everything drawn; its leader keeps off other labels.
    Full,
    /// The tube and other labels, not thin lines; its leader keeps off other labels.
    Lines,
    /// The tube and other labels.
    Words,
}

fn roomy(bounds: &Rect) -> Rect {
    Rect { min: bounds.min.shifted(-SIDE, -ROOM), max: bounds.max.shifted(SIDE, ROOM) }
}

fn nearest(p: Point, bounds: &Rect) -> Point {
    Point::new(p.x.clamp(bounds.min.x, bounds.max.x), p.y.clamp(bounds.min.y, bounds.max.y))
}

fn distance(p: Point, bounds: &Rect) -> f64 {
    p.distance(nearest(p, bounds))
}

/// Width and height of a label's box, from the top of capitals to the lowest descender, mm.
fn label_size(label: &Label) -> (f64, f64) {
    let wide = label.lines.iter().map(|l| width(l, LABEL_HEIGHT, weight(label.role))).fold(0.0, f64::max);
    let below = label.lines.iter().skip(1).fold(0.0, |sum, _| sum + LABEL_HEIGHT * LEADING);
    (wide, below + LABEL_HEIGHT + DESCENT * font_size(LABEL_HEIGHT))
}

/// Cost of a label that runs up the sheet, in millimetres of distance.
const TURNED: f64 = 5.0;

/// Distances from an anchor that are tried, mm.
const DISTANCES: [f64; 12] = [1.0, 2.5, 4.0, 6.0, 9.0, 13.0, 18.0, 24.0, 31.0, 40.0, 52.0, 66.0];

/// Directions that are tried, rad from the preferred one.
const FAN: [f64; 11] = [0.0, 0.3, -0.3, 0.6, -0.6, 0.9, -0.9, 1.25, -1.25, 1.57, -1.57];

/// The place that costs least of those up to `furthest` mm off that are free; among equals the one at the first anchor.
fn best(
    label: &Label,
    size: (f64, f64),
    furthest: f64,
    free: impl Fn(&Candidate) -> bool,
) -> Option<Candidate> {
    let mut best: Option<(usize, Candidate)> = None;
    for far in DISTANCES.into_iter().filter(|&far| far <= furthest) {
        // Whatever is further off costs at least its distance.
        if best.as_ref().is_some_and(|(_, known)| known.cost < far) {
            break;
        }
        for (index, anchor) in label.anchors.iter().enumerate() {
            for candidate in around(label, index, anchor, size, far) {
                let better = best.as_ref().is_none_or(|(at, known)| {
                    candidate.cost.total_cmp(&known.cost).then(index.cmp(at)).is_lt()
                });
                if better && free(&candidate) {
                    best = Some((index, candidate));
                }
            }
        }
    }
    best.map(|(_, candidate)| candidate)
}

/// Places at a distance from an anchor, in directions that fan out from the preferred one. A single line may also run
/// up the sheet, close to its place: between upright tubes there is no other room.
fn around(
    label: &Label,
    index: usize,
    anchor: &Anchor,
    (wide, high): (f64, f64),
    far: f64,
) -> impl Iterator<Item = Candidate> {
    let penalty = 1.5 * index as f64;
    FAN.into_iter().flat_map(move |fan| {
        let bounds = beside(anchor, far, fan, (wide, high));
        let cost = far + 2.0 * fan.abs() + penalty + label.disorder(anchor.at, &bounds);
        let lying = Candidate { bounds, turned: false, anchor: anchor.at, away: anchor.away, cost };
        let upright = (label.lines.len() == 1 && far <= LEADER + 1.0).then(|| {
            let bounds = beside(anchor, far, fan, (high, wide));
            Candidate { bounds, turned: true, cost: cost + TURNED, ..lying.clone() }
        });
        [Some(lying), upright].into_iter().flatten()
    })
}

/// The box whose side or corner, whichever lies towards the anchor, is `far` away from it.
fn beside(anchor: &Anchor, far: f64, fan: f64, (wide, high): (f64, f64)) -> Rect {
    let (sin, cos) = (anchor.away + fan).sin_cos();
    let centre = anchor.at.shifted(
        cos * far + wide / 2.0 * (cos * 1.5).clamp(-1.0, 1.0),
        sin * far + high / 2.0 * (sin * 1.5).clamp(-1.0, 1.0),
    );
    Rect::new(centre.shifted(-wide / 2.0, -high / 2.0), centre.shifted(wide / 2.0, high / 2.0))
}

/// Lines under each other, flush on the side that faces the anchor.
fn draw(label: &Label, place: &Candidate, drawing: &mut Drawing) {
    let Candidate { bounds, anchor, away, turned, .. } = *place;
    let height = LABEL_HEIGHT;
    if let ([line], true) = (label.lines.as_slice(), turned) {
        let at = Point::new(bounds.max.x - DESCENT * font_size(height), bounds.centre().y);
        let (across, upright) = (Across::Middle, Vertical::Baseline);
        let text = Text { at, height, angle: FRAC_PI_2, across, upright, content: line.clone() };
        drawing.add(label.role, ItemShape::Text(text));
        return;
    }
    let (right_of, left_of) = (anchor.x < bounds.min.x, anchor.x > bounds.max.x);
    let (across, x) = if right_of || (away.cos() > 0.4 && !left_of) {
        (Across::Left, bounds.min.x)
    } else if left_of || away.cos() < -0.4 {
        (Across::Right, bounds.max.x)
    } else {
        (Across::Middle, bounds.centre().x)
    };
    let mut y = bounds.max.y;
    for line in &label.lines {
        let at = Point::new(x, y);
        let text = Text {
            at,
            height: LABEL_HEIGHT,
            angle: 0.0,
            across,
            upright: Vertical::Top,
            content: line.clone(),
        };
        drawing.add(label.role, ItemShape::Text(text));
        y -= height * LEADING;
    }
}

/// A leader: a thin full line, in dashes if it is long.
fn draw_leader(drawing: &mut Drawing, leader: Line) {
    let length = leader.from.distance(leader.to);
    if length <= LONG_LEADER {
        drawing.line(Role::Dimension, leader.from, leader.to);
        return;
    }
    let angle = (leader.to.y - leader.from.y).atan2(leader.to.x - leader.from.x);
    let longer = (length / (MOST_DASHES * (LEADER_DASH.0 + LEADER_DASH.1))).max(1.0);
    let (dash, gap) = (LEADER_DASH.0 * longer, LEADER_DASH.1 * longer);
    let mut walked = 0.0;
    // MOST_DASHES at most.
    while walked < length {
        let end = (walked + dash).min(length);
        drawing.line(Role::Dimension, leader.from.polar(walked, angle), leader.from.polar(end, angle));
        walked += dash + gap;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::extents::shape_extents;

    #[test]
    fn a_sheet_of_kilometres_costs_no_more_than_a_large_one() {
        let far = 1e9;
        let mut placer = Placer::new(vec![Rect::new(Point::new(0.0, 0.0), Point::new(far, far))]);
        let across = Line { from: Point::new(0.0, 0.0), to: Point::new(far, far) };
        placer.keep_off(&Edge::Line(across), 8.0, false);
        assert!(placer.room.filed() < 50_000, "{}", placer.room.filed());
        let mut drawing = Drawing::new();
        draw_leader(&mut drawing, across);
        assert!(drawing.items.len() <= 1000, "{}", drawing.items.len());
        // Nowhere is room: every place that is tried is tried in vain.
        placer.keep_out(Rect::new(Point::new(-far, -far), Point::new(2.0 * far, 2.0 * far)));
        placer.place(&label("words", Point::new(1.0, 1.0)), &mut drawing);
        assert!(drawing.items.len() > 500, "the label lies across whatever is there");
    }

    fn label(words: &str, at: Point) -> Label {
        Label {
            lines: vec![words.to_owned(), "second line".to_owned()],
            rank: 0,
            role: Role::Note,
            anchors: vec![Anchor { at, away: 0.0 }],
            mark: None,
            rivals: Vec::new(),
        }
    }

    fn text_boxes(drawing: &Drawing) -> Vec<Rect> {
        drawing
            .items
            .iter()
            .filter(|i| matches!(i.shape, ItemShape::Text(_)))
            .filter_map(|i| shape_extents(&i.shape, i.role))
            .collect()
    }

    #[test]
    fn twenty_labels_at_one_place_do_not_touch_each_other_or_the_tube() {
        let cell = Rect::new(Point::new(0.0, 0.0), Point::new(180.0, 230.0));
        let mut placer = Placer::new(vec![cell]);
        let tube = Line { from: Point::new(0.0, 115.0), to: Point::new(180.0, 115.0) };
        placer.keep_off(&Edge::Line(tube), 7.5, false);
        let mut drawing = Drawing::new();
        for number in 0..20 {
            placer.place(&label(&format!("label {number}"), Point::new(90.0, 122.5)), &mut drawing);
        }
        let boxes = text_boxes(&drawing);
        assert_eq!(boxes.len(), 40);
        for (index, a) in boxes.iter().enumerate() {
            assert!(cell.holds(a) && (a.min.y > 122.5 || a.max.y < 107.5), "{a:?}");
            assert!(boxes.iter().skip(index + 1).all(|b| !a.grown(-0.01).overlaps(&b.grown(-0.01))), "{a:?}");
        }
        assert!(drawing.items.iter().any(|i| i.role == Role::Dimension), "labels moved away have leaders");
    }

    #[test]
    fn a_label_as_near_to_another_place_has_a_leader() {
        let cell = Rect::new(Point::new(0.0, 0.0), Point::new(180.0, 60.0));
        let led = |rivals: Vec<Point>| {
            let mut placer = Placer::new(vec![cell]);
            let mut drawing = Drawing::new();
            let label = Label { rivals, ..label("starts here", Point::new(90.0, 30.0)) };
            placer.place(&label, &mut drawing);
            drawing.items.iter().any(|item| item.role == Role::Dimension)
        };
        assert!(led(vec![Point::new(93.0, 30.0)]));
        assert!(!led(vec![Point::new(20.0, 30.0)]));
    }

    #[test]
    fn a_label_never_straddles_a_joint() {
        let left = Rect::new(Point::new(0.0, 0.0), Point::new(50.0, 50.0));
        let mut placer = Placer::new(vec![left, left.shifted(60.0, 0.0)]);
        let mut drawing = Drawing::new();
        placer.place(&label("across the joint", Point::new(40.0, 25.0)), &mut drawing);
        assert!(text_boxes(&drawing).iter().all(|b| b.max.x <= 50.0 || b.min.x >= 60.0));
    }
}
