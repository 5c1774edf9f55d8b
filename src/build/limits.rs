//! Outputs that are left out of a build for being too large, by the bends of all runs together.

use crate::centreline::Layout;
use crate::diagnostic::Diagnostic;
use crate::solid;
use crate::spec::model::Shape;

/// Most bends that a worksheet is written for: some thousands of pages.
const WORKSHEET: usize = 15_000;

/// Most bends of an assembly: a hundred million bytes or two, which are put together in memory.
const ASSEMBLY: usize = 20_000;

/// Says that there is no worksheet, if so.
pub(super) fn worksheet(layout: &Layout) -> Option<Diagnostic> {
    let hint = "build fewer runs at a time (--run NAME), or take the numbers from bends.csv and plan.json";
    left_out(layout, WORKSHEET, "worksheet-limit", "worksheet.pdf", hint)
}

/// Says that there is no assembly, if so.
pub(super) fn assembly(layout: &Layout) -> Option<Diagnostic> {
    let hint = "build fewer runs at a time (--run NAME), or put runs/<run>/tube.step together in a CAD program: all are in one space";
    left_out(layout, ASSEMBLY, "assembly-limit", "assembly.step", hint).or_else(|| {
        let meshes = layout.components.iter().flat_map(|component| &component.shapes);
        let faces = meshes.map(|shape| match shape {
            Shape::Mesh(mesh) if solid::left_out(mesh).is_none() => mesh.triangles().len(),
            _ => 0,
        });
        let faces: usize = faces.sum();
        let message =
            format!("assembly.step is left out: its meshes have {faces} triangles together, and it is written for {MESHES} at most");
        let hint = "export the meshes coarser, or lay their own files beside runs/<run>/tube.step in a CAD program";
        (faces > MESHES).then(|| Diagnostic::warning("assembly-limit", message).hint(hint))
    })
}

/// Most triangles of the meshes in an assembly: each becomes a face of some hundred bytes.
const MESHES: usize = 150_000;

fn left_out(
    layout: &Layout,
    most: usize,
    code: &'static str,
    file: &str,
    hint: &'static str,
) -> Option<Diagnostic> {
    let bends: usize = layout.runs.iter().map(|laid| laid.centreline.bends().len()).sum();
    let message = || {
        format!(
            "{file} is left out: the runs have {bends} bends together, and it is written for {most} at most"
        )
    };
    (bends > most).then(|| Diagnostic::warning(code, message()).hint(hint))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{layout, table_run};

    #[test]
    fn outputs_of_too_many_bends_are_left_out() {
        let of = |runs: usize| {
            let run = || table_run("t", 60.0, &[(80.0, 0.0, 90.0); 100], 80.0);
            layout((0..runs).map(|_| run()).collect(), vec![])
        };
        let most = of(WORKSHEET / 100);
        assert!(worksheet(&most).is_none() && assembly(&most).is_none());
        let more = of(WORKSHEET / 100 + 1);
        let why = worksheet(&more).unwrap();
        assert_eq!(why.code, "worksheet-limit");
        assert!(why.message.contains("15100 bends"), "{}", why.message);
        assert!(assembly(&more).is_none());
        assert_eq!(assembly(&of(ASSEMBLY / 100 + 1)).unwrap().code, "assembly-limit");
    }
}
