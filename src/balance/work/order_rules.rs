//! What must hold between two moves: limits of current at every node, and free ways.

use std::ops::Range;

use num_complex::Complex64;

use super::effect::PlannedChange;
use crate::problem::currents::Currents;
use crate::problem::problem::{Problem, ProblemNode};
use electrical::Phase;

/// Position of the neutral among a node's conductors.
pub(crate) const NEUTRAL: usize = 3;

/// Intervals looked at together.
const BLOCK: usize = 1024;

/// Share of a current that is rounding.
const ROUNDING: f64 = 1e-9;

/// Limits and ways as they bear on a set of changes.
#[derive(Debug)]
pub(crate) struct Rules<'p> {
    problem: &'p Problem,
    nodes: Vec<&'p ProblemNode>,
    changes: &'p [PlannedChange],
    /// Intervals of each node in which a conductor could pass its limit on the way.
    binding: Vec<Vec<usize>>,
    /// Ways that may be taken on each board.
    ways: Vec<[usize; 3]>,
}

/// One conductor of one node in one interval, on the way from now to the plan.
#[derive(Clone, Debug)]
pub(crate) struct Watch {
    pub(crate) node: usize,
    pub(crate) conductor: usize,
    pub(crate) interval: usize,
    start: Complex64,
    /// What each change adds.
    steps: Vec<(usize, Complex64)>,
    beyond_square: f64,
    /// (A)
    pub(crate) limit: f64,
    /// The limit, or what flows now or after where that is more. (A)
    allowed: f64,
}

/// Why a state is not allowed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Obstacle {
    /// A board has no way left on a phase.
    Way { board: usize, phase: usize },
    /// A conductor would be overloaded.
    Current {
        node: usize,
        conductor: usize,
        interval: usize,
        current_a: f64,
        limit_a: f64,
    },
}

impl Watch {
    /// What flows once these changes are made. (A)
    pub(crate) fn current(&self, done: &[bool]) -> f64 {
        let made = self.steps.iter().filter(|(change, _)| done[*change]);
        let sum = self.start + made.map(|(_, step)| step).sum::<Complex64>();
        (sum.norm_sqr() + self.beyond_square).sqrt()
    }

    /// Excess as a share of the limit.
    pub(crate) fn over(&self, done: &[bool]) -> f64 {
        (self.current(done) / self.limit - 1.0 - ROUNDING).max(0.0)
    }

    pub(crate) fn is_same(&self, other: &Watch) -> bool {
        (self.node, self.conductor, self.interval) == (other.node, other.conductor, other.interval)
    }
}

impl<'p> Rules<'p> {
    /// `circuits` are watched besides the nodes of the problem.
    pub(crate) fn new(
        problem: &'p Problem,
        circuits: &'p [ProblemNode],
        changes: &'p [PlannedChange],
    ) -> Rules<'p> {
        let nodes: Vec<&ProblemNode> = problem.nodes().iter().chain(circuits).collect();
        let mut rules = Rules {
            problem,
            nodes,
            changes,
            binding: Vec::new(),
            ways: Vec::new(),
        };
        rules.binding = (0..rules.nodes.len())
            .map(|node| rules.binding_of(node))
            .collect();
        let (none, all) = (vec![false; changes.len()], vec![true; changes.len()]);
        rules.ways = (0..problem.ways().len())
            .map(|board| {
                let (now, after) = (rules.taken(board, &none), rules.taken(board, &all));
                let free = problem.ways()[board].free;
                [0, 1, 2].map(|k| free[k].max(now[k]).max(after[k]))
            })
            .collect();
        rules
    }

    pub(crate) fn nodes(&self) -> &[&'p ProblemNode] {
        &self.nodes
    }

    /// Parts of the changing units that a node feeds.
    fn moving(&self, node: usize) -> Vec<(usize, &'p Currents)> {
        let problem = self.problem;
        let shares = &self.nodes[node].shares;
        self.changes
            .iter()
            .enumerate()
            .filter_map(|(index, change)| {
                let share = shares.iter().find(|share| share.unit == change.unit)?;
                Some((index, problem.part(share)))
            })
            .collect()
    }

    /// Phase currents and neutral of a node as it is now.
    fn start(&self, node: usize, interval: usize) -> [Complex64; 4] {
        let node = self.nodes[node];
        let mut all = four(&node.fixed, 0, interval);
        for share in &node.shares {
            if let Some(turn) = self.problem.units()[share.unit].current {
                let more = four(self.problem.part(share), turn, interval);
                for (sum, more) in all.iter_mut().zip(more) {
                    *sum += more;
                }
            }
        }
        all
    }

    /// What a change adds to phases and neutral.
    fn step(&self, change: usize, part: &Currents, interval: usize) -> [Complex64; 4] {
        let PlannedChange { from, to, .. } = self.changes[change];
        let after = four(part, to, interval);
        match from {
            Some(turn) => {
                let before = four(part, turn, interval);
                [0, 1, 2, 3].map(|k| after[k] - before[k])
            }
            None => after,
        }
    }

    fn limit(&self, node: usize, conductor: usize) -> Option<f64> {
        if conductor == NEUTRAL {
            self.nodes[node].neutral_limit_a
        } else {
            self.nodes[node].phase_limit_a
        }
    }

    fn binding_of(&self, index: usize) -> Vec<usize> {
        let node = self.nodes[index];
        let moving = self.moving(index);
        let limited = node.phase_limit_a.is_some() || node.neutral_limit_a.is_some();
        if !limited || moving.is_empty() {
            return Vec::new();
        }
        let mut binding = Vec::new();
        for begin in (0..self.problem.intervals()).step_by(BLOCK) {
            let block = begin..(begin + BLOCK).min(self.problem.intervals());
            let most = self.most_on_the_way(index, &moving, block.clone());
            binding.extend(block.zip(most).filter_map(|(interval, most)| {
                (0..4)
                    .any(|k| self.limit(index, k).is_some_and(|limit| most[k] > limit))
                    .then_some(interval)
            }));
        }
        binding
    }

    /// What flows now and all that any change could add to it, as magnitudes, interval by interval. (A)
    ///
    /// Load by load and not interval by interval: the series of a load lie together in memory.
    fn most_on_the_way(
        &self,
        index: usize,
        moving: &[(usize, &Currents)],
        block: Range<usize>,
    ) -> Vec<[f64; 4]> {
        let node = self.nodes[index];
        let mut now: Vec<[Complex64; 4]> = block
            .clone()
            .map(|interval| four(&node.fixed, 0, interval))
            .collect();
        for share in &node.shares {
            let Some(turn) = self.problem.units()[share.unit].current else {
                continue;
            };
            let part = self.problem.part(share);
            for (all, interval) in now.iter_mut().zip(block.clone()) {
                for (sum, more) in all.iter_mut().zip(four(part, turn, interval)) {
                    *sum += more;
                }
            }
        }
        let magnitude = |current: Complex64| current.norm_sqr().sqrt();
        let mut most: Vec<[f64; 4]> = now.into_iter().map(|all| all.map(magnitude)).collect();
        for &(change, part) in moving {
            for (most, interval) in most.iter_mut().zip(block.clone()) {
                let step = self.step(change, part, interval);
                for (most, step) in most.iter_mut().zip(step) {
                    *most += magnitude(step);
                }
            }
        }
        for (most, interval) in most.iter_mut().zip(block) {
            most[NEUTRAL] = most[NEUTRAL].hypot(beyond(node, interval));
        }
        most
    }

    /// The conductors that are over their limit now, each in its worst interval.
    pub(crate) fn over_now(&self) -> Vec<Watch> {
        self.worst(&[], |watch, current| {
            (current > watch.limit * (1.0 + ROUNDING)).then_some(current - watch.limit)
        })
    }

    /// The conductors that an order of steps overloads, each in its worst interval.
    pub(crate) fn broken(&self, steps: &[Vec<usize>]) -> Vec<Watch> {
        self.worst(steps, |watch, current| {
            (current > watch.allowed).then_some(current - watch.allowed)
        })
    }

    fn worst(&self, steps: &[Vec<usize>], over: impl Fn(&Watch, f64) -> Option<f64>) -> Vec<Watch> {
        let mut found = Vec::new();
        let mut state_after = vec![None; self.changes.len()];
        for (state, step) in steps.iter().enumerate() {
            for &change in step {
                state_after[change] = Some(state + 1);
            }
        }
        for node in 0..self.nodes.len() {
            // For each state and conductor the worst.
            let mut worst: Vec<Option<(f64, Watch)>> = vec![None; 4 * (steps.len() + 1)];
            for &interval in &self.binding[node] {
                for (conductor, watch) in self.watches(node, interval).into_iter().enumerate() {
                    let Some(watch) = watch else { continue };
                    let mut added = vec![None; steps.len() + 1];
                    added[0] = Some(watch.start);
                    for &(change, step) in &watch.steps {
                        if let Some(state) = state_after[change] {
                            *added[state].get_or_insert(Complex64::ZERO) += step;
                        }
                    }
                    let mut sum = Complex64::ZERO;
                    for (state, added) in added.into_iter().enumerate() {
                        let Some(added) = added else { continue };
                        sum += added;
                        let current = (sum.norm_sqr() + watch.beyond_square).sqrt();
                        let Some(over) = over(&watch, current) else {
                            continue;
                        };
                        let worst = &mut worst[4 * state + conductor];
                        if worst.as_ref().is_none_or(|(known, _)| over > *known) {
                            *worst = Some((over, watch.clone()));
                        }
                    }
                }
            }
            found.extend(worst.into_iter().flatten().map(|(_, watch)| watch));
        }
        found
    }

    /// The four conductors of a node in an interval; `None` where there is no limit.
    fn watches(&self, node: usize, interval: usize) -> [Option<Watch>; 4] {
        let start = self.start(node, interval);
        let steps: Vec<(usize, [Complex64; 4])> = self
            .moving(node)
            .into_iter()
            .map(|(change, part)| (change, self.step(change, part, interval)))
            .collect();
        [0, 1, 2, 3].map(|conductor| {
            let limit = self.limit(node, conductor)?;
            let beyond = if conductor == NEUTRAL {
                beyond(self.nodes[node], interval)
            } else {
                0.0
            };
            let mut watch = Watch {
                node,
                conductor,
                interval,
                start: start[conductor],
                steps: steps
                    .iter()
                    .map(|(change, step)| (*change, step[conductor]))
                    .filter(|(_, step)| *step != Complex64::ZERO)
                    .collect(),
                beyond_square: beyond * beyond,
                limit,
                allowed: limit,
            };
            let now = watch.current(&vec![false; self.changes.len()]);
            let after = watch.current(&vec![true; self.changes.len()]);
            watch.allowed = limit.max(now).max(after) * (1.0 + ROUNDING);
            Some(watch)
        })
    }

    /// Ways taken on a board by what may move.
    pub(crate) fn taken(&self, board: usize, done: &[bool]) -> [usize; 3] {
        let mut taken = [0; 3];
        for &(unit, ways) in &self.problem.ways()[board].uses {
            let change = self.changes.iter().position(|change| change.unit == unit);
            let turn = match change {
                Some(index) if done[index] => Some(self.changes[index].to),
                Some(index) => self.changes[index].from,
                None => self.problem.units()[unit].current,
            };
            let Some(turn) = turn else { continue };
            for (position, count) in ways.into_iter().enumerate() {
                taken[(position + turn) % 3] += count;
            }
        }
        taken
    }

    /// Why a state is not allowed; `None` when it is.
    pub(crate) fn obstacle(&self, watches: &[Watch], done: &[bool]) -> Option<Obstacle> {
        for (board, allowed) in self.ways.iter().enumerate() {
            let taken = self.taken(board, done);
            if let Some(phase) = (0..3).find(|&k| taken[k] > allowed[k]) {
                return Some(Obstacle::Way { board, phase });
            }
        }
        watches.iter().find_map(|watch| {
            let current_a = watch.current(done);
            (current_a > watch.allowed).then_some(Obstacle::Current {
                node: watch.node,
                conductor: watch.conductor,
                interval: watch.interval,
                current_a,
                limit_a: watch.limit,
            })
        })
    }
}

/// Currents on L1, L2, L3 relative to their own voltages, and in the neutral in the common frame.
fn four(currents: &Currents, turn: usize, interval: usize) -> [Complex64; 4] {
    let phase = |k: usize| currents.at((k + 3 - turn) % 3, interval);
    let phases = [phase(0), phase(1), phase(2)];
    let neutral = Phase::ALL
        .into_iter()
        .map(|phase| phase.direction() * phases[phase.index()])
        .sum::<Complex64>();
    let neutral = neutral + Phase::ALL[turn].direction() * currents.neutral_alone_at(interval);
    [phases[0], phases[1], phases[2], neutral]
}

fn beyond(node: &ProblemNode, interval: usize) -> f64 {
    node.beyond.get(interval).copied().unwrap_or(0.0)
}
