//! The head and foot of a page.

use super::*;
use crate::drawing::item::ItemShape;

#[test]
fn small_paper_has_titles_and_the_spec_s_name_whole() {
    let mut layout = crate::testing::layout(vec![], vec![]);
    layout.file_name = "reading-room.yaml".to_owned();
    let pages = Pages::new(&Paper::parse("a5").expect("a paper"));
    let title = "Checking jig pump-to-radiator-top";
    let page = pages.page(&layout, title, "checking jig, page 1 of 2", "sheet 1 of 24", Drawing::new());
    let texts: Vec<_> = page
        .items
        .iter()
        .filter_map(|item| if let ItemShape::Text(text) = &item.shape { Some(text) } else { None })
        .collect();
    let said: Vec<&str> = texts.iter().map(|text| text.content.as_str()).collect();
    assert_eq!(said, [title, "page 1 of 2", DEFER_SHORT, "reading-room.yaml", "sheet 1 of 24"]);
    assert!(texts.iter().all(|text| text.height >= FINE), "{texts:?}");
    let ends = |index: usize| {
        let text = texts[index];
        let bold = text.content == title;
        text.at.x + wide(&text.content, text.height, bold)
    };
    let starts = |index: usize| texts[index].at.x - wide(&texts[index].content, texts[index].height, false);
    assert!(ends(0) < starts(1) && ends(3) < starts(4));
    let large = Pages::new(&Paper::default());
    let page = large.page(&layout, "Loop", "overall, page 1 of 2", "sheet 1 of 24", Drawing::new());
    let first = page
        .items
        .iter()
        .find_map(|item| if let ItemShape::Text(text) = &item.shape { Some(text.height) } else { None });
    assert_eq!(first, Some(6.0));
}
