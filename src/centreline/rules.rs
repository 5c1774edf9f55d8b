//! Rules for the bends of a run, whichever way it writes them: radii, angles, corners that hardly turn.

use std::f64::consts::PI;

use super::{Bend, Centreline, joint};
use crate::diagnostic::Diagnostic;
use crate::geometry::{InnerSpace, Point3};
use crate::quantity::{Unit, decimals, trimmed};
use crate::spec::USUAL_CLRS;
use crate::spec::model::{Corner, OwnClr, Run, RunPath};
use crate::tolerance::{COINCIDENT_MM, SMALLEST_BEND};

/// The faults in the bends of a run. Only radii are known of one that could not be laid out.
pub(super) fn check(run: &Run, centreline: Option<&Centreline>, unit: Unit) -> Vec<Diagnostic> {
    let bends = centreline.map(Centreline::bends).unwrap_or_default();
    let radii = own_clrs(&run.path)
        .into_iter()
        .enumerate()
        .filter_map(|(index, own)| inside_the_tube(run, index + 1, own, unit));
    let angles = bends.iter().filter_map(|bend| over_the_largest(run, centreline?, bend, unit));
    let small = bends.iter().filter_map(|bend| hardly_meant(run, bend, unit));
    radii.chain(angles).chain(small).map(|finding| finding.run(&run.name)).collect()
}

/// The own radii of a path's bends.
fn own_clrs(path: &RunPath) -> Vec<Option<OwnClr>> {
    match path {
        RunPath::Corners(corners) => corners.iter().map(|corner| corner.clr).collect(),
        RunPath::Bends { rows, .. } => rows.iter().map(|row| row.clr).collect(),
        RunPath::Route(_) | RunPath::SameAs(_) => Vec::new(),
    }
}

/// A radius that would be usual in another unit, as a spec writes it.
pub(super) fn usual_clr(clr: f64, od: f64, unit: Unit) -> Option<String> {
    let number = clr / unit.millimetres();
    let usual = |other: &Unit| USUAL_CLRS.contains(&(number * other.millimetres() / od));
    let meant = [Unit::Millimetre, Unit::Centimetre, Unit::Inch].into_iter().filter(|other| *other != unit);
    let meant: Vec<String> =
        meant.filter(usual).map(|other| format!("`{} {}`", unit.number(clr), other.name())).collect();
    (!meant.is_empty()).then(|| meant.join(" or "))
}

/// Says that the tube has no room for the radius of a bend.
fn inside_the_tube(run: &Run, number: usize, own: Option<OwnClr>, unit: Unit) -> Option<Diagnostic> {
    let (clr, place) = own.map_or((run.bender.clr, run.bender.clr_place), |own| (own.mm, own.place));
    let (least, od) = (run.tube.outer_radius(), run.tube.od());
    if clr > least {
        return None;
    }
    let message =
        format!("a centreline radius of {} is inside a tube of {}", unit.length(clr), unit.length(od));
    // Rounded up, so that what is shown is enough.
    let hint = format!("write a `clr` of more than {}", unit.length_up(least - 1e-9, 3));
    let hint = match usual_clr(clr, od, unit) {
        Some(meant) => format!("{hint}; did you mean {meant}?"),
        None => hint,
    };
    let finding = Diagnostic::error("clr-too-small", message).hint(hint).at(place);
    // The bender's own radius is one finding, however many bends use it.
    Some(if own.is_some() { finding.bend(number) } else { finding })
}

/// Says that a bend is more than the bender makes, whatever it springs back. The plan knows how far it is pulled.
fn over_the_largest(run: &Run, centreline: &Centreline, bend: &Bend, unit: Unit) -> Option<Diagnostic> {
    let bender = &run.bender;
    // Less over than the smallest bend cannot be told from the bender's largest.
    if bend.angle <= bender.max_angle + SMALLEST_BEND {
        return None;
    }
    let message = format!(
        "bend {} turns by {:.1}°, but `{}` bends to at most {}°",
        bend.number,
        bend.angle.to_degrees(),
        bender.name,
        trimmed(bender.max_angle.to_degrees())
    );
    let error = Diagnostic::error("over-max-angle", message);
    let joint = joint::missing(run, centreline, bend.number).filter(|_| run.copy.is_none());
    let hint = match joint {
        Some((after, at)) => {
            let at = [at.x, at.y, at.z].map(|mm| unit.number(mm + 0.0)).join(", ");
            format!(
                "a corner is missing after corner {after}: with [{at}] there the straights meet at right angles; or \
                 raise the bender's `max_angle`"
            )
        }
        None => "split the bend, or raise the bender's `max_angle`".to_owned(),
    };
    Some(placed(error.hint(hint), run, bend))
}

/// A bend smaller than this is hardly meant, rad (0.5°): what the eye and a protractor of a bender tell apart
/// (common practice, no source).
const SMALLEST_MEANT: f64 = 0.5 * PI / 180.0;

/// Says that a bend is hardly meant.
fn hardly_meant(run: &Run, bend: &Bend, unit: Unit) -> Option<Diagnostic> {
    if !(SMALLEST_BEND..SMALLEST_MEANT).contains(&bend.angle) {
        return None;
    }
    let (number, turn) = (bend.number, decimals(bend.angle.to_degrees(), 2));
    let (message, hint) = match &run.path {
        RunPath::Corners(corners) => (
            format!("corner {number} turns the tube by {turn}° only; is this corner meant?"),
            format!(
                "it is {} off the straight between its neighbours: delete it, or check its coordinates",
                unit.length(off_line(run, corners, number).unwrap_or_default())
            ),
        ),
        _ => (
            format!("bend {number} turns by {turn}° only; is this bend meant?"),
            "delete the row, and add its `length` to the next row's, or to `end_length`".to_owned(),
        ),
    };
    Some(placed(Diagnostic::warning("small-bend", message).hint(hint), run, bend))
}

/// The finding at the row or corner of a bend, which may be another run's.
fn placed(finding: Diagnostic, run: &Run, bend: &Bend) -> Diagnostic {
    let place = run.path.place(bend.number).unwrap_or(run.place);
    finding.written_in(run.written_in()).at(place).bend(bend.number)
}

/// The distance of a corner, from 1, from the straight between its neighbours, mm.
fn off_line(run: &Run, corners: &[Corner], number: usize) -> Option<f64> {
    let (from, to) = (run.from.as_ref()?, run.to.as_ref()?);
    let points: Vec<Point3> =
        [from.at].into_iter().chain(corners.iter().map(|corner| corner.at)).chain([to.at]).collect();
    let [before, at, after] = *points.get(number.checked_sub(1)?..)?.first_chunk()?;
    let (along, beside) = (after - before, at - before);
    (along.magnitude() > COINCIDENT_MM).then(|| along.cross(beside).magnitude() / along.magnitude())
}

#[cfg(test)]
mod tests {
    use crate::calibration::Calibrations;
    use crate::centreline::lay_out;
    use crate::spec::read;

    /// Names of the runs laid out, and what the rules say of all.
    fn ruled(runs: &str) -> (Vec<String>, Vec<String>) {
        let text = format!(
            "format: 1\ntube: {{od: 15, wall: 1, material: copper, temper: soft}}\n\
             bender: {{clr: 55, max_angle: 90}}\nruns:\n{runs}"
        );
        let (spec, _) = read(&text, "x.yaml").expect("a sound spec");
        let (layout, findings) = lay_out(&spec, &Calibrations::default());
        let place = |place: Option<crate::diagnostic::Span>| place.map_or(0, |place| place.line);
        let told = findings.iter().map(|d| format!("{} {} {}", d.code, place(d.place), d.message));
        (layout.runs.into_iter().map(|laid| laid.run.name).collect(), told.collect())
    }

    #[test]
    fn an_angle_a_hair_over_the_benders_largest_is_that_angle() {
        let run = "  a: {from: [0, 0, 0], to: [199.9, 200, 0], corners: [[200, 0, 0]]}\n";
        assert_eq!(ruled(run), (vec!["a".to_owned()], vec![]), "90.03°");
        let (laid, told) = ruled(&run.replace("199.9", "199"));
        assert_eq!(laid, [""; 0]);
        assert_eq!(told, ["over-max-angle 5 bend 1 turns by 90.3°, but `bender` bends to at most 90°"]);
    }

    #[test]
    fn a_fault_of_the_bends_is_not_said_again_of_copies_and_a_radius_of_an_unlaid_run_is_said() {
        let runs = "  image: {mirror: {run: first, plane: x, at: -50}}
  same: {same_as: first}
  first: {from: [0, 0, 0], to: [199, 200, 0], corners: [[200, 0, 0]]}
  close: {from: [0, 0, 0], to: [20, 200, 0], corners: [{at: [20, 0, 0], clr: 7}, [20, 30, 0]]}
";
        let (laid, told) = ruled(runs);
        assert_eq!(laid, [""; 0]);
        let codes: Vec<&str> = told.iter().filter_map(|told| told.split(' ').next()).collect();
        assert_eq!(codes, ["over-max-angle", "corners-in-line", "clr-too-small"]);
    }
}
