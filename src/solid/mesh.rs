//! Triangle meshes of tubes: rings of vertices along the centreline, watertight by construction. Those of
//! other solids are made by [`of_solid`].
//!
//! Every ring has the same number of vertices, inside and outside, so neighbouring rings join
//! without gaps and the wall keeps its thickness. All vertices lie on the true surface; between
//! them the mesh runs inside it.

use std::f64::consts::PI;

use super::curve::Motion;
use super::{FURTHEST_MM, Placement, SolidFault};
use crate::centreline::{Centreline, Segment};
use crate::geometry::{Frame, InnerSpace, Point3};
use crate::spec::model::Tube;

mod facets;

pub use facets::of_solid;

/// Most triangles of one mesh: 100 MB of STL. More would only come of a mistyped chord height.
pub const MOST_TRIANGLES: usize = 2_000_000;

/// Largest chord height of blocks and plates, mm: the material between their grooves, holes, marks and edges
/// is more than twice as wide, so that facets on either side of it never cross.
pub const MOST_CHORD_MM: f64 = 0.5;

/// Fewest vertices of a ring, so that a coarse mesh still looks like a tube.
pub const LEAST_AROUND: f64 = 12.0;

/// Largest turn between two rings of a bend, rad (22.5°), so that a coarse mesh still looks bent.
pub(super) const LARGEST_TURN: f64 = PI / 8.0;

/// A closed triangle mesh, right-handed: normals point out of the metal.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Mesh {
    /// Vertices, mm.
    pub vertices: Vec<Point3>,
    /// Triangles as indices of vertices, counter-clockwise seen from outside.
    pub triangles: Vec<[u32; 3]>,
    /// How far a coordinate may be off without harm, mm: little beside the chord height and the wall.
    pub slack: f64,
}

impl Mesh {
    /// Enclosed volume, mm³, by the divergence theorem. Less than the tube's: see [`volume_bound`].
    pub fn volume(&self) -> f64 {
        let Some(&about) = self.vertices.first() else { return 0.0 };
        let sixfold = |t: &[u32; 3]| {
            let [a, b, c] = t.map(|i| self.vertices[i as usize] - about);
            a.cross(b).dot(c)
        };
        self.triangles.iter().map(sixfold).sum::<f64>() / 6.0
    }
}

/// The mesh of a bent tube, nowhere more than `chord` mm from the true surface.
///
/// # Errors
/// See [`tube::check`](super::check); [`SolidFault::Chord`] and [`SolidFault::TooManyTriangles`].
pub fn tube(centreline: &Centreline, tube: &Tube, chord: f64) -> Result<Mesh, SolidFault> {
    super::check(centreline, tube)?;
    let Division { around, sections } = divide(centreline, tube, chord)?;
    let circle: Vec<(f64, f64)> =
        (0..around).map(|k| (2.0 * PI * k as f64 / around as f64).sin_cos()).collect();
    let stations = sections.iter().sum::<usize>() + 1;
    let mut vertices = Vec::with_capacity(2 * around * stations);
    let mut ring = |at: &Placement| {
        let y = at.y();
        for radius in [tube.outer_radius(), tube.inner_radius()] {
            let (x, y) = (at.x * radius, y * radius);
            vertices.extend(circle.iter().map(|&(sin, cos)| at.origin + x * cos + y * sin));
        }
    };
    let Frame { origin, direction, normal } = centreline.frame();
    let mut section = Placement { origin, axis: direction, x: normal };
    ring(&section);
    for (segment, &count) in centreline.segments().iter().zip(&sections) {
        let part = |index: usize| Motion::part_of(segment, index as f64 / count as f64);
        for index in 1..count {
            ring(&part(index).placement(&section));
        }
        section = part(count).placement(&section);
        ring(&section);
    }
    Ok(Mesh { vertices, triangles: triangles(around, stations), slack: slack(centreline, tube, chord) })
}

/// Makes a mesh with this chord height or, where that takes more than [`MOST_TRIANGLES`], with the first of
/// twice, four times … as much that does not; the chord height it was made with.
///
/// # Errors
/// What `make` finds, and [`SolidFault::TooManyTriangles`] where no chord height is large enough.
pub fn coarsened(
    chord: f64,
    make: impl Fn(f64) -> Result<Mesh, SolidFault>,
) -> Result<(Mesh, f64), SolidFault> {
    let mut height = chord;
    // Beyond the size of any solid a larger one changes nothing. From the smallest positive number
    // doubling gets there in 1,100 steps, from a thousandth of a millimetre in 30.
    loop {
        match make(height) {
            Err(SolidFault::TooManyTriangles { .. }) if height > 0.0 && height < FURTHEST_MM => height *= 2.0,
            made => return made.map(|mesh| (mesh, height)),
        }
    }
}

/// See [`Mesh::slack`].
fn slack(centreline: &Centreline, tube: &Tube, chord: f64) -> f64 {
    // A small tube's facets are nearer to it than the chord height.
    let around = tube.outer_radius() * (1.0 - (PI / LEAST_AROUND).cos());
    (chord_share(centreline, chord).min(around) / 4.0).min(tube.wall() / 64.0)
}

/// An upper bound of (true − mesh) / true volume for a mesh made with this chord height; the mesh
/// is never larger than the tube.
///
/// A ring of n vertices on a circle of radius r holds sinc(2π/n) of its area, and so does the
/// annulus between two such rings. A bend in steps of δ holds sinc(δ) of its volume: its
/// sections, as seen from the axis, shrink by cos(δ/2) / cos θ between the rings, whose square
/// integrates to sin δ. Since 1 − sinc(x) ≤ x²/6, and the chord heights bound n and δ, the loss is
/// at most (2α)²/6 + (2β)²/6 with α and β the half steps that the chord height allows; for small
/// chord heights h nearly 2h/(3r) + 2h/(3(R + r)) with r the outer radius and R the smallest
/// centreline radius. The worst bend is taken for the whole run.
pub fn volume_bound(centreline: &Centreline, tube: &Tube, chord: f64) -> f64 {
    let share = |half_step: f64| (2.0 * half_step).powi(2) / 6.0;
    let outer = tube.outer_radius();
    let height = chord_share(centreline, chord);
    let around = share(half_step(height, outer).min(PI / LEAST_AROUND));
    let along = centreline
        .bends()
        .iter()
        .map(|bend| share(half_step(height, bend.radius + outer).min(LARGEST_TURN / 2.0)))
        .fold(0.0, f64::max);
    around + along
}

/// How a tube is divided: vertices round each ring, and steps along each segment.
struct Division {
    around: usize,
    sections: Vec<usize>,
}

fn divide(centreline: &Centreline, tube: &Tube, chord: f64) -> Result<Division, SolidFault> {
    if !(chord > 0.0 && chord.is_finite()) {
        return Err(SolidFault::Chord(chord));
    }
    let height = chord_share(centreline, chord);
    let outer = tube.outer_radius();
    let around = (PI / half_step(height, outer)).max(LEAST_AROUND).ceil();
    let steps = |segment: &Segment| match *segment {
        Segment::Straight { .. } => 1.0,
        Segment::Arc { angle, .. } => {
            let radius = segment.radius().unwrap_or(0.0) + outer;
            (angle / (2.0 * half_step(height, radius)).min(LARGEST_TURN)).ceil().max(1.0)
        }
    };
    let sections: Vec<f64> = centreline.segments().iter().map(steps).collect();
    // Two triangles a cell: outside, inside, and on each end.
    let triangles = 4.0 * around * (sections.iter().sum::<f64>() + 1.0);
    if triangles.is_nan() || triangles > MOST_TRIANGLES as f64 {
        return Err(SolidFault::TooManyTriangles { chord, triangles, limit: MOST_TRIANGLES });
    }
    Ok(Division { around: around as usize, sections: sections.into_iter().map(|s| s as usize).collect() })
}

/// Whether a mesh with this chord height has the fewest facets round the tube, which are nearer to it than that.
pub fn is_coarsest(centreline: &Centreline, tube: &Tube, chord: f64) -> bool {
    PI / half_step(chord_share(centreline, chord), tube.outer_radius()) < LEAST_AROUND
}

/// The part of the chord height each direction may use: on a bend the heights across and along add.
fn chord_share(centreline: &Centreline, chord: f64) -> f64 {
    if centreline.bends().is_empty() { chord } else { chord / 2.0 }
}

/// Half the angle (rad) whose chord on a circle of this radius has this height: height = r (1 − cos).
pub(super) fn half_step(height: f64, radius: f64) -> f64 {
    2.0 * (height / (2.0 * radius)).min(1.0).sqrt().asin()
}

/// Triangles over rings of `around` outer and `around` inner vertices at each of `stations` sections.
fn triangles(around: usize, stations: usize) -> Vec<[u32; 3]> {
    let mut triangles = Vec::with_capacity(4 * around * stations);
    let mut quad = |[a, b, c, d]: [u32; 4]| {
        triangles.push([a, b, c]);
        triangles.push([a, c, d]);
    };
    // Indices stay below the triangle limit, far within 32 bits.
    let (around, stations) = (around as u32, stations as u32);
    // Neighbouring vertices of a ring, the last and the first included.
    let pairs = || (0..around).map(|k| (k, if k + 1 < around { k + 1 } else { 0 }));
    let outer = |station: u32, k: u32| 2 * around * station + k;
    let inner = |station: u32, k: u32| outer(station, k) + around;
    let last = stations - 1;
    for (k, l) in pairs() {
        quad([outer(0, k), inner(0, k), inner(0, l), outer(0, l)]);
    }
    for (s, t) in (0..last).zip(1..) {
        for (k, l) in pairs() {
            quad([outer(s, k), outer(s, l), outer(t, l), outer(t, k)]);
            quad([inner(s, l), inner(s, k), inner(t, k), inner(t, l)]);
        }
    }
    for (k, l) in pairs() {
        quad([outer(last, k), outer(last, l), inner(last, l), inner(last, k)]);
    }
    triangles
}

#[cfg(test)]
mod tests {
    use super::super::verify::metal_volume;
    use super::*;
    use crate::centreline::{TableRow, from_table};
    use crate::spec::model::Temper;
    use std::collections::BTreeMap;

    fn copper(od: f64, wall: f64) -> Tube {
        Tube::new(od, wall, "copper", None, Temper::Soft, "test").unwrap()
    }

    fn line(rows: &[(f64, f64, f64, f64)], end: f64) -> Centreline {
        let rows: Vec<TableRow> = rows
            .iter()
            .map(|&(length, rotation, angle, radius)| TableRow { length, rotation, angle, radius })
            .collect();
        from_table(Frame::default(), &rows, end).unwrap()
    }

    /// Every directed edge once, and its opposite once.
    fn assert_watertight(mesh: &Mesh) {
        let mut edges: BTreeMap<(u32, u32), usize> = BTreeMap::new();
        for [a, b, c] in &mesh.triangles {
            for edge in [(*a, *b), (*b, *c), (*c, *a)] {
                *edges.entry(edge).or_default() += 1;
            }
        }
        for (&(a, b), &count) in &edges {
            assert_eq!(count, 1, "{a}-{b}");
            assert_eq!(edges.get(&(b, a)), Some(&1), "{b}-{a}");
        }
        // One ring-shaped body: V − E + F = 0.
        assert_eq!(mesh.vertices.len() + mesh.triangles.len(), edges.len() / 2);
    }

    #[test]
    fn meshes_are_watertight_and_as_small_as_the_bound_allows() {
        let runs = [
            line(&[], 100.0),
            line(&[(60.0, 0.0, PI / 2.0, 38.0), (20.0, 1.2, 0.8, 38.0)], 50.0),
            line(&[(0.0, 0.0, PI, 20.0), (0.0, -1.0, 2.0, 30.0)], 0.0),
        ];
        for run in &runs {
            for (od, wall) in [(15.875, 1.245), (8.0, 0.2), (12.0, 5.9)] {
                let copper = copper(od, wall);
                let exact = metal_volume(run, &copper);
                for chord in [1.0, 0.2, 0.05, 0.005] {
                    let mesh = tube(run, &copper, chord).unwrap();
                    assert_watertight(&mesh);
                    let loss = (exact - mesh.volume()) / exact;
                    let bound = volume_bound(run, &copper, chord);
                    assert!(loss > 0.0 && loss <= bound, "{loss} {bound}");
                    // The bound is not idle: the mesh uses a good part of it.
                    assert!(loss > bound / 4.0, "{loss} {bound}");
                }
            }
        }
    }

    /// Deviation is largest in the middle of a cell on the outside of a bend.
    #[test]
    fn no_point_strays_further_than_the_chord_height() {
        let run = line(&[(0.0, 0.0, 2.0, 30.0)], 0.0);
        let (copper, bend) = (copper(15.0, 1.0), run.bends()[0]);
        for chord in [0.5, 0.05, 0.01] {
            let mesh = tube(&run, &copper, chord).unwrap();
            // Distance from the bend's centreline, which every vertex has exactly one of two of.
            let off = |p: Point3| {
                let from = p - bend.centre;
                let height = from.dot(bend.axis);
                ((from - bend.axis * height).magnitude() - bend.radius).hypot(height)
            };
            let mut worst = 0.0_f64;
            for t in &mesh.triangles {
                let corners = t.map(|i| mesh.vertices[i as usize]);
                // First to last corner is a quad's diagonal in one triangle, an edge in the other.
                let middle = corners[0] + (corners[2] - corners[0]) * 0.5;
                let [skin, bore] =
                    [7.5, 6.5].map(|r: f64| corners.iter().all(|p| (off(*p) - r).abs() < 1e-9));
                if skin {
                    worst = worst.max((off(middle) - 7.5).abs());
                } else if bore {
                    worst = worst.max((off(middle) - 6.5).abs());
                }
            }
            assert!(worst <= chord * (1.0 + 1e-9), "{worst} {chord}");
            assert!(worst > chord / 2.0, "{worst} {chord}");
        }
    }

    #[test]
    fn an_absurd_chord_height_is_an_error() {
        let run = line(&[(60.0, 0.0, PI / 2.0, 38.0)], 50.0);
        let copper = copper(15.0, 1.0);
        for chord in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(matches!(tube(&run, &copper, chord), Err(SolidFault::Chord(_))), "{chord}");
        }
        for chord in [1e-5, 1e-300] {
            let fault = tube(&run, &copper, chord).unwrap_err();
            assert!(matches!(fault, SolidFault::TooManyTriangles { .. }), "{fault}");
        }
    }
}
