//! STEP files of forms and jigs.

use super::part21::Part21;
use super::product::{self, Assembly, ProductLabel, WORLD};
use super::{Meta, StepFault, tube_part};
use crate::centreline::{LaidRun, Layout};
use crate::palette::{self, Rgb};
use crate::solid::{self, Placement, Solid, SolidFault, Tubes};
use crate::tooling::form::Form;
use crate::tooling::jig::Jig;

/// A form and its follower as one assembly, standing apart as they are modelled.
///
/// # Errors
/// [`StepFault::Tool`] if a block makes no solid.
pub fn form_file(form: &Form, meta: &Meta) -> Result<Vec<u8>, StepFault> {
    let blocks = form.blocks.iter().chain([&form.follower]);
    let parts = blocks.map(|block| (block.name.as_str(), solid::block(block), palette::TOOL));
    assembly(&form.name, parts, None, meta)
}

/// A jig put together, with the run's tube in it.
///
/// # Errors
/// [`StepFault::Tool`] if a part makes no solid, [`StepFault::Run`] if the tube makes none.
pub fn jig_file(jig: &Jig, layout: &Layout, tubes: &Tubes, meta: &Meta) -> Result<Vec<u8>, StepFault> {
    let work = &jig.work;
    let parts = work.posed.iter().filter_map(|posed| {
        let part = work.parts.get(posed.part)?;
        Some((part.name.as_str(), solid::plate(part, work.thickness, &posed.at), palette::TOOL))
    });
    let laid = layout.runs.iter().find(|laid| laid.run.name == jig.run);
    assembly(&work.name, parts, laid.map(|laid| (laid, tubes, &jig.tube)), meta)
}

fn assembly<'a>(
    name: &str,
    parts: impl Iterator<Item = (&'a str, Result<Solid, SolidFault>, Rgb)>,
    tube: Option<(&LaidRun, &Tubes, &Placement)>,
    meta: &Meta,
) -> Result<Vec<u8>, StepFault> {
    let mut bytes = Vec::new();
    let mut file = Part21::start(&mut bytes, name, meta);
    let contexts = product::contexts(&mut file);
    // Names hold no colon, so these ids meet no run's name.
    let id = format!("assembly:{name}");
    let mut assembly = Assembly::start(&mut file, &contexts, ProductLabel { id: &id, name });
    for (part, solid, colour) in parts {
        let solid = solid.map_err(|fault| StepFault::Tool { part: part.to_owned(), fault })?;
        let id = format!("part:{part}");
        let label = ProductLabel { id: &id, name: part };
        let written = product::part(&mut file, &contexts, label, &[solid], colour);
        assembly.place(&mut file, written, label, &WORLD);
        file.end_part()?;
    }
    if let Some((laid, tubes, at)) = tube {
        let written = tube_part(&mut file, &contexts, laid, tubes)?;
        assembly.place(&mut file, written, super::run_label(laid), at);
        file.end_part()?;
    }
    assembly.finish(&mut file, &contexts, name);
    file.finish()?;
    Ok(bytes)
}
