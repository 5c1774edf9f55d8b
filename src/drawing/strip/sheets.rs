//! Wrap strips on sheets: cut into pieces along the tube, several short pieces to a sheet.

use super::figure::{BEFORE, BEHIND};
use super::model::Strip;
use super::{StripFigure, caution, legend, missing, off_the_tube, size};
use crate::diagnostic::Diagnostic;
use crate::drawing::clip::clip_item;
use crate::drawing::extents::{Rect, extents};
use crate::drawing::item::{Drawing, Point, Role};
use crate::drawing::sheet::frame::PageFrame;
use crate::drawing::sheet::furniture::{TitleWords, furniture, line, outline, scale_note, true_bars};
use crate::drawing::sheet::tile::{MARK, RegistrationMark, cross};
use crate::drawing::sheet::tiling::{Cuts, Cuttable, OVERLAP, Windows, letters};
use crate::drawing::sheet::{MOST_SHEETS, Paper, PrintSetup, Sheet, Stretched};
use crate::drawing::shift::shifted;
use crate::drawing::text::{shortened, weight, width, wrapped};
use crate::plan::Plan;

/// Joints keep this far off lines across the strip, mm.
const CLEAR: f64 = 1.5;

/// Overlaps keep this far off the ends of the tube, mm: every piece shows tube enough to be joined.
const LEAST_SHOWN: f64 = 18.0;

/// Room between pieces on a sheet, across and up, mm.
const BETWEEN: (f64, f64) = (6.0, 4.0);

/// Least width for the words over a piece, mm.
const HEADING: f64 = 80.0;

/// Height of capitals over a piece, mm: of its name and of the rest.
const HEIGHTS: (f64, f64) = (2.3, 1.7);

/// From the strip to the registration marks on its joints, mm.
const MARK_OFF: f64 = 12.0;

/// More pieces than any paper takes on 60 sheets are not even laid out.
const MOST_PIECES: u64 = 2000;

/// Most runs that the warning of strips that do not fit names.
const MOST_NAMED: usize = 12;

/// Wrap strips on paper.
#[derive(Debug)]
pub struct Strips {
    /// The sheets; none where no run has a strip.
    pub sheets: Vec<Sheet>,
    /// The warning of strips that are too high for the paper; their sheets have a notice instead.
    pub too_high: Option<Diagnostic>,
}

/// The strips of all runs that have one, cut to the paper.
///
/// # Errors
/// `too-many-sheets` when they need more than 60 sheets, `strip-too-high` when not one of them fits the paper.
#[allow(clippy::result_large_err, reason = "made at most once a build")]
pub fn strip_sheets(plan: &Plan, setup: &PrintSetup) -> Result<Strips, Diagnostic> {
    let strips: Vec<Strip> =
        plan.runs.iter().filter_map(|run| Strip::new(run, setup.paper_thickness_mm)).collect();
    let ways =
        PageFrame::all(&setup.paper).into_iter().filter_map(|frame| Way::new(&strips, frame, setup.scale));
    let Some(way) = ways.min_by_key(Way::cost) else {
        return Err(too_many(&format!("more than {MOST_SHEETS}"), setup));
    };
    if way.pages.len() > MOST_SHEETS {
        return Err(too_many(&way.pages.len().to_string(), setup));
    }
    let high: Vec<&str> =
        way.too_high.iter().filter_map(|&at| strips.get(at)).map(|strip| strip.name.as_str()).collect();
    if !high.is_empty() && high.len() == strips.len() {
        return Err(too_high(&strips, &high, true, setup));
    }
    let sheets = (0..way.pages.len()).map(|page| way.sheet(plan, &strips, page, setup)).collect();
    Ok(Strips { sheets, too_high: (!high.is_empty()).then(|| too_high(&strips, &high, false, setup)) })
}

/// The warning of strips that are too high for the paper, which may be `all` there are.
fn too_high(strips: &[Strip], runs: &[&str], all: bool, setup: &PrintSetup) -> Diagnostic {
    let named = runs.get(..MOST_NAMED).unwrap_or(runs).join(", ");
    let rest = match runs.len().saturating_sub(MOST_NAMED) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    let paper = setup.paper.name();
    let message = if all {
        format!(
            "strips.pdf is left out: every strip and its words are too high for {paper} paper: {named}{rest}"
        )
    } else {
        format!("strips.pdf lacks strips that are too high for {paper} paper with their words: {named}{rest}")
    };
    let plotter = "take the runs/<run>/strip.svg to a plotter (--only svg)";
    let hint = match enough(strips, setup) {
        Some(paper) => format!("print on larger paper (--paper {}), or {plotter}", paper.name()),
        None => plotter.to_owned(),
    };
    Diagnostic::warning("strip-too-high", message).hint(hint)
}

/// The smallest of the larger papers on which every strip fits.
fn enough(strips: &[Strip], setup: &PrintSetup) -> Option<Paper> {
    let fits = |paper: &Paper| {
        let mut ways =
            PageFrame::all(paper).into_iter().filter_map(|frame| Way::new(strips, frame, setup.scale));
        ways.any(|way| way.too_high.is_empty())
    };
    setup.paper.larger().into_iter().find(fits)
}

fn too_many(count: &str, setup: &PrintSetup) -> Diagnostic {
    let paper = setup.paper.name();
    let message = format!(
        "strips.pdf is left out: it needs {count} sheets of {paper} paper, and {MOST_SHEETS} are written at most"
    );
    Diagnostic::warning("too-many-sheets", message).hint(
        "print on longer paper (a roll such as --paper 610x2000), build fewer runs at a time (--run NAME), or take the runs/<run>/strip.svg to a plotter (--only svg)",
    )
}

/// A piece of a strip with the words over it, in the strip's coordinates.
struct StripPiece {
    /// Number of its strip.
    strip: usize,
    /// Number of the piece.
    index: usize,
    /// Pieces of its strip.
    count: usize,
    drawing: Drawing,
    bounds: Rect,
}

/// Where a piece lies: its number, and its upper left corner from that of the window.
struct PieceOnPage {
    piece: usize,
    at: Point,
}

/// All strips cut for one way of using the paper.
struct Way {
    frame: PageFrame,
    pieces: Vec<StripPiece>,
    pages: Vec<Vec<PieceOnPage>>,
    /// The numbers of strips that are too high for it.
    too_high: Vec<usize>,
}

impl Way {
    /// `None` where there are more pieces than anybody would print.
    fn new(strips: &[Strip], frame: PageFrame, scale: (f64, f64)) -> Option<Way> {
        let room = (frame.window.width() / scale.0, frame.window.height() / scale.1);
        let windows = |s: &Strip| u64::from(Windows::count_for(s.length + BEFORE + BEHIND, room.0));
        if strips.iter().map(windows).sum::<u64>() > MOST_PIECES {
            return None;
        }
        let mut pieces = Vec::new();
        let mut too_high = Vec::new();
        let mut marks = 0;
        for (number, strip) in strips.iter().enumerate() {
            let counted = marks;
            let fitting = [false, true].into_iter().find_map(|low| {
                marks = counted;
                let own = cut(number, strip, (room.0, low), &mut marks);
                own.iter().all(|piece| piece.bounds.height() <= room.1).then_some(own)
            });
            pieces.extend(fitting.unwrap_or_else(|| {
                too_high.push(number);
                vec![notice(number, strip, room)]
            }));
        }
        let pages = packed(&pieces, room);
        Some(Way { frame, pieces, pages, too_high })
    }

    /// Fewest strips that do not fit, then fewest sheets, then fewest joints.
    fn cost(&self) -> (usize, usize, usize) {
        (self.too_high.len(), self.pages.len(), self.pieces.len())
    }

    fn sheet(&self, plan: &Plan, strips: &[Strip], page: usize, setup: &PrintSetup) -> Sheet {
        let frame = &self.frame;
        let (sx, sy) = setup.scale;
        let corner = Point::new(frame.window.min.x / sx, frame.window.max.y / sy);
        let places = self.pages.get(page).map_or(&[][..], Vec::as_slice);
        let mut true_size = Drawing::new();
        let mut joined = false;
        for place in places {
            let Some(piece) = self.pieces.get(place.piece) else { continue };
            joined |= piece.count > 1;
            let (dx, dy) =
                (corner.x + place.at.x - piece.bounds.min.x, corner.y + place.at.y - piece.bounds.max.y);
            true_size.append(shifted(&piece.drawing, dx, dy));
        }
        let label = format!("wrap strips: sheet {} of {}", page + 1, self.pages.len());
        let mut notes = vec![
            "Cut out along the outline; the words outside it fall away. Wrap round the straight tube, printed side out, first edge at the tube's end named there, flap glued under.".to_owned(),
            "Clock angles and turns of the tube (the tool stays): clockwise + seen along the straight being bent, from the end the strip begins at.".to_owned(),
        ];
        if joined {
            notes.push("Join: cut the dashed line at the left of a piece, lay it over the piece before, equal marks meeting.".to_owned());
        }
        let here = places.iter().filter_map(|place| strips.get(self.pieces.get(place.piece)?.strip));
        notes.extend(here.filter_map(caution).next().map(str::to_owned));
        notes.extend(scale_note(setup));
        let words = TitleWords { title: &plan.title, label: &label, notes: &notes };
        let rows = legend::rows(&true_size);
        let mut drawing = furniture(frame, &words, |at| legend::legend(at, &rows));
        drawing.append(self.map(strips, places));
        true_size.append(true_bars(frame, setup.scale));
        let mut sheet = Sheet::new(label, frame.width, frame.height, drawing);
        if setup.scale == (1.0, 1.0) {
            sheet.drawing.append(true_size);
        } else {
            sheet.stretched.push(Stretched { drawing: true_size, by: setup.scale });
        }
        sheet
    }

    /// The strips with a piece on this sheet as bars, their pieces here drawn thick.
    fn map(&self, strips: &[Strip], places: &[PieceOnPage]) -> Drawing {
        let bounds = self.frame.map;
        let mut drawing = Drawing::new();
        let at = Point::new(bounds.min.x, bounds.max.y - 0.8);
        line(&mut drawing, Role::Note, at, 1.8, "pieces here", bounds.width());
        let mut y = at.y - 5.0;
        let mut last = None;
        for piece in places.iter().filter_map(|place| self.pieces.get(place.piece)) {
            let name = strips.get(piece.strip).map_or("", |strip| strip.name.as_str());
            let wide = (bounds.width() - 1.0) / piece.count as f64;
            if last != Some(piece.strip) {
                // Four lines and bars fill the block.
                if y - 6.5 < bounds.min.y {
                    break;
                }
                line(&mut drawing, Role::Note, Point::new(bounds.min.x, y), 1.6, name, bounds.width());
                y -= 7.5;
                for index in 0..piece.count {
                    bar(&mut drawing, Role::Dimension, (bounds.min.x, y + 2.0), wide, index);
                }
                last = Some(piece.strip);
            }
            bar(&mut drawing, Role::Trim, (bounds.min.x, y + 2.0), wide, piece.index);
        }
        drawing
    }
}

/// A cell of a page map.
fn bar(drawing: &mut Drawing, role: Role, (x, y): (f64, f64), wide: f64, index: usize) {
    let from = Point::new(x + 0.3 + wide * index as f64, y);
    outline(drawing, role, &Rect::new(from, from.shifted(wide, 2.6)));
}

/// A strip and how it is cut.
struct Cutting<'a> {
    /// Number of the strip.
    number: usize,
    strip: &'a Strip,
    figure: StripFigure<'a>,
    axis: Windows,
    /// Registration marks above and below the strip, for each joint.
    joints: Vec<[RegistrationMark; 2]>,
    /// From where to where it reaches up and down, mm.
    reach: (f64, f64),
    /// Width of the windows, mm.
    room: f64,
}

/// A strip cut into pieces for windows `room` mm wide, with short words where they are `low`; `marks` counts
/// registration marks.
fn cut(number: usize, strip: &Strip, (room, low): (f64, bool), marks: &mut usize) -> Vec<StripPiece> {
    let figure = StripFigure::new(strip, low);
    let (low, high) = (-BEFORE, strip.length + BEHIND);
    let span = |from: f64, to: f64, cuts: Cuts| Cuttable { from, to, length: to - from, cuts };
    let ends = [(low, LEAST_SHOWN), (strip.length - LEAST_SHOWN, high)];
    let spans: Vec<Cuttable> = figure
        .stations()
        .map(|x| span(x - CLEAR, x + CLEAR, Cuts::Bend))
        .chain(ends.map(|(from, to)| span(from, to, Cuts::End)))
        .collect();
    let (axis, _) = Windows::new(low, high, room, &spans, 0);
    let joints = axis.joints().iter().map(|&x| {
        [strip.height + MARK_OFF, -strip.flap - MARK_OFF].map(|y| {
            *marks += 1;
            RegistrationMark::new(Point::new(x, y), *marks, &[])
        })
    });
    let joints: Vec<[RegistrationMark; 2]> = joints.collect();
    let reach = reach(&figure, strip, !joints.is_empty());
    let count = axis.count();
    let cutting = Cutting { number, strip, figure, axis, joints, reach, room };
    (0..count).map(|index| cutting.piece(index)).collect()
}

impl Cutting<'_> {
    fn piece(&self, index: usize) -> StripPiece {
        let Cutting { number, strip, figure, axis, joints, reach, room } = self;
        let count = axis.count();
        let (from, to) = axis.window(index);
        let (from, to) = (from.max(-BEFORE), to.min(strip.length + BEHIND));
        let before = index.checked_sub(1).and_then(|i| joints.get(i));
        let after = joints.get(index);
        // Words lie where this piece alone shows the strip.
        let inside = |by: f64| (from + before.map_or(0.0, |_| by), to - after.map_or(0.0, |_| by));
        let (own, cell) = (inside(OVERLAP), inside(OVERLAP / 2.0));
        let window = Rect::new(Point::new(from, reach.0), Point::new(to, reach.1));
        let mut drawing = Drawing::new();
        for item in &figure.drawing.items {
            drawing.items.extend(clip_item(item, &window));
        }
        let (words, left_out) = figure.words(cell, own);
        drawing.append(words);
        for pair in [before, after].into_iter().flatten() {
            joint(&mut drawing, pair, window);
        }
        let mut lines = Vec::new();
        if index == 0 {
            lines.push(size(strip));
            lines.extend(off_the_tube(strip));
        }
        let mut tail = String::new();
        if count > 1 {
            tail = format!(": piece {} of {count}", letters(index));
            let (low, high) = (cell.0.max(0.0), cell.1.min(strip.length));
            let mut shown = format!("{low:.1} to {high:.1} from the {}.", strip.from.name());
            if let (Some([a, _]), Some([b, _])) = (before, after) {
                let apart = a.at.distance(b.at);
                shown.push_str(&format!(" Marks {} and {}: {apart:.1} apart.", a.number, b.number));
            }
            lines.push(shown);
        }
        lines.extend(missing(left_out));
        let bounds = heading(&mut drawing, window, *room, (&strip.name, &tail), &lines);
        StripPiece { strip: *number, index, count, drawing, bounds }
    }
}

/// From where to where a strip reaches up and down, with its words and, if it is `joined`, its marks.
fn reach(figure: &StripFigure<'_>, strip: &Strip, joined: bool) -> (f64, f64) {
    let (low, high) = figure.upright();
    let room = if joined { MARK_OFF + MARK + 0.5 } else { 0.0 };
    (low.min(-strip.flap - room), high.max(strip.height + room))
}

/// The dashed line of a joint and its registration marks.
fn joint(drawing: &mut Drawing, marks: &[RegistrationMark; 2], window: Rect) {
    let [top, bottom] = marks;
    let line = (Point::new(top.at.x, window.max.y), Point::new(bottom.at.x, window.min.y));
    drawing.line(Role::Hidden, line.0, line.1);
    cross(drawing, top);
    cross(drawing, bottom);
}

/// Puts a piece's name, of which only the run's is cut, and lines of words over it; gives the room of the
/// whole.
fn heading(
    drawing: &mut Drawing,
    window: Rect,
    room: f64,
    (run, tail): (&str, &str),
    lines: &[String],
) -> Rect {
    let wide = window.width().max(HEADING).min(room);
    let bold = weight(Role::Title);
    let name =
        format!("{}{tail}", shortened(run, wide - width(tail, HEIGHTS.0, bold) - 0.5, HEIGHTS.0, bold));
    let set: Vec<String> =
        lines.iter().flat_map(|line| wrapped(line, wide, HEIGHTS.1, weight(Role::Note))).collect();
    let pitch = HEIGHTS.1 * 1.6;
    let mut top = window.max.y + 2.0 + pitch * set.len() as f64 + HEIGHTS.0 * 1.8;
    let max = Point::new(window.min.x + wide, top);
    line(drawing, Role::Title, Point::new(window.min.x, top), HEIGHTS.0, &name, wide);
    top -= HEIGHTS.0 * 1.8;
    for words in set {
        line(drawing, Role::Note, Point::new(window.min.x, top), HEIGHTS.1, &words, wide);
        top -= pitch;
    }
    let own = Rect::new(window.min, max);
    extents(drawing).map_or(own, |e| Rect { min: Point::new(own.min.x, e.min.y.min(own.min.y)), max })
}

/// Words in place of a strip that is too high for the paper.
fn notice(number: usize, strip: &Strip, room: (f64, f64)) -> StripPiece {
    let mut drawing = Drawing::new();
    let window = Rect::new(Point::new(0.0, 0.0), Point::new(room.0, 0.0));
    let lines = [
        size(strip),
        format!(
            "The strip and its words are too high for this paper: take larger paper (--paper), or runs/{}/strip.svg to a plotter.",
            strip.name
        ),
    ];
    let bounds = heading(&mut drawing, window, room.0, (&strip.name, ""), &lines);
    StripPiece { strip: number, index: 0, count: 1, drawing, bounds }
}

/// Pieces in order, in rows from the top of as many sheets as needed.
fn packed(pieces: &[StripPiece], room: (f64, f64)) -> Vec<Vec<PieceOnPage>> {
    let mut pages: Vec<Vec<PieceOnPage>> = Vec::new();
    // Upper left corner of the free room in the row, and the row's lower edge.
    let (mut x, mut top, mut low) = (0.0, 0.0, 0.0_f64);
    for (piece, Rect { min, max }) in pieces.iter().map(|piece| piece.bounds).enumerate() {
        let (wide, high) = (max.x - min.x, max.y - min.y);
        if x > 0.0 && x + wide > room.0 + 1e-6 {
            (x, top) = (0.0, low - BETWEEN.1);
        }
        if pages.is_empty() || top - high < -room.1 - 1e-6 {
            pages.push(Vec::new());
            (x, top, low) = (0.0, 0.0, 0.0);
        }
        if let Some(page) = pages.last_mut() {
            page.push(PieceOnPage { piece, at: Point::new(x, top) });
        }
        low = low.min(top - high);
        x += wide + BETWEEN.0;
    }
    pages
}
