//! Runs laid out and planned by the program itself, from a spec's text.

use tubewright::build::Project;
use tubewright::centreline::LaidRun;
use tubewright::geometry::Point3;
use tubewright::plan::RunPlan;

/// Unit a text writes its lengths in: the spec's `units`, and its mm.
#[derive(Clone, Copy)]
pub(crate) enum Unit {
    Mm,
    Inch,
}

/// The runs of one spec, measured in the unit the spec is written in.
pub(crate) struct Planned {
    pub(crate) laid: LaidRun,
    pub(crate) plan: RunPlan,
    mm: f64,
}

/// Reads, lays out and plans runs of one tube, each the text of a run in a spec.
pub(crate) fn all(unit: Unit, od: f64, wall: f64, clr: f64, runs: &[String]) -> Vec<Planned> {
    let (name, mm) = match unit {
        Unit::Mm => ("mm", 1.0),
        Unit::Inch => ("in", 25.4),
    };
    let runs: String = runs.iter().enumerate().map(|(i, run)| format!("  run-{i}: {run}\n")).collect();
    let text = format!(
        "format: 1\nunits: {name}\ntube: {{od: {od}, wall: {wall}, material: copper, temper: soft}}\n\
         bender: {{clr: {clr}}}\nruns:\n{runs}"
    );
    let project = Project::read(&text, "reference.yaml").expect("a sound spec");
    let runs = project.layout().runs.iter().zip(&project.plan().runs);
    runs.map(|(laid, plan)| Planned { laid: laid.clone(), plan: plan.clone(), mm }).collect()
}

/// One run whose wall does not matter.
pub(crate) fn one(unit: Unit, od: f64, clr: f64, run: String) -> Planned {
    all(unit, od, od / 10.0, clr, &[run]).remove(0)
}

/// A run as a bend table of (straight, rotation, angle), angles in degrees.
pub(crate) fn table(rows: &[(f64, f64, f64)], end: f64) -> String {
    let rows: Vec<String> = rows
        .iter()
        .map(|(length, rotation, angle)| {
            format!("{{length: {length}, rotation: {rotation}, angle: {angle}}}")
        })
        .collect();
    format!("{{bends: [{}], end_length: {end}}}", rows.join(", "))
}

/// A run through points: start, corners, end.
pub(crate) fn corners(points: &[[f64; 3]]) -> String {
    let (start, rest) = points.split_first().expect("a start");
    let (end, corners) = rest.split_last().expect("an end");
    format!("{{from: {start:?}, to: {end:?}, corners: {corners:?}}}")
}

/// A run of one bend.
pub(crate) fn bend(unit: Unit, od: f64, clr: f64, angle: f64) -> Planned {
    one(unit, od, clr, table(&[(2.0 * clr, 0.0, angle)], clr))
}

/// An offset whose corners are `travel` apart, each bend by `angle` degrees.
pub(crate) fn offset(unit: Unit, od: f64, clr: f64, travel: f64, angle: f64) -> Planned {
    // Elementary geometry: each corner is R·tan(a/2) from its bend.
    let straight = travel - 2.0 * clr * (angle.to_radians() / 2.0).tan();
    one(unit, od, clr, table(&[(5.0 * clr, 0.0, angle), (straight, 180.0, angle)], 5.0 * clr))
}

impl Planned {
    /// Developed length.
    pub(crate) fn length(&self) -> f64 {
        self.plan.developed_length / self.mm
    }

    /// Length of the arc of a bend, counted from 0: from its start to its end along the tube.
    pub(crate) fn arc(&self, bend: usize) -> f64 {
        self.end(bend) - self.start(bend)
    }

    pub(crate) fn start(&self, bend: usize) -> f64 {
        self.plan.from_datum_end[bend].arc.start / self.mm
    }

    pub(crate) fn middle(&self, bend: usize) -> f64 {
        self.plan.from_datum_end[bend].arc.middle() / self.mm
    }

    pub(crate) fn end(&self, bend: usize) -> f64 {
        self.plan.from_datum_end[bend].arc.end() / self.mm
    }

    pub(crate) fn straight(&self, index: usize) -> f64 {
        self.plan.straights[index] / self.mm
    }

    pub(crate) fn angle(&self, bend: usize) -> f64 {
        self.plan.bends[bend].angle.to_degrees()
    }

    pub(crate) fn rotation(&self, bend: usize) -> f64 {
        self.plan.from_datum_end[bend].turn.rotation.to_degrees()
    }

    /// The start (0), a corner or the end, as the plan has them.
    pub(crate) fn corner(&self, index: usize) -> [f64; 3] {
        let at: [f64; 3] = self.plan.corners[index].into();
        at.map(|x| x / self.mm)
    }

    /// From one corner to the next.
    pub(crate) fn leg(&self, index: usize) -> f64 {
        let (a, b) = (self.corner(index), self.corner(index + 1));
        (b[0] - a[0]).hypot(b[1] - a[1]).hypot(b[2] - a[2])
    }

    /// From the start to a corner along the legs, as texts count that know no radius.
    pub(crate) fn along(&self, corner: usize) -> f64 {
        (0..corner).map(|index| self.leg(index)).sum()
    }

    /// How much further a corner is along the legs than along +X.
    pub(crate) fn shrink(&self, corner: usize) -> f64 {
        self.along(corner) - (self.corner(corner)[0] - self.corner(0)[0])
    }

    /// The point of the centreline at a station of the plan.
    pub(crate) fn point(&self, station: f64) -> Point3 {
        self.laid.centreline.point_at(station * self.mm)
    }
}
