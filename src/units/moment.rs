//! How dates, times and periods are written for people.

use std::fmt::Display;

use chrono::{DateTime, NaiveDate, NaiveDateTime, TimeDelta, TimeZone, Utc};

use super::figure::format_number;

/// A local date: `Mon 9 Mar 2026`.
#[must_use]
pub fn format_date(date: NaiveDate) -> String {
    date.format("%a %-d %b %Y").to_string()
}

/// A local time: `Mon 9 Mar 2026 10:30`.
#[must_use]
#[expect(
    clippy::needless_pass_by_value,
    reason = "a time is as small as a reference to it"
)]
pub fn format_moment<Z: TimeZone<Offset: Display>>(at: DateTime<Z>) -> String {
    format_local(at.naive_local())
}

/// A local time without its zone: `Mon 9 Mar 2026 10:30`.
#[must_use]
pub fn format_local(at: NaiveDateTime) -> String {
    at.format("%a %-d %b %Y %H:%M").to_string()
}

/// `Mon 2 Mar 2026 to Sun 29 Mar 2026`: local days, both included.
#[must_use]
pub fn format_period<Z: TimeZone>(from: DateTime<Utc>, to: DateTime<Utc>, zone: &Z) -> String {
    let day = |at: DateTime<Utc>| at.with_timezone(zone).date_naive();
    let last = day(to - TimeDelta::seconds(1));
    format_days(day(from), last.succ_opt().unwrap_or(last))
}

/// Local days from `from` up to, but without, `to`: `Mon 2 Mar 2026 to Sun 29 Mar 2026`.
#[must_use]
pub fn format_days(from: NaiveDate, to: NaiveDate) -> String {
    let last = to.pred_opt().unwrap_or(to);
    if last <= from {
        format_date(from)
    } else {
        format!("{} to {}", format_date(from), format_date(last))
    }
}

/// `3 h 20 min`, unbroken; minutes are rounded up.
#[must_use]
pub fn format_duration(seconds: u64) -> String {
    let minutes = seconds.div_ceil(60);
    match (minutes / 60, minutes % 60) {
        (0, minutes) => format!("{minutes}\u{A0}min"),
        (hours, 0) => format!("{hours}\u{A0}h"),
        (hours, minutes) => format!("{hours}\u{A0}h {minutes}\u{A0}min"),
    }
}

/// `28 days`, `6 h`.
#[must_use]
pub fn format_length(from: DateTime<Utc>, to: DateTime<Utc>) -> String {
    let seconds = (to - from).num_seconds().max(0);
    if seconds < 2 * 86_400 {
        return format_duration(seconds as u64);
    }
    // A clock change makes a period of whole days an hour longer or shorter.
    let days = seconds as f64 / 86_400.0;
    let whole = (days - days.round()).abs() < 0.05;
    format!("{}\u{A0}days", format_number(days, usize::from(!whole)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_counted_in_hours_and_minutes() {
        assert_eq!(format_duration(12_000), "3\u{A0}h 20\u{A0}min");
        assert_eq!(format_duration(60), "1\u{A0}min");
        assert_eq!(format_duration(7_200), "2\u{A0}h");
    }

    #[test]
    fn the_last_day_is_the_last_one_covered() {
        let instant = |text: &str| text.parse::<DateTime<Utc>>().expect("an instant");
        let (from, to) = (
            instant("2026-03-02T00:00:00Z"),
            instant("2026-03-29T23:00:00Z"),
        );
        let zone = chrono_tz::Europe::London;
        let period = format_period(from, to, &zone);
        assert_eq!(period, "Mon 2 Mar 2026 to Sun 29 Mar 2026");
        assert_eq!(format_length(from, to), "28\u{A0}days");
        let local = instant("2026-03-29T01:30:00Z").with_timezone(&zone);
        assert_eq!(format_moment(local), "Sun 29 Mar 2026 02:30");
    }
}
