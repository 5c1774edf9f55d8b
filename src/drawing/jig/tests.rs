//! The pages of jigs of several shapes: nothing off the page, no words over words, every part named.

use super::*;
use crate::drawing::extents::{Rect, shape_extents};
use crate::drawing::item::{Point, Shape};
use crate::drawing::page::flow::FINE;
use crate::drawing::sheet::MARGIN;
use crate::fit::{check, fixture};
use crate::plan::plan;
use crate::tooling::tooling;

/// A run in a plane, one in space, a straight one.
fn jigs() -> (Layout, Vec<Jig>) {
    let runs = vec![
        fixture::table_run("flat", 40.0, &[(80.0, 0.0, 90.0), (90.0, 180.0, 45.0)], 90.0),
        fixture::table_run(
            "steep",
            40.0,
            &[(80.0, 0.0, 90.0), (90.0, 90.0, 60.0), (70.0, -60.0, 90.0)],
            90.0,
        ),
        fixture::table_run("straight", 40.0, &[], 200.0),
    ];
    let layout = fixture::layout(runs, vec![]);
    let (plan, _) = plan(&layout, &check(&layout).0);
    let jigs = tooling(&layout, &plan).0.jigs;
    (layout, jigs)
}

#[test]
fn pages_are_clean_and_name_every_part() {
    let (layout, jigs) = jigs();
    assert_eq!(jigs.len(), 3);
    for paper in ["a4", "a3", "letter", "148x210"] {
        let paper = Paper::parse(paper).unwrap();
        for jig in &jigs {
            let sheets = sheets(jig, &layout, &paper);
            let mut words = String::new();
            for sheet in &sheets {
                let page = Rect::new(Point::new(0.0, 0.0), Point::new(sheet.width, sheet.height));
                let inside = page.grown(-MARGIN + 1e-6);
                let mut boxes: Vec<(Rect, &str)> = Vec::new();
                for item in &sheet.drawing.items {
                    let Some(bounds) = shape_extents(&item.shape, item.role) else { continue };
                    assert!(inside.holds(&bounds), "{}: {item:?} leaves the page", sheet.name);
                    let Shape::Text(text) = &item.shape else { continue };
                    assert!(text.height > FINE * 0.95, "{}: {text:?} is small", sheet.name);
                    let bounds = bounds.grown(-0.05);
                    for (other, words) in &boxes {
                        assert!(!bounds.overlaps(other), "{}: {} over {words}", sheet.name, text.content);
                    }
                    boxes.push((bounds, &text.content));
                    words.push_str(&text.content);
                    words.push(' ');
                }
                assert!(boxes.len() > 3, "{} is empty", sheet.name);
            }
            for part in &jig.work.parts {
                assert!(words.contains(&part.name.to_uppercase()), "{}: {}", jig.run, part.name);
            }
            let most = if paper.width() < 200.0 { 5 } else { 3 };
            assert!(sheets.len() <= most, "{}: {} pages of {}", jig.run, sheets.len(), paper.name());
        }
    }
}
