//! The overview: every run and component from the front, from above, from the left and in isometric
//! projection, on one page, with hidden parts hidden.
//!
//! A tube is cut into short pieces ([`tube`]), components are whole ([`body`]); on each line of sight
//! the farther of two is painted first ([`order`]), and pieces that follow each other are painted as
//! one strip ([`paint`]). [`arrange`] puts the four pictures on the page in first-angle projection
//! (ISO 5456-2): the view from above below, the view from the left on the right. [`label`] names what
//! is seen, [`furniture`] adds legend, axes, scale and title, [`clash`] shows where tubes overlap.

mod arrange;
mod body;
mod clash;
mod convex;
mod facet;
mod furniture;
mod label;
mod lines;
mod order;
mod paint;
pub(crate) mod picture;
#[cfg(test)]
mod rays;
#[cfg(test)]
mod tests;
mod tube;
mod view;
pub mod ways;

use crate::centreline::Layout;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::drawing::extents::Rect;
use crate::drawing::item::{Drawing, Point};
use crate::drawing::sheet::Sheet;
use crate::geometry::{EuclideanSpace, Point3};
use crate::palette::run_colour;
use arrange::Page;
use body::{Body, Depth, Look, Owner};
use view::{Aspect, View};

/// Width of the page, mm: A3 lying.
pub const PAGE_WIDTH: f64 = 420.0;

/// Height of the page, mm.
pub const PAGE_HEIGHT: f64 = 297.0;

/// Distance of the frame from the paper's edge, mm.
const FRAME_MM: f64 = 5.0;

/// Faces of ports are drawn larger than the tube that goes in, so that they show around it.
const PORT_OVER_TUBE: f64 = 1.35;

/// The overview as one drawing in page coordinates; its frame lies 5 mm inside the page. Tubes on the bench lie
/// beside the others. The places where `findings` say that tubes overlap have pins. A layout [`too_large`] for it
/// is drawn in lines.
pub fn overview(layout: &Layout, findings: &Diagnostics) -> Drawing {
    let clashes = clash::clashes(layout, findings);
    let layout = &layout.shown_together();
    if lines::pieces(layout) > lines::MOST_PIECES {
        return lines::overview(layout, &clashes);
    }
    let aspects = [Aspect::front(), Aspect::top(), Aspect::left(), Aspect::isometric()];
    let seen = aspects.map(|aspect| extents(layout, aspect));
    let names = layout.components.iter().map(|c| c.name.as_str());
    let labels: Vec<&str> = layout.runs.iter().map(|r| r.run.name.as_str()).chain(names).collect();
    let page = Page::new(seen, label::column(&labels), furniture::band_height(layout, &clashes));

    let mut drawing = furniture::frame(layout, &clashes, &page);
    for (aspect, place) in aspects.into_iter().zip(&page.places) {
        let view = View { aspect, centre: Point3::origin(), at: place.at, scale: place.scale };
        let (bodies, known) = scene(layout, &view);
        let painted = paint::paint(&bodies, &known, &view, &|run| colour(layout, run));
        drawing.append(painted.drawing);
        drawing.append(label::labels(layout, &bodies, &painted.order, place));
        let note = if painted.exact { "" } else { ", crowded: what hides what is not exact" };
        drawing.append(furniture::caption(&view, place, note));
        drawing.append(clash::pins(&clashes, &view));
    }
    drawing
}

/// Says that the overview shows lines for being of too many pieces, if so.
pub fn too_large(layout: &Layout) -> Option<Diagnostic> {
    let (pieces, most) = (lines::pieces(layout), lines::MOST_PIECES);
    if pieces <= most {
        return None;
    }
    let message = format!(
        "the overview shows the runs as lines, with nothing hidden: it would be made of {pieces} pieces of tube, and \
         what hides what is worked out for {most} at most"
    );
    let hint = "build fewer runs at a time (--run NAME), or look at assembly.step in a CAD program";
    Some(Diagnostic::warning(TOO_LARGE, message).hint(hint))
}

/// Code of [`too_large`]'s finding.
pub const TOO_LARGE: &str = "overview-limit";

/// The overview as a page of A3: a picture that may be printed on any paper.
pub fn sheet(layout: &Layout, findings: &Diagnostics) -> Sheet {
    let page = Sheet::new("overview", PAGE_WIDTH, PAGE_HEIGHT, overview(layout, findings));
    Sheet { full_size: false, ..page }
}

/// Colour of the run at a position in the layout.
fn colour(layout: &Layout, position: usize) -> crate::palette::Rgb {
    run_colour(layout.runs.get(position).map_or(position, |run| run.index))
}

/// Everything to be painted in a view, and which bodies touch: pairs with the one to be painted first
/// in front.
fn scene(layout: &Layout, view: &View) -> (Vec<Body>, Vec<(usize, usize)>) {
    let mut bodies = Vec::new();
    let mut known = Vec::new();
    for (index, component) in layout.components.iter().enumerate() {
        let owner = Owner::Component(index);
        let first = bodies.len();
        bodies.extend(component.shapes.iter().flat_map(|shape| body::shape(view, owner, shape)));
        let parts = first..bodies.len();
        for port in &component.ports {
            let radius = PORT_OVER_TUBE * port_tube(layout, port) / 2.0;
            let (face, depth) = body::disc(view, port.at, port.facing, radius);
            let Some(face) = Body::new(owner, &face, Look::Port, depth) else { continue };
            let holds = |part: &usize| match &bodies[*part].depth {
                Depth::Solid(shape) => component.shapes.len() == 1 || shape.is_behind(port.at, port.facing),
                _ => false,
            };
            // A face that looks away is hidden by its own component.
            let away = view.turn(port.facing).1 < 0.0;
            let order = |part| if away { (bodies.len(), part) } else { (part, bodies.len()) };
            known.extend(parts.clone().filter(holds).map(order));
            bodies.push(face);
        }
    }
    for (position, run) in layout.runs.iter().enumerate() {
        let offset = bodies.len();
        let (pieces, touching) = tube::bodies(view, Owner::Run(position), run);
        bodies.extend(pieces);
        known.extend(touching.into_iter().map(|(a, b)| (a + offset, b + offset)));
    }
    (bodies, known)
}

/// Diameter of the tube a port is for, mm: its fitting's, or the largest in the layout.
fn port_tube(layout: &Layout, port: &crate::spec::model::Port) -> f64 {
    let largest = layout.runs.iter().map(|run| run.run.tube.od()).fold(0.0, f64::max);
    port.fitting.as_ref().map_or(if largest > 0.0 { largest } else { 10.0 }, |fitting| fitting.tube_od)
}

/// Box around everything seen from one side, in mm of the scene.
fn extents(layout: &Layout, aspect: Aspect) -> Rect {
    let view = View { aspect, centre: Point3::origin(), at: Point::new(0.0, 0.0), scale: 1.0 };
    let (bodies, _) = scene(layout, &view);
    let nothing = Rect::new(Point::new(0.0, 0.0), Point::new(100.0, 100.0));
    bodies.iter().map(|body| body.bounds).reduce(Rect::union).unwrap_or(nothing)
}
