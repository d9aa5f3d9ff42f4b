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
use metering::{Logs, MeterLog};
use ownership::MatchedMachine;
use recurring_steps::{RecurringStep, recurring_steps};
use site::{Connection, Node, Site};

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
    let mut found: BTreeMap<usize, RecurringVerdict> = BTreeMap::new();
    let mut indistinct = Vec::new();
    // Short intervals show more; of equal ones the place nearer to the loads, which has fewer others.
    let mut places: Vec<(i64, usize, Node, &MeterLog)> =
        crate::metered::places_with_phases(site, logs)
            .into_iter()
            .filter_map(|(node, meter)| {
                let log = logs.of(meter)?;
                let above = std::iter::successors(Some(node), |&at| site.parent(at)).count();
                Some((i64::from(log.table.interval_s()), above, node, log))
            })
            .filter(|(interval_s, ..)| *interval_s <= LONGEST_S)
            .collect();
    places.sort_by_key(|&(interval_s, above, ..)| (interval_s, std::cmp::Reverse(above)));
    for (_, _, node, log) in places {
        let meter = log.meter;
        let below: Vec<usize> = (0..site.machines.len())
            .filter(|&machine| site.is_within(site.machines[machine].tapped_off, node))
            .filter(|&machine| !site.machines[machine].generates())
            .collect();
        let is_open: Vec<bool> = (0..site.machines.len())
            .map(|machine| {
                matches!(known[machine], Some((_, false))) && !found.contains_key(&machine)
            })
            .collect();
        let own = |machine: usize| is_open[machine];
        if !below.iter().any(|&machine| own(machine)) {
            continue;
        }
        let (mut steps, with_lag) = lone_steps(site, log);
        // What was moved since shows where it was.
        if let Some(work) = site.works.last() {
            steps.retain(|step| step.at_s >= work.done.timestamp());
        }
        let steps = recurring_steps(&steps);
        if steps.is_empty() {
            continue;
        }
        let likeness = Likeness::new(site, &log.table, &steps, with_lag);
        let listed = |machine: usize| {
            options[machine]
                .as_ref()
                .is_some_and(|own| !own.listed.is_open())
        };
        let candidates: Vec<MatchedMachine> = below
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
                        basis: in_words(&steps[step], &site.meters[meter].id, listed(machine)),
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

fn in_words(step: &RecurringStep, meter: &str, listed: bool) -> String {
    format!(
        "{}steps of {:.1} kW in the log of meter `{meter}`, {} times",
        if listed { "machine list, and " } else { "" },
        step.size_kw,
        step.on + step.off
    )
}
