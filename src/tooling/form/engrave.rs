//! Engraving of a stack's layers: on each its name, the start of bend and the direction; on the top
//! layer also degree ticks, an end mark for every bend, and what the form is for.

use std::f64::consts::{FRAC_PI_2, PI};

use super::body::Body;
use super::job::FormJob;
use super::room::{Hole, Room, TurnedRect};
use super::sunk::TICK_DEGREES;
use crate::flat::{Line, Point};
use crate::quantity::decimals;
use crate::tooling::{Engraving, Words};

/// Height of capitals of degree figures, mm.
const FIGURE_MM: f64 = 2.2;

/// Heights of capitals tried for the block of names, mm.
const NAME_HEIGHTS: [f64; 8] = [6.0, 5.0, 4.0, 3.5, 3.0, 2.5, 2.0, 1.8];

/// Distance from one line of words to the next, in heights of capitals.
const LINE_PITCH: f64 = 1.7;

/// Advance of one character in heights of capitals: the widest that plain engraving fonts take.
const ADVANCE: f64 = 1.0;

/// Height of the room a stroke takes, mm: as wide as a burnt line.
const STROKE_MM: f64 = 0.2;

/// Room kept between marks and the edge or a hole, mm.
const EDGE_MM: f64 = 1.8;

/// Greatest depth of the band of ticks behind the rim, mm.
const BAND_MM: f64 = 10.0;

/// Depth of the band of ticks behind the groove's bottom, mm; kept small on a small form.
pub(super) fn band(body: &Body) -> f64 {
    BAND_MM.min(0.4 * body.root)
}

/// The face of one layer.
pub(super) struct Face<'a> {
    pub(super) body: &'a Body,
    /// Radius of its rim, mm.
    pub(super) radius: f64,
    pub(super) holes: &'a [Hole],
    pub(super) slot: Option<TurnedRect>,
}

/// Engraves a layer; what there is no room for is left out.
pub(super) fn marks(job: &FormJob, face: &Face<'_>, name: &str, top: bool) -> Vec<Engraving> {
    let room = Room::new(face.body, face.radius, face.holes, face.slot, EDGE_MM);
    let mut engraver = Engraver { face, room, marks: Vec::new(), band: band(face.body) };
    engraver.start();
    let mut names = vec![name.to_owned()];
    if top {
        for bend in &job.bends {
            engraver.end_mark(bend.pull_to, bend.angle);
        }
        let bends: Vec<f64> = job.bends.iter().map(|bend| bend.pull_to).collect();
        engraver.ticks(&bends);
        names.push(format!("OD {}", decimals(job.od, 3)));
        names.push(format!("CLR {}", decimals(job.clr, 2)));
        names.push(format!("held R {}", decimals(job.held_radius, 2)));
        names.push(format!("rim R {}", decimals(face.radius, 2)));
    }
    engraver.direction();
    engraver.names(&names);
    engraver.marks
}

struct Engraver<'a> {
    face: &'a Face<'a>,
    room: Room<'a>,
    marks: Vec<Engraving>,
    band: f64,
}

impl Engraver<'_> {
    fn line(&mut self, from: Point, to: Point) {
        self.marks.push(Engraving::Line(Line { from, to }));
    }

    fn words(&mut self, content: &str, label: &TurnedRect) {
        let words =
            Words { at: label.centre, height: label.height, angle: label.angle, content: content.to_owned() };
        self.marks.push(Engraving::Words(words));
    }

    /// A point on a spoke, `behind` mm behind the layer's rim.
    fn behind(&self, angle: f64, behind: f64) -> Point {
        self.face.body.on_spoke(angle, self.face.radius - behind)
    }

    /// A line on the spoke of a bend angle from the rim inwards; false where something is in the way.
    fn spoke(&mut self, angle: f64, length: f64) -> bool {
        let (outer, inner) = (self.behind(angle, 0.0), self.behind(angle, length));
        let free = self.room.try_take_at_rim(&[TurnedRect::along(outer, inner, STROKE_MM)]);
        if free {
            self.line(outer, inner);
        }
        free
    }

    /// Start of bend: a long mark and its name beside it, on the side where the tube lies straight.
    fn start(&mut self) {
        let length = 0.9 * self.band;
        self.spoke(0.0, length);
        let name = "start";
        let mut label = words_box(name, FIGURE_MM, Point::new(0.0, 0.0), 0.0);
        for drop in [length - FIGURE_MM / 2.0, 3.0, 4.0, 6.0, 8.0] {
            label.centre = Point::new(-label.width / 2.0 - 1.5, self.face.radius - drop);
            if self.room.try_take(&[label]) {
                self.words(name, &label);
                break;
            }
        }
    }

    /// Where to pull to for a bend: a mark with a head, and below it the angle it finishes at.
    fn end_mark(&mut self, pull_to: f64, angle: f64) {
        let length = 0.7 * self.band;
        let tip = self.behind(pull_to, 0.0);
        let back = self.behind(pull_to, 0.3 * self.band);
        let half = 0.12 * self.band;
        let sides = [1.0, -1.0].map(|side| back.polar(side * half, PI - pull_to));
        let whole = TurnedRect::along(tip, self.behind(pull_to, length), 2.0 * half);
        if !self.room.try_take_at_rim(&[whole]) {
            return;
        }
        self.line(tip, self.behind(pull_to, length));
        for side in sides {
            self.line(tip, side);
        }
        self.figure(pull_to, angle, length, true);
    }

    /// An angle in figures below its mark, reading along the rim; further in where that is taken.
    fn figure(&mut self, at: f64, angle: f64, below: f64, search: bool) {
        let content = format!("{}°", decimals(angle.to_degrees(), 1));
        for step in 0..if search { 6 } else { 1 } {
            let drop = below + 1.3 + FIGURE_MM / 2.0 + f64::from(step) * (FIGURE_MM + 1.2);
            if self.face.radius - drop < FIGURE_MM {
                break;
            }
            let label = words_box(&content, FIGURE_MM, self.behind(at, drop), -at);
            if self.room.try_take(&[label]) {
                self.words(&content, &label);
                break;
            }
        }
    }

    /// Ticks every 15°, those at 45° longer, each with its angle where there is room; none where an end
    /// mark stands.
    fn ticks(&mut self, bends: &[f64]) {
        let clear = (f64::from(TICK_DEGREES) / 8.0).to_radians();
        let free = |angle: f64| bends.iter().all(|bend| (bend - angle).abs() > clear);
        let degrees: Vec<u32> = (1..)
            .map(|n| n * TICK_DEGREES)
            .take_while(|&d| f64::from(d).to_radians() < self.face.body.arc)
            .filter(|&d| free(f64::from(d).to_radians()))
            .collect();
        let length = |d: u32| if d.is_multiple_of(45) { 0.45 } else { 0.3 } * self.band;
        let drawn: Vec<(u32, f64)> = degrees.iter().map(|&d| (d, length(d))).collect();
        let mut stand = Vec::new();
        for (d, length) in drawn {
            if self.spoke(f64::from(d).to_radians(), length) {
                stand.push((d, length));
            }
        }
        // The coarser figures first: on a small rim they are the ones that find room.
        for step in [90, 45, 30, 15] {
            let coarser = |d: u32| [90, 45, 30].iter().any(|&c| c > step && d.is_multiple_of(c));
            for &(d, length) in stand.iter().filter(|(d, _)| d.is_multiple_of(step) && !coarser(*d)) {
                let angle = f64::from(d).to_radians();
                self.figure(angle, angle, length, false);
            }
        }
    }

    /// An arrow along the lead-in: this way the tube goes.
    fn direction(&mut self) {
        let lead = self.face.body.lead;
        let length = (0.45 * lead).min(20.0);
        let head = 2.0;
        let centre = Point::new(-0.6 * lead, self.face.radius - 5.0);
        let wish = TurnedRect { centre, width: length, height: head, angle: 0.0 };
        let Some(found) = self.room.nearest(wish) else { return };
        let tip = found.centre.shifted(length / 2.0, 0.0);
        self.line(tip.shifted(-length, 0.0), tip);
        for side in [0.5, -0.5] {
            self.line(tip, tip.shifted(-head, side * head));
        }
    }

    /// The lines that name the layer, as large as they go: in one block, along the drawing or along the
    /// body's axis, else all in one line, else the first line alone, else its last word: the layer's number.
    fn names(&mut self, names: &[String]) {
        let axis = self.face.body.axis();
        let along = axis.y.atan2(axis.x);
        let one_line = [names.join("  ")];
        let alone = &names[..names.len().min(1)];
        let number: Vec<String> =
            alone.iter().filter_map(|name| name.rsplit(' ').next()).map(str::to_owned).collect();
        let all = NAME_HEIGHTS.iter().flat_map(|&height| {
            [(names, 0.0), (names, along), (&one_line[..], 0.0), (&one_line[..], along)]
                .map(|(lines, angle)| (lines, angle, height))
        });
        let less = [alone, &number[..]].into_iter().flat_map(|lines| {
            NAME_HEIGHTS.iter().flat_map(move |&height| [(lines, 0.0, height), (lines, along, height)])
        });
        for (lines, angle, height) in all.chain(less) {
            if self.write_block(lines, angle, height) {
                return;
            }
        }
    }

    /// Writes lines below each other as near the body's middle as there is room; false without room.
    fn write_block(&mut self, lines: &[String], angle: f64, height: f64) -> bool {
        let (min, max) = self.face.body.bounds();
        let longest = lines.iter().map(|l| l.chars().count()).max().unwrap_or(0) as f64;
        let wish = TurnedRect {
            centre: Point::new((min.x + max.x) / 2.0, (min.y + max.y) / 2.0),
            width: longest * height * ADVANCE,
            height: height * (1.0 + LINE_PITCH * (lines.len() as f64 - 1.0)),
            angle,
        };
        let Some(found) = self.room.nearest(wish) else { return false };
        let top = (found.height - height) / 2.0;
        for (row, line) in lines.iter().enumerate() {
            let down = row as f64 * LINE_PITCH * height - top;
            let centre = found.centre.polar(down, angle - FRAC_PI_2);
            self.words(line, &words_box(line, height, centre, angle));
        }
        true
    }
}

fn words_box(content: &str, height: f64, centre: Point, angle: f64) -> TurnedRect {
    TurnedRect { centre, width: content.chars().count() as f64 * height * ADVANCE, height, angle }
}
