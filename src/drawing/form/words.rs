//! Words and tables of a form's assembly drawing.

use super::{layers, rim};
use crate::drawing::page::flow::{Cell, Column, Flow, Table};
use crate::formula::bend::arc_length;
use crate::plan::SpringbackSource;
use crate::quantity::{MM_PER_INCH, decimals, trimmed};
use crate::tooling::form::Form;
use crate::tooling::{Block, Opening, Purpose};

/// The form's data: sizes, springback, the bends it makes.
pub(super) fn data(flow: &mut Flow, form: &Form, inches: bool) {
    let mm = |value: f64| sized(value, inches);
    let sprung = match form.source {
        SpringbackSource::Unknown => {
            "Springback is not known: it has the radius of the finished bend. Make a test bend before you trust it."
        }
        SpringbackSource::Predicted => {
            "The difference is the springback predicted for this tube and temper: make a test bend first."
        }
        SpringbackSource::TestBends => "The difference is the springback of the test bends.",
    };
    let words = format!(
        "For tube of OD {}. It holds the tube's centreline at a radius of {}; let go, the bend has {}. {sprung} The groove's radius is {}, {} mm more than the tube's; its arc goes on to {}°.",
        mm(form.od),
        mm(form.held_radius),
        mm(form.clr),
        mm(form.od / 2.0 + form.clearance),
        decimals(form.clearance, 2),
        decimals(form.arc.to_degrees(), 1)
    );
    flow.paragraph(&words, false, false);
    let mut table = Table::new(vec![
        Column::numbers("Finished bend", Some(34.0)),
        Column::numbers("Pull to", Some(30.0)),
        Column::numbers("Tube in the bend", Some(40.0)),
    ]);
    table.together = true;
    for bend in &form.bends {
        let degrees = |angle: f64| format!("{}°", decimals(angle.to_degrees(), 1));
        table.rows.push(vec![
            Cell::Words(degrees(bend.angle)),
            Cell::Bold(degrees(bend.pull_to)),
            Cell::Words(mm(arc_length(form.clr, bend.angle))),
        ]);
    }
    flow.table(&table);
}

/// A length in mm and, where the spec is in inches, in them.
fn sized(mm: f64, inches: bool) -> String {
    let also = if inches { format!(" ({} in)", decimals(mm / MM_PER_INCH, 3)) } else { String::new() };
    format!("{} mm{also}", decimals(mm, 2))
}

/// The layers of the stack.
fn layers_table(form: &Form) -> Table {
    let mut table = Table::new(vec![
        Column::words("Layer", Some(20.0)),
        Column::numbers("Rim radius", Some(30.0)),
        Column::numbers("From", Some(24.0)),
        Column::numbers("To", Some(24.0)),
        Column::words("Engraved", None),
    ]);
    table.together = true;
    let bottom = layers(form).map(|(_, posed)| posed.at.origin.z).fold(f64::INFINITY, f64::min);
    for (part, posed) in layers(form).collect::<Vec<_>>().into_iter().rev() {
        let low = posed.at.origin.z - bottom;
        table.rows.push(vec![
            Cell::Bold(part.name.clone()),
            Cell::Words(rim(part).map(|arc| decimals(arc.radius, 2)).unwrap_or_default()),
            Cell::Words(decimals(low, 2)),
            Cell::Words(decimals(low + form.stack.thickness, 2)),
            Cell::Words(format!("{} {}", form.name, part.name)),
        ]);
    }
    table
}

/// The table of layers and what the steps leave open.
pub(super) fn stack(flow: &mut Flow, form: &Form) {
    flow.table(&layers_table(form));
    let words = format!(
        "{} layers of {} mm, {} mm in all, top layer first; heights from the bottom, mm. Between the steps and the tube there are at most {} mm.",
        form.stack.parts.len(),
        trimmed(form.stack.thickness),
        decimals(form.stack.thickness * form.stack.parts.len() as f64, 2),
        decimals(form.hollow, 2)
    );
    flow.paragraph(&words, false, false);
}

/// The printed or milled form.
pub(super) fn printed(flow: &mut Flow, form: &Form) {
    flow.heading("Printed or milled instead of stacked");
    let mut table = Table::new(vec![
        Column::words("File", Some(44.0)),
        Column::words("Size", Some(52.0)),
        Column::words("Holes", None),
    ]);
    table.together = true;
    for block in form.blocks.iter().chain([&form.follower]) {
        table.rows.push(vec![
            Cell::Bold(format!("{}.stl", block.name)),
            Cell::Words(size(block)),
            Cell::Words(holes(block)),
        ]);
    }
    flow.table(&table);
    let halves = if form.blocks.len() > 1 {
        " The form comes in two halves for the printer's bed: glue dowel pins into the holes of the cut, then glue and bolt the halves to a board."
    } else {
        ""
    };
    let words = format!(
        "All are in form.step too. Print them lying flat, marks up, so that layers run along the arc; four walls or more and half filled or denser (common practice, no source). The follower presses the tube into the groove from outside.{halves}"
    );
    flow.paragraph(&words, false, false);
}

fn size(block: &Block) -> String {
    let points = block.rim.iter().flat_map(|edge| [edge.from(), edge.to()]).chain(block.back.iter().copied());
    let arcs = block.rim.iter().filter_map(|edge| match edge {
        crate::flat::Edge::Arc(arc) => Some(crate::flat::arc_extents(arc)),
        crate::flat::Edge::Line(_) => None,
    });
    let bounds = crate::flat::Rect::around(points).into_iter().chain(arcs).reduce(crate::flat::Rect::union);
    let (w, h) = bounds.map_or((0.0, 0.0), |b| (b.width(), b.height()));
    format!("{} x {} x {} mm", decimals(w, 1), decimals(h, 1), decimals(block.height, 1))
}

fn holes(block: &Block) -> String {
    let mut words = Vec::new();
    for (purpose, what) in [(Purpose::Bolt, "bolt"), (Purpose::Dowel, "dowel")] {
        let of = block.holes.iter().filter(|hole| hole.2 == purpose);
        let count = of.clone().count();
        if let Some(hole) = of.clone().next() {
            words.push(format!("{count} {what}, {} mm", trimmed(hole.1)));
        }
    }
    if let Some(side) = block.side_holes.first() {
        let count = block.side_holes.len();
        words.push(format!(
            "{count} dowel in the cut, {} x {} mm deep",
            trimmed(side.diameter),
            trimmed(side.depth)
        ));
    }
    if !block.slots.is_empty() {
        words.push("strap slot".to_owned());
    }
    words.join("; ")
}

/// Putting it together and bending on it.
pub(super) fn steps(flow: &mut Flow, form: &Form) {
    flow.heading("Putting it together");
    let stack = &form.stack;
    let hole = |wanted: Purpose| {
        stack.parts.iter().flat_map(|part| &part.openings).find_map(|opening| match opening {
            Opening::Round { diameter, purpose, .. } if *purpose == wanted => Some(trimmed(*diameter)),
            _ => None,
        })
    };
    let pins = match hole(Purpose::Dowel) {
        Some(dowel) => format!("Push {dowel} mm dowel pins through L1"),
        None => "Line the layers up by their straight edges, L1 at the bottom".to_owned(),
    };
    let bolts =
        hole(Purpose::Bolt).map_or(String::new(), |bolt| format!(" Bolt through the {bolt} mm holes."));
    let has_slot = form.blocks.iter().any(|block| !block.slots.is_empty());
    let hold = if has_slot {
        "Put a strap through the slot and round the tube"
    } else {
        "Clamp the tube to the straight before the start"
    };
    let all = [
        "Measure the sheet and the kerf first (trials/comb.dxf): the layers fit the tube only if the thickness in the spec is the sheet's.".to_owned(),
        format!("{pins}, glue the layers in order, names up, and press till dry.{bolts} Round the edges where the tube goes in and out."),
        format!("Clamp the foot in a vice, or the body where there is no foot. Lay the tube in the groove, the pen mark of the bend's start on START. {hold}."),
        "Wind the tube round in one smooth move, the follower pressing it in just ahead of where it leaves the groove, until it points along the line of its angle. Let go, measure, and correct the angle next time.".to_owned(),
    ];
    for (index, step) in all.iter().enumerate() {
        flow.paragraph(&format!("{}. {step}", index + 1), false, false);
    }
}

/// Cautions.
pub(super) fn cautions(flow: &mut Flow) {
    flow.heading("Mind");
    for words in [
        "Strength: a form or its bolts can break under load. Eye protection, stand out of the way of the lever, look for cracks before each bend.",
        "Heat: no printed or wooden form near torch-hot tube. PLA softens at about 60 °C, PETG at 80, ABS at 100, wood chars. Let annealed tube cool until it can be held in the hand.",
        "Sharp edges and dust: break the edges of cut sheet; mask, eye protection and extraction when sawing, routing or sanding board; fumes of a laser go outside.",
    ] {
        flow.paragraph(words, false, false);
    }
}
