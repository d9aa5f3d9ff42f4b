//! The step at the times of a schedule that one machine has for itself.
//!
//! The days on which the schedule runs are put on top of each other: what other loads do at different times from day to day
//! is averaged out, what they do at the same time every day stays, and its scatter is that of the mean day. So each
//! beginning and each end of the schedule counts as one switching test, however many days there are.

use std::collections::BTreeSet;

use super::by_log::{LONGEST_S as SHORT_ENOUGH_S, unsteady_kw};
use super::sizes::over_sizes;
use super::tails::LongTails;
use crate::metered::node_above;
use crate::options::{LoadOptions, lag_of, shares_of};
use chrono::{DateTime, Timelike};
use metering::Logs;
use site::{Schedule, Site};

/// Machines are switched within so much of their schedule. Common practice. (s)
const PUNCTUAL_S: i64 = 900;
/// Longer intervals do not show when a machine is switched. (s)
const LONGEST_S: i64 = 3600;
/// Fewer days show nothing that comes again.
const FEWEST_DAYS: usize = 5;
/// Most of the log that enters, its end. (s)
const MOST_S: i64 = 8 * 7 * DAY_S;
const DAY_S: i64 = 86_400;
const CHANNELS: usize = 3;

/// Logarithm of the likelihood of each option, and the steps that entered; `None` where no log shows it.
pub(super) fn likelihood(
    site: &Site,
    logs: &Logs,
    machine: usize,
    options: &LoadOptions,
) -> Option<(Vec<f64>, usize)> {
    let own = &site.machines[machine];
    let schedule = own.schedule?;
    let log = logs.of(node_above(site, logs, own.tapped_off)?)?;
    let interval_s = i64::from(log.table.interval_s());
    // Shorter intervals show the steps of a machine themselves, on whatever day.
    if interval_s <= SHORT_ENOUGH_S || interval_s > LONGEST_S || DAY_S % interval_s != 0 {
        return None;
    }
    let all = |index: usize| edges(&site.schedules[index]);
    // What else is switched by a schedule at about the same time would be taken for the machine.
    let near = |one: i64, other: i64| {
        let apart = (one - other).rem_euclid(DAY_S);
        apart.min(DAY_S - apart) <= 2 * PUNCTUAL_S + interval_s
    };
    let others: Vec<i64> = site
        .machines
        .iter()
        .enumerate()
        .filter(|&(index, _)| index != machine)
        .filter_map(|(_, other)| other.schedule)
        .flat_map(|other| all(other).into_iter().map(|(at_s, _)| at_s))
        .collect();
    let own_edges: Vec<(i64, bool)> = all(schedule)
        .into_iter()
        .filter(|(at_s, _)| !others.iter().any(|other| near(*at_s, *other)))
        .collect();
    if own_edges.is_empty() {
        return None;
    }
    let day = MeanDay::of(site, log, &site.schedules[schedule], interval_s)?;
    let apart = (2 * PUNCTUAL_S + interval_s - 1).div_euclid(interval_s) + 1;
    let step_from = |slot: i64| -> Option<Vec<f64>> {
        let (before, after) = (day.at(slot)?, day.at(slot + apart)?);
        Some((0..CHANNELS).map(|k| after[k] - before[k]).collect())
    };
    // From the last interval that surely ended before.
    let slot_before = |at_s: i64| (at_s - PUNCTUAL_S).div_euclid(interval_s) - 1;
    let is_own = |slot: i64| {
        let edges = all(schedule);
        edges.iter().any(|&(at_s, _)| {
            let from = (slot_before(at_s) - slot).rem_euclid(day.len());
            from.min(day.len() - from) <= apart
        })
    };
    let usual: Vec<Vec<f64>> = (0..day.len())
        .filter(|&slot| !is_own(slot))
        .filter_map(step_from)
        .collect();
    let kw = own.rated_power(site.supply.phase_voltage_v()).re * own.utilisation_factor;
    let tails = LongTails::fit(&usual, &[unsteady_kw(kw); CHANNELS])?;
    let lag = lag_of(own);
    let steps: Vec<(f64, Vec<f64>)> = own_edges
        .iter()
        .filter_map(|&(at_s, on)| {
            let sign = if on { 1.0 } else { -1.0 } * own.flow();
            Some((sign, step_from(slot_before(at_s))?))
        })
        .collect();
    if steps.is_empty() {
        return None;
    }
    let of_option = |connection| -> f64 {
        let shares = shares_of(connection, Some(lag), CHANNELS);
        let of_step = |(sign, step): &(f64, Vec<f64>)| {
            over_sizes(|size| {
                let expected = |k: usize| sign * size * kw * shares[0][k];
                let left: Vec<f64> = (0..CHANNELS).map(|k| step[k] - expected(k)).collect();
                tails.log_density(&left)
            })
        };
        steps.iter().map(of_step).sum()
    };
    let connections = options.connections.iter();
    Some((connections.map(|&at| of_option(at)).collect(), steps.len()))
}

/// Beginnings and ends of a schedule, by time of day. (s)
fn edges(schedule: &Schedule) -> BTreeSet<(i64, bool)> {
    let seconds = |minute: u32| i64::from(minute) * 60 % DAY_S;
    let shifts = schedule.shifts.iter();
    shifts
        .flat_map(|shift| {
            [
                (seconds(shift.from_min), true),
                (seconds(shift.to_min), false),
            ]
        })
        .collect()
}

/// The mean of the days on which a schedule runs, by time of day.
struct MeanDay {
    /// Active power of each phase. (kW)
    slots: Vec<Option<[f64; CHANNELS]>>,
}

impl MeanDay {
    fn of(
        site: &Site,
        log: &metering::MeterLog,
        schedule: &Schedule,
        interval_s: i64,
    ) -> Option<MeanDay> {
        let phasors = log.phasors()?;
        let starts = log.table.starts();
        let since = site
            .works
            .last()
            .map_or(i64::MIN, |work| work.done.timestamp())
            .max(starts.last()? - MOST_S);
        let kilovolts = site.supply.phase_voltage_v() / 1000.0;
        let len = usize::try_from(DAY_S / interval_s).ok()?;
        let mut sums = vec![([0.0; CHANNELS], 0_usize); len];
        let mut days = BTreeSet::new();
        for (row, &start) in starts
            .iter()
            .enumerate()
            .filter(|(_, start)| **start >= since)
        {
            let local = DateTime::from_timestamp(start, 0)?
                .with_timezone(&site.timezone)
                .naive_local();
            // A day on which a stretch begins.
            let begins = schedule.shifts.iter().any(|shift| {
                let from = local.date().and_hms_opt(0, 0, 0).map(|midnight| {
                    midnight + chrono::Duration::minutes(i64::from(shift.from_min))
                });
                from.is_some_and(|from| schedule.runs_at(from, &site.holidays))
            });
            let Some(amps) = phasors.at(row).filter(|_| begins) else {
                continue;
            };
            days.insert(local.date());
            let slot = i64::from(local.num_seconds_from_midnight()) / interval_s;
            let (sum, count) = sums.get_mut(usize::try_from(slot).ok()?)?;
            for (sum, amps) in sum.iter_mut().zip(amps) {
                *sum += amps.re * kilovolts;
            }
            *count += 1;
        }
        (days.len() >= FEWEST_DAYS).then(|| MeanDay {
            slots: sums
                .into_iter()
                .map(|(sum, count)| (count > 0).then(|| sum.map(|sum| sum / count as f64)))
                .collect(),
        })
    }

    fn len(&self) -> i64 {
        self.slots.len() as i64
    }

    /// The slot at this place in the day; past its end the day begins again.
    fn at(&self, slot: i64) -> Option<[f64; CHANNELS]> {
        self.slots[usize::try_from(slot.rem_euclid(self.len())).ok()?]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{PhaseStatus, identify};
    use electrical::Phase;
    use metering::{IntervalTable, MeterLog};
    use simulated::Dice;
    use site::{Connection, Quantity, read_site};

    const SITE: &str = r#"
[site]
name = "test"
[supply]
line_voltage_v = 400
phase_limit_a = 100
[[schedule]]
name = "early"
days = "Mon-Fri"
from = "05:00"
to = "10:00"
[[schedule]]
name = "shift"
days = "Mon-Fri"
from = "08:00"
to = "16:30"
[[meter]]
id = "main"
measures = "supply"
files = "main.csv"
"#;

    /// Four weeks of quarter-hours from Monday 9 March 2026 on: an oven of 3 kW by its schedule, up to ten minutes early
    /// or late, on this phase, and loads of each phase that come and go.
    fn logs(oven: Option<usize>, seed: u64) -> Logs {
        let mut dice = Dice::new(seed);
        let rows = 28 * 96;
        let mut kw = vec![vec![0.0; rows]; 3];
        for phase in &mut kw {
            let mut now = 1.5_f64;
            for kw in phase.iter_mut() {
                now = (now + 0.5 * dice.normal()).clamp(0.2, 6.0);
                *kw = now;
            }
        }
        for day in (0..28).filter(|day| day % 7 < 5) {
            let mut edge = |hour: f64| hour * 4.0 + dice.between(-0.67, 0.67);
            let (from, to) = (edge(5.0), edge(10.0));
            for slot in 0..96 {
                let (begin, end) = (f64::from(slot), f64::from(slot) + 1.0);
                let share = (to.min(end) - from.max(begin)).max(0.0);
                if let Some(phase) = oven {
                    kw[phase][day * 96 + slot as usize] += 3.0 * share;
                }
            }
        }
        let starts = (0..rows as i64)
            .map(|row| 1_773_014_400 + 900 * row)
            .collect();
        let mut columns = Vec::new();
        for (phase, kw) in Phase::ALL.into_iter().zip(&kw) {
            let amps = kw.iter().map(|kw| Some(kw * 1000.0 / 230.94)).collect();
            let own = kw.iter().map(|kw| Some(*kw)).collect();
            columns.push((Quantity::Current(phase).name(), amps));
            columns.push((Quantity::ActivePower(Some(phase)).name(), own));
        }
        let table = IntervalTable::of_columns(starts, 900, columns);
        Logs {
            meters: vec![MeterLog::of_table(0, table)],
            ..Logs::default()
        }
    }

    fn site(machines: &str) -> Site {
        let folder = tempfile::tempdir().expect("a folder");
        let list = format!("machine,circuit,connection,power_kw,schedule\n{machines}");
        std::fs::write(folder.path().join("site.toml"), SITE).expect("written");
        std::fs::write(folder.path().join("machines.csv"), list).expect("written");
        read_site(folder.path()).expect("a sound site").0
    }

    #[test]
    fn a_schedule_of_its_own_shows_the_phase() {
        let site = site("Oven,supply,L1,3,early\n");
        for seed in 1..=8 {
            for phase in 0..3 {
                let load = identify(&site, &logs(Some(phase), seed)).loads.remove(0);
                let truth = Connection::ToNeutral(Phase::ALL[phase]);
                assert_eq!(load.probable, Some(truth), "{load:?}");
                assert!(load.is_settled(), "{load:?}");
                assert!(load.basis.contains("its schedule"), "{load:?}");
            }
            // One that stays off is not said to be anywhere else.
            let off = identify(&site, &logs(None, seed)).loads.remove(0);
            assert_ne!(off.status, PhaseStatus::Elsewhere, "{off:?}");
        }
    }

    /// What another machine does at the same hour would be taken for its own.
    #[test]
    fn a_shared_hour_shows_nothing() {
        let site = site("Oven,supply,L1,3,early\nPress,supply,L2,2,early\n");
        let loads = identify(&site, &logs(Some(2), 1)).loads;
        assert!(
            loads
                .iter()
                .all(|load| load.status == PhaseStatus::NotMeasured)
        );
    }
}
