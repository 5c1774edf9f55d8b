//! The cut plan, drawn: a bar per piece of stock with its cuts, and a line per cut to tick.

use super::card::length;
use crate::drawing::extents::Rect;
use crate::drawing::hatch::hatching;
use crate::drawing::item::{Across, Point, Role};
use crate::drawing::numbers::{count, mm, short, tenths};
use crate::drawing::page::flow::{BODY, FINE, Flow, Ink, LEADING, PageBlock, TICK, wide};
use crate::plan::{Cut, StockPiece, StockPlan};
use crate::spec::model::StockForm;

/// Height of a bar, mm.
const BAR: f64 = 5.6;

/// Adds the cut plan of every tube.
pub(super) fn cutting(flow: &mut Flow, stocks: &[StockPlan], in_inches: bool) {
    for stock in stocks {
        flow.paragraph(&stock_words(stock), true, true);
        flow.paragraph(&found(stock), false, true);
        let longest = stock.pieces.iter().map(|piece| piece.length).fold(1e-6, f64::max);
        for piece in &stock.pieces {
            flow.gap(1.0);
            flow.add_kept(bar(piece, longest, flow.wide));
            cuts(flow, piece, in_inches);
        }
        missing(flow, stock);
    }
}

/// The cuts of a piece with boxes to tick, as many beside each other as there is room for.
fn cuts(flow: &mut Flow, piece: &StockPiece, in_inches: bool) {
    let (gap, line) = (TICK + 1.6, TICK + 1.6);
    let mut rows: Vec<Vec<(f64, String)>> = vec![Vec::new()];
    let mut x = 0.0;
    for (index, cut) in piece.cuts.iter().enumerate() {
        let words = format!(
            "{} {}: {}, from {} to {}",
            index + 1,
            short(&cut.run),
            length(cut.to - cut.from, in_inches),
            tenths(cut.from),
            tenths(cut.to)
        );
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
    format!("{}: {what} of {}, {} lost per cut", short(&stock.tube), mm(stock.new_length), mm(stock.kerf))
}

fn found(stock: &StockPlan) -> String {
    let old = stock.pieces.iter().filter(|piece| piece.leftover).count();
    let leftovers =
        if old > 0 { format!(" and {}", count(old, "leftover", "leftovers")) } else { String::new() };
    let best = if stock.proven {
        "no plan needs fewer"
    } else if stock.new_used == stock.new_lower_bound {
        "no plan needs fewer new pieces"
    } else {
        "a better plan may exist"
    };
    let spare = "Buy one more: first bends are practice.";
    format!("Takes {}{leftovers}; {best}. {spare}", count(stock.new_used, "new piece", "new pieces"))
}

/// A piece of stock to scale, its longest companion as wide as the page.
fn bar(piece: &StockPiece, longest: f64, width: f64) -> PageBlock {
    let mut ink = Ink::new();
    let kind = if piece.leftover { "leftover" } else { "new" };
    let name = format!(
        "piece {}, {kind}, {}; {} left over",
        piece.number,
        mm(piece.length),
        mm(piece.rest.max(0.0))
    );
    ink.wrapped(0.0, 0.8, BODY, false, width, &name);
    let top = 0.8 + LEADING * BODY;
    let scale = width / longest;
    let end = (piece.length * scale).min(width);
    ink.frame(Role::Tangent, 0.0, top, end, top + BAR);
    let mut used = 0.0;
    for (index, cut) in piece.cuts.iter().enumerate() {
        one_cut(&mut ink, cut, index + 1, scale, top);
        used = cut.to * scale;
    }
    let rest = "left over";
    if end - used > wide(rest, FINE, false) + 3.0 {
        ink.anchored((used + end) / 2.0, top + (BAR - FINE) / 2.0, FINE, false, Across::Middle, rest);
    }
    PageBlock::new(ink, top + BAR + 1.2)
}

fn one_cut(ink: &mut Ink, cut: &Cut, number: usize, scale: f64, top: f64) {
    let (left, right) = (cut.from * scale, cut.to * scale);
    for x in [left, right] {
        ink.line(Role::Trim, (x, top), (x, top + BAR));
    }
    let start = left + cut.allowance_start * scale;
    let end = right - cut.allowance_end * scale;
    waste(ink, left, start, top);
    waste(ink, end, right, top);
    let full = format!("{number}  {}", short(&cut.run));
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
    if stock.missing.is_empty() {
        return;
    }
    flow.paragraph("No tube left for:", true, true);
    for piece in &stock.missing {
        flow.paragraph(&format!("{}, {}", short(&piece.run), mm(piece.length)), false, false);
    }
}
