//! Oddities of lines: where they stand in the file, and what they do to the energy.

use super::{Case, close};

/// The second hour, 5 kW, appears twice: on lines 3 and 4, below the header. Counted twice it would
/// add 5 kWh.
#[test]
fn a_row_sent_twice_is_placed_and_its_energy_known() {
    let case = Case::hourly("active_power_kw = \"P\"", &["4", "5", "6"]);
    let outcome = case.with_line(2, "2026-03-09 02:00,5").run("P");
    close(outcome.meter().energy_kwh, 15.0);
    assert_eq!(outcome.kinds(), [("duplicate", 1)]);
    let entry = outcome.entry("duplicate");
    assert_eq!((entry.first_line, entry.last_line), (Some(4), Some(4)));
    assert_eq!(entry.first_file.as_deref(), Some("logs/a.csv"));
    close(entry.effect_kwh, -5.0);
}

/// The first two hours come again at the end, on lines 5 and 6: 4 + 5 kWh.
#[test]
fn a_stretch_sent_again_later_is_placed_too() {
    let outcome = Case::hourly("active_power_kw = \"P\"", &["4", "5", "6"])
        .with_line(3, "2026-03-09 01:00,4")
        .with_line(4, "2026-03-09 02:00,5")
        .run("P");
    let entry = outcome.entry("duplicate");
    assert_eq!(
        (entry.count, entry.first_line, entry.last_line),
        (2, Some(5), Some(6))
    );
    close(entry.effect_kwh, -9.0);
}

/// Words on lines 3 and 5, no time on line 6, the header again on line 7.
#[test]
fn what_cannot_be_read_is_placed() {
    let outcome = Case::hourly("active_power_kw = \"P\"", &["4", "error", "6", "error"])
        .with_line(4, "never,7")
        .with_line(5, "time,P")
        .run("P");
    let lines = |kind: &str| outcome.entry(kind).lines();
    assert_eq!(lines("unreadable-cell"), "logs/a.csv, rows 3–5");
    assert_eq!(lines("unreadable-time"), "logs/a.csv, row 6");
    assert_eq!(lines("repeated-header"), "logs/a.csv, row 7");
}

/// Two readings of one hour: the first counts, the second stands on line 3.
#[test]
fn a_contradiction_is_placed() {
    let outcome = Case::hourly("active_power_kw = \"P\"", &["4", "5"])
        .with_line(1, "2026-03-09 01:00,9")
        .run("P");
    close(outcome.meter().energy_kwh, 9.0);
    let entry = outcome.entry("contradiction");
    assert_eq!(entry.lines(), "logs/a.csv, row 3");
}
