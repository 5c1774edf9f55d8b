//! STL files, and where they are not quite what was asked for.

use super::notes::Notes;
use super::work::{Files, Planned, Unmade, Work, one};
use crate::diagnostic::Diagnostic;
use crate::export::{Artifact, stl};
use crate::quantity::{decimals, trimmed};
use crate::solid::mesh::{self, MOST_CHORD_MM, Mesh};
use crate::solid::{self, Solid, SolidFault};
use crate::tooling::form::Form;

/// One run's tube. A run of more bends than a mesh can have has none.
pub(super) fn tube(work: &Work<'_>, Planned { laid, .. }: Planned<'_>, path: &str) -> Files {
    let (chord, unit, notes) = (work.options.chord_mm, work.layout().units, work.notes);
    let run = &laid.run;
    let of_run = |code, message: String, hint: String| {
        notes.add(Diagnostic::warning(code, message).hint(hint).at(run.place).run(&run.name));
    };
    let (mesh, used) = match mesh::coarsened(chord, |chord| mesh::tube(&laid.centreline, &run.tube, chord)) {
        Ok(made) => made,
        Err(SolidFault::TooManyTriangles { limit, .. }) => {
            let message =
                format!("run {} has no tube.stl: it would have more than {limit} triangles", run.name);
            of_run("stl-size", message, "its tube.step has the whole tube; or split the run".to_owned());
            return Ok(Vec::new());
        }
        Err(fault) => return Err(Unmade::failed(format!("run {}: {fault}", run.name))),
    };
    if used > chord {
        let message = format!(
            "run {}: tube.stl is made with a chord height of {} mm; {} mm would take more than {} triangles",
            run.name,
            trimmed(used),
            trimmed(chord),
            mesh::MOST_TRIANGLES
        );
        of_run("chord", message, format!("give a `--chord` of {} mm or more", trimmed(used)));
    }
    if chord > MOST_CHORD_MM && mesh::is_coarsest(&laid.centreline, &run.tube, chord) {
        let message = format!(
            "tubes that would have fewer facets round them with a chord height of {} mm are made with {}, nearer to their shape",
            trimmed(chord),
            trimmed(mesh::LEAST_AROUND)
        );
        let hint = "with fewer they would not look like tubes";
        notes.add(Diagnostic::warning("chord", message).hint(hint));
    }
    let origin = stl::origin(&mesh);
    if let Some(origin) = origin {
        // STL files have no unit and are in mm.
        let at = [origin.x, origin.y, origin.z].map(|mm| decimals(mm, 0)).join(", ");
        let there = [origin.x, origin.y, origin.z].map(|mm| unit.number(mm)).join(", ");
        let message = format!(
            "run {}: the point {there} of the spec is 0, 0, 0 in tube.stl; so far out the numbers of STL are too coarse for this tube",
            run.name
        );
        let hint =
            format!("move the mesh by {at} mm to put it in place, or take tube.step, which is in place");
        of_run("stl-origin", message, hint);
    }
    let coarse = stl::spacing(&mesh, origin) / 2.0;
    if coarse > mesh.slack {
        let message = format!(
            "run {}: the numbers of STL put its corners up to {} off, since the tube is so long for its size",
            run.name,
            unit.length_to(coarse, 4)
        );
        of_run("stl-coarse", message, "take tube.step, which is exact".to_owned());
    }
    one(path, stl::render(&mesh, origin, &run.name, &work.meta.mark))
}

/// A file for each piece of a form and for its follower.
pub(super) fn form(work: &Work<'_>, form: &Form, path: &str) -> Files {
    let blocks = form.blocks.iter().chain([&form.follower]);
    blocks.map(|block| piece(work, path, &block.name, solid::block(block))).collect()
}

/// A file for each gauge that finds the clearance of a groove.
pub(super) fn gauges(work: &Work<'_>, path: &str) -> Files {
    let gauges = work.project.tooling().gauges.iter();
    gauges.map(|gauge| piece(work, path, &gauge.name, solid::gauge(gauge))).collect()
}

fn piece(
    work: &Work<'_>,
    path: &str,
    name: &str,
    solid: Result<Solid, SolidFault>,
) -> Result<Artifact, Unmade> {
    let path = path.replace("<piece>", name);
    let mesh = tool(solid, work.options.chord_mm, &path, work.notes)?;
    Ok(Artifact { path, bytes: stl::render(&mesh, None, name, &work.meta.mark) })
}

/// The mesh of a form or test piece.
fn tool(solid: Result<Solid, SolidFault>, chord: f64, path: &str, notes: &Notes) -> Result<Mesh, Unmade> {
    let solid = solid.map_err(Unmade::failed)?;
    let wanted = chord.min(MOST_CHORD_MM);
    let (mesh, used) =
        mesh::coarsened(wanted, |chord| mesh::of_solid(&solid, chord)).map_err(Unmade::failed)?;
    if chord > MOST_CHORD_MM {
        let message = format!(
            "the meshes of forms and test pieces are made with a chord height of {} mm, not of {} mm",
            trimmed(MOST_CHORD_MM),
            trimmed(chord)
        );
        let hint = "coarser facets would cross the thin walls beside grooves and holes";
        notes.add(Diagnostic::warning("chord", message).hint(hint));
    }
    if used > wanted {
        let message = format!(
            "{path} is made with a chord height of {} mm; {} mm would take more than {} triangles",
            trimmed(used),
            trimmed(wanted),
            mesh::MOST_TRIANGLES
        );
        notes.add(Diagnostic::warning("chord", message).hint("give a larger `--chord`"));
    }
    Ok(mesh)
}
