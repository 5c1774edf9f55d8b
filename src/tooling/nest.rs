//! Parts laid out on sheets.

use crunch::{Item, PackedItem, Rotation};

use super::Part;
use crate::flat::{Point, Rect, path_extents};
use crate::spec::model::SheetStock;

/// Where a part lies: turned a quarter counter-clockwise about its origin or not, then shifted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nested {
    /// Which sheet, from 0.
    pub sheet: usize,
    /// Whether it is turned by a quarter.
    pub turned: bool,
    /// By how much it is shifted, mm from the sheet's lower left corner.
    pub by: Point,
}

impl Nested {
    /// Where a point of the part lies on its sheet.
    pub fn point(&self, of_part: Point) -> Point {
        let Point { x, y } = of_part;
        let (x, y) = if self.turned { (-y, x) } else { (x, y) };
        self.by.shifted(x, y)
    }
}

/// All parts of a work laid out.
#[derive(Debug, Clone, PartialEq)]
pub struct Nest {
    /// Where each part lies, in the order of the parts.
    pub parts: Vec<Nested>,
    /// Width and height of each sheet, mm: the stock's, or as much as a part needs that is larger.
    pub sheets: Vec<(f64, f64)>,
}

/// Steps that sizes are rounded up to for packing, mm.
const STEP_MM: f64 = 1e-3;

/// Parts of a sheet's width that are tried for what goes on one sheet.
const SHARES: usize = 24;

/// Lays parts out on sheets by their boxes, at least the stock's spacing apart and off the edge, and never
/// nearer than a kerf, for the cut round one part must not take from the next. A part that is larger than the
/// stock gets a sheet of its own of the size it needs.
pub fn nest(parts: &[Part], stock: &SheetStock) -> Nest {
    let boxes: Vec<Rect> = parts
        .iter()
        .map(|part| {
            path_extents(&part.outline).unwrap_or(Rect::new(Point::new(0.0, 0.0), Point::new(0.0, 0.0)))
        })
        .collect();
    let spacing = stock.spacing.max(stock.kerf);
    // Each part takes a spacing to its right and above; the sheet loses one to the left and below.
    let steps = |mm: f64| (mm / STEP_MM).max(0.0);
    let room = |mm: f64| steps(mm - spacing).floor() as usize;
    let want = |mm: f64| steps(mm + spacing).ceil() as usize;
    let (wide, high) = (room(stock.width), room(stock.height));
    let mut nest = Nest {
        parts: vec![Nested { sheet: 0, turned: false, by: Point::new(0.0, 0.0) }; parts.len()],
        sheets: Vec::new(),
    };
    let mut left = Vec::new();
    let mut large = Vec::new();
    for (index, bounds) in boxes.iter().enumerate() {
        let (w, h) = (want(bounds.width()), want(bounds.height()));
        if (w <= wide && h <= high) || (h <= wide && w <= high) {
            left.push((index, w, h));
        } else {
            large.push(index);
        }
    }
    // `left` loses every part packed, and all of them where none was.
    while !left.is_empty() {
        let packed = packed(&left, wide, high);
        // A part that fits an empty sheet is packed at least alone; were it not, it would be laid out as large.
        if packed.is_empty() {
            large.extend(left.drain(..).map(|(index, ..)| index));
            break;
        }
        for item in &packed {
            let Some(&(index, w, h)) = left.iter().find(|(index, ..)| *index == item.data) else { continue };
            let turned = (item.rect.w, item.rect.h) != (w, h);
            let corner = Point::new(item.rect.x as f64 * STEP_MM, item.rect.y as f64 * STEP_MM);
            let corner = corner.shifted(spacing, spacing);
            nest.parts[index] = laid(nest.sheets.len(), turned, corner, boxes[index]);
        }
        left.retain(|(index, ..)| !packed.iter().any(|item| item.data == *index));
        nest.sheets.push((stock.width, stock.height));
    }
    for index in large {
        let corner = Point::new(spacing, spacing);
        nest.parts[index] = laid(nest.sheets.len(), false, corner, boxes[index]);
        let grown = boxes[index].grown(spacing);
        nest.sheets.push((grown.width(), grown.height()));
    }
    nest
}

/// The sheet that a part needs where it is larger than the stock, turned or not, mm.
pub fn oversize(part: &Part, stock: &SheetStock) -> Option<(f64, f64)> {
    let alone = nest(std::slice::from_ref(part), stock);
    alone.sheets.first().copied().filter(|&size| size != (stock.width, stock.height))
}

/// As many boxes (number, width, height in steps) as go on a sheet. If all do, close together at its left, so
/// that the rest of the board stays whole.
fn packed(boxes: &[(usize, usize, usize)], wide: usize, high: usize) -> Vec<PackedItem<usize>> {
    let pack = |wide: usize| {
        let items = boxes.iter().map(|&(index, w, h)| Item::new(index, w, h, Rotation::Allowed));
        crunch::pack(crunch::Rect::of_size(wide, high), items)
    };
    (1..SHARES).find_map(|share| pack(wide / SHARES * share).ok()).unwrap_or_else(|| match pack(wide) {
        Ok(packed) | Err(packed) => packed,
    })
}

/// A part whose box's lower left corner, after turning, comes to lie at `corner`.
fn laid(sheet: usize, turned: bool, corner: Point, bounds: Rect) -> Nested {
    let low = if turned { Point::new(-bounds.max.y, bounds.min.x) } else { bounds.min };
    Nested { sheet, turned, by: corner.shifted(-low.x, -low.y) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flat::{Edge, Line, Path};
    use crate::spec::model::Workshop;

    fn plate(w: f64, h: f64) -> Part {
        // Off its origin, so that shifts are seen.
        let corners = [(3.0, -2.0), (3.0 + w, -2.0), (3.0 + w, h - 2.0), (3.0, h - 2.0)];
        let corners = corners.map(|(x, y)| Point::new(x, y));
        let edges = (0..4).map(|i| Edge::Line(Line { from: corners[i], to: corners[(i + 1) % 4] })).collect();
        let outline = Path { edges, closed: true };
        Part { name: format!("{w}x{h}"), outline, openings: vec![], marks: vec![] }
    }

    fn boxes(parts: &[Part], nest: &Nest) -> Vec<(usize, Rect)> {
        let on_sheet = |(part, place): (&Part, &Nested)| {
            let bounds = path_extents(&part.outline).unwrap();
            (place.sheet, Rect::new(place.point(bounds.min), place.point(bounds.max)))
        };
        parts.iter().zip(&nest.parts).map(on_sheet).collect()
    }

    #[test]
    fn parts_keep_their_distance_and_stay_on_the_sheet() {
        let stock = Workshop::default().sheet;
        let sizes =
            [(120.0, 80.0), (580.0, 60.0), (60.0, 390.0), (33.3, 47.7), (200.0, 200.0), (200.0, 180.0)];
        let parts: Vec<Part> = sizes.iter().cycle().take(20).map(|&(w, h)| plate(w, h)).collect();
        let nest = nest(&parts, &stock);
        let placed = boxes(&parts, &nest);
        for (index, (sheet, bounds)) in placed.iter().enumerate() {
            let (w, h) = nest.sheets[*sheet];
            assert_eq!((w, h), (stock.width, stock.height));
            assert!(
                bounds.min.x > 4.999
                    && bounds.min.y > 4.999
                    && bounds.max.x < w - 4.999
                    && bounds.max.y < h - 4.999
            );
            for (other, near) in placed.iter().skip(index + 1) {
                assert!(sheet != other || !bounds.grown(4.999).overlaps(near), "{bounds:?} {near:?}");
            }
        }
        // No more than twice the sheets that the areas alone would need.
        let area: f64 = placed.iter().map(|(_, b)| b.width() * b.height()).sum();
        assert!(nest.sheets.len() as f64 <= (2.0 * area / (stock.width * stock.height)).ceil());
    }

    #[test]
    fn few_parts_lie_together_and_leave_the_rest_of_the_sheet_whole() {
        let stock = Workshop::default().sheet;
        let parts: Vec<Part> = (0..10).map(|n| plate(60.0 + f64::from(n), 30.0)).collect();
        let nest = nest(&parts, &stock);
        let right = boxes(&parts, &nest).iter().map(|(_, bounds)| bounds.max.x).fold(0.0, f64::max);
        assert!(nest.sheets.len() == 1 && right < 80.0, "{right}");
    }

    #[test]
    fn what_fits_turned_is_turned_and_what_does_not_fit_gets_a_sheet_of_its_own() {
        let stock = Workshop::default().sheet;
        let parts = [plate(300.0, 580.0), plate(700.0, 100.0), plate(20.0, 20.0)];
        let nest = nest(&parts, &stock);
        assert!(nest.parts[0].turned && nest.parts[0].sheet == nest.parts[2].sheet);
        assert_eq!(nest.sheets, [(600.0, 400.0), (710.0, 110.0)]);
        assert_eq!(nest.parts[1].sheet, 1);
    }
}
