//! Time stamps as they are written, into seconds.

use chrono::{DateTime, NaiveDate, NaiveDateTime};

use super::DAY_S;
use site::TimeFormat;

/// How stamps are written.
#[derive(Clone, Debug)]
pub(super) enum StampFormat {
    Iso,
    Unix { per_second: i64 },
    Fields(Vec<Field>),
    Strftime(String),
}

/// The time that a stamp gives.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum StampTime {
    /// Seconds since 1970-01-01 UTC: the stamp has its offset from UTC.
    Moment(i64),
    /// Seconds since 1970-01-01 in the clock that the stamps follow.
    Own(i64),
}

impl StampFormat {
    pub(super) fn of(format: &TimeFormat) -> StampFormat {
        match format {
            TimeFormat::Iso | TimeFormat::Recognised => StampFormat::Iso,
            TimeFormat::UnixSeconds => StampFormat::Unix { per_second: 1 },
            TimeFormat::UnixMillis => StampFormat::Unix { per_second: 1000 },
            TimeFormat::Pattern(pattern) => fields(pattern).map_or_else(
                || StampFormat::Strftime(pattern.clone()),
                StampFormat::Fields,
            ),
        }
    }

    /// The time that a stamp gives; `None` where it is in another format.
    pub(super) fn read(&self, cell: &[u8]) -> Option<StampTime> {
        match self {
            StampFormat::Iso => read_iso(cell),
            StampFormat::Unix { per_second } => read_unix(cell, *per_second),
            StampFormat::Fields(fields) => read_fields(cell, fields).map(StampTime::Own),
            StampFormat::Strftime(pattern) => read_strftime(cell, pattern).map(StampTime::Own),
        }
    }
}

/// Fixed-width parts of the usual patterns.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Field {
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

fn read_unix(cell: &[u8], per_second: i64) -> Option<StampTime> {
    let number = fast_float2::parse::<f64, _>(cell).ok()?;
    let seconds = (number / per_second as f64).floor() as i64;
    (number.abs() < 1e15).then_some(StampTime::Moment(seconds))
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

/// ISO 8601 date and time, a moment where an offset from UTC is written.
fn read_iso(mut cell: &[u8]) -> Option<StampTime> {
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
        [] => Some(StampTime::Own(seconds)),
        b"Z" | b"z" => Some(StampTime::Moment(seconds)),
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
            let east = if *sign == b'+' { east } else { -east };
            Some(StampTime::Moment(seconds - east))
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
