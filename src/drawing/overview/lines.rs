//! The overview of very many runs: each is a line in its colour, and nothing is hidden.

use super::arrange::Page;
use super::body::{self, Look, Owner};
use super::clash::{self, Clash};
use super::paint::{shade, through};
use super::view::{Aspect, View};
use super::{colour, furniture, label};
use crate::centreline::{LaidRun, Layout, Segment};
use crate::drawing::extents::Rect;
use crate::drawing::item::{Drawing, Item, ItemShape, Point, Role};
use crate::geometry::{EuclideanSpace, Point3};
use crate::palette::COMPONENT;

/// Most pieces of tube between which it is worked out what hides what.
pub(super) const MOST_PIECES: usize = 30_000;

/// Most runs, and most components, that are drawn.
const MOST_DRAWN: usize = 2_000;

/// Arcs are drawn in steps of this, rad (15°).
const ARC_STEP: f64 = std::f64::consts::PI / 12.0;

/// Straights of this many diameters, and arcs of this angle (rad), count as a piece; so does a component.
const PIECE: (f64, f64) = (2.0, std::f64::consts::PI / 24.0);

/// Pieces that a layout would be drawn in, about.
pub(super) fn pieces(layout: &Layout) -> usize {
    let of_run = |laid: &LaidRun| -> usize {
        let step = PIECE.0 * laid.run.tube.od();
        let of = |segment: &Segment| {
            let parts = match *segment {
                Segment::Straight { length, .. } => length / step,
                Segment::Arc { angle, .. } => angle / PIECE.1,
            };
            parts.ceil().clamp(1.0, 400.0) as usize
        };
        laid.centreline.segments().iter().map(of).sum()
    };
    layout.runs.iter().map(of_run).sum::<usize>() + layout.components.len()
}

/// The overview in lines.
pub(super) fn overview(layout: &Layout, clashes: &[Clash]) -> Drawing {
    let aspects = [Aspect::front(), Aspect::top(), Aspect::left(), Aspect::isometric()];
    let tracks: Vec<Vec<Point3>> = layout.runs.iter().take(MOST_DRAWN).map(track).collect();
    let view = |aspect, at, scale| View { aspect, centre: Point3::origin(), at, scale };
    let seen = aspects.map(|aspect| extents(layout, &tracks, &view(aspect, Point::new(0.0, 0.0), 1.0)));
    let page = Page::new(seen, label::column(&[]), furniture::band_height(layout, clashes));
    let mut drawing = furniture::frame(layout, clashes, &page);
    for (aspect, place) in aspects.into_iter().zip(&page.places) {
        let view = view(aspect, place.at, place.scale);
        for (index, component) in layout.components.iter().take(MOST_DRAWN).enumerate() {
            let owner = Owner::Component(index);
            for body in component.shapes.iter().flat_map(|shape| body::shape(&view, owner, shape)) {
                let lines = match &body.look {
                    Look::Facet { edges, .. } => edges.iter().map(|edge| (edge.as_slice(), false)).collect(),
                    _ => vec![(body.outline.as_slice(), true)],
                };
                for (points, closed) in lines {
                    line(&mut drawing, points, closed, Role::Component, shade(COMPONENT, -0.3));
                }
            }
        }
        for (position, track) in tracks.iter().enumerate() {
            let points: Vec<Point> = track.iter().map(|&at| view.see(at).0).collect();
            line(&mut drawing, &points, false, Role::Outline, colour(layout, position));
        }
        drawing.append(furniture::caption(&view, place, &note(layout)));
        drawing.append(clash::pins(clashes, &view));
    }
    drawing
}

/// Captions under the pictures.
fn note(layout: &Layout) -> String {
    let most = layout.runs.len().max(layout.components.len());
    if most > MOST_DRAWN {
        format!(", in lines, nothing hidden; only the first {MOST_DRAWN} are drawn")
    } else {
        ", in lines, nothing hidden".to_owned()
    }
}

fn line(drawing: &mut Drawing, points: &[Point], closed: bool, role: Role, tint: crate::palette::Rgb) {
    let shape = ItemShape::Path(through(points, closed));
    drawing.items.push(Item { shape, role, colour: Some(tint) });
}

/// Points along a run's centreline.
fn track(laid: &LaidRun) -> Vec<Point3> {
    let line = &laid.centreline;
    let inner = line.segments().iter().flat_map(|segment| {
        let steps = match *segment {
            Segment::Straight { .. } => 1,
            Segment::Arc { angle, .. } => (angle / ARC_STEP).ceil().clamp(1.0, 12.0) as u32,
        };
        let length = segment.length();
        (0..steps).map(move |step| segment.point_at(length * f64::from(step) / f64::from(steps)))
    });
    inner.chain([line.end()]).collect()
}

/// Box round everything that is drawn, in a view.
fn extents(layout: &Layout, tracks: &[Vec<Point3>], view: &View) -> Rect {
    let components = layout.components.iter().take(MOST_DRAWN).flat_map(|component| &component.shapes);
    let solids = components.flat_map(|shape| body::shape(view, Owner::Component(0), shape));
    let runs = tracks.iter().filter_map(|track| Rect::around(track.iter().map(|&at| view.see(at).0)));
    let nothing = Rect::new(Point::new(0.0, 0.0), Point::new(100.0, 100.0));
    solids.map(|solid| solid.bounds).chain(runs).reduce(Rect::union).unwrap_or(nothing)
}
