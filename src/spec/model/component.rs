//! Components, their ports and the fittings that tube goes into.

use super::{Rotation, Shape};
use crate::geometry::{Point3, Vector3};

/// A fitting a tube end goes into.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitting {
    /// Its name in the spec.
    pub name: String,
    /// Outside diameter of the tube it is made for, mm.
    pub tube_od: f64,
    /// How far the tube goes in behind the port's face, mm.
    pub insert: f64,
    /// Unbent tube it needs outside its face, mm.
    pub straight: f64,
    /// Largest misalignment it takes, rad.
    pub max_angle: f64,
    /// Largest sideways misfit it takes, mm.
    pub max_side: f64,
    /// Its seal, if the spec describes it.
    pub seal: Option<Seal>,
}

/// The O-ring of a fitting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seal {
    /// Thickness of the ring, mm.
    pub section: f64,
    /// How far a tube of the fitting's own size squeezes it, as a part of its thickness.
    pub squeeze: f64,
}

/// The finding about a port from which a tube goes into its own component.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PortSlip {
    /// Whether it faces the wrong way; else it lies inside.
    pub faces_inward: bool,
    /// How far on, the way it faces, the component ends, mm.
    pub out: f64,
}

/// A place of a component where a tube can end.
#[derive(Debug, Clone, PartialEq)]
pub struct Port {
    /// Its name within the component.
    pub name: String,
    /// Centre of its face.
    pub at: Point3,
    /// Unit vector out of the face.
    pub facing: Vector3,
    /// The fitting there.
    pub fitting: Option<Fitting>,
    /// Its fault, which was told where the spec writes it.
    pub slip: Option<PortSlip>,
}

/// Something the tubes must reach and must miss.
#[derive(Debug, Clone, PartialEq)]
pub struct Component {
    /// Its name in the spec.
    pub name: String,
    /// Its outer shape, of one or several parts; none for a component that is ports only.
    pub shapes: Vec<Shape>,
    /// Its ports.
    pub ports: Vec<Port>,
    /// The rotation from its coordinates in the spec to where it is.
    pub rotation: Option<Rotation>,
}

impl Component {
    /// A component that is where its coordinates say.
    pub fn new(name: impl Into<String>, shapes: Vec<Shape>, ports: Vec<Port>) -> Self {
        Component { name: name.into(), shapes, ports, rotation: None }
    }

    /// A direction in space as the spec writes it for this component.
    pub fn as_written(&self, direction: Vector3) -> Vector3 {
        self.rotation.map_or(direction, |rotation| rotation.back().direction(direction))
    }
}
