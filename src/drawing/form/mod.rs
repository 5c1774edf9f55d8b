//! How a form is put together and used: the stack in section, its layers, the view from above, the printed
//! blocks, steps and cautions.

mod section;
#[cfg(test)]
mod tests;
mod view;
mod words;

use super::page::Pages;
use super::page::flow::{FINE, Flow, Ink, PageBlock};
use super::sheet::{Paper, Sheet};
use crate::centreline::Layout;
use crate::flat::{Arc, Edge};
use crate::tooling::form::Form;
use crate::tooling::{Part, Posed};

/// Scales a picture is drawn at, the first that fits: of ISO 5455, enlarged and reduced.
const SCALES: [f64; 9] = [5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01];

/// The assembly drawing of a form.
pub fn sheets(form: &Form, layout: &Layout, paper: &Paper) -> Vec<Sheet> {
    let pages = Pages::new(paper);
    let inches = layout.units == crate::quantity::Unit::Inch;
    let mut flow = Flow::new(pages.wide);
    words::data(&mut flow, form, inches);
    flow.heading("The stack of sheets in section, across the groove");
    flow.add(section::section(form, pages.wide, pages.by));
    words::stack(&mut flow, form);
    flow.heading("From above");
    flow.add(view::view(form, pages.wide, 0.42 * pages.high, pages.by));
    words::printed(&mut flow, form);
    words::steps(&mut flow, form);
    words::cautions(&mut flow);
    pages.sheets(layout, vec![(format!("Form {}", form.name), "bending form", flow)]).collect()
}

/// A layer's rim: the longest of its arcs about the bend's centre.
fn rim(part: &Part) -> Option<Arc> {
    let arcs = part.outline.edges.iter().filter_map(|edge| match edge {
        Edge::Arc(arc) => Some(*arc),
        Edge::Line(_) => None,
    });
    arcs.max_by(|a, b| (a.radius * a.sweep.abs()).total_cmp(&(b.radius * b.sweep.abs())))
}

/// A form's layers, lowest first.
fn layers(form: &Form) -> impl Iterator<Item = (&Part, &Posed)> {
    form.stack.posed.iter().filter_map(|posed| Some((form.stack.parts.get(posed.part)?, posed)))
}

/// A picture with small words below it.
fn captioned(mut ink: Ink, high: f64, wide: f64, caption: &str) -> PageBlock {
    let end = ink.wrapped(0.0, high + 1.6, FINE, false, wide, caption);
    PageBlock::new(ink, end + 0.8)
}
