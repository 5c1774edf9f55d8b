//! The tube that is there, and the next thing to do with it, for people.

use tubewright::build::Project;
use tubewright::correct::words::{deviation, place};
use tubewright::correct::{Advice, Change, Correction, GoingOn, Mended, Mending, ReadingFit, Rest};
use tubewright::diagnostic::Diagnostic;
use tubewright::plan::RunPlan;
use tubewright::quantity::{Unit, fixed};
use tubewright::spec::model::Measurable;

use crate::cli::terminal::Page;

/// A deviation whose 95 % hold nothing, and that is less than so much, is not told: mm and rad (0.1°).
const LITTLE_MM: f64 = 0.1;
/// See [`LITTLE_MM`].
const LITTLE: f64 = 0.1 * std::f64::consts::PI / 180.0;

/// Indent of what stands below a heading.
const INDENT: usize = 2;

/// The most likely tube.
pub(super) fn there(found: &Correction, run: &Measurable, page: Page) -> String {
    let unit = run.unit;
    let mut lines = vec![page.wrapped("what is there, with what 95 % of such tubes stay within:", 0)];
    let estimate = &found.estimate;
    let told = estimate.deviations.iter().filter(|found| {
        let little = if found.quantity.is_angle() { LITTLE } else { LITTLE_MM };
        found.value.abs() > found.half_width.max(little)
    });
    let before = lines.len();
    lines.extend(told.map(|found| {
        let by = deviation(found.quantity, found.value, unit);
        let within = if found.quantity.is_angle() {
            format!("{}°", fixed(found.half_width.to_degrees(), 1))
        } else {
            unit.length_with(found.half_width, 1)
        };
        page.wrapped(&format!("{by} (± {within})"), INDENT)
    }));
    if lines.len() == before {
        lines.push(page.wrapped("nothing is off by more than the readings can tell", INDENT));
    }
    lines.extend(
        estimate
            .readings
            .iter()
            .filter_map(|fit| contradicting(fit, run))
            .map(|text| page.wrapped(&text, INDENT)),
    );
    lines.concat()
}

/// A reading that contradicts the others.
fn contradicting(fit: &ReadingFit, run: &Measurable) -> Option<String> {
    let more = fit.more?;
    let name = run.name(fit.reading.what);
    let by = if super::text::is_angle(fit.reading.what) {
        format!("{}°", fixed(more.abs().to_degrees(), 1))
    } else {
        run.unit.length_with(more.abs(), 1)
    };
    let side = if more < 0.0 { "less" } else { "more" };
    let off = format!("`{name}` is {by} {side} than the other readings say");
    if fit.is_wrong() {
        Some(format!("{off}, and contradicts them: it is left out; measure it again"))
    } else if fit.is_doubtful() {
        Some(format!("{off}: it may be wrong; measure it again"))
    } else {
        None
    }
}

/// The advice.
pub(super) fn next(found: &Correction, (run, plan): (&Measurable, &RunPlan), page: Page) -> String {
    match &found.advice {
        Advice::NoPorts => page.wrapped(
            "an end of the run has no port: nothing says where the tube should end, so there is nothing to advise",
            0,
        ),
        Advice::Finished(mending) => finished(found, mending, (run, plan), page),
        Advice::Begun(going_on) => begun(found, going_on, (run, plan), page),
    }
}

/// "port pump.in", or "the datum end's place".
fn last_port(found: &Correction, plan: &RunPlan) -> String {
    let [datum, other] = &plan.ends;
    let last = if found.making.from() == tubewright::plan::FromEnd::Datum { other } else { datum };
    last.port.clone().unwrap_or_else(|| "the place of its last end".to_owned())
}

fn finished(
    found: &Correction,
    mending: &Mending,
    (run, plan): (&Measurable, &RunPlan),
    page: Page,
) -> String {
    let unit = run.unit;
    let port = last_port(found, plan);
    let as_made = mending.as_made;
    let mut lines = vec![page.wrapped(&format!("its end comes to {port} {}", place(&as_made, unit)), 0)];
    if let Some(most) = &found.estimate.dominant {
        let by = deviation(most.quantity, most.value, unit);
        lines.push(page.wrapped(&format!("most of it is {by}"), INDENT));
    }
    let Some(take) = mending.take.and_then(|take| mending.ways.get(take)) else {
        lines.push(page.wrapped("no cut and no re-bend that is allowed lets it in: scrap", 0));
        if let Some(best) = mending.ways.last() {
            let text = format!(
                "the nearest that was found still needs {} times what the fittings forgive",
                fixed(best.rework.needs, 1)
            );
            lines.push(page.wrapped(&text, INDENT));
        }
        lines.push(page.wrapped(&rest(&mending.rest, unit), INDENT));
        return lines.concat();
    };
    lines.push(page.wrapped("what to do:", 0));
    lines.extend(steps(found, take, (run, plan)).iter().map(|step| page.wrapped(step, INDENT)));
    lines.push(page.wrapped(&sure(take), INDENT));
    let more = mending.ways.iter().filter(|way| way.rework.needs <= 1.0 && way.goes_in > take.goes_in + 0.02);
    for way in more.filter(|way| way.rework.changes.len() > take.rework.changes.len()) {
        let instead = steps(found, way, (run, plan)).join("; ");
        let text = format!("or, so that it goes in with {}: {instead}", percent(way.goes_in));
        lines.push(page.wrapped(&text, INDENT));
    }
    lines.concat()
}

/// The changes of a way, one sentence each.
fn steps(found: &Correction, way: &Mended, (run, plan): (&Measurable, &RunPlan)) -> Vec<String> {
    let numbers: Vec<usize> = found.making.bends().collect();
    let number = |index: usize| numbers.get(index).copied().unwrap_or_default();
    let degrees = |angle: f64| fixed(angle.abs().to_degrees(), 1);
    let mut all: Vec<String> = Vec::new();
    for change in &way.rework.changes {
        match *change {
            Change::Bend(index, by) => {
                let to = way.rework.tube.rows.get(index).map_or(0.0, |row| row.angle);
                let made =
                    plan.operations(found.making.from()).iter().find(|made| made.bend == number(index));
                let bend = plan.bends.get(number(index).saturating_sub(1));
                // It springs back by about as much as when it was made.
                let springs = made.zip(bend).map_or(0.0, |(made, bend)| made.pull.angle - bend.angle);
                let (verb, hint) = if by > 0.0 {
                    ("close", format!("pull it to about {}°, let go, look", degrees(to + springs)))
                } else {
                    let back = degrees(springs);
                    ("open", format!("it springs shut again by about {back}°: push, let go, look, push on"))
                };
                all.push(format!(
                    "{verb} bend {} by {}°, to {}°: {hint}",
                    number(index),
                    degrees(by),
                    degrees(to)
                ));
            }
            Change::Twist(index, by) => {
                let side = if by > 0.0 { "clockwise" } else { "anticlockwise" };
                all.push(format!(
                    "twist the straight before bend {} by {}° {side}, looking from the end that bending began at",
                    number(index),
                    degrees(by)
                ));
            }
        }
    }
    all.extend(cuts(found, way.rework.tube.trimmed, run.unit));
    all
}

/// The cuts at both ends.
fn cuts(found: &Correction, trimmed: [f64; 2], unit: Unit) -> Vec<String> {
    let first = found.making.from();
    let ends = [first, first.opposite()];
    let all = ends.iter().zip(trimmed).filter(|(_, mm)| *mm >= LITTLE_MM);
    all.map(|(end, mm)| {
        format!("cut {} off the {} end", unit.length_with(mm, 1), end.name().trim_end_matches(" end"))
    })
    .collect()
}

fn sure(way: &Mended) -> String {
    format!("then it goes in with {}", percent(way.goes_in))
}

fn percent(part: f64) -> String {
    format!("{:.0} %", part * 100.0)
}

/// Straight tube that can be used again.
fn rest(rest: &Rest, unit: Unit) -> String {
    let length = unit.length_with(rest.length, 0);
    match rest.runs.as_slice() {
        [] => format!("straight tube behind its last bend: {length}"),
        [run, ..] => format!("use the straight tube behind its last bend, {length}, for run {run}"),
    }
}

fn begun(found: &Correction, going_on: &GoingOn, (run, plan): (&Measurable, &RunPlan), page: Page) -> String {
    let unit = run.unit;
    let port = last_port(found, plan);
    let mut lines = Vec::new();
    if !going_on.fits {
        let text = format!(
            "scrap after bend {}: with the bends that are left it cannot reach {port}; it would still need {} times what the \
             fittings forgive",
            found.making.bends().last().unwrap_or_default(),
            fixed(going_on.onwards.needs, 1)
        );
        lines.push(page.wrapped(&text, 0));
        lines.push(page.wrapped(&rest(&going_on.rest, unit), INDENT));
        return lines.concat();
    }
    lines.push(page.wrapped("go on with these instead of the planned ones:", 0));
    lines.push(super::text::going_on(found, going_on, run, page));
    lines.extend(
        cuts(found, going_on.onwards.tube.trimmed, unit)
            .iter()
            .map(|cut| page.wrapped(&format!("{cut} once it is bent"), INDENT)),
    );
    if going_on.onwards.lacking >= LITTLE_MM {
        let text = format!(
            "the tube is {} too short: it goes in so much less",
            unit.length_with(going_on.onwards.lacking, 1)
        );
        lines.push(page.wrapped(&text, INDENT));
    }
    let end = place(&going_on.onwards.miss, unit);
    lines.push(page.wrapped(
        &format!("its end then comes to {port} {end}, and goes in with {}", percent(going_on.goes_in)),
        INDENT,
    ));
    lines.concat()
}

/// Findings that the tube, as it is then to be, has and the planned one has not.
pub(super) fn new_findings(found: &Correction, project: &Project, page: Page) -> String {
    let planned = match &found.advice {
        Advice::NoPorts => None,
        Advice::Finished(mending) => mending.taken.as_ref(),
        Advice::Begun(going_on) => going_on.planned.as_ref(),
    };
    // Whether the ends go in was judged with the play of both fittings.
    let is_judged = |new: &Diagnostic| matches!(new.code, "port-side" | "port-angle");
    let is_known = |new: &Diagnostic| {
        project.findings().iter().any(|known| known.code == new.code && known.bend == new.bend)
    };
    let told = planned.iter().flat_map(|planned| planned.findings.iter());
    let new: Vec<String> = told
        .filter(|finding| !is_judged(finding) && !is_known(finding))
        .map(|finding| page.wrapped(&format!("mind: {}", finding.message), INDENT))
        .collect();
    if new.is_empty() {
        String::new()
    } else {
        format!("{}{}", page.wrapped("the tube then:", 0), new.concat())
    }
}
