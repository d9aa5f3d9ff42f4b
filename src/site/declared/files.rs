//! The columns of the other files of a site.

use crate::read::supply::LARGEST_CURRENT_A;
use declaration::{Declared, Key, ValueKind};

/// Rounds of clamp-meter readings.
pub static READINGS: Declared = Declared {
    meaning: "readings.csv, .xlsx or .ods: rounds of clamp-meter readings, optional. One row for each place with the time at which it was \
              read. Columns of your own begin with x_.",
    keys: &[
        Key::new(
            "time",
            ValueKind::Form("a local time, or one with its offset such as 2026-03-09T10:30+01:00"),
            "When it was read. Without the column round, rows less than 30 minutes after the first of a round belong to it, \
             until a place is read again.",
        )
        .required()
        .example("2026-03-09 10:30"),
        Key::new(
            "date",
            ValueKind::Form("a date"),
            "The date, where the column time has the time of day alone.",
        )
        .example("2026-03-09"),
        Key::text(
            "at",
            "supply",
            "Where: supply, or the name of a board, circuit or machine.",
        )
        .required(),
        Key::number(
            "l1_a",
            (-LARGEST_CURRENT_A, LARGEST_CURRENT_A, "A"),
            "41.2",
            "Current of L1, rms. Empty where it was not read; negative where it flows back to the source (generation).",
        )
        .required(),
        Key::number(
            "l2_a",
            (-LARGEST_CURRENT_A, LARGEST_CURRENT_A, "A"),
            "28.5",
            "Current of L2, rms.",
        )
        .required(),
        Key::number(
            "l3_a",
            (-LARGEST_CURRENT_A, LARGEST_CURRENT_A, "A"),
            "35.1",
            "Current of L3, rms.",
        )
        .required(),
        Key::number(
            "n_a",
            (0.0, LARGEST_CURRENT_A, "A"),
            "12.4",
            "Current of the neutral, rms.",
        ),
        Key::text(
            "round",
            "1",
            "A word or number that all rows of a round have in common; an empty cell takes that of the row above.",
        )
        .or_else("rounds by time"),
    ],
};

/// Switching tests.
pub static SWITCHING: Declared = Declared {
    meaning: "switching.csv: machines that were switched on and off on purpose, one by one, while the supply was logged or \
              between two rounds of clamp readings; optional. `tapoff phases` looks for each step on each phase. Columns of \
              your own begin with x_.",
    keys: &[
        Key::new(
            "time",
            ValueKind::Form("a local time, or one with its offset such as 2026-03-09T10:30+01:00"),
            "When it was switched, to the minute; the time of day alone where the row above has the date.",
        )
        .required()
        .example("2026-03-09 10:30"),
        Key::text("machine", "Kiln", "The machine, as the machine list names it.").required(),
        Key::new(
            "state",
            ValueKind::Form("on or off"),
            "Whether it was switched on or off.",
        )
        .required()
        .example("on"),
    ],
};

/// The file of a `[[variable]]`.
pub static VARIABLE_FILE: Declared = Declared {
    meaning: "The CSV file that a [[variable]] names. Its columns have the names that `time` and `column` give; other \
              columns are ignored.",
    keys: &[
        Key::new(
            "time",
            ValueKind::Form("a date; with per = \"hour\" 2026-03-09 13:00, \"week\" 2026-W11, \"month\" 2026-03"),
            "The hour, day, week or month of the row.",
        )
        .required()
        .example("2026-03-09"),
        Key::new(
            "outdoor_c",
            ValueKind::Form("a number"),
            "The variable's value. Empty where it is not known.",
        )
        .required()
        .example("7.5"),
    ],
};

/// The file that `[carbon]` names.
pub static CARBON_FILE: Declared = Declared {
    meaning: "The CSV file that [carbon] names: a carbon factor for each half-hour or hour.",
    keys: &[
        Key::new(
            "time",
            ValueKind::Form("a local time"),
            "The time from which the factor applies.",
        )
        .required()
        .example("2026-03-09 00:00"),
        Key::number("g_per_kwh", (0.0, 5000.0, "g/kWh"), "182", "The factor.").required(),
    ],
};
