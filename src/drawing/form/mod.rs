//! The former as one flat plate: the outline a tube is wound around, one for each tube diameter and
//! bend radius in use.
//!
//! [`plate`] makes the contour, [`holes`] the holes, [`marks`] what is engraved, [`place`] finds room
//! for it, and [`kerf`] takes up the kerf. The bend's centre is the origin of every form.

mod holes;
mod kerf;
mod marks;
mod place;
mod plate;

use std::collections::BTreeMap;
use std::f64::consts::PI;

use crate::centreline::Layout;
use crate::diagnostic::Diagnostic;
use crate::drawing::item::{Across, Drawing, Path, Point, Role, Shape, Text, Upright};
use crate::drawing::text::wrapped_letters;
use crate::quantity::decimals;
use holes::{Hole, Use};
use plate::Plate;

/// The rim's arc goes on for so much beyond the largest bend, rad (10°): a bend is pulled further
/// than it is to become, and half-hard copper gives back less than that (common practice, no source).
pub const OVER_BEND: f64 = 10.0 * PI / 180.0;

/// The rim's arc is never longer, rad (185°): beyond half a turn the leads run towards each other
/// and leave no plate between the tube's legs.
pub const LARGEST_ARC: f64 = 185.0 * PI / 180.0;

/// Width of the cut that CUT-KERF makes up for, mm: what laser cutters take from a 3 to 6 mm board
/// (common practice, no source; measure your own).
pub const KERF_MM: f64 = 0.2;

/// A rim smaller than this is no rim, mm.
const SMALLEST_RIM_MM: f64 = 0.1;

/// Height of capitals of the notes beside the plate, mm.
const NOTE_MM: f64 = 2.5;

/// Longest line of notes, in letters: none much longer than the others beside the plate.
const NOTE_LETTERS: usize = 64;

/// A form to be cut out.
#[derive(Debug, Clone, PartialEq)]
pub struct Form {
    /// Tube diameter and bend radius, fit for a path: `15-r55`, `15.875-r38`.
    pub name: String,
    /// The outline, 1:1 mm, with the roles of the layers.
    pub drawing: Drawing,
}

/// What one form serves.
#[derive(Debug, Clone, PartialEq)]
struct Job {
    od: f64,
    clr: f64,
    /// Bend angles, rad, ascending, each once.
    bends: Vec<f64>,
}

impl Job {
    fn name(&self) -> String {
        let exact = |mm: f64| decimals(micrometres(mm) as f64 / 1e3, 3);
        format!("{}-r{}", exact(self.od), exact(self.clr))
    }

    /// The tube's inside touches the rim.
    fn rim(&self) -> f64 {
        self.clr - self.od / 2.0
    }

    fn arc(&self) -> f64 {
        let largest = self.bends.last().copied().unwrap_or(0.0);
        (largest + OVER_BEND).min(LARGEST_ARC)
    }
}

/// One form for each tube diameter and bend radius in use, by diameter and then radius.
///
/// # Errors
/// `form-rim` when a bend is so tight that nothing is left of the rim; `form-kerf` when the kerf
/// cannot be taken up.
#[allow(clippy::result_large_err, reason = "an error ends the build, its size costs nothing")]
pub fn forms(layout: &Layout) -> Result<Vec<Form>, Diagnostic> {
    jobs(layout).iter().map(form).collect()
}

/// A length in whole micrometres: as finely as forms and their names are told apart.
fn micrometres(mm: f64) -> i64 {
    (mm * 1e3).round() as i64
}

/// Every pair of diameter and radius in use.
fn jobs(layout: &Layout) -> Vec<Job> {
    let mut jobs: BTreeMap<(i64, i64), Job> = BTreeMap::new();
    for laid in &layout.runs {
        let od = laid.run.tube.od();
        for bend in laid.centreline.bends() {
            let key = (micrometres(od), micrometres(bend.radius));
            let new = || Job { od, clr: bend.radius, bends: Vec::new() };
            jobs.entry(key).or_insert_with(new).bends.push(bend.angle);
        }
    }
    let mut jobs: Vec<Job> = jobs.into_values().collect();
    for job in &mut jobs {
        job.bends.sort_by(f64::total_cmp);
        // Told apart to the tenth of a degree, as they are engraved.
        job.bends.dedup_by_key(|angle| (angle.to_degrees() * 10.0).round() as i64);
    }
    jobs
}

#[allow(clippy::result_large_err, reason = "an error ends the build, its size costs nothing")]
fn form(job: &Job) -> Result<Form, Diagnostic> {
    let name = job.name();
    let rim = job.rim();
    if rim < SMALLEST_RIM_MM {
        return Err(Diagnostic::error(
            "form-rim",
            format!("a bend of radius {} mm leaves no form inside a tube of {} mm", job.clr, job.od),
        )
        .hint("give the bend a centreline radius of more than half the tube's diameter"));
    }
    let plate = Plate::new(rim, job.arc(), job.od);
    let contour = plate.contour();
    let grown = kerf::grown(&contour, KERF_MM / 2.0).ok_or_else(|| {
        Diagnostic::error("form-kerf", format!("the kerf of form {name} cannot be taken up"))
            .hint("give the bend a larger centreline radius")
    })?;
    let holes = holes::holes(&plate, marks::band(&plate));

    let mut drawing = Drawing::new();
    cut(&mut drawing, contour, grown, &holes);
    let names = [
        name.clone(),
        format!("OD {}", decimals(job.od, 3)),
        format!("CLR {}", decimals(job.clr, 3)),
        format!("rim R {}", decimals(rim, 3)),
    ];
    let mut room = place::Room::new(&plate, &holes);
    drawing.append(marks::engrave(&plate, &mut room, &job.bends, &names));
    notes(&mut drawing, &plate, &note_lines(job, &holes));
    Ok(Form { name, drawing })
}

fn cut(drawing: &mut Drawing, contour: Path, grown: Path, holes: &[Hole]) {
    drawing.add(Role::Cut, Shape::Path(contour));
    drawing.add(Role::CutKerf, Shape::Path(grown));
    for hole in holes {
        let circle = |diameter: f64| Shape::Circle { centre: hole.at, radius: diameter / 2.0 };
        drawing.add(Role::Cut, circle(hole.diameter));
        drawing.add(Role::CutKerf, circle(hole.diameter - KERF_MM));
        drawing.add(Role::Drill, circle(hole.diameter));
    }
}

fn note_lines(job: &Job, holes: &[Hole]) -> Vec<String> {
    let angles: Vec<String> = job.bends.iter().map(|a| decimals(a.to_degrees(), 1)).collect();
    let arc = decimals(job.arc().to_degrees(), 1);
    let mut lines = vec![
        format!("Form {}, full size, millimetres.", job.name()),
        format!(
            "Tube OD {}, centreline radius {}, rim radius {}.",
            decimals(job.od, 3),
            decimals(job.clr, 3),
            decimals(job.rim(), 3)
        ),
    ];
    lines.extend(wrapped_letters(&format!("Bends (degrees): {}.", angles.join(", ")), NOTE_LETTERS));
    lines.extend([
        format!("The rim goes on to {arc} degrees, for over-bend."),
        "Springback is not taken off yet: the rim is the bend as drawn.".to_owned(),
        format!("Cut CUT-KERF, made for a kerf of {KERF_MM} mm: measure your kerf"),
        "on a test square first. Cut CUT instead if your machine takes up".to_owned(),
        "the kerf itself. Never cut both.".to_owned(),
    ]);
    lines.push(match holes.iter().find(|h| h.purpose == Use::Dowel) {
        None => "The plate is too narrow for holes: clamp it by its tail.".to_owned(),
        Some(dowel) => {
            let bolt = holes.iter().find(|h| h.purpose == Use::Bolt);
            let bolt = bolt.map_or(String::new(), |b| format!(", bolt {} mm", decimals(b.diameter, 1)));
            format!("DRILL repeats the holes: dowels {} mm{bolt}.", decimals(dowel.diameter, 1))
        }
    });
    lines
}

/// Lines of notes below the plate.
fn notes(drawing: &mut Drawing, plate: &Plate, lines: &[String]) {
    let (min, _) = plate.bounds();
    for (row, line) in lines.iter().enumerate() {
        let at = Point::new(min.x, min.y - 6.0 - row as f64 * 1.8 * NOTE_MM);
        let text = Text {
            at,
            height: NOTE_MM,
            angle: 0.0,
            across: Across::Left,
            upright: Upright::Top,
            content: line.clone(),
        };
        drawing.add(Role::Note, Shape::Text(text));
    }
}
