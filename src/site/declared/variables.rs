//! `[[variable]]` and `[baseline]`.

use declaration::{Declared, Key, ValueKind};

pub(super) static VARIABLE: Declared = Declared {
    meaning: "A relevant variable (ISO 50006): a series of your own that the energy may depend on, such as outdoor \
              temperature or pieces made.",
    keys: &[
        Key::text("name", "\"heating degree days\"", "Name of the variable.").required(),
        Key::text(
            "file",
            "\"variables.csv\"",
            "The CSV file, inside the site folder. Several variables may share it.",
        )
        .required(),
        Key::text("column", "\"outdoor_c\"", "Column with its values.").required(),
        Key::text("time", "\"date\"", "Column with the dates.").or_else("the first column"),
        Key::new(
            "per",
            ValueKind::Word(&["hour", "day", "week", "month"]),
            "What one row of the file covers.",
        )
        .or("\"day\"")
        .example("\"month\""),
        Key::text(
            "unit",
            "\"pieces\"",
            "Unit of the values, for tables and charts.",
        ),
        Key::number(
            "heating_base_c",
            (-50.0, 60.0, "°C"),
            "15.5",
            "Base temperature of heating degree days. The values are then temperatures, hourly or daily, from which the \
             degree days are calculated.",
        ),
        Key::number(
            "cooling_base_c",
            (-50.0, 60.0, "°C"),
            "18",
            "The same for cooling degree days.",
        ),
    ],
};

pub(super) static BASELINE: Declared = Declared {
    meaning: "The period with which energy is compared, and what the comparison takes into account. \
              `tapoff energy --baseline` comes first.",
    keys: &[
        Key::new(
            "from",
            ValueKind::Form("a date"),
            "First day of the baseline period.",
        )
        .example("\"2026-01-01\""),
        Key::new(
            "to",
            ValueKind::Form("a date"),
            "First day after the baseline period.",
        )
        .example("\"2026-04-01\""),
        Key::new(
            "by",
            ValueKind::Word(&["day", "week", "month"]),
            "Length of the periods that are compared.",
        )
        .or("\"day\"")
        .example("\"week\""),
        Key::text("meter", "\"main\"", "The meter whose energy is compared.")
            .or_else("the meter of the supply"),
        Key::new(
            "goes_by",
            ValueKind::Texts("variables, and \"day type\" for working days, Saturdays and Sundays"),
            "What the energy depends on.",
        )
        .or_else("the day type and every variable")
        .example("[\"day type\", \"heating degree days\"]"),
    ],
};
