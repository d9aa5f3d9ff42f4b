//! The maximum demand of each day compared with the capacity of the supply.

use chrono_tz::Tz;

use super::axis::{YEAR_ROW, draw_values, headroom, local, value_field};
use super::days::{draw_dates, named};
use super::figure::Figure;
use super::pen::{ChartError, Hold, Letters, Pen, PlotArea};
use super::style::Ink;
use demand::DemandTrace;
use tables::{fixed, words};
use units::format_moment;

/// The maximum demand of a day or month.
#[derive(Clone, Debug, PartialEq)]
struct DemandBar {
    date: String,
    demand: f64,
    /// Start of its demand period, local time.
    at: String,
}

/// Draws the maximum demand of each day, or of each month where there are more than 100 days, in kVA where
/// reactive energy is known, otherwise in kW; `limit_kva` is the capacity of the supply with its phases equally loaded.
///
/// # Errors
///
/// [`ChartError`] if the drawing library refuses.
pub fn demand_by_day(trace: &DemandTrace, zone: Tz, limit_kva: f64) -> Result<Figure, ChartError> {
    let apparent = trace.blocks.iter().any(|block| block.kva.is_some());
    let unit = if apparent { "kVA" } else { "kW" };
    let bars = bars(trace, zone, apparent);
    let by_month = bars.first().is_some_and(|bar| bar.date.len() == 7);
    let highest = bars
        .iter()
        .enumerate()
        .reduce(|best, bar| {
            if bar.1.demand > best.1.demand {
                bar
            } else {
                best
            }
        })
        .map(|(index, _)| index);
    let largest = highest.map_or(0.0, |index| bars[index].demand.max(0.0));
    let in_view = limit_kva <= 3.0 * largest;
    let top = headroom(if in_view {
        largest.max(limit_kva)
    } else {
        largest
    });
    let each = if by_month { "month" } else { "day" };
    let rows = bars
        .iter()
        .map(|bar| {
            vec![
                named(&bar.date).into(),
                bar.demand.into(),
                bar.at.clone().into(),
            ]
        })
        .collect();
    let figure = Figure::new(
        "demand-by-day",
        format!("Maximum demand by {each} [{unit}]"),
        format!(
            "{} bars; the maximum is {} {unit}, and with its phases equally loaded the supply carries \
             {limit_kva:.0} kVA. The table below gives the values.",
            bars.len(),
            units::fixed(largest, 1)
        ),
        |_| if by_month { 240 + YEAR_ROW as i32 } else { 240 },
        |pen| {
            let right = f64::from(pen.width.px()) - 10.0;
            let count = bars.len().max(1) as f64;
            let field = value_field([24.0, right, 206.0], (0.0, count), (0.0, top), (5, unit));
            draw_values(pen, &field, (0.0, count), 5, unit)?;
            for (position, bar) in bars.iter().enumerate() {
                draw_bar(
                    pen,
                    &field,
                    position,
                    bar,
                    (highest == Some(position), unit),
                )?;
            }
            let dates: Vec<&str> = bars.iter().map(|bar| bar.date.as_str()).collect();
            draw_dates(pen, &field, &dates)?;
            let base = [field.place(0.0, 0.0), field.place(count, 0.0)];
            pen.line(&base, Ink::Quiet, 1.0)?;
            draw_limit(pen, &field, (limit_kva, unit), in_view)
        },
    )?;
    let head = if by_month { "Month" } else { "Day" };
    let columns = vec![
        words(head),
        fixed("Maximum demand", unit.to_owned(), 2),
        words("Demand period starts"),
    ];
    Ok(figure.with_table(columns, rows))
}

fn bars(trace: &DemandTrace, zone: Tz, apparent: bool) -> Vec<DemandBar> {
    let mut days: Vec<DemandBar> = Vec::new();
    for block in trace.blocks.iter() {
        let demand = if apparent { block.kva } else { Some(block.kw) };
        let (Some(time), Some(demand)) = (local(zone, block.start_s), demand) else {
            continue;
        };
        let found = DemandBar {
            date: time.date_naive().to_string(),
            demand,
            at: format_moment(time),
        };
        take(&mut days, found);
    }
    if days.len() <= 100 {
        return days;
    }
    let mut months: Vec<DemandBar> = Vec::new();
    for day in days {
        let date = day.date.get(..7).unwrap_or_default().to_owned();
        take(&mut months, DemandBar { date, ..day });
    }
    months
}

/// Keeps the maximum of each date, the earliest of equal ones.
fn take(bars: &mut Vec<DemandBar>, found: DemandBar) {
    match bars.last_mut() {
        Some(last) if last.date == found.date => {
            if found.demand > last.demand {
                *last = found;
            }
        }
        _ => bars.push(found),
    }
}

fn draw_bar(
    pen: &Pen,
    field: &PlotArea,
    position: usize,
    bar: &DemandBar,
    (is_highest, unit): (bool, &str),
) -> Result<(), ChartError> {
    let left = field.place(position as f64 + 0.14, bar.demand.max(0.0));
    let right = field.place(position as f64 + 0.86, 0.0);
    let ink = if is_highest { Ink::Strong } else { Ink::Energy };
    pen.block(left, right, ink, 1.0)?;
    let words = format!(
        "{}: {} {unit}, {}",
        named(&bar.date),
        units::fixed(bar.demand, 1),
        bar.at
    );
    pen.value((f64::midpoint(left.0, right.0), left.1), words);
    if is_highest {
        let x = f64::midpoint(left.0, right.0);
        let (hold, x) = if x > field.right - 40.0 {
            (Hold::Right, field.right)
        } else {
            (Hold::Middle, x.max(field.left + 22.0))
        };
        let letters = Letters::note(hold).in_ink(Ink::Strong).bold();
        pen.write(&format!("{:.1}", bar.demand), (x, left.1 - 9.0), letters)?;
    }
    Ok(())
}

fn draw_limit(
    pen: &Pen,
    field: &PlotArea,
    (limit_kva, unit): (f64, &str),
    in_view: bool,
) -> Result<(), ChartError> {
    let letters = Letters::note(Hold::Right).in_ink(Ink::Limit);
    // In the unit of the axis: as active power the limit is reached at a power factor of 1 only.
    let words = match unit {
        "kW" => format!("limit {limit_kva:.0} kW at power factor 1"),
        unit => format!("limit {limit_kva:.0} {unit}"),
    };
    if !in_view {
        let words = format!("{words}, above this chart");
        return pen.write(&words, (field.right, 12.0), letters);
    }
    let (_, y) = field.place(0.0, limit_kva);
    pen.line(&[(field.left, y), (field.right, y)], Ink::Limit, 1.5)?;
    pen.write(&words, (field.right, y - 9.0), letters)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::shown;
    use demand::Block;

    fn trace(days: i64, kva: Option<f64>) -> DemandTrace {
        DemandTrace {
            blocks: (0..days * 2)
                .map(|half| Block {
                    start_s: half * 43_200,
                    kw: 10.0 + (half % 2) as f64,
                    kva,
                    kvar: None,
                })
                .collect(),
            ..DemandTrace::default()
        }
    }

    #[test]
    fn the_highest_block_of_a_day_counts_in_the_unit_that_is_known() {
        let figure = demand_by_day(&trace(3, None), Tz::UTC, 20.0).expect("a drawing");
        assert_eq!(
            shown(&figure)[0],
            ["Thu 1 Jan 1970", "11.00", "Thu 1 Jan 1970 12:00"]
        );
        assert!(
            figure.title.ends_with("[kW]")
                && figure.file().contains(">limit 20 kW at power factor 1<")
        );
        let figure = demand_by_day(&trace(3, Some(12.0)), Tz::UTC, 80.0).expect("a drawing");
        assert_eq!(shown(&figure)[2][1..], ["12.00", "Sat 3 Jan 1970 00:00"]);
        assert!(figure.file().contains("limit 80 kVA, above this chart"));
    }

    #[test]
    fn a_long_log_is_told_by_month() {
        let figure = demand_by_day(&trace(120, None), Tz::UTC, 20.0).expect("a drawing");
        assert_eq!(figure.table.rows.len(), 4);
    }
}
