//! What to change about a run that is a copy of another: its corners and bends are written elsewhere.

use super::corner::lies;
use super::slips::{direction, point};
use crate::centreline::LaidRun;
use crate::geometry::{InnerSpace, Vector3};
use crate::quantity::Unit;
use crate::spec::model::{CopyOf, Corner, End, Run, RunPath};
use crate::tolerance::NO_STRAIGHT_MM;

/// How far a mirror's plane may leave a run off its port, mm: coordinates are typed to a tenth of a millimetre.
const SHIFTED_MM: f64 = 0.05;

/// What to do about a copy whose first or last straight is not on the way its own port faces.
pub(super) fn angle(
    laid: &LaidRun,
    copy: &CopyOf,
    (end, facing, at_start): (&End, Vector3, bool),
    // The other way round, as the spec writes it.
    back: Vector3,
    unit: Unit,
) -> String {
    let RunPath::Corners(corners) = &laid.run.path else { return bends(laid, copy, end, unit) };
    let number = if at_start { 1 } else { corners.len() };
    let Some(Corner { at, .. }) = corners.get(number.saturating_sub(1)) else {
        return "its two ends do not lie on one line along the ports: write `corners:` instead of `mirror:`"
            .to_owned();
    };
    let first = &copy.first;
    let along = (at - end.face).dot(facing);
    if along < NO_STRAIGHT_MM {
        let [out, back] = [facing, back].map(direction);
        let or_turn = match end.turned_to(-facing).takes(*at) {
            Some(true) => format!(", or write `facing: [{back}]`"),
            _ => String::new(),
        };
        let lies = lies(along);
        return format!(
            "corner {number} of run `{first}`, mirrored, lies {lies} the port's face, which faces [{out}]: move the \
             port or the mirror's plane{or_turn}"
        );
    }
    let on_axis = end.face + facing * along;
    let off = on_axis - at;
    if let Some(plane) = copy.plane.and_then(|plane| plane.shifting(off, SHIFTED_MM)) {
        return format!(
            "with `at: {}` in the mirror it leads straight out of the port",
            unit.number(plane.at())
        );
    }
    let port = end.face - off;
    let [belongs, port] = [on_axis, port].map(|at| point(at, unit));
    let in_first = match copy.plane.filter(|_| copy.run == copy.first) {
        Some(plane) => {
            format!("put it at [{}]", point(plane.point(on_axis), unit))
        }
        None => format!("move its image to [{belongs}]"),
    };
    format!(
        "corner {number} is that of run `{first}`, mirrored: {in_first} there, or move this port to [{port}]"
    )
}

/// What to do about a copy whose bends end elsewhere than in its own port.
pub(super) fn bends(laid: &LaidRun, copy: &CopyOf, end: &End, unit: Unit) -> String {
    let (at, out) = (laid.centreline.end(), laid.centreline.end_direction());
    let starts_at_image = laid.run.from.as_ref().is_some_and(|from| from.image_of.is_some());
    let faces = end.facing.is_none_or(|facing| (out + facing).magnitude() < 1e-3);
    if let Some(plane) = copy.plane.filter(|_| starts_at_image && faces)
        && let Some(plane) = plane.shifting(end.at - at, SHIFTED_MM)
    {
        return format!("with `at: {}` in the mirror it ends there", unit.number(plane.at()));
    }
    let face = at - out * end.insert();
    let face = point(face, unit);
    format!(
        "its bends are those of run `{}`, and fit a port at [{face}] that faces [{}]: move the port, or write \
         `bends` of its own",
        copy.first,
        direction(-out)
    )
}

/// What makes the straight at an end of a copy longer by so much.
pub(super) fn straight(run: &Run, copy: &CopyOf, end: &End, at_start: bool, lacking: &str) -> String {
    let (first, nth) = (&copy.first, if at_start { "first" } else { "last" });
    if end.image_of.is_none() && matches!(run.path, RunPath::Corners(_)) {
        return format!("move the port back by {lacking}, or the {nth} corner of run `{first}` away from it");
    }
    if copy.by_corners {
        let end = if at_start { "start" } else { "end" };
        format!("move the {nth} corner of run `{first}` {lacking} further from its {end}")
    } else {
        format!("make the {nth} straight of run `{first}` longer by {lacking}")
    }
}

/// What to move for a run to pass a component with room.
pub(super) fn pass_component(run: &Run) -> String {
    let what = match &run.copy {
        None if run.is_by_corners() => {
            return "move a corner, or the component, until there is room".to_owned();
        }
        None => "change the bends".to_owned(),
        Some(CopyOf { first, plane: Some(_), .. }) => {
            format!("move the mirror's plane, change run `{first}`")
        }
        Some(CopyOf { first, .. }) => format!("start it elsewhere, change run `{first}`"),
    };
    format!("{what}, or move the component, until there is room")
}

/// What to move for two runs to pass each other with room.
pub(super) fn pass_run(run: &Run, other: &Run) -> String {
    if run.copy.is_none() && other.copy.is_none() && run.is_by_corners() && other.is_by_corners() {
        return "move a corner of either run until there is room".to_owned();
    }
    let is_made_from = |copy: &Run, of: &Run| copy.copy.as_ref().is_some_and(|copy| copy.run == of.name);
    for (copy, of) in [(run, other), (other, run)] {
        if is_made_from(copy, of) {
            let mirrored = copy.copy.as_ref().is_some_and(|copy| copy.plane.is_some());
            let (name, of) = (&copy.name, &of.name);
            return if mirrored {
                format!("move the plane that run `{name}` is mirrored in, or lead run `{of}` further from it")
            } else {
                format!("begin run `{name}`, which has the bends of `{of}`, elsewhere")
            };
        }
    }
    let goes_by = |run: &Run| Some(format!("; run `{}` goes by run `{}`", run.name, run.written_in()?));
    let told: String = [run, other].into_iter().filter_map(goes_by).collect();
    format!("lead either run elsewhere until there is room{told}")
}
