//! The sheet `Tariff` of a site kept in one workbook: a row for each price.

use super::sheet_column::{SiteSheet, column};

const CHARGES: &[&str] = &[
    "standing",
    "energy",
    "demand",
    "capacity",
    "excess capacity",
    "reactive",
    "levy",
    "tax",
    "export",
];
const PER: &[&str] = &[
    "day",
    "month",
    "kWh",
    "kW month",
    "kVA month",
    "kW day",
    "kVA day",
    "kvarh",
    "%",
];

pub(super) const TARIFF_SHEET: SiteSheet = SiteSheet {
    name: "Tariff",
    table: "tariff",
    row_is: "a price",
    columns: &[
        column(
            "Charge",
            "charge",
            &["charge", "kind", "kind of charge"],
            "energy",
            "What the price is for.",
        )
        .choices(CHARGES),
        column(
            "Name",
            "name",
            &["name", "band", "line"],
            "day",
            "Name on the bill: of a band of energy, a demand charge, a levy, a tax.",
        ),
        column(
            "Rate",
            "rate",
            &["rate", "price"],
            "0.21",
            "In your currency, before tax; of a tax or discount, per cent.",
        )
        .number(),
        column(
            "Per",
            "per",
            &["per", "unit", "by"],
            "kWh",
            "What the price is by.",
        )
        .choices(PER),
        column(
            "Quantity",
            "quantity",
            &["quantity", "amount", "kva"],
            "",
            "Capacity: agreed kVA. Reactive energy: free kvarh for each kWh.",
        )
        .number(),
        column(
            "Days",
            "days",
            &["days"],
            "Mon-Fri",
            "Such as Mon-Fri; empty: all. Of several prices of energy, one without times is for all other times.",
        ),
        column(
            "From",
            "from",
            &["from", "start"],
            "07:00",
            "Local time, a full quarter-hour.",
        ),
        column("To", "to", &["to", "end", "until"], "19:00", "Local time."),
        column(
            "Months",
            "months",
            &["months", "season"],
            "",
            "Such as 11-3; empty: all.",
        ),
        column(
            "Applies from",
            "begins",
            &["applies from", "valid from", "date", "begins"],
            "2026-01-01",
            "First day of the price. Empty: as the row above.",
        ),
    ],
};
