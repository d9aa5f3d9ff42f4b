//! The bill, month by month and line by line.

use export::month_tables;
use tables::{Table, quoted};
use tariff::Bill;
use units::grouped_digits;

/// The bill as the page shows it.
#[derive(Debug)]
pub(super) struct BillView {
    /// `GBP`; empty where none is given.
    pub(super) currency: String,
    /// Cost of the whole log.
    pub(super) total: String,
    pub(super) months: Vec<Table>,
    /// Rounding, and what is not billed.
    pub(super) notes: Vec<String>,
}

impl BillView {
    pub(super) fn new(bill: &Bill) -> BillView {
        let rounding = std::iter::once(format!("Rounding: {}.", bill.rounding));
        BillView {
            months: month_tables(bill),
            total: grouped_digits(&bill.total.to_string()),
            currency: bill.currency.clone().unwrap_or_default(),
            notes: rounding
                .chain(bill.notes.iter().map(|note| quoted(note)))
                .collect(),
        }
    }
}
