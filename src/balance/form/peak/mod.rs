//! The largest current of a demand period as the quantity to minimise.
//!
//! A block's figure is the root mean square of a conductor's current over it, which is what heats the
//! conductor and its fuse. The objective is the largest over all blocks: of the neutral, or of the three
//! phases. Any mixture of blocks, with weights that add up to 1, is never above the largest of
//! them and is a quadratic form in the turns; so the bound on such a mixture bounds the peak.

mod weights;

pub(crate) use weights::deciding_weights;

use std::ops::Range;

use num_complex::Complex64;
use rayon::prelude::*;

use crate::form::limits::{LimitRow, magnitudes};
use crate::form::loss::{all, phases_form};
use crate::form::quadratic::{Quadratic, turn_factors};
use crate::problem::currents::Currents;
use crate::problem::problem::Problem;

/// Demand periods evaluated together, on all threads.
const TOGETHER: usize = 64;

/// Which conductors of the supply count.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Conductors {
    Neutral,
    Phases,
}

impl Conductors {
    pub(crate) fn count(self) -> usize {
        match self {
            Conductors::Neutral => 1,
            Conductors::Phases => 3,
        }
    }
}

/// A block and the most that any allocation can make of it.
#[derive(Clone, Debug)]
pub(crate) struct Bounded {
    pub(crate) intervals: Range<usize>,
    /// Position in the problem's list.
    number: usize,
    /// [A²]
    most: f64,
}

/// Where the largest current of an allocation is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct LargestBlock {
    /// Mean square over the block. [A²]
    pub(crate) square: f64,
    /// Place among the blocks that count.
    pub(crate) place: usize,
    /// 0 for the neutral, else the phase's position.
    pub(crate) conductor: usize,
}

/// The blocks of a problem that some allocation can make the largest.
#[derive(Clone, Debug)]
pub(crate) struct Peak<'p> {
    pub(crate) problem: &'p Problem,
    pub(crate) conductors: Conductors,
    /// By the most they can reach, falling.
    pub(crate) blocks: Vec<Bounded>,
}

impl<'p> Peak<'p> {
    /// Leaves out what is dominated: a block that no allocation within `choices` brings up to what another
    /// block reaches in every allocation is never the largest.
    pub(crate) fn new(
        problem: &'p Problem,
        conductors: Conductors,
        choices: &[Vec<usize>],
    ) -> Self {
        let range = PeakReach::new(problem, conductors, choices);
        let floor = problem
            .blocks()
            .iter()
            .map(|block| range.least(block))
            .fold(0.0, f64::max);
        let mut blocks: Vec<Bounded> = problem
            .blocks()
            .iter()
            .enumerate()
            .map(|(number, block)| Bounded {
                intervals: block.clone(),
                number,
                most: range.most(block),
            })
            .filter(|block| block.most >= floor * (1.0 - 1e-9))
            .collect();
        blocks.sort_by(|a, b| b.most.total_cmp(&a.most).then(a.number.cmp(&b.number)));
        Self {
            problem,
            conductors,
            blocks,
        }
    }

    /// All blocks, whatever the turns.
    pub(crate) fn of_all(problem: &'p Problem, conductors: Conductors) -> Self {
        let blocks = problem.blocks().iter().enumerate();
        Self {
            problem,
            conductors,
            blocks: blocks
                .map(|(number, block)| Bounded {
                    intervals: block.clone(),
                    number,
                    most: f64::INFINITY,
                })
                .collect(),
        }
    }

    /// The largest mean square of a block. (A²)
    pub(crate) fn square(&self, turns: &[usize]) -> f64 {
        self.largest(turns).square
    }

    /// The block that is largest, the one that could be larger first on a tie.
    pub(crate) fn largest(&self, turns: &[usize]) -> LargestBlock {
        let mut best = LargestBlock {
            square: -1.0,
            place: 0,
            conductor: 0,
        };
        for (chunk, blocks) in self.blocks.chunks(TOGETHER).enumerate() {
            if blocks[0].most < best.square {
                break;
            }
            let squares: Vec<(f64, usize)> = blocks
                .par_iter()
                .map(|block| self.square_of(&block.intervals, turns))
                .collect();
            for (index, (square, conductor)) in squares.into_iter().enumerate() {
                if square > best.square {
                    best = LargestBlock {
                        square,
                        place: chunk * TOGETHER + index,
                        conductor,
                    };
                }
            }
        }
        best
    }

    /// The blocks with the largest mean squares, falling: place and mean square.
    pub(crate) fn ranked(&self, turns: &[usize], most: usize) -> Vec<(usize, f64)> {
        let mut ranked: Vec<(usize, f64)> = self
            .blocks
            .par_iter()
            .enumerate()
            .map(|(place, block)| (place, self.square_of(&block.intervals, turns).0))
            .collect();
        ranked.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        ranked.truncate(most);
        ranked
    }

    /// The block's position in the problem's list.
    pub(crate) fn number(&self, place: usize) -> usize {
        self.blocks[place].number
    }

    /// Multiplications that looking at every block takes.
    pub(crate) fn cost(&self) -> u64 {
        let intervals: usize = self.blocks.iter().map(|block| block.intervals.len()).sum();
        (3 * intervals * (1 + self.problem.units().len())) as u64
    }

    /// The mixture of blocks as a quadratic form: (place, weight), the weights adding up to 1.
    pub(crate) fn form(&self, weights: &[(usize, f64)]) -> Quadratic {
        let moments: Vec<(usize, f64)> = weights
            .iter()
            .flat_map(|&(place, weight)| {
                let block = &self.blocks[place].intervals;
                let share = weight / block.len() as f64;
                block.clone().map(move |interval| (interval, share))
            })
            .collect();
        // The form is a plain mean over the moments, so that each factor carries its share of it.
        let count = moments.len();
        let moment = |number: usize| {
            let (interval, share) = moments[number];
            (interval, (share * count as f64).sqrt())
        };
        let mut rows: Vec<&Currents> = self.units().collect();
        rows.push(&self.problem.supply().fixed);
        match self.conductors {
            Conductors::Neutral => {
                let beyond = |&(interval, share): &(usize, f64)| {
                    share * self.beyond(interval).powi(2) * count as f64
                };
                let more = moments.iter().map(beyond).sum();
                Quadratic::of_rows(&rows, count, more, |currents, number| {
                    let (interval, factor) = moment(number);
                    currents.neutral_at(interval) * factor
                })
            }
            Conductors::Phases => {
                // The mean of the three is never above the largest.
                let mut form = phases_form(&rows, count, moment);
                form.scale(1.0 / 3.0);
                form
            }
        }
    }

    /// Rows that an allocation below `limit` keeps: the mean phasor over a block is never longer
    /// than its root mean square.
    pub(crate) fn rows(&self, place: usize, limit: f64) -> Vec<LimitRow> {
        let block = &self.blocks[place].intervals;
        let mean = |value: &dyn Fn(usize) -> Complex64| {
            block.clone().map(value).sum::<Complex64>() / block.len() as f64
        };
        let beyond = match self.conductors {
            Conductors::Neutral => self.mean_beyond_square(block),
            Conductors::Phases => 0.0,
        };
        let factors = turn_factors();
        let fixed = &self.problem.supply().fixed;
        (0..self.conductors.count())
            .map(|conductor| {
                let terms = self.units().map(|unit| {
                    [0, 1, 2].map(|turn| match self.conductors {
                        Conductors::Neutral => factors[turn] * mean(&|t| unit.neutral_at(t)),
                        Conductors::Phases => mean(&|t| unit.at((conductor + 3 - turn) % 3, t)),
                    })
                });
                let stays = match self.conductors {
                    Conductors::Neutral => mean(&|t| fixed.neutral_at(t)),
                    Conductors::Phases => mean(&|t| fixed.at(conductor, t)),
                };
                let number = 3 * place + conductor;
                LimitRow::apart(number, limit, beyond, stays, terms.collect())
            })
            .collect()
    }

    pub(crate) fn units(&self) -> impl Iterator<Item = &'p Currents> {
        self.problem.units().iter().map(|unit| &unit.currents)
    }

    fn beyond(&self, interval: usize) -> f64 {
        let beyond = &self.problem.supply().beyond;
        beyond.get(interval).copied().unwrap_or(0.0)
    }

    pub(crate) fn mean_beyond_square(&self, block: &Range<usize>) -> f64 {
        let sum: f64 = block.clone().map(|t| self.beyond(t).powi(2)).sum();
        sum / block.len() as f64
    }

    /// Mean square of the largest conductor over a block, and which it is.
    fn square_of(&self, block: &Range<usize>, turns: &[usize]) -> (f64, usize) {
        let mut sums: [Vec<Complex64>; 3] = Default::default();
        for sum in &mut sums[..self.conductors.count()] {
            sum.resize(block.len(), Complex64::ZERO);
        }
        self.add_to(&mut sums, &self.problem.supply().fixed, 0, block);
        for (unit, &turn) in self.units().zip(turns) {
            self.add_to(&mut sums, unit, turn, block);
        }
        let beyond = match self.conductors {
            Conductors::Neutral => self.mean_beyond_square(block),
            Conductors::Phases => 0.0,
        };
        let square = |sum: &Vec<Complex64>| -> f64 {
            sum.iter().map(Complex64::norm_sqr).sum::<f64>() / block.len() as f64 + beyond
        };
        let mut largest = (square(&sums[0]), 0);
        let count = self.conductors.count();
        for (conductor, sum) in sums.iter().enumerate().take(count).skip(1) {
            let square = square(sum);
            if square > largest.0 {
                largest = (square, conductor);
            }
        }
        largest
    }

    /// Adds what something brings at a turn: to the neutral, or to each phase.
    fn add_to(
        &self,
        sums: &mut [Vec<Complex64>; 3],
        currents: &Currents,
        turn: usize,
        block: &Range<usize>,
    ) {
        let factors = turn_factors();
        if self.conductors == Conductors::Neutral {
            let alone = currents.neutral_alone().get(block.clone());
            for (sum, value) in sums[0].iter_mut().zip(alone.unwrap_or_default()) {
                *sum += factors[turn] * value;
            }
        }
        for position in 0..3 {
            let Some(series) = currents.series(position) else {
                continue;
            };
            let on = (position + turn) % 3;
            let (to, factor) = match self.conductors {
                Conductors::Neutral => (0, factors[on]),
                Conductors::Phases => (on, Complex64::ONE),
            };
            for (sum, value) in sums[to].iter_mut().zip(&series[block.clone()]) {
                *sum += factor * value;
            }
        }
    }
}

/// What an interval can at least and at most come to, squared.
struct PeakReach {
    least: Vec<f64>,
    most: Vec<f64>,
}

impl PeakReach {
    fn new(problem: &Problem, conductors: Conductors, choices: &[Vec<usize>]) -> Self {
        match conductors {
            Conductors::Neutral => Self::of_neutral(problem),
            Conductors::Phases => Self::of_phases(problem, choices),
        }
    }

    fn of_neutral(problem: &Problem) -> Self {
        let supply = problem.supply();
        let (mut least, mut most) = (Vec::new(), Vec::new());
        for t in 0..problem.intervals() {
            let fixed = supply.fixed.neutral_at(t).norm();
            let units = problem.units().iter();
            let moving: f64 = units.map(|unit| unit.currents.neutral_at(t).norm()).sum();
            let beyond = supply.beyond.get(t).copied().unwrap_or(0.0).powi(2);
            least.push((fixed - moving).max(0.0).powi(2) + beyond);
            most.push((fixed + moving).powi(2) + beyond);
        }
        Self { least, most }
    }

    /// The plain sum of all currents is the same whatever the turns, and no phase can be below a
    /// third of it when it is the largest.
    fn of_phases(problem: &Problem, choices: &[Vec<usize>]) -> Self {
        let intervals = problem.intervals();
        let fixed = &problem.supply().fixed;
        let mut largest = [0, 1, 2].map(|k| magnitudes(fixed.series(k), intervals));
        for (unit, choices) in problem.units().iter().zip(choices) {
            let on = [0, 1, 2].map(|k| magnitudes(unit.currents.series(k), intervals));
            for (conductor, sums) in largest.iter_mut().enumerate() {
                for (t, sum) in sums.iter_mut().enumerate() {
                    let here = choices.iter().map(|turn| on[(conductor + 3 - turn) % 3][t]);
                    *sum += here.fold(0.0, f64::max);
                }
            }
        }
        let mut rows: Vec<&Currents> = problem.units().iter().map(|unit| &unit.currents).collect();
        rows.push(fixed);
        Self {
            least: (0..intervals)
                .map(|t| all(&rows, t).norm_sqr() / 9.0)
                .collect(),
            most: (0..intervals)
                .map(|t| {
                    let most = largest.iter().map(|sums| sums[t]).fold(0.0, f64::max);
                    most.powi(2)
                })
                .collect(),
        }
    }

    fn least(&self, block: &Range<usize>) -> f64 {
        mean(&self.least[block.clone()])
    }

    fn most(&self, block: &Range<usize>) -> f64 {
        mean(&self.most[block.clone()])
    }
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}
