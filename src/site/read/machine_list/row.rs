//! One row of the machine list: its cells as numbers and words, every fault a message at its cell.

use std::collections::HashMap;

use crate::declared::{MACHINES, NEW_MACHINES};
use declaration::{ValueKind, range_text};
use message::{Message, Messages, Place, decimal_point, horsepower};

/// One row and where it stands.
pub(crate) struct Row<'r> {
    pub(crate) file: &'r str,
    pub(crate) line: usize,
    pub(crate) text: &'r str,
    pub(crate) separator: u8,
    pub(crate) record: &'r csv::StringRecord,
    pub(crate) columns: &'r HashMap<&'static str, usize>,
}

impl<'r> Row<'r> {
    /// The cell of a column, trimmed; `None` where it is empty or there is no such column.
    pub(crate) fn cell(&self, column: &str) -> Option<&'r str> {
        let index = *self.columns.get(column)?;
        self.record
            .get(index)
            .map(str::trim)
            .filter(|text| !text.is_empty())
    }

    pub(crate) fn place(&self, column: &str) -> Place {
        let index = self.columns.get(column).copied().unwrap_or(0);
        Place::in_record(self.file, self.line, self.text, self.separator, index)
    }

    /// The machine's name, for messages.
    pub(crate) fn name(&self) -> &'r str {
        self.cell("machine").unwrap_or("this machine")
    }

    pub(crate) fn complain(
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

    pub(crate) fn number(
        &self,
        column: &str,
        (low, high): (f64, f64),
        unit: &str,
        messages: &mut Messages,
    ) -> Option<f64> {
        let text = self.cell(column)?;
        self.number_of(text, column, (low, high), unit, messages)
    }

    pub(crate) fn number_of(
        &self,
        text: &str,
        column: &str,
        (low, high): (f64, f64),
        unit: &str,
        messages: &mut Messages,
    ) -> Option<f64> {
        debug_assert!(
            [&MACHINES, &NEW_MACHINES]
                .iter()
                .find_map(|list| list.find(column))
                .is_some_and(|key| key.unit == unit
                    && matches!(key.kind, ValueKind::Number(from, to) if from.total_cmp(&low).is_eq() && to.total_cmp(&high).is_eq())),
            "`{column}` is read as it is declared"
        );
        let plain = if self.separator == b';' {
            text.replace(',', ".")
        } else {
            text.to_owned()
        };
        let unit_text = if unit.is_empty() {
            String::new()
        } else {
            format!(" in {unit}")
        };
        let Some(number) = plain
            .parse::<f64>()
            .ok()
            .filter(|number| number.is_finite())
        else {
            self.complain(
                messages,
                "not-a-number",
                column,
                format!("`{column}` of `{}` is not a number", self.name()),
                format!("expected a number{unit_text}, found `{text}`"),
                decimal_point(text)
                    .or_else(|| horsepower(text).filter(|_| unit == "kW"))
                    .or_else(|| without_unit(&plain, unit)),
            );
            return None;
        };
        if (low..=high).contains(&number) {
            return Some(number);
        }
        self.complain(
            messages,
            "out-of-range",
            column,
            format!("`{column}` of `{}` is out of range", self.name()),
            format!(
                "expected {}, found {number}",
                range_text(&(low..=high), unit)
            ),
            None,
        );
        None
    }
}

/// Help for a number with its unit behind it: the number in the unit of the column.
fn without_unit(text: &str, unit: &str) -> Option<String> {
    let split = text.find(|c: char| !c.is_ascii_digit() && c != '.')?;
    let number: f64 = text[..split].parse().ok()?;
    let written = text[split..].trim();
    if written.eq_ignore_ascii_case(unit) {
        Some(format!("write the value without its unit: `{number}`"))
    } else if unit.strip_prefix('k') == Some(written) {
        Some(format!("write the value in {unit}: `{}`", number / 1000.0))
    } else if unit.is_empty() {
        Some("write the number alone".to_owned())
    } else {
        Some(format!("write the value in {unit}, without a unit"))
    }
}
