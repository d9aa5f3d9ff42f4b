//! All combinations of connection points, best first: by neutral current, then by length of cable.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::choices::Choice;
use super::neutral_form::NeutralForm;
use crate::search::neutral_step;

/// More combinations of phases than these are not put in order.
const MOST_TURNS: usize = 20_000;

/// A combination with the figures that order it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Combination {
    /// Choice of each machine.
    pub(super) choice: Vec<usize>,
    pub(super) neutral_step: i64,
    pub(super) length_mm: u64,
}

/// A queued combination; the smallest comes first.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct QueuedCombination {
    neutral_step: i64,
    length_mm: u64,
    /// Which combination of turns.
    turns: usize,
    /// Which of its choices at that turn each machine has, the shortest first.
    at: Vec<usize>,
    /// Machines before this one keep their choice, so that each combination comes once.
    free_from: usize,
}

/// Yields each combination once.
#[derive(Debug)]
pub(super) struct InOrder<'c> {
    choices: &'c [Vec<Choice>],
    /// Choices of each machine at each turn, the shortest first.
    by_turn: Vec<[Vec<usize>; 3]>,
    turns: Vec<Vec<usize>>,
    queue: BinaryHeap<Reverse<QueuedCombination>>,
}

impl<'c> InOrder<'c> {
    /// `None` where there are too many.
    pub(super) fn new(choices: &'c [Vec<Choice>], form: &NeutralForm) -> Option<InOrder<'c>> {
        let by_turn: Vec<[Vec<usize>; 3]> = choices.iter().map(|all| at_each_turn(all)).collect();
        let turns = all_turns(&by_turn)?;
        let mut order = InOrder {
            choices,
            by_turn,
            turns,
            queue: BinaryHeap::new(),
        };
        for index in 0..order.turns.len() {
            let there: Vec<Option<usize>> = order.turns[index].iter().copied().map(Some).collect();
            let step = neutral_step(form.rms_a(&there));
            order.enqueue(step, index, vec![0; choices.len()], 0);
        }
        Some(order)
    }

    fn enqueue(&mut self, neutral_step: i64, turns: usize, at: Vec<usize>, free_from: usize) {
        let length_mm = self.lengths(turns, &at);
        self.queue.push(Reverse(QueuedCombination {
            neutral_step,
            length_mm,
            turns,
            at,
            free_from,
        }));
    }

    fn choice(&self, turns: usize, machine: usize, at: usize) -> usize {
        self.by_turn[machine][self.turns[turns][machine]][at]
    }

    fn lengths(&self, turns: usize, at: &[usize]) -> u64 {
        let one = |(machine, &at)| {
            let choice = self.choice(turns, machine, at);
            self.choices[machine][choice].length_mm
        };
        at.iter().enumerate().map(one).sum()
    }
}

impl Iterator for InOrder<'_> {
    type Item = Combination;

    fn next(&mut self) -> Option<Combination> {
        let Reverse(first) = self.queue.pop()?;
        for machine in first.free_from..first.at.len() {
            let all = &self.by_turn[machine][self.turns[first.turns][machine]];
            if first.at[machine] + 1 < all.len() {
                let mut at = first.at.clone();
                at[machine] += 1;
                self.enqueue(first.neutral_step, first.turns, at, machine);
            }
        }
        let machines = first.at.iter().enumerate();
        Some(Combination {
            choice: machines
                .map(|(machine, &at)| self.choice(first.turns, machine, at))
                .collect(),
            neutral_step: first.neutral_step,
            length_mm: first.length_mm,
        })
    }
}

fn at_each_turn(all: &[Choice]) -> [Vec<usize>; 3] {
    [0, 1, 2].map(|turn| {
        let mut here: Vec<usize> = (0..all.len()).filter(|&at| all[at].turn == turn).collect();
        here.sort_by_key(|&at| all[at].length_mm);
        here
    })
}

fn all_turns(by_turn: &[[Vec<usize>; 3]]) -> Option<Vec<Vec<usize>>> {
    let mut turns: Vec<Vec<usize>> = vec![Vec::new()];
    for of_machine in by_turn {
        let mut longer = Vec::new();
        for known in &turns {
            for turn in (0..3).filter(|&turn| !of_machine[turn].is_empty()) {
                longer.push(known.iter().copied().chain([turn]).collect());
            }
        }
        if longer.len() > MOST_TURNS {
            return None;
        }
        turns = longer;
    }
    Some(turns)
}
