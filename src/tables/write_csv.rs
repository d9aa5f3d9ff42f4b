//! CSV with a header, full precision, and no cell that a spreadsheet would run as a formula.

use super::cell::Cell;
use super::column::Output;
use super::plain::plain;
use super::table::{Table, yes_or_no};

impl Table {
    /// As CSV with keys as header, numbers in full, empty cells for unknown values.
    ///
    /// # Errors
    ///
    /// Those of the CSV writer, which writing to memory does not cause.
    pub fn csv(&self) -> Result<String, csv::Error> {
        let places = self.places(Output::Csv);
        let header = places
            .iter()
            .map(|&place| self.columns[place].key.to_owned());
        let rows = self.rows.iter().map(|row| {
            let cells = places.iter();
            cells.map(|&place| in_full(&row[place])).collect()
        });
        csv_text(std::iter::once(header.collect()).chain(rows))
    }
}

/// Records as CSV.
///
/// # Errors
///
/// Those of the CSV writer, which writing to memory does not cause.
pub fn csv_text(records: impl IntoIterator<Item = Vec<String>>) -> Result<String, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    for record in records {
        writer.write_record(record)?;
    }
    let bytes = writer
        .into_inner()
        .map_err(csv::IntoInnerError::into_error)?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// User text; a leading sign that starts a formula is disarmed with an apostrophe, and control characters are shown
/// as unknown, since a CSV file is also read in terminals.
#[must_use]
pub fn disarmed(text: &str) -> String {
    let text = plain(text);
    if text.starts_with(['=', '+', '-', '@']) {
        format!("'{text}")
    } else {
        text
    }
}

pub(super) fn in_full(cell: &Cell) -> String {
    match cell {
        Cell::Text(words) => disarmed(words),
        // Zero has no sign.
        Cell::Number(value) | Cell::Rounded(value, _) | Cell::Change(_, value) => {
            (value + 0.0).to_string()
        }
        Cell::Decimal(value) => value.to_string(),
        Cell::Local(at) => at.to_rfc3339(),
        Cell::Instant(at) => at.to_utc().format("%Y-%m-%dT%H:%M:%SZ").to_string(),
        Cell::Date(date) => date.to_string(),
        Cell::YesNo(flag) => yes_or_no(*flag).to_owned(),
        Cell::Unknown => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formulas_are_disarmed_and_numbers_are_not() {
        assert_eq!(disarmed("=1+1"), "'=1+1");
        assert_eq!(disarmed("saw, old"), "saw, old");
        assert_eq!(in_full(&Cell::Number(-0.5)), "-0.5");
        assert_eq!(in_full(&Cell::Number(-0.0)), "0");
        assert_eq!(in_full(&Cell::Unknown), "");
        let csv = csv_text([vec!["a".to_owned()], vec!["x,\"y\"".to_owned()]]);
        assert_eq!(csv.expect("memory can be written"), "a\n\"x,\"\"y\"\"\"\n");
    }
}
