//! Tables in the terminal: a ruled header, words to the left, numbers to the right.

use comfy_table::{CellAlignment, LineStyle, Table, TableStyle};

/// Sets rows under a header; columns from `first_number` on hold numbers.
pub(super) fn set(
    header: &[&str],
    rows: impl IntoIterator<Item = Vec<String>>,
    first_number: usize,
) -> String {
    let mut table = Table::new();
    table.load_style(TableStyle::new().header_separator(LineStyle::none().fill('─').junction('─')));
    table.set_header(header);
    table.add_rows(rows);
    for column in table.column_iter_mut().skip(first_number) {
        column.set_cell_alignment(CellAlignment::Right);
    }
    table.trim_fmt() + "\n"
}
