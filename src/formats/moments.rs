//! Times of rows in the forms that exports write them in: with a weekday, with a zone, as a range, as a month.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, Offset, TimeDelta, TimeZone};
use chrono_tz::Tz;

use super::dates::{DateOrder, date};

/// What a cell says of time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct CellMoment {
    pub(crate) local: NaiveDateTime,
    /// East of UTC, where the cell says it. (s)
    pub(crate) east_s: Option<i32>,
    /// No time of day: the whole day or month.
    pub(crate) whole: bool,
    /// The cell is a range; its start is `local`.
    pub(crate) range: bool,
}

impl CellMoment {
    /// As ISO 8601.
    pub(crate) fn text(&self) -> String {
        if self.whole {
            return self.local.format("%Y-%m-%d").to_string();
        }
        let local = self.local.format("%Y-%m-%d %H:%M:%S");
        match self.east_s {
            None => local.to_string(),
            Some(east) => {
                let sign = if east < 0 { '-' } else { '+' };
                format!(
                    "{local}{sign}{:02}:{:02}",
                    east.abs() / 3600,
                    east.abs() / 60 % 60
                )
            }
        }
    }
}

/// Reads a cell.
pub(crate) fn moment(cell: &str, order: DateOrder) -> Option<CellMoment> {
    let cell = cell.trim();
    let (cell, named) = zone_in_brackets(cell)?;
    let whole = |day: NaiveDate| CellMoment {
        local: day.and_time(NaiveTime::MIN),
        east_s: None,
        whole: true,
        range: false,
    };
    if let Some(day) = date(cell, order).filter(|_| !cell.contains(':')) {
        return Some(whole(day));
    }
    if let Some(moment) = basic(cell).or_else(|| serial(cell)) {
        return Some(moment);
    }
    let Some(colon) = cell.find(':') else {
        return month(cell).map(whole);
    };
    let begins = cell[..colon]
        .rfind(|c: char| !c.is_ascii_digit())
        .map_or(0, |at| {
            at + cell[at..].chars().next().map_or(1, char::len_utf8)
        });
    let day = date(cell[..begins].trim_end_matches(['T', ',', ' ']), order)?;
    let (time, rest) = time_of_day(&cell[begins..])?;
    let mut found = CellMoment {
        local: time.apply(day)?,
        east_s: None,
        whole: false,
        range: false,
    };
    let rest = rest.trim();
    if let Some(range) = range_end(rest, order) {
        found.range = range;
        return range.then_some(found);
    }
    found.east_s = match (offset(rest), named) {
        (Ok(Some(east)), _) => Some(east),
        (Ok(None), Some(zone)) => Some(
            zone.offset_from_local_datetime(&found.local)
                .earliest()?
                .fix()
                .local_minus_utc(),
        ),
        (Ok(None), None) => None,
        (Err(()), _) => return None,
    };
    Some(found)
}

/// A time of day alone, or a range of two: the start.
pub(crate) fn time_alone(cell: &str) -> Option<(ClockTime, bool)> {
    let (time, rest) = time_of_day(cell.trim())?;
    let rest = rest.trim();
    if rest.is_empty() {
        return Some((time, false));
    }
    let second = rest
        .strip_prefix(['-', '–'])
        .or_else(|| rest.strip_prefix("to "))?;
    let (_, rest) = time_of_day(second.trim())?;
    rest.trim().is_empty().then_some((time, true))
}

/// A time of day; 24:00 closes the day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct ClockTime {
    seconds: i64,
}

impl ClockTime {
    pub(crate) fn apply(self, day: NaiveDate) -> Option<NaiveDateTime> {
        day.and_time(NaiveTime::MIN)
            .checked_add_signed(TimeDelta::seconds(self.seconds))
    }
}

/// The time at the beginning of a text, and the rest.
fn time_of_day(text: &str) -> Option<(ClockTime, &str)> {
    let (hour, mut rest) = digits(text, 2)?;
    let mut minute = 0;
    let mut second = 0;
    rest = rest.strip_prefix(':')?;
    let (value, after) = digits(rest, 2)?;
    minute += value;
    rest = after;
    if let Some(after) = rest.strip_prefix(':') {
        let (value, after) = digits(after, 2)?;
        second += value;
        rest = after;
        if let Some(after) = rest.strip_prefix(['.', ',']) {
            rest = after.trim_start_matches(|c: char| c.is_ascii_digit());
        }
    }
    let mut hour = hour;
    let lower = rest.trim_start().to_lowercase();
    for (word, afternoon) in [("a.m.", false), ("p.m.", true), ("am", false), ("pm", true)] {
        if lower.starts_with(word) {
            (1..=12).contains(&hour).then_some(())?;
            hour = hour % 12 + if afternoon { 12 } else { 0 };
            let skipped = rest.len() - rest.trim_start().len();
            rest = rest.get(skipped + word.len()..)?;
            break;
        }
    }
    let closes = hour == 24 && minute == 0 && second == 0;
    (hour < 24 && minute < 60 && second < 61 || closes).then_some(())?;
    let seconds = hour * 3600 + minute * 60 + second;
    Some((ClockTime { seconds }, rest))
}

fn digits(text: &str, most: usize) -> Option<(i64, &str)> {
    let count = text
        .bytes()
        .take(most)
        .take_while(u8::is_ascii_digit)
        .count();
    (count > 0).then_some(())?;
    Some((text[..count].parse().ok()?, &text[count..]))
}

/// `20260309T1030`, `20260309T103000Z`, `202603091030`.
fn basic(cell: &str) -> Option<CellMoment> {
    let (plain, east_s) = match cell.strip_suffix('Z') {
        Some(plain) => (plain, Some(0)),
        None => (cell, None),
    };
    let local = ["%Y%m%dT%H%M", "%Y%m%dT%H%M%S", "%Y%m%d %H%M"]
        .iter()
        .find_map(|form| NaiveDateTime::parse_from_str(plain, form).ok());
    Some(CellMoment {
        local: local?,
        east_s,
        whole: false,
        range: false,
    })
}

/// The serial number of a spreadsheet with a part of a day: `46090.4375`.
fn serial(cell: &str) -> Option<CellMoment> {
    let (days, part) = cell.split_once(['.', ','])?;
    let day = date(days, DateOrder::DayFirst).filter(|_| days.len() == 5)?;
    // Digits alone: an exponent would be many days, or more than any.
    let is_part = !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    let part: f64 = is_part
        .then(|| format!("0.{part}").parse().ok())
        .flatten()?;
    // Half a second of rounding.
    let seconds = (part * 86_400.0).round() as i64;
    Some(CellMoment {
        local: ClockTime { seconds }.apply(day)?,
        east_s: None,
        whole: false,
        range: false,
    })
}

/// `Jan-26`, `January 2026`, `2026-01`, `01/2026`.
fn month(cell: &str) -> Option<NaiveDate> {
    let parts: Vec<&str> = cell
        .split(['-', '/', ' ', '.'])
        .filter(|part| !part.is_empty())
        .collect();
    let [a, b] = parts[..] else { return None };
    let number = |text: &str| text.parse::<u32>().ok().filter(|_| text.len() <= 2);
    if a.len() == 4 && a.bytes().all(|byte| byte.is_ascii_digit()) {
        return NaiveDate::from_ymd_opt(a.parse().ok()?, number(b)?, 1);
    }
    if b.len() == 4 && number(a).is_some() {
        return NaiveDate::from_ymd_opt(b.parse().ok()?, number(a)?, 1);
    }
    let named = a.chars().all(char::is_alphabetic) && a.len() >= 3;
    let is_year = matches!(b.len(), 2 | 4) && b.bytes().all(|byte| byte.is_ascii_digit());
    (named && is_year).then(|| date(&format!("1 {a} {b}"), DateOrder::DayFirst))?
}

/// The zone at the end, as in `2026-03-09T10:30+00:00[Europe/London]`; `None` where it does not exist.
fn zone_in_brackets(cell: &str) -> Option<(&str, Option<Tz>)> {
    let Some(open) = cell.strip_suffix(']').and_then(|inner| inner.rfind('[')) else {
        return Some((cell, None));
    };
    let zone = cell[open + 1..cell.len() - 1].parse().ok()?;
    Some((cell[..open].trim_end(), Some(zone)))
}

/// What follows a time: an offset or one of the few abbreviations that have one meaning. (s)
fn offset(rest: &str) -> Result<Option<i32>, ()> {
    if rest.is_empty() {
        return Ok(None);
    }
    let hours = match rest.to_uppercase().as_str() {
        "Z" | "UTC" | "GMT" | "WET" => 0,
        "BST" | "WEST" | "CET" => 1,
        "CEST" | "EET" => 2,
        "EEST" => 3,
        _ => {
            let east = rest.starts_with('+');
            let plain = rest.strip_prefix(['+', '-']).ok_or(())?;
            let plain: String = plain.chars().filter(|sign| *sign != ':').collect();
            let number = |range: std::ops::Range<usize>| {
                plain.get(range).and_then(|part| part.parse::<i32>().ok())
            };
            let hours = number(0..2).ok_or(())?;
            let minutes = if plain.len() > 2 {
                number(2..4).ok_or(())?
            } else {
                0
            };
            if plain.len() > 4 || hours > 14 || minutes > 59 {
                return Err(());
            }
            let seconds = hours * 3600 + minutes * 60;
            return Ok(Some(if east { seconds } else { -seconds }));
        }
    };
    Ok(Some(hours * 3600))
}

/// Is the rest of a cell the end of a range? `None`: it is something else.
fn range_end(rest: &str, order: DateOrder) -> Option<bool> {
    let second = rest
        .strip_prefix(['-', '–'])
        .or_else(|| rest.strip_prefix("to "))?
        .trim();
    // -01:00 alone is an offset; with a blank in front or a date it is an end.
    let alone = time_alone(second).is_some();
    let dated = moment(second, order).is_some_and(|moment| !moment.whole);
    (alone || dated).then_some(true)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(cell: &str) -> Option<(String, bool)> {
        moment(cell, DateOrder::DayFirst).map(|moment| (moment.text(), moment.range))
    }

    #[test]
    fn a_part_of_a_day_has_no_exponent() {
        for cell in ["46090.5E3", "63442.820E2004401101030", "46090.-5"] {
            assert_eq!(of(cell), None, "{cell}");
        }
        assert_eq!(
            of("46090.5"),
            Some(("2026-03-09 12:00:00".to_owned(), false))
        );
    }

    #[test]
    fn every_form_of_one_moment() {
        for cell in [
            "2026-03-09 10:30",
            "Mon 09/03/2026 10:30",
            "09/03/2026 10:30 a.m.",
            "9 Mar 2026 10:30:00 AM",
            "20260309T1030",
            "2026-W11-1 10:30",
            "46090.4375",
            "09.03.2026 10:30:00.000",
        ] {
            assert_eq!(
                of(cell),
                Some(("2026-03-09 10:30:00".to_owned(), false)),
                "{cell}"
            );
        }
        assert_eq!(
            of("2026-03-09T10:30[Europe/Berlin]"),
            Some(("2026-03-09 10:30:00+01:00".to_owned(), false))
        );
        assert_eq!(
            of("2026-06-09 10:30 BST"),
            Some(("2026-06-09 10:30:00+01:00".to_owned(), false))
        );
        assert_eq!(
            of("2026-03-09T10:30:00+01:00"),
            Some(("2026-03-09 10:30:00+01:00".to_owned(), false))
        );
        assert_eq!(
            of("2026-03-09 10:30 - 11:00"),
            Some(("2026-03-09 10:30:00".to_owned(), true))
        );
        assert_eq!(
            of("09/03/2026 10:30 to 09/03/2026 11:00"),
            Some(("2026-03-09 10:30:00".to_owned(), true))
        );
        assert_eq!(
            of("2026-03-09 24:00"),
            Some(("2026-03-10 00:00:00".to_owned(), false))
        );
        for month in ["Mar-26", "March 2026", "2026-03", "03/2026"] {
            assert_eq!(of(month), Some(("2026-03-01".to_owned(), false)), "{month}");
        }
        for wrong in [
            "",
            "10:30",
            "2026-03-09 25:00",
            "2026-03-09 10:30 EST",
            "2026-03-09 10:30[Nowhere/Town]",
            "kWh",
        ] {
            assert_eq!(of(wrong), None, "{wrong}");
        }
    }
}
