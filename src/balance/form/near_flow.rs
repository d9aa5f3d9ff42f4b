//! What flows under allocations that are mostly alike: from one that is kept, and from what the others change in it.

use num_complex::Complex64;

use super::flow::{Flow, Phases};
use super::screen::STRETCH;
use crate::problem::problem::{Problem, Share};

/// Units that an allocation may have elsewhere than the one that is kept: with more, another is kept.
const MOST_CHANGED: usize = 6;

/// A unit that has another turn than in the allocation that is kept, as a node sees it.
#[derive(Clone, Copy, Debug)]
struct TurnedShare {
    share: usize,
    kept: usize,
    now: usize,
}

/// An allocation with its flows, as far as they were asked for.
#[derive(Debug, Default)]
pub(crate) struct NearFlow {
    turns: Vec<usize>,
    /// By node and stretch.
    flows: Vec<Vec<Option<Box<Phases>>>>,
    /// By node.
    turned: Vec<Vec<TurnedShare>>,
    /// By node and unit, the places of its shares.
    shares: Vec<Vec<Vec<usize>>>,
}

impl NearFlow {
    /// Turns to an allocation; `stretches`: how many each node has.
    pub(super) fn look_at(
        &mut self,
        problem: &Problem,
        turns: &[usize],
        stretches: impl Iterator<Item = usize>,
    ) {
        let changed: Vec<usize> = (0..turns.len())
            .filter(|&unit| self.turns.get(unit) != Some(&turns[unit]))
            .collect();
        if self.shares.is_empty() {
            self.shares = problem
                .nodes()
                .iter()
                .map(|node| places(&node.shares, turns.len()))
                .collect();
        }
        if changed.len() > MOST_CHANGED || self.turns.len() != turns.len() {
            self.turns = turns.to_vec();
            self.flows = stretches.map(|count| vec![None; count]).collect();
            self.turned = vec![Vec::new(); self.shares.len()];
            return;
        }
        for (turned, shares) in self.turned.iter_mut().zip(&self.shares) {
            turned.clear();
            for &unit in &changed {
                turned.extend(shares[unit].iter().map(|&share| TurnedShare {
                    share,
                    kept: self.turns[unit],
                    now: turns[unit],
                }));
            }
        }
    }

    /// What flows in a stretch of a node under the allocation that was turned to.
    pub(super) fn flow<'p>(
        &mut self,
        problem: &'p Problem,
        (node, stretch): (usize, usize),
        intervals: &'p [usize],
    ) -> Flow<'p> {
        let kept = self.flows[node][stretch].get_or_insert_with(|| {
            Box::new(Flow::new(problem, node, &self.turns, intervals).phases)
        });
        let mut phases: Phases = **kept;
        let shares = &problem.nodes()[node].shares;
        for turned in &self.turned[node] {
            let part = problem.part(&shares[turned.share]);
            for position in 0..3 {
                let Some(series) = part.series(position) else {
                    continue;
                };
                let mut values = [Complex64::ZERO; STRETCH];
                for (value, &interval) in values.iter_mut().zip(intervals) {
                    *value = series[interval];
                }
                let sums = &mut phases[(position + turned.kept) % 3];
                sums.iter_mut()
                    .zip(values)
                    .for_each(|(sum, value)| *sum -= value);
                let sums = &mut phases[(position + turned.now) % 3];
                sums.iter_mut()
                    .zip(values)
                    .for_each(|(sum, value)| *sum += value);
            }
        }
        Flow::of(problem, node, intervals, &phases)
    }
}

fn places(shares: &[Share], units: usize) -> Vec<Vec<usize>> {
    let mut places = vec![Vec::new(); units];
    for (place, share) in shares.iter().enumerate() {
        places[share.unit].push(place);
    }
    places
}
