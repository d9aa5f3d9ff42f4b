//! The bill, worked out by hand: every part of a tariff, changes of price and clock, partial months.

use serde_json::Value;

use crate::program::{MACHINES, Workshop};
use crate::sample::{sample_json, sample_run};

/// One meter of the supply that logs P and Q, in the zone and with the tariffs given.
fn workshop(zone: &str, tariffs: &str, log: &str) -> Workshop {
    let site = format!(
        "[site]\nname = \"Hand\"\ntimezone = \"{zone}\"\ncurrency = \"EUR\"\nholidays = [\"2026-03-10\"]\n\
         [supply]\nline_voltage_v = 400\nphase_limit_a = 63\n\
         [[meter]]\nid = \"main\"\nmeasures = \"supply\"\nfiles = \"meters/main.csv\"\nstamp = \"start\"\n\
         time = {{ column = \"time\", format = \"%Y-%m-%d %H:%M\" }}\n\
         [meter.columns]\nactive_power_kw = \"P\"\nreactive_power_kvar = \"Q\"\n{tariffs}"
    );
    let header = MACHINES.lines().next().unwrap_or_default();
    Workshop::empty()
        .with("site.toml", site)
        .with("machines.csv", format!("{header}\n"))
        .with("meters/main.csv", format!("time,P,Q\n{log}"))
}

/// Half-hours from midnight of a date on, each with kW and kvar; in the zone's own time.
fn half_hours(date: &str, loads: &[(f64, f64)]) -> String {
    let rows = loads
        .iter()
        .enumerate()
        .map(|(at, (kw, kvar))| format!("{date} {:02}:{:02},{kw},{kvar}\n", at / 2, at % 2 * 30));
    rows.collect()
}

fn bill(workshop: &Workshop) -> Value {
    workshop.json(&["energy", "SITE", "--bill", "--format", "json"])
}

/// Name, quantity, rate and amount of the lines of a month.
fn lines(bill: &Value, month: usize) -> Vec<(String, f64, f64, f64)> {
    bill["months"][month]["lines"]
        .as_array()
        .expect("lines")
        .iter()
        .map(|line| {
            let number = |key: &str| line[key].as_f64().expect("a number");
            (
                line["line"].as_str().expect("a name").to_owned(),
                number("quantity"),
                number("rate"),
                number("amount"),
            )
        })
        .collect()
}

fn line(name: &str, quantity: f64, rate: f64, amount: f64) -> (String, f64, f64, f64) {
    (name.to_owned(), quantity, rate, amount)
}

/// A day of 24 h: 8 kW and 6 kvar through its first half, 4 kW and no kvar through its second.
///
/// 96 kWh and 48 kWh; 72 kvarh; highest block √(8² + 6²) = 10 kVA. Reactive beyond half of 144 kWh: none;
/// beyond a third: 72 − 48 = 24 kvarh. Power factor 144/√(144² + 72²) = 2/√5 = 0.894427, 0.5573 points
/// below 0.9. Taxed: 0.85 + 9.60 + 24.00 + 40.00 + 5.00 + 0.24 + 0.80 = 80.49; a fifth of it 16.098.
#[test]
fn every_part_of_a_tariff() {
    let mut loads = vec![(8.0, 6.0); 24];
    loads.extend([(4.0, 0.0); 24]);
    let tariff = "[[tariff]]\nfrom = \"2026-01-01\"\nstanding_per_day = 0.85\n\
        energy = [ { band = \"morning\", to = \"12:00\", rate_per_kwh = 0.10 }, { band = \"rest\", otherwise = true, rate_per_kwh = 0.50 } ]\n\
        demand = { per = \"kVA\", rate_per_month = 4 }\ncapacity = { kva = 100, rate_per_kva_day = 0.05 }\n\
        reactive = { free_share_of_kwh = 0.333333333, rate_per_kvarh = 0.01 }\n\
        power_factor = { below = 0.9, surcharge_per_kwh_per_pct = 0.01 }\ntax_pct = 20\n";
    let found = bill(&workshop("UTC", tariff, &half_hours("2026-03-09", &loads)));
    assert_eq!(
        lines(&found, 0),
        [
            line("standing", 1.0, 0.85, 0.85),
            line("energy morning", 96.0, 0.10, 9.60),
            line("energy rest", 48.0, 0.50, 24.00),
            line("demand", 10.0, 4.0, 40.00),
            line("capacity", 100.0, 0.05, 5.00),
            line("reactive", 24.0, 0.01, 0.24),
            line("power factor", 144.0, 0.005573, 0.80),
            line("tax", 80.49, 20.0, 16.10),
        ]
    );
    assert_eq!(found["total"], 96.59);
    assert_eq!(found["months"][0]["complete"], false);
    // √(7² + 6²) = 9.220 kVA, 36.88: 77.37 are taxed with 15.47, 3.75 less than 96.59; all 24 blocks at
    // 10 kVA come down.
    let marginal_kilowatt = &found["months"][0]["marginal_kilowatt"];
    assert_eq!(
        (&marginal_kilowatt["saving"], &marginal_kilowatt["blocks"]),
        (&3.75.into(), &24.into())
    );
    assert_eq!(marginal_kilowatt["at"], "2026-03-09T00:00:00+00:00");
}

/// A price that changes on the 11th inside the month: the energy of each day at its own price; the monthly
/// price of the highest block, 9 kW on the 12th, by days: 9 × 31 × 10/31 and 9 × 62 × 21/31.
#[test]
fn a_change_of_price_inside_the_month() {
    let log: String = (9..=12)
        .map(|day| {
            let kw = if day == 12 { 9.0 } else { 5.0 };
            half_hours(&format!("2026-03-{day:02}"), &[(kw, 0.0); 48])
        })
        .collect();
    let tariffs = "[[tariff]]\nfrom = \"2026-01-01\"\nstanding_per_day = 1\n\
        energy = [ { band = \"all\", rate_per_kwh = 0.1 } ]\ndemand = { per = \"kW\", rate_per_month = 31 }\n\
        [[tariff]]\nfrom = \"2026-03-11\"\nstanding_per_day = 2\n\
        energy_blocks = [ { up_to_kwh_per_month = 310, rate_per_kwh = 0.2 }, { rate_per_kwh = 0.3 } ]\n\
        demand = { per = \"kW\", rate_per_month = 62 }\ntax_pct = 10\n";
    let found = bill(&workshop("UTC", tariffs, &log));
    // The block ends at 310 × 21/31 = 210 kWh; the two days use 120 + 216 kWh.
    assert_eq!(
        lines(&found, 0),
        [
            line("standing", 2.0, 1.0, 2.0),
            line("energy all", 240.0, 0.1, 24.0),
            line("demand", 9.0, 31.0, 90.0),
            line("standing", 2.0, 2.0, 4.0),
            line("energy block 1", 210.0, 0.2, 42.0),
            line("energy block 2", 126.0, 0.3, 37.8),
            line("demand", 9.0, 62.0, 378.0),
            line("tax", 461.8, 10.0, 46.18),
        ]
    );
    assert_eq!(found["months"][0]["lines"][2]["share"]["days"], 10);
    assert_eq!(found["months"][0]["lines"][6]["share"]["of"], 31);
}

/// Bands follow the local clock through both changes of 2026 in London: the day that the clocks go forward
/// has 5 hours before 06:00, the day that they go back has 7 (Summer Time Order 2002: last Sundays of March
/// and October, 01:00 UTC). 2 kW all day.
#[test]
fn bands_follow_the_clock_changes() {
    for (date, hours, night_kwh, rest_kwh) in [
        ("2026-03-29", 23, 10.0, 36.0),
        ("2026-10-25", 25, 14.0, 36.0),
    ] {
        let midnight = if hours == 23 { 0 } else { -1 };
        let rows: Vec<String> = (0..hours * 2)
            .map(|half: i64| {
                let day: chrono::NaiveDate = date.parse().expect("a date");
                let at = day.and_hms_opt(0, 0, 0).expect("midnight")
                    + chrono::Duration::minutes(60 * midnight + 30 * half);
                format!("{},2,0\n", at.format("%Y-%m-%d %H:%M"))
            })
            .collect();
        let log = rows.concat();
        let tariff = "[[tariff]]\nfrom = \"2026-01-01\"\nenergy = [ { band = \"night\", to = \"06:00\", rate_per_kwh = 1 }, \
            { band = \"rest\", from = \"06:00\", rate_per_kwh = 1 } ]\n";
        let workshop = workshop("Europe/London", tariff, &log).replace(
            "site.toml",
            "%H:%M\" }",
            "%H:%M\", zone = \"UTC\" }",
        );
        assert_eq!(
            lines(&bill(&workshop), 0),
            [
                line("energy night", night_kwh, 1.0, night_kwh),
                line("energy rest", rest_kwh, 1.0, rest_kwh)
            ],
            "{date}"
        );
    }
}

/// Holidays are a kind of day of their own where a band names them: the 10th is one. 1 kW.
#[test]
fn holidays_have_their_band() {
    let log =
        half_hours("2026-03-09", &[(1.0, 0.0); 48]) + &half_hours("2026-03-10", &[(1.0, 0.0); 48]);
    let tariff = "[[tariff]]\nfrom = \"2026-01-01\"\nenergy = [ { band = \"week\", days = \"Mon-Sun\", rate_per_kwh = 2 }, \
        { band = \"feast\", days = \"holidays\", rate_per_kwh = 1 } ]\n";
    assert_eq!(
        lines(&bill(&workshop("UTC", tariff, &log)), 0),
        [
            line("energy week", 24.0, 2.0, 48.0),
            line("energy feast", 24.0, 1.0, 24.0)
        ]
    );
}

/// 80 % of March's 20 kW are more than April's own 10 kW; the rate is due for 16 kW. Less at March's peak lowers
/// both months: 1 × 5 + 0.8 × 5.
#[test]
fn a_ratchet_looks_back() {
    let log = half_hours("2026-03-31", &[(20.0, 0.0); 48])
        + &half_hours("2026-04-01", &[(10.0, 0.0); 48]);
    let tariff = "[[tariff]]\nfrom = \"2026-01-01\"\n\
        demand = { per = \"kW\", rate_per_month = 5, ratchet_months = 11, ratchet_share = 0.8 }\n";
    let found = bill(&workshop("UTC", tariff, &log));
    assert_eq!(lines(&found, 0), [line("demand", 20.0, 5.0, 100.0)]);
    assert_eq!(lines(&found, 1), [line("demand", 16.0, 5.0, 80.0)]);
    assert_eq!(found["months"][0]["marginal_kilowatt"]["saving"], 9.0);
    assert_eq!(found["months"][1]["marginal_kilowatt"]["saving"], 0.0);
    let note = &found["months"][1]["lines"][0]["note"];
    assert_eq!(
        note,
        "ratchet: 0.8 of the 20.000 kW of an earlier month; this month's own demand is 10.000 kW"
    );
}

/// Energy before the first tariff has no price, and energy returned none either.
#[test]
fn what_is_not_billed_is_told() {
    let log =
        half_hours("2026-03-09", &[(1.0, 0.0); 48]) + &half_hours("2026-03-10", &[(-1.0, 0.0); 48]);
    let tariff =
        "[[tariff]]\nfrom = \"2026-03-10\"\nenergy = [ { band = \"all\", rate_per_kwh = 1 } ]\n";
    let found = bill(&workshop("UTC", tariff, &log));
    assert_eq!(lines(&found, 0), [line("energy all", 0.0, 1.0, 0.0)]);
    let notes: Vec<&str> = found["notes"]
        .as_array()
        .expect("notes")
        .iter()
        .filter_map(Value::as_str)
        .collect();
    assert!(
        notes[0].starts_with("24.0 kWh before Tue 10 Mar 2026"),
        "{notes:?}"
    );
    assert!(notes[1].starts_with("24.0 kWh were exported"), "{notes:?}");
}

/// Two days of March and two of April: each day's cost is the bill of a log that ends with it.
///
/// Demand in full from the first day (20, then 25 kW at 5), the ratchet of March's 25 kW in April (0.8 × 25 = 20),
/// energy 240, 300 and 120 kWh at 0.1, standing 1 a day and a tax of a tenth.
#[test]
fn the_bill_as_it_would_stand_at_the_end_of_each_day() {
    let days = [
        ("2026-03-30", 20.0),
        ("2026-03-31", 25.0),
        ("2026-04-01", 5.0),
        ("2026-04-02", 30.0),
    ];
    let logs: Vec<String> = days
        .iter()
        .map(|(date, kw)| {
            let mut loads = [(0.0, 0.0); 48];
            loads[..24].fill((*kw, 0.0));
            half_hours(date, &loads)
        })
        .collect();
    let tariff = "[[tariff]]\nfrom = \"2026-01-01\"\nstanding_per_day = 1\ntax_pct = 10\n\
        energy = [ { band = \"all\", rate_per_kwh = 0.1 } ]\n\
        demand = { per = \"kW\", rate_per_month = 5, ratchet_months = 11, ratchet_share = 0.8 }\n";
    let whole = workshop("Europe/Berlin", tariff, &logs.concat());
    let found = whole.json(&["energy", "SITE", "--format", "json"]);
    let by_day = found["cost_by_day"].as_array().expect("days");
    let of =
        |key: &str| -> Vec<f64> { by_day.iter().filter_map(|day| day[key].as_f64()).collect() };
    assert_eq!(of("energy"), [24.0, 54.0, 60.0, 96.0]);
    assert_eq!(of("demand"), [100.0, 125.0, 225.0, 275.0]);
    assert_eq!(of("standing"), [1.0, 2.0, 3.0, 4.0]);
    assert_eq!(of("tax"), [12.5, 18.1, 28.8, 37.5]);
    assert_eq!(of("total"), [137.5, 199.1, 316.8, 412.5]);
    for (at, day) in by_day.iter().enumerate() {
        assert_eq!(day["date"], days[at].0);
        let cut = bill(&workshop("Europe/Berlin", tariff, &logs[..=at].concat()));
        assert_eq!(day["total"], cut["total"], "{}", days[at].0);
    }
}

/// Without a tariff there is no bill, and the message says what to do.
#[test]
fn no_tariff_no_bill() {
    let found = Workshop::new().run(&["energy", "SITE", "--bill"]);
    assert_eq!(found.status, 2);
    assert!(found.err.contains("(no-tariff)"), "{}", found.err);
}

/// The total is the sum of the lines to the last cent, in text of the program's own digits.
#[test]
fn the_total_is_the_sum_of_the_lines() {
    let csv = &sample_run("energy sample-data/ferry-lane --bill --format csv").run;
    let cents = |text: &str| {
        text.replace('.', "")
            .parse::<i64>()
            .expect("an amount of two decimals")
    };
    let sum: i64 = csv
        .out
        .lines()
        .skip(1)
        .map(|line| cents(line.split(',').nth(7).expect("an amount")))
        .sum();
    let bill = sample_json("energy sample-data/ferry-lane --bill");
    let total = format!("{:.2}", bill["total"].as_f64().expect("a total"));
    assert_eq!(cents(&total), sum);
    assert!(sum > 0);
}
