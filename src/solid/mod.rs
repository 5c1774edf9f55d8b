//! Exact solids of tubes, components, bending forms and sheet parts, and their meshes.
//!
//! Solids are boundary representations on the modeller's topology with curves and surfaces of our
//! own: lines and arcs; planes, cylinders and tori. They are exact, so volumes and areas computed
//! from their faces ([`verify`]) agree with the closed form to rounding. Meshes ([`mesh`]) are only as
//! near as their chord height; masses are never taken from them.
//!
//! Lengths are mm, angles rad. A surface is split into halves where it would close on itself, since
//! the modeller takes no edge that starts and ends in one vertex.

mod block;
mod component;
mod contour;
mod curve;
pub mod mesh;
mod plate;
mod surface;
mod sweep;
mod tube;
mod tubes;
pub mod verify;

pub use crate::geometry::Placement;
pub use block::block;
pub use component::{check_shape, component, left_out, of_shape};
pub use curve::{Arc3, Curve, Line3};
pub use plate::{gauge, plate};
pub use surface::Surface;
pub use tube::{check, tube};
pub use tubes::Tubes;

use crate::geometry::Point3;
use crate::quantity::{Unit, decimals, trimmed};

/// A solid with closed, outward-facing boundary.
pub type Solid = truck_topology::Solid<Point3, Curve, Surface>;
/// Its boundary.
pub type Shell = truck_topology::Shell<Point3, Curve, Surface>;
/// A face of it.
pub type Face = truck_topology::Face<Point3, Curve, Surface>;
/// A loop of edges.
pub type Wire = truck_topology::Wire<Point3, Curve>;
/// An edge.
pub type Edge = truck_topology::Edge<Point3, Curve>;
/// A corner.
pub type Vertex = truck_topology::Vertex<Point3>;

/// Furthest a solid may reach along an axis, mm (a kilometre). Beyond it the rounding of the
/// arithmetic would come near the 1e-7 mm at which CAD programs merge points.
pub const FURTHEST_MM: f64 = 1e6;

/// Least wall, bore and radius of the inside of a bend, mm. With less, the shortest edges (such a
/// radius times the smallest bend) would shrink to the 1e-7 mm at which CAD programs merge points.
pub const LEAST_MM: f64 = 1e-3;

/// Whether a solid may hold this coordinate or radius.
fn in_reach(mm: f64) -> Result<(), SolidFault> {
    // A value that is not a number compares as false and is refused too.
    if mm.abs() <= FURTHEST_MM { Ok(()) } else { Err(SolidFault::TooFar(mm)) }
}

/// Why there is no solid or no mesh.
#[derive(Debug, PartialEq, thiserror::Error)]
pub enum SolidFault {
    /// The inside of the bend would cross the bend's axis.
    #[error("{}", radius_too_small(*.bend, *.radius, *.od, Unit::Millimetre))]
    RadiusTooSmall {
        /// Bend number, from 1.
        bend: usize,
        /// Centreline radius, mm.
        radius: f64,
        /// Outside diameter of the tube, mm.
        od: f64,
    },
    /// A bend of no angle or of more than half a turn.
    #[error("bend {bend} turns by {}°; a solid is made for bends of up to 180°", trimmed(*.degrees))]
    BendAngle {
        /// Bend number, from 1.
        bend: usize,
        /// Bend angle, degrees.
        degrees: f64,
    },
    /// A centreline without length.
    #[error("the centreline has no length")]
    NoLength,
    /// A coordinate or radius that is not a number, or beyond [`FURTHEST_MM`].
    #[error("it reaches {0:.3e} mm; solids are made within {FURTHEST_MM} mm of the origin")]
    TooFar(f64),
    /// A wall, bore or inside of a bend below [`LEAST_MM`].
    #[error("{}", too_small(.what, *.mm, Unit::Millimetre))]
    TooSmall {
        /// The part that is too small.
        what: &'static str,
        /// Its size, mm.
        mm: f64,
    },
    /// A component without extent in some direction.
    #[error("the shape is flat: it has no volume")]
    Flat,
    /// Contours of a block or plate that bound no body.
    #[error("its contours make no solid: {0}")]
    Contours(&'static str),
    /// The modeller refused the boundary.
    #[error("the solid's boundary is not sound: {0}")]
    Boundary(#[from] truck_topology::errors::Error),
    /// The faces do not enclose what the formula says.
    #[error("the solid's faces enclose {measured} mm³ where the formula gives {expected} mm³")]
    Volume {
        /// Volume enclosed by the faces, mm³.
        measured: f64,
        /// Volume by the formula, mm³.
        expected: f64,
    },
    /// A face that could not be divided into triangles.
    #[error("a face could not be divided into triangles: {0}")]
    Facets(&'static str),
    /// A chord height that is not a positive number.
    #[error("a chord height of {0} mm makes no mesh; it must be more than 0")]
    Chord(f64),
    /// A chord height so small that the mesh would not fit into memory.
    #[error("a chord height of {chord} mm needs {triangles:.0} triangles; at most {limit} are made")]
    TooManyTriangles {
        /// Chord height asked for, mm.
        chord: f64,
        /// Triangles it would take.
        triangles: f64,
        /// Most that are made.
        limit: usize,
    },
}

fn radius_too_small(bend: usize, radius: f64, od: f64, unit: Unit) -> String {
    let [radius, od] = [radius, od].map(|mm| unit.length(mm));
    format!(
        "bend {bend}: a centreline radius of {radius} is too small for a tube of {od}; it must be more than half of it"
    )
}

fn too_small(what: &str, mm: f64, unit: Unit) -> String {
    // Far below what is shown of lengths else.
    let shown = |mm: f64| match unit {
        Unit::Millimetre => format!("{mm} mm"),
        _ => format!("{} {}", decimals(mm / unit.millimetres(), 7), unit.name()),
    };
    format!("{what} of {} is too small for a solid; it takes at least {}", shown(mm), shown(LEAST_MM))
}

impl SolidFault {
    /// The message with its lengths in a spec's unit.
    pub fn message(&self, unit: Unit) -> String {
        match *self {
            SolidFault::RadiusTooSmall { bend, radius, od } => radius_too_small(bend, radius, od, unit),
            SolidFault::TooSmall { what, mm } => too_small(what, mm, unit),
            SolidFault::TooFar(mm) if unit != Unit::Millimetre => {
                let [reach, most] = [mm, FURTHEST_MM].map(|mm| mm / unit.millimetres());
                let name = unit.name();
                format!(
                    "it reaches {reach:.3e} {name}; solids are made within {most:.0} {name} of the origin"
                )
            }
            _ => self.to_string(),
        }
    }

    /// Advice.
    pub fn advice(&self) -> &'static str {
        match self {
            SolidFault::RadiusTooSmall { .. } => "give the bend a larger `clr`",
            SolidFault::BendAngle { .. } => "split the bend",
            SolidFault::NoLength => "add a bend, or move the two ends apart",
            SolidFault::TooFar(_) => "check the units of its lengths",
            SolidFault::TooSmall { .. } => "check the units of `od` and `wall`",
            SolidFault::Flat => "give its two corners different coordinates on every axis",
            SolidFault::Contours(_) => {
                "this is a fault of the program; other sizes under `workshop` may avoid it"
            }
            SolidFault::Boundary(_) | SolidFault::Volume { .. } | SolidFault::Facets(_) => {
                "this is a fault of the program; a larger `clr` or longer straights may avoid it"
            }
            SolidFault::Chord(_) | SolidFault::TooManyTriangles { .. } => "give a larger `--chord`",
        }
    }
}
