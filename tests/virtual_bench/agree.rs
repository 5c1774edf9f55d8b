//! The library's bench against the one of these tests: two programs that share no geometry. One reads the plan, the
//! other its file; on tools that are not the planned ones both must make the same tube, or fail alike.

use proptest::prelude::*;
use tubewright::bench::{Step, Tool, follow};
use tubewright::calibration::Formed;
use tubewright::geometry::{EuclideanSpace, InnerSpace, Vector3};
use tubewright::plan::FromEnd;

use super::bench::{Form, Way, bend};
use super::case::{Case, case};

/// How far a tool is from the planned one.
#[derive(Debug, Clone, Copy)]
struct Off {
    /// Factor of the finished radius.
    clr: f64,
    /// More stretch, as a part of the arc.
    stretch: f64,
    /// More springback at 0°, rad.
    fixed: f64,
    /// More springback per angle pulled.
    rate: f64,
    /// More datum distance, mm.
    datum: f64,
}

impl Off {
    fn form(&self, form: Form) -> Form {
        Form {
            clr: form.clr * self.clr,
            stretch: form.stretch + self.stretch,
            fixed: form.fixed + self.fixed,
            rate: form.rate + self.rate,
        }
    }
}

fn off() -> impl Strategy<Value = Off> {
    (0.96..1.04f64, 0.0..0.02f64, 0.0..0.02f64, 0.0..0.03f64, -3.0..3.0f64)
        .prop_map(|(clr, stretch, fixed, rate, datum)| Off { clr, stretch, fixed, rate, datum })
}

/// What the bent tube comes to on either bench.
enum Made {
    /// Both made it, so far apart: the worst of its ends, mm, and of their directions and the first bend's axis, 1.
    Both(f64, f64),
    /// Neither could.
    Neither,
}

/// Bends a run on both benches: on this one with the first tool, on the library's with the second.
fn compared(case: &Case, [theirs, ours]: [Off; 2], other_end: bool) -> Result<Made, TestCaseError> {
    let project = case.project();
    let (plan, run) = (case.plan(&project), &project.plan().runs[0]);
    let forms = |off: Off| -> Vec<Form> { case.forms().into_iter().map(|form| off.form(form)).collect() };
    let (tool, their_forms) = (case.tool(theirs.datum), forms(theirs));
    let formed = |form: Form| Formed {
        springback_fixed: form.fixed,
        springback_rate: form.rate,
        clr: form.clr,
        stretch: form.stretch,
    };
    let forms = forms(ours).into_iter().map(formed).collect();
    let ours = Tool { mark: case.mark, datum: case.datum + ours.datum, forms };
    let way = Way { other_end, from_last_end: false, by_clock: false };
    let from = if other_end { FromEnd::Other } else { FromEnd::Datum };
    let steps: Result<Vec<Step>, _> =
        follow(run.operations(from), plan["cut_length_mm"].as_f64().unwrap(), &ours).collect();
    let (shape, steps) = match (bend(&plan, tool, &their_forms, way), steps) {
        (Ok(shape), Ok(steps)) => (shape, steps),
        (Err(_), Err(_)) => return Ok(Made::Neither),
        // The library's bench does not trim.
        (Err(fault), Ok(_)) if fault == "trimmed into a bend" => return Ok(Made::Neither),
        (shape, steps) => {
            let fault = steps.err();
            return Err(TestCaseError::fail(format!("{:?} but {fault:?}\n{}", shape.err(), case.yaml())));
        }
    };
    prop_assert_eq!(steps.len(), 3 * case.rows.len());
    let line = steps.last().unwrap().tube.in_tool();
    let (start, end) = (line.start_direction(), -line.end_direction());
    let [first, last] = run.allowances(from);
    let ends = [(line.start() + start * first, shape.first), (line.end() + end * last, shape.last)];
    let apart = ends.map(|(at, end)| (at.to_vec() - end.at).magnitude()).into_iter().fold(0.0, f64::max);
    let vectors: [(Vector3, Vector3); 3] =
        [(start, shape.first.into), (end, shape.last.into), (line.bends()[0].axis, shape.axis.unwrap())];
    let turned = vectors.map(|(a, b)| (a - b).magnitude()).into_iter().fold(0.0, f64::max);
    Ok(Made::Both(apart, turned))
}

const NONE: Off = Off { clr: 1.0, stretch: 0.0, fixed: 0.0, rate: 0.0, datum: 0.0 };

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn two_benches_make_the_same_tube(case in case(), off in off(), other_end in any::<bool>(), planned in any::<bool>()) {
        let off = if planned { NONE } else { off };
        match compared(&case, [off, off], other_end)? {
            // The file's numbers are rounded to 1e-6 mm and 1e-6 degrees.
            Made::Both(apart, turned) => {
                prop_assert!(apart < 1e-3 && turned < 1e-5, "{apart} mm, {turned}\n{}", case.yaml());
            }
            Made::Neither => prop_assert!(!planned, "neither makes the planned tube\n{}", case.yaml()),
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

    /// The comparison can fail: a bench with a tool that springs back by 1 % more makes another tube.
    #[test]
    fn benches_with_two_tools_make_two_tubes(case in case(), other_end in any::<bool>()) {
        if let Ok(Made::Both(apart, turned)) = compared(&case, [NONE, Off { rate: 0.01, ..NONE }], other_end) {
            prop_assert!(apart > 1e-3 && turned > 1e-5, "{apart} mm, {turned}\n{}", case.yaml());
        }
    }
}
