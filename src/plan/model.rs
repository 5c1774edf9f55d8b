//! The plan as data. Field names are the keys of `plan.json`; units are in the names.

use serde::Serialize;

/// The plan of a whole spec.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Plan {
    /// Version of the keys.
    pub format: u32,
    /// Title of the spec.
    pub title: String,
    /// The spec's file name.
    pub spec: String,
    /// The runs, in the order of the file.
    pub runs: Vec<RunPlan>,
    /// Which run is cut from which piece of stock.
    pub cut_plan: CutPlan,
}

/// Which run is cut from which piece of stock: nothing yet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CutPlan {}

/// The plan of one run. Lengths, areas, volumes and mass are those of the finished tube without
/// allowances, except where the name says `cut`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RunPlan {
    /// Its name.
    pub name: String,
    /// Its tube.
    pub tube: TubePlan,
    /// Σ straights + Σ radius × angle, mm.
    pub developed_length_mm: f64,
    /// Length to cut: developed length and both allowances, mm.
    pub cut_length_mm: f64,
    /// Straights before each bend and after the last, mm.
    pub straights_mm: Vec<f64>,
    /// Mass, g; none where the density of the material is not known.
    pub mass_g: Option<f64>,
    /// What the bore holds, ml.
    pub bore_volume_ml: f64,
    /// Outer skin without the end faces, mm².
    pub outer_area_mm2: f64,
    /// Metal, mm³.
    pub metal_volume_mm3: f64,
    /// Start, corners and end of the centreline. A bend of 180° has no corner and gives none.
    pub corners_mm: Vec<[f64; 3]>,
    /// Datum end and other end.
    pub ends: [EndPlan; 2],
    /// The bends, datum end first.
    pub bends: Vec<BendPlan>,
    /// Smallest distance from this tube's surface to anything else's, mm; negative where they
    /// overlap, none where there is nothing else.
    pub min_clearance_mm: Option<f64>,
}

/// The tube of a run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TubePlan {
    /// Outside diameter, mm.
    pub od_mm: f64,
    /// Wall, mm.
    pub wall_mm: f64,
    /// Material.
    pub material: String,
    /// Temper, as written in a spec.
    pub temper: &'static str,
}

/// One end of a run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EndPlan {
    /// Centre of the finished tube's end.
    pub at_mm: [f64; 3],
    /// Unit direction from the end into the tube: the way a port there faces.
    pub facing: [f64; 3],
}

/// One bend of a run. Marks (`start_mm` to `mark_mm`) are measured along the straight tube from the
/// datum end of the cut tube, start allowance included.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BendPlan {
    /// Number from the datum end, from 1.
    pub number: usize,
    /// Change of direction, degrees.
    pub angle_deg: f64,
    /// Angle between the two legs: 180° − change of direction.
    pub included_angle_deg: f64,
    /// Turn of the tube from the previous bend's plane, right-handed about the direction of travel, degrees.
    pub rotation_deg: f64,
    /// Centreline radius, mm.
    pub clr_mm: f64,
    /// Straight of the finished tube before the bend, mm.
    pub straight_before_mm: f64,
    /// Start of the bend, mm.
    pub start_mm: f64,
    /// Middle of the bend, mm.
    pub middle_mm: f64,
    /// End of the bend, mm.
    pub end_mm: f64,
    /// Where to put the bender's reference line, mm: the point of the bend that the bender is marked
    /// for (start, middle or end), less the bender's datum distance, because the line sits that far
    /// before the point it stands for.
    pub mark_mm: f64,
    /// The same mark measured from the end of the previous bend, mm; from the datum end for the first.
    pub from_last_end_mm: f64,
    /// Angle to pull to, degrees. Equal to the bend angle while there is no springback.
    pub pull_to_deg: f64,
    /// What the bend opens by when let go, degrees.
    pub springback_deg: f64,
    /// Where the springback comes from: "none" while none is taken into account.
    pub springback_source: &'static str,
    /// Strain of the outermost fibre, 1.
    pub outer_strain: f64,
    /// Wall left at the back of the bend, mm.
    pub outer_wall_mm: f64,
}
