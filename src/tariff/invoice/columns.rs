//! The columns of an invoice.

use declaration::{Declared, Key, ValueKind};

/// A supplier's invoice, for `tapoff energy --invoice FILE`.
pub static INVOICE: Declared = Declared {
    meaning: "A supplier's invoice, to be checked against the bill (`tapoff energy SITE --invoice FILE`). One row for each \
              line. Columns of your own begin with x_.",
    keys: &[
        Key::text(
            "line",
            "standing charge",
            "Name of the line, as the invoice prints it.",
        )
        .required(),
        Key::new("from", ValueKind::Form("a date"), "First day of the line.")
            .required()
            .example("2026-03-01"),
        Key::new(
            "to",
            ValueKind::Form("a date"),
            "The day after the last day of the line.",
        )
        .required()
        .example("2026-04-01"),
        Key::new(
            "quantity",
            ValueKind::Form("a number"),
            "Quantity, as far as it is printed.",
        )
        .example("31"),
        Key::text("unit", "days", "Unit of the quantity."),
        Key::new(
            "rate",
            ValueKind::Form("a number"),
            "Price of one unit, as far as it is printed.",
        )
        .example("0.85"),
        Key::new(
            "amount",
            ValueKind::Form("a number"),
            "Amount of the line, in your currency.",
        )
        .required()
        .example("26.35"),
        Key::text(
            "site",
            "Ferry Lane Joinery",
            "Name of the site, as the bill's CSV has it; nothing is compared with it.",
        ),
        Key::text(
            "meter",
            "main",
            "The meter of the supply, as the bill's CSV has it; nothing is compared with it.",
        ),
        Key::text("note", "part month", "Your own note."),
    ],
};
