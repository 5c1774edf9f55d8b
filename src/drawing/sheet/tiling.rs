//! Cutting a drawing into windows that overlap, with the joints through straights where possible.

use crate::drawing::clip::clip_line;
use crate::drawing::extents::Rect;
use crate::drawing::item::{Line, Point};

/// How far neighbouring windows overlap, mm.
pub(crate) const OVERLAP: f64 = 10.0;

/// Cost of a bend in an overlap, in units of millimetres of straight tube.
pub(crate) const ARC_COST: f64 = 1e6;

/// Cost of a joint where there is no tube to join: more than any number of bends.
const OFF_COST: f64 = 1e12;

/// Most places tried for a joint.
const PLACES: u32 = 48;

/// A stretch of tube that a joint may cut, as one axis sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Cuttable {
    /// Lowest coordinate.
    pub(crate) from: f64,
    /// Highest coordinate.
    pub(crate) to: f64,
    /// Its length along the tube, mm.
    pub(crate) length: f64,
    /// The parts that a joint there would cut.
    pub(crate) cuts: Cuts,
}

/// The parts that a joint cuts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Cuts {
    /// Straight tube: the longer it is, the dearer a joint along it.
    Straight,
    /// A bend or its marks.
    Bend,
    /// The end of the drawing, where a piece would show next to nothing.
    End,
}

impl Cuttable {
    /// Cost here of a joint in the middle of the overlap `low` to `high`.
    fn cost(&self, low: f64, high: f64) -> f64 {
        let shared = self.to.min(high) - self.from.max(low);
        if shared <= 0.0 {
            return 0.0;
        }
        match self.cuts {
            Cuts::End => OFF_COST,
            Cuts::Bend => ARC_COST,
            // A joint that runs along a straight shows all of it twice; one across it, little.
            Cuts::Straight => self.length * shared / (self.to - self.from).max(shared),
        }
    }
}

/// The windows along one axis.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Windows {
    /// Where the first window starts.
    low: f64,
    /// Where the last one ends.
    high: f64,
    /// The widest a window may be.
    room: f64,
    /// Middles of the overlaps.
    joints: Vec<f64>,
}

impl Windows {
    /// Windows of at most `room` mm that cover `low` to `high`, `extra` more than as few as can be;
    /// with what their joints cost.
    pub(crate) fn new(low: f64, high: f64, room: f64, spans: &[Cuttable], extra: u32) -> (Windows, f64) {
        let count = Windows::count_for(high - low, room).saturating_add(extra);
        if count <= 1 {
            let middle = (low + high) / 2.0;
            return (
                Windows { low: middle - room / 2.0, high: middle + room / 2.0, room, joints: Vec::new() },
                0.0,
            );
        }
        let step = room - OVERLAP;
        let slack = (f64::from(count) * step + OVERLAP - (high - low)).max(0.0);
        let earliest = |k: u32| high - room + OVERLAP / 2.0 - f64::from(count - 1 - k) * step;
        let places = (slack / 2.0).ceil().clamp(1.0, f64::from(PLACES));
        let at = |k: u32, place: u32| earliest(k) + slack * f64::from(place) / places;
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 1 and PLACES")]
        let last = places as u32;
        // A later joint never lies further along its slack than an earlier one, or the window
        // between them would be too wide; nor so much less far that no window is left.
        let narrowest = 4.0 * OVERLAP;
        let fits = |before: u32, here: u32| {
            here <= before && step - slack * f64::from(before - here) / places >= narrowest
        };
        let mut best: Vec<(f64, Vec<u32>)> = Vec::new();
        for k in 1..count {
            let next = (0..=last)
                .map(|place| {
                    let joint = at(k, place);
                    let (from, to) = (joint - OVERLAP / 2.0, joint + OVERLAP / 2.0);
                    let own: f64 = spans.iter().map(|s| s.cost(from, to)).sum();
                    // Of equal places the middle one is best: it leaves room at both ends.
                    let off = (f64::from(place) / places - 0.5).abs() * 1e-3;
                    let before = (0..=last)
                        .filter(|&b| fits(b, place))
                        .filter_map(|b| best.get(usize::try_from(b).ok()?))
                        .min_by(|a, b| a.0.total_cmp(&b.0));
                    let (cost, mut chain) = before.cloned().unwrap_or_default();
                    chain.push(place);
                    (cost + own + off, chain)
                })
                .collect();
            best = next;
        }
        let (cost, chain) = best.into_iter().min_by(|a, b| a.0.total_cmp(&b.0)).unwrap_or_default();
        let joints: Vec<f64> = (1..count).zip(chain).map(|(k, place)| at(k, place)).collect();
        let first = joints.first().copied().unwrap_or(low);
        let final_joint = joints.last().copied().unwrap_or(high);
        let half = OVERLAP / 2.0;
        (Windows { low: first + half - room, high: final_joint - half + room, room, joints }, cost)
    }

    /// How many windows of `room` mm cover `length` mm.
    pub(crate) fn count_for(length: f64, room: f64) -> u32 {
        let count = ((length - OVERLAP) / (room - OVERLAP) - 1e-9).ceil().clamp(1.0, 1e9);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 1 and 1e9")]
        {
            count as u32
        }
    }

    /// Leaves out the first window.
    fn drop_first(&mut self) {
        self.joints.remove(0);
        self.low = self.joints.first().map_or(self.high, |joint| joint + OVERLAP / 2.0) - self.room;
    }

    /// Leaves out the last window.
    fn drop_last(&mut self) {
        self.joints.pop();
        self.high = self.joints.last().map_or(self.low, |joint| joint - OVERLAP / 2.0) + self.room;
    }

    /// How many windows there are.
    pub(crate) fn count(&self) -> usize {
        self.joints.len() + 1
    }

    /// Middles of the overlaps.
    pub(crate) fn joints(&self) -> &[f64] {
        &self.joints
    }

    /// From where to where window `index` shows the drawing.
    pub(crate) fn window(&self, index: usize) -> (f64, f64) {
        let (low, high) = self.cell(index);
        let before = if index == 0 { 0.0 } else { OVERLAP / 2.0 };
        let after = if index + 1 == self.count() { 0.0 } else { OVERLAP / 2.0 };
        (low - before, high + after)
    }

    /// The window up to the joints.
    pub(crate) fn cell(&self, index: usize) -> (f64, f64) {
        let before = index.checked_sub(1).and_then(|i| self.joints.get(i));
        (before.copied().unwrap_or(self.low), self.joints.get(index).copied().unwrap_or(self.high))
    }

    /// The windows whose cells share something with `from` to `to`, bounds included.
    fn indices(&self, from: f64, to: f64) -> std::ops::RangeInclusive<usize> {
        let first = self.joints.partition_point(|&joint| joint < from);
        let last = self.joints.partition_point(|&joint| joint <= to);
        first..=last
    }

    /// Where registration marks lie: on the joints, and as far inside the outer windows' edges.
    pub(crate) fn nodes(&self) -> Vec<f64> {
        let half = OVERLAP / 2.0;
        std::iter::once(self.low + half)
            .chain(self.joints.iter().copied())
            .chain([self.high - half])
            .collect()
    }
}

/// A drawing cut into windows.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Tiling {
    /// Columns, from the left.
    pub(crate) x: Windows,
    /// Rows, from the bottom.
    pub(crate) y: Windows,
    /// Windows with something in them, as (column, row from the bottom), in reading order.
    pub(crate) tiles: Vec<(usize, usize)>,
}

impl Tiling {
    /// Windows `room` (width, height) over `extents`, `extra` (columns, rows) more than needed; those
    /// none of the `lines` runs through are left out.
    pub(crate) fn new(
        extents: Rect,
        room: (f64, f64),
        extra: (u32, u32),
        spans: [&[Cuttable]; 2],
        lines: &[Line],
    ) -> (Tiling, f64) {
        let (x, x_cost) = Windows::new(extents.min.x, extents.max.x, room.0, spans[0], extra.0);
        let (y, y_cost) = Windows::new(extents.min.y, extents.max.y, room.1, spans[1], extra.1);
        let mut hit = vec![vec![false; x.count()]; y.count()];
        for line in lines {
            let bounds = Rect::new(line.from, line.to);
            for row in y.indices(bounds.min.y, bounds.max.y) {
                for column in x.indices(bounds.min.x, bounds.max.x) {
                    if let Some(seen) = hit.get_mut(row).and_then(|r| r.get_mut(column)) {
                        *seen = *seen || clip_line(line, &cell(&x, &y, column, row)).is_some();
                    }
                }
            }
        }
        let tiles = (0..y.count())
            .rev()
            .flat_map(|row| (0..x.count()).map(move |column| (column, row)))
            .filter(|&(column, row)| hit.get(row).and_then(|r| r.get(column)).is_some_and(|&seen| seen))
            .collect();
        let mut tiling = Tiling { x, y, tiles };
        tiling.trim();
        (tiling, x_cost + y_cost)
    }

    /// Leaves out outer columns and rows without a tile: letters and numbers start with the first sheet.
    fn trim(&mut self) {
        let columns = || self.tiles.iter().map(|tile| tile.0);
        let rows = || self.tiles.iter().map(|tile| tile.1);
        let (Some(left), Some(right)) = (columns().min(), columns().max()) else { return };
        let (Some(low), Some(high)) = (rows().min(), rows().max()) else { return };
        for _ in right + 1..self.x.count() {
            self.x.drop_last();
        }
        for _ in high + 1..self.y.count() {
            self.y.drop_last();
        }
        (0..left).for_each(|_| self.x.drop_first());
        (0..low).for_each(|_| self.y.drop_first());
        for tile in &mut self.tiles {
            *tile = (tile.0 - left, tile.1 - low);
        }
    }

    /// The items that a tile shows.
    pub(crate) fn window(&self, (column, row): (usize, usize)) -> Rect {
        let ((left, right), (low, high)) = (self.x.window(column), self.y.window(row));
        Rect::new(Point::new(left, low), Point::new(right, high))
    }

    /// The items that only this tile shows.
    pub(crate) fn own(&self, (column, row): (usize, usize)) -> Rect {
        let Rect { mut min, mut max } = cell(&self.x, &self.y, column, row);
        let half = OVERLAP / 2.0;
        min.x += if column > 0 { half } else { 0.0 };
        min.y += if row > 0 { half } else { 0.0 };
        max.x -= if column + 1 < self.x.count() { half } else { 0.0 };
        max.y -= if row + 1 < self.y.count() { half } else { 0.0 };
        Rect { min, max }
    }

    /// Whether a printed tile shows a point.
    pub(crate) fn shows(&self, p: Point) -> bool {
        self.tiles.iter().any(|&tile| self.window(tile).grown(1e-6).has(p))
    }

    /// "B2": columns are letters from the left, rows numbers from the top.
    pub(crate) fn label(&self, (column, row): (usize, usize)) -> String {
        format!("{}{}", letters(column), self.y.count() - row)
    }

    /// Whether a tile is printed.
    pub(crate) fn has(&self, tile: (usize, usize)) -> bool {
        self.tiles.contains(&tile)
    }
}

fn cell(x: &Windows, y: &Windows, column: usize, row: usize) -> Rect {
    let ((left, right), (low, high)) = (x.cell(column), y.cell(row));
    Rect::new(Point::new(left, low), Point::new(right, high))
}

/// A, B … Z, AA, AB …
pub(crate) fn letters(index: usize) -> String {
    let own = char::from(b'A' + u8::try_from(index % 26).unwrap_or(0));
    match (index / 26).checked_sub(1) {
        Some(before) => format!("{}{own}", letters(before)),
        None => own.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn letters_go_on_after_z() {
        assert_eq!([0, 25, 26, 701, 702].map(letters), ["A", "Z", "AA", "ZZ", "AAA"]);
    }

    #[test]
    fn a_joint_moves_off_a_bend() {
        let bend = Cuttable { from: 90.0, to: 130.0, length: 60.0, cuts: Cuts::Bend };
        let straight = Cuttable { from: 0.0, to: 90.0, length: 90.0, cuts: Cuts::Straight };
        let (axis, cost) = Windows::new(0.0, 220.0, 150.0, &[straight, bend], 0);
        assert_eq!(axis.count(), 2);
        let joint = axis.joints()[0];
        assert!(joint + 5.0 <= 90.0 || joint - 5.0 >= 130.0, "{joint}");
        assert!(cost < ARC_COST);
    }

    proptest! {
        #[test]
        fn windows_cover_everything_and_are_as_few_as_the_plain_grid(
            low in -500.0..500.0_f64, length in 1.0..3000.0_f64, room in 90.0..400.0_f64,
            bends in prop::collection::vec((0.0..1.0, 5.0..80.0), 0..6), extra in 0..2_u32,
        ) {
            let high = low + length;
            let spans: Vec<Cuttable> = bends
                .iter()
                .map(|&(share, long)| {
                    let from = low + share * length;
                    Cuttable { from, to: from + long, length: long, cuts: Cuts::Bend }
                })
                .collect();
            let (axis, _) = Windows::new(low, high, room, &spans, extra);
            let plain = if length <= room { 1.0 } else { ((length - OVERLAP) / (room - OVERLAP) - 1e-9).ceil() };
            prop_assert_eq!(axis.count() as f64, plain + f64::from(extra));
            prop_assert!(axis.window(0).0 <= low + 1e-6);
            prop_assert!(axis.window(axis.count() - 1).1 >= high - 1e-6);
            for index in 0..axis.count() {
                let (from, to) = axis.window(index);
                prop_assert!(to - from <= room + 1e-6, "window {} is {} wide", index, to - from);
                prop_assert!(to - from >= 2.0 * OVERLAP);
                if index > 0 {
                    let before = axis.window(index - 1).1;
                    prop_assert!((before - from - OVERLAP).abs() < 1e-6);
                }
            }
        }
    }
}
