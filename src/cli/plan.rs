//! A run's plan in the terminal: what to do at the bender, in the order to do it.

use tubewright::plan::{BendPlan, BenderPlan, Better, Operation, Plan, RunPlan, SpringbackSource, Zone};
use tubewright::quantity::{decimals, fixed, trimmed};

use super::report::place;
use super::table;
use super::terminal::Page;

/// Half a turn, degrees; what is shown as 180.0 is one, whichever way.
const HALF_TURN: f64 = 179.95;

/// Turns below this are shown as 0.0 and are none, degrees.
const NO_TURN: f64 = 0.05;

/// Every run's plan, one below the other.
pub(super) fn plans(plan: &Plan, page: Page) -> String {
    let runs: String = plan.runs.iter().map(|run| "\n".to_owned() + &one(run, page)).collect();
    let note = "Lengths are from the end named over the marks. Turns are of the tube, as seen along the straight \
                being bent from the end you started at, in a bender that stays where it is.";
    if plan.runs.iter().all(|run| run.bends.is_empty()) { runs } else { runs + "\n" + &page.wrapped(note, 0) }
}

fn one(run: &RunPlan, page: Page) -> String {
    let wrapped = |text: &str, indent| page.wrapped(text, indent);
    let mut text = match run.do_not_cut.as_slice() {
        [] => wrapped(&format!("{}: cut {:.1} mm{}", run.name, run.cut_length, allowances(run)), 0),
        reasons => wrapped(&format!("{}: DO NOT CUT: {}", run.name, reasons.join("; ")), 0),
    };
    if let Some(nearest) = &run.nearest {
        let (gap, at) = (fixed(nearest.distance, 1), place(nearest.at));
        let words = match gap.strip_prefix('-') {
            Some(deep) => format!("{deep} mm into {}, deepest at {at}", nearest.to),
            None => format!("{gap} mm from {}, nearest at {at}", nearest.to),
        };
        text += &wrapped(&words, 2);
    }
    if let Some(far) = &run.far_end {
        let end = far.first.opposite().name();
        let (off, forgiven) = (far.off_words(), far.forgiven_words());
        let error = format!("the {end} is {off} (95 %); {forgiven} are forgiven there");
        let goes_in = format!(
            "will it go in, moved as a whole within what both fittings forgive: {}",
            far.goes_in_percent()
        );
        let all = [Some(error), Some(goes_in), far.dominant_words(), far.leave_words()];
        for words in all.into_iter().flatten() {
            text += &wrapped(&words, 2);
        }
    }
    if run.bends.is_empty() {
        return text;
    }
    text += &wrapped(&order(run), 2);
    if run.bender.calibrated {
        text += &wrapped(&fitted(&run.bender), 2);
    }
    text += &wrapped(&sources(&run.bends), 2);
    if run.is_predicted() {
        text += &wrapped(PULLING, 2);
    }
    if let Some(words) = estimate(run) {
        text += &wrapped(&words, 2);
    }
    text + &bends(run, page)
}

fn allowances(run: &RunPlan) -> String {
    let (start, end) = (run.allowance_start, run.allowance_end);
    let part = |mm: f64, of: &str| (mm > 0.0).then(|| format!("{} mm at the {of}", trimmed(mm)));
    let parts: Vec<String> =
        [part(start, "datum end"), part(end, "other end")].into_iter().flatten().collect();
    if parts.is_empty() { String::new() } else { format!(", {} to trim away later", parts.join(" and ")) }
}

fn order(run: &RunPlan) -> String {
    match run.order.better {
        Better::From(end) => format!("bend from the {}: {}", end.name(), run.order.reason),
        Better::Either => format!("bend from either end: {}", run.order.reason),
        Better::Neither => format!("cannot be bent from either end: {}", run.order.reason),
    }
}

fn fitted(bender: &BenderPlan) -> String {
    let springback =
        bender.springback_fixed.zip(bender.springback_rate).map_or_else(String::new, |(fixed, rate)| {
            format!(
                ", springs back {}° and {} % of the angle pulled",
                decimals(fixed.to_degrees(), 2),
                decimals(rate * 100.0, 2)
            )
        });
    format!(
        "{}, fitted to its test bends: radius {} mm (written {}), stretch {} %{springback}",
        bender.name,
        decimals(bender.formed_clr, 2),
        trimmed(bender.clr),
        decimals(bender.stretch * 100.0, 2)
    )
}

/// The advice on predicted angles.
const PULLING: &str = "pull first to the low end of the ±, let go, look, pull on a little at a time, never past the angle it is to give";

/// Where the springback of each bend is from.
fn sources(bends: &[BendPlan]) -> String {
    let mut groups: Vec<(SpringbackSource, Vec<String>)> = Vec::new();
    for bend in bends {
        match groups.iter_mut().find(|(source, _)| *source == bend.springback_source) {
            Some((_, numbers)) => numbers.push(bend.number.to_string()),
            None => groups.push((bend.springback_source, vec![bend.number.to_string()])),
        }
    }
    let says = |source: &SpringbackSource| match source {
        SpringbackSource::TestBends => "as the test bends show",
        SpringbackSource::Predicted => "predicted, not tested (±)",
        SpringbackSource::Unknown => "unknown, nothing is added",
    };
    let told: Vec<String> = match groups.as_slice() {
        [(source, _)] => vec![says(source).to_owned()],
        many => {
            many.iter().map(|(source, numbers)| format!("{} {}", numbers.join(", "), says(source))).collect()
        }
    };
    let of_bends = if told.len() > 1 { " of bends" } else { "" };
    format!("springback{of_bends} {}", told.join("; "))
}

/// How the tightest bend is likely to come out, and what it takes to bend it.
fn estimate(run: &RunPlan) -> Option<String> {
    let bend = run.bends.iter().min_by(|a, b| a.clr.total_cmp(&b.clr))?;
    let (section, od, wall) = (&bend.estimate, run.tube.od, run.tube.wall);
    let mut words = format!(
        "estimate, bend {}: {} % oval if bent empty, {} mm from inside to back ({}); wall {} mm at the back, {} inside; {} \
         (published: up to 8 % is good, and up to OD/wall {} stays empty, here {})",
        bend.number,
        decimals(section.ovality * 100.0, 1),
        fixed(section.smallest_diameter, 1),
        section.verdict.name(),
        fixed(section.outer_wall, 2),
        fixed(section.inner_wall, 2),
        if section.filled { "fill it" } else { "bend it empty" },
        decimals(section.empty_limit, 1),
        decimals(od / wall, 1),
    );
    if let Some(moment) = bend.moment {
        words += &format!("; takes {} N m", decimals(moment, 0));
    }
    if let (Some(force), Some(lever)) = (bend.lever_force, run.bender.lever) {
        words += &format!(", {} N at the lever of {} mm", decimals(force, 0), trimmed(lever));
    }
    Some(words)
}

/// A column of the table of bends.
struct Column {
    header: String,
    /// Whether a narrow page can do without it.
    spare: bool,
    cells: Vec<String>,
}

/// The table of bends. On a page too narrow for it, without what the other columns tell, too.
fn bends(run: &RunPlan, page: Page) -> String {
    let columns = columns(run);
    let set = |columns: &[&Column], page| {
        let header: Vec<&str> = columns.iter().map(|column| column.header.as_str()).collect();
        let row = |index| columns.iter().filter_map(|column| column.cells.get(index).cloned()).collect();
        table::set(&header, (0..run.bends.len()).map(row), 1, page)
    };
    let all: Vec<&Column> = columns.iter().collect();
    // Set without a limit first: a broken cell is harder to read than a missing column.
    let table = set(&all, Page { columns: usize::MAX, ..page });
    if table::width(&table) <= page.columns {
        return table;
    }
    set(&columns.iter().filter(|column| !column.spare).collect::<Vec<_>>(), page)
}

fn columns(run: &RunPlan) -> Vec<Column> {
    let from = run.begins_at();
    let all: Vec<(&BendPlan, &Operation)> = run.in_order(from).collect();
    let column = |header: &str, spare, cell: &dyn Fn(&BendPlan, &Operation) -> String| Column {
        header: header.to_owned(),
        spare,
        cells: all.iter().map(|(bend, made)| cell(bend, made)).collect(),
    };
    let first = all.first().map(|(bend, _)| bend.number);
    let annealed = all.iter().any(|(_, made)| made.anneal.is_some());
    let springs_back =
        |bend: &BendPlan, made: &Operation| fixed(made.pull.angle.to_degrees() - bend.angle.to_degrees(), 1);
    vec![
        column("bend", false, &|bend, _| bend.number.to_string()),
        column(&format!("mark from\n{} mm", from.name()), false, &|_, made| fixed(made.feed.mark, 1)),
        column("from last\nbend mm", false, &|_, made| fixed(made.feed.from_last_end, 1)),
        column("turn the\ntube °", false, &|bend, made| match Some(bend.number) == first {
            true => "-".to_owned(),
            false => turn(made.turn.of_tube().to_degrees()),
        }),
        column("angle\n°", false, &|bend, _| fixed(bend.angle.to_degrees(), 1)),
        column("pull to\n°", false, &|bend, made| {
            let pulled = fixed(made.pull.angle.to_degrees(), 1);
            let band = bend.springback_band.map(|band| format!("{pulled} ± {}", fixed(band.to_degrees(), 1)));
            band.unwrap_or(pulled)
        }),
        column("springs\nback °", true, &springs_back),
        column("anneal\nmm", !annealed, &|_, made| {
            let words = |zone: Zone| format!("{} to {}", fixed(zone.from, 1), fixed(zone.to, 1));
            made.anneal.map_or("-".to_owned(), words)
        }),
    ]
}

/// A turn of the tube, degrees clockwise.
fn turn(clockwise: f64) -> String {
    let amount = clockwise.abs();
    match clockwise {
        _ if amount < NO_TURN => "0".to_owned(),
        _ if amount >= HALF_TURN => "180.0".to_owned(),
        _ if clockwise > 0.0 => format!("{amount:.1} clockwise"),
        _ => format!("{amount:.1} anticlockwise"),
    }
}
