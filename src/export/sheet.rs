//! A table of results with typed cells: one definition for CSV, text and the workbook.

use chrono::{DateTime, FixedOffset, NaiveDate};

use super::csv_table::{csv_text, number, text};
use super::text_table::{Side, table};
use units::{fixed, or_dash};

/// A named table.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// Kebab-case name, by which it can be asked for.
    pub name: &'static str,
    /// What it shows, in a sentence without a full stop.
    pub title: String,
    /// Its columns.
    pub columns: Vec<Column>,
    /// Its rows, each as long as there are columns.
    pub rows: Vec<Vec<Cell>>,
}

/// A column.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    /// Name for programs, with its unit.
    pub key: &'static str,
    /// Head for people, with its unit.
    pub head: String,
    /// Decimals for people.
    pub decimals: usize,
}

/// What stands in a cell.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// Words.
    Text(String),
    /// A number; `None` where it is unknown.
    Number(Option<f64>),
    /// A local time; `None` where it is unknown.
    Moment(Option<DateTime<FixedOffset>>),
    /// A moment that programs read in UTC.
    Instant(DateTime<FixedOffset>),
    /// A local date.
    Date(NaiveDate),
    /// Yes or no.
    Flag(bool),
}

impl From<&str> for Cell {
    fn from(text: &str) -> Cell {
        Cell::Text(text.to_owned())
    }
}

impl From<f64> for Cell {
    fn from(value: f64) -> Cell {
        Cell::Number(Some(value))
    }
}

impl From<Option<f64>> for Cell {
    fn from(value: Option<f64>) -> Cell {
        Cell::Number(value)
    }
}

impl From<usize> for Cell {
    fn from(count: usize) -> Cell {
        Cell::Number(Some(count as f64))
    }
}

impl From<Option<DateTime<FixedOffset>>> for Cell {
    fn from(at: Option<DateTime<FixedOffset>>) -> Cell {
        Cell::Moment(at)
    }
}

impl From<bool> for Cell {
    fn from(flag: bool) -> Cell {
        Cell::Flag(flag)
    }
}

/// A column whose numbers are shown with so many decimals.
pub(super) fn column(key: &'static str, head: &str, decimals: usize) -> Column {
    Column {
        key,
        head: head.to_owned(),
        decimals,
    }
}

/// A column together with what it says of a thing.
pub(super) struct Field<T> {
    column: Column,
    of: fn(&T) -> Cell,
}

/// A column of things: its names, its decimals for people and what stands in it.
pub(super) fn field<T>(
    key: &'static str,
    head: &str,
    decimals: usize,
    of: fn(&T) -> Cell,
) -> Field<T> {
    Field {
        column: column(key, head, decimals),
        of,
    }
}

impl Sheet {
    /// One row for each thing, each column declared once.
    pub(super) fn of<T>(
        name: &'static str,
        title: &str,
        things: impl IntoIterator<Item = T>,
        fields: Vec<Field<T>>,
    ) -> Sheet {
        let row = |thing: T| fields.iter().map(|field| (field.of)(&thing)).collect();
        Sheet {
            name,
            title: title.to_owned(),
            rows: things.into_iter().map(row).collect(),
            columns: fields.into_iter().map(|field| field.column).collect(),
        }
    }

    /// As CSV with the names for programs, numbers in full.
    ///
    /// # Errors
    ///
    /// Those of the CSV writer, which memory does not provoke.
    pub fn csv(&self) -> Result<String, csv::Error> {
        let header: Vec<&str> = self.columns.iter().map(|column| column.key).collect();
        let rows: Vec<Vec<String>> = self
            .rows
            .iter()
            .map(|row| row.iter().map(in_full).collect())
            .collect();
        csv_text(&header, &rows)
    }

    /// True for a column of numbers.
    #[must_use]
    pub fn is_number(&self, column: usize) -> bool {
        let mut cells = self.rows.iter().map(|row| &row[column]);
        cells.any(|cell| matches!(cell, Cell::Number(_)))
    }

    /// The rows for people: numbers rounded as their columns say, times without their offset.
    #[must_use]
    pub fn shown(&self) -> Vec<Vec<String>> {
        let cells = |row: &Vec<Cell>| {
            let cells = row.iter().zip(&self.columns);
            cells
                .map(|(cell, column)| short(cell, column.decimals))
                .collect()
        };
        self.rows.iter().map(cells).collect()
    }

    /// Title and explanation: what stands in brackets after the title.
    #[must_use]
    pub fn title_and_method(&self) -> (&str, &str) {
        self.title
            .split_once(" (")
            .map_or((self.title.as_str(), ""), |(title, method)| {
                (title, method.strip_suffix(')').unwrap_or(method))
            })
    }

    /// As a titled table for a terminal; empty without rows.
    #[must_use]
    pub fn text(&self) -> String {
        if self.rows.is_empty() {
            return String::new();
        }
        let header: Vec<(&str, Side)> = self
            .columns
            .iter()
            .enumerate()
            .map(|(index, column)| {
                let side = if self.is_number(index) {
                    Side::Right
                } else {
                    Side::Left
                };
                (column.head.as_str(), side)
            })
            .collect();
        format!("\n{}\n{}", self.title, table(&header, &self.shown()))
    }

    /// The same table with the rows that are wanted.
    #[must_use]
    pub fn only(mut self, wanted: impl Fn(&[Cell]) -> bool) -> Sheet {
        self.rows.retain(|row| wanted(row));
        self
    }
}

fn in_full(cell: &Cell) -> String {
    match cell {
        Cell::Text(words) => text(words),
        Cell::Number(value) => number(*value),
        Cell::Moment(at) => at.map(|at| at.to_rfc3339()).unwrap_or_default(),
        Cell::Instant(at) => at.to_utc().format("%Y-%m-%dT%H:%M:%SZ").to_string(),
        Cell::Date(date) => date.to_string(),
        Cell::Flag(flag) => yes_or_no(*flag).to_owned(),
    }
}

fn short(cell: &Cell, decimals: usize) -> String {
    match cell {
        Cell::Text(words) => words.clone(),
        Cell::Number(value) => or_dash(*value, |value| fixed(value, decimals)),
        Cell::Moment(at) => at.map_or("–".to_owned(), |at| {
            at.format("%a %Y-%m-%d %H:%M").to_string()
        }),
        Cell::Instant(at) => at.format("%a %Y-%m-%d %H:%M").to_string(),
        Cell::Date(date) => date.format("%a %Y-%m-%d").to_string(),
        Cell::Flag(flag) => yes_or_no(*flag).to_owned(),
    }
}

const fn yes_or_no(flag: bool) -> &'static str {
    if flag { "yes" } else { "no" }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheet() -> Sheet {
        Sheet {
            name: "loads",
            title: "Loads".to_owned(),
            columns: vec![
                column("meter", "meter", 0),
                column("kw", "demand (kW)", 1),
                column("complete", "complete", 0),
            ],
            rows: vec![
                vec!["=1+1".into(), 2.25.into(), true.into()],
                vec!["saw".into(), None::<f64>.into(), false.into()],
            ],
        }
    }

    #[test]
    fn programs_get_all_digits_and_people_get_units() {
        let csv = sheet().csv().expect("memory can be written");
        assert_eq!(csv, "meter,kw,complete\n'=1+1,2.25,yes\nsaw,,no\n");
        let text = sheet().text();
        assert!(text.starts_with("\nLoads\n"), "{text}");
        assert!(
            text.contains("demand (kW)") && text.contains("  –"),
            "{text}"
        );
    }

    #[test]
    fn a_table_without_rows_is_no_text() {
        assert_eq!(sheet().only(|_| false).text(), "");
    }
}
