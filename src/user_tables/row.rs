//! A line by the names of its columns.

use std::collections::HashMap;

use chrono::NaiveDate;

use super::Line;
use message::{Message, Messages, Place, decimal_point, why_more_cells};

/// The columns of a table.
#[derive(Debug)]
pub struct NamedColumns<'t> {
    /// The line that names them.
    pub header: Line<'t>,
    cells: HashMap<String, usize>,
    row_is: &'static str,
}

/// A line whose columns have names.
#[derive(Debug)]
pub struct Row<'r> {
    /// Its cells and their places.
    pub line: Line<'r>,
    /// Their names.
    pub columns: &'r NamedColumns<'r>,
}

impl<'t> NamedColumns<'t> {
    /// Of a header, with what a row is, for messages: `an invoice line`.
    #[must_use]
    pub fn of(header: Line<'t>, row_is: &'static str) -> NamedColumns<'t> {
        let mut cells = HashMap::new();
        for (cell, name) in header.cells().enumerate() {
            cells.entry(name.to_owned()).or_insert(cell);
        }
        NamedColumns {
            header,
            cells,
            row_is,
        }
    }

    /// Number of a column from 0; the first where two have the name.
    #[must_use]
    pub fn get(&self, column: &str) -> Option<usize> {
        self.cells.get(column).copied()
    }

    /// A line below the header.
    #[must_use]
    pub fn row<'r>(&'r self, line: Line<'r>) -> Row<'r> {
        Row {
            line,
            columns: self,
        }
    }
}

impl Row<'_> {
    /// The cell of a column; `None` where it is empty or there is no such column.
    #[must_use]
    pub fn cell(&self, column: &str) -> Option<&str> {
        self.line.cell(self.columns.get(column)?)
    }

    /// The place of a column's cell; of the first where there is no such column.
    #[must_use]
    pub fn place(&self, column: &str) -> Place {
        self.line.place(self.columns.get(column).unwrap_or(0))
    }

    /// What was expected, where there are more cells than columns.
    #[must_use]
    pub fn surplus(&self) -> Option<String> {
        let (most, found) = (self.columns.header.width(), self.line.width());
        (found > most).then(|| format!("expected {most} cells, found {found}"))
    }

    /// Has it no more cells than there are columns? One that has becomes a message.
    pub fn fits(&self, messages: &mut Messages) -> bool {
        let Some(expected) = self.surplus() else {
            return true;
        };
        messages.push(
            Message::error("too-many-cells", "more cells than the header has columns")
                .at(self.line.place(self.columns.header.width()), expected)
                .maybe_help(why_more_cells(self.line.text())),
        );
        false
    }

    /// A number as text with a decimal point.
    #[must_use]
    pub fn plain_number(&self, column: &str) -> Option<String> {
        self.cell(column).map(|text| self.line.with_point(text))
    }

    /// A date; what is none becomes a message.
    pub fn date(&self, column: &str, messages: &mut Messages) -> Option<NaiveDate> {
        let text = self.cell(column).unwrap_or_default();
        let date = NaiveDate::parse_from_str(text, "%Y-%m-%d").ok();
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

    /// Reports a fault of a cell in the usual words.
    pub fn fault(
        &self,
        name: &'static str,
        column: &str,
        what: &str,
        expected: &str,
        messages: &mut Messages,
    ) {
        let found = self.cell(column).unwrap_or_default();
        self.complain(
            messages,
            name,
            column,
            format!("`{column}` of {} {what}", self.columns.row_is),
            format!("expected {expected}, found `{found}`"),
            decimal_point(found),
        );
    }

    /// Reports a fault of a cell.
    pub fn complain(
        &self,
        messages: &mut Messages,
        name: &'static str,
        column: &str,
        text: String,
        expected: impl Into<String>,
        help: Option<String>,
    ) {
        messages.push(
            Message::error(name, text)
                .at(self.place(column), expected)
                .maybe_help(help),
        );
    }
}
