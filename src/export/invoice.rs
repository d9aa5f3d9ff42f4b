//! An invoice compared with the bill, as text and CSV.

use std::fmt::Write;

use tables::{CSV, Cell, FILES, Table, columns, exact, money, plain, words};
use tariff::{CheckedLine, InvoiceCheck};
use units::format_date;

/// One row for each line, and the totals.
#[must_use]
pub fn invoice_table(check: &InvoiceCheck) -> Table {
    let currency = check.currency.as_deref();
    columns! { line in &CheckedLine;
        line: words("Line") => &line.line;
        from: words("From") => line.from;
        to: words("To, not included").only(FILES) => line.to;
        unit: words("Unit").optional() => line.unit.as_deref().unwrap_or_default();
        invoiced_quantity: exact("Invoiced quantity", "") => line.invoiced_quantity;
        computed_quantity: exact("Quantity by the log", "") => line.computed_quantity;
        invoiced_rate: exact("Invoiced rate", "") => line.invoiced_rate;
        computed_rate: exact("Rate by the tariff", "") => line.computed_rate;
        invoiced: money("Invoiced amount", currency) => line.invoiced;
        computed: money("Amount by the log", currency) => line.computed;
        difference: money("Difference", currency).signed() => line.difference;
        verdict: words("Verdict") => line.verdict.words();
        because: words("Possible reasons").only(CSV) => line.because.join("; ");
    }
    .table(
        "invoice",
        "Invoice compared with the bill by the log",
        &check.lines,
    )
    .with_total(
        "total",
        [
            ("invoiced", Cell::Decimal(check.invoiced)),
            ("computed", Cell::Decimal(check.computed)),
            ("difference", Cell::Decimal(check.difference)),
        ],
    )
}

/// A table of the lines with totals, and the possible reasons for differences.
#[must_use]
pub fn invoice_text(check: &InvoiceCheck) -> String {
    let mut out = invoice_table(check).text().trim_start().to_owned();
    let explained: Vec<&CheckedLine> = check
        .lines
        .iter()
        .filter(|line| !line.because.is_empty())
        .collect();
    if !explained.is_empty() {
        out.push_str("\nPossible reasons for the differences\n");
        for line in explained {
            let _ = writeln!(
                out,
                "  {} from {}",
                plain(&line.line),
                format_date(line.from)
            );
            for sentence in &line.because {
                let _ = writeln!(out, "    - {}", plain(sentence));
            }
        }
    }
    out
}

/// One row for each line, as CSV.
///
/// # Errors
///
/// Those of the CSV writer, which writing to memory does not cause.
pub fn invoice_csv(site: &str, check: &InvoiceCheck) -> Result<String, csv::Error> {
    invoice_table(check).of_site(site).csv()
}
