//! Times of the week and the year in which a clause of a tariff holds.

use chrono::{Datelike, NaiveDate, NaiveDateTime, Timelike};

use super::band::{BandDays, Months};

/// Days, months and hours of the local clock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TimeWindow {
    /// Days of the week; holidays count as such only where they are named.
    pub days: BandDays,
    /// Months of the year.
    pub months: Months,
    /// First quarter-hour of the local day, 0 to 95.
    pub from_quarter: usize,
    /// First quarter-hour no longer in it, 1 to 96; not after `from_quarter`: over midnight.
    pub to_quarter: usize,
}

impl TimeWindow {
    /// All of the time.
    pub fn always() -> TimeWindow {
        TimeWindow {
            days: BandDays::daily(),
            months: Months::ALL,
            from_quarter: 0,
            to_quarter: 96,
        }
    }

    /// Is a local time in it? A holiday is its own kind of day where the window names some days only.
    #[must_use]
    pub fn contains(&self, local: NaiveDateTime, holidays: &[NaiveDate]) -> bool {
        let quarter = (local.hour() * 4 + local.minute() / 15) as usize;
        let within = if self.from_quarter < self.to_quarter {
            (self.from_quarter..self.to_quarter).contains(&quarter)
        } else {
            quarter >= self.from_quarter || quarter < self.to_quarter
        };
        let of_day = self.days.is_daily()
            || if holidays.contains(&local.date()) {
                self.days.holidays
            } else {
                self.days.contains(local.weekday())
            };
        within && self.months.contains(local.month()) && of_day
    }
}

impl Default for TimeWindow {
    fn default() -> TimeWindow {
        TimeWindow::always()
    }
}
