//! One phase of the supply: its days, its worst half-hours with their contributors, and moves that would relieve it.

use chrono::{NaiveDate, NaiveDateTime};
use schemars::JsonSchema;
use serde::Serialize;

use super::contributors::contributors;
use super::relief::{Relief, relief};
use super::thresholds::OVERLOAD_BLOCK_S;
use super::view::{View, at, blocks};
use analysis::Values;
use balance::Standing;
use electrical::{Phase, is_above_limit};
use metering::Logs;
use site::{Measured, Node, Site};
use units::serial::{date, local_minute};

/// How many of the worst half-hours are listed.
const WORST_BLOCKS: usize = 5;

/// One phase at the supply.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct PhaseDetail {
    /// The phase.
    pub phase: Phase,
    /// Its limit at the supply. (A)
    pub limit_a: f64,
    /// Day by day, local dates.
    pub days: Vec<PhaseDay>,
    /// The worst half-hours, at most one a day, worst first.
    pub worst_half_hours: Vec<HalfHour>,
    /// What one move and two moves would change; empty where nothing can be moved.
    pub relief: Vec<Relief>,
}

/// A day of the phase.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct PhaseDay {
    /// Local date.
    #[serde(serialize_with = "date")]
    pub date: NaiveDate,
    /// Largest mean of an interval. (A)
    pub highest_a: f64,
    /// Root mean square over the day's readings. (A)
    pub rms_a: f64,
    /// Time above the limit. (min)
    pub above_limit_min: f64,
}

/// A half-hour of the phase.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct HalfHour {
    /// Its start, local time.
    #[serde(serialize_with = "local_minute")]
    #[schemars(with = "String")]
    pub from: NaiveDateTime,
    /// Mean current. (A)
    pub mean_a: f64,
    /// Active currents of its contributors, largest first.
    pub made_up_of: Vec<HalfHourPart>,
}

/// One machine's part of a half-hour, or the unmetered part.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct HalfHourPart {
    /// The machine, or "Unmetered".
    pub name: String,
    /// Its active current on the phase. (A)
    pub active_current_a: f64,
    /// Measured, estimated or unmetered.
    pub basis: &'static str,
}

impl PhaseDetail {
    /// `None` without the currents of the supply's phases.
    pub fn new(site: &Site, logs: &Logs, phase: Phase) -> Option<PhaseDetail> {
        let log = logs.of(site.meter_of(Measured::SUPPLY)?)?;
        let view = View::new(site, log);
        let phases = view.analysis().phases()?;
        let series = &phases[phase.index()].means;
        let limit_a = site.supply.phase_limit_a;
        Some(PhaseDetail {
            phase,
            limit_a,
            days: days(&view, series, limit_a),
            worst_half_hours: worst_half_hours(&view, logs, phase, series),
            relief: Standing::new(site, logs).map_or_else(
                |_| Vec::new(),
                |standing| relief(site, &standing, Node::Supply, phase),
            ),
        })
    }
}

fn days(view: &View<'_>, series: &Values<'_>, limit_a: f64) -> Vec<PhaseDay> {
    let minutes = view.interval_s() as f64 / 60.0;
    let mut days: Vec<(PhaseDay, f64)> = Vec::new();
    for (&start, amps) in view.table().starts().iter().zip(series.iter()) {
        let Some(amps) = amps else { continue };
        let date = at(start).with_timezone(&view.site.timezone).date_naive();
        if days.last().is_none_or(|(day, _)| day.date != date) {
            let day = PhaseDay {
                date,
                highest_a: 0.0,
                rms_a: 0.0,
                above_limit_min: 0.0,
            };
            days.push((day, 0.0));
        }
        if let Some((day, count)) = days.last_mut() {
            day.highest_a = day.highest_a.max(amps);
            // Squares until the day is complete.
            day.rms_a += amps * amps;
            *count += 1.0;
            if is_above_limit(amps, limit_a) {
                day.above_limit_min += minutes;
            }
        }
    }
    days.into_iter()
        .map(|(day, count)| PhaseDay {
            rms_a: (day.rms_a / count).sqrt(),
            ..day
        })
        .collect()
}

/// The worst half-hours, at most one a day, worst first.
pub(super) fn worst_half_hours(
    view: &View<'_>,
    logs: &Logs,
    phase: Phase,
    series: &Values<'_>,
) -> Vec<HalfHour> {
    let starts = view.table().starts();
    let mut means = blocks(starts, series.iter(), view.interval_s(), OVERLOAD_BLOCK_S);
    means.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut dates: Vec<NaiveDate> = Vec::new();
    let mut listed = Vec::new();
    for (start, mean_a) in means {
        let date = at(start).with_timezone(&view.site.timezone).date_naive();
        if listed.len() == WORST_BLOCKS {
            break;
        }
        if dates.contains(&date) {
            continue;
        }
        dates.push(date);
        listed.push(HalfHour {
            from: view.local(start),
            mean_a,
            made_up_of: contributors(view, logs, phase, (start, start + OVERLOAD_BLOCK_S))
                .into_iter()
                .map(|part| HalfHourPart {
                    name: part.name,
                    active_current_a: part.amps,
                    basis: part.basis,
                })
                .collect(),
        });
    }
    listed
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::{on_phases, site, table};
    use metering::MeterLog;
    use site::Quantity;

    #[test]
    fn a_phase_is_listed_day_by_day_with_its_worst_half_hours() {
        // Two days at 60 A; on the second, half an hour at 110 A from 10:00 UTC.
        let mut columns = on_phases(Quantity::Current, [60.0, 5.0, 5.0], 2880);
        columns[0].1[2040..2070].fill(110.0);
        let logs = Logs {
            meters: vec![MeterLog::of_table(0, table(60, columns))],
            ..Logs::default()
        };
        let site = site(&[], "");
        let detail = PhaseDetail::new(&site, &logs, Phase::L1).expect("currents");
        let above: Vec<f64> = detail.days.iter().map(|day| day.above_limit_min).collect();
        assert_eq!(above, [0.0, 30.0]);
        assert!((detail.days[0].rms_a - 60.0).abs() < 1e-9);
        // √((1410·60² + 30·110²)/1440) = 61.46
        assert!((detail.days[1].rms_a - 61.46).abs() < 0.005);
        let worst = &detail.worst_half_hours[0];
        assert_eq!(worst.from.to_string(), "2026-03-10 10:00:00");
        assert!((worst.mean_a - 110.0).abs() < 1e-9);
        assert_eq!(detail.worst_half_hours.len(), 2);
    }
}
