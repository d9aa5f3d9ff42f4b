//! Local time into UTC, with the hours that a change of the clock leaves out or repeats.

use chrono::{DateTime, LocalResult, NaiveDateTime, Offset, TimeZone};
use chrono_tz::Tz;

use super::Reading;

/// The hours of a zone. Keeps the last one at hand.
#[derive(Clone, Debug)]
pub(super) struct LocalHours {
    zone: Tz,
    /// Local hour and what its minutes become: one look-up an hour is enough.
    known_hour: Option<(i64, HourOffset)>,
}

/// Offset of an hour of the local clock, east of UTC. (s)
#[derive(Clone, Copy, Debug)]
enum HourOffset {
    One(i64),
    Two { earlier: i64, later: i64 },
    Skipped(i64),
    Mixed,
}

impl LocalHours {
    pub(super) fn new(zone: Tz) -> LocalHours {
        LocalHours {
            zone,
            known_hour: None,
        }
    }

    /// Reads seconds since 1970-01-01 of the local clock.
    pub(super) fn read(&mut self, local: i64) -> Reading {
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
        match self.zone.offset_from_local_datetime(&time) {
            LocalResult::Single(offset) => HourOffset::One(east(offset)),
            LocalResult::Ambiguous(earlier, later) => HourOffset::Two {
                earlier: east(earlier),
                later: east(later),
            },
            LocalResult::None => {
                let before = time - chrono::Duration::hours(3);
                self.zone
                    .offset_from_local_datetime(&before)
                    .earliest()
                    .map_or(HourOffset::Mixed, |offset| {
                        HourOffset::Skipped(east(offset))
                    })
            }
        }
    }
}
