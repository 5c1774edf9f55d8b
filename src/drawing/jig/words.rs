//! Words and tables of a jig's assembly drawing.

use super::Shown;
use crate::drawing::extents::Rect;
use crate::drawing::page::flow::{Cell, Column, Flow, Table};
use crate::flat::path_extents;
use crate::quantity::{MM_PER_INCH, decimals, trimmed};
use crate::tooling::jig::{Duty, Upright};

/// An error of a bend that a jig should show, degrees.
const SHOULD_SHOW_DEG: f64 = 2.0;

/// The jig's purpose.
pub(super) fn purpose(flow: &mut Flow, shown: &Shown<'_>) {
    let jig = shown.jig;
    let words = format!(
        "A tube that is bent right drops into this jig from above and touches its saddles; one that is too long or has a wrong bend does not. Cut from sheet {} mm thick: {} parts, in jigs/{}.dxf.",
        trimmed(jig.work.thickness),
        jig.work.parts.len(),
        jig.run
    );
    flow.paragraph(&words, false, true);
}

/// Every part with its size and what it does.
pub(super) fn parts(flow: &mut Flow, shown: &Shown<'_>) {
    flow.heading("Parts");
    let mut table = Table::new(vec![
        Column::words("Part", Some(18.0)),
        Column::words("Size, mm", Some(38.0)),
        Column::numbers("From datum end", Some(36.0)),
        Column::words("What it does", None),
    ]);
    let size = |index: usize| {
        let part = shown.jig.work.parts.get(index);
        let bounds = part.and_then(|part| path_extents(&part.outline));
        bounds.map_or(String::new(), |b: Rect| {
            format!("{} x {}", decimals(b.width(), 1), decimals(b.height(), 1))
        })
    };
    table.rows.push(vec![
        Cell::Bold("BASE".to_owned()),
        Cell::Words(size(0)),
        Cell::Words(String::new()),
        Cell::Words("holds the uprights in its slots".to_owned()),
    ]);
    for upright in &shown.jig.uprights {
        table.rows.push(vec![
            Cell::Bold(shown.name(upright)),
            Cell::Words(size(upright.part)),
            Cell::Words(long(upright.station, shown.inches)),
            Cell::Words(does(upright).to_owned()),
        ]);
    }
    flow.table(&table);
}

fn does(upright: &Upright) -> &'static str {
    match upright.duty {
        Duty::Cradle => "cradle: the tube lies in its saddle",
        Duty::Stop => "stop: the datum end stands against it",
        Duty::Gate => "length gate: stands just beyond the finished end, taken out for trimming",
        Duty::Guard => "guard: stands just beyond a bend, shows when the straight before it is too long",
    }
}

fn long(mm: f64, inches: bool) -> String {
    let also = if inches { format!(" ({} in)", decimals(mm / MM_PER_INCH, 2)) } else { String::new() };
    format!("{}{also}", decimals(mm, 1))
}

/// The smallest error of each bend that the jig shows.
pub(super) fn senses(flow: &mut Flow, shown: &Shown<'_>) {
    if shown.jig.senses.is_empty() {
        return;
    }
    flow.heading("What it shows");
    let mut table = Table::new(vec![
        Column::words("Bend", Some(24.0)),
        Column::words("No longer drops in when its angle is wrong by", None),
    ]);
    table.together = true;
    for sense in &shown.jig.senses {
        // Rounded up: a smaller error may still drop in.
        let words = match sense.least_error.map(|error| (error.to_degrees() * 10.0 - 1e-9).ceil() / 10.0) {
            None => "not felt: measure this angle".to_owned(),
            Some(error) if error > SHOULD_SHOW_DEG => {
                format!("{}° or more: measure this angle too", decimals(error, 1))
            }
            Some(error) => format!("{}° or more", decimals(error, 1)),
        };
        table.rows.push(vec![Cell::Bold(sense.bend.to_string()), Cell::Words(words)]);
    }
    flow.table(&table);
    flow.paragraph(
        "Each with the tube held true before that bend. Errors may make up for each other: look at every saddle.",
        false,
        false,
    );
}

/// Putting it together and checking with it.
pub(super) fn steps(flow: &mut Flow, shown: &Shown<'_>) {
    flow.heading("Putting it together and using it");
    let gate = shown.jig.uprights.iter().find(|upright| upright.duty == Duty::Gate);
    let last = shown.jig.uprights.iter().rfind(|upright| upright.duty == Duty::Cradle);
    let mut cradles = shown.jig.uprights.iter().filter(|upright| upright.duty == Duty::Cradle);
    let ends = [cradles.next(), last];
    let wide: Vec<String> = ends
        .into_iter()
        .zip(shown.formed)
        .filter(|(_, formed)| *formed)
        .filter_map(|(upright, _)| Some(shown.name(upright?)))
        .collect();
    let loose = if wide.is_empty() {
        "Leave GATE loose.".to_owned()
    } else {
        format!(
            "Leave GATE loose, and {}: out where a flare, a bead or a nut lies on the tube.",
            wide.join(" and ")
        )
    };
    let mut all = vec![
        "Measure sheet and kerf first (trials/comb.dxf). Cut the parts; put them together dry: names on the base say which slot is whose.".to_owned(),
        format!("Glue the uprights in square to the base, the side marked for the datum end towards STOP. {loose}"),
        "Lay the tube in from above, its datum end against STOP. It must drop in without force and touch every saddle; where it stands off or presses on a side, the bend before that is wrong.".to_owned(),
    ];
    if let (Some(gate), Some(last)) = (gate, last) {
        all.push(format!(
            "To trim, take {} out and mark the end along the outer face of {}, where TRIM is engraved; cut outside the jig. Then put {} in: the tube must still drop in.",
            shown.name(gate),
            shown.name(last),
            shown.name(gate)
        ));
    }
    for (index, step) in all.iter().enumerate() {
        flow.paragraph(&format!("{}. {step}", index + 1), false, false);
    }
}

/// Cautions.
pub(super) fn cautions(flow: &mut Flow) {
    flow.heading("Mind");
    // Kept together: a page of its own for the last would hold one line.
    let all = [
        "Sharp edges and dust: break the edges of cut sheet; mask, eye protection and extraction when sawing or sanding board; fumes of a laser go outside. Tube ends are sharp until deburred.",
        "Heat: never lay hot tube in a wooden or plastic jig.",
    ];
    for (index, words) in all.into_iter().enumerate() {
        flow.paragraph(words, false, index + 1 < all.len());
    }
}
