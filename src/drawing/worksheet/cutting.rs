//! The cut plan, drawn: a bar per piece of stock with its cuts, and a line per cut to tick.

use super::card::length;
use super::steps::forms_taken;
use super::stop::DO_NOT_CUT;
use crate::drawing::extents::Rect;
use crate::drawing::hatch::hatching;
use crate::drawing::item::{Across, Point, Role};
use crate::drawing::numbers::{count, limited, list, mm, short, tenths};
use crate::drawing::page::flow::{BODY, FINE, Flow, Ink, LEADING, PageBlock, TICK, wide};
use crate::plan::{Plan, RunPlan, StockPiece, StockPlan, TestCut};
use crate::quantity::trimmed;
use crate::spec::model::{OF_COIL, StockForm, Straighten};

/// Height of a bar, mm.
const BAR: f64 = 5.6;

/// Adds the cut plan of every tube.
pub(super) fn cutting(flow: &mut Flow, plan: &Plan, in_inches: bool) {
    for stock in &plan.cut_plan.stocks {
        flow.paragraph(&stock_words(stock), true, true);
        flow.paragraph(&found(stock), false, true);
        if let Some(words) = tests_first(stock) {
            flow.paragraph(&words, true, true);
        }
        if let Some(words) = straightened(stock) {
            flow.paragraph(&words, false, true);
        }
        let longest = stock.pieces.iter().map(|piece| piece.length).fold(1e-6, f64::max);
        for piece in &stock.pieces {
            flow.gap(1.0);
            let lines = lines(plan, piece);
            flow.add_kept(bar(piece, &lines, longest, flow.wide));
            cuts(flow, &lines, in_inches);
        }
        missing(flow, stock);
    }
}

/// The work before the runs are cut, where test pieces are: they change the stock that the runs are planned from.
fn tests_first(stock: &StockPlan) -> Option<String> {
    let rests: Vec<String> = stock
        .pieces
        .iter()
        .filter_map(|piece| {
            let end = piece.tests.iter().map(|test| test.to).reduce(f64::max)?;
            let rest = (piece.length - end - stock.kerf).max(0.0);
            Some(format!("{} of piece {}", mm(rest), piece.number))
        })
        .collect();
    (!rests.is_empty()).then(|| {
        format!(
            "Cut the test pieces first. Then write the rest into the spec as leftovers ({}), and cut the runs from the sheet that is printed after that.",
            list(&rests)
        )
    })
}

/// A length that is cut off a piece.
struct Line {
    from: f64,
    to: f64,
    /// Of that, what is trimmed away at either end.
    waste: [f64; 2],
    name: String,
    /// Whether it may be cut.
    may_be_cut: bool,
    /// Tube to add for the forms of its ends, which must be measured.
    forms: Option<String>,
    /// Its length once it is straight, where more is cut off a coil.
    straight: Option<f64>,
}

impl Line {
    fn words(&self, number: usize, in_inches: bool) -> String {
        if !self.may_be_cut {
            let (from, to) = (tenths(self.from), tenths(self.to));
            return format!(
                "{number} {}: {DO_NOT_CUT} yet, see its page; {from} to {to} are kept for it",
                self.name
            );
        }
        let straight =
            self.straight.map(|straight| format!(" for {}", length(straight, in_inches))).unwrap_or_default();
        let forms = self.forms.as_ref().map(|forms| format!(" + {forms}")).unwrap_or_default();
        format!(
            "{number} {}: {}{straight}{forms}, from {} to {}",
            self.name,
            length(self.to - self.from, in_inches),
            tenths(self.from),
            tenths(self.to)
        )
    }
}

/// The lengths that are cut off a piece, in order.
fn lines(plan: &Plan, piece: &StockPiece) -> Vec<Line> {
    let straight = |off: f64, straight: f64| (off > straight + 0.05).then_some(straight);
    let tests = piece.tests.iter().map(|test| Line {
        from: test.from,
        to: test.to,
        waste: [0.0, test.to - test.from - test.length],
        name: test_name(test),
        may_be_cut: true,
        forms: None,
        straight: straight(test.to - test.from, test.length),
    });
    let runs = piece.cuts.iter().map(|cut| Line {
        from: cut.from,
        to: cut.to,
        waste: [cut.allowance_start, cut.allowance_end + cut.straighten],
        name: short(&cut.run),
        may_be_cut: plan.run(&cut.run).is_none_or(RunPlan::may_be_cut),
        forms: plan.run(&cut.run).and_then(forms_taken),
        straight: straight(cut.to - cut.from, cut.to - cut.from - cut.straighten),
    });
    tests.chain(runs).collect()
}

/// The cuts of a piece with boxes to tick, as many beside each other as there is room for.
fn cuts(flow: &mut Flow, lines: &[Line], in_inches: bool) {
    let (gap, line) = (TICK + 1.6, TICK + 1.6);
    let mut rows: Vec<Vec<(f64, String)>> = vec![Vec::new()];
    let mut x = 0.0;
    for (number, line) in lines.iter().enumerate() {
        let words = line.words(number + 1, in_inches);
        let long = gap + wide(&words, BODY, false);
        if x > 0.0 && x + long > flow.wide {
            rows.push(Vec::new());
            x = 0.0;
        }
        if let Some(row) = rows.last_mut() {
            row.push((x, words));
        }
        x += long + 5.0;
    }
    for row in rows {
        let mut ink = Ink::new();
        let mut down = line;
        for (x, words) in row {
            ink.tick(x + 0.4, 0.4);
            let end = ink.wrapped(x + gap, 1.2, BODY, false, flow.wide - x - gap, &words);
            down = down.max(end);
        }
        flow.add(PageBlock::new(ink, down));
    }
}

fn stock_words(stock: &StockPlan) -> String {
    let what = match stock.form {
        StockForm::Coil => "coil",
        StockForm::Stick => "straight length",
    };
    format!(
        "{}: {what} of {}, {} lost per cut",
        limited(&stock.tube, 72),
        mm(stock.new_length),
        mm(stock.kerf)
    )
}

/// How much more is cut off, and why; nothing where nothing is.
fn straightened(stock: &StockPlan) -> Option<String> {
    let more = match stock.straighten {
        Straighten::Part(part) if part > 0.0 => format!("{} % longer", trimmed(part * 100.0)),
        Straighten::Length(length) if length > 0.0 => format!("{} longer", mm(length)),
        Straighten::OfCoil => {
            format!("{} % longer, {} at least,", trimmed(OF_COIL.0 * 100.0), mm(OF_COIL.1))
        }
        Straighten::Part(_) | Straighten::Length(_) => return None,
    };
    Some(format!(
        "Each piece is cut off {more} than it ends up: straighten it, then cut it to its own length, the bent ends away."
    ))
}

fn found(stock: &StockPlan) -> String {
    let old = stock.pieces.iter().filter(|piece| piece.leftover).count();
    let leftovers =
        if old > 0 { format!(" and {}", count(old, "leftover", "leftovers")) } else { String::new() };
    let tests = if stock.new_for_tests > 0 {
        format!(", and {} for test pieces alone", count(stock.new_for_tests, "new piece", "new pieces"))
    } else {
        String::new()
    };
    let best = if stock.proven {
        "for the runs no plan needs fewer new pieces, or leaves a longer offcut with as few"
    } else if stock.new_used == stock.new_lower_bound {
        "for the runs no plan needs fewer new pieces, but one may leave a longer offcut"
    } else {
        "a better plan may exist"
    };
    format!(
        "Takes {}{leftovers}{tests}; {best}. {}",
        count(stock.new_used, "new piece", "new pieces"),
        spare(stock)
    )
}

/// Whether a run can be made once more.
fn spare(stock: &StockPlan) -> String {
    let cuts = stock.pieces.iter().flat_map(|piece| &piece.cuts);
    let longest = cuts.map(|cut| cut.to - cut.from).fold(0.0, f64::max);
    if stock.longest_rest >= longest {
        format!("The longest offcut is {}: any of these runs can be made once more.", mm(stock.longest_rest))
    } else {
        format!(
            "The longest offcut is {}, too short to make the longest run once more: have a spare piece, first bends are practice.",
            mm(stock.longest_rest)
        )
    }
}

/// A piece of stock to scale, its longest companion as wide as the page.
fn bar(piece: &StockPiece, lines: &[Line], longest: f64, width: f64) -> PageBlock {
    let mut ink = Ink::new();
    let kind = if piece.leftover { "leftover" } else { "new" };
    let name =
        format!("piece {}, {kind}, {}; offcut {}", piece.number, mm(piece.length), mm(piece.rest.max(0.0)));
    ink.wrapped(0.0, 0.8, BODY, false, width, &name);
    let top = 0.8 + LEADING * BODY;
    let scale = width / longest;
    let end = (piece.length * scale).min(width);
    ink.frame(Role::Tangent, 0.0, top, end, top + BAR);
    let mut used = 0.0;
    for (index, line) in lines.iter().enumerate() {
        one_cut(&mut ink, line, index + 1, scale, top);
        used = line.to * scale;
    }
    let rest = "offcut";
    if end - used > wide(rest, FINE, false) + 3.0 {
        ink.anchored((used + end) / 2.0, top + (BAR - FINE) / 2.0, FINE, false, Across::Middle, rest);
    }
    PageBlock::new(ink, top + BAR + 1.2)
}

fn one_cut(ink: &mut Ink, cut: &Line, number: usize, scale: f64, top: f64) {
    let (left, right) = (cut.from * scale, cut.to * scale);
    for x in [left, right] {
        ink.line(Role::Trim, (x, top), (x, top + BAR));
    }
    let start = left + cut.waste[0] * scale;
    let end = right - cut.waste[1] * scale;
    waste(ink, left, start, top);
    waste(ink, end, right, top);
    let full = format!("{number}  {}", cut.name);
    for words in [full, number.to_string()] {
        if wide(&words, FINE, true) + 2.0 < end - start {
            ink.anchored((start + end) / 2.0, top + (BAR - FINE) / 2.0, FINE, true, Across::Middle, &words);
            break;
        }
    }
}

/// A part to trim away.
fn waste(ink: &mut Ink, left: f64, right: f64, top: f64) {
    if right - left < 1e-6 {
        return;
    }
    for line in hatching(&Rect::new(Point::new(left, top), Point::new(right, top + BAR))) {
        ink.line(Role::Waste, (line.from.x, line.from.y), (line.to.x, line.to.y));
    }
    ink.line(Role::Waste, (right, top), (right, top + BAR));
    ink.line(Role::Waste, (left, top), (left, top + BAR));
}

fn missing(flow: &mut Flow, stock: &StockPlan) {
    if !stock.missing.is_empty() {
        flow.paragraph("No tube left for:", true, true);
        for piece in &stock.missing {
            flow.paragraph(&format!("{}, {}", short(&piece.run), mm(piece.length)), false, false);
        }
    }
    if !stock.missing_tests.is_empty() {
        let tests: Vec<String> = stock
            .missing_tests
            .iter()
            .map(|test| format!("{}, {}", test_name(test), mm(test.length)))
            .collect();
        flow.paragraph(&format!("No tube left for: {}.", tests.join("; ")), false, false);
    }
}

/// "test piece 2 (90°, my bender)".
fn test_name(test: &TestCut) -> String {
    format!("test piece {} ({:.0}°, {})", test.number, test.pull.to_degrees(), short(&test.bender))
}
