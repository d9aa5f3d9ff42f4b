//! All sources together.

use std::collections::{BTreeMap, BTreeSet};

use crate::metered::{self, MeteredVerdict, VoltageVerdict};
use crate::options::{LoadOptions, options_of};
use crate::recurring;
use crate::result::{IndistinctLoads, LoadPhase, PhaseOption, PhaseResult, PhaseStatus};
use crate::steps::{self, SteppedVerdict};
use metering::Logs;
use site::{Connection, Node, Site};

/// From this probability on a phase counts as found.
const SETTLED: f64 = 0.95;
/// Beyond this probability readings by hand can add nothing.
const CERTAIN: f64 = 0.99;
/// A log that changes the odds between two connections by less shows nothing of the load: a factor of 2, as a logarithm.
const SHOWS: f64 = std::f64::consts::LN_2;
/// Readings that change a probability by less do not show the load.
const SHOWN: f64 = 0.1;

/// The phases of all loads on one or two phases.
#[must_use]
pub fn identify(site: &Site, logs: &Logs) -> PhaseResult {
    let options: Vec<Option<LoadOptions>> = (0..site.machines.len())
        .map(|machine| options_of(site, machine))
        .collect();
    let metered = metered::judge(site, logs, &options);
    let voltages = metered::judge_voltages(site, logs, &options);
    let stepped = together(&options, steps::judge(site, logs, &options));
    let mut notes = Vec::new();
    let no_phases = site
        .meter_of(site::Measured::SUPPLY)
        .and_then(|meter| logs.of(meter))
        .is_none_or(|log| log.phasors().is_none());
    if no_phases {
        notes.push("no log of the supply has the power or current of each phase".to_owned());
    }
    let mut known: Vec<Option<KnownPhase>> = options
        .iter()
        .enumerate()
        .map(|(machine, options)| {
            let metered = metered.get(&machine);
            Some(KnownPhase::of(
                site,
                options.as_ref()?,
                metered,
                stepped[machine].as_ref(),
                voltages.get(&machine),
            ))
        })
        .collect();
    let indistinct = by_recurring_steps(site, logs, &options, &mut known);
    by_readings(site, logs, &options, &mut known);
    let loads: Vec<LoadPhase> = options
        .iter()
        .zip(known)
        .enumerate()
        .filter_map(|(machine, (options, known))| {
            Some(load_phase(site, machine, options.as_ref()?, known?))
        })
        .collect();
    notes.extend(circuits_elsewhere(site, &loads));
    PhaseResult {
        loads,
        indistinct,
        worth_knowing: Vec::new(),
        notes,
    }
}

/// Circuits of one or two phases that are elsewhere than site.toml has them.
fn circuits_elsewhere(site: &Site, loads: &[LoadPhase]) -> Vec<String> {
    let mut notes = Vec::new();
    for load in loads
        .iter()
        .filter(|load| load.status == PhaseStatus::Elsewhere)
    {
        let machine = site
            .machines
            .iter()
            .find(|machine| machine.name == load.machine);
        let Some(Node::Circuit(circuit)) = machine.map(|machine| machine.tapped_off) else {
            continue;
        };
        let circuit = &site.circuits[circuit];
        let (Some(probable), false) = (
            load.probable,
            matches!(circuit.phases, Connection::ThreePhase { .. }),
        ) else {
            continue;
        };
        let note = format!(
            "all that is on circuit `{}` is probably on {probable}: correct its `phases` in site.toml as well",
            circuit.id
        );
        if !notes.contains(&note) {
            notes.push(note);
        }
    }
    notes
}

/// What is known of one load.
struct KnownPhase {
    /// Of each of its options.
    probabilities: Vec<f64>,
    /// What was measured, in words; empty where nothing was.
    basis: Vec<String>,
    clock_behind_s: Option<f64>,
}

impl KnownPhase {
    /// By the list, then by its own log, else by switching tests, which are seen in the same log; then by its voltage.
    fn of(
        site: &Site,
        options: &LoadOptions,
        metered: Option<&MeteredVerdict>,
        stepped: Option<&SteppedVerdict>,
        voltage: Option<&VoltageVerdict>,
    ) -> KnownPhase {
        let mut known = KnownPhase {
            probabilities: options.priors.clone(),
            basis: Vec::new(),
            clock_behind_s: None,
        };
        if let Some(metered) = metered {
            known.probabilities.clone_from(&metered.probabilities);
            known.clock_behind_s = Some(metered.late_s);
        }
        if let Some(metered) = metered.filter(|_| known.is_shown(options)) {
            let rows = if metered.rows < metered.of_rows {
                format!("the latest {} of {}", metered.rows, metered.of_rows)
            } else {
                metered.rows.to_string()
            };
            known.basis.push(format!(
                "log compared with meter `{}` over {rows} intervals of {}",
                site.meters[metered.meter].id,
                length(metered.interval_s)
            ));
        }
        if let Some(stepped) = stepped.filter(|_| metered.is_none()) {
            known.probabilities = updated(&known.probabilities, &stepped.log_likelihood);
            if stepped.tests > 0 {
                let plural = if stepped.tests == 1 { "" } else { "s" };
                known
                    .basis
                    .push(format!("{} switching test{plural}", stepped.tests));
            }
            if stepped.scheduled > 0 && known.is_shown(options) {
                known
                    .basis
                    .push("steps at the times of its schedule, on the mean day".to_owned());
            }
        }
        if let Some(voltage) = voltage {
            known.probabilities = updated(&known.probabilities, &voltage.log_likelihood);
            known.basis.push(format!(
                "voltage compared with meter `{}` over {} intervals",
                site.meters[voltage.meter].id, voltage.rows
            ));
        }
        known
    }

    /// Did what was measured change the odds of any connection? A load that never ran shows nothing.
    fn is_shown(&self, options: &LoadOptions) -> bool {
        let changes = self.probabilities.iter().zip(&options.priors);
        let logs: Vec<f64> = changes.map(|(now, before)| (now / before).ln()).collect();
        let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let least = logs.iter().copied().fold(f64::INFINITY, f64::min);
        most - least > SHOWS
    }
}

/// Steps that recur in the log of the supply or a board, for loads without a meter; loads that cannot be distinguished.
fn by_recurring_steps(
    site: &Site,
    logs: &Logs,
    options: &[Option<LoadOptions>],
    known: &mut [Option<KnownPhase>],
) -> Vec<IndistinctLoads> {
    let before: Vec<Option<(Vec<f64>, bool)>> = known
        .iter()
        .map(|known| {
            let known = known.as_ref()?;
            Some((known.probabilities.clone(), known.clock_behind_s.is_some()))
        })
        .collect();
    let (found, indistinct) = recurring::judge(site, logs, options, &before);
    for (machine, verdict) in found {
        if let Some(known) = &mut known[machine] {
            known.probabilities = verdict.probabilities;
            known.basis.push(verdict.basis);
        }
    }
    indistinct
}

/// Rounds of clamp readings, all loads at once, for those that are not certain yet.
fn by_readings(
    site: &Site,
    logs: &Logs,
    options: &[Option<LoadOptions>],
    known: &mut [Option<KnownPhase>],
) {
    let mut before = BTreeMap::new();
    for (machine, (options, known)) in options.iter().zip(known.iter()).enumerate() {
        let (Some(options), Some(known)) = (options, known) else {
            continue;
        };
        let most = known.probabilities.iter().copied().fold(0.0, f64::max);
        if options.circuit.is_some() || most >= CERTAIN {
            continue;
        }
        // One kind of connection; which kind is not for the readings to say.
        let turns = [0, 1, 2].map(|turn: usize| known.probabilities[turn]);
        let sum: f64 = turns.iter().sum();
        before.insert(
            machine,
            (options.connections[0], turns.map(|share| share / sum)),
        );
    }
    let Some(after) = balance::turns_by_readings(site, logs, &before) else {
        return;
    };
    let rounds = logs.rounds.len();
    for (machine, turns) in after {
        let Some(known) = &mut known[machine] else {
            continue;
        };
        let sum: f64 = known.probabilities[..3].iter().sum();
        for (probability, turn) in known.probabilities.iter_mut().zip(turns) {
            *probability = sum * turn;
        }
        let (_, before) = before[&machine];
        let moved = (0..3).any(|turn| (turns[turn] - before[turn]).abs() > SHOWN);
        if moved {
            let plural = if rounds == 1 { "" } else { "s" };
            known
                .basis
                .push(format!("{rounds} round{plural} of clamp readings"));
        }
    }
}

fn load_phase(site: &Site, machine: usize, options: &LoadOptions, known: KnownPhase) -> LoadPhase {
    let own = &site.machines[machine];
    let mut all: Vec<PhaseOption> = options
        .connections
        .iter()
        .zip(known.probabilities)
        .map(|(&connection, probability)| PhaseOption {
            connection,
            // Sums of rounded shares may pass 1 by rounding.
            probability: probability.min(1.0),
        })
        .collect();
    all.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    let is_measured = !known.basis.is_empty();
    let listed_gives = !options.listed.is_open();
    let first = all.first().copied();
    let status = match first {
        Some(first) if is_measured && first.probability >= SETTLED => {
            if first.connection == options.listed {
                PhaseStatus::AsListed
            } else if listed_gives {
                PhaseStatus::Elsewhere
            } else {
                PhaseStatus::Found
            }
        }
        _ if is_measured => PhaseStatus::InDoubt,
        _ => PhaseStatus::NotMeasured,
    };
    let basis = match known.basis.as_slice() {
        [] if listed_gives && known.clock_behind_s.is_some() => {
            "machine list alone, assumed to be right: its own log does not show its phase"
                .to_owned()
        }
        [] if listed_gives => "machine list alone, assumed to be right".to_owned(),
        [] => "nothing measured".to_owned(),
        measured => measured.join("; "),
    };
    let probable = first.filter(|_| is_measured || listed_gives);
    let to_settle = match status {
        PhaseStatus::InDoubt => Some(
            "switch it on and off a few times while the supply is logged, and write the times into switching.csv"
                .to_owned(),
        ),
        PhaseStatus::NotMeasured => Some(
            "a switching test (switching.csv), a clamp reading at it (readings.csv), or a meter of its own"
                .to_owned(),
        ),
        _ => None,
    };
    LoadPhase {
        machine: own.name.clone(),
        listed: own.connection,
        probable: probable.map(|option| option.connection),
        // What the list alone is worth is assumed, not measured.
        probability: probable
            .filter(|_| is_measured)
            .map(|option| option.probability),
        status,
        basis,
        options: all,
        to_settle,
        clock_behind_s: known.clock_behind_s,
    }
}

/// Probabilities times likelihoods, made to add up to 1.
fn updated(before: &[f64], log_likelihood: &[f64]) -> Vec<f64> {
    let most = log_likelihood
        .iter()
        .copied()
        .fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = before
        .iter()
        .zip(log_likelihood)
        .map(|(before, log)| before * (log - most).exp())
        .collect();
    let sum: f64 = weights.iter().sum();
    weights.iter().map(|weight| weight / sum).collect()
}

/// Machines of one circuit of one or two phases share what was seen of any of them.
fn together(
    options: &[Option<LoadOptions>],
    mut stepped: Vec<Option<SteppedVerdict>>,
) -> Vec<Option<SteppedVerdict>> {
    let circuits: BTreeSet<usize> = options
        .iter()
        .flatten()
        .filter_map(|own| own.circuit)
        .collect();
    for circuit in circuits {
        let members: Vec<usize> = (0..options.len())
            .filter(|&machine| {
                options[machine]
                    .as_ref()
                    .is_some_and(|own| own.circuit == Some(circuit))
            })
            .collect();
        let sum = members
            .iter()
            .filter_map(|&machine| stepped[machine].clone())
            .reduce(|mut sum, one| {
                sum.tests += one.tests;
                sum.scheduled += one.scheduled;
                for (sum, log) in sum.log_likelihood.iter_mut().zip(one.log_likelihood) {
                    *sum += log;
                }
                sum
            });
        for machine in members {
            stepped[machine].clone_from(&sum);
        }
    }
    stepped
}

fn length(seconds: i64) -> String {
    if seconds % 60 == 0 {
        format!("{} min", seconds / 60)
    } else {
        format!("{seconds} s")
    }
}

/// Puts the phases that are found into the machine list where it says `unknown`. Returns the phases of all loads as the
/// list had them, and those of the loads that it called unknown; `None` where there are no such loads.
pub fn settle(site: &mut Site, logs: &Logs) -> Option<(PhaseResult, Vec<LoadPhase>)> {
    let is_unknown = |site: &Site, machine: usize| {
        site.machines[machine].connection == Connection::Unknown
            && options_of(site, machine).is_some_and(|own| own.listed == Connection::Unknown)
    };
    let unknown: Vec<usize> = (0..site.machines.len())
        .filter(|&machine| is_unknown(site, machine))
        .collect();
    if unknown.is_empty() {
        return None;
    }
    let found = identify(site, logs);
    let mut all = Vec::new();
    for machine in unknown {
        let name = &site.machines[machine].name;
        let Some(load) = found.loads.iter().find(|load| load.machine == *name) else {
            continue;
        };
        if let (true, Some(connection)) = (load.is_settled(), load.probable) {
            site.machines[machine].connection = connection;
        }
        all.push(load.clone());
    }
    Some((found, all))
}
