//! The time of a reading.

use chrono::{DateTime, NaiveDateTime, NaiveTime, TimeZone, Utc};
use chrono_tz::Tz;

/// Local time, or a time with its offset. Of a repeated hour the first is meant.
pub(super) fn read_time(text: &str, zone: Tz) -> Option<DateTime<Utc>> {
    for format in [
        "%Y-%m-%dT%H:%M%#z",
        "%Y-%m-%d %H:%M%#z",
        "%Y-%m-%dT%H:%M:%S%#z",
        "%Y-%m-%d %H:%M:%S%#z",
    ] {
        if let Ok(time) = DateTime::parse_from_str(text, format) {
            return Some(time.to_utc());
        }
    }
    let plain = [
        "%Y-%m-%dT%H:%M",
        "%Y-%m-%d %H:%M",
        "%Y-%m-%dT%H:%M:%S",
        "%Y-%m-%d %H:%M:%S",
        "%d.%m.%Y %H:%M",
        "%d.%m.%Y %H:%M:%S",
        "%d %b %Y %H:%M",
        "%a %d %b %Y %H:%M",
        "%Y-%m-%d %I:%M %p",
    ]
    .iter()
    .find_map(|format| NaiveDateTime::parse_from_str(text, format).ok());
    plain
        .or_else(|| with_slashes(text))
        .and_then(|local| zone.from_local_datetime(&local).earliest())
        .map(|time| time.to_utc())
}

/// Is a text a time without a date?
pub(super) fn is_time_of_day(text: &str) -> bool {
    ["%H:%M", "%H:%M:%S", "%I:%M %p"]
        .iter()
        .any(|format| NaiveTime::parse_from_str(text, format).is_ok())
}

/// Day and month with slashes, in either order, where only one order is possible.
fn with_slashes(text: &str) -> Option<NaiveDateTime> {
    let of = |format: &str| NaiveDateTime::parse_from_str(text, format).ok();
    match (of("%d/%m/%Y %H:%M"), of("%m/%d/%Y %H:%M")) {
        (Some(one), Some(other)) => (one == other).then_some(one),
        (one, other) => one.or(other),
    }
}

/// Help for a date whose day and month may be exchanged.
pub(super) fn day_or_month(text: &str) -> Option<String> {
    let one = NaiveDateTime::parse_from_str(text, "%d/%m/%Y %H:%M").ok()?;
    let other = NaiveDateTime::parse_from_str(text, "%m/%d/%Y %H:%M").ok()?;
    let shown = |time: NaiveDateTime| time.format("%Y-%m-%d %H:%M");
    Some(format!(
        "write `{}` or `{}`: day and month may be either",
        shown(one),
        shown(other)
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_local_unless_they_say_otherwise() {
        let zone = chrono_tz::Europe::Berlin;
        let utc = |text: &str| read_time(text, zone).map(|time| time.to_rfc3339());
        let expected = Some("2026-03-09T09:30:00+00:00".to_owned());
        assert_eq!(utc("2026-03-09 10:30"), expected);
        assert_eq!(utc("2026-03-09T10:30:00"), expected);
        assert_eq!(utc("2026-03-09T09:30Z"), expected);
        assert_eq!(utc("2026-03-09T11:30+02:00"), expected);
        // The hour that the clock change leaves out.
        assert_eq!(utc("2026-03-29 02:30"), None);
        assert_eq!(utc("9.3.2026"), None);
        assert_eq!(utc("9.3.2026 10:30"), expected);
        assert_eq!(utc("9 Mar 2026 10:30"), expected);
        assert_eq!(utc("Mon 9 Mar 2026 10:30"), expected);
        assert_eq!(utc("2026-03-09 10:30 am"), expected);
        assert_eq!(utc("13/3/2026 10:30"), utc("2026-03-13 10:30"));
        assert_eq!(utc("9/3/2026 10:30"), None);
        assert!(day_or_month("9/3/2026 10:30").is_some_and(|help| help.contains("2026-09-03")));
    }
}
