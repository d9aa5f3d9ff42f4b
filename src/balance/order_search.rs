//! An order of the moves in which no step overloads anything.

use std::collections::HashSet;

use super::effect::Effects;
use super::order_rules::{Obstacle, Rules, Watch};

/// States tried for each size of group, so that the search ends.
const MOST_STATES: u64 = 20_000;

/// Changes made in one go before all that are left are made so.
const LARGEST_GROUP: usize = 3;

/// Rounds of checking an order in all intervals.
const MOST_ROUNDS: usize = 200;

/// Changes in the order of work; several in one step are made in one go.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Order {
    pub(super) steps: Vec<Vec<usize>>,
    /// What stands in the way of making a step's changes one by one.
    pub(super) obstacles: Vec<Option<Obstacle>>,
    /// True where an order with smaller steps is known not to exist.
    pub(super) is_exact: bool,
}

/// First what relieves an overloaded conductor, then what takes most off the neutral; single moves
/// as far as they go.
pub(super) fn find_order(rules: &Rules<'_>, effects: &Effects, changes: usize) -> Order {
    let mut search = Search {
        rules,
        effects,
        watches: rules.over_now(),
        states: 0,
        failed: HashSet::new(),
        deepest: Vec::new(),
    };
    let mut found = search.order(changes);
    for _ in 0..MOST_ROUNDS {
        let mut is_new = false;
        for watch in rules.broken(&found.0) {
            if !search.watches.iter().any(|known| known.is_same(&watch)) {
                search.watches.push(watch);
                is_new = true;
            }
        }
        if !is_new {
            return search.told(found, changes);
        }
        found = search.order(changes);
    }
    search.told((vec![(0..changes).collect()], false), changes)
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Outcome {
    Found,
    Exhausted,
    Stopped,
}

struct Search<'a, 'p> {
    rules: &'a Rules<'p>,
    effects: &'a Effects,
    /// Conductors and intervals in which an order has failed before.
    watches: Vec<Watch>,
    states: u64,
    /// States from which the plan cannot be reached.
    failed: HashSet<Vec<bool>>,
    deepest: Vec<Vec<usize>>,
}

impl Search<'_, '_> {
    /// Steps, and whether smaller ones are known not to do.
    fn order(&mut self, changes: usize) -> (Vec<Vec<usize>>, bool) {
        let mut is_exact = true;
        self.deepest.clear();
        for group in 1..=LARGEST_GROUP.min(changes.max(1)) {
            self.states = 0;
            self.failed.clear();
            let mut steps = Vec::new();
            match self.go_on(&mut vec![false; changes], &mut steps, group) {
                Outcome::Found => return (steps, is_exact),
                Outcome::Exhausted => {}
                Outcome::Stopped => is_exact = false,
            }
        }
        let mut steps = std::mem::take(&mut self.deepest);
        let rest: Vec<usize> = (0..changes)
            .filter(|change| !steps.iter().flatten().any(|made| made == change))
            .collect();
        steps.push(rest);
        (steps, false)
    }

    fn go_on(
        &mut self,
        done: &mut Vec<bool>,
        steps: &mut Vec<Vec<usize>>,
        group: usize,
    ) -> Outcome {
        if done.iter().all(|&made| made) {
            return Outcome::Found;
        }
        if self.failed.contains(done) {
            return Outcome::Exhausted;
        }
        if steps.len() > self.deepest.len() {
            self.deepest.clone_from(steps);
        }
        for size in 1..=group {
            for step in self.candidates(done, size) {
                set(done, &step, true);
                steps.push(step.clone());
                let outcome = self.go_on(done, steps, group);
                if outcome == Outcome::Found {
                    return outcome;
                }
                steps.pop();
                set(done, &step, false);
                if outcome == Outcome::Stopped {
                    return outcome;
                }
            }
            if self.states > MOST_STATES {
                return Outcome::Stopped;
            }
        }
        self.failed.insert(done.clone());
        Outcome::Exhausted
    }

    /// Allowed steps of a size, the best first.
    fn candidates(&mut self, done: &mut [bool], size: usize) -> Vec<Vec<usize>> {
        let left: Vec<usize> = (0..done.len()).filter(|&change| !done[change]).collect();
        let mut rated = Vec::new();
        for step in combinations(&left, size) {
            if self.states > MOST_STATES {
                break;
            }
            self.states += 1;
            set(done, &step, true);
            if self.rules.obstacle(&self.watches, done).is_none() {
                let over: f64 = self.watches.iter().map(|watch| watch.over(done)).sum();
                rated.push((over, self.effects.mean_square(done), step.clone()));
            }
            set(done, &step, false);
        }
        rated.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        rated.into_iter().map(|(_, _, step)| step).collect()
    }

    fn told(&self, (steps, is_exact): (Vec<Vec<usize>>, bool), changes: usize) -> Order {
        let mut done = vec![false; changes];
        let obstacles = steps
            .iter()
            .map(|step| {
                let mut obstacle = None;
                if step.len() > 1 {
                    for &change in step {
                        done[change] = true;
                        obstacle = obstacle.or(self.rules.obstacle(&self.watches, &done));
                        done[change] = false;
                    }
                }
                set(&mut done, step, true);
                obstacle
            })
            .collect();
        Order {
            steps,
            obstacles,
            is_exact,
        }
    }
}

fn set(done: &mut [bool], step: &[usize], made: bool) {
    for &change in step {
        done[change] = made;
    }
}

/// All choices of `size` out of a list, in its order.
fn combinations(list: &[usize], size: usize) -> Vec<Vec<usize>> {
    if size == 0 {
        return vec![Vec::new()];
    }
    let mut all = Vec::new();
    for (at, &first) in list.iter().enumerate() {
        for mut rest in combinations(&list[at + 1..], size - 1) {
            rest.insert(0, first);
            all.push(rest);
        }
    }
    all
}
