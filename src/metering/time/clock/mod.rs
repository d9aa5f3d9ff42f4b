//! Time stamps of a log into UTC.
//!
//! In: stamps as they are in their cells. Out: a [`Reading`] each. [`stamp_format`] knows how they are written,
//! [`local_hours`] what the clock of the site's zone did.

mod local_hours;
mod stamp_format;

use std::borrow::Cow;
use std::ops::Range;

use chrono_tz::Tz;

use self::local_hours::LocalHours;
use self::stamp_format::{StampFormat, StampTime};
use site::{TimeColumn, Zone};

const DAY_S: i64 = 86_400;
/// From 1970, wherever its midnight is, to 2100. Other dates are mistakes: no meter logged
/// earlier, and the interval between rows eight thousand years apart would span them all.
const LOGGED_S: Range<i64> = -DAY_S..4_102_444_800;

/// A stamp in UTC seconds, or why it has none.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Reading {
    /// Seconds since 1970-01-01 UTC.
    At(i64),
    /// In the hour that autumn repeats: the earlier and the later possibility.
    Repeated { earlier: i64, later: i64 },
    /// In the hour that spring leaves out; read as if the clock had not been put forward.
    Skipped(i64),
    /// Not a time, or one at which nothing was logged.
    Unreadable,
}

impl Reading {
    /// A moment, if something can have been logged then.
    pub(crate) fn of_moment(at: i64) -> Reading {
        if LOGGED_S.contains(&at) {
            Reading::At(at)
        } else {
            Reading::Unreadable
        }
    }
}

/// Reads stamps as the meter's time column is declared.
#[derive(Clone, Debug)]
pub(crate) struct Clock {
    format: StampFormat,
    zone: Zone,
    local: LocalHours,
    midnight_closes_day: bool,
    /// Sign between the cells of date and time of day, where they are two.
    between: Option<u8>,
}

impl Clock {
    pub(crate) fn new(column: &TimeColumn, site_zone: Tz) -> Clock {
        Clock {
            format: StampFormat::of(&column.format),
            zone: column.zone,
            local: LocalHours::new(site_zone),
            midnight_closes_day: column.midnight_closes_day,
            between: None,
        }
    }

    /// Date and time of day are in two cells, joined by this sign.
    pub(crate) fn of_two_cells(self, between: Option<u8>) -> Clock {
        Clock { between, ..self }
    }

    /// A stamp without blanks around its parts.
    pub(crate) fn plain<'s>(&self, stamp: &'s [u8]) -> Cow<'s, [u8]> {
        let stamp = stamp.trim_ascii();
        let cut = self.between.and_then(|sign| memchr::memchr(sign, stamp));
        match cut {
            Some(cut) => {
                let (date, time) = (stamp[..cut].trim_ascii(), stamp[cut + 1..].trim_ascii());
                [date, b" ", time].concat().into()
            }
            None => stamp.into(),
        }
    }

    /// Reads one stamp.
    pub(crate) fn read(&mut self, cell: &[u8]) -> Reading {
        match self.format.read(&self.plain(cell)) {
            Some(StampTime::Moment(at)) => Reading::of_moment(at),
            Some(StampTime::Own(own)) => self.read_own(own),
            None => Reading::Unreadable,
        }
    }

    /// Reads seconds since 1970-01-01 in the clock that the stamps follow.
    pub(crate) fn read_own(&mut self, mut own: i64) -> Reading {
        // Local clocks and UTC differ by less than a day.
        if !(LOGGED_S.start - DAY_S..LOGGED_S.end + DAY_S).contains(&own) {
            return Reading::Unreadable;
        }
        if self.midnight_closes_day && own.rem_euclid(DAY_S) == 0 {
            own += DAY_S;
        }
        match self.zone {
            Zone::Offset(east) => Reading::of_moment(own - i64::from(east)),
            Zone::Local => self.local.read(own),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::DateTime;
    use site::{RepeatedHour, TimeFormat};

    fn clock(format: TimeFormat, zone: Zone, closes: bool) -> Clock {
        let column = TimeColumn {
            columns: Vec::new(),
            format,
            zone,
            midnight_closes_day: closes,
            repeated_hour: RepeatedHour::ByOrder,
        };
        Clock::new(&column, Tz::Europe__Berlin)
    }

    fn utc(text: &str) -> i64 {
        DateTime::parse_from_rfc3339(text)
            .expect("test time")
            .timestamp()
    }

    #[test]
    fn iso_with_and_without_offset() {
        let mut clock = clock(TimeFormat::Iso, Zone::Offset(0), false);
        for text in [
            "2026-03-09T09:30:00Z",
            "2026-03-09T10:30:00+01:00",
            "2026-03-09 10:30+0100",
            "2026-03-09 09:30",
            "2026-03-09T09:30:00.250Z",
        ] {
            assert_eq!(
                clock.read(text.as_bytes()),
                Reading::At(utc("2026-03-09T09:30:00Z")),
                "{text}"
            );
        }
        for text in [
            "",
            "soon",
            "2026-13-01",
            "2026-02-30 10:00",
            "2026-03-09T25:00",
        ] {
            assert_eq!(clock.read(text.as_bytes()), Reading::Unreadable, "{text}");
        }
    }

    #[test]
    fn what_is_dated_before_1970_or_after_2100_is_a_slip() {
        let mut berlin = clock(TimeFormat::Iso, Zone::Local, true);
        for text in [
            "0001-01-01",
            "1969-12-30 10:00",
            "2100-01-02",
            "9999-12-31T23:59:59Z",
        ] {
            assert_eq!(berlin.read(text.as_bytes()), Reading::Unreadable, "{text}");
        }
        let first = Reading::At(utc("1970-01-01T00:30:00+01:00"));
        assert_eq!(berlin.read(b"1970-01-01 00:30"), first);
        for own in [i64::MIN, i64::MAX] {
            assert_eq!(berlin.read_own(own), Reading::Unreadable);
        }
        let mut unix = clock(TimeFormat::UnixMillis, Zone::Local, false);
        assert_eq!(unix.read(b"253402300799000"), Reading::Unreadable);
    }

    #[test]
    fn both_clock_changes_of_2026_in_berlin() {
        let mut clock = clock(
            TimeFormat::Pattern("%d.%m.%Y %H:%M".into()),
            Zone::Local,
            false,
        );
        assert_eq!(
            clock.read(b"29.03.2026 01:45"),
            Reading::At(utc("2026-03-29T00:45:00Z"))
        );
        assert_eq!(
            clock.read(b"29.03.2026 02:30"),
            Reading::Skipped(utc("2026-03-29T01:30:00Z"))
        );
        assert_eq!(
            clock.read(b"29.03.2026 03:00"),
            Reading::At(utc("2026-03-29T01:00:00Z"))
        );
        assert_eq!(
            clock.read(b"25.10.2026 02:15"),
            Reading::Repeated {
                earlier: utc("2026-10-25T00:15:00Z"),
                later: utc("2026-10-25T01:15:00Z"),
            }
        );
        assert_eq!(
            clock.read(b"25.10.2026 03:00"),
            Reading::At(utc("2026-10-25T02:00:00Z"))
        );
    }

    #[test]
    fn midnight_in_its_three_writings() {
        let pattern = || TimeFormat::Pattern("%Y-%m-%d %H:%M:%S".into());
        let mut plain = clock(pattern(), Zone::Offset(0), false);
        assert_eq!(
            plain.read(b"2024-02-28 24:00:00"),
            Reading::At(utc("2024-02-29T00:00:00Z"))
        );
        assert_eq!(
            plain.read(b"2024-02-29 00:00:00"),
            Reading::At(utc("2024-02-29T00:00:00Z"))
        );
        let mut closing = clock(pattern(), Zone::Offset(0), true);
        assert_eq!(
            closing.read(b"2024-02-28 00:00:00"),
            Reading::At(utc("2024-02-29T00:00:00Z"))
        );
        assert_eq!(
            closing.read(b"2024-02-28 00:15:00"),
            Reading::At(utc("2024-02-28T00:15:00Z"))
        );
    }

    #[test]
    fn unix_seconds_millis_and_odd_patterns() {
        assert_eq!(
            clock(TimeFormat::UnixSeconds, Zone::Local, false).read(b"1773048600"),
            Reading::At(1_773_048_600)
        );
        assert_eq!(
            clock(TimeFormat::UnixMillis, Zone::Local, false).read(b"1773048600000"),
            Reading::At(1_773_048_600)
        );
        let mut odd = clock(
            TimeFormat::Pattern("%d-%b-%Y %I:%M %p".into()),
            Zone::Offset(3600),
            false,
        );
        assert_eq!(
            odd.read(b"09-Mar-2026 10:30 AM"),
            Reading::At(utc("2026-03-09T09:30:00Z"))
        );
    }
}
