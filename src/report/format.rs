//! Numbers and times as the page prints them.

use chrono::{DateTime, Utc};
use chrono_tz::Tz;

/// What stands where a value is not known.
pub(super) const UNKNOWN: &str = "—";

/// Fixed decimals, groups of three parted by a narrow space, true minus sign; [`UNKNOWN`] for what
/// is not finite.
pub(super) fn number(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return UNKNOWN.to_owned();
    }
    let text = format!("{:.decimals$}", value.abs());
    let (whole, fraction) = text.split_once('.').unwrap_or((&text, ""));
    let mut out = String::new();
    if value < 0.0 && text.bytes().any(|digit| (b'1'..=b'9').contains(&digit)) {
        out.push('−');
    }
    for (position, digit) in whole.chars().enumerate() {
        if position > 0 && (whole.len() - position) % 3 == 0 {
            out.push('\u{202F}');
        }
        out.push(digit);
    }
    if !fraction.is_empty() {
        out.push('.');
        out.push_str(fraction);
    }
    out
}

/// Names that a terminal shows between backticks, between the quotation marks of print.
pub(super) fn quoted(text: &str) -> String {
    let parts: Vec<&str> = text.split('`').collect();
    let is_paired = parts.len() % 2 == 1;
    if !is_paired {
        return text.to_owned();
    }
    let mut out = String::new();
    for (index, part) in parts.into_iter().enumerate() {
        if index > 0 {
            out.push(if index % 2 == 1 { '‘' } else { '’' });
        }
        out.push_str(part);
    }
    out
}

/// `12.3 A`.
pub(super) fn amps(value: f64) -> String {
    with_unit(value, 1, "A")
}

/// A limit: whole amperes without a decimal.
pub(super) fn limit(value: f64) -> String {
    with_unit(
        value,
        usize::from((value - value.round()).abs() > 1e-9),
        "A",
    )
}

/// `12.3 %`.
pub(super) fn percent(value: f64) -> String {
    with_unit(value, 1, "%")
}

/// A number with its unit, or the words that it is not known.
pub(super) fn with_unit(value: f64, decimals: usize, unit: &str) -> String {
    if value.is_finite() {
        format!("{}\u{A0}{unit}", number(value, decimals))
    } else {
        "not known".to_owned()
    }
}

/// Energy: one decimal below 100 kWh, none above.
pub(super) fn kwh(value: f64) -> String {
    number(value, usize::from(value.abs() < 99.95))
}

/// `3 h 20 min`.
pub(super) fn duration(seconds: u64) -> String {
    let minutes = seconds.div_ceil(60);
    match (minutes / 60, minutes % 60) {
        (0, minutes) => format!("{minutes}\u{A0}min"),
        (hours, 0) => format!("{hours}\u{A0}h"),
        (hours, minutes) => format!("{hours}\u{A0}h {minutes}\u{A0}min"),
    }
}

/// `1 move`, `2 moves`.
pub(super) fn counted(count: usize, one: &str, several: &str) -> String {
    if count == 1 {
        format!("1\u{A0}{one}")
    } else {
        format!("{count}\u{A0}{several}")
    }
}

/// `Tue 10 Mar 2026, 10:00` by the site's clock.
pub(super) fn moment(at: DateTime<Utc>, zone: Tz) -> String {
    at.with_timezone(&zone)
        .format("%a\u{A0}%-d\u{A0}%b\u{A0}%Y, %H:%M")
        .to_string()
}

/// `Mon 2 Mar 2026 to Sun 29 Mar 2026`, the last day being the one that is still covered.
pub(super) fn period(from: DateTime<Utc>, to: DateTime<Utc>, zone: Tz) -> String {
    let first = from.with_timezone(&zone).date_naive();
    let last = (to - chrono::TimeDelta::seconds(1))
        .with_timezone(&zone)
        .date_naive();
    if last <= first {
        return first.format("%a %-d %b %Y").to_string();
    }
    format!(
        "{} to {}",
        first.format("%a %-d %b %Y"),
        last.format("%a %-d %b %Y")
    )
}

/// `28 days`, `6 h`.
pub(super) fn length(from: DateTime<Utc>, to: DateTime<Utc>) -> String {
    let seconds = (to - from).num_seconds().max(0);
    if seconds < 2 * 86_400 {
        return duration(seconds as u64);
    }
    // A clock change makes a period of whole days an hour longer or shorter.
    let days = seconds as f64 / 86_400.0;
    let whole = (days - days.round()).abs() < 0.05;
    format!("{}\u{A0}days", number(days, usize::from(!whole)))
}

/// `L1`, `L1 and L2`, `L1, L2 and L3`.
pub(super) fn listed(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [only] => only.clone(),
        [start @ .., last] => format!("{} and {last}", start.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_stand_between_quotation_marks() {
        assert_eq!(
            quoted("meter `kiln` shows `Timber kiln`"),
            "meter ‘kiln’ shows ‘Timber kiln’"
        );
        // A lone one is part of a name.
        assert_eq!(quoted("meter `a`b` is odd"), "meter `a`b` is odd");
        assert_eq!(quoted("nothing"), "nothing");
    }

    #[test]
    fn numbers_are_grouped_and_signed() {
        assert_eq!(number(1_234_567.25, 1), "1\u{202F}234\u{202F}567.2");
        assert_eq!(number(-0.04, 1), "0.0");
        assert_eq!(number(-1234.0, 0), "−1\u{202F}234");
        assert_eq!(number(f64::NAN, 1), UNKNOWN);
        assert_eq!(with_unit(f64::INFINITY, 1, "A"), "not known");
        assert_eq!(limit(63.0), "63\u{A0}A");
        assert_eq!(limit(62.5), "62.5\u{A0}A");
    }

    #[test]
    fn times_are_counted_in_hours_and_minutes() {
        assert_eq!(duration(12_000), "3\u{A0}h 20\u{A0}min");
        assert_eq!(duration(60), "1\u{A0}min");
        assert_eq!(duration(7_200), "2\u{A0}h");
    }

    #[test]
    fn the_last_day_is_the_last_one_covered() {
        let instant = |text: &str| text.parse::<DateTime<Utc>>().expect("an instant");
        let zone = chrono_tz::Europe::London;
        let (from, to) = (
            instant("2026-03-02T00:00:00Z"),
            instant("2026-03-29T23:00:00Z"),
        );
        assert_eq!(period(from, to, zone), "Mon 2 Mar 2026 to Sun 29 Mar 2026");
        assert_eq!(length(from, to), "28\u{A0}days");
    }

    #[test]
    fn words_are_listed() {
        let words = ["L1", "L2", "L3"].map(str::to_owned);
        assert_eq!(listed(&words), "L1, L2 and L3");
        assert_eq!(listed(&words[..2]), "L1 and L2");
    }
}
