//! Frequency outside its range, and what only looks like it.

use super::{number, set};
use crate::samples::{Columns, clear, constant, judge, judge_site, needs, only, site, table};
use crate::{Diagnosis, diagnose};
use finding::{Kind, Severity};
use metering::{Logs, MeterLog};
use site::{Quantity, Site};

const KIND: Kind = Kind::FrequencyOutOfRange;

/// So many rows at `usual`, from `row` on `count` of them at `other`.
fn hertz(rows: usize, usual: f64, row: usize, count: usize, other: f64) -> Columns {
    let mut columns = vec![constant(Quantity::Frequency, usual, rows)];
    set(&mut columns, Quantity::Frequency, row..row + count, other);
    columns
}

/// A site of that nominal frequency.
fn supplied(frequency_hz: f64) -> Site {
    let mut site = site(&[], "");
    site.supply.frequency_hz = frequency_hz;
    site
}

#[test]
fn a_frequency_beyond_one_per_cent_is_told() {
    let mut columns = hertz(1440, 50.02, 600, 10, 49.43);
    set(&mut columns, Quantity::Frequency, 900..903, 50.61);
    let diagnosis = judge(columns);
    let finding = only(&diagnosis, KIND);
    assert_eq!(finding.spot.meter.as_deref(), Some("main"));
    assert_eq!(finding.spot.phase, None);
    for (name, figure) in [
        ("nominal_hz", 50.0),
        ("time_outside_min", 13.0),
        ("longest_spell_min", 10.0),
        // 13 of 1 440 minutes.
        ("worst_year_outside_pct", 0.902_777_778),
        ("days_read", 1.0),
        ("lowest_hz", 49.43),
        ("highest_hz", 50.61),
    ] {
        assert!((number(finding, name) - figure).abs() < 1e-6, "{name}");
    }
    assert_eq!(finding.severity, Severity::Warning);
    assert!(finding.summary.contains("49.50 to 50.50 Hz for 13 min"));
    assert!(finding.summary.contains("1-minute means"));
}

/// EN 50160:2010, 4.2.1 (from memory): 99.5 % of a year within ±1 %, all of it within −6/+4 %: 49.5 to 50.5 and 47 to
/// 52 Hz; of 60 Hz 59.4 to 60.6 and 56.4 to 62.4 Hz. Of 1 440 minutes 7 are less than 0.5 %, 8 are more.
#[test]
fn the_range_ends_where_the_standard_says() {
    for (nominal, at_limit, beyond) in [
        (50.0, [49.5, 50.5, 47.0, 52.0], [49.49, 50.51, 46.99, 52.01]),
        (60.0, [59.4, 60.6, 56.4, 62.4], [59.39, 60.61, 56.39, 62.41]),
    ] {
        let site = supplied(nominal);
        let with = |other: f64, count: usize| {
            let usual = site.supply.frequency_hz;
            judge_site(&site, 60, hertz(1440, usual, 100, count, other))
        };
        for hz in &at_limit[..2] {
            assert!(clear(&with(*hz, 1440 - 100), KIND), "{hz}");
        }
        let severity = |hz: f64, count: usize| only(&with(hz, count), KIND).severity;
        for hz in [beyond[0], beyond[1], at_limit[2], at_limit[3]] {
            assert_eq!(severity(hz, 7), Severity::Notice, "{hz}");
            assert_eq!(severity(hz, 8), Severity::Warning, "{hz}");
        }
        for hz in &beyond[2..] {
            assert_eq!(severity(*hz, 1), Severity::Warning, "{hz}");
        }
        // The same limits out of a fast log, which keeps single precision.
        for hz in at_limit.map(|hz| f64::from(hz as f32)) {
            let diagnosis = with(hz, 1);
            let finding = diagnosis.findings.iter().find(|one| one.kind == KIND);
            assert!(
                finding.is_none_or(|one| one.severity == Severity::Notice),
                "{hz}"
            );
        }
    }
}

/// Hours of 400 days. A year has 8 760: 44 of them are more than 0.5 %, 43 are less. The last 35 days alone have 840,
/// of which 43 would be 5.1 %.
#[test]
fn days_beyond_a_year_are_judged_with_the_year_before_them() {
    let with = |row: usize, count: usize| {
        judge_site(&site(&[], ""), 3600, hertz(9600, 50.0, row, count, 49.0))
    };
    for row in [10, 9500] {
        let less = with(row, 43);
        assert_eq!(only(&less, KIND).severity, Severity::Notice, "{row}");
        let more = with(row, 44);
        let finding = only(&more, KIND);
        assert_eq!(finding.severity, Severity::Warning, "{row}");
        let share = number(finding, "worst_year_outside_pct");
        assert!((share - 0.502_283_105).abs() < 1e-6, "{share}");
    }
}

/// A meter without supply writes 0 Hz; 65.5 and 655.35 Hz are overflowing counters.
#[test]
fn outages_and_misreadings_are_not_an_odd_frequency() {
    for misread in [0.0, 44.9, 55.1, 65.5, 655.35] {
        let diagnosis = judge(hertz(1440, 49.98, 300, 200, misread));
        assert!(clear(&diagnosis, KIND), "{misread}");
    }
    // A supply of 60 Hz on a site that says nothing of it is taken for 50 Hz: not a frequency that drifts.
    let wrong = judge(hertz(1440, 60.0, 0, 1, 60.01));
    assert!(needs(&wrong, KIND).contains("`frequency_hz`"));
    let railway = judge_site(&supplied(16.7), 60, hertz(300, 16.7, 0, 1, 16.0));
    assert!(needs(&railway, KIND).contains("50 or 60 Hz"));
}

/// It is one for the whole installation: the supply's meter tells it, else a board's, and no machine's, which may
/// be behind its inverter.
#[test]
fn one_meter_tells_the_frequency() {
    let site = site(
        &["Fan,DB1,3ph,4"],
        "[[meter]]\nid = \"fan\"\nmeasures = \"Fan\"\nfiles = \"fan.csv\"\n",
    );
    let odd = || table(60, hertz(300, 50.0, 0, 100, 48.0));
    let said = |meters: &[usize]| -> Diagnosis {
        let logs = Logs {
            meters: meters
                .iter()
                .map(|&meter| MeterLog::of_table(meter, odd()))
                .collect(),
            ..Logs::default()
        };
        diagnose(&site, &logs)
    };
    let told = |meters: &[usize]| only(&said(meters), KIND).spot.meter.clone();
    assert_eq!(told(&[2, 1, 0]).as_deref(), Some("main"));
    assert_eq!(told(&[2, 1]).as_deref(), Some("board"));
    assert!(needs(&said(&[2]), KIND).contains("a board or a circuit"));
}
