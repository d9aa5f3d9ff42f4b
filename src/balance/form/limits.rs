//! Limits of phases and neutrals, and the intervals in which they can be exceeded at all.

use num_complex::Complex64;

use super::flow::Flow;
use super::near_flow::NearFlow;
use super::quadratic::turn_factors;
use super::screen::{STRETCH, Screen};
use crate::problem::evaluation::Excess;
use crate::problem::problem::{Problem, ProblemNode, Share, above};

/// Position of the neutral among a node's conductors.
const NEUTRAL: usize = 3;
/// Most stretches that are checked before the others.
const MOST_WATCHED_STRETCHES: usize = 64;

/// One conductor of one node in one interval: |fixed + Σ terms|² + beyond² ≤ limit².
#[derive(Clone, Debug)]
pub(crate) struct LimitRow {
    node: usize,
    conductor: usize,
    interval: usize,
    /// Largest current. (A)
    pub(crate) limit: f64,
    beyond_square: f64,
    /// What flows whatever is decided.
    pub(crate) fixed: Complex64,
    /// What each unit adds at each turn.
    pub(crate) terms: Vec<[Complex64; 3]>,
}

impl LimitRow {
    /// A row that is not one interval of a node: `number` identifies it.
    pub(crate) fn apart(
        number: usize,
        limit: f64,
        beyond_square: f64,
        fixed: Complex64,
        terms: Vec<[Complex64; 3]>,
    ) -> Self {
        Self {
            node: usize::MAX,
            conductor: 0,
            interval: number,
            limit,
            beyond_square,
            fixed,
            terms,
        }
    }

    /// The current that goes with a phasor sum. (A)
    pub(crate) fn current(&self, sum: Complex64) -> f64 {
        (sum.norm_sqr() + self.beyond_square).sqrt()
    }

    /// Share of the limit by which a phasor sum passes it.
    pub(crate) fn over(&self, sum: Complex64) -> f64 {
        above(self.current(sum), Some(self.limit)) / self.limit
    }

    /// The phasor sum for given turns.
    pub(crate) fn sum(&self, turns: &[usize]) -> Complex64 {
        let units = self.terms.iter().zip(turns).map(|(term, &turn)| term[turn]);
        self.fixed + units.sum::<Complex64>()
    }

    /// The phasor sum of the fixed loads and of the units that are not free.
    pub(crate) fn decided_sum(&self, turns: &[usize], is_free: &[bool]) -> Complex64 {
        let decided = self
            .terms
            .iter()
            .zip(turns)
            .zip(is_free)
            .filter(|(_, free)| !**free);
        self.fixed
            + decided
                .map(|((term, &turn), _)| term[turn])
                .sum::<Complex64>()
    }

    /// True when a sum at least as large along some direction passes the limit.
    pub(crate) fn is_passed(&self, along: f64) -> bool {
        along > 0.0 && self.over(Complex64::new(along, 0.0)) > 0.0
    }

    fn is_same(&self, other: &LimitRow) -> bool {
        (self.node, self.conductor, self.interval) == (other.node, other.conductor, other.interval)
    }

    /// Adds this row to others unless it is there; true when it was added.
    pub(crate) fn add_to(self, rows: &mut Vec<LimitRow>) -> bool {
        let is_new = !rows.iter().any(|row| row.is_same(&self));
        if is_new {
            rows.push(self);
        }
        is_new
    }
}

/// All limits of a problem, reduced to the intervals in which some allocation passes them.
#[derive(Debug)]
pub(crate) struct Limits<'a> {
    problem: &'a Problem,
    /// Per node, ascending.
    binding: Vec<Vec<usize>>,
    /// Per node, over its binding intervals.
    screens: Vec<Screen>,
}

impl<'a> Limits<'a> {
    /// Finds the intervals that could bind: those where the magnitudes of all that could come
    /// together on one conductor add up to more than its limit.
    pub(crate) fn new(problem: &'a Problem, choices: &[Vec<usize>]) -> Self {
        let binding = problem
            .nodes()
            .iter()
            .map(|node| binding_intervals(problem, node, choices))
            .collect::<Vec<_>>();
        let screens = problem
            .nodes()
            .iter()
            .zip(&binding)
            .map(|(node, intervals)| Screen::new(problem, node, intervals))
            .collect();
        Self {
            problem,
            binding,
            screens,
        }
    }

    /// Stretches of a node's binding intervals that may pass its limits under `turns`.
    fn doubtful<'l>(&'l self, node: usize, turns: &'l [usize]) -> impl Iterator<Item = usize> + 'l {
        let stretches = self.binding[node].len().div_ceil(STRETCH);
        (0..stretches).filter(move |&stretch| self.screens[node].can_pass(turns, stretch))
    }

    /// What flows in a stretch of a node's binding intervals.
    fn flow(&self, node: usize, stretch: usize, turns: &[usize]) -> Flow<'_> {
        Flow::new(self.problem, node, turns, self.intervals(node, stretch))
    }

    fn intervals(&self, node: usize, stretch: usize) -> &[usize] {
        let begin = stretch * STRETCH;
        let end = (begin + STRETCH).min(self.binding[node].len());
        &self.binding[node][begin..end]
    }

    /// True when no allocation can pass a limit of current and ways are not limited.
    pub(crate) fn are_idle(&self) -> bool {
        !self.currents_can_bind() && self.problem.ways().is_empty()
    }

    /// True when some allocation could pass a limit of current.
    pub(crate) fn currents_can_bind(&self) -> bool {
        self.binding.iter().any(|intervals| !intervals.is_empty())
    }

    /// Multiplications that one full check takes.
    pub(crate) fn cost(&self) -> u64 {
        self.problem
            .nodes()
            .iter()
            .zip(&self.binding)
            .map(|(node, intervals)| (3 * (1 + node.shares.len()) * intervals.len()) as u64)
            .sum()
    }

    /// By how much `turns` passes the limits. Once that is more than `enough`, the sum may stop.
    pub(crate) fn excess(&self, turns: &[usize], enough: Option<&Excess>) -> Excess {
        self.excess_until(turns, enough, |node, stretch| {
            self.flow(node, stretch, turns)
        })
        .0
    }

    /// As [`excess`](Self::excess), with the stretch at which the sum stopped.
    fn excess_until(
        &self,
        turns: &[usize],
        enough: Option<&Excess>,
        mut flow: impl FnMut(usize, usize) -> Flow<'a>,
    ) -> (Excess, Option<WatchedStretch>) {
        let mut excess = self.missing_ways(turns);
        for node in 0..self.problem.nodes().len() {
            for stretch in self.doubtful(node, turns) {
                excess.current_a += self.over(&flow(node, stretch));
                if enough.is_some_and(|enough| excess.compare(enough).is_gt()) {
                    return (excess, Some(WatchedStretch { node, stretch }));
                }
            }
        }
        (excess, None)
    }

    fn missing_ways(&self, turns: &[usize]) -> Excess {
        let boards = self.problem.ways().iter();
        Excess {
            ways: boards.map(|board| board.missing(turns)).sum(),
            ..Excess::default()
        }
    }

    /// Excess over a node's limits in a stretch, as a mean over all intervals. (A)
    fn over(&self, flow: &Flow<'_>) -> f64 {
        let limits = flow.node;
        let phase_limit_square = limits
            .phase_limit_a
            .map_or(f64::INFINITY, |limit| limit * limit);
        let mut over = 0.0;
        for at in 0..flow.intervals.len() {
            for phase in flow.phases_at(at) {
                // Nearly all are below it, and need no root.
                if phase.norm_sqr() > phase_limit_square {
                    over += above(phase.norm_sqr().sqrt(), limits.phase_limit_a);
                }
            }
            if limits.neutral_limit_a.is_some() {
                over += above(flow.neutral_at(at), limits.neutral_limit_a);
            }
        }
        over / self.problem.intervals() as f64
    }

    /// Does `turns` pass the limits by more than `enough`?
    ///
    /// `watched`: what is known of allocations asked before, which are mostly like this one.
    pub(crate) fn pass_more(
        &'a self,
        turns: &[usize],
        enough: &Excess,
        watched: &mut AskedBefore,
    ) -> bool {
        let AskedBefore { stretches, near } = watched;
        let counts = self.binding.iter();
        near.look_at(
            self.problem,
            turns,
            counts.map(|intervals| intervals.len().div_ceil(STRETCH)),
        );
        let mut flow =
            |node, stretch| near.flow(self.problem, (node, stretch), self.intervals(node, stretch));
        let mut least = self.missing_ways(turns);
        for one in stretches.iter() {
            least.current_a += self.over(&flow(one.node, one.stretch));
            if least.compare(enough).is_gt() {
                return true;
            }
        }
        let (excess, stopped) = self.excess_until(turns, Some(enough), flow);
        if stretches.len() < MOST_WATCHED_STRETCHES {
            stretches.extend(stopped.filter(|stretch| !stretches.contains(stretch)));
        }
        excess.compare(enough).is_gt()
    }

    /// For each conductor of each node that `turns` overloads, the interval in which it is worst.
    pub(crate) fn worst(&self, turns: &[usize]) -> Vec<LimitRow> {
        let mut rows = Vec::new();
        for (index, node) in self.problem.nodes().iter().enumerate() {
            let mut worst = [(0.0, 0); 4];
            for stretch in self.doubtful(index, turns) {
                let flow = self.flow(index, stretch, turns);
                for (at, &interval) in flow.intervals.iter().enumerate() {
                    let currents = flow.phases_at(at).map(|i| i.norm_sqr().sqrt());
                    for (conductor, worst) in worst.iter_mut().enumerate() {
                        let over = if conductor == NEUTRAL {
                            above(flow.neutral_at(at), node.neutral_limit_a)
                        } else {
                            above(currents[conductor], node.phase_limit_a)
                        };
                        if over > worst.0 {
                            *worst = (over, interval);
                        }
                    }
                }
            }
            for (conductor, (over, interval)) in worst.into_iter().enumerate() {
                if over > 0.0 {
                    rows.push(self.row(index, conductor, interval));
                }
            }
        }
        rows
    }

    fn row(&self, node_index: usize, conductor: usize, interval: usize) -> LimitRow {
        let node = &self.problem.nodes()[node_index];
        let is_neutral = conductor == NEUTRAL;
        let beyond = node.beyond.get(interval).copied().unwrap_or(0.0);
        let factors = turn_factors();
        let mut terms = vec![[Complex64::ZERO; 3]; self.problem.units().len()];
        for Share { unit, part } in &node.shares {
            let part = part
                .as_ref()
                .unwrap_or(&self.problem.units()[*unit].currents);
            for (turn, term) in terms[*unit].iter_mut().enumerate() {
                *term = if is_neutral {
                    factors[turn] * part.neutral_at(interval)
                } else {
                    part.at((conductor + 3 - turn) % 3, interval)
                };
            }
        }
        let limit = if is_neutral {
            node.neutral_limit_a
        } else {
            node.phase_limit_a
        };
        LimitRow {
            node: node_index,
            conductor,
            interval,
            limit: limit.unwrap_or(f64::INFINITY),
            beyond_square: if is_neutral { beyond * beyond } else { 0.0 },
            fixed: if is_neutral {
                node.fixed.neutral_at(interval)
            } else {
                node.fixed.at(conductor, interval)
            },
            terms,
        }
    }
}

/// What is known of the allocations that were asked about.
#[derive(Debug, Default)]
pub(crate) struct AskedBefore {
    /// Where they passed the limits: looked at first.
    stretches: Vec<WatchedStretch>,
    near: NearFlow,
}

/// A stretch of a node's binding intervals.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct WatchedStretch {
    node: usize,
    stretch: usize,
}

/// Intervals in which the magnitudes that could meet on one conductor pass its limit.
fn binding_intervals(problem: &Problem, node: &ProblemNode, choices: &[Vec<usize>]) -> Vec<usize> {
    if node.phase_limit_a.is_none() && node.neutral_limit_a.is_none() {
        return Vec::new();
    }
    let intervals = problem.intervals();
    let mut passes = vec![false; intervals];
    if node.phase_limit_a.is_some() {
        for conductor in 0..3 {
            for (passes, most) in passes
                .iter_mut()
                .zip(most_on(problem, node, conductor, choices))
            {
                *passes |= above(most, node.phase_limit_a) > 0.0;
            }
        }
    }
    if node.neutral_limit_a.is_some() {
        let mut neutral: Vec<f64> = (0..intervals)
            .map(|t| node.fixed.neutral_at(t).norm_sqr().sqrt())
            .collect();
        for share in &node.shares {
            let part = problem.part(share);
            for (t, sum) in neutral.iter_mut().enumerate() {
                *sum += part.neutral_at(t).norm_sqr().sqrt();
            }
        }
        for (t, (passes, neutral)) in passes.iter_mut().zip(neutral).enumerate() {
            let beyond = node.beyond.get(t).copied().unwrap_or(0.0);
            *passes |= above(neutral.hypot(beyond), node.neutral_limit_a) > 0.0;
        }
    }
    (0..intervals).filter(|&t| passes[t]).collect()
}

/// The magnitudes that could meet on a phase, interval by interval, added up. (A)
fn most_on(
    problem: &Problem,
    node: &ProblemNode,
    conductor: usize,
    choices: &[Vec<usize>],
) -> Vec<f64> {
    let mut sums = magnitudes(node.fixed.series(conductor), problem.intervals());
    for share in &node.shares {
        let part = problem.part(share);
        let on: Vec<&[Complex64]> = choices[share.unit]
            .iter()
            .filter_map(|turn| part.series((conductor + 3 - turn) % 3))
            .collect();
        match on.as_slice() {
            [] => {}
            [only] => {
                for (sum, value) in sums.iter_mut().zip(*only) {
                    *sum += value.norm_sqr().sqrt();
                }
            }
            several => {
                for (t, sum) in sums.iter_mut().enumerate() {
                    let most = several.iter().map(|series| series[t].norm_sqr());
                    *sum += most.fold(0.0, f64::max).sqrt();
                }
            }
        }
    }
    sums
}

pub(crate) fn magnitudes(series: Option<&[Complex64]>, intervals: usize) -> Vec<f64> {
    series.map_or_else(
        || vec![0.0; intervals],
        |series| series.iter().map(|value| value.norm_sqr().sqrt()).collect(),
    )
}
