//! Corners that are bent about one centre with a bend of another run: the radius is that run's, and the spacing of the
//! two lines more or less, as pairs of lines are bent.

use std::borrow::Cow;
use std::collections::BTreeSet;

use super::{Bend, LaidRun};
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::geometry::{InnerSpace, Point3, Vector3, angle_between};
use crate::quantity::Unit;
use crate::spec::model::{Corner, OwnClr, Parallel, Run, RunPath, Spec};

/// Directions that differ by less than this are one, rad: 0.06°, a tenth of a millimetre on 100.
const ONE_WAY: f64 = 1e-3;

/// Distances that differ by less than this are one, mm: specs give tenths.
const ONE_SPACING_MM: f64 = 0.1;

/// The runs of a spec with their positions, each after the one that it is a copy of and those that it is parallel to.
/// Runs that wait for each other are left out, with an error.
pub(super) fn in_order<'s>(spec: &'s Spec, findings: &mut Diagnostics) -> Vec<(usize, &'s Run)> {
    let known: BTreeSet<&str> = spec.runs().iter().map(|run| run.name.as_str()).collect();
    let mut placed: BTreeSet<&str> = BTreeSet::new();
    let mut order = Vec::with_capacity(spec.runs().len());
    let mut waiting: Vec<(usize, &Run)> = spec.runs().iter().enumerate().collect();
    // Every pass places a run, or ends it.
    loop {
        let (ready, later): (Vec<_>, Vec<_>) = waiting.into_iter().partition(|(_, run)| {
            let mut needed = needs(run);
            needed.all(|name| placed.contains(name) || !known.contains(name))
        });
        waiting = later;
        if ready.is_empty() {
            break;
        }
        placed.extend(ready.iter().map(|(_, run)| run.name.as_str()));
        order.extend(ready);
    }
    for (_, run) in waiting {
        // A run that names itself was told where it was read.
        let waits =
            |parallel: &&Parallel| parallel.run != run.name && !placed.contains(parallel.run.as_str());
        if let Some(parallel) = run.parallels.iter().find(waits) {
            let message = format!(
                "run {}: its radius waits for that of run {}, which waits for it",
                run.name, parallel.run
            );
            let error = Diagnostic::error("parallel-circle", message);
            findings.push(error.hint("write a radius in one of the two").at(parallel.place).run(&run.name));
        }
    }
    order
}

/// The runs that are laid out before a run.
fn needs(run: &Run) -> impl Iterator<Item = &str> {
    let parallels = run.parallels.iter().map(|parallel| parallel.run.as_str());
    run.copy.iter().map(|copy| copy.run.as_str()).chain(parallels)
}

/// The run with the radii of its parallel corners. `None` where one could not be had: the fault is noted, here or at the
/// other run.
pub(super) fn resolved<'r>(
    run: Cow<'r, Run>,
    runs: &[LaidRun],
    unit: Unit,
    findings: &mut Diagnostics,
) -> Option<Cow<'r, Run>> {
    let of = |name: &str| runs.iter().find(|laid| laid.run.name == name);
    let RunPath::Corners(corners) = &run.path else { return Some(run) };
    let source =
        run.copy.as_ref().and_then(|copy| of(&copy.run)).filter(|laid| !laid.run.parallels.is_empty());
    if run.parallels.is_empty() && source.is_none() {
        return Some(run);
    }
    let mut own = corners.clone();
    let mut is_whole = true;
    for parallel in &run.parallels {
        match of(&parallel.run).map(|other| radius(&run, corners, parallel, other, unit)) {
            Some(Ok(mm)) => {
                if let Some(corner) = own.get_mut(parallel.corner - 1) {
                    corner.clr = Some(OwnClr { mm, place: parallel.place });
                }
            }
            Some(Err(fault)) => {
                findings.push(*fault);
                is_whole = false;
            }
            None => is_whole = false,
        }
    }
    // A mirror image has the radii of the run that it is an image of.
    if let Some(source) = source {
        for (index, corner) in own.iter_mut().enumerate() {
            corner.clr = corner.clr.or(source.run.path.own_clr(index + 1));
        }
    }
    is_whole.then(|| Cow::Owned(Run { path: RunPath::Corners(own), ..run.into_owned() }))
}

/// A corner with the straights that meet there.
struct Turned {
    at: Point3,
    way_in: Vector3,
    way_out: Vector3,
}

impl Turned {
    fn new(run: &Run, corners: &[Corner], number: usize) -> Option<Turned> {
        let at = corners.get(number.checked_sub(1)?)?.at;
        let before = number.checked_sub(2).and_then(|index| corners.get(index)).map(|corner| corner.at);
        let before = before.or(run.from.as_ref().map(|end| end.at))?;
        let after = corners.get(number).map(|corner| corner.at).or(run.to.as_ref().map(|end| end.at))?;
        let (way_in, way_out) = (at - before, after - at);
        let is_line = |way: Vector3| way.magnitude() > 0.0;
        (is_line(way_in) && is_line(way_out)).then(|| Turned {
            at,
            way_in: way_in.normalize(),
            way_out: way_out.normalize(),
        })
    }

    /// Whether a bend turns from and to the same directions, travelled either way.
    fn is_along(&self, bend: &Bend) -> bool {
        let same = |a: Vector3, b: Vector3| angle_between(a, b) < ONE_WAY;
        (same(self.way_in, bend.direction_in) && same(self.way_out, bend.direction_out))
            || (same(self.way_in, -bend.direction_out) && same(self.way_out, -bend.direction_in))
    }

    /// Distances of a point from the two straights, mm.
    fn distances(&self, point: Point3) -> [f64; 2] {
        [self.way_in, self.way_out].map(|way| {
            let to = point - self.at;
            (to - way * to.dot(way)).magnitude()
        })
    }

    /// Distance of a point from the plane of the corner, mm.
    fn off_plane(&self, point: Point3) -> f64 {
        (point - self.at).dot(self.way_in.cross(self.way_out).normalize()).abs()
    }

    /// Whether a point lies on the inside of the corner.
    fn holds(&self, point: Point3) -> bool {
        (point - self.at).dot(self.way_out - self.way_in) > 0.0
    }
}

/// The radius of a corner about the centre of a bend of `other`, mm.
fn radius(
    run: &Run,
    corners: &[Corner],
    parallel: &Parallel,
    other: &LaidRun,
    unit: Unit,
) -> Result<f64, Box<Diagnostic>> {
    let (number, name) = (parallel.corner, &other.run.name);
    let fault = |message: String, hint: String| {
        let message = format!("run {}: {message}", run.name);
        let error = Diagnostic::error("not-parallel", message).hint(hint).at(parallel.place);
        Box::new(error.run(&run.name).bend(number))
    };
    let turned = Turned::new(run, corners, number);
    let bends = other.centreline.bends().iter();
    let along: Vec<(&Bend, [f64; 2])> = turned
        .iter()
        .flat_map(|turned| {
            let along = bends.clone().filter(|bend| bend.corner.is_some() && turned.is_along(bend));
            along.map(|bend| (bend, turned.distances(bend.centre)))
        })
        .collect();
    let spacing = |(bend, [first, _]): &(&Bend, [f64; 2])| (first - bend.radius).abs();
    let nearest = along.iter().min_by(|a, b| spacing(a).total_cmp(&spacing(b)));
    let (Some((bend, [first, second])), Some(turned)) = (nearest, &turned) else {
        let message = format!(
            "corner {number} is not parallel to a bend of run {name}: none turns from and to its directions"
        );
        return Err(fault(
            message,
            format!("lead the corner alongside a bend of run {name}, or write a radius"),
        ));
    };
    let off = turned.off_plane(bend.centre);
    if (first - second).abs() <= ONE_SPACING_MM && off <= ONE_SPACING_MM && turned.holds(bend.centre) {
        return Ok(f64::midpoint(*first, *second));
    }
    // The corner that is right lies on the line from the centre through the other's corner.
    let hint = match bend.corner {
        Some(corner) if turned.holds(bend.centre) => {
            let right = bend.centre + (corner - bend.centre) * (*first / bend.radius);
            let at = [right.x, right.y, right.z].map(|mm| unit.number_to(mm + 0.0, 3)).join(", ");
            format!("move the corner: write `at: [{at}]`, or write a radius")
        }
        _ => "lead the corner round the same side, or write a radius".to_owned(),
    };
    let [first, second, off] = [*first, *second, off].map(|mm| unit.length_with(mm, 1));
    let message = format!(
        "corner {number} has no centre with bend {} of run {name}: that lies {first} and {second} from its two straights, and {off} off its plane",
        bend.number
    );
    Err(fault(message, hint))
}

#[cfg(test)]
mod tests {
    use crate::build::Project;
    use crate::diagnostic::Diagnostics;

    fn read(runs: &str) -> Result<Vec<Vec<f64>>, Diagnostics> {
        let text = format!(
            "format: 1\ntube: {{od: 22, wall: 1, material: copper, temper: soft}}\nbender: {{clr: 88}}\nruns: {{{runs}}}\n"
        );
        let project = Project::read(&text, "pair.yaml")?;
        let radii = |laid: &crate::centreline::LaidRun| {
            laid.centreline.bends().iter().map(|bend| bend.radius).collect()
        };
        Ok(project.layout().runs.iter().map(radii).collect())
    }

    fn first_error(runs: &str) -> String {
        let found = read(runs).unwrap_err();
        let found = found.iter().next().unwrap();
        format!("{}: {}; {}", found.code, found.message, found.hint.clone().unwrap_or_default())
    }

    const INNER: &str = "a: {from: [0, 0, 0], to: [300, 300, 0], corners: [[300, 0, 0]]}";

    fn pair(corner: &str, more: &str) -> String {
        // 80 mm outside the inner line.
        format!(
            "b: {{from: [0, -80, 0], to: [380, 300, 0], corners: [{{at: {corner}, clr: parallel to a}}]}}, {INNER}{more}"
        )
    }

    /// City & Guilds, unit text on copper pipework, p. 96: 22 mm tube, spacing 80: 88 and 168.
    #[test]
    fn the_outer_of_a_pair_has_the_inner_radius_and_the_spacing() {
        let radii = read(&pair("[380, -80, 0]", "")).unwrap();
        assert!((radii[0][0] - 168.0).abs() < 1e-9 && (radii[1][0] - 88.0).abs() < 1e-9, "{radii:?}");
        // The other way round, travelled backwards: the line inside has what is left.
        let inside =
            "b: {to: [0, 20, 0], from: [280, 300, 0], corners: [{at: [280, 20, 0], clr: parallel to a}]}";
        let radii = read(&format!("{inside}, {INNER}")).unwrap();
        assert!((radii[0][0] - 68.0).abs() < 1e-9, "{radii:?}");
    }

    #[test]
    fn a_third_line_and_a_mirror_image_follow() {
        let third =
            "c: {from: [0, -160, 0], to: [460, 300, 0], corners: [{at: [460, -160, 0], clr: parallel to b}]}";
        let image = "m: {mirror: {run: b, plane: x, at: -50}}, s: {same_as: b}";
        let radii = read(&format!("{third}, {}", pair("[380, -80, 0]", &format!(", {image}")))).unwrap();
        let of: Vec<f64> = radii.iter().map(|bends| bends[0].round()).collect();
        assert_eq!(of, [248.0, 168.0, 88.0, 168.0, 168.0]);
    }

    #[test]
    fn a_corner_beside_its_place_is_told_the_right_one() {
        assert_eq!(
            first_error(&pair("[380, -75, 0]", "")),
            "not-parallel: run b: corner 1 is not parallel to a bend of run a: none turns from and to its directions; \
             lead the corner alongside a bend of run a, or write a radius"
        );
        let moved =
            "b: {from: [0, -80, 0], to: [370, 300, 0], corners: [{at: [370, -80, 0], clr: parallel to a}]}";
        assert_eq!(
            first_error(&format!("{moved}, {INNER}")),
            "not-parallel: run b: corner 1 has no centre with bend 1 of run a: that lies 168.0 mm and 158.0 mm from its \
             two straights, and 0.0 mm off its plane; move the corner: write `at: [380, -80, 0]`, or write a radius"
        );
    }

    #[test]
    fn circles_and_unknown_runs_are_told() {
        let circle = "a: {from: [0, 0, 0], to: [300, 300, 0], corners: [{at: [300, 0, 0], clr: parallel to b}]}, \
                      b: {from: [0, -80, 0], to: [380, 300, 0], corners: [{at: [380, -80, 0], clr: parallel to a}]}";
        assert!(
            first_error(circle).starts_with(
                "parallel-circle: run a: its radius waits for that of run b, which waits for it"
            )
        );
        let unknown = pair("[380, -80, 0]", "").replace("parallel to a", "parallel to aa");
        assert_eq!(first_error(&unknown), "unknown-run: there is no run `aa`; did you mean `a`?");
        let own = pair("[380, -80, 0]", "").replace("parallel to a", "parallel to b");
        assert!(first_error(&own).starts_with("parallel-circle: a run cannot be parallel to itself"));
    }
}
