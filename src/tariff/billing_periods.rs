//! When billing periods begin, and what a change of price within one does.

use chrono::{Datelike, Months, NaiveDate};

/// When billing periods begin.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum PeriodStart {
    /// On the first of each month.
    #[default]
    CalendarMonths,
    /// On this day of each month, 2 to 28.
    DayOfMonth(u32),
    /// On these dates, ascending; before and after them a month apart.
    Dates(Vec<NaiveDate>),
}

/// What becomes of a billing period in which prices change.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum PriceChange {
    /// Each day has its own prices.
    #[default]
    WithinPeriod,
    /// The prices of its first day hold to its end.
    NextPeriod,
}

/// The periods that a bill is made for.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct BillingPeriods {
    /// When they begin.
    pub start: PeriodStart,
    /// What a change of price within one does.
    pub price_change: PriceChange,
}

impl BillingPeriods {
    /// First day of the period that a date is in, and of the next.
    #[must_use]
    pub fn around(&self, date: NaiveDate) -> (NaiveDate, NaiveDate) {
        match &self.start {
            PeriodStart::CalendarMonths => on_day(date, 1),
            PeriodStart::DayOfMonth(day) => on_day(date, *day),
            PeriodStart::Dates(dates) => between(dates, date),
        }
    }

    /// Is the period a month of the calendar?
    pub(super) fn is_month(first: NaiveDate, next: NaiveDate) -> bool {
        first.day() == 1 && first.checked_add_months(Months::new(1)) == Some(next)
    }
}

/// A date is no further from the listed ones: 8000 years.
const MOST_MONTHS: i32 = 100_000;

fn on_day(date: NaiveDate, day: u32) -> (NaiveDate, NaiveDate) {
    let this = date.with_day(day).unwrap_or(date);
    let first = if this <= date {
        this
    } else {
        this.checked_sub_months(Months::new(1)).unwrap_or(this)
    };
    let next = first.checked_add_months(Months::new(1));
    (first, next.unwrap_or(NaiveDate::MAX))
}

fn between(dates: &[NaiveDate], date: NaiveDate) -> (NaiveDate, NaiveDate) {
    let (Some(&earliest), Some(&latest)) = (dates.first(), dates.last()) else {
        return on_day(date, 1);
    };
    let months = |from: NaiveDate, count: i32| {
        let months = Months::new(count.unsigned_abs());
        let found = if count < 0 {
            from.checked_sub_months(months)
        } else {
            from.checked_add_months(months)
        };
        found.unwrap_or(from)
    };
    if date < earliest {
        let count = (1..MOST_MONTHS)
            .find(|&count| months(earliest, -count) <= date)
            .unwrap_or(1);
        return (months(earliest, -count), months(earliest, 1 - count));
    }
    if latest <= date {
        let count = (1..MOST_MONTHS)
            .find(|&count| date < months(latest, count))
            .unwrap_or(1);
        return (months(latest, count - 1), months(latest, count));
    }
    let after = dates.partition_point(|&first| first <= date);
    (dates[after - 1], dates[after])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn date(text: &str) -> NaiveDate {
        text.parse().expect("a date")
    }

    fn around(start: PeriodStart, at: &str) -> (NaiveDate, NaiveDate) {
        let periods = BillingPeriods {
            start,
            price_change: PriceChange::WithinPeriod,
        };
        periods.around(date(at))
    }

    #[test]
    fn periods_of_each_kind() {
        let pair = |a, b| (date(a), date(b));
        let months = PeriodStart::CalendarMonths;
        assert_eq!(
            around(months, "2026-02-28"),
            pair("2026-02-01", "2026-03-01")
        );
        let day = || PeriodStart::DayOfMonth(16);
        assert_eq!(
            around(day(), "2026-03-15"),
            pair("2026-02-16", "2026-03-16")
        );
        assert_eq!(
            around(day(), "2026-03-16"),
            pair("2026-03-16", "2026-04-16")
        );
        let dates = || {
            PeriodStart::Dates(
                ["2026-01-12", "2026-02-16", "2026-03-14"]
                    .map(date)
                    .to_vec(),
            )
        };
        assert_eq!(
            around(dates(), "2026-02-15"),
            pair("2026-01-12", "2026-02-16")
        );
        assert_eq!(
            around(dates(), "2025-12-11"),
            pair("2025-11-12", "2025-12-12")
        );
        assert_eq!(
            around(dates(), "2026-03-14"),
            pair("2026-03-14", "2026-04-14")
        );
    }
}
