//! STEP files: ISO 10303-21 text of application protocol 214 (`AUTOMOTIVE_DESIGN`), millimetres and
//! radians, exact surfaces, one product per run and component.
//!
//! Points, directions, placements, curves and surfaces that are written alike are written once per
//! part. Coordinates are rounded once, here, far below the 1e-7 mm at which readers merge points.

mod brep;
mod part21;
mod product;
mod tools;

use std::io::{self, Write};

pub use self::tools::{form_file, jig_file};

use self::part21::Part21;
use self::product::{Assembly, ProductLabel, WORLD};
use super::Meta;
use crate::centreline::{LaidRun, Layout};
use crate::geometry::{EuclideanSpace, Point3};
use crate::palette;
use crate::solid::{self, Placement, SolidFault, Tubes};

/// Why there is no STEP file.
#[derive(Debug, thiserror::Error)]
pub enum StepFault {
    /// A run has no solid.
    #[error("run {run}: {fault}")]
    Run {
        /// Name of the run.
        run: String,
        /// Why not.
        #[source]
        fault: SolidFault,
    },
    /// A component has no solid.
    #[error("component {component}: {fault}")]
    Component {
        /// Name of the component.
        component: String,
        /// Why not.
        #[source]
        fault: SolidFault,
    },
    /// A part of a form or jig has no solid.
    #[error("part {part}: {fault}")]
    Tool {
        /// Name of the part.
        part: String,
        /// Why not.
        #[source]
        fault: SolidFault,
    },
    /// The text could not be handed on.
    #[error("the STEP text could not be written: {0}")]
    Write(#[from] io::Error),
}

/// The STEP file of one run: a product of the run's name with one hollow solid in the run's colour.
///
/// # Errors
/// [`StepFault::Run`] if the run makes no solid.
pub fn tube_file(laid: &LaidRun, tubes: &Tubes, meta: &Meta) -> Result<Vec<u8>, StepFault> {
    let mut bytes = Vec::new();
    let mut file = Part21::start(&mut bytes, &laid.run.name, meta);
    let contexts = product::contexts(&mut file);
    tube_part(&mut file, &contexts, laid, tubes)?;
    file.finish()?;
    Ok(bytes)
}

/// The STEP file of a whole spec; see [`write_assembly`].
///
/// # Errors
/// See [`write_assembly`].
pub fn assembly_file(layout: &Layout, tubes: &Tubes, meta: &Meta) -> Result<Vec<u8>, StepFault> {
    let mut bytes = Vec::new();
    write_assembly(layout, tubes, meta, &mut bytes)?;
    Ok(bytes)
}

/// Writes the STEP file of a whole spec: an assembly named like the spec's title, with one
/// occurrence of every run and of every component that has a shape, where the spec places them; tubes on
/// the bench lie beside the others. Holds one part at a time.
///
/// # Errors
/// [`StepFault::Run`] or [`StepFault::Component`] for the first that makes no solid, with part of
/// the text written; [`StepFault::Write`] if `out` fails.
pub fn write_assembly(
    layout: &Layout,
    tubes: &Tubes,
    meta: &Meta,
    out: &mut dyn Write,
) -> Result<(), StepFault> {
    let mut file = Part21::start(out, &layout.name, meta);
    let contexts = product::contexts(&mut file);
    // Names in a spec hold no colon, so these ids meet no run's name.
    let id = format!("assembly:{}", layout.name);
    let mut assembly = Assembly::start(&mut file, &contexts, ProductLabel { id: &id, name: &layout.title });
    for (laid, shown) in layout.runs.iter().zip(&layout.shown_together().runs) {
        let part = tube_part(&mut file, &contexts, laid, tubes)?;
        let moved = Point3::origin() + (shown.centreline.start() - laid.centreline.start());
        assembly.place(&mut file, part, run_label(laid), &Placement { origin: moved, ..WORLD });
        file.end_part()?;
    }
    for component in &layout.components {
        let fault = |fault| StepFault::Component { component: component.name.clone(), fault };
        let solids = solid::component(component).map_err(fault)?;
        if !solids.is_empty() {
            let id = format!("component:{}", component.name);
            let label = ProductLabel { id: &id, name: &component.name };
            let part = product::part(&mut file, &contexts, label, &solids, palette::COMPONENT);
            assembly.place(&mut file, part, label, &WORLD);
            file.end_part()?;
        }
    }
    assembly.finish(&mut file, &contexts, &layout.title);
    Ok(file.finish()?)
}

fn tube_part(
    file: &mut Part21<'_>,
    contexts: &product::Contexts,
    laid: &LaidRun,
    tubes: &Tubes,
) -> Result<product::Product, StepFault> {
    let fault = |fault| StepFault::Run { run: laid.run.name.clone(), fault };
    let solid = tubes.get(laid).map_err(fault)?;
    let solid = std::slice::from_ref(&*solid);
    Ok(product::part(file, contexts, run_label(laid), solid, palette::run_colour(laid.index)))
}

fn run_label(laid: &LaidRun) -> ProductLabel<'_> {
    ProductLabel { id: &laid.run.name, name: &laid.run.name }
}
