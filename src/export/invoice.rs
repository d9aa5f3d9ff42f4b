//! An invoice beside the bill, as text and CSV.

use std::fmt::Write;

use tables::{CSV, Cell, FILES, Table, columns, exact, money, plain, words};
use tariff::{CheckedLine, InvoiceCheck};

/// One row for each line, and the sums.
#[must_use]
pub fn invoice_table(check: &InvoiceCheck) -> Table {
    let currency = check.currency.as_deref();
    columns! { line in &CheckedLine;
        line: words("Line") => &line.line;
        from: words("From") => line.from;
        to: words("To, the day after").only(FILES) => line.to;
        unit: words("Unit").optional() => line.unit.as_deref().unwrap_or_default();
        invoiced_quantity: exact("Quantity", "") => line.invoiced_quantity;
        computed_quantity: exact("By the log", "") => line.computed_quantity;
        invoiced_rate: exact("Rate", "") => line.invoiced_rate;
        computed_rate: exact("By the tariff", "") => line.computed_rate;
        invoiced: money("Invoiced", currency) => line.invoiced;
        computed: money("Computed", currency) => line.computed;
        difference: money("Difference", currency).signed() => line.difference;
        verdict: words("Verdict") => line.verdict.words();
        because: words("Because").only(CSV) => line.because.join("; ");
    }
    .table(
        "invoice",
        "The invoice beside the bill by the log",
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

/// A table of the lines, what may explain the differences, and the sums.
#[must_use]
pub fn invoice_text(check: &InvoiceCheck) -> String {
    let mut out = invoice_table(check).text().trim_start().to_owned();
    let told: Vec<&CheckedLine> = check
        .lines
        .iter()
        .filter(|line| !line.because.is_empty())
        .collect();
    if !told.is_empty() {
        out.push_str("\nWhat may explain the differences\n");
        for line in told {
            let _ = writeln!(out, "  {} from {}", plain(&line.line), line.from);
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
/// Those of the CSV writer, which memory does not provoke.
pub fn invoice_csv(check: &InvoiceCheck) -> Result<String, csv::Error> {
    invoice_table(check).csv()
}
