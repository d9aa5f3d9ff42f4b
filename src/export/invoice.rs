//! An invoice beside the bill, as text and CSV.

use std::fmt::Write;

use rust_decimal::Decimal;

use super::csv_table::{csv_text, text};
use super::text_table::{Side, plain, table};
use tariff::{CheckedLine, InvoiceCheck};
use units::grouped_digits;

/// A table of the lines, what may explain the differences, and the sums.
#[must_use]
pub fn invoice_text(check: &InvoiceCheck) -> String {
    let mut out = String::new();
    let currency = check.currency.as_deref().unwrap_or("no currency named");
    let _ = writeln!(out, "The invoice beside the bill by the log ({currency})\n");
    let mut rows: Vec<Vec<String>> = check.lines.iter().map(row).collect();
    let mut sum = vec!["together".to_owned()];
    sum.resize(5, String::new());
    sum.extend([
        grouped_digits(&check.invoiced.to_string()),
        grouped_digits(&check.computed.to_string()),
        signed(check.difference),
        String::new(),
    ]);
    rows.push(sum);
    out.push_str(&table(
        &[
            ("line", Side::Left),
            ("from", Side::Left),
            ("quantity", Side::Right),
            ("by the log", Side::Right),
            ("rate / tariff", Side::Right),
            ("invoiced", Side::Right),
            ("computed", Side::Right),
            ("difference", Side::Right),
            ("", Side::Left),
        ],
        &rows,
    ));
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

fn row(line: &CheckedLine) -> Vec<String> {
    let figure = |value: Option<Decimal>| {
        value.map_or_else(
            || "–".to_owned(),
            |value| grouped_digits(&value.to_string()),
        )
    };
    let price = |value: Option<Decimal>| {
        value.map_or_else(|| "–".to_owned(), |value| value.normalize().to_string())
    };
    let (invoiced, tariff) = (price(line.invoiced_rate), price(line.computed_rate));
    vec![
        plain(&line.line),
        line.from.to_string(),
        figure(line.invoiced_quantity),
        figure(line.computed_quantity),
        if invoiced == tariff {
            tariff
        } else {
            format!("{invoiced} / {tariff}")
        },
        figure(line.invoiced),
        figure(line.computed),
        signed(line.difference),
        line.verdict.words().to_owned(),
    ]
}

fn signed(difference: Decimal) -> String {
    if difference.is_zero() {
        return "0".to_owned();
    }
    let digits = grouped_digits(&difference.to_string());
    if difference.is_sign_positive() {
        format!("+{digits}")
    } else {
        digits
    }
}

/// One row for each line.
///
/// # Errors
///
/// Those of the CSV writer, which memory does not provoke.
pub fn invoice_csv(check: &InvoiceCheck) -> Result<String, csv::Error> {
    let header = [
        "line",
        "from",
        "to",
        "unit",
        "invoiced_quantity",
        "computed_quantity",
        "invoiced_rate",
        "computed_rate",
        "invoiced",
        "computed",
        "difference",
        "verdict",
        "because",
    ];
    let figure = |value: Option<Decimal>| value.map(|value| value.to_string()).unwrap_or_default();
    let rows: Vec<Vec<String>> = check
        .lines
        .iter()
        .map(|line| {
            vec![
                text(&line.line),
                line.from.to_string(),
                line.to.to_string(),
                text(line.unit.as_deref().unwrap_or_default()),
                figure(line.invoiced_quantity),
                figure(line.computed_quantity),
                figure(line.invoiced_rate),
                figure(line.computed_rate),
                figure(line.invoiced),
                figure(line.computed),
                line.difference.to_string(),
                line.verdict.words().to_owned(),
                text(&line.because.join("; ")),
            ]
        })
        .collect();
    csv_text(&header, &rows)
}
