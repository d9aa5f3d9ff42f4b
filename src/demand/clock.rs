//! The site's local clock, seen from UTC.

use std::cell::Cell;

use chrono::{DateTime, FixedOffset, NaiveDate, Offset, TimeZone};
use chrono_tz::Tz;

use metering::Period;

const DAY_S: i64 = 86_400;

/// A moment on the local clock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct LocalTime {
    /// Seconds that a local calendar clock shows since 1970-01-01 00:00, as if it had no zone.
    seconds: i64,
    /// Seconds east of UTC.
    offset_s: i64,
}

thread_local! {
    /// Where a zone has one offset: the zone, from and to in Unix seconds, the offset.
    static STEADY: Cell<Option<(Tz, i64, i64, i64)>> = const { Cell::new(None) };
    /// The day that was last asked for, and its date.
    static LAST_DATE: Cell<Option<(i64, NaiveDate)>> = const { Cell::new(None) };
}

/// The local time at a moment given in Unix seconds.
pub(super) fn local(zone: Tz, at_s: i64) -> LocalTime {
    let offset_s = offset_s(zone, at_s);
    LocalTime {
        seconds: at_s + offset_s,
        offset_s,
    }
}

/// Quarter-hours are asked for one after the other: those of eight days, or of one around a change of the clock, are
/// looked up once. No zone changes its clock twice in eight days.
fn offset_s(zone: Tz, at_s: i64) -> i64 {
    if let Some((known, from_s, to_s, offset)) = STEADY.get()
        && known == zone
        && (from_s..to_s).contains(&at_s)
    {
        return offset;
    }
    let look_up = |at_s: i64| {
        DateTime::from_timestamp(at_s, 0).map_or(0, |time| {
            let offset = zone.offset_from_utc_datetime(&time.naive_utc());
            i64::from(offset.fix().local_minus_utc())
        })
    };
    let offset = look_up(at_s);
    for length_s in [8 * DAY_S, DAY_S] {
        let from_s = at_s.div_euclid(length_s) * length_s;
        let to_s = from_s + length_s;
        if look_up(from_s) == offset && look_up(to_s - 1) == offset {
            STEADY.set(Some((zone, from_s, to_s, offset)));
            break;
        }
    }
    offset
}

impl LocalTime {
    /// Start, in Unix seconds, of the block of this length on the local clock.
    pub(super) fn block_start_s(self, length_s: i64) -> i64 {
        self.seconds.div_euclid(length_s) * length_s - self.offset_s
    }

    /// How far into the block of this length. (s)
    pub(super) fn into_block_s(self, length_s: i64) -> i64 {
        self.seconds.rem_euclid(length_s)
    }

    /// Number of the local day since 1970-01-01.
    pub(super) fn day(self) -> i64 {
        self.seconds.div_euclid(DAY_S)
    }

    /// Quarter-hour of the local day, 0 to 95.
    pub(super) fn quarter(self) -> usize {
        (self.seconds.rem_euclid(DAY_S) / 900) as usize
    }
}

/// Date of a local day.
pub(super) fn date_of(day: i64) -> NaiveDate {
    if let Some((known, date)) = LAST_DATE.get()
        && known == day
    {
        return date;
    }
    let time = DateTime::from_timestamp(day * DAY_S, 0);
    let date = time.map_or(NaiveDate::MIN, |time| time.date_naive());
    LAST_DATE.set(Some((day, date)));
    date
}

/// Length of a local day: 23, 24 or 25 hours, as a rule. (s)
pub(super) fn length_of_day_s(zone: Tz, date: NaiveDate) -> i64 {
    let (from, to) = Period {
        from: Some(date),
        to: date.succ_opt(),
    }
    .seconds(zone);
    to.saturating_sub(from)
}

/// Local time with its offset.
pub(super) fn stamp(zone: Tz, at_s: i64) -> Option<DateTime<FixedOffset>> {
    let time = zone.timestamp_opt(at_s, 0).single()?;
    Some(time.fixed_offset())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> i64 {
        DateTime::parse_from_rfc3339(text)
            .expect("test time")
            .timestamp()
    }

    /// Europe/Rome: clocks go forward on 2017-03-26 and back on 2017-10-29, both at 01:00 UTC
    /// (Directive 2000/84/EC: last Sunday of March and of October).
    #[test]
    fn days_of_clock_changes_are_an_hour_shorter_and_longer() {
        let date = |day| NaiveDate::from_ymd_opt(2017, 1, 1).map(|d| d + chrono::Days::new(day));
        let length = |day| date(day).map(|date| length_of_day_s(Tz::Europe__Rome, date) / 900);
        assert_eq!(length(0), Some(96));
        assert_eq!(length(84), Some(92));
        assert_eq!(length(301), Some(100));
    }

    /// Whatever was asked before, an offset is that of the zone.
    #[test]
    fn offsets_are_those_of_the_zone_throughout_a_year() {
        for zone in [Tz::Europe__Rome, Tz::Africa__Casablanca, Tz::UTC] {
            let year = at("2026-01-01T00:00:00Z")..at("2027-01-01T00:00:00Z");
            for at_s in year.step_by(900) {
                let utc = DateTime::from_timestamp(at_s, 0)
                    .expect("a time")
                    .naive_utc();
                let offset = zone.offset_from_utc_datetime(&utc).fix().local_minus_utc();
                assert_eq!(local(zone, at_s).offset_s, i64::from(offset));
            }
        }
    }

    #[test]
    fn blocks_follow_the_local_clock() {
        // India stands 5½ hours east: its full hours are half past in UTC.
        let time = local(Tz::Asia__Kolkata, at("2026-03-09T10:50:00Z"));
        assert_eq!(time.block_start_s(3600), at("2026-03-09T10:30:00Z"));
        assert_eq!(time.into_block_s(3600), 20 * 60);
        assert_eq!(time.quarter(), 16 * 4 + 1);
        // The two passes of the repeated hour are different blocks.
        let first = local(Tz::Europe__Rome, at("2017-10-29T00:20:00Z"));
        let second = local(Tz::Europe__Rome, at("2017-10-29T01:20:00Z"));
        assert_eq!(first.quarter(), second.quarter());
        assert_eq!(first.block_start_s(900) + 3600, second.block_start_s(900));
    }
}
