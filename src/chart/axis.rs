//! Axes: time in the site's time zone, values in round numbers.

use chrono::{DateTime, Datelike, Days, Months, NaiveDate, NaiveDateTime, TimeZone, Utc};
use chrono_tz::Tz;

use super::pen::{ChartError, Hold, Letters, Pen, PlotArea, text_width};
use super::style::Ink;

/// A mark on the time axis.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct TimeTick {
    pub(super) at_s: i64,
    pub(super) label: String,
    /// The year, in a row below, where months are letters.
    pub(super) year: Option<i32>,
}

/// A year is written below January, or below the first month that is drawn.
pub(super) const YEAR_ROW: f64 = 13.0;
/// Above so many days months are marked.
const MOST_DAYS: i64 = 120;

/// Do the marks of a period have a row of years below them?
pub(super) fn has_years(period: (i64, i64)) -> bool {
    (period.1 - period.0) / 86_400 + 1 > MOST_DAYS
}

/// Letter of a month.
pub(super) fn month_letter(month: u32) -> &'static str {
    const LETTERS: [&str; 12] = ["J", "F", "M", "A", "M", "J", "J", "A", "S", "O", "N", "D"];
    LETTERS[(month as usize + 11) % 12]
}

/// The instant of a local wall time; the first of two where the clock goes back, and the first
/// moment after the change where the clock skips it.
pub(super) fn instant(zone: Tz, local: NaiveDateTime) -> Option<i64> {
    (0..=4)
        .map(|quarter| local + chrono::TimeDelta::minutes(30 * quarter))
        .find_map(|time| zone.from_local_datetime(&time).earliest())
        .map(|time| time.timestamp())
}

/// Local date and time of an instant.
pub(super) fn local(zone: Tz, at_s: i64) -> Option<DateTime<Tz>> {
    DateTime::<Utc>::from_timestamp(at_s, 0).map(|time| time.with_timezone(&zone))
}

/// Marks at round local times, at most `most` of them.
pub(super) fn time_ticks(zone: Tz, period: (i64, i64), most: usize) -> Vec<TimeTick> {
    let (Some(first), Some(last)) = (local(zone, period.0), local(zone, period.1)) else {
        return Vec::new();
    };
    let days = (last.date_naive() - first.date_naive()).num_days() + 1;
    let most = most.max(2);
    let times = if days <= 3 {
        hours(first.date_naive(), days, most)
    } else if days <= MOST_DAYS {
        let step = [1, 2, 7, 14, 28]
            .into_iter()
            .find(|step| days / step < most as i64);
        weeks(first.date_naive(), days, step.unwrap_or(56))
    } else {
        months(first.date_naive(), days, most)
    };
    let mut ticks: Vec<TimeTick> = times
        .into_iter()
        .filter_map(|(time, label)| {
            Some(TimeTick {
                at_s: instant(zone, time)?,
                label,
                year: (days > MOST_DAYS).then(|| time.year()),
            })
        })
        .filter(|tick| tick.at_s >= period.0 && tick.at_s <= period.1)
        .collect();
    // The year once only.
    let mut known = None;
    for tick in &mut ticks {
        if tick.year == known {
            tick.year = None;
        } else {
            known = tick.year;
        }
    }
    ticks
}

type LabelledTimes = Vec<(NaiveDateTime, String)>;

fn hours(first: NaiveDate, days: i64, most: usize) -> LabelledTimes {
    let step = [3, 6, 12, 24]
        .into_iter()
        .find(|step| (days * 24 / step) < most as i64);
    let step = step.unwrap_or(24);
    (0..=days * 24 / step)
        .filter_map(|tick| {
            let time = first.and_hms_opt(0, 0, 0)? + chrono::TimeDelta::hours(tick * step);
            let midnight = tick * step % 24 == 0;
            let format = if midnight { "%-d %b" } else { "%H:%M" };
            Some((time, time.format(format).to_string()))
        })
        .collect()
}

fn weeks(first: NaiveDate, days: i64, step: i64) -> LabelledTimes {
    // Weekly marks are on Mondays.
    let lead = if step >= 7 {
        i64::from(7 - first.weekday().num_days_from_monday()) % 7
    } else {
        0
    };
    (0..=days / step)
        .filter_map(|tick| {
            let date = first.checked_add_days(Days::new((lead + tick * step) as u64))?;
            let format = if step == 1 || step >= 7 {
                "%a %-d %b"
            } else {
                "%-d %b"
            };
            Some((date.and_hms_opt(0, 0, 0)?, date.format(format).to_string()))
        })
        .collect()
}

/// Months as letters where a letter has room for each, else years.
fn months(first: NaiveDate, days: i64, most: usize) -> LabelledTimes {
    const LETTERS_FOR_A_DATE: usize = 6;
    let count = days / 30 + 1;
    let fits = |step: &i64| count / step < (most * LETTERS_FOR_A_DATE) as i64;
    let step = [1, 3, 12].into_iter().find(fits).unwrap_or(12);
    let start = if step == 1 {
        first.with_day(1)
    } else {
        first.with_ordinal(1)
    };
    let Some(start) = start else {
        return Vec::new();
    };
    (0..=(count + 12) / step)
        .filter_map(|tick| {
            let date = start.checked_add_months(Months::new((tick * step) as u32))?;
            let letter = month_letter(date.month()).to_owned();
            Some((date.and_hms_opt(0, 0, 0)?, letter))
        })
        .collect()
}

/// Decimals that all marks need.
fn decimals_of(ticks: &[f64]) -> usize {
    let is_enough = |decimals: &usize| {
        let scale = 10.0_f64.powi(*decimals as i32);
        let mut scaled = ticks.iter().map(|tick| tick * scale);
        scaled.all(|tick| (tick - tick.round()).abs() < 1e-6 * scale)
    };
    (0..=3).find(is_enough).unwrap_or(3)
}

/// Numbers of the vertical axis with their places; the top number has the unit.
fn value_labels(field: &PlotArea, most: usize, unit: &str) -> Vec<(f64, String)> {
    let ticks = field.ticks(most);
    let decimals = decimals_of(&ticks);
    let last = ticks.len().saturating_sub(1);
    let label = |(position, tick): (usize, f64)| {
        let number = units::format_number(tick, decimals);
        let label = if position == last {
            format!("{number}\u{A0}{unit}")
        } else {
            number
        };
        (tick, label)
    };
    ticks.into_iter().enumerate().map(label).collect()
}

/// A plot area whose left margin has room for the longest number of the vertical axis; `top`, `right`, `bottom` and what
/// [`draw_values`] is to be given.
pub(super) fn value_field(
    [top, right, bottom]: [f64; 3],
    x: (f64, f64),
    y: (f64, f64),
    (most, unit): (usize, &str),
) -> PlotArea {
    const LEAST: f64 = 40.0;
    let narrow = Pen::field([LEAST, top, right, bottom], x, y);
    let letters = Letters::note(Hold::Right);
    let longest = value_labels(&narrow, most, unit)
        .iter()
        .map(|(_, label)| text_width(label, letters))
        .fold(LEAST - 10.0, f64::max);
    Pen::field([longest.ceil() + 10.0, top, right, bottom], x, y)
}

/// Grid lines and numbers of the vertical axis; the top number has the unit.
pub(super) fn draw_values(
    pen: &Pen,
    field: &PlotArea,
    x: (f64, f64),
    most: usize,
    unit: &str,
) -> Result<(), ChartError> {
    for (tick, label) in value_labels(field, most, unit) {
        let left = field.place(x.0, tick);
        pen.line(&[left, field.place(x.1, tick)], Ink::Rule, 0.75)?;
        pen.write(
            &label,
            (field.left - 6.0, left.1),
            Letters::note(Hold::Right),
        )?;
    }
    Ok(())
}

/// Grid lines and numbers of a horizontal axis of values.
pub(super) fn draw_across(pen: &Pen, field: &PlotArea, most: usize) -> Result<(), ChartError> {
    let ticks = field.ticks_across(most);
    let decimals = decimals_of(&ticks);
    for tick in ticks {
        let (x, _) = field.place(tick, 0.0);
        pen.line(&[(x, field.top), (x, field.bottom)], Ink::Rule, 0.75)?;
        let label = units::format_number(tick, decimals);
        let at = (x, field.bottom + 14.0);
        pen.write(&label, at, Letters::note(Hold::Middle))?;
    }
    pen.line(
        &[(field.left, field.bottom), (field.right, field.bottom)],
        Ink::Quiet,
        1.0,
    )
}

/// Marks and dates of the time axis, below the field; years below the letters of months. A date that would overlap the one
/// before it is left out.
pub(super) fn draw_times(
    pen: &Pen,
    field: &PlotArea,
    ticks: &[TimeTick],
    lettered: bool,
) -> Result<(), ChartError> {
    let mut rows = [field.left - 40.0; 2];
    for tick in ticks {
        let (x, _) = field.place(tick.at_s as f64, 0.0);
        pen.line(&[(x, field.top), (x, field.bottom)], Ink::Rule, 0.75)?;
        if !lettered {
            continue;
        }
        pen.line(
            &[(x, field.bottom), (x, field.bottom + 5.0)],
            Ink::Quiet,
            1.0,
        )?;
        let year = tick.year.map(|year| year.to_string());
        let words = [Some(tick.label.as_str()), year.as_deref()];
        for (row, words) in words.into_iter().enumerate() {
            let Some(words) = words else { continue };
            let y = field.bottom + 14.0 + row as f64 * YEAR_ROW;
            rows[row] = write_after(pen, words, (x, y), rows[row], field.right)?;
        }
    }
    pen.line(
        &[(field.left, field.bottom), (field.right, field.bottom)],
        Ink::Quiet,
        1.0,
    )
}

/// Writes a label of an axis to the right of its mark, or up to the edge; not where it would overlap what ends at `taken`.
/// Gives where the last label ends.
pub(super) fn write_after(
    pen: &Pen,
    words: &str,
    (x, y): (f64, f64),
    taken: f64,
    edge: f64,
) -> Result<f64, ChartError> {
    const APART: f64 = 3.0;
    let letters = Letters::note(Hold::Left);
    let wide = text_width(words, letters);
    let from = x.min(edge + 8.0 - wide);
    if from < taken + APART {
        return Ok(taken);
    }
    pen.write(words, (from, y), letters)?;
    Ok(from + wide)
}

/// Key of the lines, in one row at the top of a figure.
pub(super) fn draw_key(pen: &Pen, lines: &[(&str, Ink)]) -> Result<(), ChartError> {
    const SAMPLE: f64 = 22.0;
    let mut x = if pen.width.is_narrow() { 8.0 } else { 52.0 };
    for &(name, ink) in lines {
        let letters = Letters::note(Hold::Left).in_ink(ink).bold();
        pen.line(&[(x, 12.0), (x + SAMPLE, 12.0)], ink, 2.25)?;
        pen.write(name, (x + SAMPLE + 5.0, 12.0), letters)?;
        x += SAMPLE + 5.0 + text_width(name, letters) + 14.0;
    }
    Ok(())
}

/// A round number a little above the largest value, so that nothing touches the edge.
pub(super) fn headroom(largest: f64) -> f64 {
    if largest.is_finite() && largest > 0.0 {
        largest * 1.08
    } else {
        1.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono_tz::Europe::Berlin;

    fn utc(text: &str) -> i64 {
        text.parse::<DateTime<Utc>>()
            .expect("an instant")
            .timestamp()
    }

    #[test]
    fn midnights_move_with_the_clock_change() {
        // Directive 2000/84/EC, articles 2 and 3: summer time begins at 01:00 UTC on the last
        // Sunday of March, which is 29 March in 2026.
        let period = (utc("2026-03-27T23:00:00Z"), utc("2026-03-31T22:00:00Z"));
        let ticks = time_ticks(Berlin, period, 9);
        let starts: Vec<i64> = ticks.iter().map(|tick| tick.at_s).collect();
        assert_eq!(starts[0], utc("2026-03-27T23:00:00Z"));
        assert_eq!(starts[1], utc("2026-03-28T23:00:00Z"));
        assert_eq!(starts[2], utc("2026-03-29T22:00:00Z"));
        assert_eq!(ticks[1].label, "Sun 29 Mar");
    }

    #[test]
    fn a_skipped_wall_time_gives_the_first_moment_after_it() {
        let skipped = NaiveDate::from_ymd_opt(2026, 3, 29).and_then(|d| d.and_hms_opt(2, 0, 0));
        assert_eq!(
            instant(Berlin, skipped.expect("a time")),
            Some(utc("2026-03-29T01:00:00Z"))
        );
    }

    #[test]
    fn a_year_is_marked_by_months_and_a_month_by_mondays() {
        let year = (utc("2025-12-31T23:00:00Z"), utc("2026-12-31T23:00:00Z"));
        let ticks = time_ticks(Berlin, year, 8);
        let letters: String = ticks.iter().map(|tick| tick.label.as_str()).collect();
        assert_eq!(letters, "JFMAMJJASONDJ");
        let years: Vec<_> = ticks.iter().filter_map(|tick| tick.year).collect();
        assert_eq!(years, [2026, 2027]);
        // Ten years: each January has its year.
        let decade = (year.0, utc("2035-12-31T23:00:00Z"));
        let ticks = time_ticks(Berlin, decade, 4);
        assert_eq!(ticks.iter().filter_map(|tick| tick.year).count(), 11);
        let month = (utc("2026-03-01T23:00:00Z"), utc("2026-03-29T22:00:00Z"));
        assert!(
            time_ticks(Berlin, month, 8)
                .iter()
                .all(|tick| tick.label.starts_with("Mon"))
        );
    }
}
