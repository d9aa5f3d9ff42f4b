//! Which recurring step is which machine.

use std::collections::BTreeMap;

use super::ownership::{MatchedMachine, Ownership};
use super::recurring_steps::RecurringStep;
use site::Connection;
use statistics::Random;

/// Chains, sweeps of each before draws count, and sweeps that count.
const STARTS: u64 = 4;
const SETTLING: usize = 100;
const DRAWS: usize = 500;
/// From this probability on a single machine is known, and no pair needs to be named.
const KNOWN: f64 = 0.95;
/// A pair is named where each of the two connections is at least so probable for one of them.
const EITHER: f64 = 0.1;

/// Means over the draws.
#[derive(Clone, Debug)]
pub(super) struct Matching {
    /// Of each machine, the probability of each of its options.
    pub(super) probabilities: Vec<Vec<f64>>,
    /// Of each machine, the share of the draws in which it is each of the steps.
    steps: Vec<Vec<f64>>,
    /// Of each draw, the option of each machine.
    drawn: Vec<Vec<u8>>,
}

impl Matching {
    /// Draws which machine is which step.
    pub(super) fn drawn(
        candidates: &[MatchedMachine],
        steps: &[RecurringStep],
        unlisted: &[f64],
        seed: u64,
    ) -> Matching {
        let mut groups: BTreeMap<(usize, usize), Vec<usize>> = BTreeMap::new();
        for (machine, own) in candidates.iter().enumerate() {
            let key = own.circuit.map_or((1, machine), |circuit| (0, circuit));
            groups.entry(key).or_default().push(machine);
        }
        let groups: Vec<Vec<usize>> = groups.into_values().collect();
        let alone = groups.iter().filter(|members| members.len() == 1);
        let singles: Vec<usize> = alone.flatten().copied().collect();
        let share = 1.0 / (STARTS as f64 * DRAWS as f64);
        let mut matching = Matching {
            probabilities: candidates
                .iter()
                .map(|own| vec![0.0; own.priors.len()])
                .collect(),
            steps: vec![vec![0.0; steps.len()]; candidates.len()],
            drawn: Vec::new(),
        };
        for start in 0..STARTS {
            let mut random = Random::new(seed ^ start.wrapping_mul(0x9E37_79B9_7F4A_7C15));
            let mut state = Ownership::new(candidates, unlisted, &mut random);
            for members in &groups {
                // One circuit has one phase.
                for &member in members {
                    state.option[member] = state.option[members[0]];
                }
            }
            for sweep in 0..SETTLING + DRAWS {
                for members in &groups {
                    state.redraw(members, &mut random);
                }
                state.exchange(&singles, &mut random);
                state.redraw_expected(&mut random);
                if sweep < SETTLING {
                    continue;
                }
                for machine in 0..candidates.len() {
                    matching.probabilities[machine][state.option[machine]] += share;
                    if let Some(step) = state.step[machine] {
                        matching.steps[machine][step] += share;
                    }
                }
                let options = state.option.iter().map(|&option| option as u8);
                matching.drawn.push(options.collect());
            }
        }
        matching
    }

    /// The step that a machine most probably is, and how probable it is that the machine shows any.
    pub(super) fn most_likely(&self, machine: usize) -> (usize, f64) {
        let own = &self.steps[machine];
        let best = (0..own.len()).fold(0, |best, at| if own[at] > own[best] { at } else { best });
        (best, own.iter().sum())
    }

    /// Pairs of machines whose connections are known together, but not which of them has which: the connections and their
    /// probability.
    pub(super) fn indistinct(
        &self,
        candidates: &[MatchedMachine],
        least: f64,
    ) -> Vec<(usize, usize, [Connection; 2], f64)> {
        let most = |machine: usize| {
            let own = &self.probabilities[machine];
            own.iter().copied().fold(0.0, f64::max)
        };
        let open: Vec<usize> = (0..candidates.len())
            .filter(|&machine| most(machine) < KNOWN)
            .collect();
        let mut found = Vec::new();
        for (at, &one) in open.iter().enumerate() {
            for &other in &open[at + 1..] {
                if candidates[one].connections != candidates[other].connections {
                    continue;
                }
                let mut counts: BTreeMap<(u8, u8), f64> = BTreeMap::new();
                for draw in &self.drawn {
                    let (a, b) = (draw[one], draw[other]);
                    *counts.entry((a.min(b), a.max(b))).or_default() +=
                        1.0 / self.drawn.len() as f64;
                }
                let best = counts.into_iter().max_by(|a, b| a.1.total_cmp(&b.1));
                let Some(((a, b), share)) = best else {
                    continue;
                };
                let either = |option: u8| {
                    let of = |machine: usize| self.probabilities[machine][usize::from(option)];
                    of(one) >= EITHER && of(other) >= EITHER
                };
                if a != b && share >= least && either(a) && either(b) {
                    let connections =
                        [a, b].map(|option| candidates[one].connections[usize::from(option)]);
                    found.push((one, other, connections, share));
                }
            }
        }
        found
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use electrical::Phase;

    /// Two machines that are alike and two steps that are alike, on L1 and L2: both are known together, neither alone.
    #[test]
    fn two_machines_alike_are_known_together() {
        let connections: Vec<Connection> = Phase::ALL.map(Connection::ToNeutral).to_vec();
        let candidate = MatchedMachine {
            connections: connections.clone(),
            priors: vec![1.0 / 3.0; 3],
            circuit: None,
            option: vec![Some(0), Some(1)],
            alone: vec![6.0; 2],
            merged: vec![-5.0; 2],
            hidden: -5.0,
        };
        let steps: Vec<RecurringStep> = connections[..2]
            .iter()
            .map(|&connection| RecurringStep {
                connection,
                size_kw: 2.0,
                size_kvar: 0.0,
                on: 20,
                off: 20,
                at_s: vec![0; 40],
            })
            .collect();
        let candidates = [candidate.clone(), candidate];
        let matching = Matching::drawn(&candidates, &steps, &[0.0; 2], 3);
        for own in &matching.probabilities {
            assert!((own[0] - 0.5).abs() < 0.1 && own[2] < 0.05, "{own:?}");
        }
        let pairs = matching.indistinct(&candidates, 0.9);
        let [(0, 1, found, share)] = pairs.as_slice() else {
            panic!("{pairs:?}")
        };
        assert_eq!(found[..], connections[..2]);
        assert!(*share > 0.9);
    }
}
