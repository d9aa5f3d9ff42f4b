//! What it is worth to know the phase of a load.

use crate::result::{LoadPhase, PhaseResult, WorthKnowing};
use balance::Settings;
use metering::Logs;
use site::{Connection, Site};

/// Loads that are looked at, those in doubt first in the order of the list.
const MOST_LOADS: usize = 12;
/// Connections less probable than this are left out. (1)
const LEAST_PROBABILITY: f64 = 0.01;
/// Work of each search: the differences matter, not the proof.
const SEARCH_WORK: u64 = 2_000_000;

/// What it is worth to know the phase of each load that is in doubt, the most first. Other loads in doubt stay where they
/// are in every plan.
#[must_use]
pub fn worth_knowing(site: &Site, logs: &Logs, result: &PhaseResult) -> Vec<WorthKnowing> {
    let in_doubt = |load: &&LoadPhase| {
        !load.is_settled() && (load.listed.is_open() || load.probable != Some(load.listed))
    };
    let machine_of = |load: &LoadPhase| {
        let mut machines = site.machines.iter();
        machines.position(|machine| machine.name == load.machine)
    };
    let doubtful: Vec<(usize, &LoadPhase)> = result
        .loads
        .iter()
        .filter(in_doubt)
        .filter_map(|load| Some((machine_of(load)?, load)))
        .filter(|&(machine, _)| site.machines[machine].movable)
        .collect();
    let mut base = site.clone();
    for load in &result.loads {
        if let (true, Some(probable), Some(machine)) =
            (load.is_settled(), load.probable, machine_of(load))
        {
            base.machines[machine].connection = probable;
        }
    }
    for &(machine, _) in &doubtful {
        base.machines[machine].connection = Connection::Unknown;
    }
    let settings = Settings {
        curve_moves: 0,
        search_work: SEARCH_WORK,
        proof_work: 0,
        ..Settings::default()
    };
    let lowest = |site: &Site| {
        let found = balance::balance(site, logs, &settings).ok()?;
        Some(found.best_neutral_rms_a)
    };
    let Some(unknown) = lowest(&base) else {
        return Vec::new();
    };
    let mut worth: Vec<WorthKnowing> = doubtful
        .iter()
        .take(MOST_LOADS)
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
