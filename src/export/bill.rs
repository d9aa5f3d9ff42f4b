//! The bill: its lines, its months, and the running total by day.

use std::fmt::Write as _;

use super::wording::month_name;
use tables::{Cell, FILES, Table, columns, exact, money, number, plain, words};
use tariff::{Bill, BillLine, BillMonth, CostDay, MarginalKilowatt};
use units::{FigureKind as Q, format_date, format_percent, grouped_digits};

/// Lines and months of a bill, and its running total by day; none without a bill.
pub(super) fn bill_tables(bill: Option<&Bill>, by_day: &[CostDay]) -> Vec<Table> {
    bill.map_or_else(Vec::new, |bill| {
        let currency = bill.currency.as_deref();
        let all = bill.months.iter().flat_map(|month| &month.lines);
        let title = format!("Bill of meter {}, line by line", bill.meter);
        vec![
            lines(title, all, currency),
            months(bill, currency),
            days(by_day, currency),
        ]
    })
}

/// One row for each line; `from` is the first day, `to` the day after the last.
fn lines<'b>(
    title: String,
    lines: impl IntoIterator<Item = &'b BillLine>,
    currency: Option<&str>,
) -> Table {
    let lines: Vec<&BillLine> = lines.into_iter().collect();
    let one_meter = lines.iter().all(|line| line.meter.is_none());
    let rate_unit = currency.map_or_else(|| "tax: %".to_owned(), |name| format!("{name}, tax: %"));
    let table = columns! { line in &'b BillLine;
        line: words("Line") => &line.line;
        meter: words("Meter") => line.meter.as_deref().unwrap_or_default();
        from: words("From").only(FILES) => line.from;
        to: words("To, not included").only(FILES) => line.to;
        quantity: exact("Quantity", "") => line.quantity;
        unit: words("Unit") => &line.unit;
        rate: exact("Rate per unit", rate_unit) => line.rate;
        amount: money("Amount", currency) => line.amount;
        note: words("Remark").optional() => line.remark().unwrap_or_default();
    }
    .table("bill", title, lines);
    if one_meter {
        table.without("meter")
    } else {
        table
    }
}

/// The lines of a month with their total and its notes.
fn month(month: &BillMonth, currency: Option<&str>) -> Table {
    let part = if month.complete {
        String::new()
    } else {
        format!(
            "part month, {} to {}: not comparable with other months; readings for {} of the month",
            format_date(month.from),
            format_date(month.to.pred_opt().unwrap_or(month.to)),
            format_percent(month.covered_pct)
        )
    };
    lines(
        format!("Bill for {}", month_name(&month.month)),
        &month.lines,
        currency,
    )
    .with_method(part)
    .with_total("total", [("amount", Cell::Decimal(month.total))])
    .with_notes(
        month
            .marginal_kilowatt
            .as_ref()
            .map(MarginalKilowatt::sentence),
    )
    .with_notes(month.notes.iter().cloned())
}

/// A table for each month, for terminal and page.
#[must_use]
pub fn month_tables(bill: &Bill) -> Vec<Table> {
    let months = bill.months.iter();
    months
        .map(|one| month(one, bill.currency.as_deref()))
        .collect()
}

fn months(bill: &Bill, currency: Option<&str>) -> Table {
    columns! { month in &BillMonth;
        month: words("Month") => &month.month;
        from: words("From") => month.from;
        to: words("To, not included") => month.to;
        complete: words("Complete") => month.complete;
        covered_pct: number("Coverage of the month", Q::Percent) => month.covered_pct;
        total: money("Total", currency) => month.total;
        marginal_kilowatt: money("Saving per kW less at the peak", currency)
            => month.marginal_kilowatt.as_ref().map(|one| one.saving);
    }
    .table(
        "bill-months",
        "Bill by month; a part month is not comparable with others",
        &bill.months,
    )
}

fn days(by_day: &[CostDay], currency: Option<&str>) -> Table {
    columns! { day in &CostDay;
        date: words("Up to the end of") => day.date;
        energy: money("Energy", currency) => day.energy;
        demand: money("Demand", currency) => day.demand;
        standing: money("Standing and capacity charges", currency) => day.standing;
        reactive: money("Reactive energy and power factor", currency) => day.reactive;
        tax: money("Tax", currency) => day.tax;
        total: money("Total", currency) => day.total;
    }
    .table("bill-days", "Running total of the bill by day", by_day)
}

/// One row for each line.
#[must_use]
pub fn bill_lines(bill: &Bill) -> Table {
    let all = bill.months.iter().flat_map(|month| &month.lines);
    lines(String::new(), all, None)
}

/// All months as text, with the total, the rounding and what the bill leaves out.
#[must_use]
pub fn bill_text(bill: &Bill) -> String {
    let currency = bill.currency.as_deref().unwrap_or("currency not given");
    let mut text = format!("\nBill of meter {} ({currency})\n", plain(&bill.meter));
    text.extend(month_tables(bill).iter().map(Table::text));
    if bill.months.len() > 1 {
        let total = grouped_digits(&bill.total.to_string());
        let _ = writeln!(text, "\n  Total of all months: {total}");
    }
    let _ = writeln!(text, "\n  Rounding: {}.", bill.rounding);
    for note in &bill.notes {
        let _ = writeln!(text, "  - {}", plain(note));
    }
    text
}
