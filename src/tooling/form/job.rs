//! Which forms are needed: one for each tube diameter, finished radius and radius under load in use.

use std::collections::{BTreeMap, BTreeSet};

use super::FormBend;
use crate::centreline::Layout;
use crate::diagnostic::{Diagnostic, Diagnostics, Span};
use crate::plan::{BendPlan, FromEnd, Operation, Plan, RunPlan, SpringbackSource};
use crate::quantity::decimals;
use crate::spec::model::{FormOptions, Run};

/// The arc goes on for so much beyond the largest bend where the springback is not known, rad (10°): half-hard
/// copper gives back less than that (common practice, no source).
pub const OVER_BEND_UNKNOWN: f64 = 10.0 * std::f64::consts::PI / 180.0;

/// An arc is never longer, rad (200°): beyond half a turn the leads run towards each other, and further on
/// the leads would be shorter than two radii and leave no body between the tube's legs.
pub const LARGEST_ARC: f64 = 200.0 * std::f64::consts::PI / 180.0;

/// The bends that one form serves.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct FormJob {
    pub(super) name: String,
    pub(super) od: f64,
    pub(super) clr: f64,
    /// Radius of the tube's centreline on the form, mm.
    pub(super) held_radius: f64,
    pub(super) source: SpringbackSource,
    /// By finished angle.
    pub(super) bends: Vec<FormBend>,
    /// Angle of the form's arc, rad.
    pub(super) arc: f64,
    /// Distance between tube and groove, mm.
    pub(super) clearance: f64,
    /// Depth of the groove below the rim as a part of the tube's diameter.
    pub(super) depth: f64,
    /// The first run that needs it, and where the spec has it.
    pub(super) run: String,
    pub(super) place: Span,
}

impl FormJob {
    /// Radius of the groove's section, mm.
    pub(super) fn groove_radius(&self) -> f64 {
        self.od / 2.0 + self.clearance
    }

    /// How far the section's centre lies outside the rim, mm.
    pub(super) fn offset(&self) -> f64 {
        self.groove_radius() - self.depth * self.od
    }

    /// Radius of the rim, mm: the groove's section is centred on the tube's path.
    pub(super) fn rim(&self) -> f64 {
        self.held_radius - self.offset()
    }

    /// Radius of the groove's bottom, mm.
    pub(super) fn root(&self) -> f64 {
        self.held_radius - self.groove_radius()
    }

    /// A warning about this form, told where the first run has it that needs it.
    pub(super) fn warning(&self, code: &'static str, message: String, hint: &str) -> Diagnostic {
        Diagnostic::warning(code, message).hint(hint).at(self.place).run(&self.run)
    }
}

/// Tube diameter, finished radius and radius under load in whole micrometres: as finely as forms are told apart.
type Key = (i64, i64, i64);

fn micrometres(mm: f64) -> i64 {
    (mm * 1e3).round() as i64
}

/// Most forms of a spec. Nobody makes so many; radii that should be one and differ by a slip of the pen have more.
const MOST_FORMS: usize = 100;

/// The jobs of a layout, by diameter, finished radius and radius under load: the first [`MOST_FORMS`] that its runs
/// need.
pub(super) fn jobs(layout: &Layout, plan: &Plan, findings: &mut Diagnostics) -> Vec<FormJob> {
    let options = &layout.workshop.form;
    let mut jobs: BTreeMap<Key, FormJob> = BTreeMap::new();
    let mut left_out: BTreeSet<Key> = BTreeSet::new();
    let mut first_without: Option<&Run> = None;
    for laid in &layout.runs {
        let Some(run) = plan.run(&laid.run.name) else { continue };
        for (bend, made) in run.in_order(FromEnd::Datum) {
            let held = held_radius(run, bend, made);
            let key = (micrometres(laid.run.tube.od()), micrometres(bend.clr), micrometres(held));
            if jobs.len() >= MOST_FORMS && !jobs.contains_key(&key) {
                left_out.insert(key);
                first_without.get_or_insert(&laid.run);
                continue;
            }
            let job = jobs.entry(key).or_insert_with(|| new_job(&laid.run, bend, held, options));
            // Of several sources the least certain one counts.
            match bend.springback_source {
                SpringbackSource::TestBends | SpringbackSource::Predicted => {}
                SpringbackSource::Unknown => job.source = SpringbackSource::Unknown,
            }
            // Through degrees, as it is marked on the form: single precision in its STL shows the last digit.
            let marked = |angle: f64| angle.to_degrees().to_radians();
            job.bends.push(FormBend { angle: marked(bend.angle), pull_to: marked(made.pull.angle) });
        }
    }
    findings.extend(first_without.map(|run| too_many(run, jobs.len() + left_out.len())));
    name(&mut jobs);
    let mut jobs: Vec<FormJob> = jobs.into_values().collect();
    for job in &mut jobs {
        finish(job, options, findings);
    }
    jobs
}

/// Says that there are not all forms, and from which run on.
fn too_many(run: &Run, needed: usize) -> Diagnostic {
    let message = format!(
        "the bends need {needed} forms, and {MOST_FORMS} are made at most: from run {} on some bends have none",
        run.name
    );
    let hint =
        "give bends that can have the same radius the same `clr`, or build fewer runs at a time (--run NAME)";
    Diagnostic::warning("form-limit", message).hint(hint).at(run.place).run(&run.name)
}

fn new_job(run: &Run, bend: &BendPlan, held: f64, options: &FormOptions) -> FormJob {
    FormJob {
        name: String::new(),
        od: run.tube.od(),
        clr: bend.clr,
        held_radius: held,
        source: bend.springback_source,
        bends: Vec::new(),
        arc: 0.0,
        clearance: options.clearance,
        depth: options.depth,
        run: run.name.clone(),
        place: run.place,
    }
}

/// Radius of the tube's centreline on the form. Test bends tell how much of the angle is lost: of that the
/// rate is the tube's, which opens the radius too; the fixed part is the bender's own play.
fn held_radius(run: &RunPlan, bend: &BendPlan, made: &Operation) -> f64 {
    match bend.springback_source {
        SpringbackSource::Predicted => made.pull.radius,
        SpringbackSource::TestBends => {
            bend.clr * (1.0 - run.bender.springback_rate.unwrap_or(0.0).clamp(0.0, 0.9))
        }
        SpringbackSource::Unknown => bend.clr,
    }
}

/// Names every job, with its own radius where one finished radius has several.
fn name(jobs: &mut BTreeMap<Key, FormJob>) {
    let held: Vec<(Key, f64)> = jobs.iter().map(|(key, job)| (*key, job.held_radius)).collect();
    for (key, job) in jobs.iter_mut() {
        let exact = |micrometres: i64| decimals(micrometres as f64 / 1e3, 3);
        job.name = format!("{}-r{}", exact(key.0), exact(key.1));
        let others: Vec<f64> =
            held.iter().filter(|(k, _)| (k.0, k.1) == (key.0, key.1)).map(|(_, clr)| *clr).collect();
        if others.len() > 1 {
            let differ = |places: &usize| {
                let mut names: Vec<String> = others.iter().map(|clr| decimals(*clr, *places)).collect();
                names.dedup();
                names.len() == others.len()
            };
            let places = (0..3).find(differ).unwrap_or(3);
            job.name.push_str(&format!("-held{}", decimals(job.held_radius, places)));
        }
    }
}

/// Sorts the bends and gives the arc its angle.
fn finish(job: &mut FormJob, options: &FormOptions, findings: &mut Diagnostics) {
    let tenths = |angle: f64| (angle.to_degrees() * 10.0).round() as i64;
    job.bends.sort_by(|a, b| a.angle.total_cmp(&b.angle).then(b.pull_to.total_cmp(&a.pull_to)));
    // Told apart to the tenth of a degree, as they are marked.
    job.bends.dedup_by_key(|bend| (tenths(bend.angle), tenths(bend.pull_to)));
    let largest = job.bends.iter().map(|bend| bend.pull_to).fold(0.0, f64::max);
    let beyond = match job.source {
        SpringbackSource::TestBends | SpringbackSource::Predicted => options.over_bend,
        SpringbackSource::Unknown => options.over_bend.max(OVER_BEND_UNKNOWN),
    };
    job.arc = (largest + beyond).min(LARGEST_ARC);
    if largest > job.arc {
        let (largest, arc) = (decimals(largest.to_degrees(), 1), decimals(job.arc.to_degrees(), 1));
        let message = format!("form {} ends at {arc}°, a bend is to be pulled to {largest}°", job.name);
        let hint = "pull the rest by hand beyond the form, or make the bend in two of less than 90° each";
        findings.push(job.warning("form-arc", message, hint));
    }
}
