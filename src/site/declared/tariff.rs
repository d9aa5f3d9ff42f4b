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

static PRICES: Declared = Declared {
    meaning: "Prices of energy from a file, each from its time on (pass-through), instead of `energy`.",
    keys: &[
        Key::text(
            "file",
            "\"prices.csv\"",
            "CSV file in the site folder. Times are local, or have their offset such as 2026-03-09T00:00+01:00.",
        )
        .required(),
        Key::text("called", "\"wholesale\"", "Name of the line on the bill.").or("\"pass-through\""),
        Key::text("time", "\"start\"", "Column of the times from which the prices hold.").or("\"time\""),
        Key::text("column", "\"price\"", "Column of the prices.").or("\"price_per_kwh\""),
        Key::number(
            "scale",
            (-1e3, 1e3, ""),
            "0.001",
            "Factor from the prices of the file to the currency per kWh: 0.001 for prices per MWh.",
        )
        .or("1"),
        Key::number(
            "add_per_kwh",
            (-HIGHEST_PRICE, HIGHEST_PRICE, "per kWh"),
            "0.012",
            "Added to each price: the supplier's margin.",
        )
        .or("0"),
    ],
};

static ENERGY_SET: Declared = Declared {
    meaning: "A further price of the same energy, such as that of the network: bands, blocks or prices of its own.",
    keys: &[
        Key::text("set", "\"network\"", "What its lines on the bill begin with.")
            .required()
            .needs("blocks = [ { rate_per_kwh = 0.03 } ]"),
        Key::tables("bands", &BAND).example(
            "[ { band = \"day\", days = \"Mon-Fri\", from = \"07:00\", to = \"19:00\", rate_per_kwh = 0.03 }, { band = \
             \"other\", otherwise = true, rate_per_kwh = 0.01 } ]",
        ),
        Key::tables("blocks", &BLOCK).example(
            "[ { up_to_kwh_per_month = 5000, rate_per_kwh = 0.03 }, { rate_per_kwh = 0.02 } ]",
        ),
        Key::table("prices", &PRICES),
        Key::new(
            "holidays",
            ValueKind::Texts("dates"),
            "Holidays of its bands, where they are not those of [site].",
        )
        .example("[\"2026-12-25\"]")
        .needs("blocks = [ { rate_per_kwh = 0.03 } ]"),
    ],
};

static LEVY: Declared = Declared {
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

static TAX: Declared = Declared {
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

static ROUNDING: Declared = Declared {
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

/// A tariff in a file of its own.
pub(crate) static TARIFF_FILE: Declared = Declared {
    meaning: "Prices and billing periods in a file of their own, which several sites may name (`tariff_file` of [site]). Files \
              that it names are in its folder.",
    keys: &[
        Key::tables("tariff", &TARIFF),
        Key::table("billing", &BILLING),
    ],
};

pub(super) static BILLING: Declared = Declared {
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
            "Price. A band with blocks has none.",
        )
        .required(),
        Key::tables("blocks", &BLOCK).example(
            "[ { up_to_kwh_per_day = 200, rate_per_kwh = 0.21 }, { rate_per_kwh = 0.19 } ]",
        ),
        Key::new(
            "days",
            ValueKind::Form("days such as \"Mon-Fri\", \"Sat,Sun,holidays\" or \"critical\""),
            "Days on which the band applies. Holidays and critical days are separate days only where a band names them.",
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
        Key::number(
            "up_to_kwh_per_day",
            (0.0, MOST_KWH, "kWh"),
            "200",
            "The same by the day: the energy of each day is divided among the blocks.",
        )
        .needs("{ rate_per_kwh = 0.17 }"),
        Key::number(
            "up_to_hours_of_demand",
            (0.0, 744.0, "kWh per kW or kVA"),
            "250",
            "The same in hours of use: kWh for each kW or kVA of the first demand that is billed.",
        )
        .needs("{ rate_per_kwh = 0.17 }"),
    ],
};

const DEMANDS: (f64, f64) = (0.0, HIGHEST_PRICE);

static DEMAND: Declared = Declared {
    meaning: "Price of demand: of the month's maximum, unless the keys say otherwise. Several may be written as a list.",
    keys: &[
        Key::new(
            "per",
            ValueKind::Word(&["kW", "kVA"]),
            "Is the demand charged by active or apparent power?",
        )
        .required()
        .example("\"kVA\"")
        .needs("rate_per_month = 6.50"),
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
        .needs("rate_per_month = 6.50"),
        Key::new(
            "days",
            ValueKind::Form("days such as \"Mon-Fri\" or \"Sat,Sun,holidays\""),
            "Days on which demand is measured.",
        )
        .or("\"daily\"")
        .example("\"Mon-Fri\"")
        .needs("rate_per_month = 6.50"),
        Key::new(
            "months",
            ValueKind::Form("months such as \"1-12\", \"11-3\" or \"6,7,8\""),
            "Months in which the charge applies.",
        )
        .or("\"1-12\"")
        .example("\"11-3\"")
        .needs("rate_per_month = 6.50"),
        Key::new(
            "from",
            ValueKind::Form("a full quarter-hour such as \"07:00\""),
            "Demand periods that begin from this local time on are measured.",
        )
        .or("\"00:00\"")
        .example("\"07:00\"")
        .needs("rate_per_month = 6.50"),
        Key::new(
            "to",
            ValueKind::Form("a full quarter-hour, up to \"24:00\""),
            "Those that begin from this local time on no longer are.",
        )
        .or("\"24:00\"")
        .example("\"19:00\"")
        .needs("rate_per_month = 6.50"),
        Key::new(
            "nth_highest",
            ValueKind::Whole(1, 100),
            "Which of the demand periods, the highest first, is billed.",
        )
        .or("1")
        .example("3")
        .needs("rate_per_month = 6.50"),
        Key::new(
            "mean_of_highest",
            ValueKind::Whole(1, 100),
            "The mean of so many of the highest demand periods is billed.",
        )
        .example("3")
        .needs("rate_per_month = 6.50"),
        Key::new(
            "one_per_day",
            ValueKind::Flag,
            "Does only the highest demand period of each day count for these two?",
        )
        .or("false")
        .example("true")
        .needs("rate_per_month = 6.50"),
        Key::new(
            "over_months",
            ValueKind::Whole(1, 60),
            "The largest of so many months, this one included, is billed.",
        )
        .or("1")
        .example("12")
        .needs("rate_per_month = 6.50"),
        Key::new(
            "ratchet_months",
            ValueKind::Whole(0, 60),
            "Number of earlier months whose maximum demand also counts.",
        )
        .or("0")
        .example("11")
        .needs("rate_per_month = 6.50"),
        Key::number(
            "ratchet_share",
            (0.0, 1.0, ""),
            "0.8",
            "Share of the highest demand of those months that is billed at least.",
        )
        .or("0")
        .needs("rate_per_month = 6.50"),
        Key::new(
            "ratchet_season",
            ValueKind::Form("months such as \"11-3\" or \"6,7,8\""),
            "Months of the year whose demand counts for the ratchet.",
        )
        .or("\"1-12\"")
        .example("\"11-3\"")
        .needs("rate_per_month = 6.50"),
        Key::number(
            "contracted",
            (DEMANDS.0, DEMANDS.1, "kW or kVA"),
            "100",
            "Demand that the contract names, for the three keys below.",
        )
        .needs("rate_per_month = 6.50"),
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
        .needs("rate_per_month = 6.50"),
    ],
};

static CAPACITY: Declared = Declared {
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

static REACTIVE: Declared = Declared {
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
    ],
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

static LOSSES: Declared = Declared {
    meaning: "Loss factors from what is metered to what is billed, as where the meter is on the low-voltage side of the user's \
              transformer.",
    keys: &[
        Key::number(
            "energy",
            (0.5, 2.0, ""),
            "1.045",
            "Factor of imported energy.",
        )
        .or("1"),
        Key::number("demand", (0.5, 2.0, ""), "1.03", "Factor of demand.").or("1"),
    ],
};

static EXPORT: Declared = Declared {
    meaning: "What is paid for exported energy: bands, blocks or prices from a file, as for imported energy.",
    keys: &[
        Key::tables("bands", &BAND).example(
            "[ { band = \"day\", from = \"07:00\", to = \"19:00\", rate_per_kwh = 0.06 }, { band = \"other\", otherwise = \
             true, rate_per_kwh = 0.04 } ]",
        ),
        Key::tables("blocks", &BLOCK).example("[ { rate_per_kwh = 0.05 } ]"),
        Key::table("prices", &PRICES),
        Key::new(
            "holidays",
            ValueKind::Texts("dates"),
            "Holidays of its bands, where they are not those of [site].",
        )
        .example("[\"2026-12-25\"]")
        .needs("blocks = [ { rate_per_kwh = 0.05 } ]"),
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
        Key::new(
            "reactive",
            ValueKind::Word(&["lagging", "net"]),
            "Is the power factor that of the lagging reactive energy, or of lagging less leading?",
        )
        .or("\"lagging\"")
        .example("\"net\""),
    ],
};
