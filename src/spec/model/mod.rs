//! The checked model of a spec: every length in mm, every angle in rad, every name resolved,
//! every number finite. Only the spec reader makes one from a file; tests may make parts by hand.

mod bender;
mod carried;
mod component;
mod copy;
mod measurable;
mod mesh;
mod readings;
mod route;
mod run;
mod shape;
mod stock;
mod tube;
mod uncertainty;
mod workshop;

pub use bender::{Bender, LegMeasure, MarkPoint, TestBend};
pub use carried::Carried;
pub use component::{Component, EndForm, Fitting, FittingBody, Port, PortFault, PortSlip, Seal};
pub use copy::{Axis, CopyOf, MirrorPlane};
pub use measurable::{MOST_CROSSING, MadeBend, MadeTemplate, Measurable};
pub use mesh::{MeshFault, NoSolid, TriangleMesh};
pub use readings::{Accuracy, Off, Reading, Readings, What};
pub use route::{Avoid, AvoidWhat, Criterion, Directions, Like, MAX_BENDS, Route};
pub use run::{Anneal, BendFrom, BendRow, Corner, End, OwnClr, Parallel, Placed, Run, RunPath};
pub use shape::{ON_THE_SKIN_MM, Rotation, Shape};
pub use stock::{OF_COIL, Stock, StockForm, Straighten};
pub use tube::{GivenMetal, Hardening, Temper, Tube, TubeFault};
pub use uncertainty::Uncertainty;
pub use workshop::{FormOptions, JigOptions, Printer, SheetStock, Strap, Workshop};

use crate::quantity::Unit;

/// A whole checked spec.
#[derive(Debug, Clone, PartialEq)]
pub struct Spec {
    pub(crate) name: String,
    pub(crate) file_name: String,
    pub(crate) title: String,
    pub(crate) units: Unit,
    pub(crate) carries: Option<Carried>,
    pub(crate) components: Vec<Component>,
    pub(crate) runs: Vec<Run>,
    pub(crate) stock: Vec<Stock>,
    pub(crate) workshop: Workshop,
    pub(crate) uncertainty: Uncertainty,
}

impl Spec {
    /// Name of the output folder: the file's name without its ending.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The file's name without folders.
    pub fn file_name(&self) -> &str {
        &self.file_name
    }

    /// The title; the name where the spec gives none.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// Unit of its bare numbers.
    pub fn units(&self) -> Unit {
        self.units
    }

    /// The stuff that the tubes carry, if the spec says.
    pub fn carries(&self) -> Option<Carried> {
        self.carries
    }

    /// The components, in the order of the file.
    pub fn components(&self) -> &[Component] {
        &self.components
    }

    /// The same spec with these runs in place of its own.
    #[must_use]
    pub fn with_runs(&self, runs: Vec<Run>) -> Spec {
        Spec { runs, ..self.clone() }
    }

    /// The runs, in the order of the file.
    pub fn runs(&self) -> &[Run] {
        &self.runs
    }

    /// Tube as bought.
    pub fn stock(&self) -> &[Stock] {
        &self.stock
    }

    /// How exactly the work is done.
    pub fn uncertainty(&self) -> &Uncertainty {
        &self.uncertainty
    }

    /// The shop's sheet, printer and fastenings.
    pub fn workshop(&self) -> &Workshop {
        &self.workshop
    }
}
