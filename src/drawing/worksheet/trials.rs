//! Test pieces for a bender that has no test bends yet: what to cut, mark and measure, and the lines of
//! YAML to write the results into.

use super::pictures::test_piece;
use super::steps::{Instruction, block};
use crate::drawing::numbers::{limited, mm, short, tenths};
use crate::drawing::page::flow::{BODY, Cell, Column, Flow, Ink, LEADING, PageBlock, Table};
use crate::formula::bend::arc_length;
use crate::spec::model::{Bender, Tube};

/// Angles to pull to, degrees: far enough apart to tell radius from stretch.
const ANGLES: [f64; 3] = [45.0, 90.0, 120.0];

/// Least straight leg to lay a protractor on, mm: common practice, no source.
const LEAST_LEG: f64 = 60.0;

/// One test piece.
struct TestPiece {
    angle: f64,
    cut: f64,
    mark: f64,
}

/// A bender with a tube that has no test bends.
pub(super) struct Trial<'a> {
    /// The bender.
    pub(super) bender: &'a Bender,
    /// The tube.
    pub(super) tube: &'a Tube,
}

impl Trial<'_> {
    fn pieces(&self) -> Vec<TestPiece> {
        let bender = self.bender;
        let largest = bender.max_angle.to_degrees();
        // Whole millimetres are easily cut and marked.
        let first = bender.grip.max(LEAST_LEG).ceil();
        ANGLES
            .into_iter()
            .filter(|&angle| angle <= largest + 1e-9)
            .map(|angle| {
                let arc = arc_length(bender.clr, angle.to_radians());
                let cut = (first + arc + bender.lead_out.max(LEAST_LEG)).ceil();
                TestPiece { angle, cut, mark: first + bender.mark.behind_start(arc) - bender.datum }
            })
            .collect()
    }
}

/// The blocks of a trial's page.
pub(super) fn trial(trial: &Trial<'_>, width: f64) -> Flow {
    let mut flow = Flow::new(width);
    let name = short(&trial.bender.name);
    flow.paragraph(
        &format!(
            "{name}, centreline radius {}, with {}",
            mm(trial.bender.clr),
            limited(trial.tube.designation(), 72)
        ),
        true,
        true,
    );
    flow.paragraph(
        "No test bends are written for this bender. Until then springback is predicted and the radius is taken as written. Three short pieces of the same tube settle both before you spend a long one.",
        false,
        false,
    );
    flow.heading("Cut, mark, bend");
    let pieces = trial.pieces();
    let mut table = Table::new(vec![
        Column::words("", Some(8.0)),
        Column::numbers("cut", Some(20.0)),
        Column::numbers("mark at", Some(20.0)),
        Column::numbers("pull to", Some(20.0)),
        Column::words("got, °", None),
        Column::words("leg a, mm", None),
        Column::words("leg b, mm", None),
    ]);
    table.least = 10.0;
    for piece in &pieces {
        table.rows.push(vec![
            Cell::Tick,
            Cell::Bold(tenths(piece.cut)),
            Cell::Bold(tenths(piece.mark)),
            Cell::Bold(format!("{:.0}°", piece.angle)),
            Cell::Blank,
            Cell::Blank,
            Cell::Blank,
        ]);
    }
    flow.table(&table);
    let steps = [
        "Cut the pieces square and deburr them. Treat them as the runs: same bar, same softening, same grease, same speed.",
        "Set the mark on the tool's reference line, its end of the tube on the held side. Pull until the tool shows the angle, write that angle down if it is another one, let go.",
        "Measure the angle turned, to 0.2° if you can, and both legs from the cut end to the crossing of the outer lines, to 0.2 mm. Leg a is the one that was held.",
    ];
    for words in steps {
        flow.add(block(
            &Instruction { words: words.to_owned(), cautions: Vec::new(), again: Vec::new() },
            width,
        ));
    }
    flow.add(measure());
    flow.heading("Write what came out into the spec, under the bender");
    flow.add(yaml(&pieces));
    flow.paragraph("Then run \"tubewright calibrate\" on the spec: it fits springback, radius and stretch, and says how well they fit.", false, false);
    flow
}

fn measure() -> PageBlock {
    let ink = test_piece();
    PageBlock::new(ink, 64.0)
}

fn yaml(pieces: &[TestPiece]) -> PageBlock {
    let mut ink = Ink::new();
    let mut down = 1.0;
    ink.words(4.0, down, BODY, false, "test_bends:");
    for piece in pieces {
        down += LEADING * BODY + 1.6;
        let cut = tenths(piece.cut);
        ink.words(
            10.0,
            down,
            BODY,
            false,
            &format!("- {{pulled: {:.0}, got: ____, measured: outside,", piece.angle),
        );
        down += LEADING * BODY;
        ink.words(14.0, down, BODY, false, &format!("cut: {cut} mm, leg_a: ____ mm, leg_b: ____ mm}}"));
    }
    PageBlock::new(ink, down + LEADING * BODY + 1.0)
}
