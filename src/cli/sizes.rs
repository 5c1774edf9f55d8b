//! `tubewright sizes`: the built-in tube sizes, all of a standard or all of a diameter.

use serde_json::{Value, json};
use tubewright::diagnostic::harmless;
use tubewright::quantity::{MM_PER_INCH, decimals};
use tubewright::stock::{Found, Hit, Match, Size, Standard, find_standard, search, standards};

use super::args::ReportFormat;
use super::terminal::{Page, Terminal};
use super::{Outcome, table};

pub(super) fn run(terminal: &Terminal, wanted: &str, format: ReportFormat) -> Outcome {
    let page = terminal.page();
    let chosen: Vec<&Standard> = match (wanted.is_empty(), find_standard(wanted)) {
        (true, _) => standards().iter().collect(),
        (false, Ok(standard)) => vec![standard],
        (false, Err(no_standard)) => {
            return match search(wanted) {
                Ok(found) if format == ReportFormat::Json => terminal.print(&found_as_json(&found)),
                Ok(found) => terminal.print(&found_as_text(&found, page)),
                // A word that begins with a digit was meant as a size.
                Err(no_size) if wanted.starts_with(|c: char| c.is_ascii_digit()) => terminal.complain(
                    &format!("`{}` is not a size: {}\nhelp: write a diameter, perhaps with a wall: 15, 15 x 1, 5/8 in", harmless(wanted), harmless(&no_size.to_string())),
                    Outcome::Usage,
                ),
                Err(_) => terminal.complain(
                    &format!(
                        "{}\nhelp: standards are {}; a diameter finds sizes in all of them, such as 15 or 5/8 in",
                        harmless(&no_standard.message),
                        standards().iter().map(|standard| standard.name).collect::<Vec<_>>().join(", ")
                    ),
                    Outcome::Usage,
                ),
            };
        }
    };
    match format {
        ReportFormat::Json => {
            terminal.print(&format!("{:#}\n", chosen.iter().map(|s| as_json(s)).collect::<Value>()))
        }
        ReportFormat::Text => {
            terminal.print(&chosen.iter().map(|s| as_text(s, page)).collect::<Vec<_>>().join("\n"))
        }
    }
}

fn as_text(standard: &Standard, page: Page) -> String {
    let rows = standard.sizes.iter().map(|size| {
        let numbers = [size.od, size.wall, size.bore(), size.kg_per_m()];
        std::iter::once(size.short()).chain(numbers.map(|number| format!("{number:.3}"))).collect()
    });
    let table = table::set(&["size", "OD mm", "wall mm", "bore mm", "kg/m"], rows, 1, page);
    format!("{}: {}\nwritten as {}\n{table}", standard.name, standard.title, standard.example)
}

fn as_json(standard: &Standard) -> Value {
    let sizes: Vec<_> = standard.sizes.iter().map(size_as_json).collect();
    json!({"standard": standard.name, "title": standard.title, "sizes": sizes})
}

fn size_as_json(size: &Size) -> Value {
    json!({
        "size": size.size, "type": size.kind, "od_mm": size.od, "wall_mm": size.wall,
        "bore_mm": size.bore(), "kg_per_m": size.kg_per_m(),
    })
}

fn by(hit: &Hit) -> &'static str {
    match hit.by {
        Match::Outside => "outside diameter",
        Match::Name => "nominal size",
        Match::Nearest => "nearest",
    }
}

fn found_as_text(found: &Found, page: Page) -> String {
    let rows = found.hits.iter().map(|hit| {
        let Hit { size, .. } = *hit;
        vec![
            size.standard.to_owned(),
            size.short(),
            by(hit).to_owned(),
            format!("{:.3}", size.od),
            decimals(size.od / MM_PER_INCH, 4),
            format!("{:.3}", size.wall),
            format!("{:.3}", size.bore()),
            format!("{:.3}", size.kg_per_m()),
        ]
    });
    let header = ["standard", "size", "found by", "OD mm", "OD in", "wall mm", "bore mm", "kg/m"];
    let table = table::set(&header, rows, 3, page);
    let note = found.note.as_ref().map_or_else(String::new, |note| page.wrapped(&format!("note: {note}"), 0));
    let written = found.hits.first().map_or_else(String::new, |hit| {
        page.wrapped(&format!("in a spec, the first of them is: tube: {}", as_tube(hit.size)), 0)
    });
    format!("{note}{table}{written}")
}

/// The size as a spec writes it.
fn as_tube(size: &Size) -> String {
    let kind = size.kind.map_or_else(String::new, |kind| format!(", type: {kind}"));
    format!("{{standard: {}, size: {}{kind}, temper: soft}}", size.standard, size.size)
}

fn found_as_json(found: &Found) -> String {
    let sizes: Vec<Value> = found
        .hits
        .iter()
        .map(|hit| {
            let mut size = size_as_json(hit.size);
            size["standard"] = hit.size.standard.into();
            size["found_by"] = by(hit).into();
            size
        })
        .collect();
    format!("{:#}\n", json!({"note": found.note, "sizes": sizes}))
}
