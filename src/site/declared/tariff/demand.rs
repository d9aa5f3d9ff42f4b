//! Prices of demand and of an agreed capacity.

use declaration::{Declared, Key, ValueKind};

use super::common::{DAYS, HIGHEST_PRICE, MONTHS, window};

/// What an example of a charge needs besides.
const RATE: &str = "rate_per_month = 6.50";
const DEMANDS: (f64, f64) = (0.0, HIGHEST_PRICE);

pub(super) static DEMAND: Declared = {
    const WINDOW: [Key; 4] = window(
        DAYS,
        [
            "Days on which demand is measured.",
            "Months in which the charge applies.",
            "Demand periods that begin from this local time on are measured.",
            "Those that begin from this local time on no longer are.",
        ],
        RATE,
    );
    Declared {
        meaning: "Price of demand: of the month's maximum, unless the keys say otherwise. Several may be written as a list.",
        keys: &[
            Key::new(
                "per",
                ValueKind::Word(&["kW", "kVA"]),
                "Is the demand charged by active or apparent power?",
            )
            .required()
            .example("\"kVA\"")
            .needs(RATE),
            Key::number(
                "rate_per_month",
                (0.0, HIGHEST_PRICE, "per month"),
                "6.50",
                "Price of each kW or kVA by the month or billing period.",
            ),
            Key::number(
                "rate_per_day",
                (0.0, HIGHEST_PRICE, "per day"),
                "0.22",
                "The same by the day.",
            ),
            Key::text(
                "charge",
                "\"peak\"",
                "Name of the charge, where there are several: the line is then `demand peak`.",
            )
            .needs(RATE),
            WINDOW[0],
            WINDOW[1],
            WINDOW[2],
            WINDOW[3],
            Key::new(
                "nth_highest",
                ValueKind::Whole(1, 100),
                "Which of the demand periods, the highest first, is billed.",
            )
            .or("1")
            .example("3")
            .needs(RATE),
            Key::new(
                "mean_of_highest",
                ValueKind::Whole(1, 100),
                "The mean of so many of the highest demand periods is billed.",
            )
            .example("3")
            .needs(RATE),
            Key::new(
                "one_per_day",
                ValueKind::Flag,
                "Does only the highest demand period of each day count for these two?",
            )
            .or("false")
            .example("true")
            .needs(RATE),
        Key::new(
            "of_meters",
            ValueKind::Word(&["maximum-of-sum", "sum-of-maxima"]),
            "Where several meters of the supply are billed together: the maximum of their sum in each demand period, or \
             the sum of the maximum of each meter?",
        )
        .or("\"maximum-of-sum\"")
        .example("\"sum-of-maxima\"")
        .needs(RATE),
            Key::new(
                "over_months",
                ValueKind::Whole(1, 60),
                "The largest of so many months, this one included, is billed.",
            )
            .or("1")
            .example("12")
            .needs(RATE),
            Key::new(
                "ratchet_months",
                ValueKind::Whole(0, 60),
                "Number of earlier months whose maximum demand also counts.",
            )
            .or("0")
            .example("11")
            .needs(RATE),
            Key::number(
                "ratchet_share",
                (0.0, 1.0, ""),
                "0.8",
                "Share of the highest demand of those months that is billed at least.",
            )
            .or("0")
            .needs(RATE),
            Key::new(
                "ratchet_season",
                ValueKind::Form(MONTHS),
                "Months of the year whose demand counts for the ratchet.",
            )
            .or("\"1-12\"")
            .example("\"11-3\"")
            .needs(RATE),
            Key::number(
                "contracted",
                (DEMANDS.0, DEMANDS.1, "kW or kVA"),
                "100",
                "Demand that the contract names, for the three keys below.",
            )
            .needs(RATE),
            Key::number(
                "contracted_lower_share",
                (0.0, 1.0, ""),
                "0.85",
                "This share of the contracted demand is billed at least.",
            )
            .or("0")
            .needs("contracted = 100, rate_per_month = 6.50"),
            Key::number(
                "contracted_upper_share",
                (0.0, 10.0, ""),
                "1.05",
                "What is measured beyond this share of the contracted demand is excess.",
            )
            .or_else("nothing is excess")
            .needs("contracted = 100, rate_per_month = 6.50"),
            Key::number(
                "excess_factor",
                (0.0, 100.0, ""),
                "2",
                "The excess is added to the measured demand so many times.",
            )
            .or("0")
            .needs("contracted = 100, rate_per_month = 6.50"),
            Key::number(
                "at_least",
                (DEMANDS.0, DEMANDS.1, "kW or kVA"),
                "20",
                "So much is billed at least.",
            )
            .or("0")
            .needs(RATE),
        ],
    }
};

pub(super) static CAPACITY: Declared = Declared {
    meaning: "Price of an agreed capacity, and of demand above it.",
    keys: &[
        Key::number(
            "kva",
            (0.0, HIGHEST_PRICE, "kVA"),
            "100",
            "Agreed capacity.",
        )
        .required().needs("rate_per_kva_day = 0.05"),
        Key::number(
            "rate_per_kva_day",
            (0.0, HIGHEST_PRICE, "per kVA and day"),
            "0.05",
            "Price by the day.",
        ),
        Key::number(
            "rate_per_kva_month",
            (0.0, HIGHEST_PRICE, "per kVA and month"),
            "1.50",
            "Price by the month or billing period.",
        ),
        Key::number(
            "excess_rate_per_kva_day",
            (0.0, HIGHEST_PRICE, "per kVA and day"),
            "0.09",
            "Price of what is above the agreed capacity, by the day.",
        ).needs("rate_per_kva_day = 0.05"),
        Key::number(
            "excess_rate_per_kva_month",
            (0.0, HIGHEST_PRICE, "per kVA and month"),
            "2.70",
            "The same by the month or billing period.",
        ).needs("rate_per_kva_month = 1.50"),
        Key::new(
            "excess_by",
            ValueKind::Word(&["month", "day"]),
            "Is the month's largest kVA charged for all of its days, or that of each day for the day?",
        )
        .or("\"month\"")
        .example("\"day\"").needs("rate_per_kva_day = 0.05"),
        Key::tables("changes", &CAPACITY_CHANGE).example("[ { from = \"2026-04-01\", kva = 120 } ]").needs("rate_per_kva_day = 0.05"),
    ],
};

static CAPACITY_CHANGE: Declared = Declared {
    meaning: "Another agreed capacity from a date on, at the same price.",
    keys: &[
        Key::new("from", ValueKind::Form("a date"), "First day of it.")
            .required()
            .example("\"2026-04-01\""),
        Key::number(
            "kva",
            (0.0, HIGHEST_PRICE, "kVA"),
            "120",
            "Agreed capacity from then on.",
        )
        .required(),
    ],
};
