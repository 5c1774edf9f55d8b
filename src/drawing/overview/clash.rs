//! Where tubes overlap: a numbered pin at each place, over everything else, and a line of the legend.

use super::furniture::{Slot, words};
use super::paint::through;
use super::view::View;
use crate::centreline::Layout;
use crate::diagnostic::{Diagnostic, Diagnostics, grouped};
use crate::drawing::item::{Across, Drawing, Item, ItemShape, Point, Role, Text, Vertical};
use crate::drawing::text::{Weight, shortened};
use crate::geometry::Point3;
use crate::palette::Rgb;

/// Most places with a pin; the legend counts the rest.
pub(super) const MOST: usize = 12;

const RED: Rgb = Rgb(200, 0, 0);
const WHITE: Rgb = Rgb(255, 255, 255);

/// Radius of a pin's head, mm.
const HEAD: f64 = 2.3;

/// Distances from a pin's point to the middle of its head that are tried, mm.
const LONG: [f64; 3] = [6.5, 11.5, 16.5];

/// Ways a pin may lean, degrees counter-clockwise from the right, as they are tried.
const WAYS: [f64; 8] = [60.0, 120.0, -60.0, -120.0, 90.0, 20.0, 160.0, -90.0];

/// A place where a run overlaps something.
pub(super) struct Clash {
    at: Point3,
    told: String,
}

/// The places among the findings, the first in the spec first. A tube on the bench lies nowhere in the picture.
pub(super) fn clashes(layout: &Layout, findings: &Diagnostics) -> Vec<Clash> {
    let placed = |finding: &Diagnostic| {
        layout.runs.iter().all(|laid| finding.run.as_ref() != Some(&laid.run.name) || laid.has_place())
    };
    let clash = |finding: &Diagnostic| {
        let [x, y, z] = finding.at_mm?;
        // The picture itself says where.
        let told = finding.message.split(", deepest at").next().unwrap_or_default();
        placed(finding).then(|| Clash { at: Point3::new(x, y, z), told: told.to_owned() })
    };
    let of_group = grouped(findings).into_iter().map(|group| group.first);
    of_group.filter_map(clash).collect()
}

/// How many lines of the legend they take.
pub(super) fn lines(clashes: &[Clash]) -> usize {
    clashes.len().min(MOST + 1)
}

/// The lines of the legend.
pub(super) fn legend(drawing: &mut Drawing, clashes: &[Clash], slot: &Slot) {
    for (index, clash) in clashes.iter().take(MOST).enumerate() {
        let at = slot.at(index);
        pin(drawing, at.shifted(0.6, -HEAD), at.shifted(4.6, 0.0), index + 1);
        let told = shortened(&clash.told, slot.wide - 18.0, 2.2, Weight::Bold);
        coloured(drawing, at.shifted(12.0, 0.0), 2.2, Across::Left, told, RED);
    }
    if clashes.len() > MOST {
        let more = format!("and {} more places", clashes.len() - MOST);
        words(drawing, Role::Note, slot.at(MOST), 2.2, Across::Left, more);
    }
}

/// The pins of a view.
pub(super) fn pins(clashes: &[Clash], view: &View) -> Drawing {
    let mut drawing = Drawing::new();
    let mut heads: Vec<Point> = Vec::new();
    for (index, clash) in clashes.iter().take(MOST).enumerate() {
        let tip = view.see(clash.at).0;
        let tried = LONG.iter().flat_map(|long| WAYS.map(|way| tip.polar(*long, way.to_radians())));
        let free = |head: &Point| heads.iter().all(|other| other.distance(*head) > 2.0 * HEAD);
        let head = tried.clone().find(free).or_else(|| tried.clone().next()).unwrap_or(tip);
        pin(&mut drawing, tip, head, index + 1);
        heads.push(head);
    }
    drawing
}

/// A pin with its number in the head, on a white rim that stands out from any colour.
fn pin(drawing: &mut Drawing, tip: Point, head: Point, number: usize) {
    let way = (head.y - tip.y).atan2(head.x - tip.x);
    for (grown, fill) in [(0.5, WHITE), (0.0, RED)] {
        let radius = HEAD + grown;
        let mut bound = vec![tip.polar(grown, way + std::f64::consts::PI)];
        // Round the far side of the head, from one side of the needle to the other.
        bound.extend((0..=24).map(|k| head.polar(radius, way - 2.2 + 4.4 * f64::from(k) / 24.0)));
        let bound = through(&bound, true);
        drawing.items.push(Item {
            shape: ItemShape::Area { bound, fill },
            role: Role::Outline,
            colour: None,
        });
    }
    coloured(drawing, head, 2.4, Across::Middle, number.to_string(), WHITE);
}

fn coloured(drawing: &mut Drawing, at: Point, height: f64, across: Across, content: String, colour: Rgb) {
    let text = Text { at, height, angle: 0.0, across, upright: Vertical::Middle, content };
    drawing.items.push(Item { shape: ItemShape::Text(text), role: Role::Title, colour: Some(colour) });
}
