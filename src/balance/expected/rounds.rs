//! Each round of readings as read, and as it would have been after the plan.

use chrono::{DateTime, Utc};
use num_complex::Complex64;
use schemars::JsonSchema;
use serde::Serialize;

use super::ExpectedLoads;
use crate::pose::measured::unexplained;
use electrical::Phase;
use metering::Logs;
use site::{Measured, Node};
use statistics::quantile;

/// The supply in one round.
#[derive(Clone, Copy, Debug, PartialEq, JsonSchema, Serialize)]
pub struct RoundState {
    /// L1, L2, L3: as read where they were, else by the loads. (A)
    pub phase_a: [f64; 3],
    /// Neutral: as read where it was, else by the loads. (A)
    pub neutral_a: f64,
    /// 95 % are above this. (A)
    pub neutral_low_a: f64,
    /// 95 % are below this. (A)
    pub neutral_high_a: f64,
}

/// A round of readings: the supply as it was and as it would have been.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct RoundFigures {
    /// When it was read.
    #[serde(serialize_with = "units::serial::utc")]
    pub at: DateTime<Utc>,
    /// Was the supply's neutral read? Else `before` has it by the loads.
    pub neutral_is_read: bool,
    /// As read.
    pub before: RoundState,
    /// The same loads after the moves.
    pub after: RoundState,
}

/// The supply in each round, before and after a plan.
pub(crate) fn rounds(
    logs: &Logs,
    expected: &ExpectedLoads,
    turns: &[Option<usize>],
) -> Vec<RoundFigures> {
    logs.rounds
        .iter()
        .enumerate()
        .map(|(index, round)| {
            let read = round.of(Measured::Node(Node::Supply));
            let neutral = read.and_then(|read| read.neutral_a);
            let phases = read.map_or([None; 3], |read| read.phases_a);
            let before = expected.round_state(index, &vec![None; turns.len()], neutral);
            let after = expected.round_state(index, turns, neutral);
            RoundFigures {
                at: round.at,
                neutral_is_read: neutral.is_some(),
                before: RoundState {
                    phase_a: [0, 1, 2].map(|k| phases[k].map_or(before.phase_a[k], f64::abs)),
                    ..before
                },
                after,
            }
        })
        .collect()
}

impl ExpectedLoads {
    /// The supply in a round under a plan; what the loads do not explain of a neutral that was read stays in it.
    fn round_state(&self, round: usize, turns: &[Option<usize>], read: Option<f64>) -> RoundState {
        let states: Vec<([f64; 3], f64)> = self
            .estimate
            .draws
            .iter()
            .map(|draw| {
                let sums = |turns: &dyn Fn(usize) -> usize| {
                    let (mut phases, mut thirds) = ([Complex64::ZERO; 3], [0.0; 3]);
                    for (load, &share) in draw.in_round[round].iter().enumerate() {
                        for (phase, amps, third) in self.conductors(load, Some(turns(load))) {
                            phases[phase] += amps * share;
                            thirds[phase] += third * share;
                        }
                    }
                    (phases, thirds)
                };
                let neutral = |phases: &[Complex64; 3]| -> Complex64 {
                    let turned = Phase::ALL.into_iter().zip(phases);
                    turned.map(|(phase, amps)| phase.direction() * amps).sum()
                };
                let (was, thirds) = sums(&|load| draw.turns[load]);
                let third: f64 = thirds.iter().sum();
                // Third harmonics stay in the neutral wherever the loads are.
                let (alone, beyond) = match read {
                    Some(amps) => unexplained(amps, neutral(&was)),
                    None => (Complex64::ZERO, third),
                };
                let (is, thirds) = sums(&|load| turns[load].unwrap_or(draw.turns[load]));
                let phases = [0, 1, 2].map(|k| is[k].norm().hypot(thirds[k]));
                (phases, (neutral(&is) + alone).norm().hypot(beyond))
            })
            .collect();
        let count = states.len().max(1) as f64;
        let neutrals: Vec<f64> = states.iter().map(|(_, neutral)| *neutral).collect();
        let mean = neutrals.iter().sum::<f64>() / count;
        let [low, high] = [0.025, 0.975].map(|share| quantile(&neutrals, share).unwrap_or(mean));
        RoundState {
            phase_a: [0, 1, 2]
                .map(|k| states.iter().map(|(phases, _)| phases[k]).sum::<f64>() / count),
            neutral_a: mean,
            neutral_low_a: low,
            neutral_high_a: high,
        }
    }
}
