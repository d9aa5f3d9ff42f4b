//! The bill as CSV, with the columns that an invoice has.

use super::csv_table::{csv_text, text};
use tariff::Bill;

/// One row for each line; `from` is the first day, `to` the day after the last.
///
/// # Errors
///
/// Those of the CSV writer, which memory does not provoke.
pub fn bill_csv(bill: &Bill) -> Result<String, csv::Error> {
    let header = [
        "line", "from", "to", "quantity", "unit", "rate", "amount", "note",
    ];
    let lines = bill.months.iter().flat_map(|month| &month.lines);
    let rows: Vec<Vec<String>> = lines
        .map(|line| {
            vec![
                text(&line.line),
                line.from.to_string(),
                line.to.to_string(),
                line.quantity.to_string(),
                line.unit.clone(),
                line.rate.to_string(),
                line.amount.to_string(),
                text(&line.remark().unwrap_or_default()),
            ]
        })
        .collect();
    csv_text(&header, &rows)
}
