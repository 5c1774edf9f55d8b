//! Names with leaders: in two columns beside each picture, where they hide nothing.

use super::arrange::{CAPTION_MM, Place};
use super::body::{Body, Look, Owner};
use super::paint::{shade, through};
use super::{colour, convex};
use crate::centreline::Layout;
use crate::drawing::item::{Across, Drawing, Item, ItemShape, Point, Role, Text, Vertical};
use crate::drawing::text::{Weight, shortened, width};
use crate::palette::{COMPONENT, Rgb};

/// Height of capitals, mm.
const HEIGHT: f64 = 2.2;

/// Distance from one label to the next, mm.
const PITCH: f64 = 4.0;

/// Most a label takes of the page's width, mm; longer names are cut.
const WIDEST: f64 = 34.0;

/// Distance between a picture and its labels, for the leaders to spread, mm.
const LEADER: f64 = 6.0;

/// Radius of the dot at a leader's end, mm.
const DOT: f64 = 0.5;

/// At most so many places of a thing are tried for its leader.
const TRIED: usize = 24;

/// At most so many runs, and as many components, are named in a picture; the legend counts the rest.
const MOST_NAMED: usize = 60;

/// A leader ends this part of the way from the end of what is seen, so that it meets no edge.
const FROM_END: usize = 5;

/// Width of a column of these labels, mm.
pub(super) fn column(names: &[&str]) -> f64 {
    let widest = names.iter().map(|name| width(name, HEIGHT, Weight::Regular)).fold(0.0, f64::max);
    widest.min(WIDEST) + LEADER
}

/// A thing to be named.
struct Named {
    name: String,
    /// Where its leader may end: every one is seen.
    seen: Vec<Point>,
    colour: Rgb,
}

/// Labels of everything that can be seen of a painted picture. `order` are positions of `bodies`, first
/// painted first.
pub(super) fn labels(layout: &Layout, bodies: &[Body], order: &[usize], place: &Place) -> Drawing {
    let middle = place.seen.centre().x;
    let mut sides: [Vec<Named>; 2] = [Vec::new(), Vec::new()];
    for named in named(layout, bodies, order) {
        let mean = named.seen.iter().map(|p| p.x).sum::<f64>() / named.seen.len() as f64;
        sides[usize::from(mean > middle)].push(named);
    }
    balance(&mut sides);
    let mut drawing = Drawing::new();
    for (side, named) in sides.into_iter().enumerate() {
        column_of(&mut drawing, named, side == 1, place);
    }
    drawing
}

/// Moves labels from a crowded column to the other, those nearest to the middle first.
fn balance(sides: &mut [Vec<Named>; 2]) {
    for (from, to) in [(0, 1), (1, 0)] {
        let key = |n: &Named| n.seen.iter().map(|p| p.x).sum::<f64>() / n.seen.len() as f64;
        // The difference shrinks by two each time.
        while sides[from].len() > sides[to].len() + 3 {
            let nearest = sides[from]
                .iter()
                .enumerate()
                .max_by(|a, b| {
                    let (a, b) = (key(a.1), key(b.1));
                    if from == 0 { a.total_cmp(&b) } else { b.total_cmp(&a) }
                })
                .map(|(index, _)| index);
            let Some(nearest) = nearest else { return };
            let moved = sides[from].remove(nearest);
            sides[to].push(moved);
        }
    }
}

fn named(layout: &Layout, bodies: &[Body], order: &[usize]) -> Vec<Named> {
    let mut rank = vec![0; bodies.len()];
    for (position, &index) in order.iter().enumerate() {
        rank[index] = position;
    }
    let is_seen = |index: usize, at: Point| {
        order[rank[index] + 1..]
            .iter()
            .all(|&later| !bodies[later].bounds.has(at) || !convex::holds(&bodies[later].outline, at))
    };
    let seen_of = |owner: Owner| -> Vec<Point> {
        let places_of = |ports: bool| -> Vec<(usize, Point)> {
            bodies
                .iter()
                .enumerate()
                .filter(|(_, body)| body.owner == owner && (body.look == Look::Port) == ports)
                .flat_map(|(index, body)| places(body).into_iter().map(move |at| (index, at)))
                .collect()
        };
        // A port stands for its component only where there is nothing else of it.
        let places = Some(places_of(false)).filter(|p| !p.is_empty()).unwrap_or_else(|| places_of(true));
        let step = places.len().div_ceil(TRIED).max(1);
        places.into_iter().step_by(step).filter(|&(index, at)| is_seen(index, at)).map(|(_, at)| at).collect()
    };
    let runs = layout.runs.iter().take(MOST_NAMED).enumerate().map(|(position, run)| Named {
        name: run.run.name.clone(),
        seen: seen_of(Owner::Run(position)),
        colour: shade(colour(layout, position), -0.4),
    });
    let components =
        layout.components.iter().take(MOST_NAMED).enumerate().map(|(position, component)| Named {
            name: component.name.clone(),
            seen: seen_of(Owner::Component(position)),
            colour: shade(COMPONENT, -0.6),
        });
    runs.chain(components).filter(|named| !named.seen.is_empty()).collect()
}

/// Places of a body where a leader may end.
fn places(body: &Body) -> Vec<Point> {
    let middle = body.bounds.centre();
    match &body.look {
        Look::Piece(piece) => {
            vec![Point::new(
                (piece.ends[0].x + piece.ends[1].x) / 2.0,
                (piece.ends[0].y + piece.ends[1].y) / 2.0,
            )]
        }
        Look::EndOn { .. } => vec![middle],
        Look::Solid(_) => [0.85, 0.6, 0.3]
            .iter()
            .flat_map(|&part| {
                body.outline
                    .iter()
                    .map(move |c| middle.shifted((c.x - middle.x) * part, (c.y - middle.y) * part))
            })
            .collect(),
        Look::Facet { .. } | Look::Port => vec![middle],
        Look::Fold { .. } | Look::End { .. } => Vec::new(),
    }
}

/// One column: labels by height, each level with its place as far as the others let it.
fn column_of(drawing: &mut Drawing, named: Vec<Named>, right: bool, place: &Place) {
    let mut wanted: Vec<(Named, Point)> = named
        .into_iter()
        .filter_map(|named| {
            let mut ends = named.seen.clone();
            ends.sort_by(|a, b| if right { b.x.total_cmp(&a.x) } else { a.x.total_cmp(&b.x) });
            let end = *ends.get(ends.len() / FROM_END)?;
            Some((named, end))
        })
        .collect();
    wanted.sort_by(|a, b| a.1.y.total_cmp(&b.1.y));
    let low = place.cell.min.y + CAPTION_MM + HEIGHT;
    let high = place.cell.max.y - HEIGHT;
    let room = ((high - low) / PITCH).max(0.0) as usize + 1;
    wanted.truncate(room);
    let heights = spread(&wanted.iter().map(|w| w.1.y).collect::<Vec<f64>>(), low, high);
    untangle(&mut wanted, &heights, if right { place.seen.max.x } else { place.seen.min.x });
    let x = if right { place.seen.max.x + LEADER } else { place.seen.min.x - LEADER };
    let across = if right { Across::Left } else { Across::Right };
    for ((named, end), y) in wanted.into_iter().zip(heights) {
        let foot = Point::new(if right { x - 0.8 } else { x + 0.8 }, y);
        let line = ItemShape::Path(through(&[foot, end], false));
        drawing.items.push(Item { shape: line, role: Role::Note, colour: Some(named.colour) });
        let dot: Vec<Point> =
            (0..12).map(|n| end.polar(DOT, f64::from(n) * std::f64::consts::TAU / 12.0)).collect();
        let dot = ItemShape::Area { bound: through(&dot, true), fill: named.colour };
        drawing.items.push(Item { shape: dot, role: Role::Note, colour: None });
        let text = Text {
            at: Point::new(x, y),
            height: HEIGHT,
            angle: 0.0,
            across,
            upright: Vertical::Middle,
            content: shortened(&named.name, WIDEST, HEIGHT, Weight::Regular),
        };
        drawing.items.push(Item {
            shape: ItemShape::Text(text),
            role: Role::Note,
            colour: Some(named.colour),
        });
    }
}

/// Exchanges labels until no exchange makes the leaders shorter together: then none cross.
fn untangle(wanted: &mut [(Named, Point)], heights: &[f64], x: f64) {
    let long = |end: Point, height: f64| end.distance(Point::new(x, height));
    // Every exchange shortens the sum, so this ends; the bound guards against rounding.
    for _ in 0..wanted.len() {
        let mut exchanged = false;
        for a in 0..wanted.len() {
            for b in a + 1..wanted.len() {
                let (pa, pb) = (wanted[a].1, wanted[b].1);
                let now = long(pa, heights[a]) + long(pb, heights[b]);
                if long(pa, heights[b]) + long(pb, heights[a]) < now - 1e-6 {
                    wanted.swap(a, b);
                    exchanged = true;
                }
            }
        }
        if !exchanged {
            return;
        }
    }
}

/// Heights at least [`PITCH`] apart and between `low` and `high`, each as near as may be to the one
/// wanted. `wanted` ascends and is no longer than there is room for.
fn spread(wanted: &[f64], low: f64, high: f64) -> Vec<f64> {
    // Blocks of labels that touch: how many and the height of the lowest.
    let mut blocks: Vec<(usize, f64)> = Vec::new();
    let mut sums: Vec<f64> = Vec::new();
    for &y in wanted {
        blocks.push((1, y));
        sums.push(y);
        // A block less each time.
        while let [.., a, b] = blocks[..] {
            if b.1 - a.1 >= PITCH * a.0 as f64 - 1e-9 {
                break;
            }
            blocks.pop();
            let sum = sums.pop().unwrap_or(0.0) - PITCH * (a.0 * b.0) as f64;
            let count = a.0 + b.0;
            let total = sums.pop().unwrap_or(0.0) + sum;
            sums.push(total);
            let lowest = total / count as f64;
            blocks.pop();
            blocks.push((count, lowest));
        }
    }
    let mut heights: Vec<f64> =
        blocks.iter().flat_map(|&(count, y)| (0..count).map(move |n| y + PITCH * n as f64)).collect();
    let mut floor = low;
    for y in &mut heights {
        *y = y.max(floor);
        floor = *y + PITCH;
    }
    let mut ceiling = high;
    for y in heights.iter_mut().rev() {
        *y = y.min(ceiling);
        ceiling = *y - PITCH;
    }
    heights
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_keep_apart_and_stay_near() {
        let heights = spread(&[10.0, 10.0, 11.0, 40.0], 0.0, 100.0);
        assert!(heights.windows(2).all(|h| h[1] - h[0] >= PITCH - 1e-9), "{heights:?}");
        assert!((heights[1] - 31.0 / 3.0).abs() < 1e-9 && heights[3] == 40.0, "{heights:?}");
        let low = spread(&[-5.0, -5.0], 0.0, 100.0);
        assert_eq!(low, [0.0, PITCH]);
        let high = spread(&[100.0, 100.0, 100.0], 0.0, 100.0);
        assert_eq!(high, [100.0 - 2.0 * PITCH, 100.0 - PITCH, 100.0]);
        assert!(spread(&[], 0.0, 1.0).is_empty());
    }
}
