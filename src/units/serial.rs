//! How times and ordered pairs are written in JSON.

use chrono::{DateTime, FixedOffset, NaiveDate, NaiveDateTime, SecondsFormat, Utc};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

/// `2026-03-09T09:30:00Z`.
///
/// # Errors
///
/// Only those of the serializer.
pub fn utc<S: Serializer>(time: &DateTime<Utc>, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&time.to_rfc3339_opts(SecondsFormat::Secs, true))
}

/// As [`utc`], or null.
///
/// # Errors
///
/// Only those of the serializer.
pub fn utc_option<S: Serializer>(
    time: &Option<DateTime<Utc>>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    match time {
        Some(time) => utc(time, serializer),
        None => serializer.serialize_none(),
    }
}

/// `2026-03-09T09:30:00+01:00`.
///
/// # Errors
///
/// Only those of the serializer.
pub fn local<S: Serializer>(
    time: &DateTime<FixedOffset>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&time.to_rfc3339_opts(SecondsFormat::Secs, false))
}

/// `2026-03-09T09:30:00+01:00`, or null.
///
/// # Errors
///
/// Only those of the serializer.
pub fn local_option<S: Serializer>(
    time: &Option<DateTime<FixedOffset>>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    match time {
        Some(time) => local(time, serializer),
        None => serializer.serialize_none(),
    }
}

/// `2026-03-09`.
///
/// # Errors
///
/// Only those of the serializer.
pub fn date<S: Serializer>(date: &NaiveDate, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_str(date)
}

/// `2026-03-09 10:30`: a local time of a site whose zone is known.
///
/// # Errors
///
/// Only those of the serializer.
pub fn local_minute<S: Serializer>(at: &NaiveDateTime, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_str(&at.format("%Y-%m-%d %H:%M"))
}

/// A decimal as a number: its shortest binary form shows the same digits up to fifteen of them.
///
/// # Errors
///
/// Only those of the serializer.
pub fn decimal<S: Serializer>(value: &Decimal, serializer: S) -> Result<S::Ok, S::Error> {
    match value.to_f64() {
        Some(number) => serializer.serialize_f64(number),
        None => serializer.serialize_none(),
    }
}

/// As [`decimal`], or null.
///
/// # Errors
///
/// Only those of the serializer.
pub fn decimal_option<S: Serializer>(
    value: &Option<Decimal>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    match value {
        Some(value) => decimal(value, serializer),
        None => serializer.serialize_none(),
    }
}

/// Pairs as an object whose keys keep their order.
///
/// # Errors
///
/// Only those of the serializer.
pub fn pairs<V: Serialize, S: Serializer>(
    pairs: &[(String, V)],
    serializer: S,
) -> Result<S::Ok, S::Error> {
    let mut map = serializer.serialize_map(Some(pairs.len()))?;
    for (key, value) in pairs {
        map.serialize_entry(key, value)?;
    }
    map.end()
}
