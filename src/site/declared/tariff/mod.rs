//! `[[tariff]]` and `[billing]`.

mod common;
mod demand;
mod energy;
mod levies;
mod net_metering;
mod reactive;

use declaration::{Declared, Key, ValueKind};

use self::common::HIGHEST_PRICE;
use self::demand::{CAPACITY, DEMAND};
use self::energy::{BAND, BLOCK, ENERGY_SET, EXPORT, LOSSES, PRICES};
use self::levies::{LEVY, ROUNDING, TAX};
use self::net_metering::NET_METERING;
use self::reactive::{POWER_FACTOR, REACTIVE};

pub(in crate::declared) static TARIFF: Declared = Declared {
    meaning: "Prices from a day on, in your currency and before tax. Write one [[tariff]] for each change of prices; \
              leave out what your supplier does not charge.",
    keys: &[
        Key::new(
            "from",
            ValueKind::Form("a date"),
            "Local date on which the prices take effect.",
        )
        .required()
        .example("\"2026-01-01\""),
        Key::text(
            "meter",
            "\"main\"",
            "The meter of the supply that these prices bill, where several supplies have contracts of their own. Other \
             meters of the supply are billed together by the tariffs without this key.",
        ),
        Key::number(
            "standing_per_day",
            (0.0, HIGHEST_PRICE, "per day"),
            "0.85",
            "Standing charge by the day.",
        ),
        Key::number(
            "standing_per_month",
            (0.0, HIGHEST_PRICE, "per month"),
            "25",
            "Fixed charge by the month or billing period.",
        ),
        Key::tables("energy", &BAND).example(
            "[ { band = \"day\", days = \"Mon-Fri\", from = \"07:00\", to = \"19:00\", rate_per_kwh = 0.21 }, { band = \
             \"other\", otherwise = true, rate_per_kwh = 0.15 } ]",
        ),
        Key::tables("energy_blocks", &BLOCK).example(
            "[ { up_to_kwh_per_month = 5000, rate_per_kwh = 0.20 }, { rate_per_kwh = 0.17 } ]",
        ),
        Key::table("energy_prices", &PRICES),
        Key::tables("energy_sets", &ENERGY_SET)
            .example("[ { set = \"network\", blocks = [ { rate_per_kwh = 0.03 } ] } ]"),
        Key::new(
            "holidays",
            ValueKind::Texts("dates"),
            "Holidays of the bands of `energy`, where they are not those of [site].",
        )
        .example("[\"2026-12-25\"]"),
        Key::new(
            "critical_days",
            ValueKind::Texts("dates"),
            "Days that the supplier called critical: bands with days = \"critical\" apply on them.",
        )
        .example("[\"2026-01-12\"]"),
        Key::text(
            "critical_days_file",
            "\"critical-days.csv\"",
            "The same from a CSV file in the site folder, with the dates in its column `date`.",
        ),
        Key::table_or_tables("demand", &DEMAND)
            .example("{ per = \"kVA\", rate_per_month = 6.50 }"),
        Key::table("capacity", &CAPACITY).example("{ kva = 100, rate_per_kva_day = 0.05 }"),
        Key::table_or_tables("reactive", &REACTIVE),
        Key::table("power_factor", &POWER_FACTOR),
        Key::new(
            "energy_unit",
            ValueKind::Word(&["kWh", "kVAh"]),
            "What energy is billed in. kVAh: √(kWh² + lagging kvarh²) of each quarter-hour.",
        )
        .or("\"kWh\"")
        .example("\"kVAh\""),
        Key::table("losses", &LOSSES),
        Key::table("export", &EXPORT).example("{ blocks = [ { rate_per_kwh = 0.05 } ] }"),
        Key::table("net_metering", &NET_METERING),
        Key::tables("levies", &LEVY).example(
            "[ { levy = \"climate levy\", per = \"kWh\", rate = 0.00775 } ]",
        ),
        Key::number(
            "minimum_per_month",
            (0.0, HIGHEST_PRICE, "per month"),
            "40",
            "What a month costs at least, before taxes.",
        ),
        Key::number(
            "tax_pct",
            (0.0, 100.0, "%"),
            "20",
            "Tax on all of the bill.",
        ),
        Key::tables("taxes", &TAX).example("[ { tax = \"VAT\", pct = 20 } ]"),
        Key::table("rounding", &ROUNDING),
        Key::new(
            "monthly_charges",
            ValueKind::Word(&["by-period", "by-30-days", "by-365-days"]),
            "What part of a price by the month is due: all of it for each billing period, a thirtieth for each day, or \
             12/365 for each day.",
        )
        .or("\"by-period\"")
        .example("\"by-30-days\""),
    ],
};

/// A tariff in a file of its own.
pub(crate) static TARIFF_FILE: Declared = Declared {
    meaning: "Prices and billing periods in a file of their own, which several sites may name (`tariff_file` of [site]). Files \
              that it names are in its folder.",
    keys: &[
        Key::tables("tariff", &TARIFF),
        Key::table("billing", &BILLING),
    ],
};

pub(in crate::declared) static BILLING: Declared = Declared {
    meaning: "When billing periods begin, where they are not months of the calendar.",
    keys: &[
        Key::new(
            "day_of_month",
            ValueKind::Whole(1, 28),
            "Day of the month on which each period begins.",
        )
        .or("1")
        .example("16"),
        Key::new(
            "periods_begin",
            ValueKind::Texts("dates"),
            "The dates on which periods begin. Before the first and after the last, periods are months.",
        )
        .example("[\"2026-01-12\", \"2026-02-16\"]"),
        Key::new(
            "price_changes",
            ValueKind::Word(&["within-period", "next-period"]),
            "Does a change of prices hold from its day, or from the next period?",
        )
        .or("\"within-period\"")
        .example("\"next-period\""),
    ],
};
