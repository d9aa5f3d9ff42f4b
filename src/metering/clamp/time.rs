//! The time of a reading.

use chrono::{DateTime, NaiveDateTime, TimeZone, Utc};
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
    [
        "%Y-%m-%dT%H:%M",
        "%Y-%m-%d %H:%M",
        "%Y-%m-%dT%H:%M:%S",
        "%Y-%m-%d %H:%M:%S",
    ]
    .iter()
    .find_map(|format| NaiveDateTime::parse_from_str(text, format).ok())
    .and_then(|local| zone.from_local_datetime(&local).earliest())
    .map(|time| time.to_utc())
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
    }
}
