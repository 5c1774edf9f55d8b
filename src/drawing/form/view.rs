//! The form from above with the tube wound on it.

use std::f64::consts::FRAC_PI_2;

use super::{SCALES, captioned, layers};
use crate::drawing::extents::{Rect, extents};
use crate::drawing::item::{Across, Arc, Drawing, Edge, ItemShape, Line, Path, Point, Role};
use crate::drawing::page::flow::{FINE, Ink, PageBlock, wide as width};
use crate::drawing::scale;
use crate::drawing::shift::{into_shifted, scaled};
use crate::quantity::decimals;
use crate::tooling::form::{Form, FormBend};
use crate::tooling::{Opening, Purpose};

/// Least room around the picture, mm.
const AROUND: f64 = 12.0;

/// From the end of a mark to its words, mm.
const BESIDE: f64 = 1.5;

/// The view, in a room of this size, mm.
pub(super) fn view(form: &Form, wide: f64, high: f64, enlarged: f64) -> PageBlock {
    let mut real = Drawing::new();
    body(form, &mut real);
    let pull = form.bends.iter().map(|bend| bend.pull_to).fold(0.0, f64::max).min(form.arc);
    tube(form, pull, &mut real);
    let Some(bounds) = extents(&real).map(|bounds| bounds.union(marked(form))) else {
        return PageBlock::new(Ink::new(), 0.0);
    };
    let longest = form.bends.iter().map(|bend| width(&pull_words(bend), FINE, false)).fold(0.0, f64::max);
    let room = (wide - 2.0 * (BESIDE + longest).max(AROUND), high - 2.0 * AROUND);
    let by = scale::fitting(&SCALES, (bounds.width(), bounds.height()), room, enlarged);
    let mut ink = Ink::new();
    let tall = bounds.height() * by + 2.0 * AROUND;
    let left = (wide - bounds.width() * by) / 2.0;
    let at = |p: Point| (left + (p.x - bounds.min.x) * by, AROUND + (bounds.max.y - p.y) * by);
    ink.put(&into_shifted(scaled(real, by), -bounds.min.x * by, -bounds.max.y * by), left, AROUND);
    marks(form, &mut ink, &at);
    names(form, &mut ink, &at);
    let caption = format!(
        "{} Full: top layer. Dashed: the layer at the groove's bottom. The tube is shown pulled to {}°; ticks outside it every 15°. D in a hole: dowel, B: bolt.",
        scale::words(by * enlarged),
        decimals(pull.to_degrees(), 1)
    );
    captioned(ink, tall, wide, &caption)
}

/// Outlines and holes of the top layer and the outline of the narrowest.
fn body(form: &Form, drawing: &mut Drawing) {
    let narrow = layers(form).min_by(|a, b| {
        let radius = |part| super::rim(part).map_or(f64::INFINITY, |arc| arc.radius);
        radius(a.0).total_cmp(&radius(b.0))
    });
    if let Some((part, _)) = narrow {
        drawing.add(Role::Hidden, ItemShape::Path(part.outline.clone()));
    }
    let Some((top, _)) = layers(form).last() else { return };
    drawing.add(Role::Outline, ItemShape::Path(top.outline.clone()));
    for opening in &top.openings {
        let shape = match opening {
            Opening::Round { at, diameter, .. } => ItemShape::Circle { centre: *at, radius: diameter / 2.0 },
            Opening::Slot(path) => ItemShape::Path(path.clone()),
        };
        drawing.add(Role::Outline, shape);
    }
}

/// Both edges and the centreline of the tube, bent to an angle (rad).
fn tube(form: &Form, pull: f64, drawing: &mut Drawing) {
    let half = form.od / 2.0;
    for (role, out) in [(Role::TubeEdge, half), (Role::TubeEdge, -half), (Role::Centreline, 0.0)] {
        let radius = form.held_radius + out;
        let start = Point::new(0.0, radius);
        let arc = Arc { centre: Point::new(0.0, 0.0), radius, start: FRAC_PI_2, sweep: -pull };
        let leg = Line { from: arc.to(), to: arc.to().polar(form.lead, -pull) };
        let edges = vec![
            Edge::Line(Line { from: start.shifted(-form.lead, 0.0), to: start }),
            Edge::Arc(arc),
            Edge::Line(leg),
        ];
        drawing.add(role, ItemShape::Path(Path { edges, closed: false }));
    }
    let ticks = (1..).map(|n| f64::from(n) * 15.0).take_while(|degrees| degrees.to_radians() < form.arc);
    for degrees in ticks {
        let (near, far) = (form.held_radius + half * 1.1, form.held_radius + half * 1.35);
        drawing.line(Role::Dimension, spoke(degrees.to_radians(), near), spoke(degrees.to_radians(), far));
    }
}

/// The point at an angle of bend (rad) and a distance (mm) from the bend's centre.
fn spoke(angle: f64, radius: f64) -> Point {
    Point::new(0.0, 0.0).polar(radius, FRAC_PI_2 - angle)
}

/// From the bend's centre to the end of a mark, mm.
fn reach(form: &Form) -> f64 {
    form.held_radius + form.od
}

/// Where the marks end.
fn marked(form: &Form) -> Rect {
    let ends = form.bends.iter().map(|bend| bend.pull_to.min(form.arc));
    let start = spoke(0.0, reach(form));
    ends.fold(Rect::new(start, start), |room, angle| room.union(Rect::new(start, spoke(angle, reach(form)))))
}

fn pull_words(bend: &FormBend) -> String {
    format!("pull to {}°", decimals(bend.pull_to.to_degrees(), 1))
}

/// Start and end marks with their words.
fn marks(form: &Form, ink: &mut Ink, at: &dyn Fn(Point) -> (f64, f64)) {
    let reach = reach(form);
    let mut line = |angle: f64| {
        let ends = [form.held_radius - form.od * 0.9, reach].map(|radius| at(spoke(angle, radius)));
        ink.line(Role::Tangent, ends[0], ends[1]);
    };
    line(0.0);
    form.bends.iter().filter(|bend| bend.pull_to <= form.arc).for_each(|bend| line(bend.pull_to));
    let (x, down) = at(spoke(0.0, reach));
    ink.anchored(x - BESIDE, down - FINE - 0.6, FINE, true, Across::Right, "START");
    let mut taken: Vec<(f64, f64, f64)> = Vec::new();
    for bend in &form.bends {
        let words = pull_words(bend);
        let (x, down) = at(spoke(bend.pull_to.min(form.arc), reach));
        let long = width(&words, FINE, false);
        // Words stand outside the mark, on the side that is free of the tube.
        let right = bend.pull_to.sin() >= 0.0;
        let left = if right { x + BESIDE } else { x - BESIDE - long };
        let clear = |(l, d, w): &(f64, f64, f64)| {
            (d - down).abs() > 1.5 * FINE || left > l + w + 1.0 || left + long + 1.0 < *l
        };
        if taken.iter().all(clear) {
            ink.words(left, down - FINE / 2.0, FINE, false, &words);
            taken.push((left, down, long));
        }
    }
}

/// "D" in every dowel hole and "B" in every bolt hole that has room for a letter.
fn names(form: &Form, ink: &mut Ink, at: &dyn Fn(Point) -> (f64, f64)) {
    let Some((top, _)) = layers(form).last() else { return };
    for opening in &top.openings {
        let Opening::Round { at: centre, diameter, purpose } = opening else { continue };
        let letter = match purpose {
            Purpose::Dowel => "D",
            Purpose::Bolt => "B",
        };
        let (x, down) = at(*centre);
        let (edge, _) = at(centre.shifted(diameter / 2.0, 0.0));
        if edge - x >= FINE {
            ink.anchored(x, down - FINE / 2.0, FINE, false, Across::Middle, letter);
        }
    }
}
