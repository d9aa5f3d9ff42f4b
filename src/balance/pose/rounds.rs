//! Rounds of readings with a clamp meter as analysis intervals, where there is no log.

use num_complex::Complex64;

use super::connections::{connection_now, turn_of};
use super::grid::AnalysisGrid;
use super::measured::{MeasuredNode, unexplained};
use super::profile::{
    MachineDraw, Profile, declared_draws, from_draws, listed_basis, voltage_across,
};
use super::third_harmonic::add_third_harmonic;
use crate::problem::currents::Currents;
use crate::problem::currents::phasor_sum;
use electrical::Phase;
use metering::{ClampReading, Logs};
use site::{Connection, Machine, Measured, Node, Site};
use units::Basis;

/// Share of the computed neutral by which a reading may be smaller before it is reported.
const LARGEST_CONTRADICTION: f64 = 0.1;

/// Notes on the data behind the analysis.
pub(crate) fn notes(
    site: &Site,
    logs: &Logs,
    grid: &AnalysisGrid,
    supply_is_read: bool,
    notes: &mut Vec<String>,
) {
    let rounds = logs.rounds.len();
    if !grid.by_hand {
        if rounds > 0 {
            notes.push(
                "`readings.csv` is not used: the logs contain more than rounds of readings"
                    .to_owned(),
            );
        }
        return;
    }
    notes.push(format!(
        "measured by clamp meter: {} from `readings.csv`, each counted as one interval of equal weight; \
         angles follow the power factors of the machine list; kWh (one minute for each round) do not \
         show consumption",
        if rounds == 1 { "1 round of readings".to_owned() } else { format!("{rounds} rounds of readings") }
    ));
    if !supply_is_read {
        notes.push(
            "the supply was not read: its figures leave out loads that are not in the machine list"
                .to_owned(),
        );
    }
    let unused = site
        .meters
        .iter()
        .enumerate()
        .filter(|(meter, _)| logs.of(*meter).is_some());
    for (_, meter) in unused {
        notes.push(format!(
            "the log of meter `{}` has no values per phase and is not compared with the readings",
            meter.id
        ));
    }
}

/// A machine in each round: as read there, else as the machine list has it.
pub(crate) fn profile(
    site: &Site,
    logs: &Logs,
    grid: &AnalysisGrid,
    index: usize,
    notes: &mut Vec<String>,
) -> Profile {
    let machine = &site.machines[index];
    let declared = declared_draws(site, grid, machine);
    let readings: Vec<Option<&ClampReading>> = logs
        .rounds
        .iter()
        .map(|round| round.of(Measured::Machine(index)))
        .collect();
    let read = readings.iter().flatten().count();
    let basis = if read == readings.len() {
        Basis::Measured
    } else {
        listed_basis(machine)
    };
    if read > 0 && read < readings.len() {
        notes.push(format!(
            "`{}` was read in {read} of {} rounds: the machine list's figures are used in the others",
            machine.name,
            readings.len()
        ));
    }
    let draws: Vec<MachineDraw> = readings
        .iter()
        .zip(&declared)
        .map(|(reading, declared)| {
            reading.map_or(*declared, |reading| draw(site, machine, reading))
        })
        .collect();
    let profile = from_draws(site, machine, &draws, basis);
    let three_phase = matches!(machine.connection, Connection::ThreePhase { .. });
    let all_phases = readings
        .iter()
        .all(|reading| reading.is_some_and(|reading| reading.phases_a.iter().all(Option::is_some)));
    if three_phase && all_phases {
        by_phase(machine, &readings, profile)
    } else {
        profile
    }
}

/// Current as read, the mean of the phases it is on; power by the list's power factor.
fn draw(site: &Site, machine: &Machine, reading: &ClampReading) -> MachineDraw {
    let on: Vec<f64> = match machine.connection {
        Connection::ToNeutral(phase) => reading.phases_a[phase.index()].into_iter().collect(),
        Connection::Between(pair) => {
            let (one, other) = pair.phases();
            [one, other]
                .into_iter()
                .filter_map(|phase| reading.phases_a[phase.index()])
                .collect()
        }
        _ => reading.phases_a.into_iter().flatten().collect(),
    };
    let amps = on.iter().sum::<f64>() / on.len().max(1) as f64;
    let fundamental = amps / (1.0 + machine.third_harmonic.powi(2)).sqrt();
    let kva = fundamental * voltage_across(site, machine) / 1000.0;
    MachineDraw {
        power: angle_of(machine).conj() * kva * machine.flow(),
        current_a: Some(amps),
    }
}

/// Direction of the current against its voltage, lagging negative.
fn angle_of(machine: &Machine) -> Complex64 {
    let reactive = (1.0 - machine.power_factor.powi(2)).max(0.0).sqrt();
    let sign = if machine.leading { 1.0 } else { -1.0 };
    Complex64::new(machine.power_factor, sign * reactive)
}

/// A three-phase machine read on all its phases in every round.
fn by_phase(machine: &Machine, readings: &[Option<&ClampReading>], profile: Profile) -> Profile {
    let fundamental = 1.0 / (1.0 + machine.third_harmonic.powi(2)).sqrt();
    let series = [0, 1, 2].map(|k| {
        let amps = readings.iter().map(|reading| {
            reading
                .and_then(|reading| reading.phases_a[k])
                .unwrap_or(0.0)
        });
        Some(
            amps.map(|amps| angle_of(machine) * amps * fundamental)
                .collect(),
        )
    });
    Profile {
        currents: Currents::new(series),
        phases_differ: true,
        ..profile
    }
}

/// A board, circuit or the supply as read; where a round lacks it, the listed machines below it.
pub(crate) fn node(
    site: &Site,
    logs: &Logs,
    place: Node,
    profiles: &[Profile],
    notes: &mut Vec<String>,
) -> Option<MeasuredNode> {
    let readings: Vec<Option<&ClampReading>> = logs
        .rounds
        .iter()
        .map(|round| round.of(Measured::Node(place)))
        .collect();
    let read = readings.iter().flatten().count();
    if read == 0 {
        return None;
    }
    let name = site.node_name(place);
    if read < readings.len() {
        notes.push(format!(
            "`{name}` was read in {read} of {} rounds: the sum of its machines is used in the others",
            readings.len()
        ));
    }
    let listed = listed(site, place, profiles, readings.len());
    let phases = [0, 1, 2].map(|k| {
        readings
            .iter()
            .zip(&listed.phases[k])
            .map(|(reading, &listed)| match reading {
                Some(reading) => {
                    let direction = if listed.norm() > 1e-9 {
                        listed / listed.norm()
                    } else {
                        Complex64::ONE
                    };
                    direction * reading.phases_a[k].unwrap_or(0.0)
                }
                None => listed,
            })
            .collect::<Vec<Complex64>>()
    });
    let neutral_is_read = readings
        .iter()
        .flatten()
        .all(|reading| reading.neutral_a.is_some());
    let mut beyond = Vec::new();
    let mut neutral_alone = Vec::new();
    if neutral_is_read {
        let harmonics = |interval: usize| listed.beyond.get(interval).copied().unwrap_or(0.0);
        for (interval, reading) in readings.iter().enumerate() {
            let sum = phasor_sum(&phases, interval);
            let explained = sum.norm();
            let amps = reading.and_then(|reading| reading.neutral_a);
            if amps.is_some_and(|amps| amps < (1.0 - LARGEST_CONTRADICTION) * explained) {
                notes.push(format!(
                    "the neutral of `{name}` was read smaller than its phases leave ({:.1} A against {explained:.1} A): \
                     their power factors differ from the list's, or the readings are not of one moment",
                    amps.unwrap_or(0.0)
                ));
            }
            let (alone, rest) = amps.map_or_else(
                || (Complex64::ZERO, harmonics(interval)),
                |amps| unexplained(amps, sum),
            );
            neutral_alone.push(alone);
            beyond.push(rest);
        }
    }
    Some(MeasuredNode {
        phases,
        neutral_alone,
        neutral_is_measured: neutral_is_read,
        beyond,
        unresolved_square: [0.0; 4],
        figures: None,
    })
}

/// Currents of listed machines, and their third harmonics in the neutral. (A)
struct Listed {
    phases: [Vec<Complex64>; 3],
    beyond: Vec<f64>,
}

/// The machines below a place as they are connected now, in each round.
fn listed(site: &Site, place: Node, profiles: &[Profile], rounds: usize) -> Listed {
    let zero = || Some(vec![Complex64::ZERO; rounds]);
    let mut sum = Currents::new([zero(), zero(), zero()]);
    let mut beyond = Vec::new();
    for (machine, profile) in profiles.iter().enumerate() {
        if !site.is_within(site.machines[machine].tapped_off, place) {
            continue;
        }
        if let Some(turn) = turn_of(connection_now(site, machine)) {
            sum.add_turned(&profile.currents, turn);
            add_third_harmonic(site, machine, profile, &mut beyond);
        }
    }
    Listed {
        phases: Phase::ALL.map(|phase| sum.series(phase.index()).unwrap_or_default().to_vec()),
        beyond,
    }
}
