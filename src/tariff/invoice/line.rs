//! One line of an invoice, as it is printed.

use chrono::NaiveDate;
use rust_decimal::Decimal;

use crate::{BillLine, LineKind};

/// What an invoice says; what it does not print is `None`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct InvoiceLine {
    /// Its name: that of a line of the bill.
    pub line: String,
    /// First local date.
    pub from: NaiveDate,
    /// The local date after the last.
    pub to: NaiveDate,
    /// How much.
    pub quantity: Option<Decimal>,
    /// In which unit.
    pub unit: Option<String>,
    /// Price of one unit; of a tax, the percentage.
    pub rate: Option<Decimal>,
    /// What is charged.
    pub amount: Decimal,
}

impl InvoiceLine {
    /// Is it of this name? Case and blanks do not matter.
    #[must_use]
    pub fn is_named(&self, name: &str) -> bool {
        let plain = |text: &str| {
            text.split_whitespace()
                .collect::<Vec<_>>()
                .join(" ")
                .to_lowercase()
        };
        plain(&self.line) == plain(name)
    }

    /// Is it one line for several of a kind, such as `energy` for those of all bands?
    #[must_use]
    pub fn is_head_of(&self, line: &BillLine) -> bool {
        let (head, own) = (self.line.trim().to_lowercase(), line.line.to_lowercase());
        let rest = own.strip_prefix(&head);
        matches!(line.kind, LineKind::Energy | LineKind::Export)
            && rest.is_some_and(|rest| rest.starts_with(' '))
    }

    /// Does it represent this line of the bill: the same name or that of its kind, days in common?
    #[must_use]
    pub fn stands_for(&self, line: &BillLine) -> bool {
        (self.is_named(&line.line) || self.is_head_of(line))
            && self.from < line.to
            && line.from < self.to
    }
}

/// Half of the last digit that is printed: what rounding may hide.
pub(super) fn half_digit(printed: Decimal) -> Decimal {
    Decimal::new(5, printed.scale() + 1)
}

/// Equal as far as a printed number shows it.
pub(super) fn agrees(printed: Decimal, computed: Decimal) -> bool {
    (printed - computed).abs() <= half_digit(printed)
}
