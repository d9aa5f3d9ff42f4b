//! Levies, taxes and rounding.

use declaration::{Declared, Key, ValueKind};

use super::common::{HIGHEST_PRICE, MOST_KWH};

pub(super) static LEVY: Declared = Declared {
    meaning: "A levy, or a discount where its rate is negative. They are added in their order, before taxes.",
    keys: &[
        Key::text("levy", "\"climate levy\"", "Name of its line on the bill.").required(),
        Key::new(
            "per",
            ValueKind::Word(&["kWh", "demand", "day", "month", "%"]),
            "What it is charged by: energy, the first demand that is billed, days, months, or per cent of other lines.",
        )
        .required()
        .example("\"%\""),
        Key::number(
            "rate",
            (-HIGHEST_PRICE, HIGHEST_PRICE, ""),
            "0.00775",
            "Price of a unit, or per cent.",
        )
        .required(),
        Key::number(
            "free",
            (0.0, MOST_KWH, ""),
            "1000",
            "So much of a month's quantity is free.",
        )
        .or("0"),
        Key::new(
            "on",
            ValueKind::Texts("kinds or names of lines: standing, energy, demand, capacity, reactive, levies, taxes, all"),
            "Which lines a percentage is of.",
        )
        .or_else("all lines before it but taxes")
        .example("[\"energy\"]"),
    ],
};

pub(super) static TAX: Declared = Declared {
    meaning: "A tax. Several are added in their order; one may tax those before it.",
    keys: &[
        Key::text("tax", "\"VAT\"", "Name of its line on the bill.").required(),
        Key::number("pct", (0.0, 100.0, "%"), "20", "Per cent.").required(),
        Key::number(
            "free",
            (0.0, MOST_KWH, ""),
            "100",
            "So much of a month's amount is not taxed.",
        )
        .or("0"),
        Key::new(
            "on",
            ValueKind::Texts("kinds or names of lines: standing, energy, demand, capacity, reactive, levies, taxes, all"),
            "What is taxed.",
        )
        .or_else("all lines before it but taxes")
        .example("[\"energy\", \"levies\"]"),
    ],
};

pub(super) static ROUNDING: Declared = Declared {
    meaning: "How the contract rounds, where it is not to three decimals of a quantity and the smaller unit of the currency.",
    keys: &[
        Key::new(
            "quantity_decimals",
            ValueKind::Whole(0, 6),
            "Decimals of quantities.",
        )
        .or("3")
        .example("0"),
        Key::new(
            "quantities",
            ValueKind::Word(&["half-up", "half-even", "down", "up"]),
            "What becomes of their further digits. Exact halves go away from zero, or to the even digit.",
        )
        .or("\"half-up\"")
        .example("\"down\""),
        Key::new(
            "amount_decimals",
            ValueKind::Whole(0, 6),
            "Decimals of amounts.",
        )
        .or_else("those of the currency")
        .example("2"),
        Key::new(
            "amounts",
            ValueKind::Word(&["half-up", "half-even", "down", "up"]),
            "What becomes of their further digits.",
        )
        .or("\"half-up\"")
        .example("\"half-even\""),
    ],
};
