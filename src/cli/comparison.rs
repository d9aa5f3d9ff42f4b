//! `--compare`: the period to compare with.

use chrono::{Datelike, Days, Months, NaiveDate};

use super::CommandError;
use super::arguments::InputArguments;
use demand::{Comparison, EnergyResult};
use message::{InputErrors, Message, Messages};
use site::Site;
use units::format_date;

/// The other period as the user gives it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Compare {
    /// The same dates, one unit earlier.
    Before(CalendarUnit),
    /// The first day and the day after the last.
    Dates(NaiveDate, NaiveDate),
}

/// A unit of the calendar.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum CalendarUnit {
    Day,
    Week,
    Month,
    Year,
}

/// Reads `day`, `week`, `month`, `year` or `2026-03-02..2026-03-09`.
pub(super) fn read_compare(text: &str) -> Result<Compare, String> {
    let unit = match text {
        "day" => Some(CalendarUnit::Day),
        "week" => Some(CalendarUnit::Week),
        "month" => Some(CalendarUnit::Month),
        "year" => Some(CalendarUnit::Year),
        _ => None,
    };
    if let Some(unit) = unit {
        return Ok(Compare::Before(unit));
    }
    let dates = text.split_once("..").and_then(|(from, to)| {
        let date = |text: &str| NaiveDate::parse_from_str(text, "%Y-%m-%d").ok();
        Some((date(from)?, date(to)?))
    });
    match dates {
        Some((from, to)) if from < to => Ok(Compare::Dates(from, to)),
        _ => Err(
            "expected day, week, month, year, or dates such as 2026-03-02..2026-03-09 (the second is the day after the last)"
                .to_owned(),
        ),
    }
}

/// The two periods. Without `--from` and `--to` it is the last whole day, week, month or year of the log or, where
/// `--compare` gives dates, all its whole days; `result` is then of the whole log.
pub(super) fn periods(
    site: &Site,
    input: &InputArguments,
    compare: Compare,
    result: &EnergyResult,
) -> Result<Comparison, CommandError> {
    let whole = whole_days(site, result);
    let (from, to) = match (input.from, input.to, whole) {
        (Some(from), Some(to), _) => (from, to),
        (from, to, Some((first, end))) => match (from, to, compare) {
            (None, None, Compare::Before(unit)) => {
                let to = unit.start(end);
                (unit.back(to), to)
            }
            _ => (from.unwrap_or(first), to.unwrap_or(end)),
        },
        _ => return Err(refuse("no meter has readings for a whole day".to_owned())),
    };
    let (other_from, other_to) = match compare {
        Compare::Dates(from, to) => (from, to),
        Compare::Before(unit) => (unit.back(from), unit.back(to)),
    };
    if from < other_to && other_from < to {
        return Err(refuse(format!(
            "the two periods overlap: {} and {}",
            shown(from, to),
            shown(other_from, other_to)
        )));
    }
    Ok(Comparison {
        from,
        to,
        other_from,
        other_to,
    })
}

/// `Mon 2 Mar 2026 to Sun 8 Mar 2026`: both days are in the period.
fn shown(from: NaiveDate, end: NaiveDate) -> String {
    let last = end.pred_opt().unwrap_or(end);
    format!("{} to {}", format_date(from), format_date(last))
}

fn refuse(text: String) -> CommandError {
    let mut messages = Messages::new();
    messages.push(Message::error("no-comparison", text).help(
        "give one period with `--from` and `--to`, and the other with `--compare 2026-03-02..2026-03-09`",
    ));
    CommandError::Input(InputErrors(messages))
}

/// The whole local days of the meter with the longest log: the first, and the one after the last.
fn whole_days(site: &Site, result: &EnergyResult) -> Option<(NaiveDate, NaiveDate)> {
    let meter = result
        .meters
        .iter()
        .max_by_key(|meter| meter.to - meter.from)?;
    let local = |at: chrono::DateTime<chrono::Utc>| at.with_timezone(&site.timezone).naive_local();
    let (from, to) = (local(meter.from), local(meter.to));
    let begins = from.time() == chrono::NaiveTime::MIN;
    let first = if begins {
        from.date()
    } else {
        from.date().succ_opt()?
    };
    (first < to.date()).then(|| (first, to.date()))
}

impl CalendarUnit {
    /// The first day of the day, week, month or year of a date.
    fn start(self, date: NaiveDate) -> NaiveDate {
        match self {
            CalendarUnit::Day => date,
            CalendarUnit::Week => date.week(chrono::Weekday::Mon).first_day(),
            CalendarUnit::Month => date.with_day(1).unwrap_or(date),
            CalendarUnit::Year => date.with_ordinal(1).unwrap_or(date),
        }
    }

    /// The same date one unit earlier.
    fn back(self, date: NaiveDate) -> NaiveDate {
        let found = match self {
            CalendarUnit::Day => date.checked_sub_days(Days::new(1)),
            CalendarUnit::Week => date.checked_sub_days(Days::new(7)),
            CalendarUnit::Month => date.checked_sub_months(Months::new(1)),
            CalendarUnit::Year => date.checked_sub_months(Months::new(12)),
        };
        found.unwrap_or(date)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn periods_are_read_from_words_and_dates() {
        let date = |text: &str| text.parse::<NaiveDate>().expect("a date");
        assert_eq!(
            read_compare("week"),
            Ok(Compare::Before(CalendarUnit::Week))
        );
        let dates = Compare::Dates(date("2026-03-02"), date("2026-03-09"));
        assert_eq!(read_compare("2026-03-02..2026-03-09"), Ok(dates));
        assert!(read_compare("2026-03-09..2026-03-02").is_err());
        assert!(read_compare("fortnight").is_err());
        assert_eq!(
            CalendarUnit::Month.back(date("2026-03-31")),
            date("2026-02-28")
        );
        assert_eq!(
            CalendarUnit::Year.start(date("2026-03-31")),
            date("2026-01-01")
        );
    }
}
