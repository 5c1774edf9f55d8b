//! Pages of words, tables and pictures with a head and a foot: the worksheet and the assembly drawings.

#[cfg(test)]
pub(crate) mod fixture;
pub(crate) mod flow;
#[cfg(test)]
mod tests;

use self::flow::{BODY, FINE, Flow, Ink, LEADING, wide};
use super::item::{Across, Drawing, Role};
use super::sheet::{MARGIN, Paper, Sheet};
use super::shift::{into_shifted, scaled};
use super::text::{Weight, shortened};
use crate::centreline::Layout;

/// At the foot of every page.
pub(crate) const DEFER_SHORT: &str =
    "Lengths in mm. Local codes, makers' instructions and licensed trades come first.";

/// Widths the sheet is laid out for, mm: wider paper gets larger letters, narrower smaller ones.
const WIDTHS: (f64, f64) = (148.0, 216.0);

/// Height of a page's head with the title, mm.
const TOP: f64 = 12.0;

/// Height of a page's foot of one line, mm.
const FOOT: f64 = 4.4;

/// Capitals of the title, mm: as a rule, and of one that would not fit.
const TITLE: (f64, f64) = (6.0, 4.0);

/// Pages narrower than this between the margins, mm, have a foot of two lines.
const NARROW: f64 = 160.0;

/// Height of the foot of a page so wide between the margins, mm.
fn foot_high(wide: f64) -> f64 {
    if wide < NARROW { FOOT + LEADING * FINE } else { FOOT }
}

/// The height of capitals at which words fit into `room` mm, the largest and the smallest given; whether they do.
fn fitting(words: &str, room: f64, (most, least): (f64, f64), bold: bool) -> (f64, bool) {
    // A little less than the room, for rounding.
    let high = most.min((room - 0.01) * most / wide(words, most, bold).max(1e-9));
    (high.max(least), high >= least)
}

/// How a page is divided, before it is enlarged to the paper.
pub(crate) struct Pages {
    /// Enlargement of everything: a picture's scale on paper is its scale in the flow times this.
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
        let wide = paper.width() / by - 2.0 * margin;
        Pages {
            by,
            margin,
            wide,
            high: paper.height() / by - 2.0 * margin - TOP - foot_high(wide),
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
        // The kind of page gives way to a long title, which says it too.
        let number = part.rsplit_once(", ").map_or(part, |(_, number)| number);
        let beside = |part: &str| self.wide - wide(part, BODY, false) - 6.0;
        let part = if fitting(title, beside(part), TITLE, true).1 { part } else { number };
        let (high, _) = fitting(title, beside(part), TITLE, true);
        let name = shortened(title, beside(part), high, Weight::Bold);
        ink.words(0.0, 2.2 + TITLE.0 - high, high, true, &name);
        ink.anchored(self.wide, 5.2, BODY, false, Across::Right, part);
        ink.line(Role::Trim, (0.0, 10.2), (self.wide, 10.2));
        ink.0.append(into_shifted(body, 0.0, -TOP));
        let bottom = TOP + self.high + foot_high(self.wide);
        let wide_foot = wide(foot, FINE, false);
        let defer = DEFER_SHORT;
        let room = self.wide - wide_foot - 10.0;
        // On narrow paper they have a line each.
        let two = self.wide < NARROW;
        let room = if two { room } else { room - wide(defer, FINE, false) };
        let file = shortened(&layout.file_name, room.max(0.0), FINE, Weight::Regular);
        if two {
            ink.words(0.0, bottom - FINE * (1.0 + LEADING) - 0.8, FINE, false, defer);
            ink.words(0.0, bottom - FINE - 0.8, FINE, false, &file);
        } else {
            ink.words(0.0, bottom - FINE - 0.8, FINE, false, &format!("{file}  {defer}"));
        }
        ink.anchored(self.wide, bottom - FINE - 0.8, FINE, false, Across::Right, foot);
        let top = self.paper.1 / self.by - self.margin;
        scaled(into_shifted(ink.0, self.margin, top), self.by)
    }
}
