//! The parts of a loop: tubes with their ends in ports, and components.

use parry3d_f64::bounding_volume::{Aabb, BoundingVolume};

use super::super::solid::Solid;
use super::super::stretch::{self, Stretch};
use crate::centreline::{LaidRun, Layout};
use crate::geometry::{InnerSpace, Point3, Vector3};
use crate::spec::model::{Component, End, ON_THE_SKIN_MM, Port, Shape};

/// The end of a tube in a port of a component.
#[derive(Debug, Clone)]
pub(super) struct Held {
    /// The component, by its position.
    pub(super) component: usize,
    /// The port's full name.
    pub(super) port: String,
    /// The middle of its face.
    pub(super) face: Point3,
    /// Unit vector out of it.
    pub(super) facing: Vector3,
    /// How far the tube goes in behind the face, mm.
    pub(super) insert: f64,
    /// How far the tube is drawn out until it is free to go sideways, mm; 0 for one that goes in nowhere.
    pub(super) hold: f64,
    /// How much deeper it can go, mm.
    pub(super) spare: f64,
    /// How far it may be off to the side, mm.
    pub(super) side: f64,
    /// Straight tube from its end on, mm.
    pub(super) straight: f64,
}

impl Held {
    /// Whether a tube that is drawn `travel` mm along `way` slides out of the port.
    pub(super) fn lets_go(&self, way: Vector3, travel: f64) -> bool {
        let off = way.cross(self.facing).magnitude();
        way.dot(self.facing) > 0.0 && off * travel <= self.side + ROUNDING_MM
    }

    /// Whether a tube that is pushed `travel` mm along `way` can go so much deeper into the port.
    pub(super) fn goes_deeper(&self, way: Vector3, travel: f64) -> bool {
        let most = self.spare.min(self.straight - self.insert);
        travel <= most + ROUNDING_MM && self.lets_go(-way, travel)
    }
}

/// A tube.
#[derive(Debug, Clone)]
pub(super) struct Tube {
    /// Its run's name.
    pub(super) name: String,
    /// Its two ends, those in ports of components.
    pub(super) ends: [Option<Held>; 2],
    stretches: Vec<Stretch>,
    length: f64,
    /// Whether it lies anywhere.
    pub(super) has_place: bool,
}

/// A component without the bodies of its fittings, which can be drawn back along the tubes.
#[derive(Debug, Clone)]
pub(super) struct Body {
    pub(super) name: String,
    pub(super) fixed: bool,
    pub(super) solids: Vec<Solid>,
    /// The room of a box around it, cm³.
    pub(super) bulk: u64,
    /// What it takes to measure it, as pairs of plain bodies.
    pub(super) weight: usize,
    /// The ways in which it can be set back from its tubes, each with how far, mm.
    pub(super) backs: Vec<(Vector3, f64)>,
}

/// All parts.
#[derive(Debug, Clone)]
pub(super) struct Parts {
    pub(super) tubes: Vec<Tube>,
    pub(super) bodies: Vec<Body>,
    /// Longer than everything is wide, mm.
    pub(super) far: f64,
}

/// Rounding of a way along an axis, mm.
const ROUNDING_MM: f64 = 1e-6;

/// Triangles of a mesh that take as long to measure as a plain body.
const TRIANGLES: usize = 200;

impl Parts {
    pub(super) fn of(layout: &Layout) -> Parts {
        let tubes: Vec<Tube> = layout.runs.iter().map(|laid| tube(laid, &layout.components)).collect();
        let bodies = layout.components.iter().map(body).collect();
        let mut parts = Parts { tubes, bodies, far: 0.0 };
        let boxes = parts
            .tubes
            .iter()
            .flat_map(|tube| tube.stretches.iter().map(Stretch::aabb))
            .chain(parts.bodies.iter().flat_map(|body| body.solids.iter().map(Solid::aabb)));
        let whole = boxes.reduce(|all: Aabb, one| all.merged(&one));
        parts.far = whole.map_or(0.0, |all| (all.maxs - all.mins).length()) + 1.0;
        parts.find_backs();
        parts
    }

    /// Finds the ways in which components can be set back from the tubes in their ports: as far as lets them go, and as
    /// far as leaves room to draw them out of their other ports.
    pub(super) fn find_backs(&mut self) {
        for (index, body) in self.bodies.iter_mut().enumerate() {
            let mut backs: Vec<(Vector3, f64, f64)> = Vec::new();
            let ends =
                self.tubes.iter().flat_map(|tube| [0, 1].map(|end| (&tube.ends[end], &tube.ends[1 - end])));
            let own = ends.filter_map(|(end, other)| {
                let held = |end: &&Held| end.hold > 0.0;
                let end = end.as_ref().filter(|end| end.component == index).filter(held)?;
                let other = other.as_ref().map_or(0.0, |other| other.hold);
                Some((end, end.hold + other))
            });
            for (end, room) in own {
                match backs.iter_mut().find(|(way, _, _)| end.lets_go(-*way, end.hold)) {
                    Some((_, near, far)) => (*near, *far) = (near.max(end.hold), far.max(room)),
                    None => backs.push((-end.facing, end.hold, room)),
                }
            }
            let both = |(way, near, far): (Vector3, f64, f64)| {
                [Some((way, near)), (far > near).then_some((way, far))].into_iter().flatten()
            };
            body.backs = backs.into_iter().flat_map(both).collect();
        }
    }
}

fn tube(laid: &LaidRun, components: &[Component]) -> Tube {
    let line = &laid.centreline;
    let (first, last) = match line.bends().first() {
        Some(bend) => (bend.straight_before, line.end_straight()),
        None => (line.length(), line.length()),
    };
    Tube {
        name: laid.run.name.clone(),
        ends: [held(laid.run.from.as_ref(), components, first), held(laid.run.to.as_ref(), components, last)],
        stretches: stretch::tube(laid),
        length: line.length(),
        has_place: laid.has_place(),
    }
}

fn held(end: Option<&End>, components: &[Component], straight: f64) -> Option<Held> {
    let (end, name) = end.and_then(|end| Some((end, end.port.as_ref()?)))?;
    let is_in = |component: &Component, port: &Port| {
        name.strip_suffix(port.name.as_str()).and_then(|rest| rest.strip_suffix('.'))
            == Some(component.name.as_str())
    };
    let component =
        components.iter().position(|component| component.ports.iter().any(|port| is_in(component, port)))?;
    let fitting = end.fitting.as_ref();
    let (insert, facing) = (end.insert(), end.facing?);
    let recess = if end.slip.is_none() { recess(components.get(component)?, end.face, facing) } else { 0.0 };
    Some(Held {
        component,
        port: name.clone(),
        face: end.face,
        facing,
        insert,
        hold: if insert > 0.0 { insert + recess } else { 0.0 },
        spare: fitting.map_or(0.0, |fitting| fitting.deep - fitting.insert),
        side: fitting.map_or(0.0, |fitting| fitting.max_side),
        straight,
    })
}

/// How deep a face lies in its component, mm.
fn recess(component: &Component, face: Point3, facing: Vector3) -> f64 {
    let around = |&(back, front): &(f64, f64)| back <= ON_THE_SKIN_MM && front > 0.0;
    let spans = Shape::inside_any(component.own_shapes(), face, facing);
    spans.into_iter().find(around).map_or(0.0, |(_, front)| front)
}

fn body(component: &Component) -> Body {
    let solids: Vec<Solid> = component.own_shapes().iter().map(Solid::new).collect();
    let around = solids.iter().map(Solid::aabb).reduce(|all: Aabb, one| all.merged(&one));
    let bulk = around.map_or(0.0, |all| (all.maxs - all.mins).element_product() / 1000.0);
    let triangles = |shape: &Shape| match shape {
        Shape::Mesh(mesh) => mesh.triangles().len(),
        Shape::Box { .. } | Shape::Cylinder { .. } => 0,
    };
    Body {
        name: component.name.clone(),
        fixed: component.fixed,
        solids,
        // Never negative, and as large as there is a number for.
        bulk: bulk as u64,
        weight: 1 + component.shapes.iter().map(triangles).sum::<usize>() / TRIANGLES,
        backs: Vec::new(),
    }
}

impl Tube {
    /// Its stretches without the straights at these of its ends.
    pub(super) fn without(&self, ends: [bool; 2]) -> Vec<Stretch> {
        // What begins within a tube is measured as if it had a round end.
        let round = self.stretches.first().map_or(0.0, |stretch| stretch.radius);
        let straight = |end: usize| {
            self.ends[end].as_ref().filter(|_| ends[end]).map_or(0.0, |held| held.straight + round)
        };
        let (first, last) = (straight(0), self.length - straight(1));
        let clipped = |stretch: &Stretch| {
            let (from, to) = (stretch.from().max(first), stretch.to().min(last));
            (from < to).then(|| stretch.between(from, to))
        };
        self.stretches.iter().filter_map(clipped).collect()
    }

    /// Whether it has no bends.
    pub(super) fn is_straight(&self) -> bool {
        self.stretches.iter().all(Stretch::is_straight)
    }

    /// The largest distance of its line from a line, mm.
    pub(super) fn arm(&self, about: Point3, axis: Vector3) -> f64 {
        let beside = |at: Point3| (at - about - axis * (at - about).dot(axis)).magnitude();
        // An arc bulges beyond its ends by no more than its chord is long.
        let reach = |stretch: &Stretch| {
            let [a, b] =
                [0.0, 1.0].map(|share| stretch.at_share(share)).map(|at| Point3::new(at.x, at.y, at.z));
            let bulge = if stretch.is_straight() { 0.0 } else { (b - a).magnitude() };
            beside(a).max(beside(b)) + bulge + stretch.radius
        };
        self.stretches.iter().map(reach).fold(0.0, f64::max)
    }
}
