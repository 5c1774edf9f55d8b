//! Pages of words, tables and pictures with a head and a foot: the worksheet and the assembly drawings.

#[cfg(test)]
pub(crate) mod fixture;
pub(crate) mod flow;

use self::flow::{BODY, FINE, Flow, Ink, wide};
use super::item::{Across, Drawing, Role};
use super::sheet::{MARGIN, Paper, Sheet};
use super::shift::{into_shifted, scaled};
use super::text::{Weight, shortened};
use crate::centreline::Layout;

/// At the foot of every page.
pub(crate) const DEFER_SHORT: &str = "Local codes, makers' instructions and licensed trades come first.";

/// Widths the sheet is laid out for, mm: wider paper gets larger letters, narrower smaller ones.
const WIDTHS: (f64, f64) = (148.0, 216.0);

/// Height of a page's head with the title, mm.
const TOP: f64 = 12.0;

/// Height of a page's foot, mm.
const FOOT: f64 = 4.4;

/// How a page is divided, before it is enlarged to the paper.
pub(crate) struct Pages {
    /// What everything is enlarged by: a picture's scale on paper is its scale in the flow times this.
    pub(crate) by: f64,
    /// Margin, mm.
    margin: f64,
    /// Width between the margins, mm.
    pub(crate) wide: f64,
    /// Height between head and foot, mm.
    pub(crate) high: f64,
    /// The paper, mm.
    paper: (f64, f64),
}

impl Pages {
    /// For a paper.
    pub(crate) fn new(paper: &Paper) -> Self {
        let by = paper.width() / paper.width().clamp(WIDTHS.0, WIDTHS.1);
        let margin = MARGIN / by;
        Pages {
            by,
            margin,
            wide: paper.width() / by - 2.0 * margin,
            high: paper.height() / by - 2.0 * margin - TOP - FOOT,
            paper: (paper.width(), paper.height()),
        }
    }

    /// Sheets of sections that each begin on a new page: title, kind, contents. Each is drawn when it is asked for, so
    /// that thousands need not be held at once.
    pub(crate) fn sheets<'a>(
        self,
        layout: &'a Layout,
        sections: Vec<(String, &'static str, Flow)>,
    ) -> impl Iterator<Item = Sheet> + use<'a> {
        let pages: Vec<(String, String, Drawing)> = sections
            .into_iter()
            .flat_map(|(title, kind, flow)| {
                let pages = flow.pages(self.high);
                let of = pages.len();
                pages.into_iter().enumerate().map(move |(index, page)| {
                    (title.clone(), format!("{kind}, page {} of {of}", index + 1), page)
                })
            })
            .collect();
        let of = pages.len();
        pages.into_iter().enumerate().map(move |(index, (title, part, page))| {
            let foot = format!("sheet {} of {of}", index + 1);
            let drawing = self.page(layout, &title, &part, &foot, page);
            let sheet = Sheet::new(format!("{title}: {part}"), self.paper.0, self.paper.1, drawing);
            Sheet { full_size: false, ..sheet }
        })
    }

    /// A page with its head and foot, on the paper.
    fn page(&self, layout: &Layout, title: &str, part: &str, foot: &str, body: Drawing) -> Drawing {
        let mut ink = Ink::new();
        let right = wide(part, BODY, false);
        let name = shortened(title, self.wide - right - 6.0, 6.0, Weight::Bold);
        ink.words(0.0, 2.2, 6.0, true, &name);
        ink.anchored(self.wide, 5.2, BODY, false, Across::Right, part);
        ink.line(Role::Trim, (0.0, 10.2), (self.wide, 10.2));
        ink.0.append(into_shifted(body, 0.0, -TOP));
        let bottom = TOP + self.high + FOOT;
        let wide_foot = wide(foot, FINE, false);
        let defer = DEFER_SHORT;
        let room = self.wide - wide_foot - wide(defer, FINE, false) - 10.0;
        let file = shortened(&layout.file_name, room.max(0.0), FINE, Weight::Regular);
        let words = format!("{file}  {defer}");
        ink.words(0.0, bottom - FINE - 0.8, FINE, false, &words);
        ink.anchored(self.wide, bottom - FINE - 0.8, FINE, false, Across::Right, foot);
        let top = self.paper.1 / self.by - self.margin;
        scaled(into_shifted(ink.0, self.margin, top), self.by)
    }
}
