//! Tables for terminals: units in the header, numbers to the right.

use std::fmt::Write as _;

use comfy_table::{CellAlignment, ContentArrangement, presets};

use super::column::Output;
use super::plain::plain;
use super::table::Table;

impl Table {
    /// As a titled table for a terminal, with its notes; empty without rows.
    #[must_use]
    pub fn text(&self) -> String {
        if self.rows.is_empty() {
            return String::new();
        }
        let mut text = format!("\n{}\n", plain(&self.title));
        if !self.method.is_empty() {
            let _ = writeln!(text, "  {}", plain(&self.method));
        }
        text.push_str(&self.text_body());
        for note in &self.notes {
            let _ = writeln!(text, "  - {}", plain(note));
        }
        text
    }

    /// Only headings and rows.
    #[must_use]
    pub fn text_body(&self) -> String {
        let shown = self.shown(Output::Text);
        let mut table = comfy_table::Table::new();
        table
            .load_style(presets::NOTHING)
            .set_content_arrangement(ContentArrangement::Disabled)
            .set_header(shown.columns.iter().map(|column| column.heading()));
        table.add_rows(&shown.rows);
        for (index, column) in shown.columns.iter().enumerate() {
            if let Some(place) = table.column_mut(index) {
                place.set_padding((0, 2));
                place.set_cell_alignment(if column.is_number() {
                    CellAlignment::Right
                } else {
                    CellAlignment::Left
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
}

#[cfg(test)]
mod tests {
    use super::super::{number, words};
    use super::*;
    use units::FigureKind;

    #[test]
    fn columns_line_up_and_control_characters_are_shown_as_unknown() {
        let columns = vec![words("Machine"), number("Energy", FigureKind::ActiveEnergy)];
        let rows = vec![
            vec!["saw".into(), 9.5.into()],
            vec!["a\u{1b}[2J".into(), 1200.0.into()],
        ];
        let table = Table::new("energy", "Energy", columns, rows);
        let text = table.text();
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!((lines.len(), lines[1]), (5, "Energy"));
        assert!(lines[3].ends_with("     9.5"), "{text}");
        assert!(!text.contains('\u{1b}'));
        assert_eq!(table.only(|_| false).text(), "");
    }
}
