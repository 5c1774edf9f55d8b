//! Random free ways against those that the search says are the best: no way of as many bends or fewer is better.
//!
//! `TUBEWRIGHT_SCENES` and `TUBEWRIGHT_WAYS` are the numbers of scenes and of free ways in each: 200 and 20000 take
//! some minutes with `cargo test --release`.

use std::f64::consts::PI;
use std::fmt::Write;

use microlp::{ComparisonOp, OptimizationDirection, Problem as Programme};
use rayon::prelude::*;
use tubewright::centreline::{Centreline, CornerPoint, from_corners};
use tubewright::fit::Surroundings;
use tubewright::geometry::{EuclideanSpace, InnerSpace, Point3, Vector3, angle_between};
use tubewright::route::{Answer, Asked, Problem, Proof, Wishes, search};
use tubewright::spec::model::{Component, Directions, Run, Shape};

use crate::support::Chance;
use crate::support::testing::{end, table_run};

const OD: f64 = 15.0;
const CLR: f64 = 55.0;
const GRIP: f64 = 30.0;
const LEAD_OUT: f64 = 15.0;
const MAX_BENDS: usize = 4;

/// The search keeps thousandths of a millimetre of every leg for corners written with three decimals, mm.
const ROUNDING: f64 = 0.05;

/// Lengths nearer to each other than this are the same, mm.
const SAME: f64 = 1e-6;

/// Legs are drawn up to so much longer than they must be, mm.
const ROOM: f64 = 500.0;

/// Corners of its room of lengths that are kept of a sequence, the shortest first.
const VERTICES: usize = 10;

/// A way that slips past other edges than the search's may save so much tube, mm.
const PAST_AN_EDGE: f64 = 0.5;

/// Draws for each free way at the most: some scenes leave little room.
const DRAWS: usize = 60;

/// Directions along the axes; with those halfway between two of them.
fn directions(with_diagonals: bool) -> Vec<Vector3> {
    let parts = [-1, 0, 1];
    let all = parts.iter().flat_map(|x| parts.iter().flat_map(move |y| parts.map(|z| [*x, *y, z])));
    let most = if with_diagonals { 2 } else { 1 };
    all.filter(|way| (1..=most).contains(&way.iter().filter(|part| **part != 0).count()))
        .map(|way| Vector3::from(way.map(f64::from)).normalize())
        .collect()
}

/// Two ends and boxes about them.
struct Scene {
    run: Run,
    /// Bend angles, rad.
    angles: Vec<f64>,
    boxes: Vec<[[f64; 3]; 2]>,
    components: Vec<Component>,
}

impl Scene {
    fn drawn(seed: u64, boxes: usize) -> Self {
        // Seeds that are neighbours begin far from each other: multiples of the golden ratio.
        let mut chance = Chance(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15));
        let with_diagonals = seed % 2 == 1;
        let all = directions(with_diagonals);
        let mut run = table_run("r", CLR, &[], 100.0).run;
        (run.bender.grip, run.bender.lead_out) = (GRIP, LEAD_OUT);
        let mut ends = [[0.0; 3], [0, 1, 2].map(|_| chance.between(-300.0, 400.0).round())]
            .map(|at| (at, *chance.pick(&all)))
            .map(|(at, facing)| tubewright::spec::model::End { facing: Some(facing), ..end(at) });
        let [first, last] = &mut ends;
        (run.from, run.to) = (Some(first.clone()), Some(last.clone()));
        let angles = if with_diagonals { vec![45.0, 90.0] } else { vec![90.0] };
        let mut scene = Scene {
            run,
            angles: angles.into_iter().map(f64::to_radians).collect(),
            boxes: Vec::new(),
            components: Vec::new(),
        };
        let stubs: Vec<Centreline> = ends
            .iter()
            .filter_map(|end| from_corners(end.at, &[], end.at + end.facing? * 40.0).ok())
            .collect();
        for number in 0..boxes {
            let middle = [0, 1, 2].map(|_| chance.between(-350.0, 450.0));
            let half = [0, 1, 2].map(|_| chance.between(10.0, 90.0));
            let corner = |sign: f64| [0, 1, 2].map(|k| (middle[k] + sign * half[k]).round());
            let corners = [corner(-1.0), corner(1.0)];
            let shape = Shape::square(Point3::from(corners[0]), Point3::from(corners[1]));
            let one = Component::new(format!("b{number}"), vec![shape], vec![]);
            let alone = Surroundings::new(std::slice::from_ref(&one), &[]);
            if stubs.iter().all(|stub| alone.breaches(&scene.run, stub, &[], 4.0).is_empty()) {
                scene.boxes.push(corners);
                scene.components.push(one);
            }
        }
        scene
    }

    fn ends(&self) -> [(Point3, Vector3); 2] {
        [&self.run.from, &self.run.to].map(|end| {
            let end = end.as_ref().unwrap();
            (end.at, end.facing.unwrap())
        })
    }

    fn answer(&self) -> Answer {
        let wishes = Wishes {
            max_bends: MAX_BENDS,
            angles: self.angles.clone(),
            directions: Directions::Axes,
            clearance: 0.0,
            through: Vec::new(),
        };
        let problem = Problem::new(&self.run, CLR, wishes).unwrap();
        search(&problem, &Surroundings::new(&self.components, &[]), &Asked::new(1, 30_000, &[]))
    }

    /// Every sequence of legs with so many bends at the most.
    fn sequences(&self, most: usize) -> Vec<Vec<Vector3>> {
        let [(_, first), (_, facing)] = self.ends();
        let is_bend = |a: Vector3, b: Vector3| {
            let angle = angle_between(a, b);
            self.angles.iter().any(|wished| (angle - wished).abs() < 1e-6)
        };
        let all = directions(self.angles.len() > 1);
        let mut found = Vec::new();
        let mut begun = vec![vec![first]];
        for _ in 0..most {
            let last = begun.iter().filter(|legs| is_bend(legs[legs.len() - 1], -facing));
            found.extend(last.map(|legs| [legs.clone(), vec![-facing]].concat()));
            begun = begun
                .iter()
                .flat_map(|legs| all.iter().map(move |way| (legs, *way)))
                .filter(|(legs, way)| is_bend(legs[legs.len() - 1], *way))
                .map(|(legs, way)| [legs.clone(), vec![way]].concat())
                .collect();
        }
        found
    }

    /// The tube along legs of these lengths, where it is one: with the straights that bender and ends ask for, clear
    /// of the boxes and of itself.
    fn free(&self, surroundings: &Surroundings<'_>, legs: &[Vector3], lengths: &[f64]) -> Option<Centreline> {
        let [(from, facing), (to, other)] = self.ends();
        let line = line_along(from, to, legs, lengths)?;
        let straights = line.straights();
        let (first, last) = (straights[0], straights[straights.len() - 1]);
        let is_held = first.max(last) >= GRIP - SAME && first.min(last) >= LEAD_OUT - SAME;
        let is_gripped = straights[1..straights.len() - 1].iter().all(|straight| *straight >= GRIP - SAME);
        let is_along = (line.start_direction() - facing).magnitude() < 1e-6
            && (line.end_direction() + other).magnitude() < 1e-6;
        let is_bent = line.bends().len() + 1 == legs.len()
            && line.bends().iter().all(|b| self.angles.iter().any(|angle| (b.angle - angle).abs() < 1e-6));
        let is_clear = || {
            Surroundings::to_itself(&line, OD).is_none_or(|near| near >= 0.0)
                && surroundings.breaches(&self.run, &line, &[], 0.0).is_empty()
        };
        (is_held && is_gripped && is_along && is_bent && is_clear()).then_some(line)
    }

    /// The scene as a reader can build it again.
    fn words(&self) -> String {
        let mut words = format!("{:?} {:?}", self.ends(), self.angles);
        self.boxes.iter().for_each(|corners| write!(words, " {corners:?}").unwrap());
        words
    }

    /// Whether every straight and part of a bend lies beyond one plane of each box: the ways that the proof is for.
    fn is_beyond_planes(&self, line: &Centreline) -> bool {
        let pieces = pieces(line);
        self.boxes.iter().all(|bounds| pieces.iter().all(|piece| is_beyond(piece, bounds)))
    }
}

/// Directions of a piece's legs and of its chord, and points whose hull holds its centreline.
struct Piece {
    ways: Vec<Vector3>,
    points: Vec<Point3>,
}

/// The straights of a line, and its bends in parts of 11.25° at the most.
fn pieces(line: &Centreline) -> Vec<Piece> {
    let mut all = Vec::new();
    let (mut at, mut way) = (line.start(), line.start_direction());
    for bend in line.bends() {
        all.push(Piece { ways: vec![way], points: vec![at, line.point_at(bend.start)] });
        let parts = (bend.angle / (PI / 16.0)).round();
        let (arc, part) = (bend.arc_length() / parts, bend.angle / parts);
        for number in 0..parts as usize {
            let [from, to] = [number, number + 1].map(|end| line.point_at(bend.start + arc * end as f64));
            // The lines along both ends cross above the middle of the chord.
            let out = (from.midpoint(to) - bend.centre).normalize();
            let crown = bend.centre + out * (bend.radius / (part / 2.0).cos());
            let ways = vec![bend.direction_in, bend.direction_out, (to - from).normalize()];
            all.push(Piece { ways, points: vec![from, crown, to] });
        }
        (at, way) = (line.point_at(bend.end()), bend.direction_out);
    }
    all.push(Piece { ways: vec![way], points: vec![at, line.end()] });
    all
}

/// Whether the tube of a piece lies beyond a face of a box, beyond a plane along one of its edges and a leg or chord, or
/// beyond one halfway between the faces of an edge along the leg.
fn is_beyond(piece: &Piece, [min, max]: &[[f64; 3]; 2]) -> bool {
    let axes = [Vector3::unit_x(), Vector3::unit_y(), Vector3::unit_z()];
    let mut normals = axes.to_vec();
    for way in &piece.ways {
        for (index, axis) in axes.iter().enumerate() {
            let beside = way.cross(*axis);
            if beside.magnitude() > 1e-6 {
                normals.push(beside);
            } else {
                let (u, v) = (axes[(index + 1) % 3], axes[(index + 2) % 3]);
                normals.extend([u + v, u - v]);
            }
        }
    }
    normals.into_iter().map(InnerSpace::normalize).flat_map(|normal| [normal, -normal]).any(|normal| {
        let reach: f64 = (0..3).map(|k| (normal[k] * min[k]).max(normal[k] * max[k])).sum();
        let along = |p: &Point3| normal.x * p.x + normal.y * p.y + normal.z * p.z;
        piece.points.iter().all(|point| along(point) >= reach + OD / 2.0)
    })
}

fn line_along(from: Point3, to: Point3, legs: &[Vector3], lengths: &[f64]) -> Option<Centreline> {
    let mut at = from;
    let mut corners = Vec::with_capacity(legs.len());
    for (leg, length) in legs.iter().zip(lengths).take(legs.len() - 1) {
        at += *leg * *length;
        corners.push(CornerPoint { at, radius: CLR });
    }
    from_corners(from, &corners, to).ok()
}

/// Bends, planes and length: less is better.
type Merit = (usize, usize, f64);

fn merit(line: &Centreline) -> Merit {
    (line.bends().len(), line.plane_groups().len(), line.length())
}

fn is_better(a: Merit, b: Option<Merit>) -> bool {
    b.is_none_or(|b| (a.0, a.1) < (b.0, b.1) || ((a.0, a.1) == (b.0, b.1) && a.2 < b.2 - ROUNDING))
}

/// A sequence of legs with one order of bending, and the room of its lengths.
struct Family {
    legs: Vec<Vector3>,
    planes: usize,
    least: Vec<f64>,
    /// Lengths that reach the end, the shortest first; others are between them.
    vertices: Vec<Vec<f64>>,
    /// The shortest ways known: beyond planes, and free in any way.
    best: [Option<(Merit, Vec<f64>)>; 2],
}

impl Family {
    /// None where no lengths reach the end.
    fn new(legs: &[Vector3], straights: [f64; 2], apart: Vector3) -> Option<Self> {
        let setbacks: Vec<f64> =
            legs.windows(2).map(|pair| CLR * (angle_between(pair[0], pair[1]) / 2.0).tan()).collect();
        let last = legs.len() - 1;
        let setback = |bend: Option<usize>| bend.and_then(|b| setbacks.get(b)).copied().unwrap_or(0.0);
        let least = (0..=last)
            .map(|leg| {
                let straight = if leg == 0 {
                    straights[0]
                } else if leg == last {
                    straights[1]
                } else {
                    GRIP
                };
                straight + setback(leg.checked_sub(1)) + setback(Some(leg))
            })
            .collect();
        let mut family = Family {
            legs: legs.to_vec(),
            planes: planes(legs),
            least,
            vertices: Vec::new(),
            best: [None, None],
        };
        let shortest = family.vertex(apart, &vec![1.0; legs.len()])?;
        family.vertices.push(shortest);
        Some(family)
    }

    /// Lengths that reach the end and cost the least.
    fn vertex(&self, apart: Vector3, costs: &[f64]) -> Option<Vec<f64>> {
        let mut programme = Programme::new(OptimizationDirection::Minimize);
        let lengths: Vec<_> = costs
            .iter()
            .zip(&self.least)
            .map(|(cost, least)| programme.add_var(*cost, (*least, least + ROOM)))
            .collect();
        for axis in 0..3 {
            let parts = lengths.iter().zip(&self.legs).map(|(length, leg)| (*length, leg[axis]));
            let parts: Vec<_> = parts.filter(|(_, part)| part.abs() > 1e-9).collect();
            if !parts.is_empty() {
                programme.add_constraint(parts.as_slice(), ComparisonOp::Eq, apart[axis]);
            } else if apart[axis].abs() > 1e-6 {
                return None;
            }
        }
        let solution = programme.solve().ok()?.into_solution().ok()?;
        let lengths: Vec<f64> = lengths.iter().map(|length| solution.var_value(*length)).collect();
        let reached: Vector3 = self.legs.iter().zip(&lengths).map(|(leg, length)| *leg * *length).sum();
        ((reached - apart).magnitude() < 1e-6).then_some(lengths)
    }

    /// Draws further corners of the room of lengths.
    fn spread(&mut self, apart: Vector3, chance: &mut Chance) {
        for _ in 1..VERTICES {
            let costs: Vec<f64> = self.legs.iter().map(|_| chance.between(-1.0, 1.0)).collect();
            let vertex = self.vertex(apart, &costs);
            self.vertices.extend(vertex);
        }
    }

    /// Whether the ends leave its lengths no choice.
    fn is_rigid(&self) -> bool {
        let first = &self.vertices[0];
        self.vertices.iter().all(|v| v.iter().zip(first).all(|(a, b)| (a - b).abs() < SAME))
    }

    /// Lengths that reach the end: near to the best found so far, or anywhere, more often short than long.
    fn draw(&self, chance: &mut Chance) -> Vec<f64> {
        let known: Vec<&Vec<f64>> = self.best.iter().flatten().map(|(_, lengths)| lengths).collect();
        if !known.is_empty() && chance.next() < 0.7 {
            let begin = *chance.pick(&known);
            let (a, b) = (chance.pick(&self.vertices), chance.pick(&self.vertices));
            let step: Vec<f64> = a.iter().zip(b).map(|(a, b)| a - b).collect();
            let room = begin.iter().zip(&self.least).zip(&step);
            let furthest = room
                .filter(|(_, step)| **step < -1e-9)
                .map(|((length, least), step)| (least - length) / step)
                .fold(1.0, f64::min);
            let part = furthest.max(0.0) * 10f64.powf(chance.between(-4.0, 0.0));
            return begin.iter().zip(&step).map(|(length, step)| length + step * part).collect();
        }
        let shares: Vec<f64> = self.vertices.iter().map(|_| chance.next().ln().powi(4)).collect();
        let whole: f64 = shares.iter().sum();
        let towards = chance.next().powi(2);
        (0..self.legs.len())
            .map(|leg| {
                let mixed =
                    self.vertices.iter().zip(&shares).map(|(v, share)| v[leg] * share / whole).sum::<f64>();
                self.vertices[0][leg] * (1.0 - towards) + mixed * towards
            })
            .collect()
    }
}

/// Planes of the bends between these legs, one after the other.
fn planes(legs: &[Vector3]) -> usize {
    let axes: Vec<Vector3> = legs.windows(2).map(|pair| pair[0].cross(pair[1]).normalize()).collect();
    1 + axes.windows(2).filter(|pair| pair[0].cross(pair[1]).magnitude() > 1e-3).count()
}

/// The outcome of one scene.
#[derive(Default)]
struct Tried {
    proven: usize,
    without: usize,
    drawn: usize,
    free: usize,
    /// Better ways beyond planes: there must be none.
    better: Vec<String>,
    /// Free ways that are better by passing an edge more closely than any plane.
    past_an_edge: usize,
    /// The most tube that one of them saves on a way of as many bends and planes, mm.
    saved: f64,
    /// Whether one of them has fewer bends or planes.
    simpler: usize,
}

fn tried(seed: u64, boxes: usize, wanted: usize) -> Tried {
    let scene = Scene::drawn(seed, boxes);
    let answer = scene.answer();
    let best = answer.ways.first().map(|way| merit(&way.line));
    let mut tried = Tried { without: usize::from(best.is_none()), ..Tried::default() };
    if answer.proof != Proof::Proven {
        return tried;
    }
    tried.proven = 1;
    let mut chance = Chance(seed);
    let mut families = families(&scene, best, &answer, &mut chance);
    let surroundings = Surroundings::new(&scene.components, &[]);
    // The lengths of these have no choice: one look is enough.
    for family in families.iter_mut().filter(|family| family.is_rigid()) {
        let lengths = family.vertices[0].clone();
        try_one(&scene, &surroundings, (family, lengths), best, &mut tried);
    }
    families.retain(|family| !family.is_rigid());
    let own: Vec<usize> = (0..families.len()).filter(|at| families[*at].best[0].is_some()).collect();
    let all: Vec<usize> = (0..families.len()).collect();
    let short: Vec<usize> = all.iter().copied().filter(|at| families[*at].may_beat(best)).collect();
    for _ in 0..DRAWS * wanted {
        if tried.free >= wanted || all.is_empty() {
            break;
        }
        let dice = chance.next();
        let among = if dice < 0.4 && !own.is_empty() {
            &own
        } else if dice < 0.9 && !short.is_empty() {
            &short
        } else {
            &all
        };
        let family = &mut families[*chance.pick(among)];
        let lengths = family.draw(&mut chance);
        try_one(&scene, &surroundings, (family, lengths), best, &mut tried);
    }
    tried
}

impl Family {
    /// Whether one of its ways might be better, were nothing in the way.
    fn may_beat(&self, best: Option<Merit>) -> bool {
        let saved: f64 = self
            .legs
            .windows(2)
            .map(|pair| angle_between(pair[0], pair[1]))
            .map(|angle| CLR * (2.0 * (angle / 2.0).tan() - angle))
            .sum();
        let length = self.vertices[0].iter().sum::<f64>() - saved;
        is_better((self.legs.len() - 1, self.planes, length), best)
    }
}

/// Every sequence of as many bends or fewer, with both orders of bending. Those of the way that was found begin there.
fn families(scene: &Scene, best: Option<Merit>, answer: &Answer, chance: &mut Chance) -> Vec<Family> {
    let [(from, _), (to, _)] = scene.ends();
    let found = answer.ways.first().map(|way| (points(from, &way.corners, to), merit(&way.line)));
    let mut all = Vec::new();
    for legs in scene.sequences(best.map_or(MAX_BENDS, |best| best.0)) {
        for straights in [[GRIP, LEAD_OUT], [LEAD_OUT, GRIP]] {
            let Some(mut family) = Family::new(&legs, straights, to - from) else { continue };
            family.spread(to - from, chance);
            if let Some((points, merit)) = &found {
                let along: Vec<Vector3> = points.windows(2).map(|pair| pair[1] - pair[0]).collect();
                let is_own = along.len() == legs.len()
                    && along.iter().zip(&legs).all(|(a, b)| (a.normalize() - b).magnitude() < 1e-6);
                if is_own {
                    let lengths: Vec<f64> = along.iter().map(|leg| leg.magnitude()).collect();
                    family.best = [Some((*merit, lengths.clone())), Some((*merit, lengths))];
                }
            }
            all.push(family);
        }
    }
    all
}

fn points(from: Point3, corners: &[Point3], to: Point3) -> Vec<Point3> {
    std::iter::once(from).chain(corners.iter().copied()).chain(std::iter::once(to)).collect()
}

/// Looks whether the tube along legs of these lengths is free, and whether it is better.
fn try_one(
    scene: &Scene,
    surroundings: &Surroundings<'_>,
    (family, lengths): (&mut Family, Vec<f64>),
    best: Option<Merit>,
    tried: &mut Tried,
) {
    tried.drawn += 1;
    let Some(line) = scene.free(surroundings, &family.legs, &lengths) else { return };
    tried.free += 1;
    let merit = merit(&line);
    let is_shorter =
        |known: &Option<(Merit, Vec<f64>)>| known.as_ref().is_none_or(|(known, _)| merit.2 < known.2);
    let is_beyond = scene.is_beyond_planes(&line);
    let known = usize::from(!is_beyond);
    if is_shorter(&family.best[known]) {
        family.best[known] = Some((merit, lengths));
    }
    if !is_better(merit, best) {
        return;
    }
    if is_beyond {
        let corners: Vec<[f64; 3]> = line.corner_points().into_iter().map(Into::into).collect();
        tried.better.push(format!("{best:?}, but {merit:?} through {corners:?} {}", scene.words()));
        return;
    }
    tried.past_an_edge += 1;
    match best {
        Some(best) if (best.0, best.1) == (merit.0, merit.1) => {
            tried.saved = tried.saved.max(best.2 - merit.2);
        }
        _ => tried.simpler += 1,
    }
}

fn number(variable: &str, usual: usize) -> usize {
    std::env::var(variable).ok().map_or(usual, |text| text.parse().unwrap())
}

#[test]
fn no_random_way_beats_the_one_that_is_proven() {
    let (scenes, wanted) = (number("TUBEWRIGHT_SCENES", 16), number("TUBEWRIGHT_WAYS", 300));
    let all: Vec<Tried> =
        (0..scenes).into_par_iter().map(|seed| tried(seed as u64, 1 + seed % 24, wanted)).collect();
    let sum = |part: fn(&Tried) -> usize| all.iter().map(part).sum::<usize>();
    let (proven, free, past) = (sum(|one| one.proven), sum(|one| one.free), sum(|one| one.past_an_edge));
    let saved = all.iter().map(|one| one.saved).fold(0.0, f64::max);
    let with = |what: fn(&Tried) -> bool| all.iter().filter(|one| what(one)).count();
    let simpler = with(|one| one.simpler > 0);
    println!(
        "{proven} of {scenes} scenes proven, {} of them without a way; {} ways drawn, {free} free; better past an \
         edge: {past} ways in {} scenes, of fewer bends or planes in {simpler}, up to {saved:.2} mm",
        sum(|one| one.without * one.proven),
        sum(|one| one.drawn),
        with(|one| one.past_an_edge > 0),
    );
    let better: Vec<&String> = all.iter().flat_map(|one| &one.better).collect();
    assert!(better.is_empty(), "{} better ways, the first: {}", better.len(), better[0]);
    assert!(
        simpler == 0 && saved < PAST_AN_EDGE,
        "past an edge: {simpler} with fewer bends or planes, {saved} mm"
    );
    assert!(proven * 10 >= scenes * 9, "{proven} of {scenes} are proven");
    assert!(free >= proven * wanted / 2, "{free} free ways of {proven} scenes");
}
