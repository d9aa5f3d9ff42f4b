//! Credits for exported energy, worked out by hand: what a period earns, uses, leaves and ends with.

use std::fmt::Write as _;

use serde_json::Value;

use crate::bill_clauses::{FROM, bill, day, lines, workshop};

type Day = [(f64, f64); 48];

/// A period to 9 March, one for the 10th, one from the 11th on.
const PERIODS: &str = "[billing]\nperiods_begin = [\"2026-03-10\", \"2026-03-11\"]\n";

/// So many kW in the first half of a day, and in the second.
fn halves(first: f64, second: f64) -> Day {
    let mut loads = day(first, 0.0, &[]);
    loads[24..].fill((second, 0.0));
    loads
}

fn assert_lines(tariff: &str, days: &[Day], expected: &[(&str, f64, f64, f64)]) -> Value {
    let found = bill(&workshop(&format!("{PERIODS}{FROM}{tariff}"), days));
    let expected: Vec<(String, f64, f64, f64)> = expected
        .iter()
        .map(|(name, quantity, rate, amount)| ((*name).to_owned(), *quantity, *rate, *amount))
        .collect();
    assert_eq!(lines(&found), expected, "{found:#}");
    found
}

/// A credit of a period has these figures.
fn assert_credit(bill: &Value, period: usize, expected: [f64; 5]) {
    let own = &bill["months"][period]["credits"][0];
    let keys = [
        "brought_forward",
        "earned",
        "used",
        "settled",
        "carried_forward",
    ];
    assert_eq!(
        keys.map(|key| own[key].clone()),
        expected.map(Value::from),
        "{bill:#}"
    );
}

/// 120 kWh drawn and 180 exported leave 60; of 240 then 180 are billed; 120 and 130 leave 10.
#[test]
fn kilowatt_hours_are_carried_to_the_next_period() {
    let days = [
        halves(10.0, -15.0),
        day(10.0, 0.0, &[]),
        halves(10.0, -130.0 / 12.0),
    ];
    let energy = "energy = [ { band = \"all\", rate_per_kwh = 0.2 } ]\n";
    let found = assert_lines(
        &format!("{energy}net_metering = {{ credit = \"kWh\" }}\n"),
        &days,
        &[
            ("energy all", 0.0, 0.2, 0.0),
            ("energy all", 180.0, 0.2, 36.0),
            ("energy all", 0.0, 0.2, 0.0),
        ],
    );
    assert_credit(&found, 0, [0.0, 180.0, 120.0, 0.0, 60.0]);
    assert_credit(&found, 1, [60.0, 0.0, 60.0, 0.0, 0.0]);
    assert_credit(&found, 2, [0.0, 130.0, 120.0, 0.0, 10.0]);
    assert!(!found["notes"].to_string().contains("no price for export"));
    // On 10 March what is left ends: paid for at 0.03 after tax, or not at all.
    let settled = format!(
        "{energy}net_metering = {{ credit = \"kWh\", settled_on = \"03-10\", settlement_rate = 0.03 }}\ntax_pct = 10\n"
    );
    let found = assert_lines(
        &settled,
        &days[..2],
        &[
            ("energy all", 0.0, 0.2, 0.0),
            ("tax", 0.0, 10.0, 0.0),
            ("credit paid out", 60.0, -0.03, -1.8),
            ("energy all", 240.0, 0.2, 48.0),
            ("tax", 48.0, 10.0, 4.8),
        ],
    );
    assert_credit(&found, 0, [0.0, 180.0, 120.0, 60.0, 0.0]);
    let expires = settled.replace(", settlement_rate = 0.03", "");
    assert_eq!(
        bill(&workshop(&format!("{PERIODS}{FROM}{expires}"), &days[..2]))["total"],
        52.8
    );
    // 100 kWh from before the log.
    let opened = format!("{energy}net_metering = {{ credit = \"kWh\", opening_credit = 100 }}\n");
    assert_lines(&opened, &days[1..2], &[("energy all", 140.0, 0.2, 28.0)]);
}

/// What is exported by day is no credit at night; the network's price is not netted where `on` names energy alone.
#[test]
fn a_credit_stays_in_its_band_and_its_price() {
    let mut sunny = day(10.0, 0.0, &[]);
    sunny[16..40].fill((-5.0, 0.0));
    let tariff = "energy = [ { band = \"day\", from = \"08:00\", to = \"20:00\", rate_per_kwh = 0.3 }, { band = \"night\", otherwise = \
        true, rate_per_kwh = 0.1 } ]\nenergy_sets = [ { set = \"network\", blocks = [ { rate_per_kwh = 0.05 } ] } ]\n\
        net_metering = { credit = \"kWh\", on = [\"energy\"] }\n";
    assert_lines(
        tariff,
        &[sunny, day(10.0, 0.0, &[])],
        &[
            ("energy day", 0.0, 0.3, 0.0),
            ("energy night", 120.0, 0.1, 12.0),
            ("network block 1", 120.0, 0.05, 6.0),
            ("energy day", 60.0, 0.3, 18.0),
            ("energy night", 120.0, 0.1, 12.0),
            ("network block 1", 240.0, 0.05, 12.0),
        ],
    );
}

/// 120 less 60 kWh: 50 in the first block, 10 in the second.
#[test]
fn blocks_are_filled_by_what_is_left() {
    let tariff = "energy_blocks = [ { up_to_kwh_per_month = 50, rate_per_kwh = 0.3 }, { rate_per_kwh = 0.1 } ]\n\
        net_metering = { credit = \"kWh\" }\n";
    assert_lines(
        tariff,
        &[halves(10.0, -5.0)],
        &[
            ("energy block 1", 50.0, 0.3, 15.0),
            ("energy block 2", 10.0, 0.1, 1.0),
        ],
    );
}

/// 12 kWh at 0.2 and a day at 1 are 3.40; 180 kWh exported earn 9.00: 5.60 are left for the next day's 49.00.
#[test]
fn money_is_carried_to_the_next_period() {
    let days = [halves(1.0, -15.0), day(10.0, 0.0, &[])];
    let tariff = |keys: &str| {
        format!(
            "standing_per_day = 1\nenergy = [ {{ band = \"all\", rate_per_kwh = 0.2 }} ]\nexport = {{ blocks = [ {{ rate_per_kwh = 0.05 }} ] }}\n\
             net_metering = {{ credit = \"money\"{keys} }}\n"
        )
    };
    let found = assert_lines(
        &tariff(""),
        &days,
        &[
            ("standing", 1.0, 1.0, 1.0),
            ("energy all", 12.0, 0.2, 2.4),
            ("export block 1", 180.0, -0.05, -9.0),
            ("credit carried forward", 5.6, 1.0, 5.6),
            ("standing", 1.0, 1.0, 1.0),
            ("energy all", 240.0, 0.2, 48.0),
            ("credit brought forward", 5.6, -1.0, -5.6),
        ],
    );
    assert_credit(&found, 0, [0.0, 9.0, 3.4, 0.0, 5.6]);
    assert_credit(&found, 1, [5.6, 0.0, 5.6, 0.0, 0.0]);
    // Against energy alone: 2.40 of the 9.00. Half of what is left is paid out on 10 March.
    assert_lines(
        &tariff(", on = [\"energy\"], settled_on = \"03-10\", settlement_rate = 0.5"),
        &days,
        &[
            ("standing", 1.0, 1.0, 1.0),
            ("energy all", 12.0, 0.2, 2.4),
            ("export block 1", 180.0, -0.05, -9.0),
            ("credit carried forward", 6.6, 1.0, 6.6),
            ("credit paid out", 6.6, -0.5, -3.3),
            ("standing", 1.0, 1.0, 1.0),
            ("energy all", 240.0, 0.2, 48.0),
        ],
    );
}

/// A public utility district's leaflet "Generating customers, here's how to read your utility bill": 32.50 of energy, 23.41 of
/// credit and a minimum of 0.53 a day, 15.90 for 30 days: 6.81 go to the reserve, 15.90 are due.
#[test]
fn a_printed_bill_with_a_reserve_above_the_minimum() {
    let found = assert_lines(
        "energy = [ { band = \"all\", rate_per_kwh = 0.5 } ]\nexport = { blocks = [ { rate_per_kwh = 0.5 } ] }\n\
         minimum_per_month = 15.90\nnet_metering = { credit = \"money\" }\n",
        &[halves(65.0 / 12.0, -46.82 / 12.0)],
        &[
            ("energy all", 65.0, 0.5, 32.5),
            ("export block 1", 46.82, -0.5, -23.41),
            ("credit carried forward", 6.81, 1.0, 6.81),
        ],
    );
    assert_eq!(found["total"], 15.9);
}

/// K.S.A. 66-1266 (Kansas, 2009): the excess of a month in kWh is carried from month to month, one for one, and what is left at
/// the end of the calendar year expires.
#[test]
fn a_statute_with_a_credit_to_the_end_of_the_year() {
    let tariff = "energy = [ { band = \"all\", rate_per_kwh = 0.2 } ]\nnet_metering = { credit = \"kWh\", settled_on = \"01-01\" }\n";
    let days = [halves(10.0, -15.0), day(10.0, 0.0, &[])];
    let year_end =
        format!("[billing]\nperiods_begin = [\"2025-12-31\", \"2026-01-01\"]\n{FROM}{tariff}")
            .replace("2026-01-01\"\n", "2025-01-01\"\n");
    let mut log = "time,P,Q\n".to_owned();
    for (date, loads) in ["2025-12-31", "2026-01-01"].iter().zip(&days) {
        for (at, (kw, _)) in loads.iter().enumerate() {
            writeln!(log, "{date} {:02}:{:02},{kw},0", at / 2, at % 2 * 30).expect("text");
        }
    }
    let found = bill(&workshop(&year_end, &days).with("meters/main.csv", log));
    assert_credit(&found, 0, [0.0, 180.0, 120.0, 60.0, 0.0]);
    assert_eq!(found["total"], 48.0);
}

/// The running total by day ends with the bill, and the invoice of the second period agrees with its credit.
#[test]
fn other_outputs_follow_the_credit() {
    let tariff = format!(
        "{PERIODS}{FROM}energy = [ {{ band = \"all\", rate_per_kwh = 0.2 }} ]\nnet_metering = {{ credit = \"kWh\" }}\n"
    );
    let days = [halves(10.0, -15.0), day(10.0, 0.0, &[])];
    let found = workshop(&tariff, &days).json(&["energy", "SITE", "--format", "json"]);
    let last = found["cost_by_day"].as_array().and_then(|days| days.last());
    assert_eq!(last.map(|day| &day["total"]), Some(&36.0.into()));
    let invoice =
        "line,from,to,quantity,rate,amount\nenergy all,2026-03-10,2026-03-11,180,0.2,36.00\n";
    let words = [
        "energy",
        "SITE",
        "--invoice",
        "SITE/invoice.csv",
        "--format",
        "json",
    ];
    let check = workshop(&tariff, &days)
        .with("invoice.csv", invoice)
        .json(&words);
    assert_eq!(check["lines"][0]["verdict"], "agrees", "{check:#}");
    let text = workshop(&tariff, &days)
        .run(&["energy", "SITE", "--bill"])
        .out;
    assert!(text.contains("less 60.000 kWh of credit"), "{text}");
    assert!(text.contains("60.000 kWh brought forward"), "{text}");
}

#[test]
fn mistakes_of_a_credit_are_located() {
    let cases = [
        ("net_metering = { settled_on = \"04-01\" }", "credit"),
        (
            "net_metering = { credit = \"kWh\", settlement_rate = 0.03 }",
            "a credit is paid out on no day",
        ),
        (
            "net_metering = { credit = \"kWh\", settled_on = \"02-30\" }",
            "not a day of every year",
        ),
        (
            "net_metering = { credit = \"kWh\", on = [\"demand\"] }",
            "no price of energy is called `demand`",
        ),
        (
            "export = { blocks = [ { rate_per_kwh = 0.05 } ] }
net_metering = { credit = \"money\", settled_on = \"04-01\", settlement_rate = 2 }",
            "more is paid out than is left",
        ),
        (
            "net_metering = { credit = \"money\" }",
            "needs a price of export",
        ),
        (
            "export = { blocks = [ { rate_per_kwh = 0.05 } ] }\nnet_metering = { credit = \"kWh\" }",
            "both credited in kWh and paid for",
        ),
        (
            "energy_unit = \"kVAh\"\nnet_metering = { credit = \"kWh\" }",
            "cannot be deducted from kVAh",
        ),
        (
            "energy_sets = [ { set = \"grid\", blocks = [ { up_to_kwh_per_day = 5, rate_per_kwh = 1 }, { rate_per_kwh = 2 } ] } ]\n\
             net_metering = { credit = \"kWh\" }",
            "cannot be deducted from `grid`",
        ),
    ];
    for (keys, text) in cases {
        let tariff =
            format!("{FROM}energy = [ {{ band = \"all\", rate_per_kwh = 0.2 }} ]\n{keys}\n");
        let run = workshop(&tariff, &[day(1.0, 0.0, &[])]).run(&["energy", "SITE", "--bill"]);
        assert_eq!(run.status, 2, "{keys}: {}", run.out);
        assert!(
            run.err.contains(text) && run.err.contains("site.toml, line"),
            "{keys}: {}",
            run.err
        );
    }
}
