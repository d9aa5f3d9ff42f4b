//! Oddities of a log: counted, dated, and told with what was done about them.

use chrono::{DateTime, Utc};
use serde::Serialize;

/// One kind of oddity found in a log.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct QualityEntry {
    /// Kebab-case name: `gap`, `duplicate`, `unreadable-cell`, …
    pub kind: String,
    /// How often.
    pub count: u64,
    /// First time it was seen.
    #[serde(serialize_with = "crate::export::utc_option")]
    pub first: Option<DateTime<Utc>>,
    /// Last time it was seen.
    #[serde(serialize_with = "crate::export::utc_option")]
    pub last: Option<DateTime<Utc>>,
    /// What was seen and what was done with it, in one sentence.
    pub note: String,
}

/// Counts one kind of oddity while a log is read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Tally {
    pub(super) count: u64,
    first: Option<i64>,
    last: Option<i64>,
}

impl Tally {
    /// One more, at this time (Unix seconds) if it is known.
    pub(super) fn add(&mut self, at: Option<i64>) {
        self.count += 1;
        if let Some(at) = at {
            self.first = Some(self.first.map_or(at, |first| first.min(at)));
            self.last = Some(self.last.map_or(at, |last| last.max(at)));
        }
    }

    pub(super) fn merge(&mut self, other: Tally) {
        self.count += other.count;
        for at in [other.first, other.last].into_iter().flatten() {
            self.first = Some(self.first.map_or(at, |first| first.min(at)));
            self.last = Some(self.last.map_or(at, |last| last.max(at)));
        }
    }

    /// The entry for the result, if there was anything.
    pub(super) fn entry(self, kind: &str, note: impl Into<String>) -> Option<QualityEntry> {
        (self.count > 0).then(|| QualityEntry {
            kind: kind.to_owned(),
            count: self.count,
            first: self.first.and_then(|at| DateTime::from_timestamp(at, 0)),
            last: self.last.and_then(|at| DateTime::from_timestamp(at, 0)),
            note: note.into(),
        })
    }
}
