//! Reads the lines of an invoice from a CSV.

use std::str::FromStr;

use chrono::NaiveDate;
use rust_decimal::Decimal;

use super::line::InvoiceLine;
use crate::message::{InputErrors, Message, Messages, Place, did_you_mean};

const COLUMNS: [&str; 8] = [
    "line", "from", "to", "quantity", "unit", "rate", "amount", "note",
];
const NEEDED: [&str; 4] = ["line", "from", "to", "amount"];

/// Reads an invoice: columns `line`, `from`, `to` (the day after the last), `amount`, and as far as it prints
/// them `quantity`, `unit`, `rate`; `note` and columns that begin with `x_` are left alone. Separated by commas
/// with decimal points, or by semicolons with decimal commas or points.
///
/// # Errors
///
/// [`InputErrors`] with everything that is wrong in it, each at its line and cell.
///
/// ```
/// use tapoff::tariff::read_invoice;
///
/// let text = "line;from;to;amount\nstanding;2026-03-01;2026-04-01;26,35\n";
/// let lines = read_invoice("invoice.csv", text).expect("an invoice");
/// assert_eq!(lines[0].amount.to_string(), "26.35");
/// assert!(read_invoice("invoice.csv", "line,amount\nstanding,lots\n").is_err());
/// ```
pub fn read_invoice(file: &str, text: &str) -> Result<Vec<InvoiceLine>, InputErrors> {
    let mut messages = Messages::new();
    let text = text.trim_start_matches('\u{feff}');
    let head = text.lines().next().unwrap_or_default();
    let separator = if head.contains(';') { b';' } else { b',' };
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator)
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let header = reader.headers().cloned().unwrap_or_default();
    let sheet = Sheet {
        file,
        lines: text.lines().collect(),
        separator,
        header: header.iter().map(ToOwned::to_owned).collect(),
    };
    sheet.check_header(&mut messages);
    let mut found = Vec::new();
    if !messages.has_errors() {
        for record in reader.records() {
            match record {
                Ok(record) => found.extend(sheet.line(&record, &mut messages)),
                Err(error) => messages.push(
                    Message::error(
                        "not-csv",
                        format!("`{file}` cannot be read as CSV: {error}"),
                    )
                    .at(Place::file(file), ""),
                ),
            }
        }
        if found.is_empty() && !messages.has_errors() {
            messages.push(
                Message::error(
                    "no-invoice-line",
                    format!("`{file}` has no line of an invoice"),
                )
                .at(Place::file(file), "")
                .help("write one row for each line of the invoice, under the header"),
            );
        }
    }
    messages.into_result()?;
    Ok(found)
}

/// The file while it is read.
struct Sheet<'t> {
    file: &'t str,
    lines: Vec<&'t str>,
    separator: u8,
    header: Vec<String>,
}

impl Sheet<'_> {
    fn place(&self, line: usize, cell: usize) -> Place {
        let text = self.lines.get(line - 1).copied().unwrap_or_default();
        Place::in_record(self.file, line, text, self.separator, cell)
    }

    fn check_header(&self, messages: &mut Messages) {
        for (cell, name) in self.header.iter().enumerate() {
            let known = COLUMNS.contains(&name.as_str()) || name.starts_with("x_");
            let twice = self.header[..cell].contains(name);
            if !known || twice {
                let what = if twice {
                    "is there twice"
                } else {
                    "is not known"
                };
                messages.push(
                    Message::error("invoice-column", format!("the column `{name}` {what}"))
                        .at(self.place(1, cell), "expected a column of an invoice")
                        .maybe_help(
                            did_you_mean(name, COLUMNS.iter().copied())
                                .filter(|_| !twice)
                                .or_else(|| Some(format!("columns: {}", COLUMNS.join(", ")))),
                        ),
                );
            }
        }
        for name in NEEDED {
            if !self.header.iter().any(|found| found == name) {
                messages.push(
                    Message::error(
                        "missing-column",
                        format!("an invoice needs the column `{name}`"),
                    )
                    .at(self.place(1, 0), format!("`{name}` is missing here"))
                    .help("the header: line,from,to,quantity,unit,rate,amount"),
                );
            }
        }
    }

    fn line(&self, record: &csv::StringRecord, messages: &mut Messages) -> Option<InvoiceLine> {
        let row = Row {
            sheet: self,
            record,
            line: record.position().map_or(1, |at| at.line() as usize),
        };
        if record.len() > self.header.len() {
            messages.push(
                Message::error("too-many-cells", "more cells than the header has columns").at(
                    self.place(row.line, self.header.len()),
                    format!(
                        "expected {} cells, found {}",
                        self.header.len(),
                        record.len()
                    ),
                ),
            );
            return None;
        }
        let (from, to) = (row.date("from", messages), row.date("to", messages));
        let quantity = row.decimal("quantity", messages);
        let rate = row.decimal("rate", messages);
        let amount = row.decimal("amount", messages);
        let name = row.text("line");
        for (column, is_missing) in [("line", name.is_none()), ("amount", amount == Some(None))] {
            if is_missing {
                row.fault("empty-cell", column, "is empty", "a value", messages);
            }
        }
        let (from, to) = (from?, to?);
        if to <= from {
            row.fault(
                "empty-period",
                "to",
                "is not after `from`",
                "the day after the last day of the line",
                messages,
            );
            return None;
        }
        Some(InvoiceLine {
            line: name?,
            from,
            to,
            quantity: quantity?,
            unit: row.text("unit"),
            rate: rate?,
            amount: amount??,
        })
    }
}

/// A row while it is read.
struct Row<'a> {
    sheet: &'a Sheet<'a>,
    record: &'a csv::StringRecord,
    line: usize,
}

impl Row<'_> {
    fn cell(&self, column: &str) -> Option<usize> {
        self.sheet.header.iter().position(|name| name == column)
    }

    fn text(&self, column: &str) -> Option<String> {
        let text = self.record.get(self.cell(column)?)?;
        (!text.is_empty()).then(|| text.to_owned())
    }

    fn fault(
        &self,
        name: &'static str,
        column: &str,
        what: &str,
        expected: &str,
        messages: &mut Messages,
    ) {
        let found = self.text(column).unwrap_or_default();
        messages.push(
            Message::error(name, format!("`{column}` of an invoice's line {what}")).at(
                self.sheet.place(self.line, self.cell(column).unwrap_or(0)),
                format!("expected {expected}, found `{found}`"),
            ),
        );
    }

    fn date(&self, column: &str, messages: &mut Messages) -> Option<NaiveDate> {
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

    /// `Some(None)` of an empty cell, `None` of a fault.
    #[expect(
        clippy::option_option,
        reason = "not printed and not readable are different"
    )]
    fn decimal(&self, column: &str, messages: &mut Messages) -> Option<Option<Decimal>> {
        let Some(text) = self.text(column) else {
            return Some(None);
        };
        let plain = if self.sheet.separator == b';' && !text.contains('.') {
            text.replace(',', ".")
        } else {
            text
        };
        let read = Decimal::from_str(&plain).ok();
        if read.is_none() {
            self.fault(
                "not-a-number",
                column,
                "is not a number",
                "a number without groups of thousands or a unit, such as `1091.96`",
                messages,
            );
        }
        read.map(Some)
    }
}
