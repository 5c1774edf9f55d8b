//! Tables in the terminal: a ruled header, words to the left, numbers to the right.

use comfy_table::{CellAlignment, ColumnConstraint, ContentArrangement, LineStyle, Table, TableStyle, Width};

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
    table.set_header(header);
    table.add_rows(rows);
    for column in table.column_iter_mut().skip(first_number) {
        column.set_cell_alignment(CellAlignment::Right);
    }
    let whole = table.trim_fmt() + "\n";
    if width(&whole) <= page.columns { whole } else { narrowed(table, header, page.columns) }
}

/// A table in so many letters. Words of its header stay whole.
fn narrowed(mut table: Table, header: &[&str], columns: usize) -> String {
    for (column, title) in table.column_iter_mut().zip(header) {
        let longest = title.split_whitespace().map(|word| word.chars().count()).max().unwrap_or(0);
        let least = u16::try_from(longest).unwrap_or(u16::MAX);
        // One letter of white on either side belongs to a column's width.
        column.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(least.saturating_add(2))));
    }
    table.set_content_arrangement(ContentArrangement::Dynamic);
    table.set_width(u16::try_from(columns).unwrap_or(u16::MAX));
    table.trim_fmt() + "\n"
}

/// Letters in the widest line of a table.
pub(super) fn width(table: &str) -> usize {
    table.lines().map(|line| line.chars().count()).max().unwrap_or(0)
}
