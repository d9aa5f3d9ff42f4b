//! From the site and its rounds to loads, places, readings and hours.

use chrono::TimeZone;

use super::{STANDARD_DEVIATIONS, place_of};
use crate::pose::connections::{connection_now, moves_with_circuit, turn_of};
use crate::pose::grid::AnalysisGrid;
use crate::pose::profile::{MachineDraw, from_draws};
use crate::pose::three_wire::without_neutral;
use electrical::Phase;
use estimation::{Hours, Load, PhaseReading, ReadPlace, Spread, Turns};
use metering::Round;
use site::{Connection, Measured, Site};
use units::Basis;

/// Equal machines of one row that are counted apart; more are taken together in so many groups.
const MOST_APART: u32 = 8;
/// Probability that a phase of the list is wrong, before anything is measured. A guess about lists.
pub const PHASE_DOUBT: f64 = 0.05;

/// How far list and habits can be off.
pub(super) fn spread(site: &Site, from_time_to_time: f64) -> Spread {
    Spread {
        rating: site.accuracy.rating_pct / 100.0 / STANDARD_DEVIATIONS,
        on_share: site.accuracy.utilisation_pct / 100.0 / STANDARD_DEVIATIONS,
        from_time_to_time,
    }
}

/// The machines of the list as loads, and the machine of each load.
pub(super) fn of_list(site: &Site, rounds: &[Round]) -> (Vec<Load>, Vec<Option<usize>>) {
    let mut loads = Vec::new();
    let mut machines = Vec::new();
    for (index, machine) in site.machines.iter().enumerate() {
        let now = connection_now(site, index);
        let groups = machine.quantity.clamp(1, MOST_APART);
        let power = machine.rated_power(site.supply.phase_voltage_v())
            * machine.load_share
            * machine.flow()
            / f64::from(groups);
        let one = MachineDraw {
            power,
            current_a: None,
        };
        let currents = from_draws(site, machine, &[one], Basis::RatingOnly).currents;
        let has_neutral = machine.has_neutral && now.has_neutral();
        let is_free = matches!(now, Connection::ToNeutral(_))
            && !rounds.is_empty()
            && moves_with_circuit(site, index).is_none();
        let turns = match turn_of(now) {
            Some(turn) if is_free => Turns::listed(turn, PHASE_DOUBT),
            turn => Turns::certain(turn.unwrap_or(0)),
        };
        let place =
            place_read(site, rounds, index).unwrap_or_else(|| place_of(site, machine.tapped_off));
        let shape = shape(site, rounds, index);
        let scaled = [0, 1, 2].map(|position| {
            let current = currents.series(position).map(|series| series[0]);
            current.map(|current| current * shape[position])
        });
        let load = Load {
            place,
            on_a: if has_neutral {
                scaled
            } else {
                without_neutral(scaled)
            },
            third_harmonic: if has_neutral {
                machine.third_harmonic
            } else {
                0.0
            },
            turns,
            on_share: machine.on_share(),
            runs: rounds
                .iter()
                .map(|round| {
                    // What has no phase yet is not connected.
                    turn_of(now).is_some() && runs_at(site, machine.schedule, round.at.timestamp())
                })
                .collect(),
            own_spread: None,
        };
        for _ in 0..groups {
            loads.push(load.clone());
            machines.push(Some(index));
        }
    }
    (loads, machines)
}

/// How a three-phase machine shares its current among its phases, as read in the mean: 1, 1, 1 where it is even.
fn shape(site: &Site, rounds: &[Round], machine: usize) -> [f64; 3] {
    let even = [1.0; 3];
    if !matches!(
        site.machines[machine].connection,
        Connection::ThreePhase { .. }
    ) {
        return even;
    }
    let read = rounds
        .iter()
        .filter_map(|round| round.of(Measured::Machine(machine)));
    let full: Vec<[f64; 3]> = read
        .filter_map(|reading| match reading.phases_a {
            [Some(l1), Some(l2), Some(l3)] => Some([l1.abs(), l2.abs(), l3.abs()]),
            _ => None,
        })
        .collect();
    let sums = [0, 1, 2].map(|k| full.iter().map(|amps| amps[k]).sum::<f64>());
    let mean = sums.iter().sum::<f64>() / 3.0;
    if mean > 0.0 {
        sums.map(|sum| sum / mean)
    } else {
        even
    }
}

/// The place of a machine that is read at its own terminals.
fn place_read(site: &Site, rounds: &[Round], machine: usize) -> Option<usize> {
    let read = read_machines(site, rounds);
    let at = read.iter().position(|&known| known == machine)?;
    Some(site.nodes().len() + at)
}

fn read_machines(site: &Site, rounds: &[Round]) -> Vec<usize> {
    let is_read = |&machine: &usize| {
        turn_of(connection_now(site, machine)).is_some()
            && rounds
                .iter()
                .any(|round| round.of(Measured::Machine(machine)).is_some())
    };
    (0..site.machines.len()).filter(is_read).collect()
}

/// Supply, boards, circuits, then machines that are read.
pub(super) fn places(site: &Site, rounds: &[Round]) -> Vec<ReadPlace> {
    let nodes = site.nodes().into_iter().map(|node| ReadPlace {
        fed_from: site.parent(node).map(|above| place_of(site, above)),
        is_complete: false,
    });
    let machines = read_machines(site, rounds)
        .into_iter()
        .map(|machine| ReadPlace {
            fed_from: Some(place_of(site, site.machines[machine].tapped_off)),
            is_complete: true,
        });
    nodes.chain(machines).collect()
}

/// What was read on phases, with the error of the clamp meter.
pub(super) fn readings(site: &Site, rounds: &[Round]) -> Vec<PhaseReading> {
    let machines = read_machines(site, rounds);
    let mut all = Vec::new();
    for (round, read) in rounds.iter().enumerate() {
        for reading in &read.readings {
            let place = match reading.at {
                Measured::Node(node) => place_of(site, node),
                Measured::Machine(machine) => {
                    let Some(at) = machines.iter().position(|&known| known == machine) else {
                        continue;
                    };
                    site.nodes().len() + at
                }
            };
            for phase in Phase::ALL {
                if let Some(amps) = reading.phases_a[phase.index()] {
                    all.push(PhaseReading {
                        round,
                        place,
                        phase: phase.index(),
                        amps,
                        error_a: (site.accuracy.clamp_pct / 100.0 * amps.abs()
                            + site.accuracy.clamp_a)
                            / STANDARD_DEVIATIONS,
                    });
                }
            }
        }
    }
    all
}

fn runs_at(site: &Site, schedule: Option<usize>, moment: i64) -> bool {
    let Some(schedule) = schedule.map(|index| &site.schedules[index]) else {
        return true;
    };
    let local = site.timezone.timestamp_opt(moment, 0).single();
    local.is_some_and(|local| schedule.runs_at(local.naive_local(), &site.holidays))
}

/// The parts of the week in which the same schedules run, and the part of each interval.
pub(super) fn hours(
    site: &Site,
    grid: &AnalysisGrid,
    loads: &[Load],
    machine: &[Option<usize>],
) -> (Vec<Hours>, Vec<usize>) {
    let mut patterns: Vec<Vec<bool>> = Vec::new();
    let of_interval: Vec<usize> = grid
        .starts
        .iter()
        .map(|&start| {
            let running: Vec<bool> = (0..site.schedules.len())
                .map(|schedule| runs_at(site, Some(schedule), start))
                .collect();
            let known = patterns.iter().position(|pattern| *pattern == running);
            known.unwrap_or_else(|| {
                patterns.push(running);
                patterns.len() - 1
            })
        })
        .collect();
    let hours = patterns
        .iter()
        .enumerate()
        .map(|(at, pattern)| {
            let count = of_interval.iter().filter(|&&own| own == at).count();
            let schedule =
                |load: usize| machine[load].and_then(|index| site.machines[index].schedule);
            Hours {
                share: count as f64 / of_interval.len().max(1) as f64,
                runs: (0..loads.len())
                    .map(|load| schedule(load).is_none_or(|schedule| pattern[schedule]))
                    .collect(),
            }
        })
        .collect();
    (hours, of_interval)
}
