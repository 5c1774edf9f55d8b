//! Tables in the terminal: a ruled header, words to the left, numbers to the right.

use comfy_table::{CellAlignment, ContentArrangement, LineStyle, Table, TableStyle};

use super::terminal::Page;

/// Sets rows under a header; columns from `first_number` on hold numbers. Cells of a table that is wider
/// than the page are broken into lines.
pub(super) fn set(
    header: &[&str],
    rows: impl IntoIterator<Item = Vec<String>>,
    first_number: usize,
    page: Page,
) -> String {
    let mut table = Table::new();
    let rule = if page.plain { '-' } else { '─' };
    table.load_style(TableStyle::new().header_separator(LineStyle::none().fill(rule).junction(rule)));
    table.set_content_arrangement(ContentArrangement::Dynamic);
    table.set_width(u16::try_from(page.columns).unwrap_or(u16::MAX));
    table.set_header(header);
    table.add_rows(rows);
    for column in table.column_iter_mut().skip(first_number) {
        column.set_cell_alignment(CellAlignment::Right);
    }
    table.trim_fmt() + "\n"
}

/// Letters in the widest line of a table.
pub(super) fn width(table: &str) -> usize {
    table.lines().map(|line| line.chars().count()).max().unwrap_or(0)
}
