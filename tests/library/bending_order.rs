//! Which end to bend from, for random bend tables read from a spec's text: held against a plain count of the
//! tube there is beside each bend, and what the warnings advise is tried out.

use proptest::prelude::*;
use tubewright::build::Project;
use tubewright::diagnostic::Diagnostic;
use tubewright::plan::{Better, FromEnd};

/// A planar bend table with its bender's needs, mm and degrees.
#[derive(Debug, Clone)]
struct Table {
    rows: Vec<(f64, f64)>,
    end_length: f64,
    allowance: [f64; 2],
    grip: f64,
    lead_out: f64,
}

impl Table {
    fn read(&self) -> Project {
        let rows: Vec<String> = self
            .rows
            .iter()
            .map(|(length, angle)| format!("{{length: {length}, rotation: 90, angle: {angle}}}"))
            .collect();
        let text = format!(
            "format: 1\ntube: {{od: 10, wall: 1, material: testium, temper: soft}}\n\
             bender: {{clr: 40, grip: {}, lead_out: {}}}\n\
             runs: {{r: {{bends: [{}], end_length: {}, allowance: {{start: {}, end: {}}}}}}}\n",
            self.grip,
            self.lead_out,
            rows.join(", "),
            self.end_length,
            self.allowance[0],
            self.allowance[1]
        );
        Project::read(&text, "table.yaml").unwrap_or_else(|findings| panic!("{findings:?}\n{text}"))
    }

    /// The same tube from its other end.
    fn reversed(&self) -> Table {
        let mut lengths: Vec<f64> = self.rows.iter().map(|row| row.0).chain([self.end_length]).collect();
        lengths.reverse();
        let rows = lengths.iter().copied().zip(self.rows.iter().rev().map(|row| row.1)).collect();
        let end_length = lengths[self.rows.len()];
        Table { rows, end_length, allowance: [self.allowance[1], self.allowance[0]], ..self.clone() }
    }

    /// What the tightest place has to spare when the bends are made as they are listed.
    fn spare(&self) -> f64 {
        let grips = self.rows.iter().enumerate().map(|(index, (length, _))| {
            let allowance = if index == 0 { self.allowance[0] } else { 0.0 };
            length + allowance - self.grip
        });
        // Behind a bend lies everything that is not bent yet; least of it behind the last.
        let behind = self.end_length + self.allowance[1] - self.lead_out;
        grips.chain([behind]).fold(f64::MAX, f64::min)
    }
}

fn table() -> impl Strategy<Value = Table> {
    let rows = prop::collection::vec((0.0..90.0f64, 10.0..170.0f64), 1..=5);
    (rows, 0.0..90.0f64, [0.0..15.0f64, 0.0..15.0], 0.0..60.0f64, 0.0..60.0f64).prop_map(
        |(rows, end_length, allowance, grip, lead_out)| Table { rows, end_length, allowance, grip, lead_out },
    )
}

fn short(project: &Project) -> Vec<Diagnostic> {
    let told = |code: &str| matches!(code, "short-grip" | "short-lead-out" | "mark-off-tube");
    project.findings().iter().filter(|finding| told(finding.code)).cloned().collect()
}

/// The number behind the first "at least" of a hint.
fn at_least(hint: &str) -> f64 {
    let rest = hint.split("at least ").nth(1).expect(hint);
    rest.split(' ').next().expect(hint).parse().expect(hint)
}

/// Does what a hint says to the bend table, or else to the allowance.
fn follow(table: &mut Table, hint: &str, by_allowance: bool) {
    let given = |key: &str| -> Option<f64> {
        hint.split(&format!("`allowance: {{{key}: ")).nth(1)?.split(' ').next()?.parse().ok()
    };
    match (given("start"), given("end")) {
        (Some(start), _) if by_allowance => table.allowance[0] = start,
        (_, Some(end)) if by_allowance => table.allowance[1] = end,
        _ if hint.starts_with("make `end_length`") => table.end_length = at_least(hint),
        _ => {
            let number = hint.strip_prefix("make `length` of bend ").expect(hint);
            let number: usize = number.split(' ').next().expect(hint).parse().expect(hint);
            table.rows[number - 1].0 = at_least(hint);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_other_end_is_better_where_the_datum_end_leaves_little_and_it_much_more(table in table()) {
        let project = table.read();
        let order = &project.plan().runs[0].order;
        let (datum, other) = (table.spare(), table.reversed().spare());
        for (fit, spare) in [(&order.datum_end, datum), (&order.other_end, other)] {
            prop_assert!((fit.spare.expect("there are bends") - spare).abs() < 1e-6, "{fit:?} {spare}");
            prop_assert_eq!(fit.possible, spare >= 0.0);
        }
        let wanted = match (datum >= 0.0, other >= 0.0) {
            (true, true) if datum >= 10.0 || other - datum < 10.0 => Better::From(FromEnd::Datum),
            (true, false) => Better::From(FromEnd::Datum),
            (true, true) | (false, true) => Better::From(FromEnd::Other),
            (false, false) => Better::Neither,
        };
        prop_assert_eq!(order.better, wanted, "{} {}", datum, other);
        prop_assert_eq!(short(&project).is_empty(), wanted != Better::Neither);
    }

    #[test]
    fn a_tube_turned_end_for_end_has_its_ends_exchanged(table in table()) {
        let there = table.read().plan().runs[0].order.clone();
        let back = table.reversed().read().plan().runs[0].order.clone();
        prop_assert_eq!(back.better == Better::Neither, there.better == Better::Neither);
        // An end that alone will do is used, whichever it is.
        if there.datum_end.possible != there.other_end.possible {
            let Better::From(end) = there.better else { panic!("{there:?}") };
            prop_assert_eq!(back.better, Better::From(end.opposite()));
        }
        prop_assert_eq!(back.datum_end.possible, there.other_end.possible);
        prop_assert_eq!(back.other_end.possible, there.datum_end.possible);
    }

    #[test]
    fn what_the_warnings_advise_cures_them(table in table(), by_allowance in any::<bool>()) {
        let mut table = table;
        let found = short(&table.read());
        prop_assume!(!found.is_empty());
        for finding in &found {
            follow(&mut table, finding.hint.as_deref().expect("a hint"), by_allowance);
        }
        prop_assert_eq!(short(&table.read()), vec![], "{:?}", table);
    }
}
