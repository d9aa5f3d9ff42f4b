//! The table `bills`: each line of the bill of each billing period.

use super::{Analysed, flags};
use tables::{StoredAs, Table, columns, exact, fixed, words};
use tariff::{BillLine, BillMonth};

/// A row for each line.
pub(super) fn bills(found: &Analysed<'_>) -> Table {
    let bill = found.energy.cost.as_ref();
    let currency = bill.and_then(|bill| bill.currency.clone());
    let months = bill.into_iter().flat_map(|bill| &bill.months);
    let rows = months.flat_map(|month| month.lines.iter().map(move |line| (month, line)));
    let dates = |head: &'static str| words(head).stored_as(StoredAs::Date);
    columns! { (month, line) in (&BillMonth, &BillLine);
        billing_period: words("Billing period") => &month.month;
        period_from: dates("Period from") => month.from;
        period_to: dates("Period to, not included") => month.to;
        complete: flags("Complete") => month.complete;
        line: words("Line") => &line.line;
        from: dates("From") => line.from;
        to: dates("To, not included") => line.to;
        quantity: exact("Quantity", "") => line.quantity;
        unit: words("Unit") => &line.unit;
        rate: exact("Rate per unit", "") => line.rate;
        amount: fixed("Amount", "", 2) => line.amount;
        currency: words("Currency") => currency.clone();
    }
    .table("bills", "Bills, line by line", rows)
}
