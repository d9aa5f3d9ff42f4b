//! `[[tariff]]`.

use declaration::{Declared, Key, ValueKind};

/// No price of the trade comes near. (currency)
const HIGHEST_PRICE: f64 = 1e6;
/// No site uses as much in a month. (kWh)
const MOST_KWH: f64 = 1e9;

pub(super) static TARIFF: Declared = Declared {
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
        Key::number(
            "standing_per_day",
            (0.0, HIGHEST_PRICE, "per day"),
            "0.85",
            "Standing charge.",
        ),
        Key::tables("energy", &BAND).example(
            "[ { band = \"day\", days = \"Mon-Fri\", from = \"07:00\", to = \"19:00\", rate_per_kwh = 0.21 }, { band = \
             \"other\", otherwise = true, rate_per_kwh = 0.15 } ]",
        ),
        Key::tables("energy_blocks", &BLOCK).example(
            "[ { up_to_kwh_per_month = 5000, rate_per_kwh = 0.20 }, { rate_per_kwh = 0.17 } ]",
        ),
        Key::table("demand", &DEMAND),
        Key::table("capacity", &CAPACITY),
        Key::table("reactive", &REACTIVE),
        Key::table("power_factor", &POWER_FACTOR),
        Key::number(
            "tax_pct",
            (0.0, 100.0, "%"),
            "20",
            "Tax on all of the bill.",
        ),
    ],
};

const OTHER: &str = "{ band = \"other\", otherwise = true, rate_per_kwh = 0.15 }";

static BAND: Declared = Declared {
    meaning: "Price of energy by time: every quarter-hour of the year is in exactly one band.",
    keys: &[
        Key::text(
            "band",
            "\"day\"",
            "Name of the band, shown on the bill. Several bands may have the same name.",
        )
        .required(),
        Key::number(
            "rate_per_kwh",
            (-HIGHEST_PRICE, HIGHEST_PRICE, "per kWh"),
            "0.21",
            "Price.",
        )
        .required(),
        Key::new(
            "days",
            ValueKind::Form("days such as \"Mon-Fri\" or \"Sat,Sun,holidays\""),
            "Days on which the band applies. Holidays are separate days only where a band names them.",
        )
        .or("\"daily\"")
        .needs(OTHER)
        .example("\"Mon-Fri\""),
        Key::new(
            "months",
            ValueKind::Form("months such as \"1-12\", \"11-3\" or \"6,7,8\""),
            "Months in which the band applies.",
        )
        .or("\"1-12\"")
        .needs(OTHER)
        .example("\"11-3\""),
        Key::new(
            "from",
            ValueKind::Form("a full quarter-hour such as \"07:00\""),
            "Start, local time.",
        )
        .or("\"00:00\"")
        .needs(OTHER)
        .example("\"07:00\""),
        Key::new(
            "to",
            ValueKind::Form("a full quarter-hour, up to \"24:00\""),
            "End, local time.",
        )
        .or("\"24:00\"")
        .needs(OTHER)
        .example("\"19:00\""),
        Key::new(
            "otherwise",
            ValueKind::Flag,
            "true for the band of all times that no other band has. Such a band has no times of its own.",
        )
        .or("false")
        .example("true"),
    ],
};

static BLOCK: Declared = Declared {
    meaning: "Price of energy by the amount used in a month, instead of `energy`: one block after the other.",
    keys: &[
        Key::number(
            "rate_per_kwh",
            (-HIGHEST_PRICE, HIGHEST_PRICE, "per kWh"),
            "0.20",
            "Price within the block.",
        )
        .required(),
        Key::number(
            "up_to_kwh_per_month",
            (0.0, MOST_KWH, "kWh"),
            "5000",
            "Where the block ends. Only the last block has none.",
        )
        .needs("{ rate_per_kwh = 0.17 }"),
    ],
};

static DEMAND: Declared = Declared {
    meaning: "Price of the month's maximum demand.",
    keys: &[
        Key::new(
            "per",
            ValueKind::Word(&["kW", "kVA"]),
            "Is the demand charged by active or apparent power?",
        )
        .required()
        .example("\"kVA\""),
        Key::number(
            "rate_per_month",
            (0.0, HIGHEST_PRICE, "per month"),
            "6.50",
            "Price of each kW or kVA.",
        )
        .required(),
        Key::new(
            "ratchet_months",
            ValueKind::Whole(0, 60),
            "Number of earlier months whose maximum demand also counts.",
        )
        .or("0")
        .example("11"),
        Key::number(
            "ratchet_share",
            (0.0, 1.0, ""),
            "0.8",
            "Share of the highest demand of those months that is billed at least.",
        )
        .or("0"),
    ],
};

static CAPACITY: Declared = Declared {
    meaning: "Price of an agreed capacity.",
    keys: &[
        Key::number(
            "kva",
            (0.0, HIGHEST_PRICE, "kVA"),
            "100",
            "Agreed capacity.",
        )
        .required(),
        Key::number(
            "rate_per_kva_day",
            (0.0, HIGHEST_PRICE, "per kVA and day"),
            "0.05",
            "Price.",
        )
        .required(),
    ],
};

static REACTIVE: Declared = Declared {
    meaning: "Price of lagging reactive energy above a free share.",
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
    ],
};

static POWER_FACTOR: Declared = Declared {
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
    ],
};
