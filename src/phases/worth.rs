//! What it is worth to know the phase of a load.

use crate::result::{LoadPhase, PhaseResult};
use balance::{HeldBack, Settings, WorthKnowing};
use metering::Logs;
use site::{Connection, Node, Site};

/// Loads that are looked at, the largest first.
const MOST_LOADS: usize = 12;
/// Connections less probable than this are left out. (1)
const LEAST_PROBABILITY: f64 = 0.01;
/// Work of each search: the differences matter, not the proof.
const SEARCH_WORK: u64 = 2_000_000;

/// What it is worth to know the phase of each load that is in doubt, the most first. Other loads in doubt stay where they
/// are in every plan, and nothing is moved onto a conductor that is held back.
#[must_use]
pub fn worth_knowing(
    site: &Site,
    logs: &Logs,
    result: &PhaseResult,
    held_back: &[HeldBack],
) -> Vec<WorthKnowing> {
    worth_of(site, logs, result, held_back, MOST_LOADS)
}

/// The same of so many loads at most.
pub(crate) fn worth_of(
    site: &Site,
    logs: &Logs,
    result: &PhaseResult,
    held_back: &[HeldBack],
    most: usize,
) -> Vec<WorthKnowing> {
    let in_doubt = |load: &&LoadPhase| {
        !load.is_settled() && (load.listed.is_open() || load.probable != Some(load.listed))
    };
    let machine_of = |load: &LoadPhase| machine_of(site, load);
    let mut doubtful: Vec<(usize, &LoadPhase)> = result
        .loads
        .iter()
        .filter(in_doubt)
        .filter_map(|load| Some((machine_of(load)?, load)))
        .filter(|&(machine, _)| site.machines[machine].movable)
        .collect();
    if doubtful.is_empty() {
        return Vec::new();
    }
    let volts = site.supply.phase_voltage_v();
    let size = |machine: usize| site.machines[machine].rated_power(volts).norm();
    doubtful.sort_by(|a, b| size(b.0).total_cmp(&size(a.0)));
    let mut base = with_found_phases(site, result);
    for &(machine, _) in &doubtful {
        base.machines[machine].connection = Connection::Unknown;
    }
    let lowest = |site: &Site| lowest_neutral(site, logs, held_back);
    let Some(unknown) = lowest(&base) else {
        return Vec::new();
    };
    let mut worth: Vec<WorthKnowing> = doubtful
        .iter()
        .take(most)
        .filter_map(|&(machine, load)| {
            let (mut sum, mut share) = (0.0, 0.0);
            for option in &load.options {
                if option.probability < LEAST_PROBABILITY {
                    continue;
                }
                let mut known = base.clone();
                known.machines[machine].connection = option.connection;
                sum += option.probability * lowest(&known)?;
                share += option.probability;
            }
            let known = sum / share;
            Some(WorthKnowing {
                machine: load.machine.clone(),
                unknown_neutral_rms_a: unknown,
                known_neutral_rms_a: known,
                worth_a: (unknown - known).max(0.0),
            })
        })
        .collect();
    worth.sort_by(|a, b| b.worth_a.total_cmp(&a.worth_a));
    worth
}

/// Lowest neutral that a plan reaches with the phases that were found. (A)
pub(crate) fn corrected(
    site: &Site,
    logs: &Logs,
    result: &PhaseResult,
    held_back: &[HeldBack],
) -> Option<f64> {
    lowest_neutral(&with_found_phases(site, result), logs, held_back)
}

/// The site with every load that is certain enough where it was found, and its circuit with it.
fn with_found_phases(site: &Site, result: &PhaseResult) -> Site {
    let mut found = site.clone();
    for load in result.loads.iter().filter(|load| load.is_settled()) {
        let (Some(probable), Some(machine)) = (load.probable, machine_of(site, load)) else {
            continue;
        };
        found.machines[machine].connection = probable;
        if let Node::Circuit(circuit) = site.machines[machine].tapped_off
            && !matches!(site.circuits[circuit].phases, Connection::ThreePhase { .. })
        {
            found.circuits[circuit].phases = probable;
        }
    }
    found
}

fn machine_of(site: &Site, load: &LoadPhase) -> Option<usize> {
    let mut machines = site.machines.iter();
    machines.position(|machine| machine.name == load.machine)
}

fn lowest_neutral(site: &Site, logs: &Logs, held_back: &[HeldBack]) -> Option<f64> {
    let settings = Settings {
        held_back: held_back.to_vec(),
        curve_moves: 0,
        after_repair: false,
        search_work: SEARCH_WORK,
        proof_work: 0,
        ..Settings::default()
    };
    let found = balance::balance(site, logs, &settings).ok()?;
    Some(found.best_neutral_rms_a)
}
