//! Files as suppliers, markets and loggers hand them out, read without a declaration: the energy of a file alone, the
//! same energy in many shapes, published files of open formats, and readings that were once read wrongly.

mod faults;
mod outputs;
mod published;
mod questions;
mod shapes;
mod unread;

use serde_json::Value;

use crate::program::Workshop;

/// A site whose only meter reads `meters/a.csv`, with more keys of the meter and more tables.
fn site(log: &str, keys: &str, tables: &str) -> Workshop {
    site_of(
        &[("a.csv", log)],
        &format!("files = \"meters/a*.csv\"\n{keys}"),
        tables,
    )
}

/// The same with several files.
fn site_of(logs: &[(&str, &str)], keys: &str, tables: &str) -> Workshop {
    let head = "[site]\nname = \"Hand\"\ntimezone = \"Europe/London\"\ncurrency = \"GBP\"\n";
    let meter = "[[meter]]\nid = \"main\"\nmeasures = \"supply\"\n";
    let workshop = Workshop::empty().with("site.toml", format!("{head}{meter}{keys}\n{tables}"));
    logs.iter().fold(workshop, |workshop, (name, log)| {
        workshop.with(&format!("meters/{name}"), log)
    })
}

fn energy(workshop: &Workshop) -> Value {
    workshop.json(&["energy", "SITE", "--format", "json"])
}

/// Import of the meters. (kWh)
fn import(result: &Value) -> Vec<f64> {
    let meters = result["meters"].as_array().expect("meters");
    meters
        .iter()
        .map(|meter| meter["energy_import_kwh"].as_f64().expect("an energy"))
        .collect()
}

fn close(found: f64, expected: f64) -> bool {
    (found - expected).abs() < 1e-9 * expected.abs().max(1.0)
}

/// Rows of half-hours from midnight of 9 March 2026, by their number.
fn half_hours(count: usize, row: impl Fn(&str, usize) -> String) -> String {
    let first = chrono::NaiveDate::from_ymd_opt(2026, 3, 9)
        .and_then(|day| day.and_hms_opt(0, 0, 0))
        .expect("a date");
    let stamp = |at: usize| {
        (first + chrono::Duration::minutes(30 * at as i64))
            .format("%Y-%m-%d %H:%M")
            .to_string()
    };
    (0..count).map(|at| row(&stamp(at), at) + "\n").collect()
}
