//! Tables for terminals: units in the header, numbers to the right.

use comfy_table::{CellAlignment, ContentArrangement, Table, presets};
use tables::plain;

/// Where a column's cells stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Side {
    Left,
    Right,
}

/// A table with its header; the sides are those of the columns.
pub(super) fn table(header: &[(&str, Side)], rows: &[Vec<String>]) -> String {
    let mut table = Table::new();
    table
        .load_style(presets::NOTHING)
        .set_content_arrangement(ContentArrangement::Disabled)
        .set_header(header.iter().map(|(name, _)| *name));
    for row in rows {
        table.add_row(row.iter().map(|cell| plain(cell)));
    }
    for (index, (_, side)) in header.iter().enumerate() {
        if let Some(column) = table.column_mut(index) {
            column.set_padding((0, 2));
            column.set_cell_alignment(match side {
                Side::Left => CellAlignment::Left,
                Side::Right => CellAlignment::Right,
            });
        }
    }
    let mut text = String::new();
    for line in table.lines() {
        text.push_str("  ");
        text.push_str(line.trim_end());
        text.push('\n');
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_line_up_and_control_characters_are_shown_as_unknown() {
        let text = table(
            &[("machine", Side::Left), ("kWh", Side::Right)],
            &[
                vec!["saw".into(), "9.5".into()],
                vec!["a\u{1b}[2J".into(), "1 200.0".into()],
            ],
        );
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines.len(), 3);
        assert!(lines[1].ends_with("    9.5"));
        assert!(!text.contains('\u{1b}'));
    }
}
