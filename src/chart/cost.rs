//! The bill to date, day by day.

use chrono::{Datelike, NaiveDate, NaiveTime};
use chrono_tz::Tz;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::axis::{draw_times, draw_values, headroom, instant, time_ticks, value_field};
use super::days::{named, table_rows};
use super::figure::Figure;
use super::pen::{ChartError, Hold, Letters, Pen, PlotArea, Point};
use super::stack::{SHADES, draw_band, draw_key, draw_letter, key_height};
use super::style::Ink;
use tables::{Cell, money, words};
use tariff::CostDay;
use units::{format_date, grouped_digits};

/// One kind of charge, day by day.
struct Charge {
    letter: char,
    name: &'static str,
    of_day: Amount,
}

/// The amount of a kind of charge on a day's bill.
type Amount = fn(&CostDay) -> Decimal;

/// The kinds of charge, from the bottom of the stack.
const KINDS: [(&str, Amount); 5] = [
    ("Energy", |day| day.energy),
    ("Demand", |day| day.demand),
    ("Standing charge and capacity", |day| day.standing),
    ("Reactive energy and power factor", |day| day.reactive),
    ("Tax", |day| day.tax),
];

/// Draws the bill to date at the end of each day, with its kinds of charge stacked; `currency` may be empty.
///
/// # Errors
///
/// [`ChartError`] if the drawing library refuses.
pub fn cost_by_day(days: &[CostDay], zone: Tz, currency: &str) -> Result<Figure, ChartError> {
    let charges = charges(days);
    let midnight = |date: NaiveDate| instant(zone, date.and_time(NaiveTime::MIN)).unwrap_or(0);
    let first = days.first().map_or(0, |day| midnight(day.date));
    let ends: Vec<i64> = days
        .iter()
        .map(|day| midnight(day.date.succ_opt().unwrap_or(day.date)))
        .collect();
    let last = ends.last().copied().unwrap_or(1);
    let total = days.last().map_or(Decimal::ZERO, |day| day.total);
    let largest = days.iter().map(|day| number(day.total)).fold(0.0, f64::max);
    let span = (first as f64, last as f64);
    let in_currency = |head: &str| match currency {
        "" => head.to_owned(),
        currency => format!("{head} [{currency}]"),
    };
    let figure = Figure::new(
        "cost-by-day",
        in_currency("Bill to date, by day"),
        format!(
            "A rising line of the bill to date, {} at its end, over stacked bands of its kinds of charge; the table \
             below gives the values.",
            grouped(total)
        ),
        |width| 290 + key_height(width, charges.len() + 1),
        |pen| {
            let right = f64::from(pen.width.px()) - 10.0;
            let y = (0.0, headroom(largest));
            let field = value_field([24.0, right, 252.0], span, y, (6, currency));
            draw_values(pen, &field, span, 6, currency)?;
            let most = if pen.width.is_narrow() { 4 } else { 8 };
            draw_times(pen, &field, &time_ticks(zone, (first, last), most), true)?;
            draw_months(pen, &field, days, &midnight)?;
            let roof = draw_charges(pen, &field, (days, &ends), &charges)?;
            pen.line(&roof, Ink::Strong, 2.25)?;
            draw_total(pen, &roof, total)?;
            for (day, &at) in days.iter().zip(&roof[1..]) {
                let words = format!(
                    "{}: {} {currency}",
                    format_date(day.date),
                    grouped(day.total)
                );
                pen.value(at, words.trim_end().to_owned());
            }
            draw_key(pen, 296.0, &key(&charges, days.last()), "bill to date")
        },
    )?;
    let amount = |name: &'static str| money(name, Some(currency));
    let mut columns = vec![words("At the end of")];
    columns.extend(charges.iter().map(|charge| amount(charge.name)));
    columns.push(amount("Total"));
    Ok(figure.with_table(columns, rows(days, &charges)))
}

/// The kinds that cost anything.
fn charges(days: &[CostDay]) -> Vec<Charge> {
    KINDS
        .into_iter()
        .filter(|(_, of_day)| days.iter().any(|day| !of_day(day).is_zero()))
        .zip('A'..)
        .map(|((name, of_day), letter)| Charge {
            letter,
            name,
            of_day,
        })
        .collect()
}

fn grouped(amount: Decimal) -> String {
    grouped_digits(&amount.to_string())
}

fn number(amount: Decimal) -> f64 {
    amount.to_f64().unwrap_or(0.0)
}

/// A thin line at each new month, when the demand charge starts again.
fn draw_months(
    pen: &Pen,
    field: &PlotArea,
    days: &[CostDay],
    midnight: &dyn Fn(NaiveDate) -> i64,
) -> Result<(), ChartError> {
    for day in days.iter().skip(1).filter(|day| day.date.day() == 1) {
        let (x, _) = field.place(midnight(day.date) as f64, 0.0);
        pen.line(&[(x, field.top), (x, field.bottom)], Ink::Quiet, 1.25)?;
    }
    Ok(())
}

/// Draws the bands and gives the upper edge of the top one.
fn draw_charges(
    pen: &Pen,
    field: &PlotArea,
    (days, ends): (&[CostDay], &[i64]),
    charges: &[Charge],
) -> Result<Vec<Point>, ChartError> {
    let ground = field.place(0.0, 0.0).1;
    let along = |values: &[f64]| -> Vec<Point> {
        let places = ends.iter().zip(values);
        let places = places.map(|(&at, &value)| field.place(at as f64, value));
        std::iter::once((field.left, ground))
            .chain(places)
            .collect()
    };
    let mut floor = vec![0.0; days.len()];
    for (charge, shade) in charges.iter().zip(SHADES) {
        let own = days.iter().map(|day| number((charge.of_day)(day)));
        let roof: Vec<f64> = floor.iter().zip(own).map(|(low, own)| low + own).collect();
        let (low, high) = (along(&floor), along(&roof));
        draw_band(pen, &low, &high, shade)?;
        let thickest = (0..low.len().saturating_sub(1))
            .filter(|&at| low[at].0 < field.right - 12.0)
            .max_by(|&a, &b| (low[a].1 - high[a].1).total_cmp(&(low[b].1 - high[b].1)));
        if let Some(at) = thickest {
            draw_letter(pen, charge.letter, low[at], high[at])?;
        }
        floor = roof;
    }
    Ok(along(&floor))
}

/// The amount at the end of the line.
fn draw_total(pen: &Pen, roof: &[Point], total: Decimal) -> Result<(), ChartError> {
    let Some(&(x, y)) = roof.last() else {
        return Ok(());
    };
    let letters = Letters::note(Hold::Right).in_ink(Ink::Strong).bold();
    pen.write(&grouped(total), (x, (y - 12.0).max(9.0)), letters)
}

/// Name and amount of each band.
fn key(charges: &[Charge], last: Option<&CostDay>) -> Vec<String> {
    let words = |charge: &Charge| {
        let amount = last.map_or(Decimal::ZERO, |day| (charge.of_day)(day));
        format!("{}  {}, {}", charge.letter, charge.name, grouped(amount))
    };
    charges.iter().map(words).collect()
}

fn rows(days: &[CostDay], charges: &[Charge]) -> Vec<Vec<Cell>> {
    let shown = table_rows(days, |day| day.date).into_iter();
    shown
        .map(|day| {
            let amounts = charges
                .iter()
                .map(|charge| Cell::from((charge.of_day)(day)));
            let ends = [Cell::from(named(&day.date.to_string()))].into_iter();
            ends.chain(amounts).chain([day.total.into()]).collect()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::shown;

    fn days(count: u32) -> Vec<CostDay> {
        let first = NaiveDate::from_ymd_opt(2026, 3, 2).expect("a date");
        let dated = first.iter_days().zip(1..=count);
        dated
            .map(|(date, n)| CostDay {
                date,
                standing: Decimal::from(n),
                energy: Decimal::from(10 * n),
                demand: Decimal::from(40),
                reactive: Decimal::ZERO,
                tax: Decimal::ZERO,
                total: Decimal::from(11 * n + 40),
            })
            .collect()
    }

    #[test]
    fn the_charges_that_there_are_stand_on_each_other() {
        let figure = cost_by_day(&days(20), Tz::UTC, "GBP").expect("a drawing");
        let drawing = figure.file();
        for words in [
            "A  Energy, 200",
            "B  Demand, 40",
            "C  Standing charge and capacity, 20",
            ">260<",
        ] {
            assert!(drawing.contains(words), "{words}");
        }
        assert!(!drawing.contains("Tax"));
        assert_eq!(figure.table.columns[4].heading(), "Total [GBP]");
        assert_eq!(
            shown(&figure)[19],
            ["Sat 21 Mar 2026", "200", "40", "20", "260"]
        );
    }

    #[test]
    fn many_days_are_tabled_by_the_last_of_each_month() {
        let figure = cost_by_day(&days(100), Tz::UTC, "").expect("a drawing");
        let rows = shown(&figure);
        let ends: Vec<&str> = rows.iter().map(|row| row[0].as_str()).collect();
        let expected = [
            "Tue 31 Mar 2026",
            "Thu 30 Apr 2026",
            "Sun 31 May 2026",
            "Tue 9 Jun 2026",
        ];
        assert_eq!(ends, expected);
    }
}
