//! How the two ends of a run sit in their ports.

use crate::centreline::LaidRun;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::geometry::{InnerSpace, Point3, Vector3, angle_between};
use crate::spec::model::{End, Path};
use crate::tolerance::NO_STRAIGHT_MM;

/// Largest misalignment at an end without a fitting, rad (1°): common practice, no source.
const MAX_ANGLE: f64 = std::f64::consts::PI / 180.0;

/// Largest misfit of position at an end without a fitting, mm: common practice, no source.
const MAX_SIDE: f64 = 0.5;

/// Largest difference between a tube's OD and the OD its fitting is made for, mm: seals take up tube
/// tolerances, not another size (common practice, no source).
const MAX_OD_DIFFERENCE: f64 = 0.25;

/// Rounding of an angle that was typed in degrees, rad.
const ANGLE_ROUNDING: f64 = 1e-9;

/// One end as the tube really comes out.
struct Arrival {
    /// Centre of the tube's end.
    at: Point3,
    /// Unit direction from the end into the tube.
    inward: Vector3,
    /// Unbent tube at this end, mm.
    straight: f64,
}

/// Adds a warning for every way an end of `laid` misses what its port or fitting asks.
pub(super) fn check(laid: &LaidRun, findings: &mut Diagnostics) {
    let centreline = &laid.centreline;
    let first = centreline.bends().first().map_or(centreline.end_straight(), |b| b.straight_before);
    if let Some(end) = &laid.run.from {
        let arrival =
            Arrival { at: centreline.start(), inward: centreline.start_direction(), straight: first };
        check_end(laid, end, &arrival, findings);
    }
    if let Some(end) = &laid.run.to {
        let arrival = Arrival {
            at: centreline.end(),
            inward: -centreline.end_direction(),
            straight: centreline.end_straight(),
        };
        check_end(laid, end, &arrival, findings);
    }
}

fn check_end(laid: &LaidRun, end: &End, arrival: &Arrival, findings: &mut Diagnostics) {
    let run = &laid.run;
    let where_to = end.port.as_deref().unwrap_or("its end");
    let mut warn = |code, message: String, hint: &str| {
        findings.push(
            Diagnostic::warning(code, format!("run {}: {message}", run.name))
                .hint(hint)
                .at(end.place)
                .run(&run.name),
        );
    };
    let limit =
        |named: fn(&crate::spec::model::Fitting) -> f64, default| end.fitting.as_ref().map_or(default, named);

    if let Some(facing) = end.facing {
        let angle = angle_between(arrival.inward, facing);
        let most = limit(|f| f.max_angle, MAX_ANGLE);
        if angle > most + ANGLE_ROUNDING {
            let message = format!(
                "the tube leaves {where_to} {:.2}° off the way it faces; {:.2}° is the most it takes",
                angle.to_degrees(),
                most.to_degrees()
            );
            warn("port-angle", message, "put the corner next to the port on the port's axis");
        }
    }
    if let Some((beside, beyond)) = misfit(laid, end, arrival) {
        let most = limit(|f| f.max_side, MAX_SIDE);
        if beside.hypot(beyond) > most + NO_STRAIGHT_MM {
            let reach = if beyond > 0.0 { "too far in" } else { "short" };
            let message = format!(
                "the bend table ends {beside:.2} mm beside and {:.2} mm {reach} of {where_to}; \
                 {most:.2} mm is the most it takes",
                beyond.abs()
            );
            warn("port-side", message, "change the lengths or angles of the table, or move the port");
        }
    }
    if let Some(fitting) = &end.fitting {
        let outside = arrival.straight - fitting.insert;
        if outside < fitting.straight - NO_STRAIGHT_MM {
            let message = format!(
                "{outside:.1} mm of straight tube stand out of {where_to}; {} needs {:.1} mm",
                fitting.name, fitting.straight
            );
            warn("port-straight", message, "move the corner next to the port away from it");
        }
        if (run.tube.od() - fitting.tube_od).abs() > MAX_OD_DIFFERENCE {
            let message = format!(
                "the tube's OD is {:.3} mm; {} at {where_to} takes {:.3} mm",
                run.tube.od(),
                fitting.name,
                fitting.tube_od
            );
            warn("fitting-od", message, "choose the fitting for this tube, or the tube for this fitting");
        }
    }
}

/// How far a bend table's end is from where the port wants it, mm: beside the port's axis, and along
/// it (positive: too far in). A run through corners ends where it is told to.
fn misfit(laid: &LaidRun, end: &End, arrival: &Arrival) -> Option<(f64, f64)> {
    if !matches!(laid.run.path, Path::Bends { .. }) {
        return None;
    }
    let off = arrival.at - end.at;
    let axis = end.facing.unwrap_or(arrival.inward);
    let beyond = -off.dot(axis);
    Some(((off + axis * beyond).magnitude(), beyond))
}
