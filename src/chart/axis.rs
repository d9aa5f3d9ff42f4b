//! Axes: time in the site's time zone, values in round numbers.

use chrono::{DateTime, Datelike, Days, Months, NaiveDate, NaiveDateTime, TimeZone, Utc};
use chrono_tz::Tz;

use super::pen::{ChartError, Hold, Letters, Pen, PlotArea};
use super::style::Ink;

/// A mark on the time axis.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct TimeTick {
    pub(super) at_s: i64,
    pub(super) label: String,
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
    } else if days <= 120 {
        let step = [1, 2, 7, 14, 28]
            .into_iter()
            .find(|step| days / step < most as i64);
        weeks(first.date_naive(), days, step.unwrap_or(56))
    } else {
        months(first.date_naive(), days, most)
    };
    times
        .into_iter()
        .filter_map(|(time, label)| {
            Some(TimeTick {
                at_s: instant(zone, time)?,
                label,
            })
        })
        .filter(|tick| tick.at_s >= period.0 && tick.at_s <= period.1)
        .collect()
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

fn months(first: NaiveDate, days: i64, most: usize) -> LabelledTimes {
    let count = days / 30 + 1;
    let step = [1, 2, 3, 6, 12]
        .into_iter()
        .find(|step| count / step < most as i64)
        .unwrap_or(12);
    let Some(start) = first.with_day(1) else {
        return Vec::new();
    };
    (0..=count / step)
        .filter_map(|tick| {
            let date = start.checked_add_months(Months::new((tick * step) as u32))?;
            let format = if step == 1 && date.month() != 1 {
                "%b"
            } else {
                "%b %Y"
            };
            Some((date.and_hms_opt(0, 0, 0)?, date.format(format).to_string()))
        })
        .collect()
}

/// Grid lines and numbers of the vertical axis; the top number has the unit.
pub(super) fn draw_values(
    pen: &Pen,
    field: &PlotArea,
    x: (f64, f64),
    most: usize,
    unit: &str,
) -> Result<(), ChartError> {
    let ticks = field.ticks(most);
    let decimals = usize::from(ticks.iter().any(|tick| (tick - tick.round()).abs() > 1e-9));
    for (position, &tick) in ticks.iter().enumerate() {
        let left = field.place(x.0, tick);
        pen.line(&[left, field.place(x.1, tick)], Ink::Rule, 0.75)?;
        let mut label = units::fixed(tick, decimals).replace('-', "−");
        if position + 1 == ticks.len() {
            label = format!("{label} {unit}");
        }
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
    let decimals = usize::from(ticks.iter().any(|tick| (tick - tick.round()).abs() > 1e-9));
    for tick in ticks {
        let (x, _) = field.place(tick, 0.0);
        pen.line(&[(x, field.top), (x, field.bottom)], Ink::Rule, 0.75)?;
        let label = units::fixed(tick, decimals).replace('-', "−");
        let at = (x, field.bottom + 14.0);
        pen.write(&label, at, Letters::note(Hold::Middle))?;
    }
    pen.line(
        &[(field.left, field.bottom), (field.right, field.bottom)],
        Ink::Quiet,
        1.0,
    )
}

/// Marks and dates of the time axis, below the field.
pub(super) fn draw_times(
    pen: &Pen,
    field: &PlotArea,
    ticks: &[TimeTick],
    lettered: bool,
) -> Result<(), ChartError> {
    for tick in ticks {
        let (x, _) = field.place(tick.at_s as f64, 0.0);
        pen.line(&[(x, field.top), (x, field.bottom)], Ink::Rule, 0.75)?;
        if lettered {
            pen.line(
                &[(x, field.bottom), (x, field.bottom + 5.0)],
                Ink::Quiet,
                1.0,
            )?;
            let near_end = x > field.right - 30.0;
            let (hold, at) = if near_end {
                (Hold::Right, field.right)
            } else {
                (Hold::Left, x)
            };
            pen.write(&tick.label, (at, field.bottom + 14.0), Letters::note(hold))?;
        }
    }
    pen.line(
        &[(field.left, field.bottom), (field.right, field.bottom)],
        Ink::Quiet,
        1.0,
    )
}

/// Key of the lines, in one row at the top of a figure.
pub(super) fn draw_key(pen: &Pen, lines: &[(&str, Ink)]) -> Result<(), ChartError> {
    let each = if pen.width.is_narrow() { 104.0 } else { 150.0 };
    for (position, &(name, ink)) in lines.iter().enumerate() {
        let x = 52.0 + position as f64 * each;
        pen.line(&[(x, 12.0), (x + 22.0, 12.0)], ink, 2.25)?;
        pen.write(
            name,
            (x + 27.0, 12.0),
            Letters::note(Hold::Left).in_ink(ink).bold(),
        )?;
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
        assert!(ticks.len() >= 4 && ticks.len() <= 8);
        assert_eq!(ticks[0].label, "Jan 2026");
        let month = (utc("2026-03-01T23:00:00Z"), utc("2026-03-29T22:00:00Z"));
        assert!(
            time_ticks(Berlin, month, 8)
                .iter()
                .all(|tick| tick.label.starts_with("Mon"))
        );
    }
}
