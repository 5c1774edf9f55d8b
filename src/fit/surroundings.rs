//! Everything that a way still to be found must keep clear of: which part of a line comes too near to which body.

use parry3d_f64::bounding_volume::{Aabb, BoundingVolume};
use parry3d_f64::math::Vector;

use super::clearance::{beyond_ports, ends_in};
use super::distance::Near;
use super::hull::Hull;
use super::solid::{Solid, lower_by_solid};
use super::stretch::{Stretch, stretches};
use super::world::{Body, World};
use super::{Obstacle, itself};
use crate::centreline::{Centreline, LaidRun};
use crate::geometry::{Point3, Vector3};
use crate::spec::model::{Component, Run};
use crate::tolerance::CLEARANCE_MM;

/// A closed mesh that fills at least this part of its box is kept clear of as the box.
const NEARLY_FULL: f64 = 0.5;

/// A hollow mesh is kept clear of piece by piece: cubes of this part of its size about the place that is too near.
const PART_OF_MESH: f64 = 0.125;

/// Components and runs that have their places, for ways that are still to be found.
pub struct Surroundings<'a> {
    components: &'a [Component],
    solids: Vec<Vec<Solid>>,
    world: World,
}

/// A part of a line that comes too near to something.
#[derive(Debug, Clone, Copy)]
pub struct Breach {
    /// Where the part starts and ends, mm from the line's start.
    pub stations: [f64; 2],
    /// The obstacle.
    pub obstacle: Obstacle,
    /// Whether it is the component of one of the line's own ports.
    pub own: bool,
    /// The body of it to keep clear of.
    pub hull: Hull,
    /// How near it comes, mm; negative where they overlap. Of a bend it is about so.
    pub distance: f64,
}

impl<'a> Surroundings<'a> {
    /// The surroundings made of these components and runs.
    pub fn new(components: &'a [Component], runs: &[LaidRun]) -> Self {
        let solids = Solid::all(components);
        let tubes: Vec<Vec<Stretch>> = runs.iter().map(super::stretch::tube).collect();
        let world = World::of(runs, &tubes, &solids);
        Surroundings { components, solids, world }
    }

    /// The components whose ports a run ends in, as [`check`](super::check) counts them, with the ends.
    pub fn own(&self, run: &Run) -> Vec<(usize, [bool; 2])> {
        let ends = [&run.from, &run.to];
        let own = |index: usize, solids: &Vec<Solid>| {
            let component = self.components.get(index)?;
            let own = ends.map(|end| end.as_ref().is_some_and(|end| ends_in(end, component, solids)));
            (own != [false; 2]).then_some((index, own))
        };
        let all = self.solids.iter().enumerate().filter(|(_, solids)| !solids.is_empty());
        all.filter_map(|(index, solids)| own(index, solids)).collect()
    }

    /// The parts of a run's tube along a line that are nearer than `wanted` mm to anything. `own` is of [`Self::own`].
    pub fn breaches(
        &self,
        run: &Run,
        line: &Centreline,
        own: &[(usize, [bool; 2])],
        wanted: f64,
    ) -> Vec<Breach> {
        let limit = wanted - CLEARANCE_MM;
        let tube = stretches(line, run.tube.outer_radius());
        let mut found = Vec::new();
        let is_own =
            |obstacle: Obstacle| own.iter().any(|(component, _)| obstacle == Obstacle::Component(*component));
        for stretch in &tube {
            let reach = stretch.aabb().loosened(wanted.max(0.0));
            for leaf in self.world.leaves_in(&reach).filter(|leaf| !is_own(leaf.obstacle)) {
                let mut near = Near::within(limit).or_about(limit);
                leaf.lower(&mut near, stretch);
                if near.distance < limit {
                    found.push(breach(stretch, leaf.obstacle, false, hull(&leaf.body, &near, stretch), near));
                }
            }
        }
        for &(component, ends) in own {
            let Some(solids) = self.solids.get(component) else { continue };
            for stretch in beyond_ports(run, line, &tube, ends, solids) {
                for solid in solids {
                    let mut near = Near::within(limit).or_about(limit);
                    lower_by_solid(&mut near, &stretch, solid);
                    if near.distance < limit {
                        let hull = hull_of_solid(solid, &near, &stretch);
                        found.push(breach(&stretch, Obstacle::Component(component), true, hull, near));
                    }
                }
            }
        }
        found
    }

    /// How near a line's tube of diameter `od`, mm, comes to itself; none where no two parts of it come nearer than
    /// the legs of its tightest U.
    pub fn to_itself(line: &Centreline, od: f64) -> Option<f64> {
        itself::distance_of(line, od, &stretches(line, od / 2.0)).map(|near| near.distance)
    }
}

fn breach(stretch: &Stretch, obstacle: Obstacle, own: bool, hull: Hull, near: Near) -> Breach {
    Breach { stations: [stretch.from(), stretch.to()], obstacle, own, hull, distance: near.distance }
}

fn point(at: Vector) -> Point3 {
    Point3::new(at.x, at.y, at.z)
}

fn direction(way: Vector) -> Vector3 {
    Vector3::new(way.x, way.y, way.z)
}

fn hull(body: &Body, near: &Near, by: &Stretch) -> Hull {
    match body {
        Body::Solid(solid) => hull_of_solid(solid, near, by),
        Body::Tube(stretch) => {
            let (a, b) = (stretch.chord.a, stretch.chord.b);
            // The lines along the ends cross (1 + c)/c times the bulge from the chord, with c the cosine of half the
            // angle: 2.09 at the most, for 45°.
            let crown = a.midpoint(b) + stretch.bulge * 2.1;
            Hull::Bar { from: point(a), to: point(b), crown: point(crown), radius: stretch.radius }
        }
    }
}

fn hull_of_solid(solid: &Solid, near: &Near, by: &Stretch) -> Hull {
    match solid {
        Solid::Cuboid(pose, shape) => {
            let axes = [Vector::X, Vector::Y, Vector::Z].map(|axis| direction(pose.transform_vector(axis)));
            let middle = point(pose.transform_point(Vector::ZERO));
            let half = shape.half_extents;
            Hull::Box { middle, axes, half: [half.x, half.y, half.z] }
        }
        Solid::Cylinder(pose, shape) => {
            let end = |side: f64| point(pose.transform_point(Vector::Y * (side * shape.half_height)));
            let (from, to) = (end(-1.0), end(1.0));
            let crown = point(pose.transform_point(Vector::ZERO));
            Hull::Bar { from, to, crown, radius: shape.radius }
        }
        Solid::Mesh(mesh) => {
            let whole = mesh.skin().local_aabb();
            let size = whole.extents();
            let is_full =
                mesh.open_edges() == 0 && mesh.volume().abs() >= NEARLY_FULL * size.x * size.y * size.z;
            if is_full { square(&whole) } else { square(&part(&whole, near.on[1], by.radius)) }
        }
    }
}

/// The part of a box about a place.
fn part(whole: &Aabb, place: Vector, radius: f64) -> Aabb {
    let reach = Vector::splat(radius.max(whole.extents().max_element() * PART_OF_MESH / 2.0));
    Aabb::new(whole.mins.max(place - reach), whole.maxs.min(place + reach))
}

fn square(bounds: &Aabb) -> Hull {
    let half = bounds.half_extents();
    let axes = [Vector3::unit_x(), Vector3::unit_y(), Vector3::unit_z()];
    Hull::Box { middle: point(bounds.center()), axes, half: [half.x, half.y, half.z] }
}
