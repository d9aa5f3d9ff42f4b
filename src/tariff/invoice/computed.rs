//! What the bill has for a line of an invoice.

use rust_decimal::Decimal;

use super::line::InvoiceLine;
use crate::bill_line::LineKind;
use crate::{Bill, BillLine};

pub(super) fn bill_lines(bill: &Bill) -> impl Iterator<Item = &BillLine> {
    bill.months.iter().flat_map(|month| &month.lines)
}

/// What the bill has for a line: its lines of that name taken together.
#[derive(Clone, Debug, Default)]
pub(super) struct Computed {
    pub(super) quantity: Decimal,
    pub(super) unit: String,
    /// `None` where several hold.
    pub(super) rate: Option<Decimal>,
    pub(super) amount: Decimal,
    pub(super) kind: Option<LineKind>,
    /// Is the rate in hundredths of the quantity?
    pub(super) percent: bool,
    /// Is a part of the rate due for a part of the month?
    pub(super) by_month: bool,
}

pub(super) fn computed(bill: &Bill, line: &InvoiceLine) -> Option<Computed> {
    let is_own = bill_lines(bill).any(|own| line.is_named(&own.line));
    let mut own = bill_lines(bill).filter(|own| {
        if is_own {
            line.is_named(&own.line)
        } else {
            line.is_head_of(own)
        }
    });
    let first = own.next()?;
    let mut all = Computed {
        quantity: first.quantity,
        unit: first.unit.clone(),
        rate: Some(first.rate),
        amount: first.amount,
        kind: Some(first.kind),
        percent: first.percent,
        by_month: first.share.is_some() || first.kind == LineKind::Demand,
    };
    for more in own {
        // The month's highest demand period is one, though two prices share it.
        if more.share.is_none() {
            all.quantity += more.quantity;
        }
        all.rate = all.rate.filter(|rate| *rate == more.rate);
        all.amount += more.amount;
    }
    Some(all)
}
