//! A half-bent tube: straights, turns and angles of the bends that are left, which make up for those that are made.

use super::seat::{BentTube, Miss, Seat};
use super::settle::{Free, Settled, settle};
use crate::centreline::TableRow;

/// An end that needs no more than this part of what its fittings forgive is where it should be.
const AS_DRAWN: f64 = 0.1;

/// Changes of a straight, mm, and of a turn or an angle, rad, that are as good as each other: 1 mm and 0.5°.
const SCALES: (f64, f64) = (1.0, 0.5 * std::f64::consts::PI / 180.0);

/// Furthest that a bend's angle is changed, rad: beyond 20° it is another run.
const FURTHEST: f64 = 20.0 * std::f64::consts::PI / 180.0;

/// A bend that is still to be made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Left {
    /// As it was planned.
    pub planned: TableRow,
    /// The least straight before it, mm.
    pub least: f64,
    /// The largest angle that it can have, rad.
    pub most: f64,
    /// The part of its arc's length that it takes less of tube.
    pub stretch: f64,
}

/// A tube that is bent in part.
#[derive(Debug, Clone)]
pub struct Begun<'s> {
    /// Its ports.
    pub seat: &'s Seat,
    /// The bends that are made, as they are.
    pub made: Vec<TableRow>,
    /// The straight tube behind the last of them, mm.
    pub behind: f64,
    /// Tube that was to be cut off at the first end once it is bent, mm.
    pub first_cut: f64,
    /// Most that can be cut off there, mm.
    pub most_cut: f64,
    /// The bends that are left.
    pub left: Vec<Left>,
    /// The straight at the last end as it was planned, and its least, mm.
    pub last: [f64; 2],
}

/// How to go on with a half-bent tube.
#[derive(Debug, Clone, PartialEq)]
pub struct Onwards {
    /// The whole tube as it is then to be, with its cuts.
    pub tube: BentTube,
    /// Turn of its first bend about the first end from the planned plane, rad.
    pub roll: f64,
    /// How far its last end is then off.
    pub miss: Miss,
    /// How many times what the fittings forgive it needs.
    pub needs: f64,
    /// Tube that is lacking at the last end, mm: it is so much shallower in its port.
    pub lacking: f64,
}

impl Begun<'_> {
    /// The way on that brings the last end nearest to its place.
    pub fn onwards(&self) -> Onwards {
        let open = self.settled(false);
        if self.spare(&open.numbers) >= 0.0 {
            return self.told(open, false);
        }
        // The tube is too short for that: its last end is where it ends.
        let short = self.settled(true);
        self.told(short, true)
    }

    /// The numbers: the first cut; straight, turn and angle of each bend; the last straight, unless the tube `is_used_up`.
    fn settled(&self, is_used_up: bool) -> Settled {
        let (mm, rad) = SCALES;
        let angle = |start: f64, least: f64, most: f64| Free { start, least, most, scale: rad };
        let mut free = vec![Free {
            start: self.first_cut.min(self.most_cut),
            least: 0.0,
            most: self.most_cut,
            scale: mm,
        }];
        for Left { planned, least, most, .. } in &self.left {
            let TableRow { length, rotation, angle: turn, .. } = *planned;
            free.push(Free { start: length.max(*least), least: *least, most: f64::MAX, scale: mm });
            free.push(angle(rotation, f64::MIN, f64::MAX));
            free.push(angle(turn, (turn - FURTHEST).max(0.05), (turn + FURTHEST).min(*most)));
        }
        if !is_used_up {
            let [planned, least] = self.last;
            free.push(Free { start: planned.max(least), least, most: f64::MAX, scale: mm });
        }
        let made = |numbers: &[f64]| self.tube(numbers);
        let exact = settle(self.seat, &made, &free, true);
        if exact.needs <= AS_DRAWN {
            return exact;
        }
        let eased = settle(self.seat, &made, &free, false);
        if eased.needs < exact.needs { eased } else { exact }
    }

    /// The tube of these numbers.
    fn tube(&self, numbers: &[f64]) -> BentTube {
        let mut rows = self.made.clone();
        let left = numbers.get(1..).unwrap_or_default().chunks(3);
        let mut last = None;
        let mut bends = self.left.iter();
        for chunk in left {
            match (chunk, bends.next()) {
                (&[length, rotation, angle], Some(bend)) => {
                    rows.push(TableRow { length, rotation, angle, ..bend.planned });
                }
                (&[straight], _) => last = Some(straight),
                _ => {}
            }
        }
        let rest = self.rest(&rows);
        let cut = last.map_or(0.0, |last| rest - last);
        BentTube { rows, rest, trimmed: [numbers.first().copied().unwrap_or_default(), cut] }
    }

    /// The straight that is left behind the last bend, mm, once all are made.
    fn rest(&self, rows: &[TableRow]) -> f64 {
        let later = rows.iter().skip(self.made.len()).zip(&self.left);
        let used: f64 =
            later.map(|(row, left)| row.length + (1.0 - left.stretch) * row.radius * row.angle).sum();
        self.behind - used
    }

    /// Tube to spare at the last end, mm.
    fn spare(&self, numbers: &[f64]) -> f64 {
        self.tube(numbers).trimmed[1]
    }

    fn told(&self, settled: Settled, is_used_up: bool) -> Onwards {
        let Settled { numbers, roll, miss, needs } = settled;
        let tube = self.tube(&numbers);
        let lacking = if is_used_up { (self.last[0] - tube.rest).max(0.0) } else { 0.0 };
        Onwards { tube, roll, miss, needs, lacking }
    }
}
