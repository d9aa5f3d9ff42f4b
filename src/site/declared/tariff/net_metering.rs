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
        .example("\"04-01\""),
        Key::number(
            "settlement_rate",
            (0.0, HIGHEST_PRICE, ""),
            "0.03",
            "What is then paid out, after taxes: price of each kWh that is left, or share of the money that is left.",
        )
        .or_else("what is left expires")
        .needs("settled_on = \"04-01\""),
        Key::number(
            "opening_credit",
            (0.0, MOST_KWH, ""),
            "120",
            "Credit at the start of the log, in kWh (of the first band) or money.",
        )
        .or("0"),
        Key::new(
            "on",
            ValueKind::Texts("names or kinds of lines"),
            "What the credit is deducted from. kWh: `energy` and names of `energy_sets`. Money: names or kinds of lines, as for \
             levies.",
        )
        .or_else("all prices of energy, or all lines before taxes")
        .example("[\"energy\"]"),
    ],
};
