//! Whether the bender can hold the tube for each bend, the bends made in order from the datum end.

use crate::centreline::LaidRun;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::tolerance::NO_STRAIGHT_MM;

/// Adds a warning for every bend whose straight is too short for the bender's grip before it or its
/// lead-out after it.
///
/// The grip sits on the straight to the previous bend (with the start allowance before the first
/// bend). The lead-out needs tube that is still straight; since later bends are not made yet, that is
/// all the tube behind the bend, end allowance included.
pub(super) fn check(laid: &LaidRun, findings: &mut Diagnostics) {
    let (run, centreline) = (&laid.run, &laid.centreline);
    let mut warn = |code, bend: usize, message: String, hint: &str| {
        findings.push(
            Diagnostic::warning(code, format!("run {}: {message}", run.name))
                .hint(hint)
                .at(run.place)
                .run(&run.name)
                .bend(bend),
        );
    };
    for bend in centreline.bends() {
        let allowance = if bend.number == 1 { run.allowance_start } else { 0.0 };
        let before = bend.straight_before + allowance;
        let grip = run.bender.grip;
        if before < grip - NO_STRAIGHT_MM {
            let message = format!(
                "the straight before bend {} is {before:.1} mm; the bender grips {grip:.1} mm",
                bend.number
            );
            let hint = if bend.number == 1 {
                "move the corner away from the end, or give `allowance: {start: …}` to trim away later"
            } else {
                "move the corners apart, or make this bend from the other end"
            };
            warn("short-grip", bend.number, message, hint);
        }
        let after = centreline.length() - bend.end() + run.allowance_end;
        let lead_out = run.bender.lead_out;
        if after < lead_out - NO_STRAIGHT_MM {
            let message = format!(
                "there are {after:.1} mm of tube after bend {}; the bender needs {lead_out:.1} mm",
                bend.number
            );
            let hint = "move the corner away from the end, or give `allowance: {end: …}` to trim away later";
            warn("short-lead-out", bend.number, message, hint);
        }
    }
}
