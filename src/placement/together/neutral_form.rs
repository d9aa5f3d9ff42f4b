//! The neutral of the supply for any phases of the new machines, from second moments.

use num_complex::Complex64;

use crate::carried::Carried;
use crate::load::NewLoad;
use electrical::Phase;

/// The mean square of the neutral as a quadratic form in the directions of the machines.
#[derive(Debug)]
pub(super) struct NeutralForm {
    /// Means of conj(a)·b of the phasors that reach the neutral: the supply first, then each machine. (A²)
    phasors: Vec<Vec<Complex64>>,
    /// Means of a·b of the neutral current beyond the phasors. (A²)
    beyond: Vec<Vec<f64>>,
    /// Mean square that the series do not resolve. (A²)
    unresolved_square: f64,
}

impl NeutralForm {
    pub(super) fn new(supply: &Carried, loads: &[NewLoad]) -> NeutralForm {
        let length = supply.beyond.len();
        let directions = Phase::ALL.map(Phase::direction);
        let now = (0..length).map(|interval| {
            let phases = (0..3).map(|k| supply.phases[k][interval] * directions[k]);
            phases.sum::<Complex64>() + supply.neutral_alone[interval]
        });
        let mut phasors = vec![now.collect::<Vec<Complex64>>()];
        let mut beyond = vec![supply.beyond.clone()];
        for load in loads {
            let currents = &load.expected.currents;
            phasors.push((0..length).map(|at| currents.neutral_at(at)).collect());
            beyond.push((0..length).map(|at| load.third_in_neutral_a(at)).collect());
        }
        let count = length.max(1) as f64;
        let products = phasors.iter().map(|a| {
            let with = |b: &Vec<Complex64>| {
                let sum: Complex64 = a.iter().zip(b).map(|(a, b)| a.conj() * b).sum();
                sum / count
            };
            phasors.iter().map(with).collect()
        });
        let squares = beyond.iter().map(|a| {
            let with = |b: &Vec<f64>| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>() / count;
            beyond.iter().map(with).collect()
        });
        NeutralForm {
            phasors: products.collect(),
            beyond: squares.collect(),
            unresolved_square: supply.unresolved_square[3],
        }
    }

    /// With machines at these turns; `None` for one that is not connected. (A)
    pub(super) fn rms_a(&self, turns: &[Option<usize>]) -> f64 {
        let machines = turns.iter().enumerate();
        let there = machines.filter_map(|(at, turn)| Some((at + 1, turn_direction((*turn)?))));
        let all: Vec<(usize, Complex64)> =
            std::iter::once((0, Complex64::ONE)).chain(there).collect();
        let mut mean_square = self.unresolved_square;
        for &(i, a) in &all {
            for &(j, b) in &all {
                mean_square += (a.conj() * b * self.phasors[i][j]).re + self.beyond[i][j];
            }
        }
        mean_square.max(0.0).sqrt()
    }
}

/// Factor on a load's part of the neutral at a turn.
fn turn_direction(turn: usize) -> Complex64 {
    Phase::ALL[turn % 3].direction()
}
