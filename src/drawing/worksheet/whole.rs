//! The first page: all runs, the cut plan, what to watch, the leak test.

use super::bench::template_count;
use super::card::length;
use super::steps::{forms_taken, is_joined};
use super::stop::DO_NOT_CUT;
use super::{carried, cutting, together};
use crate::centreline::{LaidRun, Layout};
use crate::diagnostic::{Diagnostics, grouped};
use crate::drawing::numbers::{count, inches, limited, short, tenths};
use crate::drawing::page::flow::{Cell, Column, Flow, Table};
use crate::plan::{Better, Plan, RunPlan};

/// The blocks of the pages for the whole spec.
pub(super) fn whole(
    layout: &Layout,
    plan: &Plan,
    findings: &Diagnostics,
    in_inches: bool,
    width: f64,
) -> Flow {
    let mut flow = Flow::new(width);
    runs(&mut flow, layout, plan, in_inches);
    warnings(&mut flow, findings);
    if plan.cut_plan.stocks.is_empty() {
        flow.paragraph("No stock in the spec: write `stock:` to have the cuts planned.", false, false);
    } else {
        flow.heading("Cut plan");
        cutting::cutting(&mut flow, plan, in_inches);
    }
    together::together(&mut flow, &plan.assembly, in_inches);
    let joined: Vec<&RunPlan> = plan.runs.iter().filter(|run| is_joined(&run.ends)).collect();
    if !joined.is_empty() {
        carried::carried(&mut flow, plan.carries, &joined);
    }
    flow
}

fn runs(flow: &mut Flow, layout: &Layout, plan: &Plan, in_inches: bool) {
    let narrow = width_is_narrow(flow.wide);
    let mut tubes = layout.runs.iter().map(|laid| limited(laid.run.tube.designation(), 72));
    let first = tubes.next().unwrap_or_default();
    let one_tube = tubes.all(|tube| tube == first);
    if one_tube {
        flow.paragraph(&format!("Every run is of {first}."), false, true);
    }
    let mut columns = vec![
        Column::words("", Some(8.0)),
        Column::words("run", None),
        Column::numbers("cut length", Some(if in_inches { 32.0 } else { 25.0 })),
        Column::numbers("bends", Some(17.0)),
        Column::words("bend from", Some(24.0)),
    ];
    if !narrow {
        columns.extend([
            Column::numbers("planes", Some(19.0)),
            Column::numbers("mass, g", Some(19.0)),
            Column::numbers("bore, ml", Some(19.0)),
        ]);
    }
    let mut table = Table::new(columns);
    for (laid, run) in layout.runs.iter().zip(&plan.runs) {
        table.rows.push(row(laid, run, in_inches, narrow, one_tube));
    }
    flow.table(&table);
    flow.paragraph(&together(plan, in_inches), true, false);
}

fn row(laid: &LaidRun, run: &RunPlan, in_inches: bool, narrow: bool, one_tube: bool) -> Vec<Cell> {
    let from = match run.order.better {
        _ if run.bends.is_empty() => "",
        Better::From(_) | Better::Either => run.begins_at().name(),
        Better::Neither => "see its page",
    };
    let tube = limited(laid.run.tube.designation(), 72);
    let mass = run.mass.map_or("not known".to_owned(), tenths);
    let bore = tenths(run.bore_volume);
    let planes = template_count(run, laid).to_string();
    let below = if narrow {
        format!(
            "{tube}; {} to lay on, {mass} g, {bore} ml",
            count(template_count(run, laid), "template", "templates")
        )
    } else {
        tube
    };
    let cut = if run.may_be_cut() { tenths(run.cut_length) } else { DO_NOT_CUT.to_owned() };
    let below_cut: Vec<String> = in_inches
        .then(|| inches(run.cut_length))
        .into_iter()
        .chain(forms_taken(run).map(|forms| format!("+ {forms}")))
        .filter(|_| run.may_be_cut())
        .collect();
    let cut = if below_cut.is_empty() { Cell::Bold(cut) } else { Cell::Both(cut, below_cut.join(" ")) };
    let name = short(&run.name);
    let mut row = vec![
        Cell::Tick,
        if one_tube && !narrow { Cell::Bold(name) } else { Cell::Both(name, below) },
        cut,
        Cell::Words(run.bends.len().to_string()),
        Cell::Words(from.to_owned()),
    ];
    if !narrow {
        row.extend([planes, mass, bore].map(Cell::Words));
    }
    row
}

/// Sums of all runs.
fn together(plan: &Plan, in_inches: bool) -> String {
    let stopped = plan.runs.iter().filter(|run| !run.may_be_cut()).count();
    let cut: f64 = plan
        .runs
        .iter()
        .filter(|run| run.may_be_cut())
        .map(|run| run.cut_length)
        .fold(0.0, |sum, length| sum + length);
    let without = match stopped {
        0 => String::new(),
        _ => format!(", without {} not to be cut yet", count(stopped, "run", "runs")),
    };
    let bends: usize = plan.runs.iter().map(|run| run.bends.len()).sum();
    let masses: Option<f64> = plan.runs.iter().map(|run| run.mass).sum();
    let mass = masses.map(|mass| format!(" {} g and", tenths(mass))).unwrap_or_default();
    let bore: f64 = plan.runs.iter().map(|run| run.bore_volume).sum();
    format!(
        "All together: {}, {}, {} of tube to cut{without}. Trimmed, they have{mass} {} ml of bore.",
        count(plan.runs.len(), "run", "runs"),
        count(bends, "bend", "bends"),
        length(cut, in_inches),
        tenths(bore)
    )
}

fn width_is_narrow(width: f64) -> bool {
    width < super::card::ONE_ROW
}

fn warnings(flow: &mut Flow, findings: &Diagnostics) {
    if findings.is_empty() {
        return;
    }
    flow.heading("To put right or to keep in mind");
    for group in grouped(findings) {
        let mut words = format!("• {}", group.first.message);
        for more in group.first.hint.clone().into_iter().chain(group.same_for()) {
            words.push_str(&format!("; {more}"));
        }
        flow.paragraph(&words, false, false);
    }
}
