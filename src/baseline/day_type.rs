//! Day types.

use std::fmt;

use chrono::{Datelike, NaiveDate, Weekday};
use schemars::JsonSchema;
use serde::Serialize;

/// Days of one kind are alike in what is done on them (common practice).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, JsonSchema, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum DayType {
    /// Monday to Friday, without the site's holidays.
    WorkingDay,
    /// A Saturday that is no holiday.
    Saturday,
    /// A Sunday, or a holiday of the site.
    SundayOrHoliday,
}

impl DayType {
    /// Every kind, in the order of the week.
    pub const ALL: [DayType; 3] = [
        DayType::WorkingDay,
        DayType::Saturday,
        DayType::SundayOrHoliday,
    ];

    /// The kind of a local date.
    ///
    /// ```
    /// use chrono::NaiveDate;
    /// use baseline::DayType;
    /// // Good Friday of 2026 and the Monday before it.
    /// let date = |day| NaiveDate::from_ymd_opt(2026, 4, day).expect("a date");
    /// let holidays = [date(3)];
    /// assert_eq!(DayType::of(date(3), &holidays), DayType::SundayOrHoliday);
    /// assert_eq!(DayType::of(date(2), &holidays), DayType::WorkingDay);
    /// assert_eq!(DayType::of(date(4), &holidays), DayType::Saturday);
    /// ```
    #[must_use]
    pub fn of(date: NaiveDate, holidays: &[NaiveDate]) -> DayType {
        match date.weekday() {
            _ if holidays.contains(&date) => DayType::SundayOrHoliday,
            Weekday::Sun => DayType::SundayOrHoliday,
            Weekday::Sat => DayType::Saturday,
            _ => DayType::WorkingDay,
        }
    }

    /// In words.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            DayType::WorkingDay => "working day",
            DayType::Saturday => "Saturday",
            DayType::SundayOrHoliday => "Sunday or holiday",
        }
    }

    /// Several of them, in words.
    #[must_use]
    pub const fn plural(self) -> &'static str {
        match self {
            DayType::WorkingDay => "working days",
            DayType::Saturday => "Saturdays",
            DayType::SundayOrHoliday => "Sundays and holidays",
        }
    }
}

impl fmt::Display for DayType {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}
