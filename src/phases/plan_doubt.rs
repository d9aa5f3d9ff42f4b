//! What a plan is worth where the phase of some loads is in doubt.

use crate::result::{LoadPhase, PhaseResult, PhaseStatus};
use crate::worth::{corrected, worth_of};
use balance::{BalanceResult, DoubtfulPhases, PlanElsewhere, Standing};
use metering::Logs;
use site::{Connection, Site};
use statistics::{Random, quantile};

/// Draws of where the loads are, and their seed.
const DRAWS: usize = 200;
const SEED: u64 = 7;
/// Loads of which it is calculated what knowing their phase is worth, the largest first.
const MOST_LOADS: usize = 4;

/// Loads whose phase the plan cannot rely on: unknown, in doubt, or not as listed.
fn is_doubtful(load: &LoadPhase) -> bool {
    let is_known = load.is_settled() && load.probable == Some(load.listed);
    let is_unseen = load.probability.is_none() && !load.listed.is_open();
    !is_known && !is_unseen
}

/// How far the plan's neutral depends on loads whose phase is in doubt, and which of them to identify first; `None` where
/// there are none.
#[must_use]
pub fn plan_doubt(
    site: &Site,
    logs: &Logs,
    result: &PhaseResult,
    plan: &BalanceResult,
) -> Option<DoubtfulPhases> {
    let machine_of = |load: &LoadPhase| {
        let mut machines = site.machines.iter();
        machines.position(|machine| machine.name == load.machine)
    };
    let doubtful: Vec<(usize, &LoadPhase)> = result
        .loads
        .iter()
        .filter(|load| is_doubtful(load))
        .filter_map(|load| Some((machine_of(load)?, load)))
        // What was unknown and is found is in the list by now.
        .filter(|(machine, load)| load.probable != Some(site.machines[*machine].connection))
        .collect();
    if doubtful.is_empty() {
        return None;
    }
    let standing = Standing::new(site, logs).ok();
    let elsewhere = standing
        .as_ref()
        .and_then(|standing| PlanElsewhere::new(standing, site, &plan.allocation));
    let range = elsewhere.map(|plan| drawn_range(&plan, &doubtful));
    Some(DoubtfulPhases {
        machines: doubtful
            .iter()
            .map(|(_, load)| load.machine.clone())
            .collect(),
        after_neutral_rms_mean_a: range.map(|range| range[0]),
        after_neutral_rms_low_a: range.map(|range| range[1]),
        after_neutral_rms_high_a: range.map(|range| range[2]),
        corrected_neutral_rms_a: doubtful
            .iter()
            .any(|(_, load)| load.status == PhaseStatus::Elsewhere)
            .then(|| corrected(site, logs, result, &plan.held_back))
            .flatten(),
        identify_first: worth_of(site, logs, result, &plan.held_back, MOST_LOADS),
    })
}

/// Mean and 95 % range of the neutral after the moves.
fn drawn_range(plan: &PlanElsewhere<'_>, doubtful: &[(usize, &LoadPhase)]) -> [f64; 3] {
    let moved: Vec<&(usize, &LoadPhase)> = doubtful
        .iter()
        .filter(|(machine, _)| plan.moves(*machine))
        .collect();
    if moved.is_empty() {
        return [plan.neutral_rms_a(&[]); 3];
    }
    let mut random = Random::new(SEED);
    let drawn: Vec<f64> = (0..DRAWS)
        .map(|_| {
            let at: Vec<(usize, Connection)> = moved
                .iter()
                .map(|(machine, load)| {
                    let shares: Vec<f64> = load
                        .options
                        .iter()
                        .map(|option| option.probability)
                        .collect();
                    (*machine, load.options[random.choose(&shares)].connection)
                })
                .collect();
            plan.neutral_rms_a(&at)
        })
        .collect();
    let mean = drawn.iter().sum::<f64>() / drawn.len() as f64;
    let at = |share| quantile(&drawn, share).unwrap_or(mean);
    [mean, at(0.025), at(0.975)]
}
