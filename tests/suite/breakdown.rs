//! Energy by parts: the parts add up, incomplete ones are told, and a public log agrees with its own columns.

use serde_json::Value;

use crate::program::{Workshop, run};
use crate::sample::sample_json;
use crate::shared_sites::shared;

/// The demo by each of the ways.
const ALL: &str = "energy sample-data/ferry-lane --by day --by week --by month --by weekday --by hour --by schedule \
                   --by meter --by phase";

fn energy(site: &str, by: &str) -> Value {
    let found = run(&["energy", site, "--by", by, "--format", "json"]);
    assert_eq!(found.status, 0, "{}", found.err);
    serde_json::from_str(&found.out).expect("JSON")
}

fn parts(result: &Value) -> &Vec<Value> {
    result["breakdown"].as_array().expect("a breakdown")
}

fn part<'a>(result: &'a Value, meter: &str, key: &str) -> &'a Value {
    parts(result)
        .iter()
        .find(|part| part["meter"] == meter && part["key"] == key)
        .unwrap_or_else(|| panic!("no {key} of {meter}"))
}

/// By phase where the meter knows its phases; everything else for every meter with energy.
#[test]
fn the_parts_of_every_meter_add_up_to_its_energy() {
    let result = sample_json(ALL);
    let ways = || ALL.split(" --by ").skip(1);
    assert_eq!(ways().count(), 8);
    for (by, meter) in ways().flat_map(|by| {
        let meters = result["meters"].as_array().expect("meters");
        meters.iter().map(move |meter| (by, meter))
    }) {
        let own = parts(&result)
            .iter()
            .filter(|part| part["by"] == by && part["meter"] == meter["id"]);
        let kwh: Vec<f64> = own
            .map(|part| part["energy_kwh"].as_f64().expect("a number"))
            .collect();
        if by == "phase" && meter["energy_kwh_by_phase"].is_null() {
            assert!(kwh.is_empty());
            continue;
        }
        let all = meter["energy_kwh"].as_f64().expect("energy");
        let sum: f64 = kwh.iter().sum();
        // By phase the meter's own sum may be of other readings; a thousandth is far below a class.
        let slack = if by == "phase" { 1e-3 } else { 1e-9 };
        assert!(
            (sum - all).abs() <= slack * all.abs(),
            "{by} of {}: {sum} is not {all}",
            meter["id"]
        );
    }
}

/// The demo lost three hours of its main meter in week 13; the period begins and ends on whole weeks.
#[test]
fn a_part_without_all_its_readings_is_told() {
    let demo = sample_json(ALL);
    let complete = |key| {
        part(&demo, "main", key)["complete"]
            .as_bool()
            .expect("yes or no")
    };
    assert!(complete("2026-W11") && complete("2026-W12") && complete("2026-W14"));
    assert!(!complete("2026-W13"));
    assert_eq!(
        part(&demo, "boat shed", "2026-03")["complete"],
        false,
        "it begins on the 9th"
    );
}

/// Two hours at 6.3 kW from 8 to 10 o'clock: 6.3 kWh in each, and a day that is not whole.
#[test]
fn hours_and_days_of_a_short_log() {
    let workshop = Workshop::new();
    let result = workshop.json(&["energy", "SITE", "--by", "hour", "--format", "json"]);
    let hours: Vec<(&str, f64, bool)> = parts(&result)
        .iter()
        .map(|part| {
            let kwh = part["energy_kwh"].as_f64().expect("a number");
            (
                part["key"].as_str().expect("a key"),
                kwh,
                part["complete"] == true,
            )
        })
        .collect();
    assert_eq!(hours.len(), 2);
    for ((key, kwh, complete), expected) in hours.into_iter().zip(["08", "09"]) {
        assert_eq!((key, complete), (expected, true));
        assert!((kwh - 6.3).abs() < 1e-9, "{kwh}");
    }
    let result = workshop.json(&["energy", "SITE", "--by", "day", "--format", "json"]);
    let day = part(&result, "main", "2026-03-09");
    assert!((day["energy_kwh"].as_f64().expect("a number") - 12.6).abs() < 1e-9);
    assert_eq!(day["complete"], false);
}

/// 6.3 kW from 8 to 10 o'clock. The shift runs throughout; another of two stretches from 9:00 to 9:45 beside it.
#[test]
fn schedules_that_run_at_once_are_told_together() {
    let late = |from: &str, to: &str| {
        format!("[[schedule]]\nname = 'late'\ndays = 'Mon'\nfrom = '{from}'\nto = '{to}'\n")
    };
    let both = format!(
        "{}{}[[meter]]",
        late("09:00", "09:30"),
        late("09:30", "09:45")
    );
    let workshop = Workshop::new().replace("site.toml", "[[meter]]", &both);
    let result = workshop.json(&["energy", "SITE", "--by", "schedule", "--format", "json"]);
    let found: Vec<(&str, f64)> = parts(&result)
        .iter()
        .map(|part| {
            let kwh = part["energy_kwh"].as_f64().expect("a number");
            (part["key"].as_str().expect("a key"), kwh)
        })
        .collect();
    assert_eq!(found.len(), 2);
    for ((key, kwh), (name, expected)) in found
        .into_iter()
        .zip([("day shift", 6.3 * 1.25), ("day shift + late", 6.3 * 0.75)])
    {
        assert_eq!(key, name);
        assert!((kwh - expected).abs() < 1e-9, "{key}: {kwh}");
    }
}

/// UCI, "Steel Industry Energy Consumption" (CC BY 4.0): sums of its own columns `date` (month) and
/// `Day_of_week`, added up in decimals with Python from the file.
#[test]
fn months_and_weekdays_of_a_public_log() {
    let Some(site) = shared("steel-works") else {
        return;
    };
    let site = site.to_string_lossy();
    let check = |by: &str, expected: &[(&str, f64)]| {
        let result = energy(&site, by);
        assert_eq!(parts(&result).len(), expected.len());
        for (key, kwh) in expected {
            let part = part(&result, "main", key);
            let found = part["energy_kwh"].as_f64().expect("a number");
            assert!((found - kwh).abs() < 0.005, "{key}: {found} is not {kwh}");
            assert_eq!(part["complete"], true, "{key}");
        }
    };
    check(
        "month",
        &[
            ("2018-01", 126238.29),
            ("2018-02", 91497.34),
            ("2018-03", 80230.41),
            ("2018-04", 78769.80),
            ("2018-05", 79059.28),
            ("2018-06", 65404.64),
            ("2018-07", 81674.41),
            ("2018-08", 68559.43),
            ("2018-09", 57883.07),
            ("2018-10", 84665.65),
            ("2018-11", 86221.21),
            ("2018-12", 59436.78),
        ],
    );
    check(
        "weekday",
        &[
            ("Monday", 168636.34),
            ("Tuesday", 171862.65),
            ("Wednesday", 161016.74),
            ("Thursday", 175279.52),
            ("Friday", 165709.51),
            ("Saturday", 79467.75),
            ("Sunday", 37667.80),
        ],
    );
}

/// Both clock changes of a public log: a day of 23 hours that is complete, one of 25 that lost an hour.
#[test]
fn days_of_23_and_25_hours() {
    let Some(site) = shared("campus") else { return };
    let result = energy(&site.to_string_lossy(), "day");
    let main = result["meters"][0]["id"].as_str().expect("an id");
    assert_eq!(part(&result, main, "2017-03-26")["complete"], true);
    assert_eq!(part(&result, main, "2017-10-29")["complete"], false);
}
