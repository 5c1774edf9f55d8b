//! A file of readings to fill in: every key with nothing behind it, and the plan's value beside it.

use super::super::model::{LegMeasure, MadeBend, MadeTemplate, Measurable, Off, What};
use crate::quantity::fixed;

/// Column at which the plan's values stand, letters.
const COLUMN: usize = 20;

/// A file of readings of a run in which nothing is read yet. `spec` is the name of the run's spec, and `file` that of
/// this file, for the command in its head.
pub fn blank(run: &Measurable, spec: &str, file: &str) -> String {
    let Measurable { run: name, unit, .. } = run;
    let mut text = format!(
        "# What was measured on a bent tube of run {name}, nothing trimmed yet. Write what you measured behind its key,\n\
         # leave the rest empty, and run\n\
         #   tubewright correct {spec} {name} {file}\n\
         # Lengths are {unit}, angles degrees. A reading that is more or less sure than usual: {{got: 88.5, accuracy: 1}}\n\
         format: 1\nreadings: {name}\nunits: {unit}\n",
        spec = words(spec),
        file = words(file),
        unit = unit.name(),
    );
    let mut line = |indent: usize, key: &str, comment: &str| {
        let start = format!("{}{key}", " ".repeat(indent));
        let comment = if comment.is_empty() { String::new() } else { format!("# {comment}") };
        let row = format!("{start:<COLUMN$} {comment}");
        text.push_str(row.trim_end());
        text.push('\n');
    };
    let count = run.bends.len();
    if count > 0 {
        line(0, "bends_done:", &format!("{count} are all; write how many are made where some are not"));
    }
    line(0, "cut:", &planned(run, What::Cut));
    if count > 0 {
        line(
            0,
            "measured: outside",
            "legs are measured to the outside (back), centre or inside of the other leg",
        );
        line(0, "bends:", "in the order they are made");
    }
    for (index, bend) in run.bends.iter().enumerate() {
        line(2, &format!("{}:", bend.number), "");
        of_bend(run, bend, index > 0, &mut |key, comment| line(4, key, comment));
    }
    if let Some(leg) = legs(run, &What::LastLeg) {
        line(0, "last_leg:", &format!("from the crossing of the last bend's legs to the end; {leg}"));
    }
    line(0, "templates:", "the tube's first straight and first bend lie on the drawing");
    for (index, template) in run.templates.iter().enumerate() {
        line(2, &format!("{}:", template.number), &template.name);
        of_template(run, (index + 1, template), &mut |indent, key, comment| line(indent, key, comment));
    }
    line(0, "accuracy:", "what 95 % of readings stay within, either way");
    for (key, usual) in [
        ("angle:", "0.5 degrees if empty"),
        ("turn:", "1 degree"),
        ("length:", &format!("{}, of cut, leg, between and last_leg", unit.length(0.5))),
        ("arc:", &format!("{}, of starts and ends", unit.length(2.0))),
        ("template:", &format!("{}, of what is read on templates", unit.length(0.7))),
    ] {
        line(2, key, usual);
    }
    text
}

fn of_bend(run: &Measurable, bend: &MadeBend, has_before: bool, line: &mut dyn FnMut(&str, &str)) {
    let number = bend.number;
    line("pulled:", &format!("planned {}; empty where it was pulled to that", degrees(bend.pulled)));
    line("angle:", &planned(run, What::Angle(number)));
    if has_before {
        line("turn:", &planned(run, What::Turn(number)));
    }
    line("starts:", &planned(run, What::Starts(number)));
    line("ends:", &planned(run, What::Ends(number)));
    if let Some(leg) = legs(run, &|to| What::Leg(number, to)) {
        line("leg:", &leg);
    }
    if let Some(between) = legs(run, &|to| What::Between(number, to)) {
        line("between:", &between);
    }
}

fn of_template(
    run: &Measurable,
    (number, template): (usize, &MadeTemplate),
    line: &mut dyn FnMut(usize, &str, &str),
) {
    line(4, "end_to_end:", &planned(run, What::EndToEnd(number)));
    let next = run.templates.get(number).and_then(|next| next.bends.first());
    let far = match next {
        // Templates are numbered from 1 here: this is the one behind.
        Some(bend) => {
            format!("the far end, where bend {bend} starts, beyond the drawn one; short of it: less than 0")
        }
        None => "the far end beyond the drawn one, waste included; short of it: less than 0".to_owned(),
    };
    line(4, "beyond:", &far);
    line(4, "left:", "the far end left of the drawing, looking out of the tube; right: less than 0");
    line(4, "above:", "the far end higher than the first straight");
    if !template.bends.is_empty() {
        line(4, "at_bends:", "the places where these bends end, off the drawing in the same way");
    }
    for bend in &template.bends {
        line(6, &format!("{bend}:"), "");
        for off in [Off::Left, Off::Above] {
            line(8, &format!("{}:", off.name()), "");
        }
    }
}

/// "planned 90.0": the plan's value of a quantity.
fn planned(run: &Measurable, what: What) -> String {
    let Some(value) = run.planned(what, run.bends.len()) else { return String::new() };
    let shown = match what {
        What::Angle(_) | What::Turn(_) => degrees(value),
        _ => length(run, value),
    };
    format!("planned {shown}")
}

/// "planned 110.7 outside, 103.2 centre, 95.7 inside": the plan's values of a leg; none where its lines do not cross.
fn legs(run: &Measurable, what: &dyn Fn(LegMeasure) -> What) -> Option<String> {
    let faces = [LegMeasure::Outside, LegMeasure::Centre, LegMeasure::Inside];
    let each = faces.into_iter().map(|to| {
        let value = run.planned(what(to), run.bends.len())?;
        Some(format!("{} {}", length(run, value), Into::<&str>::into(to)))
    });
    Some(format!("planned {}", each.collect::<Option<Vec<_>>>()?.join(", ")))
}

fn degrees(angle: f64) -> String {
    fixed(angle.to_degrees(), 1)
}

fn length(run: &Measurable, mm: f64) -> String {
    run.unit.number_with(mm, 1)
}

/// The name of a file in a comment: a line break would end it.
fn words(name: &str) -> String {
    name.replace(char::is_control, "?")
}
