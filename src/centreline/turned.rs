//! Corners written from the other end.

use crate::diagnostic::Diagnostic;
use crate::geometry::{MetricSpace, Point3};
use crate::quantity::Unit;
use crate::spec::model::{Corner, End, Run};

/// Most corners that are written out the right way round.
const MOST_SHOWN: usize = 6;

/// The faults of a run whose corners fit its ends in the other order only: one, or none where the run it is a mirror
/// image of has it. `None` where they are in order, or fit neither way.
pub(super) fn faults(run: &Run, corners: &[Corner], unit: Unit) -> Option<Vec<Diagnostic>> {
    let (from, to) = (run.from.as_ref()?, run.to.as_ref()?);
    let [first, .., last] = corners else { return None };
    // An end that faces nowhere takes any corner.
    let takes = |end: &End, corner: &Corner| end.takes(corner.at).unwrap_or(true);
    let written = takes(from, first) && takes(to, last);
    if written || !(takes(from, last) && takes(to, first)) {
        return None;
    }
    let tells = from.facing.is_some() && to.facing.is_some();
    if !tells && length(from, corners.iter(), to) <= length(from, corners.iter().rev(), to) {
        return None;
    }
    let error = |message: &str, hint: String| {
        Diagnostic::error("corners-turned-round", format!("run {}: {message}", run.name)).hint(hint)
    };
    if run.copy.is_none() {
        let hint = if corners.len() > MOST_SHOWN {
            "write them in the order in which the tube passes them from `from` to `to`".to_owned()
        } else {
            let shown: Vec<String> = corners.iter().rev().map(|corner| written_as(corner, unit)).collect();
            format!("write `corners: [{}]`", shown.join(", "))
        };
        let message = "its corners are in the wrong order: they lead from the end in `to` to that in `from`";
        return Some(vec![error(message, hint).at(first.place)]);
    }
    match (&from.image_of, &to.image_of) {
        (Some(_), Some(_)) => Some(Vec::new()),
        (None, None) => {
            let message = "its mirrored corners lead from the end in `to` to that in `from`";
            Some(vec![error(message, "swap what is in `from` and `to`".to_owned()).at(from.place)])
        }
        _ => None,
    }
}

/// Length of the way through corners without their bends, mm.
fn length<'c>(from: &End, corners: impl Iterator<Item = &'c Corner>, to: &End) -> f64 {
    let points: Vec<Point3> =
        [from.at].into_iter().chain(corners.map(|corner| corner.at)).chain([to.at]).collect();
    points.windows(2).map(|pair| pair[0].distance(pair[1])).sum()
}

/// A corner as a spec writes it.
fn written_as(corner: &Corner, unit: Unit) -> String {
    let Point3 { x, y, z } = corner.at;
    let at = [x, y, z].map(|mm| unit.number(mm)).join(", ");
    match corner.clr {
        Some(own) => format!("{{at: [{at}], clr: {}}}", unit.number(own.mm)),
        None => format!("[{at}]"),
    }
}
