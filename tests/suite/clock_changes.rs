//! Logs over both clock changes of 2026 in London (IANA time zone database, Europe/London: forward on 29
//! March at 01:00 UTC, back on 25 October at 01:00 UTC), through the whole program. All kWh by hand.

use std::fmt::Write;

use serde_json::Value;

use crate::program::{SITE, Workshop};

const QUARTER_MIN: u32 = 15;

/// A site with one meter that logs total power, its stamps written as `time` says.
fn site(time: &str) -> String {
    let head = SITE.split("[[meter]]").next().unwrap_or_default();
    format!(
        "{head}[[meter]]\nid = \"main\"\nmeasures = \"supply\"\nfiles = \"meters/main.csv\"\n\
         time = {{ {time} }}\n\n[meter.columns]\nactive_power_kw = \"P\"\n"
    )
}

const LOCAL: &str = "column = \"time\", format = \"%Y-%m-%d %H:%M\"";
const ISO: &str = "column = \"time\"";
const UTC: &str = "column = \"time\", format = \"%Y-%m-%d %H:%M\", zone = \"UTC\"";

fn energy(time: &str, log: &str, more: &[&str]) -> Value {
    let workshop = Workshop::new()
        .with("site.toml", site(time))
        .with("meters/main.csv", log);
    let arguments = [&["energy", "SITE", "--format", "json"], more].concat();
    workshop.json(&arguments)["meters"][0].clone()
}

fn count(meter: &Value, kind: &str) -> u64 {
    let entries = meter["quality"].as_array().expect("quality is a list");
    entries
        .iter()
        .find(|entry| entry["kind"] == kind)
        .map_or(0, |entry| entry["count"].as_u64().unwrap_or(0))
}

fn is(value: &Value, expected: f64) -> bool {
    value
        .as_f64()
        .is_some_and(|value| (value - expected).abs() < 1e-9)
}

/// Stamps of the quarter-hours that end from `first` to `last` minutes after midnight.
fn quarters(date: &str, next: &str, first: u32, last: u32) -> Vec<String> {
    (first..=last)
        .step_by(QUARTER_MIN as usize)
        .map(|minute| match minute {
            1440 => format!("{next} 00:00"),
            _ => format!("{date} {:02}:{:02}", minute / 60, minute % 60),
        })
        .collect()
}

fn log(rows: impl IntoIterator<Item = (String, f64)>) -> String {
    let mut text = String::from("time,P\n");
    for (stamp, kw) in rows {
        let _ = writeln!(text, "{stamp},{kw}");
    }
    text
}

/// At 01:00 the clock shows 02:00: stamps go 00:15, 00:30, 00:45, 02:00, …
fn spring_day() -> Vec<String> {
    let mut stamps = quarters("2026-03-29", "2026-03-30", 15, 45);
    stamps.extend(quarters("2026-03-29", "2026-03-30", 120, 1440));
    stamps
}

/// At 02:00 the clock shows 01:00 again: stamps go …, 01:45, 01:00, 01:15, 01:30, 01:45, 02:00, …
fn autumn_day() -> Vec<String> {
    let mut stamps = quarters("2026-10-25", "2026-10-26", 15, 105);
    stamps.extend(quarters("2026-10-25", "2026-10-26", 60, 105));
    stamps.extend(quarters("2026-10-25", "2026-10-26", 120, 1440));
    stamps
}

#[test]
fn the_day_of_23_hours() {
    let stamps = spring_day();
    assert_eq!(stamps.len(), 92);
    let meter = energy(LOCAL, &log(stamps.into_iter().map(|at| (at, 2.0))), &[]);
    // 2 kW for 23 h.
    assert!(is(&meter["energy_kwh"], 46.0), "{meter}");
    assert_eq!(meter["from"], "2026-03-29T00:00:00Z");
    assert_eq!(meter["to"], "2026-03-29T23:00:00Z");
    assert!(is(&meter["coverage_pct"], 100.0), "{meter}");
    assert_eq!(
        meter["quality"].as_array().map(Vec::len),
        Some(0),
        "{meter}"
    );
    assert!(is(&meter["load_factor"], 1.0), "{meter}");
}

#[test]
fn the_day_of_25_hours() {
    let stamps = autumn_day();
    assert_eq!(stamps.len(), 100);
    let meter = energy(LOCAL, &log(stamps.into_iter().map(|at| (at, 2.0))), &[]);
    // 2 kW for 25 h.
    assert!(is(&meter["energy_kwh"], 50.0), "{meter}");
    assert_eq!(meter["from"], "2026-10-24T23:00:00Z");
    assert_eq!(meter["to"], "2026-10-26T00:00:00Z");
    assert!(is(&meter["coverage_pct"], 100.0), "{meter}");
    // 01:00, 01:15, 01:30 and 01:45, twice.
    assert_eq!(count(&meter, "repeated-hour"), 8, "{meter}");
    assert_eq!(count(&meter, "duplicate"), 0, "{meter}");
}

/// 1 kW the first time round, 3 kW the second, nothing else.
#[test]
fn the_repeated_hour_is_told_apart_by_order() {
    let mut seen = std::collections::HashSet::new();
    let rows = autumn_day().into_iter().map(|stamp| {
        let again = !seen.insert(stamp.clone());
        let in_hour = ["01:00", "01:15", "01:30", "01:45"]
            .iter()
            .any(|time| stamp.ends_with(time));
        let kw = match (in_hour, again) {
            (true, false) => 1.0,
            (true, true) => 3.0,
            _ => 0.0,
        };
        (stamp, kw)
    });
    let meter = energy(LOCAL, &log(rows), &[]);
    // 4 · ¼ h · 1 kW + 4 · ¼ h · 3 kW.
    assert!(is(&meter["energy_kwh"], 4.0), "{meter}");
    // Blocks of half an hour: 00:00 to 00:30 UTC holds 1 and 1 kW, 00:30 to 01:00 holds 1 and 3,
    // 01:00 to 01:30 holds 3 and 3: the largest, at 01:00 GMT and not at 01:00 BST.
    assert!(is(&meter["max_demand_kw"], 3.0), "{meter}");
    assert_eq!(meter["max_demand_at"], "2026-10-25T01:00:00+00:00");
}

/// The same file with its newest row first has the same readings, whatever the cadence.
#[test]
fn the_repeated_hour_of_a_file_that_descends() {
    let mut seen = std::collections::HashSet::new();
    let rows = autumn_day().into_iter().map(|stamp| {
        let again = !seen.insert(stamp.clone());
        let in_hour = stamp.contains(" 01:");
        (stamp, if in_hour && again { 3.0 } else { 1.0 })
    });
    let mut rows: Vec<(String, f64)> = rows.collect();
    rows.reverse();
    let meter = energy(LOCAL, &log(rows.clone()), &[]);
    // 25 h of 1 kW, and 2 kW more from 01:45 BST to 01:45 GMT.
    assert!(is(&meter["energy_kwh"], 27.0), "{meter}");
    assert!(is(&meter["coverage_pct"], 100.0), "{meter}");
    assert_eq!(meter["max_demand_at"], "2026-10-25T01:00:00+00:00");
    assert_eq!(count(&meter, "repeated-hour"), 8, "{meter}");
    assert_eq!(count(&meter, "duplicate"), 0, "{meter}");
    let hours = rows.into_iter().filter(|(stamp, _)| stamp.ends_with(":00"));
    let meter = energy(LOCAL, &log(hours), &[]);
    // The second 01:00 has 3 kW and ends at 01:00 GMT.
    assert!(is(&meter["energy_kwh"], 27.0), "{meter}");
    assert!(is(&meter["coverage_pct"], 100.0), "{meter}");
}

/// The same readings with their offsets written need no guessing and give the same.
#[test]
fn written_offsets_leave_nothing_to_tell_apart() {
    let rows = (1..=100).map(|quarter: i64| {
        let seconds = 1_792_882_800 + quarter * 900; // 2026-10-24T23:00:00Z
        let utc = chrono::DateTime::from_timestamp(seconds, 0).expect("a time of 2026");
        let east = if quarter < 8 { 3600 } else { 0 };
        let zone = chrono::FixedOffset::east_opt(east).expect("an hour is an offset");
        // The second pass of the hour: quarters that end from 01:00 to 01:45 UTC.
        let kw = if (8..12).contains(&quarter) { 3.0 } else { 0.0 };
        (utc.with_timezone(&zone).to_rfc3339(), kw)
    });
    let meter = energy(ISO, &log(rows), &[]);
    assert!(is(&meter["energy_kwh"], 3.0), "{meter}");
    assert_eq!(count(&meter, "repeated-hour"), 0);
    assert_eq!(meter["max_demand_at"], "2026-10-25T01:00:00+00:00");
    assert_eq!(meter["from"], "2026-10-24T23:00:00Z");
}

/// A logger that was not put forward goes on with times that no clock showed: 01:00 to 01:45.
#[test]
fn times_that_the_clock_skipped_are_read_and_counted() {
    let stamps = quarters("2026-03-29", "2026-03-30", 15, 105);
    let meter = energy(LOCAL, &log(stamps.into_iter().map(|at| (at, 4.0))), &[]);
    // Seven quarter-hours of 4 kW.
    assert!(is(&meter["energy_kwh"], 7.0), "{meter}");
    assert_eq!(count(&meter, "skipped-hour"), 4, "{meter}");
    assert_eq!(meter["to"], "2026-03-29T01:45:00Z");
}

/// `--from` and `--to` are local dates: three days of UTC stamps, one of which has 23 or 25 hours.
#[test]
fn periods_follow_the_local_day() {
    for (first, day, next, hours) in [
        (1_774_656_000_i64, "2026-03-29", "2026-03-30", 23.0), // 2026-03-28T00:00:00Z
        (1_792_800_000, "2026-10-25", "2026-10-26", 25.0),     // 2026-10-24T00:00:00Z
    ] {
        let rows = (1..=3 * 96).map(|quarter| {
            let utc = chrono::DateTime::from_timestamp(first + quarter * 900, 0);
            (
                utc.expect("a time of 2026")
                    .format("%Y-%m-%d %H:%M")
                    .to_string(),
                1.0,
            )
        });
        let meter = energy(UTC, &log(rows), &["--from", day, "--to", next]);
        assert!(is(&meter["energy_kwh"], hours), "{day}: {meter}");
        assert!(is(&meter["coverage_pct"], 100.0), "{day}: {meter}");
    }
}

/// Midnight in its three writings closes the same day.
#[test]
fn midnight_may_be_written_in_three_ways() {
    let day = quarters("2026-03-09", "2026-03-10", 15, 1425);
    for (last, more) in [
        ("2026-03-10 00:00", ""),
        ("2026-03-09 24:00", ""),
        ("2026-03-09 00:00", ", midnight = \"closes-day\""),
    ] {
        let stamps = day.iter().cloned().chain([last.to_owned()]);
        let meter = energy(
            &format!("{LOCAL}{more}"),
            &log(stamps.map(|at| (at, 1.0))),
            &[],
        );
        assert!(is(&meter["energy_kwh"], 24.0), "{last}: {meter}");
        assert_eq!(meter["to"], "2026-03-10T00:00:00Z", "{last}");
    }
}
