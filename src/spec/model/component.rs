//! Components, their ports and the fittings that tube goes into.

use strum::{IntoStaticStr, VariantArray};

use super::{Rotation, Shape};
use crate::geometry::{Point3, Vector3};

/// The form of a tube's end in a fitting.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum EndForm {
    /// As it is cut: its nut, ring or collar goes on after bending.
    #[default]
    Plain,
    /// Widened to a flare, over which no nut passes.
    Flared,
    /// With a bead around it, over which no nut passes.
    Beaded,
}

impl EndForm {
    /// As written in a spec.
    pub fn name(self) -> &'static str {
        self.into()
    }
}

/// The part of a fitting that stands outside the port's face: a round body about the tube.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FittingBody {
    /// Diameter over all, mm.
    pub diameter: f64,
    /// Length along the tube from the port's face, mm.
    pub length: f64,
}

/// A fitting a tube end goes into.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitting {
    /// Its name in the spec.
    pub name: String,
    /// Outside diameter of the tube it is made for, mm.
    pub tube_od: f64,
    /// How far the tube goes in behind the port's face, mm.
    pub insert: f64,
    /// How far the tube can go in at most while it is put in, mm.
    pub deep: f64,
    /// Unbent tube it needs outside its face, mm.
    pub straight: f64,
    /// Largest misalignment it takes, rad.
    pub max_angle: f64,
    /// Largest sideways misfit it takes, mm.
    pub max_side: f64,
    /// Its seal, if the spec describes it.
    pub seal: Option<Seal>,
    /// The form of the tube's end that it takes.
    pub end: EndForm,
    /// What of it stands outside the port's face, if the spec says.
    pub body: Option<FittingBody>,
    /// Straight tube outside the port's face that its loose part needs to be drawn back while joining, mm.
    pub slide_back: f64,
}

impl Fitting {
    /// Whether its loose part must be on the tube before the bends are made.
    pub fn goes_on_first(&self) -> bool {
        self.end != EndForm::Plain
    }

    /// Length of its body outside the port's face, mm.
    pub fn body_length(&self) -> f64 {
        self.body.map_or(0.0, |body| body.length)
    }

    /// Straight tube it needs outside its face, mm, by its own key and by the length of its body.
    pub fn straight_outside(&self) -> f64 {
        self.straight.max(self.body_length())
    }

    /// The straight that its loose part takes from the bender's grip, mm: the body's length where it goes on before
    /// the bends are made.
    pub fn on_tube(&self) -> f64 {
        self.body.filter(|_| self.goes_on_first()).map_or(0.0, |body| body.length)
    }
}

/// The O-ring of a fitting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seal {
    /// Thickness of the ring, mm.
    pub section: f64,
    /// How far a tube of the fitting's own size squeezes it, as a part of its thickness.
    pub squeeze: f64,
}

/// The fault of a port from which a tube goes into its own component.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PortFault {
    /// It faces into the component.
    FacesInward,
    /// It lies inside.
    Inside,
    /// It faces along the skin.
    Along,
}

/// The finding about a port from which a tube goes into its own component.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PortSlip {
    /// Its fault.
    pub fault: PortFault,
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

impl Port {
    /// The body of its fitting in space.
    pub fn body(&self) -> Option<Shape> {
        let body = self.fitting.as_ref()?.body?;
        let to = self.at + self.facing * body.length;
        Some(Shape::Cylinder { from: self.at, to, diameter: body.diameter })
    }
}

/// Something the tubes must reach and must miss.
#[derive(Debug, Clone, PartialEq)]
pub struct Component {
    /// Its name in the spec.
    pub name: String,
    /// Its outer shape, of one or several parts, and the bodies of the fittings in its ports; none for a component that
    /// is ports only.
    pub shapes: Vec<Shape>,
    /// Its ports.
    pub ports: Vec<Port>,
    /// Whether it cannot be moved while tubes are put in.
    pub fixed: bool,
    /// The rotation from its coordinates in the spec to where it is.
    pub rotation: Option<Rotation>,
}

impl Component {
    /// A component that is where its coordinates say.
    pub fn new(name: impl Into<String>, shapes: Vec<Shape>, ports: Vec<Port>) -> Self {
        Component { name: name.into(), shapes, ports, fixed: false, rotation: None }
    }

    /// Its shapes without the bodies of the fittings in its ports.
    pub fn own_shapes(&self) -> &[Shape] {
        // Bodies come last.
        let is_body = |shape: &Shape| self.ports.iter().any(|port| port.body().as_ref() == Some(shape));
        let own = self.shapes.iter().rposition(|shape| !is_body(shape)).map_or(0, |last| last + 1);
        self.shapes.get(..own).unwrap_or_default()
    }

    /// A direction in space as the spec writes it for this component.
    pub fn as_written(&self, direction: Vector3) -> Vector3 {
        self.rotation.map_or(direction, |rotation| rotation.back().direction(direction))
    }
}
