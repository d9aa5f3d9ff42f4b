//! When a machine runs: weekly times in the site's local time.

use calendar::Days;
use chrono::{Datelike, NaiveDate, NaiveDateTime, Timelike};

/// One weekly stretch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shift {
    /// Days on which it starts.
    pub days: Days,
    /// Start, minute of the day.
    pub from_min: u32,
    /// End, minute of the day, exclusive; not after the start means the next day.
    pub to_min: u32,
}

/// A named schedule: all its stretches together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Schedule {
    /// Its name.
    pub name: String,
    /// Do people work while it runs? False of what machines or lights do by themselves.
    pub working_hours: bool,
    /// Its stretches.
    pub shifts: Vec<Shift>,
}

impl Schedule {
    /// Does the schedule run at this local time? A stretch does not start on a holiday.
    #[must_use]
    pub fn runs_at(&self, local: NaiveDateTime, holidays: &[NaiveDate]) -> bool {
        let minute = local.hour() * 60 + local.minute();
        let today = local.date();
        let starts_on = |shift: &Shift, date: NaiveDate| {
            shift.days.contains(date.weekday()) && !holidays.contains(&date)
        };
        self.shifts.iter().any(|shift| {
            let overnight = shift.to_min <= shift.from_min;
            let end_today = if overnight { 1440 } else { shift.to_min };
            let began_today =
                starts_on(shift, today) && (shift.from_min..end_today).contains(&minute);
            let began_yesterday = overnight
                && minute < shift.to_min
                && today
                    .pred_opt()
                    .is_some_and(|yesterday| starts_on(shift, yesterday));
            began_today || began_yesterday
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use calendar::parse_minute_of_day;

    fn at(text: &str) -> NaiveDateTime {
        NaiveDateTime::parse_from_str(text, "%Y-%m-%d %H:%M").expect("test time")
    }

    fn schedule(days: &str, from: &str, to: &str) -> Schedule {
        Schedule {
            name: "s".into(),
            working_hours: true,
            shifts: vec![Shift {
                days: Days::parse(days).expect("test days"),
                from_min: parse_minute_of_day(from).expect("test time"),
                to_min: parse_minute_of_day(to).expect("test time"),
            }],
        }
    }

    #[test]
    fn day_shift_is_half_open_and_skips_holidays() {
        let day = schedule("Mon-Fri", "07:30", "16:00");
        assert!(day.runs_at(at("2026-03-09 07:30"), &[]));
        assert!(!day.runs_at(at("2026-03-09 16:00"), &[]));
        assert!(!day.runs_at(at("2026-03-08 08:00"), &[]));
        let holiday = NaiveDate::from_ymd_opt(2026, 3, 9).expect("test date");
        assert!(!day.runs_at(at("2026-03-09 08:00"), &[holiday]));
    }

    #[test]
    fn night_shift_runs_into_the_next_day() {
        let night = schedule("Fri", "22:00", "06:00");
        assert!(night.runs_at(at("2026-03-13 23:00"), &[]));
        assert!(night.runs_at(at("2026-03-14 05:59"), &[]));
        assert!(!night.runs_at(at("2026-03-14 06:00"), &[]));
        assert!(!night.runs_at(at("2026-03-13 05:00"), &[]));
    }
}
