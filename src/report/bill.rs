//! What it costs, month by month and line by line.

use rust_decimal::Decimal;

use super::format::quoted;
use super::table::Table;
use tariff::{Bill, BillMonth};
use units::grouped_digits;

/// The bill as the page shows it.
#[derive(Debug)]
pub(super) struct BillView {
    /// `GBP`; empty where no currency is named.
    pub(super) currency: String,
    /// What the whole log costs.
    pub(super) total: String,
    pub(super) months: Vec<MonthView>,
    /// Rounding, and what is not billed.
    pub(super) notes: Vec<String>,
}

/// One month.
#[derive(Debug)]
pub(super) struct MonthView {
    pub(super) title: String,
    /// What part of the month the log has; empty where it has all of it.
    pub(super) part: String,
    pub(super) lines: Table,
    pub(super) notes: Vec<String>,
}

impl BillView {
    pub(super) fn new(bill: &Bill) -> BillView {
        let currency = bill.currency.clone().unwrap_or_default();
        let rounding = std::iter::once(format!("Rounding: {}.", bill.rounding));
        BillView {
            months: bill
                .months
                .iter()
                .map(|month| MonthView::new(month, &currency))
                .collect(),
            total: money(bill.total),
            currency,
            notes: rounding
                .chain(bill.notes.iter().map(|note| quoted(note)))
                .collect(),
        }
    }
}

impl MonthView {
    fn new(month: &BillMonth, currency: &str) -> MonthView {
        let mut rows: Vec<Vec<String>> = month
            .lines
            .iter()
            .map(|line| {
                let (quantity, unit, rate) = line.figures();
                vec![
                    line.line.clone(),
                    format!("{}\u{A0}{unit}", grouped_digits(&quantity)),
                    rate,
                    money(line.amount),
                    line.remark().unwrap_or_default(),
                ]
            })
            .collect();
        let nothing = String::new;
        rows.push(vec![
            "together".to_owned(),
            nothing(),
            nothing(),
            money(month.total),
            nothing(),
        ]);
        let amount = if currency.is_empty() {
            "#Amount".to_owned()
        } else {
            format!("#Amount [{currency}]")
        };
        let part = if month.complete {
            String::new()
        } else {
            format!(
                "A part of the month only: {} to {}, with readings for {:.1}\u{A0}% of it. It compares with no other month.",
                month.from,
                month.to.pred_opt().unwrap_or(month.to),
                month.covered_pct
            )
        };
        let mut heads = vec!["Line", "#Quantity", "#Rate", &amount, "How it comes about"];
        if month.lines.iter().all(|line| line.remark().is_none()) {
            heads.pop();
            for row in &mut rows {
                row.truncate(heads.len());
            }
        }
        MonthView {
            lines: Table::new(&format!("Bill of {}", month.month), &heads, rows),
            title: month.month.clone(),
            part,
            notes: month
                .one_kw_less
                .iter()
                .map(tariff::OneLess::sentence)
                .chain(month.notes.iter().cloned())
                .collect(),
        }
    }
}

fn money(amount: Decimal) -> String {
    grouped_digits(&amount.to_string()).replace('-', "−")
}
