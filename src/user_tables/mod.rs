//! Small CSV files that a user writes: a header, then rows of names, dates and numbers, each fault told at its cell.
//!
//! In: the text of a file. Out: rows by the names of their columns. Separated by commas with decimal
//! points, or by semicolons with decimal commas or points. Logs have a reader of their own.

use chrono::NaiveDate;

use message::{Message, Messages, Place, decimal_point, why_more_cells};

/// The file while it is read.
#[derive(Debug)]
pub struct SmallCsv<'t> {
    file: &'t str,
    /// What a row is, for messages: `an invoice's line`.
    row_is: &'static str,
    lines: Vec<&'t str>,
    separator: u8,
    header: Vec<String>,
    records: Vec<csv::StringRecord>,
}

/// A row while it is read.
#[derive(Debug)]
pub struct Row<'a> {
    sheet: &'a SmallCsv<'a>,
    record: &'a csv::StringRecord,
    line: usize,
}

impl<'t> SmallCsv<'t> {
    /// Splits the text; what is no CSV becomes a message.
    pub fn read(
        file: &'t str,
        text: &'t str,
        row_is: &'static str,
        messages: &mut Messages,
    ) -> SmallCsv<'t> {
        let text = text.trim_start_matches('\u{feff}');
        let head = text.lines().next().unwrap_or_default();
        let separator = if head.contains(';') { b';' } else { b',' };
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(separator)
            .flexible(true)
            .trim(csv::Trim::All)
            .from_reader(text.as_bytes());
        let header = reader.headers().cloned().unwrap_or_default();
        let mut records = Vec::new();
        for record in reader.records() {
            match record {
                Ok(record) => records.push(record),
                Err(error) => messages.push(
                    Message::error(
                        "not-csv",
                        format!("`{file}` cannot be read as CSV: {error}"),
                    )
                    .at(Place::file(file), ""),
                ),
            }
        }
        SmallCsv {
            file,
            row_is,
            lines: text.lines().collect(),
            separator,
            header: header.iter().map(ToOwned::to_owned).collect(),
            records,
        }
    }

    /// Names of the columns, as written.
    pub fn header(&self) -> &[String] {
        &self.header
    }

    /// A cell, both counted as in the file: lines from 1, cells from 0.
    pub fn place(&self, line: usize, cell: usize) -> Place {
        let text = self.lines.get(line - 1).copied().unwrap_or_default();
        Place::in_record(self.file, line, text, self.separator, cell)
    }

    /// The rows that have no more cells than there are columns; one that has becomes a message.
    pub fn rows(&self, messages: &mut Messages) -> Vec<Row<'_>> {
        let mut rows = Vec::new();
        for record in &self.records {
            let row = Row {
                sheet: self,
                record,
                line: record.position().map_or(1, |at| at.line() as usize),
            };
            if record.len() > self.header.len() {
                messages.push(
                    Message::error("too-many-cells", "more cells than the header has columns")
                        .at(
                            self.place(row.line, self.header.len()),
                            format!(
                                "expected {} cells, found {}",
                                self.header.len(),
                                record.len()
                            ),
                        )
                        .maybe_help(
                            self.lines
                                .get(row.line - 1)
                                .and_then(|line| why_more_cells(line)),
                        ),
                );
            } else {
                rows.push(row);
            }
        }
        rows
    }
}

impl Row<'_> {
    fn cell(&self, column: &str) -> Option<usize> {
        self.sheet.header.iter().position(|name| name == column)
    }

    /// What stands in a column; `None` where nothing does.
    pub fn text(&self, column: &str) -> Option<String> {
        let text = self.record.get(self.cell(column)?)?;
        (!text.is_empty()).then(|| text.to_owned())
    }

    /// The same with a decimal point.
    pub fn plain_number(&self, column: &str) -> Option<String> {
        let text = self.text(column)?;
        if self.sheet.separator == b';' && !text.contains('.') {
            return Some(text.replace(',', "."));
        }
        Some(text)
    }

    /// Tells a fault of a cell.
    pub fn fault(
        &self,
        name: &'static str,
        column: &str,
        what: &str,
        expected: &str,
        messages: &mut Messages,
    ) {
        let found = self.text(column).unwrap_or_default();
        messages.push(
            Message::error(name, format!("`{column}` of {} {what}", self.sheet.row_is))
                .at(
                    self.sheet.place(self.line, self.cell(column).unwrap_or(0)),
                    format!("expected {expected}, found `{found}`"),
                )
                .maybe_help(decimal_point(&found)),
        );
    }

    /// A date; what is none becomes a message.
    pub fn date(&self, column: &str, messages: &mut Messages) -> Option<NaiveDate> {
        let date = self
            .text(column)
            .and_then(|text| NaiveDate::parse_from_str(&text, "%Y-%m-%d").ok());
        if date.is_none() {
            self.fault(
                "date",
                column,
                "is not a date",
                "a date such as `2026-03-01`",
                messages,
            );
        }
        date
    }
}
