//! The tube as a jig sees it: straights to hold it by, and fine samples of everything else.

use crate::centreline::{Bend, Centreline, Segment};
use crate::geometry::{Point3, Vector3};
use crate::tooling::jig::quad::length;
use crate::tooling::jig::region::Region;

/// Distance of two samples along a bend or a straight, mm at most. Between two samples of a bend of radius R
/// the tube reaches no further than 1/(8 R) mm beyond the balls round them.
const SAMPLE_MM: f64 = 1.0;

/// Most samples of one straight or bend.
const MOST_SAMPLES: f64 = 20_000.0;

/// A straight of the tube.
#[derive(Debug, Clone, Copy)]
pub(super) struct Leg {
    /// Its number among straights and arcs.
    pub piece: usize,
    /// Start.
    pub from: Point3,
    /// Unit direction of travel.
    pub direction: Vector3,
    /// Length, mm.
    pub length: f64,
    /// Distance of its start from the datum end along the tube, mm.
    pub station: f64,
}

impl Leg {
    /// The point this far along the leg, mm.
    pub(super) fn point(&self, along: f64) -> Point3 {
        self.from + self.direction * along
    }

    /// Length of its direction seen from above: the cosine of its slope.
    pub(super) fn level(&self) -> f64 {
        length(self.direction.x, self.direction.y)
    }
}

/// A point of the centreline.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sample {
    /// Where.
    pub at: Point3,
    /// Unit direction of travel.
    pub direction: Vector3,
    /// The straight or arc it is on.
    pub piece: usize,
    /// Distance along the tube from the datum end, mm.
    pub station: f64,
}

/// The samples of a straight or an arc: `steps` + 1 of them, evenly spaced.
#[derive(Debug, Clone)]
struct Stride {
    piece: usize,
    segment: Segment,
    /// Distance of its start from the datum end along the tube, mm.
    station: f64,
    length: f64,
    steps: usize,
    /// Samples before its own.
    before: usize,
    /// An arc's, worked out once; those of a straight are worked out where they are asked for.
    samples: Vec<Sample>,
    /// Box round the samples.
    low: Point3,
    high: Point3,
}

impl Stride {
    fn new(piece: usize, segment: Segment, station: f64, before: usize, radius: f64) -> Stride {
        let length = segment.length();
        let steps = (length / SAMPLE_MM.min(radius / 3.0)).ceil().clamp(1.0, MOST_SAMPLES) as usize;
        let at = segment.start();
        let mut span =
            Stride { piece, segment, station, length, steps, before, samples: Vec::new(), low: at, high: at };
        match segment {
            Segment::Straight { .. } => span.cover(segment.end()),
            Segment::Arc { .. } => {
                span.samples = (0..=steps).map(|step| span.sample(step)).collect();
                for step in 0..=steps {
                    span.cover(span.samples[step].at);
                }
            }
        }
        span
    }

    fn cover(&mut self, p: Point3) {
        self.low = Point3::new(self.low.x.min(p.x), self.low.y.min(p.y), self.low.z.min(p.z));
        self.high = Point3::new(self.high.x.max(p.x), self.high.y.max(p.y), self.high.z.max(p.z));
    }

    fn sample(&self, step: usize) -> Sample {
        if let Some(known) = self.samples.get(step) {
            return *known;
        }
        let along = self.length * step as f64 / self.steps as f64;
        let (at, direction) = self.segment.place_at(along);
        Sample { at, direction, piece: self.piece, station: self.station + along }
    }

    /// Whether a sample within a region passes a test. Those outside it may be asked, too.
    fn any(&self, region: &Region, test: &impl Fn(&Sample) -> bool) -> bool {
        if !region.meets_box(self.low, self.high) {
            return false;
        }
        match self.segment {
            Segment::Arc { .. } => self.samples.iter().any(test),
            Segment::Straight { from, direction, length } => {
                let Some((first, last)) = region.part_of_line(from, direction, length) else { return false };
                let per_mm = self.steps as f64 / self.length;
                let [first, last] =
                    [(first * per_mm).floor(), (last * per_mm).ceil()].map(|step| step as usize);
                (first..=last.min(self.steps)).any(|step| test(&self.sample(step)))
            }
        }
    }

    /// The points of the samples whose number in the whole tube is a multiple of `nth`; of a straight the first and
    /// the last of them, between which the others lie.
    fn points(&self, nth: usize) -> impl Iterator<Item = Point3> + '_ {
        let first = self.before.next_multiple_of(nth) - self.before;
        let straight = matches!(self.segment, Segment::Straight { .. });
        let last = first + self.steps.saturating_sub(first) / nth * nth;
        let stride = if straight { (last - first).max(1) } else { nth };
        (first..=self.steps)
            .step_by(stride)
            .take_while(move |step| *step <= last)
            .map(|step| self.sample(step).at)
    }
}

/// A tube in the jig's space.
#[derive(Debug, Clone)]
pub(super) struct TubeInJig {
    /// Outer radius, mm.
    pub radius: f64,
    /// Its straights.
    pub legs: Vec<Leg>,
    /// Its bends.
    pub bends: Vec<Bend>,
    /// For each bend, the number of its arc among straights and arcs.
    pub arcs: Vec<usize>,
    /// Number of straights and arcs.
    pub pieces: usize,
    /// Length along the centreline, mm.
    pub length: f64,
    spans: Vec<Stride>,
    /// For each straight or arc, the number of its leg.
    legs_of: Vec<Option<usize>>,
}

impl TubeInJig {
    /// The tube of an outer radius (mm) along a centreline.
    pub(super) fn new(centreline: &Centreline, radius: f64) -> TubeInJig {
        let mut tube = TubeInJig {
            radius,
            legs: Vec::new(),
            bends: centreline.bends().to_vec(),
            arcs: Vec::new(),
            pieces: centreline.segments().len(),
            length: centreline.length(),
            spans: Vec::with_capacity(centreline.segments().len()),
            legs_of: Vec::with_capacity(centreline.segments().len()),
        };
        let (mut station, mut before) = (0.0, 0);
        for (piece, segment) in centreline.segments().iter().enumerate() {
            let leg = match *segment {
                Segment::Straight { from, direction, length } => {
                    tube.legs.push(Leg { piece, from, direction, length, station });
                    Some(tube.legs.len() - 1)
                }
                Segment::Arc { .. } => {
                    tube.arcs.push(piece);
                    None
                }
            };
            tube.legs_of.push(leg);
            let span = Stride::new(piece, *segment, station, before, radius);
            before += span.steps + 1;
            station += span.length;
            tube.spans.push(span);
        }
        tube
    }

    /// The first and the last sample.
    pub(super) fn ends(&self) -> Option<[Sample; 2]> {
        let (first, last) = (self.spans.first()?, self.spans.last()?);
        Some([first.sample(0), last.sample(last.steps)])
    }

    /// Whether any sample within a region passes a test; some outside it may be asked, too.
    pub(super) fn any_in(&self, region: &Region, test: impl Fn(&Sample) -> bool) -> bool {
        self.spans.iter().any(|span| span.any(region, &test))
    }

    /// The samples of an arc, by its number among straights and arcs.
    pub(super) fn samples_of(&self, piece: usize) -> &[Sample] {
        self.spans.get(piece).map_or(&[], |span| &span.samples)
    }

    /// Every `nth` sample's point, but of a straight only the outer two of them.
    pub(super) fn points(&self, nth: usize) -> impl Iterator<Item = Point3> + '_ {
        self.spans.iter().flat_map(move |span| span.points(nth))
    }

    /// How many samples there are.
    pub(super) fn samples(&self) -> usize {
        self.spans.last().map_or(0, |span| span.before + span.steps + 1)
    }

    /// Height of the lowest point of the tube's outside, mm.
    ///
    /// It is at an end's rim or where the centreline runs level within a bend: a surface's lowest point has a
    /// plumb normal, which is square to the centreline.
    pub(super) fn lowest(&self) -> f64 {
        let rims = self
            .ends()
            .into_iter()
            .flatten()
            .map(|s| s.at.z - self.radius * s.direction.x.hypot(s.direction.y));
        let bellies = self.bends.iter().filter_map(|bend| {
            let spoke = bend.axis.cross(bend.direction_in) * -bend.radius;
            let along = bend.direction_in * bend.radius;
            // z = centre + cos θ spoke.z + sin θ along.z, lowest opposite to its phase.
            let phase = along.z.atan2(spoke.z) + std::f64::consts::PI;
            let phase = phase.rem_euclid(std::f64::consts::TAU);
            let low = bend.centre.z - spoke.z.hypot(along.z) - self.radius;
            (phase <= bend.angle).then_some(low)
        });
        // A level straight between bends.
        let legs = self
            .legs
            .iter()
            .flat_map(|leg| [leg.from.z, leg.point(leg.length).z].map(|z| z - self.radius * leg.level()));
        rims.chain(bellies).chain(legs).fold(f64::INFINITY, f64::min)
    }

    /// The leg that is this piece.
    pub(super) fn leg(&self, piece: usize) -> Option<&Leg> {
        self.legs.get((*self.legs_of.get(piece)?)?)
    }
}

/// An error of a tube beyond a point: turned about an axis through a centre, then shifted.
#[derive(Debug, Clone, Copy)]
pub(super) enum Wrong {
    /// A bend is turned further by an angle.
    Turned {
        /// Centre of the bend.
        centre: Point3,
        /// Its axis.
        axis: Vector3,
        /// Sine and cosine of the angle.
        by: (f64, f64),
    },
    /// A straight is longer.
    Longer(Vector3),
}

impl Wrong {
    /// Where a point beyond comes to lie.
    pub(super) fn point(&self, p: Point3) -> Point3 {
        match *self {
            Wrong::Turned { centre, .. } => centre + self.vector(p - centre),
            Wrong::Longer(by) => p + by,
        }
    }

    /// Where a direction beyond comes to point.
    pub(super) fn vector(&self, v: Vector3) -> Vector3 {
        match *self {
            Wrong::Turned { axis, by, .. } => crate::geometry::turned_by(v, axis, by),
            Wrong::Longer(_) => v,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::InnerSpace;
    use crate::testing::table_run;

    #[test]
    fn no_sample_in_a_region_is_missed() {
        let rows = [(80.0, 0.0, 90.0), (0.4, 70.0, 180.0), (60.0, -100.0, 33.0)];
        let tube = TubeInJig::new(&table_run("a", 30.0, &rows, 90.0).centreline, 5.0);
        let all: Vec<Sample> =
            tube.spans.iter().flat_map(|span| (0..=span.steps).map(|step| span.sample(step))).collect();
        assert_eq!(all.len(), tube.samples());
        let mut asked_of = 0;
        for n in 0..300 {
            let at = |k: usize| f64::from(u32::try_from(n * k % 101).unwrap_or(0)) / 101.0;
            let (sin, cos) = (at(37) * std::f64::consts::TAU).sin_cos();
            let region = Region {
                middle: Point3::new(at(11) * 150.0, at(23) * 150.0 - 40.0, 0.0),
                across: Vector3::new(cos, sin, 0.0),
                ahead: Vector3::new(-sin, cos, 0.0),
                sides: [3.0 + at(5) * 20.0, 3.0 + at(7) * 20.0],
                depth: 2.0 + at(13) * 10.0,
                top: at(17) * 80.0 - 10.0,
            };
            let inside = |sample: &Sample| {
                let from = sample.at - region.middle;
                let (u, n) = (from.dot(region.across), from.dot(region.ahead));
                u > -region.sides[0]
                    && u < region.sides[1]
                    && n.abs() < region.depth
                    && sample.at.z < region.top
            };
            let asked = std::cell::RefCell::new(Vec::new());
            assert!(!tube.any_in(&region, |sample| {
                asked.borrow_mut().push((sample.piece, sample.station));
                false
            }));
            let asked = asked.into_inner();
            asked_of += asked.len();
            for sample in all.iter().filter(|sample| inside(sample)) {
                assert!(asked.contains(&(sample.piece, sample.station)), "{n}: {sample:?}");
            }
        }
        assert!(asked_of > 0 && asked_of < all.len() * 100, "{asked_of} of {} samples", all.len());
    }

    #[test]
    fn every_nth_point_is_that_of_all_samples_but_within_straights() {
        let tube = TubeInJig::new(
            &table_run("a", 30.0, &[(80.3, 0.0, 90.0), (7.0, 70.0, 120.0)], 45.0).centreline,
            5.0,
        );
        let all: Vec<Sample> =
            tube.spans.iter().flat_map(|span| (0..=span.steps).map(|step| span.sample(step))).collect();
        for nth in [1, 4, 10, 37] {
            let mut expected: Vec<Point3> = Vec::new();
            for span in &tube.spans {
                let own: Vec<Point3> = (all.iter().enumerate())
                    .filter(|(n, sample)| n % nth == 0 && sample.piece == span.piece)
                    .map(|(_, sample)| sample.at)
                    .collect();
                match (span.segment, own.as_slice()) {
                    (Segment::Straight { .. }, [first, .., last]) => expected.extend([*first, *last]),
                    _ => expected.extend(own),
                }
            }
            assert_eq!(tube.points(nth).collect::<Vec<_>>(), expected, "every {nth}");
        }
    }
}
