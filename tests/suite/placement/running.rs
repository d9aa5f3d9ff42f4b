//! What a new machine draws and what it adds to the bill, worked out by hand.

use std::fmt::Write as _;

use serde_json::Value;

use crate::program::{MACHINES, Workshop};

const SITE: &str = "[site]\nname = \"Hand\"\ntimezone = \"UTC\"\ncurrency = \"EUR\"\n\
    [supply]\nline_voltage_v = 400\nphase_limit_a = 63\n\
    [[board]]\nid = \"DB1\"\nfed_from = \"supply\"\n\
    [[meter]]\nid = \"main\"\nmeasures = \"supply\"\nfiles = \"main.csv\"\nstamp = \"start\"\n\
    time = { column = \"time\", format = \"%Y-%m-%d %H:%M\" }\n\
    [meter.columns]\n\
    active_power_l1_kw = \"P1\"\nactive_power_l2_kw = \"P2\"\nactive_power_l3_kw = \"P3\"\n\
    reactive_power_l1_kvar = \"Q1\"\nreactive_power_l2_kvar = \"Q2\"\nreactive_power_l3_kvar = \"Q3\"\n";

const TARIFF: &str = "[[tariff]]\nfrom = \"2026-01-01\"\nstanding_per_day = 0.85\n\
    energy = [ { band = \"morning\", to = \"12:00\", rate_per_kwh = 0.10 }, { band = \"rest\", otherwise = true, rate_per_kwh = 0.50 } ]\n\
    demand = { per = \"kVA\", rate_per_month = 4 }\n\
    reactive = { free_share_of_kwh = 0.333333333, rate_per_kvarh = 0.01 }\n\
    power_factor = { below = 0.9, surcharge_per_kwh_per_pct = 0.01 }\ntax_pct = 20\n";

fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

fn running(tariff: &str) -> Value {
    let mut log = String::from("time,P1,P2,P3,Q1,Q2,Q3\n");
    for half_hour in 0..48 {
        let load = if half_hour < 24 {
            "2,3,3,2,2,2"
        } else {
            "1,2,1,0,0,0"
        };
        let (hour, minute) = (half_hour / 2, half_hour % 2 * 30);
        let _ = writeln!(log, "2026-03-09 {hour:02}:{minute:02},{load}");
    }
    let header = MACHINES.lines().next().unwrap_or_default();
    let workshop = Workshop::empty()
        .with("site.toml", format!("{SITE}{tariff}"))
        .with("machines.csv", format!("{header}\n"))
        .with("main.csv", log);
    let found = workshop.json(&[
        "place",
        "SITE",
        "--name",
        "Press",
        "--power-kw",
        "4",
        "--power-factor",
        "0.8",
        "--format",
        "json",
    ]);
    found["running_cost"].clone()
}

/// 8 kW and 6 kvar through the first half of a day, 4 kW through the second; with 4 kW and 3 kvar more
/// 12 kW and 9 kvar, then 8 kW and 3 kvar.
///
/// Morning 96 → 144 kWh, rest 48 → 96 kWh; highest block √(8² + 6²) = 10 → √(12² + 9²) = 15 kVA. Reactive beyond a
/// third of the kWh: 72 − 48 = 24 → 144 − 80 = 64 kvarh. Power factor 0.5573 points below 0.9 → 240/√(240² + 144²) =
/// 0.857493, 4.2507 points below: 240 · 0.01 · 4.2507 = 10.20. Taxed 0.85 + 9.60 + 24.00 + 40.00 + 0.24 + 0.80 =
/// 75.49 → 0.85 + 14.40 + 48.00 + 60.00 + 0.64 + 10.20 = 134.09; a fifth of it 15.10 → 26.82.
///
/// A year: 4 kW · 8760 h, at 4 · (12 · 0.10 + 12 · 0.50) · 365 · 1.2.
#[test]
fn a_machine_that_always_runs_adds_to_every_line() {
    let running = running(TARIFF);
    assert!((number(&running["energy_kwh_per_year"]) - 35_040.0).abs() < 1e-6);
    assert!((number(&running["energy_cost_per_year"]) - 12_614.4).abs() < 1e-6);
    let bill = &running["bill"];
    assert_eq!(
        (bill["from"].as_str(), bill["to"].as_str()),
        (Some("2026-03-09"), Some("2026-03-10"))
    );
    let lines: Vec<(&str, f64, f64)> = bill["lines"]
        .as_array()
        .expect("lines")
        .iter()
        .map(|line| {
            let name = line["line"].as_str().expect("a name");
            (name, number(&line["before"]), number(&line["after"]))
        })
        .collect();
    assert_eq!(
        lines,
        [
            ("energy morning", 9.60, 14.40),
            ("energy rest", 24.00, 48.00),
            ("demand", 40.00, 60.00),
            ("reactive", 0.24, 0.64),
            ("power factor", 0.80, 10.20),
            ("tax", 15.10, 26.82),
        ]
    );
    assert_eq!(
        (number(&bill["before"]), number(&bill["after"])),
        (90.59, 160.91)
    );
}

#[test]
fn without_a_tariff_only_the_energy_is_told() {
    let running = running("");
    assert!((number(&running["energy_kwh_per_year"]) - 35_040.0).abs() < 1e-6);
    assert!(running["energy_cost_per_year"].is_null());
    assert!(running["bill"].is_null());
}
