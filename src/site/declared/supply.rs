//! `[site]`, `[supply]`, `[[schedule]]`, `[carbon]`.

use crate::read::supply::LARGEST_CURRENT_A;
use declaration::{Declared, Key, ValueKind};

pub(super) static SITE: Declared = Declared {
    meaning: "Name, time zone, currency and demand period of the site.",
    keys: &[
        Key::text(
            "name",
            "\"Ferry Lane Joinery\"",
            "Name of the site, shown on the report.",
        )
        .required(),
        Key::new(
            "timezone",
            ValueKind::Form("an IANA name such as \"Europe/London\""),
            "The site's time zone. It decides days, schedules, demand periods and the clock changes of local times.",
        )
        .or("\"UTC\"")
        .example("\"Europe/London\""),
        Key::new(
            "currency",
            ValueKind::Form("three capital letters (ISO 4217)"),
            "Currency of all prices in the file.",
        )
        .example("\"GBP\""),
        Key::number(
            "carbon_g_per_kwh",
            (0.0, 5000.0, "g/kWh"),
            "150",
            "Your own carbon factor, the same for all time. For a factor that changes over time, use [carbon].",
        ),
        Key::new(
            "demand_window_min",
            ValueKind::OneOf(&[15, 30, 60]),
            "Length of the demand period: maximum demand is the highest mean power of a full period. In minutes.",
        )
        .or("30")
        .example("15"),
        Key::new(
            "holidays",
            ValueKind::Texts("dates"),
            "Days on which no schedule starts, and to which a tariff band may apply.",
        )
        .or("[]")
        .example("[\"2026-12-25\", \"2026-12-26\"]"),
        Key::text(
            "tariff_file",
            "\"tariff.toml\"",
            "A file with the [[tariff]] and [billing] of the site, which other sites may share: a path from the site folder, \
             such as ../tariff.toml.",
        ),
    ],
};

pub(super) static SUPPLY: Declared = Declared {
    meaning: "The three-phase four-wire supply: voltage, frequency and limits.",
    keys: &[
        Key::number(
            "line_voltage_v",
            (50.0, 1000.0, "V"),
            "400",
            "Nominal line-to-line voltage. The voltage to neutral is this divided by √3.",
        )
        .required(),
        Key::number(
            "frequency_hz",
            (16.0, 400.0, "Hz"),
            "60",
            "Nominal frequency.",
        )
        .or("50"),
        Key::number(
            "phase_limit_a",
            (f64::MIN_POSITIVE, LARGEST_CURRENT_A, "A"),
            "100",
            "Largest current allowed in each phase: the supply fuse or the agreed capacity. It is compared with the rms \
             current, harmonics included.",
        )
        .required(),
        Key::number(
            "neutral_limit_a",
            (f64::MIN_POSITIVE, LARGEST_CURRENT_A, "A"),
            "80",
            "Largest current allowed in the neutral.",
        )
        .or_else("the same as phase_limit_a"),
        Key::number(
            "transformer_kva",
            (f64::MIN_POSITIVE, 10_000.0, "kVA"),
            "315",
            "Rated power of the transformer that feeds the site.",
        ),
        Key::new(
            "conductor_colours",
            ValueKind::TextOrTable("three words joined by `-`", &MARKS),
            "Marks of the conductors on site, as the report names them: \"brown-black-grey\", \"red-yellow-blue\" or \
             your own words.",
        )
        .example("\"brown-black-grey\""),
        Key::new(
            "system",
            ValueKind::Form("\"three-phase-four-wire\""),
            "Kind of supply. Only a three-phase four-wire star supply can be analysed.",
        )
        .or("\"three-phase-four-wire\"")
        .example("\"three-phase-four-wire\""),
        Key::new(
            "phases",
            ValueKind::Whole(1, 12),
            "Number of phases. Only 3 can be analysed.",
        )
        .or("3")
        .example("3"),
        Key::new(
            "wires",
            ValueKind::Whole(1, 12),
            "Number of wires: 4, or 5 with the protective conductor.",
        )
        .or("4")
        .example("5"),
    ],
};

static MARKS: Declared = Declared {
    meaning: "Marks of the conductors, one for each.",
    keys: &[
        Key::text("l1", "\"brown\"", "Mark of L1.").required(),
        Key::text("l2", "\"black\"", "Mark of L2.").required(),
        Key::text("l3", "\"grey\"", "Mark of L3.").required(),
        Key::text("n", "\"blue\"", "Mark of the neutral.").required(),
    ],
};

pub(super) static SCHEDULE: Declared = Declared {
    meaning: "When machines run, by the site's local time. Several [[schedule]] with the same name add up.",
    keys: &[
        Key::text(
            "name",
            "\"day shift\"",
            "Name of the schedule, for the column `schedule` of the machine list.",
        )
        .required(),
        Key::new(
            "days",
            ValueKind::Form("days such as \"Mon-Fri\", \"Sat,Sun\" or \"daily\""),
            "Days on which the schedule starts. It does not start on a holiday.",
        )
        .required()
        .example("\"Mon-Fri\""),
        Key::new(
            "from",
            ValueKind::Form("a time of day such as \"07:30\""),
            "Start.",
        )
        .required()
        .example("\"07:30\""),
        Key::new(
            "to",
            ValueKind::Form("a time of day, up to \"24:00\""),
            "End. A time at or before the start is on the next day.",
        )
        .required()
        .example("\"16:00\""),
        Key::new(
            "working_hours",
            ValueKind::Flag,
            "Do people work while it runs? Write false for machines or lights that run unattended, so that this time \
             counts as out of hours.",
        )
        .or("true")
        .example("false"),
    ],
};

pub(super) static CARBON: Declared = Declared {
    meaning: "A file of your own carbon factors over time, instead of `carbon_g_per_kwh` under [site].",
    keys: &[
        Key::text(
            "file",
            "\"carbon.csv\"",
            "The CSV file, inside the site folder.",
        )
        .required(),
        Key::text(
            "time",
            "\"start\"",
            "Column with the time from which a factor applies.",
        )
        .or("\"time\""),
        Key::text(
            "column",
            "\"grid_g_per_kwh\"",
            "Column with the factor in g/kWh.",
        )
        .or("\"g_per_kwh\""),
    ],
};
