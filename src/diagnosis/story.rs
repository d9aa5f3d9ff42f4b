//! One phase of the supply: its days, its worst half-hours with what made them up, what would relieve it.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Serialize, Serializer};

use super::makers::makers;
use super::relief::{Relief, relief};
use super::thresholds::OVERLOAD_BLOCK_S;
use super::view::{View, at, blocks};
use analysis::Values;
use balance::Standing;
use electrical::{Phase, is_above_limit};
use metering::Logs;
use site::{Measured, Node, Site};

/// How many of the worst half-hours are told.
const WORST_BLOCKS: usize = 5;

/// One phase's story at the supply.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct PhaseStory {
    /// The phase.
    pub phase: Phase,
    /// Its limit at the supply. (A)
    pub limit_a: f64,
    /// Day by day, local dates.
    pub days: Vec<StoryDay>,
    /// The worst half-hours, at most one a day, worst first.
    pub worst_half_hours: Vec<StoryBlock>,
    /// What one move and two moves would change; empty where nothing can be moved.
    pub relief: Vec<Relief>,
}

/// A day of the phase.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct StoryDay {
    /// Local date.
    #[serde(serialize_with = "iso")]
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
pub struct StoryBlock {
    /// Its beginning, local time.
    pub from: String,
    /// Mean current. (A)
    pub mean_a: f64,
    /// What made it up, active currents, largest first.
    pub made_up_of: Vec<StoryPart>,
}

/// One machine's part of a half-hour, or what is left.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct StoryPart {
    /// The machine, or "everything else".
    pub name: String,
    /// Its active current on the phase. (A)
    pub active_current_a: f64,
    /// Measured, declared, or the remainder.
    pub basis: &'static str,
}

impl PhaseStory {
    /// `None` without the currents of the supply's phases.
    pub fn new(site: &Site, logs: &Logs, phase: Phase) -> Option<PhaseStory> {
        let log = logs.of(site.meter_of(Measured::SUPPLY)?)?;
        let view = View::new(site, log);
        let phases = view.analysis().phases()?;
        let series = &phases[phase.index()].means;
        let limit_a = site.supply.phase_limit_a;
        Some(PhaseStory {
            phase,
            limit_a,
            days: days(&view, series, limit_a),
            worst_half_hours: worst(&view, logs, phase, series),
            relief: Standing::new(site, logs).map_or_else(
                |_| Vec::new(),
                |standing| relief(site, &standing, Node::Supply, phase),
            ),
        })
    }
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "the signature that serde calls"
)]
fn iso<S: Serializer>(date: &NaiveDate, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_str(date)
}

fn days(view: &View<'_>, series: &Values<'_>, limit_a: f64) -> Vec<StoryDay> {
    let minutes = view.interval_s() as f64 / 60.0;
    let mut days: Vec<(StoryDay, f64)> = Vec::new();
    for (&start, amps) in view.table().starts().iter().zip(series.iter()) {
        let Some(amps) = amps else { continue };
        let date = at(start).with_timezone(&view.site.timezone).date_naive();
        if days.last().is_none_or(|(day, _)| day.date != date) {
            let day = StoryDay {
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
        .map(|(day, count)| StoryDay {
            rms_a: (day.rms_a / count).sqrt(),
            ..day
        })
        .collect()
}

/// The worst half-hours, at most one a day, worst first.
pub(super) fn worst(
    view: &View<'_>,
    logs: &Logs,
    phase: Phase,
    series: &Values<'_>,
) -> Vec<StoryBlock> {
    let starts = view.table().starts();
    let mut means = blocks(starts, series.iter(), view.interval_s(), OVERLOAD_BLOCK_S);
    means.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut dates: Vec<NaiveDate> = Vec::new();
    let mut told = Vec::new();
    for (start, mean_a) in means {
        let date = at(start).with_timezone(&view.site.timezone).date_naive();
        if told.len() == WORST_BLOCKS {
            break;
        }
        if dates.contains(&date) {
            continue;
        }
        dates.push(date);
        told.push(StoryBlock {
            from: view.local(start),
            mean_a,
            made_up_of: makers(view, logs, phase, (start, start + OVERLOAD_BLOCK_S))
                .into_iter()
                .map(|part| StoryPart {
                    name: part.name,
                    active_current_a: part.amps,
                    basis: part.basis,
                })
                .collect(),
        });
    }
    told
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::{on_phases, site, table};
    use metering::MeterLog;
    use site::Quantity;

    #[test]
    fn a_phase_is_told_day_by_day_with_its_worst_half_hours() {
        // Two days at 60 A; on the second, half an hour at 110 A from 10:00 UTC.
        let mut columns = on_phases(Quantity::Current, [60.0, 5.0, 5.0], 2880);
        columns[0].1[2040..2070].fill(110.0);
        let logs = Logs {
            meters: vec![MeterLog::of_table(0, table(60, columns))],
            ..Logs::default()
        };
        let site = site(&[], "");
        let story = PhaseStory::new(&site, &logs, Phase::L1).expect("currents");
        let above: Vec<f64> = story.days.iter().map(|day| day.above_limit_min).collect();
        assert_eq!(above, [0.0, 30.0]);
        assert!((story.days[0].rms_a - 60.0).abs() < 1e-9);
        // √((1410·60² + 30·110²)/1440) = 61.46
        assert!((story.days[1].rms_a - 61.46).abs() < 0.005);
        let worst = &story.worst_half_hours[0];
        assert_eq!(worst.from, "2026-03-10 10:00");
        assert!((worst.mean_a - 110.0).abs() < 1e-9);
        assert_eq!(story.worst_half_hours.len(), 2);
    }
}
