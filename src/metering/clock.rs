//! Time stamps of a log into UTC.

use std::borrow::Cow;
use std::ops::Range;

use chrono::{DateTime, LocalResult, NaiveDate, NaiveDateTime, Offset, TimeZone};
use chrono_tz::Tz;

use crate::site::{TimeColumn, TimeFormat, Zone};

const DAY_S: i64 = 86_400;
/// From 1970, wherever its midnight is, to 2100. What is dated otherwise is a slip: no meter logged
/// earlier, and two rows eight thousand years apart would make one interval of them.
const LOGGED_S: Range<i64> = -DAY_S..4_102_444_800;

/// A stamp in UTC seconds, or what stands in the way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Reading {
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
    pub(super) fn of_moment(at: i64) -> Reading {
        if LOGGED_S.contains(&at) {
            Reading::At(at)
        } else {
            Reading::Unreadable
        }
    }
}

/// Reads stamps as the meter's time column is declared. Keeps the last offset at hand.
#[derive(Clone, Debug)]
pub(super) struct Clock {
    format: Format,
    zone: Zone,
    site_zone: Tz,
    midnight_closes_day: bool,
    /// What stands between the cells of date and time of day, where they are two.
    between: Option<u8>,
    /// Local hour and what its minutes become: one look-up an hour is enough.
    known_hour: Option<(i64, HourOffset)>,
}

#[derive(Clone, Copy, Debug)]
enum HourOffset {
    One(i64),
    Two { earlier: i64, later: i64 },
    Skipped(i64),
    Mixed,
}

#[derive(Clone, Debug)]
enum Format {
    Iso,
    Unix { per_second: i64 },
    Fields(Vec<Field>),
    Strftime(String),
}

/// Fixed-width parts of the usual patterns.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Field {
    Year,
    Month,
    Day,
    Hour,
    Minute,
    Second,
    Literal(u8),
}

#[derive(Clone, Copy, Debug, Default)]
struct Parts {
    year: i32,
    month: u32,
    day: u32,
    hour: u32,
    minute: u32,
    second: u32,
}

impl Parts {
    /// Seconds since 1970 in the stamp's own clock. Hour 24 closes the day.
    fn seconds(self) -> Option<i64> {
        let closes = self.hour == 24 && self.minute == 0 && self.second == 0;
        if self.hour > 23 && !closes || self.minute > 59 || self.second > 60 {
            return None;
        }
        let days = NaiveDate::from_ymd_opt(self.year, self.month, self.day)?
            .signed_duration_since(NaiveDate::default())
            .num_days();
        Some(
            days * DAY_S
                + i64::from(self.hour) * 3600
                + i64::from(self.minute) * 60
                + i64::from(self.second.min(59)),
        )
    }
}

impl Clock {
    pub(super) fn new(column: &TimeColumn, site_zone: Tz) -> Clock {
        let format = match &column.format {
            TimeFormat::Iso | TimeFormat::Recognised => Format::Iso,
            TimeFormat::UnixSeconds => Format::Unix { per_second: 1 },
            TimeFormat::UnixMillis => Format::Unix { per_second: 1000 },
            TimeFormat::Pattern(pattern) => {
                fields(pattern).map_or_else(|| Format::Strftime(pattern.clone()), Format::Fields)
            }
        };
        Clock {
            format,
            zone: column.zone,
            site_zone,
            midnight_closes_day: column.midnight_closes_day,
            between: None,
            known_hour: None,
        }
    }

    /// Date and time of day stand in two cells with this sign between them.
    pub(super) fn of_two_cells(self, between: Option<u8>) -> Clock {
        Clock { between, ..self }
    }

    /// A stamp without what stands around its parts.
    pub(super) fn plain<'s>(&self, stamp: &'s [u8]) -> Cow<'s, [u8]> {
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
    pub(super) fn read(&mut self, cell: &[u8]) -> Reading {
        let cell = &*self.plain(cell);
        let own = match &self.format {
            Format::Iso => match read_iso(cell) {
                Some((seconds, Some(offset))) => return Reading::of_moment(seconds - offset),
                Some((seconds, None)) => Some(seconds),
                None => None,
            },
            Format::Unix { per_second } => {
                return fast_float2::parse::<f64, _>(cell)
                    .ok()
                    .filter(|number| number.abs() < 1e15)
                    .map_or(Reading::Unreadable, |number| {
                        Reading::of_moment((number / *per_second as f64).floor() as i64)
                    });
            }
            Format::Fields(fields) => read_fields(cell, fields),
            Format::Strftime(pattern) => read_strftime(cell, pattern),
        };
        own.map_or(Reading::Unreadable, |own| self.read_own(own))
    }

    /// Reads seconds since 1970-01-01 in the clock that the stamps follow.
    pub(super) fn read_own(&mut self, mut own: i64) -> Reading {
        // Local clocks and UTC differ by less than a day.
        if !(LOGGED_S.start - DAY_S..LOGGED_S.end + DAY_S).contains(&own) {
            return Reading::Unreadable;
        }
        if self.midnight_closes_day && own.rem_euclid(DAY_S) == 0 {
            own += DAY_S;
        }
        match self.zone {
            Zone::Offset(east) => Reading::of_moment(own - i64::from(east)),
            Zone::Local => self.local_to_utc(own),
        }
    }

    fn local_to_utc(&mut self, local: i64) -> Reading {
        let hour = local.div_euclid(3600);
        let offset = match self.known_hour {
            Some((known, offset)) if known == hour => offset,
            _ => {
                let offset = self.offset_of_hour(hour);
                self.known_hour = Some((hour, offset));
                offset
            }
        };
        let offset = match offset {
            // A zone whose clock changes within the hour: look at the minute itself.
            HourOffset::Mixed => self.offset_at(local),
            known => known,
        };
        match offset {
            HourOffset::One(east) => Reading::of_moment(local - east),
            HourOffset::Two { earlier, later } => Reading::Repeated {
                earlier: local - earlier,
                later: local - later,
            },
            HourOffset::Skipped(east) => Reading::Skipped(local - east),
            HourOffset::Mixed => Reading::Unreadable,
        }
    }

    fn offset_of_hour(&self, hour: i64) -> HourOffset {
        let (first, last) = (
            self.offset_at(hour * 3600),
            self.offset_at(hour * 3600 + 3599),
        );
        match (first, last) {
            (HourOffset::One(a), HourOffset::One(b)) if a == b => first,
            (
                HourOffset::Two {
                    earlier: a,
                    later: b,
                },
                HourOffset::Two {
                    earlier: c,
                    later: d,
                },
            ) if a == c && b == d => first,
            (HourOffset::Skipped(a), HourOffset::Skipped(b)) if a == b => first,
            _ => HourOffset::Mixed,
        }
    }

    fn offset_at(&self, local: i64) -> HourOffset {
        let Some(time) = DateTime::from_timestamp(local, 0) else {
            return HourOffset::Mixed;
        };
        let time: NaiveDateTime = time.naive_utc();
        let east = |offset: <Tz as TimeZone>::Offset| i64::from(offset.fix().local_minus_utc());
        match self.site_zone.offset_from_local_datetime(&time) {
            LocalResult::Single(offset) => HourOffset::One(east(offset)),
            LocalResult::Ambiguous(earlier, later) => HourOffset::Two {
                earlier: east(earlier),
                later: east(later),
            },
            LocalResult::None => {
                let before = time - chrono::Duration::hours(3);
                self.site_zone
                    .offset_from_local_datetime(&before)
                    .earliest()
                    .map_or(HourOffset::Mixed, |offset| {
                        HourOffset::Skipped(east(offset))
                    })
            }
        }
    }
}

/// Compiles a pattern of fixed-width parts; `None` where it has others.
fn fields(pattern: &str) -> Option<Vec<Field>> {
    let expanded = pattern
        .replace("%F", "%Y-%m-%d")
        .replace("%T", "%H:%M:%S")
        .replace("%R", "%H:%M");
    let mut fields = Vec::new();
    let mut bytes = expanded.bytes();
    while let Some(byte) = bytes.next() {
        fields.push(if byte == b'%' {
            match bytes.next()? {
                b'Y' => Field::Year,
                b'm' => Field::Month,
                b'd' => Field::Day,
                b'H' => Field::Hour,
                b'M' => Field::Minute,
                b'S' => Field::Second,
                _ => return None,
            }
        } else {
            Field::Literal(byte)
        });
    }
    let complete = [Field::Year, Field::Month, Field::Day, Field::Hour]
        .iter()
        .all(|field| fields.contains(field));
    complete.then_some(fields)
}

/// Takes up to `most` digits from the front.
fn digits(cell: &mut &[u8], most: usize) -> Option<u32> {
    let count = cell
        .iter()
        .take(most)
        .take_while(|byte| byte.is_ascii_digit())
        .count();
    if count == 0 {
        return None;
    }
    let (head, rest) = cell.split_at(count);
    *cell = rest;
    Some(
        head.iter()
            .fold(0, |number, byte| number * 10 + u32::from(byte - b'0')),
    )
}

fn read_fields(mut cell: &[u8], fields: &[Field]) -> Option<i64> {
    let mut parts = Parts::default();
    for field in fields {
        match field {
            Field::Literal(byte) => cell = cell.strip_prefix(&[*byte])?,
            Field::Year => parts.year = digits(&mut cell, 4)? as i32,
            Field::Month => parts.month = digits(&mut cell, 2)?,
            Field::Day => parts.day = digits(&mut cell, 2)?,
            Field::Hour => parts.hour = digits(&mut cell, 2)?,
            Field::Minute => parts.minute = digits(&mut cell, 2)?,
            Field::Second => parts.second = digits(&mut cell, 2)?,
        }
    }
    if cell.is_empty() {
        parts.seconds()
    } else {
        None
    }
}

/// ISO 8601 date and time; the offset east of UTC in seconds, if one is written.
fn read_iso(mut cell: &[u8]) -> Option<(i64, Option<i64>)> {
    let mut parts = Parts {
        year: digits(&mut cell, 4)? as i32,
        ..Parts::default()
    };
    cell = cell.strip_prefix(b"-")?;
    parts.month = digits(&mut cell, 2)?;
    cell = cell.strip_prefix(b"-")?;
    parts.day = digits(&mut cell, 2)?;
    if !cell.is_empty() {
        cell = cell
            .strip_prefix(b"T")
            .or_else(|| cell.strip_prefix(b" "))?;
        parts.hour = digits(&mut cell, 2)?;
        cell = cell.strip_prefix(b":")?;
        parts.minute = digits(&mut cell, 2)?;
        if let Some(rest) = cell.strip_prefix(b":") {
            cell = rest;
            parts.second = digits(&mut cell, 2)?;
            if let Some(rest) = cell.strip_prefix(b".").or_else(|| cell.strip_prefix(b",")) {
                cell = rest;
                digits(&mut cell, 9)?;
            }
        }
    }
    let seconds = parts.seconds()?;
    match cell {
        [] => Some((seconds, None)),
        b"Z" | b"z" => Some((seconds, Some(0))),
        [sign @ (b'+' | b'-'), rest @ ..] => {
            let mut rest = rest;
            let hours = digits(&mut rest, 2)?;
            rest = rest.strip_prefix(b":").unwrap_or(rest);
            let minutes = if rest.is_empty() {
                0
            } else {
                digits(&mut rest, 2)?
            };
            if !rest.is_empty() || hours > 15 || minutes > 59 {
                return None;
            }
            let east = i64::from(hours * 3600 + minutes * 60);
            Some((seconds, Some(if *sign == b'+' { east } else { -east })))
        }
        _ => None,
    }
}

fn read_strftime(cell: &[u8], pattern: &str) -> Option<i64> {
    let text = std::str::from_utf8(cell).ok()?;
    if let Ok(time) = DateTime::parse_from_str(text, pattern) {
        return Some(time.timestamp());
    }
    NaiveDateTime::parse_from_str(text, pattern)
        .ok()
        .map(|time| time.and_utc().timestamp())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::site::RepeatedHour;

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
