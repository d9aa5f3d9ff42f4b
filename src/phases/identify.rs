//! All sources together.

use crate::metered::{self, MeteredVerdict};
use crate::options::{LoadOptions, options_of};
use crate::result::{LoadPhase, PhaseOption, PhaseResult, PhaseStatus};
use metering::Logs;
use site::{Connection, Site};

/// From this probability on a phase counts as found.
const SETTLED: f64 = 0.95;

/// The phases of all loads on one or two phases.
#[must_use]
pub fn identify(site: &Site, logs: &Logs) -> PhaseResult {
    let options: Vec<Option<LoadOptions>> = (0..site.machines.len())
        .map(|machine| options_of(site, machine))
        .collect();
    let metered = metered::judge(site, logs, &options);
    let mut notes = Vec::new();
    let no_phases = site
        .meter_of(site::Measured::SUPPLY)
        .and_then(|meter| logs.of(meter))
        .is_none_or(|log| log.phasors().is_none());
    if no_phases {
        notes.push("no log of the supply has the power or current of each phase".to_owned());
    }
    let loads = options
        .iter()
        .enumerate()
        .filter_map(|(machine, options)| {
            let options = options.as_ref()?;
            let evidence = Evidence {
                metered: metered.get(&machine),
            };
            Some(load_phase(site, machine, options, &evidence))
        })
        .collect();
    PhaseResult { loads, notes }
}

/// What is known of one load.
struct Evidence<'e> {
    metered: Option<&'e MeteredVerdict>,
}

fn load_phase(
    site: &Site,
    machine: usize,
    options: &LoadOptions,
    evidence: &Evidence<'_>,
) -> LoadPhase {
    let own = &site.machines[machine];
    let probabilities = evidence
        .metered
        .map_or(&options.priors, |metered| &metered.probabilities);
    let mut all: Vec<PhaseOption> = options
        .connections
        .iter()
        .zip(probabilities)
        .map(|(&connection, &probability)| PhaseOption {
            connection,
            probability,
        })
        .collect();
    all.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    let mut basis = Vec::new();
    if let Some(metered) = evidence.metered {
        basis.push(format!(
            "log compared with meter `{}` over {} intervals of {}",
            site.meters[metered.meter].id,
            metered.rows,
            length(metered.interval_s)
        ));
    }
    let is_measured = !basis.is_empty();
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
    if !is_measured {
        basis.push(
            if listed_gives {
                "machine list alone"
            } else {
                "nothing measured"
            }
            .to_owned(),
        );
    }
    let known = first.filter(|_| is_measured || listed_gives);
    let to_settle = match status {
        PhaseStatus::InDoubt => Some(
            "switch it on and off a few times while the supply is logged, and write the times into switching.csv"
                .to_owned(),
        ),
        PhaseStatus::NotMeasured => Some(
            "a switching test (switching.csv), a clamp reading at it (readings.csv), or a meter of its own".to_owned(),
        ),
        _ => None,
    };
    LoadPhase {
        machine: own.name.clone(),
        listed: own.connection,
        probable: known.map(|option| option.connection),
        probability: known.map(|option| option.probability),
        status,
        basis: basis.join("; "),
        options: all,
        to_settle,
        same_as: Vec::new(),
        clock_behind_s: evidence.metered.map(|metered| metered.late_s),
    }
}

fn length(seconds: i64) -> String {
    if seconds % 60 == 0 {
        format!("{} min", seconds / 60)
    } else {
        format!("{seconds} s")
    }
}

/// Puts the phases that are found into the machine list where it says `unknown`; returns what was put where, and what
/// stays unknown.
pub fn settle(site: &mut Site, logs: &Logs) -> Vec<LoadPhase> {
    let is_unknown = |site: &Site, machine: usize| {
        site.machines[machine].connection == Connection::Unknown
            && options_of(site, machine).is_some_and(|own| own.listed == Connection::Unknown)
    };
    let unknown: Vec<usize> = (0..site.machines.len())
        .filter(|&machine| is_unknown(site, machine))
        .collect();
    if unknown.is_empty() {
        return Vec::new();
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
    all
}
