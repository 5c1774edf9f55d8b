//! The pages of forms of several sizes: nothing off the page, no words over words, every layer named.

use super::*;
use crate::drawing::page::fixture::clean_words;
use crate::fit::check;
use crate::plan::plan;
use crate::testing;
use crate::tooling::tooling;

/// A form for two angles, one for a tight half turn, and one with a mark that ends beside form and tube.
fn forms() -> (Layout, Vec<Form>) {
    let runs = vec![
        testing::table_run("a", 55.0, &[(80.0, 0.0, 90.0), (90.0, 180.0, 45.0), (90.0, 0.0, 44.0)], 90.0),
        testing::table_run("u", 24.0, &[(80.0, 0.0, 180.0)], 90.0),
        testing::table_run("v", 16.0, &[(90.0, 0.0, 90.0), (110.0, 160.0, 172.0)], 100.0),
    ];
    let mut layout = testing::layout(runs, vec![]);
    layout.workshop.sheet.thickness = 2.5;
    let (plan, _) = plan(&layout, &check(&layout).0);
    let forms = tooling(&layout, &plan).0.forms;
    (layout, forms)
}

#[test]
fn pages_are_clean_and_name_every_layer() {
    let (layout, forms) = forms();
    assert_eq!(forms.len(), 3);
    for paper in ["a4", "a3", "letter", "148x210", "610x2000"] {
        let paper = Paper::parse(paper).unwrap();
        for form in &forms {
            let sheets = sheets(form, &layout, &paper);
            let words: Vec<String> =
                sheets.iter().flat_map(|sheet| clean_words(sheet, 0.95 * FINE)).collect();
            for part in &form.stack.parts {
                let named = |w: &&String| w.starts_with(&format!("{}  rim R", part.name));
                assert_eq!(words.iter().filter(named).count(), 1, "{}: {}", form.name, part.name);
            }
            for bend in &form.bends {
                let pull = format!("{}°", crate::quantity::decimals(bend.pull_to.to_degrees(), 1));
                assert!(words.contains(&pull), "{}: {pull}", form.name);
            }
        }
    }
}
