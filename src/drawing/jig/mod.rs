//! How a checking jig is put together and used: pictures with every part named, the list of parts, what the
//! jig shows and how to use it.

mod pictures;
mod scene;
#[cfg(test)]
mod tests;
mod words;

use super::page::Pages;
use super::page::flow::Flow;
use super::sheet::{Paper, Sheet};
use crate::centreline::{Centreline, Layout};
use crate::palette::{Rgb, run_colour};
use crate::quantity::Unit;
use crate::spec::model::{End, EndForm};
use crate::tooling::jig::{Jig, Upright};

/// A jig with what is drawn of it.
struct Shown<'a> {
    jig: &'a Jig,
    /// The run's tube in the jig, its outside diameter (mm) and its colour.
    tube: Option<(Centreline, f64, Rgb)>,
    inches: bool,
    /// For each end, whether it gets a flare or bead.
    formed: [bool; 2],
    /// Enlargement of the page.
    enlarged: f64,
}

impl Shown<'_> {
    /// An upright's name as it is engraved.
    fn name(&self, upright: &Upright) -> String {
        self.jig.work.parts.get(upright.part).map_or(String::new(), |part| part.name.to_uppercase())
    }
}

/// The assembly drawing of a jig.
pub fn sheets(jig: &Jig, layout: &Layout, paper: &Paper) -> Vec<Sheet> {
    let laid = layout.runs.iter().find(|laid| laid.run.name == jig.run);
    let tube = laid
        .map(|laid| (laid.centreline.moved(&jig.tube), laid.run.tube.od(), lighter(run_colour(laid.index))));
    let pages = Pages::new(paper);
    let is_formed = |end: Option<&End>| {
        end.and_then(|end| end.fitting.as_ref()).is_some_and(|fitting| fitting.end != EndForm::Plain)
    };
    let formed =
        laid.map_or([false; 2], |laid| [&laid.run.from, &laid.run.to].map(|end| is_formed(end.as_ref())));
    let shown = Shown { jig, tube, inches: layout.units == Unit::Inch, formed, enlarged: pages.by };
    let mut flow = Flow::new(pages.wide);
    words::purpose(&mut flow, &shown);
    flow.add(pictures::assembled(&shown, pages.wide, 0.38 * pages.high));
    flow.heading("From above");
    flow.add(pictures::above(&shown, pages.wide, 0.38 * pages.high));
    words::parts(&mut flow, &shown);
    flow.heading("From the front and from the right");
    flow.add(pictures::front(&shown, pages.wide, 0.3 * pages.high));
    words::senses(&mut flow, &shown);
    words::steps(&mut flow, &shown);
    words::cautions(&mut flow);
    pages.sheets(layout, vec![(format!("Checking jig {}", jig.run), "checking jig", flow)]).collect()
}

/// A colour half way to white, so that lines on it stay readable.
fn lighter(Rgb(red, green, blue): Rgb) -> Rgb {
    let half = |channel: u8| channel / 2 + 128 - u8::from(channel == 255);
    Rgb(half(red), half(green), half(blue))
}
