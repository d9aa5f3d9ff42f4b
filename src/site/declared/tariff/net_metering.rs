//! Credit for exported energy that is carried to later billing periods.

use declaration::{Declared, Key, ValueKind};

use super::common::{HIGHEST_PRICE, MOST_KWH};

pub(super) static NET_METERING: Declared = Declared {
    meaning: "Exported energy as a credit, which later billing periods use: in kWh, deducted from the imported energy of the \
              same band, or in money, at the prices of `export`.",
    keys: &[
        Key::new(
            "credit",
            ValueKind::Word(&["kWh", "money"]),
            "What is credited. kWh: what is left of a band is kept for that band. Money: what is paid for export reduces \
             the other lines, never below zero or `minimum_per_month`, and the rest is carried forward.",
        )
        .required()
        .example("\"kWh\""),
        Key::new(
            "settled_on",
            ValueKind::Form("month and day such as \"04-01\""),
            "Day of the year on which the credit that is left ends: at the end of the billing period that reaches it.",
        )
        .or_else("the credit never ends")
        .example("\"04-01\"")
        .needs("credit = \"kWh\""),
        Key::number(
            "pays_per_kwh",
            (0.0, HIGHEST_PRICE, "per kWh"),
            "0.03",
            "Price at which kWh that are left are paid out, after taxes.",
        )
        .or_else("they expire")
        .needs("credit = \"kWh\", settled_on = \"04-01\""),
        Key::number(
            "pays_share",
            (0.0, 1.0, ""),
            "0.5",
            "Share of the money that is left that is paid out, after taxes.",
        )
        .or_else("it expires")
        .needs("credit = \"money\", settled_on = \"04-01\""),
        Key::number(
            "opening_credit",
            (0.0, MOST_KWH, ""),
            "120",
            "Credit at the start of the log, in kWh (of the first band) or money.",
        )
        .or("0")
        .needs("credit = \"kWh\""),
        Key::new(
            "sets",
            ValueKind::Texts("names of prices of energy"),
            "Prices of energy from which a credit in kWh is deducted: `energy`, and names of `energy_sets`.",
        )
        .or_else("all of them")
        .example("[\"energy\"]")
        .needs("credit = \"kWh\""),
        Key::new(
            "on",
            ValueKind::Texts(
                "kinds or names of lines: standing, energy, demand, capacity, reactive, levies, all",
            ),
            "Lines that a credit in money reduces.",
        )
        .or_else("all lines before taxes")
        .example("[\"energy\"]")
        .needs("credit = \"money\""),
    ],
};
