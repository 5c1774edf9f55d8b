//! Bend tables as RFC 4180 text: a header and a row per bend.

use super::json::plan::{BendData, OtherEndData, bends as bend_rows};
use crate::plan::{FromEnd, Operation, Plan};
use crate::quantity::fixed;

/// A column's name and how its cell is read from a bend.
type Column<B> = (&'static str, fn(&B) -> String);

/// Columns after `run`: the bend's number, then the keys of `plan.json`.
const COLUMNS: [Column<BendData>; 36] = [
    ("bend", |b| b.number.to_string()),
    ("angle_deg", |b| decimal(b.angle_deg)),
    ("included_angle_deg", |b| decimal(b.included_angle_deg)),
    ("clr_mm", |b| decimal(b.clr_mm)),
    ("rotation_deg", |b| decimal(b.marks.rotation_deg)),
    ("straight_before_mm", |b| decimal(b.marks.straight_before_mm)),
    ("start_mm", |b| decimal(b.marks.start_mm)),
    ("middle_mm", |b| decimal(b.marks.middle_mm)),
    ("end_mm", |b| decimal(b.marks.end_mm)),
    ("mark_mm", |b| decimal(b.marks.mark_mm)),
    ("from_last_end_mm", |b| decimal(b.marks.from_last_end_mm)),
    ("inside_clock_deg", |b| decimal(b.inside_clock_deg)),
    ("pull_to_deg", |b| decimal(b.pull_to_deg)),
    ("springback_deg", |b| decimal(b.springback_deg)),
    ("springback_source", |b| b.springback_source.to_owned()),
    ("clr_under_load_mm", |b| decimal(b.clr_under_load_mm)),
    ("anneal_from_mm", |b| known(b.anneal_from_mm)),
    ("anneal_to_mm", |b| known(b.anneal_to_mm)),
    ("outer_strain", |b| decimal(b.outer_strain)),
    ("outer_wall_mm", |b| decimal(b.outer_wall_mm)),
    ("inner_wall_mm", |b| decimal(b.inner_wall_mm)),
    ("end_to_centre_mm", |b| known(b.end_to_centre_mm)),
    ("end_to_back_mm", |b| known(b.end_to_back_mm)),
    ("end_to_inside_mm", |b| known(b.end_to_inside_mm)),
    ("back_to_back_mm", |b| known(b.back_to_back_mm)),
    ("springback_band_deg", |b| known(b.springback_band_deg)),
    ("bending_moment_nm", |b| known(b.bending_moment_nm)),
    ("lever_force_n", |b| known(b.lever_force_n)),
    ("ovality_estimate", |b| decimal(b.ovality_estimate)),
    ("smallest_diameter_estimate_mm", |b| decimal(b.smallest_diameter_estimate_mm)),
    ("verdict_estimate", |b| b.verdict_estimate.to_owned()),
    ("outer_wall_estimate_mm", |b| decimal(b.outer_wall_estimate_mm)),
    ("inner_wall_estimate_mm", |b| decimal(b.inner_wall_estimate_mm)),
    ("bent", |b| b.bent.to_owned()),
    ("empty_limit_od_per_wall", |b| decimal(b.empty_limit_od_per_wall)),
    ("wall_before_bending_factor", |b| known(b.wall_before_bending_factor)),
];

/// Columns after those: the same bend marked for bending from the other end. Each is a key of
/// `from_other_end` in `plan.json` behind `other_end_`.
const FROM_OTHER_END: [Column<OtherEndData>; 8] = [
    ("other_end_rotation_deg", |b| decimal(b.marks.rotation_deg)),
    ("other_end_straight_before_mm", |b| decimal(b.marks.straight_before_mm)),
    ("other_end_start_mm", |b| decimal(b.marks.start_mm)),
    ("other_end_middle_mm", |b| decimal(b.marks.middle_mm)),
    ("other_end_end_mm", |b| decimal(b.marks.end_mm)),
    ("other_end_mark_mm", |b| decimal(b.marks.mark_mm)),
    ("other_end_from_last_end_mm", |b| decimal(b.marks.from_last_end_mm)),
    ("other_end_inside_clock_deg", |b| decimal(b.inside_clock_deg)),
];

/// The last column: the plan's mark.
pub(super) const MARK: &str = "plan_mark";

/// A row per bend of every run: `run`, then `bend` (its number) and the keys of `plan.json`, then the marks
/// from the other end, then the plan's mark. Numbers have three decimals, a cell without a value is empty; lines end in CR LF.
pub fn bends(plan: &Plan, mark: &str) -> Vec<u8> {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    let columns = COLUMNS
        .iter()
        .map(|(name, _)| *name)
        .chain(FROM_OTHER_END.iter().map(|(name, _)| *name))
        .chain([MARK]);
    let mut written = writer.write_record(std::iter::once("run").chain(columns));
    for run in &plan.runs {
        // The last bend made from the other end is the first from the datum end.
        let others = run.operations(FromEnd::Other).iter().rev();
        for (bend, other) in bend_rows(run).zip(others) {
            let row = row(&run.name, &bend, other).chain([mark.to_owned()]);
            written = written.and_then(|()| writer.write_record(row));
        }
    }
    // Rows of equal length into memory cannot fail; should they, an empty file is a visible sign.
    written.ok().and_then(|()| writer.into_inner().ok()).unwrap_or_default()
}

fn row(run: &str, bend: &BendData, other: &Operation) -> impl Iterator<Item = String> {
    let other = OtherEndData::new(other);
    let cells = COLUMNS.map(|(_, read)| read(bend)).into_iter();
    std::iter::once(run.to_owned()).chain(cells).chain(FROM_OTHER_END.map(|(_, read)| read(&other)))
}

/// A value there may be none of.
fn known(value: Option<f64>) -> String {
    value.map_or_else(String::new, decimal)
}

/// Three decimals, never `-0.000`.
fn decimal(value: f64) -> String {
    fixed(value, 3)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fit::check;
    use crate::spec::model::Anneal;
    use crate::testing::{layout, run};

    #[test]
    fn a_row_per_bend_with_the_plans_keys() {
        let mut a = run("a", 38.1, &[[0.0; 3], [100.0, 0.0, 0.0], [100.0, 80.0, 0.0], [100.0, 80.0, 60.0]]);
        a.run.anneal = Anneal::Never;
        let layout =
            layout(vec![a, run("straight", 38.1, &[[0.0, 0.0, 200.0], [100.0, 0.0, 200.0]])], vec![]);
        let (plan, _) = crate::plan::plan(&layout, &check(&layout).0);
        let text = String::from_utf8(bends(&plan, "BCDFGH")).unwrap();
        let lines: Vec<&str> = text.split("\r\n").collect();
        assert_eq!((lines.len(), lines[3]), (4, ""));
        let header: Vec<&str> = lines[0].split(',').collect();
        let cell = |line: usize, column: &str| {
            let at = header.iter().position(|name| *name == column).unwrap();
            lines[line].split(',').nth(at).unwrap().to_owned()
        };
        let cells =
            |columns: &[&str]| [1, 2].map(|line| columns.iter().map(|c| cell(line, c)).collect::<Vec<_>>());
        assert_eq!(
            cells(&["run", "bend", "angle_deg", "rotation_deg"]),
            [["a", "1", "90.000", "0.000"], ["a", "2", "90.000", "90.000"]]
        );
        // Straights of 61.9, 3.8 and 21.9 mm and two quarter turns of 59.847 mm.
        assert_eq!(
            cells(&["start_mm", "middle_mm", "end_mm", "from_last_end_mm"]),
            [["61.900", "91.824", "121.747", "61.900"], ["125.547", "155.471", "185.395", "3.800"]]
        );
        assert_eq!(
            cells(&["other_end_start_mm", "other_end_end_mm", "other_end_from_last_end_mm"]),
            [["85.547", "145.395", "3.800"], ["21.900", "81.747", "21.900"]]
        );
        assert_eq!(
            cells(&["end_to_centre_mm", "end_to_back_mm", "anneal_from_mm"]),
            [["100.000", "107.500", ""], ["41.900", "49.400", ""]]
        );
        assert_eq!(cells(&["plan_mark"]), [["BCDFGH"], ["BCDFGH"]]);
    }

    #[test]
    fn every_key_of_a_bend_has_its_column() {
        let layout = layout(vec![run("a", 40.0, &[[0.0; 3], [100.0, 0.0, 0.0], [100.0, 80.0, 0.0]])], vec![]);
        let (plan, _) = crate::plan::plan(&layout, &check(&layout).0);
        let keys = |value: serde_json::Value| -> Vec<String> {
            value.as_object().unwrap().keys().filter(|key| *key != "number").cloned().collect()
        };
        let sorted = |mut names: Vec<String>| {
            names.sort();
            names
        };
        let bend = keys(serde_json::to_value(bend_rows(&plan.runs[0]).next().unwrap()).unwrap());
        assert_eq!(sorted(COLUMNS[1..].iter().map(|(name, _)| (*name).to_owned()).collect()), sorted(bend));
        let other = keys(serde_json::to_value(OtherEndData::new(&plan.runs[0].from_other_end[0])).unwrap());
        let behind = |name: &str| name.strip_prefix("other_end_").unwrap().to_owned();
        assert_eq!(sorted(FROM_OTHER_END.iter().map(|(name, _)| behind(name)).collect()), sorted(other));
    }

    #[test]
    fn no_negative_zero() {
        assert_eq!([decimal(-0.0), decimal(-0.0004), decimal(-0.0006)], ["0.000", "0.000", "-0.001"]);
    }
}
