//! Figures of a place under a plan: exact root mean squares, the current that is not passed for 95 % of the time, and
//! the range that list and readings leave open.

use num_complex::Complex64;
use schemars::JsonSchema;
use serde::Serialize;

use super::ExpectedLoads;
use crate::answer::figures::{NodeFigures, current_unbalance_pct};
use electrical::{Phase, is_above_limit};
use estimation::{Random, mean_square};
use statistics::quantile;

/// States of the workshop drawn by chance, over all parts of the week.
const STATES: usize = 12_000;
/// Most states of one part of the week.
const MOST_STATES: usize = 4_000;
/// Seed of the states, the same for every plan so that plans differ by their moves alone.
const SEED: u64 = 2;
/// The share of the time for which a current is below the expected maximum.
const BELOW: f64 = 0.95;
/// The ends of the range.
const RANGE: [f64; 2] = [0.025, 0.975];
/// Part of the week that is too short to have a maximum of its own.
const SHORT: f64 = 0.005;

/// What a place would carry with all that is connected to it on at once.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct ConnectedLoad {
    /// `supply`, or the board's or circuit's id.
    pub id: String,
    /// All loads on, L1, L2, L3, as they are now. (A)
    pub all_on_a: [f64; 3],
    /// Not passed for 95 % of the time in the busiest hours, now. (A)
    pub expected_max_a: [f64; 3],
    /// The same after the moves. (A)
    pub expected_max_after_a: [f64; 3],
    /// Limit per phase: as declared, or the rated current of the device. (A)
    pub phase_limit_a: Option<f64>,
}

/// Currents of one place in the states of one part of the week. (A)
#[derive(Clone, Default)]
struct Seen {
    phases: [Vec<f64>; 3],
    neutral: Vec<f64>,
}

impl ExpectedLoads {
    /// Figures of all places of the site under a plan.
    pub(crate) fn figures(
        &self,
        turns: &[Option<usize>],
        limits: &[Option<f64>],
    ) -> Vec<NodeFigures> {
        let states = self.states(turns, limits.len());
        limits
            .iter()
            .enumerate()
            .map(|(place, limit)| self.figures_at(place, *limit, turns, &states))
            .collect()
    }

    fn figures_at(
        &self,
        place: usize,
        limit: Option<f64>,
        turns: &[Option<usize>],
        states: &[Vec<Seen>],
    ) -> NodeFigures {
        let (phase_squares, neutral_square) = self.mean_squares(place, turns);
        let phase_rms_a = phase_squares.map(f64::sqrt);
        let most = |series: &dyn Fn(&Seen) -> &Vec<f64>| {
            let parts = states.iter().zip(&self.hours);
            parts
                .filter(|(_, hours)| hours.share > SHORT)
                .filter_map(|(seen, _)| quantile(series(&seen[place]), BELOW))
                .fold(0.0, f64::max)
        };
        let over = |k: usize| {
            limit.map_or(0, |limit| {
                let is_over: Vec<bool> = states
                    .iter()
                    .map(|seen| {
                        quantile(&seen[place].phases[k], BELOW)
                            .is_some_and(|amps| is_above_limit(amps, limit))
                    })
                    .collect();
                self.cases
                    .iter()
                    .filter(|(hours, _)| is_over[*hours])
                    .count()
            })
        };
        let range = self.range(place, turns);
        NodeFigures {
            neutral_rms_a: neutral_square.sqrt(),
            neutral_rms_low_a: range.map_or(neutral_square.sqrt(), |range| range[0]),
            neutral_rms_high_a: range.map_or(neutral_square.sqrt(), |range| range[1]),
            neutral_p95_a: self.p95(place, states),
            neutral_max_a: most(&|seen| &seen.neutral),
            phase_max_a: [0, 1, 2].map(|k| most(&|seen| &seen.phases[k])),
            phase_rms_a,
            current_unbalance_pct: current_unbalance_pct(phase_rms_a),
            intervals_over_limit: [0, 1, 2].map(over),
        }
    }

    /// Means over the intervals of the squares of the phases and of the neutral. (A²)
    fn mean_squares(&self, place: usize, turns: &[Option<usize>]) -> ([f64; 3], f64) {
        let here: Vec<usize> = (0..self.loads.len())
            .filter(|&load| self.is_below(load, place))
            .collect();
        let mut known = std::collections::HashMap::new();
        let (mut phases, mut neutral) = ([0.0; 3], 0.0);
        for &case in &self.cases {
            let squares = known.entry(case).or_insert_with(|| {
                let draw = self.draw_of(case.1);
                let (mut sums, mut thirds) = ([Complex64::ZERO; 3], [0.0; 3]);
                let mut varying = [0.0; 3];
                let mut of_neutral = 0.0;
                for &load in here.iter().filter(|&&load| self.runs(case.0, load)) {
                    let own = &self.loads[load];
                    let turn = turns[load].unwrap_or(own.turns.first());
                    let mean = draw.on[load] * draw.share[load];
                    let variance = self.variance(draw, load);
                    for position in 0..3 {
                        let Some(amps) = own.on_a[position] else {
                            continue;
                        };
                        let phase = (position + turn) % 3;
                        let third = own.third_harmonic * amps.norm();
                        sums[phase] += amps * mean;
                        thirds[phase] += third * mean;
                        varying[phase] += variance * (amps.norm_sqr() + third * third);
                    }
                    let third = estimation::third_of(own);
                    of_neutral +=
                        variance * (estimation::neutral_of(own, turn).norm_sqr() + third * third);
                }
                let common = Phase::ALL.map(|phase| phase.direction() * sums[phase.index()]);
                let third: f64 = thirds.iter().sum();
                let neutral =
                    common.iter().sum::<Complex64>().norm_sqr() + third * third + of_neutral;
                let phases =
                    [0, 1, 2].map(|k| sums[k].norm_sqr() + thirds[k] * thirds[k] + varying[k]);
                (phases, neutral)
            });
            for (sum, square) in phases.iter_mut().zip(squares.0) {
                *sum += square;
            }
            neutral += squares.1;
        }
        let count = self.cases.len().max(1) as f64;
        (phases.map(|sum| sum / count), neutral / count)
    }

    /// The neutral's root mean square in each draw. (A)
    pub(crate) fn neutral_of_draws(&self, place: usize, turns: &[Option<usize>]) -> Vec<f64> {
        let here: Vec<bool> = (0..self.loads.len())
            .map(|load| self.is_below(load, place))
            .collect();
        let draws = self.estimate.draws.iter();
        draws
            .map(|draw| {
                let each = self.from_time_to_time;
                mean_square(&self.loads, draw, turns, &self.hours, each, |load| {
                    here[load]
                })
                .sqrt()
            })
            .collect()
    }

    fn range(&self, place: usize, turns: &[Option<usize>]) -> Option<[f64; 2]> {
        let all = self.neutral_of_draws(place, turns);
        let [low, high] = RANGE.map(|share| quantile(&all, share));
        Some([low?, high?])
    }

    /// Over all hours, by their part of the week. (A)
    fn p95(&self, place: usize, states: &[Vec<Seen>]) -> f64 {
        let mut all: Vec<(f64, f64)> = Vec::new();
        for (seen, hours) in states.iter().zip(&self.hours) {
            let neutral = &seen[place].neutral;
            let weight = hours.share / neutral.len().max(1) as f64;
            all.extend(neutral.iter().map(|&amps| (amps, weight)));
        }
        all.sort_by(|one, other| one.0.total_cmp(&other.0));
        let mut below = 0.0;
        for (amps, weight) in &all {
            below += weight;
            if below >= BELOW - 1e-9 {
                return *amps;
            }
        }
        all.last().map_or(0.0, |(amps, _)| *amps)
    }

    /// States of the workshop by chance: for each part of the week and each place, the currents.
    fn states(&self, turns: &[Option<usize>], places: usize) -> Vec<Vec<Seen>> {
        let count = (STATES / self.hours.len().max(1)).clamp(200, MOST_STATES);
        let paths: Vec<Vec<usize>> = (0..self.loads.len())
            .map(|load| {
                (0..places)
                    .filter(|&place| self.is_below(load, place))
                    .collect()
            })
            .collect();
        let mut random = Random::new(SEED);
        (0..self.hours.len())
            .map(|hours| {
                let mut seen = vec![Seen::default(); places];
                for state in 0..count {
                    let draw = self
                        .is_read()
                        .then(|| state % self.estimate.draws.len().max(1));
                    let draw = self.draw_of(draw);
                    let mut sums = vec![([Complex64::ZERO; 3], [0.0; 3], 0.0); places];
                    for (load, path) in paths.iter().enumerate() {
                        // Drawn whether it runs or not, so that all plans see the same states.
                        let (is_on, varies) = (random.share() < draw.on[load], random.normal());
                        if !is_on || !self.runs(hours, load) {
                            continue;
                        }
                        let share = draw.share[load] + self.from_time_to_time * varies;
                        let own = &self.loads[load];
                        let turn = turns[load].unwrap_or(own.turns.first());
                        for (position, amps) in own.on_a.iter().enumerate() {
                            let Some(amps) = amps.map(|amps| amps * share.max(0.0)) else {
                                continue;
                            };
                            let phase = (position + turn) % 3;
                            let third = own.third_harmonic * amps.norm();
                            for &place in path {
                                let sum = &mut sums[place];
                                sum.0[phase] += amps;
                                sum.1[phase] += third;
                                sum.2 += third;
                            }
                        }
                    }
                    for (seen, (phases, thirds, third)) in seen.iter_mut().zip(sums) {
                        let common =
                            Phase::ALL.map(|phase| phase.direction() * phases[phase.index()]);
                        for k in 0..3 {
                            seen.phases[k].push(phases[k].norm().hypot(thirds[k]));
                        }
                        seen.neutral
                            .push(common.iter().sum::<Complex64>().norm().hypot(third));
                    }
                }
                seen
            })
            .collect()
    }

    /// All that is connected below a place, on at once, now. (A)
    pub(crate) fn all_on(&self, place: usize) -> [f64; 3] {
        let (mut sums, mut thirds) = ([Complex64::ZERO; 3], [0.0; 3]);
        for load in (0..self.estimate.listed).filter(|&load| self.is_below(load, place)) {
            let own = &self.loads[load];
            for (position, amps) in own.on_a.iter().enumerate() {
                let Some(amps) = amps else { continue };
                let phase = (position + own.turns.first()) % 3;
                sums[phase] += amps;
                thirds[phase] += own.third_harmonic * amps.norm();
            }
        }
        [0, 1, 2].map(|k| sums[k].norm().hypot(thirds[k]))
    }
}
