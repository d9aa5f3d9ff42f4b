//! The cumulative sum (CUSUM) of measured energy minus the energy expected from a baseline.

use chrono::{NaiveDate, NaiveTime};
use chrono_tz::Tz;

use super::axis::{draw_times, draw_values, headroom, instant, local, time_ticks, value_field};
use super::days::{MOST_ROWS, named, table_rows};
use super::figure::Figure;
use super::pen::{ChartError, Hold, Letters, Pen, PlotArea};
use super::style::Ink;
use baseline::{Baseline, BaselinePeriod};
use tables::{Cell, number, words};
use units::{FigureKind as Q, format_date, format_signed};

/// Draws the cumulative difference through the baseline and, from zero again, since its end. (kWh)
///
/// # Errors
///
/// [`ChartError`] if the drawing library refuses.
pub fn cusum(baseline: &Baseline, zone: Tz) -> Result<Figure, ChartError> {
    let midnight = |date: NaiveDate| instant(zone, date.and_time(NaiveTime::MIN)).unwrap_or(0);
    let counted: Vec<&BaselinePeriod> = baseline
        .periods
        .iter()
        .filter(|period| period.cumulative_kwh.is_some())
        .collect();
    let curve = |in_baseline: bool| -> Vec<(f64, f64)> {
        let own = counted
            .iter()
            .filter(move |period| period.in_baseline == in_baseline);
        let begins = own.clone().next();
        let start = begins.map(|period| (midnight(period.from) as f64, 0.0));
        let points =
            own.filter_map(|period| Some((midnight(period.to) as f64, period.cumulative_kwh?)));
        start.into_iter().chain(points).collect()
    };
    let curves = [curve(true), curve(false)];
    let values = || curves.iter().flatten().map(|point| point.1);
    let whisker = baseline
        .since
        .as_ref()
        .map(|s| (s.low_95_kwh, s.high_95_kwh));
    let ends = || whisker.into_iter().flat_map(|(low, high)| [low, high]);
    let top = headroom(values().chain(ends()).fold(0.0, f64::max));
    let low = values().chain(ends()).fold(0.0, f64::min) * 1.08;
    let from = counted.first().map_or(0, |period| midnight(period.from));
    let to = counted.last().map_or(1, |period| midnight(period.to));
    let end = midnight(baseline.to);
    let last = curves[1].last().copied();
    let figure = Figure::new(
        "cusum",
        "Cumulative difference from the baseline (CUSUM) [kWh]".to_owned(),
        describe(last, baseline),
        |_| 280,
        |pen| {
            // Room at the right for the interval.
            let right = f64::from(pen.width.px()) - 24.0;
            let span = (from as f64, to as f64);
            let field = value_field([34.0, right, 244.0], span, (low, top), (6, "kWh"));
            draw_values(pen, &field, span, 6, "kWh")?;
            let most = if pen.width.is_narrow() { 4 } else { 8 };
            draw_times(pen, &field, &time_ticks(zone, (from, to), most), true)?;
            pen.line(
                &[field.place(span.0, 0.0), field.place(span.1, 0.0)],
                Ink::Quiet,
                1.25,
            )?;
            draw_halves(pen, &field, (from, end, to))?;
            for (points, ink) in curves.iter().zip([Ink::Now, Ink::Strong]) {
                let places: Vec<_> = points.iter().map(|&(x, y)| field.place(x, y)).collect();
                pen.line(&places, ink, 2.0)?;
                for (&(at_s, kwh), place) in points.iter().zip(&places).skip(1) {
                    let day = local(zone, at_s as i64 - 1);
                    let day = day.map_or_else(String::new, |day| format_date(day.date_naive()));
                    pen.value(*place, format!("{day}: {} kWh", format_signed(kwh, 1)));
                }
                if points.len() <= MOST_ROWS {
                    for place in places.iter().skip(1) {
                        pen.dot(*place, 2.5, ink)?;
                    }
                }
            }
            draw_whisker(pen, &field, whisker)
        },
    )?;
    let columns = vec![
        words("Period"),
        number("Measured", Q::ActiveEnergy),
        number("Expected", Q::ActiveEnergy),
        number("Difference", Q::ActiveEnergy).signed(),
        number("Cumulative", Q::ActiveEnergy).signed(),
    ];
    Ok(figure.with_table(columns, rows(&counted)))
}

fn describe(last: Option<(f64, f64)>, baseline: &Baseline) -> String {
    let reached = last.map_or_else(
        || "no later period can be compared".to_owned(),
        |(_, kwh)| format!("since then the sum is {} kWh", format_signed(kwh, 1)),
    );
    format!(
        "A cumulative line that returns to zero at the end of the baseline on {}; {reached}. The table below gives the values.",
        named(&baseline.to.to_string())
    )
}

/// The end of the baseline, and the names of the two parts.
fn draw_halves(
    pen: &Pen,
    field: &PlotArea,
    (from, end, to): (i64, i64, i64),
) -> Result<(), ChartError> {
    if from < end {
        let letters = Letters::note(Hold::Left).in_ink(Ink::Now).bold();
        pen.write("baseline", (field.left + 4.0, field.top - 14.0), letters)?;
    }
    if end < to {
        let (x, _) = field.place(end.max(from) as f64, 0.0);
        pen.line(
            &[(x, field.top - 22.0), (x, field.bottom)],
            Ink::Quiet,
            1.25,
        )?;
        let letters = Letters::note(Hold::Left).in_ink(Ink::Strong).bold();
        pen.write("since", (x + 6.0, field.top - 14.0), letters)?;
    }
    Ok(())
}

/// The 95 % interval of the sum at its end.
fn draw_whisker(
    pen: &Pen,
    field: &PlotArea,
    interval: Option<(f64, f64)>,
) -> Result<(), ChartError> {
    let Some((low, high)) = interval else {
        return Ok(());
    };
    let x = field.right + 9.0;
    let [a, b] = [low, high].map(|kwh| field.place(0.0, kwh).1);
    pen.line(&[(x, a), (x, b)], Ink::Strong, 1.25)?;
    for y in [a, b] {
        pen.line(&[(x - 4.0, y), (x + 4.0, y)], Ink::Strong, 1.25)?;
    }
    Ok(())
}

fn rows(counted: &[&BaselinePeriod]) -> Vec<Vec<Cell>> {
    let shown = table_rows(counted, |period| period.from).into_iter();
    shown
        .map(|period| {
            vec![
                named(&period.key).into(),
                period.energy_kwh.into(),
                period.expected_kwh.into(),
                period.difference_kwh.into(),
                period.cumulative_kwh.into(),
            ]
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::shown;
    use baseline::{BaselineRequest, Calendar, DayTotal, baseline};
    use site::Every;

    fn of(days: u32) -> Baseline {
        let first = NaiveDate::from_ymd_opt(2026, 3, 2).expect("a date");
        let totals: Vec<DayTotal> = first
            .iter_days()
            .zip(0..days)
            .map(|(date, n)| DayTotal {
                date,
                kwh: f64::from(100 + n % 2) + if n < 20 { 0.0 } else { 5.0 },
                complete: true,
            })
            .collect();
        let calendar = Calendar {
            zone: chrono_tz::UTC,
            holidays: &[],
        };
        let wish = BaselineRequest {
            from: first,
            to: first + chrono::Days::new(20),
            every: Every::Day,
            by_day_type: false,
        };
        baseline("main", &totals, calendar, &[], &wish).expect("20 days")
    }

    /// Alternating 100 and 101 kWh, mean 100.5; ten days at 5 kWh more make +50.
    #[test]
    fn the_sum_is_drawn_through_and_after_the_baseline() {
        let figure = cusum(&of(30), chrono_tz::UTC).expect("a drawing");
        let drawn = figure.file();
        assert!(drawn.contains(">baseline<") && drawn.contains(">since<"));
        assert!(
            figure.description.contains("the sum is +50.0 kWh"),
            "{}",
            figure.description
        );
        assert_eq!(figure.table.rows.len(), 30);
        assert_eq!(
            shown(&figure)[19],
            ["Sat 21 Mar 2026", "101.0", "100.5", "+0.5", "0.0"]
        );
        assert_eq!(shown(&figure)[29][4], "+50.0");
    }

    #[test]
    fn many_days_are_tabled_by_the_last_of_each_month() {
        let figure = cusum(&of(100), chrono_tz::UTC).expect("a drawing");
        let rows = shown(&figure);
        let days: Vec<&str> = rows.iter().map(|row| row[0].as_str()).collect();
        assert_eq!(
            days,
            [
                "Tue 31 Mar 2026",
                "Thu 30 Apr 2026",
                "Sun 31 May 2026",
                "Tue 9 Jun 2026"
            ]
        );
    }
}
