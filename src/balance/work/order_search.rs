//! An order of the moves in which no step overloads anything.

use std::collections::HashSet;

use super::effect::Effects;
use super::order_rules::{Obstacle, Rules, Watch};

/// States tried for each size of group, so that the search ends.
const MOST_STATES: u64 = 20_000;

/// Changes made in one go before all that are left are made so.
const LARGEST_GROUP: usize = 3;

/// Orders tried for a better one.
const MOST_ORDERS: usize = 3_000;

/// Rounds of checking an order in all intervals.
const MOST_ROUNDS: usize = 200;

/// Changes in the order of work; several in one step are made in one go.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Order {
    pub(crate) steps: Vec<Vec<usize>>,
    /// Why the changes of a step cannot be made one at a time.
    pub(crate) obstacles: Vec<Option<Obstacle>>,
    /// True where an order with smaller steps is known not to exist.
    pub(crate) is_exact: bool,
}

/// First what relieves an overloaded conductor, then what takes most off the neutral; single moves
/// as far as they go.
pub(crate) fn find_order(rules: &Rules<'_>, effects: &Effects, changes: usize) -> Order {
    let mut search = OrderSearch {
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
enum SearchEnd {
    Found,
    Exhausted,
    Stopped,
}

struct OrderSearch<'a, 'p> {
    rules: &'a Rules<'p>,
    effects: &'a Effects,
    /// Conductors and intervals in which an order has failed before.
    watches: Vec<Watch>,
    states: u64,
    /// States from which the plan cannot be reached.
    failed: HashSet<Vec<bool>>,
    deepest: Vec<Vec<usize>>,
}

impl OrderSearch<'_, '_> {
    /// Steps, and whether smaller ones are known not to do.
    fn order(&mut self, changes: usize) -> (Vec<Vec<usize>>, bool) {
        let mut is_exact = true;
        self.deepest.clear();
        for group in 1..=LARGEST_GROUP.min(changes.max(1)) {
            self.states = 0;
            self.failed.clear();
            let mut steps = Vec::new();
            match self.go_on(&mut vec![false; changes], &mut steps, group) {
                SearchEnd::Found => return (self.improved(steps), is_exact),
                SearchEnd::Exhausted => {}
                SearchEnd::Stopped => is_exact = false,
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
    ) -> SearchEnd {
        if done.iter().all(|&made| made) {
            return SearchEnd::Found;
        }
        if self.failed.contains(done) {
            return SearchEnd::Exhausted;
        }
        if steps.len() > self.deepest.len() {
            self.deepest.clone_from(steps);
        }
        for size in 1..=group {
            for step in self.candidates(done, size) {
                set(done, &step, true);
                steps.push(step.clone());
                let outcome = self.go_on(done, steps, group);
                if outcome == SearchEnd::Found {
                    return outcome;
                }
                steps.pop();
                set(done, &step, false);
                if outcome == SearchEnd::Stopped {
                    return outcome;
                }
            }
            if self.states > MOST_STATES {
                return SearchEnd::Stopped;
            }
        }
        self.failed.insert(done.clone());
        SearchEnd::Exhausted
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

    /// Steps brought forward as long as that lowers the neutral current during the work.
    fn improved(&mut self, mut steps: Vec<Vec<usize>>) -> Vec<Vec<usize>> {
        let mut best = self.on_the_way(&steps);
        let mut tried = 0;
        let mut from = 1;
        while from < steps.len() {
            let mut to = from;
            for earlier in 0..from {
                tried += 1;
                if tried > MOST_ORDERS {
                    return steps;
                }
                let mut other = steps.clone();
                let step = other.remove(from);
                other.insert(earlier, step);
                let rating = self.on_the_way(&other);
                let is_better = match (rating, best) {
                    (Some(rating), Some(best)) => {
                        rating.0 < best.0 * (1.0 - 1e-9)
                            || (rating.0 <= best.0 && rating.1 < best.1 * (1.0 - 1e-9))
                    }
                    _ => false,
                };
                if is_better {
                    (steps, best, to) = (other, rating, earlier);
                    break;
                }
            }
            // After a change begin again at the place that changed.
            from = if to < from { to.max(1) } else { from + 1 };
        }
        steps
    }

    /// Sums over the states of an order: excess and mean square; `None` where a state is not
    /// allowed.
    fn on_the_way(&self, steps: &[Vec<usize>]) -> Option<(f64, f64)> {
        let size = steps.iter().map(Vec::len).sum();
        let mut done = vec![false; size];
        let mut sums = (0.0, 0.0);
        let mut mean_square = self.effects.mean_square(&done);
        for step in steps {
            for &change in step {
                mean_square += self.effects.added(&done, change);
                done[change] = true;
            }
            if self.rules.obstacle(&self.watches, &done).is_some() {
                return None;
            }
            sums.0 += self
                .watches
                .iter()
                .map(|watch| watch.over(&done))
                .sum::<f64>();
            sums.1 += mean_square;
        }
        Some(sums)
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

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::problem::problem::Problem;
    use crate::samples::{Kind, config, random_problem};
    use crate::work::effect::{PlannedChange, changes};

    /// Currents of all conductors of all nodes in all intervals, from the series.
    fn currents(problem: &Problem, turns: &[usize]) -> Vec<f64> {
        let mut all = Vec::new();
        for node in problem.nodes() {
            let currents = problem.node_currents(node, turns);
            for interval in 0..problem.intervals() {
                all.extend(currents.phases.iter().map(|phase| phase[interval].norm()));
                all.push(currents.neutral_square(interval).sqrt());
            }
        }
        all
    }

    fn limits(problem: &Problem) -> Vec<f64> {
        let mut all = Vec::new();
        for node in problem.nodes() {
            let phase = node.phase_limit_a.unwrap_or(f64::INFINITY);
            let neutral = node.neutral_limit_a.unwrap_or(f64::INFINITY);
            for _ in 0..problem.intervals() {
                all.extend([phase, phase, phase, neutral]);
            }
        }
        all
    }

    fn missing(problem: &Problem, turns: &[usize]) -> Vec<usize> {
        let boards = problem.ways().iter();
        boards
            .flat_map(|board| {
                let mut taken = [0; 3];
                for &(unit, ways) in &board.uses {
                    for (position, count) in ways.into_iter().enumerate() {
                        taken[(position + turns[unit]) % 3] += count;
                    }
                }
                [0, 1, 2].map(|k| taken[k].saturating_sub(board.free[k]))
            })
            .collect()
    }

    /// Is a state no worse than limits, now and the plan together?
    fn is_allowed(problem: &Problem, now: &[usize], plan: &[usize], state: &[usize]) -> bool {
        let [before, after, between] = [now, plan, state].map(|turns| currents(problem, turns));
        let limits = limits(problem);
        let currents_do = (0..limits.len())
            .all(|i| between[i] <= limits[i].max(before[i]).max(after[i]) * (1.0 + 1e-8));
        let [before, after, between] = [now, plan, state].map(|turns| missing(problem, turns));
        currents_do && (0..between.len()).all(|i| between[i] <= before[i].max(after[i]))
    }

    fn states(now: &[usize], changes: &[PlannedChange], steps: &[Vec<usize>]) -> Vec<Vec<usize>> {
        let mut turns = now.to_vec();
        steps
            .iter()
            .map(|step| {
                for &change in step {
                    turns[changes[change].unit] = changes[change].to;
                }
                turns.clone()
            })
            .collect()
    }

    /// By trying all orders.
    fn some_order_of_single_steps(
        problem: &Problem,
        now: &[usize],
        plan: &[usize],
        state: &mut Vec<usize>,
    ) -> bool {
        if state == plan {
            return true;
        }
        (0..state.len()).any(|i| {
            if state[i] == plan[i] {
                return false;
            }
            state[i] = plan[i];
            let reached = is_allowed(problem, now, plan, state)
                && some_order_of_single_steps(problem, now, plan, state);
            state[i] = now[i];
            reached
        })
    }

    proptest! {
        #![proptest_config(config(200))]

        #[test]
        fn nothing_is_overloaded_on_the_way_and_single_steps_are_found_where_they_exist(
            seed: u64, units in 2..6_usize
        ) {
            let problem = random_problem(seed, Kind { units, intervals: 8, plain: false, limits: true });
            prop_assume!(problem.current().is_some());
            let now = problem.current().expect("assumed");
            let plan: Vec<usize> = (0..units)
                .map(|i| (now[i] + (seed >> (2 * i)) as usize % 3) % 3)
                .collect();
            let changes = changes(&problem, &plan);
            let effects = Effects::new(&problem, &changes);
            let rules = Rules::new(&problem, &[], &changes);
            let order = find_order(&rules, &effects, changes.len());
            let mut made: Vec<usize> = order.steps.concat();
            made.sort_unstable();
            prop_assert_eq!(made, (0..changes.len()).collect::<Vec<_>>());
            for state in states(&now, &changes, &order.steps) {
                prop_assert!(is_allowed(&problem, &now, &plan, &state), "{:?}", order);
            }
            let singles = order.steps.iter().all(|step| step.len() == 1);
            let possible = some_order_of_single_steps(&problem, &now, &plan, &mut now.clone());
            prop_assert_eq!(singles, possible);
        }
    }
}
