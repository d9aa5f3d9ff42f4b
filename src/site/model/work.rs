//! Work that changed which phase loads are on.

use chrono::{DateTime, NaiveDateTime, NaiveTime, TimeZone, Utc};
use chrono_tz::Tz;

use super::connection::Connection;

/// Work that is done. The machine list says how it should be since.
#[derive(Clone, Debug, PartialEq)]
pub struct Work {
    /// From when on the list holds: the beginning of the day, unless an hour is given.
    pub done: DateTime<Utc>,
    /// Where the moved machines were before.
    pub moves: Vec<Moved>,
    /// The user's own words.
    pub note: Option<String>,
}

/// Where a machine was before the work.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Moved {
    /// Index of the machine.
    pub machine: usize,
    /// What it was connected to.
    pub from: Connection,
}

/// A local date, or a local date and hour.
#[must_use]
pub fn work_time(text: &str) -> Option<NaiveDateTime> {
    let day = |text: &str| chrono::NaiveDate::parse_from_str(text, "%Y-%m-%d").ok();
    day(text)
        .map(|date| date.and_time(NaiveTime::MIN))
        .or_else(|| NaiveDateTime::parse_from_str(text, "%Y-%m-%d %H:%M").ok())
}

impl Work {
    /// Work without a list of what was moved.
    #[must_use]
    pub fn since(done: NaiveDateTime, zone: Tz) -> Work {
        // Where the clock skips the hour, the one after it; where it repeats it, the first.
        let later = done + chrono::Duration::hours(1);
        let local = |time: &NaiveDateTime| zone.from_local_datetime(time).earliest();
        Work {
            done: local(&done)
                .or_else(|| local(&later))
                .map_or_else(|| done.and_utc(), |time| time.to_utc()),
            moves: Vec::new(),
            note: None,
        }
    }
}
