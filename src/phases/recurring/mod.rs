//! The supply's log alone: steps that recur are matched to machines by size, power factor, phases and time of use.
//!
//! In: a log of three phases in minutes, and of each machine below it the rating, the power factor, the schedule and what
//! is known of its connection already. Out: for each machine the probabilities of its connections, and pairs of machines
//! that cannot be distinguished.
//!
//! The model. A machine either shows in the log as steps of one size, on and off, or it does not (too small, hidden by
//! others, regulated). Steps that recur may as well be those of a machine that is not listed, of any size at any time.
//! Which recurring step is which machine is drawn from the posterior of all machines at once (Gibbs sampling): two
//! machines of one size cannot both be the only step of that size.

mod likeness;
mod lone_steps;
mod matching;
mod ownership;
mod recurring_steps;

use std::collections::BTreeMap;

use crate::options::LoadOptions;
use crate::result::IndistinctLoads;
use likeness::Likeness;
use lone_steps::lone_steps;
use matching::Matching;
use metering::Logs;
use ownership::Candidate;
use recurring_steps::{RecurringStep, recurring_steps};
use site::{Connection, Site};

/// Intervals longer than this do not show a step of one machine. (s)
const LONGEST_S: i64 = 300;
/// A machine is said to be seen from this probability on.
const SEEN: f64 = 0.5;
/// Machines that cannot be distinguished: their connections are known together with this probability.
const TOGETHER: f64 = 0.9;
/// Seed of the draws.
const SEED: u64 = 20;

/// What recurring steps say of a machine.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct RecurringVerdict {
    /// Probability of each of its options.
    pub(crate) probabilities: Vec<f64>,
    /// The step that is probably its own, in words.
    pub(crate) basis: String,
}

/// Compares the recurring steps of each log with the machines below it. `known` are the probabilities of each machine's
/// options so far, and whether they rest on a meter of its own.
pub(crate) fn judge(
    site: &Site,
    logs: &Logs,
    options: &[Option<LoadOptions>],
    known: &[Option<(Vec<f64>, bool)>],
) -> (BTreeMap<usize, RecurringVerdict>, Vec<IndistinctLoads>) {
    let (mut found, mut indistinct) = (BTreeMap::new(), Vec::new());
    for (node, meter) in crate::metered::places_with_phases(site, logs) {
        let Some(log) = logs.of(meter) else { continue };
        if i64::from(log.table.interval_s()) > LONGEST_S {
            continue;
        }
        let below: Vec<usize> = (0..site.machines.len())
            .filter(|&machine| site.is_within(site.machines[machine].tapped_off, node))
            .filter(|&machine| !site.machines[machine].generates())
            .collect();
        let own = |machine: usize| {
            let nearest = crate::metered::node_above(site, logs, site.machines[machine].tapped_off);
            nearest == Some(meter) && matches!(known[machine], Some((_, false)))
        };
        if !below.iter().any(|&machine| own(machine)) {
            continue;
        }
        let (steps, with_lag) = lone_steps(site, log);
        let steps = recurring_steps(&steps);
        if steps.is_empty() {
            continue;
        }
        let likeness = Likeness::new(site, &log.table, &steps, with_lag);
        let candidates: Vec<Candidate> = below
            .iter()
            .map(|&machine| {
                let (connections, priors, circuit) = match (&options[machine], &known[machine]) {
                    (Some(own), Some((priors, _))) => {
                        (own.connections.clone(), priors.clone(), own.circuit)
                    }
                    _ => (vec![Connection::THREE_PHASE], vec![1.0], None),
                };
                likeness.candidate(machine, connections, priors, circuit)
            })
            .collect();
        let matching = Matching::drawn(&candidates, &steps, &likeness.unlisted(), SEED);
        for (at, &machine) in below.iter().enumerate() {
            let (step, share) = matching.most_likely(at);
            if own(machine) && share >= SEEN {
                found.insert(
                    machine,
                    RecurringVerdict {
                        probabilities: matching.probabilities[at].clone(),
                        basis: in_words(&steps[step], &site.meters[meter].id),
                    },
                );
            }
        }
        for (one, other, connections, probability) in matching.indistinct(&candidates, TOGETHER) {
            let (one, other) = (below[one], below[other]);
            if own(one) && own(other) {
                indistinct.push(IndistinctLoads {
                    machines: [one, other].map(|at| site.machines[at].name.clone()),
                    connections,
                    probability,
                });
            }
        }
    }
    (found, indistinct)
}

fn in_words(step: &RecurringStep, meter: &str) -> String {
    format!(
        "steps of {:.1} kW in the log of meter `{meter}`, {} times",
        step.size_kw,
        step.on + step.off
    )
}
