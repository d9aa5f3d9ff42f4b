//! The bill as sheets: its lines, and its months.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::sheet::{Cell, Sheet, column};
use tariff::{Bill, CostDay};

/// Lines and months of a bill, and what it has come to by each day; none without one.
pub(super) fn bill_sheets(bill: Option<&Bill>, by_day: &[CostDay]) -> Vec<Sheet> {
    bill.map_or_else(Vec::new, |bill| {
        let currency = bill.currency.as_deref();
        vec![lines(bill), months(bill), days(by_day, currency)]
    })
}

fn days(by_day: &[CostDay], currency: Option<&str>) -> Sheet {
    let rows = by_day.iter().map(|day| {
        let parts = [
            day.energy,
            day.demand,
            day.standing,
            day.reactive,
            day.tax,
            day.total,
        ];
        let date = std::iter::once(Cell::Date(day.date));
        date.chain(parts.into_iter().map(amount)).collect()
    });
    let part = |key: &'static str, head: &str| column(key, &money(head, currency), 2);
    Sheet {
        name: "bill-days",
        title: "The bill as it would stand, had the log ended with each day".to_owned(),
        columns: vec![
            column("date", "end of", 0),
            part("energy", "energy"),
            part("demand", "demand"),
            part("standing", "standing and capacity"),
            part("reactive", "reactive and power factor"),
            part("tax", "tax"),
            part("total", "together"),
        ],
        rows: rows.collect(),
    }
}

/// One row for each line; how a quantity comes about only where a line has something to say of it.
fn lines(bill: &Bill) -> Sheet {
    let currency = bill.currency.as_deref();
    let all = || bill.months.iter().flat_map(|month| &month.lines);
    let remarked = all().any(|line| line.remark().is_some());
    let rows = all().map(|line| {
        let mut row = vec![
            Cell::Text(line.line.clone()),
            Cell::Date(line.from),
            Cell::Date(line.to),
            amount(line.quantity),
            Cell::Text(line.unit.clone()),
            amount(line.rate),
            amount(line.amount),
        ];
        row.extend(remarked.then(|| Cell::Text(line.remark().unwrap_or_default())));
        row
    });
    let mut columns = vec![
        column("line", "line", 0),
        column("from", "from", 0),
        column("to", "to, the day after", 0),
        column("quantity", "quantity (in its unit)", 3),
        column("unit", "unit", 0),
        column("rate", &money("rate per unit, of a tax %", currency), 6),
        column("amount", &money("amount", currency), 2),
    ];
    columns.extend(remarked.then(|| column("note", "how it comes about", 0)));
    Sheet {
        name: "bill",
        title: format!("The bill of meter {}, line by line", bill.meter),
        columns,
        rows: rows.collect(),
    }
}

fn months(bill: &Bill) -> Sheet {
    let currency = bill.currency.as_deref();
    let rows = bill.months.iter().map(|month| {
        vec![
            Cell::Text(month.month.clone()),
            Cell::Date(month.from),
            Cell::Date(month.to),
            month.complete.into(),
            month.covered_pct.into(),
            amount(month.total),
            Cell::Number(
                month
                    .one_kw_less
                    .as_ref()
                    .and_then(|one| one.saving.to_f64()),
            ),
        ]
    });
    Sheet {
        name: "bill-months",
        title: "The bill by month; a part of a month compares with no other".to_owned(),
        columns: vec![
            column("month", "month", 0),
            column("from", "from", 0),
            column("to", "to, the day after", 0),
            column("complete", "complete", 0),
            column("covered_pct", "of the month with readings (%)", 1),
            column("total", &money("total", currency), 2),
            column(
                "one_kw_less",
                &money("worth of one kW less at the peak", currency),
                2,
            ),
        ],
        rows: rows.collect(),
    }
}

fn amount(value: Decimal) -> Cell {
    Cell::Number(value.to_f64())
}

/// `amount (GBP)`; without a currency nothing stands in its place.
pub(super) fn money(head: &str, currency: Option<&str>) -> String {
    currency.map_or_else(
        || head.to_owned(),
        |currency| format!("{head} ({currency})"),
    )
}
