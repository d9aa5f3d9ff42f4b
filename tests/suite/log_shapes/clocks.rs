//! Clocks that jitter, jump, are lost or change, files that overlap, rows that run backwards.

use std::fmt::Write;

use super::{NONE, Written, power};
use crate::log_values::close;

/// A stamp so many seconds after 9 March 2026, midnight.
fn stamp(seconds: i64) -> String {
    let (hour, minute, second) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
    format!(
        "2026-03-{:02} {:02}:{minute:02}:{second:02}",
        9 + hour / 24,
        hour % 24
    )
}

/// Rows of seconds and kW.
fn rows(readings: impl IntoIterator<Item = (i64, f64)>) -> String {
    let mut log = "time,P\n".to_owned();
    for (seconds, kw) in readings {
        writeln!(log, "{},{kw}", stamp(seconds)).expect("a String takes any text");
    }
    log
}

/// 1 kW, 2 kW, … 8 kW for a quarter-hour each: 36 · 0.25 = 9 kWh.
#[test]
fn jitter_of_a_few_seconds_is_no_cadence() {
    let jitter = [0, 3, -2, 4, 1, -4, 2, 0];
    let log = rows(
        (1..=8)
            .zip(jitter)
            .map(|(n, off)| (900 * n + off, n as f64)),
    );
    let outcome = power(log).run();
    close(outcome.meter().energy_kwh, 9.0);
    assert_eq!(outcome.kinds(), NONE);
    assert_eq!(outcome.meter().interval_s, 900);
}

#[test]
fn rows_may_run_backwards() {
    let outcome = power(rows((1..=8).rev().map(|n| (900 * n, n as f64)))).run();
    close(outcome.meter().energy_kwh, 9.0);
    assert_eq!(outcome.kinds(), NONE);
    // Second by second, two minutes of 6 and 12 kW: 6/60 + 12/60 = 0.3 kWh.
    let fast = (1..=120)
        .rev()
        .map(|s| (s, if s <= 60 { 6.0 } else { 12.0 }));
    let outcome = power(rows(fast)).run();
    close(outcome.meter().energy_kwh, 0.3);
    assert_eq!(outcome.kinds(), NONE);
}

/// The files hold quarter-hours 5–8, 1–4 and 3–6 and are read in the order of their names: four rows
/// come again, in the third file from line 2 on.
#[test]
fn files_that_overlap_in_any_order() {
    let file =
        |quarters: std::ops::RangeInclusive<i64>| rows(quarters.map(|n| (900 * n, n as f64)));
    let outcome = power(file(5..=8))
        .and("b.csv", file(1..=4))
        .and("c.csv", file(3..=6))
        .run();
    close(outcome.meter().energy_kwh, 9.0);
    assert_eq!(outcome.kinds(), [("duplicate", 4)]);
    let entry = outcome.entry("duplicate");
    assert_eq!(entry.lines(), "logs/c.csv, row 2");
    // 3 + 4 + 5 + 6 kW for a quarter-hour would have come again.
    close(entry.effect_kwh, -4.5);
}

/// Two files of seconds, minutes 1–3 and 2–4, of energy: 1 Wh a second is 60 Wh a minute, four
/// minutes are 240 Wh. The 120 seconds that both have count once.
#[test]
fn fast_files_that_overlap() {
    let file = |minutes: std::ops::Range<i64>| {
        let seconds = 60 * minutes.start + 1..=60 * minutes.end;
        rows(seconds.map(|second| (second, 0.001)))
    };
    let log = Written::new("energy_interval_kwh = \"P\"", file(0..3)).and("b.csv", file(1..4));
    let outcome = log.run();
    close(outcome.meter().energy_kwh, 0.24);
    assert_eq!(outcome.kinds(), [("duplicate", 120)]);
}

/// One file for each reading: the cadence shows only in all of them. 4 + 5 + 6 kWh.
#[test]
fn a_file_for_each_reading() {
    let file = |hour: i64, kw| rows([(3600 * hour, kw)]);
    let files = power(file(1, 4.0))
        .and("b.csv", file(2, 5.0))
        .and("c.csv", file(3, 6.0));
    let outcome = files.run();
    close(outcome.meter().energy_kwh, 15.0);
    assert_eq!(
        (outcome.kinds(), outcome.meter().interval_s),
        (vec![], 3600)
    );
}

/// Three minutes of seconds at 6 kW; after 01:30 the clock goes back by one second and shows 01:29
/// and 01:30 again, at 600 kW: these two samples are left out, and nothing else. 3/60 · 6 = 0.3 kWh.
#[test]
fn a_clock_put_back_by_a_second() {
    let late = [(89, 600.0), (90, 600.0)];
    let log = rows(
        (1..=90)
            .map(|s| (s, 6.0))
            .chain(late)
            .chain((91..=180).map(|s| (s, 6.0))),
    );
    let outcome = power(log).run();
    close(outcome.meter().energy_kwh, 0.3);
    // 01:30 contradicts the sample before it, 01:29 is of a moment passed earlier.
    assert_eq!(outcome.kinds(), [("contradiction", 1), ("late-sample", 1)]);
    assert_eq!(outcome.entry("late-sample").lines(), "logs/a.csv, row 92");
    assert_eq!(outcome.entry("contradiction").lines(), "logs/a.csv, row 93");
}

/// The clock of a log of quarter-hours goes back by half an hour: two readings contradict the first.
#[test]
fn a_clock_put_back_by_half_an_hour() {
    let late = [(900 * 7, 50.0), (900 * 8, 50.0)];
    let outcome = power(rows((1..=8).map(|n| (900 * n, n as f64)).chain(late))).run();
    close(outcome.meter().energy_kwh, 9.0);
    assert_eq!(outcome.kinds(), [("contradiction", 2)]);
    assert_eq!(
        outcome.entry("contradiction").lines(),
        "logs/a.csv, rows 10–11"
    );
}

/// Between 4 and 5 kW the logger has lost its clock twice; three hours of 7 kW are dated wrongly.
#[test]
fn a_logger_that_begins_again_in_1970_or_2000() {
    let log = "time,P\n2026-03-09 01:00,4\n1970-01-01 01:00,7\n1970-01-01 02:00,7\n\
               2000-01-01 01:00,7\n2026-03-09 02:00,5\n";
    let outcome = power(log).run();
    close(outcome.meter().energy_kwh, 9.0);
    assert_eq!(outcome.kinds(), [("clock-reset", 3)]);
    let entry = outcome.entry("clock-reset");
    assert_eq!(entry.first.map(|at| at.timestamp()), Some(0));
    assert_eq!(entry.last.map(|at| at.timestamp()), Some(946_684_800));
    // A log of January 2000 that ends there is one.
    let log = "time,P\n2000-01-09 01:00,4\n2000-01-09 02:00,5\n";
    let outcome = power(log).run();
    close(outcome.meter().energy_kwh, 9.0);
    assert_eq!(outcome.kinds(), NONE);
}

/// Two hours of minutes at 6 kW, then four hours of quarter-hours at 8 kW, or the other way round:
/// 12 + 32 = 44 kWh.
#[test]
fn a_cadence_that_changes_within_a_log() {
    let minutes = |from: i64| (1..=120).map(move |n| (from + 60 * n, 6.0));
    let quarters = |from: i64| (1..=16).map(move |n| (from + 900 * n, 8.0));
    for log in [
        rows(minutes(0).chain(quarters(7200))),
        rows(quarters(0).chain(minutes(4 * 3600))),
    ] {
        let outcome = power(&log).run();
        close(outcome.meter().energy_kwh, 44.0);
        assert_eq!(outcome.kinds(), [("cadence-change", 1)], "{log}");
        assert_eq!(outcome.meter().interval_s, 900);
        close(Some(outcome.meter().coverage_pct), 100.0);
    }
    // In two files, the change between them.
    let outcome = power(rows(minutes(0)))
        .and("b.csv", rows(quarters(7200)))
        .run();
    close(outcome.meter().energy_kwh, 44.0);
    assert_eq!(outcome.kinds(), [("cadence-change", 1)]);
}

/// Every fifth minute is missing throughout: a log with gaps, not one of another cadence. Of an hour
/// of 6 kW, 48 minutes are left: 4.8 kWh.
#[test]
fn gaps_are_no_cadence() {
    let log = rows((1..=60).filter(|n| n % 5 != 2).map(|n| (60 * n, 6.0)));
    let outcome = power(log).run();
    close(outcome.meter().energy_kwh, 4.8);
    assert_eq!(outcome.kinds(), [("gap", 12)]);
}

/// Both clock changes of 2026 in Berlin (IANA time zone database: 29 March and 25 October, each at
/// 01:00 UTC), hours of 1 kW: a day of 23 and one of 25 hours.
#[test]
fn the_hour_that_is_missing_and_the_hour_that_is_repeated() {
    let hours = |day: &str, next: &str, stamps: &[u32]| {
        let mut log = "time,P\n".to_owned();
        for hour in stamps {
            writeln!(log, "{day} {hour:02}:00,1").expect("a String takes any text");
        }
        log + next + " 00:00,1\n"
    };
    let all: Vec<u32> = (1..24).collect();
    let spring: Vec<u32> = all.iter().copied().filter(|&hour| hour != 2).collect();
    let outcome = power(hours("29.03.2026", "30.03.2026", &spring))
        .in_zone("Europe/Berlin")
        .run();
    close(outcome.meter().energy_kwh, 23.0);
    assert_eq!(outcome.kinds(), NONE);
    let mut autumn = all.clone();
    autumn.insert(2, 2);
    let outcome = power(hours("25.10.2026", "26.10.2026", &autumn))
        .in_zone("Europe/Berlin")
        .run();
    close(outcome.meter().energy_kwh, 25.0);
    assert_eq!(outcome.kinds(), [("repeated-hour", 2)]);
}

/// Minutes at 7 s past, then 1 h 47 min 25 s later minutes at 32 s past: the clock was set. A gap of 1 h 47 min alone is
/// a gap.
#[test]
fn a_clock_that_jumps_is_told_from_a_gap() {
    let minutes = |from: i64| (0..60).map(move |n| (from + 60 * n, 6.0));
    let jump = 7 + 59 * 60 + 6445;
    let outcome = power(rows(minutes(7).chain(minutes(jump)))).run();
    let kinds: Vec<&str> = outcome.kinds().iter().map(|(kind, _)| *kind).collect();
    assert!(kinds.contains(&"clock-jump"), "{kinds:?}");
    let entry = outcome.entry("clock-jump");
    assert_eq!(entry.count, 1);
    assert!(
        entry.note.contains("forward by 1\u{a0}h 48\u{a0}min"),
        "{}",
        entry.note
    );
    let gap = 7 + 59 * 60 + 6420;
    let outcome = power(rows(minutes(7).chain(minutes(gap)))).run();
    assert!(
        outcome.kinds().iter().all(|(kind, _)| *kind == "gap"),
        "{:?}",
        outcome.kinds()
    );
}
