//! A line by the names of its columns.

use std::cell::Cell;
use std::collections::HashMap;

use chrono::NaiveDate;

use super::Line;
use super::header::{HeaderMeaning, TableWords};
use super::number::{WrittenNumber, WrittenUnit, read_number};
use declaration::{Key, ValueKind};
use message::{Message, Messages, Place, decimal_point, why_more_cells};

/// The columns of a table.
#[derive(Debug)]
pub struct NamedColumns<'t> {
    /// The line that names them.
    pub header: Line<'t>,
    cells: HashMap<String, usize>,
    row_is: &'static str,
    /// What each cell of the header means, where it is read by its words.
    meanings: Vec<Option<HeaderMeaning>>,
    /// Was a number without unit reported, in a column whose unit decides what it is?
    complained_of_unit: Cell<bool>,
}

/// A line whose columns have names.
#[derive(Debug)]
pub struct Row<'r> {
    /// Its cells and their places.
    pub line: Line<'r>,
    /// Their names.
    pub columns: &'r NamedColumns<'r>,
    /// Cells as they are read: number of the cell, and its value in the unit of the column, `None` where it went to
    /// another column.
    converted: HashMap<&'static str, (usize, Option<String>)>,
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
            meanings: Vec::new(),
            complained_of_unit: Cell::new(false),
        }
    }

    /// Of a header in the words that people use, with the cells of a row of units below it.
    pub(crate) fn understood(
        header: Line<'t>,
        units: Option<&Line<'_>>,
        words: &TableWords<'_>,
        row_is: &'static str,
    ) -> NamedColumns<'t> {
        let meaning = |(index, name): (usize, &str)| {
            let unit = units.and_then(|units| units.cell(index));
            unit.and_then(|unit| words.meaning(&format!("{name} {unit}")))
                .or_else(|| words.meaning(name))
        };
        let meanings: Vec<Option<HeaderMeaning>> =
            header.cells().enumerate().map(meaning).collect();
        let mut cells = HashMap::new();
        for (cell, (meaning, name)) in meanings.iter().zip(header.cells()).enumerate() {
            let column = meaning.map_or(name, |meaning| meaning.column);
            cells.entry(column.to_owned()).or_insert(cell);
        }
        NamedColumns {
            header,
            cells,
            row_is,
            meanings,
            complained_of_unit: Cell::new(false),
        }
    }

    /// What a cell of the header means; `None` where it is no known column.
    #[must_use]
    pub fn meaning(&self, cell: usize) -> Option<HeaderMeaning> {
        self.meanings.get(cell).copied().flatten()
    }

    /// Header and column of each that is not called as declared.
    pub fn in_other_words(&self) -> impl Iterator<Item = (&str, HeaderMeaning)> {
        let named = self.header.cells().zip(&self.meanings);
        named.filter_map(|(name, meaning)| Some((name, meaning.filter(|it| it.column != name)?)))
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
            converted: HashMap::new(),
        }
    }

    /// A line below a header in the words that people use: numbers in the units of their columns. A number that may be
    /// either of two becomes a message; what is no number is left as written.
    pub fn read<'r>(
        &'r self,
        line: Line<'r>,
        words: &TableWords<'_>,
        messages: &mut Messages,
    ) -> Row<'r> {
        let mut row = self.row(line);
        for (index, meaning) in self.meanings.iter().enumerate() {
            let (Some(meaning), Some(text)) = (meaning, row.line.cell(index)) else {
                continue;
            };
            match value_of(*meaning, text, &row.line, words) {
                CellValue::AsWritten => {}
                CellValue::Of(column, value) => {
                    let own = column == meaning.column;
                    if !own && (row.cell(column).is_some() || row.converted.contains_key(column)) {
                        continue;
                    }
                    row.converted.insert(meaning.column, (index, None));
                    row.converted.insert(column, (index, Some(value)));
                }
                CellValue::TwoReadings([one, other]) => {
                    messages.push(two_readings(&row.line, index, text, &one, &other));
                    row.converted.insert(meaning.column, (index, None));
                }
                CellValue::Nothing => {
                    row.converted.insert(meaning.column, (index, None));
                }
                CellValue::WithoutUnit => {
                    if !self.complained_of_unit.replace(true) {
                        messages.push(without_unit(&self.header, index, text));
                    }
                }
            }
        }
        row
    }
}

/// A cell in the unit of its column, or of the column that its unit belongs to.
fn value_of(
    meaning: HeaderMeaning,
    text: &str,
    line: &Line<'_>,
    words: &TableWords<'_>,
) -> CellValue {
    let by_unit = meaning.column == TableWords::BY_UNIT;
    let key = words.key_of(meaning.column);
    let is_number = key.is_some_and(|key| matches!(key.kind, ValueKind::Number(..)));
    if !by_unit && !is_number {
        return CellValue::AsWritten;
    }
    if text.contains(['e', 'E']) && text.parse::<f64>().is_ok() {
        return CellValue::AsWritten;
    }
    let (number, rest) = match read_number(text, line.has_decimal_commas()) {
        WrittenNumber::Number(number, rest) => (number, rest),
        WrittenNumber::TwoReadings(both) => return CellValue::TwoReadings(both),
        WrittenNumber::Other if NOTHING.contains(&text) => return CellValue::Nothing,
        WrittenNumber::Other => return CellValue::AsWritten,
    };
    let own = WrittenUnit::of_word(rest);
    if !rest.is_empty() && own.is_none() {
        // `0.9 lead`, in a file with decimal commas or points.
        let kept = format!("{number} {rest}");
        return match key {
            Some(key) if key.unit.is_empty() => CellValue::Of(key.name, kept),
            _ => CellValue::AsWritten,
        };
    }
    let unit = own.or(meaning.unit);
    let decided = words
        .by_unit
        .iter()
        .any(|(_, column)| *column == meaning.column);
    let column = match (unit, key) {
        (Some(unit), _) if by_unit || decided => words.column_of_unit(unit),
        (Some(unit), Some(key)) => {
            let fits = fits(unit, key) || words.column_of_unit(unit) == Some(key.name);
            fits.then_some(key.name)
        }
        (None, Some(key)) => Some(key.name),
        (None, None) => return CellValue::WithoutUnit,
        (Some(_), None) => None,
    };
    let Some(column) = column else {
        return CellValue::AsWritten;
    };
    let share = unit.is_some_and(|unit| unit.of == "%")
        && words.key_of(column).is_some_and(|key| key.unit.is_empty());
    let factor = unit.map_or(1.0, |unit| unit.factor) * if share { 0.01 } else { 1.0 };
    CellValue::Of(column, times(&number, factor))
}

/// What a cell says where a number is expected.
enum CellValue {
    /// Nothing that is understood here.
    AsWritten,
    /// A number for a column.
    Of(&'static str, String),
    TwoReadings([String; 2]),
    WithoutUnit,
    /// As good as an empty cell.
    Nothing,
}

/// What people write into a cell that has no number.
const NOTHING: [&str; 6] = ["-", "–", "—", "n/a", "N/A", "/"];

/// May a number of a column be written in a unit?
fn fits(unit: WrittenUnit, key: &Key) -> bool {
    unit.of == key.unit || unit.of == "%" && key.unit.is_empty()
}

/// A number in another unit, without the last digits of the binary product.
fn times(number: &str, factor: f64) -> String {
    match number.parse::<f64>() {
        Ok(value) if (factor - 1.0).abs() > f64::EPSILON => {
            let digits = 1e9;
            format!("{}", (value * factor * digits).round() / digits)
        }
        _ => number.to_owned(),
    }
}

fn two_readings(line: &Line<'_>, index: usize, text: &str, one: &str, other: &str) -> Message {
    Message::error("two-readings", format!("`{text}` may be {one} or {other}"))
        .at(line.place(index), "expected one number")
        .help(format!(
            "write `{}` or `{other}`",
            one.trim_end_matches('0').trim_end_matches('.')
        ))
}

fn without_unit(header: &Line<'_>, index: usize, text: &str) -> Message {
    let name = header.cell(index).unwrap_or_default();
    Message::error(
        "no-unit",
        format!("`{name}` has no unit, so that `{text}` may be kW, W, hp, kVA or A"),
    )
    .at(header.place(index), "expected a header with its unit")
    .help(format!(
        "write `{name} (kW)`, `{name} (W)`, `{name} (hp)`, `{name} (kVA)` or `{name} (A)`, or the unit behind each number"
    ))
}

impl Row<'_> {
    /// The cell of a column; `None` where it is empty or there is no such column.
    #[must_use]
    pub fn cell(&self, column: &str) -> Option<&str> {
        match self.converted.get(column) {
            Some((_, value)) => value.as_deref(),
            None => self.line.cell(self.columns.get(column)?),
        }
    }

    /// The place of a column's cell; of the first where there is no such column.
    #[must_use]
    pub fn place(&self, column: &str) -> Place {
        let converted = self.converted.get(column).map(|(cell, _)| *cell);
        let cell = converted.or_else(|| self.columns.get(column));
        self.line.place(cell.unwrap_or(0))
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
