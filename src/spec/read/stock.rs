//! `stock:`, one mapping or a list of them.

use crate::diagnostic::Span;
use crate::quantity::parse_number;
use crate::spec::fields::{Fields, Reader, UnitFrom};
use crate::spec::keys::{self, Kind, Sign};
use crate::spec::model::{Spec, Stock, StockForm, Straighten, TubeFault};
use crate::spec::node::{Node, Value};

/// Shortest piece of tube anybody buys, mm; below it `length: 3` was meant as metres.
const SHORTEST_MM: f64 = 50.0;
/// Shortest leftover anybody keeps, mm; below it `1.2` was meant as metres.
const SHORTEST_LEFTOVER_MM: f64 = 10.0;

/// Most that straightening takes of a piece, percent: more is a slip.
const MOST_STRAIGHTENED: f64 = 50.0;

/// Reads `stock:`: the entries without fault.
pub(super) fn stocks(reader: &mut Reader, node: &Node, place: Span) -> Vec<Stock> {
    let read: Vec<Stock> = match &node.value {
        Value::List(items) => items.iter().filter_map(|item| stock(reader, item, item.place)).collect(),
        _ => stock(reader, node, place).into_iter().collect(),
    };
    let mut kept: Vec<Stock> = Vec::new();
    for stock in read {
        let first = kept.iter().find(|first| match stock.section {
            Some((od, wall)) => first.names(od, wall),
            None => first.section.is_none(),
        });
        match first {
            Some(first) if reader.unit_from != UnitFrom::Unreadable => repeated(reader, &stock, first),
            _ => kept.push(stock),
        }
    }
    kept
}

fn repeated(reader: &mut Reader, stock: &Stock, first: &Stock) {
    let (line, unit) = (first.place.line, reader.unit);
    let (message, hint) = match stock.section {
        Some((od, wall)) => (
            format!(
                "there are two stocks of {} x {} tube; the first is on line {line}",
                unit.number(od),
                unit.length(wall)
            ),
            "keep one; pieces of other lengths go under its `leftovers:`",
        ),
        None => (
            format!("there are two stocks that do not say which tube they are; the first is on line {line}"),
            "give one of them `od:` and `wall:`, or keep one",
        ),
    };
    reader.error("duplicate-stock", stock.place, message, hint);
}

fn stock(reader: &mut Reader, node: &Node, place: Span) -> Option<Stock> {
    let fields = reader.fields(node, &keys::STOCK, place)?;
    let length = length(reader, &fields);
    let kerf = reader.length_or(&fields, "kerf", 0.0);
    let count = reader.optional(&fields, "count", None, |reader| reader.count(&fields, "count").map(Some));
    let form = reader.choice_or_usual(&fields, "form");
    let straighten =
        reader.optional(&fields, "straighten", None, |reader| straighten(reader, &fields).map(Some));
    let leftovers = reader.optional(&fields, "leftovers", Vec::new(), |reader| leftovers(reader, &fields));
    let section = section(reader, &fields);
    let (length, kerf) = (length?, kerf?);
    if kerf >= length {
        let message = format!("a cut {} wide leaves nothing of a piece", reader.unit.length(kerf));
        reader.error("out-of-range", fields.value_place("kerf"), message, "check the unit");
        return None;
    }
    let form: StockForm = form?;
    Some(Stock {
        section: section?,
        form,
        length,
        kerf,
        straighten: straighten?.unwrap_or(Straighten::usual(form)),
        count: count?,
        leftovers: leftovers?,
        place,
    })
}

/// What straightening takes: `3 %` of each piece, or a length.
fn straighten(reader: &mut Reader, fields: &Fields<'_>) -> Option<Straighten> {
    let (_, node) = reader.value(fields, "straighten")?;
    let text = reader.text(node, "a part in percent or a length")?;
    let Some(percent) = text.trim().strip_suffix('%') else {
        return reader.length_at(node, "straighten", Sign::ZeroOrMore).map(Straighten::Length);
    };
    match parse_number(percent) {
        Ok(percent) if (0.0..=MOST_STRAIGHTENED).contains(&percent) => {
            Some(Straighten::Part(percent / 100.0))
        }
        _ => {
            let message = format!("`straighten` is {}", text.trim());
            let hint =
                format!("write a part of each piece from 0 % to {MOST_STRAIGHTENED} %, or a length: 30 mm");
            reader.error("out-of-range", node.place, message, hint);
            None
        }
    }
}

fn length(reader: &mut Reader, fields: &Fields<'_>) -> Option<f64> {
    let length = reader.length(fields, "length")?;
    if length >= SHORTEST_MM || reader.unit_from == UnitFrom::Unreadable {
        return Some(length);
    }
    let message = format!("a piece of stock is {} long", reader.unit.length(length));
    reader.error("out-of-range", fields.value_place("length"), message, "give the unit: 3 m");
    None
}

fn leftovers(reader: &mut Reader, fields: &Fields<'_>) -> Option<Vec<f64>> {
    let (rule, node) = reader.value(fields, "leftovers")?;
    let (Value::List(items), Kind::List(Kind::Length(sign))) = (&node.value, &rule.kind) else {
        reader.wrong_type(node, "a list of lengths [820, 1.2 m]");
        return None;
    };
    reader.check_commas(items)?;
    let lengths: Vec<Option<f64>> = items
        .iter()
        .map(|item| {
            let length = reader.length_at(item, "leftovers", *sign)?;
            if length < SHORTEST_LEFTOVER_MM && reader.unit_from != UnitFrom::Unreadable {
                let message = format!("a leftover is {} long", reader.unit.length(length));
                let least = reader.unit.length_to(SHORTEST_LEFTOVER_MM, 1);
                let hint = format!("give the unit, such as 1.2 m; leave out pieces shorter than {least}");
                reader.error("out-of-range", item.place, message, hint);
                return None;
            }
            Some(length)
        })
        .collect();
    lengths.into_iter().collect()
}

/// Outside diameter and wall, both or none; `None` where they could not be read.
fn section(reader: &mut Reader, fields: &Fields<'_>) -> Option<Option<(f64, f64)>> {
    if !fields.has("od") && !fields.has("wall") {
        return Some(None);
    }
    let od = reader.required(fields, "od", |reader| reader.length(fields, "od"));
    let wall = reader.required(fields, "wall", |reader| reader.length(fields, "wall"));
    let (od, wall) = (od?, wall?);
    if wall < od / 2.0 || reader.unit_from == UnitFrom::Unreadable {
        return Some(Some((od, wall)));
    }
    let hint = format!("the wall must be less than half of {}", reader.unit.length(od));
    let message = TubeFault::Wall { od, wall }.message(reader.unit);
    reader.error("wall-too-thick", fields.value_place("wall"), message, hint);
    None
}

/// Notes stock that is of no run's tube: most likely a slip in its `od` or `wall`.
pub(super) fn check_used(reader: &mut Reader, spec: &Spec) {
    // Runs with faults are not in the spec, and could be the ones.
    if reader.errors() > 0 || reader.unit_from == UnitFrom::Unreadable {
        return;
    }
    let unit = reader.unit;
    let mut sizes: Vec<String> = Vec::new();
    for tube in spec.runs.iter().map(|run| &run.tube) {
        let size = format!("{} x {}", unit.number(tube.od()), unit.length(tube.wall()));
        if !sizes.contains(&size) {
            sizes.push(size);
        }
    }
    for stock in &spec.stock {
        let used = spec.runs.iter().any(|run| stock.names(run.tube.od(), run.tube.wall()));
        if let (Some((od, wall)), false) = (stock.section, used) {
            let message = format!("no run is made of {} x {} tube", unit.number(od), unit.length(wall));
            let hint =
                format!("delete this stock, or correct its `od` and `wall`: there is {}", sizes.join(", "));
            reader.warning("unused-stock", stock.place, message, hint);
        }
    }
}
