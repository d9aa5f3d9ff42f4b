//! Energy by calendar, schedule, meter or phase; the parts of a meter add up to its energy.

use std::collections::BTreeMap;

use chrono::{DateTime, Datelike, NaiveDate, NaiveDateTime};
use serde::Serialize;

use super::clock;
use super::draw::Draw;
use super::quarters::{QUARTER_S, Quarter, quarters};
use super::result::MeterEnergy;
use crate::metering::{Logs, MeterLog};
use crate::site::Site;

/// What the energy is broken down by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum BreakdownBy {
    /// Local day.
    Day,
    /// ISO week, Monday to Sunday.
    Week,
    /// Local month.
    Month,
    /// Day of the week.
    Weekday,
    /// Hour of the local day.
    Hour,
    /// The schedules that run at once.
    Schedule,
    /// Meter.
    Meter,
    /// Phase.
    Phase,
}

/// Energy of one part.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EnergyPart {
    /// What the energy is broken down by.
    pub by: BreakdownBy,
    /// Which part: `2026-03-09`, `2026-W11`, `2026-03`, `Monday`, `07`, `day shift`, `L1`.
    pub key: String,
    /// The meter's id.
    pub meter: String,
    /// Net active energy. (kWh)
    pub energy_kwh: f64,
    /// What it costs; `None` without a tariff.
    pub cost: Option<f64>,
    /// Are there readings for all of it? A part that is not complete compares with no other.
    pub complete: bool,
}

/// Key of what a register counted while nothing was logged: it has no time of its own.
pub const UNDATED: &str = "not dated";

/// A key and what it sorts by.
type Key = (i64, String);

/// What is known of a part.
#[derive(Default)]
struct Sum {
    kwh: f64,
    covered_s: f64,
    expected_s: f64,
}

/// The energy of every meter by parts, in the order of the meters, then of the calendar.
#[must_use]
pub fn breakdown(
    site: &Site,
    logs: &Logs,
    meters: &[MeterEnergy],
    by: BreakdownBy,
) -> Vec<EnergyPart> {
    logs.meters
        .iter()
        .filter_map(|log| {
            let id = &site.meters[log.meter].id;
            let meter = meters.iter().find(|meter| meter.id == *id)?;
            Some(parts(site, log, meter, by))
        })
        .flatten()
        .collect()
}

fn parts(site: &Site, log: &MeterLog, meter: &MeterEnergy, by: BreakdownBy) -> Vec<EnergyPart> {
    let part = |key: &str, energy_kwh: f64, complete: bool| EnergyPart {
        by,
        key: key.to_owned(),
        meter: meter.id.clone(),
        energy_kwh,
        cost: None,
        complete,
    };
    let is_covered = meter.coverage_pct > 100.0 - 1e-9;
    match by {
        BreakdownBy::Meter => meter
            .energy_kwh
            .map(|kwh| part(&meter.id, kwh, is_covered))
            .into_iter()
            .collect(),
        BreakdownBy::Phase => ["L1", "L2", "L3"]
            .into_iter()
            .zip(meter.energy_kwh_by_phase.into_iter().flatten())
            .map(|(phase, kwh)| part(phase, kwh, is_covered))
            .collect(),
        _ => {
            let quarters = quarters(&log.table, &Draw::of(log));
            let sums = by_key(site, meter, &quarters, by);
            let dated: f64 = sums.values().map(|sum| sum.kwh).sum();
            let mut parts: Vec<EnergyPart> = sums
                .iter()
                .map(|((_, key), sum)| part(key, sum.kwh, sum.covered_s > sum.expected_s - 0.5))
                .collect();
            if let Some(all) = meter.energy_kwh
                && (all - dated).abs() > 1e-6 * all.abs().max(1.0)
            {
                parts.push(part(UNDATED, all - dated, false));
            }
            parts
        }
    }
}

/// Sums of the quarter-hours by key; a part that has no reading at all is no part.
fn by_key(
    site: &Site,
    meter: &MeterEnergy,
    quarters: &[Quarter],
    by: BreakdownBy,
) -> BTreeMap<Key, Sum> {
    let mut sums: BTreeMap<Key, Sum> = BTreeMap::new();
    for quarter in quarters {
        let Some(key) = key_at(site, quarter.start_s, by) else {
            continue;
        };
        let sum = sums.entry(key).or_default();
        sum.kwh += quarter.energy_kwh;
        sum.covered_s += quarter.covered_s;
    }
    for (at, length_s) in expected(site, meter, by) {
        if let Some(sum) = key_at(site, at, by).and_then(|key| sums.get_mut(&key)) {
            sum.expected_s += length_s;
        }
    }
    sums
}

/// Times that a complete part has readings for: of a day, week or month all of it, of the others what lies
/// between the meter's first and last reading.
fn expected(site: &Site, meter: &MeterEnergy, by: BreakdownBy) -> Vec<(i64, f64)> {
    let zone = site.timezone;
    let (from, to) = (meter.from.timestamp(), meter.to.timestamp());
    let (first, last) = match by {
        BreakdownBy::Day | BreakdownBy::Week | BreakdownBy::Month => {
            let date = |at: i64| clock::date_of(clock::local(zone, at).day());
            (start_of(date(from), by), end_of(date(to - 1), by))
        }
        _ => {
            let start = from.div_euclid(QUARTER_S) * QUARTER_S;
            return (start..to)
                .step_by(QUARTER_S as usize)
                .map(|at| {
                    let seconds = (at + QUARTER_S).min(to) - at.max(from);
                    (at, seconds as f64)
                })
                .collect();
        }
    };
    first
        .iter_days()
        .take_while(|date| *date < last)
        .map(|date| {
            let start = crate::metering::Period {
                from: Some(date),
                to: None,
            }
            .seconds(zone)
            .0;
            (start, clock::length_of_day_s(zone, date) as f64)
        })
        .collect()
}

/// First day of the part that a date lies in.
fn start_of(date: NaiveDate, by: BreakdownBy) -> NaiveDate {
    match by {
        BreakdownBy::Week => date.week(chrono::Weekday::Mon).first_day(),
        BreakdownBy::Month => date.with_day(1).unwrap_or(date),
        _ => date,
    }
}

/// First day after the part that a date lies in.
fn end_of(date: NaiveDate, by: BreakdownBy) -> NaiveDate {
    let after = |date: NaiveDate| date.succ_opt().unwrap_or(date);
    match by {
        BreakdownBy::Week => after(date.week(chrono::Weekday::Mon).last_day()),
        BreakdownBy::Month => start_of(date, by)
            .checked_add_months(chrono::Months::new(1))
            .unwrap_or(date),
        _ => after(date),
    }
}

fn key_at(site: &Site, at_s: i64, by: BreakdownBy) -> Option<Key> {
    let local = DateTime::from_timestamp(at_s, 0)?
        .with_timezone(&site.timezone)
        .naive_local();
    let date = local.date();
    let days = |date: NaiveDate| i64::from(date.num_days_from_ce());
    Some(match by {
        BreakdownBy::Day => (days(date), date.format("%Y-%m-%d").to_string()),
        BreakdownBy::Week => (days(start_of(date, by)), date.format("%G-W%V").to_string()),
        BreakdownBy::Month => (days(start_of(date, by)), date.format("%Y-%m").to_string()),
        BreakdownBy::Weekday => (
            i64::from(date.weekday().num_days_from_monday()),
            local.format("%A").to_string(),
        ),
        BreakdownBy::Hour => {
            let hour = local.format("%H").to_string();
            (hour.parse().ok()?, hour)
        }
        BreakdownBy::Schedule => running(site, local),
        BreakdownBy::Meter | BreakdownBy::Phase => return None,
    })
}

/// The schedules that run at a local time, those of one name once; what runs at no schedule comes last.
fn running(site: &Site, local: NaiveDateTime) -> Key {
    let mut names: Vec<&str> = Vec::new();
    for schedule in &site.schedules {
        let name = schedule.name.as_str();
        if !names.contains(&name) && schedule.runs_at(local, &site.holidays) {
            names.push(name);
        }
    }
    if names.is_empty() {
        return (1, "outside all schedules".to_owned());
    }
    (0, names.join(" + "))
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
        assert_eq!(start_of(new_year, BreakdownBy::Week), date("2026-12-28"));
        assert_eq!(end_of(new_year, BreakdownBy::Week), date("2027-01-04"));
        assert_eq!(
            end_of(date("2026-12-31"), BreakdownBy::Month),
            date("2027-01-01")
        );
        assert_eq!(
            start_of(date("2028-02-29"), BreakdownBy::Month),
            date("2028-02-01")
        );
    }
}
