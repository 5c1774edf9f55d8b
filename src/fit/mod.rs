//! How runs meet their ports and clear everything else.
//!
//! A tube is the set of points within OD/2 of its centreline, cut flat at its ends. Clearances are
//! from surface to surface. See [`check`] for what counts as an obstacle.

mod assembly;
mod clearance;
mod copies;
mod corner;
mod diameter;
mod distance;
mod hull;
mod images;
mod itself;
mod motion;
mod ports;
mod slips;
mod solid;
mod stretch;
mod surroundings;
mod wanted;
mod world;

#[cfg(test)]
mod tests;
#[cfg(test)]
mod world_tests;

use crate::centreline::Layout;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::geometry::Point3;
use crate::quantity::Unit;
use crate::spec::model::Run;
use crate::tolerance::CLEARANCE_MM;
use clearance::{CutShort, most_clashes, most_pairs};
use world::Close;

pub use assembly::{Assembly, AssemblyStep, Joint};
pub use hull::{Hull, way_between};
pub use solid::box_round;
pub use surroundings::{Breach, Surroundings};
pub use world::World;

/// A neighbour of a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Obstacle {
    /// Another run, by its position in [`Layout::runs`].
    Run(usize),
    /// A component, by its position in [`Layout::components`].
    Component(usize),
    /// A later part of the run itself.
    Itself,
}

/// How near a run comes to an obstacle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clearance {
    /// From surface to surface, mm; negative where they overlap.
    pub distance: f64,
    /// To what.
    pub obstacle: Obstacle,
    /// The nearest place of the run's surface, mm; where they overlap, the deepest.
    pub on_run: Point3,
    /// The nearest place of the obstacle's surface, mm; where they overlap, the deepest.
    pub on_obstacle: Point3,
}

/// The nearest neighbour of a run, by its name.
#[derive(Debug, Clone, PartialEq)]
pub struct Neighbour {
    /// From surface to surface, mm; negative where they overlap.
    pub distance: f64,
    /// "run NAME", "component NAME" or "itself".
    pub to: String,
    /// The nearest place of the run's surface, mm; where they overlap, the deepest.
    pub at: Point3,
}

impl Neighbour {
    /// Its name without its kind.
    pub fn name(&self) -> &str {
        self.to.split_once(' ').map_or(&self.to, |(_, name)| name)
    }
}

/// The clearances that [`check`] measured, per run of the layout.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FitReport {
    /// The nearest obstacle of each run of [`Layout::runs`]; none where there is nothing else.
    pub nearest: Vec<Option<Clearance>>,
    /// How the loop is put together.
    pub assembly: Assembly,
    /// Names of the runs and of the components of the layout that was measured.
    names: [Vec<String>; 2],
}

impl FitReport {
    /// Keeps what was measured of the runs at the positions that `keep` names. Obstacles stay those of the layout
    /// that was measured.
    pub fn retain(&mut self, keep: impl Fn(usize) -> bool) {
        let all = self.nearest.len();
        let mut index = 0..;
        self.nearest.retain(|_| index.next().is_some_and(&keep));
        // An order is one of all runs.
        if self.nearest.len() < all {
            self.assembly = Assembly::default();
        }
    }

    /// The nearest neighbour of a run; `None` where there is nothing else to come near to.
    pub fn neighbour(&self, run: usize) -> Option<Neighbour> {
        let nearest = self.nearest.get(run).copied().flatten()?;
        let [runs, components] = &self.names;
        let to = match nearest.obstacle {
            Obstacle::Run(other) => format!("run {}", runs.get(other)?),
            Obstacle::Component(component) => format!("component {}", components.get(component)?),
            Obstacle::Itself => "itself".to_owned(),
        };
        Some(Neighbour { distance: nearest.distance, to, at: nearest.on_run })
    }

    /// Smallest clearance of a run, mm; `None` where there is nothing else to come near to.
    pub fn min_clearance(&self, run: usize) -> Option<f64> {
        self.nearest.get(run).copied().flatten().map(|nearest| nearest.distance)
    }
}

/// Measures every run's clearance and checks every end against its port.
///
/// Obstacles of a run are the other runs, the components, and the run itself:
///
/// * The component a run ends in (by a port, or by a point on it) counts only beyond that end: the
///   tube's insertion, the straight its fitting needs and one OD are left out, and so is what follows
///   as long as the tube moves on away from the component. A run that comes back to its own
///   component, or cuts through it, is found.
/// * A bend table without ends lies nowhere in particular, so it meets only itself.
/// * A run is its own obstacle where it comes nearer to itself than the legs of its tightest possible
///   U would stand apart. Nearer places along the tube than half a turn cannot touch.
///
/// Distances are within [`MEASURED_MM`](crate::tolerance::MEASURED_MM) of the truth; overlaps deeper than
/// [`CLEARANCE_MM`] are clashes, and gaps smaller than is wanted, or of nothing where nothing is wanted, are told: up to
/// 20 of both for a run, each in one warning, however many runs it is of, with the place. A tube that cannot go into
/// its fitting, or cannot seal there, is an error. Tubes that cannot be put in, in whatever order, are one warning.
pub fn check(layout: &Layout) -> (FitReport, Diagnostics) {
    let (mut report, mut findings) = check_in_place(layout);
    let (assembly, stuck) = assembly::assembly(layout);
    report.assembly = assembly;
    findings.extend(stuck);
    (report, findings)
}

/// The same for tubes that are in their places, however they came there.
pub fn check_in_place(layout: &Layout) -> (FitReport, Diagnostics) {
    let mut findings = Diagnostics::new();
    let mut at_ports: Vec<_> = layout.runs.iter().map(|laid| ports::check(laid, layout)).collect();
    images::share_hints(layout, &mut at_ports);
    findings.extend(at_ports.into_iter().flatten().map(|found| found.finding));
    let measured = clearance::measure(layout);
    for (index, run) in measured.iter().enumerate() {
        let all_overlap = run.close.iter().all(Close::is_clash);
        let (clashes, near): (Vec<&Close>, _) = run.close.iter().partition(|close| close.is_clash());
        findings.extend(clashes.into_iter().map(|clash| clash_warning(layout, index, clash)));
        findings.extend(near.into_iter().filter_map(|near| wanted::too_near(layout, index, near)));
        findings.extend(run.cut_short.map(|why| cut_short(layout, index, (why, all_overlap))));
    }
    let names = [
        layout.runs.iter().map(|laid| laid.run.name.clone()).collect(),
        layout.components.iter().map(|component| component.name.clone()).collect(),
    ];
    let nearest = measured.iter().map(|run| run.nearest).collect();
    (FitReport { nearest, assembly: Assembly::default(), names }, findings)
}

/// Advice for a run that meets itself.
const PASS_ITSELF: &str = "lead the run so that it passes itself with room";

fn clash_warning(layout: &Layout, run: usize, clash: &Close) -> Diagnostic {
    let run = &layout.runs[run].run;
    let (what, hint) = match clash.obstacle {
        Obstacle::Run(other) => {
            let other = &layout.runs[other].run;
            let hint = match shared_port(run, other) {
                Some(port) => format!("both runs end in port {port}: let one of them end in another"),
                None => copies::pass_run(run, other),
            };
            (format!("run {}", other.name), hint)
        }
        Obstacle::Component(component) => {
            (format!("component {}", layout.components[component].name), copies::pass_component(run))
        }
        Obstacle::Itself => ("itself".to_owned(), PASS_ITSELF.to_owned()),
    };
    let at = [clash.at.x, clash.at.y, clash.at.z];
    let (place, depth) = (coordinates(at, layout.units), layout.units.length_with(-clash.distance, 2));
    let message = format!("run {} overlaps {what} by {depth}, deepest at {place}", run.name);
    let finding = Diagnostic::warning("clash", message).hint(hint).at(run.place).run(&run.name).at_mm(at);
    match clash.obstacle {
        Obstacle::Run(other) => {
            let other = &layout.runs[other].run;
            finding.with(&other.name, other.place)
        }
        Obstacle::Component(_) => finding,
        Obstacle::Itself => finding.written_in(run.written_in()),
    }
}

/// The port in which both runs end.
fn shared_port<'r>(run: &'r Run, other: &Run) -> Option<&'r str> {
    let ports =
        |run: &'r Run| [&run.from, &run.to].into_iter().filter_map(|end| end.as_ref()?.port.as_deref());
    let others = [&other.from, &other.to].map(|end| end.as_ref().and_then(|end| end.port.as_deref()));
    ports(run).find(|port| others.contains(&Some(*port)))
}

/// A point as a spec of this unit writes it, to about 0.1 mm, and the unit.
fn coordinates(mm: [f64; 3], unit: Unit) -> String {
    format!("[{}] {}", mm.map(|mm| unit.number_to(mm, 1)).join(", "), unit.name())
}

/// Says that more may overlap a run than is told, or be too near to it, where some are no more than that.
fn cut_short(layout: &Layout, run: usize, (why, all_overlap): (CutShort, bool)) -> Diagnostic {
    let run = &layout.runs[run].run;
    let name = &run.name;
    let message = match why {
        CutShort::Clashes => {
            let most = most_clashes(layout.runs.len());
            let meets = if all_overlap { "overlaps" } else { "overlaps or is too near to" };
            format!("run {name} {meets} more than {most} runs and components; only the first {most} are told")
        }
        CutShort::Pairs => format!(
            "run {name} lies among more than {} pieces of others; beyond these nothing is measured, so \
             something else may overlap it or be nearer",
            most_pairs(layout.runs.len())
        ),
    };
    Diagnostic::warning("clash-limit", message)
        .hint("move the overlapping runs apart and check again")
        .at(run.place)
        .run(name)
}

/// Whether a distance is an overlap and not rounding.
fn overlaps(distance: f64) -> bool {
    distance < -CLEARANCE_MM
}
