//! One kind of page for a small spec from random numbers: everything drawn is a number and lies on its paper.

#![no_main]

use libfuzzer_sys::fuzz_target;
use tubewright::diagnostic::Diagnostics;
use tubewright::drawing::item::Drawing;
use tubewright::drawing::sheet::{Paper, PrintSetup, Sheet};
use tubewright::drawing::strip::strip_sheets;
use tubewright::drawing::template::template_sheets;
use tubewright::drawing::{cut, form, jig, overview, strip, template, worksheet};
use tubewright::export::{Meta, dxf, pdf, svg};
use tubewright::tooling::form::forms;
use tubewright::tooling::jig::jigs;
use tubewright_fuzz::{Dice, Planned, Size, planned, spec, timed, whole_drawing, whole_sheet};

const SMALL: Size = Size { runs: 1, bends: 2, longest: 120.0, wild: false };
const LARGE: Size = Size { runs: 2, bends: 4, longest: 250.0, wild: false };

const PAPERS: [&str; 8] = ["a4", "letter", "a3", "a5", "148x210", "200x330", "330x330", "610x2000"];

#[derive(Clone, Copy)]
enum Kind {
    Templates,
    Strips,
    Worksheet,
    Overview,
    Forms,
    Jigs,
    Parts,
    Pictures,
}

const PAGES: [Kind; 5] = [Kind::Templates, Kind::Strips, Kind::Worksheet, Kind::Overview, Kind::Pictures];

/// Forms, jigs and parts take ten times as long to design as pages to draw: they are one of ten.
const TOOLS: [Kind; 3] = [Kind::Forms, Kind::Jigs, Kind::Parts];

fuzz_target!(|bytes: &[u8]| timed(|| run(bytes)));

fn run(bytes: &[u8]) {
    let mut dice = Dice::new(bytes);
    let kind = if dice.once_in(10) { dice.one_of(&TOOLS) } else { dice.one_of(&PAGES) };
    let paper = Paper::parse(dice.one_of(&PAPERS)).expect("a size of paper");
    let scale = dice.one_of(&[(1.0, 1.0), (1.0, 1.0), (0.98, 1.02)]);
    let setup = PrintSetup { paper, scale, ..PrintSetup::default() };
    // Writing takes longer than drawing: one in 32 is written.
    let written = dice.once_in(32);
    let size = Size::drawn(&mut dice, SMALL, LARGE);
    let text = spec(&mut dice, &size);
    let Some(planned) = planned(&text) else { return };
    draw(kind, &planned, &setup, written);
}

fn draw(kind: Kind, planned: &Planned, setup: &PrintSetup, written: bool) {
    let Planned { layout, plan, findings } = planned;
    let meta = Meta { title: layout.title.clone(), mark: "abcdef".to_owned(), timestamp: 0 };
    let printed = |sheets: &[Sheet]| {
        sheets.iter().for_each(whole_sheet);
        assert!(!written || !pdf::render(sheets, &meta).is_empty());
    };
    let shown = |picture: &Drawing| {
        whole_drawing(picture);
        assert!(!written || !svg::render(picture, &meta).is_empty());
    };
    let mut found = Diagnostics::new();
    match kind {
        Kind::Templates => template_sheets(layout, plan, setup).iter().for_each(|sheets| printed(sheets)),
        Kind::Strips => strip_sheets(plan, setup).iter().for_each(|strips| printed(&strips.sheets)),
        Kind::Worksheet => {
            let sheets: Vec<Sheet> = worksheet::worksheet(layout, plan, findings, &setup.paper).collect();
            printed(&sheets);
        }
        Kind::Overview => printed(&[overview::sheet(layout, findings)]),
        Kind::Forms => {
            for made in forms(layout, plan, &mut found) {
                printed(&form::sheets(&made, layout, &setup.paper));
            }
        }
        Kind::Jigs => {
            for made in jigs(layout, &mut found) {
                printed(&jig::sheets(&made, layout, &setup.paper));
            }
        }
        Kind::Parts => {
            let sheet = &layout.workshop.sheet;
            for made in forms(layout, plan, &mut found) {
                let drawing =
                    cut::sheets(&made.stack, sheet, &cut::form_notes(&made, sheet)).expect("outlines to cut");
                whole_drawing(&drawing);
                assert!(!written || dxf::render(&drawing, &meta).is_ok());
            }
        }
        Kind::Pictures => {
            layout.runs.iter().for_each(|laid| shown(&template::template_drawing(layout, plan, laid)));
            let strips =
                plan.runs.iter().filter_map(|run| strip::strip_drawing(plan, run, setup.paper_thickness_mm));
            strips.for_each(|drawing| shown(&drawing));
        }
    }
}
