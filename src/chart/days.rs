//! Energy by day.

use chrono::{Datelike, NaiveDate, Weekday};

use super::axis::{YEAR_ROW, draw_values, headroom, month_letter, value_field, write_after};
use super::figure::Figure;
use super::pen::{ChartError, Pen, PlotArea};
use super::style::Ink;
use demand::DayEnergy;
use tables::{number, words};
use units::FigureKind as Q;

/// Draws the energy of each day; months instead where there are more than 100 days. (kWh)
///
/// # Errors
///
/// [`ChartError`] if the drawing library refuses.
pub fn daily_energy(days: &[DayEnergy]) -> Result<Figure, ChartError> {
    let by_month = days.len() > 100;
    let bars = if by_month {
        months(days)
    } else {
        days.to_vec()
    };
    let largest = bars
        .iter()
        .map(|bar| bar.energy_kwh)
        .filter(|kwh| kwh.is_finite());
    let low = bars
        .iter()
        .map(|bar| bar.energy_kwh)
        .filter(|kwh| kwh.is_finite())
        .fold(0.0, f64::min);
    let top = headroom(largest.fold(0.0, f64::max));
    let unit = if by_month { "month" } else { "day" };
    let rows = bars
        .iter()
        .map(|bar| {
            let whole = if bar.complete {
                "complete"
            } else {
                "some missing"
            };
            vec![named(&bar.date).into(), bar.energy_kwh.into(), whole.into()]
        })
        .collect();
    let figure = Figure::new(
        "energy-by-day",
        format!("Energy by {unit} [kWh]"),
        format!(
            "{} bars, one for each {unit}; the table below gives the values.",
            bars.len()
        ),
        |_| if by_month { 220 + YEAR_ROW as i32 } else { 220 },
        |pen| {
            let right = f64::from(pen.width.px()) - 10.0;
            let count = bars.len().max(1) as f64;
            let field = value_field([14.0, right, 186.0], (0.0, count), (low, top), (5, "kWh"));
            draw_values(pen, &field, (0.0, count), 5, "kWh")?;
            for (position, bar) in bars.iter().enumerate() {
                draw_day(pen, &field, position as f64, bar, by_month)?;
            }
            let dates: Vec<&str> = bars.iter().map(|bar| bar.date.as_str()).collect();
            draw_dates(pen, &field, &dates)?;
            pen.line(
                &[field.place(0.0, 0.0), field.place(count, 0.0)],
                Ink::Quiet,
                1.0,
            )
        },
    )?;
    let head = if by_month { "Month" } else { "Day" };
    let energy = number("Energy", Q::ActiveEnergy);
    Ok(figure.with_table(vec![words(head), energy, words("Readings")], rows))
}

fn draw_day(
    pen: &Pen,
    field: &PlotArea,
    position: f64,
    bar: &DayEnergy,
    by_month: bool,
) -> Result<(), ChartError> {
    let (left, high) = field.place(position + 0.14, bar.energy_kwh);
    let (right, zero) = field.place(position + 0.86, 0.0);
    let date = bar.date.parse::<NaiveDate>().ok();
    let weekend = date.is_some_and(|date| matches!(date.weekday(), Weekday::Sat | Weekday::Sun));
    let corners = [(left, zero), (left, high), (right, high), (right, zero)];
    if !bar.energy_kwh.is_finite() {
        return Ok(());
    }
    let missing = if bar.complete { "" } else { ", some missing" };
    let words = format!(
        "{}: {} kWh{missing}",
        named(&bar.date),
        units::format_number(bar.energy_kwh, 1)
    );
    pen.value((f64::midpoint(left, right), high), words);
    if bar.complete {
        let opacity = if weekend && !by_month { 0.5 } else { 1.0 };
        pen.fill(&corners, Ink::Energy, opacity)?;
    } else {
        pen.line(&corners, Ink::Energy, 1.25)?;
    }
    Ok(())
}

/// Dates below bars: of days as many as have room, Mondays where bars are many; of months their letters, with the years in
/// a row below.
pub(super) fn draw_dates(pen: &Pen, field: &PlotArea, dates: &[&str]) -> Result<(), ChartError> {
    let mut rows = [field.left - 40.0; 2];
    let y = field.bottom + 16.0;
    let mut year = None;
    for (position, date) in dates.iter().enumerate() {
        let (x, _) = field.place(position as f64 + 0.14, 0.0);
        let month = format!("{date}-01").parse::<NaiveDate>().ok();
        if let Some(month) = month {
            if year != Some(month.year()) {
                year = Some(month.year());
                let words = month.year().to_string();
                rows[1] = write_after(pen, &words, (x, y + YEAR_ROW), rows[1], field.right)?;
            }
            rows[0] = write_after(
                pen,
                month_letter(month.month()),
                (x, y),
                rows[0],
                field.right,
            )?;
            continue;
        }
        let day = date.parse::<NaiveDate>().ok();
        let is_monday = day.is_some_and(|day| day.weekday() == Weekday::Mon);
        if is_monday || dates.len() < 7 {
            rows[0] = write_after(pen, &short(date), (x, y), rows[0], field.right)?;
        }
    }
    Ok(())
}

fn months(days: &[DayEnergy]) -> Vec<DayEnergy> {
    days.chunk_by(|one, next| one.date.get(..7) == next.date.get(..7))
        .map(|month| DayEnergy {
            date: month[0].date.get(..7).unwrap_or_default().to_owned(),
            energy_kwh: month.iter().map(|day| day.energy_kwh).sum(),
            complete: month.iter().all(|day| day.complete),
        })
        .collect()
}

/// A table with more rows than this shows the last of each month only.
pub(super) const MOST_ROWS: usize = 62;

/// The rows of a table of days: all, or the last of each month where there are many.
pub(super) fn table_rows<T>(days: &[T], date: impl Fn(&T) -> NaiveDate) -> Vec<&T> {
    let month = |day: &T| (date(day).year(), date(day).month());
    let is_last = |at: usize| {
        let next = days.get(at + 1);
        next.is_none_or(|next| month(next) != month(&days[at]))
    };
    let few = days.len() <= MOST_ROWS;
    let all = days.iter().enumerate();
    all.filter(|&(at, _)| few || is_last(at))
        .map(|(_, day)| day)
        .collect()
}

/// `Mon 2 Mar 2026`; a month, or text that is not a date, unchanged.
pub(super) fn named(date: &str) -> String {
    date.parse::<NaiveDate>().map_or_else(
        |_| date.to_owned(),
        |date| date.format("%a %-d %b %Y").to_string(),
    )
}

fn short(date: &str) -> String {
    date.parse::<NaiveDate>()
        .map_or_else(|_| date.to_owned(), |day| day.format("%-d %b").to_string())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::shown;

    fn days(count: u64) -> Vec<DayEnergy> {
        let first = NaiveDate::from_ymd_opt(2026, 1, 1).expect("a date");
        first
            .iter_days()
            .take(count as usize)
            .map(|date| DayEnergy {
                date: date.to_string(),
                energy_kwh: 10.0,
                complete: true,
            })
            .collect()
    }

    #[test]
    fn a_year_is_summed_by_month() {
        let figure = daily_energy(&days(365)).expect("a drawing");
        assert_eq!(figure.table.rows.len(), 12);
        assert_eq!(shown(&figure)[1], ["2026-02", "280.0", "complete"]);
    }

    #[test]
    fn four_weeks_stay_days() {
        let figure = daily_energy(&days(28)).expect("a drawing");
        assert_eq!(figure.table.rows.len(), 28);
        assert_eq!(shown(&figure)[0][0], "Thu 1 Jan 2026");
    }
}
