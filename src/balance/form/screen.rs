//! Which stretches of intervals can exceed a limit under an allocation, decided by one evaluation of each stretch.
//!
//! The current of a load over a few intervals is within a disc around its mean; the sum of loads is in the disc of
//! the sums. Where that disc keeps the limit, so does every interval of the stretch.

use num_complex::Complex64;

use super::quadratic::turn_factors;
use crate::problem::currents::Currents;
use crate::problem::problem::{Problem, ProblemNode};

/// Intervals of one stretch: long enough to save work, short enough that most loads do not switch in it.
pub(crate) const STRETCH: usize = 16;

/// The disc that holds the currents of a stretch.
#[derive(Clone, Copy, Debug)]
struct Disc {
    centre: Complex64,
    radius: f64,
}

impl Disc {
    const NOTHING: Disc = Disc {
        centre: Complex64::ZERO,
        radius: 0.0,
    };

    /// Around these.
    fn around(currents: impl Iterator<Item = Complex64> + Clone) -> Disc {
        let count = currents.clone().count().max(1) as f64;
        let centre = currents.clone().sum::<Complex64>() / count;
        let radius = currents
            .map(|current| (current - centre).norm())
            .fold(0.0, f64::max);
        Disc { centre, radius }
    }

    fn add(&mut self, other: Disc, turned: Complex64) {
        self.centre += other.centre * turned;
        self.radius += other.radius;
    }

    /// The largest magnitude in it.
    fn most(self) -> f64 {
        self.centre.norm() + self.radius
    }
}

/// Discs of one load, or of the fixed loads, over the stretches.
#[derive(Debug)]
struct Discs {
    positions: [Option<Vec<Disc>>; 3],
    neutral: Vec<Disc>,
}

impl Discs {
    fn new(currents: &Currents, intervals: &[usize]) -> Discs {
        let discs = |at: &dyn Fn(usize) -> Complex64| -> Vec<Disc> {
            intervals
                .chunks(STRETCH)
                .map(|stretch| Disc::around(stretch.iter().map(|&interval| at(interval))))
                .collect()
        };
        let positions = [0, 1, 2].map(|position| {
            currents
                .series(position)
                .map(|series| discs(&|interval| series[interval]))
        });
        Discs {
            positions,
            neutral: discs(&|interval| currents.neutral_at(interval)),
        }
    }

    fn at(&self, position: usize, stretch: usize) -> Disc {
        self.positions[position]
            .as_ref()
            .map_or(Disc::NOTHING, |discs| discs[stretch])
    }
}

/// The discs of a node over the intervals in which its limits can bind.
#[derive(Debug)]
pub(crate) struct Screen {
    fixed: Discs,
    /// Unit and its discs.
    shares: Vec<(usize, Discs)>,
    /// The most that flows in the neutral beyond the phasors. (A)
    beyond: Vec<f64>,
    phase_limit_a: f64,
    neutral_limit_a: f64,
}

impl Screen {
    /// Of these intervals of a node.
    pub(crate) fn new(problem: &Problem, node: &ProblemNode, intervals: &[usize]) -> Screen {
        let most_beyond = |stretch: &[usize]| {
            let at = |&interval: &usize| node.beyond.get(interval).copied().unwrap_or(0.0);
            stretch.iter().map(at).fold(0.0, f64::max)
        };
        Screen {
            fixed: Discs::new(&node.fixed, intervals),
            shares: node
                .shares
                .iter()
                .map(|share| (share.unit, Discs::new(problem.part(share), intervals)))
                .collect(),
            beyond: intervals.chunks(STRETCH).map(most_beyond).collect(),
            phase_limit_a: node.phase_limit_a.unwrap_or(f64::INFINITY),
            neutral_limit_a: node.neutral_limit_a.unwrap_or(f64::INFINITY),
        }
    }

    /// Can a limit be exceeded in this stretch? A `false` is certain.
    pub(crate) fn can_pass(&self, turns: &[usize], stretch: usize) -> bool {
        let one = Complex64::new(1.0, 0.0);
        let mut phases = [0, 1, 2].map(|position| self.fixed.at(position, stretch));
        for (unit, discs) in &self.shares {
            for position in 0..3 {
                if discs.positions[position].is_some() {
                    phases[(position + turns[*unit]) % 3].add(discs.at(position, stretch), one);
                }
            }
        }
        if phases.iter().any(|disc| disc.most() > self.phase_limit_a) {
            return true;
        }
        if self.neutral_limit_a.is_infinite() {
            return false;
        }
        let factors = turn_factors();
        let mut neutral = self.fixed.neutral[stretch];
        for (unit, discs) in &self.shares {
            neutral.add(discs.neutral[stretch], factors[turns[*unit]]);
        }
        neutral.most().hypot(self.beyond[stretch]) > self.neutral_limit_a
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::form::flow::Flow;
    use crate::problem::problem::{Share, Unit, above};
    use crate::samples::{Kind, config, random_problem};

    /// Each interval many times over, so that stretches are steady and some of them can be skipped.
    fn drawn_out(problem: &Problem, times: usize) -> Problem {
        let long = |currents: &Currents| {
            let drawn =
                |series: &[Complex64]| series.iter().flat_map(|&i| vec![i; times]).collect();
            let phases = [0, 1, 2].map(|position| currents.series(position).map(drawn));
            let alone = currents.neutral_alone();
            if alone.is_empty() {
                Currents::new(phases)
            } else {
                Currents::new(phases).with_neutral_alone(drawn(alone))
            }
        };
        let mut nodes = problem.nodes().iter().map(|node| ProblemNode {
            fixed: long(&node.fixed),
            beyond: node.beyond.iter().flat_map(|&i| vec![i; times]).collect(),
            shares: node
                .shares
                .iter()
                .map(|share| Share {
                    unit: share.unit,
                    part: share.part.as_ref().map(long),
                })
                .collect(),
            ..node.clone()
        });
        let supply = nodes.next().expect("the supply");
        let units = problem.units().iter().map(|unit| Unit {
            currents: long(&unit.currents),
            ..unit.clone()
        });
        let (others, ways) = (nodes.collect(), problem.ways().to_vec());
        Problem::new(
            times * problem.intervals(),
            units.collect(),
            supply,
            others,
            ways,
        )
        .expect("a sound problem")
    }

    fn kind() -> Kind {
        Kind {
            units: 7,
            intervals: 12,
            limits: true,
            plain: false,
        }
    }

    proptest! {
        #![proptest_config(config(400))]

        /// What all intervals say of a limit, the doubtful ones say as well.
        #[test]
        fn stretches_that_are_passed_over_keep_the_limits(seed in any::<u64>(), pick in any::<u64>()) {
            let problem = drawn_out(&random_problem(seed, kind()), 40);
            let turns: Vec<usize> = problem
                .units()
                .iter()
                .enumerate()
                .map(|(at, unit)| unit.choices[(pick >> (4 * at)) as usize % unit.choices.len()])
                .collect();
            for (index, node) in problem.nodes().iter().enumerate() {
                let all: Vec<usize> = (0..problem.intervals()).collect();
                let screen = Screen::new(&problem, node, &all);
                for (stretch, intervals) in all.chunks(STRETCH).enumerate() {
                    if screen.can_pass(&turns, stretch) {
                        continue;
                    }
                    let flow = Flow::new(&problem, index, &turns, intervals);
                    for at in 0..intervals.len() {
                        let neutral = flow.neutral_at(at);
                        for phase in flow.phases_at(at) {
                            prop_assert!(above(phase.norm(), node.phase_limit_a) <= 0.0);
                        }
                        prop_assert!(above(neutral, node.neutral_limit_a) <= 0.0);
                    }
                }
            }
        }
    }

    /// Some stretches of such problems are skipped and some are not; otherwise the test would show nothing.
    #[test]
    fn steady_stretches_below_the_limit_are_passed_over() {
        let (mut over, mut all) = (0, 0);
        for seed in 0..40 {
            let problem = drawn_out(&random_problem(seed, kind()), 40);
            let turns: Vec<usize> = problem.units().iter().map(|unit| unit.choices[0]).collect();
            let intervals: Vec<usize> = (0..problem.intervals()).collect();
            for node in problem.nodes() {
                let screen = Screen::new(&problem, node, &intervals);
                let stretches = intervals.len().div_ceil(STRETCH);
                all += stretches;
                over += (0..stretches)
                    .filter(|&at| !screen.can_pass(&turns, at))
                    .count();
            }
        }
        assert!(over > all / 10 && over < all, "{over} of {all} passed over");
    }
}
