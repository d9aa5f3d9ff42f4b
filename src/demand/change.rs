//! The days of a meter compared with its baseline, and unusual days.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::clock;
use super::result::EnergyResult;
use crate::meter::meter_energy::MeterEnergy;
use crate::meter::quarters::quarters;
use analysis::NetPower;
use baseline::{
    BaselineRequest, Calendar, Change, DayShape, DayTotal, VariableValues, baseline, unusual_days,
};
use electrical::Phase;
use metering::{IntervalTable, Logs, MeterLog};
use site::{BaselineTerms, DAY_TYPE, Every, Measured, Quantity, Site};

/// What was asked for, in addition to the site file.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct BaselineWish {
    /// First day of the baseline and the first day after it.
    pub period: Option<(NaiveDate, NaiveDate)>,
    /// What is counted.
    pub every: Option<Every>,
}

/// The supply's meter, or the one that `[baseline]` names: its days compared with the baseline if there is one,
/// and unusual days.
#[must_use]
pub fn change(
    site: &Site,
    logs: &Logs,
    energy: &EnergyResult,
    variables: &[VariableValues],
    asked: BaselineWish,
) -> Change {
    let terms = site.baseline.clone().unwrap_or_default();
    let mut change = Change::default();
    let Some((log, meter)) = meter_of(site, logs, energy, &terms) else {
        return change;
    };
    let days = days_of(meter);
    let calendar = Calendar {
        zone: site.timezone,
        holidays: &site.holidays,
    };
    let declared = terms.from.zip(terms.to);
    if let Some((from, to)) = asked.period.or(declared) {
        let goes_by = |name: &str| {
            let mut named = terms.goes_by.iter().flatten();
            terms.goes_by.is_none() || named.any(|own| own == name)
        };
        let wish = BaselineRequest {
            from,
            to,
            every: asked.every.unwrap_or(terms.every),
            by_day_type: goes_by(DAY_TYPE),
        };
        let variables: Vec<&VariableValues> = variables
            .iter()
            .filter(|variable| goes_by(&variable.name))
            .collect();
        match baseline(&meter.id, &days, calendar, &variables, &wish) {
            Ok(found) => change.baseline = Some(found),
            Err(refusal) => change.no_baseline = Some(refusal.to_string()),
        }
    }
    let below: Vec<(String, BTreeMap<NaiveDate, f64>)> = energy
        .reconciliation
        .iter()
        .filter(|entry| entry.main == meter.id)
        .flat_map(|entry| &entry.submeters)
        .filter_map(|id| energy.meters.iter().find(|meter| meter.id == *id))
        .map(|sub| {
            let whole = days_of(sub).into_iter().filter(|day| day.complete);
            (
                sub.id.clone(),
                whole.map(|day| (day.date, day.kwh)).collect(),
            )
        })
        .collect();
    change.unusual_days = Some(unusual_days(
        &meter.id,
        &days,
        &shapes(site, log, &days),
        &below,
        calendar,
        change.baseline.as_ref(),
    ));
    change
}

fn meter_of<'a>(
    site: &Site,
    logs: &'a Logs,
    energy: &'a EnergyResult,
    terms: &BaselineTerms,
) -> Option<(&'a MeterLog, &'a MeterEnergy)> {
    let with_days = |meter: &&MeterEnergy| !meter.trace.days.is_empty();
    let supply = site
        .meter_of(Measured::SUPPLY)
        .map(|index| &site.meters[index].id);
    let wanted = terms.meter.as_ref().or(supply);
    let mut meters = energy.meters.iter().filter(with_days);
    let meter = match wanted {
        Some(id) => meters.find(|meter| meter.id == *id),
        None => meters.next(),
    }?;
    let log = logs
        .meters
        .iter()
        .find(|log| site.meters[log.meter].id == meter.id)?;
    Some((log, meter))
}

fn days_of(meter: &MeterEnergy) -> Vec<DayTotal> {
    let days = meter.trace.days.iter();
    days.filter_map(|day| {
        Some(DayTotal {
            date: day.date.parse().ok()?,
            kwh: day.energy_kwh,
            complete: day.complete,
        })
    })
    .collect()
}

/// The whole days hour by hour and phase by phase.
fn shapes(site: &Site, log: &MeterLog, days: &[DayTotal]) -> Vec<DayShape> {
    let zone = site.timezone;
    let whole = days.iter().filter(|day| day.complete);
    let mut shapes: BTreeMap<NaiveDate, DayShape> = whole
        .map(|day| {
            let shape = DayShape {
                date: day.date,
                hour_kwh: [0.0; 24],
                phase_kwh: None,
            };
            (day.date, shape)
        })
        .collect();
    for quarter in quarters(&log.table, NetPower::of(log)).iter() {
        let local = clock::local(zone, quarter.start_s);
        if let Some(shape) = shapes.get_mut(&clock::date_of(local.day())) {
            shape.hour_kwh[local.quarter() / 4] += quarter.energy_kwh;
        }
    }
    add_phases(&mut shapes, site, &log.table);
    shapes.into_values().collect()
}

/// An interval belongs to the day in which it begins.
fn add_phases(shapes: &mut BTreeMap<NaiveDate, DayShape>, site: &Site, table: &IntervalTable) {
    let Some(powers) = table.by_phase(|phase| Quantity::ActivePower(Some(phase))) else {
        return;
    };
    let hours = f64::from(table.interval_s()) / 3600.0;
    for (row, &start_s) in table.starts().iter().enumerate() {
        let date = clock::date_of(clock::local(site.timezone, start_s).day());
        let Some(shape) = shapes.get_mut(&date) else {
            continue;
        };
        let phases = shape.phase_kwh.get_or_insert([0.0; 3]);
        for phase in Phase::ALL {
            phases[phase.index()] += powers[phase.index()].get(row).unwrap_or(0.0) * hours;
        }
    }
}
