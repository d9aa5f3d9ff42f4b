//! States of the workshop by chance: each load on or off, for each part of the week.

use num_complex::Complex64;

use super::ExpectedLoads;
use electrical::Phase;
use estimation::Hours;
use statistics::{Random, quantile};

/// States over all parts of the week.
const STATES: usize = 12_000;
/// Most states of one part of the week.
const MOST_STATES: usize = 4_000;
/// Seed of the states, the same for every plan so that plans differ by their moves alone.
const SEED: u64 = 2;
/// The share of the time for which a current is below the largest that is expected.
const BELOW: f64 = 0.95;

/// Currents of one place in the states of one part of the week. (A)
#[derive(Clone, Default)]
struct Seen {
    phases: [Vec<f64>; 3],
    neutral: Vec<f64>,
}

/// Currents in the states of each part of the week, place by place.
pub(super) struct States {
    by_hours: Vec<Vec<Seen>>,
}

impl States {
    /// L1, L2, L3 and N of a place: not passed for 95 % of the time of each part of the week. (A)
    pub(super) fn maxima(&self, place: usize) -> Vec<[f64; 4]> {
        let below = |amps: &Vec<f64>| quantile(amps, BELOW).unwrap_or(0.0);
        self.by_hours
            .iter()
            .map(|seen| {
                let Seen {
                    phases: [l1, l2, l3],
                    neutral,
                } = &seen[place];
                [below(l1), below(l2), below(l3), below(neutral)]
            })
            .collect()
    }

    /// Over all hours, by their part of the week. (A)
    pub(super) fn neutral_p95(&self, place: usize, hours: &[Hours]) -> f64 {
        let mut all: Vec<(f64, f64)> = Vec::new();
        for (seen, hours) in self.by_hours.iter().zip(hours) {
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
}

impl ExpectedLoads {
    /// States of the workshop by chance: for each part of the week and each place, the currents.
    pub(super) fn states(&self, turns: &[Option<usize>], places: usize) -> States {
        let count = (STATES / self.hours.len().max(1)).clamp(200, MOST_STATES);
        let paths: Vec<Vec<usize>> = (0..self.loads.len())
            .map(|load| {
                (0..places)
                    .filter(|&place| self.is_below(load, place))
                    .collect()
            })
            .collect();
        let mut random = Random::new(SEED);
        let by_hours = (0..self.hours.len())
            .map(|hours| {
                let mut seen = vec![Seen::default(); places];
                for state in 0..count {
                    let draw = self
                        .is_read()
                        .then(|| state % self.estimate.draws.len().max(1));
                    let draw = self.draw_of(draw);
                    let mut sums = vec![([Complex64::ZERO; 3], [0.0; 3]); places];
                    for (load, path) in paths.iter().enumerate() {
                        // Drawn whether it runs or not, so that all plans see the same states.
                        let (is_on, varies) = (random.share() < draw.on[load], random.normal());
                        if !is_on || !self.runs(hours, load) {
                            continue;
                        }
                        let share = draw.share[load] + self.from_time_to_time * varies;
                        let share = share.max(0.0);
                        for (phase, amps, third) in self.conductors(load, turns[load]) {
                            for &place in path {
                                let sum = &mut sums[place];
                                sum.0[phase] += amps * share;
                                sum.1[phase] += third * share;
                            }
                        }
                    }
                    for (seen, (phases, thirds)) in seen.iter_mut().zip(sums) {
                        let common =
                            Phase::ALL.map(|phase| phase.direction() * phases[phase.index()]);
                        for k in 0..3 {
                            seen.phases[k].push(phases[k].norm().hypot(thirds[k]));
                        }
                        let third: f64 = thirds.iter().sum();
                        seen.neutral
                            .push(common.iter().sum::<Complex64>().norm().hypot(third));
                    }
                }
                seen
            })
            .collect();
        States { by_hours }
    }
}
