//! What other terms would have cost, as text and CSV.

use std::fmt::Write as _;

use tables::{Table, columns, exact, money, number, plain, words};
use tariff::{CorrectionChoice, ShiftChoice, TariffChoice, WhatIf};
use units::{FigureKind, format_days, format_number, grouped_digits};

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

/// Load shifted to other hours, the largest saving first.
fn shifts_table(found: &WhatIf) -> Table {
    let currency = found.currency.as_deref();
    columns! { choice in &ShiftChoice;
        out_of: words("Out of") => &choice.out_of;
        out_of_hours: words("Hours") => &choice.out_of_hours;
        into_hours: words("Into the hours") => &choice.into_hours;
        kw: exact("Load", "kW") => choice.kw;
        moved_kwh: number("Energy", FigureKind::ActiveEnergy) => choice.moved_kwh;
        total: money("Bill", currency) => choice.total;
        saving: money("Saving", currency) => choice.saving;
    }
    .table(
        "shifts",
        "Load shifted to the cheapest hours of the same day, spread evenly",
        &found.shifts,
    )
}

/// The tariffs, the agreed capacity that would have cost least, load shifted and capacitors.
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
    if !found.shifts.is_empty() {
        let _ = write!(out, "\n{}", shifts_table(found).text().trim_start());
    }
    if let Some(choice) = &found.correction {
        let _ = writeln!(out, "\n{}", correction_text(choice, currency));
    }
    if !found.notes.is_empty() {
        out.push('\n');
    }
    for note in &found.notes {
        let _ = writeln!(out, "{note}");
    }
    out
}

fn correction_text(choice: &CorrectionChoice, currency: &str) -> String {
    let kvar = |value: f64| format_number(value, 2);
    format!(
        "Capacitors of {} kvar, in steps of {} kvar switched as the load needs them, give {}: the bill is {} {}, a saving of {}. {}",
        kvar(choice.kvar),
        kvar(choice.kvar_step),
        choice.aim,
        plain(currency),
        grouped_digits(&choice.total.to_string()),
        grouped_digits(&choice.saving.to_string()),
        choice.caution,
    )
}
