//! Runs that are copies of another: `mirror:`, its mirror image, and `same_as:`, the same bends elsewhere.

use std::collections::BTreeMap;
use std::f64::consts::PI;

use super::run::{MaybeEnd, Sketch};
use crate::diagnostic::Span;
use crate::geometry::{InnerSpace, Vector3, reference_normal};
use crate::spec::fields::{Fields, Reader};
use crate::spec::keys::{self, Way};
use crate::spec::model::{BendRow, CopyOf, End, MirrorPlane, RunPath};
use crate::spelling;

/// The other run as a copy names it.
#[derive(Debug, Clone)]
pub(super) struct Copied {
    /// Name of the other run; `None` where it could not be read.
    of: Option<String>,
    /// Where it is named.
    place: Span,
    how: How,
}

/// How a run is a copy of another.
#[derive(Debug, Clone, Copy)]
enum How {
    /// The same bends.
    Same,
    /// Its mirror image; the plane is `None` where it could not be read.
    Mirrored(Option<MirrorPlane>),
}

/// What a run is a copy of; `None` for one that says no such thing, or also has a path of its own.
pub(super) fn copied(reader: &mut Reader, fields: &Fields<'_>) -> Option<Copied> {
    match fields.only()? {
        Way::Mirror => {
            let place = fields.value_place("mirror");
            let unread = Copied { of: None, place, how: How::Mirrored(None) };
            let node = reader.value(fields, "mirror").map(|(_, node)| node);
            let mirror = node.and_then(|n| reader.fields(n, &keys::MIRROR, fields.place_of("mirror")));
            let Some(mirror) = mirror else { return Some(unread) };
            let of = reader.words(&mirror, "run");
            let axis = reader.choice(&mirror, "plane");
            let at = reader.length(&mirror, "at");
            let plane = axis.zip(at).map(|(axis, at)| MirrorPlane::new(axis, at));
            Some(Copied { of, place: mirror.value_place("run"), how: How::Mirrored(plane) })
        }
        Way::SameAs => {
            let place = fields.value_place("same_as");
            let inner = fields.node("same_as").and_then(|node| node.get("run")?.scalar());
            if let Some(name) = inner {
                let message = "`same_as` is the name of a run, and this is a mapping";
                reader.error("wrong-type", place, message, format!("write `same_as: {name}`"));
                return Some(Copied { of: None, place, how: How::Same });
            }
            let of = reader.words(fields, "same_as");
            Some(Copied { of, place, how: How::Same })
        }
        Way::Corners | Way::Bends | Way::Route => None,
    }
}

impl Copied {
    /// The same for the model; `None` where the other run could not be read.
    pub(super) fn of(&self, source: &Sketch, own_allowance: bool) -> Option<CopyOf> {
        let run = self.of.clone()?;
        let plane = match self.how {
            How::Same => None,
            How::Mirrored(plane) => plane,
        };
        let (first, by_corners) = match &source.copy {
            Some(copy) => (copy.first.clone(), copy.by_corners),
            None => (run.clone(), matches!(source.path, Some(RunPath::Corners(_) | RunPath::Route(_)))),
        };
        let own_allowance = own_allowance || source.copy.as_ref().is_some_and(|copy| copy.own_allowance);
        Some(CopyOf { run, first, by_corners, plane, own_allowance })
    }
}

/// A run as far as it matters here.
pub(super) struct KnownRun<'k> {
    /// Its name.
    pub(super) name: &'k str,
    /// What it is a copy of; `None` for one with a path of its own.
    pub(super) copied: Option<&'k Copied>,
}

/// Indices of all runs in an order in which every copy comes after what it is a copy of, each with the index of
/// that. Copies of runs that are not there and runs that are copies of each other are noted and have none.
pub(super) fn order(reader: &mut Reader, runs: &[KnownRun<'_>]) -> Vec<(usize, Option<usize>)> {
    let by_name: BTreeMap<&str, usize> = runs.iter().enumerate().map(|(at, run)| (run.name, at)).collect();
    let mut sources: Vec<Option<usize>> = Vec::with_capacity(runs.len());
    for run in runs {
        let of = run.copied.and_then(|copied| Some((copied, copied.of.as_deref()?)));
        let source = of.and_then(|(_, name)| by_name.get(name).copied());
        if let (Some((copied, name)), None) = (of, source) {
            let message = format!("there is no run `{name}`");
            let hint =
                spelling::advice(name, "runs", runs.iter().map(|run| run.name).filter(|n| *n != run.name));
            error(reader, run, "unknown-run", copied.place, message, hint);
        }
        sources.push(source);
    }
    let mut order = Vec::with_capacity(runs.len());
    let mut state = vec![State::Open; runs.len()];
    for start in 0..runs.len() {
        let (mut chain, mut next) = (Vec::new(), Some(start));
        // From a copy to what it is a copy of, until there is a run that needs no other or is in the order. Every
        // step but the last marks an open run, so there are no more steps than runs.
        while let Some(here) = next.take() {
            match state[here] {
                State::Open => {
                    state[here] = State::OnTheWay;
                    chain.push(here);
                    next = sources[here];
                }
                State::OnTheWay => {
                    in_a_circle(reader, runs, &chain, here);
                    // Cut there, the circle is a chain of runs without a path.
                    sources[here] = None;
                }
                State::Done => {}
            }
        }
        for &here in chain.iter().rev() {
            state[here] = State::Done;
            order.push((here, sources[here]));
        }
    }
    order
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum State {
    Open,
    OnTheWay,
    Done,
}

/// Notes that runs are copies of each other. `chain` leads back to the run at `here`.
fn in_a_circle(reader: &mut Reader, runs: &[KnownRun<'_>], chain: &[usize], here: usize) {
    let circle = chain.iter().copied().skip_while(|index| *index != here).chain([here]);
    let names: Vec<&str> = circle.filter_map(|index| Some(runs.get(index)?.name)).collect();
    let Some((run, copied)) = runs.get(here).and_then(|run| Some((run, run.copied?))) else { return };
    let message = match names.as_slice() {
        [name, _] => format!("run `{name}` is a copy of itself"),
        names => format!("these runs are copies of each other: {}", names.join(" -> ")),
    };
    let hint = "name a run with `corners` or `bends` of its own";
    error(reader, run, "copy-circle", copied.place, message, hint.to_owned());
}

fn error(
    reader: &mut Reader,
    run: &KnownRun<'_>,
    code: &'static str,
    place: Span,
    message: String,
    hint: String,
) {
    reader.enter_run(Some(run.name));
    reader.error(code, place, message, hint);
    reader.enter_run(None);
}

/// The path of a copy, and its ends where it has none of its own.
pub(super) fn path(
    reader: &mut Reader,
    fields: &Fields<'_>,
    copied: &Copied,
    source: &Sketch,
    (from, to): (&mut MaybeEnd, &mut MaybeEnd),
) -> Option<RunPath> {
    if fields.has("end_length") {
        let message = "`end_length` belongs to a bend table, and this run has that of another";
        reader.error("misplaced-key", fields.place_of("end_length"), message, "delete `end_length`");
    }
    let (of, path) = (copied.of.as_ref()?, source.path.as_ref()?);
    let table = match path {
        RunPath::Corners(_) | RunPath::Route(_) => false,
        RunPath::Bends { .. } | RunPath::SameAs(_) => true,
    };
    let is_image = source.copy.as_ref().is_some_and(|copy| copy.plane.is_some());
    let plane = match copied.how {
        How::Mirrored(plane) => plane?,
        How::Same => {
            return Some(match path {
                // Its bends are known once its corners are laid out.
                RunPath::Corners(_) | RunPath::Route(_) => RunPath::SameAs(of.clone()),
                RunPath::SameAs(_) if is_image => RunPath::SameAs(of.clone()),
                other => other.clone(),
            });
        }
    };
    if let RunPath::SameAs(first) = path {
        let message = format!("run `{of}` has the bends of `{first}`, not a path of its own");
        let hint = format!("mirror run `{first}`, or write run `{of}` by `bends`");
        reader.error("copy-of-copy", copied.place, message, hint);
        return None;
    }
    mirror_end(from, &source.from, plane, table, &format!("the image of the start of run {of}"));
    mirror_end(to, &source.to, plane, false, &format!("the image of the end of run {of}"));
    Some(match path {
        RunPath::Corners(corners) => RunPath::Corners(plane.corners(corners)),
        RunPath::Bends { rows, end_length } => {
            let facing = source.from.as_ref()?.as_ref().and_then(|end| end.facing);
            let rows = mirrored_rows(rows, facing.unwrap_or(Vector3::unit_x()), plane);
            RunPath::Bends { rows, end_length: *end_length }
        }
        // Its corners are mirrored once they are found.
        RunPath::Route(_) | RunPath::SameAs(_) => RunPath::SameAs(of.clone()),
    })
}

/// Gives an end that is not written the mirror image of the other run's. A bend table leaves a point that faces
/// nowhere along +x: its mirror image leaves along the mirror image of that. `name` is what messages call the image
/// of an end that is no port.
fn mirror_end(end: &mut MaybeEnd, other: &MaybeEnd, plane: MirrorPlane, along_x: bool, name: &str) {
    let Some(end) = end else { return };
    let Some(other) = other.as_ref().and_then(Option::as_ref) else { return };
    let facing = other.facing.or(along_x.then(Vector3::unit_x)).map(|facing| plane.vector(facing));
    match end {
        Some(own) if along_x => own.facing = own.facing.or(facing),
        Some(_) => {}
        None => {
            let of_port = other.port.as_ref().map(|port| format!("{port}'s image"));
            let image_of = of_port.or(other.image_of.clone()).unwrap_or_else(|| name.to_owned());
            *end = Some(End {
                at: plane.point(other.at),
                face: plane.point(other.face),
                facing,
                port: None,
                image_of: Some(image_of),
                fitting: other.fitting.clone(),
                slip: other.slip,
                place: other.place,
            });
        }
    }
}

/// The bend table of the mirror image of a run that starts off in `direction`.
///
/// A turn between two bends goes the other way round. The first is counted from a plane that does not always go
/// with the mirror image: where its normal does, the bend to the left is now one to the right, half a turn on.
fn mirrored_rows(rows: &[BendRow], direction: Vector3, plane: MirrorPlane) -> Vec<BendRow> {
    let image = plane.vector(reference_normal(direction));
    let goes_along = image.dot(reference_normal(plane.vector(direction))) > 0.0;
    let mirrored = |(index, row): (usize, &BendRow)| {
        let half = if index == 0 && goes_along { PI } else { 0.0 };
        BendRow { rotation: half_open(half - row.rotation), ..*row }
    };
    rows.iter().enumerate().map(mirrored).collect()
}

/// The same turn, -π < turn <= π, for one between -2 π and 2 π.
fn half_open(turn: f64) -> f64 {
    if turn <= -PI {
        turn + 2.0 * PI
    } else if turn > PI {
        turn - 2.0 * PI
    } else {
        turn
    }
}
