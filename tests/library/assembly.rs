//! Orders of assembly, followed step by step by other means: chains of cylinders that the distance library moves in
//! small steps, and a search through every state there is.

use std::collections::{BTreeSet, HashMap, VecDeque};

use parry3d_f64::math::{Pose, Rotation as Turned, Vector};
use parry3d_f64::query::contact;
use parry3d_f64::shape::{Cuboid, Cylinder, Shape as Solid};
use tubewright::build::{Checked, Project};
use tubewright::calibration::Calibrations;
use tubewright::centreline::{Segment, lay_out};
use tubewright::fit::AssemblyStep;
use tubewright::geometry::{InnerSpace, Point3, Vector3, turned};
use tubewright::spec::model::Shape;

/// Depth up to which parts that slide along each other do not collide, mm: chords stand in for arcs.
const TOLERANCE: f64 = 0.4;

/// Where a tube is: turned about a line, then shifted.
#[derive(Clone, Copy)]
struct Moved {
    about: Point3,
    axis: Vector3,
    angle: f64,
    shift: Vector3,
}

const NOWHERE: Vector3 = Vector3::new(0.0, 0.0, 0.0);

impl Moved {
    fn by(shift: Vector3) -> Moved {
        Moved { about: Point3::new(0.0, 0.0, 0.0), axis: Vector3::unit_z(), angle: 0.0, shift }
    }

    fn point(&self, at: Point3) -> Point3 {
        self.about + turned(at - self.about, self.axis, self.angle) + self.shift
    }
}

/// An end in a port.
struct End {
    body: usize,
    at: Point3,
    facing: Vector3,
    insert: f64,
    deep: f64,
}

struct Tube {
    name: String,
    /// Chords of the line, and whether each is the straight at either end.
    chords: Vec<(Point3, Point3, [bool; 2])>,
    radius: f64,
    ends: [Option<End>; 2],
}

struct Body {
    name: String,
    fixed: bool,
    solids: Vec<(Pose, Box<dyn Solid>)>,
}

struct Scene {
    tubes: Vec<Tube>,
    bodies: Vec<Body>,
}

fn vector(at: Point3) -> Vector {
    Vector::new(at.x, at.y, at.z)
}

fn step(way: Vector3) -> Vector {
    Vector::new(way.x, way.y, way.z)
}

fn scene(project: &Project) -> Scene {
    let layout = project.layout();
    let bodies = layout.components.iter().map(|component| {
        let solids = component.own_shapes().iter().map(|shape| match shape {
            Shape::Box { place, size } => {
                let middle = place.origin + *size / 2.0;
                assert_eq!(place.x, Vector3::unit_x(), "boxes of these tests are square to the axes");
                let solid: Box<dyn Solid> = Box::new(Cuboid::new(step(*size) / 2.0));
                (Pose::from_parts(vector(middle), Turned::IDENTITY), solid)
            }
            other => panic!("{other:?}"),
        });
        Body { name: component.name.clone(), fixed: component.fixed, solids: solids.collect() }
    });
    let tubes = layout.runs.iter().map(|laid| {
        let segments = laid.centreline.segments();
        let last = segments.len() - 1;
        let mut chords = Vec::new();
        for (index, segment) in segments.iter().enumerate() {
            let is_straight = matches!(segment, Segment::Straight { .. });
            let parts = if is_straight { 1 } else { 9 };
            for part in 0..parts {
                let at = |n: usize| segment.point_at(segment.length() * n as f64 / parts as f64);
                chords.push((
                    at(part),
                    at(part + 1),
                    [is_straight && index == 0, is_straight && index == last],
                ));
            }
        }
        let end = |end: &Option<tubewright::spec::model::End>| {
            let end = end.as_ref()?;
            let name = end.port.as_ref()?.split('.').next()?;
            let body = layout.components.iter().position(|component| component.name == name)?;
            let (insert, deep) =
                end.fitting.as_ref().map_or((0.0, 0.0), |fitting| (fitting.insert, fitting.deep));
            (insert > 0.0).then_some(End { body, at: end.at, facing: end.facing?, insert, deep })
        };
        Tube {
            name: laid.run.name.clone(),
            chords,
            radius: laid.run.tube.od() / 2.0,
            ends: [end(&laid.run.from), end(&laid.run.to)],
        }
    });
    Scene { tubes: tubes.collect(), bodies: bodies.collect() }
}

fn cylinder(a: Point3, b: Point3, radius: f64) -> (Pose, Cylinder) {
    let (a, b) = (vector(a), vector(b));
    let turn = Turned::from_rotation_arc(Vector::Y, (b - a).normalize());
    (Pose::from_parts((a + b) / 2.0, turn), Cylinder::new(a.distance(b) / 2.0, radius))
}

fn overlap(pose: &Pose, solid: &dyn Solid, other: &Pose, body: &dyn Solid) -> bool {
    let (a, b) = (solid.compute_aabb(pose), body.compute_aabb(other));
    let apart = (a.mins - b.maxs).max(b.mins - a.maxs);
    if apart.max_element() > 0.0 {
        return false;
    }
    contact(pose, solid, other, body, 0.0)
        .expect("the library knows the pair")
        .is_some_and(|c| c.dist < -TOLERANCE)
}

impl Scene {
    /// Whether a moved tube is where a component, shifted itself, cannot have it.
    fn tube_meets_body(&self, tube: usize, moved: &Moved, body: usize, shift: Vector3) -> bool {
        let own = &self.tubes[tube];
        let mut slides = [false; 2];
        for (end, slides) in own.ends.iter().zip(&mut slides) {
            let Some(end) = end.as_ref().filter(|end| end.body == body) else { continue };
            let from_seat = moved.point(end.at) - end.at - shift;
            let out = from_seat.dot(end.facing);
            let beside = (from_seat - end.facing * out).magnitude();
            let depth = end.insert - out;
            if depth > 0.02 && beside < own.radius * 2.0 {
                if beside > 0.5 || depth > end.deep + 0.02 {
                    return true;
                }
                *slides = true;
            }
        }
        own.chords.iter().filter(|(_, _, ends)| !(slides[0] && ends[0] || slides[1] && ends[1])).any(
            |(a, b, _)| {
                let (pose, chord) = cylinder(moved.point(*a), moved.point(*b), own.radius);
                self.bodies[body].solids.iter().any(|(place, solid)| {
                    let place = Pose::from_parts(place.translation + step(shift), place.rotation);
                    overlap(&pose, &chord, &place, solid.as_ref())
                })
            },
        )
    }

    fn tubes_meet(&self, tube: usize, moved: &Moved, other: usize) -> bool {
        let still = Moved::by(NOWHERE);
        self.tubes[tube].chords.iter().any(|(a, b, _)| {
            let (pose, chord) = cylinder(moved.point(*a), moved.point(*b), self.tubes[tube].radius);
            self.tubes[other].chords.iter().any(|(c, d, _)| {
                let (place, solid) = cylinder(still.point(*c), still.point(*d), self.tubes[other].radius);
                overlap(&pose, &chord, &place, &solid)
            })
        })
    }

    fn bodies_meet(&self, body: usize, shift: Vector3, other: usize, other_shift: Vector3) -> bool {
        self.bodies[body].solids.iter().any(|(pose, solid)| {
            let pose = Pose::from_parts(pose.translation + step(shift), pose.rotation);
            self.bodies[other].solids.iter().any(|(place, other)| {
                let place = Pose::from_parts(place.translation + step(other_shift), place.rotation);
                overlap(&pose, solid.as_ref(), &place, other.as_ref())
            })
        })
    }

    fn tube(&self, name: &str) -> usize {
        self.tubes.iter().position(|tube| tube.name == name).expect("a tube of the loop")
    }

    fn body(&self, name: &str) -> usize {
        self.bodies.iter().position(|body| body.name == name).expect("a component of the loop")
    }
}

/// From one number to another in steps of at most `most`.
fn steps(from: f64, to: f64, most: f64) -> Vec<f64> {
    let count = ((to - from).abs() / most).ceil().max(1.0) as usize;
    (0..=count).map(|n| from + (to - from) * n as f64 / count as f64).collect()
}

/// The places of a tube that goes straight in along a unit vector.
fn straight(along: Vector3, travel: f64) -> Vec<Moved> {
    steps(-travel, 0.0, 0.5).into_iter().map(|way| Moved::by(along * way)).collect()
}

/// Those of one that goes in turned.
fn turned_in(along: Vector3, travel: f64, about: Point3, turn: f64, back: f64) -> Vec<Moved> {
    let at = |angle: f64, way: f64| Moved { about, axis: along, angle, shift: along * way };
    let into = steps(back - travel, back, 0.5).into_iter().map(|way| at(-turn, way));
    let round = steps(-turn, 0.0, 0.02).into_iter().map(|angle| at(angle, back));
    let drawn = steps(back, 0.0, 0.5).into_iter().map(|way| at(0.0, way));
    into.chain(round).chain(drawn).collect()
}

/// Follows an order to its end; a fault in words.
fn follow(scene: &Scene, order: &[AssemblyStep]) -> Result<(), String> {
    let mut fitted: BTreeSet<usize> = BTreeSet::new();
    // `None` is not there.
    let mut bodies: Vec<Option<Vector3>> = vec![Some(NOWHERE); scene.bodies.len()];
    for (number, step) in (1..).zip(order) {
        let fault = |what: &str| Err(format!("step {number}: {what}: {step:?}"));
        let (run, places) = match step {
            AssemblyStep::Laid { run } => (run, vec![Moved::by(NOWHERE)]),
            AssemblyStep::Straight { run, along, travel, .. } => (run, straight(*along, *travel)),
            AssemblyStep::Turned { run, along, travel, about, turn, back, .. } => {
                (run, turned_in(*along, *travel, *about, *turn, *back))
            }
            AssemblyStep::Away { component, along, travel }
            | AssemblyStep::Home { component, along, travel, .. } => {
                let body = scene.body(component);
                if scene.bodies[body].fixed {
                    return fault("it is fixed");
                }
                let is_away = matches!(step, AssemblyStep::Away { .. });
                let (far, most) = travel.map_or((2000.0, 4.0), |travel| (travel, 0.5));
                let expected = if is_away { Some(NOWHERE) } else { travel.map(|travel| -*along * travel) };
                if bodies[body]
                    .is_some_and(|at| expected.is_none_or(|expected| (at - expected).magnitude() > 1e-6))
                {
                    return fault("it is elsewhere");
                }
                let ways = if is_away { steps(0.0, far, most) } else { steps(-far, 0.0, most) };
                for way in ways {
                    let shift = *along * way;
                    let meets_tube = fitted
                        .iter()
                        .any(|&tube| scene.tube_meets_body(tube, &Moved::by(NOWHERE), body, shift));
                    let others = bodies.iter().enumerate().filter(|(other, _)| *other != body);
                    let meets_body = others
                        .filter_map(|(other, at)| Some((other, (*at)?)))
                        .any(|(other, at)| scene.bodies_meet(body, shift, other, at));
                    if meets_tube || meets_body {
                        return fault("it collides");
                    }
                }
                bodies[body] = if !is_away { Some(NOWHERE) } else { travel.map(|travel| *along * travel) };
                continue;
            }
        };
        let tube = scene.tube(run);
        // At first no end is in a port.
        let ends = scene.tubes[tube].ends.iter().flatten();
        for (end, at) in ends.filter_map(|end| Some((end, bodies[end.body]?))) {
            let from_seat = places[0].point(end.at) - end.at - at;
            let out = from_seat.dot(end.facing);
            let beside = (from_seat - end.facing * out).magnitude();
            if out < end.insert - 0.02 && beside < scene.tubes[tube].radius * 2.0 {
                return fault("it begins in a port");
            }
        }
        for moved in &places {
            let present = bodies.iter().enumerate().filter_map(|(body, at)| Some((body, (*at)?)));
            let meets_body =
                present.into_iter().any(|(body, at)| scene.tube_meets_body(tube, moved, body, at));
            if meets_body || fitted.iter().any(|&other| scene.tubes_meet(tube, moved, other)) {
                return fault("it collides");
            }
        }
        if !fitted.insert(tube) {
            return fault("it is there twice");
        }
    }
    let all_home = bodies.iter().all(|at| at.is_some_and(|at| at.magnitude() < 1e-9));
    if fitted.len() == scene.tubes.len() && all_home { Ok(()) } else { Err("it ends too early".to_owned()) }
}

/// Where a component is: in its place, set back in one of its ways, or not there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
enum Place {
    Home,
    Back(usize),
    Out,
}

/// Every state of a loop, from nothing fitted on: whether one is reached in which all is in its place.
struct Everything<'s> {
    scene: &'s Scene,
    backs: Vec<Vec<Vector3>>,
    met: HashMap<(String, String), bool>,
}

impl Everything<'_> {
    fn of(scene: &Scene) -> Everything<'_> {
        let backs = (0..scene.bodies.len()).map(|body| {
            let mut ways: Vec<Vector3> = Vec::new();
            for end in
                scene.tubes.iter().flat_map(|tube| tube.ends.iter().flatten()).filter(|end| end.body == body)
            {
                // As far as lets a tube go, and as far as leaves room to draw it out of its other port.
                for times in [1.0, 2.0] {
                    let way = -end.facing * end.insert * times;
                    if !ways.iter().any(|known| (known - way).magnitude() < 1e-6) {
                        ways.push(way);
                    }
                }
            }
            ways
        });
        Everything { scene, backs: backs.collect(), met: HashMap::new() }
    }

    fn shift(&self, body: usize, place: Place) -> Vector3 {
        match place {
            Place::Back(number) => self.backs[body][number],
            Place::Home | Place::Out => NOWHERE,
        }
    }

    fn known(&mut self, key: (String, String), look: impl FnOnce(&Self) -> bool) -> bool {
        if let Some(known) = self.met.get(&key) {
            return *known;
        }
        let meets = look(self);
        self.met.insert(key, meets);
        meets
    }

    /// Whether a tube can go these places while components and tubes are where they are. It begins in no port.
    fn goes(&mut self, tube: usize, name: &str, places: &[Moved], bodies: &[Place], fitted: u32) -> bool {
        for end in self.scene.tubes[tube].ends.iter().flatten().filter(|end| bodies[end.body] != Place::Out) {
            let from_seat = places[0].point(end.at) - end.at - self.shift(end.body, bodies[end.body]);
            let out = from_seat.dot(end.facing);
            let beside = (from_seat - end.facing * out).magnitude();
            if out < end.insert - 0.02 && beside < self.scene.tubes[tube].radius * 2.0 {
                return false;
            }
        }
        for (body, &place) in bodies.iter().enumerate().filter(|(_, place)| **place != Place::Out) {
            let key = (format!("{tube} {name}"), format!("body {body} {place:?}"));
            let meets = self.known(key, |all| {
                let shift = all.shift(body, place);
                places.iter().any(|moved| all.scene.tube_meets_body(tube, moved, body, shift))
            });
            if meets {
                return false;
            }
        }
        (0..self.scene.tubes.len()).filter(|other| fitted >> other & 1 == 1).all(|other| {
            let key = (format!("{tube} {name}"), format!("tube {other}"));
            !self.known(key, |all| places.iter().any(|moved| all.scene.tubes_meet(tube, moved, other)))
        })
    }

    fn goes_in(&mut self, tube: usize, bodies: &[Place], fitted: u32) -> bool {
        let ends = &self.scene.tubes[tube].ends;
        let held: Vec<usize> = (0..2)
            .filter(|end| ends[*end].as_ref().is_some_and(|end| bodies[end.body] == Place::Home))
            .collect();
        let mut ways: Vec<(String, Vec<Moved>)> = Vec::new();
        if held.is_empty() {
            ways.push(("laid".to_owned(), vec![Moved::by(NOWHERE)]));
        }
        for &index in &held {
            let Some(end) = &ends[index] else { continue };
            let other = held.iter().find(|other| **other != index).and_then(|other| ends[*other].as_ref());
            let travel = other.map_or(end.insert, |other| end.insert.max(other.insert));
            if other.is_none_or(|other| other.facing.dot(end.facing) > 0.999) {
                ways.push((format!("straight {index} {}", held.len()), straight(-end.facing, travel)));
            }
            if other.is_none_or(|other| other.facing.dot(end.facing) < -0.999) {
                let back = other.map_or(0.0, |other| other.insert);
                for degrees in (1..=18).flat_map(|n| [10 * n, -10 * n]) {
                    let about = end.at + end.facing * end.insert;
                    let turn = f64::from(degrees).to_radians();
                    let places = turned_in(-end.facing, end.insert + back, about, turn, back);
                    ways.push((format!("turned {index} {degrees} {}", held.len()), places));
                }
            }
        }
        ways.into_iter().any(|(name, places)| self.goes(tube, &name, &places, bodies, fitted))
    }

    /// Whether a component can go from its place to a shift, or back.
    fn is_moved(&mut self, body: usize, way: Vector3, most: f64, bodies: &[Place], fitted: u32) -> bool {
        let shifts: Vec<Vector3> =
            steps(0.0, 1.0, most / way.magnitude()).into_iter().map(|share| way * share).collect();
        let mover = format!("move {body} {way:?}");
        for tube in (0..self.scene.tubes.len()).filter(|tube| fitted >> tube & 1 == 1) {
            let meets = self.known((mover.clone(), format!("tube {tube}")), |all| {
                shifts.iter().any(|shift| all.scene.tube_meets_body(tube, &Moved::by(NOWHERE), body, *shift))
            });
            if meets {
                return false;
            }
        }
        bodies.iter().enumerate().filter(|(other, place)| *other != body && **place != Place::Out).all(
            |(other, &place)| {
                let key = (mover.clone(), format!("body {other} {place:?}"));
                !self.known(key, |all| {
                    let at = all.shift(other, place);
                    shifts.iter().any(|shift| all.scene.bodies_meet(body, *shift, other, at))
                })
            },
        )
    }

    /// Whether all tubes can be put in.
    fn is_possible(&mut self) -> bool {
        let all = (1_u32 << self.scene.tubes.len()) - 1;
        let home = vec![Place::Home; self.scene.bodies.len()];
        let mut seen = std::collections::HashSet::from([(0, home.clone())]);
        let mut open = VecDeque::from([(0_u32, home.clone())]);
        while let Some((fitted, bodies)) = open.pop_front() {
            if fitted == all && bodies == home {
                return true;
            }
            let mut next: Vec<(u32, Vec<Place>)> = Vec::new();
            for tube in (0..self.scene.tubes.len()).filter(|tube| fitted >> tube & 1 == 0) {
                if self.goes_in(tube, &bodies, fitted) {
                    next.push((fitted | 1 << tube, bodies.clone()));
                }
            }
            for body in (0..self.scene.bodies.len()).filter(|body| !self.scene.bodies[*body].fixed) {
                let backs = self.backs[body].clone();
                let there = bodies[body];
                let mut places: Vec<Place> = Vec::new();
                for (number, way) in backs.iter().enumerate() {
                    if [Place::Home, Place::Back(number)].contains(&there)
                        && self.is_moved(body, *way, 0.5, &bodies, fitted)
                    {
                        places.push(if there == Place::Home { Place::Back(number) } else { Place::Home });
                    }
                }
                if there != Place::Home && there != Place::Out {
                    // Only back the way it came.
                } else {
                    let axes = [Vector3::unit_x(), Vector3::unit_y(), Vector3::unit_z()];
                    let out = axes
                        .into_iter()
                        .flat_map(|axis| [axis, -axis])
                        .any(|way| self.is_moved(body, way * 2000.0, 4.0, &bodies, fitted));
                    if out {
                        places.push(if there == Place::Home { Place::Out } else { Place::Home });
                    }
                }
                for place in places {
                    let mut moved = bodies.clone();
                    moved[body] = place;
                    next.push((fitted, moved));
                }
            }
            for state in next {
                if seen.insert(state.clone()) {
                    open.push_back(state);
                }
            }
        }
        false
    }
}

/// The same numbers each time.
struct Numbers(u64);

impl Numbers {
    fn next(&mut self, below: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % below as u64) as usize
    }

    fn between(&mut self, low: i64, high: i64) -> i64 {
        low + self.next((high - low + 1) as usize) as i64
    }
}

/// A ring of so many boxes, each with a tube to the next; `None` where no tubes were found that fit.
fn ring(numbers: &mut Numbers, count: usize) -> Option<(String, Project)> {
    let deep = ["", ", deep: 22"][numbers.next(2)];
    let mut boxes = String::new();
    let (mut centres, mut sizes) = (Vec::new(), Vec::new());
    for index in 0..count {
        let angle = std::f64::consts::TAU * index as f64 / count as f64;
        let centre = [
            (260.0 * angle.cos()).round() as i64 + numbers.between(-30, 30),
            (260.0 * angle.sin()).round() as i64 + numbers.between(-30, 30),
            numbers.between(-100, 100),
        ];
        centres.push(centre);
        sizes.push(numbers.between(30, 45));
    }
    let fixed: Vec<bool> = (0..count).map(|_| numbers.next(5) < 2).collect();
    let mut ports: Vec<Vec<String>> = vec![Vec::new(); count];
    let mut runs = String::new();
    let text = |ports: &[Vec<String>], runs: &str, boxes: &mut String| {
        boxes.clear();
        for index in 0..count {
            let (c, s) = (centres[index], sizes[index]);
            boxes.push_str(&format!(
                "  b{index}: {{fixed: {}, box: {{from: [{}, {}, {}], to: [{}, {}, {}]}}, ports: {{{}}}}}\n",
                fixed[index],
                c[0] - s,
                c[1] - s,
                c[2] - s,
                c[0] + s,
                c[1] + s,
                c[2] + s,
                ports[index].join(", ")
            ));
        }
        format!(
            "format: 1\ntube: {{od: 10, wall: 1, material: copper, temper: soft}}\nbender: {{clr: 30}}\n\
             fittings: {{collar: {{tube_od: 10, insert: 10, straight: 5{deep}}}}}\ncomponents:\n{boxes}runs:\n{runs}"
        )
    };
    for index in 0..count {
        let other = (index + 1) % count;
        let found = (0..60).find_map(|_| {
            let port = |numbers: &mut Numbers, body: usize, name: &str| {
                let (axis, sign) = (numbers.next(3), [-1, 1][numbers.next(2)]);
                let (c, s) = (centres[body], sizes[body]);
                let mut at = [0, 1, 2].map(|k| c[k] + [-15, 0, 15][numbers.next(3)]);
                at[axis] = c[axis] + sign * s;
                let mut facing = [0; 3];
                facing[axis] = sign;
                format!("{name}: {{at: {at:?}, facing: {facing:?}, fitting: collar}}")
            };
            let mut tried = ports.clone();
            tried[index].push(port(numbers, index, "o"));
            tried[other].push(port(numbers, other, "i"));
            let mut axes = ["x", "y", "z"];
            axes.rotate_left(numbers.next(3));
            if numbers.next(2) == 0 {
                axes.swap(0, 1);
            }
            let levels: String =
                axes.iter().take(numbers.next(3)).map(|axis| format!("{{{axis}: level}}, ")).collect();
            let (out, back) = (numbers.between(50, 110), numbers.between(50, 110));
            let more = format!(
                "{runs}  r{index}: {{from: b{index}.o, to: b{other}.i, corners: [{{out: {out}}}, {levels}{{in: {back}}}]}}\n"
            );
            let text = text(&tried, &more, &mut boxes);
            // Most are told apart by their layout alone.
            let (spec, _) = tubewright::spec::read(&text, "ring.yaml").ok()?;
            let (layout, _) = lay_out(&spec, &Calibrations::default());
            if layout.runs.len() <= index {
                return None;
            }
            let checked = Checked::read(&text, "ring.yaml");
            let is_fit = checked.run_names().count() == index + 1
                && checked.findings().iter().all(|found| {
                    found.severity == tubewright::diagnostic::Severity::Warning
                        && !["clash", "too-near", "port-angle", "port-straight"].contains(&found.code)
                });
            is_fit.then_some((tried, more))
        });
        (ports, runs) = found?;
    }
    let text = text(&ports, &runs, &mut boxes);
    let project = Project::read(&text, "ring.yaml").ok()?;
    Some((text, project))
}

/// Rings from 2 to 5 boxes until there are enough of both kinds: those that go together, each step followed without a
/// collision; and those that do not, with no way among all there are.
#[test]
fn orders_can_be_followed_and_there_is_none_where_none_is_found() {
    let mut numbers = Numbers(0x2545_f491_4f6c_dd1d);
    let (mut followed, mut turned, mut moved, mut refused) = (0, 0, 0, 0);
    for attempt in 0..4000 {
        if followed >= 30 && refused >= 12 {
            break;
        }
        let Some((text, project)) = ring(&mut numbers, 2 + attempt % 4) else { continue };
        let scene = scene(&project);
        let assembly = &project.plan().assembly;
        assert!(!assembly.is_cut_short, "{text}");
        let told = project.findings().iter().any(|found| found.code == "cannot-be-put-in");
        assert_eq!(told, assembly.steps.is_empty(), "{text}");
        if told {
            if refused < 12 {
                let is_possible = Everything::of(&scene).is_possible();
                assert!(!is_possible, "{text}\n{assembly:?}\n{:?}", project.findings());
                refused += 1;
            }
            continue;
        }
        if let Err(fault) = follow(&scene, &assembly.steps) {
            panic!("{fault}\n{text}\n{:#?}", assembly.steps);
        }
        followed += 1;
        turned += assembly.steps.iter().filter(|step| matches!(step, AssemblyStep::Turned { .. })).count();
        moved += assembly.steps.iter().filter(|step| matches!(step, AssemblyStep::Home { .. })).count();
    }
    println!("{followed} followed, {turned} tubes turned in, {moved} components moved; {refused} refused");
    assert!(followed >= 30 && refused >= 12 && moved >= 10, "{followed} {refused} {moved} {turned}");
}
