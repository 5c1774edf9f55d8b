//! The order of assembly as data.

use serde::Serialize;

use super::tools::Direction;
use crate::plan::{Assembly, AssemblyStep, Joint};

/// A step of putting the loop together.
#[derive(Serialize, Default)]
pub(super) struct StepData<'a> {
    step: usize,
    /// "run" or "component".
    part: &'static str,
    name: &'a str,
    /// A run is laid, goes in straight, or turned; a component goes away, is left-out, comes home, or is brought-in.
    how: &'static str,
    along: Option<Direction>,
    travel_mm: Option<f64>,
    /// A point of the line along `along` that a tube is turned about.
    about_mm: Option<[f64; 3]>,
    /// By how much it is turned into line, right-handed about `along`.
    turn_deg: Option<f64>,
    /// Its way back then.
    back_mm: Option<f64>,
    joints: Vec<JointData<'a>>,
}

/// A tube that slides into a port in this step.
#[derive(Serialize)]
struct JointData<'a> {
    run: &'a str,
    port: &'a str,
    insert_mm: f64,
}

/// The steps of an order.
pub(super) fn steps(assembly: &Assembly) -> Vec<StepData<'_>> {
    (1..).zip(&assembly.steps).map(|(number, step)| StepData { step: number, ..data(step) }).collect()
}

fn data(step: &AssemblyStep) -> StepData<'_> {
    match step {
        AssemblyStep::Laid { run } => StepData { part: "run", name: run, how: "laid", ..StepData::default() },
        AssemblyStep::Straight { run, along, travel, into } => StepData {
            part: "run",
            name: run,
            how: "straight",
            along: Some(Direction(*along)),
            travel_mm: Some(*travel),
            joints: joints(into),
            ..StepData::default()
        },
        AssemblyStep::Turned { run, along, travel, about, turn, back, into } => StepData {
            part: "run",
            name: run,
            how: "turned",
            along: Some(Direction(*along)),
            travel_mm: Some(*travel),
            about_mm: Some((*about).into()),
            turn_deg: Some(turn.to_degrees()),
            back_mm: Some(*back),
            joints: joints(into),
            ..StepData::default()
        },
        AssemblyStep::Away { component, along, travel } => StepData {
            part: "component",
            name: component,
            how: if travel.is_some() { "away" } else { "left-out" },
            along: Some(Direction(*along)),
            travel_mm: *travel,
            ..StepData::default()
        },
        AssemblyStep::Home { component, along, travel, onto } => StepData {
            part: "component",
            name: component,
            how: if travel.is_some() { "home" } else { "brought-in" },
            along: Some(Direction(*along)),
            travel_mm: *travel,
            joints: joints(onto),
            ..StepData::default()
        },
    }
}

fn joints(joints: &[Joint]) -> Vec<JointData<'_>> {
    joints
        .iter()
        .map(|joint| JointData { run: &joint.run, port: &joint.port, insert_mm: joint.insert })
        .collect()
}
