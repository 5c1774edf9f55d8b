//! Ends that are mirror images of the ends of other runs.

use std::collections::HashMap;

use super::ports::PortFinding;
use crate::centreline::Layout;
use crate::spec::model::RunPath;

/// Gives findings at ends that are mirror images the hints of what they are images of: those are to be changed.
pub(super) fn share_hints(layout: &Layout, found: &mut [Vec<PortFinding>]) {
    let by_name: HashMap<&str, usize> =
        layout.runs.iter().enumerate().map(|(index, laid)| (laid.run.name.as_str(), index)).collect();
    // A run with the end itself, by following each copy to what it is made from.
    let original = |copy: usize, at_start: bool| {
        let mut index = copy;
        // No run is a copy of itself, so there are fewer steps than runs.
        for _ in 0..layout.runs.len() {
            let run = &layout.runs.get(index)?.run;
            let starts_itself = run.from.as_ref().is_some_and(|from| from.image_of.is_none());
            if index == copy && starts_itself && matches!(run.path, RunPath::Bends { .. }) {
                // Its table is laid from another place, so what it misses at its end is its own.
                return None;
            }
            let end = if at_start { &run.from } else { &run.to };
            if end.as_ref()?.image_of.is_none() {
                return (index != copy).then_some(index);
            }
            index = *by_name.get(run.copy.as_ref()?.run.as_str())?;
        }
        None
    };
    let shared: Vec<(usize, usize, String, String)> = found
        .iter()
        .enumerate()
        .flat_map(|(run, findings)| {
            findings.iter().enumerate().map(move |(nth, finding)| (run, nth, finding))
        })
        .filter_map(|(run, nth, finding)| {
            let first = original(run, finding.at_start)?;
            let alike = |other: &&PortFinding| {
                other.at_start == finding.at_start && other.finding.code == finding.finding.code
            };
            let hint = found.get(first)?.iter().find(alike)?.finding.hint.clone()?;
            Some((run, nth, hint, layout.runs.get(first)?.run.name.clone()))
        })
        .collect();
    for (run, nth, hint, first) in shared {
        if let Some(PortFinding { finding, .. }) = found.get_mut(run).and_then(|all| all.get_mut(nth)) {
            finding.hint = Some(hint);
            finding.written_in = Some(first);
        }
    }
}
