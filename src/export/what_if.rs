//! What other terms would have cost, as text and CSV.

use std::fmt::Write as _;

use tables::{Table, columns, money, plain, words};
use tariff::{TariffChoice, WhatIf};
use units::{format_days, grouped_digits};

/// The tariffs, the cheapest first.
#[must_use]
pub fn what_if_table(found: &WhatIf) -> Table {
    let currency = found.currency.as_deref();
    columns! { choice in &TariffChoice;
        tariff: words("Tariff") => &choice.tariff;
        total: money("Bill", currency) => choice.total;
        notes: words("Not billed").optional() => choice.notes.join("; ");
    }
    .table(
        "tariffs",
        format!("Bill by each tariff, {}", format_days(found.from, found.to)),
        &found.tariffs,
    )
}

/// The tariffs, and the agreed capacity that would have cost least.
#[must_use]
pub fn what_if_text(found: &WhatIf) -> String {
    let mut out = what_if_table(found).text().trim_start().to_owned();
    let currency = found.currency.as_deref().unwrap_or("currency not given");
    if let Some(choice) = &found.capacity {
        let amount = |value: rust_decimal::Decimal| grouped_digits(&value.to_string());
        let _ = writeln!(
            out,
            "\nAgreed capacity: {} kVA cost {} ({}); {} kVA would have cost least, {}.",
            choice.agreed_kva.normalize(),
            amount(choice.total),
            plain(currency),
            choice.least_kva,
            amount(choice.least_total),
        );
        let _ = writeln!(
            out,
            "From {} to {} kVA the bill is within a thousandth of that. Past demand does not limit future demand: keep room for what is planned.",
            choice.near_from_kva, choice.near_to_kva
        );
    }
    out
}
