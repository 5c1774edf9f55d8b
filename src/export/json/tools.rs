//! Forms and jigs as data: what was made, and where every part of a work stands.

use serde::ser::{Error, Serialize, SerializeSeq, Serializer};
use serde_json::value::RawValue;

use super::super::decimal::decimal;
use super::plan::source;
use crate::geometry::{Placement, Point3, Vector3};
use crate::tooling::form::Form;
use crate::tooling::jig::{Duty, Jig};
use crate::tooling::{SheetWork, Tooling};

/// Decimals of a unit vector's numbers: rounded as lengths are, it would turn a part of a metre by a thousandth
/// of a millimetre, and be no unit vector.
const DIRECTION_DECIMALS: usize = 12;

/// A unit vector.
pub(super) struct Direction(pub(super) Vector3);

impl Serialize for Direction {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut list = serializer.serialize_seq(Some(3))?;
        for number in [self.0.x, self.0.y, self.0.z] {
            let text = decimal(number, DIRECTION_DECIMALS);
            list.serialize_element(&RawValue::from_string(text).map_err(S::Error::custom)?)?;
        }
        list.end()
    }
}

/// A part and where it stands: its (x, y) and its thickness go along `x`, `y` and x × y from `at_mm`.
#[derive(serde::Serialize)]
pub(super) struct PartData<'a> {
    name: &'a str,
    at_mm: [f64; 3],
    x: Direction,
    y: Direction,
}

/// A bending form. Its own axes have the bend's centre as origin; the tube comes in along y = clr_mm.
#[derive(serde::Serialize)]
pub(super) struct FormData<'a> {
    name: &'a str,
    od_mm: f64,
    finished_clr_mm: f64,
    clr_mm: f64,
    springback_source: &'a str,
    bends: Vec<FormBendData>,
    arc_deg: f64,
    lead_mm: f64,
    clearance_mm: f64,
    sheet_thickness_mm: f64,
    hollow_mm: f64,
    blocks: Vec<&'a str>,
    layers: Vec<PartData<'a>>,
}

#[derive(serde::Serialize)]
struct FormBendData {
    angle_deg: f64,
    pull_to_deg: f64,
}

/// A checking jig. Its own axes: x and y along the base board, z up from its upper face.
#[derive(serde::Serialize)]
pub(super) struct JigData<'a> {
    run: &'a str,
    sheet_thickness_mm: f64,
    /// The run's origin in the jig's axes, and the run's x and y axes there.
    tube_at_mm: [f64; 3],
    tube_x: Direction,
    tube_y: Direction,
    parts: Vec<PartData<'a>>,
    uprights: Vec<UprightData<'a>>,
    bends: Vec<SenseData>,
}

#[derive(serde::Serialize)]
struct UprightData<'a> {
    part: &'a str,
    role: &'static str,
    station_mm: f64,
    at_mm: [f64; 3],
    direction: Direction,
}

#[derive(serde::Serialize)]
struct SenseData {
    number: usize,
    least_error_deg: Option<f64>,
}

pub(super) fn forms(tooling: &Tooling) -> Vec<FormData<'_>> {
    tooling.forms.iter().map(form).collect()
}

pub(super) fn jigs(tooling: &Tooling) -> Vec<JigData<'_>> {
    tooling.jigs.iter().map(jig).collect()
}

fn form(form: &Form) -> FormData<'_> {
    let bend = |bend: &crate::tooling::form::FormBend| FormBendData {
        angle_deg: bend.angle.to_degrees(),
        pull_to_deg: bend.pull_to.to_degrees(),
    };
    FormData {
        name: &form.name,
        od_mm: form.od,
        finished_clr_mm: form.clr,
        clr_mm: form.held_radius,
        springback_source: source(form.source),
        bends: form.bends.iter().map(bend).collect(),
        arc_deg: form.arc.to_degrees(),
        lead_mm: form.lead,
        clearance_mm: form.clearance,
        sheet_thickness_mm: form.stack.thickness,
        hollow_mm: form.hollow,
        blocks: form.blocks.iter().map(|block| block.name.as_str()).collect(),
        layers: parts(&form.stack),
    }
}

fn jig(jig: &Jig) -> JigData<'_> {
    let name = |index: usize| jig.work.parts.get(index).map_or("", |part| part.name.as_str());
    let uprights = jig.uprights.iter().map(|upright| UprightData {
        part: name(upright.part),
        role: match upright.duty {
            Duty::Cradle => "cradle",
            Duty::Stop => "stop",
            Duty::Gate => "gate",
            Duty::Guard => "guard",
        },
        station_mm: upright.station,
        at_mm: upright.at.into(),
        direction: Direction(upright.direction),
    });
    let (tube_at_mm, tube_x, tube_y) = axes(&jig.tube);
    JigData {
        run: &jig.run,
        sheet_thickness_mm: jig.work.thickness,
        tube_at_mm,
        tube_x,
        tube_y,
        parts: parts(&jig.work),
        uprights: uprights.collect(),
        bends: jig
            .senses
            .iter()
            .map(|s| SenseData { number: s.bend, least_error_deg: s.least_error.map(f64::to_degrees) })
            .collect(),
    }
}

fn parts(work: &SheetWork) -> Vec<PartData<'_>> {
    let data = |posed: &crate::tooling::Posed| {
        let name = work.parts.get(posed.part).map_or("", |part| part.name.as_str());
        let (at_mm, x, y) = axes(&posed.at);
        PartData { name, at_mm, x, y }
    };
    work.posed.iter().map(data).collect()
}

fn axes(at: &Placement) -> ([f64; 3], Direction, Direction) {
    let origin: Point3 = at.origin;
    (origin.into(), Direction(at.x), Direction(at.y()))
}
