//! How a template lies on its sheets: which way up, turned how far, cut where.

use std::f64::consts::{FRAC_PI_2, PI};

use super::checks::{CheckSize, DIMENSION_ROOM};
use super::figure::{PlaneFigure, corner_lines};
use super::legend::{legend, rows};
use super::notes;
use super::plane::{Plane, planes};
use crate::centreline::{LaidRun, Layout};
use crate::diagnostic::Diagnostic;
use crate::drawing::extents::{Rect, arc_extents};
use crate::drawing::item::{Drawing, Edge, Item, ItemShape, Line, Role};
use crate::drawing::sheet::frame::PageFrame;
use crate::drawing::sheet::furniture::{
    TitleWords, furniture, label, outline, page_map, scale_note, true_bars,
};
use crate::drawing::sheet::tile::{RegistrationMark, content, flat_lines, marks, tile_marks};
use crate::drawing::sheet::tiling::{ARC_COST, Cuts, Cuttable, Tiling, Windows};
use crate::drawing::sheet::{MOST_SHEETS, PrintSetup, Sheet, Stretched};
use crate::drawing::shift::shifted;
use crate::plan::Plan;

/// The templates of all runs, cut to the paper: as few sheets as a template can do with, upright or
/// lengthwise, turned where that saves sheets, joints off the bends where possible.
///
/// # Errors
/// `too-many-sheets` when they need more than 60 sheets.
#[allow(clippy::result_large_err, reason = "made at most once a build")]
pub fn template_sheets(layout: &Layout, plan: &Plan, setup: &PrintSetup) -> Result<Vec<Sheet>, Diagnostic> {
    let frames = PageFrame::all(&setup.paper);
    let mut placed = Vec::new();
    let mut total = 0;
    let mut endless = false;
    for laid in &layout.runs {
        for plane in plan.run(&laid.run.name).map_or_else(Vec::new, |run| planes(laid, run)) {
            if endless || total > MOST_SHEETS {
                // No more than how many there are at least is wanted now.
                total += 1;
                continue;
            }
            match best_pose(&plane, &frames, setup.scale) {
                Some(pose) => {
                    total += pose.tiling.tiles.len();
                    placed.push((laid, pose));
                }
                None => endless = true,
            }
        }
    }
    if endless || total > MOST_SHEETS {
        return Err(too_many(total, endless, setup));
    }
    Ok(placed.iter().flat_map(|(laid, pose)| sheets(layout, laid, pose, setup)).collect())
}

fn too_many(total: usize, endless: bool, setup: &PrintSetup) -> Diagnostic {
    let paper = setup.paper.name();
    let count = match endless {
        true => format!("more than {}", MOST_SHEETS.max(total)),
        false => format!("at least {total}"),
    };
    Diagnostic::warning(
        "too-many-sheets",
        format!(
            "templates.pdf is left out: it needs {count} sheets of {paper} paper, and {MOST_SHEETS} are written at most"
        ),
    )
    .hint("print on larger paper (--paper a2, or a roll such as --paper 610x2000), build fewer runs at a time (--run NAME), or take the untiled runs/<run>/template.svg to a plotter (--only svg)")
}

/// A template as it will be printed.
struct Pose {
    plane: Plane,
    frame: PageFrame,
    figure: PlaneFigure,
    tiling: Tiling,
    /// Room for check dimensions, mm, if they are drawn.
    dimensions: Option<f64>,
}

impl Pose {
    /// Leaves out corners that none of the sheets shows; their bends' labels say where they are.
    fn without_lost_corners(mut self) -> Pose {
        let corner = |item: &&Item| item.role == Role::Corner;
        let legs = Drawing { items: self.figure.drawing.items.iter().filter(corner).cloned().collect() };
        if lost(&self.tiling, flat_lines(&legs).iter()) {
            for bend in &mut self.plane.bends {
                bend.off = bend.corner.is_some_and(|c| lost(&self.tiling, corner_lines(c, &bend.arc).iter()));
            }
            self.figure = PlaneFigure::new(&self.plane, self.dimensions);
        }
        self
    }
}

/// Cost of a joint within a bend, in sheets.
const CUT_BEND: f64 = 0.75;

/// Cost of waste, a corner or the end of a trim line that is not on the paper, in sheets.
const LOST_WASTE: f64 = 0.5;

/// The same for a check size; its number is in the notes too.
const LOST_CHECK: f64 = 0.9;

/// The pose with the fewest sheets, where a bend that a joint runs through counts as most of a sheet
/// more; among equals the cheapest joints, then a straight along the paper's edge.
fn best_pose(plane: &Plane, frames: &[PageFrame], scale: (f64, f64)) -> Option<Pose> {
    let plain = frames.iter().map(|frame| plain_grid(plane, frame, scale)).min()?;
    let (score, bare) = search(plane, frames, scale, None, plain.min(MOST_SHEETS))?;
    // Check dimensions are drawn unless they would cost a sheet; their numbers are in the notes too.
    let limit = bare.tiling.tiles.len();
    let dimensioned = DIMENSION_ROOM.into_iter().find_map(|room| {
        search(plane, frames, scale, Some(room), limit).filter(|(other, _)| *other <= score)
    });
    Some(dimensioned.map_or(bare, |(_, pose)| pose).without_lost_corners())
}

/// Sheets of the plain grid over the box around the plane as it is.
fn plain_grid(plane: &Plane, frame: &PageFrame, scale: (f64, f64)) -> usize {
    let extents = PlaneFigure::new(plane, None).extents;
    let columns = Windows::count_for(extents.width(), frame.window.width() / scale.0);
    let rows = Windows::count_for(extents.height(), frame.window.height() / scale.1);
    usize::try_from(columns).unwrap_or(usize::MAX).saturating_mul(usize::try_from(rows).unwrap_or(usize::MAX))
}

/// The best pose of at most `limit` sheets and its score; `None` if there is none.
fn search(
    plane: &Plane,
    frames: &[PageFrame],
    scale: (f64, f64),
    dimensions: Option<f64>,
    limit: usize,
) -> Option<(f64, Pose)> {
    let mut best: Option<(f64, f64, Pose)> = None;
    for (angle, skew) in angles(plane) {
        let turned = plane.turned(angle);
        let figure = PlaneFigure::new(&turned, dimensions);
        let spans = spans(&turned);
        let needed = of_roles(&figure.drawing, true);
        let other = of_roles(&figure.drawing, false);
        for frame in frames {
            let room = (frame.window.width() / scale.0, frame.window.height() / scale.1);
            let columns = Windows::count_for(figure.extents.width(), room.0);
            let rows = Windows::count_for(figure.extents.height(), room.1);
            // A tube runs through every column and every row, so it needs that many sheets at least.
            let least = usize::try_from(columns.max(rows)).unwrap_or(usize::MAX);
            for extra in [(0, 0), (1, 0), (0, 1)] {
                if least > limit || best.as_ref().is_some_and(|b| least as f64 > b.0) {
                    break;
                }
                let (tiling, cost) = Tiling::new(figure.extents, room, extra, [&spans.0, &spans.1], &needed);
                let count = tiling.tiles.len();
                let cuts = (cost / ARC_COST).floor();
                let mut score = count as f64 + CUT_BEND * cuts;
                // None of these is worth a sheet; rather tilt the tube, or leave it out.
                if count <= limit && best.as_ref().is_none_or(|b| score < b.0 + 1e-9) {
                    score += LOST_WASTE * f64::from(u8::from(lost(&tiling, other.iter())));
                    let sizes = figure.sizes.iter().flat_map(CheckSize::lines);
                    score += LOST_CHECK * f64::from(u8::from(lost(&tiling, sizes)));
                }
                // A skewed drawing is a little harder to read and to check with a rule.
                let rest = cost - cuts * ARC_COST + skew;
                let better = best
                    .as_ref()
                    .is_none_or(|b| score < b.0 - 1e-9 || (score < b.0 + 1e-9 && rest < b.1 - 1e-6));
                if count <= limit && better {
                    let pose = Pose {
                        plane: turned.clone(),
                        frame: frame.clone(),
                        figure: figure.clone(),
                        tiling,
                        dimensions,
                    };
                    best = Some((score, rest, pose));
                }
                if count == 1 && skew == 0.0 && score <= 1.0 {
                    return best.map(|(score, _, pose)| (score, pose));
                }
                // More windows than needed are only worth a try to keep joints off bends.
                if cuts == 0.0 {
                    break;
                }
            }
        }
    }
    best.map(|(score, _, pose)| (score, pose))
}

/// Lines that must be on some sheet, those of the tube, or the others.
fn of_roles(drawing: &Drawing, needed: bool) -> Vec<Line> {
    let must = |role: Role| matches!(role, Role::TubeEdge | Role::Centreline);
    let counts = |item: &&Item| item.role != Role::Springback && must(item.role) == needed;
    let items = drawing.items.iter().filter(counts).cloned().collect();
    flat_lines(&Drawing { items })
}

/// Whether some of these lines lie on none of the sheets.
fn lost<'a>(tiling: &Tiling, mut lines: impl Iterator<Item = &'a Line>) -> bool {
    lines.any(|line| {
        let at = |eighth: u8| {
            let share = f64::from(eighth) / 8.0;
            line.from.shifted((line.to.x - line.from.x) * share, (line.to.y - line.from.y) * share)
        };
        !(0..=8).map(at).all(|p| tiling.shows(p))
    })
}

/// Angles worth trying, rad, each with what its skewness costs: as it is, then with a straight or
/// the line between the ends along the paper's edge, then in steps of 15°.
fn angles(plane: &Plane) -> Vec<(f64, f64)> {
    let mut found: Vec<(f64, f64)> = vec![(0.0, 0.0), (FRAC_PI_2, 0.1)];
    let mut add = |angle: f64, cost: f64| {
        let angle = angle.rem_euclid(PI);
        if !found.iter().any(|f| (f.0 - angle).abs() < 1e-6 || (f.0 - angle).abs() > PI - 1e-6) {
            found.push((angle, cost));
        }
    };
    let chord = Line { from: plane.start.at, to: plane.end.at };
    // A run of very many bends is not searched for ever.
    let straights = plane.pieces.iter().filter_map(|p| if let Edge::Line(l) = p { Some(*l) } else { None });
    for line in straights.take(8).chain([chord]) {
        let heading = (line.to.y - line.from.y).atan2(line.to.x - line.from.x);
        add(-heading, 0.2);
        add(FRAC_PI_2 - heading, 0.3);
    }
    for step in 1..12u8 {
        add(f64::from(step) * PI / 12.0, 20.0);
    }
    found
}

/// The tube as the two axes see it.
fn spans(plane: &Plane) -> (Vec<Cuttable>, Vec<Cuttable>) {
    let radius = plane.od / 2.0;
    plane
        .pieces
        .iter()
        .map(|piece| {
            let (bounds, length, cuts) = match piece {
                Edge::Line(l) => (Rect::new(l.from, l.to), l.from.distance(l.to), Cuts::Straight),
                Edge::Arc(a) => (arc_extents(a), a.radius * a.sweep.abs(), Cuts::Bend),
            };
            let bounds = bounds.grown(radius);
            let span = |from: f64, to: f64| Cuttable { from, to, length, cuts };
            (span(bounds.min.x, bounds.max.x), span(bounds.min.y, bounds.max.y))
        })
        .unzip()
}

/// The sheets of one template.
fn sheets(layout: &Layout, laid: &LaidRun, pose: &Pose, setup: &PrintSetup) -> Vec<Sheet> {
    let Pose { plane, frame, figure, tiling, .. } = pose;
    let all_marks = marks(tiling, &thin_lines(figure));
    let taken: Vec<Rect> = all_marks.iter().map(RegistrationMark::bounds).collect();
    let cells: Vec<Rect> = tiling.tiles.iter().map(|&tile| tiling.own(tile).grown(-0.5)).collect();
    let placed = figure.placed(&cells, &taken);
    let count = tiling.tiles.len();
    tiling
        .tiles
        .iter()
        .zip(&placed.checks)
        .map(|(&tile, checks)| {
            let tail = format!(": sheet {} of {count}", tiling.label(tile));
            let short = label(&laid.run.name, &plane.name, &tail, frame.title.width());
            let lines = sheet_notes(laid, pose, &all_marks, tile, setup);
            let words = TitleWords { title: &layout.title, label: &short, notes: &lines };
            let map = page_map(frame.map, tiling, &plane.pieces, tile);
            let (sx, sy) = setup.scale;
            let window = tiling.window(tile);
            let corner = frame.window.min;
            let inside = content(tiling, tile, &figure.drawing, (&placed.words, checks), &all_marks);
            let mut page = furniture(frame, &words, |at| legend(at, &rows(&inside, plane, &window)));
            page.append(map);
            let mut true_size = shifted(&inside, corner.x / sx - window.min.x, corner.y / sy - window.min.y);
            outline(&mut page, Role::Registration, &printed_window(frame, &window, setup.scale));
            true_size.append(true_bars(frame, setup.scale));
            let mut sheet = Sheet::new(format!("{}{tail}", plane.name), frame.width, frame.height, page);
            if setup.scale == (1.0, 1.0) {
                sheet.drawing.append(true_size);
            } else {
                sheet.stretched.push(Stretched { drawing: true_size, by: setup.scale });
            }
            sheet
        })
        .collect()
}

/// Everything the numbers of registration marks keep off.
fn thin_lines(figure: &PlaneFigure) -> Vec<Line> {
    let mut drawing = figure.drawing.clone();
    figure.turns.iter().for_each(|&turn| drawing.add(Role::Dimension, ItemShape::Arc(turn)));
    let mut lines = flat_lines(&drawing);
    lines.extend(figure.sizes.iter().flat_map(CheckSize::lines));
    lines
}

/// All notes of a sheet.
fn sheet_notes(
    laid: &LaidRun,
    pose: &Pose,
    marks: &[RegistrationMark],
    tile: (usize, usize),
    setup: &PrintSetup,
) -> Vec<String> {
    let mut lines = notes(laid, &pose.plane, &pose.figure);
    lines.extend(joint_notes(pose, marks, tile));
    lines.extend(scale_note(setup));
    lines
}

fn printed_window(frame: &PageFrame, window: &Rect, (sx, sy): (f64, f64)) -> Rect {
    let corner = frame.window.min;
    Rect::new(corner, corner.shifted(window.width() * sx, window.height() * sy))
}

/// How far the marks are apart, how sheets are joined, and which bends a joint had to cross.
fn joint_notes(pose: &Pose, marks: &[RegistrationMark], tile: (usize, usize)) -> Vec<String> {
    let tiling = &pose.tiling;
    let mut notes = Vec::new();
    let own = tile_marks(tiling, marks, tile);
    if let [a, b, c, _] = own.as_slice() {
        let mut between = format!(
            "Between marks: {}-{} {:.1}, {}-{} {:.1}",
            c.number,
            a.number,
            a.at.distance(c.at),
            a.number,
            b.number,
            a.at.distance(b.at)
        );
        let right = tile_marks(tiling, marks, (tile.0 + 1, tile.1));
        if let (true, [_, far, _, _]) = (tiling.has((tile.0 + 1, tile.1)), right.as_slice()) {
            between.push_str(&format!(
                "; across the joint {}-{} {:.1}",
                a.number,
                far.number,
                a.at.distance(far.at)
            ));
        }
        let below = tile.1.checked_sub(1).map(|row| (tile.0, row)).filter(|&t| tiling.has(t));
        if let Some([far, _, _, _]) = below.map(|t| tile_marks(tiling, marks, t)).as_deref() {
            between.push_str(&format!("; {}-{} {:.1}", c.number, far.number, c.at.distance(far.at)));
        }
        notes.push(between);
    }
    if tiling.tiles.len() > 1 {
        notes.push(
            "Join: cut the dashed lines at left and foot, lay over the neighbour, equal marks meeting."
                .to_owned(),
        );
        let cut = cut_bends(pose, &tiling.window(tile));
        if !cut.is_empty() {
            let word = if cut.len() == 1 { "bend" } else { "bends" };
            notes.push(format!(
                "A joint had to run through {word} {}: check there after taping.",
                cut.join(", ")
            ));
        }
    }
    notes
}

/// Numbers of the bends that a joint runs through and this window shows.
fn cut_bends(pose: &Pose, window: &Rect) -> Vec<String> {
    let radius = pose.plane.od / 2.0;
    pose.plane
        .bends
        .iter()
        .filter(|bend| {
            let bounds = arc_extents(&bend.arc).grown(radius);
            let cut = pose.tiling.x.joints().iter().any(|&x| bounds.min.x < x && x < bounds.max.x)
                || pose.tiling.y.joints().iter().any(|&y| bounds.min.y < y && y < bounds.max.y);
            cut && bounds.overlaps(window)
        })
        .map(|bend| bend.number.to_string())
        .collect()
}

#[cfg(test)]
#[path = "sheets_tests.rs"]
mod tests;
