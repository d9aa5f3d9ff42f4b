//! Dates in any order: the form that all dates of a column fit.

use chrono::{Datelike, NaiveDate, Weekday};

const MONTHS: [&str; 12] = [
    "jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec",
];
const WEEKDAYS: [&str; 7] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];
/// Serial numbers of spreadsheets from 1970 to 2100.
const SERIALS: std::ops::Range<i64> = 25_569..73_051;

/// Day before month or the other way round, where numbers alone say it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum DateOrder {
    DayFirst,
    MonthFirst,
}

/// A date without a time of day, with or without its weekday; a time of day that is midnight is allowed.
pub(crate) fn date(text: &str, order: DateOrder) -> Option<NaiveDate> {
    in_digits(text, order).or_else(|| in_words(text, order))
}

/// `2026-03-09` and `09/03/2026`, the usual forms.
fn in_digits(text: &str, order: DateOrder) -> Option<NaiveDate> {
    let bytes: &[u8; 10] = text.as_bytes().try_into().ok()?;
    let number = |range: std::ops::Range<usize>| {
        let digits = &bytes[range];
        let is_number = digits.iter().all(u8::is_ascii_digit);
        let value = digits
            .iter()
            .fold(0, |value, digit| 10 * value + u32::from(digit & 15));
        is_number.then_some(value)
    };
    let is_sign = |at: usize| matches!(bytes[at], b'-' | b'/' | b'.');
    let found = if is_sign(4) && is_sign(7) {
        NaiveDate::from_ymd_opt(number(0..4)? as i32, number(5..7)?, number(8..10)?)
    } else if is_sign(2) && is_sign(5) {
        let (day, month) = match order {
            DateOrder::DayFirst => (0..2, 3..5),
            DateOrder::MonthFirst => (3..5, 0..2),
        };
        NaiveDate::from_ymd_opt(number(6..10)? as i32, number(month)?, number(day)?)
    } else {
        None
    };
    found.filter(|date| (1970..2100).contains(&date.year()))
}

/// In any other form.
fn in_words(text: &str, order: DateOrder) -> Option<NaiveDate> {
    let tokens = tokens(text);
    let words: Vec<&str> = tokens.iter().map(String::as_str).collect();
    let words = match words[..] {
        [first, ..] if is_weekday(first) => &words[1..],
        _ => &words[..],
    };
    let is_zero = |word: &&str| word.bytes().all(|byte| byte == b'0');
    let number = |word: &str| word.parse::<u32>().ok();
    let year = |word: &str| {
        let year = word.parse::<i32>().ok()?;
        match word.len() {
            4 => Some(year),
            2 => Some(2000 + year),
            _ => None,
        }
    };
    let month = |word: &str| {
        let short: String = word.chars().take(3).collect::<String>().to_lowercase();
        let named = word.chars().all(char::is_alphabetic) && word.len() >= 3;
        named
            .then(|| MONTHS.iter().position(|known| *known == short))
            .flatten()
            .map(|at| at as u32 + 1)
    };
    let found = match words {
        [one] if one.len() == 8 => {
            let date = NaiveDate::parse_from_str(one, "%Y%m%d").ok()?;
            Some(date)
        }
        [one] => serial(one),
        [one, rest] if is_zero(rest) => serial(one),
        [y, w, week, day] if y.len() == 4 && w.eq_ignore_ascii_case("w") => {
            let weekday = Weekday::try_from(number(day)?.checked_sub(1)? as u8).ok()?;
            NaiveDate::from_isoywd_opt(year(y)?, number(week)?, weekday)
        }
        [a, b, c, rest @ ..] if rest.iter().all(is_zero) => {
            if a.len() == 4 {
                let month = number(b).or_else(|| month(b))?;
                NaiveDate::from_ymd_opt(year(a)?, month, number(c)?)
            } else if let Some(month) = month(b) {
                NaiveDate::from_ymd_opt(year(c)?, month, number(a)?)
            } else if let Some(month) = month(a) {
                NaiveDate::from_ymd_opt(year(c)?, month, number(b)?)
            } else {
                let (day, month) = match order {
                    DateOrder::DayFirst => (a, b),
                    DateOrder::MonthFirst => (b, a),
                };
                (a.len() <= 2 && b.len() <= 2)
                    .then(|| NaiveDate::from_ymd_opt(year(c)?, number(month)?, number(day)?))
                    .flatten()
            }
        }
        _ => None,
    };
    found.filter(|date| (1970..2100).contains(&date.year()))
}

fn serial(text: &str) -> Option<NaiveDate> {
    let days = text
        .parse::<i64>()
        .ok()
        .filter(|days| SERIALS.contains(days))?;
    NaiveDate::from_ymd_opt(1899, 12, 30)?.checked_add_days(chrono::Days::new(days as u64))
}

fn is_weekday(word: &str) -> bool {
    let lower = word.to_lowercase();
    word.chars().all(char::is_alphabetic) && WEEKDAYS.iter().any(|day| lower.starts_with(day))
}

/// Runs of letters and runs of digits.
fn tokens(text: &str) -> Vec<String> {
    let mut tokens: Vec<String> = Vec::new();
    let mut last = None;
    for sign in text.chars() {
        let kind = if sign.is_ascii_digit() {
            Some(true)
        } else if sign.is_alphabetic() {
            Some(false)
        } else {
            None
        };
        match (kind, last) {
            (Some(kind), Some(before)) if kind == before => {
                if let Some(token) = tokens.last_mut() {
                    token.push(sign);
                }
            }
            // The T between a date and a time.
            (Some(false), Some(true)) if sign == 'T' => {
                last = None;
                continue;
            }
            (Some(_), _) => tokens.push(sign.to_string()),
            (None, _) => {}
        }
        last = kind;
    }
    tokens
}

/// The order in which the dates of a column are written: as their numbers or their sequence show.
///
/// # Errors
///
/// Where both orders fit equally: the first date.
pub(crate) fn order<'d>(
    dates: &(impl Iterator<Item = &'d str> + Clone),
) -> Result<DateOrder, String> {
    let score = |order: DateOrder| {
        let mut read = 0;
        let mut near = 0;
        let mut before: Option<NaiveDate> = None;
        for text in dates.clone() {
            if let Some(date) = date(text, order) {
                read += 1;
                let follows = before.is_some_and(|before| (date - before).num_days().abs() == 1);
                near += usize::from(follows);
                before = Some(date);
            }
        }
        (read, near)
    };
    let (day, month) = (score(DateOrder::DayFirst), score(DateOrder::MonthFirst));
    let same = dates
        .clone()
        .all(|text| date(text, DateOrder::DayFirst) == date(text, DateOrder::MonthFirst));
    // With points the day comes first (common practice).
    let points = dates.clone().all(|text| text.matches('.').count() == 2);
    match day.cmp(&month) {
        _ if same || points => Ok(DateOrder::DayFirst),
        std::cmp::Ordering::Greater => Ok(DateOrder::DayFirst),
        std::cmp::Ordering::Less => Ok(DateOrder::MonthFirst),
        std::cmp::Ordering::Equal => Err(dates.clone().next().unwrap_or_default().to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_usual_form() {
        let expected = NaiveDate::from_ymd_opt(2026, 3, 9);
        for text in [
            "2026-03-09",
            "20260309",
            "09/03/2026",
            "9.3.2026",
            "09-Mar-2026",
            "9 March 2026",
            "Mar 9, 2026",
            "Mon 09/03/2026",
            "Monday, 9 March 2026",
            "2026-03-09 00:00:00",
            "2026-03-09T00:00:00",
            "46090",
            "2026-W11-1",
            "09/03/26",
            "09-Mar-26",
        ] {
            assert_eq!(date(text, DateOrder::DayFirst), expected, "{text}");
        }
        assert_eq!(date("03/09/2026", DateOrder::MonthFirst), expected);
        for text in [
            "",
            "total",
            "12",
            "2026-13-01",
            "09/03",
            "2026-03-09 10:00",
            "123456",
        ] {
            assert_eq!(date(text, DateOrder::DayFirst), None, "{text}");
        }
    }

    #[test]
    fn the_order_is_shown_by_numbers_or_by_sequence_or_asked() {
        let found = |dates: &[&str]| order(&dates.iter().copied());
        assert_eq!(
            found(&["09/03/2026", "13/03/2026"]),
            Ok(DateOrder::DayFirst)
        );
        assert_eq!(
            found(&["03/09/2026", "03/13/2026"]),
            Ok(DateOrder::MonthFirst)
        );
        assert_eq!(
            found(&["01/03/2026", "02/03/2026"]),
            Ok(DateOrder::DayFirst)
        );
        assert_eq!(
            found(&["03/01/2026", "03/02/2026"]),
            Ok(DateOrder::MonthFirst)
        );
        assert_eq!(found(&["03/04/2026"]), Err("03/04/2026".to_owned()));
        assert_eq!(found(&["2026-03-04"]), Ok(DateOrder::DayFirst));
    }
}
