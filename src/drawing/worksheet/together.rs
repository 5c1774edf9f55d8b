//! The order in which the loop is put together.

use super::card::length;
use super::steps::add_step;
use crate::drawing::numbers::{list, short};
use crate::drawing::page::flow::Flow;
use crate::geometry::Vector3;
use crate::plan::{Assembly, AssemblyStep, Joint};
use crate::quantity::decimals;

/// Adds the steps, each with a box to tick; nothing where no tube goes into a port.
pub(super) fn together(flow: &mut Flow, assembly: &Assembly, in_inches: bool) {
    if assembly.is_cut_short {
        flow.heading("Putting it together");
        flow.paragraph(
            "No order was found with the effort allowed for it. Try the loop dry, port by port, before anything is joined for good.",
            false,
            false,
        );
        return;
    }
    if assembly.steps.is_empty() {
        return;
    }
    flow.heading("Putting it together");
    flow.paragraph(
        "Each step was followed until the tube's ends are in. Nuts, rings and collars are drawn back along the tube \
         meanwhile; how a tube gets in front of its ports is left to the hands. Join nothing for good before all is in.",
        false,
        true,
    );
    for (number, step) in (1..).zip(&assembly.steps) {
        add_step(flow, format!("{number}. {}", words(step, in_inches)), &[]);
    }
}

/// A step in words.
fn words(step: &AssemblyStep, in_inches: bool) -> String {
    let far = |mm: f64| length(mm, in_inches);
    match step {
        AssemblyStep::Laid { run } => format!("{}: lay it in its place. Nothing holds it yet.", short(run)),
        AssemblyStep::Straight { run, along, travel, into } => {
            format!(
                "{}: slide it {} straight in along {}, into {}.",
                short(run),
                far(*travel),
                way(*along),
                ports(into)
            )
        }
        AssemblyStep::Turned { run, along, travel, turn, back, into, .. } => {
            let sense = if *turn > 0.0 { "clockwise" } else { "anticlockwise" };
            let (first, second) = into.split_at(1.min(into.len()));
            let drawn = match second {
                [] => String::new(),
                second => format!(" Draw it back {}, into {}.", far(*back), ports(second)),
            };
            format!(
                "{}: turned out of line, slide it {} into {} along {}. Turn it {} by {}°, looking that way, into line.{drawn}",
                short(run),
                far(*travel),
                ports(first),
                way(*along),
                sense,
                decimals(turn.abs().to_degrees(), 0)
            )
        }
        AssemblyStep::Away { component, along, travel: Some(travel) } => {
            format!("Set {} back, {} along {}.", short(component), far(*travel), way(*along))
        }
        AssemblyStep::Away { component, .. } => format!("Leave {} out for now.", short(component)),
        AssemblyStep::Home { component, along, travel, onto } => {
            let onto = match onto.as_slice() {
                [] => String::new(),
                onto => {
                    let ends: Vec<String> = onto
                        .iter()
                        .map(|joint| format!("{} into {}", short(&joint.run), joint.port))
                        .collect();
                    format!(": {}", list(&ends))
                }
            };
            match travel {
                Some(travel) => {
                    format!("Push {} home, {} along {}{onto}.", short(component), far(*travel), way(*along))
                }
                None => format!("Bring {} in along {}{onto}.", short(component), way(*along)),
            }
        }
    }
}

fn ports(joints: &[Joint]) -> String {
    let names: Vec<String> = joints.iter().map(|joint| joint.port.clone()).collect();
    list(&names)
}

/// A direction: an axis where it is one, else its numbers.
fn way(along: Vector3) -> String {
    let numbers = [along.x, along.y, along.z];
    let axis = numbers.iter().position(|number| number.abs() > 0.999_999);
    match axis {
        Some(axis) => {
            let sign = if numbers[axis] > 0.0 { '+' } else { '-' };
            format!("{sign}{}", ["x", "y", "z"][axis])
        }
        None => format!("[{}]", numbers.map(|number| decimals(number + 0.0, 3)).join(", ")),
    }
}
