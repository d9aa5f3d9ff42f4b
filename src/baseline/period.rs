//! Days, weeks or months with their energy and its variables, per day of each.

use std::collections::BTreeMap;

use chrono::{Datelike, Days, Months, NaiveDate, Weekday};

use super::day_type::DayType;
use super::days::{Calendar, DayTotal};
use super::variable_file::VariableValues;
use site::Every;

/// A day, week or month.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct ModelPeriod {
    pub(super) first: NaiveDate,
    /// The day after its last.
    pub(super) after: NaiveDate,
    /// Energy, where all of its days are whole. (kWh)
    pub(super) kwh: Option<f64>,
    /// How many of its days are of each kind.
    pub(super) days_of: [usize; 3],
    /// Mean of each variable over its days, where all of them have a value.
    pub(super) variables: Vec<Option<f64>>,
}

impl ModelPeriod {
    pub(super) fn days(&self) -> f64 {
        (self.after - self.first).num_days() as f64
    }

    /// Energy per day. (kWh)
    pub(super) fn kwh_per_day(&self) -> Option<f64> {
        Some(self.kwh? / self.days())
    }

    /// Share of its days that are of a kind.
    pub(super) fn share(&self, kind: DayType) -> f64 {
        self.days_of[kind as usize] as f64 / self.days()
    }

    /// `2026-03-09`, `2026-W11`, `2026-03`.
    pub(super) fn key(&self, every: Every) -> String {
        let format = match every {
            Every::Day => "%Y-%m-%d",
            Every::Week => "%G-W%V",
            Every::Month => "%Y-%m",
        };
        self.first.format(format).to_string()
    }
}

/// The whole periods from the first to the last day with readings.
pub(super) fn periods(
    days: &[DayTotal],
    calendar: Calendar<'_>,
    variables: &[&VariableValues],
    every: Every,
) -> Vec<ModelPeriod> {
    let by_date: BTreeMap<NaiveDate, &DayTotal> = days.iter().map(|day| (day.date, day)).collect();
    let (Some((&first, _)), Some((&last, _))) =
        (by_date.first_key_value(), by_date.last_key_value())
    else {
        return Vec::new();
    };
    let mut found = Vec::new();
    let mut at = start_of(first, every);
    while at <= last {
        let after = end_of(at, every);
        let dates = || at.iter_days().take_while(|date| *date < after);
        let kwh = dates()
            .map(|date| {
                by_date
                    .get(&date)
                    .filter(|day| day.complete)
                    .map(|day| day.kwh)
            })
            .sum();
        let mut days_of = [0; 3];
        for date in dates() {
            days_of[calendar.day_type(date) as usize] += 1;
        }
        let length = (after - at).num_days() as f64;
        let mean = |variable: &&VariableValues| -> Option<f64> {
            let sum: Option<f64> = dates()
                .map(|date| variable.of_day.get(&date).copied())
                .sum();
            Some(sum? / length)
        };
        found.push(ModelPeriod {
            first: at,
            after,
            kwh,
            days_of,
            variables: variables.iter().map(mean).collect(),
        });
        at = after;
    }
    found
}

fn start_of(date: NaiveDate, every: Every) -> NaiveDate {
    match every {
        Every::Day => date,
        Every::Week => date.week(Weekday::Mon).first_day(),
        Every::Month => date.with_day(1).unwrap_or(date),
    }
}

fn end_of(first: NaiveDate, every: Every) -> NaiveDate {
    match every {
        Every::Day => first + Days::new(1),
        Every::Week => first + Days::new(7),
        Every::Month => first + Months::new(1),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn date(text: &str) -> NaiveDate {
        text.parse().expect("a date")
    }

    #[test]
    fn a_week_needs_all_its_days() {
        let days: Vec<DayTotal> = date("2026-03-09")
            .iter_days()
            .take(13)
            .map(|date| DayTotal {
                date,
                kwh: 10.0,
                complete: true,
            })
            .collect();
        let holidays = [date("2026-03-17")];
        let calendar = Calendar {
            zone: chrono_tz::UTC,
            holidays: &holidays,
        };
        let weeks = periods(&days, calendar, &[], Every::Week);
        assert_eq!(weeks.len(), 2);
        assert_eq!(weeks[0].kwh, Some(70.0));
        assert_eq!(weeks[0].days_of, [5, 1, 1]);
        assert_eq!(weeks[0].key(Every::Week), "2026-W11");
        assert_eq!(weeks[1].kwh, None);
        assert_eq!(weeks[1].days_of, [4, 1, 2]);
        let months = periods(&days, calendar, &[], Every::Month);
        assert_eq!((months.len(), months[0].kwh), (1, None));
        assert_eq!(months[0].after, date("2026-04-01"));
    }
}
