//! Sheet parts as a cutter takes them: nested on sheets, with nominal contours, contours with the kerf
//! taken up, holes to drill and engraving, each on its layer.

mod notes;

use std::f64::consts::FRAC_PI_2;

pub use notes::{comb_notes, form_notes, jig_notes};

use super::extents::Rect;
use super::item::{Across, Drawing, ItemShape, Role, Text, Vertical};
use crate::flat::{Arc, Edge, Line, Path, Point};
use crate::quantity::trimmed;
use crate::spec::model::SheetStock;
use crate::tooling::nest::{Nested, nest};
use crate::tooling::{Engraving, Opening, Part, SheetWork, Words};

/// Between two sheets that stand side by side, mm.
const BETWEEN_MM: f64 = 40.0;

/// Height of capitals of the notes, mm.
const NOTE_MM: f64 = 4.0;

/// From one line of notes to the next, in heights of capitals.
const LINE_PITCH: f64 = 1.8;

/// Why parts cannot be drawn for a cutter.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CutFault {
    /// An outline that bounds nothing.
    #[error("the outline of part {0} bounds nothing")]
    Kerf(String),
}

/// All parts of a work nested on sheets, which stand side by side, and `notes` below them.
///
/// # Errors
/// [`CutFault::Kerf`] when a part has no outline to cut.
pub fn sheets(work: &SheetWork, stock: &SheetStock, notes: &[String]) -> Result<Drawing, CutFault> {
    let nest = nest(&work.parts, stock);
    let mut drawing = Drawing::new();
    let mut left = 0.0;
    let mut origins = Vec::with_capacity(nest.sheets.len());
    for (index, &(width, height)) in nest.sheets.iter().enumerate() {
        let frame = Rect::new(Point::new(left, 0.0), Point::new(left + width, height));
        let edges = frame.sides().map(Edge::Line).to_vec();
        drawing.add(Role::Note, ItemShape::Path(Path { edges, closed: true }));
        let size = [width, height, work.thickness].map(trimmed).join(" x ");
        let words = format!("sheet {} of {}: {size} mm", index + 1, nest.sheets.len());
        drawing.add(Role::Note, note(Point::new(left, height + 2.0 * NOTE_MM), words));
        origins.push(left);
        left += width + BETWEEN_MM;
    }
    for (part, place) in work.parts.iter().zip(&nest.parts) {
        let right = origins.get(place.sheet).copied().unwrap_or_default();
        let place = Nested { by: place.by.shifted(right, 0.0), ..*place };
        add_part(&mut drawing, part, &place, stock.kerf)?;
    }
    for (row, line) in notes.iter().enumerate() {
        let down = (row as f64 + 2.0) * LINE_PITCH * NOTE_MM;
        drawing.add(Role::Note, note(Point::new(0.0, -down), line.clone()));
    }
    Ok(drawing)
}

fn note(at: Point, content: String) -> ItemShape {
    ItemShape::Text(Text {
        at,
        height: NOTE_MM,
        angle: 0.0,
        across: Across::Left,
        upright: Vertical::Top,
        content,
    })
}

fn add_part(drawing: &mut Drawing, part: &Part, place: &Nested, kerf: f64) -> Result<(), CutFault> {
    let kerfed = part.kerfed(kerf).ok_or_else(|| CutFault::Kerf(part.name.clone()))?;
    for (role, outline, openings) in
        [(Role::Cut, &part.outline, &part.openings), (Role::CutKerf, &kerfed.outline, &kerfed.openings)]
    {
        drawing.add(role, ItemShape::Path(moved(outline, place)));
        for opening in openings {
            let shape = match opening {
                Opening::Round { at, diameter, .. } => {
                    ItemShape::Circle { centre: place.point(*at), radius: diameter / 2.0 }
                }
                Opening::Slot(path) => ItemShape::Path(moved(path, place)),
            };
            drawing.add(role, shape);
        }
    }
    for opening in &part.openings {
        if let Opening::Round { at, diameter, .. } = opening {
            drawing.add(Role::Drill, ItemShape::Circle { centre: place.point(*at), radius: diameter / 2.0 });
        }
    }
    for mark in &part.marks {
        drawing.add(Role::Engrave, engraved(mark, place));
    }
    Ok(())
}

fn engraved(mark: &Engraving, place: &Nested) -> ItemShape {
    match mark {
        Engraving::Line(line) => {
            ItemShape::Line(Line { from: place.point(line.from), to: place.point(line.to) })
        }
        Engraving::Stroke(path) => ItemShape::Path(moved(path, place)),
        Engraving::Words(Words { at, height, angle, content }) => ItemShape::Text(Text {
            at: place.point(*at),
            height: *height,
            angle: angle + turn(place),
            across: Across::Middle,
            upright: Vertical::Middle,
            content: content.clone(),
        }),
    }
}

/// By how much a part is turned on its sheet, rad.
fn turn(place: &Nested) -> f64 {
    if place.turned { FRAC_PI_2 } else { 0.0 }
}

fn moved(path: &Path, place: &Nested) -> Path {
    let edge = |edge: &Edge| match edge {
        Edge::Line(line) => Edge::Line(Line { from: place.point(line.from), to: place.point(line.to) }),
        Edge::Arc(arc) => {
            Edge::Arc(Arc { centre: place.point(arc.centre), start: arc.start + turn(place), ..*arc })
        }
    };
    Path { edges: path.edges.iter().map(edge).collect(), closed: path.closed }
}
