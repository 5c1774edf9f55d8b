//! `tubewright sizes`: the built-in tube sizes.

use comfy_table::{CellAlignment, Table, presets};
use serde_json::json;
use tubewright::stock::{Standard, find_standard, standards};

use super::args::ReportFormat;
use super::{Outcome, Terminal};

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
    let mut table = Table::new();
    table.load_style(presets::UTF8_HORIZONTAL_ONLY);
    table.set_header(["size", "OD mm", "wall mm", "bore mm", "kg/m"]);
    for size in standard.sizes {
        table.add_row([
            size.short(),
            format!("{:.3}", size.od),
            format!("{:.3}", size.wall),
            format!("{:.3}", size.bore()),
            format!("{:.3}", size.kg_per_m()),
        ]);
    }
    for column in table.column_iter_mut().skip(1) {
        column.set_cell_alignment(CellAlignment::Right);
    }
    format!("{}: {}\nwritten as {}\n{table}\n", standard.name, standard.title, standard.example)
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
