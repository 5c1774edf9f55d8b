//! One kind of page for a small spec from random numbers: everything drawn has a place.

#![no_main]

use arbitrary::Arbitrary;
use libfuzzer_sys::fuzz_target;
use tubewright::centreline::lay_out;
use tubewright::drawing::sheet::{Paper, PrintSetup, Sheet, strip_sheets, template_sheets};
use tubewright::drawing::{overview, strip, template, worksheet};
use tubewright::export::{Meta, pdf, svg};
use tubewright::{fit, plan, spec};
use tubewright_fuzz::Numbers;

#[derive(Debug, Arbitrary)]
struct Input {
    page: u8,
    paper: u8,
    numbers: Numbers,
}

const PAPERS: [&str; 7] = ["a4", "letter", "a3", "148x210", "200x330", "330x330", "610x2000"];

fuzz_target!(|input: Input| {
    let text = input.numbers.text(2, 6, 400.0);
    let Ok((spec, mut findings)) = spec::read(&text, "fuzz.yaml") else { return };
    let Ok((layout, _)) = lay_out(&spec) else { return };
    let (fits, _) = fit::check(&layout);
    let (plan, found) = plan::plan(&layout, &fits);
    findings.extend(found);
    let paper = Paper::parse(PAPERS[usize::from(input.paper) % PAPERS.len()]).expect("a size of paper");
    let setup = PrintSetup { paper, ..PrintSetup::default() };
    let meta = Meta { title: layout.title.clone(), mark: "abcdef".to_owned(), timestamp: 0 };
    // The streams of a PDF are packed: only pictures are searched for numbers that are none.
    let printed = |sheets: &[Sheet]| assert!(sheets.is_empty() || !pdf::render(sheets, &meta).is_empty());
    let shown = |picture| held(&svg::render(picture, &meta));
    match input.page % 6 {
        0 => strip_sheets(&plan, &setup).iter().for_each(|sheets| printed(sheets)),
        1 => template_sheets(&layout, &plan, &setup).iter().for_each(|sheets| printed(sheets)),
        2 => printed(&worksheet::worksheet(&layout, &plan, &findings, &setup.paper)),
        3 => shown(&overview::overview(&layout, &findings)),
        4 => {
            for laid in &layout.runs {
                shown(&template::template_drawing(&layout, &plan, laid));
            }
        }
        _ => {
            for run in &plan.runs {
                let drawing = strip::strip_drawing(&plan, run, setup.paper_thickness_mm);
                drawing.iter().for_each(shown);
            }
        }
    }
});

/// A file with something in it and without numbers that are none.
fn held(bytes: &[u8]) {
    assert!(!bytes.is_empty());
    for wrong in [&b"NaN"[..], b"inf\"", b"inf ", b"-inf"] {
        assert!(!bytes.windows(wrong.len()).any(|part| part == wrong), "a number that is none");
    }
}
