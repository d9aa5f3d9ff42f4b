//! Figures of a place under a plan: root mean squares, largest expected currents, and the range that list and readings
//! leave open.

use std::collections::HashMap;

use num_complex::Complex64;
use schemars::JsonSchema;
use serde::Serialize;

use super::ExpectedLoads;
use crate::answer::figures::{NodeFigures, current_unbalance_pct};
use electrical::is_above_limit;
use estimation::mean_square;
use statistics::quantile;

/// Part of the week that is too short to have a maximum of its own.
const SHORT: f64 = 0.005;
/// The ends of the range.
const RANGE: [f64; 2] = [0.025, 0.975];

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

impl ExpectedLoads {
    /// Figures of all places of the site under a plan: `means` are those of the mean currents, whose neutral is exact;
    /// `limits` are those of the phases.
    pub(crate) fn figures(
        &self,
        turns: &[Option<usize>],
        means: Vec<NodeFigures>,
        limits: &[Option<f64>],
    ) -> Vec<NodeFigures> {
        let states = self.states(turns, limits.len());
        means
            .into_iter()
            .zip(limits)
            .enumerate()
            .map(|(place, (means, limit))| {
                let maxima = states.maxima(place);
                let over = |k: usize| {
                    let is_over = |hours: usize| {
                        limit.is_some_and(|limit| is_above_limit(maxima[hours][k], limit))
                    };
                    self.cases.iter().filter(|case| is_over(case.0)).count()
                };
                let most = self.largest(&maxima);
                let range = self.range(place, turns);
                let phase_rms_a = self.phase_squares(place, turns).map(f64::sqrt);
                NodeFigures {
                    neutral_rms_low_a: range.map_or(means.neutral_rms_a, |range| range[0]),
                    neutral_rms_high_a: range.map_or(means.neutral_rms_a, |range| range[1]),
                    neutral_p95_a: states.neutral_p95(place, &self.hours),
                    neutral_max_a: most[3],
                    phase_max_a: [most[0], most[1], most[2]],
                    phase_rms_a,
                    current_unbalance_pct: current_unbalance_pct(phase_rms_a),
                    intervals_over_limit: [0, 1, 2].map(over),
                    ..means
                }
            })
            .collect()
    }

    /// Largest expected currents of L1, L2, L3 at each of the first places under a plan. (A)
    pub(crate) fn phase_maxima(&self, turns: &[Option<usize>], places: usize) -> Vec<[f64; 3]> {
        let states = self.states(turns, places);
        (0..places)
            .map(|place| {
                let [l1, l2, l3, _] = self.largest(&states.maxima(place));
                [l1, l2, l3]
            })
            .collect()
    }

    /// The largest of the parts of the week that are not too short to have one. (A)
    fn largest(&self, maxima: &[[f64; 4]]) -> [f64; 4] {
        let parts = maxima.iter().zip(&self.hours);
        let long = parts.filter(|(_, hours)| hours.share > SHORT);
        long.fold([0.0; 4], |most, (own, _)| {
            [0, 1, 2, 3].map(|at| f64::max(most[at], own[at]))
        })
    }

    /// Means over the intervals of the squares of L1, L2, L3. (A²)
    fn phase_squares(&self, place: usize, turns: &[Option<usize>]) -> [f64; 3] {
        let here: Vec<usize> = (0..self.loads.len())
            .filter(|&load| self.is_below(load, place))
            .collect();
        let mut known = HashMap::new();
        let mut squares = [0.0; 3];
        for &case in &self.cases {
            let of_case = known.entry(case).or_insert_with(|| {
                let draw = self.draw_of(case.1);
                let (mut sums, mut thirds) = ([Complex64::ZERO; 3], [0.0; 3]);
                let mut varying = [0.0; 3];
                for &load in here.iter().filter(|&&load| self.runs(case.0, load)) {
                    let mean = draw.on[load] * draw.share[load];
                    let variance = self.variance(draw, load);
                    for (phase, amps, third) in self.conductors(load, turns[load]) {
                        sums[phase] += amps * mean;
                        thirds[phase] += third * mean;
                        varying[phase] += variance * (amps.norm_sqr() + third * third);
                    }
                }
                [0, 1, 2].map(|k| sums[k].norm_sqr() + thirds[k] * thirds[k] + varying[k])
            });
            for (sum, square) in squares.iter_mut().zip(*of_case) {
                *sum += square;
            }
        }
        squares.map(|sum| sum / self.cases.len().max(1) as f64)
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

    /// All that is connected below a place, on at once, now. (A)
    pub(crate) fn all_on(&self, place: usize) -> [f64; 3] {
        let (mut sums, mut thirds) = ([Complex64::ZERO; 3], [0.0; 3]);
        for load in (0..self.estimate.listed).filter(|&load| self.is_below(load, place)) {
            for (phase, amps, third) in self.conductors(load, None) {
                sums[phase] += amps;
                thirds[phase] += third;
            }
        }
        [0, 1, 2].map(|k| sums[k].norm().hypot(thirds[k]))
    }
}
