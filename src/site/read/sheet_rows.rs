//! The rows of a sheet as lines of site.toml, each with the cell that it was made from.

use crate::declared::{SheetColumn, SheetValue, SiteSheet, sheet_words};
use message::{Message, Messages, Place, did_you_mean};
use user_tables::{Line, TableFile, WrittenNumber, WrittenTable, read_number};

/// Lines of site.toml with their cells.
#[derive(Default)]
pub(crate) struct CellLines {
    pub(crate) text: String,
    pub(crate) places: Vec<Place>,
}

impl CellLines {
    pub(crate) fn push(&mut self, line: &str, place: Place) {
        self.text.push_str(line);
        self.text.push('\n');
        self.places.push(place);
    }
}

/// Each row of a sheet as a table of site.toml.
pub(crate) fn write_rows(
    sheet: &SiteSheet,
    file: &TableFile,
    lines: &mut CellLines,
    messages: &mut Messages,
) {
    each_row(sheet, file, messages, |line, columns| {
        lines.push(&format!("[[{}]]", sheet.table), line.whole());
        for (index, column) in columns {
            if let Some(text) = line.cell(*index) {
                lines.push(&toml_line(column.key, column, text), line.place(*index));
            }
        }
    });
}

/// The rows of a sheet with the columns that it has, each with its index; what is wrong with its header becomes messages.
pub(crate) fn each_row(
    sheet: &SiteSheet,
    file: &TableFile,
    messages: &mut Messages,
    mut take: impl FnMut(&Line<'_>, &[(usize, &'static SheetColumn)]),
) {
    let words: Vec<_> = sheet
        .columns
        .iter()
        .map(|column| (column.key, column.words))
        .collect();
    let words = sheet_words(&words, sheet.columns[0].key);
    let Some(table) = WrittenTable::read(file.source(), &words, sheet.row_is) else {
        return;
    };
    let header = &table.columns.header;
    let mut columns: Vec<(usize, &'static SheetColumn)> = Vec::new();
    for (index, name) in header.cells().enumerate() {
        let meaning = table.columns.meaning(index);
        let column = meaning.and_then(|meaning| {
            let mut known = sheet.columns.iter();
            known.find(|column| column.key == meaning.column)
        });
        match column {
            Some(column) if columns.iter().any(|(_, known)| known.key == column.key) => messages
                .push(
                    Message::error(
                        "duplicate-column",
                        format!("the column `{name}` appears twice"),
                    )
                    .at(header.place(index), "the second is here"),
                ),
            Some(column) => columns.push((index, column)),
            None if name.is_empty() || name.starts_with("x_") => {}
            None => {
                let known = || sheet.columns.iter().map(|column| column.header);
                let all = || {
                    Some(format!(
                        "its columns: {}",
                        known().collect::<Vec<_>>().join(", ")
                    ))
                };
                messages.push(
                    Message::error(
                        "unknown-column",
                        format!("unknown column `{name}` in the sheet `{}`", sheet.name),
                    )
                    .at(
                        header.place(index),
                        format!("not a column of the sheet `{}`", sheet.name),
                    )
                    .maybe_help(did_you_mean(name, known()).or_else(all)),
                );
            }
        }
    }
    for line in table.rows() {
        take(&line, &columns);
    }
}

/// A cell as a line of site.toml; what is no number or no yes or no is left to the reader of site.toml.
pub(crate) fn toml_line(key: &str, column: &SheetColumn, text: &str) -> String {
    let quoted = || toml::Value::String(text.to_owned()).to_string();
    let value = match column.value {
        SheetValue::Text => quoted(),
        SheetValue::Number => match read_number(text, false) {
            WrittenNumber::Number(number, _) => number,
            _ => quoted(),
        },
        SheetValue::YesNo => match text.to_lowercase().as_str() {
            "yes" | "y" | "x" | "true" => "true".to_owned(),
            "no" | "n" | "false" => "false".to_owned(),
            _ => quoted(),
        },
    };
    format!("{key} = {value}")
}
