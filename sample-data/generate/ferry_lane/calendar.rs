//! Time in the workshop: steps of ten seconds, read on the local clock.

use chrono::{DateTime, Datelike, Days, NaiveDate, NaiveDateTime, TimeDelta, Timelike, Utc};
use chrono_tz::Europe::London;

/// Length of a step of the simulation. [s]
pub(crate) const STEP_S: i64 = 10;
/// The same. [s]
pub(crate) const STEP: f64 = 10.0;
/// The same. [h]
pub(crate) const STEP_H: f64 = STEP / 3600.0;

/// First day: Monday 9 March 2026.
fn first_day() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 3, 9).expect("a date of the calendar")
}

/// Good Friday and Easter Monday 2026, as in `site.toml`.
fn is_holiday(date: NaiveDate) -> bool {
    date.year() == 2026 && matches!((date.month(), date.day()), (4, 3 | 6))
}

/// One step, by its start, on the local clock.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Moment {
    /// Start of the step.
    pub(crate) utc: DateTime<Utc>,
    /// The same on the wall clock.
    pub(crate) local: NaiveDateTime,
    /// Hours since the first midnight.
    pub(crate) elapsed_h: f64,
    /// Hours since local midnight.
    pub(crate) hour: f64,
    /// Monday is 0.
    pub(crate) weekday: u32,
    pub(crate) holiday: bool,
}

impl Moment {
    fn at(utc: DateTime<Utc>, start: DateTime<Utc>) -> Self {
        let local = utc.with_timezone(&London).naive_local();
        Moment {
            utc,
            local,
            elapsed_h: (utc - start).num_seconds() as f64 / 3600.0,
            hour: f64::from(local.num_seconds_from_midnight()) / 3600.0,
            weekday: local.weekday().num_days_from_monday(),
            holiday: is_holiday(local.date()),
        }
    }

    /// Is this the last step of an interval of so many seconds? Returns the end of the interval.
    pub(crate) fn closes(&self, interval_s: i64) -> Option<DateTime<Utc>> {
        let end = self.utc + TimeDelta::seconds(STEP_S);
        (end.timestamp() % interval_s == 0).then_some(end)
    }
}

/// Wall-clock time of an instant.
pub(crate) fn wall_clock(utc: DateTime<Utc>) -> NaiveDateTime {
    utc.with_timezone(&London).naive_local()
}

/// The simulated period.
pub(crate) struct Calendar {
    pub(crate) start: DateTime<Utc>,
    pub(crate) end: DateTime<Utc>,
}

impl Calendar {
    pub(crate) fn new(days: u32) -> Self {
        let midnight = |date: NaiveDate| {
            date.and_hms_opt(0, 0, 0)
                .and_then(|time| time.and_local_timezone(London).single())
                .expect("the clock changes at 01:00, never at midnight")
                .with_timezone(&Utc)
        };
        let last = first_day() + Days::new(u64::from(days));
        Calendar {
            start: midnight(first_day()),
            end: midnight(last),
        }
    }

    pub(crate) fn steps(&self) -> impl Iterator<Item = Moment> + '_ {
        let count = (self.end - self.start).num_seconds() / STEP_S;
        (0..count).map(|n| Moment::at(self.start + TimeDelta::seconds(n * STEP_S), self.start))
    }
}

/// A weekly stretch: first and last weekday, from and to in hours; past midnight if `to <= from`.
pub(crate) type Stretch = (u32, u32, f64, f64);

/// When people work or a timer is on.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Hours {
    pub(crate) stretches: &'static [Stretch],
    pub(crate) on_holidays: bool,
}

impl Hours {
    pub(crate) const fn new(stretches: &'static [Stretch]) -> Self {
        Hours {
            stretches,
            on_holidays: false,
        }
    }

    pub(crate) const fn also_on_holidays(self) -> Self {
        Hours {
            on_holidays: true,
            ..self
        }
    }

    pub(crate) fn contain(&self, moment: &Moment) -> bool {
        if moment.holiday && !self.on_holidays {
            return false;
        }
        self.stretches.iter().any(|&(first, last, from, to)| {
            let day = (first..=last).contains(&moment.weekday);
            let hour = moment.hour;
            if to > from {
                day && (from..to).contains(&hour)
            } else {
                let day_before = (first..=last).contains(&((moment.weekday + 6) % 7));
                (day && hour >= from) || (day_before && hour < to)
            }
        })
    }
}
