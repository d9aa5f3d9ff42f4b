//! Currents reduced to one row a day, for the table below a chart.

use chrono_tz::Tz;

use super::format::{duration, number};
use balance::BalanceTrace;
use electrical::is_above_limit;

/// Days beyond this number are tabled as months.
const MOST_DAYS: usize = 62;

/// Largest values by local day, or by month where there are many days.
pub(super) fn day_rows(
    trace: &BalanceTrace,
    zone: Tz,
    series: &[&[f64]],
    limit_a: Option<f64>,
) -> Vec<Vec<String>> {
    let mut by_day = grouped(trace, zone, series, limit_a, "%a %-d %b %Y");
    if by_day.len() > MOST_DAYS {
        by_day = grouped(trace, zone, series, limit_a, "%b %Y");
    }
    by_day
        .into_iter()
        .map(|group| {
            let mut row = vec![group.name];
            row.extend(
                group
                    .largest
                    .iter()
                    .map(|value| value.map_or("—".to_owned(), |a| number(a, 1))),
            );
            if limit_a.is_some() {
                let seconds = group.over * u64::from(trace.interval_s);
                row.push(if group.over == 0 {
                    "none".to_owned()
                } else {
                    duration(seconds)
                });
            }
            row
        })
        .collect()
}

struct Group {
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
) -> Vec<Group> {
    let mut groups: Vec<(chrono::NaiveDate, Group)> = Vec::new();
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
                    Group {
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
