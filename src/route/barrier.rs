//! The planes that would keep a piece of tube clear of a body.

use super::programme::Row;
use super::shape::{Piece, Shape};
use crate::fit::{Hull, way_between};
use crate::geometry::{InnerSpace, Vector3};

/// Normals nearer to each other than this are one.
const SAME: f64 = 1e-6;

/// Planes around a bar that a leg runs along.
const AROUND: usize = 8;

/// Tube stays so much farther away than is asked for, mm: below any reading, and above the rounding of lengths.
const MARGIN_MM: f64 = 1e-4;

/// The ways to keep a piece clear of a body by so much, mm, each a plane that the whole piece lies beyond.
pub(super) fn clear_of(shape: &Shape, piece: &Piece, hull: &Hull, apart: f64) -> Vec<Row> {
    normals(hull, &piece.ways).into_iter().map(|normal| beyond(shape, piece, hull, (normal, apart))).collect()
}

/// The plane of this normal that would keep a piece clear of a body by so much, mm.
fn beyond(shape: &Shape, piece: &Piece, hull: &Hull, (normal, apart): (Vector3, f64)) -> Row {
    let (parts, fixed) = shape.along(piece.least_along(normal), normal);
    Row { parts, least: hull.reach(normal) + apart + MARGIN_MM - fixed }
}

/// The plane that parts a piece from a body where its legs have these lengths; `None` where they touch.
pub(super) fn between(shape: &Shape, piece: &Piece, hull: &Hull, apart: f64, lengths: &[f64]) -> Option<Row> {
    let normal = hull.way_to(&shape.points(piece, lengths))?;
    Some(beyond(shape, piece, hull, (normal, apart)))
}

/// The plane that parts two pieces of one tube where its legs have these lengths; `None` where they touch.
pub(super) fn between_each_other(
    shape: &Shape,
    pieces: [&Piece; 2],
    apart: f64,
    lengths: &[f64],
) -> Option<Row> {
    let [first, second] = pieces;
    let normal = way_between(&shape.points(second, lengths), &shape.points(first, lengths))?;
    Some(beyond_each_other(shape, pieces, (normal, apart)))
}

/// The ways to keep two pieces of one tube apart by so much, mm.
pub(super) fn clear_of_each_other(shape: &Shape, pieces: [&Piece; 2], apart: f64) -> Vec<Row> {
    let [first, second] = pieces;
    let mut all: Vec<Vector3> = Vec::new();
    for way in first.ways.iter().chain(&second.ways) {
        add_both(&mut all, *way);
    }
    for a in &first.ways {
        for b in &second.ways {
            add_both(&mut all, a.cross(*b));
        }
    }
    for axis in [Vector3::unit_x(), Vector3::unit_y(), Vector3::unit_z()] {
        add_both(&mut all, axis);
    }
    // Where an end of one passes the middle of the other.
    for way in first.ways.iter().chain(&second.ways) {
        around(*way).into_iter().for_each(|normal| add(&mut all, normal));
    }
    all.into_iter().map(|normal| beyond_each_other(shape, pieces, (normal, apart))).collect()
}

/// The demand that the first piece lies beyond the second along a normal, by so much, mm.
fn beyond_each_other(shape: &Shape, [first, second]: [&Piece; 2], (normal, apart): (Vector3, f64)) -> Row {
    let (mut parts, fixed) = shape.along(first.least_along(normal), normal);
    let (others, other) = shape.along(second.least_along(-normal), normal);
    parts.iter_mut().zip(others).for_each(|(part, other)| *part -= other);
    Row { parts, least: apart + MARGIN_MM - fixed + other }
}

/// Normals of planes between a body and a piece of these directions: the body's faces, and what is square to one of
/// its edges and to a leg or chord; where these are parallel, halfway between the faces of the edge.
fn normals(hull: &Hull, ways: &[Vector3]) -> Vec<Vector3> {
    let mut all = Vec::new();
    match hull {
        Hull::Box { axes, .. } => {
            axes.iter().for_each(|axis| add_both(&mut all, *axis));
            for way in ways {
                for (index, axis) in axes.iter().enumerate() {
                    let beside = way.cross(*axis);
                    if beside.magnitude() < SAME {
                        let (u, v) = (axes[(index + 1) % 3], axes[(index + 2) % 3]);
                        add_both(&mut all, u + v);
                        add_both(&mut all, u - v);
                    } else {
                        add_both(&mut all, beside);
                    }
                }
            }
        }
        Hull::Bar { from, to, .. } => {
            let along = *to - *from;
            if along.magnitude() < SAME {
                return around(Vector3::unit_z());
            }
            let axis = along.normalize();
            add_both(&mut all, axis);
            for way in ways {
                let beside = way.cross(axis);
                if beside.magnitude() < SAME {
                    around(axis).into_iter().for_each(|normal| add(&mut all, normal));
                } else {
                    add_both(&mut all, beside);
                    // Where the leg ends before the bar, or begins behind it.
                    add_both(&mut all, beside.cross(axis));
                }
            }
        }
    }
    all
}

/// Directions all around an axis.
fn around(axis: Vector3) -> Vec<Vector3> {
    let least = [Vector3::unit_x(), Vector3::unit_y(), Vector3::unit_z()]
        .into_iter()
        .min_by(|a, b| a.dot(axis).abs().total_cmp(&b.dot(axis).abs()))
        .unwrap_or_else(Vector3::unit_x);
    let u = (least - axis * axis.dot(least)).normalize();
    let v = axis.cross(u);
    (0..AROUND)
        .map(|step| {
            let angle = std::f64::consts::TAU * step as f64 / AROUND as f64;
            u * angle.cos() + v * angle.sin()
        })
        .collect()
}

fn add_both(all: &mut Vec<Vector3>, normal: Vector3) {
    add(all, normal);
    add(all, -normal);
}

fn add(all: &mut Vec<Vector3>, normal: Vector3) {
    if normal.magnitude() < SAME {
        return;
    }
    let normal = normal.normalize();
    if !all.iter().any(|known| (*known - normal).magnitude() < SAME) {
        all.push(normal);
    }
}
