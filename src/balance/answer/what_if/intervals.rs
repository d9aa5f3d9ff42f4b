//! The intervals that a page needs to show the largest currents.

use std::collections::BTreeSet;

use rayon::prelude::*;

use crate::answer::figures::NodeSeries;
use crate::problem::problem::{Problem, ProblemNode};
use crate::search::random::Dice;

/// Most intervals that are kept.
const MOST: usize = 480;
/// Series values that choosing and comparing may read.
const WORK: usize = 600_000_000;
/// Intervals kept for each phase and the neutral of each node in each allocation.
const RANKS: usize = 12;

/// Allocations that a reader is likely to try: those given, each single change of them, and random steps away from
/// them, in this order.
pub(super) fn allocations(
    problem: &Problem,
    known: &[Vec<usize>],
    count: usize,
) -> Vec<Vec<usize>> {
    let mut all: Vec<Vec<usize>> = known.to_vec();
    for start in known.iter().take(2) {
        for (unit, of_unit) in problem.units().iter().enumerate() {
            for &turn in &of_unit.choices {
                if turn != start[unit] {
                    let mut turns = start.clone();
                    turns[unit] = turn;
                    all.push(turns);
                }
            }
        }
    }
    all.truncate(count);
    let missing = count - all.len();
    all.extend(random_steps(problem, known, missing, 1));
    all
}

/// Allocations some random changes away from the given ones.
pub(super) fn random_steps(
    problem: &Problem,
    known: &[Vec<usize>],
    count: usize,
    seed: u64,
) -> Vec<Vec<usize>> {
    let mut dice = Dice::new(seed);
    let units = problem.units();
    if units.is_empty() {
        // Nothing can be changed: no other allocation exists.
        return Vec::new();
    }
    (0..count)
        .filter_map(|_| {
            let mut turns = known.get(dice.below(known.len().max(1)))?.clone();
            for _ in 0..=dice.below(units.len().max(1)) {
                let unit = dice.below(units.len());
                turns[unit] = units[unit].choices[dice.below(units[unit].choices.len())];
            }
            Some(turns)
        })
        .collect()
}

/// How many allocations may be evaluated over all intervals.
pub(super) fn affordable(problem: &Problem) -> usize {
    let series: usize = problem
        .nodes()
        .iter()
        .map(|node| node.shares.len() + 3)
        .sum();
    (WORK / (series.max(1) * problem.intervals())).clamp(12, 400)
}

/// The intervals with the largest current of each phase and of the neutral at each node under each
/// of the allocations, ascending; all intervals where they are few.
pub(super) fn deciding(problem: &Problem, allocations: &[Vec<usize>]) -> Vec<usize> {
    if problem.intervals() <= MOST {
        return (0..problem.intervals()).collect();
    }
    let by_rank: Vec<Vec<[usize; RANKS]>> = allocations
        .par_iter()
        .map(|turns| {
            let nodes = problem.nodes().iter();
            nodes
                .flat_map(|node| worst_intervals(problem, node, turns))
                .collect()
        })
        .collect();
    let mut chosen = BTreeSet::new();
    for rank in 0..RANKS {
        for ranks in by_rank.iter().flatten() {
            if chosen.len() < MOST {
                chosen.insert(ranks[rank]);
            }
        }
    }
    chosen.into_iter().collect()
}

/// For each phase and the neutral the intervals with the largest currents, the largest first.
fn worst_intervals(problem: &Problem, node: &ProblemNode, turns: &[usize]) -> Vec<[usize; RANKS]> {
    let series = series(problem, node, turns);
    series
        .phases_a
        .iter()
        .chain([&series.neutral_a])
        .map(|values| ranks(values))
        .collect()
}

/// The places of the largest values, the largest first, the earlier first among equals.
fn ranks(values: &[f64]) -> [usize; RANKS] {
    let mut best = [(f64::NEG_INFINITY, 0); RANKS];
    for (interval, &value) in values.iter().enumerate() {
        if value > best[RANKS - 1].0 {
            let place = best.partition_point(|(other, _)| *other >= value);
            best[place..].rotate_right(1);
            best[place] = (value, interval);
        }
    }
    best.map(|(_, interval)| interval)
}

/// The largest currents of L1, L2, L3 and the neutral over all intervals.
pub(super) fn largest(problem: &Problem, node: &ProblemNode, turns: &[usize]) -> [f64; 4] {
    let series = series(problem, node, turns);
    let most = |values: &[f64]| values.iter().copied().fold(0.0, f64::max);
    let [l1, l2, l3] = &series.phases_a;
    [most(l1), most(l2), most(l3), most(&series.neutral_a)]
}

fn series(problem: &Problem, node: &ProblemNode, turns: &[usize]) -> NodeSeries {
    NodeSeries::new(&problem.node_currents(node, turns))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_largest_come_first() {
        let values: Vec<f64> = (0..40).map(|i| f64::from((i * 7) % 40)).collect();
        let places = ranks(&values);
        let found: Vec<f64> = places.iter().map(|&place| values[place]).collect();
        let expected: Vec<f64> = (0..RANKS as i32).map(|i| f64::from(39 - i)).collect();
        assert_eq!(found, expected);
    }
}
