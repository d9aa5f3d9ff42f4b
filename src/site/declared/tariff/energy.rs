//! Prices of energy: by time, by amount, from a file; several at once; export and losses.

use declaration::{Declared, Key, ValueKind};

use super::common::{HIGHEST_PRICE, MOST_KWH, window};

/// Prices of energy in a table of their own: by time, by amount, or from a file; and the holidays of the first.
const fn rates([bands, blocks]: [&'static str; 2], needs: &'static str) -> [Key; 4] {
    [
        Key::tables("bands", &BAND).example(bands),
        Key::tables("blocks", &BLOCK).example(blocks),
        Key::table("prices", &PRICES),
        Key::new(
            "holidays",
            ValueKind::Texts("dates"),
            "Holidays of its bands, where they are not those of [site].",
        )
        .example("[\"2026-12-25\"]")
        .needs(needs),
    ]
}

pub(super) static PRICES: Declared = Declared {
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

pub(super) static ENERGY_SET: Declared = {
    const RATES: [Key; 4] = rates(
        [
            "[ { band = \"day\", days = \"Mon-Fri\", from = \"07:00\", to = \"19:00\", rate_per_kwh = 0.03 }, { band = \
             \"other\", otherwise = true, rate_per_kwh = 0.01 } ]",
            "[ { up_to_kwh_per_month = 5000, rate_per_kwh = 0.03 }, { rate_per_kwh = 0.02 } ]",
        ],
        "blocks = [ { rate_per_kwh = 0.03 } ]",
    );
    Declared {
        meaning: "A further price of the same energy, such as that of the network: bands, blocks or prices of its own.",
        keys: &[
            Key::text(
                "set",
                "\"network\"",
                "What its lines on the bill begin with.",
            )
            .required()
            .needs("blocks = [ { rate_per_kwh = 0.03 } ]"),
            RATES[0],
            RATES[1],
            RATES[2],
            RATES[3],
        ],
    }
};

const OTHER: &str = "{ band = \"other\", otherwise = true, rate_per_kwh = 0.15 }";

pub(super) static BAND: Declared = {
    const WINDOW: [Key; 4] = window(
        "days such as \"Mon-Fri\", \"Sat,Sun,holidays\" or \"critical\"",
        [
            "Days on which the band applies. Holidays and critical days are separate days only where a band names them.",
            "Months in which the band applies.",
            "Start, local time.",
            "End, local time.",
        ],
        OTHER,
    );
    Declared {
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
        WINDOW[0],
        WINDOW[1],
        WINDOW[2],
        WINDOW[3],
        Key::new(
            "otherwise",
            ValueKind::Flag,
            "true for the band of all times that no other band has. Such a band has no times of its own.",
        )
        .or("false")
        .example("true"),
    ],
}
};

pub(super) static BLOCK: Declared = Declared {
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

pub(super) static LOSSES: Declared = Declared {
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

pub(super) static EXPORT: Declared = {
    const RATES: [Key; 4] = rates(
        [
            "[ { band = \"day\", from = \"07:00\", to = \"19:00\", rate_per_kwh = 0.06 }, { band = \"other\", otherwise = \
             true, rate_per_kwh = 0.04 } ]",
            "[ { rate_per_kwh = 0.05 } ]",
        ],
        "blocks = [ { rate_per_kwh = 0.05 } ]",
    );
    Declared {
        meaning: "What is paid for exported energy: bands, blocks or prices from a file, as for imported energy.",
        keys: &[RATES[0], RATES[1], RATES[2], RATES[3]],
    }
};
