//! Values of the periods of local days as stretches in UTC, over the days on which the clock changes.
//!
//! A day of the clock change has periods fewer or more. Files differ in what they do with them: the periods are counted
//! through (46 or 50 of half an hour), the columns are times of the clock (those of the hour that is left out are empty,
//! and the repeated hour appears once), or the times are standard time all the year. Each day shows which it is.

use chrono::{Duration, NaiveDate, TimeZone};
use chrono_tz::Tz;

use super::channel::{EstimatedRange, Stretch};

/// The values of a local day, by period.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct DayValues {
    pub(crate) date: NaiveDate,
    /// NaN represents none.
    pub(crate) values: Vec<f64>,
    pub(crate) estimated: Vec<EstimatedRange>,
    pub(crate) line: usize,
}

/// How the periods of days are laid out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct DayGrid {
    pub(crate) zone: Tz,
    /// Length of a period. (s)
    pub(crate) interval_s: u32,
    /// From the start of the day to that of the first period. (s)
    pub(crate) first_s: i64,
}

/// What a day with a change of the clock shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum ClockShift {
    None,
    /// Seconds of the local clock at which the hour is left out or repeated, and its length, negative where it is left out.
    At(i64, i64),
}

impl DayGrid {
    /// Start of a local day, Unix seconds.
    fn start_of(self, date: NaiveDate) -> i64 {
        let midnight = date.and_hms_opt(0, 0, 0).unwrap_or_default();
        let start = self.zone.from_local_datetime(&midnight).earliest();
        let later = || {
            self.zone
                .from_local_datetime(&(midnight + Duration::hours(1)))
                .earliest()
        };
        start
            .or_else(later)
            .map_or_else(|| midnight.and_utc().timestamp(), |time| time.timestamp())
    }

    fn change_of(self, date: NaiveDate) -> ClockShift {
        let start = self.start_of(date);
        let next = date
            .succ_opt()
            .map_or(start + 86_400, |next| self.start_of(next));
        let longer = next - start - 86_400;
        if longer == 0 {
            return ClockShift::None;
        }
        // The first quarter-hour whose offset is another than that of midnight.
        let offset = |at: i64| {
            let utc = chrono::DateTime::from_timestamp(at, 0).unwrap_or_default();
            let local = utc.with_timezone(&self.zone).naive_local();
            local.and_utc().timestamp() - at
        };
        let at = (start..next)
            .step_by(900)
            .find(|&at| offset(at) != offset(start));
        let at = at.unwrap_or(next) - start;
        // Of a repeated hour, where it begins for the first time.
        ClockShift::At(if longer > 0 { at - longer } else { at }, longer)
    }

    /// Offset of the zone in winter, east of UTC. (s)
    fn standard_s(self, date: NaiveDate) -> i64 {
        use chrono::{Datelike, Offset};
        let of = |month: u32| {
            let noon = NaiveDate::from_ymd_opt(date.year(), month, 1)?.and_hms_opt(12, 0, 0)?;
            let offset = self.zone.offset_from_local_datetime(&noon).earliest()?;
            Some(i64::from(offset.fix().local_minus_utc()))
        };
        of(1).into_iter().chain(of(7)).min().unwrap_or(0)
    }

    /// Are the times of a file standard time throughout? A day with an hour less has all periods of an usual day.
    pub(crate) fn is_standard_time<'d>(self, days: impl Iterator<Item = &'d DayValues>) -> bool {
        let usual = 86_400 / self.interval_s as usize;
        let mut days = days.filter(|day| day.values.len() >= usual);
        days.any(|day| {
            let ClockShift::At(at, longer) = self.change_of(day.date) else {
                return false;
            };
            let full = day.values[..usual].iter().all(|value| !value.is_nan());
            let (from, to) = self.periods(at, at - longer);
            longer < 0
                && full
                && day.values[from..to.min(usual)]
                    .iter()
                    .any(|value| *value != 0.0)
        })
    }

    /// Periods of a stretch of the local clock.
    fn periods(self, from_s: i64, to_s: i64) -> (usize, usize) {
        let at =
            |seconds: i64| ((seconds - self.first_s) / i64::from(self.interval_s)).max(0) as usize;
        (at(from_s), at(to_s))
    }

    /// The stretches of a day.
    pub(crate) fn stretches(self, day: DayValues, standard: bool) -> Vec<Stretch> {
        let whole = |start_s: i64, day: DayValues| {
            vec![Stretch {
                start_s,
                interval_s: self.interval_s,
                values: day.values,
                estimated: day.estimated,
                line: day.line,
            }]
        };
        if standard {
            let midnight = day
                .date
                .and_hms_opt(0, 0, 0)
                .unwrap_or_default()
                .and_utc()
                .timestamp();
            let start = midnight - self.standard_s(day.date) + self.first_s;
            return whole(start, day);
        }
        let start = self.start_of(day.date) + self.first_s;
        let ClockShift::At(at, longer) = self.change_of(day.date) else {
            return whole(start, day);
        };
        let usual = 86_400 / self.interval_s as usize;
        let (from, to) = self.periods(at, at + longer.abs());
        let is_there = |range: std::ops::Range<usize>| {
            let values = day.values.get(range.start..range.end.min(day.values.len()));
            values.is_some_and(|values| values.iter().any(|value| !value.is_nan()))
        };
        let by_count = if longer < 0 {
            // The last periods of the day are empty.
            let last = usual.saturating_sub(to - from);
            !is_there(last..day.values.len().max(last))
        } else {
            is_there(usual..day.values.len().max(usual))
        };
        if by_count {
            return whole(start, day);
        }
        // By the clock: what follows the change comes an hour earlier, or later.
        let resumes = to;
        let mut first = day.clone();
        first
            .values
            .truncate(if longer < 0 { from } else { resumes });
        let cut = |ranges: &[EstimatedRange], from: usize, to: usize| -> Vec<EstimatedRange> {
            let own = ranges.iter().map(|range| EstimatedRange {
                from: range.from.clamp(from, to) - from,
                to: range.to.clamp(from, to) - from,
            });
            own.filter(|range| range.from < range.to).collect()
        };
        first.estimated = cut(&day.estimated, 0, first.values.len());
        let mut second = day.clone();
        second.values.drain(..resumes.min(day.values.len()));
        second.estimated = cut(
            &day.estimated,
            resumes.min(day.values.len()),
            day.values.len(),
        );
        let later = start + resumes as i64 * i64::from(self.interval_s) + longer;
        let mut all = whole(start, first);
        all.extend(whole(later, second));
        all.retain(|stretch| !stretch.values.is_empty());
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LONDON: DayGrid = DayGrid {
        zone: Tz::Europe__London,
        interval_s: 1800,
        first_s: 0,
    };

    fn day(date: &str, values: Vec<f64>) -> DayValues {
        DayValues {
            date: date.parse().expect("a date"),
            values,
            estimated: Vec::new(),
            line: 0,
        }
    }

    fn starts(day: DayValues, standard: bool) -> Vec<(String, f64)> {
        let stretches = LONDON.stretches(day, standard);
        let each = stretches.iter().flat_map(|stretch| {
            let values = stretch.values.iter().enumerate();
            values
                .filter(|(_, value)| !value.is_nan())
                .map(|(at, value)| {
                    let time =
                        chrono::DateTime::from_timestamp(stretch.start_of(at), 0).expect("a time");
                    (time.format("%d %H:%M").to_string(), *value)
                })
        });
        each.collect()
    }

    fn numbered(count: usize) -> Vec<f64> {
        (1..=count).map(|number| number as f64).collect()
    }

    /// Clocks went forward at 01:00 on 29 March 2026: 46 half-hours.
    #[test]
    fn a_day_with_an_hour_less() {
        let nothing = [f64::NAN, f64::NAN];
        let counted = [numbered(46), nothing.to_vec()].concat();
        let by_count = starts(day("2026-03-29", counted), false);
        assert_eq!(
            (by_count.len(), by_count[2].clone()),
            (46, ("29 01:00".to_owned(), 3.0))
        );
        assert_eq!(by_count[45].0, "29 22:30");
        let mut clock = numbered(48);
        (clock[2], clock[3]) = (f64::NAN, f64::NAN);
        let by_clock = starts(day("2026-03-29", clock), false);
        // 02:00 of the clock is 01:00 UTC.
        assert_eq!(
            (by_clock.len(), by_clock[2].clone()),
            (46, ("29 01:00".to_owned(), 5.0))
        );
        assert_eq!(by_clock[45].0, "29 22:30");
        let full = day("2026-03-29", numbered(48));
        assert!(LONDON.is_standard_time([&full].into_iter()));
        let standard = starts(full, true);
        assert_eq!((standard.len(), standard[47].0.as_str()), (48, "29 23:30"));
    }

    /// Clocks went back at 02:00 on 25 October 2026: 50 half-hours.
    #[test]
    fn a_day_with_an_hour_more() {
        let by_count = starts(day("2026-10-25", numbered(50)), false);
        assert_eq!(
            (by_count[0].0.as_str(), by_count[49].0.as_str()),
            ("24 23:00", "25 23:30")
        );
        let by_clock = starts(day("2026-10-25", numbered(48)), false);
        // 01:00 to 02:00 appears once, for its first pass; 02:00 is 02:00 UTC.
        assert_eq!(
            (by_clock[3].0.as_str(), by_clock[4].0.as_str()),
            ("25 00:30", "25 02:00")
        );
    }
}
