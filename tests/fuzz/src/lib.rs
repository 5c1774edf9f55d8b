//! What the targets share: specs made from random bytes, the way from a spec to its plan, and the check of drawings.

mod dice;
mod drawn;
mod spec;
mod timed;

pub use dice::Dice;
pub use drawn::{whole_drawing, whole_sheet};
pub use spec::{Size, spec};
pub use timed::timed;

use tubewright::calibration::calibrations;
use tubewright::centreline::{Layout, lay_out};
use tubewright::diagnostic::Diagnostics;
use tubewright::fit;
use tubewright::plan::{self, Plan};
use tubewright::solid::{component, verify};
use tubewright::spec::read;

/// A spec that has been read, laid out, fitted and planned.
pub struct Planned {
    pub layout: Layout,
    pub plan: Plan,
    pub findings: Diagnostics,
}

/// The stages of `Project::read` but for forms and jigs; `None` where one of them refuses the spec.
///
/// Prints the spec where `TUBEWRIGHT_SHOW` is set, to read what a file of bytes stands for.
pub fn planned(text: &str) -> Option<Planned> {
    if std::env::var_os("TUBEWRIGHT_SHOW").is_some() {
        println!("{text}");
    }
    let (spec, mut findings) = read(text, "fuzz.yaml").ok()?;
    let (calibrations, found) = calibrations(&spec);
    findings.extend(found);
    let (layout, found) = lay_out(&spec, &calibrations);
    findings.extend(found);
    let makeable = layout.runs.iter().all(|laid| verify::tube(&laid.centreline, &laid.run.tube).is_ok())
        && layout.components.iter().all(|part| component(part).is_ok());
    let (fits, found) = fit::check(&layout);
    findings.extend(found);
    if !makeable || findings.has_errors() {
        return None;
    }
    let (plan, found) = plan::plan(&layout, &fits);
    findings.extend(found);
    findings.sort_by_place();
    (!findings.has_errors()).then_some(Planned { layout, plan, findings })
}
