//! Prices of reactive energy and of a low power factor.

use declaration::{Declared, Key, ValueKind};

use super::common::{DAYS, HIGHEST_PRICE, window};

pub(super) static REACTIVE: Declared = {
    const WINDOW: [Key; 4] = window(
        DAYS,
        [
            "Days on which the charge applies.",
            "Months in which the charge applies.",
            "Start, local time. The free share is that of the kWh in the same hours.",
            "End, local time.",
        ],
        "",
    );
    Declared {
    meaning: "Price of reactive energy above a free share. Several may be written as a list.",
    keys: &[
        Key::number(
            "free_share_of_kwh",
            (0.0, 10.0, "kvarh/kWh"),
            "0.33",
            "Reactive energy that is free for each kWh of the month.",
        )
        .required(),
        Key::number(
            "rate_per_kvarh",
            (0.0, HIGHEST_PRICE, "per kvarh"),
            "0.006",
            "Price of what is above the free share.",
        )
        .required(),
        Key::text(
            "charge",
            "\"leading\"",
            "Name of the charge, where there are several.",
        ),
        Key::new(
            "of",
            ValueKind::Word(&["lagging", "leading", "net"]),
            "Which reactive energy: lagging, leading, or lagging less leading.",
        )
        .or("\"lagging\"")
        .example("\"net\""),
        Key::new(
            "share_of",
            ValueKind::Word(&["month", "quarter-hour"]),
            "Is the free share that of the month, or of each quarter-hour?",
        )
        .or("\"month\"")
        .example("\"quarter-hour\""),
        Key::tables("steps", &REACTIVE_STEP)
            .example("[ { above_share_of_kwh = 0.75, rate_per_kvarh = 0.011 } ]"),
        WINDOW[0],
        WINDOW[1],
        WINDOW[2],
        WINDOW[3],
        Key::new(
            "while",
            ValueKind::Word(&["import", "export"]),
            "Count only quarter-hours in which active energy is imported on balance, or exported: with `of` one of the \
             four quadrants. While energy is exported, the free share is that of the kWh exported.",
        )
        .example("\"export\""),
    ],
}
};

static REACTIVE_STEP: Declared = Declared {
    meaning: "A further price of reactive energy above a larger share (a tangent of φ).",
    keys: &[
        Key::number(
            "above_share_of_kwh",
            (0.0, 10.0, "kvarh/kWh"),
            "0.75",
            "Share of the active energy above which it applies.",
        )
        .required(),
        Key::number(
            "rate_per_kvarh",
            (0.0, HIGHEST_PRICE, "per kvarh"),
            "0.011",
            "Price above it.",
        )
        .required(),
    ],
};

pub(super) static POWER_FACTOR: Declared = Declared {
    meaning: "Surcharge on each kWh where the month's power factor is too low.",
    keys: &[
        Key::number(
            "below",
            (0.0, 1.0, ""),
            "0.86",
            "Power factor below which the surcharge applies: kWh / √(kWh² + lagging kvarh²) of the month.",
        )
        .required(),
        Key::number(
            "surcharge_per_kwh_per_pct",
            (0.0, HIGHEST_PRICE, "per kWh"),
            "0.0005",
            "Surcharge for each hundredth below it, in proportion.",
        )
        .required(),
        Key::new(
            "reactive",
            ValueKind::Word(&["lagging", "net"]),
            "Is the power factor that of the lagging reactive energy, or of lagging less leading?",
        )
        .or("\"lagging\"")
        .example("\"net\""),
    ],
};
