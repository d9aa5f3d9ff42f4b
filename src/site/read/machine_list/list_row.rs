//! One row of the machine list: its cells as numbers and words, every fault a message at its cell.

use std::ops::Deref;

use crate::declared::{MACHINES, NEW_MACHINES};
use crate::model::device::ProtectiveDevice;
use crate::read::phase_words::PhaseWords;
use crate::read::table::number_range;
use declaration::range_text;
use message::{Messages, decimal_point, horsepower};
use user_tables::Understood;

/// One row and where it stands.
pub(crate) struct ListRow<'r> {
    pub(super) row: user_tables::Row<'r>,
    /// How the list writes phases.
    pub(super) phases: &'r PhaseWords<'r>,
}

impl<'r> Deref for ListRow<'r> {
    type Target = user_tables::Row<'r>;

    fn deref(&self) -> &user_tables::Row<'r> {
        &self.row
    }
}

impl ListRow<'_> {
    /// The machine's name, for messages.
    pub(crate) fn name(&self) -> &str {
        self.cell("machine").unwrap_or("this machine")
    }

    /// Adds the words of its phases and devices to what was understood.
    pub(super) fn note_words(&self, understood: &mut Understood) {
        if let Some(text) = self.cell("connection")
            && let Ok(connection) = self.phases.read(text)
        {
            understood.note(text, connection.name());
        }
        if let Some(text) = self.cell("protective_device")
            && let Ok(device) = text.parse::<ProtectiveDevice>()
        {
            understood.note(text, &device.to_string());
        }
    }

    /// Yes or no, `None` where the cell is empty; `Err` where it is neither, with a message.
    pub(crate) fn yes_or_no(
        &self,
        column: &str,
        messages: &mut Messages,
    ) -> Result<Option<bool>, ()> {
        match self.cell(column).map(str::to_lowercase).as_deref() {
            None => Ok(None),
            Some("yes" | "y" | "x" | "true" | "✓" | "✔" | "•") => Ok(Some(true)),
            Some("no" | "n" | "false") => Ok(Some(false)),
            Some(_) => {
                self.complain(
                    messages,
                    "yes-or-no",
                    column,
                    format!("`{column}` of `{}` must be yes or no", self.name()),
                    "expected yes or no",
                    None,
                );
                Err(())
            }
        }
    }

    /// A number in the range and unit that are declared for its column.
    pub(crate) fn number(&self, column: &str, messages: &mut Messages) -> Option<f64> {
        self.number_of(self.cell(column)?, column, messages)
    }

    /// The same of a part of the cell.
    pub(crate) fn number_of(
        &self,
        text: &str,
        column: &str,
        messages: &mut Messages,
    ) -> Option<f64> {
        let mut lists = [&MACHINES, &NEW_MACHINES].into_iter();
        let key = lists
            .find_map(|list| list.find(column))
            .expect("every column that is read is declared");
        let (range, unit) = (number_range(key), key.unit);
        let plain = self.line.with_point(text);
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
        if range.contains(&number) {
            return Some(number);
        }
        self.complain(
            messages,
            "out-of-range",
            column,
            format!("`{column}` of `{}` is out of range", self.name()),
            format!("expected {}, found {number}", range_text(&range, unit)),
            (unit.is_empty() && *range.end() <= 1.0 && (1.0..=100.0).contains(&number))
                .then(|| format!("write `{}` or `{number} %`", number / 100.0)),
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
