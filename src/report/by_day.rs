//! Maximum currents of each day, for the table below a chart.

use chrono_tz::Tz;

use super::format::duration;
use balance::BalanceTrace;
use electrical::is_above_limit;
use tables::Cell;

/// With more days than this the table has a row for each month.
const MOST_DAYS: usize = 62;

/// Maximum values by local day, or by month where there are many days.
pub(super) fn day_rows(
    trace: &BalanceTrace,
    zone: Tz,
    series: &[&[f64]],
    limit_a: Option<f64>,
) -> Vec<Vec<Cell>> {
    let mut by_day = grouped(trace, zone, series, limit_a, "%a %-d %b %Y");
    if by_day.len() > MOST_DAYS {
        by_day = grouped(trace, zone, series, limit_a, "%b %Y");
    }
    by_day
        .into_iter()
        .map(|group| {
            let mut row: Vec<Cell> = vec![group.name.into()];
            row.extend(group.largest.iter().map(|&amps| Cell::from(amps)));
            if limit_a.is_some() {
                let seconds = group.over * u64::from(trace.interval_s);
                row.push(if group.over == 0 {
                    "none".into()
                } else {
                    duration(seconds).into()
                });
            }
            row
        })
        .collect()
}

struct DayGroup {
    name: String,
    largest: Vec<Option<f64>>,
    over: u64,
}

fn grouped(
    trace: &BalanceTrace,
    zone: Tz,
    series: &[&[f64]],
    limit_a: Option<f64>,
    format: &str,
) -> Vec<DayGroup> {
    let mut groups: Vec<(chrono::NaiveDate, DayGroup)> = Vec::new();
    for (position, &start_s) in trace.start_s.iter().enumerate() {
        let Some(time) = chrono::DateTime::from_timestamp(start_s, 0) else {
            continue;
        };
        let date = time.with_timezone(&zone).date_naive();
        if groups.last().is_none_or(|(last, _)| *last != date) {
            let name = date.format(format).to_string();
            match groups.last_mut() {
                Some((last, group)) if group.name == name => *last = date,
                _ => groups.push((
                    date,
                    DayGroup {
                        name,
                        largest: vec![None; series.len()],
                        over: 0,
                    },
                )),
            }
        }
        let Some((_, group)) = groups.last_mut() else {
            continue;
        };
        let mut over = false;
        for (one, values) in series.iter().enumerate() {
            let Some(&value) = values.get(position).filter(|value| value.is_finite()) else {
                continue;
            };
            group.largest[one] = Some(group.largest[one].map_or(value, |most| most.max(value)));
            over |= limit_a.is_some_and(|limit_a| is_above_limit(value, limit_a));
        }
        group.over += u64::from(over);
    }
    groups.into_iter().map(|(_, group)| group).collect()
}
