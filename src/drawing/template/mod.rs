//! Full-size templates: a run's bend planes flattened to paper, to lay the bent tube on.
//!
//! Each plane is seen from the side where its first bend turns left. A bend that springs back is drawn as it is
//! held too.

pub(crate) mod arrows;
pub(crate) mod checks;
pub(crate) mod figure;
pub(crate) mod legend;
pub(crate) mod plane;
pub(crate) mod pulled;
mod sheets;

pub use sheets::template_sheets;

use self::checks::DIMENSION_ROOM;
use self::figure::PlaneFigure;
use self::legend::{LegendRow, legend, rows};
use self::plane::{DrawnEndKind, Plane, planes};
use super::extents::{Rect, extents};
use super::item::{Drawing, Point};
use super::scale::foot;
use super::sheet::furniture::{TitleWords, label, title_block};
use super::shift::shifted;
use crate::centreline::{LaidRun, Layout};
use crate::plan::{FromEnd, Plan};
use crate::quantity::trimmed;
use crate::spec::model::EndForm;

/// Room around a plane's drawing for labels that find none inside, mm.
const LABEL_ROOM: f64 = 40.0;

/// Between the templates of one run, mm.
const BETWEEN: f64 = 12.0;

/// All templates of a run on one untiled drawing, below each other in the order of the worksheet,
/// with scale bars along both axes and the legend at the foot.
pub fn template_drawing(layout: &Layout, plan: &Plan, laid: &LaidRun) -> Drawing {
    let mut drawing = Drawing::new();
    let mut top = 0.0;
    let mut styles: Vec<LegendRow> = Vec::new();
    for plane in plan.run(&laid.run.name).map_or_else(Vec::new, |run| planes(laid, run)) {
        let figure = PlaneFigure::new(&plane, Some(DIMENSION_ROOM[0]));
        let mut part = figure.drawing.clone();
        let placed = figure.placed(&[figure.extents.grown(LABEL_ROOM)], &[]);
        placed.checks.into_iter().for_each(|checks| part.append(checks));
        part.append(placed.words);
        let Some(room) = extents(&part) else { continue };
        styles.extend(rows(&part, &plane, &room));
        let block = Rect::new(Point::new(0.0, top - 36.0), Point::new(160.0, top));
        let lines = notes(laid, &plane, &figure);
        let name = label(&laid.run.name, &plane.name, "", block.width());
        let words = TitleWords { title: &layout.title, label: &name, notes: &lines };
        drawing.append(title_block(block, block.min.y, &words));
        top = block.min.y;
        drawing.append(shifted(&part, -room.min.x, top - room.max.y));
        top -= room.height() + BETWEEN;
    }
    foot(&mut drawing, top, |at| legend(at, &LegendRow::those(&styles)));
    drawing
}

/// Notes of a template about its run, most important first.
pub(crate) fn notes(laid: &LaidRun, plane: &Plane, figure: &PlaneFigure) -> Vec<String> {
    let tube = &laid.run.tube;
    let length = laid.centreline.length();
    let (start, end) = (laid.run.allowance_start, laid.run.allowance_end);
    let ends = [&laid.run.from, &laid.run.to].into_iter().flatten();
    let formed = ends.filter_map(|end| end.fitting.as_ref()).any(|fitting| fitting.end != EndForm::Plain);
    let more = if formed { ", and on top what its flares and beads take" } else { "" };
    let mut notes = vec![
        format!("Tube {}: OD {}, wall {} mm", tube.designation(), trimmed(tube.od()), trimmed(tube.wall())),
        match start + end {
            extra if extra > 0.0 => {
                let part =
                    |waste: f64, place| (waste > 0.0).then(|| format!("{waste:.1} waste at the {place}"));
                let parts: Vec<String> =
                    [part(start, "datum end"), part(end, "end")].into_iter().flatten().collect();
                let cut = length + extra;
                format!("Developed length {length:.1}; cut length {cut:.1} with {}{more}", parts.join(", "))
            }
            _ => format!("Developed length {length:.1}; cut length the same{more}"),
        },
    ];
    if let Some(first) = plane.bends.first() {
        let mut seen = format!("Seen from the side where bend {} turns left.", first.number);
        if plane.stops().iter().any(|stop| matches!(stop.kind, DrawnEndKind::Break { .. })) {
            let end = match plane.from {
                FromEnd::Other => "the other end, which is bent first",
                FromEnd::Datum => "the datum end",
            };
            seen.push_str(&format!(
                " Turns of the tube: clockwise + seen along the straight being bent, from {end}."
            ));
        }
        notes.push(seen);
    }
    if !figure.checks.is_empty() {
        notes.push(format!("Check: {}.", figure.checks));
    }
    notes
}
