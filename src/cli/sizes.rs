//! `tubewright sizes`: the built-in tube sizes.

use serde_json::json;
use tubewright::stock::{Standard, find_standard, standards};

use super::args::ReportFormat;
use super::{Outcome, Terminal, table};

pub(super) fn run(terminal: &Terminal, wanted: Option<&str>, format: ReportFormat) -> Outcome {
    let chosen: Vec<&Standard> = match wanted.map(find_standard) {
        None => standards().iter().collect(),
        Some(Ok(standard)) => vec![standard],
        Some(Err(fault)) => {
            return terminal.complain(&format!("{}\nhelp: {}", fault.message, fault.hint), Outcome::Usage);
        }
    };
    match format {
        ReportFormat::Json => terminal
            .print(&format!("{:#}\n", chosen.iter().map(|s| as_json(s)).collect::<serde_json::Value>())),
        ReportFormat::Text => {
            terminal.print(&chosen.iter().map(|s| as_text(s)).collect::<Vec<_>>().join("\n"))
        }
    }
}

fn as_text(standard: &Standard) -> String {
    let rows = standard.sizes.iter().map(|size| {
        let numbers = [size.od, size.wall, size.bore(), size.kg_per_m()];
        std::iter::once(size.short()).chain(numbers.map(|number| format!("{number:.3}"))).collect()
    });
    let table = table::set(&["size", "OD mm", "wall mm", "bore mm", "kg/m"], rows, 1);
    format!("{}: {}\nwritten as {}\n{table}", standard.name, standard.title, standard.example)
}

fn as_json(standard: &Standard) -> serde_json::Value {
    let sizes: Vec<_> = standard
        .sizes
        .iter()
        .map(|size| {
            json!({
                "size": size.size, "type": size.kind, "od_mm": size.od, "wall_mm": size.wall,
                "bore_mm": size.bore(), "kg_per_m": size.kg_per_m(),
            })
        })
        .collect();
    json!({"standard": standard.name, "title": standard.title, "sizes": sizes})
}
