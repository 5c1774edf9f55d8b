//! The quantities of a run's tube that can be read, with their planned values.

use std::collections::BTreeMap;

use super::{LegMeasure, What};
use crate::quantity::Unit;

/// Largest angle of a bend whose legs' lines cross near enough to be measured to, rad (150°): there they cross 3.7
/// radii from the bend's ends (common practice, no source).
pub const MOST_CROSSING: f64 = 150f64.to_radians();

/// A run as it is measured: what it has, by the names of the pages, and what the plan says of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Measurable {
    /// Its name.
    pub run: String,
    /// Names of all runs of the spec.
    pub runs: Vec<String>,
    /// The spec's unit: bare numbers are in it.
    pub unit: Unit,
    /// Outside diameter of its tube, mm.
    pub od: f64,
    /// Length that its tube is cut to, mm.
    pub cut: f64,
    /// Its bends in the order they are made.
    pub bends: Vec<MadeBend>,
    /// Its templates in the order of their pages, which is that of bending.
    pub templates: Vec<MadeTemplate>,
    /// The planned values, mm or rad, of every quantity but [`What::LastLeg`].
    pub planned: BTreeMap<What, f64>,
}

/// A bend as it is made.
#[derive(Debug, Clone, PartialEq)]
pub struct MadeBend {
    /// Its number from the datum end, from 1.
    pub number: usize,
    /// Its angle, rad.
    pub angle: f64,
    /// The angle to pull to, rad.
    pub pulled: f64,
    /// [`What::LastLeg`] while it is the last bend that is made, mm.
    pub last_leg: BTreeMap<LegMeasure, f64>,
}

/// A template of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct MadeTemplate {
    /// Its number as printed: templates are numbered from the datum end, and lie in the order of bending.
    pub number: usize,
    /// Its name as printed.
    pub name: String,
    /// The numbers of its bends, in the order they are made.
    pub bends: Vec<usize>,
}

impl Measurable {
    /// The planned value of a quantity once so many bends are made, mm or rad; none where the run has no such quantity.
    pub fn planned(&self, what: What, done: usize) -> Option<f64> {
        match what {
            What::LastLeg(to) => self.bends.get(done.checked_sub(1)?)?.last_leg.get(&to).copied(),
            what => self.planned.get(&what).copied(),
        }
    }

    /// A quantity in the words of a file of readings and of its options: "bend 2 angle", "template 1 at bend 2 left".
    /// The face that legs are measured to is not in it: it is one for all of them.
    pub fn name(&self, what: What) -> String {
        match what {
            What::Angle(bend) => format!("bend {bend} angle"),
            What::Turn(bend) => format!("bend {bend} turn"),
            What::Starts(bend) => format!("bend {bend} starts"),
            What::Ends(bend) => format!("bend {bend} ends"),
            What::Leg(bend, _) => format!("bend {bend} leg"),
            What::Between(bend, _) => format!("bend {bend} between"),
            What::LastLeg(_) => "last_leg".to_owned(),
            What::Cut => "cut".to_owned(),
            What::EndToEnd(template) => format!("template {} end_to_end", self.printed(template)),
            What::FarEnd(template, off) => format!("template {} {}", self.printed(template), off.name()),
            What::OnTemplate(bend, off) => {
                let on = self.templates.iter().find(|template| template.bends.contains(&bend));
                let number = on.map_or(0, |template| template.number);
                format!("template {number} at bend {bend} {}", off.name())
            }
        }
    }

    /// The printed number of a template that has this one in the order of bending, from 1.
    fn printed(&self, template: usize) -> usize {
        let at = template.checked_sub(1).and_then(|index| self.templates.get(index));
        at.map_or(template, |template| template.number)
    }
}
