//! Parts by calendar and schedule.

use std::collections::BTreeMap;

use chrono::{DateTime, Datelike, NaiveDate, NaiveDateTime, Timelike};

use super::super::clock;
use super::by::BreakdownBy;
use super::part_details::PartDetails;
use super::split::{Label, Slice, Split};
use crate::meter::meter_energy::MeterEnergy;
use crate::meter::quarters::quarter_hours;
use metering::Period;
use site::Site;

/// What a part sorts by: a number of the calendar, or the schedules that run, in file order.
type SortKey = (i64, Vec<usize>);

/// The quarter-hours of a meter by calendar or schedule; a part that has no reading at all is no part.
pub(super) fn split(site: &Site, meter: &MeterEnergy, by: &BreakdownBy) -> Split {
    let mut parts: BTreeMap<SortKey, Sum> = BTreeMap::new();
    let mut numbers = Vec::with_capacity(meter.trace.quarters.len());
    for quarter in meter.trace.quarters.iter() {
        let Some(local) = local(site, quarter.start_s) else {
            continue;
        };
        let order = order_at(site, local, by);
        let next = parts.len();
        let sum = parts.entry(order).or_insert_with(|| Sum {
            number: next,
            key: key_of(site, local, by),
            ..Sum::default()
        });
        sum.covered_s += quarter.covered_s;
        numbers.push(Slice {
            part: sum.number,
            start_s: quarter.start_s,
            kwh: quarter.energy_kwh,
        });
    }
    for (at, length_s) in expected(site, meter, by) {
        let order = local(site, at).map(|local| order_at(site, local, by));
        if let Some(sum) = order.and_then(|order| parts.get_mut(&order)) {
            sum.expected_s += length_s;
        }
    }
    // Parts were numbered as they came; they are listed in their order.
    let mut rank = vec![0; parts.len()];
    for (place, sum) in parts.values().enumerate() {
        rank[sum.number] = place;
    }
    for slice in &mut numbers {
        slice.part = rank[slice.part];
    }
    let labels = parts.into_iter().map(|((order, _), sum)| Label {
        key: sum.key,
        order,
        complete: sum.covered_s > sum.expected_s - 0.5,
    });
    Split {
        labels: labels.collect(),
        slices: numbers,
    }
}

/// Lagging energy and largest blocks of each part.
pub(super) fn details(meter: &MeterEnergy, split: &Split) -> Vec<PartDetails> {
    let mut details = vec![PartDetails::default(); split.labels.len()];
    let slice_at = |start_s: i64| {
        let at = split
            .slices
            .binary_search_by_key(&start_s, |slice| slice.start_s);
        at.ok().map(|at| split.slices[at].part)
    };
    for &(start_s, kvarh) in &meter.trace.lagging_kvarh {
        if let Some(part) = slice_at(start_s) {
            *details[part].lagging_kvarh.get_or_insert(0.0) += kvarh;
        }
    }
    // A block of an hour begins with a quarter-hour that it is made of.
    for block in meter.trace.blocks.iter() {
        let Some(part) = slice_at(block.start_s) else {
            continue;
        };
        raise(&mut details[part].max_demand_kw, Some(block.kw));
        raise(&mut details[part].max_demand_kva, block.kva);
    }
    details
}

/// What gives energy is no demand.
fn raise(largest: &mut Option<f64>, found: Option<f64>) {
    let found = found.filter(|found| *found >= 0.0);
    if let Some(found) = found
        && largest.is_none_or(|largest| found > largest)
    {
        *largest = Some(found);
    }
}

/// What is known of a part.
#[derive(Default)]
struct Sum {
    number: usize,
    key: String,
    covered_s: f64,
    expected_s: f64,
}

fn local(site: &Site, at_s: i64) -> Option<NaiveDateTime> {
    let at = DateTime::from_timestamp(at_s, 0)?;
    Some(at.with_timezone(&site.timezone).naive_local())
}

/// Times that a complete part has readings for: of a day, week or month all of it, of the others what is
/// between the meter's first and last reading.
fn expected(site: &Site, meter: &MeterEnergy, by: &BreakdownBy) -> Vec<(i64, f64)> {
    let zone = site.timezone;
    let (from, to) = (meter.from.timestamp(), meter.to.timestamp());
    if !by.is_calendar() {
        return quarter_hours(from, to).collect();
    }
    let date = |at: i64| clock::date_of(clock::local(zone, at).day());
    let (first, last) = (start_of(date(from), by), end_of(date(to - 1), by));
    first
        .iter_days()
        .take_while(|date| *date < last)
        .map(|date| {
            let day = Period {
                from: Some(date),
                to: None,
            };
            let length_s = clock::length_of_day_s(zone, date);
            (day.seconds(zone).0, length_s as f64)
        })
        .collect()
}

/// First day of the part that a date is in.
pub(super) fn start_of(date: NaiveDate, by: &BreakdownBy) -> NaiveDate {
    match by {
        BreakdownBy::Week => date.week(chrono::Weekday::Mon).first_day(),
        BreakdownBy::Month => date.with_day(1).unwrap_or(date),
        _ => date,
    }
}

/// First day after the part that a date is in.
pub(super) fn end_of(date: NaiveDate, by: &BreakdownBy) -> NaiveDate {
    let after = |date: NaiveDate| date.succ_opt().unwrap_or(date);
    match by {
        BreakdownBy::Week => after(date.week(chrono::Weekday::Mon).last_day()),
        BreakdownBy::Month => start_of(date, by)
            .checked_add_months(chrono::Months::new(1))
            .unwrap_or(date),
        _ => after(date),
    }
}

/// What the part of a local time sorts by; equal for times of one part.
fn order_at(site: &Site, local: NaiveDateTime, by: &BreakdownBy) -> SortKey {
    let date = local.date();
    let number = match by {
        BreakdownBy::Day | BreakdownBy::Week | BreakdownBy::Month => {
            i64::from(start_of(date, by).num_days_from_ce())
        }
        BreakdownBy::Weekday => i64::from(date.weekday().num_days_from_monday()),
        BreakdownBy::Hour => i64::from(local.hour()),
        BreakdownBy::Schedule => {
            let running = running(site, local);
            return (i64::from(running.is_empty()), running);
        }
        _ => 0,
    };
    (number, Vec::new())
}

fn key_of(site: &Site, local: NaiveDateTime, by: &BreakdownBy) -> String {
    let date = local.date();
    match by {
        BreakdownBy::Day => date.format("%Y-%m-%d").to_string(),
        BreakdownBy::Week => date.format("%G-W%V").to_string(),
        BreakdownBy::Month => date.format("%Y-%m").to_string(),
        BreakdownBy::Weekday => local.format("%A").to_string(),
        BreakdownBy::Hour => local.format("%H").to_string(),
        BreakdownBy::Schedule => {
            let running = running(site, local);
            if running.is_empty() {
                return "outside all schedules".to_owned();
            }
            let names: Vec<&str> = running
                .into_iter()
                .map(|at| site.schedules[at].name.as_str())
                .collect();
            names.join(" + ")
        }
        _ => String::new(),
    }
}

/// The schedules that run at a local time, those of one name as the first of them.
fn running(site: &Site, local: NaiveDateTime) -> Vec<usize> {
    let schedules = &site.schedules;
    let mut running: Vec<usize> = Vec::new();
    for schedule in schedules {
        if schedule.runs_at(local, &site.holidays) {
            let first = schedules
                .iter()
                .position(|other| other.name == schedule.name);
            running.extend(first.filter(|first| !running.contains(first)));
        }
    }
    running
}

#[cfg(test)]
mod tests {
    use chrono::Weekday;

    use super::*;

    #[test]
    fn weeks_and_months_begin_and_end_on_the_calendar() {
        let date = |text: &str| text.parse::<NaiveDate>().expect("a date");
        let new_year = date("2027-01-01");
        assert_eq!(new_year.weekday(), Weekday::Fri);
        assert_eq!(start_of(new_year, &BreakdownBy::Week), date("2026-12-28"));
        assert_eq!(end_of(new_year, &BreakdownBy::Week), date("2027-01-04"));
        assert_eq!(
            end_of(date("2026-12-31"), &BreakdownBy::Month),
            date("2027-01-01")
        );
        assert_eq!(
            start_of(date("2028-02-29"), &BreakdownBy::Month),
            date("2028-02-01")
        );
    }
}
