//! The plan as `plan.json`, and other documents written the same way.

mod assembly;
mod cutting;
pub(super) mod plan;
mod tools;

use std::io;

use serde::Serialize;
use serde_json::ser::{Formatter, PrettyFormatter, Serializer};

pub use self::plan::RunData;
use super::decimal::decimal;
use crate::diagnostic::{Diagnostic, Diagnostics, Severity};
use crate::plan::Plan;
use crate::tooling::Tooling;

/// Decimals of every number: to a nanometre, so that the text is the same on every machine.
const DECIMALS: usize = 6;

/// The plan with its mark, and the warnings among `findings`, as indented JSON with a line end behind it. Numbers
/// are rounded to 1e-6; there is no negative zero and nothing that is not a number.
pub fn plan(plan: &Plan, tooling: &Tooling, findings: &Diagnostics, mark: &str) -> Vec<u8> {
    let warnings = findings.iter().filter(|d| d.severity == Severity::Warning).map(Warning::from).collect();
    let (forms, jigs) = (tools::forms(tooling), tools::jigs(tooling));
    document(&Document { mark, plan: plan::PlanData::new(plan), forms, jigs, warnings })
}

/// Plain data with string keys as indented JSON, its numbers as in the plan.
pub fn document(data: &impl Serialize) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut serializer = Serializer::with_formatter(&mut bytes, Rounding(PrettyFormatter::new()));
    // Such data into memory cannot fail; should it, an empty file is a visible sign.
    if data.serialize(&mut serializer).is_err() {
        return Vec::new();
    }
    bytes.push(b'\n');
    bytes
}

#[derive(Serialize)]
struct Document<'a> {
    /// First, where a look at the beginning finds it.
    mark: &'a str,
    #[serde(flatten)]
    plan: plan::PlanData<'a>,
    forms: Vec<tools::FormData<'a>>,
    jigs: Vec<tools::JigData<'a>>,
    warnings: Vec<Warning<'a>>,
}

#[derive(Serialize)]
struct Warning<'a> {
    code: &'a str,
    run: Option<&'a str>,
    /// The other run of a pair.
    with: Option<&'a str>,
    bend: Option<usize>,
    at_mm: Option<[f64; 3]>,
    message: &'a str,
    line: Option<usize>,
}

impl<'a> From<&'a Diagnostic> for Warning<'a> {
    fn from(finding: &'a Diagnostic) -> Self {
        Warning {
            code: finding.code,
            run: finding.run.as_deref(),
            with: finding.with.as_deref(),
            bend: finding.bend,
            at_mm: finding.at_mm,
            message: &finding.message,
            line: finding.place.map(|place| place.line),
        }
    }
}

/// Pretty JSON with rounded numbers.
struct Rounding<'a>(PrettyFormatter<'a>);

/// Passes calls on to the pretty formatter.
macro_rules! forward {
    ($($name:ident($($first:ident)?);)*) => {$(
        fn $name<W: ?Sized + io::Write>(&mut self, writer: &mut W $(, $first: bool)?) -> io::Result<()> {
            self.0.$name(writer $(, $first)?)
        }
    )*};
}

impl Formatter for Rounding<'_> {
    forward! {
        begin_array();
        end_array();
        begin_array_value(first);
        end_array_value();
        begin_object();
        end_object();
        begin_object_key(first);
        begin_object_value();
        end_object_value();
    }

    fn write_f64<W: ?Sized + io::Write>(&mut self, writer: &mut W, value: f64) -> io::Result<()> {
        writer.write_all(decimal(value, DECIMALS).as_bytes())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fit::check;
    use crate::testing::{layout, place, run};

    #[test]
    fn keys_come_in_the_order_of_the_contract() {
        let layout = layout(vec![run("a", 40.0, &[[0.0; 3], [100.0, 0.0, 0.0], [100.0, 90.0, 0.0]])], vec![]);
        let (planned, _) = crate::plan::plan(&layout, &check(&layout).0);
        let mut findings = Diagnostics::new();
        findings.push(Diagnostic::warning("clash", "they touch").run("a").bend(1).at(place(3)));
        findings.push(Diagnostic::warning("form-rim", "later"));
        findings.push(Diagnostic::error("bad", "an error is no warning"));
        let (mut tooling, _) = crate::tooling::tooling(&layout, &planned);
        tooling.forms.clear();
        tooling.jigs.clear();
        let text = String::from_utf8(plan(&planned, &tooling, &findings, "BCDFGH")).unwrap();
        let keys: Vec<&str> = text
            .lines()
            .filter_map(|line| line.trim_start().strip_prefix('"')?.split_once("\":"))
            .map(|(key, _)| key)
            .collect();
        let expected = "mark format title spec carries runs name tube od_mm wall_mm material temper \
            bender name clr_mm formed_clr_mm formed_if_tool_clr_mm mark datum_mm grip_mm lead_out_mm calibrated stretch springback_fixed_deg springback_rate lever_mm \
            developed_length_mm cut_length_mm allowance_start_mm allowance_end_mm straights_mm mass_g bore_volume_ml \
            outer_area_mm2 metal_volume_mm3 corners_mm \
            ends at_mm facing port fitting form insert_mm torch_comes_near squeeze_loss_mm at_mm facing port fitting form insert_mm torch_comes_near squeeze_loss_mm \
            bends number angle_deg included_angle_deg clr_mm rotation_deg straight_before_mm start_mm middle_mm end_mm \
            mark_mm from_last_end_mm inside_clock_deg pull_to_deg springback_deg springback_source clr_under_load_mm \
            anneal_from_mm anneal_to_mm outer_strain outer_wall_mm inner_wall_mm end_to_centre_mm end_to_back_mm \
            end_to_inside_mm back_to_back_mm springback_band_deg bending_moment_nm lever_force_n ovality_estimate smallest_diameter_estimate_mm verdict_estimate \
            outer_wall_estimate_mm inner_wall_estimate_mm bent empty_limit_od_per_wall wall_before_bending_factor \
            from_other_end number rotation_deg straight_before_mm start_mm middle_mm end_mm mark_mm from_last_end_mm \
            inside_clock_deg \
            order better reason datum_end possible spare_mm tightest_bend other_end possible spare_mm tightest_bend \
            quality smallest_diameter_mm reject_diameter_mm intrados_factor extrados_factor filler \
            verdicts least_diameter_mm verdict least_diameter_mm verdict least_diameter_mm verdict \
            anneal_heat_kj allowed_pressure do_not_cut min_clearance_mm nearest far_end \
            cut_plan stocks assembly forms jigs warnings code run with bend at_mm message line code run with bend at_mm message line";
        assert_eq!(keys.join(" "), expected.split_whitespace().collect::<Vec<_>>().join(" "));
        let value: serde_json::Value = serde_json::from_str(&text).unwrap();
        assert_eq!(value["runs"][0]["bends"][0]["end_mm"], 122.831853);
        assert_eq!(value["runs"][0]["min_clearance_mm"], serde_json::Value::Null);
        let warning = |i: usize| value["warnings"][i].to_string();
        assert_eq!(
            warning(0),
            r#"{"at_mm":null,"bend":1,"code":"clash","line":3,"message":"they touch","run":"a","with":null}"#
        );
        assert_eq!(
            warning(1),
            r#"{"at_mm":null,"bend":null,"code":"form-rim","line":null,"message":"later","run":null,"with":null}"#
        );
    }

    #[test]
    fn numbers_are_rounded_without_negative_zero() {
        let text = |value: f64| {
            let mut bytes = Vec::new();
            value
                .serialize(&mut Serializer::with_formatter(&mut bytes, Rounding(PrettyFormatter::new())))
                .unwrap();
            String::from_utf8(bytes).unwrap()
        };
        assert_eq!(text(-1e-9), "0");
        assert_eq!(text(1.0 / 3.0), "0.333333");
        assert_eq!(text(f64::NAN), "null");
    }
}
