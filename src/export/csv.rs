//! Bend tables as RFC 4180 text: a header and a row per bend.

use crate::plan::{BendPlan, Plan};

/// A column's name and how its cell is read from a bend.
type Column = (&'static str, fn(&BendPlan) -> String);

/// Columns after `run`: the bend's number, then the keys of `plan.json`.
const COLUMNS: [Column; 16] = [
    ("bend", |b| b.number.to_string()),
    ("angle_deg", |b| decimal(b.angle_deg)),
    ("included_angle_deg", |b| decimal(b.included_angle_deg)),
    ("rotation_deg", |b| decimal(b.marks.rotation_deg)),
    ("clr_mm", |b| decimal(b.clr_mm)),
    ("straight_before_mm", |b| decimal(b.marks.straight_before_mm)),
    ("start_mm", |b| decimal(b.marks.start_mm)),
    ("middle_mm", |b| decimal(b.marks.middle_mm)),
    ("end_mm", |b| decimal(b.marks.end_mm)),
    ("mark_mm", |b| decimal(b.marks.mark_mm)),
    ("from_last_end_mm", |b| decimal(b.marks.from_last_end_mm)),
    ("pull_to_deg", |b| decimal(b.pull_to_deg)),
    ("springback_deg", |b| decimal(b.springback_deg)),
    ("springback_source", |b| b.springback_source.to_owned()),
    ("outer_strain", |b| decimal(b.outer_strain)),
    ("outer_wall_mm", |b| decimal(b.outer_wall_mm)),
];

/// A row per bend of every run: `run`, then `bend` (its number) and the keys of `plan.json`.
/// Numbers have three decimals; lines end in CR LF.
pub fn bends(plan: &Plan) -> Vec<u8> {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    let header = std::iter::once("run").chain(COLUMNS.iter().map(|(name, _)| *name));
    let mut written = writer.write_record(header);
    for run in &plan.runs {
        for bend in &run.bends {
            let row = std::iter::once(run.name.clone()).chain(COLUMNS.iter().map(|(_, read)| read(bend)));
            written = written.and_then(|()| writer.write_record(row));
        }
    }
    // Rows of equal length into memory cannot fail; should they, an empty file is a visible sign.
    written.ok().and_then(|()| writer.into_inner().ok()).unwrap_or_default()
}

/// Three decimals, never `-0.000`.
fn decimal(value: f64) -> String {
    let text = format!("{value:.3}");
    if text.trim_start_matches(['-', '0', '.']).is_empty() { "0.000".to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fit::check;
    use crate::fit::fixture::{layout, run};

    #[test]
    fn a_row_per_bend_with_the_plans_keys() {
        let layout = layout(
            vec![
                run("a", 38.1, &[[0.0; 3], [100.0, 0.0, 0.0], [100.0, 80.0, 0.0], [100.0, 80.0, 60.0]]),
                run("straight", 38.1, &[[0.0, 0.0, 200.0], [100.0, 0.0, 200.0]]),
            ],
            vec![],
        );
        let (plan, _) = crate::plan::plan(&layout, &check(&layout).0);
        let text = String::from_utf8(bends(&plan)).unwrap();
        let expected = "run,bend,angle_deg,included_angle_deg,rotation_deg,clr_mm,straight_before_mm,start_mm,\
            middle_mm,end_mm,mark_mm,from_last_end_mm,pull_to_deg,springback_deg,springback_source,\
            outer_strain,outer_wall_mm\r\n\
            a,1,90.000,90.000,0.000,38.100,61.900,61.900,91.824,121.747,61.900,61.900,90.000,0.000,unknown,0.197,0.836\r\n\
            a,2,90.000,90.000,90.000,38.100,3.800,125.547,155.471,185.395,125.547,3.800,90.000,0.000,unknown,0.197,0.836\r\n";
        assert_eq!(text, expected);
        let keys = serde_json::to_value(&plan.runs[0].bends[0]).unwrap();
        for (name, _) in &COLUMNS[1..] {
            assert!(keys.get(name).is_some(), "{name} is no key of the plan");
        }
    }

    #[test]
    fn no_negative_zero() {
        assert_eq!([decimal(-0.0), decimal(-0.0004), decimal(-0.0006)], ["0.000", "0.000", "-0.001"]);
    }
}
