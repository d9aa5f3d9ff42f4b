//! Reads the lines of an invoice from a CSV.

use std::str::FromStr;

use rust_decimal::Decimal;

use super::columns::INVOICE;
use super::dates::DateForm;
use super::line::InvoiceLine;
use message::{InputErrors, Message, Messages, Place, did_you_mean};
use user_tables::{Lines, NamedColumns, Row};

/// Reads an invoice: columns `line`, `from`, `to` (the day after the last), `amount`, and as far as it prints
/// them `quantity`, `unit`, `rate`; `note` and columns that begin with `x_` are left alone. Separated by commas
/// with decimal points, or by semicolons with decimal commas or points.
///
/// # Errors
///
/// [`InputErrors`] with everything that is wrong in it, each at its line and cell.
///
/// ```
/// use tariff::read_invoice;
///
/// let text = "line;from;to;amount\nstanding;2026-03-01;2026-04-01;26,35\n";
/// let lines = read_invoice("invoice.csv", text).expect("an invoice");
/// assert_eq!(lines[0].amount.to_string(), "26.35");
/// assert!(read_invoice("invoice.csv", "line,amount\nstanding,lots\n").is_err());
/// ```
pub fn read_invoice(file: &str, text: &str) -> Result<Vec<InvoiceLine>, InputErrors> {
    let mut messages = Messages::new();
    let mut lines = Lines::new(file, text, None);
    let header = lines.next().unwrap_or_else(|| lines.none());
    let columns = NamedColumns::of(header, "an invoice line");
    check_header(&columns, &mut messages);
    let mut found = Vec::new();
    if !messages.has_errors() {
        let rows: Vec<Row<'_>> = lines.map(|line| columns.row(line)).collect();
        let dates = rows
            .iter()
            .flat_map(|row| [row.cell("from"), row.cell("to")])
            .flatten();
        let form = DateForm::of(&dates.collect::<Vec<&str>>());
        if let (DateForm::Unclear, Some(row)) = (form, rows.first()) {
            row.fault(
                "ambiguous-date",
                "from",
                "may have its day or its month first",
                "dates such as `2026-03-01`",
                &mut messages,
            );
        } else {
            for row in &rows {
                found.extend(invoice_line(row, form, &mut messages));
            }
        }
        if found.is_empty() && !messages.has_errors() {
            messages.push(
                Message::error("no-invoice-line", format!("`{file}` has no invoice line"))
                    .at(Place::file(file), "")
                    .help("write one row for each line of the invoice, under the header"),
            );
        }
    }
    messages.into_result()?;
    Ok(found)
}

fn check_header(columns: &NamedColumns<'_>, messages: &mut Messages) {
    let header = &columns.header;
    for (cell, name) in header.cells().enumerate() {
        let known = INVOICE.find(name).is_some() || name.starts_with("x_");
        let twice = columns.get(name) != Some(cell);
        if !known || twice {
            let what = if twice {
                "appears twice"
            } else {
                "is not known"
            };
            messages.push(
                Message::error("invoice-column", format!("the column `{name}` {what}"))
                    .at(header.place(cell), "expected a column of an invoice")
                    .maybe_help(
                        did_you_mean(name, INVOICE.names())
                            .filter(|_| !twice)
                            .or_else(|| {
                                let names: Vec<&str> = INVOICE.names().collect();
                                Some(format!("columns: {}", names.join(", ")))
                            }),
                    ),
            );
        }
    }
    let needed = INVOICE.keys.iter().filter(|key| key.is_required());
    for name in needed.map(|key| key.name) {
        if columns.get(name).is_none() {
            messages.push(
                Message::error(
                    "missing-column",
                    format!("an invoice needs the column `{name}`"),
                )
                .at(header.place(0), format!("`{name}` is missing here"))
                .help("write the header: line,from,to,quantity,unit,rate,amount"),
            );
        }
    }
}

fn invoice_line(row: &Row<'_>, form: DateForm, messages: &mut Messages) -> Option<InvoiceLine> {
    row.fits(messages).then_some(())?;
    let mut date = |column: &str| {
        let read = row.cell(column).and_then(|text| form.read(text));
        if read.is_none() {
            let expected = "a date such as `2026-03-01`";
            row.fault("date", column, "is not a date", expected, messages);
        }
        read
    };
    let (from, to) = (date("from"), date("to"));
    let quantity = decimal(row, "quantity", messages);
    let rate = decimal(row, "rate", messages);
    let amount = decimal(row, "amount", messages);
    let name = row.cell("line");
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
        line: name?.to_owned(),
        from,
        to,
        quantity: quantity?,
        unit: row.cell("unit").map(str::to_owned),
        rate: rate?,
        amount: amount??,
    })
}

/// `Some(None)` of an empty cell, `None` of a fault.
#[expect(
    clippy::option_option,
    reason = "not printed and not readable are different"
)]
fn decimal(row: &Row<'_>, column: &str, messages: &mut Messages) -> Option<Option<Decimal>> {
    let Some(text) = row.plain_number(column) else {
        return Some(None);
    };
    let read = Decimal::from_str(&text).ok();
    if read.is_none() {
        row.fault(
            "not-a-number",
            column,
            "is not a number",
            "a number without thousands separators or a unit, such as `1091.96`",
            messages,
        );
    }
    read.map(Some)
}

#[cfg(test)]
mod tests {
    use super::*;
    use declaration::row_example;

    #[test]
    fn the_example_of_every_column_is_read() {
        for column in INVOICE.keys {
            let text = row_example(&INVOICE, column);
            let lines = read_invoice("invoice.csv", &text).expect("an invoice");
            assert_eq!(lines[0].amount.to_string(), "26.35", "{text}");
        }
    }
}
