//! A block whose currents are followed while the allocation changes.

use num_complex::Complex64;

use crate::form::peak::{Conductors, Peak};
use crate::form::quadratic::turn_factors;
use crate::form::state::PhaseChange;

/// The currents of one block under an allocation.
#[derive(Clone, Debug)]
pub(super) struct WatchedBlocks {
    pub(super) place: usize,
    conductors: Conductors,
    /// Per unit, its neutral current (first) or its currents on its three positions.
    terms: Vec<[Vec<Complex64>; 3]>,
    fixed: [Vec<Complex64>; 3],
    sums: [Vec<Complex64>; 3],
    beyond_square: f64,
    squares: [f64; 3],
}

impl WatchedBlocks {
    pub(super) fn new(peak: &Peak, place: usize, turns: &[usize]) -> Self {
        let block = &peak.blocks[place].intervals;
        let series = |value: &dyn Fn(usize) -> Complex64| -> Vec<Complex64> {
            let values: Vec<Complex64> = block.clone().map(value).collect();
            let flows = values.iter().any(|value| *value != Complex64::ZERO);
            if flows { values } else { Vec::new() }
        };
        let of = |currents: &crate::Currents| match peak.conductors {
            Conductors::Neutral => [series(&|t| currents.neutral_at(t)), Vec::new(), Vec::new()],
            Conductors::Phases => [0, 1, 2].map(|k| series(&|t| currents.at(k, t))),
        };
        let whole = |mut values: Vec<Complex64>| {
            values.resize(block.len(), Complex64::ZERO);
            values
        };
        let fixed = of(&peak.problem.supply().fixed).map(whole);
        let mut watched = Self {
            place,
            conductors: peak.conductors,
            terms: peak.units().map(of).collect(),
            sums: fixed.clone(),
            fixed,
            beyond_square: match peak.conductors {
                Conductors::Neutral => peak.mean_beyond_square(block),
                Conductors::Phases => 0.0,
            },
            squares: [0.0; 3],
        };
        watched.set(turns);
        watched
    }

    /// Puts another allocation in place.
    pub(super) fn set(&mut self, turns: &[usize]) {
        self.sums.clone_from(&self.fixed);
        for (unit, &turn) in turns.iter().enumerate() {
            self.add(unit, turn, 1.0);
        }
        self.tell();
    }

    /// Makes a change, given the turn before it.
    pub(super) fn apply(&mut self, (unit, turn): PhaseChange, before: usize) {
        self.add(unit, before, -1.0);
        self.add(unit, turn, 1.0);
        self.tell();
    }

    /// Mean square of the largest conductor. (A²)
    pub(super) fn square(&self) -> f64 {
        self.squares.into_iter().fold(0.0, f64::max)
    }

    /// The same once some changes of different units are made.
    pub(super) fn square_after(&self, turns: &[usize], changes: &[PhaseChange]) -> f64 {
        (0..self.conductors.count())
            .map(|conductor| self.conductor_after(conductor, turns, changes))
            .fold(0.0, f64::max)
    }

    /// Multiplications that one look takes.
    pub(super) fn cost(&self) -> u64 {
        (self.sums[0].len() * self.conductors.count()) as u64
    }

    fn conductor_after(&self, conductor: usize, turns: &[usize], changes: &[PhaseChange]) -> f64 {
        let factors = turn_factors();
        let mut steps: [(&[Complex64], Complex64); 4] = [(&[], Complex64::ZERO); 4];
        let mut count = 0;
        for &(unit, turn) in changes {
            let before = turns[unit];
            let terms = &self.terms[unit];
            match self.conductors {
                Conductors::Neutral => {
                    steps[count] = (&terms[0], factors[turn] - factors[before]);
                    count += 1;
                }
                Conductors::Phases => {
                    let (left, come) = ((conductor + 3 - before) % 3, (conductor + 3 - turn) % 3);
                    steps[count] = (&terms[left], Complex64::new(-1.0, 0.0));
                    steps[count + 1] = (&terms[come], Complex64::ONE);
                    count += 2;
                }
            }
        }
        let steps: Vec<_> = steps[..count]
            .iter()
            .filter(|(series, _)| !series.is_empty())
            .collect();
        if steps.is_empty() {
            return self.squares[conductor];
        }
        let mut sum = 0.0;
        for (t, current) in self.sums[conductor].iter().enumerate() {
            let mut current = *current;
            for (series, factor) in &steps {
                current += series[t] * factor;
            }
            sum += current.norm_sqr();
        }
        sum / self.sums[conductor].len() as f64 + self.beyond_square
    }

    fn add(&mut self, unit: usize, turn: usize, sign: f64) {
        let factor = turn_factors()[turn] * sign;
        for position in 0..3 {
            let (to, factor) = match self.conductors {
                Conductors::Neutral => (0, factor),
                Conductors::Phases => ((position + turn) % 3, Complex64::new(sign, 0.0)),
            };
            for (sum, value) in self.sums[to].iter_mut().zip(&self.terms[unit][position]) {
                *sum += value * factor;
            }
        }
    }

    fn tell(&mut self) {
        for conductor in 0..self.conductors.count() {
            let series = &self.sums[conductor];
            let sum: f64 = series.iter().map(Complex64::norm_sqr).sum();
            self.squares[conductor] = sum / series.len() as f64 + self.beyond_square;
        }
    }
}
