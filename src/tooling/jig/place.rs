//! Where uprights stand: each where it holds best and meets neither tube nor other uprights.

use super::Duty;
use super::pose::too_steep;
use super::stand::{Saddle, Stand, section_reach};
use super::tube::{Leg, Sample, TubeInJig};
use crate::geometry::{InnerSpace, Point3, Vector3};
use crate::spec::model::Workshop;

/// Between the stop and the datum end, mm: nothing, but for solids not to share a face.
const STOP_GAP_MM: f64 = 0.02;

/// Between a cradle and the bend it is next to, mm along the tube.
const TANGENT_MM: f64 = 1.0;

/// Between uprights and any other part of the tube, mm at least.
const PASS_MM: f64 = 1.0;

/// Between two uprights, mm at least.
const APART_MM: f64 = 2.0;

/// Board beside a saddle, mm: as wished, and the least in a tight place. So much stands under it, too.
const WALL_MM: f64 = 8.0;
const LEAST_WALL_MM: f64 = 4.0;

/// Step that a cradle is slid by to find room, mm.
const SLIDE_MM: f64 = 2.0;

/// Places tried for a cradle on one straight, at most: on a straight of more than 1 m they lie further apart.
const MOST_PLACES: usize = 500;

/// Uprights tried for one run's jig, however it is laid. When they are used up, what stands is taken.
const MOST_TRIED: usize = 60_000;

/// Foot of a tall upright over its height.
const FOOT: f64 = 0.35;

/// Below this slope (sine of about 0.5°) a straight counts as level.
const LEVEL: f64 = 0.009;

/// Uprights of one jig.
pub(super) struct Placed {
    /// The uprights, datum end first.
    pub stands: Vec<Stand>,
    /// Straights that should have a cradle and have none.
    pub dropped: usize,
}

/// Height that the lowest point of the tube must have so that enough board stands under every saddle, mm.
pub(super) fn lift(shop: &Workshop) -> f64 {
    // At 60° a saddle reaches twice the clearance below the tube.
    shop.jig.lift.max(WALL_MM + 2.0 * shop.jig.clearance)
}

/// Least board between two slots, mm.
fn web(thickness: f64) -> f64 {
    thickness / 2.0 + 2.0
}

/// How much looking for places a run's jig has had, by the uprights tried: the same on every machine.
#[derive(Debug, Default)]
pub(super) struct Effort(std::cell::Cell<usize>);

impl Effort {
    /// Counts an upright that is tried.
    pub(super) fn one_more(&self) {
        self.0.set(self.0.get() + 1);
    }

    /// Whether no more should be tried.
    pub(super) fn is_spent(&self) -> bool {
        self.0.get() >= MOST_TRIED
    }
}

/// Stands uprights along the tube.
///
/// # Errors
/// Why there can be no jig, in words that follow "has no checking jig: ".
pub(super) fn place(tube: &TubeInJig, shop: &Workshop, effort: &Effort) -> Result<Placed, &'static str> {
    let mut site = Site { tube, shop, effort, stands: Vec::new() };
    let (Some(first), Some(last)) = (tube.legs.first(), tube.legs.last()) else {
        return Err("it has no straight");
    };
    if first.piece != 0 || last.piece + 1 != tube.pieces {
        return Err("it begins or ends within a bend, and the stop and gate need a straight");
    }
    if too_steep(first.direction) || too_steep(last.direction) {
        return Err("an end stands too steep however it is laid");
    }
    site.end(first, Duty::Stop).ok_or("the tube is in the way of the stop at its datum end")?;
    site.end(last, Duty::Gate).ok_or("the tube is in the way of the gate at its end")?;
    let mut dropped = 0;
    // The ends first: they say where the tube's openings are and point.
    let mut order: Vec<&Leg> = vec![last];
    order.extend(tube.legs.iter().filter(|leg| leg.piece != last.piece));
    for leg in order {
        if !site.leg(leg, leg.piece == first.piece, leg.piece == last.piece) {
            dropped += 1;
        }
    }
    let mut stands = site.stands;
    if stands.iter().filter(|stand| stand.duty == Duty::Cradle).count() < 2 {
        return Err("there is room for fewer than two cradles");
    }
    in_order(&mut stands);
    Ok(Placed { stands, dropped })
}

/// Datum end first.
fn in_order(stands: &mut [Stand]) {
    let rank = |stand: &Stand| match stand.duty {
        Duty::Stop => 0,
        Duty::Cradle | Duty::Guard => 1,
        Duty::Gate => 2,
    };
    stands.sort_by(|a, b| rank(a).cmp(&rank(b)).then(a.station.total_cmp(&b.station)));
}

/// Stands a guard beyond the bend after each of these straights (by the number of the bend), as far off as the
/// gate stands off the end; where there is no room, none.
pub(super) fn guard(
    tube: &TubeInJig,
    shop: &Workshop,
    effort: &Effort,
    placed: &mut Placed,
    straights: &[usize],
) {
    let mut site = Site { tube, shop, effort, stands: std::mem::take(&mut placed.stands) };
    for number in straights {
        let Some(&piece) = number.checked_sub(1).and_then(|bend| tube.arcs.get(bend)) else { continue };
        let before = piece.checked_sub(1).and_then(|straight| tube.leg(straight));
        if let Some(leg) = before {
            site.guard(leg, piece);
        }
    }
    placed.stands = site.stands;
    in_order(&mut placed.stands);
}

/// The uprights that stand already.
struct Site<'a> {
    tube: &'a TubeInJig,
    shop: &'a Workshop,
    effort: &'a Effort,
    stands: Vec<Stand>,
}

/// A place of the tube that an upright belongs to.
#[derive(Clone, Copy)]
struct Spot {
    /// The straight or arc.
    piece: usize,
    /// Distance along the tube from the datum end, mm.
    station: f64,
    /// The centreline there.
    at: Point3,
    /// Unit direction of the tube there.
    direction: Vector3,
    /// Unit horizontal direction that the upright is square to.
    ahead: Vector3,
}

impl Spot {
    fn new(leg: &Leg, along: f64) -> Spot {
        Spot {
            piece: leg.piece,
            station: leg.station + along,
            at: leg.point(along),
            direction: leg.direction,
            ahead: level(leg),
        }
    }
}

/// How an upright is shaped where there is room for it, and where not.
#[derive(Clone, Copy)]
struct UprightShape {
    /// How far it reaches to each side, mm.
    arms: [f64; 2],
    /// Whether a tall one gets a wider foot.
    flared: bool,
    /// One tab in the middle, or two near the sides.
    one_tab: bool,
}

impl Site<'_> {
    /// Stands the first shape that fits.
    fn stand(&mut self, mut stands: impl Iterator<Item = Stand>) -> Option<()> {
        let found = stands.find(|stand| self.apart(stand) && self.parted(stand) && self.clear(stand))?;
        self.stands.push(found);
        Some(())
    }

    /// Whether an upright leaves room to the feet of the others.
    fn apart(&self, stand: &Stand) -> bool {
        let foot = stand.footprint();
        self.stands.iter().all(|other| {
            let next_to_gate = [stand.duty, other.duty].contains(&Duty::Gate) && stand.piece == other.piece;
            let apart = if next_to_gate { APART_MM.min(self.shop.jig.gate) } else { APART_MM };
            foot.distance_over(&other.footprint(), apart - 1e-6)
        })
    }

    /// Whether its slots leave board to those of the others.
    fn parted(&self, stand: &Stand) -> bool {
        let (fit, room) = (self.shop.sheet.slot_fit, web(self.shop.sheet.thickness));
        let near = |other: &&Stand| !stand.footprint().distance_over(&other.footprint(), room + fit.abs());
        self.stands
            .iter()
            .filter(near)
            .all(|other| stand.slots(fit).all(|a| other.slots(fit).all(|b| a.distance(&b) >= room - 1e-6)))
    }

    /// Whether the tube keeps off it.
    fn clear(&self, stand: &Stand) -> bool {
        self.effort.one_more();
        let jig = &self.shop.jig;
        let gap = if stand.duty == Duty::Stop { STOP_GAP_MM } else { jig.gate };
        !stand.meets(self.tube, PASS_MM.max(jig.gate), jig.clearance, gap - 1e-6)
    }

    /// The stop or the gate.
    fn end(&mut self, leg: &Leg, duty: Duty) -> Option<()> {
        let radius = self.tube.radius;
        let thickness = self.shop.sheet.thickness;
        let (along, sense, gap) = match duty {
            Duty::Gate => (leg.length, 1.0, self.shop.jig.gate),
            _ => (0.0, -1.0, STOP_GAP_MM),
        };
        let ahead = level(leg);
        let off = sense * (section_reach(leg.direction, ahead, radius) + gap + thickness / 2.0);
        let top = leg.point(along).z + radius + 2.0;
        let wide = (radius + 3.0).max(2.5 * thickness + web(thickness) + 4.0);
        let widths = [(wide, false), (radius + 3.0, true), (radius.max(6.0), true), (6.0, true)];
        let stands: Vec<Stand> = widths
            .into_iter()
            .flat_map(|(width, one_tab)| [true, false].map(|flared| (width, one_tab, flared)))
            .map(|(width, one_tab, flared)| {
                let shape = UprightShape { arms: [width, width], flared, one_tab };
                self.upright(Spot::new(leg, along), duty, off, top, shape, None)
            })
            .collect();
        self.stand(stands.into_iter())
    }

    /// A guard beyond an arc, square to the straight before it.
    fn guard(&mut self, leg: &Leg, piece: usize) -> Option<()> {
        let ahead = level(leg);
        let (radius, thickness) = (self.tube.radius, self.shop.sheet.thickness);
        let arc = self.tube.samples_of(piece).iter();
        let reach = |sample: &Sample| {
            (sample.at - leg.from).dot(ahead) + section_reach(sample.direction, ahead, radius)
        };
        let far = arc.max_by(|a, b| reach(a).total_cmp(&reach(b)))?;
        // Between two samples the bend may reach a little further; the gap is that much less there.
        let off = reach(far) - (far.at - leg.from).dot(ahead) + self.shop.jig.gate + thickness / 2.0;
        let spot = Spot { piece, station: far.station, at: far.at, direction: far.direction, ahead };
        let stands: Vec<Stand> = [radius + 3.0, radius.max(8.0), 6.0]
            .into_iter()
            .flat_map(|width| [true, false].map(|flared| (width, flared)))
            .map(|(width, flared)| {
                let shape = UprightShape { arms: [width, width], flared, one_tab: width < 3.0 * thickness };
                self.upright(spot, Duty::Guard, off, far.at.z + radius + 2.0, shape, None)
            })
            .collect();
        self.stand(stands.into_iter())
    }

    /// The cradles of a straight; whether it has at least one, or is too short for any.
    fn leg(&mut self, leg: &Leg, first: bool, last: bool) -> bool {
        if too_steep(leg.direction) {
            return false;
        }
        let thickness = self.shop.sheet.thickness;
        let (low, high) = self.reach(leg, first, last);
        if high < low - 1e-9 {
            return leg.length < thickness + 2.0;
        }
        let steps = ((high - low) / SLIDE_MM).ceil().clamp(1.0, MOST_PLACES as f64) as usize;
        let stations: Vec<f64> =
            (0..=steps).map(|step| low + (high - low) * step as f64 / steps as f64).collect();
        let two = high - low >= (thickness + web(thickness) + 1.0) / leg.level();
        if two {
            let split = stations.len().div_ceil(2);
            let from_end: Vec<f64> = stations.iter().rev().take(split).copied().collect();
            let far = self.cradle(leg, &from_end, last);
            let near = self.cradle(leg, &stations, false);
            return far.or(near).is_some();
        }
        let mut by_choice = stations;
        let best = if last { high } else { (low + high) / 2.0 };
        by_choice.push(best);
        by_choice.sort_by(|a, b| (a - best).abs().total_cmp(&(b - best).abs()).then(a.total_cmp(b)));
        self.cradle(leg, &by_choice, last).is_some()
    }

    /// Least and greatest distance from a straight's start of the middle of a cradle on it, mm.
    ///
    /// A sloping tube lies on a saddle's lower side, with its own underside; both are on the straight.
    fn reach(&self, leg: &Leg, first: bool, last: bool) -> (f64, f64) {
        let thickness = self.shop.sheet.thickness;
        let level = leg.level();
        let half = thickness / 2.0 / level;
        let under = self.tube.radius * leg.direction.z.abs() / level;
        let (before, after) = if leg.direction.z > 0.0 { (under, 0.0) } else { (0.0, under) };
        let flush = leg.direction.z.abs() < LEVEL;
        let start = if first { APART_MM } else { TANGENT_MM };
        let end = match last {
            true if flush => 0.0,
            _ => TANGENT_MM,
        };
        (start + half + before, leg.length - end - half - after)
    }

    /// A cradle at the first of some distances along a straight where one fits.
    fn cradle(&mut self, leg: &Leg, stations: &[f64], one_tab: bool) -> Option<()> {
        let radius = self.tube.radius + self.shop.jig.clearance;
        let [wish, least] = [WALL_MM.max(self.tube.radius), LEAST_WALL_MM].map(|wall| radius + wall);
        let some = (wish + least) / 2.0;
        let arms = [
            [wish, wish],
            [some, wish],
            [wish, some],
            [some, some],
            [least, wish],
            [wish, least],
            [least, least],
        ];
        let smallest = UprightShape { arms: [least, least], flared: false, one_tab: true };
        for &along in stations {
            if self.effort.is_spent() {
                return None;
            }
            // The others cover all that it does.
            let smallest = self.cradle_at(leg, along, smallest);
            if !self.apart(&smallest) || !self.clear(&smallest) {
                continue;
            }
            let shapes = arms.iter().flat_map(|&arms| {
                [(true, false), (true, true), (false, false), (false, true)]
                    .map(|(flared, one)| (arms, flared, one))
            });
            let stands: Vec<Stand> = shapes
                .filter(|(.., one)| *one || !one_tab)
                .map(|(arms, flared, one_tab)| {
                    self.cradle_at(leg, along, UprightShape { arms, flared, one_tab })
                })
                .collect();
            if self.stand(stands.into_iter()).is_some() {
                return Some(());
            }
        }
        None
    }

    fn cradle_at(&self, leg: &Leg, along: f64, shape: UprightShape) -> Stand {
        let thickness = self.shop.sheet.thickness;
        let (level, outer) = (leg.level(), self.tube.radius);
        let radius = outer + self.shop.jig.clearance;
        let rise = thickness / 2.0 * leg.direction.z.abs() / level;
        let z = leg.point(along).z;
        let chamfer = (shape.arms[0].min(shape.arms[1]) - radius).min(3.0) / 2.0;
        let saddle = Saddle { radius, centre: z - rise - radius / level + radius, chamfer };
        let top = z + rise + (0.6 * outer).max(2.0) + chamfer;
        self.upright(Spot::new(leg, along), Duty::Cradle, 0.0, top, shape, Some(saddle))
    }

    /// An upright whose middle plane is `off` mm ahead of a spot of the tube.
    fn upright(
        &self,
        spot: Spot,
        duty: Duty,
        off: f64,
        top: f64,
        shape: UprightShape,
        saddle: Option<Saddle>,
    ) -> Stand {
        let thickness = self.shop.sheet.thickness;
        let Spot { piece, station, at, direction, ahead } = spot;
        let UprightShape { arms, flared, one_tab } = shape;
        let bottom = saddle.map_or(top, |saddle| saddle.centre - saddle.radius);
        let wide = if flared { FOOT * top / 2.0 } else { 0.0 };
        let foot = arms.map(|arm| arm.max(wide));
        let foot_top = if foot == arms { 0.0 } else { 0.6 * bottom };
        Stand {
            duty,
            piece,
            station,
            at,
            direction,
            ahead,
            across: ahead.cross(Vector3::unit_z()),
            middle: Point3::new(at.x, at.y, 0.0) + ahead * off,
            thickness,
            tabs: tabs(foot, one_tab, thickness),
            arms,
            foot,
            foot_top,
            top,
            saddle,
        }
    }
}

/// A straight's direction seen from above.
fn level(leg: &Leg) -> Vector3 {
    Vector3::new(leg.direction.x, leg.direction.y, 0.0).normalize()
}

/// Tabs below a foot: one in the middle, or one near each side, by their middle and width, mm.
fn tabs(foot: [f64; 2], one: bool, thickness: f64) -> Vec<(f64, f64)> {
    let [left, right] = foot;
    let (middle, width) = ((right - left) / 2.0, left + right);
    let shoulder = 1.5;
    if one {
        // Below the tube where the plate is about even, so that the gate's stand on both sides.
        return vec![(middle, (width - 2.0 * shoulder).min(1.5 * thickness))];
    }
    let tab = (width / 4.0).clamp(thickness.min(width / 4.0), 4.0 * thickness);
    let off = width / 2.0 - shoulder - tab / 2.0;
    vec![(middle - off, tab), (middle + off, tab)]
}
