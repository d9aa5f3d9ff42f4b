//! The bill as text: each month, line by line.

use std::fmt::Write;

use rust_decimal::Decimal;

use super::text_table::{Side, plain, table};
use tariff::{Bill, BillLine, BillMonth};
use units::{format_percent, grouped_digits};

/// All months, with the total, how it is rounded and what is not in it.
#[must_use]
pub fn bill_text(bill: &Bill) -> String {
    let mut text = String::new();
    let currency = bill.currency.as_deref().unwrap_or("no currency named");
    let _ = writeln!(text, "\nBill of meter {} ({currency})", plain(&bill.meter));
    for month in &bill.months {
        one_month(&mut text, month);
    }
    if bill.months.len() > 1 {
        let _ = writeln!(text, "\n  All months together: {}", money(bill.total));
    }
    let _ = writeln!(text, "\n  Rounding: {}.", bill.rounding);
    for note in &bill.notes {
        let _ = writeln!(text, "  - {}", plain(note));
    }
    text
}

fn one_month(text: &mut String, month: &BillMonth) {
    let part = if month.complete {
        String::new()
    } else {
        format!(
            ": a part only, {} to {}, readings for {} of the month",
            month.from,
            month.to.pred_opt().unwrap_or(month.to),
            format_percent(month.covered_pct)
        )
    };
    let _ = writeln!(text, "\n  {}{part}", month.month);
    let mut rows: Vec<Vec<String>> = month.lines.iter().map(row).collect();
    rows.push(vec![
        "together".to_owned(),
        String::new(),
        String::new(),
        String::new(),
        money(month.total),
        String::new(),
    ]);
    let mut header = vec![
        ("line", Side::Left),
        ("quantity", Side::Right),
        ("unit", Side::Left),
        ("rate", Side::Right),
        ("amount", Side::Right),
        ("", Side::Left),
    ];
    if month.lines.iter().all(|line| line.remark().is_none()) {
        header.pop();
        for row in &mut rows {
            row.truncate(header.len());
        }
    }
    text.push_str(&table(&header, &rows));
    if let Some(one) = &month.one_kw_less {
        let _ = writeln!(text, "  {}", one.sentence());
    }
    for note in &month.notes {
        let _ = writeln!(text, "  - {}", plain(note));
    }
}

fn row(line: &BillLine) -> Vec<String> {
    let (quantity, unit, rate) = line.figures();
    vec![
        plain(&line.line),
        grouped_digits(&quantity),
        unit,
        rate,
        money(line.amount),
        line.remark().unwrap_or_default(),
    ]
}

pub(super) fn money(amount: Decimal) -> String {
    grouped_digits(&amount.to_string())
}
