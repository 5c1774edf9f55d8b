//! Random runs, each with its spec, its shape and the tool that makes it.

use std::fmt::Write;

use proptest::prelude::*;
use serde_json::Value;
use tubewright::build::Project;
use tubewright::geometry::Vector3;
use tubewright::spec::model::MarkPoint;

use super::bench::{Form, Miss, Tool, Way, bend};
use super::{Row, Walked, copper, plain_form, plan_of, tool, walk};

/// How a random run's tube springs back.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Springs {
    /// As test bends in the spec show.
    Tested,
    /// As theory says of half-hard copper.
    Predicted,
    /// Not at all, and the plan knows nothing of it.
    Unknown,
}

/// A random run with its bender.
#[derive(Debug, Clone)]
pub(crate) struct Case {
    at: [f64; 3],
    direction: Vector3,
    pub(crate) rows: Vec<Row>,
    /// Which rows have a radius of their own.
    own: Vec<bool>,
    pub(crate) end_length: f64,
    by_corners: bool,
    springs: Springs,
    /// Radius as written for the bender, and what it really forms.
    written: f64,
    form: Form,
    pub(crate) mark: MarkPoint,
    pub(crate) datum: f64,
    pub(crate) allowance: [f64; 2],
}

const OD: f64 = 12.0;
const WALL: f64 = 1.0;

impl Case {
    pub(crate) fn yaml(&self) -> String {
        let (material, temper) =
            if self.springs == Springs::Predicted { ("copper", "half-hard") } else { ("testium", "hard") };
        let mut text = format!(
            "format: 1\ntube: {{od: {OD}, wall: {WALL}, material: {material}, temper: {temper}}}\n\
             bender:\n  clr: {}\n  mark: {}\n  datum: {}\n",
            self.written,
            self.mark.name(),
            self.datum
        );
        if self.springs == Springs::Tested {
            text += "  test_bends:\n";
            for (pulled, measured) in [(40.0, "centre"), (75.0, "outside"), (110.0, "inside")] {
                writeln!(text, "    - {}", self.test_bend(pulled, measured)).unwrap();
            }
        }
        text += "runs:\n  r:\n    anneal: never\n";
        let [start, end] = self.allowance;
        writeln!(text, "    allowance: {{start: {start}, end: {end}}}").unwrap();
        let point = |p: Vector3| format!("[{}, {}, {}]", p.x, p.y, p.z);
        let own = |index: usize| {
            if self.own[index] { format!(", clr: {}", self.rows[index].clr) } else { String::new() }
        };
        if self.by_corners {
            let walked = self.walked();
            writeln!(text, "    from: {}\n    to: {}", point(self.at.into()), point(walked.shape.last.at))
                .unwrap();
            text += "    corners:\n";
            for (index, corner) in walked.corners.iter().enumerate() {
                writeln!(text, "      - {{at: {}{}}}", point(*corner), own(index)).unwrap();
            }
        } else {
            let facing = point(self.direction);
            writeln!(text, "    from: {{at: {}, facing: {facing}}}\n    bends:", point(self.at.into()))
                .unwrap();
            for (index, row) in self.rows.iter().enumerate() {
                let (rotation, angle) = (row.rotation.to_degrees(), row.angle.to_degrees());
                let length = row.length;
                let own = own(index);
                writeln!(text, "      - {{length: {length}, rotation: {rotation}, angle: {angle}{own}}}")
                    .unwrap();
            }
            writeln!(text, "    end_length: {}", self.end_length).unwrap();
        }
        text
    }

    /// A trial piece as the tool would make it, with 100 and 120 mm of straight beside the bend; its legs are
    /// measured to where the centreline, the back or the inside of the other leg crosses.
    fn test_bend(&self, pulled: f64, measured: &str) -> String {
        let got = self.form.got(pulled.to_radians());
        let beside = match measured {
            "outside" => OD / 2.0,
            "inside" => -OD / 2.0,
            _ => 0.0,
        };
        let setback = (self.form.clr + beside) * (got / 2.0).tan();
        format!(
            "{{pulled: {pulled}, got: {}, cut: {}, leg_a: {}, leg_b: {}, measured: {measured}}}",
            got.to_degrees(),
            220.0 + self.form.takes(got),
            100.0 + setback,
            120.0 + setback
        )
    }

    pub(crate) fn walked(&self) -> Walked {
        walk(self.at.into(), self.direction, &self.rows, self.end_length)
    }

    /// What the tool makes of each bend.
    pub(crate) fn forms(&self) -> Vec<Form> {
        let law = copper("half-hard", false);
        let metal = (self.springs == Springs::Predicted).then_some((law, OD, WALL));
        self.rows
            .iter()
            .zip(&self.own)
            .map(|(row, own)| {
                let tested = self.springs == Springs::Tested && !own;
                if tested { self.form } else { plain_form(row.clr, metal) }
            })
            .collect()
    }

    /// The tool, its datum distance so much more, mm, than the spec says.
    pub(crate) fn tool(&self, more: f64) -> Tool {
        tool(self.mark, self.datum + more)
    }

    /// Bends the run by its plan.
    pub(crate) fn bend(&self, plan: &Value, forms: &[Form], way: Way) -> Result<Miss, String> {
        let made = bend(plan, self.tool(0.0), forms, way)?;
        Ok(made.miss(&self.walked().from(way.other_end)))
    }

    /// The project that the program makes of it.
    pub(crate) fn project(&self) -> Project {
        let text = self.yaml();
        Project::read(&text, "case.yaml").unwrap_or_else(|findings| {
            panic!("{}\n{text}", tubewright::diagnostic::render(&findings, "case.yaml", &text, false))
        })
    }

    /// The plan of a project that was made of it.
    pub(crate) fn plan(&self, project: &Project) -> Value {
        let plan = plan_of(project)["runs"][0].take();
        let source = match self.springs {
            Springs::Tested => "test bends",
            Springs::Predicted => "predicted",
            Springs::Unknown => "unknown",
        };
        for (bend, own) in plan["bends"].as_array().unwrap().iter().zip(&self.own) {
            let wanted = if *own && self.springs == Springs::Tested { "unknown" } else { source };
            assert_eq!(bend["springback_source"], wanted);
        }
        plan
    }
}

fn unit() -> impl Strategy<Value = Vector3> {
    (-1.0..1.0f64, 0.0..std::f64::consts::TAU).prop_map(|(z, around)| {
        let flat = (1.0 - z * z).sqrt();
        Vector3::new(flat * around.cos(), flat * around.sin(), z)
    })
}

/// A row without its radius: length, rotation, angle in degrees, a radius of its own.
fn row(planar: bool) -> impl Strategy<Value = (f64, f64, f64, Option<f64>)> {
    let length = prop_oneof![1 => Just(0.0), 6 => 1.0..150.0f64];
    let turn = if planar {
        prop_oneof![Just(0.0), Just(180.0)].boxed()
    } else {
        prop_oneof![1 => Just(90.0), 4 => -179.0..180.0f64].boxed()
    };
    (length, turn, 8.0..150.0f64, proptest::option::weighted(0.2, 30.0..70.0f64))
}

pub(crate) fn case() -> impl Strategy<Value = Case> {
    let rows = any::<bool>().prop_flat_map(|planar| prop::collection::vec(row(planar), 1..=6));
    let springs = prop_oneof![
        3 => Just(Springs::Tested),
        1 => Just(Springs::Predicted),
        1 => Just(Springs::Unknown)
    ];
    let mark = prop_oneof![Just(MarkPoint::Start), Just(MarkPoint::Middle), Just(MarkPoint::End)];
    // Radius written, what it grows by, stretch, springback at 0° and per degree.
    let form = (36.0..60.0f64, 1.0..1.06f64, 0.0..0.05f64, 0.0..1.5f64, 0.0..0.05f64);
    let place = ([-300.0..300.0f64, -300.0..300.0, -300.0..300.0], unit(), any::<bool>());
    let ends = ([0.0..20.0f64, 0.0..20.0], 1.0..120.0f64, -15.0..15.0f64);
    (rows, springs, mark, form, place, ends).prop_map(
        |(rows, springs, mark, form, (at, direction, by_corners), (allowance, end_length, datum))| {
            let (written, grown, stretch, fixed, rate) = form;
            let form = match springs {
                Springs::Tested => Form { clr: written * grown, stretch, fixed: fixed.to_radians(), rate },
                _ => Form { clr: written, stretch: 0.0, fixed: 0.0, rate: 0.0 },
            };
            let own = rows.iter().map(|(.., own)| own.is_some()).collect();
            let rows = rows
                .into_iter()
                .map(|(length, rotation, angle, own)| Row {
                    length,
                    rotation: rotation.to_radians(),
                    angle: angle.to_radians(),
                    clr: own.unwrap_or(form.clr),
                })
                .collect();
            Case {
                at,
                direction,
                rows,
                own,
                end_length,
                by_corners,
                springs,
                written,
                form,
                mark,
                datum,
                allowance,
            }
        },
    )
}
