//! Result of comparing a line of an invoice with the bill.

use schemars::JsonSchema;
use serde::Serialize;

/// Result of comparing a line of the invoice with the bill.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Amount, and what is printed of quantity and rate, agree.
    Agrees,
    /// Quantity and rate agree; the amounts differ by what rounding may do.
    Rounding,
    /// The quantity differs.
    Quantity,
    /// The rate differs.
    Rate,
    /// Both differ.
    QuantityAndRate,
    /// The amount differs, and quantity and rate do not show why.
    Amount,
    /// A line that the tariff gives and the invoice lacks.
    NotOnInvoice,
    /// A line that the tariff does not give.
    NotInTariff,
}

impl Verdict {
    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Verdict::Agrees => "agrees",
            Verdict::Rounding => "agrees except for rounding",
            Verdict::Quantity => "quantity differs",
            Verdict::Rate => "rate differs",
            Verdict::QuantityAndRate => "quantity and rate differ",
            Verdict::Amount => "amount differs",
            Verdict::NotOnInvoice => "not on the invoice",
            Verdict::NotInTariff => "not in the tariff",
        }
    }
}
